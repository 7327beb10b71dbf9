"""Pipes of a rail: what is left of each run when its corners have taken their part."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from templates_core.elbows.corners import Corner
from templates_core.marks import pipe_mark
from templates_core.paths.directions import Vector
from templates_core.paths.leans import heel_way
from templates_core.paths.rail_path import RailPath, Run

TENTH_MM = 0.1
"""Elbows meet with no pipe between them where the run is what they take to within this."""


@dataclass(frozen=True)
class Member:
    """A cut pipe.

    run_number: of its run, from 1.  run_mm: work point to work point.  length_mm: along the centreline,
    finished.  short_mm: along its shortest side.  overall_mm: of the pipe that it takes, from tip to tip.
    All three are the same unless an end is mitred or leans.  extra_mm: what the closing run's pipe
    is left longer by for the site, over all three; else 0.
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


def members_of(path: RailPath, corners: Sequence[Corner], tube_radius_mm: float) -> tuple[Member, ...]:
    """Pipes of a rail in order: run − take-outs − gaps − what stands at its ends.

    Too short a run gives a length of 0 or less.  Where elbows meet with no pipe between them there is none.
    """
    return tuple(
        _member(path, corners, run, tube_radius_mm)
        for run in path.runs
        if not has_no_pipe(path, corners, run.number)
    )


def _member(path: RailPath, corners: Sequence[Corner], run: Run, tube_radius_mm: float) -> Member:
    before, after = end_corners(path, corners, run.number)
    length = pipe_length_mm(path, run.number, before, after)
    reaches = long_points_mm(path, run.number, before, after, tube_radius_mm)
    short = length - float(np.linalg.norm(sum(reaches)))
    overall = length + sum(float(np.linalg.norm(reach)) for reach in reaches)
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


def short_side_mm(
    path: RailPath, run_number: int, before: Corner | None, after: Corner | None, tube_radius_mm: float
) -> float:
    """The same along the pipe's shortest side [mm].

    Both ends are longest on a side of their own, and short of it by the cosine of the angle round from it;
    the sum of the two is least where their vectors together point away.
    """
    reaches = long_points_mm(path, run_number, before, after, tube_radius_mm)
    return pipe_length_mm(path, run_number, before, after) - float(np.linalg.norm(sum(reaches)))


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


def long_points_mm(
    path: RailPath, run_number: int, before: Corner | None, after: Corner | None, tube_radius_mm: float
) -> tuple[Vector, Vector]:
    """Where the long points of a pipe's two ends lie, square to it, shape (3,) each.

    The length of each is by how much the long point stands beyond the centreline's end [mm]: r·tan of what
    the end is off square, on the outside of the turn at a mitre; 0 for a square end.
    """
    place = run_number - path.runs[0].number
    along = path.runs[place].direction
    found = []
    for corner, laid, lean in (
        (before, place - 1, path.start_lean if place == 0 else None),
        (after, place, path.end_lean if place == len(path.runs) - 1 else None),
    ):
        if corner is None:
            found.append(np.zeros(3) if lean is None else tube_radius_mm * lean.slope)
        elif corner.mitre is None:
            found.append(np.zeros(3))
        else:
            found.append(corner.mitre.reach_mm * heel_way(path.corners[laid].axis, along))
    return found[0], found[1]
