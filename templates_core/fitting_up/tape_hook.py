"""Where a tape is hooked on a pipe, and what it reads along it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from templates_core.elbows.corners import Corner
from templates_core.paths.rail_path import RailPath
from templates_core.pipes.cut_list import Member, end_corners, long_points_mm


@dataclass(frozen=True)
class Datum:
    """The end of a pipe that a tape is hooked on.

    end, other_end: in words.  at_start: of the pipe, seen along the rail.  length_mm: of the pipe on its
    centreline.  beyond_mm: how far the tip of a mitred end stands past the centreline's end.
    """

    end: str
    other_end: str
    at_start: bool
    length_mm: float
    beyond_mm: float

    @property
    def zero_mm(self) -> float:
        """Where the tape reads 0, from the start of the pipe [mm]."""
        return -self.beyond_mm if self.at_start else self.length_mm + self.beyond_mm

    def reads_mm(self, along_mm: float) -> float:
        """What the tape reads at a place, which is given from the start of the pipe [mm]."""
        return abs(along_mm - self.zero_mm)


def datum_of(path: RailPath, corners: Sequence[Corner], member: Member, tube_radius_mm: float) -> Datum:
    """A square end before one that isn't, else the end at the start; one out of square by its long point."""
    before, after = end_corners(path, corners, member.run_number)
    tips = long_points_mm(path, member.run_number, before, after, tube_radius_mm)
    near, far = (float(np.linalg.norm(tip)) for tip in tips)
    names = (_end_name(before, "start", near), _end_name(after, "end", far))
    at_start = near == 0.0 or far > 0.0
    end, other = names if at_start else (names[1], names[0])
    return Datum(end, other, at_start, member.cut_mm, near if at_start else far)


def _end_name(corner: Corner | None, end: str, tip_mm: float) -> str:
    name = f"the rail's {end}" if corner is None else f"corner {corner.mark}"
    return f"{name} (long point)" if tip_mm > 0 else name
