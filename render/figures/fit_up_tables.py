"""Tables of what a rail is fitted up by: its runs as a tape reaches them, rolls, tape checks, diagonals."""

from __future__ import annotations

import math

from render.figures.figure_tables import rail_title
from render.pages.tables import Column, Table
from templates_core.fitting_up.diagonals import Diagonal
from templates_core.fitting_up.fit_up import Size
from templates_core.fitting_up.tape_checks import TapeCheck
from templates_core.model import Rail
from templates_core.pipes.cut_list import end_corners
from templates_core.units import INCH, degrees_text, format_angle, format_length, units_word

NONE = "–"
_IN_LINE_RAD = math.radians(0.005)


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
    """``±3`` or ``±0.4``; ``±0.118`` of an inch, where a sixteenth would be too coarse."""
    text = format_length(tolerance_mm, units, fine=units == INCH, with_unit=False)
    return f"±{text.removesuffix('.0')}"


def ends_table(rail: Rail, units: str) -> Table:
    """What the rail ends in, and what that takes of its first and last pipe."""
    columns = (Column("End"), Column("What stands there"), Column("Takes off the pipe", right=True))
    rows = [
        (name, end.kind.value, format_length(end.takes_mm, units, with_unit=False))
        for name, end in (("start", rail.path.start), ("end", rail.path.end))
    ]
    title = f"{rail_title(rail)}: ends, lengths in {units_word(units)}"
    return Table(title, columns, () if rail.path.closed else tuple(rows))


RUN_SIZES = {
    "end_to_end": "End to end of the pipe",
    "tip_to_tip": "Tip to tip",
    "face_to_face": "Face to face of what it is welded to",
    "heel_to_heel": "Over the heels",
}
"""What of a run a tape reaches, by its field."""


def run_words(rail: Rail, run_number: int) -> str:
    """A run by what it goes between: ``A1 to A2``, ``start to A1``."""
    before, after = end_corners(rail.path, rail.corners, run_number)
    return f"{before.mark if before else 'start'} to {after.mark if after else 'end'}"


def runs_table(rail: Rail, units: str) -> Table:
    """Each run between its work points, and as a tape reaches it on the metal; no column without a size."""
    kinds = [name for name in RUN_SIZES if any(getattr(run, name) is not None for run in rail.fit_up.runs)]
    columns = [Column("Run"), Column("Pipe"), Column("Work point to work point", right=True)]
    columns += [Column(RUN_SIZES[name], right=True) for name in kinds]
    rows = []
    for run in rail.fit_up.runs:
        sizes = (run.work_points, *(getattr(run, name) for name in kinds))
        words = run_words(rail, run.run_number)
        rows.append((words, run.pipe or NONE, *(size_words(size, units) for size in sizes)))
    title = f"{rail_title(rail)}: sizes to fit up by, {units_word(units)}"
    return Table(title, tuple(columns), tuple(rows))


def rolls_table(rail: Rail, units: str) -> Table:
    """How far round the girth the heel lines at the two ends of each pipe are from each other.

    At a pipe end that leans its long point stands for a heel line.
    """
    columns = (
        Column("Pipe"),
        Column("From the heel at"),
        Column("To the heel at"),
        Column("Roll", right=True),
        Column("Round the girth", right=True),
        Column("Which way, looking forward"),
    )
    rows = [
        (
            roll.pipe or "none: elbow on elbow",
            roll.from_corner,
            roll.to_corner,
            *_turned(roll.roll_rad, roll.girth_mm, units),
        )
        for roll in rail.fit_up.rolls
    ]
    rows += [
        (
            plate.pipe,
            plate.corner or "",
            f"long point, {'start' if plate.at_start else 'end'}",
            *_turned(plate.long_rad, plate.long_mm, units),
        )
        for plate in rail.fit_up.plates
        if plate.long_rad is not None and plate.long_mm is not None
    ]
    return Table(f"{rail_title(rail)}: heel lines and rolls, {units_word(units)}", columns, tuple(rows))


def _turned(roll_rad: float, girth_mm: float, units: str) -> tuple[str, str, str]:
    girth = format_length(abs(girth_mm), units, with_unit=False)
    return degrees_text(roll_rad), girth, _way(roll_rad)


def _way(roll_rad: float) -> str:
    if abs(roll_rad) < _IN_LINE_RAD:
        return "in line"
    if math.pi - abs(roll_rad) < _IN_LINE_RAD:
        return "half round, to the other side"
    return "clockwise" if roll_rad > 0 else "anticlockwise"


def tape_checks_table(rail: Rail, units: str) -> Table:
    """Each corner's check with a tape between two marks on the side line of its pipes."""
    columns = [Column("Corner"), Column("Inside angle", right=True)]
    columns += [Column("a: marks from the pipe ends", right=True), Column("b: between the marks", right=True)]
    columns.append(Column("b is less by, for 1° too much turn at a joint"))
    held = any(check.apart_tolerance_mm is not None for check in rail.fit_up.tape_checks)
    columns += [Column("Angle may be off", right=True)] if held else []
    inside_rad = {corner.mark: corner.inside_angle_rad for corner in rail.corners}
    rows = tuple(
        _check_row(check, inside_rad[check.corner], units, held) for check in rail.fit_up.tape_checks
    )
    title = f"{rail_title(rail)}: tape checks on the side lines, {units_word(units)}"
    return Table(title, tuple(columns), rows)


def _check_row(check: TapeCheck, inside_rad: float, units: str, held: bool) -> tuple[str, ...]:
    degree = math.radians(1)
    joints = ";\n".join(
        f"{joint.joint} {format_length(joint.mm_per_rad * degree, units, fine=True, with_unit=False)}"
        for joint in check.joints
    )
    apart = size_words(Size(check.apart_mm, check.apart_tolerance_mm), units)
    off = [NONE if check.angle_tolerance_rad is None else f"±{format_angle(check.angle_tolerance_rad, 2)}"]
    along = format_length(check.along_mm, units, with_unit=False)
    angle = degrees_text(inside_rad)
    return (check.corner, angle, along, apart, joints, *(off if held else []))


def diagonals_table(rail: Rail, units: str) -> Table:
    """Each diagonal that a tape can be stretched along, by its number, and the same between work points."""
    columns = (
        Column("No."),
        Column("From"),
        Column("To"),
        Column("Tape held on"),
        Column("Diagonal", right=True),
        Column("Work point to work point", right=True),
    )
    rows = []
    for number, one in enumerate(rail.fit_up.diagonals, 1):
        size = None if one.length_mm is None else Size(one.length_mm, one.tolerance_mm)
        between = format_length(one.work_points_mm, units, with_unit=False)
        ends = diagonal_ends(rail, one)
        rows.append((f"D{number}", *ends, held_words(one), size_words(size, units), between))
    return Table(f"{rail_title(rail)}: diagonals, {units_word(units)}", columns, tuple(rows))


def diagonal_ends(rail: Rail, one: Diagonal) -> tuple[str, str]:
    """Between which ends of which pipes a diagonal is: ``start of A-P1``, ``end of A-P2``."""
    pipes = {run.run_number: run.pipe for run in rail.fit_up.runs}
    start, end = (
        f"{which} of {pipes[number]}" if pipes[number] else f"elbow face, {run_words(rail, number)}"
        for which, number in (("start", one.from_run), ("end", one.to_run))
    )
    return start, end


def held_words(one: Diagonal) -> str:
    """On which lines of the pipes the tape is held."""
    if one.length_mm is None:
        return "no clear line"
    return " to ".join(dict.fromkeys((str(one.from_line), str(one.to_line))))


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
