"""A straight pipe bent over point supports of unequal height: its shape, bending stress and support forces.

The pipe is a beam without weight, held down or pushed up at each support and free beyond the outer ones.
Heights and forces are positive away from the table: a shim pushes, a clamp pulls.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from templates_core.errors import GeometryError
from templates_core.paths.directions import Vector
from templates_core.welding.weld_kinks import tube_inertia_mm4

YOUNGS_MPA = 200_000.0
"""Stiffness of steel (from memory; stainless is about 4 % less)."""


@dataclass(frozen=True)
class Beam:
    """A pipe as a beam."""

    od_mm: float
    wall_mm: float
    length_mm: float

    @property
    def stiffness_nmm2(self) -> float:
        """E·I [N·mm²]."""
        return YOUNGS_MPA * tube_inertia_mm4(self.od_mm, self.wall_mm)

    def stress_mpa(self, moment_nmm: float) -> float:
        """Greatest bending stress of a moment, without sign [MPa]."""
        return abs(moment_nmm) * self.od_mm / 2 / tube_inertia_mm4(self.od_mm, self.wall_mm)


@dataclass(frozen=True)
class BentPipe:
    """A pipe bent over supports.

    places_mm: of the supports from its start, ascending.  heights_mm: at each.  moments_nmm: E·I times
    curvature at each.  forces_n: of each support on the pipe.
    """

    beam: Beam
    places_mm: tuple[float, ...]
    heights_mm: tuple[float, ...]
    moments_nmm: tuple[float, ...]
    forces_n: tuple[float, ...]

    @property
    def stress_mpa(self) -> float:
        """Greatest bending stress; between supports the moment is linear, so that it is at one of them."""
        return max(self.beam.stress_mpa(moment) for moment in self.moments_nmm)

    @property
    def stress_at_mm(self) -> float:
        """Where that is."""
        sizes = [abs(moment) for moment in self.moments_nmm]
        return self.places_mm[sizes.index(max(sizes))]

    @property
    def pull_n(self) -> float:
        """Greatest force that a clamp has to hold."""
        return max(0.0, -min(self.forces_n))

    @cached_property
    def _pieces(self) -> tuple[Vector, Vector, Vector, Vector]:
        places, heights, curvatures = (np.asarray(v) for v in (self.places_mm, self.heights_mm, self._bends))
        widths = np.diff(places)
        slopes = np.diff(heights) / widths - widths * (2 * curvatures[:-1] + curvatures[1:]) / 6
        return places, heights, curvatures, slopes

    @property
    def _bends(self) -> Vector:
        return np.asarray(self.moments_nmm) / self.beam.stiffness_nmm2

    def height_mm(self, at_mm: float) -> float:
        """Height of the centreline over its height at a support without a shim [mm]."""
        places, heights, bends, slopes = self._pieces
        if at_mm <= places[0]:
            return float(heights[0] + slopes[0] * (at_mm - places[0]))
        if at_mm >= places[-1]:
            width = places[-1] - places[-2]
            leaving = slopes[-1] + width * (bends[-2] + bends[-1]) / 2
            return float(heights[-1] + leaving * (at_mm - places[-1]))
        k = int(np.searchsorted(places, at_mm, side="right")) - 1
        x, width = at_mm - places[k], places[k + 1] - places[k]
        rate = (bends[k + 1] - bends[k]) / width
        return float(heights[k] + x * (slopes[k] + x * (bends[k] / 2 + x * rate / 6)))


def bend_over(beam: Beam, places_mm: Sequence[float], heights_mm: Sequence[float]) -> BentPipe:
    """The pipe over supports at places with heights.

    Clapeyron's three moments with settlements: l₁·M₀ + 2(l₁ + l₂)·M₁ + l₂·M₂ =
    6EI·((h₂ - h₁)/l₂ - (h₁ - h₀)/l₁), M positive where the pipe is hollow seen from above; no moment at the
    outer supports (Timoshenko, Strength of Materials, from memory).  A support's force is the jump in shear.

    Raises GeometryError for fewer than two supports, places that don't ascend or lie off the pipe, and
    heights that are no numbers.
    """
    places, heights = np.asarray(places_mm, dtype=float), np.asarray(heights_mm, dtype=float)
    if len(places) < 2 or len(places) != len(heights):
        raise GeometryError(f"{len(places)} supports with {len(heights)} heights hold no pipe")
    if not (np.isfinite(places).all() and np.isfinite(heights).all()):
        raise GeometryError("a support has no place or no height")
    if (np.diff(places) <= 0).any():
        raise GeometryError("supports stand in each other's place")
    if places[0] < 0 or places[-1] > beam.length_mm:
        off = max(-places[0], places[-1] - beam.length_mm)
        raise GeometryError(f"a support stands {off:.1f} mm off the end of the pipe")
    widths = np.diff(places)
    moments = np.zeros(len(places))
    if len(places) > 2:
        bands = 2 * np.diag(widths[:-1] + widths[1:]) + np.diag(widths[1:-1], 1) + np.diag(widths[1:-1], -1)
        moments[1:-1] = np.linalg.solve(bands, 6 * beam.stiffness_nmm2 * np.diff(np.diff(heights) / widths))
    shears = np.concatenate([[0.0], np.diff(moments) / widths, [0.0]])
    return BentPipe(
        beam,
        tuple(map(float, places)),
        tuple(map(float, heights)),
        tuple(map(float, moments)),
        tuple(map(float, np.diff(shears))),
    )
