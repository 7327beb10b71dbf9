"""What is drawn of a rail in one view: its line, corners, angles and ends, and the labels of them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely

from render.pages.drawing import Drawing, Item, Line, Pen, Point, Polyline, Text, drawing
from render.pages.labels import Label, place_labels
from render.pages.shapes import Box, arc, arrowhead, circle, path_of
from render.sheets.rail_views import Part, View
from templates_core.elbows.corners import Corner
from templates_core.model import Rail
from templates_core.paths.directions import Vector
from templates_core.paths.rail_path import Run
from templates_core.units import degrees_text, format_length

_ARC_MM = 5.0
_DOT_MM = 0.9


@dataclass(frozen=True, eq=False)
class RailPart:
    """Runs of a rail that are drawn together.

    marks_only: corner marks and nothing else, for the overview of a rail that is drawn in parts.
    """

    rail: Rail
    part: Part
    units: str
    marks_only: bool = False

    @property
    def corners(self) -> tuple[Corner, ...]:
        """Corners between these runs, and the last one of a ring, which is at its start."""
        return tuple(self.rail.corners[place] for place in self.part.corner_places(len(self.rail.path.runs)))

    @property
    def runs(self) -> list[Run]:
        """The runs in order."""
        return [self.rail.path.runs[place] for place in self.part.places(len(self.rail.path.runs))]

    @property
    def lengths_mm(self) -> list[float]:
        """Lengths of the runs [mm]."""
        return [run.length_mm for run in self.runs]


def view_items(
    part: RailPart,
    views: Sequence[View],
    number: int,
    points: Vector,
    seen: Sequence[Point],
    room: Box,
    size_pt: float,
) -> Drawing | None:
    """A part of a rail in one of its views, labelled in type of this size; None where a label has no place.

    points: ends of its runs in space, at the size that they are drawn, shape (n, 3).  seen: the same on the
    paper.  room: where the labels may stand.
    """
    items: list[Item] = [Polyline(tuple(seen), Pen.OBJECT)]
    items += _corner_items(part, seen, views[number].true and not part.marks_only)
    items += _ends(part, seen)
    lines = [pair for item in items if not isinstance(item, Text) for pair in pairwise(_coarse(item))]
    labels = list(_corner_labels(part, seen))
    if not part.marks_only:
        labels += _run_labels(part, views, number, points, seen)
    made = place_labels(labels, shapely.linestrings(lines), room, size_pt)
    return None if made is None else drawing(items) + made


def _coarse(item: Line | Polyline) -> tuple[Point, ...]:
    """The points of a drawn item, few enough of an arc to keep clear of quickly."""
    points = path_of(item)
    step = max(1, len(points) // 8)
    return (*points[:-1:step], points[-1]) if item.pen is not Pen.OBJECT else points


def _corner_points(part: RailPart, seen: Sequence[Point]) -> Iterator[tuple[Corner, Point, Point, Point]]:
    """Each corner with its point and the points before and after it."""
    for i, corner in enumerate(part.corners, 1):
        after = seen[i + 1] if i + 1 < len(seen) else seen[1]
        yield corner, seen[i - 1], seen[i], after


def _bearing(start: Point, end: Point) -> float | None:
    if math.dist(start, end) < 1e-3:
        return None
    return math.atan2(end[1] - start[1], end[0] - start[0])


def _corner_items(part: RailPart, seen: Sequence[Point], arcs: bool) -> Iterator[Item]:
    for corner, before, at, after in _corner_points(part, seen):
        back, out = _bearing(at, before), _bearing(at, after)
        if corner.mitre is not None and back is not None and out is not None:
            across = _between(back, out)
            x, y = 2.2 * math.cos(across), 2.2 * math.sin(across)
            yield Line((at[0] - x, at[1] - y), (at[0] + x, at[1] + y), Pen.OUTLINE)
        else:
            yield circle(at, _DOT_MM)
        short = min(math.dist(before, at), math.dist(at, after))
        if arcs and back is not None and out is not None and short > 2 * _ARC_MM:
            yield arc(at, _ARC_MM, back, back + math.remainder(out - back, 2 * math.pi), Pen.TICK)


def _between(one_rad: float, two_rad: float) -> float:
    """The direction halfway between two, on the side of the angle under 180°."""
    return one_rad + math.remainder(two_rad - one_rad, 2 * math.pi) / 2


def _ends(part: RailPart, seen: Sequence[Point]) -> Iterator[Item]:
    """An arrow along the first run of the part that can be seen, the way the rail is read; end ticks."""
    for start, end in pairwise(seen):
        bearing = _bearing(start, end)
        if bearing is not None and math.dist(start, end) > 6.0:
            yield arrowhead((start[0] * 0.3 + end[0] * 0.7, start[1] * 0.3 + end[1] * 0.7), bearing, 3.0)
            break
    if part.part.ring:
        return
    for end, inner in ((seen[0], seen[1]), (seen[-1], seen[-2])):
        bearing = _bearing(end, inner)
        if bearing is not None:
            x, y = -1.5 * math.sin(bearing), 1.5 * math.cos(bearing)
            yield Line((end[0] - x, end[1] - y), (end[0] + x, end[1] + y), Pen.OBJECT)


def _corner_labels(part: RailPart, seen: Sequence[Point]) -> Iterator[Label]:
    for corner, before, at, after in _corner_points(part, seen):
        back, out = _bearing(at, before), _bearing(at, after)
        known = [bearing for bearing in (back, out) if bearing is not None]
        inward = _between(known[0], known[-1]) if known else -math.pi / 2
        words = ((corner.mark, True), (degrees_text(corner.inside_angle_rad), False))
        yield Label(words[: 1 if part.marks_only else 2], at, inward + math.pi, edge_mm=_DOT_MM)


def _run_labels(
    part: RailPart, views: Sequence[View], number: int, points: Vector, seen: Sequence[Point]
) -> Iterator[Label]:
    """Pipe mark and run length for the runs that show longest in this view, longest run first."""
    middle = np.mean(seen, axis=0)
    pipes = {member.run_number: member.mark for member in part.rail.members}
    labels = []
    for i, (start, end) in enumerate(pairwise(seen)):
        shown = [math.dist(*view.seen(points[i : i + 2])) for view in views]
        if shown.index(max(shown)) != number:
            continue
        run = part.runs[i]
        at = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
        length = format_length(run.length_mm, part.units, with_unit=False)
        words: tuple[tuple[str, bool], ...] = ((f"run {length}", False),)
        if run.number in pipes:
            words = ((pipes[run.number], False), *words)
        bearing = _bearing(start, end) or 0.0
        side = math.copysign(
            1.0, (at[1] - middle[1]) * math.cos(bearing) - (at[0] - middle[0]) * math.sin(bearing)
        )
        labels.append((math.dist(start, end), Label(words, at, bearing + side * math.pi / 2, (start, end))))
    return (label for _, label in sorted(labels, key=lambda pair: -pair[0]))
