"""Draws elbows that are cut alike: pieces and lines on the arc, what the blade takes, and what is left."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from render.figures.stock_tables import line_words, marks_text
from render.pages.drawing import Anchor, Drawing, Item, Line, Pen, Point, Polyline, Text, drawing
from render.pages.pdf import text_width_mm
from render.pages.shapes import Box, arc, bounds, text_box
from render.pages.spread import spread
from render.pages.strips import line_height_mm
from templates_core.stock.elbow_layouts import Line as CutLine
from templates_core.stock.elbow_plans import ElbowPlan
from templates_core.units import degrees_text

TEXT_PT = 8.0
_HEEL_MM = 46.0
"""Radius at which the heel is drawn, whatever the elbow."""
_PAST_MM = 3.0
"""How far a line runs past heel and throat."""
_BLADE_MM = 1.1
"""Width at which the blade is drawn; it is not to scale."""
_COLUMN_MM = 9.0
"""From the heel to the labels beside it."""
_BESIDE_MM = 34.0
"""Longest list of marks beside an elbow."""
_CLEAR_MM = 0.6
_LABEL_GAP_MM = 1.2
_STEP_MM = line_height_mm(TEXT_PT)
_SHADE = 5
"""Arcs that shade what is left over."""


@dataclass(frozen=True)
class _Sketch:
    """An elbow on paper: the bend's axis at (0, 0), the middle of its sweep along x, face A below.

    heel_mm, throat_mm: radii drawn.  tangents_mm: straights at faces A and B.
    """

    plan: ElbowPlan
    throat_mm: float
    tangents_mm: tuple[float, float]
    heel_mm: float = _HEEL_MM

    def turned(self, at_rad: float) -> float:
        """Direction on paper of a sweep angle from face A."""
        return at_rad - self.plan.elbow.sweep_rad / 2

    def put(self, radius_mm: float, at_rad: float, along_mm: float = 0.0) -> Point:
        """Point on paper, moved along the tangent in the direction of greater sweep."""
        angle = self.turned(at_rad)
        return (
            radius_mm * math.cos(angle) - along_mm * math.sin(angle),
            radius_mm * math.sin(angle) + along_mm * math.cos(angle),
        )


@dataclass(frozen=True)
class _Callout:
    """Words beside the heel for what is at a sweep angle."""

    at_rad: float
    lines: tuple[tuple[str, bool], ...]

    @property
    def width_mm(self) -> float:
        return max(text_width_mm(text, TEXT_PT, bold) for text, bold in self.lines)

    @property
    def height_mm(self) -> float:
        return len(self.lines) * _STEP_MM


def elbow_sketch(plan: ElbowPlan) -> tuple[Drawing, Box]:
    """The elbow in plan, not to scale but true in its angles, with its labels; and the box round it.

    Errors: ValueError for an elbow whose bend radius isn't known, which can't be cut.
    """
    sketch = _sketch(plan)
    items = [*_outline(sketch), *_shade(sketch)]
    for line in plan.lines:
        items += _cut(sketch, line)
    inside, callouts = _words(sketch)
    items += [*inside, *_face_names(sketch), *_placed(sketch, callouts)]
    return drawing(items), bounds(items)


def _sketch(plan: ElbowPlan) -> _Sketch:
    elbow = plan.elbow
    if elbow.bend_radius_mm is None:
        raise ValueError(f"{elbow.name} has no bend radius to be drawn with")
    factor = _HEEL_MM / (elbow.bend_radius_mm + elbow.radius_mm)
    tangents = (elbow.tangent_a_mm * factor, elbow.tangent_b_mm * factor)
    return _Sketch(plan, (elbow.bend_radius_mm - elbow.radius_mm) * factor, tangents)


def _outline(sketch: _Sketch) -> Iterator[Item]:
    sweep = sketch.plan.elbow.sweep_rad
    for radius in (sketch.heel_mm, sketch.throat_mm):
        bend = arc((0.0, 0.0), radius, sketch.turned(0.0), sketch.turned(sweep), Pen.OBJECT)
        ends = (
            sketch.put(radius, 0.0, -sketch.tangents_mm[0]),
            sketch.put(radius, sweep, sketch.tangents_mm[1]),
        )
        yield Polyline((ends[0], *bend.points, ends[1]), Pen.OBJECT)
    for at, along in ((0.0, -sketch.tangents_mm[0]), (sweep, sketch.tangents_mm[1])):
        yield Line(sketch.put(sketch.throat_mm, at, along), sketch.put(sketch.heel_mm, at, along), Pen.OBJECT)


def _shade(sketch: _Sketch) -> Iterator[Item]:
    """Fine arcs over what is left over."""
    offcut = sketch.plan.offcut
    if offcut is None:
        return
    step = (sketch.heel_mm - sketch.throat_mm) / (_SHADE + 1)
    start, end = sketch.turned(offcut.start_rad), sketch.turned(offcut.end_rad)
    for number in range(1, _SHADE + 1):
        yield arc((0.0, 0.0), sketch.throat_mm + number * step, start, end, Pen.TICK)


def _cut(sketch: _Sketch, line: CutLine) -> Iterator[Item]:
    """The line past heel and throat, and the edges of the blade's slot."""
    low, high = max(0.0, sketch.throat_mm - _PAST_MM), sketch.heel_mm + _PAST_MM
    yield Line(sketch.put(low, line.at_rad), sketch.put(high, line.at_rad), Pen.OBJECT)
    edges = (-_BLADE_MM / 2, _BLADE_MM / 2)
    if line.blade == "clear":
        edges = (_BLADE_MM / 2, 1.5 * _BLADE_MM) if line.after is None else (-1.5 * _BLADE_MM, -_BLADE_MM / 2)
    for along in edges:
        start, end = (sketch.put(r, line.at_rad, along) for r in (sketch.throat_mm, sketch.heel_mm))
        yield Line(start, end, Pen.TICK)


def _words(sketch: _Sketch) -> tuple[list[Item], list[_Callout]]:
    """Words inside the pieces that have room for them, and callouts for the rest, in order of sweep."""
    inside: list[Item] = []
    callouts: list[_Callout] = []
    for place, span in enumerate(sketch.plan.spans_rad):
        degrees = (degrees_text(span[1] - span[0]), False)
        ways = [((words, True), degrees) for words in piece_words(sketch.plan, place)]
        texts = next((made for lines in ways if (made := _in_sector(sketch, lines, span))), [])
        inside += texts
        callouts += [] if texts else [_Callout(sum(span) / 2, (_joined(_beside(ways)),))]
    offcut = sketch.plan.offcut
    if offcut is not None:
        name = "keep" if offcut.usable else "scrap"
        middle = (offcut.start_rad + offcut.end_rad) / 2
        callouts.append(_Callout(middle, ((f"{name} {degrees_text(offcut.sweep_rad)}", False),)))
    callouts += [_Callout(line.at_rad, _line_words(sketch.plan, line)) for line in sketch.plan.lines]
    return inside, sorted(callouts, key=lambda one: one.at_rad)


def _line_words(plan: ElbowPlan, line: CutLine) -> tuple[tuple[str, bool], ...]:
    where, how = line_words(plan, line)
    return (f"{where},", False), (how, False)


def _joined(lines: Sequence[tuple[str, bool]]) -> tuple[str, bool]:
    return ", ".join(text for text, _ in lines), True


def _beside(ways: Sequence[tuple[tuple[str, bool], ...]]) -> tuple[tuple[str, bool], ...]:
    """The first of the ways to name a piece that isn't too long beside an elbow."""
    short = (lines for lines in ways if text_width_mm(_joined(lines)[0], TEXT_PT, True) <= _BESIDE_MM)
    return next(short, ways[-1])


def piece_words(plan: ElbowPlan, place: int) -> tuple[str, ...]:
    """Ways to name the piece in a place, best first: its marks, or how many there are."""
    marks = plan.marks_at(place)
    named = marks_text(marks)
    return (named,) if len(marks) == 1 else (named, f"{len(marks)} marks")


def _in_sector(sketch: _Sketch, lines: Sequence[tuple[str, bool]], span: tuple[float, float]) -> list[Text]:
    """Upright lines in the middle of a piece; none where they don't fit."""
    x, y = sketch.put((sketch.throat_mm + sketch.heel_mm) / 2, sum(span) / 2)
    texts = [
        Text((x, y + (0.24 - number) * _STEP_MM), text, TEXT_PT, Anchor.MIDDLE, bold=bold)
        for number, (text, bold) in enumerate(lines)
    ]
    low, high = (sketch.turned(at) for at in span)
    for text in texts:
        for point in _edge_points(text_box(text)):
            radius, angle = math.hypot(*point), math.atan2(point[1], point[0])
            off = radius * min(math.sin(angle - low), math.sin(high - angle)) if low < angle < high else -1.0
            rim = min(radius - sketch.throat_mm, sketch.heel_mm - radius)
            if min(off - _BLADE_MM, rim) < _CLEAR_MM:
                return []
    return texts


def _edge_points(corners: Sequence[Point]) -> Iterator[Point]:
    for a, b in pairwise((*corners, corners[0])):
        yield from (
            (a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])) for share in (0.0, 0.25, 0.5, 0.75)
        )


def _face_names(sketch: _Sketch) -> Iterator[Item]:
    """``face A`` and ``face B`` just outside the ends."""
    middle = (sketch.throat_mm + sketch.heel_mm) / 2
    for name, at, along, drop in (
        ("face A", 0.0, -sketch.tangents_mm[0] - 1.0, -0.8 * _STEP_MM),
        ("face B", sketch.plan.elbow.sweep_rad, sketch.tangents_mm[1] + 1.0, 0.3 * _STEP_MM),
    ):
        x, y = sketch.put(middle, at, along)
        yield Text((x - 1.0, y + drop), name, TEXT_PT, Anchor.END)


def _placed(sketch: _Sketch, callouts: Sequence[_Callout]) -> Iterator[Item]:
    """Callouts one over another beside the heel, each with a line to its place on it."""
    if not callouts:
        return
    starts = [
        sketch.put(sketch.heel_mm + (_PAST_MM if _is_line(sketch, one) else 0.0), one.at_rad)
        for one in callouts
    ]
    knees = [sketch.put(sketch.heel_mm + _PAST_MM + 1.5, one.at_rad) for one in callouts]
    heights = [one.height_mm for one in callouts]
    needed = sum(heights) + _LABEL_GAP_MM * (len(heights) - 1)
    reach = max(needed / 2, sketch.heel_mm)
    middles = spread([y for _, y in knees], heights, -reach, reach, _LABEL_GAP_MM)
    assert middles is not None
    column = max(x for x, _ in knees) + _COLUMN_MM - _PAST_MM
    for one, start, knee, middle in zip(callouts, starts, knees, middles, strict=True):
        yield Polyline((start, knee, (column - 0.8, middle)), Pen.TICK)
        top = middle + one.height_mm / 2
        for number, (text, bold) in enumerate(one.lines):
            yield Text((column, top - (number + 0.76) * _STEP_MM), text, TEXT_PT, bold=bold)


def _is_line(sketch: _Sketch, callout: _Callout) -> bool:
    return any(line.at_rad == callout.at_rad for line in sketch.plan.lines)
