"""Small drawings that show how a tape check is done and how the heel lines of a pipe are set."""

from __future__ import annotations

import math

from render.pages.drawing import Anchor, Drawing, Item, Line, Pen, Point, Polyline, Text, drawing
from render.pages.flow import Figure
from render.pages.shapes import arc, arrowhead, bounds, circle, dimension, leader

_PT = 9.0
_HALF_MM = 3.2
_BEND_MM = 8.0
_PIPE_MM = 30.0
_MARK_MM = 24.0
_TURN_RAD = math.radians(60)


def tape_check_figure() -> Figure:
    """A corner seen from above: marks at equal lengths from the pipe ends, and the tape between them."""
    middle = (0.0, _BEND_MM)
    items: list[Item] = [
        arc(middle, _BEND_MM + side * _HALF_MM, -math.pi / 2, -math.pi / 2 + _TURN_RAD, Pen.OBJECT)
        for side in (-1, 1)
    ]
    ends = {1: ((0.0, 0.0), (-1.0, 0.0)), 2: (_round(middle), (math.cos(_TURN_RAD), math.sin(_TURN_RAD)))}
    marks = []
    for number, (end, way) in ends.items():
        items += _pipe(end, way)
        mark = _along(end, way, _MARK_MM)
        marks.append(mark)
        items += [circle(mark, 0.8), Line(_side(mark, way, -2.0), _side(mark, way, 2.0), Pen.TICK)]
        outside = -1.0 if number == 2 else 1.0
        points = _side(end, way, outside * _HALF_MM), _side(mark, way, outside * _HALF_MM)
        items += dimension(*points, outside * 5.0, "a", _PT)
    items.append(Line(marks[0], marks[1], Pen.TICK))
    bearing = math.atan2(marks[1][1] - marks[0][1], marks[1][0] - marks[0][0])
    items += [arrowhead(marks[1], bearing), arrowhead(marks[0], bearing + math.pi)]
    at = (marks[0][0] + marks[1][0]) / 2 - 0.6, (marks[0][1] + marks[1][1]) / 2 + 1.0
    items.append(Text(at, "b (tape)", _PT, Anchor.MIDDLE, bearing))
    return _figure(items)


def _round(middle: Point) -> Point:
    """Centre of the elbow's far face."""
    angle = -math.pi / 2 + _TURN_RAD
    return middle[0] + _BEND_MM * math.cos(angle), middle[1] + _BEND_MM * math.sin(angle)


def _along(start: Point, way: Point, length_mm: float) -> Point:
    return start[0] + length_mm * way[0], start[1] + length_mm * way[1]


def _side(at: Point, way: Point, left_mm: float) -> Point:
    return at[0] - left_mm * way[1], at[1] + left_mm * way[0]


def _pipe(end: Point, way: Point) -> list[Item]:
    """A pipe from its end on, broken off at the other."""
    far = _along(end, way, _PIPE_MM)
    outline = (_side(far, way, _HALF_MM), _side(end, way, _HALF_MM), _side(end, way, -_HALF_MM))
    return [Polyline((*outline, _side(far, way, -_HALF_MM)), Pen.OBJECT)]


def heel_lines_figure() -> Figure:
    """A pipe from the side, and its far end as seen looking forward along the rail."""
    half, long = 7.0, 62.0
    items: list[Item] = [
        Polyline(((0.0, -half), (long, -half), (long, half), (0.0, half)), Pen.OBJECT, closed=True),
        Line((0.0, half * 0.55), (long, half * 0.55), Pen.FOLD),
        Line((long - 13.0, -half * 0.5), (long, -half * 0.5), Pen.OUTLINE),
        arrowhead((long / 2 + 5.0, -half * 0.1), 0.0, 4.0),
        Text((long / 2 - 1.0, -half * 0.1 - 1.1), "forward", _PT, Anchor.END),
    ]
    items += leader((6.0, half * 0.55), (12.0, half + 6.0), "heel line at the start, carried along", _PT)
    items += leader((long - 8.0, -half * 0.5), (long - 20.0, -half - 6.0), "heel line at the far end", _PT)
    centre, radius = (long + 34.0, 0.0), 9.0
    one, two = math.asin(0.55), math.asin(-0.5)
    items.append(Polyline(circle(centre, radius).points, Pen.OBJECT, closed=True))
    items.append(arc(centre, radius + 3.0, two + 0.16, one, Pen.TICK))
    tip = _polar(centre, radius + 3.0, two)
    items.append(arrowhead(tip, two - math.pi / 2 + 0.1, 3.0))
    for angle, pen in ((one, Pen.FOLD), (two, Pen.OUTLINE)):
        items.append(Line(_polar(centre, radius - 3.5, angle), _polar(centre, radius + 5.0, angle), pen))
    items.append(Text((centre[0], centre[1] - 1.1), "clockwise", _PT, Anchor.MIDDLE))
    items.append(Text((centre[0], -radius - 5.0), "far end, looking forward", _PT, Anchor.MIDDLE))
    items.append(Text((centre[0] + radius + 5.5, -1.1), "round the girth", _PT))
    return _figure(items)


def _polar(centre: Point, radius_mm: float, angle_rad: float) -> Point:
    return centre[0] + radius_mm * math.cos(angle_rad), centre[1] + radius_mm * math.sin(angle_rad)


def _figure(items: list[Item]) -> Figure:
    made: Drawing = drawing(items)
    return Figure(made, bounds(made).grown(1.5))
