"""How far one weld on the side of a pipe turns it, and what a butt joint shortens it by.

A kink is an angle [rad] by which the weld turns the two halves of the pipe towards its own side: both ends
come towards the weld, the middle stands off the other way.  A measured trial is to be trusted; what is
worked out here is an estimate that no outside data has tested.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from templates_core.standards import BEVEL_RAD, LAND_MM

FILLET_SHARE = 0.10
"""Shrinkage of a weld across itself is this times weld area over wall (Blodgett, from memory)."""
BUTT_SHARE, BUTT_GAP_SHARE = 0.20, 0.05
"""Of a butt: 0.2 weld area over wall, and 0.05 of the root gap (Spraragen and Ettinger, from memory)."""
FACTOR = 2.5
"""An estimate here may be this many times too large or too small.  Own judgement: the published shares differ
by two among themselves, and heat, speed and fit-up are not in them."""
MOST_KINK_RAD = math.radians(10)
"""No weld turns a pipe further: past that, something was measured or written wrong."""
MOST_LEG_WALLS = 4.0
"""A fillet with a leg of more walls than this would burn through."""
CAP_SHARE = 0.1
"""Crown of a butt over the face, as a share of its width (from memory)."""
_CROSSINGS = 2
"""A line along the pipe through a branch meets its weld twice: on the near side and on the far side."""


@dataclass(frozen=True)
class Pull:
    """What one weld does.  kink_rad: turns by.  shortening_mm: of the pipe's centreline."""

    kink_rad: float
    shortening_mm: float


def tube_inertia_mm4(od_mm: float, wall_mm: float) -> float:
    """Second moment of area of a tube about a line across its middle [mm⁴]."""
    return math.pi / 64 * (od_mm**4 - (od_mm - 2 * wall_mm) ** 4)


def estimated_pull(od_mm: float, wall_mm: float, branch_od_mm: float, leg_mm: float) -> Pull:
    """What a fillet all round a branch does to the pipe that it stands on.  An estimate.

    Each crossing of the weld shrinks across itself by S = 0.10·A/t, with A = leg²/2 the area of the fillet
    and t the wall.  So every line along the pipe that passes under the branch would come out shorter by
    δ = 2·S if it were free, over the arc of ±α round the girth, sin α = branch OD / pipe OD; what is wider
    than the pipe covers no more than the half that faces it, α = 90°.  It is not free:
    the section stays plane, and the rest of it resists.  With no force and no moment from outside

        0 = ∫ (ε - δ·[heated]) dA        and        0 = ∫ (ε - δ·[heated])·y dA,   ε = ε₀ + θ·y,

    for the shortening ε₀ of the centreline and the turn θ, both summed along the pipe, so that it does not
    matter over what length the shrinkage is spread.  Hence, about the neutral axis,

        θ = δ·Q/I,   ε₀ = δ·α/π,   Q = ∫ y dA over the heated arc = ⅔·(Ro³ - Ri³)·sin α.

    The angle between branch and pipe does not enter.  Lengths in any one unit give the same angle.
    """
    outer, inner = od_mm / 2, od_mm / 2 - wall_mm
    arc = math.asin(min(1.0, branch_od_mm / od_mm))
    shrunk = _CROSSINGS * FILLET_SHARE * leg_mm**2 / 2 / wall_mm
    first_moment = 2 / 3 * (outer**3 - inner**3) * math.sin(arc)
    return Pull(shrunk * first_moment / tube_inertia_mm4(od_mm, wall_mm), shrunk * arc / math.pi)


def shortening_mm(kink_rad: float, od_mm: float, wall_mm: float, branch_od_mm: float) -> float:
    """What a weld of known kink shortens the centreline by, in proportion as the estimate has it [mm]."""
    unit = estimated_pull(od_mm, wall_mm, branch_od_mm, wall_mm)
    return kink_rad * unit.shortening_mm / unit.kink_rad


def estimated_butt_mm(wall_mm: float, gap_mm: float, bevelled: bool) -> float:
    """What a butt joint of two pipe ends shortens the rail by [mm].  An estimate.

    Area of the weld: the gap through the wall, the two bevels above their lands, and a low crown.  Square
    ends are a gap alone.
    """
    depth = max(0.0, wall_mm - LAND_MM) if bevelled else 0.0
    width = gap_mm + 2 * depth * math.tan(BEVEL_RAD)
    area = gap_mm * wall_mm + depth**2 * math.tan(BEVEL_RAD) + CAP_SHARE * width**2
    return BUTT_SHARE * area / wall_mm + BUTT_GAP_SHARE * gap_mm


def kink_of_bow(bow_mm: float, span_mm: float) -> float:
    """Kink [rad] of one weld at the middle of a span, from the bow that it leaves: 4h/L.

    Both halves are straight and meet at the weld, h off the line through their ends, so that each leaves it
    by h/(L/2).
    """
    return 4 * bow_mm / span_mm
