"""The shape a pipe comes to when it is free after welding: the sum of its kinks.

Offsets from the straight line through the pipe's ends are vectors of two numbers [mm]: towards girth
direction 0 and towards girth direction 90°.  Girth directions go round clockwise looking forward.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from templates_core.paths.directions import Vector

SIDES = {"above": 0.0, "right": math.pi / 2, "below": math.pi, "left": -math.pi / 2}
"""Girth directions by their words, of a run that isn't plumb [rad]."""
STRAIGHT_MM = 0.05
"""A bow under this is none."""


@dataclass(frozen=True)
class Kink:
    """A weld's pull: at_mm from the start of the pipe; girth_rad: side that the weld is on."""

    at_mm: float
    girth_rad: float
    kink_rad: float


@dataclass(frozen=True)
class FreeShape:
    """A pipe after welding.

    bow_mm: most that it stands off the straight line through its ends, at_mm from its start.  side_rad:
    girth direction *opposite* to where it stands off there: the side that the welds pull its ends to.
    across_mm: most that it stands off square to that direction; 0 where all welds are in one plane.
    """

    length_mm: float
    kinks: tuple[Kink, ...]
    bow_mm: float
    at_mm: float
    side_rad: float
    across_mm: float

    @property
    def is_straight(self) -> bool:
        """Whether its welds balance."""
        return self.bow_mm < STRAIGHT_MM

    def off_mm(self, at_mm: float) -> float:
        """How far it stands off at a place, away from the side that the welds pull to [mm]."""
        return -float(offset_mm(self.kinks, self.length_mm, at_mm) @ girth_vector(self.side_rad))


def girth_vector(girth_rad: float) -> Vector:
    """Unit vector of a girth direction, shape (2,)."""
    return np.array([math.cos(girth_rad), math.sin(girth_rad)])


def offset_mm(kinks: Sequence[Kink], length_mm: float, at_mm: float) -> Vector:
    """Offset of the centreline from the line through its ends, shape (2,).

    One kink θ at a gives θ·x·(L - a)/L before it and θ·a·(L - x)/L past it, away from its weld; small
    angles, so that they add.
    """
    total = np.zeros(2)
    for kink in kinks:
        before, after = min(at_mm, kink.at_mm), max(at_mm, kink.at_mm)
        total -= kink.kink_rad * before * (length_mm - after) / length_mm * girth_vector(kink.girth_rad)
    return total


def end_slopes(kinks: Sequence[Kink], length_mm: float) -> tuple[Vector, Vector]:
    """Slope of the centreline to the line through its ends, at its start and at its end, shape (2,) each."""
    start, end = np.zeros(2), np.zeros(2)
    for kink in kinks:
        way = kink.kink_rad * girth_vector(kink.girth_rad)
        start -= way * (length_mm - kink.at_mm) / length_mm
        end += way * kink.at_mm / length_mm
    return start, end


def free_shape(kinks: Sequence[Kink], length_mm: float) -> FreeShape:
    """The shape of a pipe with these kinks; a polygon stands off most at one of its corners."""
    offsets = [offset_mm(kinks, length_mm, kink.at_mm) for kink in kinks]
    sizes = [float(np.linalg.norm(offset)) for offset in offsets]
    most = max(range(len(kinks)), key=lambda i: round(sizes[i], 9))
    side = math.atan2(-offsets[most][1], -offsets[most][0]) if sizes[most] >= STRAIGHT_MM else 0.0
    square = girth_vector(side + math.pi / 2)
    across = max(abs(float(offset @ square)) for offset in offsets)
    return FreeShape(length_mm, tuple(kinks), sizes[most], kinks[most].at_mm, side, across)
