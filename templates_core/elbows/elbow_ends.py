"""Ends of a rail that are an elbow itself, cut to the plane that it stands on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Literal

import numpy as np

from templates_core.elbows.corners import Corner
from templates_core.errors import Fault
from templates_core.paths.leans import ElbowLean, on_elbow
from templates_core.paths.rail_path import RailPath
from templates_core.pipes.cut_list import has_no_pipe


def lean_of_corner(path: RailPath, place: int) -> tuple[ElbowLean | None, Literal["before", "after"]]:
    """The plane that a corner's end is cut to, and at which of its ends; None where it is cut to none.

    place: of the corner along the path, from 0.
    """
    axis = path.corners[place].axis
    if place == len(path.corners) - 1 and path.end_on_elbow and path.end_lean is not None:
        along = path.runs[-1].direction
        return on_elbow(path.end_lean, axis, along, along), "after"
    if place == 0 and path.start_on_elbow and path.start_lean is not None:
        along = path.runs[0].direction
        return on_elbow(path.start_lean, axis, along, -along), "before"
    return None, "after"


def settled(path: RailPath, corners: Sequence[Corner]) -> RailPath:
    """The path with the runs beyond the elbows at its ends just as long as these and their ends take."""
    runs, points = list(path.runs), np.array(path.points_mm)
    if path.end_on_elbow:
        length = corners[-1].take_out_after_mm + path.end.takes_mm
        runs[-1] = replace(runs[-1], length_mm=length)
        points[-1] = points[-2] + length * runs[-1].direction
    if path.start_on_elbow:
        length = corners[0].take_out_before_mm + path.start.takes_mm
        runs[0] = replace(runs[0], length_mm=length)
        points[0] = points[1] - length * runs[0].direction
    return replace(path, runs=tuple(runs), points_mm=points)


def lean_faults(path: RailPath, corners: Sequence[Corner]) -> Iterator[Fault]:
    """A fault for each leaning end that has no pipe to be cut so, on an elbow that isn't cut so either."""
    for lean, on_its_elbow, end, run in (
        (path.start_lean, path.start_on_elbow, path.start, path.runs[0]),
        (path.end_lean, path.end_on_elbow, path.end, path.runs[-1]),
    ):
        if lean is not None and not on_its_elbow and has_no_pipe(path, corners, run.number):
            what = "its run is just what its elbow takes, so there is no pipe to cut to the plane"
            yield Fault(
                end.where, what, "leave run out of the wall return, and the elbow itself is cut to it"
            )
