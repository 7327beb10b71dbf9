"""All ways to cut pieces of given sizes from stock elbows."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from templates_core.elbows.corner_pieces import EXACT_RAD
from templates_core.stock import stock_milp
from templates_core.stock.elbow_layouts import MOST_RAD, ROUNDING_RAD, Layout, Limits, lay_out_pieces
from templates_core.stock.stock_knapsack import Sums
from templates_core.stock.stock_patterns import SLACK, Array, Pattern

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


@dataclass(frozen=True)
class _Ends:
    """Choices of end pieces of one kind of elbow, with what each leaves for middle pieces.

    rows: sizes of the one or two end pieces of each choice.  left: cells.  full: whether the middle pieces
    must fill what is left, near enough, or may be any that fit.
    """

    kind: int
    rows: tuple[NDArray[np.int32], ...]
    left: NDArray[np.int32]
    full: bool


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
        self.sizes = np.repeat(np.array(angles_rad), 2)
        self.rooms = tuple(room for one in known for room in (one.sweep_rad - one.two_end_rad, one.sweep_rad))
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
        self._near = int(EXACT_RAD / self._cell_rad) + self._off
        one, other = np.triu_indices(len(angles_rad))
        both = np.array(wanted)[one] > (one == other)
        pairs = one[both].astype(np.int32), other[both].astype(np.int32)
        self._strict, self._loose = (list(self._ends(pairs, off)) for off in (-self._off, self._off))

    def _ends(self, pairs: tuple[NDArray[np.int32], ...], off: int) -> Iterator[_Ends]:
        """Choices of end pieces that fit; off: cells by which a sum may be over what fits."""
        both_rad = np.array(self._angles)[pairs[0]] + np.array(self._angles)[pairs[1]]
        single = (np.arange(len(self._angles), dtype=np.int32),)
        sums = self._sums.best(np.ones(len(self._angles)))
        can_be_left = np.isfinite(_nearest(sums, self._near)[0])
        for kind, limits in enumerate(self._limits):
            if limits is None:
                continue
            room = self._room_rad(limits)
            one_end = max(limits.one_end_rad, limits.far_rad)
            for rows, scrap in ((single, one_end), (pairs, limits.two_end_rad)):
                left = int(min(room, limits.sweep_rad - scrap) / self._cell_rad) + off - self._cells_of(rows)
                yield _chosen(kind, rows, np.minimum(left, self._sums.cells), left >= 0, full=False)
            if room >= limits.sweep_rad:
                two_alone = np.abs(limits.sweep_rad - both_rad) <= EXACT_RAD
                yield _chosen(kind, pairs, np.zeros_like(pairs[0]), two_alone, full=True)
                left = round(room / self._cell_rad) - self._cells_of(pairs)
                fits = (left > self._near) & (left <= self._sums.cells)
                fits &= can_be_left[np.clip(left, 0, self._sums.cells)]
                yield _chosen(kind, pairs, left, fits, full=True)

    def _cells_of(self, rows: tuple[NDArray[np.int32], ...]) -> NDArray[np.int64]:
        total: NDArray[np.int64] = sum((self._lengths[row] for row in rows), start=np.zeros(1, np.int64))
        return total

    def improving(self, worth: Array, asked: Array, loose: bool) -> list[Pattern]:
        """Patterns of each kind that are worth most, with one end piece, with two, and with nothing left.

        loose: as if whatever fits to within the rounding could be cut.
        """
        found: list[Pattern] = []
        for ends, values, sums in self._finds(worth, loose):
            good = 0
            over = np.flatnonzero(values > asked[ends.kind] + SLACK)
            for number in over[_largest(values[over], MOST_LAID_OUT)]:
                if good == FINDS_A_ROUND:
                    break
                sizes = [int(rows[number]) for rows in ends.rows]
                middles = self._sums.chosen(int(sums[ends.left[number]]))
                laid_out = _loose if loose else self._laid_out
                pattern = laid_out(ends.kind, sizes, middles)
                if pattern is not None:
                    found.append(pattern)
                    good += 1
        return found

    def most(self, worth: Array) -> Array:
        """What the best loose pattern of each kind, or a piece on its own, is worth."""
        most = np.full(len(self._limits), float(worth[::2].max()))
        for ends, values, _ in self._finds(worth, loose=True):
            most[ends.kind] = max(most[ends.kind], float(values.max(initial=0.0)))
        return most

    def _finds(self, worth: Array, loose: bool) -> Iterator[tuple[_Ends, Array, NDArray[np.int64]]]:
        """Choices of end pieces, their worth with the best middle pieces, and by cells left those' sum."""
        best = self._sums.best(worth[1::2])
        top = np.maximum.accumulate(best)
        where = _last_rise(best, top)
        exact, exact_where = _nearest(best, self._near)
        for ends in self._loose if loose else self._strict:
            values = (exact if ends.full else top)[ends.left]
            for rows in ends.rows:
                values += worth[::2][rows]
            yield ends, values, exact_where if ends.full else where

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


def _chosen(
    kind: int,
    rows: tuple[NDArray[np.int32], ...],
    left: NDArray[np.int64],
    fits: NDArray[np.bool_],
    full: bool,
) -> _Ends:
    return _Ends(kind, tuple(row[fits] for row in rows), left[fits].astype(np.int32), full)


def _largest(values: Array, count: int) -> NDArray[np.int64]:
    """Places of the largest values, the largest first, of equal ones the first."""
    if len(values) > count:
        least = np.partition(values, len(values) - count)[len(values) - count]
        places = np.flatnonzero(values >= least)
    else:
        places = np.arange(len(values))
    return places[np.argsort(-values[places], kind="stable")][:count]


def _nearest(best: Array, steps: int) -> tuple[Array, NDArray[np.int64]]:
    """For each place the greatest value within so many steps of it, and where that is."""
    greatest, where = best.copy(), np.arange(len(best))
    for step in [*range(-steps, 0), *range(1, steps + 1)]:
        to, of = (
            (slice(-step, None), slice(None, step)) if step < 0 else (slice(None, -step), slice(step, None))
        )
        better = best[of] > greatest[to]
        greatest[to][better] = best[of][better]
        where[to][better] = (np.arange(len(best))[of])[better]
    return greatest, where


def _loose(kind: int, ends: Sequence[int], middles: dict[int, int]) -> Pattern:
    rows = Counter(2 * size for size in ends)
    rows.update({2 * size + 1: count for size, count in middles.items()})
    return Pattern(kind, tuple(sorted(rows.items())))


def _last_rise(best: Array, top: Array) -> NDArray[np.int64]:
    """For each place in a running maximum, where it was last reached."""
    places = np.arange(len(best))
    return np.maximum.accumulate(np.where(best >= top, places, 0))
