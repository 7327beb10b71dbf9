"""Headings, paragraphs, steps, tables and figures, one under another, down columns and over pages."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from render.pages.drawing import Drawing, Item, Text, drawing
from render.pages.flow_tables import table_strips
from render.pages.paper import Layout, Page
from render.pages.shapes import Box
from render.pages.strips import Strip, kept_ends, line_height_mm, text_strips, wrapped
from render.pages.tables import Table

COLUMN_GAP_MM = 6.0
_WIDE_MM = 180.0
"""On a page that takes two columns of this width or more, text is not set wider."""
_ROLL_COLUMN_MM = 400.0
"""Longest column on a roll, which has no page of its own."""
TIGHTER = ((1.0, 1.0), (0.6, 1.0), (0.5, 0.95), (0.4, 0.9))
"""Shares that gaps and text are drawn in together, the roomiest first."""
_SMALLEST_PT = 7.5
"""Text isn't made smaller than this to save a page."""
_FEW_PAGES = 12
"""More pages than this are not drawn tighter for the sake of one of them."""


@dataclass(frozen=True)
class Heading:
    """A bold line that stays with what follows it."""

    text: str
    size_pt: float = 11.0


@dataclass(frozen=True)
class Paragraph:
    """Text wrapped into the column."""

    text: str
    size_pt: float = 8.5
    bold: bool = False


@dataclass(frozen=True)
class Steps:
    """A list, numbered from 1 or with a sign before each item."""

    items: tuple[str, ...]
    sign: str = ""
    size_pt: float = 8.5


@dataclass(frozen=True)
class Figure:
    """A drawing that is kept whole: box is the room it takes, in its own coordinates.

    keeps_next: must not be the last in a column.
    """

    drawing: Drawing
    box: Box
    keeps_next: bool = False


@dataclass(frozen=True)
class Gap:
    """Blank paper [mm]."""

    height_mm: float


Words = Heading | Paragraph | Steps | Table | Gap
Element = Words | Figure


def flow_pages(
    section: str,
    title: str,
    elements: Sequence[Element],
    layout: Layout,
    marks: tuple[str, ...] = (),
    columns: int = 1,
) -> tuple[Page, ...]:
    """Pages with the elements set down one column after another, more columns where a page is very wide.

    A table goes on in the next column under its headings.  A roll page ends under its last line.  Gaps are
    closed and text is made a little smaller where that saves a page.
    Errors: ValueError for a figure wider or taller than a column.
    """
    columns, width_mm, height_mm = columns_of(layout, columns)
    ways = TIGHTER[:1] if layout.paper.roll else TIGHTER
    filled = _in_fewest_pages(elements, width_mm, height_mm, columns, ways)
    pages = []
    for first in range(0, len(filled), columns):
        group = filled[first : first + columns]
        page_layout = layout.cut_for(max(_height_mm(strips) for strips in group))
        parts = [
            _stacked(strips).moved(i * (width_mm + COLUMN_GAP_MM), page_layout.height_mm)
            for i, strips in enumerate(group)
        ]
        items = tuple(item for part in parts for item in part)
        name = title if first == 0 else f"{title}, continued"
        pages.append(Page(section, name, page_layout, Drawing(items), marks))
    return tuple(pages)


def columns_of(layout: Layout, least: int = 1) -> tuple[int, float, float]:
    """How many columns flow_pages sets on a page, and the width and height of each [mm]."""
    columns = max(least, int((layout.width_mm + COLUMN_GAP_MM) // (_WIDE_MM + COLUMN_GAP_MM)))
    width_mm = (layout.width_mm - COLUMN_GAP_MM * (columns - 1)) / columns
    return columns, width_mm, _ROLL_COLUMN_MM if layout.paper.roll else layout.height_mm


def stack(elements: Sequence[Element], width_mm: float) -> tuple[Drawing, Box]:
    """The elements one under another in one column, top left at (0, 0), and the box they take.

    Errors: ValueError for a figure wider than the column.
    """
    strips = strips_of(elements, width_mm)
    return _stacked(strips), Box(0.0, -_height_mm(strips), width_mm, 0.0)


def closed_up(elements: Sequence[Element], width_mm: float, way: tuple[float, float]) -> tuple[Drawing, Box]:
    """What stack gives, with gaps and text drawn in: one of the ways of TIGHTER."""
    strips = _drawn_in(elements, width_mm, way)
    return _stacked(strips), Box(0.0, -_height_mm(strips), width_mm, 0.0)


def strips_of(elements: Sequence[Element], width_mm: float) -> list[Strip]:
    """The elements as strips that can't be broken, in order."""
    return [
        strip
        for element in elements
        for strip in (
            [_figure_strip(element, width_mm)]
            if isinstance(element, Figure)
            else element_strips(element, width_mm)
        )
    ]


def _in_fewest_pages(
    elements: Sequence[Element],
    width_mm: float,
    height_mm: float,
    columns: int,
    ways: Sequence[tuple[float, float]],
) -> list[list[Strip]]:
    """Columns of strips, in the roomiest of the ways that take the fewest pages."""
    best: list[list[Strip]] = []
    for way in ways:
        made = list(_columns(_drawn_in(elements, width_mm, way), height_mm))
        pages, least = (math.ceil(len(filled) / columns) for filled in (made, best))
        if not best or pages < least:
            best = made
        if pages == 1 or pages > _FEW_PAGES:
            break
    return best


def _drawn_in(elements: Sequence[Element], width_mm: float, way: tuple[float, float]) -> list[Strip]:
    gap_share, text_share = way
    strips = strips_of([_smaller(element, text_share) for element in elements], width_mm)
    return [
        strip if strip.drawing.items else replace(strip, height_mm=gap_share * strip.height_mm)
        for strip in strips
    ]


def _smaller(element: Element, share: float) -> Element:
    """The element with its text, and rows to write in, at a share of their size; figures as they are."""
    match element:
        case Heading() | Paragraph() | Steps():
            return replace(element, size_pt=_smaller_pt(element.size_pt, share))
        case Table():
            least_mm = share * element.least_row_mm
            return replace(element, text_pt=_smaller_pt(element.text_pt, share), least_row_mm=least_mm)
        case _:
            return element


def _smaller_pt(size_pt: float, share: float) -> float:
    return max(share * size_pt, min(size_pt, _SMALLEST_PT))


def _figure_strip(figure: Figure, width_mm: float) -> Strip:
    if figure.box.width > width_mm + 1e-6:
        raise ValueError(f"a figure {figure.box.width:.1f} mm wide in a column of {width_mm:.1f} mm")
    placed = figure.drawing.moved(-figure.box.left, -figure.box.top)
    return Strip(figure.box.height, placed, figure.keeps_next)


@lru_cache(maxsize=512)
def element_strips(element: Words, width_mm: float) -> tuple[Strip, ...]:
    """One element as strips; kept for a while, as it is set down again wherever that may save a page."""
    return tuple(_made_strips(element, width_mm))


def _made_strips(element: Words, width_mm: float) -> Iterator[Strip]:
    match element:
        case Heading():
            yield Strip(2.0, drawing([]), keeps_next=True)
            lines = wrapped(element.text, width_mm, element.size_pt, bold=True)
            for strip in text_strips(lines, element.size_pt, bold=True):
                yield Strip(strip.height_mm, strip.drawing, keeps_next=True)
            yield Strip(0.8, drawing([]), keeps_next=True)
        case Paragraph():
            lines = wrapped(element.text, width_mm, element.size_pt, element.bold)
            yield from kept_ends(text_strips(lines, element.size_pt, element.bold))
            yield Strip(1.2, drawing([]))
        case Steps():
            yield from _list_strips(element, width_mm)
        case Gap():
            yield Strip(element.height_mm, drawing([]))
        case Table():
            yield from table_strips(element, width_mm)


def _list_strips(steps: Steps, width_mm: float) -> Iterator[Strip]:
    """Its items, each kept whole, the first two together and the last two."""
    count = len(steps.items)
    indent_mm = (0.6 if steps.sign or count < 10 else 0.75) * steps.size_pt
    for number, words in enumerate(steps.items, start=1):
        kept = number < count and number in (1, count - 1)
        for strip in _step_strips(steps.sign or f"{number}.", words, indent_mm, width_mm, steps.size_pt):
            yield replace(strip, keeps_next=strip.keeps_next or kept)


def _step_strips(sign: str, words: str, indent_mm: float, width_mm: float, size_pt: float) -> Iterator[Strip]:
    strips = text_strips(wrapped(words, width_mm - indent_mm, size_pt), size_pt)
    for i, strip in enumerate(strips):
        items: list[Item] = list(strip.drawing.moved(indent_mm, 0.0))
        if i == 0:
            items.append(Text((0.0, -0.76 * line_height_mm(size_pt)), sign, size_pt))
        yield Strip(strip.height_mm, drawing(items), keeps_next=i + 1 < len(strips))
    yield Strip(0.8, drawing([]))


def _columns(strips: list[Strip], height_mm: float) -> Iterator[list[Strip]]:
    """Strips column by column: runs that keep together move together, running heads are repeated."""
    column: list[Strip] = []
    for run in _runs(strips):
        needed_mm = _height_mm(run)
        if column and _height_mm(column) + needed_mm > height_mm + 1e-6:
            yield column
            column = []
        if not column and run[0].head is not None:
            column = [run[0].head]
        if not column:
            run = run if run[0].drawing.items else run[1:]  # noqa: PLW2901 (no gap at the top)
        if _height_mm([*column, *run]) > height_mm + 1e-6:
            raise ValueError(f"a piece {needed_mm:.1f} mm high in a column of {height_mm:.1f} mm")
        column += run
    if column:
        yield column


def _runs(strips: list[Strip]) -> Iterator[list[Strip]]:
    run: list[Strip] = []
    for strip in strips:
        run.append(strip)
        if not strip.keeps_next:
            yield run
            run = []
    if run:
        yield run


def _height_mm(strips: Sequence[Strip]) -> float:
    return sum(strip.height_mm for strip in strips)


def _stacked(strips: Sequence[Strip]) -> Drawing:
    items: list[Item] = []
    top = 0.0
    for strip in strips:
        items += strip.drawing.moved(0.0, top).items
        top -= strip.height_mm
    return drawing(items)
