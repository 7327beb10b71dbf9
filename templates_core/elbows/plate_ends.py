"""Pipe ends of a rail that are cut to a plate or wall out of square."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from templates_core.elbows.corners import Corner
from templates_core.jobs.job import LeanSpec
from templates_core.paths.directions import roll_between
from templates_core.paths.leans import heel_way
from templates_core.paths.rail_path import RailPath
from templates_core.pipes.cut_list import Member, end_corners


@dataclass(frozen=True)
class PlateEnd:
    """One pipe end.

    pipe: its mark.  at_start: whether it is the start of the rail.  tilt_rad: off square.  reach_mm: of the
    long point past the centreline's end.  lean: as the job file gives it.  corner: mark of the one at the
    pipe's other end, None where that has none.  long_rad: from the heel line of that corner (at a mitre its
    long point) to the long point of this end, clockwise looking forward along the rail; None without one.
    long_mm: the same round the outside of the pipe.
    """

    pipe: str
    at_start: bool
    tilt_rad: float
    reach_mm: float
    lean: LeanSpec
    corner: str | None
    long_rad: float | None
    long_mm: float | None

    @property
    def mark(self) -> str:
        """``A-P3 end``."""
        return f"{self.pipe} {'start' if self.at_start else 'end'}"


def plate_ends(
    path: RailPath, corners: Sequence[Corner], members: Sequence[Member], tube_radius_mm: float
) -> Iterator[PlateEnd]:
    """The leaning pipe ends of a rail, its start first."""
    pipes = {member.run_number: member.mark for member in members}
    for at_start, lean, end, run in (
        (True, path.start_lean, path.start, path.runs[0]),
        (False, path.end_lean, path.end, path.runs[-1]),
    ):
        if lean is None or end.lean is None or run.number not in pipes:
            continue
        before, after = end_corners(path, corners, run.number)
        corner, laid = (after, 0) if at_start else (before, -1)
        turned = None
        if corner is not None:
            heel = heel_way(path.corners[laid].axis, run.direction)
            turned = roll_between(run.direction, heel, lean.way)
        reach = tube_radius_mm * math.tan(lean.angle_rad)
        mark = None if corner is None else corner.mark
        girth = None if turned is None else tube_radius_mm * turned
        yield PlateEnd(pipes[run.number], at_start, lean.angle_rad, reach, end.lean, mark, turned, girth)
