"""Places labels in one row, each as near to its own place as the others allow, in the order of the places."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass


def spread(
    wanted: Sequence[float], sizes: Sequence[float], low: float, high: float, gap: float
) -> list[float] | None:
    """Middles of labels in the room from low to high [mm]; None where they don't fit.

    wanted: where each had best stand, ascending.  sizes: of each along the row.  gap: least between two.
    Labels that would meet stand side by side about the mean of their places.
    """
    if _side_by_side(sizes, gap) > high - low + 1e-9:
        return None
    row = _Row(wanted, sizes, low, high, gap)
    groups: list[list[int]] = []
    for label in range(len(wanted)):
        groups.append([label])
        while len(groups) > 1 and row.start(groups[-2]) + row.length(groups[-2]) + gap > row.start(
            groups[-1]
        ):
            groups[-2:] = [groups[-2] + groups[-1]]
    return [middle for group in groups for middle in row.middles(group)]


@dataclass(frozen=True)
class _Row:
    """The labels and the room of `spread`; a group is labels that stand side by side, by their numbers."""

    wanted: Sequence[float]
    sizes: Sequence[float]
    low: float
    high: float
    gap: float

    def length(self, group: Sequence[int]) -> float:
        return _side_by_side([self.sizes[label] for label in group], self.gap)

    def start(self, group: Sequence[int]) -> float:
        """Where a group starts: as a whole nearest to its labels' places, inside the room."""
        before, sought = 0.0, 0.0
        for label in group:
            sought += self.wanted[label] - self.sizes[label] / 2 - before
            before += self.sizes[label] + self.gap
        return min(max(sought / len(group), self.low), self.high - self.length(group))

    def middles(self, group: Sequence[int]) -> Iterator[float]:
        at = self.start(group)
        for label in group:
            yield at + self.sizes[label] / 2
            at += self.sizes[label] + self.gap


def _side_by_side(sizes: Sequence[float], gap: float) -> float:
    return sum(sizes) + gap * (len(sizes) - 1)
