"""A job with a rail that returns to a wall out of square, and where that wall stands, by its words alone."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from templates_core.jobs.job_file import parse_job
from templates_core.model import Model, build_model

Array = NDArray[np.float64]
HEAD = """
title = "Heron Slip"
units = "mm"
[pipe]
size = "NPS 1-1/2"
schedule = "40"
[elbows]
stock = ["90 long radius"]
ends = "bevelled"
[shop]
root_gap = 2.4
[[rail]]
mark = "A"
"""
BEND_MM, TUBE_MM = 57.15, 24.13
X, Y, Z = np.eye(3)


def model(rail: str, head: str = HEAD) -> Model:
    return build_model(parse_job(f"{head}{rail}".encode(), "job.toml"))


@dataclass(frozen=True)
class Wall:
    """A level rail along x that returns by a turn, on to a wall that leans there.

    turn_deg: of the return.  up_deg, left_deg: sides of its end that come longer, as walked; down and right
    below 0.  gap_mm: left to the wall.  hand: 1 turning left, -1 turning right.
    """

    turn_deg: float
    up_deg: float
    left_deg: float
    gap_mm: float = 0.0
    hand: int = 1

    @property
    def rail(self) -> str:
        """The job's rail."""
        sides = [("up", "down", self.up_deg), ("left", "right", self.left_deg)]
        lean = ", ".join(f"{one if deg > 0 else two} = {abs(deg)}" for one, two, deg in sides if deg)
        side = "left" if self.hand > 0 else "right"
        return (
            f'end = {{ kind = "wall return", towards = "{side}", turn = {self.turn_deg}, '
            f"gap = {self.gap_mm}, lean = {{ {lean} }} }}\npath = [ {{ run = 1200 }} ]"
        )

    @property
    def onward(self) -> Array:
        """Direction of the return."""
        turn = math.radians(self.turn_deg)
        return math.cos(turn) * X + self.hand * math.sin(turn) * Y

    @property
    def normal(self) -> Array:
        """Unit normal of the wall, out of the rail.

        A side is longer by the tangent of its angle for each millimetre that it lies from the middle, as an
        angle finder against it shows.
        """
        left = np.cross(Z, self.onward)
        up, aside = math.tan(math.radians(self.up_deg)), math.tan(math.radians(self.left_deg))
        square = self.onward - up * Z - aside * left
        return np.asarray(square / np.linalg.norm(square))

    def off_wall_mm(self, points: Array) -> Array:
        """Distance of points (n, 3) from the wall, positive beyond it; the wall stands a gap off the elbow.

        The elbow's middle is at its own turn round a bend that starts a tangent length short of the corner.
        """
        turn = math.radians(self.turn_deg)
        middle = 1200 * X + BEND_MM * math.tan(turn / 2) * self.onward
        return np.asarray((points - middle) @ self.normal - self.gap_mm)

    def in_space(self, points: Array) -> Array:
        """Points of the elbow's own frame, bend axis z, face A at y = 0 on the x axis, in space."""
        tangent = BEND_MM * math.tan(math.radians(self.turn_deg) / 2)
        centre = (1200 - tangent) * X + self.hand * BEND_MM * Y
        frame = np.array([-self.hand * Y, X, self.hand * Z])
        return np.asarray(centre + points @ frame)
