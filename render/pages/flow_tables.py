"""Draws a table as strips: column widths by measured text, wrapped cells, rules, repeated headings."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from render.pages.drawing import Anchor, Item, Line, Pen, Text, drawing
from render.pages.pdf import text_width_mm
from render.pages.shapes import MM_PER_PT
from render.pages.strips import Strip, kept_ends, line_height_mm, text_strips, wrapped
from render.pages.tables import Table

_PAD_MM = 1.2
_TITLE_PT = 9.0
_MOST_LINES = 30
"""Of a row that is kept whole."""
_LEAST_SET = 3
"""Rows that a set of a folded table has at least."""
_LOW_MM = 15.0
"""Rows no higher than this can keep together at the ends of a table."""


def table_strips(table: Table, width_mm: float) -> Iterator[Strip]:
    """Title and headings, one strip a row, and a gap; the headings are repeated over each new column.

    Errors: ValueError when the words of the table are wider than width_mm.
    """
    widths = column_widths_mm(table, width_mm)
    if table.title:
        title = text_strips(wrapped(table.title, width_mm, _TITLE_PT, bold=True), _TITLE_PT, bold=True)
        yield from (Strip(strip.height_mm, strip.drawing, keeps_next=True) for strip in title)
        yield Strip(0.6, drawing([]), keeps_next=True)
    headings = _folded([column.heading for column in table.columns], table, widths, bold=True)
    head = _row(headings, table, widths, bold=True, least_mm=0.0)
    yield Strip(head.height_mm, head.drawing, keeps_next=True)
    rows = [
        _row(folded, table, widths, bold=False, least_mm=table.least_row_mm)
        for row in table.rows
        for folded in _parts(_folded(row, table, widths))
    ]
    rows = [replace(row, head=head) for row in rows]
    low = all(row.height_mm <= _LOW_MM for row in rows)
    yield from kept_ends(rows) if low else rows
    yield Strip(2.5, drawing([]))


def _folded(
    cells: Sequence[str], table: Table, widths: Sequence[float], bold: bool = False
) -> list[list[str]]:
    """The lines of each cell of a row."""
    return [
        wrapped(cell, width - 2.0 * _PAD_MM, table.text_pt, bold)
        for cell, width in zip(cells, widths, strict=True)
    ]


def _parts(folded: list[list[str]]) -> Iterator[list[list[str]]]:
    """A row as it is, or where it is too high to be kept whole, as rows one under another."""
    high = max(len(lines) for lines in folded)
    for first in range(0, high, _MOST_LINES):
        yield [lines[first : first + _MOST_LINES] for lines in folded]


def column_widths_mm(table: Table, width_mm: float) -> list[float]:
    """Widths of the columns: as they need, else the roomiest narrowed until all fit in width_mm.

    Lines of headings are broken first, those of cells only where that is not enough.
    Errors: ValueError when they can't be made to fit without breaking a word.
    """
    wanted = _wanted_mm(table)
    if sum(wanted) <= width_mm:
        return wanted
    whole_cells = _wanted_mm(_with_folded_headings(table))
    if sum(whole_cells) <= width_mm:
        return _narrowed(wanted, whole_cells, width_mm)
    least = []
    for i, column in enumerate(table.columns):
        cells = [(column.heading, True), *((row[i], False) for row in table.rows)]
        words = [(word, bold) for cell, bold in cells for word in cell.split()]
        least.append(max(_room_mm(words, table.text_pt), column.least_mm))
    if sum(least) > width_mm:
        raise ValueError(f"table {table.title!r} needs {sum(least):.1f} mm and has {width_mm:.1f} mm")
    return _narrowed(whole_cells, least, width_mm)


def enlarged(table: Table, width_mm: float, sizes_pt: Sequence[float]) -> Table:
    """The table in the largest of these sizes, given largest first, that breaks no line but in its headings.

    One in which headings take no more than two lines is preferred.  As it is where no size will do.
    """
    larger = [replace(table, text_pt=size_pt) for size_pt in sizes_pt]
    fitting = [made for made in larger if sum(_wanted_mm(_with_folded_headings(made))) <= width_mm]
    low = (made for made in fitting if _heading_lines(made, width_mm) <= 2)
    return next(low, fitting[0] if fitting else table)


def _heading_lines(table: Table, width_mm: float) -> int:
    widths = column_widths_mm(table, width_mm)
    return max(
        len(wrapped(column.heading, width - 2.0 * _PAD_MM, table.text_pt, bold=True))
        for column, width in zip(table.columns, widths, strict=True)
    )


def side_by_side(table: Table, width_mm: float, size_pt: float) -> Table:
    """A long, narrow table folded: its rows in two or more sets beside each other, as many as fit the width.

    size_pt: of the text that no line of is to be broken.
    """
    room_mm = sum(_wanted_mm(replace(table, text_pt=size_pt)))
    sets = min(int(width_mm / room_mm), math.ceil(len(table.rows) / _LEAST_SET))
    if sets < 2:
        return table
    high = math.ceil(len(table.rows) / sets)
    blank = ("",) * len(table.columns)
    padded = [*table.rows, *([blank] * (sets * high - len(table.rows)))]
    rows = tuple(tuple(cell for row in padded[i::high] for cell in row) for i in range(high))
    return replace(table, columns=table.columns * sets, rows=rows)


def _with_folded_headings(table: Table) -> Table:
    """The table with each word of its headings on a line."""
    columns = (replace(column, heading="\n".join(column.heading.split())) for column in table.columns)
    return replace(table, columns=tuple(columns))


def _wanted_mm(table: Table) -> list[float]:
    """Widths of the columns that break no line."""
    wanted = []
    for i, column in enumerate(table.columns):
        cells = [(column.heading, True), *((row[i], False) for row in table.rows)]
        lines = [(line, bold) for cell, bold in cells for line in cell.split("\n")]
        wanted.append(max(_room_mm(lines, table.text_pt), column.least_mm))
    return wanted


def _narrowed(wanted: Sequence[float], least: Sequence[float], width_mm: float) -> list[float]:
    """Columns cut down to one common width where they are wider, never under their least."""
    low, high = 0.0, max(wanted)
    for _ in range(50):
        cap = (low + high) / 2.0
        total = sum(max(short, min(wide, cap)) for wide, short in zip(wanted, least, strict=True))
        low, high = (low, cap) if total > width_mm else (cap, high)
    return [max(short, min(wide, low)) for wide, short in zip(wanted, least, strict=True)]


def _room_mm(words: Sequence[tuple[str, bool]], size_pt: float) -> float:
    longest = max((text_width_mm(word, size_pt, bold) for word, bold in words), default=0.0)
    return longest + 2.0 * _PAD_MM


def _row(
    folded: Sequence[Sequence[str]], table: Table, widths: Sequence[float], bold: bool, least_mm: float
) -> Strip:
    """One row of cells in lines, a rule under it (over it too for headings) and rules between its cells."""
    step_mm = line_height_mm(table.text_pt)
    first_mm = 0.6 + 0.9 * table.text_pt * MM_PER_PT
    height_mm = max(least_mm, max(len(lines) for lines in folded) * step_mm + 1.2)
    right = sum(widths)
    items: list[Item] = [Line((0.0, -height_mm), (right, -height_mm), Pen.TICK)]
    if bold:
        items.append(Line((0.0, 0.0), (right, 0.0), Pen.TICK))
    left = 0.0
    for column, lines, width in zip(table.columns, folded, widths, strict=True):
        items.append(Line((left, 0.0), (left, -height_mm), Pen.TICK))
        at, anchor = (left + _PAD_MM, Anchor.START)
        if column.right:
            at, anchor = (left + width - _PAD_MM, Anchor.END)
        items += [
            Text((at, -first_mm - i * step_mm), line, table.text_pt, anchor, bold=bold)
            for i, line in enumerate(lines)
            if line
        ]
        left += width
    items.append(Line((right, 0.0), (right, -height_mm), Pen.TICK))
    return Strip(height_mm, drawing(items))
