"""One end of a straight pipe, as its sheets want it: cut, words, datum, offset, and the hole under it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from templates_core.fittings import Pipe
from templates_core.geometry.pipe_ends import At, BearsOn, EndCut, PipeAxis
from templates_core.geometry.solids import Solid
from templates_core.paths import directions as d
from templates_core.paths.directions import Vector
from templates_core.pipes.cut_pipe import PipeEnd
from templates_core.pipes.seat_words import datum_of, offset_of
from templates_core.pipes.seats import seat
from templates_core.wraps.cope_holes import CopeHole, cope_hole

_ALONG = 1 - 1e-6


@dataclass(frozen=True, eq=False)
class EndAsked:
    """An end to be coped.

    station_mm: of the point that the drawing measures to.  forward: unit (3,) along the rail, for words.
    hole: whether the header is opened to the bore.  thickness_mm: of the paper of its template.
    """

    axis: PipeAxis
    pipe: Pipe
    at_end: At
    station_mm: float
    bears_on: BearsOn
    forward: Vector
    hole: bool
    thickness_mm: float

    @property
    def away(self) -> Vector:
        """Unit vector (3,) along the pipe, away from what this end sits on."""
        return self.axis.along if self.at_end == "start" else -self.axis.along

    @property
    def point(self) -> Vector:
        """The point that the drawing measures to (3,)."""
        return np.asarray(self.axis.start_mm + self.station_mm * self.axis.along)

    def cut_on(self, solids: Sequence[Solid]) -> EndCut:
        """The cut on the union of solids.  Raises GeometryError."""
        return seat(self.axis, self.pipe, self.station_mm, solids, self.at_end, self.bears_on)


def coped_end(
    asked: EndAsked,
    cut: EndCut,
    header: Solid,
    header_along: Vector,
    header_point: Vector,
    marks: tuple[str, ...],
    words: str,
) -> PipeEnd:
    """A coped end.  Raises GeometryError for a hole in a header that is no straight pipe.

    header: of the hole.  header_along: unit (3,).  header_point: of its axis, abreast of the pipe's (3,).
    """
    lean = d.acute_between(header_along, asked.axis.along)
    datum, faces = datum_of(asked.axis, header_along, asked.away, asked.forward)
    offset = offset_of(asked.axis, datum, asked.away, asked.point - header_point)
    hole = _hole(asked, header, header_along) if asked.hole else None
    return PipeEnd(
        *(cut, words, marks, lean, offset, asked.bears_on, datum, faces),
        centre_mm=asked.station_mm,
        hole=hole,
    )


def _hole(asked: EndAsked, header: Solid, along: Vector) -> CopeHole:
    """Girth of the header counts from its upper line; of a plumb one, from forward along the rail."""
    side = asked.forward if abs(float(along @ d.UP)) > _ALONG else d.UP
    zero = side - float(side @ along) * along
    zero = zero / np.linalg.norm(zero)
    bore = asked.pipe.radius_mm - asked.pipe.wall_mm
    return cope_hole(asked.axis, asked.away, bore, header, zero, asked.thickness_mm)
