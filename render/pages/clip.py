"""Cutting a drawing to a box: the part of each line that lies inside, exactly."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from render.pages.drawing import Drawing, Item, Line, Point, Polyline, Text, drawing
from render.pages.shapes import Box, box_round, item_box, item_points, segments


def clipped(items: Iterable[Item], box: Box) -> Drawing:
    """What of a drawing lies in the box: lines cut at its edges, texts only where they fit whole."""
    kept: list[Item] = []
    for item in items:
        if isinstance(item, Text):
            kept += [item] if box.holds(item_box(item)) else []
        elif box.holds(box_round(item_points(item))):
            kept.append(item)
        elif isinstance(item, Line):
            part = clip_segment(item.start, item.end, box)
            kept += [Line(*part, item.pen)] if part else []
        elif item.filled:
            points = _clip_area(item.points, box)
            kept += [Polyline(points, item.pen, closed=True, filled=True)] if len(points) > 2 else []
        else:
            kept += [Polyline(chain, item.pen) for chain in _clip_chain(item, box)]
    return drawing(kept)


def crosses(items: Iterable[Item], box: Box) -> bool:
    """Whether a line or the room of a text comes into the box."""
    for item in items:
        around = item_box(item)
        if not around.meets(box):
            continue
        if isinstance(item, Text) or any(clip_segment(a, b, box) for a, b in segments(item)):
            return True
    return False


def clip_segment(start: Point, end: Point, box: Box) -> tuple[Point, Point] | None:
    """The part of a straight line inside a box (Liang and Barsky, 1984); None when there is none.

    A line that only touches a corner or ends on the edge has no part inside.
    """
    (x0, y0), (x1, y1) = start, end
    left, right, bottom, top = box.left, box.right, box.bottom, box.top
    if (x0 < left > x1) or (x0 > right < x1) or (y0 < bottom > y1) or (y0 > top < y1):
        return None
    if left <= x0 <= right and left <= x1 <= right and bottom <= y0 <= top and bottom <= y1 <= top:
        return (start, end)
    dx, dy = x1 - x0, y1 - y0
    t0, t1 = 0.0, 1.0
    sides = (
        (-dx, x0 - left),
        (dx, right - x0),
        (-dy, y0 - bottom),
        (dy, top - y0),
    )
    for p, q in sides:
        if p == 0.0:
            if q < 0.0:
                return None
        elif p < 0.0:
            t0 = max(t0, q / p)
        else:
            t1 = min(t1, q / p)
    if t0 >= t1:
        return None
    first = start if t0 == 0.0 else (x0 + t0 * dx, y0 + t0 * dy)
    last = end if t1 == 1.0 else (x0 + t1 * dx, y0 + t1 * dy)
    return (first, last)


def _clip_chain(item: Polyline, box: Box) -> Iterator[tuple[Point, ...]]:
    """The chains of a polyline inside a box, each as long as it stays in."""
    chain: list[Point] = []
    for start, end in segments(item):
        part = clip_segment(start, end, box)
        if part is None:
            continue
        if not chain or chain[-1] != part[0]:
            if chain:
                yield tuple(chain)
            chain = [part[0]]
        chain.append(part[1])
    if chain:
        yield tuple(chain)


def _clip_area(points: tuple[Point, ...], box: Box) -> tuple[Point, ...]:
    """A convex filled area cut to a box, one edge after another (Sutherland and Hodgman, 1974)."""
    for axis, limit, sign in ((0, box.left, 1), (0, box.right, -1), (1, box.bottom, 1), (1, box.top, -1)):
        kept: list[Point] = []
        for a, b in zip(points, points[1:] + points[:1], strict=True):
            inside_a, inside_b = sign * (a[axis] - limit) >= 0.0, sign * (b[axis] - limit) >= 0.0
            if inside_a:
                kept.append(a)
            if inside_a != inside_b:
                share = (limit - a[axis]) / (b[axis] - a[axis])
                kept.append((a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])))
        points = tuple(kept)
    return points
