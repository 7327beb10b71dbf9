"""Solids that pipe ends sit on: laws that hold for any line."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from templates_core.errors import GeometryError
from templates_core.geometry.solids import BendSolid, HalfSpace, PipeSolid, Solid
from templates_core.geometry.surfaces import Array
from tests.seat_samples import bend, legs, put, way

SOLIDS: list[Solid] = [
    bend(90.0),
    bend(20.0),
    bend(180.0),
    PipeSolid(put(-40, 5, 0), put(60, 10, 3), 24.13),
    HalfSpace(put(0, 0, 0), way(0.2, 0.3, 1.0)),
]
coordinate = st.floats(-120.0, 120.0)


@pytest.mark.parametrize("solid", SOLIDS, ids=lambda solid: type(solid).__name__)
@given(x=coordinate, y=coordinate, z=coordinate, a=st.floats(-1, 1), b=st.floats(-1, 1))
def test_the_last_point_is_on_the_skin_and_none_further_on_is_inside(
    solid: Solid, x: float, y: float, z: float, a: float, b: float
) -> None:
    start, direction = put(x, y, z), way(a, b, 1.0)
    last = float(solid.last_mm(start, direction))
    on = np.linspace(0.0 if math.isinf(last) else last + 1e-6, 400.0, 400)
    assert not np.any(solid_inside(solid, start + on[:, None] * direction))
    if math.isfinite(last):
        end = start + last * direction
        assert float(solid.distance_mm(end)) < 1e-5


def solid_inside(solid: Solid, points: Array) -> Array:
    """Whether points are a hair's breadth inside, told by the shape alone."""
    if isinstance(solid, BendSolid):
        forward = np.cross(solid.axis, solid.to_face_a)
        x, y, z = ((points - solid.centre_mm) @ v for v in (solid.to_face_a, forward, solid.axis))
        psi = np.mod(np.arctan2(y, x), 2 * math.pi)
        off = np.hypot(np.hypot(x, y) - solid.bend_radius_mm, z)
        return np.asarray((psi > 1e-6) & (psi < solid.sweep_rad - 1e-6) & (off < solid.radius_mm - 1e-5))
    if isinstance(solid, PipeSolid):
        span = solid.end_mm - solid.start_mm
        share = (points - solid.start_mm) @ span / (span @ span)
        off = np.linalg.norm(points - solid.start_mm - share[:, None] * span, axis=1)
        return np.asarray((share > 1e-7) & (share < 1 - 1e-7) & (off < solid.radius_mm - 1e-5))
    assert isinstance(solid, HalfSpace)
    return np.asarray((points - solid.point_mm) @ solid.normal < -1e-5)


def test_an_elbow_and_its_pipes_are_one_solid() -> None:
    """No line finds a gap at a face: across it the last point moves smoothly."""
    elbow, (before, after) = bend(70.0), legs(70.0)
    start = put(57.15, 0, 0) + np.linspace(-30, 30, 401)[:, None] * way(0.1, 1.0, 0.0)
    out = way(1.0, 0.0, 0.2)
    last = np.max([solid.last_mm(start, out) for solid in (elbow, before, after)], axis=0)
    assert np.all(np.isfinite(last))
    assert np.max(np.abs(np.diff(last, 2))) < 0.01


def test_a_line_along_the_crown_of_a_bend_touches_it() -> None:
    """In the plane that just lies on a bend's side it touches all along a circle: found, not missed."""
    elbow = bend(90.0)
    start = put(0, 0, elbow.radius_mm) + np.linspace(5, 45, 9)[:, None] * way(0, 1, 0)
    out = way(1, 0, 0)
    height = np.sqrt(elbow.bend_radius_mm**2 - np.linspace(5, 45, 9) ** 2)
    assert elbow.last_mm(start, out) == pytest.approx(height, abs=1e-3)


@pytest.mark.parametrize(("sweep_deg", "radius_mm"), [(0.0, 20.0), (181.0, 20.0), (90.0, 60.0)])
def test_bends_that_are_none_are_refused(sweep_deg: float, radius_mm: float) -> None:
    with pytest.raises(GeometryError):
        BendSolid(put(0, 0, 0), way(0, 0, 1), way(1, 0, 0), 57.15, radius_mm, math.radians(sweep_deg))
