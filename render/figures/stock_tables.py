"""What comes out of each stock elbow and each stick, as tables and as words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from render.pages.tables import Column, Table
from templates_core.model import Model
from templates_core.stock.elbow_layouts import Line
from templates_core.stock.elbow_plans import ElbowPlan
from templates_core.stock.stick_marks import StickMarks, marks_of, sticks_by_size
from templates_core.units import (
    INCH,
    MM_PER_INCH,
    degrees_text,
    format_length,
    format_stock_length,
    units_word,
)

ROUND_MM = 0.01
"""A stick within this of a round length is called by it."""


def sticks_table(model: Model) -> Table:
    """Each way in which sticks are cut: the pipes in order, where each ends, and what is left."""
    units = model.job.units
    columns = (
        Column("Plan", right=True),
        Column("Sticks", right=True),
        Column("Stick"),
        Column("Pipes"),
        Column("Each, tip to tip", right=True),
        Column("Lines from the trimmed end"),
        Column("Left over"),
    )
    rows: list[tuple[str, ...]] = []
    for sticks in sticks_by_size(model):
        for marked in sticks.marked:
            stick = f"{stick_words(marked.plan.stock.length_mm, units)} {sticks.sized.pipe.name}"
            rows += _stick_rows(marked, stick, units)
    return Table(f"Out of each stick, lengths in {units_word(units)}", columns, tuple(rows))


def _stick_rows(marked: StickMarks, stick: str, units: str) -> Iterator[tuple[str, ...]]:
    head = (str(marked.number), str(marked.plan.quantity), stick)
    for places in marked.alike():
        lines = ", ".join(format_length(place.end_mm, units, with_unit=False) for place in places)
        length = format_length(places[0].length_mm, units, with_unit=False)
        each = f"{len(places)} × {length}" if len(places) > 1 else length
        last = places[-1] is marked.places[-1]
        left = stick_left_words(marked, units) if last else ""
        yield (*head, marks_text(marks_of(places)), each, lines, left)
        head = ("", "", "")


def stick_words(length_mm: float, units: str) -> str:
    """Length of a stick: in whole feet or hundredths of a metre where it is just that, else in full."""
    step_mm = 12 * MM_PER_INCH if units == INCH else 10.0
    if abs(length_mm - step_mm * round(length_mm / step_mm)) < ROUND_MM:
        return format_stock_length(step_mm * round(length_mm / step_mm), units)
    return format_length(length_mm, units)


def stick_left_words(marked: StickMarks, units: str) -> str:
    """What is left of a stick, and whether it is kept."""
    plan = marked.plan
    if plan.offcut_mm <= 0:
        return "nothing"
    use = "keep" if plan.usable else "scrap"
    return f"{format_length(plan.offcut_mm, units, with_unit=False)}, {use}"


def elbows_cut_table(model: Model) -> Table:
    """Each way in which elbows are cut: how many, the pieces in order from face A, what is left."""
    columns = (
        Column("Plan", right=True),
        Column("Elbows", right=True),
        Column("Kind"),
        Column("Pieces in order from face A"),
        Column("Lines"),
        Column("Left over"),
    )
    rows = [_elbow_row(number, plan) for number, plan in enumerate(model.elbow_share.plans, 1)]
    return Table("Out of each elbow", columns, tuple(rows))


def _elbow_row(number: int, plan: ElbowPlan) -> tuple[str, ...]:
    pieces = "; ".join(
        f"{marks_text(plan.marks_at(place))} {degrees_text(end - start)}"
        for place, (start, end) in enumerate(plan.spans_rad)
    )
    lines = "; ".join(", ".join(line_words(plan, line)) for line in plan.lines)
    left = "nothing"
    if plan.offcut is not None:
        use = "keep" if plan.offcut.usable else "scrap"
        left = f"{degrees_text(plan.offcut.sweep_rad)}, {use}"
    return str(number), str(plan.quantity), plan.elbow.name, pieces, lines or "whole", left


def line_words(plan: ElbowPlan, line: Line) -> tuple[str, str]:
    """Where a line is and how it is cut: ``28° from A``, ``blade clear``; a leaning one by its wrap."""
    leaning, place = plan.leaning_to(line), line.before if line.after is None else line.after
    if not leaning:
        return line_from(plan, line), f"blade {line.blade}"
    if all(names[place or 0] in leaning for names in plan.copies):
        return f"to {line_from(plan, line)} at most", "cut to lean, by wrap"
    return line_from(plan, line), f"blade {line.blade}; {', '.join(leaning)} to lean, by wrap"


def line_from(plan: ElbowPlan, line: Line) -> str:
    """``28° from A``: a line from the face that it is measured from."""
    at = line.at_rad if line.face == "A" else plan.elbow.sweep_rad - line.at_rad
    return f"{degrees_text(at)} from {line.face}"


def marks_text(marks: Sequence[tuple[str, int]]) -> str:
    """Marks, each with how many of it there are where that is more than one."""
    return ", ".join(mark if count == 1 else f"{mark} × {count}" for mark, count in marks)


def proof_words(cost: int, bound: int) -> str:
    """How good the sharing is, against what no plan can better."""
    if cost <= bound:
        return "No plan needs less."
    return f"No plan can need less than {100 * bound / cost:.1f} % of this."
