"""What welding takes off a rail's lengths and puts on its turns, to be offered and never applied silently."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from templates_core.elbows.corners import Corner
from templates_core.fitting_up.tack_order import RailJoint
from templates_core.paths import directions as d
from templates_core.paths.directions import Vector
from templates_core.paths.rail_path import RailPath


@dataclass(frozen=True)
class RunLoss:
    """What one run comes out too short by, between its work points.

    butt_mm: by the butt joints at its corners.  side_mm: by the welds on its side.
    """

    run_number: int
    pipe: str | None
    butt_mm: float
    side_mm: float

    @property
    def total_mm(self) -> float:
        """Length to add [mm]."""
        return self.butt_mm + self.side_mm


@dataclass(frozen=True)
class Opening:
    """What the bows of the runs beside a corner do to it.

    more_turn_rad: it comes out turning that much more than it was fitted (less, when negative), so that it
    is to be fitted that much more open.  tip_rad: out of its plane, + towards its bend axis.
    """

    corner: str
    more_turn_rad: float
    tip_rad: float


def butt_losses_mm(
    path: RailPath, corners: Sequence[Corner], joints: Sequence[RailJoint], shrink_mm: float
) -> dict[int, float]:
    """By run number, what its butt joints take from it [mm], each joint shrinking by shrink_mm.

    A joint shrinks along the pipe there.  Within a corner of turn T, after the first angle a of it, that
    way is sin(T − a)/sin T of the run before and sin a/sin T of the run after.
    """
    lost = {run.number: 0.0 for run in path.runs}
    welded = {mark: joint.marks for joint in joints for mark in joint.marks}
    done: set[tuple[str, ...]] = set()
    for corner in corners:
        before, after = path.runs_at(corner.number)
        for mark, angle in zip(corner.joints, _angles_rad(corner), strict=True):
            if mark not in welded or welded[mark] in done:
                continue
            done.add(welded[mark])
            lost[before.number] += shrink_mm * math.sin(corner.turn_rad - angle) / math.sin(corner.turn_rad)
            lost[after.number] += shrink_mm * math.sin(angle) / math.sin(corner.turn_rad)
    return lost


def _angles_rad(corner: Corner) -> list[float]:
    """How far the corner has turned at each of its joints."""
    if corner.mitre is not None:
        return [corner.turn_rad / 2]
    angles = [0.0]
    for piece in corner.pieces:
        angles.append(angles[-1] + piece.angle_rad)
    return [*angles[:-1], corner.turn_rad]


def openings(
    path: RailPath, corners: Sequence[Corner], slopes: Mapping[int, tuple[Vector, Vector]]
) -> tuple[Opening, ...]:
    """Every corner next to a run that bows.

    slopes: by run number, in space, of the pipe's start and end to the straight line between its work
    points, shape (3,) each.  The corner itself keeps its shape and is turned with the pipe's end, so that
    the lines swing.
    """
    zero: Vector = np.zeros(3)
    found = []
    for laid, corner in zip(path.corners, corners, strict=True):
        before, after = path.runs_at(corner.number)
        leaving = slopes.get(before.number, (zero, zero))[1]
        entering = slopes.get(after.number, (zero, zero))[0]
        if not (leaving.any() or entering.any()):
            continue
        inward_before = np.cross(laid.axis, before.direction)
        inward_after = np.cross(laid.axis, after.direction)
        more = float(leaving @ inward_before - entering @ inward_after)
        tip = float(math.cos(laid.turn_rad) * (leaving @ laid.axis) - entering @ laid.axis)
        found.append(Opening(corner.mark, more, tip))
    return tuple(found)


def girth_way(path: RailPath, run_number: int, girth_rad: float) -> Vector:
    """The way a girth direction of a run points in space: 0 up, or a plumb run's heading; clockwise looking
    forward.
    """
    run = path.runs[run_number - path.runs[0].number]
    up = np.cross(d.reference_axis(run.direction, run.heading_rad), run.direction)
    return d.turned(np.asarray(up), run.direction, girth_rad)
