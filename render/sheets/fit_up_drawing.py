"""Draws a rail's metal for its fit-up: its parts and joints, its sizes, its diagonals and overall.

Each drawing answers one question, so that it can be read at arm's length.  Where a size finds no place on
the drawing it stands in the tables alone.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from render.pages.drawing import Item, Text, drawing
from render.pages.flow import Figure
from render.pages.shapes import Box, bounds
from render.sheets.dimension_places import Board
from render.sheets.fit_up_labels import SIZES_PT
from render.sheets.fit_up_look import Look
from render.sheets.fit_up_marks import draw_diagonals, draw_marks, draw_sizes, draw_slanted, true_view
from render.sheets.fit_up_scene import NO_EXTRAS, Extras, Scene, short_scene, true_scene
from render.sheets.rail_drawing import CLOSE_MM, SCALES, RailFigure, rail_overview
from render.sheets.rail_views import View, isometric, views_of, whole_of
from templates_core.jobs.job import Job
from templates_core.model import Rail
from templates_core.paths.directions import Vector

_LEAST_TUBE_MM = 1.1
"""A pipe drawn to scale is at least so wide on the paper."""
_LEAST_PIPE_MM = 7.0
"""And the shortest so long."""
_SHORT_TUBES_MM = (2.8, 2.2, 1.6)
_CORNER_TUBES_MM = (4.5, 2.8)
SHARES = (0.46, 0.75, 1.0)
LOW_SHARES = (0.28, 0.34, 0.4, *SHARES)
"""Shares of the height of a page that a drawing is tried in, and those where that saves a page."""
_TITLE_MM = 5.0
_FEW = 5


@dataclass(frozen=True)
class Kept:
    """What has been worked out for one rail on paper of one width, each by what it depends on.

    looks: at scenes.  tries: what came of each scene drawn: the figure and how many sizes it leaves out.
    """

    looks: dict[tuple[object, ...], Look] = field(default_factory=dict)
    tries: dict[tuple[object, ...], tuple[RailFigure, int] | None] = field(default_factory=dict)


Drawer = Callable[[Sequence[Look], int, Board, float], int | None]
"""Draws on one of the looks at a scene, on a board in type of a size.

Gives how many sizes found no place there; None where the rest can't be read.
"""


@dataclass(frozen=True)
class Purpose:
    """A kind of drawing.

    side_mm, above_mm: paper left round the metal for words and dimensions.  shortest_mm: least length of a
    pipe on the paper, where pipes are drawn short, but in a part of one corner.  slanted: looked at as best
    shows each part.
    """

    name: str
    views: tuple[View, ...]
    draw: Drawer
    side_mm: float
    above_mm: float
    shortest_mm: float
    slanted: bool = False


def fit_up_figures(
    rail: Rail,
    job: Job,
    width_mm: float,
    height_mm: float,
    extras: Extras = NO_EXTRAS,
    shares: Sequence[float] = SHARES,
    kept: Kept | None = None,
) -> tuple[tuple[str, tuple[RailFigure, ...]], ...]:
    """The drawings of a rail by what they are for, each no larger than this.

    shares: of the height, that a drawing is tried in, low ones first.  kept: given again for the same rail
    and width, it saves drawing the same again.
    """
    kept = kept or Kept()
    made: list[tuple[str, tuple[RailFigure, ...]]] = []
    for purpose in purposes(rail):
        whole = whole_of(rail.path)
        scene = Scene(rail, whole, rail.path, job.pipe.radius_mm, 1.0, 1, job.units, extras)
        figures = tuple(_figures(purpose, scene, (width_mm, height_mm), shares, kept))
        if len(figures) > 1 and not made:
            overview = rail_overview(rail, job.units, width_mm, height_mm)
            figures = figures if overview is None else (overview, *figures)
        made.append((purpose.name, figures))
    return tuple(made)


def purposes(rail: Rail) -> tuple[Purpose, ...]:
    """What a rail is drawn for, and how it is looked at each time."""
    flat = views_of(rail.path)
    whole = flat if rail.path.is_flat else (isometric(rail.path, range(len(rail.path.runs))),)
    solid = not rail.path.is_flat
    made = [
        Purpose("parts and joints", whole, draw_marks, 26.0, 15.0, 9.0, solid),
        Purpose("sizes", flat, draw_sizes, 28.0, 21.0 - 5.0 * solid, 20.0 - 8.0 * solid),
    ]
    if any(true_view(rail.path, flat, place) is None for place in range(len(rail.path.runs))):
        name = "sizes of runs that plan and elevation show shortened"
        made.append(Purpose(name, whole, draw_slanted, 28.0, 21.0, 20.0, solid))
    if rail.fit_up.diagonals:
        made.append(Purpose("diagonals and overall", whole, draw_diagonals, 26.0, 20.0, 9.0, solid))
    return tuple(made)


def _figures(
    purpose: Purpose, scene: Scene, size_mm: tuple[float, float], shares: Sequence[float], kept: Kept
) -> Iterator[RailFigure]:
    """One drawing where one can be read, the lowest of those with most sizes; else one of each half."""
    if purpose.slanted:
        purpose = replace(purpose, views=(isometric(scene.rail.path, scene.places),))
    made = _best(purpose, scene, size_mm, shares, kept)
    if made is not None:
        yield made
        return
    if scene.part.count <= 2:
        raise ValueError(f"rail {scene.rail.mark}: the page is too small to draw one corner of it")
    for part in scene.part.halves():
        yield from _figures(purpose, replace(scene, part=part), size_mm, shares, kept)


def _best(
    purpose: Purpose, scene: Scene, size_mm: tuple[float, float], shares: Sequence[float], kept: Kept
) -> RailFigure | None:
    """The part drawn with most sizes, the lowest of those; in smaller type only where it must be.

    That is where a part goes no other way, or one of few runs leaves out less.  A part that goes neither
    low nor in small type at the whole height is not tried between.
    """
    width_mm, height_mm = size_mm
    seen: set[tuple[object, ...]] = set()
    small: tuple[RailFigure, int] | None = None
    best: tuple[RailFigure, int] | None = None
    for share in shares:
        made = _drawn(purpose, scene, SIZES_PT[0], (width_mm, share * height_mm), kept, seen)
        if made is not None and (best is None or made[1] < best[1]):
            best = made
        if best is not None and best[1] == 0:
            return best[0]
        if best is None and small is None and seen:
            small = _drawn(purpose, scene, SIZES_PT[-1], size_mm, kept, seen)
            if small is None:
                return None
    if best is not None and scene.part.count <= _FEW:
        small = _drawn(purpose, scene, SIZES_PT[-1], size_mm, kept, seen)
    found = [made for made in (best, small) if made is not None]
    return min(found, key=lambda made: made[1])[0] if found else None


def _drawn(
    purpose: Purpose,
    scene: Scene,
    size_pt: float,
    size_mm: tuple[float, float],
    kept: Kept,
    seen: set[tuple[object, ...]],
) -> tuple[RailFigure, int] | None:
    """The part on paper of this width and height: to scale where that can be read, else with short pipes.

    seen: what has been looked at before, of which no more is to be hoped.
    """
    width_mm, height_mm = size_mm
    room = width_mm - 2 * purpose.side_mm, height_mm - len(purpose.views) * (2 * purpose.above_mm + _TITLE_MM)
    if min(room) <= 10:
        return None
    for fitted in _scenes(purpose, scene, room):
        key = (purpose.name, size_pt, *fitted.drawn_as)
        if key in seen:
            continue
        if key not in kept.tries:
            kept.tries[key] = _labelled(purpose, fitted, size_pt, width_mm, kept)
        made = kept.tries[key]
        if made is not None and made[0].figure.box.height > height_mm + 1e-6:
            continue
        seen.add(key)
        if made is not None:
            return made
    return None


def _scenes(purpose: Purpose, scene: Scene, room: tuple[float, float]) -> Iterator[Scene]:
    """Ways to draw a part so that its metal fits the room, best first; smaller ones of a single corner."""
    smallest = scene.part.count <= 2
    for share in (1.0, 0.6, 0.35) if smallest else (1.0,):
        less = room[0] * share, room[1] * share
        fit = _fit(scene, _across(purpose, scene.corners_mm), less)
        per = next((scale for scale in SCALES if 1 / scale <= fit), None)
        if per is not None and (_is_plain(scene, per) or scene.rail.path.closed):
            yield true_scene(scene, per)
        if not scene.rail.path.closed:
            for tube_mm in _CORNER_TUBES_MM if smallest else _SHORT_TUBES_MM:
                made = _shortened(purpose, scene, less, tube_mm, 0.0 if smallest else purpose.shortest_mm)
                if made is not None:
                    yield made
                    if not smallest:
                        break


def _is_plain(scene: Scene, per: int) -> bool:
    """Whether pipes are wide and long enough to be read at this scale."""
    runs = [scene.runs[place] for place in scene.places if scene.runs[place].mark is not None]
    lengths = [float(np.linalg.norm(run.end_mm - run.start_mm)) for run in runs]
    return 2 * scene.radius_mm / per >= _LEAST_TUBE_MM and min(lengths, default=1e9) / per >= _LEAST_PIPE_MM


def _shortened(
    purpose: Purpose, scene: Scene, room: tuple[float, float], tube_mm: float, least_mm: float
) -> Scene | None:
    """Pipes as long as the room lets them be, in tenths of a mm; None where the shortest is too short."""
    if not scene.rail.members:
        return None
    scale = tube_mm / 2 / scene.radius_mm
    points, grow = (_across(purpose, points_mm) for points_mm in scene.pipes_out_mm)
    tenths = range(round(20 * sum(room)))
    longest = bisect_left(
        tenths, True, key=lambda n: _fit(scene, points + n / 10 / scale * grow, room) < scale
    )
    if longest <= 1:
        return None
    made = short_scene(scene, tube_mm, (longest - 1) / 10)
    drawn = [
        float(np.linalg.norm(run.end_mm - run.start_mm)) * made.scale
        for place, run in enumerate(made.runs)
        if place in made.places and run.mark is not None
    ]
    return made if min(drawn, default=0.0) >= least_mm else None


def _across(purpose: Purpose, points_mm: Vector) -> Vector:
    """Points, shape (n, 3), as far to the right and up as each view shows them, shape (views, 2, n)."""
    return np.array([[points_mm @ way for way in (view.right, view.up)] for view in purpose.views])


def _fit(scene: Scene, across: Vector, room: tuple[float, float]) -> float:
    """The scale at which metal fits the room that keeps between points but for its width."""
    widths, heights = (across.max(axis=2) - across.min(axis=2) + scene.widest_mm).T.tolist()
    return float(min(room[0] / max(widths), room[1] / sum(heights)))


@dataclass(frozen=True, eq=False)
class _Frame:
    """A look, how far it is moved to the right to stand in the middle of a figure, and what to write on."""

    look: Look
    right_mm: float
    board: Board


def _frames(purpose: Purpose, scene: Scene, width_mm: float, kept: Kept) -> Iterator[_Frame]:
    """One for each view."""
    for view in purpose.views:
        look = kept.looks.setdefault((view.title, *scene.drawn_as), Look(scene, view))
        left, low, right, high = look.metal.bounds
        x = width_mm / 2 - (left + right) / 2
        room = Box(-x, low - purpose.above_mm, width_mm - x, high + purpose.above_mm)
        yield _Frame(look, x, Board(room, look.metal))


def _labelled(
    purpose: Purpose, scene: Scene, size_pt: float, width_mm: float, kept: Kept
) -> tuple[RailFigure, int] | None:
    """The views one under another with all that is written on them, and how many sizes are left out.

    None when one can't be read.
    """
    frames = list(_frames(purpose, scene, width_mm, kept))
    looks, missing = [frame.look for frame in frames], 0
    for number, frame in enumerate(frames):
        left_out = purpose.draw(looks, number, frame.board, size_pt)
        if left_out is None:
            return None
        missing += left_out
    figure = _figure(frames, width_mm)
    words = _caption(scene, purpose.views)
    if missing and purpose.draw is draw_marks:
        words += " A mark finds no room here: go by the list of joints."
    return RailFigure(words, figure, tuple(corner.mark for corner in scene.corners)), missing


def _figure(frames: Sequence[_Frame], width_mm: float) -> Figure:
    """What is drawn and written on the frames, one under another, closed up."""
    items: list[Item] = []
    top = 0.0
    for frame in frames:
        top -= _TITLE_MM
        items += [Text((0.0, top + 1.2), frame.look.view.title, 9.0)]
        drawn = frame.look.outlines + drawing(frame.board.items)
        used = bounds(drawn)
        items += drawn.moved(frame.right_mm, top - CLOSE_MM - used.top)
        top -= used.height + 2 * CLOSE_MM
    return Figure(drawing(items), Box(0.0, top, width_mm, 0.0))


def _caption(scene: Scene, views: Sequence[View]) -> str:
    if scene.to_scale is not None:
        note = f"Drawn 1:{scene.to_scale}"
    else:
        angles = "; angles are true" if views[0].true else ""
        note = f"Not to scale: long pipes are drawn short{angles}"
    note += ". Go by the figures; don't measure the drawing."
    if scene.part.count >= len(scene.rail.path.runs):
        return note
    marks = [corner.mark for corner in scene.corners]
    which = f"corner {marks[0]}" if len(marks) == 1 else f"corners {marks[0]} to {marks[-1]}"
    return f"Part of the rail: {which}. {note}"
