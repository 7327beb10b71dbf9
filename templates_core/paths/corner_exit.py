"""How a path leaves one corner: from what the corner states, from the run after it, or from both."""

from __future__ import annotations

import math
from dataclasses import dataclass

from templates_core.errors import Fault, InputError
from templates_core.jobs.job import CornerSpec, RunSpec
from templates_core.paths import directions as d
from templates_core.paths.directions import Vector
from templates_core.units import degrees_text

AGREE_RAD = math.radians(0.1)
"""Two statements of one angle agree within this: a drawing rounds to a tenth of a degree."""

SIDE_RAD = math.radians(45)
"""Between two runs of stated direction, `towards` names the side that the turn is nearest to."""

LEAST_TURN_RAD = math.radians(0.01)
"""Runs nearer than this to one line, or to doubling straight back, make no corner."""


@dataclass(frozen=True, eq=False)
class CornerExit:
    """The way out of a corner.

    direction: of the run after it, unit vector (3,).  axis: of the bend, u × v, unit vector (3,).
    roll_rad: from the corner before, or from up.  assumed: the corner states a turn and no way to turn.
    """

    direction: Vector
    axis: Vector
    turn_rad: float
    roll_rad: float
    assumed: bool


@dataclass(frozen=True, eq=False)
class Arrival:
    """How the path comes to a corner.

    direction: of the run before it, unit vector (3,).  heading_rad: of that run, or carried to it.
    axis_before: bend axis of the corner before, None at the first.
    roll_counts: False at the first corner of a closed path, whose roll is referred to the last.
    """

    direction: Vector
    heading_rad: float
    axis_before: Vector | None
    roll_counts: bool = True

    @property
    def axis_at_roll_0(self) -> Vector:
        """Axis of a bend here that has a roll of 0."""
        if self.axis_before is not None:
            return self.axis_before
        return d.reference_axis(self.direction, self.heading_rad)


def both_readings(turn_rad: float) -> str:
    """A turn with the inside angle it leaves, so that neither is taken for the other."""
    return f"inside angle {degrees_text(math.pi - turn_rad)}, a turn of {degrees_text(turn_rad)}"


def own_faults(corner: CornerSpec, after: RunSpec | None) -> list[Fault]:
    """What is wrong with a corner whatever the path around it.

    after: the run after it; None where that run's direction is known anyhow (the end of a ring).
    """
    turn = corner.turn_rad
    if turn is None:
        if after is None or after.pitch_rad is not None or after.heading_rad is not None:
            return []
        remedy = (
            "give inside_angle or turn, or the direction of the run after it (pitch, heading, rise and going)"
        )
        return [Fault(corner.where, "nothing says how much it turns", remedy)]
    if LEAST_TURN_RAD <= turn <= math.pi - LEAST_TURN_RAD:
        return []
    return [Fault(corner.where, both_readings(turn) + ", makes no corner", "give one between 0 and 180°")]


def leave_corner(corner: CornerSpec, after: RunSpec, arrival: Arrival) -> CornerExit:
    """Direction in which the path leaves a corner.

    A turn with a roll or a side fixes it, unless the run after states both pitch and heading, which then
    rule; whichever is left over must agree.  A run that states one of the two keeps the other from the
    run before.  Raises InputError with one fault.
    """
    if corner.towards is not None and d.is_plumb(arrival.direction):
        remedy = "give its roll, or the pitch and heading of the run after it"
        raise _refusal(
            corner, f"the run before it is plumb, so it has no side called {corner.towards}", remedy
        )
    states_way = corner.towards is not None or (corner.roll_rad is not None and arrival.roll_counts)
    states_both = after.pitch_rad is not None and after.heading_rad is not None
    states_none = after.pitch_rad is None and after.heading_rad is None
    if corner.turn_rad is not None and (states_none or (states_way and not states_both)):
        leaving = _by_turn(corner, corner.turn_rad, arrival, assumed=not states_way)
        _check_direction(corner, after, leaving)
        return leaving
    leaving = _between_runs(corner, after, arrival)
    _check_turn(corner, leaving)
    _check_way(corner, leaving, arrival)
    return leaving


def _refusal(corner: CornerSpec, what: str, remedy: str) -> InputError:
    return InputError([Fault(corner.where, what, remedy)])


def _stated_axis(corner: CornerSpec, arrival: Arrival) -> Vector:
    if corner.towards is not None:
        return d.axis_towards(arrival.direction, corner.towards)
    roll = corner.roll_rad if corner.roll_rad is not None and arrival.roll_counts else 0.0
    return d.turned(arrival.axis_at_roll_0, arrival.direction, roll)


def _by_turn(corner: CornerSpec, turn_rad: float, arrival: Arrival, assumed: bool) -> CornerExit:
    axis = _stated_axis(corner, arrival)
    u = arrival.direction
    roll = d.roll_between(u, arrival.axis_at_roll_0, axis)
    return CornerExit(d.turned(u, axis, turn_rad), axis, turn_rad, roll, assumed)


def _between_runs(corner: CornerSpec, after: RunSpec, arrival: Arrival) -> CornerExit:
    u = arrival.direction
    pitch = d.pitch(u) if after.pitch_rad is None else after.pitch_rad
    heading = arrival.heading_rad if after.heading_rad is None else after.heading_rad
    v = d.direction(pitch, heading)
    turn = d.turn_between(u, v)
    if turn < LEAST_TURN_RAD:
        raise _refusal(corner, "the runs either side of it are in line", "join them into one run")
    if turn > math.pi - LEAST_TURN_RAD:
        raise _refusal(
            corner, "the run after it doubles straight back", "check the directions of the two runs"
        )
    axis = d.bend_axis(u, v)
    return CornerExit(v, axis, turn, d.roll_between(u, arrival.axis_at_roll_0, axis), assumed=False)


def _check_direction(corner: CornerSpec, after: RunSpec, leaving: CornerExit) -> None:
    """A pitch or heading stated beside a corner that fixes the direction must agree with it."""
    v = leaving.direction
    stated = [("pitch", after.pitch_rad, d.pitch(v))]
    if not d.is_plumb(v):
        stated.append(("heading", after.heading_rad, d.heading(v, 0.0)))
    for name, given, follows in stated:
        if given is not None and abs(d.wrapped(given - follows)) > AGREE_RAD:
            what = (
                f"it leaves the run after it at a {name} of {degrees_text(follows)}, "
                f"but {after.where} gives {degrees_text(given)}"
            )
            raise _refusal(corner, what, "give one or the other, or make them agree to 0.1°")


def _check_turn(corner: CornerSpec, leaving: CornerExit) -> None:
    given, follows = corner.turn_rad, leaving.turn_rad
    if given is None or abs(given - follows) <= AGREE_RAD:
        return
    what = f"it gives {both_readings(given)}, but the runs either side make {both_readings(follows)}"
    remedy = "give one or the other, or make them agree to 0.1°"
    if abs((math.pi - given) - follows) <= AGREE_RAD:
        remedy = (
            "the slope was given as the inside angle: "
            f"write inside_angle = {degrees_text(math.pi - follows)} or turn = {degrees_text(follows)}"
        ).replace("°", "")
    raise _refusal(corner, what, remedy)


def _check_way(corner: CornerSpec, leaving: CornerExit, arrival: Arrival) -> None:
    """The side or roll stated between two runs of known direction must agree with them."""
    if corner.towards is None and (corner.roll_rad is None or not arrival.roll_counts):
        return
    off = abs(d.roll_between(arrival.direction, _stated_axis(corner, arrival), leaving.axis))
    follows = degrees_text(leaving.roll_rad)
    if corner.towards is not None and off > SIDE_RAD:
        what = (
            f"it is said to turn {corner.towards}, but the runs either side turn another way (roll {follows})"
        )
        raise _refusal(corner, what, "leave `towards` out, or correct it")
    if corner.roll_rad is not None and off > AGREE_RAD:
        given = degrees_text(corner.roll_rad)
        what = f"its roll is given as {given}, but the runs either side make it {follows}"
        raise _refusal(corner, what, "leave `roll` out, or make them agree to 0.1°")
