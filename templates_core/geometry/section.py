"""Where a plane cuts a tube: the station of the cut along every girth line."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from templates_core.errors import GeometryError
from templates_core.geometry.surfaces import Array, Tube

_SLACK_MM = 1e-9  # rounding error of a station
_ROUNDING = 1e-12
_LEAST_CROSSING = 0.01  # sine of the least angle between plane and girth line; under it the cut is no cut


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

    near_mm: station near which the cut lies. A plane crosses a bent girth line at most twice (sweeps up to
    180°), once each way; the cut keeps to the way in which the plane crosses the centreline at near_mm.
    On the arc psi = atan2(b, a) ± acos((d - c r sin phi) / (rho √(a² + b²))); on a tangent the
    girth line is straight and has one root.
    Raises GeometryError where a girth line is missed, only touched, or cut beyond a face.
    """
    radial_mm = _radial_station(tube, plane, near_mm)
    if radial_mm is not None:
        return _square_cut(radial_mm, start_rad, end_rad)
    cut = _Section(tube, plane, near_mm)

    def at(phi: Array) -> tuple[Array, Array, Array, Array]:
        station = cut.station(phi)
        return phi, station, np.ones_like(phi), cut.slope(phi, station)

    every_half_degree = np.linspace(start_rad, end_rad, 2 + math.ceil(2 * math.degrees(end_rad - start_rad)))
    at(every_half_degree)
    return SurfaceCurve(at, start_rad, end_rad, cut.joins(every_half_degree))


def _radial_station(tube: Tube, plane: Plane, near_mm: float) -> float | None:
    """Station of a plane through the axis of the bend where it cuts the arc; None for any other plane."""
    a, b, c = plane.normal
    if tube.sweep_rad == 0 or abs(c) > _ROUNDING or abs(plane.offset_mm) > _ROUNDING * tube.bend_radius_mm:
        return None
    near = float(tube.sweep_at(near_mm))
    forward = math.copysign(1.0, b * math.cos(near) - a * math.sin(near))
    psi = math.atan2(-forward * a, forward * b)
    return tube.arc_start_mm + tube.bend_radius_mm * psi if 0 < psi < tube.sweep_rad else None


def _square_cut(station_mm: float, start_rad: float, end_rad: float) -> SurfaceCurve:
    """The circle square to the centreline at one station."""

    def at(phi: Array) -> tuple[Array, Array, Array, Array]:
        still = np.zeros_like(phi)
        return phi, still + station_mm, still + 1.0, still

    return SurfaceCurve(at, start_rad, end_rad)


class _Section:
    """One branch of a plane section: on every girth line, the root that the plane crosses the same way."""

    def __init__(self, tube: Tube, plane: Plane, near_mm: float) -> None:
        self.tube, self.plane = tube, plane
        self.a, self.b, self.c = plane.normal
        crossing = self._crossing(float(tube.sweep_at(near_mm)))
        if abs(crossing) < _LEAST_CROSSING:
            raise GeometryError(f"the plane runs along the pipe {near_mm:.1f} mm from its face")
        self.way = math.copysign(1.0, crossing)

    def _crossing(self, psi: float) -> float:
        """Sine of the angle between the plane and the girth lines at a sweep angle, signed by the way."""
        return self.b * math.cos(psi) - self.a * math.sin(psi)

    def _arc_station(self, phi: Array) -> Array:
        """Stations of the root on the whole torus, measured from the middle of the arc; NaN where missed."""
        level = math.hypot(self.a, self.b)
        depth = self.plane.offset_mm - self.c * self.tube.radius_mm * np.sin(phi)
        with np.errstate(invalid="ignore"):
            psi = math.atan2(self.b, self.a) - self.way * np.arccos(depth / (self.tube.rho_mm(phi) * level))
        from_middle = np.remainder(psi - self.tube.sweep_rad / 2 + math.pi, 2 * math.pi) - math.pi
        middle_mm = (self.tube.arc_start_mm + self.tube.arc_end_mm) / 2
        return np.asarray(middle_mm + self.tube.bend_radius_mm * from_middle)

    def station(self, phi: Array) -> Array:
        """Stations of the cut [mm] at girth angles (n,)."""
        tube = self.tube
        before = self._tangent_station(phi, 0.0, tube.arc_start_mm)
        if tube.sweep_rad == 0:
            station = before
        else:
            along = self._arc_station(phi)
            after = self._tangent_station(phi, tube.sweep_rad, tube.arc_end_mm)
            on_arc = (along >= tube.arc_start_mm - _SLACK_MM) & (along <= tube.arc_end_mm + _SLACK_MM)
            roots = [on_arc, before <= tube.arc_start_mm, after >= tube.arc_end_mm]
            station = np.select(roots, [along, before, after], np.nan)
        self._refuse_outside(phi, station)
        return station

    def _tangent_station(self, phi: Array, psi: float, border_mm: float) -> Array:
        """Stations at which the lines of one tangent meet the plane; NaN where it crosses the other way."""
        crossing = self._crossing(psi)
        if crossing * self.way < _LEAST_CROSSING:
            return np.full_like(phi, np.nan)
        gap = -self.plane.distance_mm(self.tube.point(phi, np.full_like(phi, border_mm)))
        return np.asarray(border_mm + gap / crossing)

    def _refuse_outside(self, phi: Array, station: Array) -> None:
        """Raise GeometryError for the girth line that is cut farthest out, or not at all."""
        beyond = np.maximum(-station, station - self.tube.length_mm)
        beyond = np.where(np.isnan(beyond), np.inf, beyond)
        if not np.any(beyond > _SLACK_MM):
            return
        worst = int(np.argmax(beyond))
        angle = math.degrees(float(phi[worst])) % 360
        if math.isinf(beyond[worst]):
            raise GeometryError(f"the plane misses the girth line at {angle:.0f}° from the heel")
        raise GeometryError(
            f"the plane cuts the girth line at {angle:.0f}° from the heel {beyond[worst]:.1f} mm beyond the "
            "end of the fitting"
        )

    def slope(self, phi: Array, station: Array) -> Array:
        """Derivative of the station by the girth angle [mm/rad], from n·P = d."""
        psi = self.tube.sweep_at(station)
        crossing = self.b * np.cos(psi) - self.a * np.sin(psi)
        self._refuse_touching(phi, crossing)
        outward = self.a * np.cos(psi) + self.b * np.sin(psi)
        round_girth = self.tube.radius_mm * (self.c * np.cos(phi) - outward * np.sin(phi))
        return np.asarray(-round_girth / (crossing * self.tube.axial_scale(phi, station)))

    def _refuse_touching(self, phi: Array, crossing: Array) -> None:
        touching = np.flatnonzero(np.abs(crossing) < _LEAST_CROSSING)
        if touching.size:
            angle = math.degrees(float(phi[touching[0]])) % 360
            raise GeometryError(f"the plane only touches the girth line at {angle:.0f}° from the heel")

    def joins(self, phi: Array) -> tuple[float, ...]:
        """Girth angles at which the cut passes between arc and tangents, to 1e-12 rad; phi is a fine grid."""
        if self.tube.sweep_rad == 0:
            return ()
        station = self.station(phi)
        found: list[float] = []
        for border in (self.tube.arc_start_mm, self.tube.arc_end_mm):
            past = station > border + _SLACK_MM
            for i in np.flatnonzero(past[:-1] != past[1:]):
                found.append(self._cross(float(phi[i]), float(phi[i + 1]), border))
        return tuple(sorted(found))

    def _cross(self, low: float, high: float, border_mm: float) -> float:
        def past(phi: float) -> bool:
            return float(self.station(np.array([phi]))[0]) > border_mm + _SLACK_MM

        past_high = past(high)
        while high - low > 1e-12:
            middle = (low + high) / 2
            if past(middle) == past_high:
                high = middle
            else:
                low = middle
        return (low + high) / 2


def girth_line(tube: Tube, girth_rad: float, start_mm: float, end_mm: float) -> SurfaceCurve:
    """The girth line at one girth angle from station start_mm to end_mm, either way, by stations gone."""
    way = math.copysign(1.0, end_mm - start_mm)

    def at(t: Array) -> tuple[Array, Array, Array, Array]:
        return np.full_like(t, girth_rad), start_mm + way * t, np.zeros_like(t), np.full_like(t, way)

    low, high = sorted((start_mm, end_mm))
    joins = tuple(abs(j - start_mm) for j in (tube.arc_start_mm, tube.arc_end_mm) if low < j < high)
    return SurfaceCurve(at, 0.0, high - low, joins)
