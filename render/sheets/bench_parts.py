"""What a bench sheet of any cut is put together from."""

from __future__ import annotations

from dataclasses import dataclass

from render.pages.flow import Element
from render.pages.paginate import Block

SECTION = "Bench sheets"
AGREE = {False: "0.5 mm", True: "1/64 in"}
"""How well the line of the wrap and that of the bench sheet agree, in a metric job and in one in inches."""


@dataclass(frozen=True)
class BenchParts:
    """The sheet of one cut: its heading, its plan at true scale, what to do, what errors cost, and tables."""

    head: tuple[Element, ...]
    plan: Block
    words: tuple[Element, ...]
    costs: tuple[Element, ...]
    tables: tuple[Element, ...]
