"""A table described once, and its plain text for a terminal; ``render.pages.flow`` draws it."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from itertools import zip_longest

_LEAST_COLUMN = 8
"""Letters below which a column of a terminal table is not folded."""


@dataclass(frozen=True)
class Column:
    """A column: its heading, whether figures stand at its right, and its least width on paper [mm]."""

    heading: str
    right: bool = False
    least_mm: float = 0.0


@dataclass(frozen=True)
class Table:
    """Rows of cells under headings; an empty title prints none.

    least_row_mm: least height of a row on paper, for tables that are written in by hand.  text_pt: size of
    its text on paper.
    Errors: ValueError for a row with more or fewer cells than there are columns.
    """

    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    least_row_mm: float = 0.0
    text_pt: float = 8.0

    def __post_init__(self) -> None:
        for row in self.rows:
            if len(row) != len(self.columns):
                raise ValueError(f"table {self.title!r}: {len(row)} cells for {len(self.columns)} columns")


def plain_text(table: Table, width: int = 100) -> str:
    """The table as lines of at most ``width`` letters, long cells folded at spaces, title above.

    Words longer than their column are kept whole, so a very narrow terminal gets longer lines.
    """
    widths = _letters(table, width)
    lines = [table.title] if table.title else []
    lines += _folded(tuple(column.heading for column in table.columns), table, widths)
    lines.append("  ".join("-" * letters for letters in widths))
    for row in table.rows:
        lines += _folded(row, table, widths)
    return "\n".join(lines) + "\n"


def _letters(table: Table, width: int) -> list[int]:
    """Letters a column: its longest cell, the widest columns narrowed until the line fits."""
    cells = [tuple(column.heading for column in table.columns), *table.rows]
    longest = [max(len(row[i]) for row in cells) for i in range(len(table.columns))]
    words = [max(len(w) for row in cells for w in ["", *row[i].split()]) for i in range(len(table.columns))]
    least = [min(long, max(word, _LEAST_COLUMN)) for long, word in zip(longest, words, strict=True)]
    room = width - 2 * (len(longest) - 1)
    while sum(longest) > room:
        spare = [long - short for long, short in zip(longest, least, strict=True)]
        if max(spare) <= 0:
            break
        longest[spare.index(max(spare))] -= 1
    return longest


def _folded(row: tuple[str, ...], table: Table, widths: list[int]) -> list[str]:
    cells = [
        textwrap.wrap(cell, max(letters, 1), break_long_words=False, break_on_hyphens=False) or [""]
        for cell, letters in zip(row, widths, strict=True)
    ]
    lines = []
    for parts in zip_longest(*cells, fillvalue=""):
        padded = [
            part.rjust(letters) if column.right else part.ljust(letters)
            for part, letters, column in zip(parts, widths, table.columns, strict=True)
        ]
        lines.append("  ".join(padded).rstrip())
    return lines
