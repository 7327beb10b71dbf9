"""What the ends of a rail add to its path: a return to the wall, a level extension, or nothing but an end.

Corners and runs that an end adds are numbered outward from those of the path, which keep their numbers.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from templates_core.errors import Fault, Gathered, InputError
from templates_core.jobs.job import EndKind, EndSpec, Joint, RailSpec, Towards
from templates_core.paths import directions as d
from templates_core.paths.corner_exit import LEAST_TURN_RAD
from templates_core.paths.directions import Vector
from templates_core.paths.leans import Lean, lay_lean
from templates_core.paths.rail_path import OPEN_END, PathCorner, RailPath, Run, lay_out

_OTHER_SIDE = {Towards.LEFT: Towards.RIGHT, Towards.RIGHT: Towards.LEFT}


def whole_path(rail: RailSpec, units: str = "mm") -> RailPath:
    """A rail laid out in space with what its ends add.

    units: ``mm`` or ``in``, for the lengths in messages.  Raises InputError with every fault of this rail.
    """
    path = lay_out(rail, units)
    gathered = Gathered()
    start = gathered.get(lambda: tuple(_steps(path, rail.start, at_start=True)))
    end = gathered.get(lambda: tuple(_steps(path, rail.end, at_start=False)))
    gathered.refuse()
    if start:
        path = _longer_at_start(path, start)
    if end:
        path = _longer_at_end(path, end)
    path = replace(
        path,
        start=_what_stands(rail.start),
        end=_what_stands(rail.end),
        start_on_elbow=_on_elbow(rail.start),
        end_on_elbow=_on_elbow(rail.end),
    )
    return path if path.closed else _with_leans(path)


def _on_elbow(ends: tuple[EndSpec, ...]) -> bool:
    return any(end.on_elbow for end in ends)


def _with_leans(path: RailPath) -> RailPath:
    """The path with the planes of its ends in space."""

    def lean(end: EndSpec, place: int) -> Lean | None:
        run, axis = path.runs[place], path.corners[place].axis if path.corners else None
        return lay_lean(end, run.direction, run.heading_rad, axis)

    gathered = Gathered()
    start = gathered.get(lambda: lean(path.start, 0))
    end = gathered.get(lambda: lean(path.end, -1))
    gathered.refuse()
    return replace(path, start_lean=start, end_lean=end)


def _what_stands(ends: tuple[EndSpec, ...]) -> EndSpec:
    """What stands at the last work point; a return or an extension leaves an open end, with its gap."""
    if not ends:
        return OPEN_END
    last = ends[-1]
    if not last.goes_on:
        return last
    return replace(OPEN_END, where=last.where, gap_mm=last.gap_mm, lean=last.lean)


@dataclass(frozen=True, eq=False)
class _Step:
    """A corner and a run added, as walked outward from the path.

    direction: of the run, unit vector (3,).  axis: of the bend, unit vector (3,).
    """

    where: str
    direction: Vector
    axis: Vector
    turn_rad: float
    length_mm: float
    by: Joint


def _steps(path: RailPath, ends: tuple[EndSpec, ...], at_start: bool) -> Iterator[_Step]:
    """Walk out from one end of a path; from its start, the path is walked backwards."""
    run = path.runs[0 if at_start else -1]
    along = -run.direction if at_start else run.direction
    corner = path.corners[0 if at_start else -1].axis if path.corners else None
    axis = corner if corner is None or not at_start else -corner
    for end in ends:
        if not end.goes_on:
            return
        if end.kind is EndKind.LEVEL_EXTENSION:
            step = _level(end, along)
        else:
            held = d.reference_axis(along, run.heading_rad) if axis is None else axis
            step = _returned(end, along, held, at_start)
        yield step
        along, axis = step.direction, step.axis


def _level(end: EndSpec, along: Vector) -> _Step:
    if d.is_plumb(along):
        what = "the run there is plumb, so it has no way to go on level"
        raise _refusal(end, what, "give the corner and the run in the path, with a heading")
    onward = d.direction(0.0, d.heading(along, 0.0))
    turn = d.turn_between(along, onward)
    if turn < LEAST_TURN_RAD:
        raise _refusal(end, "the run there is level already", "make it longer and leave the extension out")
    return _Step(end.where, onward, d.bend_axis(along, onward), turn, end.run_mm, end.by)


def _returned(end: EndSpec, along: Vector, axis_at_roll_0: Vector, at_start: bool) -> _Step:
    """A return turns to its side; left and right are those of somebody walking forward along the rail."""
    if end.towards is not None and d.is_plumb(along):
        what = f"the run there is plumb, so it has no side called {end.towards}"
        raise _refusal(end, what, "give its roll")
    if end.towards is not None:
        side = _OTHER_SIDE.get(end.towards, end.towards) if at_start else end.towards
        axis = d.axis_towards(along, side)
    else:
        axis = d.turned(axis_at_roll_0, along, end.roll_rad or 0.0)
    onward = d.turned(along, axis, end.turn_rad)
    return _Step(end.where, onward, axis, end.turn_rad, end.run_mm, end.by)


def _refusal(end: EndSpec, what: str, remedy: str) -> InputError:
    return InputError([Fault(end.where, what, remedy)])


def _longer_at_end(path: RailPath, steps: tuple[_Step, ...]) -> RailPath:
    runs, corners, points = list(path.runs), list(path.corners), list(path.points_mm)
    for step in steps:
        last = runs[-1]
        held = corners[-1].axis if corners else d.reference_axis(last.direction, last.heading_rad)
        roll = d.roll_between(last.direction, held, step.axis)
        corners.append(PathCorner(last.number, step.where, step.turn_rad, roll, step.axis, step.by))
        runs.append(_run(last.number + 1, step, step.direction, last.heading_rad))
        points.append(points[-1] + step.length_mm * step.direction)
    return replace(path, runs=tuple(runs), corners=tuple(corners), points_mm=np.array(points))


def _longer_at_start(path: RailPath, steps: tuple[_Step, ...]) -> RailPath:
    """The path with runs before its first, and the roll of its first corner from the one before it now."""
    runs, corners, points = list(path.runs), list(path.corners), list(path.points_mm)
    for step in steps:
        first, axis = runs[0], -step.axis
        if corners:
            roll = d.roll_between(first.direction, axis, corners[0].axis)
            corners[0] = replace(corners[0], roll_rad=roll)
        run = _run(first.number - 1, step, -step.direction, first.heading_rad)
        roll = d.roll_between(run.direction, d.reference_axis(run.direction, run.heading_rad), axis)
        corners.insert(0, PathCorner(run.number, step.where, step.turn_rad, roll, axis, step.by))
        runs.insert(0, run)
        points.insert(0, points[0] + step.length_mm * step.direction)
    return replace(path, runs=tuple(runs), corners=tuple(corners), points_mm=np.array(points))


def _run(number: int, step: _Step, along: Vector, carried_rad: float) -> Run:
    facing = d.heading(along, carried_rad)
    return Run(number, step.where, step.length_mm, along, d.pitch(along), facing)
