"""Places for dimension lines beside a drawing: clear of metal, of words and of each other, or left out."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import shapely

from render.drawing import Anchor, Drawing, Item, Line, Pen, Point, Polyline, Text, drawing
from render.labels import Outline
from render.pdf import text_width_mm
from render.shapes import MM_PER_PT, Box, arrowhead, box_round, dimension, path_of, readable, text_box

_FIRST_MM = 5.0
_STEP_MM = 5.2
_LEVELS = 6
_FAR_MM = 60.0
_GAP_MM = 0.8
_CLEAR_MM = 0.7
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
        self._closed = metal.buffer(_GAP_MM, quad_segs=2).buffer(-_GAP_MM, quad_segs=2)
        self.items: list[Item] = []
        self._texts: list[shapely.Polygon] = []
        self._dims: list[shapely.LineString] = []
        self._thin: list[shapely.LineString] = []

    def fork(self) -> Board:
        """A board with the same on it, to try things on."""
        other = Board(self.room, self.metal)
        other.add(drawing(self.items))
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
        worded = [made for made in _dimensions(span, size_pt) if self._have_words_room(made)]
        for strict in (True, False):
            for made in worded:
                if self._have_lines_room(made, strict):
                    self.add(made)
                    return True
        return False

    def straight(self, span: Span, size_pt: float) -> bool:
        """Draw a line from point to point itself with its words along it; False where they find no place."""
        if math.dist(span.start, span.end) < 8.0:
            return False
        line = shapely.LineString([span.start, span.end])
        if any(shapely.intersects(line, self._texts)):
            return False
        for made in _straights(span, size_pt):
            if self._have_words_room(made):
                self.add(made)
                return True
        return False

    def edge(self, at: Point, way_rad: float) -> Point:
        """Where the metal that a point is in ends that way; the point itself where there is none.

        Gaps at welds count as metal.
        """
        far = at[0] + _FAR_MM * math.cos(way_rad), at[1] + _FAR_MM * math.sin(way_rad)
        crossed = shapely.get_parts(self._closed.intersection(shapely.LineString([at, far])))
        here = shapely.Point(at)
        own = next((part for part in crossed if here.distance(part) < 0.05), None)
        if own is None:
            return at
        end = max(own.coords, key=lambda point: math.dist(at, point))
        return float(end[0]), float(end[1])

    def outlines(self) -> list[Outline]:
        """Shapes that labels must stay clear of: edges of the metal, words, lines."""
        shapes: list[Outline] = [_points(text.exterior)[:-1] for text in self._texts]
        for part in shapely.get_parts(self.metal):
            for ring in (part.exterior, *part.interiors):
                shapes += pairwise(_points(ring.simplify(0.05)))
        for line in [*self._dims, *self._thin]:
            shapes += pairwise(_points(line))
        return shapes

    def _have_words_room(self, made: Drawing) -> bool:
        for word in (item for item in made if isinstance(item, Text)):
            corners = text_box(word)
            if not self.room.holds(box_round(corners)):
                return False
            room = shapely.Polygon(corners).buffer(_CLEAR_MM, join_style="mitre")
            if self.metal.intersects(room):
                return False
            if any(shapely.intersects(room, [*self._texts, *self._dims, *self._thin])):
                return False
        return True

    def _have_lines_room(self, made: Drawing, strict: bool) -> bool:
        for item in (item for item in made if isinstance(item, Line)):
            if not self.room.holds(box_round(path_of(item))):
                return False
            line = shapely.LineString(path_of(item))
            main = _is_main(item, made)
            if any(shapely.dwithin(line, self._texts, _CLEAR_MM)):
                return False
            if (main or strict) and line.distance(self.metal) < (_CLEAR_MM if main else 0.1):
                return False
            if main and any(shapely.dwithin(line, self._dims, _CLEAR_MM)):
                return False
            if any(_cross(line, self._dims)) or ((main or strict) and any(_cross(line, self._thin))):
                return False
        return True


def _points(line: shapely.LineString) -> tuple[Point, ...]:
    return tuple((float(x), float(y)) for x, y in line.coords)


def _is_main(item: Item, made: Drawing) -> bool:
    """Whether a line is the one that carries the arrows: the last of its drawing."""
    return item is [one for one in made if isinstance(one, Line)][-1]


def _cross(line: shapely.LineString, others: Sequence[shapely.LineString]) -> Iterator[bool]:
    """For each line that meets this one, whether that is elsewhere than at an end."""
    for other, meets in zip(others, shapely.intersects(line, list(others)), strict=True):
        if meets:
            at = line.intersection(other)
            ends = shapely.MultiPoint([*line.coords, *other.coords])
            yield at.length > 0.05 or at.distance(ends) > 0.3


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
