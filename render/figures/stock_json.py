"""The cut list, sticks and elbows of a model as they stand in the JSON of its figures."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from templates_core.model import Model
from templates_core.pipes.cut_rows import CutRow, RowEnd, cut_rows
from templates_core.stock.elbow_plans import ElbowPlan
from templates_core.stock.stick_marks import PipeSticks, StickMarks, sticks_by_size


def cut_list_json(model: Model) -> list[dict[str, Any]]:
    """Every pipe as it is cut."""
    return [_row(row) for row in cut_rows(model)]


def _row(row: CutRow) -> dict[str, Any]:
    return {
        "mark": row.mark,
        "rail": row.rail,
        "quantity": row.quantity,
        "size": row.pipe,
        "start": _end(row.start),
        "end": _end(row.end),
        "roll_deg": degrees(row.roll_rad),
        "roll_girth_mm": row.girth_mm,
        "cut_length_mm": row.cut_mm,
        "tip_to_tip_mm": row.tip_mm,
        "extra_mm": row.extra_mm,
    }


def _end(end: RowEnd) -> dict[str, Any]:
    return {
        "cut": end.cut,
        "tilt_deg": math.degrees(end.tilt_rad),
        "at": end.at or None,
        "words": end.words or None,
    }


def degrees(angle_rad: float | None) -> float | None:
    """An angle in degrees; null where there is none."""
    return None if angle_rad is None else math.degrees(angle_rad)


def sticks_json(model: Model) -> list[dict[str, Any]]:
    """Sticks of each size: what is bought, how good that is, and how each is cut."""
    return [_sticks(sticks) for sticks in sticks_by_size(model)]


def _sticks(sticks: PipeSticks) -> dict[str, Any]:
    share = sticks.sized.share
    return {
        "size": sticks.sized.pipe.name,
        "used": [
            {
                "stick_length_mm": line.stock.length_mm,
                "price": _price(line.stock.price_cents),
                "from_hand": line.from_hand,
                "to_buy": line.to_buy,
            }
            for line in share.used
        ],
        "cost": share.cost,
        "bound": share.bound,
        "cost_unit": "cents" if share.priced else "mm",
        "too_long": list(share.too_long),
        "plans": [_stick(marked) for marked in sticks.marked],
    }


def _price(cents: int | None) -> float | None:
    return None if cents is None else cents / 100


def _stick(marked: StickMarks) -> dict[str, Any]:
    plan = marked.plan
    return {
        "plan": marked.number,
        "quantity": plan.quantity,
        "stick_length_mm": plan.stock.length_mm,
        "trim_mm": marked.trim_mm,
        "kerf_mm": marked.kerf_mm,
        "pipes": [
            {
                "place": place.number,
                "length_mm": place.length_mm,
                "start_mm": place.start_mm,
                "end_mm": place.end_mm,
                "marks": _marks(place.marks),
            }
            for place in marked.places
        ],
        "rest_mm": marked.rest_mm,
        "offcut_mm": plan.offcut_mm,
        "usable": plan.usable and plan.offcut_mm > 0,
    }


def _marks(marks: Sequence[tuple[str, int]]) -> list[dict[str, Any]]:
    return [{"mark": mark, "count": count} for mark, count in marks]


def elbow_stock_json(model: Model) -> dict[str, Any]:
    """How elbows are cut, and how good that is."""
    share = model.elbow_share
    return {
        "cost": share.cost,
        "bound": share.bound,
        "cost_unit": "cents" if share.priced else "hundredths of a degree",
        "plans": [_elbow(number, plan) for number, plan in enumerate(share.plans, 1)],
    }


def _elbow(number: int, plan: ElbowPlan) -> dict[str, Any]:
    sweep, offcut = plan.elbow.sweep_rad, plan.offcut
    return {
        "plan": number,
        "quantity": plan.quantity,
        "elbow": plan.elbow.name,
        "sweep_deg": math.degrees(sweep),
        "pieces": [
            {
                "place": place + 1,
                "start_deg": math.degrees(start),
                "end_deg": math.degrees(end),
                "marks": _marks(plan.marks_at(place)),
            }
            for place, (start, end) in enumerate(plan.spans_rad)
        ],
        "lines": [
            {
                "at_deg": math.degrees(line.at_rad),
                "measured_from": line.face,
                "measured_deg": math.degrees(line.at_rad if line.face == "A" else sweep - line.at_rad),
                "blade": line.blade,
            }
            for line in plan.lines
        ],
        "offcut": None
        if offcut is None
        else {
            "start_deg": math.degrees(offcut.start_rad),
            "end_deg": math.degrees(offcut.end_rad),
            "sweep_deg": math.degrees(offcut.sweep_rad),
            "keeps_face": offcut.keeps_face,
            "usable": offcut.usable,
        },
    }
