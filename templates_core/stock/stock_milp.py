"""Sharing demand out to stock at proven least cost.

A pattern is what comes out of one elbow or one stick.  An integer program chooses how often each is cut:

    minimise   sum of cost[k]·bought[k]
    so that    what the patterns give covers the demand (or meets it exactly), row by row
               patterns of kind k used − bought[k] ≤ on hand[k]

What is on hand costs nothing, so it is used before any is bought.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from templates_core.stock.stock_bounds import least_cost, plan_cost, quick_bound
from templates_core.stock.stock_patterns import (
    SLACK,
    Array,
    Demand,
    FirstPlan,
    Kind,
    Pattern,
    Plan,
    Pricer,
    Told,
)
from templates_core.stock.stock_pricing import Found, generate, is_large, program_of
from templates_core.stock.stock_solver import Program

DIRECT_PATTERNS = 3000
"""Up to about so many patterns are handed to the integer program as they are."""
MOST_NODES, MOST_NODES_OF_SOME = 2000, 150
"""Of the integer program with all patterns, and with those worth having, where more hardly helps."""
PATTERNS_TO_BETTER = 1500
"""A first plan is taken as it is with more: the integer program is slow then and seldom betters it."""
TIDY_NODES = 20


def plan_stock(
    demand: Demand,
    kinds: Sequence[Kind],
    patterns: Sequence[Pattern],
    pricer: Pricer | None = None,
    told: Told | None = None,
    first: FirstPlan | None = None,
) -> Plan:
    """Least cost plan.

    patterns: all there are, or with a pricer some to start from, that can make the demand.  first: a plan to
    better, which is taken as it is where a quick bound proves it best.
    """
    if pricer is None:
        return _cheapest(demand, kinds, patterns, 0.0, None, all_known=True)
    bound = 0.0
    if first is not None:
        cost = plan_cost(kinds, first)
        bound = quick_bound(demand, kinds, pricer, first)
        if least_cost(kinds, bound) >= cost:
            return _plan(demand, kinds, first, cost)
    found = generate(demand, kinds, patterns, pricer, told, first, bound)
    if found.first is not None and not _worth_bettering(demand, found):
        return _plan(demand, kinds, found.first, least_cost(kinds, found.bound))
    return _cheapest(demand, kinds, found.patterns, found.bound, found.first, all_known=False)


def _worth_bettering(demand: Demand, found: Found) -> bool:
    """Whether the integer program is likely to better the first plan.

    Where surplus may be made, that was looked for with patterns of its own, so it is only where they are few.
    """
    return not is_large(demand) and (demand.exact or len(found.patterns) <= PATTERNS_TO_BETTER)


def _cheapest(
    demand: Demand,
    kinds: Sequence[Kind],
    patterns: Sequence[Pattern],
    bound: float,
    first: FirstPlan | None,
    all_known: bool,
) -> Plan:
    """The plan of these patterns; bound: in dearest pieces; first: a plan of some of them to better."""
    dearest, least = max(kind.cost for kind in kinds), least_cost(kinds, bound)
    program = program_of(demand, kinds, patterns)
    nodes = MOST_NODES if all_known else MOST_NODES_OF_SOME
    start = None if first is None else _values(demand, kinds, patterns, first)
    values, proven = program.solve_whole(nodes, least / dearest + SLACK, start)
    if all_known:
        least = max(least, least_cost(kinds, proven))
        values = _tidied(program, kinds, patterns, values)
    amounts = [round(float(value)) for value in values[len(kinds) :]]
    times = zip(patterns, amounts[len(demand.moves) :], strict=True)
    best = FirstPlan({one: n for one, n in times if n}, tuple(amounts[: len(demand.moves)]))
    return _plan(demand, kinds, best, least)


def _values(
    demand: Demand, kinds: Sequence[Kind], patterns: Sequence[Pattern], plan: FirstPlan
) -> list[float]:
    """What the variables of the program are in a plan."""
    moved = plan.moved or (0,) * len(demand.moves)
    return [*plan.bought(kinds), *moved, *(plan.used.get(pattern, 0) for pattern in patterns)]


def _plan(demand: Demand, kinds: Sequence[Kind], plan: FirstPlan, least: int) -> Plan:
    got = plan.bought(kinds)
    bought = tuple(n if kind.buyable else 0 for kind, n in zip(kinds, got, strict=True))
    short = tuple(0 if kind.buyable else n for kind, n in zip(kinds, got, strict=True))
    cost = sum(kind.cost * n for kind, n in zip(kinds, bought, strict=True))
    moved = plan.moved or (0,) * len(demand.moves)
    bound = cost if any(short) else min(cost, max(0, least))
    return Plan(tuple(plan.used.items()), bought, moved, short, cost, bound)


def _tidied(program: Program, kinds: Sequence[Kind], patterns: Sequence[Pattern], values: Array) -> Array:
    """Of the plans that buy as cheaply, one of little trouble.

    Where every pattern is as much trouble and all stock is bought of one kind, every plan is.
    """
    troubles = np.zeros(len(values))
    troubles[len(values) - len(patterns) :] = [pattern.trouble for pattern in patterns]
    if len({pattern.trouble for pattern in patterns}) <= 1 and len(kinds) == 1 and kinds[0].available <= 0:
        return values
    return program.solve_tidier(values, len(kinds), troubles, TIDY_NODES)
