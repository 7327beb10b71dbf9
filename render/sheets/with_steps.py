"""Steps for the bench and the wraps that they are for, on one page where that saves paper."""

from __future__ import annotations

from collections.abc import Sequence

from render.pages.flow import TIGHTER, Element, closed_up, columns_of, flow_pages
from render.pages.paginate import Block, block_pages, fits
from render.pages.paper import Layout, Page


def pages_with_steps(
    section: str, title: str, steps: Sequence[Element], blocks: Sequence[Block], layout: Layout
) -> tuple[Page, ...]:
    """The steps on a sheet of their own and then the blocks, or nested with them where that takes less paper.

    title: of the sheet of steps.  Their text is made a little smaller where that lets them in.
    """
    apart = flow_pages(section, title, steps, layout) + block_pages(blocks, layout)
    columns, width_mm, _ = columns_of(layout)
    if layout.paper.roll or columns > 1:
        return apart
    for way in TIGHTER:
        drawn, box = closed_up(steps, width_mm, way)
        words = Block(section, title, drawn, box, may_turn=False)
        if fits(words, layout):
            together = block_pages((words, *blocks), layout)
            if len(together) < len(apart):
                return together
    return apart
