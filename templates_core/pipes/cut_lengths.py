"""How the length that a drawing gives becomes the length that a pipe is sawn to."""

from __future__ import annotations

from dataclasses import dataclass

from templates_core.pipes.cut_pipe import CutPipe


@dataclass(frozen=True)
class LengthSum:
    """Drawing length, what each end adds to it or takes off it, and what that comes to [mm].

    at_start_mm, at_end_mm: from the point that the drawing measures to, to the tip of that end; under 0 where
    the tip stops short of it.  words: from where to where the drawing measures.
    """

    drawing_mm: float
    words: str
    at_start_mm: float
    at_end_mm: float

    @property
    def tip_to_tip_mm(self) -> float:
        """Length to saw the blank to."""
        return self.drawing_mm + self.at_start_mm + self.at_end_mm


def length_sum(pipe: CutPipe) -> LengthSum:
    """The sum for one pipe."""
    return LengthSum(
        pipe.drawing_mm,
        pipe.drawing_words,
        pipe.start.centre_mm - float(pipe.start.cut.station_mm.min()),
        float(pipe.end.cut.station_mm.max()) - pipe.end.centre_mm,
    )
