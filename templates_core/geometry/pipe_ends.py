"""Where the end of a straight pipe is cut so that it seats on what it meets.

One rule serves every end, be it square, mitred, on a plate, coped on a pipe or an elbow, or on several of
these: walk each line along the pipe's wall towards that end; the cut is where it first meets a solid.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from templates_core.fittings import Pipe
from templates_core.geometry.end_checks import check_met, check_wide_enough
from templates_core.geometry.solids import HalfSpace, Solid
from templates_core.geometry.surfaces import Array

At = Literal["start", "end"]
Numbers = NDArray[np.intp]

CHORD_TOLERANCE_MM = 0.01
"""How far a chord of a cut line may leave it, on the unrolled pipe."""
_GRID = 96
_MOST_ROUNDS = 14
_SPARE = 0.7  # share of the tolerance that the parts of a wide chord are made for
_TRUSTED_PARTS = 3  # a chord that takes more parts is looked at again
_WALL_SAMPLES = 3
_CREST_ROUNDS = 6
_LEAST_CLIMB = 1e-300
_KINK_TURN_RAD = 0.15  # a turn of the line at a grid point over this is looked into
_KINK_PARTS = 8
_KINK_STAYS = 0.4  # a corner's turn stays over this share at an eighth of the step; a curve's does not
_KINK_WIDTH_RAD = 1e-7
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

    @cached_property
    def quarter(self) -> Array:
        """Unit vector (3,) towards girth angle 90°."""
        return np.asarray(np.cross(self.along, self.zero))

    def outward(self, girth_rad: ArrayLike) -> Array:
        """Unit vectors (..., 3) from the centreline at girth angles of any shape."""
        phi = np.asarray(girth_rad, float)[..., None]
        return np.asarray(np.cos(phi) * self.zero + np.sin(phi) * self.quarter)

    def point(self, girth_rad: ArrayLike, station_mm: ArrayLike, radius_mm: float) -> Array:
        """Points in space [mm], shape (..., 3)."""
        station = np.asarray(station_mm, float)[..., None]
        return np.asarray(self.start_mm + station * self.along + radius_mm * self.outward(girth_rad))

    def girth_of(self, direction: Array) -> float:
        """Girth angle [rad] that a direction (3,) faces; it must not run along the pipe."""
        return math.atan2(float(self.quarter @ direction), float(self.zero @ direction))


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
    solid: Numbers
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
    rows, kinks = _sampled(walk, seam_rad, stops_rad, chord_tolerance_mm)
    outside, inside = (
        walk.gap_mm(rows.girth_rad, rows.station_mm, r)
        for r in (pipe.radius_mm, pipe.radius_mm - pipe.wall_mm)
    )
    return EndCut(at_end, rows.girth_rad, rows.station_mm, rows.solid, kinks, outside, inside)


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

    def cut(self, girth_rad: Array) -> tuple[Array, Numbers]:
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

    def _met(self, girth_rad: Array, radius_mm: Array) -> tuple[Array, Numbers, Array]:
        """Greatest t on lines at girth angles and radii of one shape, the solid's number, and the climb.

        The climb has the sign in which t grows with the radius there: the solid's outward direction leans
        away from where its surface climbs.
        """
        out = self.axis.outward(girth_rad)
        points = self.axis.start_mm + radius_mm[..., None] * out
        met = np.stack([solid.last_mm(points, self.back) for solid in self.solids])
        top, won = np.max(met, axis=0), np.argmax(met, axis=0)
        at = points + np.where(np.isfinite(top), top, 0.0)[..., None] * self.back
        climb = np.zeros_like(top)
        for number, solid in enumerate(self.solids):
            mine = won == number
            if np.any(mine):
                climb[mine] = -np.einsum("ij,ij->i", solid.outward(at[mine]), out[mine])
        return top, won, climb

    def _highest(self, girth_rad: Array) -> tuple[Array, Numbers]:
        """Greatest t over the part of the wall that is to bear."""
        outer, bore = self.pipe.radius_mm, self.pipe.radius_mm - self.pipe.wall_mm
        if self.sawn or self.bears_on is not BearsOn.FIRST:
            radius = bore if self.bears_on is BearsOn.BORE and not self.sawn else outer
            return self._met(girth_rad, np.full_like(girth_rad, radius))[:2]
        radii = np.linspace(bore, outer, _WALL_SAMPLES)[:, None]
        shape = (_WALL_SAMPLES, len(girth_rad))
        t, won, climb = self._met(np.broadcast_to(girth_rad, shape), np.broadcast_to(radii, shape))
        best, rows = np.argmax(t, axis=0), np.arange(len(girth_rad))
        top, solid = t[best, rows], won[best, rows]
        low = np.where(climb[best, rows] > 0, best, best - 1)
        inner = np.flatnonzero((low >= 0) & (low < _WALL_SAMPLES - 1))
        low = low[inner]
        crest = (climb[low, inner] > 0) & (climb[low + 1, inner] < 0)
        inner, low = inner[crest], low[crest]
        if len(inner):
            span = (radii[low, 0], radii[low + 1, 0])
            found = self._crest(girth_rad[inner], *span, climb[low, inner], climb[low + 1, inner])
            higher = found[0] > top[inner]
            top[inner[higher]], solid[inner[higher]] = found[0][higher], found[1][higher]
        return top, solid

    def _crest(
        self, girth_rad: Array, low: Array, high: Array, climb_low: Array, climb_high: Array
    ) -> tuple[Array, Numbers]:
        """The greatest t and its solid between radii (n,) where the wall climbs and where it falls.

        By false position; a point that stays twice running has its weight halved (the Illinois rule).
        """
        went = np.zeros(len(low))
        for _ in range(_CREST_ROUNDS):
            radius = (low * climb_high - high * climb_low) / (climb_high - climb_low)
            top, won, climb = self._met(girth_rad, radius)
            up = climb > 0
            low_weight, high_weight = np.where(went < 0, 0.5, 1.0), np.where(went > 0, 0.5, 1.0)
            climb_low = np.where(up, climb, climb_low * low_weight)
            climb_high = np.where(up, climb_high * high_weight, np.minimum(climb, -_LEAST_CLIMB))
            went = np.where(up, 1, -1)
            low, high = np.where(up, radius, low), np.where(up, high, radius)
        return top, won


@dataclass(frozen=True, eq=False)
class _Rows:
    """Rows (n,) of a cut line in order round the pipe: girth angles, stations, numbers of solids."""

    girth_rad: Array
    station_mm: Array
    solid: Numbers

    def joined(self, walk: _Walk, girth_rad: Array) -> _Rows:
        """With the cut at more girth angles (k,), none of them among the rows yet."""
        if not len(girth_rad):
            return self
        station, solid = walk.cut(girth_rad)
        girth = np.append(self.girth_rad, girth_rad)
        order = np.argsort(girth)
        solids = np.concatenate([self.solid, solid])[order]
        return _Rows(girth[order], np.append(self.station_mm, station)[order], solids)


def _sampled(
    walk: _Walk, seam_rad: float, stops_rad: Sequence[float], tolerance_mm: float
) -> tuple[_Rows, tuple[float, ...]]:
    """Rows within the chord tolerance of each other over a whole turn, and the kinks among them."""
    stops = np.array([*(k * math.pi / 2 for k in range(4)), *stops_rad])
    even = seam_rad + np.linspace(0.0, 2 * math.pi, _GRID + 1)
    girth = _distinct(np.append(even, seam_rad + _turn_from(stops, seam_rad)))
    rows = _Rows(girth, *walk.cut(girth))
    kinks = _kinks(walk, girth, rows.station_mm)
    rows = rows.joined(walk, np.array([kink for kink in kinks if np.min(np.abs(girth - kink)) > _SAME_RAD]))
    left = np.arange(len(rows.girth_rad) - 1)
    for _ in range(_MOST_ROUNDS):
        off = _off_chord(walk, rows, left)
        wide = off > tolerance_mm
        if not np.any(wide):
            break
        start, end = rows.girth_rad[left[wide]], rows.girth_rad[left[wide] + 1]
        parts = np.ceil(np.sqrt(off[wide] / (_SPARE * tolerance_mm))).astype(int)
        number = np.arange(np.sum(parts)) - np.repeat(np.cumsum(parts) - parts, parts)
        new = np.repeat(start, parts) + number * np.repeat((end - start) / parts, parts)
        rows = rows.joined(walk, new[number > 0])
        left = np.searchsorted(rows.girth_rad, new[np.repeat(parts > _TRUSTED_PARTS, parts)])
    return rows, kinks


def _off_chord(walk: _Walk, rows: _Rows, left: Numbers) -> Array:
    """How far the unrolled line leaves the chords from rows (k,) to the next [mm], in their middles."""
    if not len(left):
        return np.zeros(0)
    start, end = rows.girth_rad[left], rows.girth_rad[left + 1]
    low, high = rows.station_mm[left], rows.station_mm[left + 1]
    middle, _ = walk.cut((start + end) / 2)
    across = walk.pipe.radius_mm * (end - start)
    return np.asarray(np.abs(middle - (low + high) / 2) * across / np.hypot(across, high - low))


def _distinct(girth_rad: Array) -> Array:
    """Girth angles in order, each once."""
    girth = np.sort(girth_rad)
    return np.asarray(girth[np.concatenate([np.diff(girth) > _SAME_RAD, [True]])])


def _kinks(walk: _Walk, grid: Array, station_mm: Array) -> tuple[float, ...]:
    """Where the cut line has a corner: the sharpest turn near a grid point, followed to where it sits.

    A turn that shrinks with the step is a curve's, and is let go.
    """
    ring = np.concatenate([[grid[-2] - 2 * math.pi], grid])
    turn = _turns(walk, ring, np.concatenate([[station_mm[-2]], station_mm]))
    found = np.flatnonzero(turn > _KINK_TURN_RAD) + 1
    centre, turn = ring[found], turn[found - 1]
    half = np.maximum(ring[found + 1] - ring[found], ring[found] - ring[found - 1])
    parts = np.arange(-_KINK_PARTS - 1, _KINK_PARTS + 2) / _KINK_PARTS
    while len(centre) and np.max(half) > _KINK_WIDTH_RAD:
        near = centre[:, None] + half[:, None] * parts
        station, _ = walk.cut(near.ravel())
        turns = _turns(walk, near, station.reshape(near.shape))
        sharpest, rows = np.argmax(turns, axis=1), np.arange(len(centre))
        stays = turns[rows, sharpest] > _KINK_STAYS * turn
        turn = turns[rows, sharpest][stays]
        centre, half = near[rows, sharpest + 1][stays], half[stays] / _KINK_PARTS
    inside = np.sort(grid[0] + _turn_from(centre, grid[0]))
    apart = np.concatenate([np.diff(inside) > 100 * _KINK_WIDTH_RAD, [True]])[: len(inside)]
    return tuple(float(kink) for kink in inside[apart])


def _turns(walk: _Walk, girth: Array, station: Array) -> Array:
    """How sharply the unrolled line turns at each inner point [rad], without its sign."""
    heading = np.arctan2(np.diff(station, axis=-1), walk.pipe.radius_mm * np.diff(girth, axis=-1))
    return np.abs(np.diff(heading, axis=-1))
