"""All ways to cut pieces of given sizes from stock elbows."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import NDArray

from templates_core import stock_milp
from templates_core.corner_pieces import EXACT_RAD
from templates_core.elbow_layouts import MOST_RAD, ROUNDING_RAD, Layout, Limits, lay_out_pieces
from templates_core.stock_knapsack import Sums
from templates_core.stock_patterns import SLACK, Array, Pattern

Find = tuple[int, tuple[NDArray[np.int64], ...], Array, NDArray[np.int64]]

FINDS_A_ROUND, MOST_LAID_OUT = 8, 40
"""Patterns taken, and tried, of each way to end an elbow."""
CELLS = 180_000
"""Of an elbow, where there are up to a hundred sizes: 0.0015° of a 90."""
MOST_TRIED = 40_000
"""Layouts tried for the list of all ways to cut."""
A_WHOLE_ELBOW = 100
"""What cutting into another elbow counts for beside one shared line, between plans that cost the same."""


@dataclass(frozen=True)
class Cutting:
    """One way to cut one kind of elbow.

    kind: its number.  sizes: numbers of the sizes of the pieces, in the order of the layout.
    """

    kind: int
    sizes: tuple[int, ...]
    layout: Layout

    def pattern(self) -> Pattern:
        """The same to the solver: row 2n is end pieces of size n, row 2n + 1 middle ones."""
        rows = Counter(
            2 * size + (0 if self.layout.is_end(place) else 1) for place, size in enumerate(self.sizes)
        )
        shared = sum(line.blade == "centred" for line in self.layout.lines())
        return Pattern(self.kind, tuple(sorted(rows.items())), A_WHOLE_ELBOW + shared)


def cuttings_of(
    angles_rad: Sequence[float], wanted: Sequence[int], limits: Sequence[Limits | None]
) -> tuple[list[Cutting], bool]:
    """Ways to cut pieces of these sizes, those of fewest pieces first, and whether these are all.

    limits: by kind, None for whole only.  No way has more pieces of a size than are wanted.
    """
    found: list[Cutting] = []
    size_of = {angle: size for size, angle in enumerate(angles_rad)}
    room = max((one.sweep_rad for one in limits if one is not None), default=0.0) + EXACT_RAD
    order = sorted(angles_rad)
    left = [wanted[size_of[angle]] for angle in order]
    tried = 0
    for count in range(1, 1 + int(room / order[0]) if order else 0):
        for angles in _multisets(order, left, count, room):
            for ends, middles in _roles(angles):
                tried += 1
                found += _of_kinds(ends, middles, limits, size_of)
            if len(found) > stock_milp.DIRECT_PATTERNS or tried > MOST_TRIED:
                return found, False
    return found, True


def _of_kinds(
    ends: Sequence[float],
    middles: Sequence[float],
    limits: Sequence[Limits | None],
    size_of: dict[float, int],
) -> Iterator[Cutting]:
    """The pieces laid out in each kind of elbow that can take them so."""
    for kind, limit in enumerate(limits):
        layout = None if limit is None else lay_out_pieces(ends, middles, limit)
        if layout is not None:
            yield Cutting(kind, tuple(size_of[angle] for angle in layout.angles_rad), layout)


def _multisets(
    angles: Sequence[float], wanted: Sequence[int], count: int, room: float
) -> Iterator[tuple[float, ...]]:
    """So many of the angles, ascending, each at most as often as wanted, that fit in the room."""
    if count == 0:
        yield ()
        return
    for place, angle in enumerate(angles):
        if angle * count > room:
            return
        times = 1
        while times <= min(wanted[place], count):
            rest = _multisets(angles[place + 1 :], wanted[place + 1 :], count - times, room - times * angle)
            yield from ((angle,) * times + others for others in rest)
            times += 1


def _roles(angles: tuple[float, ...]) -> Iterator[tuple[tuple[float, ...], tuple[float, ...]]]:
    """End pieces, one or two of the angles, and the others as middle pieces."""
    for number in (1, 2)[: len(angles)]:
        for ends in dict.fromkeys(combinations(angles, number)):
            rest = Counter(angles) - Counter(ends)
            yield ends, tuple(rest.elements())


class ElbowPatterns:
    """Pricer for pieces of which there are too many ways to cut to list.

    Angles are rounded to a grid to find what fits; each find is then laid out, and dropped where it can't be.
    Where that shows: in the bound, which counts such finds, and any that misses by the rounding.
    """

    def __init__(
        self, angles_rad: Sequence[float], wanted: Sequence[int], limits: Sequence[Limits | None]
    ) -> None:
        self.cuttings: dict[Pattern, Cutting] = {}
        self._angles, self._limits = angles_rad, limits
        self._size_of = {angle: size for size, angle in enumerate(angles_rad)}
        known = [one for one in limits if one is not None]
        room = max(one.sweep_rad for one in known) + EXACT_RAD
        middle_rad = min(one.middle_rad for one in known)
        most = [
            0 if angle < middle_rad - ROUNDING_RAD else min(count, int(room / angle))
            for angle, count in zip(angles_rad, wanted, strict=True)
        ]
        cells = max(2000, min(CELLS, 18_000_000 // len(angles_rad)))
        self._cell_rad = room / cells
        self._lengths = np.rint(np.array(angles_rad) / self._cell_rad).astype(np.int64)
        self._sums = Sums(self._lengths, most, cells)
        self._off = 1 + int(room / min(angles_rad)) // 2
        one, other = np.triu_indices(len(angles_rad))
        both = np.array(wanted)[one] > (one == other)
        self._one, self._other = one[both], other[both]

    def improving(self, worth: Array, asked: Array, loose: bool) -> list[Pattern]:
        """Patterns of each kind that are worth most, with one end piece, with two, and with nothing left.

        loose: as if whatever fits to within the rounding could be cut.
        """
        found: list[Pattern] = []
        for kind, ends, values, sums in self._finds(worth, self._off if loose else -self._off):
            good = 0
            for number in np.argsort(-values, kind="stable")[:MOST_LAID_OUT]:
                if good == FINDS_A_ROUND or not values[number] > asked[kind] + SLACK:
                    break
                sizes, middles = [int(rows[number]) for rows in ends], self._sums.chosen(int(sums[number]))
                pattern = _loose(kind, sizes, middles) if loose else self._laid_out(kind, sizes, middles)
                if pattern is not None:
                    found.append(pattern)
                    good += 1
        return found

    def most(self, worth: Array) -> Array:
        """What the best loose pattern of each kind, or a piece on its own, is worth."""
        most = np.full(len(self._limits), float(worth[::2].max()))
        for kind, _, values, _ in self._finds(worth, self._off):
            most[kind] = max(most[kind], float(values.max(initial=0.0)))
        return most

    def _finds(self, worth: Array, off: int) -> Iterator[Find]:
        """Choices of end pieces, each with the best middle pieces.

        off: cells by which a sum may be over what fits; under it where negative.  Gives kind, rows of the
        end pieces, worth of each choice and
        the sum of its middle pieces.
        """
        best = self._sums.best(worth[1::2])
        top = np.maximum.accumulate(best)
        where = _last_rise(best, top)
        ends = worth[::2]
        single, pairs = np.arange(len(ends)), (self._one, self._other)
        for kind, limits in enumerate(self._limits):
            if limits is None:
                continue
            room = self._room_rad(limits)
            one_end = max(limits.one_end_rad, limits.far_rad)
            for rows, scrap in (((single,), one_end), (pairs, limits.two_end_rad)):
                most = min(room, limits.sweep_rad - scrap)
                left = int(most / self._cell_rad) + off - _total(self._lengths, rows)
                fits = left >= 0
                left = np.minimum(left[fits], self._sums.cells)
                taken = tuple(row[fits] for row in rows)
                yield kind, taken, top[left] + _total(ends, taken), where[left]
            if room < limits.sweep_rad:
                continue
            whole = round(room / self._cell_rad) - _total(self._lengths, pairs)
            steps = int(EXACT_RAD / self._cell_rad) + abs(off)
            for step in range(-steps, steps + 1):
                fits = (whole + step >= 0) & (whole + step <= self._sums.cells)
                taken, left = tuple(row[fits] for row in pairs), (whole + step)[fits]
                yield kind, taken, best[left] + _total(ends, taken), left

    def _room_rad(self, limits: Limits) -> float:
        """Sweep that pieces can take: of a return what wraps reach, unless a piece can span the rest."""
        spanned = limits.sweep_rad - 2 * MOST_RAD
        return limits.sweep_rad if max(self._angles) >= spanned else 2 * MOST_RAD

    def _laid_out(self, kind: int, ends: Sequence[int], middles: dict[int, int]) -> Pattern | None:
        limits = self._limits[kind]
        inner = [self._angles[size] for size, count in middles.items() for _ in range(count)]
        layout = (
            None if limits is None else lay_out_pieces([self._angles[size] for size in ends], inner, limits)
        )
        if layout is None:
            return None
        cutting = Cutting(kind, tuple(self._size_of[angle] for angle in layout.angles_rad), layout)
        pattern = cutting.pattern()
        self.cuttings[pattern] = cutting
        return pattern


def _loose(kind: int, ends: Sequence[int], middles: dict[int, int]) -> Pattern:
    rows = Counter(2 * size for size in ends)
    rows.update({2 * size + 1: count for size, count in middles.items()})
    return Pattern(kind, tuple(sorted(rows.items())))


def _total(values: NDArray[Any], rows: tuple[NDArray[np.int64], ...]) -> NDArray[Any]:
    total: NDArray[Any] = np.sum([values[row] for row in rows], axis=0)
    return total


def _last_rise(best: Array, top: Array) -> NDArray[np.int64]:
    """For each place in a running maximum, where it was last reached."""
    places = np.arange(len(best))
    return np.maximum.accumulate(np.where(best >= top, places, 0))
