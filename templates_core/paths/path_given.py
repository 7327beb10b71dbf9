"""A path as the job gives it, before it is laid out: points brought to runs, counts and lengths checked."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from templates_core.errors import Fault, InputError
from templates_core.jobs.job import CornerSpec, RailSpec, RunSpec
from templates_core.paths import directions as d
from templates_core.units import format_length


def runs_between_points(rail: RailSpec) -> RailSpec:
    """The same rail as runs of stated direction.  Raises InputError where two points are one."""
    points = np.array(rail.points_mm, dtype=float)
    steps = np.diff(np.vstack([points, points[:1]]) if rail.closed else points, axis=0)
    runs: list[RunSpec] = []
    carried = 0.0
    for number, step in enumerate(steps, 1):
        length = float(np.linalg.norm(step))
        stated = rail.runs[number - 1] if rail.runs else RunSpec(f"rail {rail.mark}, run {number}", 0.0)
        place = stated.where
        if not length > 0:
            raise InputError([Fault(place, "its two work points are the same", "leave one of them out")])
        carried = d.heading(step / length, carried)
        runs.append(RunSpec(place, length, d.pitch(step / length), carried, stated.extra_mm))
    count = len(runs) if rail.closed else len(runs) - 1
    corners = rail.corners or tuple(CornerSpec(f"rail {rail.mark}, corner {k + 1}") for k in range(count))
    return replace(rail, runs=tuple(runs), corners=corners, points_mm=())


def path_faults(rail: RailSpec, units: str) -> list[Fault]:
    """What is wrong with a path of runs before any is laid out: how many there are, or their lengths.

    units: ``mm`` or ``in``, for the lengths in messages.
    """
    return _count_faults(rail) or _length_faults(rail, units)


def _count_faults(rail: RailSpec) -> list[Fault]:
    place = f"rail {rail.mark}"
    if rail.closed and len(rail.runs) < 3:
        return [
            Fault(place, "a closed path has at least three runs", f"it has {len(rail.runs)}: add the others")
        ]
    wanted = len(rail.runs) if rail.closed else len(rail.runs) - 1
    if rail.runs and len(rail.corners) == wanted:
        return []
    rule = "as many corners as runs" if rail.closed else "one corner between each run and the next"
    what = f"the path has {len(rail.runs)} runs and {len(rail.corners)} corners"
    return [Fault(place, what, f"give {rule}")]


def _length_faults(rail: RailSpec, units: str) -> list[Fault]:
    return [
        Fault(run.where, f"its length is {_shown(run.length_mm, units)}", "give a length over 0")
        for run in rail.runs
        if not 0 < run.length_mm < math.inf
    ]


def _shown(length_mm: float, units: str) -> str:
    return format_length(length_mm, units) if math.isfinite(length_mm) else "not a number"
