"""Drain and vent holes for galvanising: where each closed length of pipe wants them, as a tape reaches it.

Zinc must run in and out, and air after it, at both ends of every closed length; a length shut up can burst in
the bath.  Holes stand close to the closed end, the lower on the under side and the upper on the upper side,
so that on a sloping pipe they are opposite each other (common practice, no source).  How many and how large
they are, the galvanizer decides.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from templates_core.jobs.job import EndKind
from templates_core.jobs.member_specs import Galvanising
from templates_core.paths import directions as d
from templates_core.paths.rail_path import RailPath
from templates_core.pipes.cut_list import Member
from templates_core.pipes.cut_pipe import CutPipe, PipeEnd

_LEVEL = math.sin(math.radians(0.5))


@dataclass(frozen=True)
class DrainHole:
    """Where one hole goes.

    pipe: mark of the pipe that it is drilled in.  end: ``start`` or ``end`` of it.  along_mm: from the tip of
    that end to the middle of the hole.  line: the line along the pipe that it stands on, in words.
    girth_rad: of that line from the pipe's 0° line, right-handed from start to end; None in a run's pipe,
    which has none.  quantity: of pipes.
    """

    pipe: str
    end: str
    along_mm: float
    line: str
    girth_rad: float | None
    quantity: int


def cut_pipe_holes(pipes: Sequence[CutPipe], asked: Galvanising) -> tuple[DrainHole, ...]:
    """Holes of posts, mid rails and members: at each end that isn't open and doesn't open into a header."""
    return tuple(hole for pipe in pipes for hole in _holes(pipe, asked))


def _holes(pipe: CutPipe, asked: Galvanising) -> Iterator[DrainHole]:
    for end in (pipe.start, pipe.end):
        if end.hole is not None or end.sits_on in ((), ("floor",)):
            continue
        low = _is_lower(pipe, end)
        girth, line = _line(pipe, low)
        station = float(end.cut.at(girth))
        tip = float(end.cut.station_mm.min() if end is pipe.start else end.cut.station_mm.max())
        along = abs(station - tip) + asked.from_end_mm
        yield DrainHole(pipe.mark, end.cut.at_end, along, line, girth, pipe.quantity)


def _is_lower(pipe: CutPipe, end: PipeEnd) -> bool:
    """Whether an end is the lower one; of a level pipe the start counts as lower."""
    rise = float(pipe.axis.along @ d.UP)
    return (end is pipe.start) == (rise > -_LEVEL)


def _line(pipe: CutPipe, low: bool) -> tuple[float, str]:
    """Under side at the lower end, upper side at the upper; of a plumb pipe the 0° line and its opposite."""
    down = -d.UP if low else d.UP
    across = down - float(down @ pipe.axis.along) * pipe.axis.along
    if np.linalg.norm(across) <= _LEVEL or pipe.kind == "member":
        return (0.0, "0° line") if low else (math.pi, "180° line")
    return pipe.axis.girth_of(across), "under side" if low else "upper side"


def rail_holes(
    path: RailPath, members: Sequence[Member], quantity: int, asked: Galvanising
) -> tuple[DrainHole, ...]:
    """Holes of a rail's own pipes and elbows, which open into each other.

    At each closed end of an open rail; of a closed one, which has no end, in its lowest pipe and its highest.
    """
    if not members:
        return ()
    if path.closed:
        return _ring_holes(path, members, quantity, asked)
    found = []
    for end, member, run, outward in (
        (path.start, members[0], path.runs[0], -1.0),
        (path.end, members[-1], path.runs[-1], 1.0),
    ):
        if end.kind in (EndKind.OPEN, EndKind.SLEEVE):
            continue
        rise = outward * float(run.direction @ d.UP)
        low = rise < -_LEVEL or (abs(rise) <= _LEVEL and outward < 0)
        line = "under side" if low else "upper side"
        if d.is_plumb(run.direction):
            line = "any side"
        name = "start" if outward < 0 else "end"
        found.append(DrainHole(member.mark, name, asked.from_end_mm, line, None, quantity))
    return tuple(found)


def _ring_holes(
    path: RailPath, members: Sequence[Member], quantity: int, asked: Galvanising
) -> tuple[DrainHole, ...]:
    """In a level ring the second hole goes half-way round."""
    first = path.runs[0].number
    heights = []
    for member in members:
        place = member.run_number - first
        ends = path.points_mm[place], path.points_mm[(place + 1) % len(path.points_mm)]
        heights.append(float(ends[0][2] + ends[1][2]) / 2)
    low, high = int(np.argmin(heights)), int(np.argmax(heights))
    if max(heights) - min(heights) < 1.0:
        low, high = 0, len(members) // 2
    return tuple(
        DrainHole(members[place].mark, "start", asked.from_end_mm, line, None, quantity)
        for place, line in ((low, "under side"), (high, "upper side"))
    )
