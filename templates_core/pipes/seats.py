"""Ends of pipes seated on solids that stand in space, each different cut computed once.

Posts of one run sit on it alike: seen from the end, what an end sits on is the same.  So every end is cut in
a frame of its own, and a cut that was made before is only set at another station.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from templates_core.fittings import Pipe
from templates_core.geometry.end_checks import LEAST_ANGLE_RAD
from templates_core.geometry.pipe_ends import At, BearsOn, EndCut, PipeAxis, end_cut
from templates_core.geometry.solids import BendSolid, HalfSpace, PipeSolid, Solid
from templates_core.geometry.surfaces import Array

_PLACES = 7  # decimals by which two solids are told apart in the frame of an end
_CUTS_KEPT = 4096
_Numbers = tuple[float, ...]


@dataclass(frozen=True, eq=False)
class MitredPipe(PipeSolid):
    """A pipe with ends on planes out of square: start_out, end_out are unit vectors (3,) out of it."""

    start_out: Array
    end_out: Array

    def _faces(self) -> tuple[tuple[Array, Array], ...]:
        return ((self.start_mm, self.start_out), (self.end_mm, self.end_out))


def seat(
    axis: PipeAxis,
    pipe: Pipe,
    station_mm: float,
    solids: Sequence[Solid],
    at_end: At,
    bears_on: BearsOn = BearsOn.FIRST,
) -> EndCut:
    """The cut of one end near a station of the axis, on the union of the solids.  Raises GeometryError."""
    frame = np.stack([axis.zero, np.cross(axis.along, axis.zero), axis.along])
    origin = axis.start_mm + station_mm * axis.along
    reach = _reach_mm(pipe, solids)
    local = tuple(_numbers(solid, origin, frame, reach) for solid in solids)
    cut = _cut(pipe, local, at_end, bears_on)
    return replace(cut, station_mm=cut.station_mm + station_mm)


def _reach_mm(pipe: Pipe, solids: Sequence[Solid]) -> float:
    """Length of header to each side of an end that can matter to it [mm]."""
    radii = [solid.radius_mm for solid in solids if isinstance(solid, PipeSolid | BendSolid)]
    return 2 * (pipe.radius_mm + max(radii, default=0.0)) / math.tan(LEAST_ANGLE_RAD)


def _numbers(solid: Solid, origin: Array, frame: Array, reach_mm: float) -> _Numbers:
    """A solid in the frame of an end, as numbers that say the same for the same solid."""

    def at(point: Array) -> list[float]:
        return list(frame @ (point - origin))

    def way(vector: Array) -> list[float]:
        return list(frame @ vector)

    if isinstance(solid, HalfSpace):
        square = float((solid.point_mm - origin) @ solid.normal)
        numbers = [*at(origin + square * solid.normal), *way(solid.normal)]
    elif isinstance(solid, PipeSolid):
        start, end = _near(solid, origin, frame[2], reach_mm)
        numbers = [solid.radius_mm, *at(start), *at(end)]
        if isinstance(solid, MitredPipe):
            kept = start is solid.start_mm, end is solid.end_mm
            numbers += way(solid.start_out if kept[0] else -solid.along)
            numbers += way(solid.end_out if kept[1] else solid.along)
    elif isinstance(solid, BendSolid):
        numbers = [*at(solid.centre_mm), *way(solid.axis), *way(solid.to_face_a)]
        numbers += [solid.bend_radius_mm, solid.radius_mm, solid.sweep_rad]
    else:
        raise TypeError(f"no end is seated on a {type(solid).__name__}")
    return tuple(round(float(number), _PLACES) + 0.0 for number in numbers)


def _near(solid: PipeSolid, origin: Array, along: Array, reach_mm: float) -> tuple[Array, Array]:
    """Both ends of the part of a header that is within reach of where an axis comes nearest to it."""
    lean = float(solid.along @ along)
    to_start = solid.start_mm - origin
    sine_square = 1 - lean * lean
    if sine_square < math.sin(LEAST_ANGLE_RAD) ** 2 / 4:
        return solid.start_mm, solid.end_mm
    nearest = float(to_start @ (lean * along - solid.along)) / sine_square
    low, high = nearest - reach_mm, nearest + reach_mm
    start = solid.start_mm + low * solid.along if low > 0 else solid.start_mm
    end = solid.start_mm + high * solid.along if high < solid.length_mm else solid.end_mm
    return (start, end) if low < solid.length_mm and high > 0 else (solid.start_mm, solid.end_mm)


@lru_cache(maxsize=_CUTS_KEPT)
def _cut(pipe: Pipe, solids: tuple[_Numbers, ...], at_end: At, bears_on: BearsOn) -> EndCut:
    axis = PipeAxis(np.zeros(3), np.array([0.0, 0.0, 1.0]), np.array([1.0, 0.0, 0.0]))
    return end_cut(axis, pipe, [_solid(numbers) for numbers in solids], at_end, bears_on)


def _solid(numbers: _Numbers) -> Solid:
    """The solid that _numbers was made of; how many there are tells its kind."""
    n = np.array(numbers)
    if len(n) == 6:
        return HalfSpace(n[:3], _unit(n[3:]))
    if len(n) == 7:
        return PipeSolid(n[1:4], n[4:7], numbers[0])
    if len(n) == 13:
        return MitredPipe(n[1:4], n[4:7], numbers[0], _unit(n[7:10]), _unit(n[10:13]))
    centre, bend_axis, to_face = n[:3], _unit(n[3:6]), _unit(n[6:9])
    return BendSolid(centre, bend_axis, to_face, numbers[9], numbers[10], numbers[11])


def _unit(vector: Array) -> Array:
    return np.asarray(vector / np.linalg.norm(vector))
