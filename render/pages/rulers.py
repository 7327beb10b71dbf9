"""Rulers with millimetre and inch edges."""

from __future__ import annotations

import math

from render.pages.drawing import Anchor, Item, Line, Pen, Point, Text
from render.pages.pdf import ASCENT, DESCENT
from render.pages.shapes import MM_PER_PT

RULER_ROOM_MM = 8.6
"""Room that one edge of a ruler takes across its length, figures included."""
_FIGURE_PT = 7.0
_MM_TICKS = ((10, 4.8), (5, 3.4), (1, 2.2))
_SIXTEENTH_TICKS = ((16, 4.8), (8, 4.0), (4, 3.2), (2, 2.4), (1, 1.6))


def ruler(
    start: Point, along_rad: float, length_mm: float, mm_left: bool, inches: bool = False
) -> list[Item]:
    """A ruler whose spine runs from start for as many whole millimetres as length_mm holds.

    mm_left: millimetre ticks stand to the left of the direction; inches, if any, on the other side.
    Figures read along the ruler.  It takes ``RULER_ROOM_MM`` on each side that has ticks.
    """
    count = math.floor(length_mm)
    end = (start[0] + count * math.cos(along_rad), start[1] + count * math.sin(along_rad))
    items: list[Item] = [Line(start, end, Pen.OUTLINE)]
    side = 1.0 if mm_left else -1.0
    items += _edge(start, along_rad, side, 1.0, count, _MM_TICKS, "mm")
    if inches:
        sixteenths = math.floor(count / (25.4 / 16.0))
        items += _edge(start, along_rad, -side, 25.4 / 16.0, sixteenths, _SIXTEENTH_TICKS, "in")
    return items


def _edge(
    start: Point,
    along_rad: float,
    side: float,
    step_mm: float,
    count: int,
    ticks: tuple[tuple[int, float], ...],
    unit: str,
) -> list[Item]:
    """Ticks and figures of one edge: a figure at each tick of the longest kind, the unit after the 0."""
    cos, sin = math.cos(along_rad), math.sin(along_rad)

    def put(along_mm: float, left_mm: float) -> Point:
        return (start[0] + along_mm * cos - left_mm * sin, start[1] + along_mm * sin + left_mm * cos)

    size_mm = _FIGURE_PT * MM_PER_PT
    longest, reach_mm = ticks[0]
    clear_mm = reach_mm + 0.6 + (DESCENT if side > 0.0 else ASCENT) * size_mm
    items: list[Item] = []
    for i in range(count + 1):
        length_mm = next(length for every, length in ticks if i % every == 0)
        items.append(Line(put(i * step_mm, 0.0), put(i * step_mm, side * length_mm), Pen.TICK))
        if i % longest == 0:
            figure = i if unit == "mm" else i // longest
            at = put(i * step_mm, side * clear_mm)
            items.append(Text(at, str(figure), _FIGURE_PT, Anchor.MIDDLE, along_rad))
    items.append(Text(put(4.6, side * clear_mm), unit, _FIGURE_PT, Anchor.MIDDLE, along_rad))
    return items
