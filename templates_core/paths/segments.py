"""Distances between straight segments in space."""

from __future__ import annotations

import numpy as np

from templates_core.paths.directions import Vector


def least_distances(here: Vector, there: Vector, starts: Vector, ends: Vector) -> Vector:
    """From one segment, here to there (3,), to each of others, starts and ends (n, 3) [mm], shape (n,).

    Nearest point on the one, on the other, then on the one again (Ericson, Real-Time Collision Detection,
    5.1.9, from memory).
    """
    one, others, between = there - here, ends - starts, here - starts
    a, e = one @ one, np.maximum((others * others).sum(axis=1), 1e-12)
    b, c, f = others @ one, between @ one, (between * others).sum(axis=1)
    spread = a * e - b * b
    on_one = np.where(spread > 1e-9 * a * e, np.clip((b * f - c * e) / np.maximum(spread, 1e-12), 0, 1), 0.0)
    on_others = np.clip((b * on_one + f) / e, 0, 1)
    on_one = np.clip((b * on_others - c) / a, 0, 1)
    apart = between + on_one[:, None] * one - on_others[:, None] * others
    return np.asarray(np.linalg.norm(apart, axis=1))
