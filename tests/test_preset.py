"""Presets: shape, shims, what the pipe and the clamps bear, and what is offered where they don't."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from templates_core.errors import GeometryError
from templates_core.jobs.job import PresetKind, Welding
from templates_core.welding.free_shape import Kink, free_shape
from templates_core.welding.preset import Held, allowed_mpa, clamp_places_mm, plan_preset
from templates_core.welding.support_beam import Beam, bend_over
from tests.finite_beam import FiniteBeam
from tests.settings import seeded

BEAM = Beam(48.3, 3.7, 4000.0)
KINKS = tuple(Kink(at, math.pi, 0.008) for at in (400.0, 1200.0, 2000.0, 2800.0, 3600.0))
FINE = (0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0)
SHOP = Welding(
    clamp_spacing_mm=1000.0, shims_mm=FINE, yield_mpa=240.0, grade="A53 Grade B", clamp_force_n=5000.0
)


def held(welding: Welding = SHOP, kinks: tuple[Kink, ...] = KINKS, beam: Beam = BEAM) -> Held:
    return Held(free_shape(kinks, beam.length_mm), beam, welding, "mm")


def test_the_shims_mirror_the_free_shape() -> None:
    case = held()
    preset = plan_preset(case)
    assert preset.trouble is None and preset.share == 1.0 and preset.bent is not None
    first, last = preset.supports[0], preset.supports[-1]
    for support in preset.supports:
        chord = np.interp(
            support.at_mm,
            [first.at_mm, last.at_mm],
            [case.shape.off_mm(first.at_mm), case.shape.off_mm(last.at_mm)],
        )
        bow = case.shape.off_mm(support.at_mm) - chord
        assert support.wanted_mm == pytest.approx(bow + first.stack.height_mm)
        assert abs(support.error_mm) <= 0.25
    lowest = min(preset.bent.height_mm(at) for at in (0.0, BEAM.length_mm))
    assert lowest > -0.1, "the pipe's ends are clear of the table"
    assert all(b.at_mm - a.at_mm <= 1005 for a, b in zip(preset.supports, preset.supports[1:], strict=False))
    assert first.force_n < 0 < max(support.force_n for support in preset.supports)


def test_stress_and_forces_are_those_of_a_finite_difference_solve() -> None:
    preset = plan_preset(held())
    assert preset.bent is not None
    beam = FiniteBeam(BEAM.length_mm, BEAM.stiffness_nmm2, 2.5)
    places = [support.at_mm for support in preset.supports]
    _, moments, forces = beam.solve(places, [support.stack.height_mm for support in preset.supports])
    assert preset.bent.stress_mpa == pytest.approx(BEAM.stress_mpa(np.abs(moments).max()), rel=0.02)
    assert [support.force_n for support in preset.supports] == pytest.approx(forces, rel=0.02, abs=2)


def test_until_a_trial_says_so_what_is_left_is_unknown_and_never_zero() -> None:
    preset = plan_preset(held())
    assert (preset.kept, preset.left_mm) == (None, None)
    assert preset.wanted_mm == pytest.approx(held().shape.bow_mm)


@pytest.mark.parametrize("kept", [0.5, 0.8, 1.0])
def test_with_a_share_known_the_preset_is_that_much_larger_and_nothing_is_left(kept: float) -> None:
    preset = plan_preset(held(replace(SHOP, kept=kept)))
    first = plan_preset(held())
    assert preset.wanted_mm == pytest.approx(first.wanted_mm / kept)
    for one, two in zip(preset.supports, first.supports, strict=True):
        bows = [
            support.wanted_mm - all_of.supports[0].wanted_mm
            for support, all_of in ((one, preset), (two, first))
        ]
        assert bows[0] == pytest.approx(bows[1] / kept)
    assert preset.left_mm is not None
    assert abs(preset.left_mm) <= kept * max(abs(support.error_mm) for support in preset.supports) + 1e-9


def test_free_parts_keep_all_of_their_preset_and_need_no_clamp() -> None:
    preset = plan_preset(held(replace(SHOP, preset=PresetKind.FREE)))
    assert (preset.kept, preset.left_mm, preset.supports) == (1.0, 0.0, ())


def test_a_pipe_that_would_yield_gets_the_largest_preset_that_holds() -> None:
    weak = replace(SHOP, kept=0.2)
    case = held(weak)
    preset = plan_preset(case)
    trouble = preset.trouble
    assert trouble is not None and preset.bent is not None
    limit = allowed_mpa(weak)
    assert limit == pytest.approx(160.0)
    assert trouble.stress_mpa > limit >= preset.bent.stress_mpa
    assert trouble.side_by_side is None
    assert preset.share == trouble.largest_share < 1
    more = [off * (preset.share + 0.05) / preset.share for off in (s.wanted_mm for s in preset.supports)]
    assert bend_over(BEAM, [s.at_mm for s in preset.supports], more).stress_mpa > limit
    assert preset.left_mm is not None and preset.left_mm > 0.1 * case.shape.bow_mm


def test_clamps_that_would_slip_are_doubled_or_spread() -> None:
    weak = replace(SHOP, clamp_force_n=120.0)
    preset = plan_preset(held(weak))
    trouble = preset.trouble
    assert trouble is not None and trouble.pull_n > 120.0
    assert trouble.side_by_side == math.ceil(trouble.pull_n / 120.0)
    assert plan_preset(held(replace(weak, clamp_force_n=120.0 * trouble.side_by_side))).trouble is None
    assert preset.bent is not None and preset.bent.pull_n <= 120.0
    for count in trouble.other_counts:
        places = clamp_places_mm(held(weak), BEAM.length_mm, count)
        assert len(places) == count
        assert plan_preset(held(weak), places).trouble is None


def test_a_stack_higher_than_the_shims_give_is_no_preset_but_a_smaller_one_is() -> None:
    flat = replace(SHOP, shims_mm=(0.5, 1.0, 2.0), kept=0.7)
    preset = plan_preset(held(flat))
    assert preset.trouble is not None and preset.trouble.short_mm > 5
    assert 0 < preset.share < 0.6
    for support in preset.supports:
        assert abs(support.error_mm) <= 0.36


def test_where_not_even_a_twentieth_holds_nothing_is_clamped() -> None:
    preset = plan_preset(held(replace(SHOP, clamp_force_n=1.0)))
    assert preset.share == 0 and preset.supports == () and preset.trouble is not None
    assert preset.left_mm is None


def test_welds_on_two_sides_lift_all_shims() -> None:
    s_shape = (Kink(1000.0, math.pi, 0.008), Kink(3000.0, 0.0, 0.007))
    preset = plan_preset(held(kinks=s_shape))
    heights = [support.stack.height_mm for support in preset.supports]
    assert 0 <= min(heights) < 5.0, "no shim is left out below the table"
    assert heights[0] == heights[-1] > 1.0
    assert preset.bent is not None and preset.bent.stress_mpa > 0


def test_nothing_is_clamped_on_balanced_welds_short_pipes_or_without_clamps() -> None:
    balanced = tuple(Kink(1500.0, side, 0.008) for side in (0.0, math.pi))
    assert plan_preset(held(kinks=balanced)).supports == ()
    short = Beam(48.3, 3.7, 300.0)
    assert plan_preset(held(kinks=(Kink(150.0, 0.0, 0.008),), beam=short)).supports == ()
    assert plan_preset(held(Welding())).supports == ()
    with pytest.raises(GeometryError, match="no yield"):
        allowed_mpa(Welding())


def test_a_clamp_off_the_pipe_is_refused() -> None:
    with pytest.raises(GeometryError, match="off the end of the pipe"):
        plan_preset(held(), (100.0, 2000.0, 4010.0))


@seeded(60)
@given(st.floats(500, 9000), st.floats(200, 2500), st.lists(st.floats(0, 1), max_size=6))
def test_clamps_stand_on_the_pipe_in_order_and_clear_of_the_branches(
    length: float, spacing: float, branches: list[float]
) -> None:
    beam = Beam(48.3, 3.7, length)
    blocked = tuple((share * length - 50, share * length + 50) for share in branches)
    case = Held(free_shape([Kink(length / 2, 0.0, 0.01)], length), beam, SHOP, "mm", 0.0, blocked)
    places = clamp_places_mm(case, spacing)
    assert list(places) == sorted(set(places))
    if places:
        assert len(places) >= 3
        assert places[0] >= 0 and places[-1] <= length
        assert all(place == pytest.approx(5 * round(place / 5)) for place in places)
    if len(branches) <= 1:
        assert not any(start < place < end for place in places for start, end in blocked)
