"""The straightness sheet: how each run bends, what is set against it, the order of welding, and trials."""

from __future__ import annotations

from collections.abc import Iterator

from render.figures.figure_tables import rail_title
from render.figures.straightness_tables import rail_tables, side_welds_table, supports_table
from render.figures.straightness_words import across_words, bend_words, preset_words
from render.pages.flow import Element, Figure, Heading, Paragraph, Steps, columns_of, flow_pages, stack
from render.pages.paper import Layout, Page
from render.pages.tables import Table
from render.sheets.straightness_figure import run_figure
from render.sheets.trial_figure import trial_figure
from templates_core.jobs.job import Welding
from templates_core.model import Model, Rail
from templates_core.units import INCH, format_length
from templates_core.welding.straightness import BentRun, Straightness
from templates_core.welding.weld_kinks import FACTOR

SECTION = "Straightness"
_TEXT_PT = 9.0
_SHORT = 16
"""Rows up to which a table is kept whole."""
_WHICH_WAY = (
    "WHICH WAY IT GOES. A weld shrinks as it cools and makes its own side of the pipe shorter. So "
    "both ENDS of the pipe come TOWARDS the side that is welded, and the middle stands off the "
    "other way: a rail with posts welded under it comes up in the middle and down at its ends. Held"
    " against that, the pipe is bent the other way: its middle towards the welded side."
)
ORDER = (
    "Best weld what stands on the side of a run while the run is a single pipe, before the fit-up sheet's "
    "tacks: shims and clamps first, then tack, then weld. If the rail has to be tacked together first, hold "
    "each run of it at the same places; the tape then starts where that pipe ends.",
    "Tack in the order of the numbers in the rings: two tacks on opposite quarters of each, fore "
    "and aft along the pipe; then check that it is square; then the two tacks between.",
    "Weld in the same order: from the middle out, in one half of the pipe and then in the other, "
    "and on opposite sides by turns. Each weld in quarters: one quarter, then the opposite one, "
    "then the two between.",
    "Never go on next to a hot weld: skip one. Where the table says to let the last one cool, wait "
    "until a bare hand can rest on it.",
    "COOL DOWN BEFORE RELEASE: leave every clamp on until the whole pipe is cold to the hand. Don't"
    " quench it. Then release from the middle out, lay a straight edge along it, and write down "
    "what is left.",
    "Joints at the corners come last, in the order of their own table: each in quarters, opposite "
    "ones in turn.",
)
CAUTIONS = (
    "A bent pipe stores energy: a clamp that slips throws it. Stand beside it, not over it, tighten"
    " and release by turns, and never release a hot pipe.",
    "Check that the table, the strongback and every clamp bear the forces given. Shims stand flat "
    "and square.",
    "The figures leave out the weight of the pipe, posts under corners, and the bows of posts and mid rails "
    "themselves. They hold for bending within the elastic limit alone.",
    f"Whatever is marked ESTIMATE may be {FACTOR:g} times too small or too large, and no outside data has"
    " tested it. Trials of your own welds replace it.",
    "Heat straightening and bending after galvanising are work of their own: local codes and "
    "licensed practice decide.",
)
_OFFERED = (
    "OFFERED, AND IN NO OTHER FIGURE OF THIS PACK: lengths that may be added to the pipes, and "
    "angles that corners may be fitted at. Add them yourself if your own record says so. Welds of "
    "caps and plates at the ends of a rail are not counted."
)


def straightness_pages(model: Model, layout: Layout) -> tuple[Page, ...]:
    """The sheets of every rail; none where the job has no ``[weld]`` table."""
    welding = model.job.welding
    if welding is None:
        return ()
    _, width_mm, _ = columns_of(layout)
    units = model.job.units
    elements: list[Element] = [Heading("Straight after welding", 13.0), Paragraph(_WHICH_WAY, _TEXT_PT)]
    for rail in model.rails:
        if rail.straightness is not None:
            elements += _rail_elements(rail, rail.straightness, welding, units, width_mm)
    elements += [Heading("Order of welding"), Steps(ORDER, size_pt=_TEXT_PT), *_trials(units, width_mm)]
    elements += [Heading("Cautions"), Steps(CAUTIONS, "•", _TEXT_PT)]
    marks = tuple(
        run.pipe for rail in model.rails if rail.straightness is not None for run in rail.straightness.runs
    )
    return flow_pages(SECTION, "Straight after welding", elements, layout, marks)


def _rail_elements(
    rail: Rail, found: Straightness, welding: Welding, units: str, width_mm: float
) -> Iterator[Element]:
    yield Heading(rail_title(rail), 12.0)
    if not found.runs:
        words = "No weld is listed on the side of a run, so nothing bends: only its joints shrink."
        yield Paragraph(words, _TEXT_PT)
    for run in found.runs:
        yield from _run_elements(run, welding, units, width_mm)
    tables = [table for table in rail_tables(rail, found, units) if table.rows]
    if tables and found.losses:
        yield Paragraph(_OFFERED, _TEXT_PT)
    yield from (_kept_whole(table, width_mm) for table in tables)


def _kept_whole(table: Table, width_mm: float) -> Element:
    """The table, on one page where it is short."""
    return Figure(*stack([table], width_mm)) if len(table.rows) <= _SHORT else table


def _run_elements(run: BentRun, welding: Welding, units: str, width_mm: float) -> Iterator[Element]:
    note, figure = run_figure(run, units, width_mm)
    length = format_length(run.length_mm, units)
    words: list[Element] = [Paragraph(bend_words(run, units), _TEXT_PT)]
    across = across_words(run, units)
    words += [Paragraph(across, _TEXT_PT)] if across else []
    heading = f"Pipe {run.pipe}, {length} long; hook the tape at {run.datum.end}"
    head = [Heading(heading), *words, figure]
    picture, box = stack([*head, Paragraph(note, 8.0)], width_mm)
    yield Figure(picture, box)
    for line in preset_words(run, welding, units):
        yield Paragraph(line, _TEXT_PT)
    for table in (supports_table(run, units), side_welds_table(run, units)):
        if table.rows:
            yield _kept_whole(table, width_mm)


def _trials(units: str, width_mm: float) -> Iterator[Element]:
    example = ("1/8", '"4 ft" --units in') if units == INCH else ("3", "1200")
    held = "1/4 --left 1/32" if units == INCH else "6 --left 0.8"
    head: list[Element] = [Heading("First trial: how far one weld turns the pipe"), trial_figure()]
    yield Figure(*stack(head, width_mm))
    yield Steps(
        (
            "Take a spare length of the same pipe, at least 20 times its OD, and straight: roll it on the "
            "table, or measure the bow that it has and subtract it.",
            "Weld one post (or a short end of the same pipe) at its middle, as in the job: same fit, leg, "
            "heat and speed. Leave the pipe free. Let it cool to the hand.",
            "Lay a long straight edge along the side AWAY from the weld: it touches at the middle. Rock it "
            "until the gaps at its two ends are the same: that gap is the bow h, and from one gap to the "
            "other is the span L, with the weld half way.",
            f"wrapwright trial --bow {example[0]} --span {example[1]} prints the line to enter: kink = 4h/L. "
            "It reads low by at most the length of pipe that the weld heats over 2L.",
        ),
        size_pt=_TEXT_PT,
    )
    yield Heading("Second trial: how much of a clamped preset stays")
    yield Steps(
        (
            "Another spare length, the same weld, over the same span. Hold it bent away from the first "
            "trial's bow: shims under the middle, clamps at both ends, its welded side away from the table. "
            "Measure the bow p that it is held at.",
            "Weld it, leave it clamped until it is cold to the hand, release it, and measure the bow r that "
            "is left: + where the straight edge still touches at the middle; − where it touches at its ends, "
            "the gap then being at the middle.",
            f"wrapwright trial --bow {example[0]} --span {example[1]} --preset {held} prints kept = "
            "(h − r)/p. Under 0 or over 1 something was measured wrong.",
        ),
        size_pt=_TEXT_PT,
    )
