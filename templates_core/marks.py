"""Marks for corners, pieces, pipes, posts, mid rails and joints, as painted on the metal.

A mark is made from its own rail, its own number along it and its own place in the corner alone, so that
it stays the same whatever happens at another corner.  Corners and runs of the path count from 1; those
that an end adds before the first are numbered 0, then 00 further out, and leave the others their marks.
"""

from __future__ import annotations


def corner_mark(rail: str, number: int) -> str:
    """Corner by its number along the rail, from 1: ``A2``; ``R1-2`` where the rail's mark ends in a digit."""
    return f"{rail}-{_numeral(number)}" if rail[-1:].isdigit() else f"{rail}{_numeral(number)}"


def piece_mark(corner: str, number: int, count: int) -> str:
    """Piece of a corner, from 1 along the rail: ``A2a``, ``A2b``; a piece on its own is ``A2``."""
    return corner if count == 1 else corner + "abcdefgh"[number - 1]


def joint_mark(corner: str, number: int) -> str:
    """Weld of a corner, from 1 along the rail: ``A2/1``."""
    return f"{corner}/{number}"


def end_joint_mark(rail: str, at_start: bool) -> str:
    """Weld of what a rail ends in: ``A/S`` at its start, ``A/E`` at its end."""
    return f"{rail}/{'S' if at_start else 'E'}"


def side_weld_mark(rail: str, number: int) -> str:
    """Weld on the side of a rail, by its number in the job file, from 1: ``A-W1``."""
    return f"{rail}-W{number}"


def other_hand_mark(rail: str) -> str:
    """Mark of the rail made in the other hand: ``AM`` of ``A``."""
    return f"{rail}M"


def pipe_mark(rail: str, number: int) -> str:
    """Pipe of a run by the run's number along the rail, from 1: ``A-P1``."""
    return f"{rail}-P{_numeral(number)}"


def post_mark(rail: str, run: int, number: int) -> str:
    """Post by its run and its number on it, from 1, as the file lists them: ``A-T2-1``."""
    return f"{rail}-T{_numeral(run)}-{number}"


def corner_post_mark(rail: str, corner: int, number: int) -> str:
    """Post under a corner by the corner's number: ``A-TC1``; ``A-TC1-2`` for a second one there."""
    return f"{rail}-TC{_numeral(corner)}" + (f"-{number}" if number > 1 else "")


def post_length_mark(post: str, number: int) -> str:
    """One length of a post that mid rails run through, from 1 at the top: ``A-T2-1a``."""
    return post + _letter(number)


def mid_rail_mark(rail: str, run: int, number: int, row: int) -> str:
    """Mid rail by its run, its number along it, and its row, all from 1: ``A-M2-1``, ``A-M2-1b``."""
    return f"{rail}-M{_numeral(run)}-{number}" + (_letter(row) if row > 1 else "")


def seat_joint_mark(pipe: str, at_start: bool) -> str:
    """Weld of an end of a post, mid rail or loose member: ``A-T2-1/S`` at its start, ``/E`` at its end."""
    return f"{pipe}/{'S' if at_start else 'E'}"


def _letter(number: int) -> str:
    return "abcdefghijklmnopqrstuvwxyz"[number - 1] if number <= 26 else f".{number}"


def _numeral(number: int) -> str:
    return str(number) if number > 0 else "0" * (1 - number)
