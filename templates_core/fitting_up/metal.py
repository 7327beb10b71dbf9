"""Where the metal of a rail stands in space: pipe ends, joints, and how far its surface reaches.

Every part is a stretch of a round tube about a centreline; lengths [mm], points and directions shape (3,).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from templates_core.elbows.corners import Corner, Piece
from templates_core.jobs.job import EndKind
from templates_core.paths import directions as d
from templates_core.paths.directions import Vector
from templates_core.paths.rail_path import PathCorner, RailPath
from templates_core.pipes.cut_list import Member, end_corners


@dataclass(frozen=True, eq=False)
class Straight:
    """A stretch along a unit direction."""

    start_mm: Vector
    direction: Vector
    length_mm: float


@dataclass(frozen=True, eq=False)
class Arc:
    """A stretch round a centre.  outward: from the centre to its start; along: tangent there; both unit."""

    centre_mm: Vector
    outward: Vector
    along: Vector
    radius_mm: float
    sweep_rad: float


@dataclass(frozen=True, eq=False)
class MitreLine:
    """The ellipse in which two mitred pipes meet.  heel: unit, towards the long point, square to `along`."""

    point_mm: Vector
    along: Vector
    heel: Vector
    tilt_rad: float


@dataclass(frozen=True, eq=False)
class Rim:
    """The edge of a leaning end: points round it, shape (n, 3)."""

    points_mm: Vector


Part = Straight | Arc | MitreLine | Rim


@dataclass(frozen=True, eq=False)
class RunMetal:
    """The pipe of a run in space, or where elbows meet in its place.

    mark: of the pipe, None where there is none.  start_mm, end_mm: centres of its ends.  short_mm: along its
    shortest side, 0 where there is none.
    """

    run_number: int
    mark: str | None
    direction: Vector
    start_mm: Vector
    end_mm: Vector
    short_mm: float


def runs_of_metal(
    path: RailPath, corners: Sequence[Corner], members: Sequence[Member]
) -> tuple[RunMetal, ...]:
    """The pipe of every run; with none there, the faces of the elbows that meet."""
    pipes = {member.run_number: member for member in members}
    made = []
    for place, run in enumerate(path.runs):
        before, after = end_corners(path, corners, run.number)
        pipe = pipes.get(run.number)
        at_start = path.start.takes_mm if before is None else before.take_out_after_mm
        at_end = path.end.takes_mm if after is None else after.take_out_before_mm
        if before is not None and pipe is not None:
            at_start += before.gap_after_mm
        if after is not None and pipe is not None:
            at_end += after.gap_before_mm
        start = path.points_mm[place] + at_start * run.direction
        end = path.points_mm[(place + 1) % len(path.points_mm)] - at_end * run.direction
        mark, short = (None, 0.0) if pipe is None else (pipe.mark, pipe.short_mm)
        made.append(RunMetal(run.number, mark, run.direction, start, end, short))
    return tuple(made)


def corner_point_mm(path: RailPath, place: int) -> Vector:
    """Work point of a corner by its place along the path, from 0."""
    return np.asarray(path.points_mm[(place + 1) % len(path.points_mm)])


def throat_way(axis: Vector, along: Vector) -> Vector:
    """From a pipe's centreline to the throat line, unit, beside a bend of that axis."""
    return d.cross(axis, along)


def corner_parts(path: RailPath, place: int, corner: Corner) -> tuple[tuple[Part, ...], tuple[Vector, ...]]:
    """What makes a corner, in order along the rail, and the centres of its joints.

    An elbow of unknown bend radius is taken to bend as gently as its centre-to-end lets it.
    """
    laid = path.corners[place]
    along = path.runs[place].direction
    point = corner_point_mm(path, place)
    if corner.mitre is not None:
        heel = -throat_way(laid.axis, along)
        return (MitreLine(point, along, heel, corner.mitre.tilt_rad),), (point,)
    at = point - corner.take_out_before_mm * along
    parts: list[Part] = []
    joints = [at - corner.gap_before_mm / 2 * along]
    for piece in corner.pieces:
        if parts:
            joints.append(at + corner.joint_gap_mm / 2 * along)
            at = at + corner.joint_gap_mm * along
        made, at, along = _piece_parts(piece, laid, at, along)
        parts += made
    joints.append(at + corner.gap_after_mm / 2 * along)
    return tuple(parts), tuple(joints)


def _piece_parts(
    piece: Piece, laid: PathCorner, at: Vector, along: Vector
) -> tuple[list[Part], Vector, Vector]:
    """A piece from its first face; a face that lost metal stands that much within its arc's end."""
    elbow = piece.elbow
    if elbow.bend_radius_mm is None:
        radius, ends = elbow.centre_to_end_mm / math.tan(piece.angle_rad / 2), (0.0, 0.0)
    else:
        radius = elbow.bend_radius_mm
        before = -piece.loss_mm if piece.cut_end in ("before", "both") else elbow.tangent_a_mm
        after = elbow.tangent_b_mm if piece.cut_end is None else elbow.tangent_a_mm
        ends = (before, -piece.loss_mm if piece.cut_end in ("after", "both") else after)
    first = Straight(at, along, ends[0])
    outward = -throat_way(laid.axis, along)
    start = at + ends[0] * along
    arc = Arc(start - radius * outward, outward, along, radius, piece.angle_rad)
    turned = d.turned(along, laid.axis, piece.angle_rad)
    end = arc.centre_mm + radius * d.turned(outward, laid.axis, piece.angle_rad)
    return [first, arc, Straight(end, turned, ends[1])], end + ends[1] * turned, turned


def rail_parts(path: RailPath, corners: Sequence[Corner], runs: Sequence[RunMetal]) -> tuple[Part, ...]:
    """All metal of a rail; pipes reach to the outer face of what stands at their ends."""
    parts: list[Part] = []
    for place, run in enumerate(runs):
        start, end = run.start_mm, run.end_mm
        if not path.closed and place == 0 and path.start.kind is not EndKind.OPEN:
            start = path.points_mm[0]
        if not path.closed and place == len(runs) - 1 and path.end.kind is not EndKind.OPEN:
            end = path.points_mm[-1]
        parts.append(Straight(start, run.direction, float((end - start) @ run.direction)))
        if place < len(corners):
            parts += corner_parts(path, place, corners[place])[0]
    return tuple(parts)


def reach_mm(parts: Sequence[Part], way: Vector, tube_radius_mm: float) -> float:
    """Greatest distance from the origin along a unit direction that the surface comes to [mm]."""
    return max(value for part in parts for value in _reaches(part, way, tube_radius_mm))


def _reaches(part: Part, way: Vector, r: float) -> Iterator[float]:
    """A disc square to a unit t reaches r·√(1 − (e·t)²) past its centre along e.

    Round an arc that sum is greatest where the centreline itself reaches furthest, or else at an end.
    """
    if isinstance(part, Rim):
        yield float((part.points_mm @ way).max())
        return
    if isinstance(part, MitreLine):
        along = float(way @ part.along)
        girth = way - along * part.along + math.tan(part.tilt_rad) * along * part.heel
        yield float(way @ part.point_mm) + r * float(np.linalg.norm(girth))
        return
    if isinstance(part, Straight):
        for length in (0.0, part.length_mm):
            yield _disc(part.start_mm + length * part.direction, part.direction, way, r)
        return
    axis = d.cross(part.outward, part.along)
    top = math.atan2(float(way @ part.along), float(way @ part.outward)) % (2 * math.pi)
    for sweep in (0.0, part.sweep_rad, *([top] if top < part.sweep_rad else [])):
        outward, tangent = (d.turned(one, axis, sweep) for one in (part.outward, part.along))
        yield _disc(part.centre_mm + part.radius_mm * outward, tangent, way, r)


def _disc(centre_mm: Vector, normal: Vector, way: Vector, r: float) -> float:
    return float(way @ centre_mm) + r * math.sqrt(max(0.0, 1 - float(way @ normal) ** 2))


def centreline_mm(parts: Sequence[Part], chord_step_rad: float) -> tuple[Vector, Vector]:
    """Starts and ends of straight segments that follow the centreline, shape (n, 3) each."""
    starts: list[Vector] = []
    ends: list[Vector] = []
    for part in parts:
        if isinstance(part, Straight):
            points = [part.start_mm, part.start_mm + part.length_mm * part.direction]
        elif isinstance(part, Arc):
            axis = d.cross(part.outward, part.along)
            count = math.ceil(part.sweep_rad / chord_step_rad)
            angles = [part.sweep_rad * k / count for k in range(count + 1)]
            points = [part.centre_mm + part.radius_mm * d.turned(part.outward, axis, a) for a in angles]
        else:
            continue
        starts += points[:-1]
        ends += points[1:]
    return np.array(starts), np.array(ends)
