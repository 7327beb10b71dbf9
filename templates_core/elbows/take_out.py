"""Take-outs: how far the faces of a corner's pieces stand from its work point."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class Bend:
    """One piece, reduced to what take-outs need.

    angle_rad: what it turns.  before_mm, after_mm: from its own work point, where the centrelines of its
    two ends meet, to its face towards the run before and towards the run after.
    """

    angle_rad: float
    before_mm: float
    after_mm: float


def centre_to_face(bend_radius_mm: float, angle_rad: float, tangent_mm: float, loss_mm: float) -> float:
    """Own work point of a piece to one of its faces [mm]: R·tan(angle/2) + tangent − loss.

    A face that loses metal along its tangent stays parallel to itself, so only its distance changes.
    """
    return bend_radius_mm * math.tan(angle_rad / 2) + tangent_mm - loss_mm


def take_outs_of_two(first: Bend, second: Bend, gap_mm: float) -> tuple[float, float]:
    """Take-outs before and after a corner of two pieces with a root gap between them [mm].

    The corner's work point and the pieces' own ones make a triangle with the turns for its outer angles;
    the side between the two pieces is the sum of what lies there, and the law of sines gives the rest.
    For two pieces of one bend radius R and a straight s between their arcs this is
    R·tan(T/2) + s·sin(other angle)/sin T.
    """
    between = first.after_mm + gap_mm + second.before_mm
    scale = between / math.sin(first.angle_rad + second.angle_rad)
    return (
        first.before_mm + scale * math.sin(second.angle_rad),
        second.after_mm + scale * math.sin(first.angle_rad),
    )
