"""Loose members of a job file: their ends, and the length as the drawing gives it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from templates_core.errors import BadValueError
from templates_core.fittings import Pipe, StockElbow
from templates_core.geometry.pipe_ends import BearsOn
from templates_core.jobs.job_elbows import read_own_pipe
from templates_core.jobs.job_kinds import check_keys_of_kind, read_kind
from templates_core.jobs.job_notes import Loc, Notes, nearest
from templates_core.jobs.member_specs import CutKind, CutSpec, ElbowSeat, MemberEnd, MemberSpec, Reach
from templates_core.jobs.member_tables import CutTable, MemberTable
from templates_core.marks import other_hand_mark
from templates_core.units import degrees_text

_KEYS: Mapping[CutKind, tuple[tuple[str, ...], tuple[str, ...]]] = {
    CutKind.SQUARE: ((), ("gap",)),
    CutKind.MITRE: (("tilt",), ("gap", "roll", "bears_on")),
    CutKind.PLATE: ((), ("tilt", "thickness", "gap", "roll", "bears_on")),
    CutKind.COPE: (
        (),
        (
            *("on", "elbow", "sweep", "at", "girth", "angle", "offset"),
            *("gap", "roll", "bears_on", "hole"),
        ),
    ),
}
"""Keys that each kind needs, and others that it may have."""
_EXAMPLES = {
    CutKind.SQUARE: '"square"',
    CutKind.MITRE: '{ kind = "mitre", tilt = 22.5 }',
    CutKind.PLATE: '{ kind = "plate", tilt = 32.5, thickness = 6 }',
    CutKind.COPE: '{ kind = "cope", on = "NPS 2", angle = 60 }',
}
_ON_ELBOW = ("sweep", "at", "girth")


def read_members(
    raw_members: Sequence[object], pipe: Pipe | None, elbows: Sequence[StockElbow], notes: Notes
) -> tuple[MemberSpec, ...]:
    """The members that have no fault; faults go to the notes.  pipe: the job's, None when it is at fault."""
    members = []
    seen: dict[str, str] = {}
    for index, raw in enumerate(raw_members):
        loc: Loc = ("member", index)
        before = len(notes.faults)
        table = notes.read(MemberTable, raw, loc)
        mark = raw.get("mark") if isinstance(raw, dict) else None
        if isinstance(mark, str):
            _check_mark(mark, isinstance(raw, dict) and raw.get("mirror") is True, seen, loc, notes)
        if table is None or pipe is None:
            continue
        spec = _member(table, pipe, elbows, loc, notes)
        if len(notes.faults) == before:
            members.append(spec)
    return tuple(members)


def _check_mark(mark: str, mirror: bool, seen: dict[str, str], loc: Loc, notes: Notes) -> None:
    """Each member has a mark of its own, and so has its other hand; seen: what marks there are, by key."""
    for one, what in ((mark, "another member"), *(((other_hand_mark(mark), "an other hand"),) * mirror)):
        if one.casefold() in seen:
            fault = BadValueError(f"{seen[one.casefold()]} has the mark {one}", "give each member its own")
            notes.add((*loc, "mark"), fault)
        seen[one.casefold()] = what


def _member(
    table: MemberTable, job_pipe: Pipe, elbows: Sequence[StockElbow], loc: Loc, notes: Notes
) -> MemberSpec:
    pipe = read_own_pipe(table, loc, notes) or job_pipe
    start, end = (
        _end(raw, Reach(reach), (job_pipe, pipe), elbows, (*loc, key), notes)
        for raw, reach, key in zip((table.start, table.end), table.measured, ("start", "end"), strict=True)
    )
    where = f"member {table.mark}"
    return MemberSpec(
        table.mark, where, table.quantity, pipe, table.length, start, end, table.roll, table.mirror
    )


def _end(
    raw: object,
    reach: Reach,
    pipes: tuple[Pipe, Pipe],
    elbows: Sequence[StockElbow],
    loc: Loc,
    notes: Notes,
) -> MemberEnd:
    """One end: a word, a table, or a list of tables.  pipes: the job's, and the member's own."""
    listed = raw if isinstance(raw, list) else [raw]
    locs = [(*loc, at) for at in range(len(listed))] if isinstance(raw, list) else [loc]
    if not listed:
        notes.add(loc, BadValueError("the list is empty", f"write {_EXAMPLES[CutKind.SQUARE]}"))
    tables = [_table(one, at, notes) for one, at in zip(listed, locs, strict=True)]
    cuts = [
        _cut(table, pipes, elbows, at, notes)
        for table, at in zip(tables, locs, strict=True)
        if table is not None
    ]
    sound = [table for table in tables if table is not None]
    for table, at in zip(tables[1:], locs[1:], strict=True):
        if table is not None and table.bears_on is not None:
            what = "one end bears on one edge of its wall"
            notes.add((*at, "bears_on"), BadValueError(what, "give bears_on in the first of the list"))
    if len(cuts) > 1 and any(cut.kind is CutKind.SQUARE for cut in cuts):
        notes.add(loc, BadValueError("a square end can't be something else too", "leave it out of the list"))
    _check_reach(reach, cuts, loc, notes)
    bears_on = sound[0].bears_on if sound else None
    return MemberEnd(tuple(cuts), reach, bears_on or BearsOn.FIRST)


def _check_reach(reach: Reach, cuts: Sequence[CutSpec], loc: Loc, notes: Notes) -> None:
    """Whether the drawing can measure to that point of such an end."""
    if not cuts:
        return
    plain = all(cut.kind is CutKind.SQUARE for cut in cuts)
    place = (*loc[:2], "measured")
    if reach is Reach.END and not plain:
        what = f"the {loc[-1]} is not square, so its end is no one point"
        notes.add(place, BadValueError(what, 'say "centre", "long point" or "short point" in place of "end"'))
    if reach is Reach.FLOOR and not any(cut.kind is CutKind.PLATE for cut in cuts):
        what = f"the {loc[-1]} stands on no floor"
        notes.add(place, BadValueError(what, f"make that end {_EXAMPLES[CutKind.PLATE]}"))


def _table(raw: object, loc: Loc, notes: Notes) -> CutTable | None:
    remedy = f"write {_EXAMPLES[CutKind.SQUARE]} or {_EXAMPLES[CutKind.COPE]}"
    return read_kind(raw, CutTable, _check_keys, remedy, loc, notes)


def _check_keys(table: CutTable) -> None:
    """Raises BadValueError where a key is missing, or doesn't belong to the kind."""
    check_keys_of_kind(table, table.kind, *_KEYS[table.kind], _EXAMPLES[table.kind])
    if table.elbow is None and (on_elbow := [key for key in _ON_ELBOW if key in table.model_fields_set]):
        remedy = 'name it: { kind = "cope", elbow = "90 long radius", girth = "throat" }'
        raise BadValueError(f"{' and '.join(on_elbow)} can go only with an elbow", remedy)
    if table.elbow is not None and table.on is not None:
        raise BadValueError("it sits on a pipe and on an elbow", "give on or elbow, or make it two of a list")


def _cut(
    table: CutTable, pipes: tuple[Pipe, Pipe], elbows: Sequence[StockElbow], loc: Loc, notes: Notes
) -> CutSpec:
    where = notes.place(loc)
    seat = None
    if table.elbow is not None:
        try:
            seat = _seat(table, elbows)
        except BadValueError as error:
            notes.add((*loc, "elbow"), error)
    header_od, words = (pipes[0].od_mm, pipes[0].name) if table.on is None else table.on
    return CutSpec(
        where,
        table.kind,
        tilt_rad=table.tilt or 0.0,
        thickness_mm=table.thickness or 0.0,
        header_od_mm=header_od,
        header_words=words,
        seat=seat,
        angle_rad=math.pi / 2 if table.angle is None else table.angle,
        offset_mm=table.offset or 0.0,
        gap_mm=table.gap,
        roll_rad=table.roll,
        hole=table.hole,
    )


def _seat(table: CutTable, elbows: Sequence[StockElbow]) -> ElbowSeat:
    """Raises BadValueError for an elbow that the job has not, or that can't be sat on."""
    named = {" ".join(elbow.name.split()).casefold(): elbow for elbow in elbows}
    assert table.elbow is not None
    elbow = named.get(" ".join(table.elbow.split()).casefold())
    if elbow is None:
        remedy = nearest(table.elbow, [one.name for one in elbows]) if elbows else "list it under [elbows]"
        raise BadValueError("there is no such elbow in this job", remedy)
    if elbow.bend_radius_mm is None:
        raise BadValueError("its bend radius is not known", "measure it and give it as an [[elbow]]")
    sweep = elbow.sweep_rad if table.sweep is None else table.sweep
    if sweep > elbow.sweep_rad + 1e-9:
        what = f"a piece of {degrees_text(sweep)} is more than the elbow has"
        raise BadValueError(what, f"give at most {degrees_text(elbow.sweep_rad)}")
    at = sweep / 2 if table.at is None else table.at
    if at > sweep + 1e-9:
        what = f"{degrees_text(at)} from face A is past its other face"
        raise BadValueError(what, f"give at from 0 to {degrees_text(sweep)}")
    return ElbowSeat(elbow, sweep, at, math.pi if table.girth is None else table.girth)
