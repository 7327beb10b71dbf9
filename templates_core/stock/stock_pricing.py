"""Finds the patterns worth having where there are too many to list, a bound, and a first plan.

Patterns are found by the dual prices of the program with fractions allowed (Gilmore and Gomory, 1961), and
the bound is proven by its duals (Farley, 1990).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from templates_core.stock.stock_bounds import least_cost, plan_cost, proven
from templates_core.stock.stock_patterns import (
    SLACK,
    Demand,
    FirstPlan,
    Kind,
    Pattern,
    Pricer,
    Told,
    cost_of,
)
from templates_core.stock.stock_solver import Program

MOST_ROUNDS, DIVE_ROUNDS = 600, 12
MOST_WORK = 2_500_000_000
"""Of the solver (`Program.work`) at which no more patterns are looked for."""
MOST_ROWS, MOST_EXACT_ROWS = 200, 700
"""With more rows than this, a first plan that is given is only bounded: bettering it takes too long."""
CHECK_ROUNDS = 20
"""Rounds between two looks at the bound."""
ROUND_UP = (0.6, 0.9, 0.4)
"""A pattern that the relaxed program cuts this often is cut once in a first plan; each is tried in turn."""

NEAR = 0.005
"""A first plan within this of the bound is near enough."""


@dataclass(frozen=True)
class Found:
    """Patterns worth having; bound: of the cost, in dearest pieces; first: the best plan so far, if any."""

    patterns: tuple[Pattern, ...]
    bound: float
    first: FirstPlan | None


def program_of(demand: Demand, kinds: Sequence[Kind], patterns: Sequence[Pattern]) -> Program:
    """The program, with a column for each kind bought, then one for each move, then the patterns."""
    program = Program()
    for wanted in demand.wanted:
        program.row(wanted, wanted if demand.exact else math.inf)
    for kind in kinds:
        program.row(-math.inf, kind.available)
    for number, kind in enumerate(kinds):
        program.column(cost_of(kind, kinds), math.inf, [(len(demand.wanted) + number, -1)])
    for move in demand.moves:
        program.column(0.0, move.most, [(move.out, move.step), (move.into, -move.step)])
    for pattern in patterns:
        program.column(0.0, math.inf, _entries(pattern, demand))
    return program


def _entries(pattern: Pattern, demand: Demand) -> list[tuple[int, int]]:
    return [*pattern.items, (len(demand.wanted) + pattern.kind, 1)]


def generate(
    demand: Demand,
    kinds: Sequence[Kind],
    patterns: Sequence[Pattern],
    pricer: Pricer,
    told: Told | None,
    first: FirstPlan | None = None,
    bound: float = 0.0,
) -> Found:
    """Patterns worth having, starting from some that can make the demand.

    first: a plan to better.  bound: that is already proven, in dearest pieces.
    """
    columns = list(dict.fromkeys([*patterns, *([] if first is None else first.used)]))
    program = program_of(demand, kinds, columns)
    if first is None or not is_large(demand):
        _price(program, demand, columns, pricer, told)
    enough = math.inf if first is None else plan_cost(kinds, first)
    bound = max(bound, _bound(demand, kinds, columns, pricer, told, enough))
    if first is not None and (least_cost(kinds, bound) >= enough or is_large(demand)):
        return Found(tuple(columns), bound, first)
    if not demand.exact:
        first = _first_plan(program, demand, kinds, columns, pricer, bound, first)
    return Found(tuple(columns), bound, first)


def is_large(demand: Demand) -> bool:
    """Whether there are too many rows to better a first plan; of exact ones, half are of middle pieces."""
    return len(demand.wanted) > (MOST_EXACT_ROWS if demand.exact else MOST_ROWS)


def _price(
    program: Program,
    demand: Demand,
    columns: list[Pattern],
    pricer: Pricer,
    told: Told | None = None,
    loose: bool = False,
    rounds: int = MOST_ROUNDS,
) -> bool:
    """Add patterns to the program and the columns, by their prices.

    False once no more are worth it, or the work is too much.
    """
    known, rows = set(columns), len(demand.wanted)
    for number in range(rounds):
        duals = program.solve_relaxed()
        if program.work > MOST_WORK:
            return False
        found = pricer.improving(duals[:rows], -duals[rows:], loose)
        found = [one for one in dict.fromkeys(found) if one not in known]
        if told is not None:
            told(number + 1, rounds)
        if not found:
            return False
        for pattern in found:
            program.column(0.0, math.inf, _entries(pattern, demand))
        columns += found
        known.update(found)
    return True


def _first_plan(
    program: Program,
    demand: Demand,
    kinds: Sequence[Kind],
    columns: list[Pattern],
    pricer: Pricer,
    bound: float,
    first: FirstPlan | None,
) -> FirstPlan:
    """The cheapest of a few plans; no more are tried once one is near the bound, rounded up."""
    near = least_cost(kinds, bound) * (1 + NEAR) + SLACK
    plans = [] if first is None else [first]
    for share in ROUND_UP:
        times = _dive(program, demand, kinds, columns, pricer, share)
        plans.append(FirstPlan({one: n for one, n in zip(columns, times, strict=False) if n}))
        if plan_cost(kinds, plans[-1]) <= near:
            break
    return min(plans, key=lambda plan: plan_cost(kinds, plan))


def _dive(
    program: Program,
    demand: Demand,
    kinds: Sequence[Kind],
    columns: list[Pattern],
    pricer: Pricer,
    round_up: float,
) -> list[int]:
    """A plan: cut what the relaxed program cuts in whole numbers, and look for patterns for what is left."""
    times: list[int] = []
    _bound_rows(program, demand.wanted, [kind.available for kind in kinds])
    program.solve_relaxed()
    left, available = list(demand.wanted), [kind.available for kind in kinds]
    first = len(kinds) + len(demand.moves)
    while any(left):
        amounts = program.values()[first:]
        whole = [int(amount + 1.0 - round_up + SLACK) for amount in amounts]
        if not any(whole):
            whole[int(np.argmax(amounts))] = 1
        times += [0] * (len(whole) - len(times))
        for number, count in enumerate(whole):
            times[number] += count
            available[columns[number].kind] -= count
            for row, each in columns[number].items if count else ():
                left[row] = max(0, left[row] - count * each)
        _bound_rows(program, left, available)
        _price(program, demand, columns, pricer, rounds=DIVE_ROUNDS)
        program.solve_relaxed()
    return times


def _bound_rows(program: Program, wanted: Sequence[int], available: Sequence[int]) -> None:
    for row, count in enumerate(wanted):
        program.bound_row(row, count, math.inf)
    for kind, count in enumerate(available):
        program.bound_row(len(wanted) + kind, -math.inf, count)


def _bound(
    demand: Demand,
    kinds: Sequence[Kind],
    columns: Sequence[Pattern],
    pricer: Pricer,
    told: Told | None,
    enough: float,
) -> float:
    """Proven least cost, from prices that loose patterns hardly better.

    No more are looked for once the bound comes to a cost that is enough.
    """
    loose, bound = list(columns), 0.0
    program = program_of(demand, kinds, loose)
    while True:
        worth = program.solve_relaxed()[: len(demand.wanted)]
        bound = max(bound, proven(demand, kinds, worth, pricer.most(worth)))
        if least_cost(kinds, bound) >= enough:
            return bound
        if not _price(program, demand, loose, pricer, told, loose=True, rounds=CHECK_ROUNDS):
            break
    worth = program.solve_relaxed()[: len(demand.wanted)]
    return max(bound, proven(demand, kinds, worth, pricer.most(worth)))
