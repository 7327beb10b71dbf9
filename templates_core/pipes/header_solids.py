"""The pipes and pieces of a rail as solids that posts sit on, each with its mark."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from templates_core.elbows.corners import Corner
from templates_core.fitting_up.metal import Arc, RunMetal, Straight, corner_parts, corner_point_mm
from templates_core.geometry.solids import BendSolid, PipeSolid, Solid
from templates_core.paths.directions import Vector
from templates_core.paths.rail_path import RailPath
from templates_core.pipes.cut_list import end_corners
from templates_core.pipes.seats import MitredPipe

_LEAST_MM = 1e-6


@dataclass(frozen=True, eq=False)
class HeaderPart:
    """A part of a rail that something can sit on.

    mark: of the pipe or the piece; a weld between two pieces has that of the first.  run_number: of a pipe,
    else None.  known: False where the bend radius of its elbow is not, so that its shape is a guess.
    """

    mark: str
    solid: Solid
    run_number: int | None = None
    known: bool = True


def header_parts(
    path: RailPath, corners: Sequence[Corner], runs: Sequence[RunMetal], tube_radius_mm: float
) -> tuple[HeaderPart, ...]:
    """Every part of a rail in order along it; root gaps are filled, as they are by their welds."""
    parts: list[HeaderPart] = []
    for place, run in enumerate(runs):
        if run.mark is not None:
            parts.append(HeaderPart(run.mark, _run_solid(path, corners, run, tube_radius_mm), run.run_number))
        if place < len(corners) and corners[place].mitre is None:
            parts += _corner_solids(path, place, corners[place])
    return tuple(parts)


def straight_run(run: RunMetal, tube_radius_mm: float, beyond_mm: float) -> PipeSolid:
    """The pipe of a run as if it went on straight past both its ends."""
    reach = beyond_mm * run.direction
    return PipeSolid(run.start_mm - reach, run.end_mm + reach, tube_radius_mm)


def _run_solid(path: RailPath, corners: Sequence[Corner], run: RunMetal, radius_mm: float) -> PipeSolid:
    before, after = end_corners(path, corners, run.run_number)
    start, end, outs = run.start_mm, run.end_mm, [-run.direction, run.direction]
    if before is not None:
        start = start - before.gap_after_mm * run.direction
    if after is not None:
        end = end + after.gap_before_mm * run.direction
    for side, corner in enumerate((before, after)):
        if corner is not None and corner.mitre is not None:
            here, there = path.runs_at(corner.number)
            across = here.direction + there.direction
            outs[side] = (2 * side - 1) * across / np.linalg.norm(across)
    if (before is not None and before.mitre is not None) or (after is not None and after.mitre is not None):
        return MitredPipe(start, end, radius_mm, outs[0], outs[1])
    return PipeSolid(start, end, radius_mm)


def _corner_solids(path: RailPath, place: int, corner: Corner) -> Iterator[HeaderPart]:
    parts, _ = corner_parts(path, place, corner)
    last: Vector | None = None
    for number, piece in enumerate(corner.pieces):
        first, arc, beyond = parts[3 * number : 3 * number + 3]
        assert isinstance(first, Straight) and isinstance(arc, Arc) and isinstance(beyond, Straight)
        radius, known = piece.elbow.radius_mm, piece.elbow.bend_radius_mm is not None
        start = first.start_mm if last is None else last
        arc_start = arc.centre_mm + arc.radius_mm * arc.outward
        if float((arc_start - start) @ arc.along) > _LEAST_MM:
            yield HeaderPart(piece.mark, PipeSolid(start, arc_start, radius), known=known)
        axis = np.cross(arc.outward, arc.along)
        bend = BendSolid(arc.centre_mm, axis, arc.outward, arc.radius_mm, radius, arc.sweep_rad)
        yield HeaderPart(piece.mark, bend, known=known)
        last = beyond.start_mm + max(0.0, beyond.length_mm) * beyond.direction
        if beyond.length_mm > _LEAST_MM:
            yield HeaderPart(piece.mark, PipeSolid(beyond.start_mm, last, radius), known=known)


def corner_middle(path: RailPath, corners: Sequence[Corner], place: int) -> Vector:
    """Where a post under a corner stands: the middle of its bend, or the work point of a mitre (3,)."""
    corner, point = corners[place], corner_point_mm(path, place)
    if corner.mitre is not None:
        return point
    parts, joints = corner_parts(path, place, corner)
    if len(corner.pieces) > 1:
        return joints[len(joints) // 2]
    arc = parts[1]
    assert isinstance(arc, Arc)
    bend = BendSolid(
        arc.centre_mm, np.cross(arc.outward, arc.along), arc.outward, arc.radius_mm, 0.0, arc.sweep_rad
    )
    return bend.centreline(arc.sweep_rad / 2)[0]
