"""What a rail of a job file ends in: which keys each kind of end takes, and what they come to."""

from __future__ import annotations

import math

from templates_core.errors import BadValueError
from templates_core.jobs.job import EndKind, EndSpec, Joint, LeanSpec
from templates_core.jobs.job_kinds import check_keys_of_kind, read_kind
from templates_core.jobs.job_notes import Loc, Notes
from templates_core.jobs.job_tables import EndTable, LeanTable, RailTable

_KEYS: dict[EndKind, tuple[tuple[str, ...], tuple[str, ...]]] = {
    EndKind.OPEN: ((), ("gap", "lean")),
    EndKind.CAP: (("thickness",), ("gap",)),
    EndKind.PLATE: (("thickness",), ("gap", "lean")),
    EndKind.FLANGE: (("setback",), ()),
    EndKind.SLEEVE: (("length", "insertion"), ()),
    EndKind.WALL_RETURN: ((), ("run", "turn", "towards", "roll", "gap", "by", "lean")),
    EndKind.LEVEL_EXTENSION: (("run",), ("gap", "by", "lean")),
}
"""Keys that each kind needs, and others that it may have."""
_EXAMPLES = {
    EndKind.CAP: '{ kind = "cap", thickness = 4 }',
    EndKind.PLATE: '{ kind = "plate", thickness = 6, gap = 2 }',
    EndKind.FLANGE: '{ kind = "flange", setback = 10 }',
    EndKind.SLEEVE: '{ kind = "sleeve", length = 50, insertion = 30 }',
    EndKind.WALL_RETURN: '{ kind = "wall return", towards = "left", run = 100 }',
    EndKind.LEVEL_EXTENSION: '{ kind = "level extension", run = 305 }',
}


def read_end(raw: object, rail: RailTable, loc: Loc, notes: Notes) -> tuple[EndSpec, ...]:
    """One end of a rail, from the path outwards: a word, a table, or a list of tables.

    raw: as TOML gives it, None where the file says nothing.  Faults go to the notes.
    """
    if raw is None:
        return ()
    if rail.closed:
        notes.add(loc, BadValueError("a closed rail has no ends", "leave it out, or leave closed out"))
        return ()
    listed = raw if isinstance(raw, list) else [raw]
    locs = [(*loc, at) for at in range(len(listed))] if isinstance(raw, list) else [loc]
    where = f"rail {rail.mark}, {loc[-1]}"
    ends = [_read_one(item, where, at, notes) for item, at in zip(listed, locs, strict=True)]
    for end, following, at in zip(ends, ends[1:], locs, strict=False):
        error = None if end is None else _stands_inside(end, following)
        if error is not None:
            notes.add(at, error)
    return tuple(end for end in ends if end is not None)


def _stands_inside(end: EndSpec, following: EndSpec | None) -> BadValueError | None:
    """What is wrong with an item of a list that is not its last."""
    if not (end.goes_on and end.gap_mm == 0):
        what = f"a {end.kind} stands before the last item" if not end.goes_on else "a gap stands inside"
        return BadValueError(what, "the path goes on only by returns and extensions without gaps")
    if end.lean is not None:
        return BadValueError("a lean stands inside", "give it with the last item, which is cut so")
    if end.on_elbow and following is not None and following.goes_on:
        return BadValueError("a return without a run stands inside", "give its run, to the next work point")
    return None


def _read_one(raw: object, where: str, loc: Loc, notes: Notes) -> EndSpec | None:
    table = read_kind(raw, EndTable, _check_keys, f'write "open" or {_EXAMPLES[EndKind.PLATE]}', loc, notes)
    return None if table is None else _spec(table, where)


def _check_keys(table: EndTable) -> None:
    """Raises BadValueError where a key is missing, or doesn't belong to the kind."""
    needed, others = _KEYS[table.kind]
    example = _EXAMPLES.get(table.kind, '"open"')
    check_keys_of_kind(table, table.kind, needed, others, example)
    if table.insertion is not None and table.length is not None and table.insertion > table.length:
        raise BadValueError("the insertion is more than the sleeve is long", "give the depth that it goes in")
    if table.kind is EndKind.WALL_RETURN and table.run is None and table.by is Joint.MITRE:
        raise BadValueError("a mitred return has a pipe after it", f"give its run: {example}")
    if table.kind is EndKind.WALL_RETURN and (table.towards is None) == (table.roll is None):
        raise BadValueError("a wall return goes to one side", f"give towards or roll: {example}")


def _spec(table: EndTable, where: str) -> EndSpec:
    return EndSpec(
        where,
        table.kind,
        length_mm=table.thickness or table.setback or table.length or 0.0,
        gap_mm=table.gap or 0.0,
        insertion_mm=table.insertion or 0.0,
        run_mm=table.run or 0.0,
        turn_rad=math.pi / 2 if table.turn is None else table.turn,
        roll_rad=table.roll,
        towards=table.towards,
        by=table.by or Joint.ELBOW,
        lean=None if table.lean is None else _lean(table.lean),
    )


def _lean(table: LeanTable) -> LeanSpec:
    def longer(side: float | None, other: float | None) -> float:
        return (side or 0.0) - (other or 0.0)

    return LeanSpec(
        longer(table.up, table.down), longer(table.left, table.right), longer(table.heel, table.throat)
    )
