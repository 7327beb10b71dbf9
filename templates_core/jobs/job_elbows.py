"""Pipe and elbows of a job: from the standards, from sizes given, or from what was taped."""

from __future__ import annotations

import math

from templates_core.errors import BadValueError, Fault, GeometryError
from templates_core.fittings import RETURN_RAD, Pipe, StockElbow, centre_to_end_mm
from templates_core.jobs.job import Taped
from templates_core.jobs.job_notes import Loc, Notes, nearest
from templates_core.jobs.job_tables import ElbowsTable, ElbowTable, PipeTable, RootTable, TapedTable
from templates_core.jobs.measured import real_elbow
from templates_core.standards import bevel_shoulder_mm, checked_pipe, elbow_kind, pipe_size, stock_elbow
from templates_core.units import format_angle, format_length

LEAST_OD_MM, MOST_OD_MM = 10.0, 1000.0
"""ODs outside this are taken for a number in the wrong unit."""
AGREE_MM = 0.5
"""A centre-to-end and a bend radius with tangents, all stated, agree within this."""
OTHER_OD_MM = 1.6
"""An elbow whose OD is off the pipe's by more won't meet it fairly."""


def make_pipe(table: PipeTable, units: str) -> Pipe:
    """The pipe of a table.  Raises BadValueError."""
    if table.size is not None and table.od is not None:
        raise BadValueError("both a size and an OD are given", "give size, or od and wall")
    if table.size is not None:
        return pipe_size(table.size, table.schedule, table.wall)
    if table.schedule is not None:
        raise BadValueError("a schedule goes with a size", 'give size = "NPS 1-1/2", or od and wall alone')
    if table.od is None or table.wall is None:
        raise BadValueError("it has no size", 'give size = "NPS 1-1/2" and schedule = "40", or od and wall')
    od, wall = (format_length(length, units, fine=True) for length in (table.od, table.wall))
    if not LEAST_OD_MM <= table.od <= MOST_OD_MM:
        raise BadValueError(f"an OD of {od} is no pipe", "check the unit and the decimal point")
    return checked_pipe(Pipe(f"{od} OD × {wall} wall", table.od, table.wall, "given in the job file"))


def read_own_pipe(table: PipeTable, loc: Loc, notes: Notes) -> Pipe | None:
    """The size that a table states for itself; None where it states none, or states it wrongly.

    Faults go to the notes.
    """
    try:
        return make_pipe(table, notes.units) if table.names_a_size else None
    except BadValueError as error:
        notes.add(loc, error)
        return None


def make_elbows(
    root: RootTable, table: ElbowsTable, pipe: Pipe | None, notes: Notes
) -> tuple[tuple[StockElbow, ...], dict[str, Taped], dict[str, StockElbow]]:
    """The elbows that the job may use, what was taped by name, and those taped as they are nominally.

    Stock in the order of its list, then the ``[[elbow]]`` that it doesn't name.  pipe: None when it is
    itself at fault, so that only names can be checked.  Faults go to the notes.
    """
    bevelled = table.ends == "bevelled"
    real = _given_elbows(root, pipe, bevelled, notes)
    found: dict[str, StockElbow | None] = {}
    for index, name in enumerate(table.stock):
        loc, key = ("elbows", "stock", index), _key(name)
        if key in found:
            notes.add(loc, BadValueError(f"'{name}' is listed twice", "leave one of them out"))
            continue
        found[key] = real.get(key)
        if key not in real:
            try:
                kind = elbow_kind(name)
                found[key] = None if pipe is None else stock_elbow(kind, pipe, bevelled)
            except BadValueError as error:
                notes.add(loc, error)
    found = {**found, **{key: elbow for key, elbow in real.items() if key not in found}}
    before = {elbow.name: elbow for elbow in found.values() if elbow is not None}
    taped = _measure(root, found, notes)
    nominal = {name: before[name] for name in taped}
    return tuple(elbow for elbow in found.values() if elbow is not None), taped, nominal


def _key(name: str) -> str:
    return " ".join(name.split()).casefold()


def _given_elbows(
    root: RootTable, pipe: Pipe | None, bevelled: bool, notes: Notes
) -> dict[str, StockElbow | None]:
    """Elbows of the ``[[elbow]]`` tables by key; None for one at fault."""
    found: dict[str, StockElbow | None] = {}
    for index, raw in enumerate(root.elbow):
        loc = ("elbow", index)
        table = notes.read(ElbowTable, raw, loc)
        if table is None:
            if isinstance(raw, dict) and isinstance(raw.get("name"), str):
                found.setdefault(_key(raw["name"]), None)
            continue
        key = _key(table.name)
        if key in found:
            notes.add((*loc, "name"), BadValueError("another elbow has this name", "give each its own"))
            continue
        found[key] = None
        if pipe is not None:
            try:
                found[key] = given_elbow(table, pipe, bevelled)
            except BadValueError as error:
                notes.add(loc, error)
            else:
                _doubt_od(table, pipe, notes, index)
    return found


def _doubt_od(table: ElbowTable, pipe: Pipe, notes: Notes, index: int) -> None:
    if table.od is not None and abs(table.od - pipe.od_mm) > OTHER_OD_MM:
        ods = [format_length(od, notes.units, fine=True) for od in (table.od, pipe.od_mm)]
        notes.warn(("elbow", index, "od"), f"its OD is {ods[0]}, the pipe's {ods[1]}: they won't meet fairly")


def given_elbow(table: ElbowTable, pipe: Pipe, bevelled: bool) -> StockElbow:
    """A real elbow of known sizes; OD and wall as the pipe's and a bevel by the standard, unless given.

    With a centre-to-end alone it can only be used whole.  Its tolerances are 0: it is not nominal.
    Raises BadValueError where its sizes don't agree or make no elbow.
    """
    tube = checked_pipe(Pipe(table.name, table.od or pipe.od_mm, table.wall or pipe.wall_mm, "given"))
    radius_mm, tangent_a_mm, tangent_b_mm = _bend(table)
    if radius_mm is not None:
        end_mm = centre_to_end_mm(radius_mm, table.sweep, tangent_a_mm)
    elif table.centre_to_end is not None:
        end_mm = table.centre_to_end
    else:
        raise BadValueError("neither a bend radius nor a centre-to-end is given", "give bend_radius")
    shoulder_mm = bevel_shoulder_mm(tube.wall_mm) if bevelled else 0.0
    return StockElbow(
        name=table.name,
        od_mm=tube.od_mm,
        wall_mm=tube.wall_mm,
        sweep_rad=table.sweep,
        centre_to_end_mm=end_mm,
        bend_radius_mm=radius_mm,
        tangent_a_mm=tangent_a_mm,
        tangent_b_mm=tangent_b_mm,
        shoulder_mm=shoulder_mm if table.shoulder is None else table.shoulder,
        sweep_tolerance_rad=0.0,
        od_plus_mm=0.0,
        od_minus_mm=0.0,
        source="given in the job file",
    )


def _bend(table: ElbowTable) -> tuple[float | None, float, float]:
    """Bend radius and tangents at A and B [mm] from those given; radius None where it can't be known."""
    stated = table.tangent is not None or table.tangent_a is not None or table.tangent_b is not None
    if table.tangent is not None and (table.tangent_a is not None or table.tangent_b is not None):
        raise BadValueError(
            "it has both tangent and tangent_a or tangent_b", "give one for both ends, or each"
        )
    tangent_a_mm = table.tangent_a or table.tangent or 0.0
    tangent_b_mm = table.tangent_b or table.tangent or 0.0
    end_mm, radius_mm = table.centre_to_end, table.bend_radius
    if end_mm is None:
        return radius_mm, tangent_a_mm, tangent_b_mm
    if table.sweep >= RETURN_RAD:
        raise BadValueError(
            "a return has no centre-to-end", "give its bend_radius, half of its centre-to-centre"
        )
    tan = math.tan(table.sweep / 2)
    if radius_mm is None:
        if stated and end_mm <= tangent_a_mm:
            raise BadValueError("its tangent is as long as its centre-to-end", "check both")
        return ((end_mm - tangent_a_mm) / tan if stated else None), tangent_a_mm, tangent_b_mm
    straight_mm = end_mm - radius_mm * tan
    if abs(straight_mm - tangent_a_mm) <= AGREE_MM:
        return radius_mm, tangent_a_mm, tangent_b_mm
    if stated or straight_mm < 0:
        sweep = format_angle(table.sweep)
        what = f"a bend radius of {radius_mm:.2f} mm over {sweep} makes a centre-to-end of"
        what += f" {radius_mm * tan + tangent_a_mm:.2f} mm, not {end_mm:.2f} mm"
        raise BadValueError(what, "give two of the three, or make them agree to 0.5 mm")
    return radius_mm, straight_mm, straight_mm


def _measure(root: RootTable, found: dict[str, StockElbow | None], notes: Notes) -> dict[str, Taped]:
    """Put what was taped in the place of what was nominal; gives the readings by elbow name."""
    readings: dict[str, Taped] = {}
    for name, raw in root.measured.items():
        loc, key = ("measured", name), _key(name)
        table = notes.read(TapedTable, raw, loc)
        if key not in found:
            notes.add(loc, BadValueError("there is no such elbow in this job", nearest(name, list(found))))
            continue
        elbow = found[key]
        if table is None or elbow is None:
            continue
        taped = Taped(table.girth, table.heel_arc, table.throat_arc, table.sweep, table.shoulder)
        if taped == Taped():
            notes.add(
                loc, BadValueError("nothing is measured in it", "give a reading, or leave the table out")
            )
            continue
        try:
            real = real_elbow(elbow, taped, notes.units)
        except GeometryError as error:
            what, _, remedy = str(error).removeprefix(f"{elbow.name}: ").partition("; ")
            remedy = remedy or "tape it again, and check the unit and the decimal point"
            notes.note(loc, Fault(notes.place(loc), what, remedy))
            continue
        found[key] = real.elbow
        readings[elbow.name] = taped
        notes.warnings.extend(real.warnings)
    return readings
