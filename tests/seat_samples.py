"""What pipe ends are tried on in the tests, all in one askew frame, so that no axis is a special one.

A post stands on the solids with its axis through `at`, going away from them along `back`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from templates_core.fittings import Pipe
from templates_core.geometry.pipe_ends import PipeAxis
from templates_core.geometry.solids import BendSolid, PipeSolid, Solid
from templates_core.geometry.surfaces import Array

ASKEW = np.linalg.qr(np.array([[0.8, -0.5, 0.3], [0.4, 0.9, -0.2], [-0.3, 0.1, 0.7]]))[0]
ASKEW = ASKEW * np.sign(np.linalg.det(ASKEW))
ORIGIN = np.array([310.0, -45.0, 120.0])
NPS_1, NPS_1_5 = Pipe("NPS 1", 33.401, 3.38, "typed here"), Pipe("NPS 1-1/2", 48.26, 3.68, "typed here")
LR, HEADER_MM = 57.15, 24.13


def put(*local: float) -> Array:
    """A point of the askew frame in space."""
    return np.asarray(ORIGIN + ASKEW @ np.array(local))


def way(*local: float) -> Array:
    """A unit vector of the askew frame in space."""
    return np.asarray(ASKEW @ (np.array(local) / np.linalg.norm(local)))


@dataclass(frozen=True, eq=False)
class Seat:
    """A post and what it stands on."""

    name: str
    pipe: Pipe
    solids: tuple[Solid, ...]
    at: Array
    back: Array

    @property
    def axis(self) -> PipeAxis:
        """The post with its first end on the solids."""
        side = np.cross(self.back, way(0.3, -0.8, 0.52))
        return PipeAxis(self.at, self.back, side / np.linalg.norm(side))


def on_pipe(name: str, angle_deg: float, offset_mm: float, header_mm: float, pipe: Pipe = NPS_1_5) -> Seat:
    lean = math.radians(angle_deg)
    along = np.array([math.sin(lean), 0.0, math.cos(lean)])
    solid = PipeSolid(put(*(-900 * along)), put(*(900 * along)), header_mm)
    return Seat(name, pipe, (solid,), put(0, offset_mm, 0), way(0, 0, 1))


def bend(sweep_deg: float = 90.0) -> BendSolid:
    """An elbow about the frame's z axis, face A on x, turning towards y."""
    return BendSolid(put(0, 0, 0), way(0, 0, 1), way(1, 0, 0), LR, HEADER_MM, math.radians(sweep_deg))


def legs(sweep_deg: float = 90.0) -> tuple[PipeSolid, PipeSolid]:
    """The pipes before and after that elbow."""
    s = math.radians(sweep_deg)
    end = LR * np.array([math.cos(s), math.sin(s), 0.0])
    on = end + 700 * np.array([-math.sin(s), math.cos(s), 0.0])
    return (
        PipeSolid(put(LR, -700, 0), put(LR, 0, 0), HEADER_MM),
        PipeSolid(put(*end), put(*on), HEADER_MM),
    )


def radial(psi_deg: float, height_mm: float = 0.0) -> tuple[float, float, float]:
    psi = math.radians(psi_deg)
    return (LR * math.cos(psi), LR * math.sin(psi), height_mm)


HEEL = Seat("on the heel", NPS_1, (bend(),), put(*radial(45, 3.0)), way(1.0, 0.8, 0.15))
SIDE = Seat("on the side", NPS_1, (bend(),), put(*radial(40)), way(0.15, -0.1, 1.0))
THROAT = Seat("in the throat", NPS_1, (bend(),), put(*radial(45, 2.0)), way(-1.0, -0.9, 0.03))
CORNER = Seat(
    "in a corner, across elbow and pipe",
    NPS_1_5,
    (bend(35.0), *legs(35.0)),
    put(LR, 8.0, 0),
    way(0.9, -0.2, 0.0),
)
CORNER_IN = Seat(
    "inside a corner", NPS_1, (bend(60.0), *legs(60.0)), put(*radial(48, 2.0)), way(-0.9, -0.35, 0.1)
)
ON_PIPES = [
    on_pipe("equal, 90°", 90.0, 0.0, HEADER_MM),
    on_pipe("equal, 45°", 45.0, 0.0, HEADER_MM),
    on_pipe("equal, 20°", 20.0, 0.0, HEADER_MM),
    on_pipe("unequal, 90°", 90.0, 0.0, 30.165),
    on_pipe("unequal, 57°, offset", 57.0, 4.0, 30.165),
    on_pipe("unequal, 20°, offset", 20.0, -9.0, 44.45),
    on_pipe("nearly tangent", 70.0, 5.9, 30.165),
    on_pipe("thin on thick", 33.0, 20.0, 57.15, NPS_1),
]
SEATS = [*ON_PIPES, HEEL, SIDE, THROAT, CORNER, CORNER_IN]
