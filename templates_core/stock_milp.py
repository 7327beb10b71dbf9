"""Sharing demand out to stock at proven least cost: patterns, column generation, integer program.

A pattern is what comes out of one elbow or one stick.  The program chooses how often each is cut:

    minimise   sum of cost[k]·bought[k]
    so that    what the patterns give covers the demand (or meets it exactly), row by row
               patterns of kind k used − bought[k] ≤ on hand[k]

What is on hand costs nothing, so it is used before any is bought.  Where there are too many patterns to hand
them all to the integer program, those worth having are found by their dual prices (Gilmore and Gomory, 1961),
and the bound of the relaxed program is proven by its duals (Farley, 1990).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from templates_core.stock_solver import Program

Array = NDArray[np.float64]
Told = Callable[[int, int], None]
"""Called with the rounds of pricing done, and the most that there can be."""

DIRECT_PATTERNS = 3000
"""Up to about so many patterns are handed to the integer program as they are."""
MOST_ROUNDS = 600
MOST_NODES, MOST_NODES_OF_SOME = 2000, 150
"""Of the integer program with all patterns, and with those worth having, where more hardly helps."""
TIDY_NODES = 200
SLACK = 1e-7
"""Of the dearest piece of stock: what costs less than this is rounding."""


@dataclass(frozen=True)
class Kind:
    """One kind of stock.

    cost: of one that is bought, a whole number of any unit, over 0.  available: on hand, less those that are
    spoken for; below 0 so many must be bought.  buyable: False where what is on hand is all there is.
    """

    cost: int
    available: int
    buyable: bool = True


@dataclass(frozen=True)
class Pattern:
    """What comes of one piece of stock.

    items: (row of the demand, how many), each row once, rows ascending.  trouble: to the shop, in any
    unit; of two equally cheap plans the one of less trouble is taken.
    """

    kind: int
    items: tuple[tuple[int, int], ...]
    trouble: int = 0


@dataclass(frozen=True)
class Move:
    """Demand that may move: from row out to row into, step at a time, at most so many times."""

    out: int
    into: int
    step: int
    most: int


@dataclass(frozen=True)
class Demand:
    """How many are wanted in each row; exact: no more than that may be made."""

    wanted: tuple[int, ...]
    moves: tuple[Move, ...] = ()
    exact: bool = False


@dataclass(frozen=True)
class Plan:
    """How the stock is cut.

    used: patterns with how often each is cut.  bought: by kind.  moved: by move.  short: of kinds that can't
    be bought, how many more than are on hand it would take; all 0 in a plan that can be made.
    cost: of what is bought.  bound: no plan costs less; equal to cost where the plan is proven best.
    """

    used: tuple[tuple[Pattern, int], ...]
    bought: tuple[int, ...]
    moved: tuple[int, ...]
    short: tuple[int, ...]
    cost: int
    bound: int


class Pricer(Protocol):
    """Finds patterns by what their items are worth."""

    def improving(self, worth: Array, asked: Array, loose: bool) -> list[Pattern]:
        """Patterns worth more than is asked for one of their kind; worth: by row.

        loose: also such as can't be cut, but as good as any that can, to work out the bound by.
        """

    def most(self, worth: Array) -> Array:
        """For each kind, a number that no pattern of it is worth more than."""


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
        return _cheapest(demand, kinds, patterns, 0.0, all_known=True)
    patterns, bound = _generate(demand, kinds, patterns, pricer, told)
    return _cheapest(demand, kinds, patterns, bound, all_known=False)


def _program(demand: Demand, kinds: Sequence[Kind], patterns: Sequence[Pattern]) -> Program:
    """Columns: one of each kind bought, then the moves, then the patterns."""
    dearest = max(kind.cost for kind in kinds)
    program = Program()
    for wanted in demand.wanted:
        program.row(wanted, wanted if demand.exact else math.inf)
    for kind in kinds:
        program.row(-math.inf, kind.available)
    for number, kind in enumerate(kinds):
        cost = kind.cost / dearest if kind.buyable else _out_of_reach(kinds)
        program.column(cost, math.inf, [(len(demand.wanted) + number, -1)])
    for move in demand.moves:
        program.column(0.0, move.most, [(move.out, move.step), (move.into, -move.step)])
    for pattern in patterns:
        program.column(0.0, math.inf, _entries(pattern, demand))
    return program


def _out_of_reach(kinds: Sequence[Kind]) -> float:
    """Cost, in dearest pieces, of one that can't be bought: more than anybody would pay."""
    return 1000.0 * len(kinds)


def _entries(pattern: Pattern, demand: Demand) -> list[tuple[int, int]]:
    return [*pattern.items, (len(demand.wanted) + pattern.kind, 1)]


def _generate(
    demand: Demand, kinds: Sequence[Kind], patterns: Sequence[Pattern], pricer: Pricer, told: Told | None
) -> tuple[list[Pattern], float]:
    """Patterns worth having, and the proven bound of the cost in dearest pieces."""
    columns = list(dict.fromkeys(patterns))
    program = _program(demand, kinds, columns)
    columns += _priced(program, demand, columns, pricer, False, told)
    _priced(program, demand, columns, pricer, True, told)
    worth = program.solve_relaxed()[: len(demand.wanted)]
    return columns, _proven(demand, kinds, worth, pricer.most(worth))


def _priced(
    program: Program,
    demand: Demand,
    columns: Sequence[Pattern],
    pricer: Pricer,
    loose: bool,
    told: Told | None,
) -> list[Pattern]:
    """Patterns found by their prices and added to the program, until no more are worth it."""
    known, added, rows = set(columns), [], len(demand.wanted)
    for number in range(MOST_ROUNDS):
        duals = program.solve_relaxed()
        found = pricer.improving(duals[:rows], -duals[rows:], loose)
        found = [one for one in dict.fromkeys(found) if one not in known]
        if told is not None:
            told(number + 1, MOST_ROUNDS)
        if not found:
            break
        for pattern in found:
            program.column(0.0, math.inf, _entries(pattern, demand))
        added += found
        known.update(found)
    return added


def _proven(demand: Demand, kinds: Sequence[Kind], worth: Array, most: Array) -> float:
    """Bound from dual prices, scaled down until no pattern is worth more than its stock costs."""
    dearest = max(kind.cost for kind in kinds)
    costs = np.array([kind.cost / dearest if kind.buyable else _out_of_reach(kinds) for kind in kinds])
    scale = min([1.0, *(float(cost / high) for cost, high in zip(costs, most, strict=True) if high > 0)])
    bound = scale * float(np.dot(worth, demand.wanted))
    for move in demand.moves:
        bound -= scale * move.step * move.most * max(0.0, worth[move.out] - worth[move.into])
    for kind, cost, high in zip(kinds, costs, most, strict=True):
        bound -= kind.available * (scale * float(high) if kind.available > 0 else float(cost))
    return max(0.0, bound)


def _cheapest(
    demand: Demand, kinds: Sequence[Kind], patterns: Sequence[Pattern], bound: float, all_known: bool
) -> Plan:
    """The plan of these patterns; bound: of the relaxed program, in dearest pieces."""
    dearest, unit = max(kind.cost for kind in kinds), math.gcd(*(kind.cost for kind in kinds))
    program = _program(demand, kinds, patterns)
    nodes = MOST_NODES if all_known else MOST_NODES_OF_SOME
    least = unit * math.ceil((bound - SLACK) * dearest / unit)
    values, proven = program.solve_whole(nodes, target=least / dearest + SLACK)
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
    """Of the plans that buy as cheaply, one of little trouble."""
    troubles = np.zeros(len(values))
    troubles[len(values) - len(patterns) :] = [pattern.trouble for pattern in patterns]
    if not troubles.any():
        return values
    return program.solve_tidier(values, len(kinds), troubles, TIDY_NODES)
