"""The wrap of a straight pipe's end, or of both: a whole sheet, since a pipe unrolls exactly."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from templates_core.fittings import Pipe
from templates_core.geometry.pipe_ends import At, EndCut, PipeAxis, end_cut
from templates_core.geometry.solids import HalfSpace
from templates_core.geometry.surfaces import Array
from templates_core.wraps.wraps import GirthMark, SeamTick, seam_ticks

LONG_POINT, SIDE, SHORT_POINT = "long point", "side", "short point"
LAP_MM = 14.0
"""Width of the tab that the other end of a wrap lies on."""
_SEAM_RAD = math.radians(-135)
_LEAST_HEIGHT_MM = 25.0
_CLEAR_OF_TRACE_MM = 3.0
_TICK_MM = 4.0


@dataclass(frozen=True)
class TraceEdge:
    """One cut line of a wrap.

    at_end: of the pipe.  line_mm: its points (n, 2) from left to right.  girth_rad: theirs (n,).
    """

    at_end: At
    line_mm: Array
    girth_rad: Array


@dataclass(frozen=True)
class GirthLine:
    """A line along the pipe over the whole height of the wrap, from foot_mm up to head_mm, each (2,)."""

    name: str
    girth_rad: float
    foot_mm: Array
    head_mm: Array


@dataclass(frozen=True)
class PipeWrap:
    """A flat wrap as printed [mm], printed side out with the pipe's first end down.

    x goes right with the girth angle, from girth angle 0; y goes up along the pipe.  All of it lies on the
    pipe that is kept.  edges: the cut lines, one or two.  outlines_mm: chains (n, 2) that close its outline,
    from each cut line's right end on.  square_mm: y of its square edge; None where both edges are cut
    lines.  marks: what faces where at the cut lines.  seam: girths on the tab, from seam_line_mm (2, 2), on
    which the left end falls at the nominal girth.
    """

    edges: tuple[TraceEdge, ...]
    outlines_mm: tuple[Array, ...]
    square_mm: float | None
    lines: tuple[GirthLine, ...]
    marks: tuple[GirthMark, ...]
    seam: tuple[SeamTick, ...]
    seam_line_mm: Array
    girth_mm: float


def pipe_wrap(
    cuts: Sequence[EndCut],
    square_mm: float | None,
    zero_mm: float,
    radius_mm: float,
    thickness_mm: float,
    lines: Mapping[float, str],
    marks: Sequence[tuple[At, float, str]] = (),
    seam_step_mm: float = 1.0,
) -> PipeWrap:
    """Unroll one cut with a square edge, or two cuts without.

    cuts: with one seam.  square_mm: station of the square edge.  zero_mm: station of y = 0.
    thickness_mm: of the paper, which lies at that much more than the pipe's radius.
    lines: names of girth lines [rad].  marks: end, girth angle and name of what is marked at a cut line.
    """
    scale = radius_mm + thickness_mm / 2
    edges = tuple(
        TraceEdge(
            cut.at_end, np.stack([scale * cut.girth_rad, cut.station_mm - zero_mm], axis=1), cut.girth_rad
        )
        for cut in cuts
    )
    seam = float(cuts[0].girth_rad[0])
    low, high = _border(edges, "start", square_mm, zero_mm), _border(edges, "end", square_mm, zero_mm)
    foot, head = _tab(low, seam, scale, up=1.0), _tab(high, seam, scale, up=-1.0)
    tick_foot, tick = (head, -_TICK_MM) if len(cuts) == 1 and high.edge is None else (foot, _TICK_MM)
    girth = 2 * math.pi * radius_mm
    return PipeWrap(
        edges=edges,
        outlines_mm=_outlines(low, high, foot, head, scale, seam),
        square_mm=None if square_mm is None else square_mm - zero_mm,
        lines=tuple(
            GirthLine(name, phi, low.point(phi, seam, scale), high.point(phi, seam, scale))
            for phi, name in lines.items()
        ),
        marks=tuple(_mark(low, high, end, phi, name, seam, scale) for end, phi, name in marks),
        seam=seam_ticks(girth, tick_foot, np.array([1.0, 0.0]), np.array([0.0, tick]), LAP_MM, seam_step_mm),
        seam_line_mm=np.stack([foot, head]),
        girth_mm=girth,
    )


def mitre_wrap(radius_mm: float, tilt_rad: float, thickness_mm: float, seam_step_mm: float = 1.0) -> PipeWrap:
    """The wrap of a pipe end cut on a plane that leans tilt_rad off square, square edge down.

    The long point is at girth angle 0; y = 0 is the square edge.
    """
    plane = HalfSpace(np.zeros(3), np.array([math.sin(tilt_rad), 0.0, -math.cos(tilt_rad)]))
    axis = PipeAxis(np.zeros(3), np.array([0.0, 0.0, 1.0]), np.array([1.0, 0.0, 0.0]))
    pipe = Pipe("", 2 * radius_mm, 0.0, "")
    cut = end_cut(axis, pipe, [plane], "end", seam_rad=_SEAM_RAD)
    square = -mitre_back_mm(radius_mm, tilt_rad)
    names = {0.0: LONG_POINT, math.pi / 2: SIDE, -math.pi / 2: SIDE, math.pi: SHORT_POINT}
    return pipe_wrap([cut], square, square, radius_mm, thickness_mm, names, seam_step_mm=seam_step_mm)


def mitre_back_mm(radius_mm: float, tilt_rad: float) -> float:
    """From the work point back to the square edge of a mitre's wrap, along the centreline [mm]."""
    return radius_mm * math.tan(tilt_rad) + least_height_mm(radius_mm)


def least_height_mm(radius_mm: float) -> float:
    """Paper between a cut line and the square edge, at least [mm]."""
    return max(_LEAST_HEIGHT_MM, radius_mm)


@dataclass(frozen=True)
class _Border:
    """The lower or the upper border of a wrap: a cut line, or a square edge at a height."""

    edge: TraceEdge | None
    height_mm: float

    def y(self, girth_rad: Array) -> Array:
        """Heights at girth angles (n,) within a turn from the seam."""
        if self.edge is None:
            return np.full_like(girth_rad, self.height_mm)
        return np.asarray(np.interp(girth_rad, self.edge.girth_rad, self.edge.line_mm[:, 1]))

    def point(self, girth_rad: float, seam_rad: float, scale_mm: float) -> Array:
        phi = seam_rad + math.remainder(girth_rad - seam_rad - math.pi, 2 * math.pi) + math.pi
        return np.array([scale_mm * phi, float(self.y(np.array([phi]))[0])])


def _border(edges: Sequence[TraceEdge], at_end: At, square_mm: float | None, zero_mm: float) -> _Border:
    for edge in edges:
        if edge.at_end == at_end:
            return _Border(edge, 0.0)
    if square_mm is None:
        raise ValueError("a wrap of one cut has a square edge")
    return _Border(None, square_mm - zero_mm)


def _tab(border: _Border, seam_rad: float, scale_mm: float, up: float) -> Array:
    """Corner (2,) between the right end and the tab, which stays clear of the cut line that it goes under."""
    x = scale_mm * (seam_rad + 2 * math.pi)
    if border.edge is None:
        return np.array([x, border.height_mm])
    under = seam_rad + np.linspace(0.0, LAP_MM / scale_mm, 15)
    heights = up * np.append(border.y(under), border.y(np.array([seam_rad + 2 * math.pi])))
    return np.array([x, up * (float(np.max(heights)) + _CLEAR_OF_TRACE_MM)])


def _outlines(
    low: _Border, high: _Border, foot: Array, head: Array, scale_mm: float, seam_rad: float
) -> tuple[Array, ...]:
    """What closes the sheet: its left side, and round the tab at its right; one chain with a square edge."""
    lap = np.array([LAP_MM, 0.0])
    ends = np.array([seam_rad, seam_rad + 2 * math.pi])
    low_left, low_right = np.stack([scale_mm * ends, low.y(ends)], axis=1)
    high_left, high_right = np.stack([scale_mm * ends, high.y(ends)], axis=1)
    left = np.stack([low_left, high_left])
    if low.edge is None:
        return (_distinct(np.stack([high_right, head, head + lap, foot + lap, foot, *left])),)
    if high.edge is None:
        return (_distinct(np.stack([low_right, foot, foot + lap, head + lap, head, *left[::-1]])),)
    return left, np.stack([low_right, foot, foot + lap, head + lap, head, high_right])


def _distinct(chain: Array) -> Array:
    """The chain without points that repeat the one before."""
    moved = np.linalg.norm(np.diff(chain, axis=0), axis=1) > 1e-9
    return np.asarray(chain[np.concatenate([[True], moved])])


def _mark(
    low: _Border, high: _Border, at_end: At, girth_rad: float, name: str, seam_rad: float, scale_mm: float
) -> GirthMark:
    border, inward = (low, 1.0) if at_end == "start" else (high, -1.0)
    return GirthMark(name, girth_rad, border.point(girth_rad, seam_rad, scale_mm), np.array([0.0, inward]))
