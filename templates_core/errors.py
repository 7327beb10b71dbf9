"""What can go wrong, in the user's terms."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


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


class InputError(WrapwrightError):
    """Bad input: carries every fault that was found, in the order of the file."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))
