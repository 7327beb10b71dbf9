"""Pipe of every size shared out to sticks of that size, and what is doubtful about it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from templates_core.errors import Fault, InputError
from templates_core.fittings import Pipe
from templates_core.jobs.job import Job, PipeStock
from templates_core.stock.stock_patterns import Told
from templates_core.stock.stock_pipe import Blank, PipeShare, share_pipe, usable_mm
from templates_core.units import INCH, MM, MM_PER_INCH, format_length, format_stock_length

USUAL_STICK_MM = {MM: 6000.0, INCH: 20 * 12 * MM_PER_INCH}
"""Length of the sticks that pipe comes in, by unit of the job, where it lists none (from memory)."""
ALIKE_MM = 0.01
"""Pipes whose OD and wall differ by no more are of one size."""


@dataclass(frozen=True)
class SizedBlank:
    """Pipe to be cut off a stick of its size.  cut_mm: of each, along the centreline."""

    pipe: Pipe
    blank: Blank
    cut_mm: float


@dataclass(frozen=True)
class SizeShare:
    """Pipe of one size shared out.

    pieces: lengths of it in the whole job.  longest_mm: of them, tip to tip.  cut_mm: all of them along
    their centrelines, with no kerf and no waste.
    """

    pipe: Pipe
    share: PipeShare
    pieces: int
    longest_mm: float
    cut_mm: float


@dataclass(frozen=True)
class Sticks:
    """All pipe shared out, a size at a time: the job's first, then in order of need.

    doubts: warnings, each with its place.  notes: what was taken where the job says nothing.
    """

    shares: tuple[SizeShare, ...]
    doubts: tuple[str, ...]
    notes: tuple[str, ...]


def is_same_size(one: Pipe, other: Pipe) -> bool:
    """Whether two pipes are of one size, whatever they are called."""
    return abs(one.od_mm - other.od_mm) <= ALIKE_MM and abs(one.wall_mm - other.wall_mm) <= ALIKE_MM


def share_sticks(blanks: Sequence[SizedBlank], job: Job, told: Told | None) -> Sticks:
    """Share all pipe out to sticks; where the job lists none of a size, to the usual one.

    Raises InputError with every pipe that no listed stick is long enough for, and where too few are on hand.
    """
    shares: list[SizeShare] = []
    doubts: list[str] = []
    notes: list[str] = []
    faults: list[Fault] = []
    for pipe in _sizes(blanks, job):
        sized = [one for one in blanks if is_same_size(one.pipe, pipe)]
        own = [one.blank for one in sized]
        listed = [one for one in job.stock.pipes if is_same_size(one.pipe or job.pipe, pipe)]
        sticks = listed or [PipeStock(USUAL_STICK_MM[job.units])]
        try:
            share = _shared(own, sticks, job, told)
        except InputError as error:
            faults += error.faults
            continue
        too_long = [one for one in own if one.mark in share.too_long]
        if listed:
            faults += [_too_long(one, sticks, job) for one in too_long]
        stick = format_stock_length(sticks[0].length_mm, job.units)
        doubts += [f"{one.where}: pipe {one.mark} is longer than a stick of {stick}" for one in too_long]
        if not listed:
            notes.append(_no_stock(pipe, stick, job))
        shares.append(_size_share(pipe, share, sized))
    if faults:
        raise InputError(faults)
    return Sticks(tuple(shares), tuple(doubts) + _unused(blanks, job), tuple(notes))


def _sizes(blanks: Sequence[SizedBlank], job: Job) -> list[Pipe]:
    """One pipe of each size that is needed."""
    sizes = [job.pipe]
    for one in blanks:
        if not any(is_same_size(one.pipe, known) for known in sizes):
            sizes.append(one.pipe)
    return [pipe for pipe in sizes if any(is_same_size(one.pipe, pipe) for one in blanks)]


def _shared(blanks: Sequence[Blank], sticks: Sequence[PipeStock], job: Job, told: Told | None) -> PipeShare:
    stock = job.stock
    return share_pipe(blanks, sticks, job.shop.kerf_mm, stock.end_trim_mm, stock.least_offcut_mm, told)


def _size_share(pipe: Pipe, share: PipeShare, sized: Sequence[SizedBlank]) -> SizeShare:
    return SizeShare(
        pipe,
        share,
        sum(one.blank.quantity for one in sized),
        max(one.blank.length_mm for one in sized),
        sum(one.blank.quantity * one.cut_mm for one in sized),
    )


def _too_long(blank: Blank, sticks: Sequence[PipeStock], job: Job) -> Fault:
    longest_mm = max(usable_mm(one, job.stock.end_trim_mm) for one in sticks)
    length, longest = (format_length(mm, job.units) for mm in (blank.length_mm, longest_mm))
    what = f"pipe {blank.mark} takes {length}, and the longest stick gives {longest}"
    return Fault(blank.where, what, "list a longer [[stock.pipe]], or make it of two runs")


def _no_stock(pipe: Pipe, stick: str, job: Job) -> str:
    if not job.stock.pipes:
        what = "no pipe" if is_same_size(pipe, job.pipe) else f"no pipe of {pipe.name}"
    else:
        what = f"no pipe of {pipe.name}"
    return f"The job lists {what}, so sticks of {stick} are taken: list yours as [[stock.pipe]]."


def _unused(blanks: Sequence[SizedBlank], job: Job) -> tuple[str, ...]:
    """Warnings for stock of a size that nothing is made of, which may be a size miswritten."""
    listed = dict.fromkeys(one.pipe for one in job.stock.pipes if one.pipe is not None)
    return tuple(
        f"stock.pipe: nothing in this job is made of {pipe.name}"
        for pipe in listed
        if not any(is_same_size(one.pipe, pipe) for one in blanks)
    )
