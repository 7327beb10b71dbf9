"""Bench sheets: each distinct cut full size, to lay the real elbow on, with what it is laid out by."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from render.figures.cut_words import cut_heading, shared_words, short_mark
from render.figures.mark_ranges import mark_ranges
from render.pages.drawing import Drawing, drawing
from render.pages.flow import Element, Figure, Gap, Heading, Paragraph, Steps, stack
from render.pages.paginate import Block, block_pages, fits
from render.pages.paper import Layout, Page
from render.pages.shapes import Box, bounds
from render.pages.tables import Column, Table
from render.sheets.bench_names import plan_names
from render.sheets.bench_parts import AGREE, SECTION, BenchParts
from render.sheets.bench_plan import Plan, plan_lines, plan_of, round_point
from render.sheets.kerf_detail import Part, kerf_detail
from render.sheets.leaning_bench import leaning_parts
from templates_core.elbows.cuts import GirthLine, arc_to_cut
from templates_core.elbows.error_costs import end_moves_mm
from templates_core.elbows.groups import CutGroup
from templates_core.jobs.job import Job
from templates_core.model import Model
from templates_core.units import INCH, MM_PER_INCH, degrees_text, format_angle, format_length

_GAP_MM = 6.0
_LEAST_COLUMN_MM = 78.0
_MOST_COLUMN_MM = 110.0
_TEXT_PT = 9.0
_ORDINATE_STEP_DEG = 15


def bench_pages(model: Model, layout: Layout) -> tuple[Page, ...]:
    """A bench sheet for every distinct cut, in order; none for a job without a cut.

    Plan and words on one page where they fit it together, otherwise the words first and the plan after
    them, as tiles where it is larger than a page.
    """
    pages: list[Page] = []
    waiting: list[Block] = []
    radial = [radial_parts(model.job, group) for group in model.cut_groups]
    for parts in (*radial, *(leaning_parts(model.job, group) for group in model.leaning_groups)):
        together = whole_block(parts, layout)
        if together is not None:
            waiting.append(together)
            continue
        pages += block_pages(waiting, layout)
        waiting = []
        plan = parts.plan
        upright = _under_head(parts, *stack([Figure(plan.drawing, plan.box)], plan.box.width))
        pages += block_pages([_words_block(parts, layout)], layout)
        pages += block_pages([upright if fits(upright, layout) else plan], layout)
    return (*pages, *block_pages(waiting, layout))


def radial_parts(job: Job, group: CutGroup) -> BenchParts:
    """What the sheet of one radial cut is put together from."""
    return BenchParts(
        _head(group),
        plan_block(job, group),
        bench_words(job, group),
        bench_costs(job, group),
        bench_tables(job, group),
    )


def plan_block(job: Job, group: CutGroup) -> Block:
    """The plan of one cut at true scale, bend centre at (0, 0)."""
    plan = plan_of(group.cut, job.units, bool(group.beyond_marks))
    names = plan_names(plan, short_mark(group.marks), short_mark(group.beyond_marks))
    picture = drawing([*plan_lines(plan), *names])
    return Block(SECTION, _title(group), picture, bounds(picture).grown(0.5), group.all_marks)


def whole_block(parts: BenchParts, layout: Layout) -> Block | None:
    """All parts of a sheet as one piece; None where a page doesn't take them together."""
    blocks = (_under_head(parts, *arranged) for arranged in _arrangements(parts, layout))
    return next((block for block in blocks if fits(block, layout)), None)


def _arrangements(parts: BenchParts, layout: Layout) -> Iterator[tuple[Drawing, Box]]:
    """Plan, words and tables put together, the plan beside the tables or over both."""
    plan, words, costs, tables = parts.plan, parts.words, parts.costs, parts.tables
    figure = (Figure(plan.drawing, plan.box), Gap(3.0))
    beside = max(plan.box.width, _LEAST_COLUMN_MM)
    rest = min(layout.width_mm - beside - _GAP_MM, _MOST_COLUMN_MM)
    if rest >= _LEAST_COLUMN_MM:
        yield _columns([*figure, *words], beside, [*tables, *costs], rest)
    if plan.box.width <= layout.width_mm and plan.box.height <= layout.height_mm:
        half = _half_mm(layout)
        below, room = _columns([*words, *costs], half, tables, half)
        top, top_room = stack(figure, plan.box.width)
        wide = max(top_room.width, room.width)
        down = below.moved(0.0, top_room.bottom)
        yield top + down, Box(0.0, top_room.bottom + room.bottom, wide, 0.0)


def _half_mm(layout: Layout) -> float:
    """Width of one of two columns."""
    return min((layout.width_mm - _GAP_MM) / 2, _MOST_COLUMN_MM)


def _words_block(parts: BenchParts, layout: Layout) -> Block:
    """All that belongs to the plan of one cut, for a page of its own."""
    half = _half_mm(layout)
    return _under_head(parts, *_columns([*parts.words, *parts.costs], half, parts.tables, half))


def _under_head(parts: BenchParts, picture: Drawing, box: Box) -> Block:
    """A picture whose top left is (0, 0), under the heading of its cut."""
    above, room = stack(parts.head, box.width)
    whole = Box(0.0, box.bottom + room.bottom, box.width, 0.0)
    drawn = above + picture.moved(0.0, room.bottom)
    return Block(SECTION, parts.plan.title, drawn, whole, parts.plan.marks, may_turn=False)


def _columns(
    left: Sequence[Element], left_mm: float, right: Sequence[Element], right_mm: float
) -> tuple[Drawing, Box]:
    """Two columns side by side, top left at (0, 0), and the box they take."""
    one, one_room = stack(left, left_mm)
    two, two_room = stack(right, right_mm)
    box = Box(0.0, min(one_room.bottom, two_room.bottom), left_mm + _GAP_MM + right_mm, 0.0)
    return one + two.moved(left_mm + _GAP_MM, 0.0), box


def _title(group: CutGroup) -> str:
    return f"Bench sheet {mark_ranges(group.all_marks)}"


def _face(group: CutGroup) -> str:
    return "FACE A" if group.cut.from_face == "own" else "FAR FACE"


def _head(group: CutGroup) -> tuple[Element, ...]:
    """What is cut, of what, and what to check before anything else."""
    cut = group.cut
    piece, line = format_angle(cut.piece_angle_rad, 2), format_angle(cut.wrap_angle_rad, 2)
    head: list[Element] = [Heading(cut_heading(group), 13.0)]
    head += [Paragraph(words, 10.0, bold=True) for words in shared_words(group)]
    if cut.from_face == "own":
        head.append(Paragraph(f"Piece of {piece} from {cut.elbow.name}. Line {line} from FACE A.", 10.0))
        return tuple(head)
    head.append(Paragraph(f"Piece of {piece} from {cut.elbow.name}. Line {line} from the FAR FACE.", 10.0))
    nominal = f"CHECK THE ELBOW'S SWEEP FIRST: it must be {format_angle(cut.elbow.sweep_rad, 2)}."
    error = "Any error goes straight into the piece"
    if group.costs.sweep_rad > 0.0:
        error += f", up to {format_angle(group.costs.sweep_rad)} either way by the standard"
    return (*head, Paragraph(f"{nominal} {error}.", 10.0, bold=True), Gap(1.0))


def bench_words(job: Job, group: CutGroup) -> tuple[Element, ...]:
    """How the elbow is laid on the plan, and the blade at the line."""
    cut, units = group.cut, job.units
    face = _face(group)
    mid = format_length(cut.elbow.radius_mm, units, fine=True)
    stand = f"{face} on its axis"
    if cut.tangent_mm > 0.0:
        stand = f"{face} on its line, {format_length(cut.tangent_mm, units, fine=True)} from its axis"
    steps = (
        f"Lay the elbow flat on the plan, {stand}: a square on the sheet touches face, heel and throat.",
        f"Heel and throat are at mid-height, {mid} above the sheet, elbow flat and a square against it. "
        "The sides are where the elbow touches the sheet, and straight above.",
        "Stand the square on the bar at each end of the cut line, blade along the line. Carry the line up "
        "heel and throat, past mid-height. Join both over the top with a straightedge.",
        f"The line of the wrap must agree within {AGREE[units == INCH]}. If not, find out why first.",
        "Cut clear on the SCRAP side, the side of the short ticks. Grind to the line. Check again."
        if group.blade == "clear"
        else "Cut with the blade centred on the line. Grind each kept face flat, no more. Check again.",
    )
    shop = job.shop
    paper: Part = "keep" if cut.from_face == "own" else "scrap"
    return (
        Steps(steps, size_pt=_TEXT_PT),
        Gap(2.0),
        kerf_detail(group.blade, paper, shop.kerf_mm, shop.dressing_mm, units),
    )


def bench_costs(job: Job, group: CutGroup) -> tuple[Element, ...]:
    """What an error of a millimetre, or a sixteenth of an inch, does to the joint."""
    costs, units = group.costs, job.units
    slip_mm, slip = (MM_PER_INCH / 16, "1/16 in") if units == INCH else (1.0, "1 mm")
    turn = slip_mm * costs.turn_rad_per_mm
    run, off = (
        format_length(mm, units) for mm in (group.longest_run_mm, end_moves_mm(group.longest_run_mm, turn))
    )
    words = (
        f"{slip} of heel against throat turns the joint {format_angle(turn, 2)}: a run of {run} ends {off} "
        "out.",
        f"{slip} round, off the heel line, tips the cut {format_angle(slip_mm * costs.tip_rad_per_mm, 2)} "
        "out of plane.",
    )
    return (Heading("What an error costs", 9.0), Steps(words, "•", _TEXT_PT))


def bench_tables(job: Job, group: CutGroup) -> tuple[Element, ...]:
    """Arcs and chords from the face, coordinates of the plan, and the ordinates."""
    cut = group.cut
    tables: list[Element] = [
        _arcs(f"{_face(group)} to the cut", group.to_cut, cut.elbow.shoulder_mm, job.units)
    ]
    if cut.from_face == "far":
        title = "To check the piece: FACE A to the cut"
        tables.append(_arcs(title, group.of_piece, cut.elbow.shoulder_mm, job.units))
    plan = plan_of(cut, job.units, bool(group.beyond_marks))
    return (*tables, _points(plan, group), *_points_words(plan, group), _ordinates(job, group))


def _arcs(title: str, lines: Sequence[GirthLine], shoulder_mm: float, units: str) -> Table:
    """Arcs along the metal and chords; from face and shoulder, which are one on square ends."""
    bevelled = shoulder_mm > 0.0
    columns = [Column("Line"), Column("Arc from face", right=True)]
    columns += [Column("Arc from shoulder", right=True)] if bevelled else []
    columns.append(Column("Straight from shoulder" if bevelled else "Straight from face", right=True))
    rows = []
    for line in lines:
        lengths = [line.face_mm, *([line.shoulder_mm] if bevelled else []), line.chord_mm]
        rows.append((line.name, *(format_length(mm, units, True, False) for mm in lengths)))
    return Table(f"{title}, {units}", tuple(columns), tuple(rows))


def _points(plan: Plan, group: CutGroup) -> Table:
    """Where the cut line crosses the elbow, and a round point of it, from the bend centre."""
    heel, side, throat = (line.radius_mm for line in group.to_cut)
    cos, sin = math.cos(plan.cut_rad), math.sin(plan.cut_rad)
    x, y = round_point(plan)
    places = [(name, r * cos, r * sin, r) for name, r in (("throat", throat), ("side", side), ("heel", heel))]
    rows = [
        (name, *(format_length(mm, plan.units, True, False) for mm in numbers))
        for name, *numbers in (*places, ("P", x, y, math.hypot(x, y)))
    ]
    columns = (Column("Cut line at"), *(Column(name, right=True) for name in ("x", "y", "from O")))
    return Table(f"To lay it out without the print, {plan.units}", columns, tuple(rows))


def _points_words(plan: Plan, group: CutGroup) -> Iterator[Element]:
    tan = math.tan(plan.cut_rad)
    words = [
        f"O is the bend centre; x runs from it along the axis of {_face(group)}, y square to it.",
        f"Line: y = x × tan {degrees_text(plan.cut_rad)} = x × {tan:.5f}. Arcs about O: radii in the "
        "last column.",
    ]
    if plan.near_mm > 0.0:
        straight = format_length(plan.near_mm, plan.units, fine=True)
        words.append(f"The axis is where the bend starts, {straight} in from the face.")
    yield Paragraph(" ".join(words), _TEXT_PT)
    yield Gap(2.5)


def _ordinates(job: Job, group: CutGroup) -> Table:
    """Arc to the cut along girth lines from heel to throat; the girth distance is along the metal."""
    cut = group.cut
    start = "shoulder" if cut.elbow.shoulder_mm > 0.0 else "face"
    named = {0: "0° heel", 90: "90° side", 180: "180° throat"}
    rows = []
    for degrees in range(0, 181, _ORDINATE_STEP_DEG):
        angle = math.radians(degrees)
        lengths = (cut.elbow.radius_mm * angle, arc_to_cut(cut, angle))
        shown = (format_length(mm, job.units, True, False) for mm in lengths)
        rows.append((named.get(degrees, f"{degrees}°"), *shown))
    columns = (
        Column("Girth line"),
        Column("Round from heel", right=True),
        Column(f"Arc, {start} to cut", right=True),
    )
    return Table(f"Ordinates, {job.units}; both flanks alike", columns, tuple(rows))
