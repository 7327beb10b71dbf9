"""Stacks of real shims for a wanted height."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import combinations_with_replacement

MOST_IN_STACK = 5
"""A higher stack is not flat, and slips."""
MOST_THICKNESSES = 16
NEAR_MM = 0.1
"""Of stacks that differ by less than this from the nearest one, the one of fewest shims is taken."""


@dataclass(frozen=True)
class Stack:
    """Shims on one another, thickest first.  height_mm: together."""

    shims_mm: tuple[float, ...]

    @property
    def height_mm(self) -> float:
        """Height of the stack [mm]."""
        return sum(self.shims_mm)


def stack_for(wanted_mm: float, stock_mm: Sequence[float]) -> Stack:
    """The stack nearest to a wanted height of 0 or more, of at most five shims of the stock's thicknesses.

    Any number of one thickness may be used; no shim at all is a stack too.  A tie goes to the lower one.
    """
    stacks = _stacks(tuple(sorted(set(stock_mm))))
    at = bisect_left(stacks, wanted_mm, key=lambda stack: stack.height_mm)
    best = min(abs(stack.height_mm - wanted_mm) for stack in stacks[max(0, at - 1) : at + 1])
    reach = best + NEAR_MM
    near = []
    for i in range(bisect_left(stacks, wanted_mm - reach, key=lambda stack: stack.height_mm), len(stacks)):
        if stacks[i].height_mm > wanted_mm + reach:
            break
        near.append(stacks[i])
    return min(near, key=lambda s: (len(s.shims_mm), abs(s.height_mm - wanted_mm), s.height_mm))


def highest_mm(stock_mm: Sequence[float]) -> float:
    """What the highest stack comes to."""
    return MOST_IN_STACK * max(stock_mm)


def stack_over(least_mm: float, stock_mm: Sequence[float]) -> Stack:
    """The thinnest shim at least this high, else the lowest such stack, else the highest; none for 0."""
    if least_mm <= 0:
        return Stack(())
    single = [shim for shim in stock_mm if shim >= least_mm]
    if single:
        return Stack((min(single),))
    stacks = _stacks(tuple(sorted(set(stock_mm))))
    at = bisect_left(stacks, least_mm - 1e-9, key=lambda stack: stack.height_mm)
    return stacks[min(at, len(stacks) - 1)]


@cache
def _stacks(stock_mm: tuple[float, ...]) -> list[Stack]:
    """Every stack by height, of each height the one of fewest shims."""
    found: dict[float, Stack] = {}
    for count in range(MOST_IN_STACK + 1):
        for shims in combinations_with_replacement(stock_mm, count):
            found.setdefault(round(sum(shims), 6), Stack(tuple(reversed(shims))))
    return [found[height] for height in sorted(found)]
