"""Places labels beside the things they name, clear of lines and of each other."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from render.drawing import Anchor, Drawing, Item, Line, Pen, Point, Text, drawing
from render.pdf import text_width_mm
from render.shapes import MM_PER_PT, Box, box_round, readable
from render.strips import LEADING

Outline = tuple[Point, ...]
"""Corners of a convex shape in order; two points are a straight line."""
_CLEAR_MM = 1.1
"""Least paper between a label and anything else."""
_LEADER_FROM_MM = 2.5
"""Labels further from the point they name have a line to it; so has one of a line that isn't along it."""
_OFF_LINE_MM = 0.6
"""A leader may touch what it points at, up to so far from it."""
_REACHES_MM = (1.6, 3.0, 5.0, 8.0, 11.0, 15.0, 20.0, 26.0, 33.0)
_SWINGS_DEG = (0, 25, -25, 50, -50, 80, -80, 110, -110, 140, -140, 180)


@dataclass(frozen=True)
class Label:
    """Words for a point, or for the middle of a line.

    lines: text and whether it is bold, one under another.  at: what is named.  outward_rad: where the
    label had best stand from there.  along: the line that all its words may be written along as one,
    else None.
    edge_mm: radius of what is drawn at the point, from which a leader starts.  also: other points that
    may be named instead, with the way out from each.
    """

    lines: tuple[tuple[str, bool], ...]
    at: Point
    outward_rad: float
    along: tuple[Point, Point] | None = None
    edge_mm: float = 0.0
    also: tuple[tuple[Point, float], ...] = ()


@dataclass(frozen=True)
class _Place:
    """How a label may stand: its lines, its size [mm], its middle, its turn, and the leader that it needs."""

    lines: tuple[tuple[str, bool], ...]
    size: tuple[float, float]
    middle: Point
    angle_rad: float
    leader: tuple[Point, Point] | None


def place_labels(
    labels: Sequence[Label], taken: Sequence[Outline], room: Box, size_pt: float
) -> tuple[Drawing, tuple[Outline, ...]] | None:
    """Every label with its leader, and the shapes they take; None when one finds no place in the room.

    taken: what the labels must stay clear of.
    """
    items: list[Item] = []
    full = [(outline, box_round(outline)) for outline in taken]
    placed: list[Outline] = []
    for label in labels:
        place = next((p for p in _places(label, size_pt) if _is_free(p, full, room)), None)
        if place is None:
            return None
        shapes = [_outline(place, 0.0), *([place.leader] if place.leader else [])]
        full += [(shape, box_round(shape)) for shape in shapes]
        placed += shapes
        items += _drawn(place, size_pt)
    return drawing(items), tuple(placed)


def _size_mm(lines: tuple[tuple[str, bool], ...], size_pt: float) -> tuple[float, float]:
    width = max(text_width_mm(text, size_pt, bold) for text, bold in lines)
    return width, (1.0 + LEADING * (len(lines) - 1)) * size_pt * MM_PER_PT


def _places(label: Label, size_pt: float) -> Iterator[_Place]:
    """Places worth trying, best first: along the line, then round the point, ever further out."""
    if label.along is not None:
        yield from _places_along(label.along, label, size_pt)
    size = _size_mm(label.lines, size_pt)
    for reach in _REACHES_MM if label.along is None else _REACHES_MM[1:]:
        if reach <= label.edge_mm + _OFF_LINE_MM:
            continue
        for swing in _SWINGS_DEG:
            for at, outward in ((label.at, label.outward_rad), *label.also):
                yield _place_out(replace(label, at=at), outward + math.radians(swing), reach, size)


def _places_along(along: tuple[Point, Point], label: Label, size_pt: float) -> Iterator[_Place]:
    lines = ((", ".join(text for text, _ in label.lines), False),)
    size = _size_mm(lines, size_pt)
    start, end = along
    length = math.dist(start, end)
    if length < 0.8 * size[0]:
        return
    angle = readable(math.atan2(end[1] - start[1], end[0] - start[0]))
    up = angle + math.pi / 2
    best = 1.0 if math.cos(label.outward_rad - up) >= 0 else -1.0
    slack = max(0.0, (length - size[0]) / 2 - 2.0) / length
    for side in (best, -best):
        off = side * (size[1] / 2 + 1.2)
        for share in (0.5, 0.5 - slack / 2, 0.5 + slack / 2, 0.5 - slack, 0.5 + slack):
            x = start[0] + share * (end[0] - start[0]) + off * math.cos(up)
            y = start[1] + share * (end[1] - start[1]) + off * math.sin(up)
            yield _Place(lines, size, (x, y), angle, None)


def _place_out(label: Label, angle_rad: float, reach_mm: float, size: tuple[float, float]) -> _Place:
    """An upright label whose edge is reach_mm from its point in the given direction."""
    at = label.at
    cos, sin = math.cos(angle_rad), math.sin(angle_rad)
    to_edge = min(
        size[0] / 2 / abs(cos) if abs(cos) > 1e-9 else math.inf,
        size[1] / 2 / abs(sin) if abs(sin) > 1e-9 else math.inf,
    )
    out = reach_mm + to_edge
    middle = (at[0] + out * cos, at[1] + out * sin)
    if reach_mm <= _LEADER_FROM_MM and label.along is None:
        return _Place(label.lines, size, middle, 0.0, None)
    near, far = label.edge_mm + _OFF_LINE_MM, reach_mm - 0.4
    leader = ((at[0] + near * cos, at[1] + near * sin), (at[0] + far * cos, at[1] + far * sin))
    return _Place(label.lines, size, middle, 0.0, leader)


def _outline(place: _Place, clear_mm: float) -> Outline:
    x, y = place.size[0] / 2 + clear_mm, place.size[1] / 2 + clear_mm
    cos, sin = math.cos(place.angle_rad), math.sin(place.angle_rad)
    return tuple(
        (place.middle[0] + u * cos - v * sin, place.middle[1] + u * sin + v * cos)
        for u, v in ((-x, -y), (x, -y), (x, y), (-x, y))
    )


def _is_free(place: _Place, full: list[tuple[Outline, Box]], room: Box) -> bool:
    outline = _outline(place, _CLEAR_MM)
    box = box_round(outline)
    if not room.holds(box) or _is_met(outline, box, full):
        return False
    return place.leader is None or not _is_met(place.leader, box_round(place.leader), full)


def _is_met(outline: Outline, box: Box, full: list[tuple[Outline, Box]]) -> bool:
    """Whether a shape touches any of the others, flat ones too; box: round it.

    The one that is touched goes to the front: the next place tried mostly touches it as well.
    """
    left, bottom, right, top = box.left, box.bottom, box.right, box.top
    for number, (other, round_other) in enumerate(full):
        if (
            left <= round_other.right
            and round_other.left <= right
            and bottom <= round_other.top
            and round_other.bottom <= top
            and _meet(outline, other)
        ):
            full.insert(0, full.pop(number))
            return True
    return False


def _meet(one: Outline, two: Outline) -> bool:
    """Whether two convex shapes touch: no side of either has all of the other beyond it."""
    for shape in (one, two):
        for a, b in pairwise((*shape, shape[0])):
            across = (b[1] - a[1], a[0] - b[0])
            first = [across[0] * x + across[1] * y for x, y in one]
            second = [across[0] * x + across[1] * y for x, y in two]
            if max(first) < min(second) or max(second) < min(first):
                return False
    return True


def _drawn(place: _Place, size_pt: float) -> Iterator[Item]:
    if place.leader is not None:
        (x, y), far = place.leader
        share = _OFF_LINE_MM / math.dist((x, y), far)
        yield Line((x - share * (far[0] - x), y - share * (far[1] - y)), far, Pen.TICK)
    em = size_pt * MM_PER_PT
    down = place.angle_rad - math.pi / 2
    for number, (text, bold) in enumerate(place.lines):
        drop = 0.76 * em - place.size[1] / 2 + number * LEADING * em
        at = (place.middle[0] + drop * math.cos(down), place.middle[1] + drop * math.sin(down))
        yield Text(at, text, size_pt, Anchor.MIDDLE, place.angle_rad, bold)
