"""Boxes round drawn things, and the arcs, arrows, dimensions and blanks that sheets are built from."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise

from render.pages.drawing import Anchor, Drawing, Item, Line, Pen, Point, Polyline, Text, drawing
from render.pages.pdf import ASCENT, DESCENT, text_width_mm

MM_PER_PT = 25.4 / 72.0
CHORD_ERROR_MM = 0.01
"""How far a drawn chord may leave the arc that it stands for."""


@dataclass(frozen=True)
class Box:
    """An upright rectangle [mm]: left, bottom, right, top."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def width(self) -> float:
        """Size along x."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """Size along y."""
        return self.top - self.bottom

    @property
    def middle(self) -> Point:
        """The centre of the box."""
        return ((self.left + self.right) / 2.0, (self.bottom + self.top) / 2.0)

    @property
    def corners(self) -> tuple[Point, Point, Point, Point]:
        """Corners anticlockwise from the lower left."""
        return (
            (self.left, self.bottom),
            (self.right, self.bottom),
            (self.right, self.top),
            (self.left, self.top),
        )

    def grown(self, by_mm: float) -> Box:
        """Moved out on all sides; in, when negative."""
        return Box(self.left - by_mm, self.bottom - by_mm, self.right + by_mm, self.top + by_mm)

    def joined(self, other: Box) -> Box:
        """The least box that holds both."""
        return Box(
            min(self.left, other.left),
            min(self.bottom, other.bottom),
            max(self.right, other.right),
            max(self.top, other.top),
        )

    def holds(self, other: Box, slack_mm: float = 1e-9) -> bool:
        """Whether the other box lies inside."""
        return (
            other.left >= self.left - slack_mm
            and other.bottom >= self.bottom - slack_mm
            and other.right <= self.right + slack_mm
            and other.top <= self.top + slack_mm
        )

    def meets(self, other: Box) -> bool:
        """Whether the two share more than an edge."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.bottom < other.top
            and other.bottom < self.top
        )


def box_round(points: Iterable[Point]) -> Box:
    """The least box that holds the points.  Errors: ValueError when there are none."""
    xs, ys = zip(*points, strict=True)
    return Box(min(xs), min(ys), max(xs), max(ys))


def text_box(text: Text) -> tuple[Point, Point, Point, Point]:
    """Corners of the room a text takes, turned with it: anticlockwise from the start of its foot."""
    width_mm = text_width_mm(text.text, text.size_pt, text.bold)
    size_mm = text.size_pt * MM_PER_PT
    back_mm = text.anchor.share * width_mm
    cos, sin = math.cos(text.angle_rad), math.sin(text.angle_rad)

    def put(along_mm: float, up_mm: float) -> Point:
        return (text.at[0] + along_mm * cos - up_mm * sin, text.at[1] + along_mm * sin + up_mm * cos)

    low, high = -DESCENT * size_mm, ASCENT * size_mm
    return (
        put(-back_mm, low),
        put(width_mm - back_mm, low),
        put(width_mm - back_mm, high),
        put(-back_mm, high),
    )


def item_points(item: Item) -> tuple[Point, ...]:
    """Points whose least box holds the item, pen width apart."""
    if isinstance(item, Line):
        return (item.start, item.end)
    if isinstance(item, Polyline):
        return item.points
    return text_box(item)


def item_box(item: Item) -> Box:
    """The least upright box that holds an item, pen width included."""
    box = box_round(item_points(item))
    return box if isinstance(item, Text) else box.grown(item.pen.width_mm / 2.0)


def bounds(items: Iterable[Item]) -> Box:
    """The least box that holds every item, pen widths and texts included.

    Errors: ValueError when there is no item.
    """
    boxes = [item_box(item) for item in items]
    if not boxes:
        raise ValueError("an empty drawing has no bounds")
    return box_round(point for box in boxes for point in (box.corners[0], box.corners[2]))


def rectangle(box: Box, pen: Pen = Pen.OUTLINE) -> Polyline:
    """The outline of a box."""
    return Polyline(box.corners, pen, closed=True)


def arc(
    centre: Point,
    radius_mm: float,
    start_rad: float,
    end_rad: float,
    pen: Pen = Pen.OUTLINE,
    max_chord_error_mm: float = CHORD_ERROR_MM,
) -> Polyline:
    """An arc from one direction to another, anticlockwise when end is greater, by chords within the error."""
    step_rad = 2.0 * math.acos(max(0.0, 1.0 - max_chord_error_mm / radius_mm))
    count = max(1, math.ceil(abs(end_rad - start_rad) / step_rad))
    angles = (start_rad + (end_rad - start_rad) * i / count for i in range(count + 1))
    return Polyline(
        tuple((centre[0] + radius_mm * math.cos(a), centre[1] + radius_mm * math.sin(a)) for a in angles), pen
    )


def circle(centre: Point, radius_mm: float, pen: Pen = Pen.OUTLINE) -> Polyline:
    """A full circle by chords within ``CHORD_ERROR_MM``."""
    points = arc(centre, radius_mm, 0.0, 2.0 * math.pi).points[:-1]
    return Polyline(points, pen, closed=True)


def arrowhead(tip: Point, direction_rad: float, length_mm: float = 2.2) -> Polyline:
    """A filled arrowhead that points along direction_rad and ends at tip."""
    half_mm = length_mm * 0.16
    cos, sin = math.cos(direction_rad), math.sin(direction_rad)
    base = (tip[0] - length_mm * cos, tip[1] - length_mm * sin)
    left = (base[0] - half_mm * sin, base[1] + half_mm * cos)
    right = (base[0] + half_mm * sin, base[1] - half_mm * cos)
    return Polyline((tip, left, right), Pen.TICK, closed=True, filled=True)


def readable(angle_rad: float) -> float:
    """The angle, or its opposite, at which text along that direction reads from below or from the right."""
    turned = math.remainder(angle_rad, 2.0 * math.pi)
    upright = -math.pi / 2.0 + 1e-9 < turned <= math.pi / 2.0 + 1e-9
    return turned if upright else math.remainder(turned + math.pi, 2.0 * math.pi)


def dimension(start: Point, end: Point, offset_mm: float, text: str, size_pt: float = 8.0) -> Drawing:
    """A dimension between two points, its line offset_mm to the left of start → end (right when negative).

    Arrowheads and text go outside the extension lines where there is no room between them.
    """
    length_mm = math.dist(start, end)
    along_rad = math.atan2(end[1] - start[1], end[0] - start[0])
    cos, sin = math.cos(along_rad), math.sin(along_rad)

    def put(along_mm: float, left_mm: float) -> Point:
        return (start[0] + along_mm * cos - left_mm * sin, start[1] + along_mm * sin + left_mm * cos)

    side = math.copysign(1.0, offset_mm)
    width_mm = text_width_mm(text, size_pt)
    roomy = length_mm >= width_mm + 6.0
    reach_mm = 0.0 if roomy else 5.0
    items: list[Item] = [
        Line(put(x, side * 1.0), put(x, offset_mm + side * 1.5), Pen.TICK) for x in (0.0, length_mm)
    ]
    items.append(Line(put(-reach_mm, offset_mm), put(length_mm + reach_mm, offset_mm), Pen.TICK))
    out_rad = along_rad if roomy else along_rad + math.pi
    items.append(arrowhead(put(length_mm, offset_mm), out_rad))
    items.append(arrowhead(put(0.0, offset_mm), out_rad + math.pi))
    angle_rad = readable(along_rad)
    flipped = abs(math.remainder(angle_rad - along_rad, 2.0 * math.pi)) > 1.0
    gap_mm = (DESCENT + 0.12) * size_pt * MM_PER_PT
    middle_mm = length_mm / 2.0 if roomy else length_mm + reach_mm + 1.0 + width_mm / 2.0
    lift_mm = (-gap_mm if flipped else gap_mm) if roomy else (-1.0 if not flipped else 1.0)
    items.append(Text(put(middle_mm, offset_mm + lift_mm), text, size_pt, Anchor.MIDDLE, angle_rad))
    return drawing(items)


def leader(tip: Point, knee: Point, text: str, size_pt: float = 8.0) -> Drawing:
    """An arrow on tip from a text beside knee, on the side away from the tip."""
    rightward = knee[0] >= tip[0]
    direction_rad = math.atan2(tip[1] - knee[1], tip[0] - knee[0])
    shelf = (knee[0] + (2.0 if rightward else -2.0), knee[1])
    place = (shelf[0] + (1.0 if rightward else -1.0), knee[1] - 0.35 * size_pt * MM_PER_PT)
    anchor = Anchor.START if rightward else Anchor.END
    line = Polyline((tip, knee, shelf), Pen.TICK)
    return drawing([line, arrowhead(tip, direction_rad), Text(place, text, size_pt, anchor)])


def moved_box(box: Box, dx_mm: float, dy_mm: float) -> Box:
    """The box moved."""
    return Box(box.left + dx_mm, box.bottom + dy_mm, box.right + dx_mm, box.top + dy_mm)


def path_of(item: Line | Polyline) -> tuple[Point, ...]:
    """The points of a drawn item in order, the first again at the end when it is closed."""
    if isinstance(item, Line):
        return (item.start, item.end)
    return (*item.points, item.points[0]) if item.closed else item.points


def segments(item: Item) -> Iterator[tuple[Point, Point]]:
    """The straight lines of a drawn item, the closing one too; none for a text."""
    return iter(()) if isinstance(item, Text) else pairwise(path_of(item))
