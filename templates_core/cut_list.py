"""Pipes of a rail: what is left of each run when its corners have taken their part."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from templates_core.corners import Corner
from templates_core.errors import Fault
from templates_core.marks import pipe_mark
from templates_core.rail_path import RailPath
from templates_core.units import INCH, format_length

TENTH_MM = 0.1
SIXTEENTH_MM = 25.4 / 16


@dataclass(frozen=True)
class Member:
    """A cut pipe.

    run_number: of its run, from 1.  run_mm: work point to work point.  length_mm: along the centreline,
    finished.  short_mm: along its shortest side.  overall_mm: of the pipe that it takes, from tip to tip.
    All three are the same unless an end is mitred.
    """

    mark: str
    where: str
    run_number: int
    run_mm: float
    length_mm: float
    short_mm: float
    overall_mm: float


def members_of(path: RailPath, corners: Sequence[Corner]) -> tuple[Member, ...]:
    """Pipes of a rail in order: run − take-outs − gaps; too short a run gives a length of 0 or less."""
    members = []
    for run in path.runs:
        before, after = end_corners(path, corners, run.number)
        length = run.length_mm
        if before is not None:
            length -= before.take_out_after_mm + before.gap_after_mm
        if after is not None:
            length -= after.take_out_before_mm + after.gap_before_mm
        short = length - _reach(before, after)
        mark = pipe_mark(path.mark, run.number)
        overall = length + _reach_of(before) + _reach_of(after)
        members.append(Member(mark, run.where, run.number, run.length_mm, length, short, overall))
    return tuple(members)


def short_run_faults(
    path: RailPath, corners: Sequence[Corner], members: Sequence[Member], least_mm: float, units: str = "mm"
) -> list[Fault]:
    """A fault for each run that leaves a pipe shorter, on its shortest side, than can be welded.

    units: ``mm`` or ``in``, for the lengths in messages, which are rounded up.
    """
    faults = []
    for member in members:
        missing = least_mm - member.short_mm
        if missing <= 0:
            continue
        marks = [
            corner.mark for corner in end_corners(path, corners, member.run_number) if corner is not None
        ]
        takers = " and ".join([*(f"corner {mark}" for mark in marks), "a pipe that can be welded"])
        what = f"it is {_up(missing, units)} too short for {takers}"
        faults.append(Fault(member.where, what, f"make it {_up(member.run_mm + missing, units)} or longer"))
    return faults


def _up(length_mm: float, units: str) -> str:
    """A length rounded up as a fitter reads it: to a tenth of a millimetre, or a sixteenth of an inch."""
    step = SIXTEENTH_MM if units == INCH else TENTH_MM
    return format_length(math.ceil(length_mm / step - 1e-6) * step, units)


def end_corners(
    path: RailPath, corners: Sequence[Corner], run_number: int
) -> tuple[Corner | None, Corner | None]:
    """Corners before and after a run; None at the ends of an open path."""
    at_start = path.closed or run_number > 1
    at_end = path.closed or run_number < len(path.runs)
    return (
        corners[run_number - 2] if at_start else None,
        corners[run_number - 1] if at_end else None,
    )


def _reach(before: Corner | None, after: Corner | None) -> float:
    """How far the mitres at both ends bring the shortest side under the centreline length [mm].

    Each takes r·tan(tilt) of the side on the inside of its turn; the roll between the two corners turns
    these sides apart, and the shortest side is where their cosines sum to most.
    """
    one, two = _reach_of(before), _reach_of(after)
    roll = after.roll_rad if after is not None else 0.0
    return math.hypot(one + two * math.cos(roll), two * math.sin(roll))


def _reach_of(corner: Corner | None) -> float:
    """How far a pipe's long point stands beyond its centreline length at one end [mm]; 0 unless mitred."""
    return corner.mitre.reach_mm if corner is not None and corner.mitre is not None else 0.0
