"""What the sharing out of stock is told and gives: kinds of stock, what is wanted, patterns, plans."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Told = Callable[[int, int], None]
"""Called with the rounds of pricing done, and the most that there can be."""

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
class FirstPlan:
    """A plan that can be made, to better: how often each pattern is cut, and each move is made."""

    used: Mapping[Pattern, int]
    moved: tuple[int, ...] = ()

    def bought(self, kinds: Sequence[Kind]) -> tuple[int, ...]:
        """How many of each kind it takes beyond what is on hand."""
        return how_many_bought(kinds, list(self.used), list(self.used.values()))


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
    """Finds patterns by what their items are worth.

    sizes: by row of the demand.  rooms: what pieces of stock have for them, in the same unit.
    """

    sizes: Array
    rooms: tuple[float, ...]

    def improving(self, worth: Array, asked: Array, loose: bool) -> list[Pattern]:
        """Patterns worth more than is asked for one of their kind; worth: by row.

        loose: also such as can't be cut, but as good as any that can, to work out the bound by.
        """

    def most(self, worth: Array) -> Array:
        """For each kind, a number that no pattern of it is worth more than."""


def how_many_bought(
    kinds: Sequence[Kind], patterns: Sequence[Pattern], times: Sequence[int]
) -> tuple[int, ...]:
    """Of each kind, when patterns are cut so often; later patterns not at all."""
    used = Counter[int]()
    for pattern, count in zip(patterns, times, strict=False):
        used[pattern.kind] += count
    return tuple(max(0, used[number] - kind.available) for number, kind in enumerate(kinds))


def cost_of(kind: Kind, kinds: Sequence[Kind]) -> float:
    """Cost of one in dearest pieces of stock; of one that can't be bought, more than anybody would pay."""
    return kind.cost / max(one.cost for one in kinds) if kind.buyable else 1000.0 * len(kinds)
