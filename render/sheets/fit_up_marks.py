"""What is written on a fit-up drawing: marks of parts and joints, dimensions, diagonals."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from render.pages.drawing import drawing
from render.pages.labels import Label
from render.pages.shapes import circle
from render.sheets.dimension_places import Board, Span
from render.sheets.fit_up_labels import (
    corner_labels,
    joint_labels,
    piece_labels,
    pipe_labels,
    put_labels,
    travel_arrow,
    work_points,
)
from render.sheets.fit_up_look import Look
from render.sheets.fit_up_scene import ExtraSize
from render.sheets.fit_up_spans import diagonal_spans, overall_spans, run_spans
from render.sheets.rail_views import View, views_of
from templates_core.paths.rail_path import RailPath
from templates_core.units import format_length

_TRUE = 1e-6
_DIM_PT = 9.0
_DOT_MM = 0.45
_HIDDEN_SHARE = 0.5
"""A drawing that has no room for more than this share of its runs' sizes is drawn in parts."""
_ROOMY_MM = 42.0
"""A run drawn so long has room for its sizes in full words."""


def draw_marks(looks: Sequence[Look], number: int, board: Board, size_pt: float) -> int | None:
    """Marks of pipes, pieces and joints, and which way the rail is read."""
    look = looks[number]
    board.add(drawing(travel_arrow(look)))
    made = (joint_labels, piece_labels, pipe_labels)
    labels = [label for each in made for label in each(look, board)]
    return put_labels(labels, board, size_pt, look.scene)


def draw_sizes(looks: Sequence[Look], number: int, board: Board, size_pt: float) -> int | None:
    """Corner marks, and dimensions of runs and extras that this view is the first to show at true length."""
    scene, views = looks[number].scene, [look.view for look in looks]
    runs = [place for place in scene.places if true_view(scene.path, views, place) == number]
    extras = [one for one in scene.extra_sizes if _true_view_of(one, views) == number]
    return _draw_sizes(looks[number], runs, extras, board, size_pt)


def draw_slanted(looks: Sequence[Look], number: int, board: Board, size_pt: float) -> int | None:
    """The same in an isometric view, for runs that neither plan nor elevation shows at their true length."""
    scene = looks[number].scene
    flat = views_of(scene.path)
    runs = [place for place in scene.places if true_view(scene.path, flat, place) is None]
    return _draw_sizes(looks[number], runs, (), board, size_pt)


def _draw_sizes(
    look: Look,
    runs: Sequence[int],
    extras: Sequence[ExtraSize],
    board: Board,
    size_pt: float,
) -> int | None:
    """Dimensions first and then the marks, or the other way round where a mark then finds no place.

    None where the marks, or the sizes of many of the runs, find no place in a part of several corners.
    """
    board.add(drawing(circle(point, _DOT_MM) for point in work_points(look)))
    for marks_first in (False, True):
        tried = board.fork()
        corners = list(corner_labels(look, board))
        if marks_first and put_labels(corners, tried, size_pt, look.scene) is None:
            return None
        bare, left_out = _dimension_runs(look, runs, extras, tried, min(size_pt, _DIM_PT))
        labels = [label for label in pipe_labels(look, board) if label.lines[0][0] in bare]
        labels = [*([] if marks_first else corners), *labels]
        few = look.view.true and look.scene.part.count > 3 and len(bare) > _HIDDEN_SHARE * len(runs)
        if not few and put_labels(labels, tried, size_pt, look.scene) is not None:
            board.take(tried)
            return left_out
    return None


def _dimension_runs(
    look: Look, runs: Sequence[int], extras: Sequence[ExtraSize], board: Board, size_pt: float
) -> tuple[set[str], int]:
    """Dimension what stands on the runs next to them and the runs outside that, or the other way round.

    That which places more sizes is kept.  Gives marks of pipes that miss one of their first two sizes, and
    how many sizes found no place in all.
    """
    inner, outer = board.fork(), board.fork()
    beyond = _dimension_extras(look, extras, inner, size_pt)
    bare, left_out = _dimension_own(look, runs, inner, size_pt)
    if not (bare and extras):
        board.take(inner)
        return bare, left_out + beyond
    other_bare, other_left = _dimension_own(look, runs, outer, size_pt)
    other_left += _dimension_extras(look, extras, outer, size_pt)
    if other_left < left_out + beyond:
        board.take(outer)
        return other_bare, other_left
    board.take(inner)
    return bare, left_out + beyond


def _dimension_own(look: Look, runs: Sequence[int], board: Board, size_pt: float) -> tuple[set[str], int]:
    """Dimension the runs, the longest next to them."""
    short = _are_short(look, runs)
    spans = {place: run_spans(look, place, short) for place in runs}
    bare, left_out = set(), 0
    for place in sorted(runs, key=lambda place: -math.dist(spans[place][0].start, spans[place][0].end)):
        drawn = [board.dimension(span, size_pt) for span in spans[place]]
        left_out += drawn.count(False)
        if not all(drawn[:2]):
            bare.add(look.scene.runs[place].mark or "")
    return bare, left_out


def _dimension_extras(look: Look, extras: Sequence[ExtraSize], board: Board, size_pt: float) -> int:
    """Dimension what stands on the runs; how many of these sizes found no place."""
    scene, left_out = look.scene, 0
    for extra in extras:
        ends = look.seen(scene.moved(extra.start)), look.seen(scene.moved(extra.end))
        text = f"{extra.short} {format_length(extra.size.length_mm, scene.units, with_unit=False)}"
        left_out += not board.dimension(Span(*ends, text, look.away(ends)), size_pt)
    return left_out


def _true_view_of(extra: ExtraSize, views: Sequence[View]) -> int | None:
    """The same of a size of an extra; one that no view shows true stands in the table alone."""
    across = extra.end.point_mm - extra.start.point_mm
    along = across / np.linalg.norm(across)
    for number, view in enumerate(views):
        if abs(float(along @ view.towards)) < _TRUE:
            return number
    return None


def true_view(path: RailPath, views: Sequence[View], place: int) -> int | None:
    """The first view that shows a run at its true length."""
    along = path.runs[place].direction
    for number, view in enumerate(views):
        if abs(float(along @ view.towards)) < _TRUE:
            return number
    return None


def _are_short(look: Look, runs: Sequence[int]) -> bool:
    """Whether a run is drawn shorter than its size in full words."""
    lengths = [
        math.dist(look.seen(look.scene.runs[i].start_mm), look.seen(look.scene.runs[i].end_mm)) for i in runs
    ]
    return min(lengths, default=_ROOMY_MM) < _ROOMY_MM


def draw_diagonals(looks: Sequence[Look], number: int, board: Board, size_pt: float) -> int | None:
    """The size over all where the whole of a flat rail is drawn, diagonals by their numbers, corner marks.

    Where the size over all stands too, the marks are placed last, in between or first, as leaves out least.
    """
    look = looks[number]
    whole = look.scene.part.count >= len(look.scene.path.runs) and look.view.true
    over_all = list(overall_spans(look)) if whole else []
    corners = list(corner_labels(look, board))
    best: tuple[int, Board] | None = None
    for marks_at in (2, 1, 0):
        tried = board.fork()
        most = math.inf if best is None else best[0] - 1
        left_out = _diagonals_drawn(look, tried, over_all, corners, marks_at, size_pt, most)
        if left_out is not None:
            best = left_out, tried
        if best is not None and (best[0] == 0 or not over_all):
            break
    if best is None:
        return None
    board.take(best[1])
    return best[0]


def _diagonals_drawn(
    look: Look,
    board: Board,
    over_all: Sequence[Span],
    corners: Sequence[Label],
    marks_at: int,
    size_pt: float,
    most: float,
) -> int | None:
    """Draw the marks after so many of the other two, and say how many sizes find no place.

    None where a mark finds none, or more than ``most`` sizes.
    """
    pt = min(size_pt, _DIM_PT)
    spans = sorted(diagonal_spans(look), key=lambda span: math.dist(span.start, span.end))
    left_out = 0
    for step in range(3):
        if step == marks_at and put_labels(corners, board, size_pt, look.scene) is None:
            return None
        if step == 0:
            left_out += [board.dimension(span, pt) for span in over_all].count(False)
        elif step == 1:
            if look.scene.part.count > 3:
                most = min(most, left_out + _HIDDEN_SHARE * len(spans))
            for span in spans:
                left_out += not (board.straight(span, pt) or board.dimension(span, pt))
                if left_out > most:
                    return None
    return left_out if left_out <= most else None
