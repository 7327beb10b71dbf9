"""Checks of corner angle with a tape alone: marks at equal lengths on both pipes, and the distance between.

The marks stand on the side line of the pipes, 90° round from the heel, so that the tape lies flat across the
corner: on the table that is the top.  They are measured from the pipes' own ends at the corner, which can be
reached; where elbows meet with no pipe between, from the face there, at no length.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from templates_core.elbows.corners import Corner
from templates_core.fitting_up.metal import RunMetal, corner_parts
from templates_core.paths.directions import Vector
from templates_core.paths.rail_path import RailPath
from templates_core.tolerances import angular_rad
from templates_core.units import INCH, MM_PER_INCH

MOST_MM = {False: 1000.0, True: 36 * MM_PER_INCH}
"""Furthest from a joint that a mark is set, in a metric job and in one in inches."""


@dataclass(frozen=True)
class JointTurn:
    """How the distance between the marks answers when one joint of the corner turns.

    mm_per_rad: less of it for each radian more that the corner turns, hinged at the middle of this joint.
    """

    joint: str
    mm_per_rad: float


@dataclass(frozen=True)
class TapeCheck:
    """The check of one corner.

    along_mm: of each mark from its pipe's end.  apart_mm: between the marks when the angle is right.
    angle_tolerance_rad: what the job's class lets the corner be off; apart_tolerance_mm: what that is
    between the marks, by the joint that moves them least.  None where the job names no class.
    """

    corner: str
    along_mm: float
    apart_mm: float
    joints: tuple[JointTurn, ...]
    angle_tolerance_rad: float | None
    apart_tolerance_mm: float | None


def tape_check(
    path: RailPath, place: int, corner: Corner, runs: Sequence[RunMetal], units: str, tolerance_class: str
) -> TapeCheck:
    """The check of a corner by its place along the path, from 0."""
    before, after = runs[place], runs[(place + 1) % len(runs)]
    along = round_length_mm(min(before.short_mm, after.short_mm), units)
    one = before.end_mm - along * before.direction
    two = after.start_mm + along * after.direction
    joints = tuple(
        JointTurn(mark, _off_line_mm(at, one, two))
        for mark, at in zip(corner.joints, corner_parts(path, place, corner)[1], strict=True)
    )
    angle = apart = None
    if tolerance_class:
        angle = angular_rad(tolerance_class, min(run.length_mm for run in path.runs_at(corner.number)))
        apart = angle * min(joint.mm_per_rad for joint in joints)
    return TapeCheck(corner.mark, along, float(np.linalg.norm(two - one)), joints, angle, apart)


def _off_line_mm(hinge: Vector, one: Vector, two: Vector) -> float:
    """Distance of a hinge from the line of the tape: what the tape gains on each radian of turn there."""
    line = (two - one) / np.linalg.norm(two - one)
    return float(np.linalg.norm(np.cross(hinge - one, line)))


def round_length_mm(most_mm: float, units: str) -> float:
    """The longest round length on a tape that is no more than this [mm].

    Steps of 50 mm, of 10 mm under 100; of 1 in, of 1/2 in under 4 in.
    """
    inches = units == INCH
    coarse, fine, least = (MM_PER_INCH, MM_PER_INCH / 2, 4 * MM_PER_INCH) if inches else (50.0, 10.0, 100.0)
    length = min(most_mm, MOST_MM[inches])
    step = coarse if length >= least else fine
    return max(0.0, math.floor(length / step + 1e-9) * step)
