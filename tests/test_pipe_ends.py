"""Ends of straight pipes: closed forms, laws and refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest

from templates_core.errors import GeometryError
from templates_core.fittings import Pipe
from templates_core.geometry.pipe_ends import BearsOn, EndCut, PipeAxis, end_cut
from templates_core.geometry.solids import HalfSpace, PipeSolid
from templates_core.geometry.surfaces import Array

PIPE = Pipe("NPS 1-1/2 Sch 40", 48.26, 3.68, "typed here")
UPRIGHT = PipeAxis(np.zeros(3), np.array([0.0, 0.0, 1.0]), np.array([1.0, 0.0, 0.0]))


def header(radius_mm: float, angle_deg: float = 90.0, offset_mm: float = 0.0) -> PipeSolid:
    """A pipe through the origin that leans from the upright towards girth angle 0, set off to its right."""
    lean = math.radians(angle_deg)
    along = np.array([math.sin(lean), 0.0, math.cos(lean)])
    at = np.array([0.0, -offset_mm, 0.0])
    return PipeSolid(at - 3000 * along, at + 3000 * along, radius_mm)


def cope(solid: PipeSolid | HalfSpace, bears_on: BearsOn = BearsOn.FIRST, pipe: Pipe = PIPE) -> EndCut:
    return end_cut(UPRIGHT, pipe, [solid], "start", bears_on)


def greatest_over_wall(radius_mm: float, angle_deg: float, offset_mm: float, girth_rad: Array) -> Array:
    """z = (√(r₂² − (r₁ sin φ + e)²) + r₁ cos φ cos β) / sin β at its greatest."""
    r = np.linspace(PIPE.radius_mm - PIPE.wall_mm, PIPE.radius_mm, 20001)[:, None]
    lean = math.radians(angle_deg)
    under = np.maximum(radius_mm**2 - (r * np.sin(girth_rad) + offset_mm) ** 2, 0.0)
    return np.asarray(
        np.max((np.sqrt(under) + r * np.cos(girth_rad) * math.cos(lean)) / math.sin(lean), axis=0)
    )


def test_an_equal_tee_that_bears_on_its_outer_edge_is_cut_by_the_closed_form() -> None:
    """Equal pipes at 90° meet where z = r |cos φ|, in two planes, with corners at both sides."""
    cut = cope(header(PIPE.radius_mm), BearsOn.OUTER)
    assert cut.station_mm == pytest.approx(PIPE.radius_mm * np.abs(np.cos(cut.girth_rad)), abs=1e-6)
    assert cut.kinks_rad == pytest.approx((-math.pi / 2, math.pi / 2), abs=1e-6)
    assert np.max(cut.gap_outside_mm) < 1e-6


@pytest.mark.parametrize("angle_deg", [90.0, 60.0, 35.0, 20.0])
@pytest.mark.parametrize(("radius_mm", "offset_mm"), [(24.13, 0.0), (30.165, 0.0), (44.45, 12.0)])
def test_the_wall_seats_with_no_grinding(angle_deg: float, radius_mm: float, offset_mm: float) -> None:
    cut = cope(header(radius_mm, angle_deg, offset_mm))
    expected = greatest_over_wall(radius_mm, angle_deg, offset_mm, cut.girth_rad)
    assert cut.station_mm == pytest.approx(expected, abs=1e-6)


def test_a_cope_on_a_pipe_of_very_large_radius_is_a_plate_cut() -> None:
    """A vast pipe's top is the plane square to the radius there."""
    vast = 1e7
    tank = PipeSolid(np.array([-1e6, 0.0, -vast]), np.array([1e6, 0.0, -vast]), vast)
    plate = HalfSpace(np.zeros(3), np.array([0.0, 0.0, 1.0]))
    girth = np.linspace(-math.pi, math.pi, 50)
    assert cope(tank).at(girth) == pytest.approx(cope(plate).at(girth), abs=1e-3)


@pytest.mark.parametrize(
    ("solid", "words"),
    [
        (header(22.0), "4.3 mm too wide"),
        (header(30.0, 90.0, 8.0), "2.1 mm past the side .* up to 5.9 mm"),
        (header(30.0, 12.0), "12.00°, 3.00° under the least of 15°"),
        (PipeSolid(np.array([-10.0, 0, 0]), np.array([900.0, 0, 0]), 30.0), "hangs 14.1 mm over the end"),
        (HalfSpace(np.zeros(3), np.array([math.cos(0.2), 0.0, math.sin(0.2)])), "11.46°, 3.54° under"),
    ],
)
def test_what_cannot_seat_is_refused_by_how_much(solid: PipeSolid | HalfSpace, words: str) -> None:
    with pytest.raises(GeometryError, match=words):
        cope(solid)


@pytest.mark.parametrize("tolerance_mm", [0.05, 0.01, 0.002])
def test_chords_leave_the_cut_by_no_more_than_the_tolerance(tolerance_mm: float) -> None:
    solid = header(24.13, 48.0)
    cut = end_cut(UPRIGHT, PIPE, [solid], "start", BearsOn.OUTER, chord_tolerance_mm=tolerance_mm)
    girth = np.linspace(-math.pi, math.pi, 20001)
    lean = math.radians(48.0)
    true = (24.13 * np.abs(np.cos(girth)) + PIPE.radius_mm * np.cos(girth) * math.cos(lean)) / math.sin(lean)
    slope = np.gradient(true, PIPE.radius_mm * girth)
    assert np.max(np.abs(cut.at(girth) - true) / np.hypot(1.0, slope)) < tolerance_mm
    assert len(cut.girth_rad) < 60 / math.sqrt(tolerance_mm)


def test_stops_and_quarters_are_among_the_rows_and_the_seam_is_both_ends() -> None:
    cut = end_cut(UPRIGHT, PIPE, [header(30.0, 60.0)], "start", seam_rad=0.3, stops_rad=(1.234,))
    assert (cut.girth_rad[0], cut.girth_rad[-1]) == pytest.approx((0.3, 0.3 + 2 * math.pi), abs=1e-12)
    assert cut.station_mm[0] == pytest.approx(cut.station_mm[-1], abs=1e-9)
    assert np.all(np.diff(cut.girth_rad) > 0)
    for stop in (1.234, math.pi / 2, math.pi, 3 * math.pi / 2, 2 * math.pi):
        assert np.min(np.abs(cut.girth_rad - stop)) < 1e-9


def test_another_seam_is_the_same_line() -> None:
    cut = cope(header(24.13, 55.0), BearsOn.OUTER)
    turned = cut.from_seam(2.2)
    assert turned.girth_rad[0] == 2.2
    assert turned.girth_rad[-1] == pytest.approx(2.2 + 2 * math.pi, abs=1e-12)
    girth = np.linspace(-9.0, 9.0, 500)
    assert turned.at(girth) == pytest.approx(cut.at(girth), abs=1e-9)
    assert [math.cos(k) for k in turned.kinks_rad] == pytest.approx([0.0, 0.0], abs=1e-6)


def test_both_ends_of_a_pipe_between_two_alike_headers_are_each_others_image() -> None:
    """Walking up or walking down is the same: the end on the upper header mirrors the lower one's."""
    low = header(30.0, 90.0)
    up = np.array([0.0, 0.0, 500.0])
    high = PipeSolid(low.start_mm + up, low.end_mm + up, 30.0)
    start, end = (end_cut(UPRIGHT, PIPE, [one], at) for one, at in ((low, "start"), (high, "end")))  # type: ignore[arg-type]
    girth = np.linspace(-3, 3, 40)
    assert 500.0 - end.at(girth) == pytest.approx(start.at(girth), abs=1e-9)


def test_what_the_choice_of_edge_leaves_is_told_square_to_the_header() -> None:
    """Equal tee on its outer edge: at the crotch the bore edge is level with it, so nearer to the axis.

    At girth 0 of a pipe on a header along it the cut is flat and both edges touch; at the side the bore edge,
    at height 0, is a wall's width inside the header's skin: no gap. On its bore edge it stands off outside by
    the header's own curve: the outer edge, at height √(r² − b²), lies off the axis by √(r² + r² − b²).
    """
    tee = header(PIPE.radius_mm)
    r, b = PIPE.radius_mm, PIPE.radius_mm - PIPE.wall_mm
    outer, bore = cope(tee, BearsOn.OUTER), cope(tee, BearsOn.BORE)
    side = np.argmin(np.abs(bore.girth_rad - math.pi / 2))
    assert bore.gap_outside_mm[side] == pytest.approx(math.sqrt(2 * r * r - b * b) - r, abs=1e-6)
    assert outer.gap_inside_mm.max() < 1e-9
    plate = HalfSpace(np.zeros(3), np.array([math.sin(0.3), 0.0, math.cos(0.3)]))
    sawn = cope(plate)
    assert sawn.gap_inside_mm.max() == sawn.gap_outside_mm.max() == 0.0
    assert sawn.at(np.array([0.0, math.pi])) == pytest.approx(
        [-r * math.tan(0.3), r * math.tan(0.3)], abs=1e-9
    )
