"""Places for dimension lines beside a drawing: clear of metal, of words and of each other, or left out."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from copy import copy
from dataclasses import dataclass

import numpy as np
import shapely

from render.pages.drawing import Anchor, Drawing, Item, Line, Pen, Point, Polyline, Text, drawing
from render.pages.pdf import text_width_mm
from render.pages.shapes import MM_PER_PT, Box, arrowhead, dimension, path_of, readable, text_box
from templates_core.paths.directions import Vector

_FIRST_MM = 5.0
_STEP_MM = 5.2
_LEVELS = 6
_FAR_MM = 60.0
_GAP_MM = 0.8
_CLEAR_MM = 0.7
_SIMPLE_MM = 0.05
"""How far the edge of the metal that words keep clear of may leave the one that is drawn."""
_SHARES = (0.33, 0.67, 0.25, 0.75, 0.42, 0.58, 0.5)


@dataclass(frozen=True)
class Span:
    """A dimension that is wanted between two points of a drawing.

    away: where it had best stand, as seen from its middle.  off_mm: from its points to the surface of the
    metal beside them.  feet: where its extension lines start, if that isn't at its points.
    """

    start: Point
    end: Point
    text: str
    away: Point
    off_mm: float = 0.0
    feet: tuple[Point, Point] | None = None


class Board:
    """A drawing being filled: its room, its metal, and what stands on it so far."""

    def __init__(self, room: Box, metal: shapely.Geometry) -> None:
        shapely.prepare(metal)
        self.room, self.metal = room, metal
        self._closed = metal.simplify(0.01).buffer(_GAP_MM, quad_segs=2).buffer(-_GAP_MM, quad_segs=2)
        self._edges = list(_stretches(metal.boundary.simplify(0.05)))
        self.items: list[Item] = []
        self._texts: list[shapely.Polygon] = []
        self._dims: list[shapely.LineString] = []
        self._thin: list[shapely.LineString] = []

    def fork(self) -> Board:
        """A board with the same on it, to try things on."""
        other = copy(self)
        other.items, other._texts = list(self.items), list(self._texts)
        other._dims, other._thin = list(self._dims), list(self._thin)
        return other

    def take(self, other: Board) -> None:
        """Hold what a fork holds."""
        self.items, self._texts, self._dims, self._thin = other.items, other._texts, other._dims, other._thin

    def add(self, items: Drawing) -> None:
        """Draw what is known to be clear."""
        for item in items:
            if isinstance(item, Text):
                self._texts.append(shapely.Polygon(text_box(item)))
            elif isinstance(item, Line) and _is_main(item, items):
                self._dims.append(shapely.LineString(path_of(item)))
            else:
                self._thin.append(shapely.LineString(path_of(item)))
        self.items += items

    def dimension(self, span: Span, size_pt: float) -> bool:
        """Draw a dimension in its best free place; False where there is none.

        Its extension lines cross metal and other extension lines only where there is no place without.
        """
        if math.dist(span.start, span.end) < 1.0:
            return False
        worded = self._with_words_room(list(_dimensions(span, size_pt)))
        for strict in (True, False):
            clear = self._with_lines_room(worded, strict)
            if clear:
                self.add(clear[0])
                return True
        return False

    def straight(self, span: Span, size_pt: float) -> bool:
        """Draw a line from point to point itself with its words along it; False where they find no place."""
        if math.dist(span.start, span.end) < 8.0:
            return False
        line = shapely.LineString([span.start, span.end])
        if any(shapely.intersects(line, self._texts)):
            return False
        worded = self._with_words_room(list(_straights(span, size_pt)))
        if worded:
            self.add(worded[0])
        return bool(worded)

    def edges(self, at: Point, way_rad: float) -> tuple[Point, Point]:
        """Where the metal that a point is in ends that way and the other; the point where there is none.

        Gaps at welds count as metal.
        """
        x, y = _FAR_MM * math.cos(way_rad), _FAR_MM * math.sin(way_rad)
        line = shapely.LineString([(at[0] + x, at[1] + y), (at[0] - x, at[1] - y)])
        crossed = shapely.get_parts(self._closed.intersection(line))
        near = crossed[shapely.dwithin(crossed, shapely.Point(at), 0.05)]
        if not near.size:
            return at, at
        along = shapely.line_locate_point(line, shapely.points(shapely.get_coordinates(near)))
        first, last = shapely.line_interpolate_point(line, [along.min(), along.max()])
        return (first.x, first.y), (last.x, last.y)

    def taken(self) -> list[shapely.Geometry]:
        """Shapes that labels must stay clear of: edges of the metal, words, lines."""
        return [*self._edges, *self._texts, *self._dims, *self._thin]

    def _with_words_room(self, ways: Sequence[Drawing]) -> list[Drawing]:
        """Those of some drawings, of one text each, whose words are in the room and clear."""
        words = [next(item for item in made if isinstance(item, Text)) for made in ways]
        corners = np.array([text_box(word) for word in words])
        rooms = shapely.polygons(_grown(corners, _CLEAR_MM))
        low, high = corners.min(axis=1), corners.max(axis=1)
        free = (low >= (self.room.left, self.room.bottom)).all(axis=1)
        free &= (high <= (self.room.right, self.room.top)).all(axis=1)
        free &= ~shapely.intersects(self.metal, rooms)
        others = np.array([*self._texts, *self._dims, *self._thin], dtype=object)
        free &= ~shapely.intersects(rooms[:, None], others).any(axis=1)
        return [made for made, is_free in zip(ways, free, strict=True) if is_free]

    def _with_lines_room(self, ways: Sequence[Drawing], strict: bool) -> list[Drawing]:
        """Those of some drawings, of equally many lines each, whose lines are in the room and clear."""
        if not ways:
            return []
        ends = np.array([[path_of(item) for item in made if isinstance(item, Line)] for made in ways])
        lines = shapely.linestrings(ends)
        main = lines[:, -1]
        texts, dims, thin = (
            np.array(shapes, dtype=object) for shapes in (self._texts, self._dims, self._thin)
        )
        free = (ends >= (self.room.left, self.room.bottom)).all(axis=(1, 2, 3))
        free &= (ends <= (self.room.right, self.room.top)).all(axis=(1, 2, 3))
        free &= ~shapely.dwithin(lines[..., None], texts, _CLEAR_MM).any(axis=(1, 2))
        free &= ~shapely.dwithin(self.metal, main, _CLEAR_MM)
        free &= ~shapely.dwithin(main[:, None], dims, _CLEAR_MM).any(axis=1)
        free &= ~_cross(lines, dims).any(axis=1)
        if strict:
            free &= ~shapely.dwithin(self.metal, lines, 0.1).any(axis=1)
        free &= ~_cross(lines if strict else lines[:, -1:], thin).any(axis=1)
        return [made for made, is_free in zip(ways, free, strict=True) if is_free]


def _cross(lines: Vector, others: Vector) -> Vector:
    """Which lines, shape (n, m), meet any of the others elsewhere than at an end."""
    crossed = np.zeros(lines.shape, dtype=bool)
    row, column, number = np.nonzero(shapely.intersects(lines[..., None], others))
    if not row.size:
        return crossed
    pairs = np.column_stack([lines[row, column], others[number]])
    at = shapely.intersection(pairs[:, 0], pairs[:, 1])
    coords, owners = shapely.get_coordinates(pairs.ravel(), return_index=True)
    ends = shapely.multipoints(coords, indices=owners // 2)
    apart = (shapely.length(at) > 0.05) | (shapely.distance(at, ends) > 0.3)
    crossed[row[apart], column[apart]] = True
    return crossed


def _grown(corners: Vector, by_mm: float) -> Vector:
    """Rectangles, shape (n, 4, 2), corners anticlockwise, with so much added on each side."""
    along, up = corners[:, 1] - corners[:, 0], corners[:, 3] - corners[:, 0]
    along, up = (way * (by_mm / np.linalg.norm(way, axis=1))[:, None] for way in (along, up))
    return np.asarray(corners + np.stack([-along - up, along - up, along + up, up - along], axis=1))


def _stretches(lines: shapely.Geometry) -> Iterator[shapely.LineString]:
    """The straight lines that rings are made of."""
    for ring in shapely.get_parts(lines):
        points = shapely.get_coordinates(ring)
        yield from shapely.linestrings(np.stack([points[:-1], points[1:]], axis=1))


def _is_main(item: Item, made: Drawing) -> bool:
    """Whether a line is the one that carries the arrows: the last of its drawing."""
    return item is [one for one in made if isinstance(one, Line)][-1]


def _dimensions(span: Span, size_pt: float) -> Iterator[Drawing]:
    """Dimensions worth trying, best first: on the outside near the metal, further out, then inside."""
    (x1, y1), (x2, y2) = span.start, span.end
    left = (y1 - y2, x2 - x1)
    best = 1.0 if left[0] * span.away[0] + left[1] * span.away[1] >= 0 else -1.0
    feet = tuple(
        Line(foot, at, Pen.TICK)
        for foot, at in zip(span.feet or (), (span.start, span.end), strict=False)
        if math.dist(foot, at) > 1.0
    )
    for side, levels in ((best, _LEVELS), (-best, 3)):
        share = side * span.off_mm / math.hypot(*left)
        start, end = ((x + share * left[0], y + share * left[1]) for x, y in (span.start, span.end))
        for level in range(levels):
            offset = side * (_FIRST_MM + level * _STEP_MM)
            yield drawing(feet) + dimension(start, end, offset, span.text, size_pt)
            if math.dist(start, end) < text_width_mm(span.text, size_pt) + 6.0:
                yield drawing(feet) + dimension(end, start, -offset, span.text, size_pt)


def _straights(span: Span, size_pt: float) -> Iterator[Drawing]:
    along = math.atan2(span.end[1] - span.start[1], span.end[0] - span.start[0])
    arrows: Sequence[Polyline] = (
        arrowhead(span.end, along),
        arrowhead(span.start, along + math.pi),
    )
    angle = readable(along)
    up = angle + math.pi / 2
    for side in (1.2, -(0.76 * size_pt * MM_PER_PT + 0.9)):
        for share in _SHARES:
            x = span.start[0] + share * (span.end[0] - span.start[0]) + side * math.cos(up)
            y = span.start[1] + share * (span.end[1] - span.start[1]) + side * math.sin(up)
            word = Text((x, y), span.text, size_pt, Anchor.MIDDLE, angle)
            yield drawing([Line(span.start, span.end, Pen.TICK), *arrows, word])
