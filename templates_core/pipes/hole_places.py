"""Where the template of a hole goes on its header, as a tape reaches it there."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from templates_core.fitting_up.metal import RunMetal, runs_of_metal
from templates_core.geometry.pipe_ends import At
from templates_core.paths import directions as d
from templates_core.paths.directions import Vector
from templates_core.pipes.cut_pipe import CutPipe, PipeEnd
from templates_core.pipes.post_sizes import line_start
from templates_core.rails import Rail
from templates_core.wraps.cope_holes import CopeHole


@dataclass(frozen=True)
class HolePlace:
    """Where the cross of a template is laid.

    pipe, at_end: of the pipe that sits on the hole.  header: mark of what is opened.  along_mm: from that
    one's start, on the line along it that the cross is on.  round_mm: how far round the outside that line is:
    from the lower line of a run's pipe, positive to the right looking forward; from the 0° line of a cut pipe
    (from_zero), positive to the right with its first end down.
    """

    pipe: str
    at_end: At
    header: str
    along_mm: float
    round_mm: float
    from_zero: bool


def hole_places(rail: Rail) -> Iterator[HolePlace]:
    """Every hole of a rail and of what stands under it."""
    runs = {run.mark: run for run in runs_of_metal(rail.path, rail.corners, rail.members)}
    for pipe in rail.standing.pipes:
        for end in (pipe.start, pipe.end):
            if end.hole is None:
                continue
            run = next((runs[mark] for mark in end.sits_on if mark in runs), None)
            if run is None:
                yield _on_cut_pipe(rail, pipe, end, end.hole)
            else:
                yield _on_run(rail, pipe, end, run, end.hole)


def _on_run(rail: Rail, pipe: CutPipe, end: PipeEnd, run: RunMetal, hole: CopeHole) -> HolePlace:
    right = d.bend_axis(run.direction, d.UP)
    lower = -d.cross(right, run.direction)
    out = _square_to(hole.cross_mm - run.start_mm, run.direction)
    along = float((hole.cross_mm - line_start(run, rail.path, rail.corners, out)) @ run.direction)
    turned = math.atan2(float(out @ right), float(out @ lower))
    assert run.mark is not None
    return HolePlace(pipe.mark, end.cut.at_end, run.mark, along, hole.header_radius_mm * turned, False)


def _on_cut_pipe(rail: Rail, pipe: CutPipe, end: PipeEnd, hole: CopeHole) -> HolePlace:
    """On a mid rail or a post; of a post in several lengths, on that which reaches there."""
    (mark,) = end.sits_on
    pipes = rail.standing.pipes
    lengths = (one for one in pipes if one.mark[:-1] == mark and one.mark[-1].isalpha())
    headers = [one for one in pipes if one.mark == mark] or list(lengths)

    def station(one: CutPipe) -> float:
        return float((hole.cross_mm - one.axis.start_mm) @ one.axis.along)

    def beyond(one: CutPipe) -> float:
        low, high = float(one.start.cut.station_mm.min()), float(one.end.cut.station_mm.max())
        return max(low - station(one), station(one) - high)

    header = min(headers, key=beyond)
    turned = header.axis.girth_of(_square_to(hole.cross_mm - header.axis.start_mm, header.axis.along))
    along = station(header) - float(header.start.cut.station_mm.min())
    return HolePlace(pipe.mark, end.cut.at_end, header.mark, along, hole.header_radius_mm * turned, True)


def _square_to(off: Vector, along: Vector) -> Vector:
    return np.asarray(off - float(off @ along) * along)
