"""Finds the patterns worth having where there are too many to list, a bound, and a first plan.

Patterns are found by the dual prices of the program with fractions allowed (Gilmore and Gomory, 1961), and
the bound is proven by its duals (Farley, 1990).
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from templates_core.stock_patterns import SLACK, Array, Demand, Kind, Pattern, Pricer, Told, cost_of
from templates_core.stock_solver import Program

MOST_ROUNDS, DIVE_ROUNDS = 600, 12
ROUND_UP = (0.6, 0.9, 0.4)
"""A pattern that the relaxed program cuts this often is cut once in a first plan; each is tried in turn."""

NEAR = 0.005
"""A first plan within this of the bound is near enough."""


@dataclass(frozen=True)
class Found:
    """Patterns worth having; bound: of the cost, in dearest pieces; start: how often each is cut in one plan.

    start is None where no first plan was made.
    """

    patterns: tuple[Pattern, ...]
    bound: float
    start: tuple[int, ...] | None


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
    demand: Demand, kinds: Sequence[Kind], patterns: Sequence[Pattern], pricer: Pricer, told: Told | None
) -> Found:
    """Patterns worth having, starting from some that can make the demand."""
    columns = list(dict.fromkeys(patterns))
    program = program_of(demand, kinds, columns)
    _price(program, demand, columns, pricer, told)
    bound = _bound(demand, kinds, columns, pricer, told)
    start = None if demand.exact else _first_plan(program, demand, kinds, columns, pricer, bound)
    return Found(tuple(columns), bound, start)


def _price(
    program: Program,
    demand: Demand,
    columns: list[Pattern],
    pricer: Pricer,
    told: Told | None = None,
    loose: bool = False,
    rounds: int = MOST_ROUNDS,
) -> None:
    """Add patterns to the program and the columns, by their prices, until no more are worth it."""
    known, rows = set(columns), len(demand.wanted)
    for number in range(rounds):
        duals = program.solve_relaxed()
        found = pricer.improving(duals[:rows], -duals[rows:], loose)
        found = [one for one in dict.fromkeys(found) if one not in known]
        if told is not None:
            told(number + 1, rounds)
        if not found:
            return
        for pattern in found:
            program.column(0.0, math.inf, _entries(pattern, demand))
        columns += found
        known.update(found)


def _first_plan(
    program: Program,
    demand: Demand,
    kinds: Sequence[Kind],
    columns: list[Pattern],
    pricer: Pricer,
    bound: float,
) -> tuple[int, ...]:
    """The cheapest of a few plans; no more are tried once one is near the bound, rounded up."""
    unit, dearest = math.gcd(*(kind.cost for kind in kinds)), max(kind.cost for kind in kinds)
    least = unit * math.ceil(bound * dearest / unit - SLACK)
    plans: list[tuple[float, list[int]]] = []
    for share in ROUND_UP:
        times = _dive(program, demand, kinds, columns, pricer, share)
        bought = how_many_bought(kinds, columns, times)
        plans.append((sum(cost_of(kind, kinds) * n for kind, n in zip(kinds, bought, strict=True)), times))
        if plans[-1][0] * dearest <= least * (1 + NEAR) + SLACK:
            break
    _, best = min(plans, key=lambda plan: plan[0])
    return (*best, *([0] * (len(columns) - len(best))))


def how_many_bought(kinds: Sequence[Kind], patterns: Sequence[Pattern], times: Sequence[int]) -> list[int]:
    """Of each kind, when patterns are cut so often; later patterns not at all."""
    used = Counter[int]()
    for pattern, count in zip(patterns, times, strict=False):
        used[pattern.kind] += count
    return [max(0, used[number] - kind.available) for number, kind in enumerate(kinds)]


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
    demand: Demand, kinds: Sequence[Kind], columns: Sequence[Pattern], pricer: Pricer, told: Told | None
) -> float:
    """Proven least cost, from the prices that no loose pattern betters."""
    loose = list(columns)
    program = program_of(demand, kinds, loose)
    _price(program, demand, loose, pricer, told, loose=True)
    worth = program.solve_relaxed()[: len(demand.wanted)]
    return _proven(demand, kinds, worth, pricer.most(worth))


def _proven(demand: Demand, kinds: Sequence[Kind], worth: Array, most: Array) -> float:
    """Bound from dual prices, scaled down until no pattern is worth more than its stock costs."""
    costs = np.array([cost_of(kind, kinds) for kind in kinds])
    scale = min([1.0, *(float(cost / high) for cost, high in zip(costs, most, strict=True) if high > 0)])
    bound = scale * float(np.dot(worth, demand.wanted))
    for move in demand.moves:
        bound -= scale * move.step * move.most * max(0.0, worth[move.out] - worth[move.into])
    for kind, cost, high in zip(kinds, costs, most, strict=True):
        bound -= kind.available * (scale * float(high) if kind.available > 0 else float(cost))
    return max(0.0, bound)
