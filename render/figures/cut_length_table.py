"""Posts, mid rails and members: how the length on the drawing becomes the length to saw."""

from __future__ import annotations

from render.figures.mark_ranges import mark_ranges
from render.pages.tables import Column, Table
from templates_core.model import Model
from templates_core.pipes.cut_lengths import LengthSum, length_sum
from templates_core.units import format_length, units_word


def length_sums_table(model: Model) -> Table:
    """Drawing length and what each end adds or takes off, those alike in one row."""
    units = model.job.units
    rows: dict[tuple[str, ...], tuple[list[str], int]] = {}
    for pipe in model.cut_pipes:
        cells = (pipe.kind, pipe.pipe.name, *_cells(length_sum(pipe), units))
        marks, make = rows.get(cells, ([], 0))
        rows[cells] = ([*marks, pipe.mark], make + pipe.quantity)
    columns = (
        Column("Pipe"),
        Column("Make", right=True),
        Column("What"),
        Column("Size"),
        Column("On the drawing", right=True),
        Column("First end", right=True),
        Column("Second end", right=True),
        Column("Tip to tip", right=True),
    )
    title = (
        f"Drawing length + first end + second end = cut length, {units_word(units)}; − where the tip stops "
        "short of the point that the drawing measures to"
    )
    cells_of = tuple((mark_ranges(marks), str(make), *cells) for cells, (marks, make) in rows.items())
    return Table(title, columns, cells_of)


def _cells(found: LengthSum, units: str) -> tuple[str, ...]:
    def shown(length_mm: float) -> str:
        return format_length(length_mm, units, with_unit=False)

    def signed(length_mm: float) -> str:
        if shown(length_mm) == shown(0.0) or shown(-length_mm) == shown(0.0):
            return shown(0.0)
        return f"+ {shown(length_mm)}" if length_mm > 0 else f"− {shown(-length_mm)}"

    ends = (signed(found.at_start_mm), signed(found.at_end_mm))
    return (shown(found.drawing_mm), *ends, shown(found.tip_to_tip_mm))
