"""What can go wrong, in the user's terms."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import TypeVar

Result = TypeVar("Result")


class WrapwrightError(Exception):
    """Base of every error that wrapwright raises on purpose."""


class GeometryError(WrapwrightError):
    """The parts asked for cannot be made; the message says by how much and what would fit."""


@dataclass(frozen=True)
class Fault:
    """One thing that is wrong with the input.

    where: place in the job file or on the command line, such as ``rail A, corner 2`` or ``shop.kerf``.
    what: what is wrong there.  remedy: what would be right.
    """

    where: str
    what: str
    remedy: str

    def __str__(self) -> str:
        """``where: what; remedy``, as the terminal shows it."""
        return f"{self.where}: {self.what}; {self.remedy}"


class BadValueError(WrapwrightError, ValueError):
    """A value that can't be used, from code that doesn't know its place in the input.

    what: what is wrong with it.  remedy: what would be right.
    """

    def __init__(self, what: str, remedy: str) -> None:
        self.what = what
        self.remedy = remedy
        super().__init__(f"{what}; {remedy}")

    def at(self, where: str) -> Fault:
        """The fault that it makes at a place in the input."""
        return Fault(where, self.what, self.remedy)


class InputError(WrapwrightError):
    """Bad input: carries every fault that was found, in the order of the file."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))


class Gathered:
    """Keeps the faults of several inputs, so that all are told at once."""

    def __init__(self) -> None:
        self.faults: list[Fault] = []

    def get(self, read: Callable[[], Result]) -> Result | None:
        """What read gives, or None after keeping the faults of its InputError, each once."""
        try:
            return read()
        except InputError as error:
            self.faults += [fault for fault in error.faults if fault not in self.faults]
            return None

    def refuse(self) -> None:
        """Raise InputError where any fault was kept."""
        if self.faults:
            raise InputError(self.faults)
