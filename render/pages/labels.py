"""Places labels beside the things they name, clear of lines and of each other."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely

from render.pages.drawing import Anchor, Drawing, Item, Line, Pen, Point, Text, drawing
from render.pages.pdf import text_width_mm
from render.pages.shapes import MM_PER_PT, Box, readable
from render.pages.strips import LEADING
from templates_core.paths.directions import Vector

Lines = tuple[tuple[str, bool], ...]
"""Texts one under another, and whether each is bold."""
_CLEAR_MM = 1.1
"""Least paper between a label and anything else."""
_LEADER_FROM_MM = 2.5
"""Labels further from the point they name have a line to it; so has one of a line that isn't along it."""
_OFF_LINE_MM = 0.6
"""A leader may touch what it points at, up to so far from it."""
_REACHES_MM = ((1.6,), (3.0, 5.0), (8.0, 11.0, 15.0), (20.0, 26.0, 33.0))
"""How far labels stand out, in the groups that they are tried in."""
_SWINGS_RAD = np.radians(
    [0, *(s * deg for deg in (12, 25, 37, 50, 65, 80, 95, 110, 125, 140, 160) for s in (1, -1)), 180]
)
_TRIES = 4
"""Orders in which labels are placed before they are given up."""
_MOST = 4
"""When more of them than this find no place, no other order is tried."""
_SHARES = (0.0, -0.5, 0.5, -1.0, 1.0)
"""Of the way from the middle of a line to where words along it would leave it."""


@dataclass(frozen=True)
class Label:
    """Words for a point, or for the middle of a line.

    at: what is named.  outward_rad: where the label had best stand from there.  along: the line that all
    its words may be written along as one, else None.
    edge_mm: radius of what is drawn at the point, from which a leader starts.  also: other points that
    may be named instead, with the way out from each.
    """

    lines: Lines
    at: Point
    outward_rad: float
    along: tuple[Point, Point] | None = None
    edge_mm: float = 0.0
    also: tuple[tuple[Point, float], ...] = ()


@dataclass(frozen=True, eq=False)
class _Places:
    """Ways that a label may stand, n of them, the best first.

    words: its texts.  size: [mm].  middles: shape (n, 2).  angle_rad: its turn.  leaders: from the point
    that is named towards the label, shape (n, 2, 2), None where it needs none.
    """

    words: Lines
    size: tuple[float, float]
    middles: Vector
    angle_rad: float
    leaders: Vector | None = None

    @cached_property
    def rooms(self) -> Vector:
        """What each takes of the paper with what is to be kept clear round it: polygons, shape (n,)."""
        return np.asarray(shapely.polygons(self.outlines(_CLEAR_MM)))

    @cached_property
    def lines(self) -> Vector | None:
        """The leaders as line strings, shape (n,)."""
        return None if self.leaders is None else np.asarray(shapely.linestrings(self.leaders))

    def only(self, wanted: Vector) -> _Places:
        """Those of them where wanted, shape (n,), is true."""
        leaders = None if self.leaders is None else self.leaders[wanted]
        return replace(self, middles=self.middles[wanted], leaders=leaders)

    def outlines(self, clear_mm: float) -> Vector:
        """Corners of the label with so much paper round it, shape (n, 4, 2)."""
        x, y = self.size[0] / 2 + clear_mm, self.size[1] / 2 + clear_mm
        cos, sin = math.cos(self.angle_rad), math.sin(self.angle_rad)
        corners = np.array([(-x, -y), (x, -y), (x, y), (-x, y)]) @ np.array([(cos, sin), (-sin, cos)])
        return np.asarray(self.middles[:, None] + corners)


def place_labels(
    labels: Sequence[Label], taken: Sequence[shapely.Geometry], room: Box, size_pt: float
) -> Drawing | None:
    """Every label with its leader; None when one finds no place in the room.

    taken: what the labels must stay clear of; long lines are best given in stretches.  Labels that find no
    place after others are put before them and all are placed again.
    """
    tree = shapely.STRtree(taken)
    order = [_Choice(label, tree, room, size_pt) for label in labels]
    for _ in range(_TRIES):
        placed: list[shapely.Geometry] = []
        items: list[Item] = []
        without: list[_Choice] = []
        for choice in order:
            found = choice.first_clear_of(placed)
            if found is None:
                without.append(choice)
                if choice is order[0] or len(without) > _MOST:
                    return None
                continue
            places, best = found
            placed.append(shapely.Polygon(places.outlines(0.0)[best]))
            if places.lines is not None:
                placed.append(places.lines[best])
            items += _drawn(places, best, size_pt)
        if not without:
            return drawing(items)
        order = [*without, *(choice for choice in order if choice not in without)]
    return None


class _Choice:
    """The places of a label that what is fixed leaves it, worked out as far as they are asked for."""

    def __init__(self, label: Label, fixed: shapely.STRtree, room: Box, size_pt: float) -> None:
        self._rest = (_free(places, fixed, room) for places in _places(label, size_pt))
        self._known: list[_Places] = []

    def first_clear_of(self, placed: Sequence[shapely.Geometry]) -> tuple[_Places, int] | None:
        """The best place that is clear of these too: which of some places it is."""
        others = np.array(placed, dtype=object)
        for places in self._all():
            shapes = [places.rooms] if places.lines is None else [places.rooms, places.lines]
            clear = ~np.any(
                [shapely.intersects(each[:, None], others).any(axis=1) for each in shapes], axis=0
            )
            if clear.any():
                return places, int(clear.argmax())
        return None

    def _all(self) -> Iterator[_Places]:
        yield from self._known
        for places in self._rest:
            self._known.append(places)
            yield places


def _size_mm(lines: Lines, size_pt: float) -> tuple[float, float]:
    width = max(text_width_mm(text, size_pt, bold) for text, bold in lines)
    return width, (1.0 + LEADING * (len(lines) - 1)) * size_pt * MM_PER_PT


def _places(label: Label, size_pt: float) -> Iterator[_Places]:
    """Places worth trying, best first: along the line, then round the point, ever further out."""
    if label.along is not None:
        yield from _places_along(label.along, label, size_pt)
    size = _size_mm(label.lines, size_pt)
    for reaches in _REACHES_MM if label.along is None else _REACHES_MM[1:]:
        far = [reach for reach in reaches if reach > label.edge_mm + _OFF_LINE_MM]
        if far:
            yield _places_round(label, far, size)


def _places_along(along: tuple[Point, Point], label: Label, size_pt: float) -> Iterator[_Places]:
    lines = ((", ".join(text for text, _ in label.lines), False),)
    size = _size_mm(lines, size_pt)
    start, end = np.array(along)
    length = math.dist(*along)
    if length < 0.8 * size[0]:
        return
    angle = readable(math.atan2(end[1] - start[1], end[0] - start[0]))
    up = np.array([-math.sin(angle), math.cos(angle)])
    outward = np.array([math.cos(label.outward_rad), math.sin(label.outward_rad)])
    best = 1.0 if outward @ up >= 0 else -1.0
    slack = max(0.0, (length - size[0]) / 2 - 2.0) / length
    shares = 0.5 + slack * np.array(_SHARES)
    on_line = start + shares[:, None] * (end - start)
    off = (size[1] / 2 + 1.2) * up
    yield _Places(lines, size, np.vstack([on_line + side * off for side in (best, -best)]), angle)


def _places_round(label: Label, reaches_mm: Sequence[float], size: tuple[float, float]) -> _Places:
    """Upright labels whose edges are so far from the points that may be named, by how far they swing."""
    named = ((label.at, label.outward_rad), *label.also)
    at = np.array([point for point, _ in named])
    angles = _SWINGS_RAD[:, None] + np.array([outward for _, outward in named])
    ways = np.stack([np.cos(angles), np.sin(angles)], axis=-1)
    to_edge = (np.array(size) / 2 / np.maximum(abs(ways), 1e-9)).min(axis=-1)
    reach = np.array(reaches_mm)[:, None, None, None]
    middles = (at + (reach + to_edge[..., None]) * ways).reshape(-1, 2)
    if max(reaches_mm) <= _LEADER_FROM_MM and label.along is None:
        return _Places(label.lines, size, middles, 0.0)
    near, far = np.full_like(reach, label.edge_mm + _OFF_LINE_MM), reach - 0.4
    leaders = np.stack([at + near * ways, at + far * ways], axis=-2).reshape(-1, 2, 2)
    return _Places(label.lines, size, middles, 0.0, leaders)


def _free(places: _Places, fixed: shapely.STRtree, room: Box) -> _Places:
    """Those of the places that are in the room and clear of what is fixed."""
    corners = places.outlines(_CLEAR_MM)
    low, high = corners.min(axis=1), corners.max(axis=1)
    inside = (low >= (room.left, room.bottom)).all(axis=1) & (high <= (room.right, room.top)).all(axis=1)
    left = places.only(inside)
    left = left.only(_missed(left.rooms, fixed))
    return left if left.lines is None else left.only(_missed(left.lines, fixed))


def _missed(shapes: Vector, fixed: shapely.STRtree) -> Vector:
    """Which shapes touch nothing that is fixed, shape (n,)."""
    missed = np.ones(len(shapes), dtype=bool)
    missed[fixed.query(shapes, "intersects")[0]] = False
    return missed


def _drawn(places: _Places, best: int, size_pt: float) -> Iterator[Item]:
    if places.leaders is not None:
        near, far = places.leaders[best]
        start = near - _OFF_LINE_MM / math.dist(near, far) * (far - near)
        yield Line(_point(start), _point(far), Pen.TICK)
    em = size_pt * MM_PER_PT
    down = np.array([math.sin(places.angle_rad), -math.cos(places.angle_rad)])
    for number, (text, bold) in enumerate(places.words):
        drop = 0.76 * em - places.size[1] / 2 + number * LEADING * em
        at = _point(places.middles[best] + drop * down)
        yield Text(at, text, size_pt, Anchor.MIDDLE, places.angle_rad, bold)


def _point(coords: Vector) -> Point:
    return float(coords[0]), float(coords[1])
