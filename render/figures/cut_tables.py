"""Tables of the cut list: every pipe with its end cuts, and the offcuts that are kept."""

from __future__ import annotations

from collections.abc import Sequence

from render.pages.tables import Column, Table
from templates_core.model import Model
from templates_core.pipes.cut_rows import PLANE, SQUARE, CutRow, RowEnd, cut_rows
from templates_core.stock.stick_marks import sticks_by_size
from templates_core.units import degrees_text, format_length, units_word

NONE = "–"


def cut_list_tables(model: Model) -> tuple[Table, ...]:
    """Every pipe, a table for each size: end cuts, how these are turned to each other, and lengths."""
    rows, units = cut_rows(model), model.job.units
    sizes = dict.fromkeys(row.pipe for row in rows)
    return tuple(_size_table(size, [row for row in rows if row.pipe == size], units) for size in sizes)


def _size_table(size: str, rows: Sequence[CutRow], units: str) -> Table:
    shaped, longer = any(row.is_shaped for row in rows), any(row.extra_mm > 0 for row in rows)
    columns = [Column("Pipe"), Column("Make", right=True), Column("Start"), Column("End")]
    columns += [Column("Roll, round the girth", right=True), Column("Cut length", right=True)]
    columns += [Column("Tip to tip", right=True)] if shaped else []
    columns += [Column("Of it for the site", right=True)] if longer else []
    cells = []
    for row in rows:
        roll = NONE
        if row.roll_rad is not None and row.girth_mm is not None:
            girth = format_length(row.girth_mm, units, with_unit=False)
            roll = f"{degrees_text(row.roll_rad)}, {girth}"
        ends = end_words(row.start), end_words(row.end)
        lengths = _lengths(row, units, shaped, longer)
        cells.append((row.mark, str(row.quantity), *ends, roll, *lengths))
    title = f"Pipes to cut of {size}, lengths in {units_word(units)}"
    return Table(title, tuple(columns), tuple(cells))


def _lengths(row: CutRow, units: str, shaped: bool, longer: bool) -> tuple[str, ...]:
    lengths = [row.cut_mm]
    lengths += [row.tip_mm] if shaped else []
    lengths += [row.extra_mm or None] if longer else []
    return tuple(
        NONE if length is None else format_length(length, units, with_unit=False) for length in lengths
    )


def end_words(end: RowEnd) -> str:
    """``mitre 2.38° at R1``, ``square, cap``, ``12° off square, plate``, ``cope on A-P2, 57.3°``."""
    if end.words:
        return end.words
    if end.cut == PLANE:
        return f"{degrees_text(end.tilt_rad)} {end.cut}, {end.at}"
    if end.cut != SQUARE:
        return f"{end.cut} {degrees_text(end.tilt_rad)} at {end.at}"
    return f"square at {end.at}" if end.is_corner else f"square, {end.at}"


def offcuts_table(model: Model) -> Table:
    """What is left that is long enough to be used again."""
    rows = [
        (f"stick plan {marked.number}", str(marked.plan.quantity), what, length)
        for sticks in sticks_by_size(model)
        for marked in sticks.marked
        if marked.plan.usable and marked.plan.offcut_mm > 0
        for what, length in ((sticks.sized.pipe.name, format_length(marked.plan.offcut_mm, model.job.units)),)
    ]
    rows += [
        (
            f"elbow plan {number}",
            str(plan.quantity),
            _face_words(plan.elbow.name, plan.offcut.keeps_face),
            angle,
        )
        for number, plan in enumerate(model.elbow_share.plans, 1)
        if plan.offcut is not None and plan.offcut.usable
        for angle in (degrees_text(plan.offcut.sweep_rad),)
    ]
    columns = (Column("Out of"), Column("How many", right=True), Column("Of"), Column("Each", right=True))
    return Table("Offcuts to keep, marked with their size", columns, tuple(rows))


def _face_words(elbow: str, keeps_face: bool) -> str:
    return f"{elbow}, {'one stock face' if keeps_face else 'both faces cut'}"
