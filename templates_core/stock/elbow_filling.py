"""A first plan for elbows, quickly: the largest piece still wanted, and with it what fills an elbow best."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from templates_core.elbows.corner_pieces import EXACT_RAD
from templates_core.stock.elbow_layouts import ROUNDING_RAD, Limits, lay_out_pieces
from templates_core.stock.elbow_patterns import Cutting
from templates_core.stock.stock_patterns import Kind

CELL_RAD = math.radians(0.005)
"""Angles of middle pieces are rounded up to this to find what fits."""
MOST_PARTNERS = 24
"""Pieces that are tried at the other end of an elbow."""
MOST_TRIED = 6
"""Ways to fill one elbow that are laid out, the fullest first."""


@dataclass(frozen=True)
class Filling:
    """How often each way to cut is used in one plan.

    middles: by size and how many of a mark there are, how many such marks come from the middle of elbows.
    """

    cuttings: Counter[Cutting] = field(default_factory=Counter)
    middles: Counter[tuple[int, int]] = field(default_factory=Counter)


@dataclass(frozen=True)
class _Way:
    """Pieces for one elbow, by size."""

    filled_rad: float
    ends: tuple[int, ...]
    middles: tuple[int, ...]


def filled_elbows(
    angles_rad: Sequence[float],
    marks: Sequence[Counter[int]],
    limits: Sequence[Limits | None],
    kinds: Sequence[Kind],
) -> Filling | None:
    """One plan; None where there are too few elbows.

    angles_rad: of each size.  marks: by size, how many marks there are, by how many pieces of it each has.
    Marks with as many pieces each are shared out together, so that all of a mark are cut alike.
    """
    filling = Filling()
    on_hand = [kind.available for kind in kinds]
    for each in sorted({each for counts in marks for each in counts}, reverse=True):
        left = {size: counts[each] for size, counts in enumerate(marks) if counts[each]}
        order = sorted(left, key=lambda size: -angles_rad[size])
        while left:
            costs = [
                kind.cost * max(0, each - max(0, n)) if kind.buyable or n >= each else math.inf
                for kind, n in zip(kinds, on_hand, strict=True)
            ]
            found = [
                (cost / way_rad, kind, cutting)
                for kind, cost in enumerate(costs)
                if cost < math.inf
                for way_rad, cutting in _fullest(kind, limits[kind], angles_rad, order, left)
            ]
            if not found:
                return None
            _, kind, cutting = min(found, key=lambda one: one[:2])
            filling.cuttings[cutting] += each
            on_hand[kind] -= each
            for place, size in enumerate(cutting.sizes):
                filling.middles[size, each] += not cutting.layout.is_end(place)
                left[size] -= 1
                if not left[size]:
                    del left[size]
                    order.remove(size)
    return filling


def _fullest(
    kind: int, limits: Limits | None, angles: Sequence[float], order: Sequence[int], left: dict[int, int]
) -> Iterator[tuple[float, Cutting]]:
    """The fullest way to cut the largest piece that is left, with others, out of an elbow of one kind.

    order: sizes that are left, the largest first.
    """
    ways = () if limits is None else _ways(limits, angles, order, left)
    for way in ways:
        assert limits is not None
        ends, middles = ([angles[size] for size in sizes] for sizes in (way.ends, way.middles))
        layout = lay_out_pieces(ends, middles, limits)
        if layout is not None:
            sizes = {angles[size]: size for size in (*way.ends, *way.middles)}
            yield way.filled_rad, Cutting(kind, tuple(sizes[angle] for angle in layout.angles_rad), layout)
            return


def _ways(limits: Limits, angles: Sequence[float], order: Sequence[int], left: dict[int, int]) -> list[_Way]:
    """Ways that fit by their sums, a few of the fullest, and last the largest piece alone."""
    largest, rest = order[0], Counter(left)
    rest[largest] -= 1
    sums = _Sums([(size, rest[size]) for size in order if angles[size] >= limits.middle_rad], angles, limits)
    alone = max(limits.one_end_rad, limits.far_rad)
    ways = [_way(angles, (largest,), sums.fullest(limits.sweep_rad - angles[largest] - alone))]
    room = limits.sweep_rad - angles[largest]
    others = [size for size in order if rest[size] and angles[size] <= room + EXACT_RAD]
    ways += [_way(angles, (largest, size), ()) for size in others if abs(room - angles[size]) <= EXACT_RAD]
    fitting = [size for size in others if room - angles[size] >= limits.two_end_rad - ROUNDING_RAD]
    for size in _spread(fitting):
        middle_rad, ends = room - angles[size], (largest, size)
        ways.append(_way(angles, ends, sums.fullest(middle_rad - limits.two_end_rad)))
        ways += [_way(angles, ends, middles) for middles in sums.exactly(middle_rad)]
    can_be = [way for way in ways if not Counter((*way.ends, *way.middles)) - Counter(left)]
    can_be.sort(key=lambda way: -way.filled_rad)
    return [*can_be[:MOST_TRIED], _way(angles, (largest,), ())]


def _spread(sizes: Sequence[int]) -> Sequence[int]:
    """The first, and some of the others."""
    return sizes[:: 1 + len(sizes) // MOST_PARTNERS]


def _way(angles: Sequence[float], ends: tuple[int, ...], middles: tuple[int, ...]) -> _Way:
    return _Way(sum(angles[size] for size in (*ends, *middles)), ends, middles)


class _Sums:
    """Sums of middle pieces that can be made: the bits of a number; each step adds a piece."""

    def __init__(self, counts: Sequence[tuple[int, int]], angles: Sequence[float], limits: Limits) -> None:
        width = int(limits.sweep_rad / CELL_RAD) + 1
        within, self._reached = (1 << (width + 1)) - 1, 1
        self._angles = angles
        self._steps: list[tuple[int, int, int]] = []
        for size, count in counts if limits.two_ended else ():
            cells = math.ceil((angles[size] - ROUNDING_RAD) / CELL_RAD)
            for _ in range(min(count, width // cells)):
                self._steps.append((size, cells, self._reached))
                self._reached |= (self._reached << cells) & within

    def fullest(self, room_rad: float) -> tuple[int, ...]:
        """Sizes of the pieces that take most of the room."""
        cells = int((room_rad + ROUNDING_RAD) / CELL_RAD)
        return self._taken((self._reached & ((1 << (cells + 1)) - 1)).bit_length() - 1) if cells > 0 else ()

    def exactly(self, room_rad: float) -> Iterator[tuple[int, ...]]:
        """Sizes of pieces that take all of the room, if any do."""
        if not self._steps:
            return
        first = int((room_rad - EXACT_RAD) / CELL_RAD)
        for cell in range(max(1, first), int((room_rad + EXACT_RAD) / CELL_RAD) + len(self._steps[:8]) + 1):
            if self._reached >> cell & 1:
                taken = self._taken(cell)
                if abs(sum(self._angles[size] for size in taken) - room_rad) <= EXACT_RAD:
                    yield taken
                    return

    def _taken(self, cell: int) -> tuple[int, ...]:
        taken = []
        for size, cells, before in reversed(self._steps):
            if not before >> cell & 1:
                taken.append(size)
                cell -= cells
        return tuple(taken)
