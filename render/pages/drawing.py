"""A drawing as a list of records in millimetres, y up, before any format is chosen."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from enum import Enum

Point = tuple[float, float]


class Pen(Enum):
    """A kind of line: its width [mm] and dash pattern [mm] (empty: solid).

    Only the trace edge is 0.50 mm wide: on a wrap the widest line is the one to cut to.
    """

    TRACE = (0.50, ())
    OUTLINE = (0.25, ())
    FOLD = (0.25, (2.4, 1.2))
    OBJECT = (0.35, ())
    CENTRE = (0.13, (6.0, 1.2, 1.2, 1.2))
    TICK = (0.13, ())

    @property
    def width_mm(self) -> float:
        """Line width [mm]."""
        width_mm: float = self.value[0]
        return width_mm

    @property
    def dash_mm(self) -> tuple[float, ...]:
        """Lengths on and off [mm]; empty for a solid line."""
        dash_mm: tuple[float, ...] = self.value[1]
        return dash_mm


class Anchor(Enum):
    """Which point of a text's baseline is placed: its left end, its middle or its right end."""

    START = "start"
    MIDDLE = "middle"
    END = "end"

    @property
    def share(self) -> float:
        """How much of the text's length lies before the point: 0, a half or 1."""
        return {"start": 0.0, "middle": 0.5, "end": 1.0}[self.value]


@dataclass(frozen=True)
class Line:
    """A straight line from start to end [mm]."""

    start: Point
    end: Point
    pen: Pen = Pen.OUTLINE


@dataclass(frozen=True)
class Polyline:
    """A chain of straight lines [mm]; closed joins the last point to the first; filled paints it black."""

    points: tuple[Point, ...]
    pen: Pen = Pen.OUTLINE
    closed: bool = False
    filled: bool = False


@dataclass(frozen=True)
class Text:
    """One line of text: baseline point [mm], size [pt], turned by angle_rad anticlockwise about it."""

    at: Point
    text: str
    size_pt: float = 8.0
    anchor: Anchor = Anchor.START
    angle_rad: float = 0.0
    bold: bool = False


Item = Line | Polyline | Text


@dataclass(frozen=True)
class Drawing:
    """Recorded items in the order they are painted."""

    items: tuple[Item, ...] = field(default=())

    def __iter__(self) -> Iterator[Item]:
        """Items in the order of painting."""
        return iter(self.items)

    def __add__(self, other: Drawing) -> Drawing:
        """Both drawings, other on top."""
        return Drawing(self.items + other.items)

    def moved(self, dx_mm: float, dy_mm: float, turn_rad: float = 0.0) -> Drawing:
        """Turned anticlockwise about the origin, then moved."""
        if not turn_rad:
            return self if dx_mm == dy_mm == 0.0 else self._shifted(dx_mm, dy_mm)
        cos, sin = math.cos(turn_rad), math.sin(turn_rad)

        def put(p: Point) -> Point:
            return (cos * p[0] - sin * p[1] + dx_mm, sin * p[0] + cos * p[1] + dy_mm)

        return Drawing(tuple(_moved(item, put, turn_rad) for item in self.items))

    def _shifted(self, dx: float, dy: float) -> Drawing:
        items: list[Item] = []
        for item in self.items:
            if isinstance(item, Line):
                (x0, y0), (x1, y1) = item.start, item.end
                items.append(Line((x0 + dx, y0 + dy), (x1 + dx, y1 + dy), item.pen))
            elif isinstance(item, Polyline):
                points = tuple([(x + dx, y + dy) for x, y in item.points])
                items.append(Polyline(points, item.pen, item.closed, item.filled))
            else:
                x, y = item.at
                at = (x + dx, y + dy)
                items.append(Text(at, item.text, item.size_pt, item.anchor, item.angle_rad, item.bold))
        return Drawing(tuple(items))


def _moved(item: Item, put: Callable[[Point], Point], turn_rad: float) -> Item:
    if isinstance(item, Line):
        return Line(put(item.start), put(item.end), item.pen)
    if isinstance(item, Polyline):
        return Polyline(tuple(put(p) for p in item.points), item.pen, item.closed, item.filled)
    return Text(put(item.at), item.text, item.size_pt, item.anchor, item.angle_rad + turn_rad, item.bold)


def drawing(items: Iterable[Item]) -> Drawing:
    """A drawing of the given items."""
    return Drawing(tuple(items))
