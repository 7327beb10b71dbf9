"""Sizes and the record of a printed pack, against the job file set out in space."""

from __future__ import annotations

import math
import re

import pytest

from tests.bench_packs import Pack, sizes_of
from tests.job_in_space import Array, Post, RailInSpace
from tests.printed_words import length_mm


def test_the_record_has_a_blank_for_every_pipe_and_every_post(rail_pack: Pack) -> None:
    record = rail_pack.rows
    for mark in sizes_of(rail_pack):
        if "-P" not in mark:
            assert any(
                cells[0].split(",")[0] == mark and "Make" not in cells for cells in record if len(cells) == 5
            )
    for rail in rail_pack.rails():
        for post in rail.posts():
            stands = (
                "plumb" if post.row.get("stand") != "square" else f"square to {rail.mark}-P{post.run.number}"
            )
            height = (post.top - post.floor) @ post.normal / (post.stands @ post.normal)
            (said,) = [length_mm(cells[2]) for cells in record if cells[:2] == [post.mark, stands]]
            assert said * rail_pack.mm == pytest.approx(height, abs=rail_pack.half_step_mm)


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


def test_the_tape_finds_each_post(rail_pack: Pack) -> None:
    for rail in rail_pack.rails():
        for post in rail.posts():
            if "corner" in post.row:
                continue
            line, words = line_words(post, rail, rail_pack)
            pipe = f"{rail.mark}-P{post.run.number}"
            how, size = rail_pack.size(f"start of {pipe}", post.mark)
            if words == "on its lower line":
                assert f"start of the pipe, {words}, to the near side of the post" in how
            else:
                found = re.search(r"on the line ([\w./ -]+) round (to the \w+) of its lower line", how)
                assert found and found[2] == words, how
                arc = rail.tube.radius_mm * math.asin(
                    abs(post.row["offset"]) * rail_pack.mm / rail.tube.radius_mm
                )
                assert length_mm(found[1]) == pytest.approx(arc, abs=rail_pack.half_step_mm)
            start = rail.pipe_start_mm(post.run, line, rail_pack.shop_mm["root_gap"])
            room = rail_pack.half_step_mm
            if start is None:  # after an elbow, which the job sheet says
                start = rail_pack.start_mm(rail, post.run)
                room *= 3
            assert size == pytest.approx(near_side_mm(post, rail, line) - start, abs=room), post.mark
