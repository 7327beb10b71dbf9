"""The lines that wraps of elbows and of pipes share: edges, marks, and girths on the seam tab."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from render.pages.drawing import Anchor, Item, Line, Pen, Point, Polyline, Text
from render.pages.pdf import ASCENT, DESCENT, text_width_mm
from render.pages.shapes import MM_PER_PT, readable
from templates_core.geometry.surfaces import Array
from templates_core.units import INCH, format_length
from templates_core.wraps.pipe_wraps import GirthLine
from templates_core.wraps.wraps import GirthMark, SeamTick

LABEL_PT = 7.0
_QUARTER_INCH_MM = 25.4 / 4
_MARK_TICK_MM = 2.5


def points_of(line: Array) -> tuple[Point, ...]:
    """A chain (n, 2) as points of a drawing."""
    return tuple((float(x), float(y)) for x, y in line)


def sheet_lines(trace_mm: Array, outline_mm: Array) -> Iterator[Item]:
    """The cut line of a wrap, and the rest of its outline."""
    yield Polyline(points_of(outline_mm), Pen.OUTLINE)
    yield Polyline(points_of(trace_mm), Pen.TRACE)


def point_of(p: Array) -> Point:
    """A point (2,) of a drawing."""
    return (float(p[0]), float(p[1]))


def mark_ticks(marks: Sequence[GirthMark]) -> Iterator[Item]:
    """Short lines into the wrap where it is marked."""
    for mark in marks:
        yield Line(point_of(mark.at_mm), point_of(mark.at_mm + _MARK_TICK_MM * mark.inward), Pen.TICK)


def seam_items(seam: Sequence[SeamTick], nominal_mm: float, units: str) -> Iterator[Item]:
    """Ticks on the seam tab; those at round girths longer, and labelled where the tab is clear."""
    step_mm = _QUARTER_INCH_MM if units == INCH else 5.0
    tab_end_mm = seam[-1].girth_mm + 1.0
    clear = [
        tick.girth_mm
        for tick in seam
        if _multiples([tick.girth_mm], step_mm / 2)
        and nominal_mm < tick.girth_mm - _half_label_mm(tick, units)
        and tick.girth_mm + _half_label_mm(tick, units) < tab_end_mm
    ]
    labelled = next((some for n in (2, 1, 0.5) if (some := _multiples(clear, n * step_mm))), [])
    for tick in seam:
        foot, end = tick.line_mm
        if _multiples([tick.girth_mm], step_mm):
            end = foot + 1.2 * (end - foot)
        yield Line(point_of(foot), point_of(end), Pen.TICK)
        if tick.girth_mm in labelled:
            yield _tick_label(foot, end, _girth_words(tick, units))


def _girth_words(tick: SeamTick, units: str) -> str:
    return format_length(tick.girth_mm, units, with_unit=False).removesuffix(".0")


def _half_label_mm(tick: SeamTick, units: str) -> float:
    return text_width_mm(_girth_words(tick, units), LABEL_PT) / 2


def _multiples(lengths_mm: Sequence[float], step_mm: float) -> list[float]:
    return [length for length in lengths_mm if abs(math.remainder(length, step_mm)) < 1e-6]


def _tick_label(foot: Array, end: Array, text: str) -> Text:
    inward = (end - foot) / np.linalg.norm(end - foot)
    angle = readable(math.atan2(float(inward[1]), float(inward[0])) + math.pi / 2)
    share = DESCENT if unit(angle + math.pi / 2) @ inward > 0 else ASCENT
    up = 0.3 + share * LABEL_PT * MM_PER_PT
    return Text(point_of(end + up * inward), text, LABEL_PT, Anchor.MIDDLE, angle)


def unit(angle_rad: float) -> Array:
    """Unit vector (2,) at an angle, anticlockwise from x."""
    return np.array([math.cos(angle_rad), math.sin(angle_rad)])


def upright_line(line: GirthLine) -> Iterator[Item]:
    """A girth line up the wrap, its name beside its foot."""
    x, foot = point_of(line.foot_mm)
    yield Line((x, foot), point_of(line.head_mm), Pen.CENTRE)
    yield Text((x + 3.2, foot + 1.5), line.name.upper(), LABEL_PT, Anchor.START, math.pi / 2, bold=True)
