"""The wrap of a straight pipe end: a whole sheet, since a pipe unrolls exactly."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from templates_core.development import FlatCurve, develop
from templates_core.section import section, tilted_plane
from templates_core.surfaces import Array, straight_pipe
from templates_core.wraps import GirthMark, SeamTick, seam_ticks

LONG_POINT, SIDE, SHORT_POINT = "long point", "side", "short point"
_SEAM_RAD = math.radians(-135)
_LEAST_HEIGHT_SHARE = 0.5
_LEAST_HEIGHT_MM = 25.0
_LAP_MM = 14.0


@dataclass(frozen=True)
class PipeWrap:
    """A flat wrap for one pipe end as printed [mm]: the cut at the top, the square edge at the bottom.

    The origin is on the square edge under the long point.  trace_mm: the cut line, shape (n, 2), with the
    girth angle of each of its points, from the long point.  outline_mm: the rest of the edge, from the trace
    edge's last point round to its first.  work_point_mm: from the square edge to the work point along the
    centreline.  x_sense: +1 where x grows with the girth angle, else -1.
    """

    trace_mm: Array
    trace_girth_rad: Array
    outline_mm: Array
    marks: tuple[GirthMark, ...]
    seam: tuple[SeamTick, ...]
    girth_mm: float
    work_point_mm: float
    x_sense: int


def mitre_wrap(radius_mm: float, tilt_rad: float, thickness_mm: float, seam_step_mm: float = 1.0) -> PipeWrap:
    """The wrap of a pipe end cut on a plane that leans tilt_rad off square.

    The cut is z = r cos phi tan(tilt) about the work point, phi from the long point.
    """
    reach = radius_mm * math.tan(tilt_rad)
    work_point = reach + max(_LEAST_HEIGHT_MM, _LEAST_HEIGHT_SHARE * 2 * radius_mm)
    pipe = straight_pipe(radius_mm, work_point + reach)
    plane = tilted_plane(pipe, work_point, tilt_rad, 0.0)
    cut = section(pipe, plane, work_point, _SEAM_RAD, _SEAM_RAD + 2 * math.pi)
    marks = {0.0: LONG_POINT, math.pi / 2: SIDE, -math.pi / 2: SIDE, math.pi: SHORT_POINT}
    trace = develop(pipe.covered(thickness_mm), cut, tuple(marks))
    flat = _from_square_edge(trace)
    down = np.array([0.0, -1.0])
    return PipeWrap(
        trace_mm=flat,
        trace_girth_rad=trace.girth_rad,
        outline_mm=_outline(flat),
        marks=tuple(GirthMark(name, girth, flat[trace.index(girth)], down) for girth, name in marks.items()),
        seam=_seam(flat, radius_mm, seam_step_mm),
        girth_mm=2 * math.pi * radius_mm,
        work_point_mm=work_point,
        x_sense=-1,
    )


def _from_square_edge(trace: FlatCurve) -> Array:
    """The trace edge printed side out, x from the long point, y from the square edge at station 0."""
    long_point = trace.index(0.0)
    moved = trace.points_mm - trace.points_mm[long_point] + [0.0, trace.station_mm[long_point]]
    return np.asarray(moved * [-1.0, 1.0])


def _outline(trace_mm: Array) -> Array:
    """From the trace edge's end, round the seam tab and along the square edge to its start."""
    first, last = trace_mm[0], trace_mm[-1]
    lap_x = last[0] - _LAP_MM
    return np.array([last, [lap_x, last[1]], [lap_x, 0.0], [first[0], 0.0], first])


def _seam(trace_mm: Array, radius_mm: float, step_mm: float) -> tuple[SeamTick, ...]:
    foot = np.array([trace_mm[-1, 0], 0.0])
    return seam_ticks(
        nominal_mm=2 * math.pi * radius_mm,
        at_mm=foot,
        onward=np.array([-1.0, 0.0]),
        mark_mm=np.array([0.0, 4.0]),
        lap_mm=_LAP_MM,
        step_mm=step_mm,
    )
