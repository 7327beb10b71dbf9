"""From print to metal: posts, mid rails, loose members, holes and drain marks, by hand and by the job file.

Each pack is written by the command and read back from the PDF alone (`hands`). Pipes are sawn tip to tip,
marked, wrapped and cut as the sheets say, set where the printed sizes put them, and measured against the
job file set out in space by other code (`job_in_space`).
"""

from __future__ import annotations

import io
import math
import re
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner

import cli
from tests.hands import Bench, Caption, PaperHole, SawnPipe, captions, length_mm, paper_holes, printed, rows
from tests.job_in_space import (
    TUBES,
    UP,
    Array,
    Distance,
    MidRail,
    Post,
    RailInSpace,
    Run,
    line_distance,
    member_end,
    unit,
)
from tests.pdf_reader import read_pack

SAMPLES = Path(__file__).parent.parent / "sample_jobs"
TOUCH_MM = 0.05
PRINT_MM = 0.02
"""What rounding on paper and chords of the printed line may add to it."""
HEAD = """
title = "Heron Slip"
units = "{units}"
[pipe]
size = "{size}"
schedule = "40"
[elbows]
stock = ["90 long radius"]
[shop]
root_gap = "2.4 mm"
"""
ARCH = (
    HEAD.format(units="mm", size="NPS 1-1/2")
    + """
[galvanising]
from_end = 20

[[rail]]
mark = "A"
mirror = true
start = { kind = "level extension", run = 305 }
path = [
  { rise = 750, going = 1600, heading = 0 },
  { turn = 37, towards = "left" },
  { run = 900 },
  { turn = 30, towards = "down" },
  { run = 1500 },
]

[[rail.posts]]
run = 0
at = [100]
drop = 900
plate = 6

[[rail.posts]]
run = 1
at = [250, 800, 1300]
drop = 950
foot = "slope"
plate = 8
gap = 1.5
hole = true

[[rail.posts]]
run = 2
at = [150, 650]
floor = -600
size = "NPS 1-1/4"
schedule = "40"
offset = 2.5
stand = "square"

[[rail.posts]]
run = 3
at = [200, 1250]
drop = 950
foot = "slope"
plate = 8
gap = 1.5
hole = true

[[rail.mid_rails]]
run = 1
below = 300
through = true
hole = true

[[rail.mid_rails]]
run = 2
below = 350
measured = "square"
size = "NPS 1"
schedule = "40"
bears_on = "outer"

[[rail.mid_rails]]
run = 3
below = 400
size = "NPS 1-1/4"
schedule = "40"
hole = true
"""
)
UP_AND_DOWN = (
    HEAD.format(units="mm", size="NPS 1-1/2")
    + """
[galvanising]
from_end = 15

[[rail]]
mark = "U"
path = [
  { rise = 300, going = 1500 },
  { corner = "mitre" },
  { rise = -300, going = 1500 },
]

[[rail.posts]]
spacing = 900
first = 200
last = 200
drop = 1000
foot = "slope"
plate = 10
hole = true
"""
)
INCHES = (
    HEAD.format(units="in", size="NPS 2")
    + """
[[rail]]
mark = "I"
path = [
  { rise = 14, going = 60, heading = 30 },
  { turn = 6, towards = "right", by = "mitre" },
  { run = 50 },
]

[[rail.posts]]
run = 1
spacing = 24
first = 9
last = 8
level = true
drop = 40
foot = "slope"
plate = 0.375
size = "NPS 1"
schedule = "40"
offset = -0.25

[[rail.posts]]
run = 2
at = [10, 40]
drop = 40
plate = 0.375
offset = 0.125
size = "NPS 1-1/2"
schedule = "40"
bears_on = "bore"

[[rail.mid_rails]]
below = 20
run = 1
size = "NPS 3/4"
schedule = "40"

[[rail.mid_rails]]
below = 20
run = 2
size = "NPS 1"
schedule = "40"
"""
)
RING = (
    HEAD.format(units="mm", size="NPS 1-1/4")
    + """
[[rail]]
mark = "R"
closed = true
points = [[0, 0, 0], [1500, 0, 300], [1700, 1300, 300], [100, 1700, -100]]

[[rail.posts]]
spacing = 1300
first = 250
last = 250
floor = -1100
plate = 5

[[rail.mid_rails]]
run = 1
below = 400
size = "NPS 1"
schedule = "40"
"""
)
CORNERS = (
    HEAD.format(units="mm", size="NPS 1-1/2")
    + """
[[rail]]
mark = "C"
start = { kind = "plate", thickness = 6, lean = { up = 7, right = 4 } }
path = [
  { run = 900, heading = 15 },
  { turn = 38, towards = "up" },
  { run = 900 },
  { turn = 42, towards = "left" },
  { run = 800 },
  { turn = 11, towards = "right", by = "mitre" },
  { run = 700 },
]
posts = [
  { corner = 2, drop = 1000, size = "NPS 1-1/4", schedule = "40" },
  { corner = 3, floor = -700, plate = 8 },
  { run = 2, at = [35], floor = -700, on_corner = true, size = "NPS 1", schedule = "40" },
  { run = 3, at = [450], drop = 900, foot = "slope" },
  { run = 1, at = [200], drop = 900, stand = "square", plate = 5 },
]
"""
)
RAILS = {
    "corners": CORNERS,
    "lookout": (SAMPLES / "lookout_posts.toml").read_text(),
    "arch": ARCH,
    "up and down": UP_AND_DOWN,
    "inches": INCHES,
    "ring": RING,
}


class Pack:
    """A pack as it comes out of the printer, and its job file."""

    def __init__(
        self, folder: Path, text: str, asked: str = "", factors: tuple[float, float] = (1.0, 1.0)
    ) -> None:
        folder.mkdir(exist_ok=True)
        job, out = folder / "job.toml", folder / "pack.pdf"
        job.write_text(text, encoding="utf-8")
        arguments = ["sheets", str(job), "-o", str(out), "--only", "job,cut-list,members,fit-up,record"]
        result = CliRunner().invoke(cli.main, [*arguments, *asked.split()])
        assert result.exit_code == 0, result.output
        self.sheets = printed(read_pack(io.BytesIO(out.read_bytes())), factors)
        self.job: dict[str, Any] = tomllib.loads(text)
        self.rows = rows(self.sheets)
        self.mm = 25.4 if self.job["units"] == "in" else 1.0
        self.shop_mm = {"root_gap": 2.4}
        self.bench = Bench(self.sheets, self.rows, 0.1)
        self.made: dict[str, SawnPipe] = {}

    def rails(self) -> list[RailInSpace]:
        """Every rail of the job, in each hand that it has."""
        return [
            RailInSpace(self.job, rail, other)
            for rail in self.job["rail"]
            for other in ((False, True) if rail.get("mirror") else (False,))
        ]

    def pipe(self, mark: str, size: str) -> SawnPipe:
        if mark not in self.made:
            self.made[mark] = self.bench.make(mark, TUBES[size], self.mm)
        return self.made[mark]

    def size(self, first: str, second: str) -> tuple[str, float]:
        """A size of the fit-up's tables between two things: how the tape lies, and how long it is [mm]."""
        how, title = "", False
        for cells in self.rows:
            if cells[0].startswith(("Posts: from", "Clear between")):
                how, title = cells[0], True
            elif cells[0] == "From":
                title = False
            elif title:
                how += f" {cells[0]}"
            for place in range(0, len(cells) - 2, 3):
                if how and cells[place : place + 2] == [first, second]:
                    return how, length_mm(cells[place + 2]) * self.mm
        raise AssertionError(f"no size from {first} to {second}")

    def start_mm(self, rail: RailInSpace, run: Run) -> float:
        """From a run's first work point to its pipe after an elbow: take-out and gap of the job sheet."""
        corner = f"{rail.mark}{(run.number - 1) or (len(rail.runs) if rail.rail.get('closed') else 0)}"
        (cells,) = [cells for cells in self.rows if cells[0] == corner and len(cells) == 8]
        return (length_mm(cells[6]) + length_mm(cells[7])) * self.mm

    @property
    def half_step_mm(self) -> float:
        """Half of the last place of a printed size, and a little."""
        return 25.4 / 32 + 0.01 if self.mm > 1 else 0.051


@pytest.fixture(scope="module", params=RAILS)
def pack(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Pack:
    return Pack(tmp_path_factory.mktemp("pack"), RAILS[request.param])


WAYS = {"upper": 1.0, "lower": -1.0}


def facing_way(words: str, forward: Array) -> Array:
    """Which way in space a side is, by its name on the sheet."""
    (name,) = re.findall(r"\b(forward|back|uphill|downhill|upper|lower)\b", words)
    if name in WAYS:
        return WAYS[name] * UP
    climbs = 1.0 if forward @ UP > 0 else -1.0
    return forward * {"forward": 1.0, "back": -1.0, "uphill": climbs, "downhill": -climbs}[name]


def stood(pipe: SawnPipe, end: str, along: Array, forward: Array) -> Array:
    """The frame (3, 3) of a pipe held along a direction, the side that its words name turned that way."""
    words, girth = pipe.facing(end)
    way = facing_way(words, forward)
    way = unit(way - (way @ along) * along)
    zero = math.cos(girth) * way - math.sin(girth) * np.cross(along, way)
    return np.stack([zero, np.cross(along, zero), along], axis=1)


def slid_on(wall: Array, way: Array, header: Distance, edges: slice = slice(None)) -> float:
    """How far a cut goes along a way until it first touches; from 200 mm short of where it is."""
    low, high = -200.0, 200.0
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (middle, high) if header(wall[:, edges] + middle * way).min() > 0 else (low, middle)
    return low


def assert_seated(clear: Array, bears_on: str, room_mm: float = 0.0) -> None:
    """Clearance (rows, radii) of a wall: what bears touches all round, and nothing that matters enters."""
    bearing = {"first": clear.min(axis=1), "outer": clear[:, -1], "bore": clear[:, 0]}[bears_on]
    assert np.abs(bearing).max() < TOUCH_MM + PRINT_MM + room_mm


EDGES = {"first": slice(None), "outer": slice(-1, None), "bore": slice(0, 1)}


def lengths_of(pack: Pack, post: Post) -> list[SawnPipe]:
    """The pipe of a post, or its lengths from the top down."""
    size = post.row.get("size", pack.job["pipe"]["size"])
    listed = sizes_of(pack)
    if post.mark in listed:
        return [pack.pipe(post.mark, size)]
    marks = [mark for mark in listed if re.fullmatch(rf"{post.mark}[a-z]", mark)]
    return [pack.pipe(mark, size) for mark in marks]


def test_posts_stand_where_they_are_told_touch_the_rail_and_reach_the_floor(pack: Pack) -> None:
    count = 0
    for rail in pack.rails():
        for post in rail.posts():
            top, *lower = lengths_of(pack, post)
            bears_on = post.row.get("bears_on", "first")
            frame = stood(top, "second end", post.stands, post.forward)
            upper = top.wall("second end") @ frame.T + post.top - top.blank_mm * post.stands
            lift = slid_on(upper, post.stands, post.header, EDGES[bears_on])
            assert_seated(post.header(upper + lift * post.stands), bears_on)
            if not lower:
                foot = top.wall("first end") @ frame.T + post.top + (lift - top.blank_mm) * post.stands
                over = (foot - post.floor) @ post.normal - post.lift_mm
                assert_seated(over, bears_on)
            count += 1
    assert count >= 5


def post_line(post: Post) -> Distance:
    return line_distance(post.top, post.stands, post.tube.radius_mm)


def laid(pack: Pack, mid: MidRail) -> tuple[SawnPipe, Array]:
    """A mid rail slid along its line onto its first post: (3, 4) its frame, and where its sawn end is."""
    pipe = pack.pipe(mid.mark, mid.row.get("size", pack.job["pipe"]["size"]))
    frame = stood(pipe, "first end", mid.run.way, mid.run.way)
    start = mid.at + mid.first.along_mm * mid.run.way
    wall = pipe.wall("first end") @ frame.T + start
    edges = EDGES[mid.row.get("bears_on", "first")]
    lift = slid_on(wall, -mid.run.way, post_line(mid.first), edges)
    return pipe, np.column_stack([frame, start - lift * mid.run.way])


def test_mid_rails_lie_parallel_touch_both_posts_and_keep_their_distance(pack: Pack) -> None:
    for rail in pack.rails():
        for mid in rail.mid_rails():
            pipe, pose = laid(pack, mid)
            bears_on = mid.row.get("bears_on", "first")
            for end, post in (("first end", mid.first), ("second end", mid.last)):
                wall = pipe.wall(end) @ pose[:, :3].T + pose[:, 3]
                assert_seated(post_line(post)(wall), bears_on)
            words, girth = pipe.facing("second end")
            way = facing_way(words, mid.run.way)
            zero = math.cos(girth) * pose[:, 0] + math.sin(girth) * pose[:, 1]
            assert zero @ unit(way - (way @ mid.run.way) * mid.run.way) == pytest.approx(1.0, abs=1e-5)
            off = np.cross(mid.at - mid.run.start, mid.run.way)
            wanted = float(np.linalg.norm(off)) - rail.tube.radius_mm - mid.tube.radius_mm
            how, said = pack.size(f"{rail.mark}-P{mid.run.number}", mid.mark)
            assert "square to both" in how
            assert said == pytest.approx(wanted, abs=pack.half_step_mm)


def test_posts_in_two_lengths_sit_on_the_mid_rail_and_reach_the_floor(pack: Pack) -> None:
    for rail in pack.rails():
        for mid in rail.mid_rails():
            bar = line_distance(mid.at, mid.run.way, mid.tube.radius_mm)
            for post in mid.through:
                upper, lower = lengths_of(pack, post)
                frame = stood(upper, "second end", post.stands, post.forward)
                start = post.top - upper.blank_mm * post.stands
                lift = slid_on(upper.wall("second end") @ frame.T + start, post.stands, post.header)
                assert_seated(bar(upper.wall("first end") @ frame.T + start + lift * post.stands), "first")
                frame = stood(lower, "second end", post.stands, post.forward)
                start = post.floor - post.floor @ post.stands * post.stands + post.top
                start = (
                    post.top
                    + ((post.floor - post.top) @ post.normal) / (post.stands @ post.normal) * post.stands
                )
                lift = slid_on(lower.wall("second end") @ frame.T + start, post.stands, bar)
                foot = lower.wall("first end") @ frame.T + start + lift * post.stands
                assert_seated((foot - post.floor) @ post.normal - post.lift_mm, "first")


def hole_captions(pack: Pack) -> list[tuple[Caption, PaperHole]]:
    """Every hole's words with the template above them."""
    found = []
    for sheet in pack.sheets:
        templates = paper_holes(sheet)
        for caption in captions(sheet):
            if caption.what.startswith("hole"):
                found.append((caption, min(templates, key=lambda hole: math.dist(hole.at, caption.at))))
    return found


def bored(hole: PaperHole, cross: Array, at: Array, way: Array, radius_mm: float) -> Array:
    """A template laid on a header with its cross on a point and its arrow along a way: (n, 3)."""
    foot = at + ((cross - at) @ way) * way
    out = unit(cross - foot)
    phi = hole.outline[:, 0] / (radius_mm + 0.05)
    rim = np.outer(np.cos(phi), out) + np.outer(np.sin(phi), np.cross(way, out))
    return np.asarray(foot + radius_mm * rim + np.outer(hole.outline[:, 1], way))


def assert_bored(rim: Array, way: Array, branch: Distance, room_mm: float) -> None:
    """A hole is its branch's bore, once slid along its header by no more than a printed size leaves open."""
    tried = np.linspace(-room_mm, room_mm, 41)
    assert min(np.abs(branch(rim + slide * way)).max() for slide in tried) < TOUCH_MM + PRINT_MM


def told(pattern: str, caption: Caption) -> re.Match[str]:
    found = re.search(pattern, caption.text)
    assert found, f"no {pattern} in {caption.text}"
    return found


def check_rail_hole(
    pack: Pack, rail: RailInSpace, post: Post, mark: str, caption: Caption, hole: PaperHole
) -> None:
    """The hole in a rail's pipe under the top of a post."""
    run = post.run
    found = told(rf"{mark}: ([\d.]+) mm from the start of ([\w-]+), on its lower line", caption)
    assert found[2] == f"{rail.mark}-P{run.number}" and found[2] in caption.text.split(":")[0]
    start = rail.pipe_start_mm(run, -run.upright, pack.shop_mm["root_gap"])
    start = pack.start_mm(rail, run) if start is None else start
    cross = run.start + (start + float(found[1])) * run.way - rail.tube.radius_mm * run.upright
    rim = bored(hole, cross, run.start, run.way, rail.tube.radius_mm)
    branch = line_distance(post.top, post.stands, post.tube.bore_mm)
    assert_bored(rim, run.way, branch, 3 * pack.half_step_mm)


def check_post_hole(pack: Pack, mid: MidRail, mark: str, caption: Caption, hole: PaperHole) -> None:
    """The hole in a post under the end of a mid rail."""
    post = mid.first if "first end" in caption.what else mid.last
    found = told(
        rf"{mark}: ([\d.]+) mm from the sawn first end of {post.mark}, on "
        r"(?:its 0° line|the line ([\d.]+) mm round to the (right|left) of its 0° line)",
        caption,
    )
    turned = float(found[2] or 0) / post.tube.radius_mm * (-1 if found[3] == "left" else 1)
    header = lengths_of(pack, post)[0]
    frame = stood(header, "second end", post.stands, post.forward)
    start = post.top - header.blank_mm * post.stands
    lift = slid_on(header.wall("second end") @ frame.T + start, post.stands, post.header)
    out = math.cos(turned) * frame[:, 0] + math.sin(turned) * frame[:, 1]
    cross = start + (lift + float(found[1])) * post.stands + post.tube.radius_mm * out
    rim = bored(hole, cross, post.top, post.stands, post.tube.radius_mm)
    assert_bored(
        rim, post.stands, line_distance(mid.at, mid.run.way, mid.tube.bore_mm), 2 * pack.half_step_mm
    )


def check_mid_rail_hole(
    pack: Pack, mid: MidRail, post: Post, mark: str, caption: Caption, hole: PaperHole
) -> None:
    """The hole in a mid rail under a length of a post that it runs through."""
    found = told(
        rf"{mark}: ([\d.]+) mm from the sawn first end of {mid.mark}, on "
        r"(?:its 0° line|the line ([\d.]+) mm round to the (right|left) of its 0° line)",
        caption,
    )
    turned = float(found[2] or 0) / mid.tube.radius_mm * (-1 if found[3] == "left" else 1)
    _, pose = laid(pack, mid)
    out = math.cos(turned) * pose[:, 0] + math.sin(turned) * pose[:, 1]
    assert out @ UP * (1 if "first end" in caption.what else -1) > 0  # an upper length sits on top of it
    cross = pose[:, 3] + float(found[1]) * mid.run.way + mid.tube.radius_mm * out
    rim = bored(hole, cross, mid.at, mid.run.way, mid.tube.radius_mm)
    branch = line_distance(post.top, post.stands, post.tube.bore_mm)
    assert_bored(rim, mid.run.way, branch, 2 * pack.half_step_mm)


def test_holes_laid_where_they_are_told_are_the_bores_of_what_sits_on_them(pack: Pack) -> None:
    checked, wanted = 0, 0
    holes = hole_captions(pack)
    for rail in pack.rails():
        posts = {post.mark: post for post in rail.posts()}
        mids = {mid.mark: mid for mid in rail.mid_rails()}
        wanted += sum(bool(post.row.get("hole")) for post in posts.values())
        open_mids = [mid for mid in mids.values() if mid.row.get("hole")]
        wanted += sum(2 + 2 * len(mid.through) for mid in open_mids)
        split = {post.mark: mid for mid in open_mids for post in mid.through}
        for caption, hole in holes:
            for mark in caption.marks:
                own = mark if mark in posts else mark[:-1]
                on_rail = own in posts and "second end" in caption.what and not mark.endswith("b")
                if on_rail:
                    check_rail_hole(pack, rail, posts[own], mark, caption, hole)
                elif mark in mids:
                    check_post_hole(pack, mids[mark], mark, caption, hole)
                elif own in split:
                    check_mid_rail_hole(pack, split[own], posts[own], mark, caption, hole)
                else:
                    continue
                checked += 1
    assert checked == wanted


def sizes_of(pack: Pack) -> dict[str, str]:
    """The size of every pipe, by the cut list."""
    sizes: dict[str, str] = {}
    size = ""
    for cells in pack.rows:
        found = re.match(r"Pipes to cut of (NPS [\d/-]+) Sch 40", cells[0])
        size = found[1] if found else "" if cells[0].startswith(("Drawing length", "•")) else size
        if size and len(cells) >= 6 and re.fullmatch(r"\w+-[TM][\w-]+", cells[0]):
            sizes.setdefault(cells[0], size)
    return sizes


def test_drain_holes_are_so_far_off_the_weld_and_opposite(pack: Pack) -> None:
    if "galvanising" not in pack.job:
        return
    off_weld = pack.job["galvanising"]["from_end"]
    drilled = 0
    sizes = sizes_of(pack)
    for cells in joined(pack.rows):
        if len(cells) != 5 or cells[2] not in ("first end", "second end"):
            continue
        line = re.search(r"^(?:(upper|under) side, )?([\d.]+)°", cells[4])
        assert line, cells
        for mark in cells[0].split(", "):
            pipe = pack.pipe(mark, sizes[mark])
            phi = math.radians(float(line[2]))
            from_first = (
                length_mm(cells[3]) if cells[2] == "first end" else pipe.blank_mm - length_mm(cells[3])
            )
            assert abs(from_first - pipe.cut_at(cells[2], phi)) == pytest.approx(off_weld, abs=0.1), mark
            drilled += 1
    assert drilled >= 5


def test_the_record_has_a_blank_for_every_pipe_and_every_post(pack: Pack) -> None:
    record = pack.rows
    for mark in sizes_of(pack):
        if "-P" not in mark:
            assert any(
                cells[0].split(",")[0] == mark and "Make" not in cells for cells in record if len(cells) == 5
            )
    for rail in pack.rails():
        for post in rail.posts():
            stands = (
                "plumb" if post.row.get("stand") != "square" else f"square to {rail.mark}-P{post.run.number}"
            )
            height = (post.top - post.floor) @ post.normal / (post.stands @ post.normal)
            (said,) = [length_mm(cells[2]) for cells in record if cells[:2] == [post.mark, stands]]
            assert said * pack.mm == pytest.approx(height, abs=pack.half_step_mm)


def near_side_mm(post: Post, rail: RailInSpace, line: Array) -> float:
    """Where a line along the rail's pipe, on a side of it, first meets the post: by a quadratic."""
    run, r = post.run, post.tube.radius_mm
    at = run.start + rail.tube.radius_mm * line - post.top
    u, v = run.way - (run.way @ post.stands) * post.stands, at - (at @ post.stands) * post.stands
    a, b, c = u @ u, 2 * u @ v, v @ v - r * r
    return float((-b - math.sqrt(b * b - 4 * a * c)) / (2 * a))


def line_words(post: Post, rail: RailInSpace, pack: Pack) -> tuple[Array, str]:
    """The line that the tape lies on: along the foot of the post on the rail's pipe."""
    offset = rail.side * post.row.get("offset", 0.0) * pack.mm
    if not offset:
        return -post.run.upright, "on its lower line"
    turned = math.asin(offset / rail.tube.radius_mm)
    line = math.sin(turned) * post.run.right - math.cos(turned) * post.run.upright
    return line, "to the right" if offset > 0 else "to the left"


def test_the_tape_finds_each_post(pack: Pack) -> None:
    for rail in pack.rails():
        for post in rail.posts():
            if "corner" in post.row:
                continue
            line, words = line_words(post, rail, pack)
            pipe = f"{rail.mark}-P{post.run.number}"
            how, size = pack.size(f"start of {pipe}", post.mark)
            if words == "on its lower line":
                assert f"start of the pipe, {words}, to the near side of the post" in how
            else:
                found = re.search(r"on the line ([\w./ -]+) round (to the \w+) of its lower line", how)
                assert found and found[2] == words, how
                arc = rail.tube.radius_mm * math.asin(abs(post.row["offset"]) * pack.mm / rail.tube.radius_mm)
                assert length_mm(found[1]) == pytest.approx(arc, abs=pack.half_step_mm)
            start = rail.pipe_start_mm(post.run, line, pack.shop_mm["root_gap"])
            room = pack.half_step_mm
            if start is None:  # after an elbow, which the job sheet says
                start = pack.start_mm(rail, post.run)
                room *= 3
            assert size == pytest.approx(near_side_mm(post, rail, line) - start, abs=room), post.mark


def joined(all_rows: list[list[str]]) -> list[list[str]]:
    """Rows with the lines that their first cell runs over."""
    found: list[list[str]] = []
    for cells in all_rows:
        if len(cells) == 1 and found:
            found[-1] = [f"{found[-1][0]} {cells[0]}", *found[-1][1:]]
        else:
            found.append(list(cells))
    return found


LOPSIDED = (
    HEAD.format(units="mm", size="NPS 2")
    + """
[[member]]
mark = "K1"
mirror = true
size = "NPS 1-1/2"
schedule = "40"
length = 190
start = { kind = "cope", angle = 63, offset = 4, hole = true }
end = { kind = "mitre", tilt = 17 }
roll = 124

[[member]]
mark = "K2"
mirror = true
size = "NPS 1"
schedule = "40"
length = 731
start = { kind = "cope", angle = 118, offset = -7, on = "NPS 1-1/2" }
end = { kind = "cope", elbow = "90 long radius", at = 31, girth = 62 }
roll = -71

[[member]]
mark = "K3"
mirror = true
size = "NPS 1-1/4"
schedule = "40"
length = 1204.5
measured = "floor to centre"
start = { kind = "plate", tilt = 21, thickness = 9, gap = 2 }
end = [
  { kind = "cope", angle = 90, offset = 3 },
  { kind = "cope", angle = 71, roll = 83 },
]
roll = 39

[[member]]
mark = "K4"
size = "NPS 1"
schedule = "40"
length = 402
measured = "short point to end"
start = { kind = "mitre", tilt = 30 }
end = "square"

[[member]]
mark = "K5"
mirror = true
size = "NPS 3/4"
schedule = "40"
length = 96
measured = "centre to centre"
start = { kind = "cope", on = "NPS 1", angle = 75, offset = 2.5, bears_on = "bore", hole = true }
end = { kind = "cope", on = "NPS 2", angle = 81, offset = -9, gap = 1 }
roll = -158
"""
)
LOOSE = {"dock": (SAMPLES / "dock_frame.toml").read_text(), "lopsided": LOPSIDED}


@pytest.fixture(scope="module", params=LOOSE)
def loose(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Pack:
    return Pack(tmp_path_factory.mktemp("loose"), LOOSE[request.param])


def hands_of(pack: Pack) -> list[tuple[dict[str, Any], str, float]]:
    """Every member with its mark, in each hand."""
    found = []
    for member in pack.job["member"]:
        found.append((member, member["mark"], 1.0))
        if member.get("mirror"):
            found.append((member, f"{member['mark']}M", -1.0))
    return found


def check_member(pack: Pack, member: dict[str, Any], mark: str, hand: float) -> None:
    pipe = pack.pipe(mark, member.get("size", pack.job["pipe"]["size"]))
    first, second = member.get("measured", "centre to centre").split(" to ")
    zero, along = np.array([1.0, 0.0, 0.0]), UP
    turned = hand * math.radians(member.get("roll", 0.0))
    rolled = np.array([math.cos(turned), math.sin(turned), 0.0])
    start = member_end(pack.job, member["start"], first, np.zeros(3), along, zero, hand)
    # The start's 0° side, or the far side of an obtuse cope, is what the words name there.
    over = isinstance(member["start"], dict) and member["start"].get("angle", 0.0) > 90
    shaped = "first end" if pipe.said("first end") else "second end"
    _, girth = pipe.facing(shaped)
    at_zero = (math.pi if over else 0.0) if shaped == "first end" else turned
    spin = at_zero - girth
    frame = np.array(
        [[math.cos(spin), -math.sin(spin), 0.0], [math.sin(spin), math.cos(spin), 0.0], [0, 0, 1.0]]
    )
    wall = pipe.wall("first end") @ frame.T
    cut = member["start"] if isinstance(member["start"], dict) else member["start"][0]
    bears_on = cut.get("bears_on", "first")

    def clear(headers: tuple[Distance, ...], points: Array) -> Array:
        return np.asarray(np.min([header(points) for header in headers], axis=0))

    lift = slid_on(wall, -along, lambda p: clear(start.headers, p), EDGES[bears_on])
    assert_seated(clear(start.headers, wall - lift * along), bears_on)
    tips = {"long point": pipe.blank_mm, "end": pipe.blank_mm, "short point": float(pipe.second[:, 1].min())}
    if start.reach_mm is None:  # the drawing measures from the metal itself
        low = {"long point": 0.0, "short point": float(pipe.first[:, 1].max())}[first]
        assert tips[second] - low == pytest.approx(member["length"], abs=TOUCH_MM)
        return
    if second in tips:
        assert tips[second] - lift == pytest.approx(member["length"] - start.reach_mm, abs=TOUCH_MM)
        return
    end = member_end(pack.job, member["end"], second, np.zeros(3), -along, rolled, hand)
    assert end.reach_mm is not None
    point = (member["length"] - start.reach_mm - end.reach_mm) * along
    wall = pipe.wall("second end") @ frame.T - lift * along - point
    cut = member["end"] if isinstance(member["end"], dict) else member["end"][0]
    assert_seated(clear(end.headers, wall), cut.get("bears_on", "first"))


def test_loose_members_fit_between_what_their_drawing_says(loose: Pack) -> None:
    for member, mark, hand in hands_of(loose):
        check_member(loose, member, mark, hand)


def test_a_member_s_mirror_image_does_not_fit(loose: Pack) -> None:
    wrong = 0
    for member, mark, hand in hands_of(loose):
        if member.get("mirror"):
            with pytest.raises(AssertionError):
                check_member(loose, member, mark, -hand)
            wrong += 1
    assert wrong >= 2


def test_holes_under_loose_members_are_their_bores(loose: Pack) -> None:
    for caption, hole in hole_captions(loose):
        for member, mark, hand in hands_of(loose):
            if mark in caption.marks:
                assert "the arrow to the side of the acute angle" in caption.text
                cut = member["start"]
                angle, offset = math.radians(cut["angle"]), hand * cut["offset"]
                size = cut.get("on", loose.job["pipe"]["size"])
                along = np.array([math.sin(angle), 0.0, math.cos(angle)])
                at, radius = np.array([0.0, -offset, 0.0]), TUBES[size].radius_mm
                cross = math.sqrt(radius**2 - offset**2) / math.sin(angle) * UP
                rim = bored(hole, cross, at, along, radius)
                off = np.hypot(*rim[:, :2].T) - TUBES[member["size"]].bore_mm
                assert np.abs(off).max() < TOUCH_MM


def test_a_pack_drawn_again_for_its_printer_comes_out_true(tmp_path: Path) -> None:
    """--printed 98.7x101.4: the printer draws 1 mm as 0.987 across and 1.014 up."""
    pack = Pack(tmp_path, LOPSIDED, "--printed 98.7x101.4", (0.987, 1.014))
    for member, mark, hand in hands_of(pack):
        check_member(pack, member, mark, hand)
    plain = Pack(tmp_path / "plain", LOPSIDED, "", (0.987, 1.014))
    with pytest.raises(AssertionError):
        check_member(plain, *hands_of(plain)[0])
