"""Places labels in one row, each as near to its own place as the others allow, in the order of the places."""

from __future__ import annotations

from collections.abc import Sequence


def spread(
    wanted: Sequence[float], sizes: Sequence[float], low: float, high: float, gap: float
) -> list[float] | None:
    """Middles of labels in the room from low to high [mm]; None where they don't fit.

    wanted: where each had best stand, ascending.  sizes: of each along the row.  gap: least between two.
    Labels that would meet stand side by side about the mean of their places.
    """
    if sum(sizes) + gap * (len(sizes) - 1) > high - low + 1e-9:
        return None
    groups: list[list[int]] = []
    for label in range(len(wanted)):
        groups.append([label])
        while len(groups) > 1 and _end(groups[-2], wanted, sizes, gap, low, high) + gap > _start(
            groups[-1], wanted, sizes, gap, low, high
        ):
            groups[-2:] = [groups[-2] + groups[-1]]
    middles = []
    for group in groups:
        at = _start(group, wanted, sizes, gap, low, high)
        for label in group:
            middles.append(at + sizes[label] / 2)
            at += sizes[label] + gap
    return middles


def _size(group: Sequence[int], sizes: Sequence[float], gap: float) -> float:
    return sum(sizes[label] for label in group) + gap * (len(group) - 1)


def _start(
    group: Sequence[int],
    wanted: Sequence[float],
    sizes: Sequence[float],
    gap: float,
    low: float,
    high: float,
) -> float:
    """Where a group of labels side by side starts: as a whole nearest to their places, inside the room."""
    size, before, sought = _size(group, sizes, gap), 0.0, 0.0
    for label in group:
        sought += wanted[label] - sizes[label] / 2 - before
        before += sizes[label] + gap
    return min(max(sought / len(group), low), high - size)


def _end(
    group: Sequence[int],
    wanted: Sequence[float],
    sizes: Sequence[float],
    gap: float,
    low: float,
    high: float,
) -> float:
    return _start(group, wanted, sizes, gap, low, high) + _size(group, sizes, gap)
