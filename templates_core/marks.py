"""Marks for corners, pieces, pipes and joints, as painted on the metal.

A mark is made from its own rail, its own number along it and its own place in the corner alone, so that
it stays the same whatever happens at another corner.
"""

from __future__ import annotations


def corner_mark(rail: str, number: int) -> str:
    """Corner by its number along the rail, from 1: ``A2``; ``R1-2`` where the rail's mark ends in a digit."""
    return f"{rail}-{number}" if rail[-1:].isdigit() else f"{rail}{number}"


def piece_mark(corner: str, number: int, count: int) -> str:
    """Piece of a corner, from 1 along the rail: ``A2a``, ``A2b``; a piece on its own is ``A2``."""
    return corner if count == 1 else corner + "abcdefgh"[number - 1]


def joint_mark(corner: str, number: int) -> str:
    """Weld of a corner, from 1 along the rail: ``A2/1``."""
    return f"{corner}/{number}"


def pipe_mark(rail: str, number: int) -> str:
    """Pipe of a run by the run's number along the rail, from 1: ``A-P1``."""
    return f"{rail}-P{number}"
