"""The title block at the foot of each sheet, and the check bars both ways."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from render.figures.mark_ranges import mark_ranges
from render.pages.drawing import Anchor, Drawing, Item, Line, Pen, Point, Text, drawing
from render.pages.paper import FOOT_MM, SIDE_MM, UNCORRECTED, Layout, Page
from render.pages.pdf import text_width_mm
from render.pages.shapes import Box, rectangle

BAR_MM = 50.0
_BAR_CELL_MM = 61.0
_SHEET_CELL_MM = 36.0
_PAD_MM = 1.5
_MARKS_PT = 7.5
_BASELINES_MM = (-4.6, -8.6, -12.6)


@dataclass(frozen=True)
class JobLabel:
    """What the title block says of the job.  fingerprint: short hash of the job file."""

    title: str
    number: str
    revision: str
    fingerprint: str


def with_title_blocks(pages: Sequence[Page], job: JobLabel) -> tuple[Page, ...]:
    """Every page with its title block and check bars; call it once, on the whole pack."""
    count = len(pages)
    return tuple(
        replace(page, drawing=title_block(page, job, number, count) + page.drawing)
        for number, page in enumerate(pages, start=1)
    )


def title_block(page: Page, job: JobLabel, number: int, count: int) -> Drawing:
    """Title block of sheet ``number`` of ``count``, below y = 0, and the upright bar left of x = 0."""
    width_mm = page.layout.width_mm
    frame = Box(-SIDE_MM, -FOOT_MM, width_mm, -1.0)
    first, last = frame.left + _BAR_CELL_MM, frame.right - _SHEET_CELL_MM
    items: list[Item] = [rectangle(frame, Pen.TICK)]
    items += [Line((x, frame.bottom), (x, frame.top), Pen.TICK) for x in (first, last)]
    items += _bars(frame, page.layout)
    items += _words(page, job, first + _PAD_MM, last - first - 2.0 * _PAD_MM)
    sheet = (
        f"Sheet {number} of {count}",
        f"{page.layout.paper.name}, scale 1:1",
        f"rev {job.revision} · {job.fingerprint}",
    )
    room_mm = _SHEET_CELL_MM - 2.0 * _PAD_MM
    for words, y, bold in zip(sheet, _BASELINES_MM, (True, False, False), strict=True):
        items.append(Text((last + _PAD_MM, y), shortened(words, room_mm, 7.5, bold), 7.5, bold=bold))
    return drawing(items)


def _words(page: Page, job: JobLabel, left_mm: float, room_mm: float) -> list[Item]:
    marks = _marks(page.marks, room_mm) if page.marks else page.section
    lines = (
        (f"{job.number}  {job.title}".strip(), 8.5, True),
        (page.title, 7.5, False),
        (marks, _MARKS_PT, False),
    )
    return [
        Text((left_mm, y), shortened(words, room_mm, size_pt, bold), size_pt, bold=bold)
        for (words, size_pt, bold), y in zip(lines, _BASELINES_MM, strict=True)
    ]


@lru_cache(maxsize=64)
def _marks(marks: tuple[str, ...], room_mm: float) -> str:
    """The marks, or as many as there is room for and how many more there are."""

    def words(most: int) -> str:
        return f"Marks: {mark_ranges(marks, most)}"

    def width_mm(most: int) -> float:
        return text_width_mm(words(most), _MARKS_PT)

    if width_mm(len(marks)) <= room_mm:
        return words(len(marks))
    return words(max(1, bisect_right(range(1, len(marks)), room_mm, key=width_mm)))


def _bars(frame: Box, layout: Layout) -> list[Item]:
    """Check bars: one in the title block, one upright at the left edge of the page."""
    lying = (frame.left + 3.5, -5.2)
    upright = (frame.left + 1.9, 1.0)
    items: list[Item] = [
        *bar(lying, 0.0),
        *bar(upright, math.pi / 2.0),
        Text((frame.left + 3.5, -10.0), f"{BAR_MM:g} mm both ways, or see the print check", 7.0),
        Text((frame.left + 5.6, 1.0 + BAR_MM / 2.0), f"{BAR_MM:g} mm", 7.0, Anchor.MIDDLE, math.pi / 2.0),
    ]
    if layout.correction != UNCORRECTED:
        words = f"corrected: 100 prints as {layout.correction}"
        items.append(Text((frame.left + 3.5, -13.2), words, 7.0))
    return items


@lru_cache(maxsize=32)
def bar(start: Point, along_rad: float, length_mm: float = BAR_MM) -> tuple[Item, ...]:
    """A check bar from start, a tick to its left each 10 mm, end ticks to both sides."""
    x, y = math.cos(along_rad), math.sin(along_rad)

    def put(along_mm: float, left_mm: float) -> Point:
        return (start[0] + along_mm * x - left_mm * y, start[1] + along_mm * y + left_mm * x)

    ends = [Line(put(at, -1.5), put(at, 1.5), Pen.TICK) for at in (0.0, length_mm)]
    count = round(length_mm / 10.0)
    ticks = [Line(put(10.0 * i, 0.0), put(10.0 * i, 1.0), Pen.TICK) for i in range(1, count)]
    return (Line(start, put(length_mm, 0.0), Pen.OUTLINE), *ends, *ticks)


def shortened(words: str, room_mm: float, size_pt: float, bold: bool = False) -> str:
    """The words, or as many letters of them as fit, ended with …"""
    if text_width_mm(words, size_pt, bold) <= room_mm:
        return words
    lengths = range(1, len(words))
    most = bisect_right(lengths, room_mm, key=lambda n: text_width_mm(words[:n] + "…", size_pt, bold))
    return words[:most].rstrip(" ,") + "…"
