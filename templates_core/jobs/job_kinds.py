"""Ends in a job file: a word, or a table whose kind says which other keys it needs and may have."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from templates_core.errors import BadValueError
from templates_core.jobs.job_notes import AnyTable, Loc, Notes
from templates_core.jobs.job_tables import Table


def read_kind(
    raw: object, model: type[AnyTable], check: Callable[[AnyTable], None], remedy: str, loc: Loc, notes: Notes
) -> AnyTable | None:
    """The table of an end that the file gives as a table, or as its kind alone; None after noting its faults.

    check: raises BadValueError for a table whose keys don't go together.  remedy: for what is no end at all.
    """
    if not isinstance(raw, str | dict):
        notes.add(loc, BadValueError("it is no kind of end", remedy))
        return None
    table = notes.read(model, {"kind": raw} if isinstance(raw, str) else raw, loc)
    if table is None:
        return None
    try:
        check(table)
    except BadValueError as error:
        notes.add(loc, error)
        return None
    return table


def check_keys_of_kind(
    table: Table, kind: str, needed: Sequence[str], others: Sequence[str], example: str
) -> None:
    """Raises BadValueError where a key that the kind needs is missing, or one that it can't have is given."""
    given = table.model_fields_set - {"kind"}
    missing = [key for key in needed if key not in given]
    if missing:
        raise BadValueError(f"a {kind} needs its {' and '.join(missing)}", f"write {example}")
    strays = [key for key in type(table).model_fields if key in given and key not in (*needed, *others)]
    if strays:
        raise BadValueError(f"{' and '.join(strays)} can't go with the kind {kind}", f"write {example}")
