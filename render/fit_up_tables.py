"""Tables of what a rail is fitted up by: its runs as a tape reaches them, rolls, tape checks, diagonals."""

from __future__ import annotations

import math

from render.figure_tables import rail_title
from render.tables import Column, Table
from templates_core.diagonals import Diagonal
from templates_core.fit_up import Size
from templates_core.model import Rail
from templates_core.tape_checks import TapeCheck
from templates_core.units import degrees_text, format_angle, format_length, units_word

NONE = "–"


def fit_up_tables(rail: Rail, units: str) -> tuple[Table, ...]:
    """Every fit-up table of a rail; one that would be empty is left out."""
    tables = (
        ends_table(rail, units),
        runs_table(rail, units),
        rolls_table(rail, units),
        tape_checks_table(rail, units),
        diagonals_table(rail, units),
        overall_table(rail, units),
    )
    return tuple(table for table in tables if table.rows)


def size_words(size: Size | None, units: str) -> str:
    """A length with its tolerance where the job names a class; a dash for none."""
    if size is None:
        return NONE
    length = format_length(size.length_mm, units, with_unit=False)
    return length if size.tolerance_mm is None else f"{length} {_spread(size.tolerance_mm, units)}"


def _spread(tolerance_mm: float, units: str) -> str:
    return f"± {format_length(tolerance_mm, units, fine=True, with_unit=False)}"


def ends_table(rail: Rail, units: str) -> Table:
    """What the rail ends in, and what that takes of its first and last pipe."""
    columns = (Column("End"), Column("What stands there"), Column("Takes off the pipe", right=True))
    rows = [
        (name, end.kind.value, format_length(end.takes_mm, units, with_unit=False))
        for name, end in (("start", rail.path.start), ("end", rail.path.end))
    ]
    title = f"{rail_title(rail)}: ends, lengths in {units_word(units)}"
    return Table(title, columns, () if rail.path.closed else tuple(rows))


def runs_table(rail: Rail, units: str) -> Table:
    """Each run between its work points, and as a tape reaches it on the metal."""
    columns = (
        Column("Run", right=True),
        Column("Pipe"),
        Column("Work point to work point", right=True),
        Column("End to end of the pipe", right=True),
        Column("Tip to tip", right=True),
        Column("Face to face of what it is welded to", right=True),
        Column("Over the heels", right=True),
    )
    rows = tuple(
        (
            str(run.run_number),
            run.pipe or NONE,
            *(
                size_words(size, units)
                for size in (
                    run.work_points,
                    run.end_to_end,
                    run.tip_to_tip,
                    run.face_to_face,
                    run.heel_to_heel,
                )
            ),
        )
        for run in rail.fit_up.runs
    )
    return Table(f"{rail_title(rail)}: sizes to fit up by, {units_word(units)}", columns, rows)


def rolls_table(rail: Rail, units: str) -> Table:
    """How far round the girth the heel lines at the two ends of each pipe are from each other."""
    columns = (
        Column("Run", right=True),
        Column("Pipe"),
        Column("From the heel at"),
        Column("To the heel at"),
        Column("Roll", right=True),
        Column("Round the girth", right=True),
    )
    rows = tuple(
        (
            str(roll.run_number),
            roll.pipe or NONE,
            roll.from_corner,
            roll.to_corner,
            degrees_text(roll.roll_rad),
            format_length(roll.girth_mm, units, with_unit=False),
        )
        for roll in rail.fit_up.rolls
    )
    title = f"{rail_title(rail)}: rolls, + clockwise looking forward, {units_word(units)}"
    return Table(title, columns, rows)


def tape_checks_table(rail: Rail, units: str) -> Table:
    """Each corner's check with a tape between two marks on the side line of its pipes."""
    columns = [Column("Corner"), Column("Marks from the pipe ends", right=True)]
    columns += [
        Column("Between the marks", right=True),
        Column("Less for each degree too much turn, by joint"),
    ]
    held = any(check.apart_tolerance_mm is not None for check in rail.fit_up.tape_checks)
    columns += [Column("Angle may be off", right=True)] if held else []
    rows = tuple(_check_row(check, units, held) for check in rail.fit_up.tape_checks)
    title = f"{rail_title(rail)}: tape checks on the side lines, {units_word(units)}"
    return Table(title, tuple(columns), rows)


def _check_row(check: TapeCheck, units: str, held: bool) -> tuple[str, ...]:
    degree = math.radians(1)
    joints = "; ".join(
        f"{joint.joint} {format_length(joint.mm_per_rad * degree, units, fine=True, with_unit=False)}"
        for joint in check.joints
    )
    apart = size_words(Size(check.apart_mm, check.apart_tolerance_mm), units)
    off = [NONE if check.angle_tolerance_rad is None else f"± {format_angle(check.angle_tolerance_rad, 2)}"]
    along = format_length(check.along_mm, units, with_unit=False)
    return (check.corner, along, apart, joints, *(off if held else []))


def diagonals_table(rail: Rail, units: str) -> Table:
    """Each diagonal that a tape can be stretched along, and the same between work points."""
    columns = (
        Column("From the start of run", right=True),
        Column("To the end of run", right=True),
        Column("Tape held on"),
        Column("Diagonal", right=True),
        Column("Work point to work point", right=True),
    )
    rows = tuple(_diagonal_row(one, units) for one in rail.fit_up.diagonals)
    return Table(f"{rail_title(rail)}: diagonals, {units_word(units)}", columns, rows)


def _diagonal_row(one: Diagonal, units: str) -> tuple[str, ...]:
    held, length = "no clear line", NONE
    if one.length_mm is not None:
        lines = [str(one.from_line), str(one.to_line)]
        held = " to ".join(dict.fromkeys(lines))
        length = size_words(Size(one.length_mm, one.tolerance_mm), units)
    between = format_length(one.work_points_mm, units, with_unit=False)
    return str(one.from_run), str(one.to_run), held, length, between


def overall_table(rail: Rail, units: str) -> Table:
    """Size over all, outside to outside."""
    overall = rail.fit_up.overall
    columns = (
        Column("Length", right=True),
        Column("Width", right=True),
        Column("Off the table" if overall.flat else "Height, plumb", right=True),
    )
    sizes = (overall.length, overall.width, overall.height)
    how = (
        "laid flat, along its longest run" if overall.flat else "as built, along the plan of its longest run"
    )
    title = f"{rail_title(rail)}: over all, outside to outside, {how}, {units_word(units)}"
    return Table(title, columns, (tuple(size_words(size, units) for size in sizes),))
