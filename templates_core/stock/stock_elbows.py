"""Pieces out of stock elbows: which are cut from which, at least cost, and what is left."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from templates_core.errors import Fault, InputError
from templates_core.fittings import StockElbow
from templates_core.jobs.job import ElbowStock, Shop
from templates_core.stock.elbow_filling import Filling, filled_elbows
from templates_core.stock.elbow_layouts import limits_of
from templates_core.stock.elbow_patterns import ElbowPatterns, cuttings_of
from templates_core.stock.elbow_plans import ElbowPlan, give_out, plans_of, whole_plan
from templates_core.stock.stock_milp import plan_stock
from templates_core.stock.stock_patterns import Demand, FirstPlan, Kind, Move, Pattern, Plan, Told

ALIKE_RAD = math.radians(0.001)
"""Angles nearer than this are one: 0.008 mm on the heel of an NPS 12 long radius elbow."""
AGREE_MM = 0.01
"""A piece may come of another kind of elbow when their sizes agree within this."""


@dataclass(frozen=True)
class PieceWanted:
    """A piece of a corner.

    elbow: of the kind that it was chosen from.  angle_rad: that it takes of its elbow.  whole: not to be cut.
    quantity: in the whole job.  keeps_face: whether it must keep a stock face.
    """

    mark: str
    where: str
    elbow: StockElbow
    angle_rad: float
    whole: bool
    quantity: int
    keeps_face: bool = False


@dataclass(frozen=True)
class ElbowsUsed:
    """Elbows of one kind in the whole job, by number."""

    elbow: StockElbow
    whole: int
    to_cut: int
    from_hand: int
    to_buy: int
    price_cents: int | None


@dataclass(frozen=True)
class ElbowShare:
    """Pieces shared out to elbows.

    cost, bound: of what is bought, and what no plan can better; in cents where priced, else in hundredths
    of a degree of sweep.
    """

    plans: tuple[ElbowPlan, ...]
    used: tuple[ElbowsUsed, ...]
    cost: int
    bound: int
    priced: bool


def share_elbows(
    pieces: Sequence[PieceWanted],
    elbows: Sequence[StockElbow],
    stock: Sequence[ElbowStock],
    shop: Shop,
    told: Told | None = None,
) -> ElbowShare:
    """Share pieces out to elbows.

    A piece comes of its own kind of elbow, or of another with the same OD, wall, bend radius, ends and
    bevel.  All that are alike keep a stock face, or none does, when they are of one mark.  Raises InputError
    where what is on hand doesn't reach and no more can be bought.
    """
    given = {one.name: one for one in stock}
    stocked = [given.get(elbow.name, ElbowStock(elbow.name)) for elbow in elbows]
    priced = any(one.price_cents is not None for one in stocked)
    plans: list[ElbowPlan] = []
    used: list[ElbowsUsed] = []
    cost = bound = 0
    for family in _families(elbows):
        mine = [one for one in pieces if one.elbow in [elbows[number] for number in family]]
        if mine:
            kinds = [(elbows[number], stocked[number]) for number in family]
            found, plan = _share_family(mine, kinds, shop, told)
            plans += found
            used += _used(found, kinds)
            cost, bound = cost + plan.cost, bound + plan.bound
    order = [elbow.name for elbow in elbows]
    used.sort(key=lambda line: order.index(line.elbow.name))
    return ElbowShare(tuple(plans), tuple(used), cost, bound, priced)


def _families(elbows: Sequence[StockElbow]) -> list[list[int]]:
    """Numbers of the elbows of which one can take the place of another, in order of the job."""
    families: list[list[int]] = []
    for number, elbow in enumerate(elbows):
        like = next((group for group in families if _interchange(elbows[group[0]], elbow)), None)
        if like is None:
            families.append([number])
        else:
            like.append(number)
    return families


def _interchange(one: StockElbow, other: StockElbow) -> bool:
    if one.bend_radius_mm is None or other.bend_radius_mm is None:
        return False
    names = ("od_mm", "wall_mm", "bend_radius_mm", "tangent_a_mm", "tangent_b_mm", "shoulder_mm")
    return all(abs(getattr(one, name) - getattr(other, name)) <= AGREE_MM for name in names)


def _share_family(
    pieces: Sequence[PieceWanted],
    kinds: Sequence[tuple[StockElbow, ElbowStock]],
    shop: Shop,
    told: Told | None,
) -> tuple[list[ElbowPlan], Plan]:
    """Plans for elbows of which one can take the place of another."""
    wholes = [[one for one in pieces if one.whole and one.elbow == elbow] for elbow, _ in kinds]
    sizes = _sizes([one for one in pieces if not one.whole])
    asked = [
        Kind(_cost(elbow, one), one.on_hand - sum(piece.quantity for piece in whole), one.buyable)
        for (elbow, one), whole in zip(kinds, wholes, strict=True)
    ]
    wanted = [sum(one.quantity for one in group) for group in sizes]
    angles = [group[0].angle_rad for group in sizes]
    limits = [
        None if elbow.bend_radius_mm is None else limits_of(elbow, elbow.bend_radius_mm, shop)
        for elbow, _ in kinds
    ]
    cuttings, all_known = cuttings_of(angles, wanted, limits)
    by_pattern = {cutting.pattern(): cutting for cutting in cuttings}
    moves = _moves(sizes)
    pricer = first = None
    if not all_known:
        pricer = ElbowPatterns(angles, wanted, limits)
        marks = [Counter(one.quantity for one in group) for group in sizes]
        filling = filled_elbows(angles, marks, limits, asked)
        if filling is not None:
            by_pattern |= {cutting.pattern(): cutting for cutting in filling.cuttings}
            first = _first_plan(filling, moves)
    demand = Demand(tuple(n for count in wanted for n in (count, 0)), tuple(moves), exact=True)
    plan = plan_stock(demand, asked, list(by_pattern), pricer, told, first)
    _refuse_shortage(plan, kinds)
    if pricer is not None:
        by_pattern = pricer.cuttings | by_pattern
    cut = [by_pattern[pattern] for pattern, times in plan.used for _ in range(times)]
    middles = {
        mark for marks, times in zip(moves.values(), plan.moved, strict=True) for mark in marks[:times]
    }
    names = give_out(cut, [[(one.mark, one.quantity) for one in group] for group in sizes], middles)
    whole_plans = [
        whole_plan(elbow, [one.mark for one in whole for _ in range(one.quantity)])
        for (elbow, _), whole in zip(kinds, wholes, strict=True)
        if whole
    ]
    leaning = frozenset(one.mark for one in pieces if one.keeps_face)
    plans = plans_of(cut, names, [elbow for elbow, _ in kinds], shop)
    return [*whole_plans, *(replace(one, leaning=leaning) for one in plans)], plan


def _cost(elbow: StockElbow, stock: ElbowStock) -> int:
    """In cents, or without a price by its sweep, as a return is worth two 90s."""
    if stock.price_cents is not None:
        return max(1, stock.price_cents)
    return max(1, round(math.degrees(elbow.sweep_rad) * 100))


def _sizes(pieces: Sequence[PieceWanted]) -> list[list[PieceWanted]]:
    """Pieces of one angle together, each in order of the job."""
    sizes: list[list[PieceWanted]] = []
    for piece in sorted(pieces, key=lambda one: one.angle_rad):
        if sizes and piece.angle_rad - sizes[-1][0].angle_rad <= ALIKE_RAD:
            sizes[-1].append(piece)
        else:
            sizes.append([piece])
    order = {piece.mark: number for number, piece in enumerate(pieces)}
    return [sorted(group, key=lambda one: order[one.mark]) for group in sizes]


def _moves(sizes: Sequence[Sequence[PieceWanted]]) -> dict[Move, list[str]]:
    """From end to middle pieces, all of one mark at a time: marks that are alike, by how many each has."""
    moves = {}
    for size, group in enumerate(sizes):
        free = [one for one in group if not one.keeps_face]
        for quantity in sorted({one.quantity for one in free}):
            marks = [one.mark for one in free if one.quantity == quantity]
            moves[Move(2 * size, 2 * size + 1, quantity, len(marks))] = marks
    return moves


def _first_plan(filling: Filling, moves: Iterable[Move]) -> FirstPlan:
    used = Counter[Pattern]()
    for cutting, times in filling.cuttings.items():
        used[cutting.pattern()] += times
    return FirstPlan(used, tuple(filling.middles[move.out // 2, move.step] for move in moves))


def _refuse_shortage(plan: Plan, kinds: Sequence[tuple[StockElbow, ElbowStock]]) -> None:
    faults = [
        Fault(
            f"stock.elbow {elbow.name}",
            f"{short} more are needed than are on hand",
            "get more, or leave out buy = false",
        )
        for (elbow, _), short in zip(kinds, plan.short, strict=True)
        if short
    ]
    if faults:
        raise InputError(faults)


def _used(plans: Sequence[ElbowPlan], kinds: Sequence[tuple[StockElbow, ElbowStock]]) -> Iterator[ElbowsUsed]:
    for elbow, stock in kinds:
        whole = sum(plan.quantity for plan in plans if plan.elbow is elbow and not plan.lines)
        to_cut = sum(plan.quantity for plan in plans if plan.elbow is elbow and plan.lines)
        from_hand = min(whole + to_cut, stock.on_hand)
        if whole + to_cut:
            yield ElbowsUsed(elbow, whole, to_cut, from_hand, whole + to_cut - from_hand, stock.price_cents)
