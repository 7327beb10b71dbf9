"""Drain and vent holes for galvanising, as a table with what goes with it."""

from __future__ import annotations

import math
from typing import Any

from render.pages.tables import Column, Table
from templates_core.model import Model
from templates_core.pipes.drain_holes import DrainHole
from templates_core.units import degrees_text, format_length, units_word

NOTES = (
    "Ask the galvanizer first: how many holes, how large, and where, is theirs to decide. These positions "
    "are common practice, from no standard: one at each end of every closed length, opposite each other.",
    "Drill before the pipe is welded up. A length shut up, such as a post on a rail that is not opened under "
    "it, can burst in the bath. A rail that sags in the middle drains only if it is hung so: ask.",
)


def drain_table(model: Model) -> Table:
    """Every hole: in which pipe, how far from which end, on which line; those alike in one row."""
    units = model.job.units
    rows: dict[tuple[str, ...], tuple[list[str], int]] = {}
    for hole in model.drain_holes:
        cells = (_end(hole), format_length(hole.along_mm, units, with_unit=False), _line(hole))
        marks, count = rows.get(cells, ([], 0))
        rows[cells] = ([*marks, hole.pipe], count + hole.quantity)
    columns = (
        Column("Pipe"),
        Column("Holes", right=True),
        Column("From the tip of its"),
        Column("To the middle of the hole", right=True),
        Column("On which line"),
    )
    cells_of = tuple((", ".join(marks), str(count), *cells) for cells, (marks, count) in rows.items())
    return Table(f"Drain and vent holes{_size(model)}, {units_word(units)}", columns, cells_of)


def _size(model: Model) -> str:
    asked = model.job.galvanising
    if asked is None or asked.hole_mm is None:
        return " of the size that the galvanizer gives"
    return f" of {format_length(asked.hole_mm, model.job.units)}"


def _end(hole: DrainHole) -> str:
    if hole.girth_rad is None:
        return hole.end
    return "first end" if hole.end == "start" else "second end"


def _line(hole: DrainHole) -> str:
    if hole.girth_rad is None or hole.line.endswith("line"):
        return hole.line
    turned = round(math.degrees(hole.girth_rad), 2) % 360
    return f"{hole.line}, {degrees_text(math.radians(turned))} from the 0° line"


def drain_json(hole: DrainHole) -> dict[str, Any]:
    """One hole as it stands in the JSON."""
    return {
        "pipe": hole.pipe,
        "quantity": hole.quantity,
        "end": hole.end,
        "along_mm": hole.along_mm,
        "line": hole.line,
        "girth_deg": None if hole.girth_rad is None else math.degrees(hole.girth_rad),
    }
