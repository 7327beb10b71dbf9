"""Many marks in few words: ``A-T2-1 to A-T2-4`` for marks that follow one another."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

_NUMBERED = re.compile(r"(.*?)(\d+)")


def mark_ranges(marks: Sequence[str], most: int | None = None) -> str:
    """The marks in their order, three or more that count on by one as the first and the last of them.

    most: how many such ranges are named; the marks after them are counted.
    """
    runs = list(_runs(marks))
    named = runs if most is None else runs[:most]
    words = ", ".join(word for run in named for word in _words(run))
    left = sum(len(run) for run in runs[len(named) :])
    return f"{words} and {left} more" if left else words


def _words(run: Sequence[str]) -> Sequence[str]:
    return [f"{run[0]} to {run[-1]}"] if len(run) > 2 else run


def _runs(marks: Sequence[str]) -> Iterator[list[str]]:
    run: list[str] = []
    for mark in marks:
        if run and not _follows(run[-1], mark):
            yield run
            run = []
        run.append(mark)
    if run:
        yield run


def _follows(one: str, other: str) -> bool:
    """Whether a mark is the other's with its last number one less."""
    first, second = _NUMBERED.fullmatch(one), _NUMBERED.fullmatch(other)
    return (
        first is not None
        and second is not None
        and first[1] == second[1]
        and int(second[2]) == int(first[2]) + 1
    )
