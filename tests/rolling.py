"""Rolls a line printed on paper out along an elbow: where does it come to lie?

Paper that lies on a surface without stretching keeps each straight line straight: it runs along a geodesic.
So a printed chain of chords is a chain of geodesics, and at each corner its heading turns as it does on the
paper. Everything here is written from that and from the shape of the elbow alone.

Elbow: a straight of tangent_mm and a torus. phi from the heel, s [mm] along the centreline from the face,
alpha the heading from growing phi towards growing s. Lengths along phi are r dphi, along s they are
(rho/R) ds on the arc, rho = R + r cos phi. A geodesic keeps d alpha = sin phi d psi (Liouville).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Place = tuple[float, float, float]
"""phi, s, alpha."""


@dataclass(frozen=True)
class Bend:
    """R, r of the surface that the paper's middle lies on, and the straight before the arc."""

    bend_mm: float
    radius_mm: float
    tangent_mm: float = 0.0

    def rho(self, phi: float) -> float:
        return self.bend_mm + self.radius_mm * math.cos(phi)

    def straight(self, at: Place) -> bool:
        """Whether a line that is here goes on over the straight."""
        ahead = at[1] + 1e-9 * math.copysign(1.0, math.sin(at[2]))
        return ahead < self.tangent_mm

    def rates(self, at: Place, straight: bool) -> Place:
        """Change of phi, s and alpha per millimetre of a geodesic."""
        phi, _, alpha = at
        cos, sin = math.cos(alpha), math.sin(alpha)
        if straight:
            return (cos / self.radius_mm, sin, 0.0)
        rho = self.rho(phi)
        return (cos / self.radius_mm, sin * self.bend_mm / rho, math.sin(phi) * sin / rho)

    def curvature(self, phi: float, s: float) -> float:
        """Gaussian curvature: 1/r times that of the girth line in the plane of both, cos phi / rho."""
        return 0.0 if s < self.tangent_mm else math.cos(phi) / (self.radius_mm * self.rho(phi))


def along(bend: Bend, at: Place, length_mm: float, bent: Callable[[Place], float] | None = None) -> Place:
    """The place at the end of a geodesic, or of a line that curves by `bent` [1/mm] to the left.

    Classical Runge-Kutta, steps within a tenth of r; a step that would run over the join of straight and
    arc is cut there.
    """
    while length_mm > 1e-12:
        step = min(length_mm, bend.radius_mm / 10)
        straight = bend.straight(at)
        climb = bend.rates(at, straight)[1]
        gap = bend.tangent_mm - at[1]
        if abs(gap) > 1e-9 and gap * climb > 0 and gap / climb < step:
            step = gap / climb
        at = _step(bend, at, step, straight, bent)
        length_mm -= step
    return at


def _step(bend: Bend, at: Place, h: float, straight: bool, bent: Callable[[Place], float] | None) -> Place:
    def rate(place: Place) -> Place:
        phi, s, alpha = bend.rates(place, straight)
        return (phi, s, alpha + (bent(place) if bent else 0.0))

    def moved(by: Place, share: float) -> Place:
        return (at[0] + share * by[0], at[1] + share * by[1], at[2] + share * by[2])

    a = rate(at)
    b = rate(moved(a, h / 2))
    c = rate(moved(b, h / 2))
    d = rate(moved(c, h))
    mean = tuple((p + 2 * q + 2 * u + v) / 6 for p, q, u, v in zip(a, b, c, d, strict=True))
    return moved((mean[0], mean[1], mean[2]), h)


def roll(bend: Bend, chain: Array, start: Place, bent: Callable[[Place], float] | None = None) -> list[Place]:
    """Places of the corners of a chain (n, 2) on the paper, x along growing phi; start has its first heading.

    bent: curvature to the left that the surface is to add to the chain's own.
    """
    places = [start]
    moves = np.diff(chain, axis=0)
    lengths = np.hypot(*moves.T)
    headings = np.unwrap(np.arctan2(moves[:, 1], moves[:, 0]))
    turns = np.append(np.diff(headings), 0.0)
    at = start
    for length, turn in zip(lengths, turns, strict=True):
        at = along(bend, at, float(length), bent)
        places.append(at)
        at = (at[0], at[1], at[2] + float(turn))
    return places
