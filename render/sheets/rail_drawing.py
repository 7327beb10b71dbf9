"""Draws a rail with its runs, corners, inside angles and marks, in as many parts as it takes to be read."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from render.pages.drawing import Item, Text, drawing
from render.pages.flow import Figure
from render.pages.shapes import Box, bounds, box_round
from render.sheets.rail_items import RailPart, view_items
from render.sheets.rail_views import View, chain, schematic_lengths_mm, views_of, whole_of
from templates_core.model import Rail
from templates_core.paths.directions import Vector

SCALES = (1, 2, 5, 10, 20, 25, 50, 100, 200)
SIZES_PT = (10.0, 9.0, 8.0)
LEAST_RUN_MM = 10.0
"""A run that is drawn shorter has no room for the corners at its ends."""
_SIDE_MM = 30.0
_ABOVE_MM = 14.0
"""Paper left round a view for labels."""
_SHARES = (0.42, 0.7, 1.0)
"""Of the height of a column, what a drawing is let take, more where less won't do."""
_TITLE_MM = 5.0
CLOSE_MM = 1.0
"""Paper left over and under a view when what it did not need is closed up."""


@dataclass(frozen=True)
class RailFigure:
    """One drawing of a rail.  caption: how it is seen and at what scale.  marks: of corners on it.

    is_overview: of the whole rail, whose parts follow.
    """

    caption: str
    figure: Figure
    marks: tuple[str, ...]
    is_overview: bool = False


def rail_figures(rail: Rail, units: str, width_mm: float, height_mm: float) -> tuple[RailFigure, ...]:
    """The rail drawn in figures no larger than this, each legible: one, or several that share a run.

    To a stated scale where that can be read, else with the long runs drawn short, and said so.  Angles of
    a rail that lies in a plane are true in either case.
    """
    parts = list(_figures(RailPart(rail, whole_of(rail.path), units), width_mm, height_mm))
    if len(parts) == 1:
        return tuple(parts)
    overview = rail_overview(rail, units, width_mm, height_mm)
    return tuple(parts) if overview is None else (overview, *parts)


def rail_overview(rail: Rail, units: str, width_mm: float, height_mm: float) -> RailFigure | None:
    """The whole rail with the marks of its corners alone; None where there is no room even for those."""
    whole = RailPart(rail, whole_of(rail.path), units, marks_only=True)
    return _first_drawn(whole, width_mm, height_mm)


def _first_drawn(part: RailPart, width_mm: float, height_mm: float) -> RailFigure | None:
    """The lowest drawing of a part that can be read; None where none can."""
    drawn = (_drawn(part, width_mm, share * height_mm) for share in _SHARES)
    return next((made for made in drawn if made is not None), None)


def _figures(part: RailPart, width_mm: float, height_mm: float) -> Iterator[RailFigure]:
    made = _first_drawn(part, width_mm, height_mm)
    if made is not None:
        yield made
        return
    if part.part.count <= 2:
        raise ValueError(f"rail {part.rail.mark}: the page is too small for the labels of one corner")
    for half in part.part.halves():
        yield from _figures(replace(part, part=half), width_mm, height_mm)


def _drawn(part: RailPart, width_mm: float, height_mm: float) -> RailFigure | None:
    """The part in this room; None when it can't be read there."""
    views = views_of(part.rail.path)
    path, first, count = part.rail.path, part.part.first, part.part.count
    true = chain(path, first, count, part.lengths_mm)
    scale = _scale(true, part, views, width_mm, height_mm)
    if scale is not None and not part.marks_only:
        return _labelled(part, views, true / scale, f"Drawn 1:{scale}", width_mm, height_mm)
    lengths = part.lengths_mm if part.part.ring else schematic_lengths_mm(part.lengths_mm)
    points = chain(path, first, count, lengths)
    fit = _largest(points, views, width_mm, height_mm)
    if not part.part.ring and not part.marks_only and count > 2 and min(lengths) * fit < LEAST_RUN_MM:
        return None
    note = "Not to scale" + ("; its angles are true" if views[0].true else "")
    return _labelled(part, views, points * fit, note, width_mm, height_mm)


def _room(views: Sequence[View], width_mm: float, height_mm: float) -> tuple[float, float]:
    """Width and height that the lines of all views together may take."""
    around = len(views) * (2 * _ABOVE_MM + _TITLE_MM)
    return width_mm - 2 * _SIDE_MM, height_mm - around


def _extent(points: Vector, views: Sequence[View]) -> tuple[float, float]:
    boxes = [box_round(view.seen(points)) for view in views]
    return max(box.width for box in boxes), sum(box.height for box in boxes)


def _largest(points: Vector, views: Sequence[View], width_mm: float, height_mm: float) -> float:
    """Factor on the points that makes them fill the room one way."""
    room, extent = _room(views, width_mm, height_mm), _extent(points, views)
    return min(have / need for have, need in zip(room, extent, strict=True) if need > 1e-6)


def _scale(
    points: Vector, part: RailPart, views: Sequence[View], width_mm: float, height_mm: float
) -> int | None:
    """The largest usual scale at which the part fits, where its shortest run can still be read."""
    fit = _largest(points, views, width_mm, height_mm)
    scale = next((scale for scale in SCALES if 1 / scale <= fit), None)
    return scale if scale is not None and min(part.lengths_mm) / scale >= LEAST_RUN_MM else None


def _labelled(
    part: RailPart, views: Sequence[View], points: Vector, note: str, width_mm: float, height_mm: float
) -> RailFigure | None:
    """The views one under another with every label, in the largest type that goes; None when none does."""
    for size_pt in SIZES_PT:
        top = 0.0
        items: list[Item] = []
        for number, view in enumerate(views):
            seen = view.seen(points)
            box = box_round(seen)
            top -= _TITLE_MM
            dx = width_mm / 2 - (box.left + box.right) / 2
            dy = top - _ABOVE_MM - box.top
            placed = [(x + dx, y + dy) for x, y in seen]
            bottom = top - 2 * _ABOVE_MM - box.height
            made = view_items(part, views, number, points, placed, Box(0.0, bottom, width_mm, top), size_pt)
            if made is None:
                break
            used = bounds(made)
            items.append(Text((0.0, top + 1.2), view.title, 8.5))
            items += drawing(made).moved(0.0, top - CLOSE_MM - used.top)
            top -= used.height + 2 * CLOSE_MM
        else:
            if -top > height_mm + 1e-6:
                return None
            figure = Figure(drawing(items), Box(0.0, top, width_mm, 0.0))
            marks = tuple(corner.mark for corner in part.corners)
            return RailFigure(_caption(part, views, note), figure, marks, part.marks_only)
    return None


def _caption(part: RailPart, views: Sequence[View], note: str) -> str:
    note += ". Go by the figures; don't measure the drawing. The arrow shows the way the rail is read."
    if len(views) > 1 and not part.marks_only:
        note += " Each run is named where it shows longest."
    if part.marks_only:
        return f"The whole rail; its parts follow. {note}"
    if part.part == whole_of(part.rail.path):
        return note
    marks = [corner.mark for corner in part.corners]
    which = f"corner {marks[0]}" if len(marks) == 1 else f"corners {marks[0]} to {marks[-1]}"
    return f"Part of the rail: {which}. {note}"
