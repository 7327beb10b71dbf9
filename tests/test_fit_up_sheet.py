"""Fit-up sheets as written: every size on them measured again on a rail put together in space."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from render.pages.drawing import Line, Pen, Polyline, Text
from render.pages.flow import columns_of
from render.pages.shapes import text_box
from render.sheets.fit_up_drawing import fit_up_figures
from render.sheets.fit_up_scene import ExtraMetal, Extras, ExtraSize, Held
from render.sheets.fit_up_sheet import fit_up_pages
from templates_core.fitting_up.fit_up import Size
from templates_core.jobs.job_file import load_job
from templates_core.model import Model, Rail, build_model
from tests.layout_checks import outside_margins, text_overlaps
from tests.pdf_reader import Sheet
from tests.saw_and_table import Pose, Table, Vector, rail_start, skin
from tests.sheet_samples import (
    ALL,
    FRAME,
    LEVEL,
    RAMP,
    SPATIAL,
    TWENTY,
    ZIGZAG,
    layout,
    model_of,
    rail,
    words,
    written,
)

GAP_MM = 2.4
RADIUS_MM = 48.26 / 2
SAMPLES = Path(__file__).parent.parent / "sample_jobs"
NUMBER = r"([\d.]+)"
HANDED = SPATIAL.replace("quantity = 1", "quantity = 1\nmirror = true")
FROM_WALL = LEVEL.replace("quantity = 1", "start = { kind = 'plate', thickness = 8, gap = 2 }")
JOBS = {**ALL, "handed": HANDED, "from the wall": FROM_WALL}
SMALL = [name for name in JOBS if name not in ("twenty", "zigzag")]


def on_table(rail: Rail) -> Table:
    table = Table(rail_start(rail.path), GAP_MM)
    return table.put_together(rail.path, rail.corners, rail.members)


def sheets_of(tmp_path: Path, model: Model, paper: str = "A4") -> list[Sheet]:
    return written(tmp_path, fit_up_pages(model, layout(paper)))


def texts(sheets: list[Sheet]) -> list[str]:
    return [word.text for sheet in sheets for word in sheet.words]


def drawn_sizes(found: list[str], pattern: str) -> dict[str, set[float]]:
    """Numbers of the texts that are a name and a size, by their name."""
    made: dict[str, set[float]] = {}
    for text in found:
        match = re.fullmatch(pattern, text)
        if match:
            made.setdefault(match[1], set()).add(float(match[2]))
    return made


def apart(one: Vector, two: Vector) -> float:
    return float(np.linalg.norm(one - two))


def across(start: Pose, end: Pose) -> float:
    return apart(start.at, end.at)


@pytest.mark.parametrize("name", SMALL)
@pytest.mark.parametrize("paper", ["letter", "A4", "roll 200"])
def test_sheets_are_clean_on_every_paper(tmp_path: Path, name: str, paper: str) -> None:
    for sheet in sheets_of(tmp_path, model_of(JOBS[name]), paper):
        assert not text_overlaps(sheet)
        assert not outside_margins(sheet)
        assert min(word.size_pt for word in sheet.words) >= 7.0
        assert not sheet.with_width(0.50), "only a trace edge is that wide"


@pytest.mark.parametrize(("name", "paper"), [("zigzag", "A4"), ("zigzag", "letter"), ("twenty", "A4")])
def test_twenty_corners_are_clean(tmp_path: Path, name: str, paper: str) -> None:
    model = model_of(JOBS[name])
    sheets = sheets_of(tmp_path, model, paper)
    for sheet in sheets:
        assert not text_overlaps(sheet)
        assert not outside_margins(sheet)
    found = set(texts(sheets))
    for joint in model.rails[0].fit_up.joints:
        assert ", ".join(joint.marks) in found


@pytest.mark.parametrize("job", sorted(path.name for path in SAMPLES.glob("*.toml")))
def test_sheets_of_the_sample_jobs_are_clean(tmp_path: Path, job: str) -> None:
    model = build_model(load_job(SAMPLES / job))
    if not model.rails:
        assert fit_up_pages(model, layout(model.job.shop.paper)) == ()
        return
    for sheet in sheets_of(tmp_path, model, model.job.shop.paper):
        assert not text_overlaps(sheet)
        assert not outside_margins(sheet)


@pytest.mark.parametrize("name", [name for name in JOBS if name != "twenty"])
def test_every_size_on_the_sheets_is_there_on_the_metal(tmp_path: Path, name: str) -> None:
    """Pipes end to end, work points and diagonals of flat rails, on the drawings and in the tables."""
    model = model_of(JOBS[name])
    found = texts(sheets_of(tmp_path, model))
    pipes = drawn_sizes(found, rf"(?:pipe )?(\S+-P\d+) {NUMBER}")
    points = drawn_sizes(found, rf"(WP|work points) {NUMBER}")
    diagonals = drawn_sizes(found, rf"(D\d+) {NUMBER}")
    real_points: set[float] = set()
    for computed in model.rails:
        table = on_table(computed)
        corners = table.work_points(computed.path.closed)
        ends = [computed.path.points_mm[0], *corners, computed.path.points_mm[-1]]
        if computed.path.closed:
            ends = [*corners, corners[0]]
        real_points |= {round(apart(one, two), 3) for one, two in pairwise(ends)}
        for member in computed.members:
            real = across(*table.pipes[member.run_number])
            assert f"{real:.1f}" in found, "in the table"
            assert all(abs(size - real) < 0.06 for size in pipes.get(member.mark, ()))
        if computed.path.is_flat and len(model.rails) == 1:
            for number, one in enumerate(computed.fit_up.diagonals, 1):
                real = apart(table.pipes[one.from_run][0].at, table.pipes[one.to_run][1].at)
                assert all(abs(size - real) < 0.06 for size in diagonals.get(f"D{number}", ()))
                assert f"{real:.1f}" in found
    assert pipes and points
    for size in set().union(*points.values()):
        assert min(abs(size - real) for real in real_points) < 0.06


def test_heels_and_overall_are_those_of_the_skin(tmp_path: Path) -> None:
    hoop = rail("H", (600, 800, 500), ("turn = 90, towards = 'left'", "turn = 90, towards = 'left'"))
    model = model_of(hoop)
    found = texts(sheets_of(tmp_path, model))
    (computed,) = model.rails
    table = on_table(computed)
    points = skin(table, [piece for c in computed.corners for piece in c.pieces], RADIUS_MM, 0.01)
    length, width = np.ptp(points @ table.lines[1].frame.apply([1, 0, 0])), np.ptp(points[:, 0])
    overall = set().union(*drawn_sizes(found, rf"(overall) {NUMBER}").values())
    assert sorted(overall) == pytest.approx(sorted([length, width]), abs=0.1)
    heels = set().union(*drawn_sizes(found, rf"(heels|heel to heel) {NUMBER}").values())
    assert any(abs(size - length) < 0.1 for size in heels)


@pytest.mark.parametrize("table", [FRAME, rail("K", (900, 700, 800), ("turn = 60, towards = 'left'",) * 2)])
def test_a_dimension_drawn_to_scale_is_as_long_as_it_says(table: str) -> None:
    """Each size has a line of its length at the stated scale beside its words, along them."""
    model = model_of(table)
    (computed,) = model.rails
    _, width_mm, height_mm = columns_of(layout("A4"))
    checked = 0
    for _, figures in fit_up_figures(computed, model.job, width_mm, height_mm - 26):
        for figure in figures:
            scale = re.search(r"Drawn 1:(\d+)", figure.caption)
            if scale is None:
                continue
            lines = [one for one in figure.figure.drawing if isinstance(one, Line) and one.pen is Pen.TICK]
            for text in (one for one in figure.figure.drawing if isinstance(one, Text)):
                size = re.search(rf"(?<=[ ]){NUMBER}$", text.text)
                if size is None or re.match(r"Elevation|Plan", text.text):
                    continue
                checked += 1
                expected = float(size[1]) / int(scale[1])
                middle = np.mean(text_box(text), axis=0)
                fits = [line for line in lines if is_beside(line, middle, text.angle_rad)]
                lengths = [math.dist(line.start, line.end) for line in fits]
                outside = [length - 10.0 for length in lengths]
                assert min(abs(length - expected) for length in [*lengths, *outside]) < 0.06, text.text
    assert checked >= 5


def is_beside(line: Line, middle: Vector, angle_rad: float) -> bool:
    """Whether a line runs along some words, no further off than their own height."""
    step = np.subtract(line.end, line.start)
    along = math.atan2(step[1], step[0])
    off = np.subtract(middle, line.start)
    distance = abs(step[0] * off[1] - step[1] * off[0]) / np.linalg.norm(step)
    return abs(math.sin(along - angle_rad)) < 1e-3 and distance < 4.0


@pytest.mark.parametrize("name", SMALL)
def test_every_part_and_joint_is_named_on_the_drawing(name: str) -> None:
    model = model_of(JOBS[name])
    for computed in model.rails:
        _, width_mm, height_mm = columns_of(layout("A4"))
        name, figures = fit_up_figures(computed, model.job, width_mm, height_mm - 26)[0]
        assert name == "parts and joints"
        found = [t.text for figure in figures for t in figure.figure.drawing if isinstance(t, Text)]
        marks = [member.mark for member in computed.members]
        marks += [piece.mark for corner in computed.corners for piece in corner.pieces]
        marks += [", ".join(joint.marks) for joint in computed.fit_up.joints]
        for mark in marks:
            assert mark in found


@pytest.mark.parametrize("job", ["frame", "kayak_rack"])
def test_every_diagonal_of_a_closed_frame_is_drawn(job: str) -> None:
    model = model_of(ALL[job]) if job in ALL else build_model(load_job(SAMPLES / f"{job}.toml"))
    (computed,) = model.rails
    _, width_mm, height_mm = columns_of(layout("A4"))
    figures = dict(fit_up_figures(computed, model.job, width_mm, height_mm - 26))["diagonals and overall"]
    found = [t.text for figure in figures for t in figure.figure.drawing if isinstance(t, Text)]
    drawn = [text.split()[0] for text in found if re.match(r"D\d", text)]
    assert sorted(drawn) == [f"D{number}" for number in range(1, len(computed.fit_up.diagonals) + 1)]


def test_the_list_of_joints_has_one_row_for_each_in_order(tmp_path: Path) -> None:
    model = model_of(LEVEL)
    found = texts(sheets_of(tmp_path, model))
    found = found[found.index("At the bench: Rail A") :]
    joints = [mark for corner in model.rails[0].corners for mark in corner.joints]
    assert [text for text in found if text in joints] == joints
    for words_needed in ("Tack opposite", "Check again", "licensed practice"):
        assert words_needed in " ".join(found)


def test_the_joint_for_the_site_comes_last_and_the_pipe_left_long_is_named(tmp_path: Path) -> None:
    table = LEVEL.replace("{ run = 600 }", "{ run = 600, closing = { extra = 50 } }")
    found = texts(sheets_of(tmp_path, model_of(table)))
    assert any("A-P4 comes 50.0 mm longer" in text for text in found)
    on_site = [text for text in found if text.endswith("on site") and "/" in text]
    assert on_site == ["A3/2 on site"]
    assert found.index("A3/2 on site") > found.index("A3/1", found.index("At the bench: Rail A"))


def test_hands_have_their_own_sheets_with_rolls_the_other_way(tmp_path: Path) -> None:
    model = model_of(HANDED)
    pages = fit_up_pages(model, layout("A4"))
    by_hand = [[p for p in pages if p.title.split(",")[1].endswith(f" {m}")] for m in ("S", "SM")]
    one, two = (texts(written(tmp_path, hand)) for hand in by_hand)
    assert any("the other hand of S" in text for text in two) and not any("other hand" in t for t in one)
    ways = [[t for t in found if t in ("clockwise", "anticlockwise")] for found in (one, two)]
    swapped = {"clockwise": "anticlockwise", "anticlockwise": "clockwise"}
    assert len(ways[0]) == 3, "one in the figure, which is the same for both"
    assert [swapped[way] for way in ways[0][1:]] == ways[1][1:]


def test_a_class_puts_a_tolerance_beside_each_size_of_a_run(tmp_path: Path) -> None:
    model = model_of(LEVEL)
    held = build_model(replace(model.job, tolerance="B"))
    found = words(sheets_of(tmp_path, held))
    assert "2650.0 ±6" in found and "EN ISO 13920 class B" in found
    assert "±" not in words(sheets_of(tmp_path, model))


def test_posts_and_their_spacing_go_on_the_same_drawing_and_stay_upright() -> None:
    """On a rail drawn short, a plumb post still hangs from its own pipe, plumb."""
    model = model_of(RAMP)
    (computed,) = model.rails
    run = computed.path.runs[1]
    tops = [computed.path.points_mm[1] + along * run.direction for along in (500.0, 3500.0)]
    holds = [
        (Held(top, 2, along), Held(top - [0, 0, 900.0], 2, along))
        for top, along in zip(tops, (500.0, 3500.0), strict=True)
    ]
    posts = tuple(ExtraMetal(f"R-Q{n}", *ends, RADIUS_MM) for n, ends in enumerate(holds, 1))
    size = Size(3000.0, None)
    spacing = ExtraSize("Posts, middles", "R-Q1", "R-Q2", "posts", holds[0][0], holds[1][0], size)
    extras = Extras(posts, (spacing,))
    _, width_mm, height_mm = columns_of(layout("A4"))
    made = dict(fit_up_figures(computed, model.job, width_mm, height_mm - 26, extras))
    found = {
        name: [t.text for figure in figures for t in figure.figure.drawing if isinstance(t, Text)]
        for name, figures in made.items()
    }
    assert {"R-Q1", "R-Q2"} <= set(found["parts and joints"])
    assert "posts 3000.0" in found["sizes"]
    edges = [
        edge
        for item in made["parts and joints"][0].figure.drawing
        if isinstance(item, Polyline) and item.pen is Pen.OBJECT
        for edge in pairwise(item.points)
    ]
    upright = sum(abs(x - u) < 1e-3 and abs(y - v) > 20.0 for (x, y), (u, v) in edges)
    assert upright == 4, "two edges of each post"
    pages = fit_up_pages(model, layout("A4"), lambda _: extras)
    assert any(t.text == "Posts, middles, mm" for page in pages for t in page.drawing if isinstance(t, Text))


def test_tables_on_the_sheets_fit_inches(tmp_path: Path) -> None:
    corners = ("turn = 118, towards = 'left'", "turn = 33, towards = 'up'", "turn = 45, roll = 70")
    for table in (rail("A", (40, 104.5, 60, 50), corners), rail("B", (40, 104.5, 60), corners[:1] * 2)):
        for sheet in sheets_of(tmp_path, model_of(table, units="in"), "letter"):
            assert not text_overlaps(sheet)
            assert not outside_margins(sheet)


def test_the_samples_cover_what_they_are_for() -> None:
    model = build_model(load_job(SAMPLES / "lookout_rail.toml"))
    rolls = [abs(math.sin(corner.roll_rad)) for corner in model.rails[0].corners[1:]]
    assert sum(roll > 0.1 for roll in rolls) == 2, "turns out of its plane twice"
    assert len(model_of(ZIGZAG).rails[0].corners) == len(model_of(TWENTY).rails[0].corners) == 20
