"""Cuts of pipe ends against walking each line of the wall by scipy's root finder.

The solids are written anew here as distances to centrelines; a walker comes from the pipe's middle in steps
of a fifth of a millimetre and brentq finds where the distance first falls to the radius.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from scipy.optimize import brentq, minimize_scalar

from templates_core.geometry.pipe_ends import BearsOn, end_cut
from templates_core.geometry.solids import BendSolid, HalfSpace, PipeSolid, Solid
from templates_core.geometry.surfaces import Array
from tests.seat_samples import HEEL, SEATS, SIDE, THROAT, Seat

FAR_MM, STEP_MM = 400.0, 0.2
SEAT_IDS = [seat.name for seat in SEATS]


def depth(solid: Solid, points: Array) -> Array:
    """How far points (n, 3) are outside the solid's round side; +inf beyond its ends."""
    if isinstance(solid, PipeSolid):
        span = solid.end_mm - solid.start_mm
        length = float(np.linalg.norm(span))
        reach = (points - solid.start_mm) @ span / length
        off = np.linalg.norm(np.cross(points - solid.start_mm, span / length), axis=1)
        return np.where((reach >= 0) & (reach <= length), off - solid.radius_mm, np.inf)
    if isinstance(solid, BendSolid):
        forward = np.cross(solid.axis, solid.to_face_a)
        x, y, z = ((points - solid.centre_mm) @ v for v in (solid.to_face_a, forward, solid.axis))
        psi = np.mod(np.arctan2(y, x), 2 * math.pi)
        off = np.hypot(np.hypot(x, y) - solid.bend_radius_mm, z) - solid.radius_mm
        return np.where(psi <= solid.sweep_rad, off, np.inf)
    assert isinstance(solid, HalfSpace)
    return np.asarray((points - solid.point_mm) @ solid.normal)


def union(seat: Seat) -> Callable[[Array], Array]:
    return lambda points: np.asarray(np.min([depth(solid, points) for solid in seat.solids], axis=0))


def first_met(seat: Seat, girth: float, radius: float) -> float:
    """Station at which a walker towards the solids first meets them."""
    start = seat.axis.point(girth, 0.0, radius)
    solid = union(seat)
    t = np.arange(FAR_MM, -FAR_MM, -STEP_MM)
    inside = solid(start + t[:, None] * seat.back) < 0
    hit = int(np.argmax(inside))
    assert inside[hit]
    return float(
        brentq(lambda s: float(solid((start + s * seat.back)[None])[0]), t[hit], t[hit - 1], xtol=1e-11)
    )


@pytest.mark.parametrize("seat", SEATS, ids=SEAT_IDS)
@pytest.mark.parametrize("bears_on", [BearsOn.OUTER, BearsOn.BORE])
def test_an_edge_is_cut_where_its_line_first_meets_the_solids(seat: Seat, bears_on: BearsOn) -> None:
    cut = end_cut(seat.axis, seat.pipe, seat.solids, "start", bears_on)
    radius = seat.pipe.radius_mm - (seat.pipe.wall_mm if bears_on is BearsOn.BORE else 0.0)
    for row in range(3, len(cut.girth_rad), 7):
        if abs(depth_slope(seat, cut.girth_rad[row], radius, cut.station_mm[row])) < 1e-3:
            continue  # a line that grazes: the walker's steps go by it
        found = first_met(seat, cut.girth_rad[row], radius)
        assert cut.station_mm[row] == pytest.approx(found, abs=1e-6), math.degrees(cut.girth_rad[row])


def depth_slope(seat: Seat, girth: float, radius: float, station: float) -> float:
    points = seat.axis.point([girth, girth], [station + 1e-4, station + 2e-4], radius)
    low, high = union(seat)(points)
    return float(high - low) / 1e-4


@pytest.mark.parametrize("seat", SEATS, ids=SEAT_IDS)
def test_the_wall_seats_at_its_highest_line(seat: Seat) -> None:
    """Whichever comes first: no line of the wall between bore and outside is met earlier."""
    cut = end_cut(seat.axis, seat.pipe, seat.solids, "start")
    bore, outer = seat.pipe.radius_mm - seat.pipe.wall_mm, seat.pipe.radius_mm
    for row in range(5, len(cut.girth_rad), 19):
        girth = float(cut.girth_rad[row])
        tried = np.linspace(bore + 1e-6, outer - 1e-6, 9)
        heights = [first_met(seat, girth, r) for r in tried]
        best = int(np.argmax(heights))
        low, high = tried[max(0, best - 1)], tried[min(8, best + 1)]
        within = minimize_scalar(
            lambda r, girth=girth: -first_met(seat, girth, r), bounds=(low, high), method="bounded"
        )
        assert cut.station_mm[row] == pytest.approx(max(*heights, -within.fun), abs=2e-4)


@pytest.mark.parametrize("seat", [HEEL, SIDE, THROAT], ids=["heel", "side", "throat"])
def test_lines_leave_a_bend_on_its_surface_to_a_millionth_of_a_millimetre(seat: Seat) -> None:
    (bend,) = seat.solids
    points = seat.axis.point(np.linspace(0, 2 * math.pi, 100), 0.0, seat.pipe.radius_mm)
    at = points + bend.last_mm(points, seat.back)[:, None] * seat.back
    assert np.abs(depth(bend, at)).max() < 1e-9


def test_a_post_in_the_throat_does_not_meet_the_part_of_the_torus_that_is_not_there() -> None:
    """Walking in from the middle of the bend's circle it would meet the far side of a whole torus first."""
    (real,) = THROAT.solids
    assert isinstance(real, BendSolid)
    other_half = BendSolid(
        real.centre_mm, real.axis, -real.to_face_a, real.bend_radius_mm, real.radius_mm, math.pi
    )
    points = THROAT.axis.point(np.linspace(0, 2 * math.pi, 50), 0.0, THROAT.pipe.radius_mm)
    phantom = other_half.last_mm(points, THROAT.back)
    assert np.all(phantom > real.last_mm(points, THROAT.back) + 30.0)
    cut = end_cut(THROAT.axis, THROAT.pipe, [real], "start")
    assert cut.station_mm.max() < phantom.min()
