"""The wrap of a pipe's end, or of both, drawn at true scale; and the template of a hole."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np

from render.drawing import Anchor, Drawing, Item, Line, Pen, Polyline, Text, drawing
from render.pdf import text_width_mm
from render.shapes import MM_PER_PT, arrowhead, bounds, rectangle
from render.wrap_lines import LABEL_PT, point_of, points_of, seam_items
from templates_core.cope_holes import CopeHole
from templates_core.pipe_wraps import GirthLine, PipeWrap
from templates_core.wraps import GirthMark

_MARK_TICK_MM = 4.0
_LINE_MM = 1.3 * LABEL_PT * MM_PER_PT
_BESIDE_MM = 3.2
_CLEAR_MM = 4.2
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
    for mark in wrap.marks:
        items += _datum(mark, wrap.lines)
    items += _names(wrap, names)
    return drawing(items)


def hole_drawing(hole: CopeHole, header: str) -> Drawing:
    """The outline of a hole on its cross, on a patch of paper."""
    box = bounds([Polyline(points_of(hole.outline_mm), Pen.TRACE, closed=True)]).grown(_HOLE_MARGIN_MM)
    top = box.top - 1.5
    return drawing(
        [
            rectangle(box),
            Polyline(points_of(hole.outline_mm), Pen.TRACE, closed=True),
            Line((0.0, box.bottom), (0.0, box.top), Pen.CENTRE),
            Line((box.left, 0.0), (box.right, 0.0), Pen.CENTRE),
            arrowhead((box.left + 4.0, top), _UPRIGHT),
            Line((box.left + 4.0, top - 10.0), (box.left + 4.0, top - 2.0), Pen.TICK),
            Text((box.left + 6.0, top - 3.0), f"along {header}", LABEL_PT, bold=True),
        ]
    )


def between_lines_mm(wrap: PipeWrap) -> tuple[float, ...]:
    """Where tiles may meet: halfway between the lines along the pipe."""
    xs = sorted(float(line.foot_mm[0]) for line in wrap.lines)
    return tuple((a + b) / 2 for a, b in pairwise(xs))


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


def _datum(mark: GirthMark, lines: Sequence[GirthLine]) -> Iterator[Item]:
    """A tick at the cut line, and what is there, on the side of it that is clear of the pipe's own lines."""
    inner = mark.at_mm + _MARK_TICK_MM * mark.inward
    yield Line(point_of(mark.at_mm), point_of(inner), Pen.TICK)
    x, y = point_of(inner + 1.0 * mark.inward)
    to_left = [x - float(line.foot_mm[0]) for line in lines]
    crowded_left = any(0.3 < gap < _CLEAR_MM for gap in to_left)
    beside = _BESIDE_MM if crowded_left else -0.8
    anchor = Anchor.START if mark.inward[1] > 0 else Anchor.END
    yield Text((x + beside, y), mark.name.upper(), LABEL_PT, anchor, _UPRIGHT, bold=True)


def _names(wrap: PipeWrap, names: Sequence[str]) -> Iterator[Item]:
    """The names one under another in the roomiest field between two of the pipe's lines."""
    fields = [_field(wrap, a, b) for a, b in pairwise(sorted(wrap.lines, key=lambda line: line.foot_mm[0]))]
    left, right, low, high = max(fields, key=lambda field: (field[1] - field[0]) * (field[3] - field[2]))
    width, height = right - left, high - low
    level = all(text_width_mm(name, LABEL_PT, bold=True) <= width for name in names)
    middle_x, middle_y = (left + right) / 2, (low + high) / 2
    room, long = (height, width) if level else (width, height)
    shown = [name for name in names if text_width_mm(name, LABEL_PT, bold=True) <= long]
    shown = shown[: max(0, int(room / _LINE_MM))]
    for number, name in enumerate(shown):
        down = (number - (len(shown) - 1) / 2) * _LINE_MM + 0.35 * LABEL_PT * MM_PER_PT
        at = (middle_x, middle_y - down) if level else (middle_x + down, middle_y)
        yield Text(at, name, LABEL_PT, Anchor.MIDDLE, 0.0 if level else _UPRIGHT, bold=True)


def _field(wrap: PipeWrap, one: GirthLine, other: GirthLine) -> tuple[float, float, float, float]:
    """Left, right, foot and head of the clear paper between two lines along the pipe [mm]."""
    left, right = float(one.foot_mm[0]) + _CLEAR_MM, float(other.foot_mm[0]) - 1.0
    for x in (float(mark.at_mm[0]) for mark in wrap.marks):
        if left - 1.0 < x < right + 1.0:
            left, right = (x + _CLEAR_MM, right) if x - left < right - x else (left, x - _CLEAR_MM)
    right = max(left, right)
    across = np.linspace(left, right, 25)
    edges = {edge.at_end: np.interp(across, *edge.line_mm.T) for edge in wrap.edges}
    square = np.full_like(across, 0.0 if wrap.square_mm is None else wrap.square_mm)
    low, high = np.max(edges.get("start", square)) + 2.0, np.min(edges.get("end", square)) - 2.0
    return left, right, float(low), float(max(low, high))
