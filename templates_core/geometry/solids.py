"""What a pipe's end can sit on, as solids that straight lines run into.

A line is a point and a direction common to all lines of one call, at distance t along it.  Every solid says
where a line has its last point in it, which is what a walker on the line, coming from great t, meets first.
Along a line a solid is one or two intervals, and its end faces are planes that cut them off: so the part of
a torus that the elbow does not have is never met.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from templates_core.errors import GeometryError
from templates_core.geometry.surfaces import Array

GRAZE_MM = 1e-6
"""A line that passes a surface no further off than this touches it."""
_PARALLEL = 1e-12
_POLISH_ROUNDS = 3
_MOST_POLISH_MM = 1e-2


class Solid(Protocol):
    """Anything that a pipe's end can sit on."""

    def last_mm(self, points: Array, direction: Array) -> Array:
        """Greatest t [mm], shape (...), at which points (..., 3) + t·direction (3,) are in the solid.

        -inf where the line misses it, +inf where it goes on in it for ever.
        """
        ...

    def distance_mm(self, points: Array) -> Array:
        """Shortest distance [mm], shape (...), of points (..., 3) to the surface; negative inside."""
        ...

    def outward(self, points: Array) -> Array:
        """Vectors (..., 3) square out of the round or flat side, abreast of points; of no fixed length."""
        ...


@dataclass(frozen=True, eq=False)
class HalfSpace:
    """A plate or the plane of a mitre, with material on its far side.

    point_mm: any point of the plane (3,).  normal: unit vector (3,) out of the material, towards the pipe.
    """

    point_mm: Array
    normal: Array

    def last_mm(self, points: Array, direction: Array) -> Array:
        """Where lines leave the material; +inf for lines that never do."""
        low, high = _below(points - self.point_mm, direction, self.normal)
        return np.where(low <= high, high, -np.inf)

    def distance_mm(self, points: Array) -> Array:
        """Distance square to the plane."""
        return np.asarray((points - self.point_mm) @ self.normal)

    def outward(self, points: Array) -> Array:
        """The normal, everywhere."""
        return np.broadcast_to(self.normal, points.shape)


@dataclass(frozen=True, eq=False)
class PipeSolid:
    """A straight round pipe from start_mm to end_mm (3,), filled to its outside radius, with flat ends."""

    start_mm: Array
    end_mm: Array
    radius_mm: float

    @cached_property
    def length_mm(self) -> float:
        """From end to end [mm]."""
        return float(np.linalg.norm(self.end_mm - self.start_mm))

    @cached_property
    def along(self) -> Array:
        """Unit vector (3,) from start to end."""
        return np.asarray((self.end_mm - self.start_mm) / self.length_mm)

    def last_mm(self, points: Array, direction: Array) -> Array:
        """Where lines leave the pipe, through its side or through an end."""
        low, high = _cut_off(*self._side(points, direction), points, direction, self._faces())
        return np.where(low <= high, high, -np.inf)

    def distance_mm(self, points: Array) -> Array:
        """Distance from the centreline, less the radius."""
        return np.asarray(_norm(self.outward(points)) - self.radius_mm)

    def outward(self, points: Array) -> Array:
        """From the nearest point of the centreline."""
        from_start = points - self.start_mm
        along = from_start @ self.along
        reach = np.clip(along, *self._line_ends(from_start - along[..., None] * self.along))
        return np.asarray(from_start - reach[..., None] * self.along)

    def _faces(self) -> tuple[tuple[Array, Array], ...]:
        return ((self.start_mm, -self.along), (self.end_mm, self.along))

    @cached_property
    def _square(self) -> bool:
        """Whether both ends are square to the pipe."""
        return all(abs(float(outward @ self.along)) > 1 - _PARALLEL for _, outward in self._faces())

    def _line_ends(self, off: Array) -> tuple[Array, Array]:
        """Where the lines along the side start and end that vectors (..., 3) off the centre point at."""
        if self._square:
            return np.zeros(off.shape[:-1]), np.full(off.shape[:-1], self.length_mm)
        radius = np.maximum(_norm(off), GRAZE_MM)
        start, end = (
            -self.radius_mm * (off @ outward) / (radius * float(self.along @ outward))
            for _, outward in self._faces()
        )
        return start, self.length_mm + end

    def _side(self, points: Array, direction: Array) -> tuple[Array, Array]:
        """The interval in a pipe that goes on for ever."""
        along = self.along
        across = direction - (direction @ along) * along
        from_start = points - self.start_mm
        off = from_start - (from_start @ along)[..., None] * along
        square = float(across @ across)
        if square < _PARALLEL**2:
            inside = _norm(off) <= self.radius_mm + GRAZE_MM
            return np.where(inside, -np.inf, np.inf), np.where(inside, np.inf, -np.inf)
        middle = -(off @ across) / square
        nearest = _norm(off + middle[..., None] * across)
        half = np.sqrt(np.maximum(self.radius_mm**2 - nearest**2, 0.0) / square)
        met = nearest <= self.radius_mm + GRAZE_MM
        return np.where(met, middle - half, np.inf), np.where(met, middle + half, -np.inf)


@dataclass(frozen=True, eq=False)
class BendSolid:
    """The bend of an elbow, filled to its outside radius: the part of a torus between its two faces.

    centre_mm: of the bend (3,).  axis: unit vector (3,) of the bend, about which it turns right-handed from
    face A to face B.  to_face_a: unit vector (3,), square to it, from the centre to the middle of face A.
    sweep_rad: over 0 and at most a half turn.
    Raises GeometryError for another sweep and where the throat would not be open.
    """

    centre_mm: Array
    axis: Array
    to_face_a: Array
    bend_radius_mm: float
    radius_mm: float
    sweep_rad: float

    def __post_init__(self) -> None:
        if not 0 < self.sweep_rad <= math.pi + 1e-9:
            raise GeometryError(
                f"a bend of {math.degrees(self.sweep_rad):.2f}° is none that a pipe can sit on; "
                "it turns over 0° and up to 180°"
            )
        if self.bend_radius_mm <= self.radius_mm:
            raise GeometryError(
                f"a bend radius of {self.bend_radius_mm:.2f} mm leaves no throat on an outside radius of "
                f"{self.radius_mm:.2f} mm"
            )

    def last_mm(self, points: Array, direction: Array) -> Array:
        """Where lines leave the bend, through its outside or through a face."""
        last = np.full(points.shape[:-1], -np.inf)
        for whole in self._torus(points, direction):
            low, high = _cut_off(*whole, points, direction, self._faces)
            last = np.where(low <= high, np.maximum(last, high), last)
        return last

    def distance_mm(self, points: Array) -> Array:
        """Distance from the centreline, less the radius."""
        return np.asarray(_norm(self.outward(points)) - self.radius_mm)

    def outward(self, points: Array) -> Array:
        """From the nearest point of the centreline."""
        local = (points - self.centre_mm) @ self._frame.T
        psi = self._sweep_at(local)
        centre = self.bend_radius_mm * np.stack([np.cos(psi), np.sin(psi), np.zeros_like(psi)], axis=-1)
        return np.asarray((local - centre) @ self._frame)

    def centreline(self, psi_rad: float) -> tuple[Array, Array]:
        """Point [mm] and unit direction, each (3,), of the centreline at a sweep angle from face A."""
        out, forward, _ = self._frame
        cos, sin = math.cos(psi_rad), math.sin(psi_rad)
        point = self.centre_mm + self.bend_radius_mm * (cos * out + sin * forward)
        return np.asarray(point), np.asarray(cos * forward - sin * out)

    def along_at(self, point: Array) -> Array:
        """Unit direction (3,) of the centreline abreast of a point (3,)."""
        return self.centreline(float(self._sweep_at((point - self.centre_mm) @ self._frame.T)))[1]

    def _sweep_at(self, local: Array) -> Array:
        """Sweep angles [rad] of points (..., 3) in the bend's own frame, held to its faces."""
        psi, middle = np.arctan2(local[..., 1], local[..., 0]), self.sweep_rad / 2
        from_middle = np.remainder(psi - middle + math.pi, 2 * math.pi) - math.pi
        return np.asarray(middle + np.clip(from_middle, -middle, middle))

    @cached_property
    def _frame(self) -> Array:
        """Rows: to face A, forward there, the axis."""
        return np.stack([self.to_face_a, np.cross(self.axis, self.to_face_a), self.axis])

    @cached_property
    def _faces(self) -> tuple[tuple[Array, Array], ...]:
        _, forward_a = self.centreline(0.0)
        _, forward_b = self.centreline(self.sweep_rad)
        return ((self.centre_mm, -forward_a), (self.centre_mm, forward_b))

    def _torus(self, points: Array, direction: Array) -> tuple[tuple[Array, Array], tuple[Array, Array]]:
        """The one or two intervals in the whole torus, an empty one having low > high.

        From the line's nearest point to the centre of the bend the quartic has no cubic term:
        (t² + m)² = 4R²(g + 2ht + lt²), |q|² = k + t² and m = k + R² − r².
        """
        local = (points - self.centre_mm) @ self._frame.T
        way = self._frame @ direction
        nearest = -(local @ way)
        local = local + nearest[..., None] * way
        four = 4 * self.bend_radius_mm**2
        m = np.einsum("...i,...i", local, local) + self.bend_radius_mm**2 - self.radius_mm**2
        flat = local[..., :2]
        g, h, level = np.einsum("...i,...i", flat, flat), flat @ way[:2], float(way[:2] @ way[:2])
        quartic = (2 * m - four * level, -2 * four * h, m**2 - four * g)
        roots = np.sort(self._touching(_roots(*quartic), local, way), axis=-1)  # those that are none last
        met = np.sum(np.isfinite(roots), axis=-1)
        roots = roots + nearest[..., None]
        first = np.where(met[..., None] >= 2, roots[..., :2], [np.inf, -np.inf])
        second = np.where(met[..., None] == 4, roots[..., 2:], [np.inf, -np.inf])
        return (first[..., 0], first[..., 1]), (second[..., 0], second[..., 1])

    def _touching(self, roots: NDArray[np.complex128], local: Array, way: Array) -> Array:
        """Real roots; of a pair that isn't, the point where the line touches, or +inf for none."""
        at = local[..., None, :] + roots.real[..., None] * way
        ring = np.hypot(at[..., 0], at[..., 1]) - self.bend_radius_mm
        miss = np.hypot(ring, at[..., 2]) - self.radius_mm
        return np.where((roots.imag == 0) | (np.abs(miss) <= GRAZE_MM), roots.real, np.inf)


def _roots(p: Array, q: Array, s: Array) -> NDArray[np.complex128]:
    """Roots (..., 4) of t⁴ + p t² + q t + s, as eigenvalues of its companion matrix, real ones polished."""
    companion = np.zeros((*p.shape, 4, 4))
    companion[..., 1, 0] = companion[..., 2, 1] = companion[..., 3, 2] = 1.0
    companion[..., 0, 3], companion[..., 1, 3], companion[..., 2, 3] = -s, -q, -p
    roots = np.linalg.eigvals(companion).astype(np.complex128)
    p, q, s = p[..., None], q[..., None], s[..., None]
    t = roots.real
    for _ in range(_POLISH_ROUNDS):
        value, slope = ((t * t + p) * t + q) * t + s, (4 * t * t + 2 * p) * t + q
        step = np.divide(value, slope, out=np.zeros_like(t), where=slope != 0)
        t = t - np.where(np.abs(step) <= _MOST_POLISH_MM, step, 0.0)
    return np.where(roots.imag == 0, t + 0j, roots)


def _norm(vectors: Array) -> Array:
    """Lengths (...) of vectors (..., 3)."""
    return np.asarray(np.sqrt(np.einsum("...i,...i", vectors, vectors)))


def _below(from_plane: Array, direction: Array, normal: Array) -> tuple[Array, Array]:
    """The interval of lines on the side of a plane that its normal points away from."""
    height, rise = from_plane @ normal, float(direction @ normal)
    if abs(rise) < _PARALLEL:
        inside = height <= GRAZE_MM
        return np.where(inside, -np.inf, np.inf), np.where(inside, np.inf, -np.inf)
    crossing, endless = -height / rise, np.full(height.shape, np.inf)
    return (-endless, crossing) if rise > 0 else (crossing, endless)


def _cut_off(
    low: Array, high: Array, points: Array, direction: Array, faces: tuple[tuple[Array, Array], ...]
) -> tuple[Array, Array]:
    """The interval between end faces, each a point and a normal out of the solid."""
    for at, outward in faces:
        face_low, face_high = _below(points - at, direction, outward)
        low, high = np.maximum(low, face_low), np.minimum(high, face_high)
    return low, high
