"""A pipe over supports of unequal height: laws, finite differences, a library's spline, textbook cases."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import CubicSpline

from templates_core.errors import GeometryError
from templates_core.welding.support_beam import YOUNGS_MPA, Beam, BentPipe, bend_over
from tests.finite_beam import FiniteBeam
from tests.settings import seeded

TUBE = Beam(48.3, 3.7, 3000.0)
CASES = [
    ((50.0, 1500.0, 2950.0), (0.0, 12.0, 0.0)),
    ((100.0, 700.0, 1600.0, 2900.0), (0.0, 9.0, 14.0, 3.0)),
    ((40.0, 640.0, 1240.0, 1840.0, 2440.0, 2960.0), (2.0, 12.0, 0.0, 8.5, 20.0, 1.0)),
]


@pytest.mark.parametrize(("places", "heights"), CASES)
def test_against_a_finite_difference_solve(places: tuple[float, ...], heights: tuple[float, ...]) -> None:
    """Shape to 0.02 mm, moments and forces to a few per cent; halving the step nearly halves the error."""
    found = bend_over(TUBE, places, heights)
    errors = []
    for step in (5.0, 2.5):
        beam = FiniteBeam(TUBE.length_mm, TUBE.stiffness_nmm2, step)
        shape, moments, forces = beam.solve(places, heights)
        ours = np.array([found.height_mm(x) for x in beam.x])
        assert np.abs(ours - shape).max() < 0.02
        assert np.abs(forces - found.forces_n).max() < 0.01 * np.abs(forces).max()
        at_supports = [moments[round(at / step) - 1] for at in places]
        assert np.abs(np.array(at_supports) - found.moments_nmm).max() < 0.02 * np.abs(moments).max()
        errors.append(np.abs(ours - shape).max())
    assert errors[1] < 0.6 * errors[0]


@pytest.mark.parametrize(("places", "heights"), CASES)
def test_against_the_natural_spline_of_scipy(places: tuple[float, ...], heights: tuple[float, ...]) -> None:
    found = bend_over(TUBE, places, heights)
    spline = CubicSpline(places, heights, bc_type="natural")
    for x in np.linspace(places[0], places[-1], 60):
        assert found.height_mm(float(x)) == pytest.approx(float(spline(x)), abs=1e-9)
    for outside, end in ((places[0] - 30.0, places[0]), (places[-1] + 30.0, places[-1])):
        straight = float(spline(end)) + float(spline(end, 1)) * (outside - end)
        assert found.height_mm(outside) == pytest.approx(straight, abs=1e-9)


def test_the_middle_support_raised_as_timoshenko_has_it() -> None:
    """Timoshenko, Strength of Materials (from memory): simple beam, load in the middle, δ = FL³/48EI.

    Hence F = 48EIδ/L³ there and half of it at each end, M = FL/4 and σ = 12Ecδ/L².
    """
    length, lift = 2400.0, 15.0
    beam = Beam(60.3, 3.91, length)
    found = bend_over(beam, (0.0, length / 2, length), (0.0, lift, 0.0))
    force = 48 * beam.stiffness_nmm2 * lift / length**3
    assert found.forces_n == pytest.approx((-force / 2, force, -force / 2))
    assert found.stress_mpa == pytest.approx(12 * YOUNGS_MPA * (60.3 / 2) * lift / length**2)
    assert found.stress_at_mm == length / 2
    assert found.pull_n == pytest.approx(force / 2)
    assert found.height_mm(length / 4) == pytest.approx(lift * 11 / 16)


def test_one_support_of_three_equal_spans_sunk_as_timoshenko_has_it() -> None:
    """Timoshenko, Strength of Materials (from memory): the moments are 18/5 and −12/5 of EIδ/l²."""
    span, sunk = 800.0, 4.0
    beam = Beam(48.3, 3.7, 3 * span)
    found = bend_over(beam, [i * span for i in range(4)], (0.0, -sunk, 0.0, 0.0))
    unit = beam.stiffness_nmm2 * sunk / span**2
    assert found.moments_nmm == pytest.approx((0.0, 3.6 * unit, -2.4 * unit, 0.0))


@st.composite
def supports(draw: st.DrawFn) -> BentPipe:
    count = draw(st.integers(2, 8))
    gaps = draw(st.lists(st.floats(60, 900), min_size=count, max_size=count))
    heights = draw(st.lists(st.floats(0, 40), min_size=count, max_size=count))
    places = np.cumsum(gaps)
    return bend_over(Beam(48.3, 3.7, float(places[-1]) + 50), places.tolist(), heights)


@seeded(100)
@given(supports())
def test_forces_balance_and_the_pipe_lies_on_its_supports(bent: BentPipe) -> None:
    scale = max(1.0, *map(abs, bent.forces_n))
    assert abs(sum(bent.forces_n)) < 1e-7 * scale
    moments = [f * x for f, x in zip(bent.forces_n, bent.places_mm, strict=True)]
    assert abs(sum(moments)) < 1e-6 * scale * bent.beam.length_mm
    for place, height in zip(bent.places_mm, bent.heights_mm, strict=True):
        assert bent.height_mm(place) == pytest.approx(height, abs=1e-7)


def test_supports_in_line_bend_nothing() -> None:
    bent = bend_over(TUBE, (100, 1000, 2000), (1.0, 10.0, 20.0))
    assert bent.stress_mpa == pytest.approx(0, abs=1e-6)
    assert bent.height_mm(2900) == pytest.approx(29.0)
    assert bend_over(TUBE, (100, 2000), (1.0, 20.0)).pull_n == 0


@pytest.mark.parametrize(
    ("places", "heights", "words"),
    [
        ((-5, 1000, 2000), (0, 1, 0), "5.0 mm off the end"),
        ((5, 1000, 3012.5), (0, 1, 0), "12.5 mm off the end"),
        ((5, 1000, 1000), (0, 1, 0), "each other's place"),
        ((5, 1000, 900), (0, 1, 0), "each other's place"),
        ((5,), (0,), "hold no pipe"),
        ((5, 900), (0,), "hold no pipe"),
        ((5, 1000, 2000), (0, float("nan"), 0), "no height"),
    ],
)
def test_nonsense_is_refused(places: tuple[float, ...], heights: tuple[float, ...], words: str) -> None:
    with pytest.raises(GeometryError, match=words):
        bend_over(TUBE, places, heights)
