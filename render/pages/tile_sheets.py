"""Sheets of a template larger than a page: each tile with its name and a key plan over it."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from render.pages.clip import clip_segment
from render.pages.drawing import Anchor, Drawing, Item, Line, Pen, Point, Text, drawing
from render.pages.paper import Layout, Page
from render.pages.shapes import MM_PER_PT, Box, item_box, rectangle, segments
from render.pages.tiles import (
    Grid,
    RegistrationMark,
    registration_marks,
    seams,
    tile_drawing,
    tile_name,
    used_cells,
)
from render.pages.title_block import shortened
from templates_core.errors import GeometryError

_HEAD_GAP_MM = 4.0
_ADVICE_DOWN_MM, _ADVICE_STEP_MM = 11.6, 3.1
_CELL_WIDTH_MM, _CELL_HEIGHT_MM = 10.0, 4.2
_KEY_WIDTH_MM, _KEY_HEIGHT_MM = 76.0, 26.0
_KEY_STEP_MM = 0.4
_LEANS = (None, 0.0, 1.0)
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
        return _head_mm(self.key_mm)


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
    tiling, crosses_at = _best_tiling(title, template, box, layout, may_turn, (seams_x_mm, seams_y_mm))
    outline = _outline_on_plan(tiling)
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
        head = _head(tiling, cell, outline, page_layout)
        name = f"{title}, tile {tile_name(*cell)}"
        pages.append(Page(section, name, page_layout, head + placed, marks))
    return tuple(pages)


def _best_tiling(
    title: str,
    template: Drawing,
    box: Box,
    layout: Layout,
    may_turn: bool,
    wanted: tuple[Sequence[float], Sequence[float]],
) -> tuple[_Tiling, tuple[RegistrationMark, ...]]:
    """The tiling with the fewest tiles and then the widest ones that has room for its crosses.

    Either way round, seams leaning or even.
    """
    tilings: list[_Tiling] = []
    failures: list[GeometryError] = []
    for turned in (False, True) if may_turn else (False,):
        key_mm = _key_size_mm(box, layout, turned)
        room = (layout.width_mm, layout.height_mm - _head_mm(key_mm))
        room_x, room_y = (room[1], room[0]) if turned else room
        for lean_x, lean_y in itertools.product(_LEANS, _LEANS):
            try:
                xs = seams(template, box.left, box.right, room_x, 0, wanted[0], lean_x)
                ys = seams(template, box.bottom, box.top, room_y, 1, wanted[1], lean_y)
            except GeometryError as failure:
                failures.append(failure)
                continue
            grid = Grid(xs, ys)
            tilings.append(_Tiling(title, template, box, grid, used_cells(template, grid), turned, key_mm))
    for tiling in sorted(tilings, key=lambda tiling: (len(tiling.used), -_narrowest_mm(tiling.grid))):
        try:
            return tiling, registration_marks(template, tiling.grid, tiling.used)
        except GeometryError as failure:
            failures.append(failure)
    raise failures[0]


def _head_mm(key_mm: tuple[float, float]) -> float:
    """Height of the strip over a tile: the key plan's, or of the words beside a flatter one."""
    return max(key_mm[1], _ADVICE_DOWN_MM + _ADVICE_STEP_MM * len(_ADVICE)) + _HEAD_GAP_MM


def _narrowest_mm(grid: Grid) -> float:
    """Width of the narrowest row or column of tiles [mm]."""
    return min(b - a for line in (grid.xs, grid.ys) for a, b in itertools.pairwise(line))


def _key_size_mm(box: Box, layout: Layout, turned: bool) -> tuple[float, float]:
    """Width and height of the key plan: in proportion where its cells then take their names."""
    wide_mm, tall_mm = (box.height, box.width) if turned else (box.width, box.height)
    columns = math.ceil(wide_mm / (0.6 * layout.width_mm)) + 1
    rows = math.ceil(tall_mm / (0.6 * layout.height_mm)) + 1
    scale = min(_KEY_WIDTH_MM / wide_mm, _KEY_HEIGHT_MM / tall_mm)
    if wide_mm * scale >= columns * _CELL_WIDTH_MM and tall_mm * scale >= rows * _CELL_HEIGHT_MM:
        return (wide_mm * scale, tall_mm * scale)
    return (_KEY_WIDTH_MM, max(_KEY_HEIGHT_MM, rows * _CELL_HEIGHT_MM))


def _head(tiling: _Tiling, cell: tuple[int, int], outline: Drawing, layout: Layout) -> Drawing:
    """The strip at the top of a tile's page: title, name, how to join, and the key plan at the right."""
    left = layout.width_mm - tiling.key_mm[0] - 0.2
    top = layout.height_mm
    room_mm = left - 4.0
    words = (
        (shortened(tiling.title, room_mm, 9.0, bold=True), 9.0, True, 3.2),
        (f"Tile {tile_name(*cell)}, {len(tiling.used)} tiles in all", 9.0, True, 7.4),
        *((line, 7.0, False, _ADVICE_DOWN_MM + _ADVICE_STEP_MM * i) for i, line in enumerate(_ADVICE)),
    )
    texts = [Text((0.0, top - down), line, size_pt, bold=bold) for line, size_pt, bold, down in words]
    plan = outline + drawing(_cells_on_plan(tiling, cell))
    return drawing(texts) + plan.moved(left, top - tiling.key_mm[1] - 0.2)


def _cells_on_plan(tiling: _Tiling, cell: tuple[int, int]) -> Iterator[Item]:
    """The tiles in use with their names, this one framed; the plan's corner is (0, 0)."""
    for one in tiling.used:
        room = _on_plan_box(tiling, tiling.grid.cell(*one))
        yield rectangle(room, Pen.TICK)
        if one == cell:
            yield rectangle(room.grown(-0.5), Pen.OBJECT)
        name = _name_on_plan(tiling, one, bold=one == cell)
        if _takes(room, name):
            yield name


def _name_on_plan(tiling: _Tiling, cell: tuple[int, int], bold: bool) -> Text:
    x, y = _on_plan_box(tiling, tiling.grid.cell(*cell)).middle
    return Text((x, y - 0.36 * 7.0 * MM_PER_PT), tile_name(*cell), 7.0, Anchor.MIDDLE, bold=bold)


def _takes(room: Box, name: Text) -> bool:
    """Whether a tile on the plan has room for its name; a sliver goes without."""
    return room.grown(-0.2).holds(item_box(name))


def _outline_on_plan(tiling: _Tiling) -> Drawing:
    """The template's lines on the key plan, clear of the tiles' names."""
    names = [(_name_on_plan(tiling, cell, bold=True), tiling.grid.cell(*cell)) for cell in tiling.used]
    rooms = [item_box(name).grown(0.2) for name, cell in names if _takes(_on_plan_box(tiling, cell), name)]
    lines = _plan_lines(tiling)
    return drawing(Line(a, b, Pen.TICK) for start, end in lines for a, b in _clear_of(start, end, rooms))


def _on_plan(tiling: _Tiling, point: Point) -> Point:
    across = (point[0] - tiling.box.left) / tiling.box.width
    up = (point[1] - tiling.box.bottom) / tiling.box.height
    if tiling.turned:
        across, up = 1.0 - up, across
    return (across * tiling.key_mm[0], up * tiling.key_mm[1])


def _on_plan_box(tiling: _Tiling, box: Box) -> Box:
    ends = [_on_plan(tiling, corner) for corner in (box.corners[0], box.corners[2])]
    xs, ys = sorted(end[0] for end in ends), sorted(end[1] for end in ends)
    return Box(xs[0], ys[0], xs[1], ys[1])


def _plan_lines(tiling: _Tiling) -> Iterator[tuple[Point, Point]]:
    """The template's heavier lines on the key plan, steps too small to see run together."""
    for item in tiling.template:
        if isinstance(item, Text) or item.pen not in (Pen.TRACE, Pen.OUTLINE, Pen.OBJECT):
            continue
        chain = list(segments(item))
        if not chain:
            continue
        last = _on_plan(tiling, chain[0][0])
        for _, end in chain[:-1]:
            here = _on_plan(tiling, end)
            if math.dist(last, here) >= _KEY_STEP_MM:
                yield (last, here)
                last = here
        yield (last, _on_plan(tiling, chain[-1][1]))


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
