"""Where things of a fit-up drawing stand on the paper, and the labels of its parts, joints and corners."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from render.pages.drawing import Item, Point, drawing
from render.pages.labels import Label, place_labels
from render.pages.shapes import arrowhead
from render.sheets.dimension_places import Board
from render.sheets.fit_up_look import Look
from render.sheets.fit_up_scene import Scene
from templates_core.fitting_up.tubes import TubeKind

SIZES_PT = (10.0, 8.0)
_EDGE_ON = 0.03


def put_labels(labels: Sequence[Label], board: Board, size_pt: float, scene: Scene) -> int | None:
    """Put labels on a board, and say how many are left out; None when one finds no place.

    Only the drawing of a single corner in the smallest type leaves one out: there is nothing to split.
    """
    made = place_labels(labels, board.taken(), board.room, size_pt)
    if made is not None:
        board.add(made)
        return 0
    if scene.part.count > 2 or size_pt > SIZES_PT[-1]:
        return None
    left_out = 0
    for label in labels:
        made = place_labels([label], board.taken(), board.room, size_pt)
        left_out += made is None
        board.add(drawing([]) if made is None else made)
    return left_out


def joint_labels(look: Look, board: Board) -> Iterator[Label]:
    """Joint marks, best towards the middle of the drawing."""
    middle = look.middle
    for joint in look.scene.joints:
        at = look.seen(joint.point_mm)
        bearing = look.bearing(joint.along)
        outward = math.pi / 2 if bearing is None else bearing + math.pi / 2
        if (at[0] - middle[0]) * math.cos(outward) + (at[1] - middle[1]) * math.sin(outward) > 0:
            outward += math.pi
        yield _sided(", ".join(joint.marks), False, at, outward, board)


def piece_labels(look: Look, board: Board) -> Iterator[Label]:
    """Marks of pieces, best on their heels."""
    for place, corner in zip(look.scene.corner_places, look.scene.corners, strict=True):
        for piece in corner.pieces:
            at = _waist(look, piece.mark)
            yield _sided(piece.mark, True, at, _heel_bearing(look, place), board)


def corner_labels(look: Look, board: Board) -> Iterator[Label]:
    """Corner marks, best on the inside, where dimensions have less to say."""
    for place, corner in zip(look.scene.corner_places, look.scene.corners, strict=True):
        at = look.seen(look.scene.work_points(place)[1])
        if corner.pieces:
            at = _waist(look, corner.pieces[(len(corner.pieces) - 1) // 2].mark)
        yield _sided(corner.mark, True, at, _heel_bearing(look, place) + math.pi, board)


def pipe_labels(look: Look, board: Board) -> Iterator[Label]:
    """Marks of pipes, best along them on the outside."""
    for tube in look.scene.tubes:
        if tube.kind not in (TubeKind.PIPE, TubeKind.OTHER):
            continue
        start, end = (look.seen(tube.centres_mm[k]) for k in (0, -1))
        bearing = math.atan2(end[1] - start[1], end[0] - start[0])
        x, y = look.away((start, end))
        side = 1.0 if y * math.cos(bearing) - x * math.sin(bearing) >= 0 else -1.0
        outward = bearing + side * math.pi / 2
        x, y = look.half_mm * math.cos(outward), look.half_mm * math.sin(outward)
        line = (start[0] + x, start[1] + y), (end[0] + x, end[1] + y)
        yield replace(_sided(tube.mark, False, _between(start, end), outward, board), along=line)


def _sided(text: str, bold: bool, at: Point, outward_rad: float, board: Board) -> Label:
    """A label that points at the edge of the metal, best where it faces outward, or opposite."""
    there, opposite = board.edges(at, outward_rad)
    return Label(((text, bold),), there, outward_rad, also=((opposite, outward_rad + math.pi),))


def _waist(look: Look, mark: str) -> Point:
    """The middle of a tube half way along, as it is seen."""
    tube = next(tube for tube in look.scene.tubes if tube.mark == mark)
    return look.seen(tube.centres_mm[len(tube.centres_mm) // 2])


def _heel_bearing(look: Look, place: int) -> float:
    """Which way the heel of a corner faces on the paper; square to its pipes where it is seen edge on."""
    one = look.scene.runs[place].direction
    two = look.scene.runs[(place + 1) % len(look.scene.runs)].direction
    before, after = look.bearing(one), look.bearing(two)
    if before is not None and after is not None and abs(math.sin(after - before)) > _EDGE_ON:
        return look.bearing(one - two) or 0.0
    known = before if before is not None else after
    return math.pi / 2 if known is None else known + math.pi / 2


def _between(one: Point, two: Point) -> Point:
    return (one[0] + two[0]) / 2, (one[1] + two[1]) / 2


def travel_arrow(look: Look) -> Iterator[Item]:
    """An arrow in the first pipe that shows some length, the way that the rail goes."""
    for place in look.scene.places:
        run = look.scene.runs[place]
        start, end = (look.seen(point) for point in (run.start_mm, run.end_mm))
        if run.mark is not None and math.dist(start, end) > 6.0:
            x, y = (0.35 * a + 0.65 * b for a, b in zip(start, end, strict=True))
            yield arrowhead((x, y), math.atan2(end[1] - start[1], end[0] - start[0]), 3.4)
            return


def work_points(look: Look) -> list[Point]:
    """The work points of all runs that are drawn, each once."""
    points = [point for place in look.scene.places for point in look.scene.work_points(place)]
    return list(dict.fromkeys(look.seen(point) for point in points))
