"""Sheets of a template larger than a page: each tile with its name and a key plan over it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from render.clip import clip_segment
from render.drawing import Anchor, Drawing, Item, Line, Pen, Point, Text, drawing
from render.paper import Layout, Page
from render.shapes import MM_PER_PT, Box, item_box, rectangle, segments
from render.tiles import Grid, registration_marks, seams, tile_drawing, tile_name, used_cells
from render.title_block import shortened

_HEAD_GAP_MM = 4.0
_CELL_WIDTH_MM, _CELL_HEIGHT_MM = 10.0, 4.2
_KEY_WIDTH_MM, _KEY_HEIGHT_MM = 76.0, 18.0
_KEY_STEP_MM = 0.4
_ADVICE = (
    "Cut one tile of each two along the thin seam line, lay it on the other so that",
    "crosses with the same figures meet, tape. Figures: mm on the template.",
    "The key plan is not to scale; this tile is framed.",
)


@dataclass(frozen=True)
class _Tiling:
    """A template, how it is parted, and whether it lies on its side on the page (turned anticlockwise)."""

    title: str
    template: Drawing
    box: Box
    grid: Grid
    used: tuple[tuple[int, int], ...]
    turned: bool
    key_mm: tuple[float, float]

    @property
    def head_mm(self) -> float:
        """Height of the strip over each tile."""
        return self.key_mm[1] + _HEAD_GAP_MM


def tile_pages(
    section: str,
    title: str,
    template: Drawing,
    box: Box,
    layout: Layout,
    marks: tuple[str, ...] = (),
    may_turn: bool = True,
    seams_x_mm: Sequence[float] = (),
    seams_y_mm: Sequence[float] = (),
) -> tuple[Page, ...]:
    """Pages that show a template at true scale, each with its tile's name, a key plan and crosses.

    Whichever way round takes fewer pages.  Tiles with nothing on them are left out.
    Errors: GeometryError when texts leave no place for a seam or a mark.
    """
    ways = [
        _tiling(title, template, box, layout, turned, seams_x_mm, seams_y_mm)
        for turned in ((False, True) if may_turn else (False,))
    ]
    tiling = min(ways, key=lambda way: len(way.used))
    crosses_at = registration_marks(template, tiling.grid, tiling.used)
    pages = []
    for cell in tiling.used:
        body = tile_drawing(template, tiling.grid, cell, tiling.used, crosses_at)
        window = tiling.grid.window(*cell)
        tall_mm = window.width if tiling.turned else window.height
        page_layout = layout.cut_for(tall_mm + tiling.head_mm)
        foot_mm = page_layout.height_mm - tiling.head_mm - tall_mm
        if tiling.turned:
            placed = body.moved(window.top, foot_mm - window.left, math.pi / 2.0)
        else:
            placed = body.moved(-window.left, foot_mm - window.bottom)
        head = _head(tiling, cell, page_layout)
        name = f"{title}, tile {tile_name(*cell)}"
        pages.append(Page(section, name, page_layout, head + placed, marks))
    return tuple(pages)


def _tiling(
    title: str,
    template: Drawing,
    box: Box,
    layout: Layout,
    turned: bool,
    seams_x_mm: Sequence[float],
    seams_y_mm: Sequence[float],
) -> _Tiling:
    key_mm = _key_size_mm(box, layout, turned)
    room = (layout.width_mm, layout.height_mm - key_mm[1] - _HEAD_GAP_MM)
    room_x, room_y = (room[1], room[0]) if turned else room
    xs = seams(template, box.left, box.right, room_x, 0, seams_x_mm)
    ys = seams(template, box.bottom, box.top, room_y, 1, seams_y_mm)
    grid = Grid(xs, ys)
    return _Tiling(title, template, box, grid, used_cells(template, grid), turned, key_mm)


def _key_size_mm(box: Box, layout: Layout, turned: bool) -> tuple[float, float]:
    """Width and height of a key plan whose cells take their names, however many rows there are."""
    tall_mm = box.width if turned else box.height
    rows = math.ceil(tall_mm / (0.6 * layout.height_mm)) + 1
    return (_KEY_WIDTH_MM, max(_KEY_HEIGHT_MM, rows * _CELL_HEIGHT_MM))


def _head(tiling: _Tiling, cell: tuple[int, int], layout: Layout) -> Drawing:
    """The strip at the top of a tile's page: title, name, how to join, and the key plan at the right."""
    left = layout.width_mm - tiling.key_mm[0]
    top = layout.height_mm
    room_mm = left - 4.0
    words = (
        (shortened(tiling.title, room_mm, 9.0, bold=True), 9.0, True, 3.2),
        (f"Tile {tile_name(*cell)}, {len(tiling.used)} tiles in all", 9.0, True, 7.4),
        *((line, 7.0, False, 11.6 + 3.1 * i) for i, line in enumerate(_ADVICE)),
    )
    texts = [Text((0.0, top - down), line, size_pt, bold=bold) for line, size_pt, bold, down in words]
    frame = Box(left, top - tiling.key_mm[1], layout.width_mm - 0.2, top - 0.2)
    return drawing(texts) + drawing(_key_plan(tiling, cell, frame))


def _key_plan(tiling: _Tiling, cell: tuple[int, int], frame: Box) -> Iterator[Item]:
    """The tiles in use with their names, this one framed, over the template's outline; not to scale."""
    names: list[Text] = []
    for one in tiling.used:
        room = _on_plan_box(tiling, tiling.grid.cell(*one), frame)
        yield rectangle(room, Pen.TICK)
        if one == cell:
            yield rectangle(room.grown(-0.5), Pen.OBJECT)
        x, y = room.middle
        at = (x, y - 0.36 * 7.0 * MM_PER_PT)
        names.append(Text(at, tile_name(*one), 7.0, Anchor.MIDDLE, bold=one == cell))
    rooms = [item_box(name).grown(0.2) for name in names]
    yield from names
    for start, end in _plan_lines(tiling, frame):
        yield from (Line(a, b, Pen.TICK) for a, b in _clear_of(start, end, rooms))


def _on_plan(tiling: _Tiling, point: Point, frame: Box) -> Point:
    across = (point[0] - tiling.box.left) / tiling.box.width
    up = (point[1] - tiling.box.bottom) / tiling.box.height
    if tiling.turned:
        across, up = 1.0 - up, across
    return (frame.left + across * frame.width, frame.bottom + up * frame.height)


def _on_plan_box(tiling: _Tiling, box: Box, frame: Box) -> Box:
    ends = [_on_plan(tiling, corner, frame) for corner in (box.corners[0], box.corners[2])]
    xs, ys = sorted(end[0] for end in ends), sorted(end[1] for end in ends)
    return Box(xs[0], ys[0], xs[1], ys[1])


def _plan_lines(tiling: _Tiling, frame: Box) -> Iterator[tuple[Point, Point]]:
    """The template's heavier lines on the key plan, steps too small to see run together."""
    for item in tiling.template:
        if isinstance(item, Text) or item.pen not in (Pen.TRACE, Pen.OUTLINE, Pen.OBJECT):
            continue
        chain = list(segments(item))
        if not chain:
            continue
        last = _on_plan(tiling, chain[0][0], frame)
        for _, end in chain[:-1]:
            here = _on_plan(tiling, end, frame)
            if math.dist(last, here) >= _KEY_STEP_MM:
                yield (last, here)
                last = here
        yield (last, _on_plan(tiling, chain[-1][1], frame))


def _clear_of(start: Point, end: Point, rooms: Sequence[Box]) -> list[tuple[Point, Point]]:
    """The parts of a straight line outside every room."""
    parts = [(start, end)]
    for room in rooms:
        parts = [piece for a, b in parts for piece in _outside(a, b, room)]
    return parts


def _outside(start: Point, end: Point, room: Box) -> list[tuple[Point, Point]]:
    inside = clip_segment(start, end, room)
    if inside is None:
        return [(start, end)]
    pieces = [(start, inside[0]), (inside[1], end)]
    return [piece for piece in pieces if piece[0] != piece[1]]
