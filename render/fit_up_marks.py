"""What is written on a fit-up drawing: marks of parts and joints, dimensions, diagonals."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from render.dimension_places import Board, Span
from render.drawing import Item, Pen, Point, drawing
from render.fit_up_scene import ExtraSize, Scene
from render.labels import Label, place_labels
from render.rail_views import View, views_of
from render.shapes import arrowhead, circle
from templates_core.directions import Vector
from templates_core.fit_up import overall_ways
from templates_core.metal import corner_parts, reach_mm
from templates_core.rail_path import RailPath
from templates_core.tubes import TubeKind
from templates_core.units import format_length

SIZES_PT = (10.0, 8.0)
_TRUE = 1e-6
_DIM_PT = 9.0
_DOT_MM = 0.45
_HIDDEN_SHARE = 0.5
"""A drawing that has no room for more than this share of its runs' sizes is drawn in parts."""
_ROOMY_MM = 42.0
"""A run drawn so long has room for its sizes in full words."""


def draw_marks(scene: Scene, views: Sequence[View], number: int, board: Board, size_pt: float) -> bool:
    """Marks of pipes, pieces and joints, and which way the rail is read."""
    view = views[number]
    board.add(drawing(_travel(scene, view)))
    made = (_joint_labels, _piece_labels, _pipe_labels)
    return _place([label for each in made for label in each(scene, view, board)], board, size_pt, scene)


def draw_sizes(scene: Scene, views: Sequence[View], number: int, board: Board, size_pt: float) -> bool:
    """Corner marks, and dimensions of the runs that this view is the first to show at their true length."""
    runs = [place for place in scene.places if true_view(scene.path, views, place) == number]
    extras = scene.extra_sizes if number == 0 else ()
    return _draw_sizes(scene, views[number], runs, extras, board, size_pt)


def draw_slanted(scene: Scene, views: Sequence[View], number: int, board: Board, size_pt: float) -> bool:
    """The same in an isometric view, for runs that neither plan nor elevation shows at their true length."""
    flat = views_of(scene.path)
    runs = [place for place in scene.places if true_view(scene.path, flat, place) is None]
    return _draw_sizes(scene, views[number], runs, (), board, size_pt)


def _draw_sizes(
    scene: Scene,
    view: View,
    runs: Sequence[int],
    extras: Sequence[ExtraSize],
    board: Board,
    size_pt: float,
) -> bool:
    """Dimensions first and then the marks, or the other way round where a mark then finds no place.

    False where the marks, or the sizes of many of the runs, find no place in a part of several corners.
    """
    board.add(drawing(circle(point, _DOT_MM) for point in _work_points(scene, view)))
    for marks_first in (False, True):
        tried = board.fork()
        if marks_first and not _place(list(_corner_labels(scene, view, board)), tried, size_pt, scene):
            return False
        bare = _dimension_runs(scene, view, runs, extras, tried, min(size_pt, _DIM_PT))
        labels = [label for label in _pipe_labels(scene, view, board) if label.lines[0][0] in bare]
        labels = [*([] if marks_first else _corner_labels(scene, view, board)), *labels]
        few = scene.part.count > 3 and len(bare) > _HIDDEN_SHARE * len(runs)
        if not few and _place(labels, tried, size_pt, scene):
            board.take(tried)
            return True
    return False


def _dimension_runs(
    scene: Scene, view: View, runs: Sequence[int], extras: Sequence[ExtraSize], board: Board, size_pt: float
) -> set[str]:
    """Dimension the runs, the longest next to the metal.  Marks of pipes that miss one of their first two."""
    short = _are_short(scene, view, runs)
    spans = {place: _run_spans(scene, view, place, short) for place in runs}
    bare = set()
    for place in sorted(runs, key=lambda place: -math.dist(spans[place][0].start, spans[place][0].end)):
        drawn = [board.dimension(span, size_pt) for span in spans[place]]
        if not all(drawn[:2]):
            bare.add(scene.runs[place].mark or "")
    for extra in extras:
        ends = _seen(scene, view, scene.moved(extra.start)), _seen(scene, view, scene.moved(extra.end))
        text = f"{extra.short} {format_length(extra.size.length_mm, scene.units, with_unit=False)}"
        board.dimension(Span(*ends, text, _away(scene, view, ends)), size_pt)
    return bare


def true_view(path: RailPath, views: Sequence[View], place: int) -> int | None:
    """The first view that shows a run at its true length."""
    along = path.runs[place].direction
    for number, view in enumerate(views):
        if abs(float(along @ np.cross(view.right, view.up))) < _TRUE:
            return number
    return None


def _are_short(scene: Scene, view: View, runs: Sequence[int]) -> bool:
    """Whether a run is drawn shorter than its size in full words."""
    lengths = [
        math.dist(_seen(scene, view, scene.runs[i].start_mm), _seen(scene, view, scene.runs[i].end_mm))
        for i in runs
    ]
    return min(lengths, default=_ROOMY_MM) < _ROOMY_MM


def draw_diagonals(scene: Scene, views: Sequence[View], number: int, board: Board, size_pt: float) -> bool:
    """Corner marks, the size over all where the whole of a flat rail is drawn, diagonals by their numbers."""
    view, pt = views[number], min(size_pt, _DIM_PT)
    if not _place(list(_corner_labels(scene, view, board)), board, size_pt, scene):
        return False
    if scene.part.count >= len(scene.path.runs) and view.true:
        for span in _overall_spans(scene, view):
            board.dimension(span, pt)
    drawn = [
        board.straight(span, pt) or board.dimension(span, pt)
        for span in sorted(_diagonals(scene, view), key=lambda span: math.dist(span.start, span.end))
    ]
    return scene.part.count <= 3 or sum(drawn) >= (1 - _HIDDEN_SHARE) * len(drawn)


def _diagonals(scene: Scene, view: View) -> Iterator[Span]:
    for order, diagonal in enumerate(scene.rail.fit_up.diagonals, 1):
        first, last = (_place_of(scene, run) for run in (diagonal.from_run, diagonal.to_run))
        if diagonal.length_mm is None or not {first, last} <= set(scene.places):
            continue
        start, end = _seen(scene, view, scene.runs[first].start_mm), _seen(scene, view, scene.runs[last].end_mm)
        text = f"D{order} {format_length(diagonal.length_mm, scene.units, with_unit=False)}"
        yield Span(start, end, text, _away(scene, view, (start, end)), _half(scene))


def _place(labels: Sequence[Label], board: Board, size_pt: float, scene: Scene) -> bool:
    """Put labels on a board; False when one finds no place.

    The drawing of a single corner in the smallest type leaves such a one out: there is nothing to split.
    """
    made = place_labels(labels, board.outlines(), board.room, size_pt)
    if made is not None:
        board.add(made[0])
        return True
    if scene.part.count > 2 or size_pt > SIZES_PT[-1]:
        return False
    for label in labels:
        made = place_labels([label], board.outlines(), board.room, size_pt)
        board.add(drawing([]) if made is None else made[0])
    return True


def _seen(scene: Scene, view: View, point: Vector) -> Point:
    return view.seen(np.asarray(point)[None] * scene.scale)[0]


def _half(scene: Scene) -> float:
    return scene.radius_mm * scene.scale


def _middle(scene: Scene, view: View) -> Point:
    points = np.array([_seen(scene, view, p) for tube in scene.tubes for p in tube.centres_mm])
    middle = (points.min(axis=0) + points.max(axis=0)) / 2
    return float(middle[0]), float(middle[1])


def _away(scene: Scene, view: View, ends: Sequence[Point]) -> Point:
    """From the middle of the drawing to that of two points."""
    x, y = _middle(scene, view)
    return sum(p[0] for p in ends) / 2 - x, sum(p[1] for p in ends) / 2 - y


def _bearing(scene: Scene, view: View, along: Vector) -> float | None:
    x, y = float(along @ view.right), float(along @ view.up)
    return math.atan2(y, x) if math.hypot(x, y) > 0.02 else None


def _place_of(scene: Scene, run_number: int) -> int:
    return next(i for i, run in enumerate(scene.runs) if run.run_number == run_number)


def _travel(scene: Scene, view: View) -> Iterator[Item]:
    """An arrow in the first pipe that shows some length, the way that the rail goes."""
    for place in scene.places:
        run = scene.runs[place]
        start, end = (_seen(scene, view, point) for point in (run.start_mm, run.end_mm))
        if run.mark is not None and math.dist(start, end) > 6.0:
            x, y = (0.35 * a + 0.65 * b for a, b in zip(start, end, strict=True))
            yield arrowhead((x, y), math.atan2(end[1] - start[1], end[0] - start[0]), 3.4)
            return


def _work_points(scene: Scene, view: View) -> list[Point]:
    points = [point for place in scene.places for point in scene.work_points(place)]
    return list(dict.fromkeys(_seen(scene, view, point) for point in points))


def _heel_bearing(scene: Scene, view: View, place: int) -> float:
    """Which way the heel of a corner faces on the paper."""
    one = scene.runs[place].direction
    two = scene.runs[(place + 1) % len(scene.runs)].direction
    bearing = _bearing(scene, view, one - two)
    return math.pi / 2 if bearing is None else bearing


def _sided(text: str, bold: bool, at: Point, outward_rad: float, board: Board) -> Label:
    """A label that points at the edge of the metal, best where it faces outward, or opposite."""
    ways = outward_rad, outward_rad + math.pi
    sides = [(board.edge(at, way), way) for way in ways]
    return Label(((text, bold),), *sides[0], also=(sides[1],))


def _joint_labels(scene: Scene, view: View, board: Board) -> Iterator[Label]:
    middle = _middle(scene, view)
    for joint in scene.joints:
        at = _seen(scene, view, joint.point_mm)
        bearing = _bearing(scene, view, joint.along)
        outward = math.pi / 2 if bearing is None else bearing + math.pi / 2
        if (at[0] - middle[0]) * math.cos(outward) + (at[1] - middle[1]) * math.sin(outward) > 0:
            outward += math.pi
        yield _sided(", ".join(joint.marks), False, at, outward, board)


def _piece_labels(scene: Scene, view: View, board: Board) -> Iterator[Label]:
    for place, corner in zip(scene.corner_places, scene.corners, strict=True):
        for piece in corner.pieces:
            at = _waist(scene, view, piece.mark)
            yield _sided(piece.mark, True, at, _heel_bearing(scene, view, place), board)


def _waist(scene: Scene, view: View, mark: str) -> Point:
    """The middle of a tube half way along, as it is seen."""
    tube = next(tube for tube in scene.tubes if tube.mark == mark)
    return _seen(scene, view, tube.centres_mm[len(tube.centres_mm) // 2])


def _corner_labels(scene: Scene, view: View, board: Board) -> Iterator[Label]:
    """Corner marks, best on the inside, where dimensions have less to say."""
    for place, corner in zip(scene.corner_places, scene.corners, strict=True):
        at = _seen(scene, view, scene.work_points(place)[1])
        if corner.pieces:
            at = _waist(scene, view, corner.pieces[(len(corner.pieces) - 1) // 2].mark)
        yield _sided(corner.mark, True, at, _heel_bearing(scene, view, place) + math.pi, board)


def _pipe_labels(scene: Scene, view: View, board: Board) -> Iterator[Label]:
    for tube in scene.tubes:
        if tube.kind not in (TubeKind.PIPE, TubeKind.OTHER):
            continue
        start, end = (_seen(scene, view, tube.centres_mm[k]) for k in (0, -1))
        bearing = math.atan2(end[1] - start[1], end[0] - start[0])
        x, y = _away(scene, view, (start, end))
        side = 1.0 if y * math.cos(bearing) - x * math.sin(bearing) >= 0 else -1.0
        outward = bearing + side * math.pi / 2
        x, y = _half(scene) * math.cos(outward), _half(scene) * math.sin(outward)
        line = (start[0] + x, start[1] + y), (end[0] + x, end[1] + y)
        yield replace(_sided(tube.mark, False, _between(start, end), outward, board), along=line)


def _between(one: Point, two: Point) -> Point:
    return (one[0] + two[0]) / 2, (one[1] + two[1]) / 2


def _run_spans(scene: Scene, view: View, place: int, short: bool) -> list[Span]:
    """The pipe end to end, then work points, then heel to heel; short: in few words."""
    sizes = next(one for one in scene.rail.fit_up.runs if one.run_number == scene.runs[place].run_number)
    run = scene.runs[place]
    wanted: list[tuple[tuple[Vector, Vector], tuple[str, str], float]] = []
    if sizes.end_to_end is not None:
        mark = sizes.pipe or ""
        wanted.append(((run.start_mm, run.end_mm), (f"pipe {mark}", mark), sizes.end_to_end.length_mm))
    wanted.append((scene.work_points(place), ("work points", "WP"), sizes.work_points.length_mm))
    if sizes.heel_to_heel is not None:
        wanted.append((_heels(scene, place), ("heel to heel", "heels"), sizes.heel_to_heel.length_mm))
    made = []
    for points, words, length in wanted:
        start, end = (_seen(scene, view, point) for point in points)
        text = f"{words[short]} {format_length(length, scene.units, with_unit=False)}"
        made.append(Span(start, end, text, _away(scene, view, (start, end)), _half(scene)))
    return made


def _heels(scene: Scene, place: int) -> tuple[Vector, Vector]:
    """Outermost points along a run, on its own centreline."""
    run, count = scene.runs[place], len(scene.runs)
    reached = []
    for corner_place, way, bare in (
        ((place - 1) % count if scene.path.closed or place else None, -run.direction, run.start_mm),
        (place if scene.path.closed or place < count - 1 else None, run.direction, run.end_mm),
    ):
        reach = float(way @ bare)
        if corner_place is not None:
            parts, _ = corner_parts(scene.path, corner_place, scene.rail.corners[corner_place])
            reach = reach_mm(parts, way, scene.radius_mm)
        reached.append(bare + (reach - float(way @ bare)) * way)
    return reached[0], reached[1]


def _overall_spans(scene: Scene, view: View) -> Iterator[Span]:
    """Length and width over all of a flat rail, below it and beside it, from its outermost points."""
    overall = scene.rail.fit_up.overall
    rings = np.vstack([tube.rings_mm.reshape(-1, 3) for tube in scene.tubes])
    points = np.array([_seen(scene, view, point) for point in rings])
    for way, size in zip(overall_ways(scene.path), (overall.length, overall.width), strict=False):
        along = np.array([float(way @ view.right), float(way @ view.up)])
        across = np.array([along[1], -along[0]])
        if across[1] > 1e-6 or (abs(across[1]) <= 1e-6 and across[0] > 0):
            across = -across
        side = float((points @ across).max())
        found = [points[int((sign * (points @ along) + 1e-6 * (points @ across)).argmax())] for sign in (-1, 1)]
        start, end = (tuple(foot + (side - float(foot @ across)) * across) for foot in found)
        text = f"overall {format_length(size.length_mm, scene.units, with_unit=False)}"
        feet = tuple(found[0]), tuple(found[1])
        yield Span(_pair(start), _pair(end), text, _pair(across), feet=(_pair(feet[0]), _pair(feet[1])))


def _pair(values: Sequence[float]) -> Point:
    return float(values[0]), float(values[1])
