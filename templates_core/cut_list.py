"""Pipes of a rail: what is left of each run when its corners have taken their part."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from templates_core.corners import Corner
from templates_core.marks import pipe_mark
from templates_core.rail_path import RailPath, Run

TENTH_MM = 0.1
"""Elbows meet with no pipe between them where the run is what they take to within this."""


@dataclass(frozen=True)
class Member:
    """A cut pipe.

    run_number: of its run, from 1.  run_mm: work point to work point.  length_mm: along the centreline,
    finished.  short_mm: along its shortest side.  overall_mm: of the pipe that it takes, from tip to tip.
    All three are the same unless an end is mitred.  extra_mm: what the closing run's pipe is left longer
    by for the site, over all three; else 0.
    """

    mark: str
    where: str
    run_number: int
    run_mm: float
    length_mm: float
    short_mm: float
    overall_mm: float
    extra_mm: float = 0.0

    @property
    def cut_mm(self) -> float:
        """Length to cut it to on the centreline [mm]."""
        return self.length_mm + self.extra_mm

    @property
    def blank_mm(self) -> float:
        """Length of the pipe that it takes, from tip to tip [mm]."""
        return self.overall_mm + self.extra_mm


def members_of(path: RailPath, corners: Sequence[Corner]) -> tuple[Member, ...]:
    """Pipes of a rail in order: run − take-outs − gaps − what stands at its ends.

    Too short a run gives a length of 0 or less.  Where elbows meet with no pipe between them there is none.
    """
    return tuple(
        _member(path, corners, run) for run in path.runs if not has_no_pipe(path, corners, run.number)
    )


def _member(path: RailPath, corners: Sequence[Corner], run: Run) -> Member:
    before, after = end_corners(path, corners, run.number)
    length = pipe_length_mm(path, run.number, before, after)
    short = length - _reach(before, after)
    overall = length + _reach_of(before) + _reach_of(after)
    mark = pipe_mark(path.mark, run.number)
    return Member(mark, run.where, run.number, run.length_mm, length, short, overall, run.extra_mm)


def pipe_length_mm(path: RailPath, run_number: int, before: Corner | None, after: Corner | None) -> float:
    """What a run leaves for its pipe between two corners, along the centreline [mm]; 0 or less for none."""
    first, last = path.runs[0].number, path.runs[-1].number
    length = path.runs[run_number - first].length_mm
    if before is not None:
        length -= before.take_out_after_mm + before.gap_after_mm
    elif run_number == first:
        length -= path.start.takes_mm
    if after is not None:
        length -= after.take_out_before_mm + after.gap_before_mm
    elif run_number == last:
        length -= path.end.takes_mm
    return length


def short_side_mm(path: RailPath, run_number: int, before: Corner | None, after: Corner | None) -> float:
    """The same along the pipe's shortest side [mm]."""
    return pipe_length_mm(path, run_number, before, after) - _reach(before, after)


def no_pipe_run_mm(
    path: RailPath, run_number: int, before: Corner | None, after: Corner | None
) -> float | None:
    """Length of the run at which its elbows meet each other, or the end, with one gap and no pipe [mm].

    None where there is no such length, as an end is mitred or has no elbow.
    """
    elbows = [corner for corner in (before, after) if corner is not None]
    if not elbows or any(corner.mitre is not None for corner in elbows):
        return None
    gap = before.gap_after_mm if before is not None else elbows[0].gap_before_mm
    run = path.runs[run_number - path.runs[0].number]
    return run.length_mm - pipe_length_mm(path, run_number, before, after) - gap


def has_no_pipe(path: RailPath, corners: Sequence[Corner], run_number: int) -> bool:
    """Whether a run is just what its elbows take and one gap, so that they are welded to each other."""
    exact = no_pipe_run_mm(path, run_number, *end_corners(path, corners, run_number))
    run = path.runs[run_number - path.runs[0].number]
    return exact is not None and abs(run.length_mm - exact) <= TENTH_MM


def end_corners(
    path: RailPath, corners: Sequence[Corner], run_number: int
) -> tuple[Corner | None, Corner | None]:
    """Corners before and after a run; None at the ends of an open path."""
    place = run_number - path.runs[0].number
    at_start = path.closed or place > 0
    at_end = path.closed or place < len(path.runs) - 1
    return corners[place - 1] if at_start else None, corners[place] if at_end else None


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
