"""The part of the check record that keeps how straight a rail came out, and what to enter next time."""

from __future__ import annotations

import math
from collections.abc import Iterator

from render.figures.straightness_words import bow_text, side_words
from render.pages.flow import Element, Paragraph
from render.pages.tables import Column, Table
from templates_core.jobs.job import PresetKind
from templates_core.model import Rail
from templates_core.welding.straightness import BentRun

_TEXT_PT = 9.0
_TRIALS = 3


def straightness_record(rail: Rail, units: str, row_mm: float) -> Iterator[Element]:
    """Blanks for each run that bends; nothing where none does."""
    if rail.straightness is None or not rail.straightness.runs:
        return
    columns = (
        Column("Pipe"),
        Column("Free bow expected", right=True),
        Column("Ends go"),
        Column("Held, ends to middle", right=True),
        Column("Bow before", least_mm=16.0),
        Column("Bow left, + or −", least_mm=20.0),
        Column("Cold at", least_mm=16.0),
        Column("Next time: kink =", least_mm=22.0),
        Column("kept =", least_mm=16.0),
    )
    rows = tuple(_row(run, units) for run in rail.straightness.runs)
    yield Table("Straightness, on the far side of the welds, released and cold", columns, rows, row_mm)
    yield Paragraph(NEXT_TIME, _TEXT_PT)


NEXT_TIME = (
    "Bow left: + where a straight edge on the far side touches at the middle (still towards the welds), − "
    "where it touches at its ends; take off the bow before. Next time: welded free, kink = kink used × bow "
    "left ÷ free bow expected. Clamped, with the kink from a trial, kept = (free bow − bow left) ÷ bow held."
)


def _row(run: BentRun, units: str) -> tuple[str, ...]:
    supports = run.preset.supports
    held = "–"
    if supports:
        heights = [support.stack.height_mm for support in supports]
        held = bow_text(max(heights) - heights[0], units, with_unit=False)
    elif run.preset.kind is PresetKind.FREE:
        held = bow_text(run.shape.bow_mm, units, with_unit=False)
    bow = bow_text(run.shape.bow_mm, units, with_unit=False)
    way = "–" if run.shape.is_straight else side_words(run.shape.side_rad)
    kinks = sorted({f"{math.degrees(one.pull.kink_rad):.3f}" for one in run.welds})
    return run.pipe, bow, way, held, "", "", "", f"used {kinks[0]}" if len(kinks) == 1 else "", ""


def trials_record(unit: str, row_mm: float) -> Table:
    """Blanks for trials.  unit: of lengths, as a heading says it."""
    columns = (
        Column("Trial", right=True),
        Column("Pipe, leg, process", least_mm=40.0),
        Column("Span L", least_mm=18.0),
        Column("Bow h", least_mm=18.0),
        Column("kink = 4h/L", least_mm=22.0),
        Column("Held p", least_mm=18.0),
        Column("Left r", least_mm=18.0),
        Column("kept = (h − r)/p", least_mm=28.0),
    )
    rows = tuple((str(number), *("",) * 7) for number in range(1, _TRIALS + 1))
    return Table(f"Weld trials, {unit}; wrapwright trial works them out", columns, rows, row_mm)
