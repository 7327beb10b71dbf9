"""In which order welds are made: centre out, halves and sides in turn, and never next to a hot one.

The rule, in order of weight: not next to the weld made just before; on the other side of the pipe from it;
in the other half of the rail; nearest the middle.  Common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Spot:
    """A weld to be put in order.

    place_mm: along the pipe or the rail.  side_rad: girth direction, None for a weld all round.
    """

    mark: str
    place_mm: float
    side_rad: float | None = None


@dataclass(frozen=True)
class Turn:
    """A weld in its turn, numbered from 1.  wait: it is beside the one before, which must cool first."""

    number: int
    mark: str
    wait: bool


def welding_order(spots: Sequence[Spot], hot_mm: float) -> tuple[Turn, ...]:
    """Every weld once; equal choices go to the one nearer the start.

    hot_mm: a weld is too hot to go on beside it within this distance.
    """
    left = sorted(spots, key=lambda spot: spot.place_mm)
    if not left:
        return ()
    middle = (left[0].place_mm + left[-1].place_mm) / 2
    places = sorted({spot.place_mm for spot in left})
    rank = {place: i for i, place in enumerate(places)}
    turns: list[Turn] = []
    last: Spot | None = None
    while left:
        best = min(left, key=lambda spot: _weight(spot, last, middle, rank))
        near = last is not None and abs(best.place_mm - last.place_mm) < hot_mm
        wait = last is not None and near and _is_next(best, last, rank)
        turns.append(Turn(len(turns) + 1, best.mark, wait))
        left.remove(best)
        last = best
    return tuple(turns)


def _is_next(spot: Spot, last: Spot, rank: dict[float, int]) -> bool:
    """Whether a weld is at the next place, or at the same one on the same side."""
    apart = abs(rank[spot.place_mm] - rank[last.place_mm])
    return apart == 1 or (apart == 0 and not _opposite(spot, last))


def _opposite(spot: Spot, last: Spot) -> bool:
    if spot.side_rad is None or last.side_rad is None:
        return False
    return math.cos(spot.side_rad - last.side_rad) < 0.5


def _weight(
    spot: Spot, last: Spot | None, middle: float, rank: dict[float, int]
) -> tuple[bool, bool, bool, float, float]:
    off = spot.place_mm - middle
    if last is None:
        return False, False, False, round(abs(off), 6), spot.place_mm
    same_half = off * (last.place_mm - middle) > 0
    return _is_next(spot, last, rank), not _opposite(spot, last), same_half, round(abs(off), 6), spot.place_mm
