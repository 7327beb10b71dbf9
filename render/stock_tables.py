"""What comes out of each stock elbow and each stick, as tables."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from render.tables import Column, Table
from templates_core.elbow_plans import ElbowPlan
from templates_core.model import Model
from templates_core.stock_pipe import StickPlan
from templates_core.units import degrees_text, format_length, format_stock_length


def elbows_cut_table(model: Model) -> Table:
    """Each way in which elbows are cut: how many, the pieces in order from face A, what is left."""
    columns = (
        Column("Elbows", right=True),
        Column("Kind"),
        Column("Pieces in order from face A"),
        Column("Lines from face A"),
        Column("Left over"),
    )
    return Table("Out of each elbow", columns, tuple(_elbow_row(plan) for plan in model.elbow_share.plans))


def _elbow_row(plan: ElbowPlan) -> tuple[str, ...]:
    pieces = "; ".join(
        f"{_places([copy[place] for copy in plan.copies])} {degrees_text(end - start)}"
        for place, (start, end) in enumerate(plan.spans_rad)
    )
    lines = "; ".join(f"{degrees_text(line.at_rad)}, blade {line.blade}" for line in plan.lines)
    left = "nothing"
    if plan.offcut is not None:
        use = "can be used" if plan.offcut.usable else "scrap"
        left = f"{degrees_text(plan.offcut.sweep_rad)}, {use}"
    return str(plan.quantity), plan.elbow.name, pieces, lines or "whole", left


def _places(marks: Sequence[str]) -> str:
    """The marks that stand in one place of elbows cut alike, each with how many of it there are."""
    return ", ".join(mark if n == 1 else f"{mark} × {n}" for mark, n in Counter(marks).items())


def sticks_cut_table(model: Model) -> Table:
    """Each way in which sticks are cut: how many, the pipes in order, what is left."""
    units = model.job.units
    several = len(model.pipe_shares) > 1
    columns = [Column("Sticks", right=True), Column("Length", right=True)]
    columns += [Column("Size")] if several else []
    columns += [Column("Pipes in order, tip to tip"), Column("Left over")]
    rows = []
    for one in model.pipe_shares:
        for plan in one.share.plans:
            sticks, length, pipes, left = _stick_row(plan, units)
            size = [one.pipe.name] if several else []
            rows.append((sticks, length, *size, pipes, left))
    return Table("Out of each stick", tuple(columns), tuple(rows))


def _stick_row(plan: StickPlan, units: str) -> tuple[str, ...]:
    pipes = "; ".join(
        f"{_places([copy[place] for copy in plan.copies])} {format_length(length, units)}"
        for place, length in enumerate(plan.lengths_mm)
    )
    left = "nothing"
    if plan.offcut_mm > 0:
        use = "keep" if plan.usable else "scrap"
        left = f"{format_length(plan.offcut_mm, units)}, {use}"
    return str(plan.quantity), format_stock_length(plan.stock.length_mm, units), pipes, left


def proof_words(cost: int, bound: int) -> str:
    """How good the sharing is, against what no plan can better."""
    if cost <= bound:
        return "No plan needs less."
    return f"No plan can need less than {100 * bound / cost:.1f} % of this."
