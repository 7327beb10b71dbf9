"""What fits: the best choice of lengths for every sum of lengths, on a grid, and a pricer of sticks."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from templates_core.stock.stock_patterns import SLACK, Array, Pattern

FINEST_CELLS, COARSEST_CELLS = 20_000, 2_000
MOST_WORK = 8_000_000
"""Cells times choices at which the grid is made coarser."""
ROUNDING_MM = 1e-6
FINDS_A_ROUND = 8


class Sums:
    """Best worth of things whose lengths, in cells, sum to each number.

    most: how many there may be of each.
    """

    def __init__(self, lengths: NDArray[np.int64], most: Sequence[int], cells: int) -> None:
        self.cells = cells
        self._steps = [
            (row, times, int(length) * times)
            for row, (length, count) in enumerate(zip(lengths, most, strict=True))
            for times in doublings(count)
            if int(length) * times <= cells
        ]
        self._taken: list[NDArray[np.bool_] | None] = []

    def best(self, worth: Array) -> Array:
        """Worth of the best choice for each sum from 0 to cells, minus infinity where there is none."""
        best = np.full(self.cells + 1, -np.inf)
        best[0] = 0.0
        self._taken = []
        for row, times, length in self._steps:
            value = float(worth[row]) * times
            if value <= 0:
                self._taken.append(None)
                continue
            rest = best[length:]
            with_it = best[: len(best) - length] + value
            better = with_it > rest
            np.copyto(rest, with_it, where=better)
            self._taken.append(better)
        return best

    def chosen(self, cell: int) -> dict[int, int]:
        """How many of each make up a sum, as `best` was last worked out."""
        counts: dict[int, int] = {}
        for (row, times, length), taken in zip(reversed(self._steps), reversed(self._taken), strict=True):
            if taken is not None and cell >= length and taken[cell - length]:
                counts[row] = counts.get(row, 0) + times
                cell -= length
        return counts


def doublings(count: int) -> list[int]:
    """Numbers of which some sum to each number up to count, and none to more: 1, 2, 4, and what is left."""
    parts: list[int] = []
    while count > 0:
        parts.append(min(2 ** len(parts), count))
        count -= parts[-1]
    return parts


def cells_for(choices: int) -> int:
    """How fine the grid is, by how many choices there are."""
    return max(COARSEST_CELLS, min(FINEST_CELLS, MOST_WORK // max(1, choices)))


class StickPatterns:
    """Pricer for sticks.

    lengths_mm: by row, each with what the saw takes after it.  rooms_mm: by kind, what is to be shared out.
    wanted: by row.  troubles: by kind.  Lengths are rounded up to find patterns, so that each fits, and down
    to say what none is worth more than.
    """

    def __init__(
        self,
        lengths_mm: Sequence[float],
        rooms_mm: Sequence[float],
        wanted: Sequence[int],
        troubles: Sequence[int],
    ) -> None:
        self.sizes, self.rooms = np.array(lengths_mm), tuple(rooms_mm)
        room = max(rooms_mm) + ROUNDING_MM
        most = [min(n, int(room / length)) for n, length in zip(wanted, lengths_mm, strict=True)]
        cells = cells_for(sum(len(doublings(count)) for count in most))
        lengths = (np.array(lengths_mm) - ROUNDING_MM) * cells / room
        self._up = Sums(np.ceil(lengths).astype(np.int64), most, cells)
        self._down = Sums(np.floor(lengths).astype(np.int64), most, cells)
        self._rooms = [int((one + ROUNDING_MM) * cells / room + 1e-9) for one in rooms_mm]
        self._troubles = troubles

    def improving(self, worth: Array, asked: Array, loose: bool) -> list[Pattern]:
        """The best few patterns of each kind; loose: were each length a little shorter."""
        sums = self._down if loose else self._up
        best = sums.best(worth)
        found = []
        for kind, room in enumerate(self._rooms):
            values, cells = np.unique(best[: room + 1 + loose], return_index=True)
            for value, cell in list(zip(values, cells, strict=True))[: -FINDS_A_ROUND - 1 : -1]:
                if value > asked[kind] + SLACK:
                    items = tuple(sorted(sums.chosen(int(cell)).items()))
                    found.append(Pattern(kind, items, self._troubles[kind]))
        return found

    def most(self, worth: Array) -> Array:
        """What the best loose pattern of each kind is worth."""
        best = self._down.best(worth)
        return np.array([np.max(best[: room + 2]) for room in self._rooms])
