"""The outside of a pipe or elbow as a surface: a straight tangent, an arc, a straight tangent.

Frame: the axis of the bend is z and face A lies in the plane y = -tangent_a, facing down y. Girth angle
phi runs from the heel (0) over a side (90°) to the throat (180°). Station s is measured along the
centreline from face A. On the arc, psi = (s - tangent_a) / R and

    P = (rho cos psi, rho sin psi, r sin phi),   rho = R + r cos phi.

Seen from outside with face A down, phi increases to the LEFT.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from templates_core.errors import GeometryError
from templates_core.fittings import StockElbow

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Tube:
    """A tangent, an arc and a tangent; a straight pipe is a tube without an arc.

    radius_mm: outside radius r.  bend_radius_mm: R, to the centreline (0 for a straight pipe).
    sweep_rad: angle of the arc.  tangent_a_mm, tangent_b_mm: straight lengths before and after it.
    Raises GeometryError for a size below 0 and where the throat would not be open (R <= r).
    """

    radius_mm: float
    bend_radius_mm: float
    sweep_rad: float
    tangent_a_mm: float = 0.0
    tangent_b_mm: float = 0.0

    def __post_init__(self) -> None:
        others = (self.bend_radius_mm, self.sweep_rad, self.tangent_a_mm, self.tangent_b_mm)
        if not (self.radius_mm > 0 and all(size >= 0 for size in others)):
            raise GeometryError(f"a pipe or elbow can't have sizes below 0: {self}")
        if self.sweep_rad > 0 and self.bend_radius_mm <= self.radius_mm:
            raise GeometryError(
                f"a bend radius of {self.bend_radius_mm:.2f} mm leaves no throat on an outside radius of "
                f"{self.radius_mm:.2f} mm"
            )

    @property
    def arc_start_mm(self) -> float:
        """Station at which the arc begins [mm]."""
        return self.tangent_a_mm

    @property
    def arc_end_mm(self) -> float:
        """Station at which the arc ends [mm]."""
        return self.tangent_a_mm + self.bend_radius_mm * self.sweep_rad

    @property
    def length_mm(self) -> float:
        """Length of the centreline from face to face [mm]."""
        return self.arc_end_mm + self.tangent_b_mm

    def rho_mm(self, girth_rad: ArrayLike) -> Array:
        """Distance from the axis of the bend [mm] at girth angles of any shape."""
        return np.asarray(self.bend_radius_mm + self.radius_mm * np.cos(np.asarray(girth_rad, float)))

    def sweep_at(self, station_mm: ArrayLike) -> Array:
        """Sweep angle psi [rad] at stations of any shape; constant along the tangents."""
        if self.sweep_rad == 0:
            return np.zeros_like(np.asarray(station_mm, float))
        along_arc = np.asarray(station_mm, float) - self.arc_start_mm
        return np.clip(along_arc / self.bend_radius_mm, 0.0, self.sweep_rad)

    def sweep_rate(self, station_mm: ArrayLike) -> Array:
        """How fast psi grows with the station [rad/mm]: 1/R on the arc, 0 on the tangents."""
        s = np.asarray(station_mm, float)
        if self.sweep_rad == 0:
            return np.zeros_like(s)
        on_arc = (s > self.arc_start_mm) & (s < self.arc_end_mm)
        return np.where(on_arc, 1.0 / self.bend_radius_mm, 0.0)

    def axial_scale(self, girth_rad: ArrayLike, station_mm: ArrayLike) -> Array:
        """Length on the surface per unit of station: rho/R on the arc, 1 on the tangents."""
        rate = self.sweep_rate(station_mm)
        return np.where(rate > 0, self.rho_mm(girth_rad) * rate, 1.0)

    def girth_line_length(self, girth_rad: ArrayLike, start_mm: ArrayLike, end_mm: ArrayLike) -> Array:
        """Length along girth lines [mm] between two stations, negative where end is before start."""
        start, end = np.asarray(start_mm, float), np.asarray(end_mm, float)
        turned = self.sweep_at(end) - self.sweep_at(start)
        straight = (end - start) - self.bend_radius_mm * turned
        return np.asarray(self.rho_mm(girth_rad) * turned + straight)

    def plane_station(self, girth_rad: ArrayLike, depth_mm: float) -> Array:
        """Stations [mm] at which girth lines pass a plane parallel to face A, depth_mm behind it.

        On the arc psi = asin((depth - tangent) / rho).
        Raises GeometryError where a girth line never gets so far.
        """
        phi = np.asarray(girth_rad, float)
        if depth_mm <= self.tangent_a_mm or self.sweep_rad == 0:
            return np.full_like(phi, depth_mm)
        sine = (depth_mm - self.tangent_a_mm) / self.rho_mm(phi)
        if np.any(sine > math.sin(min(self.sweep_rad, math.pi / 2))):
            raise GeometryError(f"a shoulder {depth_mm:.1f} mm behind the face is beyond the end of the bend")
        return np.asarray(self.tangent_a_mm + self.bend_radius_mm * np.arcsin(sine))

    def point(self, girth_rad: ArrayLike, station_mm: ArrayLike) -> Array:
        """Points in space [mm], shape (..., 3); beyond the faces the tangents go on."""
        phi, s = np.broadcast_arrays(np.asarray(girth_rad, float), np.asarray(station_mm, float))
        rho, psi = self.rho_mm(phi), self.sweep_at(s)
        past = np.where(s > self.arc_end_mm, s - self.arc_end_mm, np.minimum(s - self.arc_start_mm, 0.0))
        return np.stack(
            [
                rho * np.cos(psi) - past * np.sin(psi),
                rho * np.sin(psi) + past * np.cos(psi),
                self.radius_mm * np.sin(phi),
            ],
            axis=-1,
        )

    def gaussian_curvature(self, girth_rad: ArrayLike, station_mm: ArrayLike) -> Array:
        """K [1/mm²]: cos phi / (r rho) on the arc, 0 on the tangents."""
        phi = np.asarray(girth_rad, float)
        on_arc = self.sweep_rate(station_mm) > 0
        return np.where(on_arc, np.cos(phi) / (self.radius_mm * self.rho_mm(phi)), 0.0)

    def seen_from_face_b(self) -> Tube:
        """The same tube with its faces exchanged: stations run from face B, girth angles stay.

        Seen from outside with face B down, phi then increases to the RIGHT.
        """
        return Tube(self.radius_mm, self.bend_radius_mm, self.sweep_rad, self.tangent_b_mm, self.tangent_a_mm)

    def covered(self, thickness_mm: float) -> Tube:
        """The middle of a wrap of that thickness lying on this tube: radius r + t/2."""
        return Tube(
            self.radius_mm + thickness_mm / 2,
            self.bend_radius_mm,
            self.sweep_rad,
            self.tangent_a_mm,
            self.tangent_b_mm,
        )


def straight_pipe(radius_mm: float, length_mm: float) -> Tube:
    """A straight pipe along y, its girth angle 0 on +x."""
    return Tube(radius_mm, 0.0, 0.0, length_mm)


def elbow_surface(elbow: StockElbow) -> Tube:
    """The outside of a stock elbow.

    Raises GeometryError for an elbow whose bend radius is not known, since it can't be cut by figures.
    """
    if elbow.bend_radius_mm is None:
        raise GeometryError(
            f"the bend radius of {elbow.name} is not known, so it can be used whole only; "
            "measure it and give its bend radius or tangents to cut it"
        )
    return Tube(
        elbow.radius_mm, elbow.bend_radius_mm, elbow.sweep_rad, elbow.tangent_a_mm, elbow.tangent_b_mm
    )
