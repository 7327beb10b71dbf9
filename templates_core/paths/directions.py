"""Directions in space: pitch, heading, turn, roll, and the sides that a walker sees along a run.

Axes: x and y level, z up.  Every direction is a unit vector, shape (3,).  A bend's *axis* is the unit
vector u × v, about which the path turns right-handed from u, before the corner, to v, after it.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from templates_core.jobs.job import Towards

Vector = NDArray[np.float64]

UP: Vector = np.array([0.0, 0.0, 1.0])
PLUMB_SINE = 1e-6
"""A run is plumb when the level part of its direction is shorter than this."""

_CLOCK_FROM_UP = {
    Towards.UP: 0.0,
    Towards.RIGHT: math.pi / 2,
    Towards.DOWN: math.pi,
    Towards.LEFT: -math.pi / 2,
}


def direction(pitch_rad: float, heading_rad: float) -> Vector:
    """Unit vector of a run: pitch up from level, heading anticlockwise from x seen from above."""
    level = math.cos(pitch_rad)
    return np.array([level * math.cos(heading_rad), level * math.sin(heading_rad), math.sin(pitch_rad)])


def is_plumb(u: Vector) -> bool:
    """Whether a run points straight up or down, so that it has no left or right."""
    return math.hypot(u[0], u[1]) < PLUMB_SINE


def pitch(u: Vector) -> float:
    """Angle of a direction to level [rad], positive up."""
    return math.atan2(u[2], math.hypot(u[0], u[1]))


def heading(u: Vector, carried_rad: float) -> float:
    """Heading [rad]; a plumb run has none of its own and keeps the one carried to it."""
    return carried_rad if is_plumb(u) else math.atan2(u[1], u[0])


def turn_between(u: Vector, v: Vector) -> float:
    """Change of direction [rad], 0 to pi; exact near 0 and pi, where an arc cosine is not."""
    return math.atan2(float(np.linalg.norm(cross(u, v))), float(u @ v))


def acute_between(u: Vector, v: Vector) -> float:
    """Angle between two lines [rad], 0 to pi / 2, whichever way each is read."""
    turn = turn_between(u, v)
    return min(turn, math.pi - turn)


def bend_axis(u: Vector, v: Vector) -> Vector:
    """Unit axis of the bend from u to v; the two must not be in line."""
    axis = cross(u, v)
    return np.asarray(axis / np.linalg.norm(axis))


def cross(u: Vector, v: Vector) -> Vector:
    """u × v of two vectors, shape (3,); numpy's own is for whole arrays and slow for one."""
    (a, b, c), (d, e, f) = u.tolist(), v.tolist()
    return np.array([b * f - c * e, c * d - a * f, a * e - b * d])


def turned(u: Vector, axis: Vector, angle_rad: float) -> Vector:
    """u turned right-handed about a unit axis (Rodrigues); renewed to unit length."""
    along = axis * float(axis @ u)
    across = u - along
    result = along + across * math.cos(angle_rad) + cross(axis, u) * math.sin(angle_rad)
    return np.asarray(result / np.linalg.norm(result))


def reference_axis(u: Vector, carried_heading_rad: float) -> Vector:
    """Axis of a bend at the end of u that has a roll of 0 with no corner before it.

    Such a bend turns up; after a plumb run, which has no up side, it turns towards the heading.
    """
    side = direction(0.0, carried_heading_rad) if is_plumb(u) else UP
    return bend_axis(u, side)


def axis_towards(u: Vector, towards: Towards) -> Vector:
    """Axis of a bend at the end of u, which must not be plumb, that turns to the named side."""
    return turned(bend_axis(u, UP), u, _CLOCK_FROM_UP[towards])


def roll_between(u: Vector, axis_before: Vector, axis: Vector) -> float:
    """Roll [rad, over -pi to pi] that takes one bend axis to the next about the run u between them.

    Positive is clockwise looking forward along u.
    """
    roll = math.atan2(float(u @ cross(axis_before, axis)), float(axis_before @ axis))
    return math.pi if roll < -math.pi + 1e-9 else roll


def wrapped(angle_rad: float) -> float:
    """The same angle brought to -pi to pi [rad]."""
    return math.remainder(angle_rad, 2 * math.pi)
