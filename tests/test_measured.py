"""The real elbow from its tape readings, made forward from a known elbow by points on its surface."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from templates_core.errors import GeometryError
from templates_core.fittings import StockElbow
from templates_core.jobs.job import Taped
from templates_core.jobs.measured import MeasuredElbow, Reading, real_elbow
from tests.elbow_samples import BEVELLED, LR45, LR90


def taped_length(line_radius: float, sweep: float, tangents: tuple[float, float], shoulder: float) -> float:
    """A fine polyline along one girth line, tangents and all, cut off where it is nearer a face than b."""
    bend = np.linspace(0, sweep, 40001)
    line = line_radius * np.column_stack([np.cos(bend), np.sin(bend)])
    ahead = np.array([-math.sin(sweep), math.cos(sweep)])
    line = np.vstack([line[0] - [0, tangents[0]], line, line[-1] + tangents[1] * ahead])
    behind_a = line[:, 1] + tangents[0]
    behind_b = (line[-1] - line) @ ahead
    t = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
    middle = len(t) // 2
    start = np.interp(shoulder, behind_a[:middle], t[:middle])
    end = np.interp(shoulder, behind_b[::-1][:middle], t[::-1][:middle])
    return float(end - start)


def tape(r: float, R: float, sweep: float, tangents: tuple[float, float], shoulder: float) -> Taped:
    return Taped(
        girth_mm=2 * math.pi * r,
        heel_arc_mm=taped_length(R + r, sweep, tangents, shoulder),
        throat_arc_mm=taped_length(R - r, sweep, tangents, shoulder),
        sweep_rad=sweep,
        shoulder_mm=shoulder,
    )


def reading(measured: MeasuredElbow, name: str) -> Reading:
    return next(found for found in measured.readings if found.name == name)


@pytest.mark.parametrize("shoulder", [0.0, 1.6, 5.0])
@pytest.mark.parametrize("tangents", [(0.0, 0.0), (3.0, 0.0), (8.0, 6.0)])
def test_the_elbow_that_was_taped_comes_back(shoulder: float, tangents: tuple[float, float]) -> None:
    r, R, sweep = 24.3, 58.0, math.radians(89.3)
    nominal = replace(BEVELLED, tangent_a_mm=tangents[0], tangent_b_mm=tangents[1])
    elbow = real_elbow(nominal, tape(r, R, sweep, tangents, shoulder)).elbow
    assert elbow.od_mm == pytest.approx(2 * r)
    assert elbow.bend_radius_mm == pytest.approx(R, abs=1e-3)
    assert elbow.sweep_rad == sweep
    assert elbow.shoulder_mm == shoulder
    assert elbow.centre_to_end_mm == pytest.approx(R * math.tan(sweep / 2) + tangents[0], abs=1e-3)
    assert elbow.source == "measured"


def test_nothing_taped_changes_nothing() -> None:
    assert replace(real_elbow(LR90, Taped()).elbow, centre_to_end_mm=57.15) == LR90
    assert real_elbow(LR90, Taped()).elbow.centre_to_end_mm == pytest.approx(57.15)
    assert real_elbow(LR45, Taped()).elbow == LR45


def test_a_taped_45_can_be_cut() -> None:
    elbow = real_elbow(LR45, tape(24.13, 62.0, math.radians(45), (0, 0), 0.0)).elbow
    assert elbow.bend_radius_mm == pytest.approx(62, abs=1e-3)


def radius_of(nominal: StockElbow, taped: Taped) -> float:
    radius = real_elbow(nominal, taped).elbow.bend_radius_mm
    assert radius is not None
    return radius


def test_the_uncertainty_of_the_radius_is_what_the_readings_do_to_it() -> None:
    """Each reading moved by its own uncertainty, the changes put together as root sum of squares."""
    taped = tape(24.13, 57.15, math.pi / 2, (0, 0), 1.6)
    assert taped.heel_arc_mm is not None
    assert taped.throat_arc_mm is not None
    assert taped.sweep_rad is not None
    measured = real_elbow(BEVELLED, taped)
    R = radius_of(BEVELLED, taped)
    changes = [
        radius_of(BEVELLED, moved) - R
        for moved in (
            replace(taped, heel_arc_mm=taped.heel_arc_mm + 0.5),
            replace(taped, throat_arc_mm=taped.throat_arc_mm + 0.5),
            replace(taped, sweep_rad=taped.sweep_rad + math.radians(0.2)),
            replace(taped, shoulder_mm=1.6 + 0.5),
        )
    ]
    assert reading(measured, "bend radius").uncertainty == pytest.approx(math.hypot(*changes), rel=0.02)
    assert reading(measured, "OD").uncertainty == pytest.approx(0.159, abs=0.001)
    assert math.degrees(reading(measured, "sweep").uncertainty) == pytest.approx(0.2)
    assert math.degrees(measured.elbow.sweep_tolerance_rad) == pytest.approx(0.2)


def test_within_tolerance_there_is_no_warning() -> None:
    assert real_elbow(BEVELLED, tape(24.13 + 0.7, 57.5, math.radians(91), (0, 0), 1.6)).warnings == ()


def test_outside_the_standard_each_size_warns() -> None:
    warnings = real_elbow(BEVELLED, tape(23.6, 60.0, math.radians(88.5), (0, 0), 1.6)).warnings
    assert len(warnings) == 2
    assert "OD is 47.20 mm, not 48.26 mm (allowed +1.60 mm, −0.80 mm)" in warnings[0]
    assert "sweep is 88.5°, not 90° (allowed ±1.2°)" in warnings[1]
    long_one = real_elbow(LR90, tape(24.13, 60, math.pi / 2, (0, 0), 0))
    assert "centre-to-end works out at 60.00 mm, not 57.15 mm (allowed ±2.00 mm)" in long_one.warnings[0]


def test_heel_less_throat_is_a_coarse_check_of_the_sweep() -> None:
    """A millimetre is 1.2° and passes; six do not."""
    taped = tape(24.13, 57.15, math.pi / 2, (0, 0), 0)
    assert taped.heel_arc_mm is not None
    near = real_elbow(LR90, replace(taped, heel_arc_mm=taped.heel_arc_mm + 1))
    assert math.degrees(reading(near, "sweep by heel less throat").value) == pytest.approx(91.19, abs=0.01)
    assert near.warnings == ()
    assert "tape the arcs" in real_elbow(LR90, replace(taped, heel_arc_mm=taped.heel_arc_mm + 6)).warnings[-1]


@pytest.mark.parametrize(
    ("taped", "message"),
    [
        (Taped(heel_arc_mm=120), "go together"),
        (Taped(girth_mm=0), "girth taped must be over 0"),
        (Taped(sweep_rad=-1), "sweep taped must be over 0"),
        (Taped(shoulder_mm=-1), "0 or more"),
        (Taped(heel_arc_mm=50, throat_arc_mm=120), "swapped"),
        (Taped(heel_arc_mm=40, throat_arc_mm=5), "too tight"),
    ],
)
def test_readings_that_make_no_elbow(taped: Taped, message: str) -> None:
    with pytest.raises(GeometryError, match=message):
        real_elbow(LR90, taped)
