"""Strips: pieces of a column of text that can't be broken, and lines wrapped by their measured width."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from render.pages.drawing import Drawing, Text, drawing
from render.pages.pdf import text_width_mm
from render.pages.shapes import MM_PER_PT

LEADING = 1.3
"""Distance from one baseline to the next, as a share of the text size."""


@dataclass(frozen=True)
class Strip:
    """A piece of a column: its drawing hangs down from (0, 0) by height_mm.

    keeps_next: must not be the last in a column.  head: what to repeat over it at the top of a column.
    """

    height_mm: float
    drawing: Drawing
    keeps_next: bool = False
    head: Strip | None = None


def line_height_mm(size_pt: float) -> float:
    """Height of one line of text [mm]."""
    return LEADING * size_pt * MM_PER_PT


def wrapped(text: str, width_mm: float, size_pt: float, bold: bool = False) -> list[str]:
    """The text in lines no wider than width_mm, broken at spaces; a line break in it is kept.

    Errors: ValueError for a word wider than the column.
    """
    return [
        line for part in text.split("\n") for line in _wrapped_part(part.split(), width_mm, size_pt, bold)
    ]


def _wrapped_part(words: list[str], width_mm: float, size_pt: float, bold: bool) -> list[str]:
    whole = " ".join(words)
    if text_width_mm(whole, size_pt, bold) <= width_mm + 1e-6:
        return [whole]
    lines = [""]
    for word in words:
        if text_width_mm(word, size_pt, bold) > width_mm + 1e-6:
            raise ValueError(f"{word!r} is wider than its column of {width_mm:.1f} mm")
        longer = f"{lines[-1]} {word}".strip()
        if text_width_mm(longer, size_pt, bold) <= width_mm + 1e-6:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def text_strips(lines: Sequence[str], size_pt: float, bold: bool = False) -> list[Strip]:
    """One strip a line."""
    height_mm = line_height_mm(size_pt)
    baseline = (0.0, -0.76 * height_mm)
    return [
        Strip(height_mm, drawing([Text(baseline, line, size_pt, bold=bold)] if line else []))
        for line in lines
    ]


def kept_ends(strips: Sequence[Strip]) -> list[Strip]:
    """The strips with the first two kept together, and the last two: none of them stands alone on a page."""
    last = len(strips) - 1
    return [
        replace(strip, keeps_next=True) if i < last and i in (0, last - 1) else strip
        for i, strip in enumerate(strips)
    ]
