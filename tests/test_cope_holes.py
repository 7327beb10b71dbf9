"""Holes under copes: size against closed forms, and what can't be opened."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad

from templates_core.errors import GeometryError
from templates_core.geometry.pipe_ends import PipeAxis
from templates_core.geometry.solids import HalfSpace, PipeSolid, Solid
from templates_core.wraps.cope_holes import cope_hole
from tests.seat_samples import bend

UP = np.array([0.0, 0.0, 1.0])
BRANCH = PipeAxis(np.zeros(3), UP, np.array([1.0, 0.0, 0.0]))
HEADER = PipeSolid(np.array([-500.0, 0.0, 0.0]), np.array([500.0, 0.0, 0.0]), 30.0)


def test_a_square_hole_is_as_wide_as_the_branch_and_its_chord_on_the_round() -> None:
    """Along the header it is the branch's own width; round it, twice R·asin(r/R). Area by the integral."""
    hole = cope_hole(BRANCH, UP, 20.0, HEADER, UP, 0.0)
    assert hole.along_mm == pytest.approx(40.0, abs=1e-6)
    assert hole.round_mm == pytest.approx(2 * 30.0 * math.asin(20 / 30), abs=1e-6)
    x, y = hole.outline_mm.T
    area = abs(float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))) / 2
    edge = 30.0 * math.asin(20 / 30)
    half, _ = quad(lambda s: math.sqrt(max(0.0, 400.0 - (30.0 * math.sin(s / 30.0)) ** 2)), -edge, edge)
    assert area == pytest.approx(2 * half, rel=1e-4)


def test_it_is_told_from_the_headers_own_end_and_zero() -> None:
    """Right-handed about a header along x, up is a quarter turn after the direction of +y."""
    hole = cope_hole(BRANCH, UP, 20.0, HEADER, np.array([0.0, 1.0, 0.0]), 0.1)
    assert hole.station_mm == pytest.approx(500.0)
    assert math.degrees(hole.girth_rad) == pytest.approx(90.0)


@pytest.mark.parametrize(
    ("header", "radius_mm", "words"),
    [
        (bend(), 15.0, "an elbow has no flat template"),
        (HalfSpace(np.zeros(3), UP), 15.0, "plate has no cope"),
        (HEADER, 32.0, "4.0 mm too wide"),
        (PipeSolid(np.array([-10.0, 0, 0]), np.array([500.0, 0, 0]), 30.0), 20.0, "10.0 mm over the end"),
        (PipeSolid(np.array([-500.0, 12, 0]), np.array([500.0, 12, 0]), 30.0), 20.0, "2.0 mm past the side"),
    ],
)
def test_what_has_no_hole_is_refused(header: Solid, radius_mm: float, words: str) -> None:
    with pytest.raises(GeometryError, match=words):
        cope_hole(BRANCH, UP, radius_mm, header, UP, 0.1)
