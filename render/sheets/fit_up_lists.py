"""Lists for the bench: joints in the order of tacking, blanks for what was measured, sizes of posts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from render.figures.fit_up_tables import NONE, RUN_SIZES, diagonal_ends, held_words, run_words, size_words
from render.pages.tables import Column, Table
from render.sheets.fit_up_scene import ExtraSize
from templates_core.fitting_up.fit_up import Size
from templates_core.fitting_up.tack_order import RailJoint
from templates_core.model import Rail
from templates_core.units import format_length, units_word

_TICK_MM = 7.0
_WRITE_MM = 8.0


def extra_sizes_tables(extras: Sequence[ExtraSize], units: str) -> tuple[Table, ...]:
    """Sizes besides those of the runs, a table for each way that the tape lies."""
    columns = (Column("From"), Column("To"), Column("Size", right=True))
    return tuple(
        Table(
            f"{how}, {units_word(units)}",
            columns,
            tuple((one.first, one.second, size_words(one.size, units)) for one in extras if one.how == how),
        )
        for how in dict.fromkeys(extra.how for extra in extras)
    )


def sequence_table(rail: Rail) -> Table:
    """One row a joint, in the order of the work, to be ticked off from left to right."""
    columns = (
        Column("", right=True),
        Column("Joint"),
        Column("Joins"),
        Column("Tack", least_mm=15.0),
        Column("Check heel lines", least_mm=15.0),
        Column("Tape check"),
        Column("Tack opposite", least_mm=17.0),
        Column("Check again", least_mm=15.0),
    )
    ordered = list(dict.fromkeys(step.joint for step in rail.fit_up.steps))
    rows = tuple(_sequence_row(number, joint) for number, joint in enumerate(ordered, 1))
    return Table("Tack and check, joint by joint", columns, rows, _TICK_MM)


def _sequence_row(number: int, joint: RailJoint) -> tuple[str, ...]:
    mark = ", ".join(joint.marks) + (" on site" if joint.on_site else "")
    tape = ", ".join(joint.tape_checks) or joint.check or NONE
    return str(number), mark, " + ".join(joint.parts), "", "", tape, "", ""


def record_tables(rail: Rail, units: str, read: Column) -> tuple[Table, ...]:
    """Sizes of a rail fitted up, with blanks for what was measured."""
    return tuple(
        Table(
            f"{title}, {units_word(units)}",
            (
                Column(first),
                Column("Size"),
                Column("Should be", right=True),
                read,
                Column("By", least_mm=12.0),
            ),
            tuple((*row, "", "") for row in rows),
            _WRITE_MM,
        )
        for title, first, rows in (
            ("Fitted up: runs", "Run", tuple(_run_records(rail, units))),
            ("Fitted up: tape checks of the corners", "Corner", tuple(_tape_records(rail, units))),
            ("Fitted up: diagonals and overall", "What", tuple(_whole_records(rail, units))),
        )
        if rows
    )


def _run_records(rail: Rail, units: str) -> Iterator[tuple[str, ...]]:
    for run in rail.fit_up.runs:
        for name, words in RUN_SIZES.items():
            size = getattr(run, name)
            if size is not None and name != "end_to_end":
                yield run_words(rail, run.run_number), words, size_words(size, units)


def _tape_records(rail: Rail, units: str) -> Iterator[tuple[str, ...]]:
    for check in rail.fit_up.tape_checks:
        what = f"between marks at {format_length(check.along_mm, units, with_unit=False)}"
        yield check.corner, what, size_words(Size(check.apart_mm, check.apart_tolerance_mm), units)


def _whole_records(rail: Rail, units: str) -> Iterator[tuple[str, ...]]:
    for number, one in enumerate(rail.fit_up.diagonals, 1):
        if one.length_mm is not None:
            what = f"{' to '.join(diagonal_ends(rail, one))}, {held_words(one)}"
            yield f"D{number}", what, size_words(Size(one.length_mm, one.tolerance_mm), units)
    overall = rail.fit_up.overall
    for name, size in (("length", overall.length), ("width", overall.width), ("height", overall.height)):
        yield "Overall", name, size_words(size, units)
