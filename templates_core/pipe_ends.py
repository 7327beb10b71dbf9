"""Where the end of a straight pipe is cut so that it seats on what it meets.

One rule serves every end, be it square, mitred, on a plate, coped on a pipe or an elbow, or on several of
these: walk each line along the pipe's wall towards that end; the cut is where it first meets a solid.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from templates_core.end_checks import check_met, check_wide_enough
from templates_core.fittings import Pipe
from templates_core.solids import HalfSpace, Solid
from templates_core.surfaces import Array

At = Literal["start", "end"]

CHORD_TOLERANCE_MM = 0.01
"""How far a chord of a cut line may leave it, on the unrolled pipe."""
_GRID = 48
_MOST_ROUNDS = 14
_WALL_SAMPLES = 5
_END_SHARE = 1e-4  # a point this share of the wall from an edge tells which way the wall climbs there
_WALL_HALVINGS = 12
_KINK_TURN_RAD = 0.15  # a turn of the line at a grid point over this is looked into
_KINK_PARTS = 8
_KINK_WIDTH_RAD = 1e-7
_LEAST_KINK_RAD = 1e-3
_SAME_RAD = 1e-12


class BearsOn(Enum):
    """Which part of a wall that is cut square through touches what it sits on."""

    FIRST = "whichever comes first"
    OUTER = "outer edge"
    BORE = "bore edge"


@dataclass(frozen=True, eq=False)
class PipeAxis:
    """Where a straight pipe stands.

    start_mm: a point of its centreline (3,), at station 0.  along: unit vector (3,) from its first end to its
    second; stations grow along it.  zero: unit vector (3,) square to it, towards girth angle 0.  Girth
    angles are right-handed about ``along``.
    """

    start_mm: Array
    along: Array
    zero: Array

    def outward(self, girth_rad: ArrayLike) -> Array:
        """Unit vectors (..., 3) from the centreline at girth angles of any shape."""
        phi = np.asarray(girth_rad, float)[..., None]
        return np.asarray(np.cos(phi) * self.zero + np.sin(phi) * np.cross(self.along, self.zero))

    def point(self, girth_rad: ArrayLike, station_mm: ArrayLike, radius_mm: float) -> Array:
        """Points in space [mm], shape (..., 3)."""
        station = np.asarray(station_mm, float)[..., None]
        return np.asarray(self.start_mm + station * self.along + radius_mm * self.outward(girth_rad))

    def girth_of(self, direction: Array) -> float:
        """Girth angle [rad] that a direction (3,) faces; it must not run along the pipe."""
        return math.atan2(float(np.cross(self.along, self.zero) @ direction), float(self.zero @ direction))


@dataclass(frozen=True, eq=False)
class EndCut:
    """The cut line of one end, row by row round the pipe.

    girth_rad: shape (n,), growing over one whole turn from the seam; the last row is the first again.
    station_mm: where the wall is cut.  solid: number of the one met there.  kinks_rad: girth angles at
    which the line has a corner, all among the rows.
    gap_outside_mm, gap_inside_mm: what is left between the outer and the bore edge and what the pipe
    sits on, square to that, shape (n,).
    """

    at_end: At
    girth_rad: Array
    station_mm: Array
    solid: Array
    kinks_rad: tuple[float, ...]
    gap_outside_mm: Array
    gap_inside_mm: Array

    def at(self, girth_rad: ArrayLike) -> Array:
        """Stations [mm] at girth angles of any shape, along the chords."""
        phi = np.asarray(girth_rad, float)
        seam = float(self.girth_rad[0])
        return np.asarray(np.interp(seam + _turn_from(phi, seam), self.girth_rad, self.station_mm))

    def from_seam(self, seam_rad: float) -> EndCut:
        """The same line with its rows from another seam, which falls on a chord."""
        seam = float(self.girth_rad[0])
        rows = np.unique(
            np.append(seam_rad + _turn_from(self.girth_rad, seam_rad), [seam_rad, seam_rad + 2 * math.pi])
        )
        rows = rows[np.concatenate([[True], np.diff(rows) > _SAME_RAD])]
        rows[-1] = seam_rad + 2 * math.pi
        old = seam + _turn_from(rows, seam)
        station, outside, inside = (
            np.interp(old, self.girth_rad, column)
            for column in (self.station_mm, self.gap_outside_mm, self.gap_inside_mm)
        )
        nearest = np.argmin(np.abs(old[:, None] - self.girth_rad), axis=1)
        turned = seam_rad + _turn_from(np.array(self.kinks_rad), seam_rad)
        kinks = tuple(float(kink) for kink in np.sort(turned))
        return EndCut(self.at_end, rows, station, self.solid[nearest], kinks, outside, inside)


def _turn_from(girth_rad: Array, seam_rad: float) -> Array:
    return np.asarray(np.remainder(girth_rad - seam_rad, 2 * math.pi))


def end_cut(
    axis: PipeAxis,
    pipe: Pipe,
    solids: Sequence[Solid],
    at_end: At,
    bears_on: BearsOn = BearsOn.FIRST,
    seam_rad: float = -math.pi,
    stops_rad: Sequence[float] = (),
    chord_tolerance_mm: float = CHORD_TOLERANCE_MM,
) -> EndCut:
    """The cut of one end of a pipe that stands on the union of the solids.

    The wall is cut square through, so that one line of it touches; on one plane alone it is sawn on that
    plane and touches all over, whatever it was to bear on.  Solids that are welded to each other must
    touch: take a root gap between them up in their lengths.
    stops_rad: girth angles that must be among the rows, besides the quarters.
    chord_tolerance_mm: between the line and its chords, on the unrolled outside of the pipe.
    Raises GeometryError, which says by how much, where the pipe is wider than its header or set off beyond
    its side, hangs over an end, meets nothing, or meets something at under 15°.
    """
    walk = _Walk(axis, pipe, tuple(solids), at_end, bears_on)
    girth, kinks = _sampled(walk, seam_rad, stops_rad, chord_tolerance_mm)
    station, solid = walk.cut(girth)
    outside, inside = (
        walk.gap_mm(girth, station, r) for r in (pipe.radius_mm, pipe.radius_mm - pipe.wall_mm)
    )
    return EndCut(at_end, girth, station, solid, kinks, outside, inside)


@dataclass(frozen=True, eq=False)
class _Walk:
    """Lines along the wall of a pipe, walked towards one end."""

    axis: PipeAxis
    pipe: Pipe
    solids: tuple[Solid, ...]
    at_end: At
    bears_on: BearsOn

    def __post_init__(self) -> None:
        outside = self.axis.point(
            np.linspace(0, 2 * math.pi, _GRID, endpoint=False), 0.0, self.pipe.radius_mm
        )
        check_wide_enough(self.axis.start_mm, self.back, self.pipe.radius_mm, self.solids)
        check_met(outside, self.axis.start_mm, self.back, self.solids)

    @property
    def back(self) -> Array:
        """Unit vector (3,) away from what this end sits on."""
        return self.axis.along if self.at_end == "start" else -self.axis.along

    def cut(self, girth_rad: Array) -> tuple[Array, Array]:
        """Stations [mm] of the cut at girth angles (n,), and the number of the solid met there."""
        t, solid = self._highest(girth_rad)
        return (t if self.at_end == "start" else -t), solid

    @property
    def sawn(self) -> bool:
        """Whether it sits on one plane, so that the saw's own plane cuts the wall and all of it touches."""
        return len(self.solids) == 1 and isinstance(self.solids[0], HalfSpace)

    def gap_mm(self, girth_rad: Array, station_mm: Array, radius_mm: float) -> Array:
        """Distance of an edge of the cut wall to the nearest solid [mm]; 0 where it touches."""
        if self.sawn:
            return np.zeros_like(girth_rad)
        points = self.axis.point(girth_rad, station_mm, radius_mm)
        gap = np.min([solid.distance_mm(points) for solid in self.solids], axis=0)
        return np.asarray(np.maximum(gap, 0.0))

    def _met(self, girth_rad: Array, radius_mm: Array) -> tuple[Array, Array]:
        """Greatest t on lines at girth angles and radii of one shape, and the solid's number."""
        points = self.axis.start_mm + radius_mm[..., None] * self.axis.outward(girth_rad)
        met = np.stack([solid.last_mm(points, self.back) for solid in self.solids])
        return np.max(met, axis=0), np.argmax(met, axis=0)

    def _highest(self, girth_rad: Array) -> tuple[Array, Array]:
        """Greatest t over the part of the wall that is to bear."""
        outer, bore = self.pipe.radius_mm, self.pipe.radius_mm - self.pipe.wall_mm
        if self.sawn or self.bears_on is not BearsOn.FIRST:
            radius = bore if self.bears_on is BearsOn.BORE and not self.sawn else outer
            return self._met(girth_rad, np.full_like(girth_rad, radius))
        shares = np.linspace(0.0, 1.0, _WALL_SAMPLES)
        shares = np.sort([*shares, _END_SHARE, 1 - _END_SHARE])
        radii = bore + self.pipe.wall_mm * shares
        t, solid = self._met(
            np.broadcast_to(girth_rad[:, None], (len(girth_rad), len(radii))),
            np.broadcast_to(radii, (len(girth_rad), len(radii))),
        )
        best, rows = np.argmax(t, axis=1), np.arange(len(girth_rad))
        top, solid = t[rows, best], solid[rows, best]
        inner = (best > 0) & (best < len(radii) - 1)
        if np.any(inner):
            top[inner], solid[inner] = self._inside_wall(girth_rad[inner], radii[best[inner]], top[inner])
        return top, solid

    def _inside_wall(self, girth_rad: Array, radius_mm: Array, top: Array) -> tuple[Array, Array]:
        """The greatest t near a radius inside the wall, by halving steps to both sides."""
        outer, bore = self.pipe.radius_mm, self.pipe.radius_mm - self.pipe.wall_mm
        step = self.pipe.wall_mm / (_WALL_SAMPLES - 1)
        for _ in range(_WALL_HALVINGS):
            step /= 2
            tried = np.clip(radius_mm + step * np.array([[-1.0], [0.0], [1.0]]), bore, outer)
            t, solid = self._met(np.broadcast_to(girth_rad, tried.shape), tried)
            best, rows = np.argmax(t, axis=0), np.arange(len(girth_rad))
            radius_mm, top, won = tried[best, rows], t[best, rows], solid[best, rows]
        return top, won


def _sampled(
    walk: _Walk, seam_rad: float, stops_rad: Sequence[float], tolerance_mm: float
) -> tuple[Array, tuple[float, ...]]:
    """Girth angles within the chord tolerance of each other over a whole turn, and the kinks among them."""
    end = seam_rad + 2 * math.pi
    stops = np.array([*(k * math.pi / 2 for k in range(4)), *stops_rad])
    girth = np.unique([*np.linspace(seam_rad, end, _GRID + 1), *(seam_rad + _turn_from(stops, seam_rad))])
    kinks = _kinks(walk, girth)
    girth = np.unique([*girth, *kinks])
    girth = girth[np.concatenate([[True], np.diff(girth) > _SAME_RAD])]
    station, _ = walk.cut(girth)
    radius = walk.pipe.radius_mm
    open_ = np.ones(len(girth) - 1, bool)
    for _ in range(_MOST_ROUNDS):
        left = np.flatnonzero(open_)
        middle = (girth[left] + girth[left + 1]) / 2
        height, _ = walk.cut(middle)
        across, up = radius * (girth[left + 1] - girth[left]), station[left + 1] - station[left]
        chord = np.hypot(across, up)
        off = np.abs(height - (station[left] + station[left + 1]) / 2) * across / chord
        split = off > 0.5 * tolerance_mm
        if not np.any(split):
            break
        open_[left] = split
        places = left[split] + 1
        girth, station = np.insert(girth, places, middle[split]), np.insert(station, places, height[split])
        open_ = np.insert(open_, places, True)
    return girth, kinks


def _kinks(walk: _Walk, grid: Array) -> tuple[float, ...]:
    """Where the cut line has a corner: the sharpest turn near a grid point, followed to where it sits."""
    ring = np.concatenate([[grid[-2] - 2 * math.pi], grid[:-1], [grid[-1]]])
    station, _ = walk.cut(ring)
    turn = _turns(walk, ring, station)
    found = np.flatnonzero(turn > _KINK_TURN_RAD) + 1
    if not len(found):
        return ()
    centre, half = ring[found], np.maximum(ring[found + 1] - ring[found], ring[found] - ring[found - 1])
    parts = np.arange(-_KINK_PARTS - 1, _KINK_PARTS + 2)
    while np.max(half) > _KINK_WIDTH_RAD:
        near = centre[:, None] + half[:, None] / _KINK_PARTS * parts
        station, _ = walk.cut(near.ravel())
        turn = _turns(walk, near, station.reshape(near.shape))
        sharpest = np.argmax(turn, axis=1)
        rows = np.arange(len(centre))
        centre, half, left = near[rows, sharpest + 1], half / _KINK_PARTS, turn[rows, sharpest]
    real = centre[left > _LEAST_KINK_RAD]
    inside = grid[0] + _turn_from(real, grid[0])
    return tuple(float(x) for x in _apart(np.sort(inside)))


def _apart(angles: Array) -> Array:
    """Each angle once, those closer than the bisection can tell being one."""
    return (
        angles[np.concatenate([[True], np.diff(angles) > 100 * _KINK_WIDTH_RAD])] if len(angles) else angles
    )


def _turns(walk: _Walk, girth: Array, station: Array) -> Array:
    """How sharply the unrolled line turns at each inner point [rad], without its sign."""
    heading = np.arctan2(np.diff(station, axis=-1), walk.pipe.radius_mm * np.diff(girth, axis=-1))
    return np.abs(np.diff(heading, axis=-1))
