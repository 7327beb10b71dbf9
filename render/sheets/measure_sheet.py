"""Measure first: what to tape on the real elbows and pipe, with blanks named as in the job file."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator

from render.figures.elbow_tables import elbow_size
from render.figures.mark_ranges import mark_ranges
from render.pages.flow import Element, Heading, Paragraph, Steps, flow_pages
from render.pages.paper import Layout, Page
from render.pages.tables import Column, Table
from render.sheets.measure_figure import measure_figure
from templates_core.elbows.corners import Corner, Piece
from templates_core.elbows.error_costs import end_moves_mm
from templates_core.elbows.groups import BuyLine
from templates_core.geometry.surfaces import elbow_surface
from templates_core.jobs.job import Job, Taped
from templates_core.jobs.taping import ToTape, to_tape
from templates_core.model import Model, Rail
from templates_core.units import INCH, format_angle, format_length
from templates_core.wraps.cut_wraps import turn_per_girth

SECTION = "Measure first"
_TEXT_PT = 9.0
_BLANK_MM = 32.0
_ROW_MM = 8.0
_DEGREE_RAD = math.radians(1.0)
HOW = (
    "Clean the elbow. Take off spatter and coating where you tape.",
    "girth: a strip of paper pulled tight round the tube, square to it, in the middle of the bend and clear "
    "of any weld. Prick through the overlap, lay the strip flat, measure between the pricks.",
    "heel_arc and throat_arc: lay the elbow flat on the table. Mark the heel with a square stood against the "
    "outside of the bend, the throat with one stood in the hollow, at mid-height. Tape along the metal from "
    "the first edge of full diameter at one end to the same edge at the other (face to face where the ends "
    "are square). In the throat press a strip of paper down into the hollow.",
    "sweep: one face down on a flat plate, angle finder between the plate and the other face. Turn the "
    "elbow end for end and take the mean of the two readings.",
    "shoulder: from the face straight back to the first edge of full diameter, at four places; the mean. 0 "
    "for square ends.",
    "Measure three elbows of a batch. Where they differ by more than you can let the angle be off, sort "
    "them, and give each sort its own job file.",
)


def measure_pages(model: Model, layout: Layout) -> tuple[Page, ...]:
    """What to tape, how, where to write it, what to expect, and what a deviation costs."""
    elements: list[Element] = [Heading("Measure first", 13.0), Paragraph(_why(model.job), _TEXT_PT)]
    if model.buy_list:
        elements += [measure_figure(), Heading("How"), Steps(HOW, size_pt=_TEXT_PT)]
    for line in model.buy_list:
        elements += _elbow_elements(model, line)
    elements += _pipe_elements(model.job)
    marks = tuple(mark for line in model.buy_list for mark in line.marks)
    return flow_pages(SECTION, "Measure first", elements, layout, marks)


def _why(job: Job) -> str:
    units = 'inches (fractions in quotes: "4-15/16")' if job.units == INCH else "millimetres"
    return (
        "Before any elbow is cut: real elbows differ from the standard by more than a wrap can forgive. "
        f"Write what you read into the job file, lengths in {units} and angles in degrees, under the names "
        "given here, and make the pack again. What is not given keeps the standard's value; heel_arc and "
        "throat_arc go together."
    )


def _elbow_elements(model: Model, line: BuyLine) -> list[Element]:
    job, elbow = model.job, line.elbow
    nominal = job.nominal.get(elbow.name, elbow)
    taped = job.taped.get(elbow.name, Taped())
    far = [
        piece.mark
        for _, _, piece in _pieces(model, elbow.name)
        if piece.cut is not None and piece.cut.from_face == "far"
    ]
    pieces = f"for pieces {mark_ranges(line.marks)}"
    many = len(line.marks) > _MOST_MARKS_IN_A_HEADING
    elements: list[Element] = [
        *(
            [Heading(elbow.name), Paragraph(pieces, _TEXT_PT)]
            if many
            else [Heading(f"{elbow.name}, {pieces}")]
        ),
        Paragraph(f"Nominal {elbow_size(nominal, job.units)}.", _TEXT_PT),
    ]
    if far:
        words = (
            f"{', '.join(far)}: cut from the far face. Measure the sweep of every elbow that these come from."
        )
        elements.append(Paragraph(words, _TEXT_PT, bold=True))
    if elbow.bend_radius_mm is None:
        elements.append(Paragraph(_WHOLE_ONLY, _TEXT_PT))
    rows = tuple(_row(reading, taped, job.units) for reading in to_tape(nominal))
    title = f"[measured.{json.dumps(elbow.name, ensure_ascii=False)}]"
    elements.append(Table(title, _columns(), rows, _ROW_MM))
    elements.append(Steps(tuple(_costs(model, line)), "•", _TEXT_PT))
    return elements


_MOST_MARKS_IN_A_HEADING = 60
"""A heading is kept in one column with what follows it; more marks than this are a paragraph."""
_WHOLE_ONLY = (
    "The standard gives this elbow no bend radius, so it is used whole. With both arcs measured it can be "
    "cut too."
)


def _columns() -> tuple[Column, ...]:
    return (
        Column("In the job file"),
        Column("Reading", least_mm=_BLANK_MM),
        Column("Expected", right=True),
        Column("A good one reads", right=True),
        Column("In the job file now", right=True),
    )


def _row(reading: ToTape, taped: Taped, units: str) -> tuple[str, str, str, str, str]:
    given = {
        "girth": taped.girth_mm,
        "heel_arc": taped.heel_arc_mm,
        "throat_arc": taped.throat_arc_mm,
        "sweep": taped.sweep_rad,
        "shoulder": taped.shoulder_mm,
    }[reading.key]
    value, minus, plus = reading.value, reading.minus, reading.plus
    between = "–"
    if value is not None and minus is not None and plus is not None:
        between = f"{_shown(value - minus, reading, units)} to {_shown(value + plus, reading, units)}"
    expected = "not known" if value is None else _shown(value, reading, units)
    return f"{reading.key} =", "", expected, between, "–" if given is None else _shown(given, reading, units)


def _shown(value: float, reading: ToTape, units: str) -> str:
    if reading.unit == "rad":
        return format_angle(value)
    if units != INCH:
        return format_length(value, units)
    return f"{format_length(value, units, with_unit=False)} ({format_length(value, units, fine=True)})"


def _pieces(model: Model, elbow_name: str) -> Iterator[tuple[Rail, Corner, Piece]]:
    for rail in model.rails:
        for corner in rail.corners:
            for piece in corner.pieces:
                if piece.elbow.name == elbow_name:
                    yield rail, corner, piece


def _costs(model: Model, line: BuyLine) -> Iterator[str]:
    """What each kind of deviation does to the pieces that come of this elbow."""
    elbow, units = line.elbow, model.job.units
    pieces = list(_pieces(model, elbow.name))
    unit = format_length(1.0, "mm") if units != INCH else format_length(25.4 / 16, units)
    step_mm = 1.0 if units != INCH else 25.4 / 16
    cuts = [piece.cut for _, _, piece in pieces if piece.cut is not None]
    if cuts and elbow.bend_radius_mm is not None:
        widest = max(cuts, key=lambda cut: cut.wrap_angle_rad)
        lost = step_mm * turn_per_girth(elbow_surface(elbow), widest.wrap_angle_rad)
        yield (
            f"Girth {unit} over takes up to {format_angle(lost, 2)} off a turn. The seam of each wrap shows "
            "the girth again, and the readings past which it must be made anew."
        )
    if cuts:
        moved = step_mm * max(math.tan(min(piece.angle_rad, math.pi / 2) / 2) for _, _, piece in pieces)
        yield (
            f"Bend radius {unit} off (both arcs long or both short) leaves the angle of a cut piece alone "
            f"and moves a face by up to {format_length(moved, units, fine=True)}, so that a pipe comes out "
            "too long or short."
        )
    else:
        yield f"Centre to end {unit} off makes a pipe as much too long or short."
    yield _sweep_cost(model, line)
    if cuts:
        yield f"Shoulder {unit} off makes a piece as much too long or short; its angle stays."


def _sweep_cost(model: Model, line: BuyLine) -> str:
    """Which corners a wrong sweep goes into, and how far the end of the longest run there moves."""
    leaning = [
        (rail, corner, piece)
        for rail, corner, piece in _pieces(model, line.elbow.name)
        if piece.cut is None or piece.cut.from_face == "far"
    ]
    if not leaning:
        return "Sweep: no piece here leans on it; each is measured from its own face."
    longest = max(_longest_run_mm(rail, corner) for rail, corner, _ in leaning)
    moved = end_moves_mm(longest, _DEGREE_RAD)
    marks = ", ".join(piece.mark for _, _, piece in leaning)
    lengths = [format_length(length, model.job.units) for length in (longest, moved)]
    return (
        f"Sweep: each degree off goes straight into the turn of {marks}, whole or cut from the far face, and "
        f"puts the end of a run of {lengths[0]} out by {lengths[1]}."
    )


def _longest_run_mm(rail: Rail, corner: Corner) -> float:
    return max(run.length_mm for run in rail.path.runs_at(corner.number))


def _pipe_elements(job: Job) -> list[Element]:
    pipe, units = job.pipe, job.units
    girth, od, wall = (
        _shown(length, ToTape("", None, None, None, "mm"), units)
        for length in (pipe.girth_mm, pipe.od_mm, pipe.wall_mm)
    )
    rows = (
        ("girth of the pipe", "", girth),
        ("od = girth ÷ 3.1416", "", od),
        ("wall =", "", wall),
    )
    columns = (
        Column("In the job file"),
        Column("Reading", least_mm=_BLANK_MM),
        Column("Expected", right=True),
    )
    return [
        Heading(f"Pipe {pipe.name}"),
        Table("[pipe]", columns, rows, _ROW_MM),
        Paragraph(_PIPE, _TEXT_PT),
    ]


_PIPE = (
    "Where pipe and elbow differ in girth, a sixth of the difference is a step at the weld. Where the pipe "
    "itself is another size, give its od and wall under [pipe] in place of size and schedule, and the "
    "elbows' own sizes under [[elbow]]."
)
