"""What welding does to a rail, for the JSON document: full precision, degrees, newtons and megapascals."""

from __future__ import annotations

import math
from typing import Any

from templates_core.welding.preset import Preset
from templates_core.welding.straightness import BentRun, PlacedWeld, Straightness


def straightness_json(found: Straightness | None) -> dict[str, Any] | None:
    """All of one rail; null where the job has no ``[weld]`` table."""
    if found is None:
        return None
    return {
        "pipes": [_run(run) for run in found.runs],
        "losses": [
            {
                "run": loss.run_number,
                "butt_mm": loss.butt_mm,
                "side_mm": loss.side_mm,
                "total_mm": loss.total_mm,
            }
            for loss in found.losses
        ],
        "openings": [
            {
                "corner": one.corner,
                "more_turn_deg": math.degrees(one.more_turn_rad),
                "tip_deg": math.degrees(one.tip_rad),
            }
            for one in found.openings
        ],
        "joint_order": [turn.mark for turn in found.butt_order],
        "butt_shrink_mm": found.butt_mm,
        "butt_shrink_by": found.butt_trust.value,
    }


def _run(run: BentRun) -> dict[str, Any]:
    return {
        "mark": run.pipe,
        "run": run.run_number,
        "length_mm": run.length_mm,
        "hook": run.datum.end,
        "welds": [_weld(one, run) for one in run.welds],
        "weld_order": [turn.mark for turn in run.order],
        "bow_mm": run.shape.bow_mm,
        "bow_at_mm": run.datum.reads_mm(run.shape.at_mm),
        "pulled_to_deg": math.degrees(run.shape.side_rad),
        "bow_across_mm": run.shape.across_mm,
        "estimate_factor": run.factor,
        "preset": _preset(run.preset, run),
    }


def _weld(one: PlacedWeld, run: BentRun) -> dict[str, Any]:
    return {
        "mark": one.weld.mark,
        "at_mm": run.datum.reads_mm(one.weld.along_mm),
        "side_deg": math.degrees(one.weld.girth_rad),
        "leg_mm": one.leg_mm,
        "kink_deg": math.degrees(one.pull.kink_rad),
        "kink_by": one.trust.value,
        "shortening_mm": one.pull.shortening_mm,
    }


def _preset(preset: Preset, run: BentRun) -> dict[str, Any]:
    trouble = preset.trouble
    return {
        "kind": preset.kind.value,
        "kept": preset.kept,
        "whole_mm": preset.wanted_mm,
        "share_set": preset.share,
        "left_mm": preset.left_mm,
        "stress_mpa": None if preset.bent is None else preset.bent.stress_mpa,
        "clamp_pull_n": None if preset.bent is None else preset.bent.pull_n,
        "supports": [
            {
                "at_mm": run.datum.reads_mm(support.at_mm),
                "wanted_mm": support.wanted_mm,
                "shims_mm": list(support.stack.shims_mm),
                "height_mm": support.stack.height_mm,
                "force_n": support.force_n,
            }
            for support in preset.supports
        ],
        "whole_does_not_hold": None
        if trouble is None
        else {
            "stress_mpa": trouble.stress_mpa,
            "clamp_pull_n": trouble.pull_n,
            "shims_short_mm": trouble.short_mm,
            "clamps_side_by_side": trouble.side_by_side,
            "other_numbers_of_places": list(trouble.other_counts),
        },
    }
