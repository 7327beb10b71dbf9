"""Whether the end of a pipe can sit on what it is to sit on, and by how much it can't."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from templates_core.errors import GeometryError
from templates_core.geometry.solids import GRAZE_MM, BendSolid, HalfSpace, PipeSolid, Solid
from templates_core.geometry.surfaces import Array

LEAST_ANGLE_RAD = math.radians(15)
"""A pipe that meets another, or a plate, at less than this has a feather edge that nobody can cut or weld."""
_FAR_MM = 1e5
_NEAR_MM, _NEAR_STEPS, _NEARLY_MM = 5000.0, 401, 1.0
_ON_FACE_MM = 1e-3  # a line that leaves a solid deeper than this inside its round side left it by an end


def check_wide_enough(point_mm: Array, back: Array, radius_mm: float, solids: Sequence[Solid]) -> None:
    """Refuse a pipe that a header, where it sits on one alone, is too narrow for.

    point_mm: on the pipe's axis (3,).  back: unit vector (3,) along it, away from the header.
    """
    if len(solids) != 1 or not isinstance(solids[0], PipeSolid):
        return
    header = solids[0]
    square = np.cross(header.along, back)
    sine = float(np.linalg.norm(square))
    _refuse_flat(_angle_between(header.along, back))
    offset = abs(float((point_mm - header.start_mm) @ square)) / sine
    if radius_mm > header.radius_mm + GRAZE_MM:
        raise GeometryError(
            f"the pipe is {2 * radius_mm:.1f} mm wide and what it sits on {2 * header.radius_mm:.1f} mm: "
            f"{2 * (radius_mm - header.radius_mm):.1f} mm too wide"
        )
    over = offset + radius_mm - header.radius_mm
    if over > GRAZE_MM:
        raise GeometryError(
            f"an offset of {offset:.1f} mm brings it {over:.1f} mm past the side of what it sits on; "
            f"up to {header.radius_mm - radius_mm:.1f} mm will do"
        )


def _refuse_flat(angle_rad: float) -> None:
    if angle_rad < LEAST_ANGLE_RAD - 1e-9:
        angle, least = math.degrees(angle_rad), math.degrees(LEAST_ANGLE_RAD)
        raise GeometryError(
            f"it meets what it sits on at {angle:.2f}°, {least - angle:.2f}° under the least of {least:.0f}°"
        )


def check_met(points: Array, axis_mm: Array, back: Array, solids: Sequence[Solid]) -> None:
    """Refuse an end that meets something too flat, meets nothing, or hangs over an end.

    points: on lines (n, 3) along the outside of the pipe.  axis_mm: on its axis (3,).  back: unit vector
    (3,) along it, away from what it sits on.
    """
    _check_angle(axis_mm, back, solids)
    met = np.stack([solid.last_mm(points, back) for solid in solids])
    first = np.max(met, axis=0)
    missed = np.isneginf(first)
    for solid in (solids[number] for number in np.unique(np.argmax(met, axis=0)[~missed])):
        if isinstance(solid, PipeSolid):
            _refuse_flat(_angle_between(solid.along, back))
    ends = points + np.where(missed, 0.0, first)[:, None] * back
    depth = np.stack([solid.distance_mm(ends) for solid in solids])[np.argmax(met, axis=0), range(len(ends))]
    hanging = missed | (depth < -_ON_FACE_MM)
    if not np.any(hanging):
        return
    past = _past_end_mm(points[hanging], back, solids)
    over = float(np.max(past[np.isfinite(past)], initial=-np.inf))
    beside = _beside_mm(points[hanging], back, solids)
    if np.isinf(over) or GRAZE_MM < beside < over:
        raise GeometryError(f"it passes what it is to sit on, {beside:.1f} mm to the side")
    raise GeometryError(f"it hangs {over:.1f} mm over the end of what it sits on")


def _check_angle(axis_mm: Array, back: Array, solids: Sequence[Solid]) -> None:
    """Refuse too flat a plane, and a bend that the centreline meets too flat."""
    for solid in solids:
        if isinstance(solid, HalfSpace):
            _refuse_flat(math.asin(float(np.clip(solid.normal @ back, -1.0, 1.0))))
    met = [float(solid.last_mm(axis_mm, back)) for solid in solids]
    first = solids[int(np.argmax(met))]
    if np.isneginf(max(met)):
        return
    if isinstance(first, BendSolid):
        _refuse_flat(_angle_between(first.along_at(axis_mm + max(met) * back), back))


def _angle_between(one: Array, other: Array) -> float:
    """Angle between two lines by their unit vectors (3,) [rad], at most a quarter turn."""
    return math.atan2(float(np.linalg.norm(np.cross(one, other))), abs(float(one @ other)))


def _past_end_mm(points: Array, back: Array, solids: Sequence[Solid]) -> Array:
    """How far past the nearest end lines would meet it if it went on straight; +inf where not even so."""
    past = [np.full(len(points), np.inf)]
    for face, outward, radius_mm in (end for solid in solids for end in _ends(solid)):
        going_on = PipeSolid(face, face + _FAR_MM * outward, radius_mm)
        t = going_on.last_mm(points, back)
        met = np.isfinite(t)
        at = points + np.where(met, t, 0.0)[:, None] * back
        past.append(np.where(met, (at - face) @ outward, np.inf))
    return np.asarray(np.min(past, axis=0))


def _ends(solid: Solid) -> tuple[tuple[Array, Array, float], ...]:
    """Middle, outward unit vector and radius [mm] of each end face."""
    if isinstance(solid, PipeSolid):
        return (
            (solid.start_mm, -solid.along, solid.radius_mm),
            (solid.end_mm, solid.along, solid.radius_mm),
        )
    if isinstance(solid, BendSolid):
        (face_a, way_a), (face_b, way_b) = solid.centreline(0.0), solid.centreline(solid.sweep_rad)
        return ((face_a, -way_a, solid.radius_mm), (face_b, way_b, solid.radius_mm))
    return ()


def _beside_mm(points: Array, back: Array, solids: Sequence[Solid]) -> float:
    """How far the worst line passes from every solid [mm]: by steps along it, ever shorter ones."""
    centre, half = np.zeros(len(points)), _NEAR_MM
    rows = np.arange(len(points))
    while True:
        at = centre[:, None] + half * np.linspace(-1.0, 1.0, _NEAR_STEPS)
        along = points[:, None, :] + at[..., None] * back
        off = np.min([solid.distance_mm(along) for solid in solids], axis=0)
        nearest = np.argmin(off, axis=1)
        if half < _NEARLY_MM:
            return float(np.max(off[rows, nearest]))
        centre, half = at[rows, nearest], 4 * half / _NEAR_STEPS
