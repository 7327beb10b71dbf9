"""Names on the plan of an elbow: what is kept, what is scrap, the faces, the lines and the angle."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from render.pages.drawing import Anchor, Item, Line, Pen, Point, Text
from render.pages.pdf import ASCENT, DESCENT, text_width_mm
from render.pages.shapes import MM_PER_PT, arc, arrowhead, circle, readable
from render.sheets.bench_plan import BAR_MM, HATCH_MM, NAME_PT, Plan, polar, round_point
from templates_core.units import format_angle

_LINE = 1.25
ANGLE_PT = 12.0
_SMALL_SIZES_PT = (16.0, 14.0, 12.0, 10.0, 9.0, 8.0, 7.0)
_WORD_SIZES_PT = ((24.0, 20.0, *_SMALL_SIZES_PT), _SMALL_SIZES_PT)
_LARGE_MM = 45.0
"""Tubes of this radius or more take the largest words."""


def plan_names(plan: Plan, mark: str, beyond: str) -> Iterator[Item]:
    """All names, with the centreline that they lie on and the angle.

    mark: of the piece that is kept.  beyond: of the piece on the other side of a shared line.
    """
    keep, scrap = ("KEEP", mark), ("KEEP", beyond) if plan.shared else ("SCRAP",)
    first, second = (keep, scrap) if plan.own else (scrap, keep)
    near, near_gap = sector_words(plan, first, 0.0, plan.cut_rad)
    far, far_gap = sector_words(plan, second, plan.cut_rad, plan.sweep_rad)
    spans = ((0.0, plan.cut_rad), (plan.cut_rad, plan.sweep_rad))
    lines, gaps = line_names(plan, [near_gap, far_gap], spans)
    yield from (*near, *far, *lines, *centreline(plan, gaps))
    yield from angle_arc(plan)
    yield from end_names(plan, mark)
    yield from _round_mark(plan)


def upright_lines(
    middle: Point, lines: Sequence[str], size_pt: float, angle_rad: float, bold: bool = True
) -> list[Text]:
    """Lines of text one under another, the middle of the whole at a point."""
    step = _LINE * size_pt * MM_PER_PT
    cos, sin = math.cos(angle_rad), math.sin(angle_rad)
    ups = [(len(lines) - 1) / 2 * step - i * step - 0.36 * size_pt * MM_PER_PT for i in range(len(lines))]
    return [
        Text((middle[0] - up * sin, middle[1] + up * cos), line, size_pt, Anchor.MIDDLE, angle_rad, bold)
        for up, line in zip(ups, lines, strict=True)
    ]


def sector_words(
    plan: Plan, lines: Sequence[str], low_rad: float, high_rad: float
) -> tuple[list[Text], tuple[float, float]]:
    """Words in the middle of a part of the elbow, as large as it takes; and the angles that they cover."""
    margins = _margins(plan, low_rad == 0.0)
    middle = (low_rad + high_rad) / 2 + (margins[0] - margins[1]) / 2 / plan.bend_radius_mm
    room = (middle - low_rad, high_rad - middle)
    for size in _WORD_SIZES_PT[plan.radius_mm < _LARGE_MM]:
        wide = max(text_width_mm(line, size, bold=True) for line in lines) / 2
        tall = (_LINE * (len(lines) - 1) + ASCENT + DESCENT) * size * MM_PER_PT / 2
        for angle, along, radial in ((middle + math.pi / 2, wide, tall), (middle, tall, wide)):
            half = math.atan2(along + 1.0, plan.bend_radius_mm)
            words = upright_lines(polar(plan.bend_radius_mm, middle), lines, size, readable(angle))
            if _fits(plan, along, radial, room, margins):
                return words, (middle - half, middle + half)
    return words, (middle - half, middle + half)


def _margins(plan: Plan, first: bool) -> tuple[float, float]:
    """What words keep clear of at the lower and the upper line of a part: bevel, or ticks on the scrap."""
    at_cut = 1.0 + (0.0 if first == plan.own or plan.shared else HATCH_MM)
    at_face = 1.0 + max(0.0, plan.cut.elbow.shoulder_mm - (plan.near_mm if first else plan.far_mm))
    return (at_face, at_cut) if first else (at_cut, at_face)


def _fits(
    plan: Plan, along_mm: float, radial_mm: float, room: tuple[float, float], margins: tuple[float, float]
) -> bool:
    """Whether a block of these half sizes on the centreline stays clear of its sector's lines.

    room: angles from the middle of the block to the lower and the upper line.
    """
    inner, outer = plan.bend_radius_mm - radial_mm, plan.bend_radius_mm + radial_mm
    if inner < plan.throat_mm + 1.0 or math.hypot(outer, along_mm) > plan.heel_mm - 1.0:
        return False
    for span, margin in zip(room, margins, strict=True):
        half = span - math.atan2(along_mm, inner)
        if half <= 0.0 or math.hypot(inner, along_mm) * math.sin(min(half, math.pi / 2)) < margin:
            return False
    return True


def line_names(
    plan: Plan, gaps: Sequence[tuple[float, float]], spans: tuple[tuple[float, float], tuple[float, float]]
) -> tuple[list[Item], list[tuple[float, float]]]:
    """Heel, side and throat named in the roomier part; and where the centreline is left out for words.

    spans: angles between which the two parts lie.
    """
    roomy = max((0, 1), key=lambda i: spans[i][1] - spans[i][0])
    low, high = spans[roomy]
    middle, half = (low + high) / 2, (high - low) / 2
    size_mm = NAME_PT * MM_PER_PT
    items: list[Item] = [tangential("heel", plan.heel_mm + 1.2 + DESCENT * size_mm, middle, NAME_PT)]
    width = text_width_mm("throat", NAME_PT) / 2
    top = math.sqrt(max(0.0, (plan.throat_mm - 1.0) ** 2 - width**2))
    foot = top - (ASCENT + DESCENT) * size_mm
    if foot > 0.0 and math.atan2(width + 1.0, foot) < half:
        items.append(tangential("throat", top - ASCENT * size_mm, middle, NAME_PT))
    outer = gaps[roomy][1] if roomy else low
    end = high if roomy else gaps[roomy][0]
    wide = math.atan2(text_width_mm("side", NAME_PT) / 2 + 1.5, plan.bend_radius_mm)
    covered = list(gaps)
    if end - outer > 2 * wide + 2 * plan.cut.elbow.shoulder_mm / plan.bend_radius_mm:
        at = (outer + end) / 2
        items.append(tangential("side", plan.bend_radius_mm - 0.36 * size_mm, at, NAME_PT))
        covered.append((at - wide, at + wide))
    return items, covered


def tangential(text: str, radius_mm: float, angle_rad: float, size_pt: float, bold: bool = False) -> Text:
    """Text square to the radius, its baseline's middle at that radius; it reads outward below 180°."""
    at = polar(radius_mm, angle_rad)
    return Text(at, text, size_pt, Anchor.MIDDLE, readable(angle_rad - math.pi / 2), bold)


def centreline(plan: Plan, gaps: Sequence[tuple[float, float]]) -> Iterator[Item]:
    """The centreline from face to face, left out where words lie on it."""
    for far, straight in ((False, plan.near_mm), (True, plan.far_mm)):
        if straight > 0.0:
            face, bend = (plan.at_end(far, plan.bend_radius_mm, inward) for inward in (-straight, 0.0))
            yield Line(face, bend, Pen.CENTRE)
    start = 0.0
    for low, high in [*sorted(gaps), (plan.sweep_rad, plan.sweep_rad)]:
        if low > start:
            yield arc((0.0, 0.0), plan.bend_radius_mm, start, low, Pen.CENTRE)
        start = high


def angle_arc(plan: Plan) -> Iterator[Item]:
    """The angle from the axis to the cut line, by an arc past the heel with its figure."""
    radius, cut = plan.heel_mm + 0.55 * plan.past_mm, plan.cut_rad
    text = format_angle(cut, 2)
    yield arc((0.0, 0.0), radius, 0.0, cut, Pen.TICK)
    lean = 1.1 / radius
    yield arrowhead(polar(radius, cut), cut + math.pi / 2 - lean)
    yield arrowhead(polar(radius, 0.0), lean - math.pi / 2)
    above = radius + 1.0 + DESCENT * ANGLE_PT * MM_PER_PT
    wide = text_width_mm(text, ANGLE_PT, bold=True) / 2 + BAR_MM + 0.5
    if math.atan2(wide, above) > cut / 2:
        above = plan.heel_mm + plan.past_mm + 2.0
    yield tangential(text, above, cut / 2, ANGLE_PT, bold=True)


def end_names(plan: Plan, mark: str) -> Iterator[Item]:
    """What each face is, outside it."""
    far_face = f"FACE A, of {mark}" if plan.cut.offset_rad == 0 else "other face"
    near_name, far_name = ("FACE A", "far face") if plan.own else ("FAR FACE", far_face)
    near_words = (near_name, "measure from here")
    far_along = readable(plan.sweep_rad)
    for far, lines, angle, straight in (
        (False, near_words, 0.0, plan.near_mm),
        (True, (far_name,), far_along, plan.far_mm),
    ):
        half = (_LINE * (len(lines) - 1) + ASCENT + DESCENT) * NAME_PT * MM_PER_PT / 2
        middle = plan.at_end(far, plan.bend_radius_mm, -straight - 2.0 - half)
        yield from upright_lines(middle, lines, NAME_PT, angle)


def _round_mark(plan: Plan) -> Iterator[Item]:
    """The round point on the cut line, named on the side away from the angle."""
    x, y = round_point(plan)
    yield circle((x, y), 0.9, Pen.TICK)
    dx, dy = polar(3.4, plan.cut_rad + math.pi / 2)
    yield from upright_lines((x + dx, y + dy), ("P",), NAME_PT, 0.0)
