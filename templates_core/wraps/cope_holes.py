"""The hole in a header under a cope, as a flat template for the header."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from templates_core.errors import GeometryError
from templates_core.geometry.end_checks import check_met, check_wide_enough
from templates_core.geometry.pipe_ends import PipeAxis
from templates_core.geometry.solids import BendSolid, HalfSpace, PipeSolid, Solid
from templates_core.geometry.surfaces import Array

_ROWS = 721


@dataclass(frozen=True, eq=False)
class CopeHole:
    """The outline of a hole, laid flat [mm], printed side out with the header's first end down.

    The origin is where the branch's axis passes through the header's outside.  x goes right round the
    header, y up along it.  outline_mm: closed, shape (n, 2), the first point not repeated.
    station_mm, girth_rad: of the origin, on the header's axis.  cross_mm: the origin in the frame that the
    branch stands in (3,).  header_radius_mm: outside of the header.
    """

    outline_mm: Array
    station_mm: float
    girth_rad: float
    cross_mm: Array
    header_radius_mm: float

    @property
    def along_mm(self) -> float:
        """Length of the hole along the header."""
        return float(np.ptp(self.outline_mm[:, 1]))

    @property
    def round_mm(self) -> float:
        """Width of the hole round the header, on the paper."""
        return float(np.ptp(self.outline_mm[:, 0]))


def cope_hole(
    branch: PipeAxis,
    back: Array,
    radius_mm: float,
    header: Solid,
    header_zero: Array,
    thickness_mm: float,
) -> CopeHole:
    """The hole that a round of radius_mm (the branch's bore, or its OD where it goes in) makes in a header.

    branch: where the branch stands.  back: unit vector (3,) along it, away from the header.
    header_zero: unit vector (3,) square to the header, towards its girth angle 0.
    Raises GeometryError for a header that is no straight pipe, and where the hole doesn't lie on it.
    """
    if isinstance(header, BendSolid):
        raise GeometryError(
            "a hole in an elbow has no flat template; open it through the pipe that sits on it"
        )
    if isinstance(header, HalfSpace) or not isinstance(header, PipeSolid):
        raise GeometryError("a plate has no cope, so no hole under one; mark it round the pipe")
    girth = np.linspace(0.0, 2 * math.pi, _ROWS)[:-1]
    points = branch.point(girth, 0.0, radius_mm)
    check_wide_enough(branch.start_mm, back, radius_mm, [header])
    check_met(points, branch.start_mm, back, [header])
    axis = PipeAxis(header.start_mm, header.along, header_zero)
    hole = _on_header(axis, points + header.last_mm(points, back)[:, None] * back)
    middle = branch.start_mm + header.last_mm(branch.start_mm, back) * back
    cross = _on_header(axis, middle)
    around = np.remainder(hole[:, 0] - cross[0] + math.pi, 2 * math.pi) - math.pi
    scale = header.radius_mm + thickness_mm / 2
    outline = np.stack([scale * around, hole[:, 1] - cross[1]], axis=1)
    return CopeHole(outline, float(cross[1]), float(cross[0]), middle, header.radius_mm)


def _on_header(axis: PipeAxis, points: Array) -> Array:
    """Girth angles and stations (..., 2) of points (..., 3) on a pipe."""
    off = points - axis.start_mm
    girth = np.arctan2(off @ np.cross(axis.along, axis.zero), off @ axis.zero)
    return np.stack([girth, off @ axis.along], axis=-1)
