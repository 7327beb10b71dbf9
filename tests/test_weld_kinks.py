"""The estimate of a kink and of a butt's shrinkage: fibres in balance, units, and a trial simulated."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from templates_core.welding.weld_kinks import (
    FACTOR,
    estimated_butt_mm,
    estimated_pull,
    kink_of_bow,
    shortening_mm,
    tube_inertia_mm4,
)
from tests.finite_beam import Array, FiniteBeam
from tests.settings import seeded


def fibres(od: float, wall: float, branch_od: float, shrunk: float) -> tuple[float, float]:
    """Kink and shortening of a section of many fibres, some of them shrunk, in balance by least squares.

    No force and no moment from outside is the same as the plane that fits the shrinkage best.
    """
    rings, slices = 30, 7200
    radius = od / 2 - wall * (np.arange(rings) + 0.5) / rings
    angle = 2 * math.pi * (np.arange(slices) + 0.5) / slices - math.pi
    r, phi = np.meshgrid(radius, angle)
    y, area = (r * np.cos(phi)).ravel(), np.sqrt(r.ravel())
    own = np.where(np.abs(phi.ravel()) <= math.asin(min(1.0, branch_od / od)), shrunk, 0.0)
    (shorter, kink), *_ = np.linalg.lstsq(np.column_stack([area, area * y]), area * own, rcond=None)
    return float(kink), float(shorter)


@pytest.mark.parametrize(
    ("od", "wall", "branch"), [(48.26, 3.68, 48.26), (60.3, 3.91, 33.4), (21.3, 2.77, 12.0)]
)
def test_the_estimate_is_what_fibres_in_balance_come_to(od: float, wall: float, branch: float) -> None:
    leg = 4.0
    pull = estimated_pull(od, wall, branch, leg)
    kink, shorter = fibres(od, wall, branch, 2 * 0.10 * (leg * leg / 2) / wall)
    assert pull.kink_rad == pytest.approx(kink, rel=2e-3)
    assert pull.shortening_mm == pytest.approx(shorter, rel=2e-3)


@seeded(100)
@given(st.floats(15, 330), st.floats(0.03, 0.2), st.floats(0.1, 1.0), st.floats(0.5, 1.5))
def test_the_same_figures_in_millimetres_and_in_inches(
    od: float, wall_part: float, branch_part: float, leg_walls: float
) -> None:
    sizes = [od, od * wall_part, od * branch_part, od * wall_part * leg_walls]
    metric = estimated_pull(*sizes)
    inch = estimated_pull(*(size / 25.4 for size in sizes))
    assert inch.kink_rad == pytest.approx(metric.kink_rad, rel=1e-9)
    assert inch.shortening_mm * 25.4 == pytest.approx(metric.shortening_mm, rel=1e-9)


def test_a_butt_by_its_two_shares() -> None:
    """A square butt of gap d has area d·t and a crown of 0.1·d²: S = 0.2·A/t + 0.05·d."""
    wall, gap = 4.0, 2.0
    assert estimated_butt_mm(wall, gap, bevelled=False) == pytest.approx(0.2 * (8.0 + 0.4) / 4 + 0.1)
    assert estimated_butt_mm(wall, 0.0, bevelled=False) == 0.0
    thick = [estimated_butt_mm(t, gap, bevelled=True) for t in (4.0, 8.0, 12.0)]
    assert sorted(thick) == thick
    # TWI: a butt shrinks 1.5 to 3 mm across a 60° V; that is plate about as thick as the last of these.
    assert 1.0 < thick[-1] < 3.0


def test_the_published_rule_of_thumb_is_within_the_factor() -> None:
    """TWI: a fillet shrinks about 0.8 mm where its leg is at most 3/4 of the plate; here a wall of 12 mm."""
    od, wall = 323.8, 12.0
    leg = 0.75 * wall
    pull = estimated_pull(od, wall, od, leg)
    one = pull.shortening_mm / 2 / 0.5
    assert 0.8 / FACTOR <= one <= 0.8 * FACTOR


def test_the_moment_of_area_of_a_bar_and_of_a_thin_ring() -> None:
    assert tube_inertia_mm4(20.0, 10.0) == pytest.approx(math.pi * 10**4 / 4)
    assert tube_inertia_mm4(100.0, 0.01) == pytest.approx(math.pi * 50**3 * 0.01, rel=1e-3)


def test_a_measured_kink_shortens_in_the_same_proportion() -> None:
    pull = estimated_pull(48.26, 3.68, 33.4, 5.0)
    assert shortening_mm(pull.kink_rad / 3, 48.26, 3.68, 33.4) == pytest.approx(pull.shortening_mm / 3)


@pytest.mark.parametrize("spread", ["even", "bell"])
@pytest.mark.parametrize("width", [30.0, 60.0, 120.0])
def test_a_trial_on_a_pipe_whose_weld_is_spread_gives_its_kink(width: float, spread: str) -> None:
    """Shrinkage over a width b reads low by at most b/2L, as half of it lies off the middle on each side."""
    beam = FiniteBeam(1200.0, 1e10, 1.0)
    x = beam.x[1:-1] - 600.0
    own: Array = np.where(np.abs(x) <= width / 2, 1.0, 0.0)
    if spread == "bell":
        own = own * np.cos(math.pi * x / width) ** 2
    own *= 0.008 / own.sum()
    shape, moments, forces = beam.solve((0.0, 1200.0), (0.0, 0.0), -own)
    assert np.abs(moments).max() < 1.0, "it is free of stress: a bent pipe would have 1e6 N·mm"
    assert np.abs(forces).max() < 1e-3
    read = kink_of_bow(float(shape[600]), 1200.0)
    assert 0.008 * (1 - width / (2 * 1200.0)) - 1e-5 <= read <= 0.008
