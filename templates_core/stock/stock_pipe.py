"""Pipe out of stock: which lengths are cut from which stick, at least cost, and what is left."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice

from templates_core.errors import Fault, InputError
from templates_core.jobs.job import PipeStock
from templates_core.stock import stock_milp
from templates_core.stock.stock_filling import filled_sticks
from templates_core.stock.stock_knapsack import ROUNDING_MM, StickPatterns
from templates_core.stock.stock_milp import plan_stock
from templates_core.stock.stock_patterns import Demand, FirstPlan, Kind, Pattern, Plan, Told

LISTED_SIZES = 100
"""Of more different lengths than this the ways to fill a stick are not listed one by one."""
ALIKE_MM = 1e-4
"""Lengths nearer than this are one."""


@dataclass(frozen=True)
class Blank:
    """Pipe to be cut off a stick.  length_mm: from tip to tip.  quantity: in the whole job."""

    mark: str
    where: str
    length_mm: float
    quantity: int


@dataclass(frozen=True)
class StickPlan:
    """Sticks of one length that are all cut alike.

    lengths_mm: in order from the end that is trimmed, the longest first.  copies: the marks of each stick,
    in that order.  offcut_mm: what is left at its end, with its own end still untrimmed; 0 for none.
    usable: whether that is as long as what the shop keeps.
    """

    stock: PipeStock
    lengths_mm: tuple[float, ...]
    copies: tuple[tuple[str, ...], ...]
    offcut_mm: float
    usable: bool

    @property
    def quantity(self) -> int:
        """Sticks cut so."""
        return len(self.copies)


@dataclass(frozen=True)
class SticksUsed:
    """Sticks of one length in the whole job: used from what is on hand, and bought."""

    stock: PipeStock
    from_hand: int
    to_buy: int


@dataclass(frozen=True)
class PipeShare:
    """Pipe shared out to sticks.

    cost, bound: of what is bought, and what no plan can better; in cents where priced, else in whole
    millimetres of stick.  too_long: marks that no stick is long enough for, which are in no plan.
    """

    plans: tuple[StickPlan, ...]
    used: tuple[SticksUsed, ...]
    cost: int
    bound: int
    priced: bool
    too_long: tuple[str, ...]


def usable_mm(stock: PipeStock, end_trim_mm: float) -> float:
    """What a stick has between the trims of its two ends [mm]."""
    return stock.length_mm - 2 * end_trim_mm


def share_pipe(
    blanks: Sequence[Blank],
    stock: Sequence[PipeStock],
    kerf_mm: float,
    end_trim_mm: float,
    least_offcut_mm: float,
    told: Told | None = None,
) -> PipeShare:
    """Share blanks out to sticks.

    A kerf is lost between two lengths; what is left after the last one may be less than a kerf.  Raises
    InputError where there are not enough sticks on hand and no more can be bought.
    """
    rooms = [usable_mm(one, end_trim_mm) + kerf_mm for one in stock]
    fitting = [one for one in blanks if one.length_mm + kerf_mm <= max(rooms) + ROUNDING_MM]
    too_long = tuple(one.mark for one in blanks if one not in fitting)
    priced = all(one.price_cents is not None for one in stock if one.buyable)
    if not fitting:
        return PipeShare((), (), 0, 0, priced, too_long)
    sizes = _sizes(fitting)
    lengths = [group[0].length_mm + kerf_mm for group in sizes]
    wanted = [sum(one.quantity for one in group) for group in sizes]
    plan = _plan(lengths, wanted, rooms, stock, told)
    _refuse_shortage(plan)
    sticks = _without_surplus(plan, wanted)
    plans = _plans(sticks, sizes, stock, kerf_mm, end_trim_mm, least_offcut_mm)
    used = _used(plans, stock)
    cost = sum(_cost(line.stock) * line.to_buy for line in used)
    return PipeShare(plans, used, cost, min(cost, plan.bound), priced, too_long)


def _cost(stock: PipeStock) -> int:
    """In cents, or without a price by its length."""
    return max(1, round(stock.length_mm) if stock.price_cents is None else stock.price_cents)


def _sizes(blanks: Sequence[Blank]) -> list[list[Blank]]:
    """Blanks of one length together, the longest lengths first; in each the longest blank first."""
    sizes: list[list[Blank]] = []
    for blank in sorted(blanks, key=lambda one: -one.length_mm):
        if sizes and sizes[-1][0].length_mm - blank.length_mm <= ALIKE_MM:
            sizes[-1].append(blank)
        else:
            sizes.append([blank])
    return sizes


def _plan(
    lengths: Sequence[float],
    wanted: Sequence[int],
    rooms: Sequence[float],
    stock: Sequence[PipeStock],
    told: Told | None,
) -> Plan:
    kinds = [Kind(_cost(one), one.on_hand, one.buyable) for one in stock]
    troubles = [1 + round(one.length_mm / 10) for one in stock]
    demand = Demand(tuple(wanted))
    patterns = _listed(lengths, wanted, rooms, troubles) if len(lengths) <= LISTED_SIZES else None
    if patterns is not None:
        return plan_stock(demand, kinds, patterns)
    start = list(_first_fits(lengths, wanted, rooms, troubles))
    filled = filled_sticks(lengths, rooms, wanted, kinds, troubles)
    first = None if filled is None else FirstPlan(filled)
    return plan_stock(demand, kinds, start, StickPatterns(lengths, rooms, wanted, troubles), told, first)


def _listed(
    lengths: Sequence[float], wanted: Sequence[int], rooms: Sequence[float], troubles: Sequence[int]
) -> list[Pattern] | None:
    """Every full stick of every kind; None where they are too many to hand over as they are."""
    sticks = (
        Pattern(kind, items, troubles[kind])
        for kind, room in enumerate(rooms)
        for items in _full_sticks(lengths, wanted, room)
    )
    patterns = list(islice(sticks, stock_milp.DIRECT_PATTERNS + 1))
    return patterns if len(patterns) <= stock_milp.DIRECT_PATTERNS else None


def _full_sticks(
    lengths: Sequence[float], wanted: Sequence[int], room: float
) -> Iterator[tuple[tuple[int, int], ...]]:
    """Every way to fill a stick so that nothing more that is wanted fits; lengths descending."""

    def fill(
        row: int, left: float, taken: tuple[tuple[int, int], ...], spare: float
    ) -> Iterator[tuple[tuple[int, int], ...]]:
        """spare: the shortest length of which more could still be had."""
        if row == len(lengths):
            if taken and spare > left + ROUNDING_MM:
                yield taken
            return
        length = lengths[row]
        most = min(wanted[row], int((left + ROUNDING_MM) / length))
        for count in range(most, -1, -1):
            item = ((row, count),) if count else ()
            yield from fill(
                row + 1, left - count * length, taken + item, spare if count == wanted[row] else length
            )

    yield from fill(0, room, (), float("inf"))


def _first_fits(
    lengths: Sequence[float], wanted: Sequence[int], rooms: Sequence[float], troubles: Sequence[int]
) -> Iterator[Pattern]:
    """For each kind of stick, each length alone, then what cutting the longest that fits gives."""
    for kind, room in enumerate(rooms):
        left = [n if length <= room + ROUNDING_MM else 0 for n, length in zip(wanted, lengths, strict=True)]
        yield from (Pattern(kind, ((row, 1),), troubles[kind]) for row, n in enumerate(left) if n)
        while any(left):
            rest, counts = room + ROUNDING_MM, [0] * len(left)
            for row, length in enumerate(lengths):
                counts[row] = min(left[row], int(rest / length))
                rest -= counts[row] * length
            times = min(n // count for n, count in zip(left, counts, strict=True) if count)
            left = [n - times * count for n, count in zip(left, counts, strict=True)]
            yield Pattern(kind, tuple((row, n) for row, n in enumerate(counts) if n), troubles[kind])


def _refuse_shortage(plan: Plan) -> None:
    if any(plan.short):
        what = "the sticks on hand don't make all the pipes, and no stick is given that can be bought"
        remedy = "list a length that can be bought as [[stock.pipe]], or leave out buy = false"
        raise InputError([Fault("stock.pipe", what, remedy)])


def _without_surplus(plan: Plan, wanted: Sequence[int]) -> list[tuple[int, list[int]]]:
    """Each stick as its kind and the rows cut from it, longest first, with no more than is wanted."""
    left = list(wanted)
    sticks = []
    for pattern, times in plan.used:
        for _ in range(times):
            rows = []
            for row, count in pattern.items:
                taken = min(count, left[row])
                left[row] -= taken
                rows += [row] * taken
            if rows:
                sticks.append((pattern.kind, rows))
    return sticks


def _plans(
    sticks: Sequence[tuple[int, list[int]]],
    sizes: Sequence[Sequence[Blank]],
    stock: Sequence[PipeStock],
    kerf_mm: float,
    end_trim_mm: float,
    least_offcut_mm: float,
) -> tuple[StickPlan, ...]:
    """Sticks cut alike together, in the order of the stock; marks are given out in order of the job."""
    marks = [iter([one.mark for one in group for _ in range(one.quantity)]) for group in sizes]
    alike: dict[tuple[int, tuple[int, ...]], list[tuple[str, ...]]] = defaultdict(list)
    for kind, rows in sorted(sticks, key=lambda stick: (stick[0], stick[1])):
        alike[kind, tuple(rows)].append(tuple(next(marks[row]) for row in rows))
    plans = []
    for (kind, rows_of), copies in alike.items():
        lengths = tuple(sizes[row][0].length_mm for row in rows_of)
        left = stock[kind].length_mm - end_trim_mm - sum(length + kerf_mm for length in lengths)
        offcut = max(0.0, left)
        plans.append(StickPlan(stock[kind], lengths, tuple(copies), offcut, offcut >= least_offcut_mm))
    return tuple(plans)


def _used(plans: Sequence[StickPlan], stock: Sequence[PipeStock]) -> tuple[SticksUsed, ...]:
    lines = []
    for one in stock:
        count = sum(plan.quantity for plan in plans if plan.stock is one)
        if count:
            lines.append(SticksUsed(one, min(count, one.on_hand), max(0, count - one.on_hand)))
    return tuple(lines)
