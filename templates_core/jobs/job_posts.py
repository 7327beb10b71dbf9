"""Rows of posts and of mid rails in a rail of a job file."""

from __future__ import annotations

from collections.abc import Sequence

from templates_core.errors import BadValueError
from templates_core.fittings import Pipe
from templates_core.jobs.job_elbows import read_own_pipe
from templates_core.jobs.job_notes import Loc, Notes
from templates_core.jobs.member_specs import Foot, MidRow, PostRow
from templates_core.jobs.member_tables import MidRailsTable, PostsTable

_FOOT = "give floor, the height of a level floor, or drop, from the centreline down to a floor along the run"


def read_posts(
    raw_rows: Sequence[object], mark: str, pipe: Pipe, loc: Loc, notes: Notes
) -> tuple[PostRow, ...]:
    """Rows of posts of a rail, as far as they are sound; faults go to the notes."""
    rows = []
    for index, raw in enumerate(raw_rows):
        at = (*loc, "posts", index)
        table = notes.read(PostsTable, raw, at)
        if table is None:
            continue
        own = read_own_pipe(table, at, notes) or pipe
        try:
            _check_places(table)
            _check_foot(table)
        except BadValueError as error:
            notes.add(at, error)
            continue
        rows.append(_post_row(table, own, f"rail {mark}, posts row {index + 1}"))
    return tuple(rows)


def _post_row(table: PostsTable, pipe: Pipe, where: str) -> PostRow:
    return PostRow(
        where,
        pipe,
        run_number=table.run,
        corner_number=table.corner,
        at_mm=tuple(table.at or ()),
        spacing_mm=table.spacing,
        first_mm=table.first or 0.0,
        last_mm=table.last or 0.0,
        level=table.level,
        stand=table.stand,
        floor_mm=table.floor,
        drop_mm=table.drop,
        foot=table.foot,
        plate_mm=table.plate,
        gap_mm=table.gap,
        offset_mm=table.offset,
        bears_on=table.bears_on,
        hole=table.hole,
        on_corner=table.on_corner or table.corner is not None,
    )


def _check_places(table: PostsTable) -> None:
    """Posts stand under a corner, or along runs: at listed places or spaced.  Raises BadValueError."""
    if table.corner is not None:
        given = ("run", "at", "spacing", "first", "last", "level", "stand", "on_corner")
        strays = [key for key in given if key in table.model_fields_set]
        if strays:
            what = f"{' and '.join(strays)} can't go with corner"
            raise BadValueError(what, "a post under a corner stands plumb, below the middle of its bend")
        return
    if (table.at is None) == (table.spacing is None):
        what = "it doesn't say where they stand" if table.at is None else "it has both at and spacing"
        raise BadValueError(what, "give at, a list of distances, or spacing with first and last")
    if table.spacing is not None and (table.first is None or table.last is None):
        what = "spacing needs the distance of the first and of the last post from the work points"
        raise BadValueError(what, "write spacing = 1200, first = 150, last = 150")
    if table.at is not None and (table.first is not None or table.last is not None):
        raise BadValueError("first and last go with spacing", "leave them out beside at")
    if table.at is not None and table.run is None:
        raise BadValueError("it doesn't say on which run", "write run = 1, counted from the rail's start")


def _check_foot(table: PostsTable) -> None:
    if (table.floor is None) == (table.drop is None):
        what = "it doesn't say where the floor is" if table.floor is None else "it has both floor and drop"
        raise BadValueError(what, _FOOT)
    if table.floor is not None and table.foot is Foot.SLOPE:
        raise BadValueError("floor is the height of a level floor", "give drop where it slopes with the run")


def read_mid_rails(
    raw_rows: Sequence[object], mark: str, pipe: Pipe, loc: Loc, notes: Notes
) -> tuple[MidRow, ...]:
    """Rows of mid rails of a rail, as far as they are sound; faults go to the notes."""
    rows = []
    for index, raw in enumerate(raw_rows):
        at = (*loc, "mid_rails", index)
        table = notes.read(MidRailsTable, raw, at)
        if table is None:
            continue
        own = read_own_pipe(table, at, notes) or pipe
        where = f"rail {mark}, mid rails row {index + 1}"
        square = table.measured == "square"
        rows.append(
            MidRow(where, own, table.below, table.run, square, table.through, table.bears_on, table.hole)
        )
    return tuple(rows)
