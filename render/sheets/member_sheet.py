"""Wraps of posts, mid rails and members, with what to set them out by, and templates of holes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType

from render.figures.cut_words import short_mark
from render.pages.drawing import Drawing
from render.pages.flow import Element, Heading, Paragraph, stack
from render.pages.flow_tables import side_by_side
from render.pages.paginate import Block, fits
from render.pages.paper import Layout, Page
from render.pages.shapes import Box, bounds, moved_box
from render.pages.tables import Table
from render.sheets.member_drawing import between_lines_mm, clear_seams_mm, hole_drawing, wrap_drawing
from render.sheets.member_steps import member_steps
from render.sheets.member_words import (
    Setting,
    end_lines,
    end_name,
    heading_of,
    hole_lines,
    ordinate_table,
    pipe_lines,
    ring_line,
)
from render.sheets.with_steps import pages_with_steps
from templates_core.errors import GeometryError
from templates_core.geometry.pipe_ends import At
from templates_core.model import Model
from templates_core.pipes.cut_pipe import CutPipe, PipeEnd, PipeGroup, alike, alike_holes
from templates_core.pipes.hole_places import HolePlace, hole_places
from templates_core.wraps.member_wraps import end_wrap, is_square, whole_wrap
from templates_core.wraps.pipe_wraps import PipeWrap

SECTION = "Members"
_LONGEST_WHOLE_MM = 600.0
"""A longer pipe gets two wraps even on a roll of paper: nobody winds that much on true."""
_CAPTION_MM, _WORDS_MM, _BETWEEN_MM = 184.0, 96.0, 4.0
_TABLES_MM = (72.0, 105.0)
"""Widths that a table is let take, folded twice or three times."""
_WORDS_PT = 8.0
_CAPTION_GAP_MM = 3.0
_HEADERS_NAMED = 2
Places = Mapping[tuple[str, At], HolePlace]
"""Where holes are, by the mark and the end of the pipe that sits on them."""
NO_PLACES: Places = MappingProxyType({})


def member_pages(model: Model, layout: Layout) -> tuple[Page, ...]:
    """How to use the wraps, then those of all cut pipes, each once; no pages where no end is shaped."""
    shop = model.job.shop
    setting = Setting(model.job.units, shop.wrap_thickness_mm, shop.ordinate_tolerance_mm)
    places = {(one.pipe, one.at_end): one for rail in model.rails for one in hole_places(rail)}
    groups = alike(model.cut_pipes)
    blocks = [block for group in groups for block in group_blocks(group, setting, layout, places)]
    if not blocks:
        return ()
    return pages_with_steps(SECTION, "Pipe ends at the bench", member_steps(model), blocks, layout)


def group_blocks(
    group: PipeGroup, setting: Setting, layout: Layout, places: Places = NO_PLACES
) -> tuple[Block, ...]:
    """The wraps of one pipe, one for both ends where that fits a page, and the holes under its copes."""
    made = group.first
    shaped = [end for end in (made.start, made.end) if not is_square(end.cut)]
    if not shaped:
        return ()
    blocks: list[Block] = []
    whole = _whole_wrap(made, setting)
    template = None if whole is None else _template(group, "both ends", whole, (), setting)
    if template is not None and fits(template, layout):
        blocks += _with_words(template, _whole_words(group, setting), _whole_tables(made, setting), layout)
    else:
        for end in shaped:
            blocks += _located(group, end, setting, layout)
    for end in shaped:
        for opened in alike_holes(group, end.cut.at_end):
            blocks += _hole(opened, end.cut.at_end, setting, layout, places)
    return tuple(blocks)


def _whole_wrap(made: CutPipe, setting: Setting) -> PipeWrap | None:
    """The wrap for both ends; None for a pipe that is too long for one, or too short to hold one together."""
    if made.overall_mm > _LONGEST_WHOLE_MM:
        return None
    try:
        return whole_wrap(made, setting.thickness_mm, setting.seam_step_mm)
    except GeometryError:
        return None


def _whole_words(group: PipeGroup, setting: Setting) -> Iterator[Element]:
    yield Heading(heading_of(group, "both ends"))
    for at_end in ("start", "end"):
        for line in end_lines(group, at_end, setting):
            yield Paragraph(line, _WORDS_PT)
    for line in pipe_lines(group.first, setting):
        yield Paragraph(line, _WORDS_PT)


def _whole_tables(made: CutPipe, setting: Setting) -> list[Table]:
    tips = (float(made.start.cut.station_mm.min()), float(made.end.cut.station_mm.max()))
    return [
        ordinate_table(made, end, tip, f"the sawn {end_name(end)}", setting)
        for end, tip in zip((made.start, made.end), tips, strict=True)
        if not is_square(end.cut)
    ]


def _located(group: PipeGroup, end: PipeEnd, setting: Setting, layout: Layout) -> tuple[Block, ...]:
    """The wrap of one end of a long pipe."""
    made, at_end, name = group.first, end.cut.at_end, end_name(end)
    one = end_wrap(made, at_end, setting.thickness_mm, setting.ring_step_mm, setting.seam_step_mm)
    template = _template(group, name, one.wrap, (f"ring {setting.fine(one.ring_mm)}",), setting)
    words: list[Element] = [Heading(heading_of(group, name))]
    lines = (*end_lines(group, at_end, setting), ring_line(one, setting), *pipe_lines(made, setting))
    words += [Paragraph(line, _WORDS_PT) for line in lines]
    ring_station = one.ring_mm + float(made.start.cut.station_mm.min())
    table = ordinate_table(made, end, ring_station, "the ring line", setting)
    return _with_words(template, words, [table], layout)


def _template(group: PipeGroup, what: str, wrap: PipeWrap, lines: Sequence[str], setting: Setting) -> Block:
    """A wrap at true scale with its names, hand and side printed on it."""
    made, mark = group.first, short_mark(group.marks)
    hand = (f"{made.hand} hand",) if made.hand else ()
    names = (mark, *hand, what, "KEEP", *lines, "scrap past wide edge")
    picture = wrap_drawing(wrap, names, setting.units)
    title = f"Wrap {mark}, {what}"
    return Block(SECTION, title, picture, bounds(picture), group.marks, seams_x_mm=between_lines_mm(wrap))


def _hole(
    group: PipeGroup, at_end: At, setting: Setting, layout: Layout, places: Places
) -> tuple[Block, ...]:
    """The template of a hole that is the same under every pipe of the group."""
    ends = [one.start if at_end == "start" else one.end for one in group.pipes]
    end, hole = ends[0], ends[0].hole
    assert hole is not None
    headers = tuple(dict.fromkeys(mark for one in ends for mark in one.sits_on))
    picture = hole_drawing(hole, ", ".join(headers) if len(headers) <= _HEADERS_NAMED else "its header")
    title = f"Hole under {short_mark(group.marks)}, {end_name(end)}"
    box = bounds(picture)
    template = Block(
        SECTION,
        title,
        picture,
        box,
        group.marks,
        seams_x_mm=clear_seams_mm((box.left, 0.0, box.right)),
        seams_y_mm=clear_seams_mm((box.bottom, 0.0, box.top)),
    )
    words: list[Element] = [Heading(heading_of(group, f"hole under its {end_name(end)}"))]
    found = [places[one.mark, at_end] for one in group.pipes if (one.mark, at_end) in places]
    words += [Paragraph(line, _WORDS_PT) for line in hole_lines(headers, end, hole, found, setting)]
    return _with_words(template, words, [], layout)


def _with_words(
    template: Block, words: Sequence[Element] | Iterator[Element], tables: Sequence[Table], layout: Layout
) -> tuple[Block, ...]:
    """The template with its words and tables under it; apart where all together are larger than a page."""
    caption, box = _caption(list(words), tables)
    down = template.box.bottom - _CAPTION_GAP_MM
    room = template.box.joined(moved_box(box, template.box.left, down))
    together = Block(
        template.section,
        template.title,
        template.drawing + caption.moved(template.box.left, down),
        room,
        template.marks,
        may_turn=False,
    )
    if fits(together, layout):
        return (together,)
    return (Block(template.section, template.title, caption, box, template.marks, may_turn=False), template)


def _caption(words: list[Element], tables: Sequence[Table]) -> tuple[Drawing, Box]:
    """Words with the tables beside them, in the widths that make the lower of both."""
    if not tables:
        return stack(words, _WORDS_MM)
    made = [_beside(words, tables, table_mm) for table_mm in _TABLES_MM]
    return min(made, key=lambda caption: caption[1].height)


def _beside(words: list[Element], tables: Sequence[Table], table_mm: float) -> tuple[Drawing, Box]:
    text, box = stack(words, _CAPTION_MM - _BETWEEN_MM - table_mm)
    drawn, room = stack([side_by_side(table, table_mm, table.text_pt) for table in tables], table_mm)
    left = _CAPTION_MM - table_mm
    return text + drawn.moved(left, 0.0), box.joined(moved_box(room, left, 0.0))
