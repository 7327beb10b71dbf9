"""The wrap of a pipe's end, or of both, drawn at true scale; and the template of a hole."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from render.pages.drawing import Anchor, Drawing, Item, Line, Pen, Polyline, Text, drawing
from render.pages.pdf import ASCENT, text_width_mm
from render.pages.shapes import MM_PER_PT, Box, arrowhead, bounds, rectangle
from render.pages.strips import wrapped
from render.sheets.wrap_lines import LABEL_PT, point_of, points_of, seam_items
from templates_core.geometry.surfaces import Array
from templates_core.wraps.cope_holes import CopeHole
from templates_core.wraps.pipe_wraps import GirthLine, PipeWrap
from templates_core.wraps.wraps import GirthMark

_MARK_TICK_MM = 4.0
_HALF_NAME_MM = 4.5
_LINE_MM = 1.3 * LABEL_PT * MM_PER_PT
_BESIDE_MM = 3.2
_LEFT_MM = 1.5
"""From the foot of upright words to a line at their right."""
_ARROW_MM = 4.8
"""Width of the arrow to the first end with its words."""
_HEAD_MM = 3.5
_FIRST_END = "TO THE FIRST END"
_CLEAR_MM = 4.2
_SEAM_MM = 8.0
_HOLE_MARGIN_MM = 18.0
_UPRIGHT = math.pi / 2


def wrap_drawing(wrap: PipeWrap, names: Sequence[str], units: str) -> Drawing:
    """The wrap with its lines and marks, and the names on it, as many as there is room for."""
    items: list[Item] = []
    for edge in wrap.edges:
        items.append(Polyline(points_of(edge.line_mm), Pen.TRACE))
    items += [Polyline(points_of(chain), Pen.OUTLINE) for chain in wrap.outlines_mm]
    items += seam_items(wrap.seam, wrap.girth_mm, units)
    items.append(Line(point_of(wrap.seam_line_mm[0]), point_of(wrap.seam_line_mm[1]), Pen.OUTLINE))
    for line in wrap.lines:
        items += _girth_line(line, wrap)
    taken = []
    for mark in wrap.marks:
        datum = _datum(mark, wrap)
        taken.append(bounds(datum))
        items += datum
    items += _names(wrap, names, taken)
    return drawing(items)


def hole_drawing(hole: CopeHole, header: str) -> Drawing:
    """The outline of a hole on its cross, on a patch of paper."""
    box = bounds([Polyline(points_of(hole.outline_mm), Pen.TRACE, closed=True)]).grown(_HOLE_MARGIN_MM)
    top = box.top - 1.5
    words = wrapped(f"along {header}", -box.left - 7.0, LABEL_PT, bold=True)
    return drawing(
        [
            rectangle(box),
            Polyline(points_of(hole.outline_mm), Pen.TRACE, closed=True),
            Line((0.0, box.bottom), (0.0, box.top), Pen.CENTRE),
            Line((box.left, 0.0), (box.right, 0.0), Pen.CENTRE),
            arrowhead((box.left + 4.0, top), _UPRIGHT),
            Line((box.left + 4.0, top - 10.0), (box.left + 4.0, top - 2.0), Pen.TICK),
            *(
                Text((box.left + 6.0, top - 3.0 - number * _LINE_MM), line, LABEL_PT, bold=True)
                for number, line in enumerate(words)
            ),
        ]
    )


def between_lines_mm(wrap: PipeWrap) -> tuple[float, ...]:
    """Where tiles had best meet: clear of the lines along the pipe, so that crosses have room."""
    return clear_seams_mm(sorted(float(line.foot_mm[0]) for line in wrap.lines))


def clear_seams_mm(lines_mm: Sequence[float]) -> tuple[float, ...]:
    """Places a millimetre apart that are clear of lines at these places, in order [mm]."""
    return tuple(float(x) for a, b in pairwise(lines_mm) for x in np.arange(a + _SEAM_MM, b - _SEAM_MM, 1.0))


def _girth_line(line: GirthLine, wrap: PipeWrap) -> Iterator[Item]:
    """A line along the pipe, named at the square edge, or midway where both edges are cut lines."""
    foot, head = point_of(line.foot_mm), point_of(line.head_mm)
    yield Line(foot, head, Pen.CENTRE)
    x = foot[0] + _BESIDE_MM
    if wrap.square_mm is None:
        yield Text((x, (foot[1] + head[1]) / 2), line.name, LABEL_PT, Anchor.MIDDLE, _UPRIGHT, bold=True)
    elif abs(foot[1] - wrap.square_mm) < 1e-6:
        yield Text((x, foot[1] + 1.5), line.name, LABEL_PT, Anchor.START, _UPRIGHT, bold=True)
    else:
        yield Text((x, head[1] - 1.5), line.name, LABEL_PT, Anchor.END, _UPRIGHT, bold=True)


def _datum(mark: GirthMark, wrap: PipeWrap) -> list[Item]:
    """A tick at the cut line, and beside its inner end what is there, in lines along the pipe.

    The words stand left of the tick, or right where one of the pipe's own lines is close on its left.
    """
    inner = mark.at_mm + _MARK_TICK_MM * mark.inward
    x, y = point_of(inner + mark.inward)
    low, high = _borders(wrap, x + np.linspace(-2 * _BESIDE_MM, 2 * _BESIDE_MM, 17))
    foot, head = float(np.max(low)) + 1.0, float(np.min(high)) - 1.0
    if wrap.square_mm is None:  # as far as the names of the lines, amid the wrap
        middle = (foot + head) / 2
        foot, head = (foot, middle - _HALF_NAME_MM) if mark.inward[1] > 0 else (middle + _HALF_NAME_MM, head)
    y = max(y, foot) if mark.inward[1] > 0 else min(y, head)
    room = head - y if mark.inward[1] > 0 else y - foot
    words = _lines_of(mark.name.upper(), room)
    to_left = [x - float(line.foot_mm[0]) for line in wrap.lines]
    crowded = any(0.3 < gap < len(words) * _LINE_MM + 1.5 for gap in to_left)
    first = x + _BESIDE_MM if crowded else x - _LEFT_MM - (len(words) - 1) * _LINE_MM
    anchor = Anchor.START if mark.inward[1] > 0 else Anchor.END
    items: list[Item] = [Line(point_of(mark.at_mm), point_of(inner), Pen.TICK)]
    for number, text in enumerate(words):
        items.append(Text((first + number * _LINE_MM, y), text, LABEL_PT, anchor, _UPRIGHT, bold=True))
    return items


def _lines_of(words: str, room_mm: float) -> list[str]:
    """Words in lines no longer than the room, as far as each word fits it."""
    fitting = [word for word in words.split() if text_width_mm(word, LABEL_PT, bold=True) <= room_mm]
    return wrapped(" ".join(fitting), room_mm, LABEL_PT, bold=True) if fitting else []


def _names(wrap: PipeWrap, names: Sequence[str], taken: Sequence[Box]) -> Iterator[Item]:
    """The names one under another in the roomiest field between two of the pipe's lines.

    An arrow to the first end stands in the others, or beside the names where they have no room for it.
    taken: boxes that all must keep clear of.
    """
    lines = sorted(wrap.lines, key=lambda line: float(line.foot_mm[0]))
    fields = [_field(wrap, one, other, taken) for one, other in pairwise(lines)]
    fields.sort(key=lambda field: field.width * field.height)
    arrows = [arrow for field in fields[:-1] if (arrow := _first_end_arrow(field))]
    field = fields[-1]
    if not arrows:
        arrows = [_first_end_arrow(field)]
        field = replace(field, left=min(field.right, field.left + _ARROW_MM + 1.0))
    yield from (item for arrow in arrows for item in arrow)
    yield from _names_in(field, names)


def _names_in(field: Box, names: Sequence[str]) -> Iterator[Item]:
    """As many of the names as have room, level or else upright."""
    level = all(text_width_mm(name, LABEL_PT, bold=True) <= field.width for name in names)
    room, length = (field.height, field.width) if level else (field.width, field.height)
    shown: list[str] = []
    for name in names:
        lines = _folded(name, length)
        shown += lines if len(shown) + len(lines) <= int(room / _LINE_MM) else []
    x, y = field.middle
    for number, name in enumerate(shown):
        down = (number - (len(shown) - 1) / 2) * _LINE_MM + 0.35 * LABEL_PT * MM_PER_PT
        at = (x, y - down) if level else (x + down, y)
        yield Text(at, name, LABEL_PT, Anchor.MIDDLE, 0.0 if level else _UPRIGHT, bold=True)


def _folded(name: str, length_mm: float) -> list[str]:
    """A name in as many lines as it takes; none where a word of it is too long."""
    lines = _lines_of(name, length_mm)
    return lines if " ".join(lines) == name else []


def _first_end_arrow(field: Box) -> list[Item]:
    """An arrow down the pipe with its words beside it, at the left of a field; none where it has no room."""
    words = _lines_of(_FIRST_END, field.height)
    width = _ARROW_MM + (len(words) - 1) * _LINE_MM
    if " ".join(words) != _FIRST_END or width > field.width:
        return []
    x, y = field.left + (1.0 if field.width < 2 * width else field.width / 2 - width / 2), field.middle[1]
    half = max(text_width_mm(line, LABEL_PT, bold=True) for line in words) / 2
    items: list[Item] = [
        Line((x, y + half), (x, y - half), Pen.TICK),
        arrowhead((x, y - half), -_UPRIGHT, _HEAD_MM),
    ]
    for number, line in enumerate(words):
        at = x + 1.3 + ASCENT * LABEL_PT * MM_PER_PT + number * _LINE_MM
        items.append(Text((at, y), line, LABEL_PT, Anchor.MIDDLE, _UPRIGHT, bold=True))
    return items


def _field(wrap: PipeWrap, one: GirthLine, other: GirthLine, taken: Sequence[Box]) -> Box:
    """The clear paper between two lines along the pipe."""
    left, right = float(one.foot_mm[0]) + _CLEAR_MM, float(other.foot_mm[0]) - 1.0
    for box in taken:
        if left < box.right and box.left < right:
            after, before = box.right + 1.0, box.left - 1.0
            left, right = (after, right) if right - after > before - left else (left, before)
    right = max(left, right)
    low, high = _borders(wrap, np.linspace(left, right, 25))
    foot, head = float(np.max(low)) + 2.0, float(np.min(high)) - 2.0
    return Box(left, foot, right, max(foot, head))


def _borders(wrap: PipeWrap, across_mm: Array) -> tuple[Array, Array]:
    """Heights of the lower and the upper edge of the paper at places across it [mm], each shape (n,)."""
    edges = {edge.at_end: np.interp(across_mm, *edge.line_mm.T) for edge in wrap.edges}
    square = np.full_like(across_mm, 0.0 if wrap.square_mm is None else wrap.square_mm)
    return edges.get("start", square), edges.get("end", square)
