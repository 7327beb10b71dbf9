"""The buy list: elbows by kind, and pipe."""

from __future__ import annotations

from render.figures.elbow_tables import buy_tables
from render.figures.stock_tables import proof_words
from render.pages.flow import Element, Heading, Paragraph, Steps, flow_pages
from render.pages.paper import Layout, Page
from templates_core.model import Model
from templates_core.units import format_length

SECTION = "Buy list"
_TEXT_PT = 9.0


def buy_pages(model: Model, layout: Layout) -> tuple[Page, ...]:
    """What to buy for the whole job, and what these numbers leave out."""
    elbows, pipe, sticks = buy_tables(model)
    elements: list[Element] = [Heading("Buy list", 13.0)]
    if elbows.rows:
        elements += [elbows, Heading("About the elbows"), Steps(_elbow_notes(model), "•", _TEXT_PT)]
    else:
        elements.append(Paragraph(_no_elbows(model), _TEXT_PT))
    elements += [
        pipe,
        *([sticks] if sticks.rows else []),
        Heading("About the pipe"),
        Steps(_pipe_notes(model), "•", _TEXT_PT),
    ]
    marks = tuple(mark for line in model.buy_list for mark in line.marks)
    return flow_pages(SECTION, "Buy list", elements, layout, marks)


def _elbow_notes(model: Model) -> tuple[str, ...]:
    notes = [
        f"Pieces share elbows. {proof_words(model.elbow_share.cost, model.elbow_share.bound)} "
        "No spare is counted: one more of each kind that is cut leaves room for a mistake. The cut list "
        "shows what comes out of each.",
        "Cut pieces all of one batch where you can, and tape one of it (see Measure first) before cutting.",
        "A 45 is not half of a 90: buy the kinds that are listed.",
    ]
    taped = [line.elbow.name for line in model.buy_list if line.elbow.name in model.job.taped]
    if taped:
        names = ", ".join(taped)
        notes.append(f"Drawn for elbows as measured: {names}. Elbows of another batch are measured again.")
    return tuple(notes)


def _pipe_notes(model: Model) -> tuple[str, ...]:
    shop, units = model.job.shop, model.job.units
    kerf = format_length(shop.kerf_mm, units, fine=True)
    return (
        f"The sticks allow for the kerf of each cut ({kerf}) and the tips of mitres. {_proofs(model)} "
        "The cut list shows what comes out of each.",
        "Brackets, plates, end caps, filler and gas are not in this list.",
    )


def _proofs(model: Model) -> str:
    """How good the sharing of sticks is; of each size where there are several."""
    words = [proof_words(one.share.cost, one.share.bound) for one in model.pipe_shares]
    if len(words) == 1:
        return words[0]
    return " ".join(f"{one.pipe.name}: {said}" for one, said in zip(model.pipe_shares, words, strict=True))


def _no_elbows(model: Model) -> str:
    if any(rail.corners for rail in model.rails):
        return "No elbows: every corner of this job is mitred."
    return "No elbows: this job has no corners."
