"""The first sheet: squares, their diagonals and rulers that show whether the printer kept the scale."""

from __future__ import annotations

import math

from render.pages.drawing import Anchor, Drawing, Item, Line, Pen, Point, Text, drawing
from render.pages.flow import Element, Gap, Heading, Paragraph, Steps, stack
from render.pages.paper import UNCORRECTED, Layout, Page
from render.pages.rulers import RULER_ROOM_MM, ruler
from render.pages.shapes import Box, rectangle
from render.pages.title_block import bar

SQUARE_MM = 100.0
INCH_SQUARE_MM = 4.0 * 25.4
_PAST_LAST_LABEL_MM = 3.0
_SIZES_PT = (8.5, 8.0, 7.5, 7.0)
_ROLL_HEIGHT_MM = 420.0
"""Height of the sheet on a roll, which has none of its own."""


def print_check(layout: Layout, inches: bool = False) -> Page:
    """The print check for a page: a 100 mm square, a 4 in one with 50 mm bars in it, rulers, what to do.

    The rulers are the longest that the page takes both ways; inches adds an inch edge to them.
    """
    layout = layout.cut_for(_ROLL_HEIGHT_MM)
    room_mm = RULER_ROOM_MM * (2.0 if inches else 1.0)
    spine = RULER_ROOM_MM
    start = room_mm + 1.0
    across_mm = layout.width_mm - start - _PAST_LAST_LABEL_MM
    up_mm = layout.height_mm - start - _PAST_LAST_LABEL_MM
    items: list[Item] = [*ruler((start, spine), 0.0, across_mm, mm_left=False, inches=inches)]
    items += ruler((spine, start), math.pi / 2.0, up_mm, mm_left=True, inches=inches)
    left, bottom = room_mm + 2.5, room_mm + 2.5
    square = Box(left, bottom, left + SQUARE_MM, bottom + SQUARE_MM)
    items += _square(square)
    items += _inch_square((left, square.top + 3.0))
    words_left = left + INCH_SQUARE_MM + 5.0
    items += _words(layout, words_left, layout.height_mm - room_mm - 2.0)
    return Page("Print check", "Print check", layout, drawing(items))


def _square(square: Box) -> list[Item]:
    """The 100 mm square, its diagonals, and what each should read, written inside it."""
    x, y = square.middle
    diagonal_mm = SQUARE_MM * math.sqrt(2.0)
    return [
        rectangle(square),
        Line((square.left, square.bottom), (square.right, square.top), Pen.TICK),
        Line((square.left, square.top), (square.right, square.bottom), Pen.TICK),
        Text((x, square.bottom + 4.0), f"{SQUARE_MM:g} mm across", 9.0, Anchor.MIDDLE),
        Text((x, square.top - 6.0), f"both diagonals {diagonal_mm:.1f} mm", 9.0, Anchor.MIDDLE),
        Text((square.left + 6.0, y), f"{SQUARE_MM:g} mm up", 9.0, Anchor.MIDDLE, math.pi / 2.0),
    ]


def _inch_square(corner: Point) -> list[Item]:
    """The 4 in square from its lower left corner, with a 50 mm bar each way in it."""
    left, bottom = corner
    box = Box(left, bottom, left + INCH_SQUARE_MM, bottom + INCH_SQUARE_MM)
    words = Text((box.middle[0], box.top - 8.0), "4 in (101.6 mm) across and up", 9.0, Anchor.MIDDLE)
    x, y = left + 26.0, bottom + 22.0
    lying = Text((x + 25.0, y + 2.8), "50 mm across", 8.0, Anchor.MIDDLE)
    upright = Text((x - 8.8, y + 25.0), "50 mm up", 8.0, Anchor.MIDDLE, math.pi / 2.0)
    return [
        rectangle(box),
        words,
        *bar((x, y), 0.0),
        lying,
        *bar((x - 6.0, y), math.pi / 2.0),
        upright,
    ]


def _words(layout: Layout, left: float, room_mm: float) -> Drawing:
    """The advice from the top of the page, right of left, in the largest type that room_mm takes."""
    for size_pt in _SIZES_PT:
        words, box = stack(_advice(layout, size_pt), layout.width_mm - left)
        if box.height <= room_mm:
            return words.moved(left, layout.height_mm)
    raise ValueError("the page is too small for the words of the print check")


def _advice(layout: Layout, size_pt: float) -> list[Element]:
    """What to do with the sheet, and what to do when it reads wrong."""
    heading_pt = 1.25 * size_pt
    first = "Print this sheet first, on the printer and paper of the job. Every wrap depends on it."
    elements: list[Element] = [
        Heading("Print check", heading_pt),
        Paragraph(first, size_pt),
        Steps(
            (
                "In the print dialog choose Actual size, or Scale 100 %. Turn off Fit, Shrink, "
                f"Scale to fit and Borderless. Paper: {layout.paper.name}.",
                "Measure the 100 mm square across and up with a steel rule, on the middle of its lines.",
                "Measure both diagonals. They must be equal.",
                "Lay the steel rule along the two long rulers: a small error shows best there.",
            ),
            size_pt=size_pt,
        ),
        Heading("When they read wrong", heading_pt),
        Steps(
            (
                "Within 0.2 mm on the square: good, print the pack.",
                "Off by more than 10 mm: the dialog scales the page. Set Actual size and print again.",
                "Between the two: check the dialog, then make the pack again with what the square measures, "
                "across x up, such as --printed 99.2x99.6. It is then redrawn so that 100 prints as 100.",
                "Diagonals that differ: the paper was fed askew. No figure mends that; square up the tray.",
            ),
            "·",
            size_pt,
        ),
        *_corrected(layout, size_pt),
        Heading("As measured here", heading_pt),
        Gap(1.0),
    ]
    blanks = ("across", "up", "diagonals", "printer", "date")
    return [*elements, *(Paragraph(f"{name}  {'_' * 18}", size_pt) for name in blanks)]


def _corrected(layout: Layout, size_pt: float) -> list[Element]:
    if layout.correction == UNCORRECTED:
        return []
    drawn = f"This pack is drawn for a printer that prints 100 mm as {layout.correction}."
    again = (
        "If it still reads wrong, multiply each of these figures by what the square measures now, "
        "divide by 100, and give the two results to --printed."
    )
    return [Paragraph(drawn, size_pt, bold=True), Paragraph(again, size_pt)]
