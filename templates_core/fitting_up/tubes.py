"""The metal of a rail as round tubes in space, each with its mark, for whoever has to show or measure it."""

from __future__ import annotations

import math
from collections.abc import Container, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from templates_core.elbows.corners import Corner, Piece
from templates_core.fitting_up.metal import Arc, RunMetal, Straight, corner_parts
from templates_core.jobs.job import EndKind, EndSpec
from templates_core.marks import end_joint_mark
from templates_core.paths.directions import Vector, cross
from templates_core.paths.rail_path import RailPath
from templates_core.pipes.cut_list import end_corners

ROUND = 48
"""Points of each ring."""
_STEP_RAD = math.radians(4)
PLATE_RADII = 1.9
"""A plate or flange, whose own size no job file gives, is shown so many pipe radii wide."""


class TubeKind(StrEnum):
    """What a tube is."""

    PIPE = "pipe"
    PIECE = "piece"
    END = "end"
    OTHER = "other"


@dataclass(frozen=True, eq=False)
class Tube:
    """A part of a rail as it stands.

    mark: as painted on it; of what stands at an end, its kind.  rings_mm: points round its girth at
    sections along it, shape (n, ROUND, 3); the first and the last are its ends.  centres_mm: of the
    sections, shape (n, 3).
    """

    mark: str
    kind: TubeKind
    rings_mm: Vector
    centres_mm: Vector


@dataclass(frozen=True, eq=False)
class JointPlace:
    """Where a weld stands.  marks: as in the tack order.  along: unit, the way that the rail goes there."""

    marks: tuple[str, ...]
    point_mm: Vector
    along: Vector


def straight_tube(mark: str, kind: TubeKind, start_mm: Vector, end_mm: Vector, radius_mm: float) -> Tube:
    """A tube between two points, its ends square."""
    along = (end_mm - start_mm) / np.linalg.norm(end_mm - start_mm)
    return _tube(mark, kind, [_ring(at, along, radius_mm) for at in (start_mm, end_mm)])


def rail_tubes(
    path: RailPath,
    corners: Sequence[Corner],
    runs: Sequence[RunMetal],
    radius_mm: float,
    run_places: Container[int] | None = None,
    corner_places: Container[int] | None = None,
) -> tuple[Tube, ...]:
    """Every pipe and piece in order along the rail, and what stands at its ends.

    A face that lost metal stands where the cut is, square to its joint.  run_places, corner_places: which
    are wanted, counted along the path from 0; all of them when None.  What stands at an end comes with
    the run there.
    """
    made: list[Tube] = []
    for place, run in enumerate(runs):
        if run_places is None or place in run_places:
            if place == 0 and not path.closed:
                made += _end_tube(path.start, path.points_mm[0], run.direction, radius_mm)
            if run.mark is not None:
                made.append(_pipe(path, corners, run, radius_mm))
            if place == len(runs) - 1 and not path.closed:
                made += _end_tube(path.end, path.points_mm[-1], -run.direction, radius_mm)
        if place < len(corners) and (corner_places is None or place in corner_places):
            made += _pieces(path, place, corners[place], radius_mm)
    return tuple(made)


def _end_tube(end: EndSpec, point_mm: Vector, inward: Vector, radius_mm: float) -> Iterator[Tube]:
    """Plate, cap, flange or sleeve, from its outer face inwards."""
    if end.kind is EndKind.OPEN or end.length_mm <= 0:
        return
    wide = {EndKind.PLATE: PLATE_RADII, EndKind.FLANGE: PLATE_RADII, EndKind.SLEEVE: 1.2}
    radius = radius_mm * wide.get(end.kind, 1.0)
    far = np.asarray(point_mm) + end.length_mm * inward
    yield straight_tube(str(end.kind), TubeKind.END, np.asarray(point_mm), far, radius)


def _pipe(path: RailPath, corners: Sequence[Corner], run: RunMetal, radius_mm: float) -> Tube:
    before, after = end_corners(path, corners, run.run_number)
    rings = []
    for at, corner in ((run.start_mm, before), (run.end_mm, after)):
        ring = _ring(at, run.direction, radius_mm)
        if corner is not None and corner.mitre is not None:
            one, two = (leg.direction for leg in path.runs_at(corner.number))
            plane = (one + two) / np.linalg.norm(one + two)
            slide = ((at - ring) @ plane) / float(run.direction @ plane)
            ring = ring + slide[:, None] * run.direction
        rings.append(ring)
    return _tube(run.mark or "", TubeKind.PIPE, rings)


def _pieces(path: RailPath, place: int, corner: Corner, radius_mm: float) -> Iterator[Tube]:
    parts, _ = corner_parts(path, place, corner)
    for number, piece in enumerate(corner.pieces):
        first, arc, last = parts[3 * number : 3 * number + 3]
        assert isinstance(first, Straight) and isinstance(arc, Arc) and isinstance(last, Straight)
        yield _piece(piece, first, arc, last, radius_mm)


def _piece(piece: Piece, first: Straight, arc: Arc, last: Straight, radius_mm: float) -> Tube:
    """From face to face; a stretch of negative length is what a cut took out of the arc.

    On the arc P(ψ, φ) = centre + (R + r·cos φ)(cos ψ·outward + sin ψ·along) + r·sin φ·axis.
    """
    lost = [max(0.0, -end.length_mm) / arc.radius_mm for end in (first, last)]
    sweeps = np.linspace(lost[0], arc.sweep_rad - lost[1], max(3, math.ceil(arc.sweep_rad / _STEP_RAD)))
    girth = np.arange(ROUND) * 2 * math.pi / ROUND
    ways = np.outer(np.cos(sweeps), arc.outward) + np.outer(np.sin(sweeps), arc.along)
    flat = (arc.radius_mm + radius_mm * np.cos(girth))[None, :, None] * ways[:, None, :]
    off = radius_mm * np.outer(np.sin(girth), cross(arc.outward, arc.along))
    rings = list(arc.centre_mm + flat + off)
    faces = first.start_mm, last.start_mm + last.length_mm * last.direction
    before = [rings.pop(0) if first.length_mm == 0 else _ring(faces[0], first.direction, radius_mm)]
    after = [rings.pop() if last.length_mm == 0 else _ring(faces[1], last.direction, radius_mm)]
    rings = rings[first.length_mm < 0 : len(rings) - (last.length_mm < 0)]
    return _tube(piece.mark, TubeKind.PIECE, [*before, *rings, *after])


def _ring(at: Vector, along: Vector, radius_mm: float) -> Vector:
    across = cross(along, np.eye(3)[int(np.argmin(np.abs(along)))])
    across = across / np.linalg.norm(across)
    angles = np.arange(ROUND) * 2 * math.pi / ROUND
    girth = np.outer(np.cos(angles), across) + np.outer(np.sin(angles), cross(along, across))
    return np.asarray(at + radius_mm * girth)


def _tube(mark: str, kind: TubeKind, rings: Sequence[Vector]) -> Tube:
    made = np.array(rings)
    return Tube(mark, kind, made, made.mean(axis=1))


def joint_places(
    path: RailPath, corners: Sequence[Corner], runs: Sequence[RunMetal], joints: Sequence[tuple[str, ...]]
) -> tuple[JointPlace, ...]:
    """Where the welds of these marks stand, in order along the rail."""
    at: dict[str, tuple[Vector, Vector]] = {}
    wanted = {mark for marks in joints for mark in marks}
    if not path.closed:
        at[end_joint_mark(path.mark, at_start=True)] = runs[0].start_mm, runs[0].direction
        at[end_joint_mark(path.mark, at_start=False)] = runs[-1].end_mm, runs[-1].direction
    for place, corner in enumerate(corners):
        if wanted.isdisjoint(corner.joints):
            continue
        points = corner_parts(path, place, corner)[1]
        legs = runs[place].direction, runs[(place + 1) % len(runs)].direction
        middle = (legs[0] + legs[1]) / np.linalg.norm(legs[0] + legs[1])
        for number, (mark, point) in enumerate(zip(corner.joints, points, strict=True)):
            ways = (legs[0], middle, legs[1])
            way = middle if len(points) == 1 else ways[0 if number == 0 else 1 + (number == len(points) - 1)]
            at[mark] = point, way
    return tuple(JointPlace(marks, *at[marks[0]]) for marks in joints)
