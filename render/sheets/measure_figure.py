"""Pictures for Measure first: where on an elbow each size is taken."""

from __future__ import annotations

import math
from collections.abc import Iterator

from render.pages.drawing import Anchor, Drawing, Item, Line, Pen, Point, Polyline, Text, drawing
from render.pages.flow import Figure
from render.pages.shapes import Box, arc, arrowhead, leader

_R, _TUBE = 33.0, 11.0
"""Bend radius and tube radius of the elbow in the pictures [mm on paper]: about those of a long radius."""
_BACK, _LAND = 3.5, 8.0
"""From its face back to its shoulder, and the bevelled face's own radius [mm on paper]."""
_WIDTH, _HEIGHT = 158.0, 67.0
_PT, _UNDER_PT = 9.0, 8.0


def measure_figure() -> Figure:
    """Three pictures: elbow flat on a table, elbow with a face on a plate, the wall at a bevel enlarged."""
    parts = (_flat().moved(3.0, 9.0), _on_plate().moved(66.0, 9.0), _bevel().moved(124.0, 22.0))
    return Figure(drawing(item for part in parts for item in part), Box(0.0, 0.0, _WIDTH, _HEIGHT))


def _at(radius: float, angle_rad: float) -> Point:
    return (radius * math.cos(angle_rad), radius * math.sin(angle_rad))


def _elbow() -> Iterator[Item]:
    """A bevelled 90 about the centre of its bend at the origin, faces on the two axes."""
    for radius in (_R + _TUBE, _R - _TUBE):
        from_rad = math.asin(_BACK / radius)
        yield arc((0.0, 0.0), radius, from_rad, math.pi / 2 - from_rad, Pen.OBJECT)
    yield arc((0.0, 0.0), _R, 0.0, math.pi / 2, Pen.CENTRE)
    rims = [_R + side * _TUBE for side in (-1, 1)]
    low = [(math.sqrt(rim**2 - _BACK**2), _BACK) for rim in rims]
    face = [low[0], (_R - _LAND, 0.0), (_R + _LAND, 0.0), low[1]]
    for swap in (False, True):
        points = tuple((y, x) if swap else (x, y) for x, y in face)
        yield Polyline(points, Pen.OBJECT)
        yield Line(points[0], points[3], Pen.TICK)


def _taped(radius: float, offset: float) -> Iterator[Item]:
    """A dimension along an arc, from shoulder to shoulder, drawn clear of it."""
    from_rad = math.asin(_BACK / radius)
    to_rad = math.pi / 2 - from_rad
    yield arc((0.0, 0.0), radius + offset, from_rad, to_rad, Pen.TICK)
    yield arrowhead(_at(radius + offset, from_rad), from_rad - math.pi / 2)
    yield arrowhead(_at(radius + offset, to_rad), to_rad + math.pi / 2)
    for angle in (from_rad, to_rad):
        side = math.copysign(1.0, offset)
        yield Line(_at(radius + side * 0.8, angle), _at(radius + offset + side, angle), Pen.TICK)


def _flat() -> Drawing:
    """The elbow flat on the table, seen from above: heel, throat and girth."""
    items: list[Item] = [*_elbow(), *_taped(_R + _TUBE, 3.0), *_taped(_R - _TUBE, -3.0)]
    across = math.radians(62)
    outer = _at(_R + _TUBE, across)
    items.append(Line(_at(_R - _TUBE, across), outer, Pen.FOLD))
    items += leader(outer, (24.0, 51.0), "girth", _PT)
    items.append(Text((36.0, 37.0), "heel_arc", _PT))
    items.append(Text((0.0, 5.0), "throat_arc", _PT))
    return drawing([*items, Text((24.0, -6.0), "flat on a table, seen from above", _UNDER_PT, Anchor.MIDDLE)])


def _on_plate() -> Drawing:
    """One face on a plate, an angle finder between the plate and the other face."""
    items: list[Item] = [*_elbow(), Line((-4.0, 0.0), (48.0, 0.0), Pen.OUTLINE)]
    items += [Line((x, 0.0), (x - 1.6, -1.6), Pen.TICK) for x in range(-2, 49, 4)]
    finder = ((-2.5, 0.0), (19.0, 0.0), (19.0, 2.5), (0.0, 2.5), (0.0, 50.0), (-2.5, 50.0))
    items.append(Polyline(finder, Pen.OUTLINE, closed=True))
    start_rad = math.asin(2.5 / 17.0)
    items.append(arc((0.0, 0.0), 17.0, start_rad, math.pi / 2, Pen.TICK))
    items.append(arrowhead((0.0, 17.0), math.pi))
    items.append(arrowhead(_at(17.0, start_rad), start_rad - math.pi / 2))
    items.append(Text((2.0, 6.5), "sweep", _PT))
    items += leader((-1.2, 48.0), (6.0, 54.0), "angle finder", _UNDER_PT)
    return drawing([*items, Text((22.0, -6.0), "one face on a plate", _UNDER_PT, Anchor.MIDDLE)])


def _bevel() -> Drawing:
    """The wall at a bevelled face, much enlarged, and the distance from face to shoulder."""
    wall, land, back, top = 11.0, 4.0, 9.0, 26.0
    section = ((0.0, top), (0.0, 0.0), (land, 0.0), (wall, back), (wall, top))
    items: list[Item] = [Polyline(section, Pen.OBJECT)]
    items += [Line((x, y), (x + 2.5, y + 2.5), Pen.TICK) for x, y in ((2.0, 4.0), (4.0, 12.0), (3.0, 19.0))]
    foot = wall + 4.0
    items += [
        Line((land + 1.0, 0.0), (foot + 1.5, 0.0), Pen.TICK),
        Line((wall + 0.8, back), (foot + 1.5, back), Pen.TICK),
    ]
    items += [Line((foot, 0.0), (foot, back), Pen.TICK), arrowhead((foot, back), math.pi / 2)]
    items += [arrowhead((foot, 0.0), -math.pi / 2), Text((foot + 1.5, back / 2 - 1.0), "shoulder", _PT)]
    items += [
        Text((wall + 1.5, 19.0), "outside", _UNDER_PT),
        Text((-1.5, 19.0), "bore", _UNDER_PT, Anchor.END),
    ]
    items.append(Text((2.0, -4.0), "face", _UNDER_PT, Anchor.MIDDLE))
    return drawing([*items, Text((12.0, -19.0), "wall at a bevel, enlarged", _UNDER_PT, Anchor.MIDDLE)])
