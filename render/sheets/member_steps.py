"""How the wraps of cut pipes are used at the bench, step by step."""

from __future__ import annotations

from render.pages.flow import Element, Heading, Paragraph, Steps
from render.sheets.bench_steps import CAUTIONS
from templates_core.model import Model
from templates_core.units import format_length

_FIRST = (
    "Saw the blank square to the length given, tip to tip. Call one end the first end and write it on the "
    "pipe. Every wrap, of either end, is laid printed side out with its arrow pointing to that first end.",
    "Strike the 0° line along the pipe: lay the pipe in a length of angle iron and scribe along its edge. "
    "It runs from end to end and is never turned off: it holds the roll of one end to the other.",
)
_LOCATED = (
    "Strike a ring line at each length given, measured along the pipe from the sawn first end: wind a strip "
    "of paper with a straight edge round the pipe until the edge meets itself, and scribe along it.",
    "Wind each wrap on with its square edge on its ring line and its 0° line on the scribed one. The square "
    "edge must meet itself at the seam. Read the girth on the tab; tape.",
)
_WHOLE = (
    "A wrap with two wide edges takes both ends of a short pipe. Wind it on with its 0° line on the scribed "
    "one, the tips of the wide edges level with the sawn ends, its sides meeting along the seam; tape.",
)
_LAST = (
    "Trace the wide edge. The true line is the edge of the mark that touched the paper. The wrap lies on "
    "the pipe that is kept. Write the mark and hand on it, and tick what each end faces. Paper off.",
    "Check the line against the table: so far round from the mark named, so far along from the ring line.",
    "Cut square through the wall, clear of the line, and grind to it; an end that the words want flat is cut "
    "in one plane instead. Try it on its header: it touches where the words say, with no more than the gaps "
    "given, which the weld fills.",
    "Bevel for the weld only after it has been tried on: the line is for a wall cut square through.",
)


def member_steps(model: Model) -> tuple[Element, ...]:
    """Steps for the wraps of cut pipes."""
    thickness = format_length(model.job.shop.wrap_thickness_mm, "mm", fine=True)
    return (
        Heading("The wrap of a pipe's end at the bench"),
        Steps((*_FIRST, *_LOCATED, *_WHOLE, *_LAST), size_pt=9.5),
        Heading("Care"),
        Steps(CAUTIONS, sign="•", size_pt=9.5),
        Paragraph(
            f"Wraps are drawn for paper {thickness} thick. Nothing here has been proved on metal yet.", 9.5
        ),
    )
