"""A proven least cost, quickly, from what sizes are worth by rule rather than by the prices of a program.

Any worth of the sizes gives a bound: scaled down until no pattern is worth more than its stock costs, what
is wanted is worth no more than any stock that makes it (Farley, 1990).  The rules here are dual feasible
functions (Fekete and Schepers, 2001), which count sizes by how many of them a piece of stock can take.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from templates_core.stock.stock_patterns import SLACK, Array, Demand, FirstPlan, Kind, Pricer, cost_of

MOST_PARTS, CUT_OFFS = 12, 16
"""Rules of one kind tried: by how many equal parts stock is thought of, and from where sizes count."""


def quick_bound(demand: Demand, kinds: Sequence[Kind], pricer: Pricer, plan: FirstPlan) -> float:
    """A bound in dearest pieces: one that proves the plan to cost least, where a rule gives it.

    Else what sizes are worth by themselves gives.  A rule by which the patterns of the plan are worth too
    much is not worked out.
    """
    cost = plan_cost(kinds, plan)
    by_size = 0.0
    for room in dict.fromkeys(pricer.rooms):
        for number, worth in enumerate(_worths(pricer.sizes / room)):
            if worth.max() <= 0:
                continue
            worth = worth / worth.max()  # noqa: PLW2901 (so that it is scaled down, never up)
            could_be = proven(demand, kinds, worth, _worth_in(plan, worth, len(kinds)))
            if number and least_cost(kinds, could_be) < cost:
                continue
            bound = proven(demand, kinds, worth, pricer.most(worth))
            if least_cost(kinds, bound) >= cost:
                return bound
            by_size = max(by_size, bound)
    return by_size


def _worth_in(plan: FirstPlan, worth: Array, kinds: int) -> Array:
    """For each kind what the pattern of the plan is worth that is worth most."""
    most = np.zeros(kinds)
    for pattern in plan.used:
        most[pattern.kind] = max(most[pattern.kind], sum(worth[row] * count for row, count in pattern.items))
    return most


def _worths(shares: Array) -> Iterator[Array]:
    """Worths of sizes that are these shares of the room in a piece of stock."""
    yield shares
    for cut_off in np.unique(np.quantile(shares, np.linspace(0.0, 0.75, CUT_OFFS))):
        counts, whole = shares >= cut_off - 1e-12, shares > 1 - cut_off + 1e-12
        yield np.where(whole, 1.0, np.where(counts, 0.5, 0.0))
        yield np.where(whole, 1.0, np.where(counts, shares, 0.0))
    for parts in range(1, MOST_PARTS + 1):
        split = (parts + 1) * shares
        even = np.abs(split - np.rint(split)) < 1e-9
        yield np.where(even, shares, np.floor(split) / parts)


def proven(demand: Demand, kinds: Sequence[Kind], worth: Array, most: Array) -> float:
    """Bound from what rows are worth, scaled down until no pattern is worth more than its stock costs.

    most: for each kind, what no pattern of it is worth more than.
    """
    costs = np.array([cost_of(kind, kinds) for kind in kinds])
    scale = min([1.0, *(float(cost / high) for cost, high in zip(costs, most, strict=True) if high > 0)])
    bound = scale * float(np.dot(worth, demand.wanted))
    for move in demand.moves:
        bound -= scale * move.step * move.most * max(0.0, worth[move.out] - worth[move.into])
    for kind, cost, high in zip(kinds, costs, most, strict=True):
        bound -= kind.available * (scale * float(high) if kind.available > 0 else float(cost))
    return max(0.0, bound)


def least_cost(kinds: Sequence[Kind], bound: float) -> int:
    """A bound in dearest pieces, rounded up to a cost that stock can come to."""
    dearest, unit = max(kind.cost for kind in kinds), math.gcd(*(kind.cost for kind in kinds))
    return unit * math.ceil((bound - SLACK) * dearest / unit)


def plan_cost(kinds: Sequence[Kind], plan: FirstPlan) -> int:
    """Of what it buys; where it takes more than can be had, more than any plan that doesn't."""
    return sum(
        kind.cost * n if kind.buyable else n * 1000 * len(kinds) * max(one.cost for one in kinds)
        for kind, n in zip(kinds, plan.bought(kinds), strict=True)
    )
