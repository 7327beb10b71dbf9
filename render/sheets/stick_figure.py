"""Draws sticks that are cut alike as a bar: its pipes, lines, trim and what is left, with their figures."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from render.pages.drawing import Anchor, Item, Line, Pen, Polyline, Text, drawing
from render.pages.flow import Figure
from render.pages.pdf import text_width_mm
from render.pages.shapes import Box, rectangle
from render.pages.spread import spread
from render.pages.strips import line_height_mm
from templates_core.stock.stick_marks import StickMarks, StickPlace, marks_of
from templates_core.units import format_length

TEXT_PT = 8.5
_BAR_MM = 9.0
_LEADER_MM = 5.0
_STUB_MM = 1.2
"""Straight part of a leader, at the bar."""
_PAD_MM = 1.0
_GAP_MM = 2.0
"""Least paper between two labels."""
_BETWEEN_ROWS_MM = 3.0
_LEAST_MM = 0.05
"""What is left of a stick is drawn, and named, from here."""
_LINE_MM = line_height_mm(TEXT_PT)


@dataclass(frozen=True)
class _Part:
    """Part of a bar, in millimetres of the stick from its untrimmed end.

    words: what it is called, and how long it is.  lines_mm: cut lines in it, with the figure of each from
    the trimmed end.  waste: whether it is drawn struck through.  named: numbers of the places whose pipes
    its words name.
    """

    start_mm: float
    end_mm: float
    words: tuple[str, str]
    lines_mm: tuple[tuple[float, str], ...] = ()
    waste: bool = False
    named: tuple[int, ...] = ()

    @property
    def middle_mm(self) -> float:
        return (self.start_mm + self.end_mm) / 2


@dataclass(frozen=True)
class StickFigure:
    """A bar drawn.

    scale: 1 in how many.  all_lines: whether the figure of every line is on it; else only of the last line
    of pipes that are alike.  named: numbers of the places whose marks are on it.
    """

    figure: Figure
    scale: int
    all_lines: bool
    named: frozenset[int]


def stick_figure(marked: StickMarks, units: str, width_mm: float) -> StickFigure:
    """The stick in this width: in one bar where the words have room, else in several under each other.

    Errors: ValueError where not even the words of one pipe have room.
    """
    for rows in range(1, len(marked.places) + 3):
        scale = _scale(marked, rows, width_mm)
        bars = _bars(tuple(_parts(marked, units, scale)), scale, width_mm)
        if len(bars) <= rows:
            break
    return _drawn(bars, scale, width_mm)


def _scale(marked: StickMarks, rows: int, width_mm: float) -> int:
    """The largest at which a stick in so many bars, and its longest pipe and what is left, fit across."""
    longest = max(marked.plan.lengths_mm[0] + marked.kerf_mm, marked.rest_mm, marked.trim_mm)
    return max(1, math.ceil(max(marked.plan.stock.length_mm / rows, longest) / width_mm))


def _parts(marked: StickMarks, units: str, scale: int) -> Iterator[_Part]:
    """The trim, the pipes, and what is left; pipes of one length are one part where they have little room."""

    def shown(length_mm: float) -> str:
        return format_length(length_mm, units, with_unit=False)

    trim = marked.trim_mm
    if trim > 0:
        yield _Part(0.0, trim, ("trim", shown(trim)), ((trim, "0"),), waste=True)
    for alike in marked.alike():
        length = shown(alike[0].length_mm)
        each = [_pipe_part(marked, (place,), length, units) for place in alike]
        if len(alike) == 1 or all(_is_roomy(part, scale) for part in each):
            yield from each
        else:
            yield _pipe_part(marked, alike, f"{len(alike)} × {length}", units)
    if marked.rest_mm > _LEAST_MM:
        yield _rest(marked, shown(marked.plan.offcut_mm or marked.rest_mm))


def _pipe_part(marked: StickMarks, places: Sequence[StickPlace], length: str, units: str) -> _Part:
    """Pipes side by side, from the line before them."""
    trim, first = marked.trim_mm, places[0].start_mm
    start = trim + (first - marked.kerf_mm if places[0].number > 1 else first)
    lines = tuple(
        (trim + place.end_mm, format_length(place.end_mm, units, with_unit=False)) for place in places
    )
    marks = [mark for mark, _ in marks_of(places)]
    one = len(marks) == 1
    named = tuple(place.number for place in places) if one else ()
    words = (marks[0] if one else f"{len(marks)} marks", length)
    return _Part(start, lines[-1][0], words, lines, named=named)


def _rest(marked: StickMarks, length: str) -> _Part:
    end = marked.plan.stock.length_mm
    if marked.plan.offcut_mm <= 0:
        return _Part(end - marked.rest_mm, end, ("blade takes", length), waste=True)
    name = "keep" if marked.plan.usable else "scrap"
    return _Part(end - marked.rest_mm, end, (name, length), waste=not marked.plan.usable)


def _bars(parts: Sequence[_Part], scale: int, width_mm: float) -> list[list[_Part]]:
    """Parts bar by bar, as many in each as have room with their words and the figures of their last lines."""
    bars: list[list[_Part]] = [[]]
    for part in parts:
        longer = [*bars[-1], part]
        if bars[-1] and not _has_room(longer, scale, width_mm):
            bars.append([part])
        else:
            bars[-1] = longer
    return bars


def _has_room(parts: Sequence[_Part], scale: int, width_mm: float) -> bool:
    length = (parts[-1].end_mm - parts[0].start_mm) / scale
    words = sum(_words_mm(part) + _GAP_MM for part in parts if not _is_roomy(part, scale))
    figures = sum(_figure_mm(part.lines_mm[-1][1]) + _GAP_MM for part in parts if part.lines_mm)
    start = _figure_mm("0") + _GAP_MM
    return max(length, words, figures + start) <= width_mm + 1e-6


def _words_mm(part: _Part) -> float:
    name, length = part.words
    return max(text_width_mm(name, TEXT_PT, bold=True), text_width_mm(length, TEXT_PT))


def _figure_mm(text: str) -> float:
    return text_width_mm(text, TEXT_PT)


def _is_roomy(part: _Part, scale: int) -> bool:
    """Whether a part takes its words inside; many pipes that are alike have lines there."""
    if part.waste or len(part.lines_mm) > 1:
        return False
    return (part.end_mm - part.start_mm) / scale >= _words_mm(part) + 2 * _PAD_MM


def _drawn(bars: Sequence[Sequence[_Part]], scale: int, width_mm: float) -> StickFigure:
    items: list[Item] = []
    top, all_lines = 0.0, True
    for number, parts in enumerate(bars):
        top -= _BETWEEN_ROWS_MM if number else 0.0
        left = parts[0].start_mm
        outside = [part for part in parts if not _is_roomy(part, scale)]
        bar_top = top - (2 * _LINE_MM + _LEADER_MM if outside else 0.5)
        items += _outside_words(outside, left, scale, width_mm, top, bar_top)
        items += [item for part in parts for item in _part_items(part, left, scale, bar_top)]
        figures, complete = _figures(parts, left, scale, width_mm)
        all_lines &= complete
        items += _figure_items(figures, width_mm, bar_top - _BAR_MM)
        top = bar_top - _BAR_MM - _LEADER_MM - _LINE_MM
    named = frozenset(number for parts in bars for part in parts for number in part.named)
    return StickFigure(Figure(drawing(items), Box(0.0, top, width_mm, 0.0)), scale, all_lines, named)


def _part_items(part: _Part, left_mm: float, scale: int, top: float) -> Iterator[Item]:
    left, right = ((at - left_mm) / scale for at in (part.start_mm, part.end_mm))
    bottom = top - _BAR_MM
    yield rectangle(Box(left, bottom, right, top), Pen.OBJECT)
    if part.waste:
        yield Line((left, bottom), (right, top), Pen.TICK)
        yield Line((left, top), (right, bottom), Pen.TICK)
    for at, _ in part.lines_mm[:-1]:
        x = (at - left_mm) / scale
        yield Line((x, bottom), (x, top), Pen.OBJECT)
    if _is_roomy(part, scale):
        middle = (left + right) / 2
        yield from _two_lines(part.words, middle, top - (_BAR_MM - 2 * _LINE_MM) / 2)


def _two_lines(words: tuple[str, str], middle: float, top: float) -> Iterator[Item]:
    name, length = words
    yield Text((middle, top - 0.76 * _LINE_MM), name, TEXT_PT, Anchor.MIDDLE, bold=True)
    yield Text((middle, top - 1.76 * _LINE_MM), length, TEXT_PT, Anchor.MIDDLE)


def _outside_words(
    parts: Sequence[_Part], left_mm: float, scale: int, width_mm: float, top: float, bar_top: float
) -> Iterator[Item]:
    """Words over the bar, each with a line to its part."""
    at = [(part.middle_mm - left_mm) / scale for part in parts]
    middles = spread(at, [_words_mm(part) for part in parts], 0.0, width_mm, _GAP_MM)
    if middles is None:
        raise ValueError(f"the words of a pipe need more than {width_mm:.1f} mm")
    for part, x, middle in zip(parts, at, middles, strict=True):
        yield from _two_lines(part.words, middle, top)
        foot = top - 2 * _LINE_MM - 0.3
        yield Polyline(((x, bar_top), (x, bar_top + _STUB_MM), (middle, foot)), Pen.TICK)


def _figures(
    parts: Sequence[_Part], left_mm: float, scale: int, width_mm: float
) -> tuple[list[tuple[float, str]], bool]:
    """Place and figure of each line that there is room for, and whether that is every line."""
    start = [(0.0, "0")] if not parts[0].waste and parts[0].start_mm == 0.0 else []
    every = start + [line for part in parts for line in part.lines_mm]
    last = start + [part.lines_mm[-1] for part in parts if part.lines_mm]
    needed = sum(_figure_mm(text) + _GAP_MM for _, text in every)
    chosen = every if needed <= width_mm else last
    return [((at - left_mm) / scale, text) for at, text in chosen], chosen == every


def _figure_items(figures: Sequence[tuple[float, str]], width_mm: float, bottom: float) -> Iterator[Item]:
    """Figures under the bar, each with a line to its cut."""
    widths = [_figure_mm(text) for _, text in figures]
    middles = spread([x for x, _ in figures], widths, 0.0, width_mm, _GAP_MM)
    if middles is None:
        raise ValueError(f"the figures of a stick need more than {width_mm:.1f} mm")
    for (x, text), middle in zip(figures, middles, strict=True):
        head = bottom - _LEADER_MM
        yield Polyline(((x, bottom), (x, bottom - _STUB_MM), (middle, head + 0.3)), Pen.TICK)
        yield Text((middle, head - 0.76 * _LINE_MM), text, TEXT_PT, Anchor.MIDDLE)
