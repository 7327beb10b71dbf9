"""Wraps at true scale, each with what to check it by and what an error on it costs."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from render.figures.cut_words import cut_heading, shared_words, short_mark
from render.figures.leaning_words import leaning_wrap_words, long_point_words
from render.figures.mark_ranges import mark_ranges
from render.figures.slip_words import slip_on
from render.pages.drawing import Anchor, Item, Line, Pen, Text, drawing
from render.pages.flow import Element, Heading, Paragraph, stack
from render.pages.paginate import Block, fits
from render.pages.paper import Layout, Page
from render.pages.pdf import text_width_mm
from render.pages.shapes import MM_PER_PT, bounds, moved_box, readable
from render.sheets.bench_steps import wrap_steps
from render.sheets.with_steps import pages_with_steps
from render.sheets.wrap_lines import (
    LABEL_PT,
    mark_ticks,
    point_of,
    seam_items,
    sheet_lines,
    unit,
    upright_line,
)
from templates_core.elbows.error_costs import end_moves_mm
from templates_core.elbows.groups import CutGroup, LeaningGroup, MitreGroup
from templates_core.geometry.surfaces import Array
from templates_core.jobs.job import Job
from templates_core.model import Model
from templates_core.units import format_angle, format_length
from templates_core.wraps.cut_wraps import CutWrap, LeaningWrap
from templates_core.wraps.pipe_wraps import SIDE, PipeWrap, mitre_back_mm
from templates_core.wraps.wraps import HEEL, Stay, Wrap
from templates_core.wraps.wraps import SIDE as SIDE_STAY

SECTION = "Wraps"
_CAPTION_WIDTH_MM = 120.0
_CAPTION_GAP_MM = 3.0


def wrap_pages(model: Model, layout: Layout) -> tuple[Page, ...]:
    """How to use a wrap, then every wrap once; no pages for a job without a cut."""
    blocks = [
        block
        for group, made in zip(model.cut_groups, model.cut_wraps, strict=True)
        for block in _blocks(*elbow_wrap_parts(model.job, group, made), layout)
    ]
    blocks += [
        block
        for leaning, hung in zip(model.leaning_groups, model.leaning_wraps, strict=True)
        for block in _blocks(*leaning_wrap_parts(model.job, leaning, hung), layout)
    ]
    blocks += [
        block
        for mitre, flat in zip(model.mitre_groups, model.mitre_wraps, strict=True)
        for block in _blocks(*mitre_wrap_parts(model.job, mitre, flat), layout)
    ]
    if not blocks:
        return ()
    return pages_with_steps(SECTION, "At the bench", wrap_steps(model), blocks, layout)


def _blocks(template: Block, words: Sequence[Element], layout: Layout) -> tuple[Block, ...]:
    """The template with its words under it; apart where both together are larger than a page."""
    text, box = stack(words, max(template.box.width, _CAPTION_WIDTH_MM))
    down = template.box.bottom - _CAPTION_GAP_MM
    placed, room = text.moved(template.box.left, down), moved_box(box, template.box.left, down)
    together = Block(
        template.section,
        template.title,
        template.drawing + placed,
        template.box.joined(room),
        template.marks,
    )
    if fits(together, layout):
        return (together,)
    text, box = stack(words, _CAPTION_WIDTH_MM)
    return (Block(template.section, template.title, text, box, template.marks), template)


def elbow_wrap_parts(job: Job, group: CutGroup, made: CutWrap) -> tuple[Block, tuple[Element, ...]]:
    """The template of one cut at true scale, and the words that belong to it."""
    return _elbow_block(job, group, made, group.all_marks), _elbow_words(job, group, made)


def leaning_wrap_parts(job: Job, group: LeaningGroup, made: LeaningWrap) -> tuple[Block, tuple[Element, ...]]:
    """The template of one leaning cut at true scale, and the words that belong to it."""
    return _elbow_block(job, group, made, group.marks), leaning_wrap_words(job, group, made)


def _elbow_block(
    job: Job, group: CutGroup | LeaningGroup, made: CutWrap | LeaningWrap, marks: tuple[str, ...]
) -> Block:
    wrap = made.wrap
    items = [*sheet_lines(wrap.trace_mm, wrap.outline_mm), *_slits(wrap), *mark_ticks(wrap.marks)]
    for stay in wrap.stays:
        items += _stay_items(stay, _stay_words(stay, wrap, group), made.rules.collar_mm)
    items += [*seam_items(wrap.seam, wrap.girth_mm, job.units), *_fold_words(wrap.stays), _nominal_end(wrap)]
    picture = drawing(items)
    title = f"Wrap {mark_ranges(marks)}"
    return Block(SECTION, title, picture, bounds(picture), marks, seams_x_mm=_between_stays(wrap))


def mitre_wrap_parts(job: Job, group: MitreGroup, flat: PipeWrap) -> tuple[Block, tuple[Element, ...]]:
    """The template of one mitre at true scale, and the words that belong to it."""
    items: list[Item] = [
        *sheet_lines(flat.edges[0].line_mm, flat.outlines_mm[0]),
        *seam_items(flat.seam, flat.girth_mm, job.units),
        Line(point_of(flat.seam_line_mm[0]), point_of(flat.seam_line_mm[1]), Pen.OUTLINE),
    ]
    for line in flat.lines:
        items += upright_line(line)
    items += _mitre_labels(job, group, flat)
    picture = drawing(items)
    title = f"Mitre {format_angle(group.tilt_rad, 2)}"
    return Block(SECTION, title, picture, bounds(picture), group.marks), _mitre_words(job, group, flat)


def _slits(wrap: Wrap) -> Iterator[Item]:
    for start, end in wrap.slits_mm:
        yield Line(point_of(start), point_of(end), Pen.OUTLINE)


def _stay_words(stay: Stay, wrap: Wrap, group: CutGroup | LeaningGroup) -> tuple[str, ...]:
    """What stands on a stay; sides are told apart where the cut leans: face down, heel to the front."""
    if stay.name == SIDE_STAY and isinstance(group, LeaningGroup):
        heel = next(one for one in wrap.stays if one.name == HEEL)
        return ("LEFT SIDE" if stay.centre_mm[0, 0] < heel.centre_mm[0, 0] else "RIGHT SIDE",)
    if stay.name != HEEL:
        return (stay.name.upper(),)
    side = "KEEP" if group.cut.from_face == "own" else "SCRAP"
    return (f"HEEL  {short_mark(group.marks)}", f"{side} THIS SIDE")


def _stay_items(stay: Stay, words: Sequence[str], collar_mm: float) -> Iterator[Item]:
    yield Line(point_of(stay.fold_mm[0]), point_of(stay.fold_mm[1]), Pen.FOLD)
    if np.linalg.norm(stay.plate_mm[0] - stay.fold_mm[0]) > Pen.FOLD.width_mm:
        yield Line(point_of(stay.plate_mm[0]), point_of(stay.plate_mm[1]), Pen.TICK)
    yield from _along_stay(stay, words, collar_mm)


def _along_stay(stay: Stay, words: Sequence[str], collar_mm: float) -> Iterator[Item]:
    """The words along the stay between collar and fold, as many as there is room for.

    Lines after the first are cut to one word where there is no room for all of it. Where not even the first
    fits there, it stands below the tab, off the wrap.
    """
    line_mm = 1.15 * LABEL_PT * MM_PER_PT
    room = stay.length_mm - collar_mm - 1.0

    def fits(text: str) -> bool:
        return text_width_mm(text, LABEL_PT, bold=True) <= room

    lines = [words[0], *(text if fits(text) else text.split()[0] for text in words[1:])]
    fitting = [text for text in lines if fits(text)] if fits(words[0]) else []
    fitting = fitting[: int(stay.width_mm / line_mm)]
    if not fitting:
        end = stay.centre_mm[-1] + 3.2 * unit(stay.heading_rad[-1])
        yield Text(point_of(end), words[0], LABEL_PT, Anchor.MIDDLE, bold=True)
        return
    middle, ahead = (
        _at_length(stay.centre_mm, (collar_mm + stay.length_mm) / 2 + step) for step in (0.0, 0.1)
    )
    angle = readable(math.atan2(float(ahead[1] - middle[1]), float(ahead[0] - middle[0])))
    down = unit(angle - math.pi / 2)
    first = middle + (0.32 * LABEL_PT * MM_PER_PT - (len(fitting) - 1) * line_mm / 2) * down
    for number, text in enumerate(fitting):
        yield Text(point_of(first + number * line_mm * down), text, LABEL_PT, Anchor.MIDDLE, angle, bold=True)


def _at_length(line: Array, length_mm: float) -> Array:
    """The point so far along a polyline."""
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
    return np.array([np.interp(length_mm, along, line[:, 0]), np.interp(length_mm, along, line[:, 1])])


def _fold_words(stays: Sequence[Stay]) -> Iterator[Item]:
    """What the two lines across the heel stay are, beside it."""
    heel = next(stay for stay in stays if stay.name == HEEL)
    right = float(heel.fold_mm[:, 0].max()) + 1.0
    fold, plate = float(heel.fold_mm[0, 1]), float(heel.plate_mm[0, 1])
    yield Text((right, fold + 0.2), "fold", LABEL_PT)
    if fold - plate > Pen.FOLD.width_mm:
        yield Text((right, min(plate, fold - 2.4) - 0.6), "plate line", LABEL_PT)


def _nominal_end(wrap: Wrap) -> Item:
    """The line across the seam tab on which the wrap's other end falls at the nominal girth."""
    end, corner, foot = wrap.outline_mm[0], wrap.outline_mm[1], wrap.outline_mm[2]
    return Line(point_of(end), point_of(end + foot - corner), Pen.OUTLINE)


def _between_stays(wrap: Wrap) -> tuple[float, ...]:
    """Where tiles may meet [mm]: halfway between the stays, so that none is cut lengthwise."""
    left = sorted((min(stay.centre_mm[:, 0]) - stay.width_mm / 2, stay) for stay in wrap.stays)
    right = [max(stay.centre_mm[:, 0]) + stay.width_mm / 2 for _, stay in left]
    return tuple(
        float(end + start) / 2 for end, (start, _) in zip(right[:-1], left[1:], strict=True) if start > end
    )


def _elbow_words(job: Job, group: CutGroup, made: CutWrap) -> tuple[Element, ...]:
    units, cut, slip = job.units, group.cut, slip_on(group, made, job.units)

    def fine(length_mm: float) -> str:
        return format_length(length_mm, units, fine=True, with_unit=False)

    own = cut.from_face == "own"
    heel, side, throat = group.to_cut
    lies = (
        (
            "Lies on the piece that is kept; tabs hook on its own face."
            if cut.offset_rad == 0
            else "Lies on kept metal."
        )
        if own
        else "Lies on the part that is SCRAP; tabs hook on the FAR face. Measure the elbow's sweep first."
    )
    off = end_moves_mm(group.longest_run_mm, slip.turn_rad)
    lines = [
        f"Piece of {format_angle(cut.piece_angle_rad, 2)} from {cut.elbow.name}. {lies}",
        f"Fold to line along the metal: heel {fine(heel.shoulder_mm)}, sides {fine(side.shoulder_mm)}, "
        f"throat {fine(throat.shoulder_mm)} {units}.  Straight across: heel {fine(heel.chord_mm)}, "
        f"throat {fine(throat.chord_mm)} {units}.",
        f"{slip.words} of heel against throat turns the joint {slip.turn}, and moves the end of its longest "
        f"run ({format_length(group.longest_run_mm, units)}) by {format_length(off, units)}. "
        f"{slip.words} round, off the heel line, tips it {slip.tip} out of plane.",
        slip.seam,
    ]
    heading = Heading(cut_heading(group))
    lines[1:1] = shared_words(group)
    return (heading, *(Paragraph(line, 8.0) for line in lines))


def _mitre_labels(job: Job, group: MitreGroup, flat: PipeWrap) -> Iterator[Item]:
    side = next(line for line in flat.lines if line.name == SIDE)
    middle = float(side.foot_mm[0]) / 2
    lines = (short_mark(group.marks), "KEEP")
    for number, text in enumerate(lines):
        if text_width_mm(text, LABEL_PT, bold=True) < abs(middle) * 2 - 8:
            yield Text(
                (middle + 1.0, mitre_back_mm(job.pipe.radius_mm, group.tilt_rad) / 2 - 3.2 * number),
                text,
                LABEL_PT,
                Anchor.MIDDLE,
                bold=True,
            )


def _mitre_words(job: Job, group: MitreGroup, flat: PipeWrap) -> tuple[Element, ...]:
    units = job.units
    square = format_length(mitre_back_mm(job.pipe.radius_mm, group.tilt_rad), units, fine=True)
    places = ["Long point on the outside of the turn."] if group.joints else []
    places += [long_point_words(plate, job) for plate in group.plates]
    back = "work point" if not group.plates else "middle of the cut"
    on = "on each pipe. " if group.joints else "to stand on its plate or wall. "
    lines = [
        f"Cut {format_angle(group.tilt_rad, 2)} off square, {on}Lies on the pipe that is kept.",
        *places,
        "Square edge true round the pipe, meeting itself at the seam, "
        f"{square} back from the {back} along the pipe.",
        f"Long point {format_length(2 * group.reach_mm, units, fine=True)} longer than the short point. "
        f"Seam: nominal girth {format_length(flat.girth_mm, units)}.",
    ]
    heading = Heading(f"{mark_ranges(group.marks)} – {group.ends} pipe end{'s' if group.ends > 1 else ''}")
    return (heading, *(Paragraph(line, 8.0) for line in lines))
