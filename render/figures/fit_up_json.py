"""What a rail is fitted up by, as it stands in the JSON of its figures."""

from __future__ import annotations

import math
from typing import Any

from render.figures.stock_json import degrees
from templates_core.fitting_up.fit_up import FitUp, RunSizes, Size
from templates_core.fitting_up.tape_checks import TapeCheck


def fit_up_json(fitted: FitUp) -> dict[str, Any]:
    """Sizes of runs, rolls, tape checks, diagonals, over all, and the joints in the order of tacking."""
    overall = fitted.overall
    return {
        "runs": [_run(run) for run in fitted.runs],
        "rolls": [
            {
                "run": roll.run_number,
                "pipe": roll.pipe,
                "from_corner": roll.from_corner,
                "to_corner": roll.to_corner,
                "roll_deg": math.degrees(roll.roll_rad),
                "roll_girth_mm": roll.girth_mm,
            }
            for roll in fitted.rolls
        ],
        "tape_checks": [_check(check) for check in fitted.tape_checks],
        "diagonals": [
            {
                "from_run": one.from_run,
                "to_run": one.to_run,
                "from_line": one.from_line,
                "to_line": one.to_line,
                "length_mm": one.length_mm,
                "tolerance_mm": one.tolerance_mm,
                "work_points_mm": one.work_points_mm,
            }
            for one in fitted.diagonals
        ],
        "overall": {
            "laid_flat": overall.flat,
            **_size("length", overall.length),
            **_size("width", overall.width),
            **_size("height", overall.height),
        },
        "joints": [
            {
                "marks": list(joint.marks),
                "parts": list(joint.parts),
                "tape_checks": list(joint.tape_checks),
                "on_site": joint.on_site,
            }
            for joint in dict.fromkeys((*fitted.joints, *(step.joint for step in fitted.steps)))
        ],
        "steps": [
            {"number": step.number, "joint": step.joint.marks[0], "action": step.action.value}
            for step in fitted.steps
        ],
    }


def _size(name: str, size: Size | None) -> dict[str, float | None]:
    return {
        f"{name}_mm": None if size is None else size.length_mm,
        f"{name}_tolerance_mm": None if size is None else size.tolerance_mm,
    }


def _run(run: RunSizes) -> dict[str, Any]:
    return {
        "run": run.run_number,
        "pipe": run.pipe,
        **_size("work_points", run.work_points),
        **_size("end_to_end", run.end_to_end),
        **_size("tip_to_tip", run.tip_to_tip),
        **_size("face_to_face", run.face_to_face),
        **_size("heel_to_heel", run.heel_to_heel),
    }


def _check(check: TapeCheck) -> dict[str, Any]:
    return {
        "corner": check.corner,
        "along_mm": check.along_mm,
        "apart_mm": check.apart_mm,
        "apart_tolerance_mm": check.apart_tolerance_mm,
        "angle_tolerance_deg": degrees(check.angle_tolerance_rad),
        "turning": [
            {"joint": joint.joint, "mm_per_deg": joint.mm_per_rad * math.radians(1)} for joint in check.joints
        ],
    }
