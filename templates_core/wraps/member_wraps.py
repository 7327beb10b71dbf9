"""Paper for the ends of a cut pipe: one wrap for both when short, two located by ring lines when long."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from templates_core.errors import GeometryError
from templates_core.geometry.pipe_ends import At, EndCut
from templates_core.geometry.surfaces import Array
from templates_core.pipes.cut_pipe import CutPipe
from templates_core.wraps.pipe_wraps import LAP_MM, PipeWrap, least_height_mm, pipe_wrap

QUARTERS = {0.0: "0°", math.pi / 2: "90°", math.pi: "180°", -math.pi / 2: "270°"}
"""Names of the four lines along a pipe, by girth angle."""
ORDINATE_TOLERANCE_MM = 0.5
"""How far a fair line through the stations of an ordinate table may leave the cut, by its chords."""
SQUARE_MM = 0.01
"""An end whose cut runs less than this along the pipe is square, and wants a saw, not a wrap."""
_LEAST_STATIONS, _MOST_STATIONS, _STATION_STEP = 8, 64, 4
_LEAST_BAND_MM = 6.0
_SEAMS_RAD = tuple(math.radians(a) for a in (-135, -45, 45, 135))


@dataclass(frozen=True)
class Ordinates:
    """A cut line by numbers, for setting it out without paper.

    girth_rad: from the end's datum, right-handed from start to end, shape (n,), even steps of one turn.
    arc_mm: the same round the outside of the pipe.  distance_mm: along the pipe from ring_mm, a station, to
    the cut.  off_mm: how far chords from one to the next leave the cut at most.
    """

    girth_rad: Array
    arc_mm: Array
    distance_mm: Array
    ring_mm: float
    off_mm: float


@dataclass(frozen=True)
class EndWrap:
    """A wrap for one end of a long pipe, square edge on a ring line.

    ring_mm: along the pipe from the tip of its first end to the ring line.  tip_mm: from the ring line to
    the tip of this end.
    """

    at_end: At
    wrap: PipeWrap
    ring_mm: float
    tip_mm: float


def is_square(cut: EndCut) -> bool:
    """Whether an end is cut square off."""
    return float(np.ptp(cut.station_mm)) < SQUARE_MM


def whole_wrap(made: CutPipe, thickness_mm: float, seam_step_mm: float = 1.0) -> PipeWrap:
    """One wrap with both cut lines, y = 0 at the tip of the first end.

    Raises GeometryError where the pipe is too short between its cuts to hold a wrap together.
    """
    start, end = made.start.cut, made.end.cut
    girth = np.linspace(-math.pi, math.pi, 181)
    band = float(np.min(end.at(girth) - start.at(girth)))
    if band < _LEAST_BAND_MM:
        raise GeometryError(
            f"pipe {made.mark} is {band:.1f} mm long at its shortest, between both cuts; a wrap takes "
            f"{_LEAST_BAND_MM:.0f} mm"
        )
    seam = _seam(made, start, end)
    return pipe_wrap(
        [start.from_seam(seam), end.from_seam(seam)],
        None,
        _tip(start),
        made.pipe.radius_mm,
        thickness_mm,
        QUARTERS,
        [(one.cut.at_end, one.datum_rad, one.datum_words) for one in (made.start, made.end)],
        seam_step_mm,
    )


def end_wrap(
    made: CutPipe, at_end: At, thickness_mm: float, ring_step_mm: float = 5.0, seam_step_mm: float = 1.0
) -> EndWrap:
    """The wrap of one end, y = 0 at its square edge.

    ring_step_mm: the square edge lies at a whole multiple of this from the tip of its own end.
    """
    end = made.start if at_end == "start" else made.end
    cut, way = end.cut, 1.0 if at_end == "start" else -1.0
    radius = made.pipe.radius_mm
    least = float(np.ptp(cut.station_mm)) + least_height_mm(radius)
    reach = math.ceil(least / ring_step_mm - 1e-9) * ring_step_mm
    ring = _tip(cut) + way * reach
    seam = _seam(made, cut, None)
    wrap = pipe_wrap(
        [cut.from_seam(seam)],
        ring,
        ring,
        radius,
        thickness_mm,
        QUARTERS,
        [(at_end, end.datum_rad, end.datum_words)],
        seam_step_mm,
    )
    return EndWrap(at_end, wrap, ring - _tip(made.start.cut), reach)


def ordinates(
    made: CutPipe, at_end: At, ring_mm: float, tolerance_mm: float = ORDINATE_TOLERANCE_MM
) -> Ordinates:
    """The cut of one end at so many even stations round, a multiple of 4 from 8 on, as the tolerance wants.

    ring_mm: station that distances are taken from, into the pipe's end.  Stations start at the end's datum,
    so that the quarters from it, where equal pipes have their corners, are among them.
    """
    end = made.start if at_end == "start" else made.end
    fine = end.datum_rad + np.linspace(0.0, 2 * math.pi, 1441)
    truth = end.cut.at(fine)
    count, off = _LEAST_STATIONS, math.inf
    for count in range(_LEAST_STATIONS, _MOST_STATIONS + 1, _STATION_STEP):
        girth = np.linspace(0.0, 2 * math.pi, count + 1)
        height = end.cut.at(end.datum_rad + girth)
        slope = np.diff(height) / (made.pipe.radius_mm * np.diff(girth))
        panel = np.minimum(((fine - end.datum_rad) / (2 * math.pi) * count).astype(int), count - 1)
        gap = np.abs(truth - np.interp(fine - end.datum_rad, girth, height)) / np.hypot(1.0, slope[panel])
        off = float(np.max(gap))
        if off <= tolerance_mm:
            break
    girth = np.linspace(0.0, 2 * math.pi, count, endpoint=False)
    distance = np.abs(end.cut.at(end.datum_rad + girth) - ring_mm)
    return Ordinates(girth, made.pipe.radius_mm * girth, distance, ring_mm, off)


def _tip(cut: EndCut) -> float:
    """Station of the end's furthest point."""
    return float(cut.station_mm.min() if cut.at_end == "start" else cut.station_mm.max())


def _seam(made: CutPipe, cut: EndCut, other: EndCut | None) -> float:
    """Midway between quarter lines, where the sheet is tallest."""
    lap = np.linspace(0.0, LAP_MM / made.pipe.radius_mm, 8)

    def height(seam_rad: float) -> float:
        low, high = (cut, other) if cut.at_end == "start" else (other, cut)
        top = 0.0 if high is None else float(np.min(high.at(seam_rad + lap)))
        foot = 0.0 if low is None else float(np.max(low.at(seam_rad + lap)))
        return top - foot

    return max(_SEAMS_RAD, key=lambda seam: round(height(seam), 3))
