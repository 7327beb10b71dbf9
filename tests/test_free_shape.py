"""The free shape against a chain of rigid links put together in space, and the cases where nothing bows."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from templates_core.welding.free_shape import Kink, end_slopes, free_shape, offset_mm
from tests.settings import seeded


def chain(kinks: list[Kink], length: float, stations: list[float]) -> np.ndarray:
    """Offsets of the stations from the line through both ends, (n, 2): along girth 0 (z) and 90° (-y).

    Each link is turned at its kink towards the weld's side, exactly, as a hinge would.
    """
    frame = Rotation.identity()
    at, last = np.zeros(3), 0.0
    points = {0.0: at.copy()}
    by_place = sorted(kinks, key=lambda kink: kink.at_mm)
    for stop in sorted({*stations, *(kink.at_mm for kink in kinks), length}):
        at = at + frame.apply([stop - last, 0, 0])
        last = stop
        points[stop] = at.copy()
        for kink in by_place:
            if kink.at_mm == stop:
                side = np.array([0.0, -math.sin(kink.girth_rad), math.cos(kink.girth_rad)])
                axis = np.cross([1.0, 0, 0], side)
                frame = frame * Rotation.from_rotvec(kink.kink_rad * axis)
    along = points[length] / np.linalg.norm(points[length])
    off = [points[s] - (points[s] @ along) * along for s in stations]
    return np.array([[v[2], -v[1]] for v in off])


KINKS = st.lists(
    st.builds(Kink, st.floats(50, 2950), st.floats(-math.pi, math.pi), st.floats(0, 0.004)),
    min_size=1,
    max_size=12,
    unique_by=lambda kink: kink.at_mm,
)


@seeded(100)
@given(KINKS)
def test_the_sum_of_kinks_is_a_chain_of_links(kinks: list[Kink]) -> None:
    """To a thousandth of the length times the square of all turns together."""
    stations = [300.0 * i for i in range(11)]
    found = np.array([offset_mm(kinks, 3000.0, at) for at in stations])
    bound = 3000.0 * sum(kink.kink_rad for kink in kinks) ** 2 + 1e-9
    assert np.abs(found - chain(kinks, 3000.0, stations)).max() <= bound


def test_one_weld_in_the_middle_bows_by_a_quarter_of_its_kink() -> None:
    shape = free_shape([Kink(600.0, math.pi, 0.01)], 1200.0)
    assert shape.bow_mm == pytest.approx(0.01 * 1200 / 4)
    assert shape.at_mm == 600.0
    assert shape.across_mm == pytest.approx(0, abs=1e-9)
    assert abs(shape.side_rad) == pytest.approx(math.pi)
    assert shape.off_mm(600.0) == pytest.approx(3.0)


def test_the_ends_come_to_the_weld() -> None:
    """Welded below: held by its ends, the middle stands up; so seen from the middle, the ends hang down."""
    up, _ = offset_mm([Kink(600.0, math.pi, 0.01)], 1200.0, 600.0)
    assert up > 0


def test_welds_that_balance_leave_no_bow() -> None:
    pairs = [Kink(at, side, 0.008) for at in (400.0, 1500.0, 2200.0) for side in (0.3, 0.3 + math.pi)]
    assert free_shape(pairs, 3000.0).is_straight
    three = [Kink(900.0, 2 * math.pi * k / 3, 0.008) for k in range(3)]
    assert free_shape(three, 3000.0).is_straight


def test_welds_square_to_each_other_bow_across_too() -> None:
    shape = free_shape([Kink(1000.0, 0.0, 0.006), Kink(2000.0, math.pi / 2, 0.006)], 3000.0)
    assert shape.across_mm > 1.0
    assert shape.bow_mm > shape.across_mm


@seeded(100)
@given(KINKS)
def test_the_greatest_bow_is_nowhere_exceeded(kinks: list[Kink]) -> None:
    shape = free_shape(kinks, 3000.0)
    for at in np.linspace(0, 3000, 101):
        offset = offset_mm(kinks, 3000.0, float(at))
        assert float(np.linalg.norm(offset)) <= shape.bow_mm + 1e-9
        assert abs(shape.off_mm(float(at))) <= shape.bow_mm + 1e-9


@seeded(100)
@given(KINKS)
def test_slopes_at_the_ends_are_those_of_the_shape(kinks: list[Kink]) -> None:
    start, end = end_slopes(kinks, 3000.0)
    near, far = offset_mm(kinks, 3000.0, 1.0), offset_mm(kinks, 3000.0, 2999.0)
    assert start == pytest.approx(near, abs=1e-12)
    assert end == pytest.approx(-far, abs=1e-9)
