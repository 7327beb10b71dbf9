"""The cut list: every pipe with its end cuts, sticks and elbows drawn, and the offcuts that are kept."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from render.figures.cut_length_table import length_sums_table
from render.figures.cut_tables import cut_list_tables, offcuts_table
from render.figures.drain_tables import NOTES as DRAIN_NOTES
from render.figures.drain_tables import drain_table
from render.figures.stock_tables import marks_text, proof_words, stick_words
from render.pages.drawing import Drawing, Item, Text, drawing
from render.pages.flow import Element, Figure, Gap, Heading, Paragraph, Steps, columns_of, flow_pages, stack
from render.pages.paper import Layout, Page
from render.pages.shapes import Box
from render.sheets.elbow_figure import elbow_sketch
from render.sheets.stick_figure import StickFigure, stick_figure
from templates_core.model import Model
from templates_core.pipes.cut_rows import cut_rows
from templates_core.stock.elbow_plans import ElbowPlan
from templates_core.stock.stick_marks import PipeSticks, StickMarks, marks_of, sticks_by_size
from templates_core.units import degrees_text, format_length, units_word

SECTION = "Cut list"
_TEXT_PT = 9.0
_SMALL_PT = 8.0
_CELL_MM = 76.0
"""Least width for an elbow with its labels."""
_CELL_GAP_MM = 5.0

_ELBOW_NOTES = (
    "Each elbow is seen in plan, face A below. Not to scale, the blade least of all; the angles are true. "
    "Mark each line with its wrap, from the face that is named.",
    "Blade centred: on the line, which two pieces share or which a middle piece ends at. Blade clear: in the "
    "scrap beside the line; grind to the line. What is left over is less what the blade takes.",
)


def cut_list_pages(model: Model, layout: Layout) -> tuple[Page, ...]:
    """Pipes with their lengths and end cuts, then every stick and every elbow with what comes out of it."""
    _, width_mm, _ = columns_of(layout)
    elements: list[Element] = [
        Heading("Cut list", 13.0),
        *cut_list_tables(model),
        *_length_sums(model),
        Steps(_pipe_notes(model), "•", _TEXT_PT),
        Heading("Sticks", 12.0),
        Steps(_stick_notes(model), "•", _TEXT_PT),
    ]
    for sticks in sticks_by_size(model):
        elements += _stick_elements(sticks, model, width_mm)
    elements += _elbow_elements(model, width_mm)
    if model.drain_holes:
        elements += [Heading("Drain and vent holes for galvanising", 12.0), drain_table(model)]
        elements += [Steps(DRAIN_NOTES, "•", _TEXT_PT)]
    offcuts = offcuts_table(model)
    elements += [offcuts] if offcuts.rows else []
    marks = tuple(row.mark for row in cut_rows(model))
    return flow_pages(SECTION, "Cut list", elements, layout, marks)


def _length_sums(model: Model) -> tuple[Element, ...]:
    table = length_sums_table(model)
    return (table,) if table.rows else ()


def _pipe_notes(model: Model) -> tuple[str, ...]:
    rows = cut_rows(model)
    notes = [
        "Cut length is on the centreline, between finished ends. A rail's pipes have its mark and P; their "
        "start and end are along it."
    ]
    if any(row.is_shaped for row in rows):
        notes.append(
            "A pipe with an end that is mitred, off square or shaped is first cut square to its length from "
            "tip to tip; then each end is marked with its wrap. A mitre's angle is off square, at each end."
        )
    if any(row.roll_rad is not None for row in rows):
        notes.append(
            "Roll is from the heel line at the start to the heel line at the end, as an angle and as a "
            "length round the outside; + is clockwise looking from start to end. The heel of a mitre, or of "
            "an end off square, is its long point; a shaped end has its datum, as its wrap says."
        )
    if any(row.extra_mm > 0 for row in rows):
        notes.append("What is for the site is in the lengths already: it is cut off when the rail is closed.")
    return tuple(notes)


def _stick_notes(model: Model) -> tuple[str, ...]:
    shop, stock, units = model.job.shop, model.job.stock, model.job.units
    kerf, trim = (format_length(length, units, fine=True) for length in (shop.kerf_mm, stock.end_trim_mm))
    start = (
        f"Trim the left end first ({trim}, its cut included)"
        if stock.end_trim_mm > 0
        else "Square the left end"
    )
    left = " with its end not trimmed yet" if stock.end_trim_mm > 0 else ""
    return (
        f"{start}. Figures under a bar run from there to the line where each pipe ends: hook the tape, or "
        f"set the stop, on that one end. The blade goes just beyond each line and takes its kerf ({kerf}) "
        "there; the next pipe starts where the kerf stops.",
        f"Over or in the bar: mark, and length from tip to tip, in {units_word(units)}. What is left over "
        f"is what comes after the last kerf{left}.",
        "Bars are drawn to the scale that stands with each. Go by the figures; don't measure the drawing.",
    )


def _stick_elements(sticks: PipeSticks, model: Model, width_mm: float) -> Iterator[Element]:
    sized, units = sticks.sized, model.job.units
    proof = proof_words(sized.share.cost, sized.share.bound)
    count = sum(marked.plan.quantity for marked in sticks.marked)
    number = "1 stick" if count == 1 else f"{count} sticks"
    yield Heading(f"{sized.pipe.name}: {number} for {sized.pieces} pipes. {proof}", _TEXT_PT)
    if sized.share.too_long:
        names = ", ".join(sized.share.too_long)
        yield Paragraph(f"No stick is long enough for {names}: not in what follows.", _TEXT_PT, bold=True)
    for marked in sticks.marked:
        drawn = stick_figure(marked, units, width_mm)
        length = stick_words(marked.plan.stock.length_mm, units)
        yield Heading(
            f"Stick plan {marked.number}: cut {marked.plan.quantity} of {length} so, drawn 1:{drawn.scale}"
        )
        yield drawn.figure
        yield from _stick_details(marked, drawn, units)


def _stick_details(marked: StickMarks, drawn: StickFigure, units: str) -> Iterator[Element]:
    """What has no room on the bar: the marks of pipes of one length, and lines between them."""
    for places in marked.alike():
        marks = marks_of(places)
        length = format_length(places[0].length_mm, units)
        if not all(place.number in drawn.named for place in places):
            yield Paragraph(f"{length}: {marks_text(marks)}", _SMALL_PT)
        if len(places) > 1 and not drawn.all_lines:
            lines = ", ".join(format_length(place.end_mm, units, with_unit=False) for place in places)
            yield Paragraph(f"Lines for {length}: {lines}", _SMALL_PT)


def _elbow_elements(model: Model, width_mm: float) -> Iterator[Element]:
    plans = list(enumerate(model.elbow_share.plans, 1))
    if not plans:
        return
    yield Heading("Elbows", 12.0)
    cut = [(number, plan) for number, plan in plans if plan.lines]
    yield Heading(_elbow_words(model), _TEXT_PT)
    if cut:
        yield Steps(_ELBOW_NOTES, "•", _TEXT_PT)
    sketches = [(number, plan, *elbow_sketch(plan)) for number, plan in cut]
    yield from _elbow_drawings(sketches, width_mm)
    for number, plan, sketch, _ in sketches:
        yield from _elbow_details(number, plan, sketch)
    for number, plan in plans:
        if not plan.lines:
            pieces = marks_text(plan.marks_at(0))
            words = f"Elbow plan {number}: {plan.quantity} of {plan.elbow.name} used whole, for {pieces}"
            yield Paragraph(words, _TEXT_PT)


def _elbow_words(model: Model) -> str:
    share = model.elbow_share
    cut, whole = (sum(getattr(line, name) for line in share.used) for name in ("to_cut", "whole"))
    counts = [f"{cut} to cut"] if cut else []
    counts += [f"{whole} used whole"] if whole else []
    return f"Elbows: {', '.join(counts)}. {proof_words(share.cost, share.bound)}"


def _elbow_drawings(
    sketches: Sequence[tuple[int, ElbowPlan, Drawing, Box]], width_mm: float
) -> Iterator[Element]:
    """Elbows side by side, each under its name, as many in a row as the widest lets."""
    cell_mm = max((box.width for *_, box in sketches), default=0.0)
    across = max(1, int((width_mm + _CELL_GAP_MM) // (max(cell_mm, _CELL_MM) + _CELL_GAP_MM)))
    cell_mm = (width_mm - _CELL_GAP_MM * (across - 1)) / across
    for first in range(0, len(sketches), across):
        items: list[Item] = []
        height = 0.0
        for place, (number, plan, sketch, box) in enumerate(sketches[first : first + across]):
            title = Heading(f"Elbow plan {number}: cut {plan.quantity} of {plan.elbow.name} so", 9.0)
            cell, room = stack([title, Gap(1.0), Figure(sketch, box)], cell_mm)
            items += cell.moved(place * (cell_mm + _CELL_GAP_MM), 0.0)
            height = max(height, room.height)
        yield Figure(drawing(items), Box(0.0, -height, width_mm, 0.0))
        yield Gap(3.0)


def _elbow_details(number: int, plan: ElbowPlan, sketch: Drawing) -> Iterator[Element]:
    """The marks of a piece that stands for several, where its sketch has no room for them."""
    drawn = [item.text for item in sketch if isinstance(item, Text)]
    for place, (start, end) in enumerate(plan.spans_rad):
        marks = plan.marks_at(place)
        if len(marks) > 1 and not any(marks_text(marks) in text for text in drawn):
            angle = degrees_text(end - start)
            yield Paragraph(
                f"Elbow plan {number}, piece {place + 1} from face A, {angle}: {marks_text(marks)}", _SMALL_PT
            )
