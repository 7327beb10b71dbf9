"""Where a plane cuts a tube: the station of the cut along every girth line."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from templates_core.errors import GeometryError
from templates_core.surfaces import Array, Tube


@dataclass(frozen=True)
class Plane:
    """The plane a·x + b·y + c·z = d in the frame of the tube; (a, b, c) is a unit vector."""

    normal: tuple[float, float, float]
    offset_mm: float

    def distance_mm(self, points: Array) -> Array:
        """Signed distance [mm] of points (..., 3), positive on the side of the normal."""
        return np.asarray(points @ np.asarray(self.normal) - self.offset_mm)


@dataclass(frozen=True)
class SurfaceCurve:
    """A path on a tube, by its own parameter t.

    at: parameters (n,) to girth angle [rad], station [mm] and their derivatives by t, each (n,).
    joins: parameters at which it passes between a tangent and the arc.
    """

    at: Callable[[Array], tuple[Array, Array, Array, Array]]
    start: float
    end: float
    joins: tuple[float, ...] = ()


def radial_plane(tube: Tube, angle_rad: float) -> Plane:
    """The plane through the axis of the bend at that sweep angle; its normal points up the bend."""
    if not 0 <= angle_rad <= tube.sweep_rad:
        cut, sweep = math.degrees(angle_rad), math.degrees(tube.sweep_rad)
        raise GeometryError(f"a cut at {cut:.2f}° is not on an elbow of {sweep:.2f}°")
    return Plane((-math.sin(angle_rad), math.cos(angle_rad), 0.0), 0.0)


def tilted_plane(tube: Tube, station_mm: float, pitch_rad: float, yaw_rad: float) -> Plane:
    """A plane through the centreline at a station, leaning off square.

    pitch_rad: leans the heel side forward, up the tube (so the heel is cut longer).
    yaw_rad: leans the side at girth angle +90° forward.
    """
    psi = float(tube.sweep_at(station_mm))
    forward = np.array([-math.sin(psi), math.cos(psi), 0.0])
    heelward = np.array([math.cos(psi), math.sin(psi), 0.0])
    sideward = np.array([0.0, 0.0, 1.0])
    normal = forward - math.tan(pitch_rad) * heelward - math.tan(yaw_rad) * sideward
    normal /= np.linalg.norm(normal)
    heel, throat = tube.point([0.0, math.pi], station_mm)
    centre = (heel + throat) / 2
    return Plane((float(normal[0]), float(normal[1]), float(normal[2])), float(normal @ centre))


def section(
    tube: Tube, plane: Plane, near_mm: float, start_rad: float = 0.0, end_rad: float = 2 * math.pi
) -> SurfaceCurve:
    """The curve in which a plane cuts a tube, by girth angle from start_rad to end_rad.

    near_mm: station near which the cut lies; the branch through it is followed by continuity.
    On the arc psi = atan2(b, a) ± acos((d - c r sin phi) / (rho √(a² + b²))); on a tangent the
    girth line is straight and has one root.
    Raises GeometryError where a girth line is missed, only touched, or cut beyond a face.
    """
    cut = _Section(tube, plane, near_mm)

    def at(phi: Array) -> tuple[Array, Array, Array, Array]:
        station = cut.station(phi)
        return phi, station, np.ones_like(phi), cut.slope(phi, station)

    return SurfaceCurve(at, start_rad, end_rad, cut.joins(start_rad, end_rad))


class _Section:
    """One branch of a plane section; follows it from girth line to girth line."""

    def __init__(self, tube: Tube, plane: Plane, near_mm: float) -> None:
        self.tube, self.plane = tube, plane
        self.a, self.b, self.c = plane.normal
        self.sign = self._nearest_sign(near_mm) if tube.sweep_rad > 0 else 0

    def _arc_angle(self, phi: Array, sign: int) -> Array:
        """Psi of one root on the torus, in (-pi, pi] about the middle of the arc; NaN where missed."""
        level = math.hypot(self.a, self.b)
        with np.errstate(invalid="ignore", divide="ignore"):
            ratio = (self.plane.offset_mm - self.c * self.tube.radius_mm * np.sin(phi)) / (
                self.tube.rho_mm(phi) * level
            )
            psi = math.atan2(self.b, self.a) + sign * np.arccos(ratio)
        middle = self.tube.sweep_rad / 2
        return np.asarray(middle + np.remainder(psi - middle + math.pi, 2 * math.pi) - math.pi)

    def _nearest_sign(self, near_mm: float) -> int:
        wanted = (near_mm - self.tube.arc_start_mm) / self.tube.bend_radius_mm
        heel = np.zeros(1)
        errors = {sign: abs(float(self._arc_angle(heel, sign)[0]) - wanted) for sign in (1, -1)}
        return min(errors, key=lambda sign: errors[sign] if errors[sign] == errors[sign] else math.inf)

    def station(self, phi: Array) -> Array:
        """Stations of the cut [mm] at girth angles (n,)."""
        tube = self.tube
        first, last = self._tangent_stations(phi)
        if tube.sweep_rad == 0:
            station = first
        else:
            along = tube.arc_start_mm + tube.bend_radius_mm * self._arc_angle(phi, self.sign)
            on_arc = (along >= tube.arc_start_mm) & (along <= tube.arc_end_mm)
            before = (along < tube.arc_start_mm) | (np.isnan(along) & (first <= tube.arc_start_mm))
            after = (along > tube.arc_end_mm) | (np.isnan(along) & (last >= tube.arc_end_mm))
            station = np.select([on_arc, before, after], [along, first, last], np.nan)
        self._refuse_outside(phi, station)
        return station

    def _tangent_stations(self, phi: Array) -> tuple[Array, Array]:
        """Stations at which the lines of the two tangents meet the plane; infinite where parallel."""
        tube, normal = self.tube, np.asarray(self.plane.normal)
        found = []
        for station in (tube.arc_start_mm, tube.arc_end_mm):
            psi = float(tube.sweep_at(station))
            slope = float(normal @ np.array([-math.sin(psi), math.cos(psi), 0.0]))
            gap = -self.plane.distance_mm(tube.point(phi, np.full_like(phi, station)))
            found.append(station + gap / slope if abs(slope) > 1e-9 else np.full_like(phi, np.inf))
        return found[0], found[1]

    def _refuse_outside(self, phi: Array, station: Array) -> None:
        slack = 1e-9 * max(1.0, self.tube.length_mm)
        outside = ~((station >= -slack) & (station <= self.tube.length_mm + slack))
        if not outside.any():
            return
        worst = int(np.argmax(outside))
        angle = math.degrees(float(phi[worst])) % 360
        if math.isnan(float(station[worst])):
            raise GeometryError(f"the plane misses the girth line at {angle:.0f}° from the heel")
        beyond = max(-float(np.min(station)), float(np.max(station)) - self.tube.length_mm)
        raise GeometryError(
            f"the plane cuts the girth line at {angle:.0f}° from the heel beyond the end of the fitting"
            + (f", by {beyond:.1f} mm at most" if math.isfinite(beyond) else "")
        )

    def slope(self, phi: Array, station: Array) -> Array:
        """Derivative of the station by the girth angle [mm/rad], from n·P = d."""
        tube, normal = self.tube, np.asarray(self.plane.normal)
        psi = tube.sweep_at(station)
        forward = np.stack([-np.sin(psi), np.cos(psi), np.zeros_like(psi)], axis=-1)
        outward = np.stack([np.cos(psi), np.sin(psi), np.zeros_like(psi)], axis=-1)
        round_girth = tube.radius_mm * (
            -np.sin(phi)[..., None] * outward + np.cos(phi)[..., None] * np.array([0.0, 0.0, 1.0])
        )
        across = (forward @ normal) * tube.axial_scale(phi, station)
        if np.any(np.abs(across) < 1e-6):
            raise GeometryError("the plane only touches a girth line instead of crossing it")
        return np.asarray(-(round_girth @ normal) / across)

    def joins(self, start_rad: float, end_rad: float) -> tuple[float, ...]:
        """Girth angles at which the cut passes between arc and tangents, to 1e-12 rad."""
        if self.tube.sweep_rad == 0:
            return ()
        phi = np.linspace(start_rad, end_rad, 721)
        station = self.station(phi)
        found: list[float] = []
        for border in (self.tube.arc_start_mm, self.tube.arc_end_mm):
            excess = station - border
            for i in np.flatnonzero(excess[:-1] * excess[1:] < 0):
                found.append(self._cross(float(phi[i]), float(phi[i + 1]), border))
        return tuple(sorted(found))

    def _cross(self, low: float, high: float, border_mm: float) -> float:
        def excess(phi: float) -> float:
            return float(self.station(np.array([phi]))[0]) - border_mm

        rising = excess(high) > 0
        while high - low > 1e-12:
            middle = (low + high) / 2
            if (excess(middle) > 0) == rising:
                high = middle
            else:
                low = middle
        return (low + high) / 2


def girth_line(girth_rad: ArrayLike, tube: Tube, start_mm: float, end_mm: float) -> SurfaceCurve:
    """The girth line at one girth angle, by station from start_mm to end_mm."""
    girth = float(np.asarray(girth_rad))

    def at(station: Array) -> tuple[Array, Array, Array, Array]:
        return np.full_like(station, girth), station, np.zeros_like(station), np.ones_like(station)

    low, high = sorted((start_mm, end_mm))
    joins = tuple(j for j in (tube.arc_start_mm, tube.arc_end_mm) if low < j < high)
    return SurfaceCurve(at, start_mm, end_mm, joins if start_mm < end_mm else joins[::-1])
