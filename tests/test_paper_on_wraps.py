"""Printed wraps laid on elbows as paper: it buckles but does not stretch; the trace edge comes to the cut."""

import math

import pytest

from tests.benchmarks.paper_placement import Options
from tests.benchmarks.wrap_papers import allowed_mm, laid

HEEL_THROAT_MM = 0.2
OD_MM, SWEPT_RAD = 48.26, math.radians(32)
GRID = [
    ("1/2", "LR", 25, "A"),
    ("1/2", "LR", 60, "A"),
    ("1-1/2", "LR", 20, "A"),
    ("1-1/2", "LR", 32, "B"),
    ("1-1/2", "LR", 45, "A"),
    ("1-1/2", "LR", 60, "B"),
    ("1-1/2", "SR", 60, "A"),
    ("4", "LR", 40, "A"),
    ("4", "SR", 60, "A"),
    ("12", "LR", 30, "A"),
    ("12", "SR", 60, "A"),
]


@pytest.mark.parametrize(("nps", "kind", "degrees", "face"), GRID)
def test_the_trace_edge_comes_to_the_cut(nps: str, kind: str, degrees: float, face: str) -> None:
    wrap = laid(nps, kind, degrees, face=face)
    assert wrap.max_deviation_mm < allowed_mm(nps)
    assert abs(wrap.heel_minus_throat_mm) < HEEL_THROAT_MM
    assert wrap.folded_over == 0
    assert math.degrees(wrap.joint_error_rad) < 0.15


def test_a_finer_net_and_softer_paper_say_the_same() -> None:
    usual = laid("1-1/2", "LR", 45)
    for other in (Options(spacing_mm=0.7), Options(compression=0.002), Options(compression=0.1)):
        again = laid("1-1/2", "LR", 45, other)
        assert abs(again.max_deviation_mm - usual.max_deviation_mm) < 0.1
        assert again.max_deviation_mm < allowed_mm("1-1/2")
        assert abs(again.joint_error_rad - usual.joint_error_rad) < math.radians(0.1)


def test_a_wrap_turned_off_the_heel_tips_the_cut_by_what_the_sheet_says() -> None:
    """The sheet says swept angle / r for each millimetre; the seam and the stays hold some of it back."""
    wrap = laid("1-1/2", "LR", 32, Options(off_round_mm={"heel": 1.0, "throat": 1.0}))
    said = SWEPT_RAD / (OD_MM / 2)
    assert 0.75 * said < abs(wrap.tilt_rad) < 1.1 * said
    assert abs(wrap.turn_rad) < math.radians(0.15)


def test_the_heel_tab_alone_a_millimetre_off_round_costs_little() -> None:
    wrap = laid("1-1/2", "LR", 32, Options(off_round_mm={"heel": 1.0}))
    assert wrap.max_deviation_mm < allowed_mm("1-1/2")
    assert math.degrees(wrap.joint_error_rad) < 0.25


@pytest.mark.parametrize(("tab", "sign"), [("heel", -1), ("throat", 1)])
def test_heel_or_throat_half_a_millimetre_off_turns_the_joint_by_what_the_sheet_says(
    tab: str, sign: int
) -> None:
    """The sheet says 1/OD for each millimetre of heel against throat."""
    wrap = laid("1-1/2", "LR", 32, Options(off_along_mm={tab: 0.5}))
    said = 0.5 / OD_MM
    assert 0.65 * said < sign * wrap.turn_rad < 1.15 * said
    assert abs(wrap.tilt_rad) < math.radians(0.05)
