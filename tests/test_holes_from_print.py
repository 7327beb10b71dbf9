"""Holes and drain marks of a printed pack, laid on the pipes that it makes, against the job file."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest

from tests.bench_packs import Pack, hands_of, sizes_of
from tests.hands import Tube
from tests.job_in_space import TUBES, UP, Array, Distance, MidRail, Post, RailInSpace, line_distance, unit
from tests.printed_paper import PaperHole, paper_holes
from tests.printed_words import Caption, captions, length_mm
from tests.seating import PRINT_MM, TOUCH_MM, hung, laid, round_from_zero


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


def cross_on(header: str, tube: Tube, mark: str, caption: Caption, pose: Array) -> tuple[Array, Array]:
    """Where the words put a hole's cross on a posed pipe, and the way out of the pipe there."""
    found = told(
        rf"{mark}: ([\d.]+) mm from the sawn first end of {header}, on "
        r"(?:its 0° line|the line ([\d.]+) mm round to the (right|left) of its 0° line)",
        caption,
    )
    turned = float(found[2] or 0) / tube.radius_mm * (-1 if found[3] == "left" else 1)
    out = round_from_zero(pose, turned)
    return pose[:, 3] + float(found[1]) * pose[:, 2] + tube.radius_mm * out, out


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
    _, pose = hung(pack, post)
    cross, _ = cross_on(post.mark, post.tube, mark, caption, pose)
    rim = bored(hole, cross, post.top, post.stands, post.tube.radius_mm)
    branch = line_distance(mid.at, mid.run.way, mid.tube.bore_mm)
    assert_bored(rim, post.stands, branch, 2 * pack.half_step_mm)


def check_mid_rail_hole(
    pack: Pack, mid: MidRail, post: Post, mark: str, caption: Caption, hole: PaperHole
) -> None:
    """The hole in a mid rail under a length of a post that it runs through."""
    _, pose = laid(pack, mid)
    cross, out = cross_on(mid.mark, mid.tube, mark, caption, pose)
    assert out @ UP * (1 if "first end" in caption.what else -1) > 0  # an upper length sits on top of it
    rim = bored(hole, cross, mid.at, mid.run.way, mid.tube.radius_mm)
    branch = line_distance(post.top, post.stands, post.tube.bore_mm)
    assert_bored(rim, mid.run.way, branch, 2 * pack.half_step_mm)


def test_holes_laid_where_they_are_told_are_the_bores_of_what_sits_on_them(rail_pack: Pack) -> None:
    checked, wanted = 0, 0
    holes = hole_captions(rail_pack)
    for rail in rail_pack.rails():
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
                    check_rail_hole(rail_pack, rail, posts[own], mark, caption, hole)
                elif mark in mids:
                    check_post_hole(rail_pack, mids[mark], mark, caption, hole)
                elif own in split:
                    check_mid_rail_hole(rail_pack, split[own], posts[own], mark, caption, hole)
                else:
                    continue
                checked += 1
    assert checked == wanted


def test_drain_holes_are_so_far_off_the_weld_and_opposite(rail_pack: Pack) -> None:
    if "galvanising" not in rail_pack.job:
        return
    off_weld = rail_pack.job["galvanising"]["from_end"]
    drilled = 0
    sizes = sizes_of(rail_pack)
    for cells in joined(rail_pack.rows):
        if len(cells) != 5 or cells[2] not in ("first end", "second end"):
            continue
        line = re.search(r"^(?:(upper|under) side, )?([\d.]+)°", cells[4])
        assert line, cells
        for mark in cells[0].split(", "):
            pipe = rail_pack.pipe(mark, sizes[mark])
            phi = math.radians(float(line[2]))
            from_first = (
                length_mm(cells[3]) if cells[2] == "first end" else pipe.blank_mm - length_mm(cells[3])
            )
            assert abs(from_first - pipe.cut_at(cells[2], phi)) == pytest.approx(off_weld, abs=0.1), mark
            drilled += 1
    assert drilled >= 5


def joined(all_rows: list[list[str]]) -> list[list[str]]:
    """Rows with the lines that their first cell runs over."""
    found: list[list[str]] = []
    for cells in all_rows:
        if len(cells) == 1 and found:
            found[-1] = [f"{found[-1][0]} {cells[0]}", *found[-1][1:]]
        else:
            found.append(list(cells))
    return found


def test_holes_under_loose_members_are_their_bores(loose_pack: Pack) -> None:
    for caption, hole in hole_captions(loose_pack):
        for member, mark, hand in hands_of(loose_pack):
            if mark in caption.marks:
                assert "the arrow to the side of the acute angle" in caption.text
                cut = member["start"]
                angle, offset = math.radians(cut["angle"]), hand * cut["offset"]
                size = cut.get("on", loose_pack.job["pipe"]["size"])
                along = np.array([math.sin(angle), 0.0, math.cos(angle)])
                at, radius = np.array([0.0, -offset, 0.0]), TUBES[size].radius_mm
                cross = math.sqrt(radius**2 - offset**2) / math.sin(angle) * UP
                rim = bored(hole, cross, at, along, radius)
                off = np.hypot(*rim[:, :2].T) - TUBES[member["size"]].bore_mm
                assert np.abs(off).max() < TOUCH_MM
