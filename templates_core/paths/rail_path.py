"""A rail's centreline in space: runs and corners to work points, and work points to runs and corners.

Roll turns a corner's plane about the run before it, clockwise positive looking forward along that run.
It is referred to the corner before: 0 keeps turning the same way, 180° makes an S.  The first corner of
an open path has none before it and is referred to *up*: roll 0 turns up, 90° right, 180° down; after a
plumb run, roll 0 turns towards the run's heading.  On a closed path the corner before the first is the
last, so there the first corner's roll closes the ring and is checked, and `towards` sets it in space.
A corner that states only its turn is taken to have a roll of 0, and the path says so.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from templates_core.errors import Fault, InputError
from templates_core.jobs.job import EndSpec, Joint, RailSpec, RunSpec
from templates_core.paths import directions as d
from templates_core.paths.corner_exit import (
    AGREE_RAD,
    Arrival,
    CornerExit,
    leave_corner,
    own_faults,
)
from templates_core.paths.directions import Vector
from templates_core.paths.leans import Lean
from templates_core.paths.path_given import path_faults, runs_between_points
from templates_core.units import degrees_text, format_length

OPEN_END = EndSpec("")

CLOSES_MM = 1.0
"""A closed path that misses its start by more than this carries a warning."""

OPEN_MM = 25.0
OPEN_RAD = math.radians(5)
"""One that misses it by more than these is refused: no welder closes that."""


FLAT_RAD = math.radians(0.1)
"""A rail whose corners all roll by less than this off 0 and 180° lies in one plane."""


@dataclass(frozen=True, eq=False)
class Run:
    """A run laid out.  number: from 1, or as `marks` has it where an end adds it before the first.

    length_mm: work point to work point.  extra_mm: of the closing run, what its pipe is left longer by.

    direction: unit vector, shape (3,).  pitch_rad: up positive.  heading_rad: anticlockwise from x seen
    from above; a plumb run keeps the heading of the run before it.
    """

    number: int
    where: str
    length_mm: float
    direction: Vector
    pitch_rad: float
    heading_rad: float
    extra_mm: float = 0.0


@dataclass(frozen=True, eq=False)
class PathCorner:
    """A corner laid out.  number: of the run before it.

    turn_rad: change of direction.  roll_rad: as the module states it.  axis: unit vector u × v, (3,).
    """

    number: int
    where: str
    turn_rad: float
    roll_rad: float
    axis: Vector
    by: Joint


@dataclass(frozen=True)
class Misclosure:
    """By how much a closed path fails to come back to its start.

    position_mm: end of the last run to the first work point.  direction_rad: between the first run and
    the direction in which the last corner leaves.  twist_rad: roll stated at the first corner less the
    roll that follows there from the last one; 0 where none is stated.
    """

    position_mm: float
    direction_rad: float
    twist_rad: float


@dataclass(frozen=True, eq=False)
class RailPath:
    """A rail laid out in space.

    points_mm: work points, shape (n, 3): both ends and every corner of an open path, as many as runs of
    a closed one, whose last corner is at the first point.  misclosure: of a closed path, else None.
    warnings: what was assumed or is doubtful, each with its place.
    start, end: what stands at the first and the last point of an open path.  start_lean, end_lean: the planes
    that these ends are cut to, None for square ones.  start_on_elbow, end_on_elbow: whether an elbow itself
    is the end, so that the run beyond its corner is what it takes, and nothing until its pieces are known.
    """

    mark: str
    quantity: int
    closed: bool
    runs: tuple[Run, ...]
    corners: tuple[PathCorner, ...]
    points_mm: Vector
    misclosure: Misclosure | None
    warnings: tuple[str, ...]
    start: EndSpec = OPEN_END
    end: EndSpec = OPEN_END
    start_lean: Lean | None = None
    end_lean: Lean | None = None
    start_on_elbow: bool = False
    end_on_elbow: bool = False

    @property
    def is_own_other_hand(self) -> bool:
        """Whether the rail turned over is its own mirror image: all of it lies in one plane, leans too."""
        leans = [lean.way for lean in (self.start_lean, self.end_lean) if lean is not None]
        if not self.is_flat or not leans:
            return self.is_flat
        axis = self.corners[0].axis if self.corners else np.cross(self.runs[0].direction, leans[0])
        return all(abs(float(axis @ way)) < math.sin(FLAT_RAD) for way in leans)

    @property
    def is_flat(self) -> bool:
        """Whether every corner keeps to the plane of the one before it."""
        return all(abs(math.sin(corner.roll_rad)) < math.sin(FLAT_RAD) for corner in self.corners[1:])

    def runs_at(self, corner_number: int) -> tuple[Run, Run]:
        """The runs before and after a corner, by its number."""
        place = corner_number - self.runs[0].number
        return self.runs[place], self.runs[(place + 1) % len(self.runs)]


def lay_out(rail: RailSpec, units: str = "mm") -> RailPath:
    """Lay a rail's own path out in space, without what its ends add; a path of runs starts at the origin.

    units: ``mm`` or ``in``, for the lengths in messages.  Raises InputError with every fault of this rail.
    """
    if rail.points_mm:
        path = _from_runs(runs_between_points(rail), units)
        return replace(path, points_mm=np.array(rail.points_mm, dtype=float))
    return _from_runs(rail, units)


def _from_runs(rail: RailSpec, units: str) -> RailPath:
    faults = path_faults(rail, units)
    if faults:
        raise InputError(faults)
    runs, exits = _walk(rail)
    corners = tuple(
        PathCorner(number, spec.where, leaving.turn_rad, leaving.roll_rad, leaving.axis, spec.by)
        for number, (spec, leaving) in enumerate(zip(rail.corners, exits, strict=True), 1)
    )
    ends = np.cumsum([run.length_mm * run.direction for run in runs], axis=0)
    points = np.vstack([np.zeros(3), ends])
    warnings = _assumptions(rail, exits)
    path = RailPath(rail.mark, rail.quantity, rail.closed, runs, corners, points, None, warnings)
    return _close_ring(rail, path, exits[-1].direction, units) if rail.closed else path


def _walk(rail: RailSpec) -> tuple[tuple[Run, ...], list[CornerExit]]:
    """Follow the rail from run 1.

    Past a corner that can't be worked out, goes on at the next run whose direction is stated in full, so
    that InputError carries every fault that doesn't follow from another.
    """
    first = rail.runs[0]
    runs = [_run(1, first, d.direction(first.pitch_rad or 0.0, first.heading_rad or 0.0), 0.0)]
    exits: list[CornerExit] = []
    faults: list[Fault] = []
    after_each = [*rail.runs[1:], _run_after_ring(rail, runs[0])][: len(rail.corners)]
    arrival: Arrival | None = Arrival(runs[0].direction, runs[0].heading_rad, None, not rail.closed)
    for corner, after in zip(rail.corners, after_each, strict=True):
        own = own_faults(corner, after)
        faults += own
        if arrival is None or own:
            arrival = _picked_up(after)
            continue
        try:
            leaving = leave_corner(corner, after, arrival)
        except InputError as error:
            faults += error.faults
            arrival = _picked_up(after)
            continue
        exits.append(leaving)
        runs.append(_run(len(runs) + 1, after, leaving.direction, arrival.heading_rad))
        arrival = Arrival(leaving.direction, runs[-1].heading_rad, leaving.axis)
    if faults:
        raise InputError(faults)
    return tuple(runs[: len(rail.runs)]), exits


def _run(number: int, spec: RunSpec, along: Vector, carried_rad: float) -> Run:
    facing = d.heading(along, carried_rad if spec.heading_rad is None else spec.heading_rad)
    return Run(number, spec.where, spec.length_mm, along, d.pitch(along), facing, spec.extra_mm)


def _run_after_ring(rail: RailSpec, first: Run) -> RunSpec:
    """Run 1 again, as the last corner of a closed path meets it.

    Its direction is known there only to a corner that states no turn: one that does is not held to it,
    and what it misses by shows as misclosure.
    """
    if rail.corners and rail.corners[-1].turn_rad is None:
        return RunSpec(first.where, first.length_mm, first.pitch_rad, first.heading_rad)
    return RunSpec(first.where, first.length_mm)


def _picked_up(after: RunSpec) -> Arrival | None:
    """Arrival at the end of a run that states its whole direction, whatever came before it."""
    if after.pitch_rad is None or after.heading_rad is None:
        return None
    return Arrival(d.direction(after.pitch_rad, after.heading_rad), after.heading_rad, None, False)


def _close_ring(rail: RailSpec, path: RailPath, leaving: Vector, units: str) -> RailPath:
    """The path with its misclosure, its first roll referred to its last corner."""
    first, last, stated = path.corners[0], path.corners[-1], rail.corners[0].roll_rad
    roll = d.roll_between(path.runs[0].direction, last.axis, first.axis)
    misclosure = Misclosure(
        float(np.linalg.norm(path.points_mm[-1])),
        d.turn_between(leaving, path.runs[0].direction),
        0.0 if stated is None else d.wrapped(stated - roll),
    )
    if (
        misclosure.position_mm > OPEN_MM
        or max(misclosure.direction_rad, abs(misclosure.twist_rad)) > OPEN_RAD
    ):
        remedy = "correct its lengths or angles, or leave closed out"
        raise InputError([Fault(f"rail {rail.mark}", _misses(misclosure, units), remedy)])
    return replace(
        path,
        corners=(replace(first, roll_rad=roll), *path.corners[1:]),
        points_mm=path.points_mm[:-1],
        misclosure=misclosure,
        warnings=path.warnings + _misclosure_warnings(rail.mark, misclosure, units),
    )


def _misclosure_warnings(mark: str, misclosure: Misclosure, units: str) -> tuple[str, ...]:
    angles = (misclosure.direction_rad, abs(misclosure.twist_rad))
    if misclosure.position_mm <= CLOSES_MM and max(angles) <= AGREE_RAD:
        return ()
    return (f"rail {mark}: {_misses(misclosure, units)}",)


def _misses(misclosure: Misclosure, units: str) -> str:
    position = format_length(misclosure.position_mm, units)
    direction, twist = degrees_text(misclosure.direction_rad), degrees_text(abs(misclosure.twist_rad))
    return f"the closed path misses its start by {position}, {direction} in direction and {twist} in twist"


def _assumptions(rail: RailSpec, exits: list[CornerExit]) -> tuple[str, ...]:
    """Warnings for the corners that state a turn and no way to turn.

    The first corner only chooses how the whole rail is held, unless something else in the rail is stated
    against level.
    """
    level = any(run.pitch_rad or run.heading_rad for run in rail.runs) or any(c.towards for c in rail.corners)
    numbers = [n for n, leaving in enumerate(exits, 1) if leaving.assumed and (n > 1 or level)]
    if not numbers:
        return ()
    which = ("corner " if len(numbers) == 1 else "corners ") + ", ".join(map(str, numbers))
    taken = "taken to keep turning the same way as the corner before (roll 0)"
    if numbers == [1]:
        taken = "taken to turn up"
    elif numbers[0] == 1:
        taken = f"corner 1 is taken to turn up, each later one is {taken}"
    return (f"rail {rail.mark}, {which}: no roll or side given; {taken}",)
