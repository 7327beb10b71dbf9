"""A straight pipe with both ends cut to what they sit on: a post, a mid rail, or a member of its own."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from templates_core.fittings import Pipe
from templates_core.geometry.pipe_ends import At, BearsOn, EndCut, PipeAxis
from templates_core.geometry.surfaces import Array
from templates_core.paths.directions import wrapped
from templates_core.wraps.cope_holes import CopeHole

ALIKE_MM = 0.02
"""Pipes whose cuts are nearer to each other than this are made by one wrap."""
_ROUNDING_RAD = 1e-9

EndShape = Literal["square", "mitre", "plate", "cope"]
"""What an end is cut to."""


@dataclass(frozen=True, eq=False)
class PipeEnd:
    """One end of a cut pipe.

    cut: its cut line.  words: what it is, as the sheets say it, such as ``cope on A-P2, 57.3°, offset 4.0``.
    sits_on: marks of what it sits on; none for a square end.  angle_rad: between the pipe and the header's
    axis, or the plate.  offset_mm: between both axes.  datum_rad: girth angle of this end's own datum, such
    as its crotch, and datum_words what that faces.  centre_mm: station of the point that the drawing
    measures to (where the axes cross, or on the plate).  hole: in the header under it, where one is asked
    for.  kind: what the cut is.
    """

    cut: EndCut
    words: str
    sits_on: tuple[str, ...]
    angle_rad: float
    offset_mm: float
    bears_on: BearsOn
    datum_rad: float
    datum_words: str
    centre_mm: float
    hole: CopeHole | None = None
    kind: EndShape = "cope"


@dataclass(frozen=True, eq=False)
class CutPipe:
    """A pipe to cut, as it stands in the frame.

    kind: ``post``, ``mid rail`` or ``member``.  where: its place in the job file.  hand: ``""`` where both
    hands are one.  axis: where it stands; stations run along it, from start to end.
    drawing_mm, drawing_words: its length as the drawing gives it, and from where to where.
    """

    mark: str
    kind: str
    where: str
    quantity: int
    hand: str
    pipe: Pipe
    axis: PipeAxis
    start: PipeEnd
    end: PipeEnd
    drawing_mm: float
    drawing_words: str

    @property
    def overall_mm(self) -> float:
        """From tip to tip along the pipe [mm]: the blank that it takes."""
        return float(self.end.cut.station_mm.max() - self.start.cut.station_mm.min())

    @property
    def short_mm(self) -> float:
        """Of the straight round part between both cuts [mm]; under 0 where they pass each other."""
        return float(self.end.cut.station_mm.min() - self.start.cut.station_mm.max())

    @property
    def centre_mm(self) -> float:
        """Between the points that the drawing measures to, along the pipe's axis [mm]."""
        return self.end.centre_mm - self.start.centre_mm

    @property
    def roll_rad(self) -> float:
        """From the start's datum to the end's [rad, -pi to pi], right-handed from start to end."""
        roll = wrapped(self.end.datum_rad - self.start.datum_rad)
        return math.pi if roll < -math.pi + _ROUNDING_RAD else roll


@dataclass(frozen=True, eq=False)
class PipeGroup:
    """Cut pipes that are one and the same."""

    pipes: tuple[CutPipe, ...]

    @property
    def first(self) -> CutPipe:
        """The one that stands for all."""
        return self.pipes[0]

    @property
    def marks(self) -> tuple[str, ...]:
        """Marks of all, in order."""
        return tuple(one.mark for one in self.pipes)

    @property
    def quantity(self) -> int:
        """How many there are in the whole job."""
        return sum(one.quantity for one in self.pipes)


def alike(pipes: Sequence[CutPipe]) -> tuple[PipeGroup, ...]:
    """Pipes grouped by their cuts, in order of the first of each group."""

    def same(one: tuple[Array, CutPipe], other: tuple[Array, CutPipe]) -> bool:
        return _one_kind(one[1], other[1]) and bool(np.max(np.abs(one[0] - other[0])) < ALIKE_MM)

    return _grouped([(_shape(pipe), pipe) for pipe in pipes], same)


def alike_holes(group: PipeGroup, at_end: At) -> tuple[PipeGroup, ...]:
    """Pipes of a group by the holes under one of their ends; those with none there are left out.

    Under equal ends the holes are turned end for end where one header is read the other way.
    """
    holes = [(pipe.start if at_end == "start" else pipe.end).hole for pipe in group.pipes]
    outlines = [
        (hole.outline_mm, pipe) for hole, pipe in zip(holes, group.pipes, strict=True) if hole is not None
    ]
    return _grouped(outlines, lambda one, other: _apart_mm(one[0], other[0]) < ALIKE_MM)


def _grouped(
    shaped: Sequence[tuple[Array, CutPipe]],
    same: Callable[[tuple[Array, CutPipe], tuple[Array, CutPipe]], bool],
) -> tuple[PipeGroup, ...]:
    """Pipes, each with a shape, put to the first group whose first one is the same."""
    groups: list[list[tuple[Array, CutPipe]]] = []
    for one in shaped:
        found = next((group for group in groups if same(group[0], one)), None)
        if found is None:
            groups.append([one])
        else:
            found.append(one)
    return tuple(PipeGroup(tuple(pipe for _, pipe in group)) for group in groups)


def _apart_mm(one: Array, other: Array) -> float:
    """How far two closed lines run apart at most, by how far each reaches out every way from its cross."""
    angle = np.linspace(0.0, 2 * math.pi, 73)
    ways = np.stack([np.cos(angle), np.sin(angle)])
    return float(np.max(np.abs(np.max(one @ ways, axis=0) - np.max(other @ ways, axis=0))))


def _one_kind(one: CutPipe, other: CutPipe) -> bool:
    def kind(made: CutPipe) -> tuple[object, ...]:
        ends = (made.start, made.end)
        return (made.kind, made.pipe, made.hand, *((end.datum_words, end.hole is None) for end in ends))

    return kind(one) == kind(other)


def _shape(made: CutPipe) -> Array:
    """What a pipe's two cuts are like, seen from its 0° line and the start's tip [mm].

    One wrap, one 0° line: what is told from that line, such as a drain hole, holds for all that share it.
    """
    girth = np.linspace(0.0, 2 * math.pi, 48, endpoint=False)
    ends = made.start, made.end
    lines = [end.cut.at(girth) - made.start.cut.station_mm.min() for end in ends]
    radius = made.pipe.radius_mm
    datums = [radius * np.array([math.cos(end.datum_rad), math.sin(end.datum_rad)]) for end in ends]
    return np.concatenate([*lines, *datums, [made.centre_mm, made.drawing_mm]])
