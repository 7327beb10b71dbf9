"""How a template larger than a page is parted: cells, seams, and the crosses that put tiles together."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from render.pages.clip import clip_segment, clipped, crosses
from render.pages.drawing import Drawing, Item, Line, Pen, Point, Text, drawing
from render.pages.shapes import Box, item_box, path_of
from templates_core.errors import GeometryError

OVERLAP_MM = 14.0
"""How far two tiles print the same strip; their seam runs along its middle."""
_LEAST_SHARE = 0.6
"""Least share of a page that a tile uses before a better seam is given up."""
_ARM_MM = 4.0
_MARK_PT = 7.0


@dataclass(frozen=True)
class Grid:
    """Cells of a template: xs and ys are their edges [mm], the inner ones seams on whole millimetres."""

    xs: tuple[float, ...]
    ys: tuple[float, ...]

    def cells(self) -> Iterator[tuple[int, int]]:
        """Row and column of each cell, rows from the top, both from 0."""
        for row in range(len(self.ys) - 1):
            for column in range(len(self.xs) - 1):
                yield (row, column)

    def cell(self, row: int, column: int) -> Box:
        """The cell of a row, counted from the top, and a column."""
        low = len(self.ys) - 2 - row
        return Box(self.xs[column], self.ys[low], self.xs[column + 1], self.ys[low + 1])

    def window(self, row: int, column: int) -> Box:
        """What the tile of a cell prints: the cell, and half of the overlap past each seam."""
        cell, half = self.cell(row, column), OVERLAP_MM / 2.0
        return Box(
            cell.left - (half if column > 0 else 0.0),
            cell.bottom - (half if row < len(self.ys) - 2 else 0.0),
            cell.right + (half if column < len(self.xs) - 2 else 0.0),
            cell.top + (half if row > 0 else 0.0),
        )


@dataclass(frozen=True)
class RegistrationMark:
    """A cross at a point of the template, on the seam between two tiles; upright when the seam is."""

    at: Point
    upright: bool


def tile_name(row: int, column: int) -> str:
    """``R1C2`` for the first row from the top and the second column."""
    return f"R{row + 1}C{column + 1}"


def seams(
    template: Drawing,
    low: float,
    high: float,
    room_mm: float,
    axis: int,
    wanted: Sequence[float] = (),
    lean: float | None = None,
) -> tuple[float, ...]:
    """Edges and seams of tiles along x (axis 0) or y (1): as few as go, on whole millimetres.

    Tiles are of even size; with a lean from 0 to 1 the seams lie as low or as high as costs no tile.
    A seam leaves each text whole on one of its tiles and runs through none if it can; among those that
    cost no further tile, wanted ones come first.
    Errors: GeometryError when texts leave no seam on the outer part of a page.
    """
    rooms = [_extent(item, axis) for item in template if isinstance(item, Text)]
    preferred = {round(seam) for seam in wanted}
    step_mm = room_mm - OVERLAP_MM
    edges, start = [low], low
    while high - start > room_mm:
        count = math.ceil((high - start - OVERLAP_MM) / step_mm)
        even = start + (high - start) / count
        least_kept = high + OVERLAP_MM / 2.0 - (count - 1) * step_mm - OVERLAP_MM
        reach = math.floor(start + room_mm - OVERLAP_MM / 2.0)
        least = math.ceil(start + _LEAST_SHARE * room_mm)
        places = range(least, reach + 1)
        free = [s for s in places if not any(a < s < b for a, b in rooms)]
        free = free or [s for s in places if all(_whole(s, a, b) for a, b in rooms)]
        if not free:
            raise GeometryError(f"texts leave no place to part the tiles between {least} and {reach} mm")
        lowest = max(least, least_kept)
        aim = even if lean is None else lowest + lean * (reach - lowest)
        seam = min(free, key=lambda s: (s < least_kept, s not in preferred, abs(s - aim)))
        edges.append(float(seam))
        start = seam - OVERLAP_MM / 2.0
    return (*edges, high)


def _extent(item: Item, axis: int) -> tuple[float, float]:
    box = item_box(item)
    return (box.left, box.right) if axis == 0 else (box.bottom, box.top)


def _whole(seam: float, low: float, high: float) -> bool:
    """Whether a text from low to high is whole on one of the tiles at a seam."""
    return high <= seam + OVERLAP_MM / 2.0 or low >= seam - OVERLAP_MM / 2.0


def used_cells(template: Drawing, grid: Grid) -> tuple[tuple[int, int], ...]:
    """Rows and columns of the cells that a line or the middle of a text lies in, row by row."""
    seams_x, seams_y = grid.xs[1:-1], grid.ys[1:-1]
    top = len(seams_y)
    found: set[tuple[int, int]] = set()
    for item in template:
        path = (item_box(item).middle,) if isinstance(item, Text) else path_of(item)
        places = [(bisect_right(seams_x, x), bisect_right(seams_y, y)) for x, y in path]
        found.update(places)
        for i, (here, there) in enumerate(pairwise(places)):
            if here != there:
                columns, rows = (range(min(pair), max(pair) + 1) for pair in zip(here, there, strict=True))
                between = ((column, row) for column in columns for row in rows)
                found.update(
                    c for c in between if clip_segment(path[i], path[i + 1], grid.cell(top - c[1], c[0]))
                )
    return tuple(sorted((top - row, column) for column, row in found))


def registration_marks(
    template: Drawing, grid: Grid, used: Sequence[tuple[int, int]]
) -> tuple[RegistrationMark, ...]:
    """Two crosses, as far apart as there is room, on the seam of each two neighbours; whole millimetres.

    Errors: GeometryError when lines or texts leave no room for them.
    """
    found: list[RegistrationMark] = []
    for row, column in used:
        cell = grid.cell(row, column)
        if (row, column + 1) in used:
            found += _pair(template, cell.right, cell.bottom, cell.top, True)
        if (row + 1, column) in used:
            found += _pair(template, cell.bottom, cell.left, cell.right, False)
    return tuple(found)


def _pair(template: Drawing, seam: float, low: float, high: float, upright: bool) -> list[RegistrationMark]:
    """Marks on one seam between two cells, clear of the seams across it."""
    half = OVERLAP_MM / 2.0
    low, high = low + _ARM_MM + 1.0, high - _ARM_MM - 1.0
    band = Box(seam - half, low, seam + half, high) if upright else Box(low, seam - half, high, seam + half)
    lines = clipped((item for item in template if not isinstance(item, Text)), band.grown(1.0))
    near = lines + drawing(t for t in template if isinstance(t, Text) and item_box(t).meets(band))
    places = [float(place) for place in range(math.ceil(low), math.floor(high) + 1)]
    marks = [RegistrationMark((seam, place) if upright else (place, seam), upright) for place in places]
    marks = [mark for mark in marks if band.holds(mark_room(mark))]
    for room in (mark_room, _label_room):
        first = _first_clear(marks, room, near)
        last = _first_clear(marks[::-1], room, near)
        if first is not None and last is not None:
            apart = math.dist(first.at, last.at) > 8.0 * _ARM_MM
            return [first, last] if apart else [first]
    raise GeometryError(f"no room for a registration mark on the seam at {seam:g} mm")


def _first_clear(
    marks: Sequence[RegistrationMark], room: Callable[[RegistrationMark], Box], near: Drawing
) -> RegistrationMark | None:
    return next((mark for mark in marks if not crosses(near, room(mark))), None)


def mark_items(mark: RegistrationMark) -> tuple[Item, ...]:
    """A cross with its template coordinates beside the seam."""
    x, y = mark.at
    label = f"x {_signed(x)} y {_signed(y)}"
    cross = (
        Line((x - _ARM_MM, y), (x + _ARM_MM, y), Pen.TICK),
        Line((x, y - _ARM_MM), (x, y + _ARM_MM), Pen.TICK),
    )
    if mark.upright:
        return (*cross, Text((x - 1.4, y + 1.4), label, _MARK_PT, angle_rad=math.pi / 2.0))
    return (*cross, Text((x + 1.4, y + 1.4), label, _MARK_PT))


def mark_room(mark: RegistrationMark) -> Box:
    """The room of a cross and its label, with a little clear paper round it."""
    boxes = [item_box(item) for item in mark_items(mark)]
    room = boxes[0]
    for box in boxes[1:]:
        room = room.joined(box)
    return room.grown(0.4)


def _label_room(mark: RegistrationMark) -> Box:
    return item_box(mark_items(mark)[-1]).grown(0.4)


def _signed(value_mm: float) -> str:
    return f"{value_mm:.0f}".replace("-", "−")


def tile_drawing(
    template: Drawing,
    grid: Grid,
    cell: tuple[int, int],
    used: Sequence[tuple[int, int]],
    marks: Sequence[RegistrationMark],
) -> Drawing:
    """What one tile prints, in template coordinates: the window, its crosses and its seam lines."""
    window = grid.window(*cell)
    shown = clipped(template, window)
    crosses_here = [item for mark in marks if window.holds(mark_room(mark)) for item in mark_items(mark)]
    texts = [item_box(item).grown(0.5) for item in shown if isinstance(item, Text)]
    lines = [part for line in _seam_lines(grid, cell, used) for part in _broken(line, texts)]
    return shown + drawing(crosses_here) + drawing(lines)


def _seam_lines(grid: Grid, cell: tuple[int, int], used: Sequence[tuple[int, int]]) -> Iterator[Line]:
    row, column = cell
    box = grid.cell(row, column)
    sides = (
        ((row, column - 1), (box.left, box.bottom), (box.left, box.top)),
        ((row, column + 1), (box.right, box.bottom), (box.right, box.top)),
        ((row - 1, column), (box.left, box.top), (box.right, box.top)),
        ((row + 1, column), (box.left, box.bottom), (box.right, box.bottom)),
    )
    for neighbour, start, end in sides:
        if neighbour in used:
            yield Line(start, end, Pen.TICK)


def _broken(line: Line, rooms: Sequence[Box]) -> list[Line]:
    """An upright or level line, left out where it would run through one of the rooms."""
    upright = line.start[0] == line.end[0]
    fixed = line.start[0] if upright else line.start[1]
    low, high = sorted((line.start[1], line.end[1]) if upright else (line.start[0], line.end[0]))
    gaps = sorted(
        (box.bottom, box.top) if upright else (box.left, box.right)
        for box in rooms
        if (box.left < fixed < box.right if upright else box.bottom < fixed < box.top)
    )
    parts = []
    for start, end in [*gaps, (high, high)]:
        if min(start, high) > low:
            parts.append((low, min(start, high)))
        low = max(low, end)
    ends = [((fixed, a), (fixed, b)) if upright else ((a, fixed), (b, fixed)) for a, b in parts]
    return [Line(a, b, line.pen) for a, b in ends]
