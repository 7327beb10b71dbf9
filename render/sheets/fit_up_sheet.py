"""Fit-up sheets: each rail drawn with sizes that a tape reaches, its checks, and the order of its tacks."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from render.figures.figure_tables import rail_title
from render.figures.fit_up_tables import (
    diagonals_table,
    overall_table,
    rolls_table,
    runs_table,
    tape_checks_table,
)
from render.figures.leaning_words import spec_words
from render.pages.flow import Element, Figure, Heading, Paragraph, Steps, columns_of, flow_pages, stack
from render.pages.flow_tables import enlarged, side_by_side
from render.pages.paper import Layout, Page
from render.pages.shapes import Box
from render.pages.tables import Table
from render.sheets.fit_up_drawing import LOW_SHARES, SHARES, Kept, fit_up_figures
from render.sheets.fit_up_how import heel_lines_figure, tape_check_figure
from render.sheets.fit_up_lists import extra_sizes_tables, sequence_table
from render.sheets.fit_up_scene import NO_EXTRAS, Extras
from templates_core.jobs.job import EndKind, EndSpec, Job
from templates_core.model import Model, Rail
from templates_core.units import format_length

SECTION = "Fit-up"
_TEXT_PT = 9.5
_TABLE_PT = (11.0, 10.0, 9.0)
_FEW_RUNS = 8
"""A rail of more runs is not drawn a second time for the sake of a sheet."""
_BESIDE_MM, _WORDS_MM = 6.0, 110.0
"""Between a figure and the words beside it, and their greatest width."""
_KEPT_MM = 26.0
"""Height of the heading and the captions that stay with a drawing."""
_KEYS = {
    "parts and joints": "Bold: pieces of elbow. With a stroke, as A1/2: joints. The arrow points forward "
    "along the rail.",
    "sizes": "A pipe's mark with a size: that pipe end to end. WP: work point to work point, which no tape "
    "reaches; small circles are work points. Heels: over the outsides of the corners. What has no place "
    "here is in the table.",
    "diagonals and overall": "D and a number: a diagonal as in the table, from pipe end to pipe end. What "
    "has no place here is in the table.",
}
_CAUTIONS = (
    "Eye and face protection, gloves, guard on the grinder; clamp the work before it is tacked.",
    "Hot work: clear away what can burn, keep an extinguisher at hand and a fire watch after it. Fume of "
    "zinc and stainless is harmful: strip coatings, ventilate.",
    "Rail heights, loads, clearances and welder qualification belong to local codes and licensed practice. "
    "This sheet certifies nothing.",
)

ExtrasOf = Callable[[Rail], Extras]
"""Gives what stands on a rail besides its own pipes and elbows."""


def no_extras(_rail: Rail) -> Extras:
    """Nothing stands on the rail."""
    return NO_EXTRAS


def fit_up_pages(model: Model, layout: Layout, extras_of: ExtrasOf = no_extras) -> tuple[Page, ...]:
    """The sheets of each rail, each hand on its own; extras_of: posts and the like that stand on it."""
    return tuple(
        page for rail in model.rails for page in _rail_pages(rail, model.job, layout, extras_of(rail))
    )


def _rail_pages(rail: Rail, job: Job, layout: Layout, extras: Extras) -> tuple[Page, ...]:
    """The sheets of one rail, its drawings lower where that saves a sheet."""
    _, width_mm, height_mm = columns_of(layout)
    head: list[Element] = [
        Heading(f"Fit-up: {_title(rail)}", 13.0),
        *(Paragraph(line, _TEXT_PT) for line in _facts(rail, job)),
    ]
    tables, bench, kept = _tables(rail, job, extras, width_mm), _at_bench(rail, width_mm), Kept()

    def pages_with(shares: Sequence[float]) -> tuple[Page, ...]:
        drawings = _drawings(rail, job, (width_mm, height_mm), extras, shares, kept)
        return _pages_of(rail, [*head, *drawings, *tables], bench, layout)

    usual = pages_with(SHARES)
    if len(rail.path.runs) > _FEW_RUNS or layout.paper.roll:
        return usual
    lower = pages_with(LOW_SHARES)
    return lower if len(lower) < len(usual) else usual


def _pages_of(
    rail: Rail, elements: Sequence[Element], bench: Sequence[Element], layout: Layout
) -> tuple[Page, ...]:
    """The sheets of one rail: its list for the bench is a sheet of its own where that takes no more paper."""
    marks = tuple(corner.mark for corner in rail.corners)
    title = f"Fit-up, rail {rail.mark}"
    apart = (
        *flow_pages(SECTION, title, elements, layout, marks),
        *flow_pages(SECTION, f"At the bench, rail {rail.mark}", bench, layout, marks),
    )
    together = flow_pages(SECTION, title, [*elements, *bench], layout, marks)
    return together if len(together) < len(apart) else apart


def _title(rail: Rail) -> str:
    return rail_title(rail) + (", a closed frame" if rail.path.closed else "")


def _facts(rail: Rail, job: Job) -> tuple[str, ...]:
    """What holds for the whole rail: its hand, its ends, what is left to the site, tolerances."""
    lines = []
    if rail.mirror_of:
        lines.append(
            f"This is the other hand of rail {rail.mirror_of}, as in a mirror: its rolls turn the other way. "
            "Don't use one hand's sheets for the other."
        )
    if rail.turned_over:
        lines.append("Both hands are this one shape, flat: turn half of them over when they are done.")
    if not rail.path.closed:
        ends = (("Start", rail.path.start), ("End", rail.path.end))
        lines.append(" ".join(f"{name}: {_end_words(end, job)}{_lean_words(end)}." for name, end in ends))
    for member in rail.members:
        if member.extra_mm > 0:
            extra = format_length(member.extra_mm, job.units)
            lines.append(
                f"Closing run: pipe {member.mark} comes {extra} longer than these sheets show, to be cut on "
                "site; they show it cut."
            )
    if job.tolerance:
        lines.append(f"± beside a size: EN ISO 13920 class {job.tolerance}, as the job asks.")
    return tuple(lines)


def _lean_words(end: EndSpec) -> str:
    """How the plane there stands out of square."""
    if end.lean is None:
        return ""
    return f"; out of square, longer {spec_words(end.lean)}, walking forward along the rail"


def _end_words(end: EndSpec, job: Job) -> str:
    """What stands at an end, up to the work point."""

    def fine(length_mm: float) -> str:
        return format_length(length_mm, job.units, fine=True)

    gap = f", {fine(end.gap_mm)} gap" if end.gap_mm else ""
    match end.kind:
        case EndKind.CAP | EndKind.PLATE:
            return f"{end.kind} {fine(end.length_mm)} thick{gap}; its outer face is the work point"
        case EndKind.FLANGE:
            return f"flange, its face {fine(end.length_mm)} past the pipe; that face is the work point"
        case EndKind.SLEEVE:
            return (
                f"sleeve {fine(end.length_mm)} long, the pipe {fine(end.insertion_mm)} into it; its outer "
                "end is the work point"
            )
        case _:
            return "open" + (f"{gap} to what it meets" if gap else "")


def _drawings(
    rail: Rail,
    job: Job,
    size_mm: tuple[float, float],
    extras: Extras,
    shares: Sequence[float],
    kept: Kept,
) -> list[Element]:
    made: list[Element] = []
    width_mm, height_mm = size_mm
    drawn_for = fit_up_figures(rail, job, width_mm, height_mm - _KEPT_MM, extras, shares, kept)
    for name, figures in drawn_for:
        explained = next(i for i, drawn in enumerate(figures) if not drawn.is_overview)
        for number, drawn in enumerate(figures):
            more = ", continued" if number else ""
            key = _KEYS.get(name, _KEYS["sizes"]) if number == explained else ""
            elements: list[Element] = [Heading(f"Rail {rail.mark}: {name}{more}", 12.0)]
            elements += [Paragraph(f"{drawn.caption} {key}", _TEXT_PT), drawn.figure]
            made.append(Figure(*stack(elements, width_mm)))
    return made


def _tables(rail: Rail, job: Job, extras: Extras, width_mm: float) -> list[Element]:
    units = job.units

    def listed(table: Table) -> list[Element]:
        return _listed(table, width_mm)

    elements: list[Element] = [Heading(f"Rail {rail.mark}: sizes and checks", 12.0)]
    elements += listed(runs_table(rail, units))
    for table in extra_sizes_tables(extras.sizes, units):
        elements += listed(side_by_side(table, width_mm, _TABLE_PT[1]))
    elements += listed(overall_table(rail, units))
    if rail.fit_up.tape_checks:
        elements += [*_kept(_TAPE, tape_check_figure(), width_mm), *listed(tape_checks_table(rail, units))]
    if rolls_table(rail, units).rows:
        elements += [*_kept(_ROLL, heel_lines_figure(), width_mm), *listed(rolls_table(rail, units))]
    if rail.fit_up.diagonals:
        elements += [*listed(diagonals_table(rail, units)), Paragraph(_lines(rail), _TEXT_PT)]
    return elements


def _at_bench(rail: Rail, width_mm: float) -> list[Element]:
    """A sheet to hang up at the table."""
    return [
        Heading(f"At the bench: {_title(rail)}", 13.0),
        Steps(_bench(rail), size_pt=_TEXT_PT),
        Steps(_CAUTIONS, "•", _TEXT_PT),
        *_listed(sequence_table(rail), width_mm),
    ]


def _listed(table: Table, width_mm: float) -> list[Element]:
    """A table in type as large as goes; nothing for an empty one."""
    return [enlarged(table, width_mm, _TABLE_PT)] if table.rows else []


_TAPE = (
    "Tape check. Mark each pipe at length a from its own end at the corner, on the line 90° round from the "
    "heel: on the table, its top. Tape from mark to mark: that is b."
)
_ROLL = (
    "Heel lines. The heel line of a pipe end runs along the outside of the corner there; at a mitre or an "
    "end out of square, through the long point. Carry the first one along the pipe, then go round the girth "
    "to the second."
)


def _kept(words: str, figure: Figure, width_mm: float) -> list[Element]:
    """A figure with its words beside it, kept with what follows."""
    left_mm = figure.box.width + _BESIDE_MM
    text, room = stack([Paragraph(words, _TEXT_PT)], min(width_mm - left_mm, _WORDS_MM))
    placed = figure.drawing.moved(-figure.box.left, -figure.box.top)
    height_mm = max(room.height, figure.box.height)
    return [Figure(placed + text.moved(left_mm, 0.0), Box(0.0, -height_mm, width_mm, 0.0), keeps_next=True)]


def _lines(rail: Rail) -> str:
    if rail.path.is_flat:
        return "Diagonals of a flat rail lie on the tops of the pipes, at the middle of each pipe end."
    return (
        "Heel, throat and sides are those of the corner at that pipe end; left and right looking forward, "
        "heel up. At an open end they are those of the corner at the pipe's other end."
    )


def _bench(rail: Rail) -> tuple[str, ...]:
    """What is done, in order."""
    lay = (
        "Chalk the rail's work points on the table from its sizes and diagonals, and lay the parts on it."
        if rail.path.is_flat
        else "Set the longest run level on supports; the other runs follow from angle and roll."
    )
    steps = [
        "Check marks: every pipe and piece by its mark, every cut end dressed, bevelled and clean.",
        "Draw the heel line on each piece, and both on each pipe with the distance round the girth between.",
        lay,
        "Start at the first joint of the list below. Set the root gap, heel line on heel line, and clamp.",
        "Tack. Check the heel lines. Where the list names a corner, make its tape check.",
        "Right: tack opposite, check again, next joint. Not right: break the tack, never pull a welded one.",
        "When all joints hold by tacks, check diagonals and overall. Only then weld, in an order that "
        "balances, and let it cool before the clamps come off.",
    ]
    if any(joint.on_site for joint in rail.fit_up.joints):
        steps.append(
            "The joint marked on site stays open: it is the last, and is fitted where the rail goes."
        )
    return tuple(steps)
