"""Diagonals of a rail that a tape can be stretched along: between pipe ends, with no metal in the way.

A flat rail's run between the tops of the pipes, on which the tape lies.  Another's run between two lines on
the pipes that see each other: heel with heel where that can be, else throat, else sides, else one with
another.  One across a corner checks its angle, one across two the roll between them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from templates_core.elbows.corners import Corner
from templates_core.fitting_up.leaning_metal import edge_point_mm
from templates_core.fitting_up.metal import RunMetal, centreline_mm, rail_parts, throat_way
from templates_core.jobs.job import Job
from templates_core.paths.directions import Vector
from templates_core.paths.rail_path import RailPath
from templates_core.paths.segments import least_distances
from templates_core.pipes.cut_list import end_corners
from templates_core.tolerances import linear_mm

TOP, HEEL, THROAT, LEFT, RIGHT = "top", "heel", "throat", "left side", "right side"
"""Lines on a pipe; left and right of it looking forward, heel uppermost."""

_TOUCH_MM = 0.05
"""A tape may press this far into what it lies on."""
_CHORD_RAD = math.radians(3)


@dataclass(frozen=True)
class Diagonal:
    """From the start of one pipe to the end of a later one.

    from_run, to_run: numbers of their runs.  from_line, to_line: on which line of the pipes the ends of the
    tape are held; None with length_mm where no two lines see each other.  work_points_mm: between the work
    points before the first of these runs and after the last.
    """

    from_run: int
    to_run: int
    from_line: str | None
    to_line: str | None
    length_mm: float | None
    work_points_mm: float
    tolerance_mm: float | None


def diagonals_of(
    path: RailPath, corners: Sequence[Corner], runs: Sequence[RunMetal], job: Job
) -> tuple[Diagonal, ...]:
    """Across every corner, and the rail from end to end; across every two corners if it isn't flat."""
    starts, ends = centreline_mm(rail_parts(path, corners, runs), _CHORD_RAD)
    found = []
    for first, last in _pairs(path):
        held = _held(path, corners, runs, first, last, (starts, ends), job.pipe.radius_mm)
        between = path.points_mm[(last + 1) % len(path.points_mm)] - path.points_mm[first]
        length = None if held is None else held[2]
        tolerance = linear_mm(job.tolerance, length) if job.tolerance and length is not None else None
        one, two = (None, None) if held is None else held[:2]
        numbers = runs[first].run_number, runs[last].run_number
        found.append(Diagonal(*numbers, one, two, length, float(np.linalg.norm(between)), tolerance))
    return tuple(found)


def _pairs(path: RailPath) -> Iterator[tuple[int, int]]:
    """Places of the first and last run of each diagonal, from 0."""
    count = len(path.runs)
    for across in (1,) if path.is_flat else (1, 2):
        for first in range(count):
            if path.closed and across + 1 < count:
                yield first, (first + across) % count
            elif not path.closed and first + across < count:
                yield first, first + across
    if not path.closed and count > 2 + (not path.is_flat):
        yield 0, count - 1


def _held(
    path: RailPath,
    corners: Sequence[Corner],
    runs: Sequence[RunMetal],
    first: int,
    last: int,
    centreline: tuple[Vector, Vector],
    radius_mm: float,
) -> tuple[str, str, float] | None:
    """Lines that the tape is held on and its length; None where there are none."""
    start, end = runs[first].start_mm, runs[last].end_mm
    if path.is_own_other_hand:
        return TOP, TOP, float(np.linalg.norm(end - start))
    heres = _line_ends(path, corners, runs, first, radius_mm, at_start=True)
    theres = _line_ends(path, corners, runs, last, radius_mm, at_start=False)
    for one, two in sorted(product(heres, theres), key=lambda pair: pair[0] != pair[1]):
        here, there = heres[one], theres[two]
        if _is_clear(here, there, centreline, radius_mm):
            return one, two, float(np.linalg.norm(there - here))
    return None


def _line_ends(
    path: RailPath,
    corners: Sequence[Corner],
    runs: Sequence[RunMetal],
    place: int,
    radius_mm: float,
    at_start: bool,
) -> dict[str, Vector]:
    """Where each line of a pipe ends at one end, by the corner there or else at its other end.

    At a mitre the heel line ends at the long point, the throat line at the short one.
    """
    centre_mm = runs[place].start_mm if at_start else runs[place].end_mm
    before, after = end_corners(path, corners, path.runs[place].number)
    here, other = (before, after) if at_start else (after, before)
    own = here or other
    assert own is not None
    along = path.runs[place].direction
    axis = next(laid.axis for laid in path.corners if laid.number == own.number)
    throat = throat_way(axis, along)
    if here is None:
        ways = {HEEL: -throat, THROAT: throat, LEFT: axis, RIGHT: -axis}
        return {
            name: edge_point_mm(path, corners, runs, at_start, way, radius_mm) for name, way in ways.items()
        }
    longer = 0.0 if here.mitre is None else here.mitre.reach_mm
    outward = -longer * along if at_start else longer * along
    return {
        HEEL: centre_mm - radius_mm * throat + outward,
        THROAT: centre_mm + radius_mm * throat - outward,
        LEFT: centre_mm + radius_mm * axis,
        RIGHT: centre_mm - radius_mm * axis,
    }


def _is_clear(here: Vector, there: Vector, centreline: tuple[Vector, Vector], radius_mm: float) -> bool:
    """Whether a tape between two points keeps out of the metal all along."""
    return bool(least_distances(here, there, *centreline).min() >= radius_mm - _TOUCH_MM)
