"""A straight pipe with both ends cut to what they sit on: a post, a mid rail, or a member of its own."""

from __future__ import annotations

from dataclasses import dataclass

from templates_core.directions import wrapped
from templates_core.fittings import Pipe
from templates_core.pipe_ends import BearsOn, EndCut, PipeAxis


@dataclass(frozen=True, eq=False)
class PipeEnd:
    """One end of a cut pipe.

    cut: its cut line.  words: what it is, as the sheets say it, such as ``cope on A-P2, 57.3°, offset 4.0``.
    sits_on: marks of what it sits on; none for a square end.  angle_rad: between the pipe and the header's
    axis, or the plate.  offset_mm: between both axes.  datum_rad: girth angle of this end's own datum, such
    as its crotch, and datum_words what that faces.  centre_mm: station of the point that the drawing
    measures to (where the axes cross, or on the plate).  hole: whether the header is opened under it.
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
    hole: bool = False


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
        return wrapped(self.end.datum_rad - self.start.datum_rad)
