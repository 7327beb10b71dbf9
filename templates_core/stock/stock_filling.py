"""A first plan for sticks, quickly: the longest length still wanted, and with it what fills a stick best."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from templates_core.stock.stock_knapsack import ROUNDING_MM, doublings
from templates_core.stock.stock_patterns import Kind, Pattern

CELL_MM = 0.1
"""Of the grid that lengths are rounded up to."""


@dataclass(frozen=True)
class _Fill:
    """A stick filled: how many of each row, and how many cells of it they take."""

    counts: dict[int, int]
    cells: int


def filled_sticks(
    lengths_mm: Sequence[float],
    rooms_mm: Sequence[float],
    wanted: Sequence[int],
    kinds: Sequence[Kind],
    troubles: Sequence[int],
) -> dict[Pattern, int] | None:
    """How often each pattern is cut in one plan; None where there are too few sticks.

    lengths_mm: by row, the longest first, each with what the saw takes after it.  rooms_mm: by kind.
    Each stick is sure to hold what it is filled with, as lengths are rounded up.
    """
    cells = [math.ceil((length - ROUNDING_MM) / CELL_MM) for length in lengths_mm]
    rooms = [int((one + ROUNDING_MM) / CELL_MM) for one in rooms_mm]
    left, on_hand = list(wanted), [kind.available for kind in kinds]
    plan = Counter[Pattern]()
    while any(left):
        fills = _fills(cells, left, rooms)
        costs = [0 if n > 0 else kind.cost for kind, n in zip(kinds, on_hand, strict=True)]
        can_be_had = [k for k in fills if kinds[k].buyable or on_hand[k] > 0]
        if not can_be_had:
            return None
        kind = min(can_be_had, key=lambda k: (costs[k] / fills[k].cells, rooms[k] / fills[k].cells))
        counts = fills[kind].counts
        times = min(left[row] // count for row, count in counts.items())
        times = min(times, on_hand[kind]) if on_hand[kind] > 0 else times
        for row, count in counts.items():
            left[row] -= times * count
        on_hand[kind] -= times
        plan[Pattern(kind, tuple(sorted(counts.items())), troubles[kind])] += times
    return dict(plan)


def _fills(cells: Sequence[int], left: Sequence[int], rooms: Sequence[int]) -> dict[int, _Fill]:
    """Each kind of stick that takes the longest length left, filled as full as can be with it and others.

    The sums that can be made are the bits of a number; each step adds one length some times over.
    """
    longest = next(row for row, count in enumerate(left) if count)
    width = max(rooms) - cells[longest]
    if width < 0:
        return {}
    reached, within = 1, (1 << (width + 1)) - 1
    steps: list[tuple[int, int, int]] = []
    for row in range(longest, len(cells)):
        for times in doublings(min(left[row] - (row == longest), width // cells[row])):
            steps.append((row, times, reached))
            reached |= (reached << times * cells[row]) & within
    fills = {}
    for kind, room in enumerate(rooms):
        spare = room - cells[longest]
        if spare >= 0:
            sum_cells = (reached & ((1 << (spare + 1)) - 1)).bit_length() - 1
            fills[kind] = _Fill(_taken(sum_cells, longest, steps, cells), sum_cells + cells[longest])
    return fills


def _taken(
    sum_cells: int, longest: int, steps: Sequence[tuple[int, int, int]], cells: Sequence[int]
) -> dict[int, int]:
    """How many of each row make up a sum, with one of the longest besides."""
    counts = Counter([longest])
    for row, times, before in reversed(steps):
        if not before >> sum_cells & 1:
            counts[row] += times
            sum_cells -= times * cells[row]
    return dict(counts)
