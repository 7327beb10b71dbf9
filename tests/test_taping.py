import math
from dataclasses import replace
from itertools import product

import pytest

from templates_core.fittings import StockElbow
from templates_core.jobs.job import Taped
from templates_core.jobs.measured import CENTRE_TO_END_MM, real_elbow
from templates_core.jobs.taping import ToTape, to_tape
from tests.elbow_samples import BEVELLED, LR45, LR90, RETURN


def readings(elbow: StockElbow) -> dict[str, ToTape]:
    return {reading.key: reading for reading in to_tape(elbow)}


def test_square_ends_read_a_quarter_of_the_heel_and_throat_circles() -> None:
    found = readings(LR90)
    assert found["girth"].value == pytest.approx(151.61, abs=0.01)  # 1.900 in OD
    assert found["heel_arc"].value == pytest.approx(81.28 * math.pi / 2)
    assert found["throat_arc"].value == pytest.approx(33.02 * math.pi / 2)
    assert found["sweep"].value == pytest.approx(math.pi / 2)


@pytest.mark.parametrize(
    "elbow",
    [
        LR90,
        BEVELLED,
        RETURN,
        replace(BEVELLED, tangent_a_mm=4.0, tangent_b_mm=0.5),
        replace(LR90, tangent_a_mm=3.0),
    ],
)
def test_an_elbow_taped_as_expected_is_the_nominal_elbow(elbow: StockElbow) -> None:
    found = readings(elbow)
    taped = Taped(*(found[key].value for key in ("girth", "heel_arc", "throat_arc", "sweep", "shoulder")))
    real = real_elbow(elbow, taped).elbow
    assert real.bend_radius_mm == pytest.approx(elbow.bend_radius_mm, abs=1e-6)
    assert real.od_mm == pytest.approx(elbow.od_mm)


def test_spread_is_the_worst_of_every_way_of_being_off() -> None:
    """Arcs of a square-ended 90 by (R ± r)·θ, with every mix of the standard's limits."""
    found = readings(LR90)
    for side, key in ((1, "heel_arc"), (-1, "throat_arc")):
        arcs = [
            (57.15 + a + side * (48.26 + od) / 2) * (math.pi / 2 + s)
            for a, od, s in product(
                (-CENTRE_TO_END_MM, CENTRE_TO_END_MM),
                (-0.8, 1.6),
                (-LR90.sweep_tolerance_rad, LR90.sweep_tolerance_rad),
            )
        ]
        reading = found[key]
        assert reading.value is not None and reading.minus is not None and reading.plus is not None
        assert reading.value - reading.minus == pytest.approx(min(arcs))
        assert reading.value + reading.plus == pytest.approx(max(arcs))


def test_an_elbow_of_unknown_radius_has_no_expected_arcs_and_given_sizes_have_no_spread() -> None:
    found = readings(LR45)
    assert found["heel_arc"].value is None and found["throat_arc"].value is None
    assert found["girth"].value is not None
    given = replace(LR90, sweep_tolerance_rad=0.0, od_plus_mm=0.0, od_minus_mm=0.0)
    assert all(reading.plus is None for reading in to_tape(given))
