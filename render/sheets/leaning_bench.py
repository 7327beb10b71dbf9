"""The bench sheet of a leaning cut: its plan, what to do, what errors cost, and what it is laid out by."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from render.figures.cut_words import short_mark
from render.figures.leaning_words import (
    HELD,
    lean_words,
    leaning_heading,
    left_sign,
    line_name,
    lines_at,
)
from render.figures.mark_ranges import mark_ranges
from render.pages.flow import Element, Gap, Heading, Paragraph, Steps
from render.pages.paginate import Block
from render.pages.shapes import bounds
from render.pages.tables import Column, Table
from render.sheets.bench_parts import AGREE, SECTION, BenchParts
from render.sheets.kerf_detail import Part, kerf_detail
from render.sheets.leaning_plan import LeaningPlan, leaning_plan, leaning_plan_drawing
from templates_core.elbows.error_costs import end_moves_mm
from templates_core.elbows.groups import LeaningGroup
from templates_core.elbows.leaning_layout import face_to_cut_rad
from templates_core.jobs.job import Job
from templates_core.units import INCH, MM_PER_INCH, degrees_text, format_angle, format_length

_TEXT_PT = 9.0
_STEP_DEG = 15
_QUARTERS_DEG = (0, 90, 180, -90)


def leaning_parts(job: Job, group: LeaningGroup) -> BenchParts:
    """What the sheet of one leaning cut is put together from."""
    made = leaning_plan(group.cut, job.units)
    picture = leaning_plan_drawing(made, short_mark(group.marks))
    title = f"Bench sheet {mark_ranges(group.marks)}"
    plan = Block(SECTION, title, picture, bounds(picture).grown(0.5), group.marks)
    return BenchParts(
        _head(group), plan, _words(job, group, made), _costs(job, group), (*_tables(job, group, made),)
    )


def _face(group: LeaningGroup) -> str:
    return "FACE A" if group.cut.from_face == "own" else "FAR FACE"


def _head(group: LeaningGroup) -> tuple[Element, ...]:
    """What is cut, of what, which way it leans, and what to check before anything else."""
    cut, face = group.cut, _face(group)
    piece, line = format_angle(cut.piece_angle_rad, 2), format_angle(cut.wrap_angle_rad, 2)
    lean = lean_words(cut.wrap_lean, left_sign(cut))
    head: list[Element] = [
        Heading(leaning_heading(group), 13.0),
        Paragraph(
            f"Piece of {piece} on the centreline from {cut.elbow.name}. Line {line} from {face} in the "
            f"middle, {lean}. {HELD}; on the plan the left side is uppermost.",
            10.0,
        ),
    ]
    if cut.from_face == "far":
        nominal = f"CHECK THE ELBOW'S SWEEP FIRST: it must be {format_angle(cut.elbow.sweep_rad, 2)}."
        error = "Any error goes straight into the piece"
        if group.costs.sweep_rad > 0.0:
            error += f", up to {format_angle(group.costs.sweep_rad)} either way by the standard"
        head += [Paragraph(f"{nominal} {error}.", 10.0, bold=True), Gap(1.0)]
    return tuple(head)


def _words(job: Job, group: LeaningGroup, made: LeaningPlan) -> tuple[Element, ...]:
    """How the elbow is laid on the plan, how the line is carried round it, and the blade at it."""
    cut, units, face = group.cut, job.units, _face(group)
    mid = format_length(cut.elbow.radius_mm, units, fine=True)
    stand = f"{face} on its axis"
    if cut.tangent_mm > 0.0:
        stand = f"{face} on its line, {format_length(cut.tangent_mm, units, fine=True)} from its axis"
    over = (
        "Carry the line up heel and throat past mid-height, and join both over the top with a straightedge."
        if made.upright
        else "Carry it up to mid-height on heel and throat and mark it there, not further: it leans over. "
        "Solid, it runs over the top through T; dashed, under the elbow through S."
    )
    bevel = format_angle(made.layout.bevel_rad, 2)
    steps = [
        f"Lay the elbow flat on the plan, {stand}: a square on the sheet touches face, heel and throat.",
        f"Heel and throat are at mid-height, {mid} above the sheet, elbow flat and a square against it.",
        f"Stand the square on the bar at each end of the heavy line, blade along the line. {over}",
        "Round the rest, set off the ordinates along the girth lines and join them along a thin strip.",
    ]
    if not made.upright:
        steps.append(
            f"Check by eye: a bevel set to {bevel}, stock on the sheet towards {face}, corner on line b past "
            "the heel. Seen along b, its blade, the heel mark, the throat mark and T are in line."
        )
    steps += [
        f"The line of the wrap must agree within {AGREE[units == INCH]}. If not, find out why first.",
        "Cut clear on the SCRAP side, the side of the short ticks. Grind to the line. Check again.",
        "Stood on its cut on a flat plate the piece doesn't rock, and its own face stands "
        f"{format_angle(face_to_cut_rad(cut), 2)} to the plate, taken where it is steepest.",
    ]
    paper: Part = "keep" if cut.from_face == "own" else "scrap"
    shop = job.shop
    return (
        Steps(tuple(steps), size_pt=_TEXT_PT),
        Gap(2.0),
        kerf_detail("clear", paper, shop.kerf_mm, shop.dressing_mm, units),
    )


def _costs(job: Job, group: LeaningGroup) -> tuple[Element, ...]:
    """What an error of a millimetre, or a sixteenth of an inch, does to the end."""
    costs, units, od = group.costs, job.units, group.cut.elbow.od_mm
    slip_mm, slip = (MM_PER_INCH / 16, "1/16 in") if units == INCH else (1.0, "1 mm")
    turn = slip_mm * costs.turn_rad_per_mm
    run, off = (
        format_length(mm, units) for mm in (group.longest_run_mm, end_moves_mm(group.longest_run_mm, turn))
    )
    gap = format_length(end_moves_mm(od, turn), units, fine=True)
    words = (
        f"{slip} of heel against throat turns the end {format_angle(turn, 2)} off its plane: a gap of {gap} "
        f"across it, or, drawn up tight, a run of {run} that ends {off} out.",
        f"{slip} round, off the heel line, tips the cut {format_angle(slip_mm * costs.tip_rad_per_mm, 2)}.",
    )
    return (Heading("What an error costs", 9.0), Steps(words, "•", _TEXT_PT))


def _tables(job: Job, group: LeaningGroup, made: LeaningPlan) -> Iterator[Element]:
    """Arcs and chords from the face, coordinates of the plan, and the ordinates on both flanks."""
    yield _arcs(f"{_face(group)} to the cut", group, job.units)
    if group.cut.from_face == "far":
        yield _arcs("To check the piece, its own face down: FACE A to the cut", group, job.units, True)
    yield _points(made, group)
    yield Paragraph(
        f"O is the bend centre; x runs from it along the axis of {_face(group)}, y square to it; height is "
        f"above the sheet. The heavy line runs at {degrees_text(made.layout.trace_rad)} to x.",
        _TEXT_PT,
    )
    yield Gap(2.5)
    yield _ordinates(job, group)


def _arcs(title: str, group: LeaningGroup, units: str, of_piece: bool = False) -> Table:
    bevelled = group.cut.elbow.shoulder_mm > 0.0
    columns = [Column("Line"), Column("Arc from face", right=True)]
    columns += [Column("Arc from shoulder", right=True)] if bevelled else []
    columns.append(Column("Straight from shoulder" if bevelled else "Straight from face", right=True))
    rows = []
    for degrees, line in zip(_QUARTERS_DEG, lines_at(group.cut, _QUARTERS_DEG, of_piece), strict=True):
        lengths = [line.face_mm, *([line.shoulder_mm] if bevelled else []), line.chord_mm]
        rows.append((line_name(degrees), *_shown(lengths, units)))
    return Table(f"{title}, {units}", tuple(columns), tuple(rows))


def _shown(lengths_mm: Sequence[float], units: str) -> tuple[str, ...]:
    return tuple(format_length(mm, units, fine=True, with_unit=False) for mm in lengths_mm)


def _points(made: LeaningPlan, group: LeaningGroup) -> Table:
    layout, r = made.layout, group.cut.elbow.radius_mm
    places = (
        ("throat", layout.throat_mm, r),
        ("middle", layout.middle_mm, r),
        ("heel", layout.heel_mm, r),
        ("T, uppermost", layout.top_mm, 2 * r),
        ("S, on the sheet", layout.foot_mm, 0.0),
    )
    rows = tuple(
        (name, *_shown((float(point[0]), float(point[1]), height), made.plan.units))
        for name, point, height in places
    )
    columns = (Column("Cut at"), *(Column(name, right=True) for name in ("x", "y", "height")))
    return Table(f"To lay it out without the print, {made.plan.units}", columns, rows)


def _ordinates(job: Job, group: LeaningGroup) -> Table:
    """Arc to the cut along girth lines from heel to throat, left and right."""
    start = "shoulder" if group.cut.elbow.shoulder_mm > 0.0 else "face"
    named = {0: "0° heel", 90: "90° side", 180: "180° throat"}
    angles = tuple(range(0, 181, _STEP_DEG))
    left, right = (lines_at(group.cut, [way * degrees for degrees in angles]) for way in (1, -1))
    rows = tuple(
        (
            named.get(degrees, f"{degrees}°"),
            *_shown(
                (group.cut.elbow.radius_mm * math.radians(degrees), one.shoulder_mm, two.shoulder_mm),
                job.units,
            ),
        )
        for degrees, one, two in zip(angles, left, right, strict=True)
    )
    columns = (
        Column("Girth line"),
        Column("Round from heel", right=True),
        Column("Left", right=True),
        Column("Right", right=True),
    )
    return Table(f"Ordinates, {job.units}, {start} to cut, left and right of the heel", columns, rows)
