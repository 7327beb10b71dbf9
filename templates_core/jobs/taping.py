"""What a tape and an angle finder should read on a nominal elbow, and how far a good one may be off."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

from templates_core.elbows.corner_pieces import shoulder_sweep
from templates_core.fittings import RETURN_RAD, StockElbow
from templates_core.jobs.measured import CENTRE_TO_END_MM


@dataclass(frozen=True)
class ToTape:
    """One reading to take.

    key: its name in the job file.  value: [mm] or [rad] as `unit` says; None where it can't be known before.
    minus, plus: how far the standard lets a good elbow read under and over it; None where it says nothing.
    """

    key: str
    value: float | None
    minus: float | None
    plus: float | None
    unit: Literal["mm", "rad"]


def to_tape(elbow: StockElbow) -> tuple[ToTape, ...]:
    """Girth, heel and throat arcs between shoulders, sweep, and face to shoulder, of a nominal elbow.

    An arc's spread is its change when bend radius, OD and sweep are all off, each as far as is let, the way
    that lengthens or shortens it most.  An elbow of given sizes has no spread.
    """
    nominal = elbow.sweep_tolerance_rad > 0
    over, under = (math.pi * elbow.od_plus_mm, math.pi * elbow.od_minus_mm) if nominal else (None, None)
    off = elbow.sweep_tolerance_rad if nominal else None
    return (
        ToTape("girth", math.pi * elbow.od_mm, under, over, "mm"),
        _arc(elbow, "heel_arc", 1, nominal),
        _arc(elbow, "throat_arc", -1, nominal),
        ToTape("sweep", elbow.sweep_rad, off, off, "rad"),
        ToTape("shoulder", elbow.shoulder_mm, None, None, "mm"),
    )


def arc_between_shoulders(elbow: StockElbow, bend_radius_mm: float, side: Literal[1, -1]) -> float:
    """Along the metal from shoulder to shoulder [mm], on the heel (side 1) or the throat (side −1)."""
    radius = bend_radius_mm + side * elbow.radius_mm
    length = radius * elbow.sweep_rad
    for tangent in (elbow.tangent_a_mm, elbow.tangent_b_mm):
        length += max(0.0, tangent - elbow.shoulder_mm)
        length -= radius * shoulder_sweep(elbow.shoulder_mm, tangent, radius)
    return length


def _arc(elbow: StockElbow, key: str, side: Literal[1, -1], nominal: bool) -> ToTape:
    R = elbow.bend_radius_mm
    if R is None:
        return ToTape(key, None, None, None, "mm")
    value = arc_between_shoulders(elbow, R, side)
    if not nominal:
        return ToTape(key, value, None, None, "mm")
    long, short = (arc_between_shoulders(*_off(elbow, R, way, side), side) for way in (1, -1))
    return ToTape(key, value, value - short, long - value, "mm")


def _off(elbow: StockElbow, R: float, way: Literal[1, -1], side: Literal[1, -1]) -> tuple[StockElbow, float]:
    """The elbow whose heel or throat is longest (way 1) or shortest (−1), and its bend radius."""
    od_off = elbow.od_plus_mm if way == side else -elbow.od_minus_mm
    tan = 1.0 if elbow.sweep_rad >= RETURN_RAD else math.tan(elbow.sweep_rad / 2)
    sweep = elbow.sweep_rad + way * elbow.sweep_tolerance_rad
    return replace(elbow, od_mm=elbow.od_mm + od_off, sweep_rad=sweep), R + way * CENTRE_TO_END_MM / tan
