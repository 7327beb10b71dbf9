"""Planes that the ends of a rail are cut to when they stand out of square: which way they lean in space.

A plane leans by its angle off square to the pipe, and towards its long point, the side of the cut that comes
furthest along the pipe.  In the frame of an elbow a lean is a pitch, that brings the heel forward, and a yaw,
that brings forward the side at girth angle +90°.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from templates_core.errors import Fault, InputError
from templates_core.jobs.job import EndSpec
from templates_core.paths import directions as d
from templates_core.paths.directions import Vector

_SQUARE_COSINE = 0.002
"""Two sides of an end are square to each other where the cosine between them is less than this."""
_WORTH_RAD = 1e-9


@dataclass(frozen=True, eq=False)
class Lean:
    """The plane of an end.

    way: unit vector square to the pipe, from its centreline to the long point, shape (3,).  angle_rad: off
    square.
    """

    way: Vector
    angle_rad: float

    @property
    def slope(self) -> Vector:
        """How far the cut gains along the pipe for each millimetre that way, as a vector (3,)."""
        return np.asarray(math.tan(self.angle_rad) * self.way)


@dataclass(frozen=True)
class ElbowLean:
    """The same in the frame of the elbow that is cut, seen from the face that its piece keeps.

    pitch_rad: off square seen from the side, positive with the heel long.  yaw_rad: off square seen from the
    heel, positive with the side at girth angle +90° long.
    """

    pitch_rad: float
    yaw_rad: float

    @property
    def angle_rad(self) -> float:
        """Off square in all."""
        return math.atan(math.hypot(math.tan(self.pitch_rad), math.tan(self.yaw_rad)))

    @property
    def long_rad(self) -> float:
        """Girth angle of the side to which it leans, from the heel."""
        return math.atan2(math.tan(self.yaw_rad), math.tan(self.pitch_rad))

    def scaled(self, angle_rad: float) -> ElbowLean:
        """A lean the same way by another angle."""
        slope, way = math.tan(angle_rad), self.long_rad
        return ElbowLean(math.atan(slope * math.cos(way)), math.atan(slope * math.sin(way)))


def lay_lean(end: EndSpec, along: Vector, heading_rad: float, axis: Vector | None) -> Lean | None:
    """The plane of an end in space; None for a square one.

    along: of the run there, walking forward along the rail.  heading_rad: that it carries.  axis: of the
    bend of the corner next to it, None where there is none.  Raises InputError for a side that the end
    doesn't have, and for two that aren't square to each other.
    """
    if end.lean is None:
        return None
    sides = []
    if end.lean.up_rad:
        if d.is_plumb(along):
            raise _refusal(
                end, "the pipe there is plumb, so it has no top", "name heel, throat, left or right"
            )
        sides.append((end.lean.up_rad, d.UP - float(d.UP @ along) * along))
    if end.lean.left_rad:
        ahead = d.direction(0.0, heading_rad) if d.is_plumb(along) else along
        sides.append((end.lean.left_rad, np.cross(d.UP, ahead)))
    if end.lean.heel_rad:
        if axis is None:
            raise _refusal(end, "no corner gives it a heel", "name up, down, left or right")
        sides.append((end.lean.heel_rad, heel_way(axis, along)))
    ways = [way / np.linalg.norm(way) for _, way in sides]
    if len(ways) == 2 and abs(float(ways[0] @ ways[1])) > _SQUARE_COSINE:
        what = "the two sides of its lean aren't square to each other there"
        raise _refusal(end, what, "name up or down with left or right")
    slope = sum((math.tan(angle) * way for (angle, _), way in zip(sides, ways, strict=True)), np.zeros(3))
    size = float(np.linalg.norm(slope))
    return Lean(slope / size, math.atan(size))


def _refusal(end: EndSpec, what: str, remedy: str) -> InputError:
    return InputError([Fault(f"{end.where}, lean", what, remedy)])


def heel_way(axis: Vector, along: Vector) -> Vector:
    """From a pipe's centreline to the heel line, unit, beside a bend of that axis."""
    return np.asarray(np.cross(along, axis))


def on_elbow(lean: Lean, axis: Vector, along: Vector, outward: Vector) -> ElbowLean:
    """A lean as the elbow beside it has it.

    axis: of the bend.  along: of the run there, walking forward.  outward: the same, or against it at the
    start of a rail: the way the end looks.
    """
    heel = heel_way(axis, along)
    pitch, yaw = (float(lean.slope @ way) for way in (heel, np.cross(heel, outward)))
    return ElbowLean(*(math.atan(one) if abs(one) > _WORTH_RAD else 0.0 for one in (pitch, yaw)))
