"""Where a tape is hooked on a pipe, and what it reads along it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from templates_core.corners import Corner
from templates_core.cut_list import Member, end_corners
from templates_core.rail_path import RailPath


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


def datum_of(path: RailPath, corners: Sequence[Corner], member: Member) -> Datum:
    """A square end before a mitred one, else the end at the start; a mitred one by its long point."""
    before, after = end_corners(path, corners, member.run_number)
    at_start = not (_reach_mm(before) and not _reach_mm(after))
    names = (_end_name(before, "start"), _end_name(after, "end"))
    near, far = names if at_start else (names[1], names[0])
    return Datum(near, far, at_start, member.cut_mm, _reach_mm(before if at_start else after))


def _reach_mm(corner: Corner | None) -> float:
    return corner.mitre.reach_mm if corner is not None and corner.mitre is not None else 0.0


def _end_name(corner: Corner | None, end: str) -> str:
    if corner is None:
        return f"the rail's {end}"
    return f"corner {corner.mark}" + (" (long point)" if corner.mitre is not None else "")
