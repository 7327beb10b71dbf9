"""Marking off a stick: where each pipe starts and ends along it, all from one end."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import count, groupby

from templates_core.model import Model
from templates_core.stock.sticks import SizeShare
from templates_core.stock.stock_pipe import StickPlan


@dataclass(frozen=True)
class StickPlace:
    """One pipe in a stick.

    number: from 1.  start_mm, end_mm: from the end of the stick once that is trimmed; the blade takes its
    kerf beyond end_mm.  marks: of the pipes that stand here in sticks cut so, and how many of each.
    """

    number: int
    length_mm: float
    start_mm: float
    end_mm: float
    marks: tuple[tuple[str, int], ...]


@dataclass(frozen=True)
class StickMarks:
    """How sticks that are cut alike are marked off.

    number: of the plan, from 1.  trim_mm: cut off first, the blade's kerf in it.  rest_mm: from the last
    line to the other end of the stick, so that trim_mm, the last end_mm and rest_mm are the whole stick.
    """

    number: int
    plan: StickPlan
    trim_mm: float
    kerf_mm: float
    places: tuple[StickPlace, ...]
    rest_mm: float

    def alike(self) -> Iterator[tuple[StickPlace, ...]]:
        """Places of one length together, which stand side by side."""
        for _, group in groupby(self.places, lambda place: place.length_mm):
            yield tuple(group)


@dataclass(frozen=True)
class PipeSticks:
    """Sticks of one size of pipe as they are marked off, in the order of its plans."""

    sized: SizeShare
    marked: tuple[StickMarks, ...]


def sticks_by_size(model: Model) -> tuple[PipeSticks, ...]:
    """Every stick of the job, by size of pipe; plans are numbered through all sizes."""
    shop, stock = model.job.shop, model.job.stock
    number = count(1)
    return tuple(
        PipeSticks(
            sized,
            tuple(
                mark_off(next(number), plan, shop.kerf_mm, stock.end_trim_mm) for plan in sized.share.plans
            ),
        )
        for sized in model.pipe_shares
    )


def mark_off(number: int, plan: StickPlan, kerf_mm: float, end_trim_mm: float) -> StickMarks:
    """Lines of a plan from the end that is trimmed first."""
    places, at = [], 0.0
    for place, length in enumerate(plan.lengths_mm):
        marks = tuple(Counter(copy[place] for copy in plan.copies).items())
        places.append(StickPlace(place + 1, length, at, at + length, marks))
        at += length + kerf_mm
    rest = plan.stock.length_mm - end_trim_mm - places[-1].end_mm
    return StickMarks(number, plan, end_trim_mm, kerf_mm, tuple(places), rest)


def marks_of(places: Sequence[StickPlace]) -> tuple[tuple[str, int], ...]:
    """Marks of several places together, with how many of each."""
    counts: Counter[str] = Counter()
    for place in places:
        counts.update(dict(place.marks))
    return tuple(counts.items())
