"""Where the metal of a leaning rail end stands in space: points of its cut edge, on a pipe or on an elbow."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from templates_core.elbows.corners import Corner
from templates_core.elbows.leaning_cuts import LeaningCut, tube_and_plane
from templates_core.fitting_up.metal import Rim, RunMetal
from templates_core.geometry.section import section
from templates_core.paths.directions import Vector
from templates_core.paths.leans import Lean, heel_way
from templates_core.paths.rail_path import RailPath

_RIM_POINTS = 180


def leaning_rims(
    path: RailPath, corners: Sequence[Corner], runs: Sequence[RunMetal], radius_mm: float
) -> Iterator[Rim]:
    """The cut edges of a rail's leaning ends."""
    for at_start in (True, False):
        lean = path.start_lean if at_start else path.end_lean
        if lean is not None:
            along = runs[0 if at_start else -1].direction
            across = np.cross(along, lean.way)
            turns = np.linspace(0.0, 2 * math.pi, _RIM_POINTS, endpoint=False)
            ways = [math.cos(turn) * lean.way + math.sin(turn) * across for turn in turns]
            yield Rim(
                np.array([edge_point_mm(path, corners, runs, at_start, way, radius_mm) for way in ways])
            )


def edge_point_mm(
    path: RailPath,
    corners: Sequence[Corner],
    runs: Sequence[RunMetal],
    at_start: bool,
    way: Vector,
    radius_mm: float,
) -> Vector:
    """The point of a rail end's edge on the line that lies a unit way from the centreline, shape (3,).

    way: square to the run there.  A square end gives the point straight out from its centre.
    """
    run, lean = (runs[0], path.start_lean) if at_start else (runs[-1], path.end_lean)
    centre = run.start_mm if at_start else run.end_mm
    outward = -run.direction if at_start else run.direction
    if lean is None:
        return np.asarray(centre + radius_mm * way)
    cut = None
    if run.mark is None:
        pieces = corners[0 if at_start else -1].pieces
        cut = pieces[0 if at_start else -1].leaning_cut
    if cut is None:
        return np.asarray(centre + radius_mm * (way + float(lean.slope @ way) * outward))
    heel = heel_way(path.corners[0 if at_start else -1].axis, run.direction)
    return _on_elbow(cut, centre, heel, outward, way)


def _on_elbow(cut: LeaningCut, centre_mm: Vector, heel: Vector, outward: Vector, way: Vector) -> Vector:
    """The point of an elbow's edge, by the frame of its cut: heel and outward at the middle of the cut."""
    kept = LeaningCut(cut.elbow, cut.piece_angle_rad, cut.lean, "own")
    tube, plane, near = tube_and_plane(kept)
    side = np.cross(heel, outward)
    girth = math.atan2(float(way @ side), float(way @ heel))
    _, station, _, _ = section(tube, plane, near, -math.pi, math.pi).at(np.array([girth]))
    x, y, z = tube.point(girth, float(station[0]))
    cosine, sine = math.cos(cut.piece_angle_rad), math.sin(cut.piece_angle_rad)
    level, ahead = x * cosine + y * sine - tube.bend_radius_mm, y * cosine - x * sine
    return np.asarray(centre_mm + level * heel + ahead * outward + z * side)


def is_on_leaning_elbow(path: RailPath, corner: Corner) -> bool:
    """Whether a corner's elbow is a leaning end of its rail."""
    if path.closed or not path.corners:
        return False
    at_start = path.start_on_elbow and path.start_lean is not None and corner.number == path.corners[0].number
    at_end = path.end_on_elbow and path.end_lean is not None and corner.number == path.corners[-1].number
    return at_start or at_end


def leans_at(path: RailPath, place: int) -> Lean | None:
    """The lean of the rail's end at a run, by its place along the path from 0; None where that has none."""
    if place == 0 and path.start_lean is not None:
        return path.start_lean
    return path.end_lean if place == len(path.runs) - 1 else None
