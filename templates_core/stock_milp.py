"""Sharing demand out to stock at proven least cost.

A pattern is what comes out of one elbow or one stick.  An integer program chooses how often each is cut:

    minimise   sum of cost[k]·bought[k]
    so that    what the patterns give covers the demand (or meets it exactly), row by row
               patterns of kind k used − bought[k] ≤ on hand[k]

What is on hand costs nothing, so it is used before any is bought.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from templates_core.stock_patterns import SLACK, Array, Demand, Kind, Pattern, Plan, Pricer, Told
from templates_core.stock_pricing import generate, how_many_bought, program_of
from templates_core.stock_solver import Program

DIRECT_PATTERNS = 3000
"""Up to about so many patterns are handed to the integer program as they are."""
MOST_NODES, MOST_NODES_OF_SOME = 2000, 150
"""Of the integer program with all patterns, and with those worth having, where more hardly helps."""
PATTERNS_TO_BETTER = 1500
"""A first plan made of more patterns is taken as it is: the integer program is slow and seldom betters it."""
TIDY_NODES = 20


def plan_stock(
    demand: Demand,
    kinds: Sequence[Kind],
    patterns: Sequence[Pattern],
    pricer: Pricer | None = None,
    told: Told | None = None,
) -> Plan:
    """Least cost plan.

    patterns: all there are, or with a pricer some to start from, that can make the demand.
    """
    if pricer is None:
        return _cheapest(demand, kinds, patterns, 0.0, None, all_known=True)
    found = generate(demand, kinds, patterns, pricer, told)
    return _cheapest(demand, kinds, found.patterns, found.bound, found.start, all_known=False)


def _cheapest(
    demand: Demand,
    kinds: Sequence[Kind],
    patterns: Sequence[Pattern],
    bound: float,
    start: Sequence[int] | None,
    all_known: bool,
) -> Plan:
    """The plan of these patterns; bound: in dearest pieces; start: how often each is cut in one."""
    dearest, unit = max(kind.cost for kind in kinds), math.gcd(*(kind.cost for kind in kinds))
    program = program_of(demand, kinds, patterns)
    nodes = MOST_NODES if all_known else MOST_NODES_OF_SOME
    least = unit * math.ceil((bound - SLACK) * dearest / unit)
    first = None if start is None else [*how_many_bought(kinds, patterns, start), *start]
    if first is not None and len(patterns) > PATTERNS_TO_BETTER:
        values, proven = np.array(first, dtype=float), 0.0
    else:
        values, proven = program.solve_whole(nodes, least / dearest + SLACK, first)
    if all_known:
        least = max(least, unit * math.ceil((proven - SLACK) * dearest / unit))
        values = _tidied(program, kinds, patterns, values)
    amounts = [round(float(value)) for value in values]
    got, rest = amounts[: len(kinds)], amounts[len(kinds) :]
    bought = tuple(n if kind.buyable else 0 for kind, n in zip(kinds, got, strict=True))
    short = tuple(0 if kind.buyable else n for kind, n in zip(kinds, got, strict=True))
    used = tuple((one, n) for one, n in zip(patterns, rest[len(demand.moves) :], strict=True) if n)
    cost = sum(kind.cost * n for kind, n in zip(kinds, bought, strict=True))
    moved = tuple(rest[: len(demand.moves)])
    return Plan(used, bought, moved, short, cost, cost if any(short) else min(cost, max(0, least)))


def _tidied(program: Program, kinds: Sequence[Kind], patterns: Sequence[Pattern], values: Array) -> Array:
    """Of the plans that buy as cheaply, one of little trouble.

    Where every pattern is as much trouble and all stock is bought of one kind, every plan is.
    """
    troubles = np.zeros(len(values))
    troubles[len(values) - len(patterns) :] = [pattern.trouble for pattern in patterns]
    if len({pattern.trouble for pattern in patterns}) <= 1 and len(kinds) == 1 and kinds[0].available <= 0:
        return values
    return program.solve_tidier(values, len(kinds), troubles, TIDY_NODES)
