"""Where drain and vent holes go: at closed ends, opposite each other, clear of the weld."""

from __future__ import annotations

import math

import numpy as np

from render.figures.drain_tables import drain_table
from tests.post_jobs import HEAD, SLOPE, made

ASKED = "\n[galvanising]\nfrom_end = 20\nhole = 12\n"


def test_every_closed_end_has_one_and_the_two_of_a_sloping_pipe_are_opposite() -> None:
    model = made(SLOPE + ASKED)
    by_pipe: dict[str, list[tuple[str, str]]] = {}
    for hole in model.drain_holes:
        by_pipe.setdefault(hole.pipe, []).append((hole.end, hole.line))
    assert by_pipe["A-M2-1"] == [("start", "under side"), ("end", "upper side")]
    assert by_pipe["A-T2-1"] == [("start", "0° line"), ("end", "180° line")]
    assert by_pipe["A-T3-1"] == [("end", "upper side")] or by_pipe["A-T3-1"] == [("end", "180° line")]
    assert "A-P1" not in by_pipe  # it stands open


def test_a_hole_stands_clear_of_its_weld() -> None:
    model = made(SLOPE + ASKED)
    pipes = {pipe.mark: pipe for pipe in model.cut_pipes}
    for hole in model.drain_holes:
        pipe = pipes[hole.pipe]
        cut = pipe.start.cut if hole.end == "start" else pipe.end.cut
        tip = cut.station_mm.min() if hole.end == "start" else cut.station_mm.max()
        assert hole.girth_rad is not None
        station = float(tip) + (hole.along_mm if hole.end == "start" else -hole.along_mm)
        assert math.isclose(abs(station - float(cut.at(hole.girth_rad))), 20.0, abs_tol=1e-6)
        low, high = pipe.start.cut.station_mm.max(), pipe.end.cut.station_mm.min()
        assert low - 1 < station < high + 1 or np.ptp(cut.station_mm) > 20


def test_an_end_that_opens_into_its_header_needs_none() -> None:
    opened = made(SLOPE.replace("drop = 1000", "drop = 1000\nhole = true") + ASKED)
    ends = {(hole.pipe, hole.end) for hole in opened.drain_holes}
    assert ("A-T2-1", "start") in ends and ("A-T2-1", "end") not in ends


def test_a_closed_rail_and_a_capped_one() -> None:
    ring = (
        HEAD
        + """
[[rail]]
mark = "R"
closed = true
points = [ [0, 0, 0], [900, 0, 0], [900, 0, 700], [0, 0, 700] ]
"""
    )
    holes = made(ring + ASKED).drain_holes
    assert [(hole.pipe, hole.line) for hole in holes] == [("R-P1", "under side"), ("R-P3", "upper side")]
    capped = (
        HEAD
        + """
[[rail]]
mark = "C"
path = [ { run = 900, pitch = 20 } ]
start = { kind = "cap", thickness = 4 }
end = { kind = "cap", thickness = 4 }
"""
    )
    lines = [(hole.end, hole.line) for hole in made(capped + ASKED).drain_holes]
    assert lines == [("start", "under side"), ("end", "upper side")]


def test_nothing_is_said_where_nothing_is_asked() -> None:
    model = made(SLOPE)
    assert model.drain_holes == () and drain_table(model).rows == ()
    assert "of 12.0 mm" in drain_table(made(SLOPE + ASKED)).title
    bare = made(SLOPE + "\n[galvanising]\n")
    assert "of the size that the galvanizer gives" in drain_table(bare).title
