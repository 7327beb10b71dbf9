"""What an error at the bench costs in the finished rail."""

from __future__ import annotations

import math
from dataclasses import dataclass

from templates_core.elbows.cuts import Cut
from templates_core.elbows.leaning_cuts import LeaningCut


@dataclass(frozen=True)
class ErrorCosts:
    """Cost of placing or cutting a wrap badly.

    turn_rad_per_mm: the joint turns by this for each millimetre of heel against throat.
    tip_rad_per_mm: the cut tips out of the elbow's plane by this for each millimetre, along the girth,
    that the whole wrap is turned off the heel.
    sweep_rad: error of the elbow's sweep, either way, that goes straight into the corner; 0 where the
    cut is measured from the piece's own face.
    """

    turn_rad_per_mm: float
    tip_rad_per_mm: float
    sweep_rad: float


def error_costs(cut: Cut) -> ErrorCosts:
    """Costs for one cut: 1/OD, and wrap angle/r (a wrap turned by e shifts its line by θ·e/r·r·sin φ)."""
    return ErrorCosts(
        turn_rad_per_mm=1 / cut.elbow.od_mm,
        tip_rad_per_mm=cut.wrap_angle_rad / cut.elbow.radius_mm,
        sweep_rad=cut.elbow.sweep_tolerance_rad if cut.from_face == "far" else 0.0,
    )


def leaning_costs(cut: LeaningCut) -> ErrorCosts:
    """Costs for a leaning cut.

    A wrap turned by a small angle e round the pipe turns its lean with it and shifts its line by θ·e·r·sin φ
    besides: the lean, as slopes (heel, side), changes by e·(side, θ + heel).
    """
    heel, side = math.tan(cut.wrap_lean.pitch_rad), math.tan(cut.wrap_lean.yaw_rad)
    return ErrorCosts(
        turn_rad_per_mm=1 / cut.elbow.od_mm,
        tip_rad_per_mm=math.hypot(side, cut.wrap_angle_rad + heel) / cut.elbow.radius_mm,
        sweep_rad=cut.elbow.sweep_tolerance_rad if cut.from_face == "far" else 0.0,
    )


def end_moves_mm(run_length_mm: float, error_rad: float) -> float:
    """How far the end of a run moves when the corner at its start is off by an angle [mm]."""
    return 2 * run_length_mm * math.sin(abs(error_rad) / 2)
