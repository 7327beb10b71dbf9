"""Pipe and elbows as bought or as measured: the plain data that the rest computes with."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class Pipe:
    """A pipe size.

    name: as the sheets print it, such as ``NPS 1-1/2 Sch 40``.
    od_mm, wall_mm: outside diameter and wall [mm].  source: standard or ``measured``.
    """

    name: str
    od_mm: float
    wall_mm: float
    source: str

    @property
    def radius_mm(self) -> float:
        """Outside radius [mm]."""
        return self.od_mm / 2

    @property
    def girth_mm(self) -> float:
        """Outside circumference [mm]."""
        return math.pi * self.od_mm


RETURN_RAD = math.radians(175)
"""An elbow of this sweep or more is a return: its faces' axes meet too far off, or nowhere, to measure to."""


def centre_to_end_mm(bend_radius_mm: float, sweep_rad: float, tangent_mm: float) -> float:
    """Work point to face [mm]; half of the centre-to-centre, the bend radius, for a return."""
    if sweep_rad >= RETURN_RAD:
        return bend_radius_mm
    return bend_radius_mm * math.tan(sweep_rad / 2) + tangent_mm


@dataclass(frozen=True)
class StockElbow:
    """One kind of elbow that can be bought, or a real one that was measured.

    name: as the job file names it, such as ``90 long radius``.
    sweep_rad: angle between its faces.
    centre_to_end_mm: work point to face A; of a return, half of its centre-to-centre.
    bend_radius_mm: to the centreline; None where the standard gives only the centre-to-end and a cut
    would have to guess, so that the elbow can be used whole only.
    tangent_a_mm, tangent_b_mm: straight lengths at face A and face B.
    shoulder_mm: axial distance from the face back to the first full-diameter edge (0 for square ends).
    sweep_tolerance_rad: how far the standard lets the real sweep be off, either way.
    od_plus_mm, od_minus_mm: how far the standard lets the real OD be over and under the nominal.
    All three are 0 for an elbow whose real sizes the job file gives.
    """

    name: str
    od_mm: float
    wall_mm: float
    sweep_rad: float
    centre_to_end_mm: float
    bend_radius_mm: float | None
    tangent_a_mm: float
    tangent_b_mm: float
    shoulder_mm: float
    sweep_tolerance_rad: float
    od_plus_mm: float
    od_minus_mm: float
    source: str

    @property
    def radius_mm(self) -> float:
        """Outside radius of the tube [mm]."""
        return self.od_mm / 2
