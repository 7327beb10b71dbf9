"""A leaning cut as it is laid out on the bench: the elbow flat on its plan, the plane's trace drawn on it.

Plan, seen from above: bend centre at (0, 0), the end measured from on the x axis, the bend anticlockwise from
there.  The plane cuts the level through heel and throat, at mid-height, in a straight line, the trace; it
cuts the sheet below and the level over the top in lines parallel to it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from templates_core.elbows.leaning_cuts import LeaningCut, tube_and_plane
from templates_core.geometry.section import section
from templates_core.geometry.surfaces import Array

_HALF_STEPS = 90


@dataclass(frozen=True, eq=False)
class LeaningLayout:
    """Points and lines of the plan [mm, rad].

    heel_mm, throat_mm, middle_mm: where the trace crosses heel, throat and centreline.  top_mm, foot_mm:
    where the cut meets the side that is uppermost, and the one on the sheet; shape (2,) each.
    over_mm, under_mm: the cut seen from above, from heel to throat over the top, and under it, (n, 2).
    trace_rad: direction of the trace, out towards the heel.
    bevel_rad: between the sheet, on the side of the end measured from, and the plane, seen along the trace:
    90° where the plane stands upright.
    least_rad, most_rad: sweeps between which the cut lies.
    """

    heel_mm: Array
    throat_mm: Array
    middle_mm: Array
    top_mm: Array
    foot_mm: Array
    over_mm: Array
    under_mm: Array
    trace_rad: float
    bevel_rad: float
    least_rad: float
    most_rad: float


def lay_out_leaning(cut: LeaningCut) -> LeaningLayout:
    """The plan of a leaning cut.

    From face A the side at girth angle +90° is uppermost.  From face B girth angles keep their sides while
    the elbow is turned over, so there it is the other.
    """
    tube, plane, near = tube_and_plane(cut)
    up = 1.0 if cut.from_face == "own" else -1.0
    girths = np.linspace(-math.pi, math.pi, 2 * _HALF_STEPS + 1)
    _, stations, _, _ = section(tube, plane, near, -math.pi, math.pi).at(girths)
    points = tube.point(girths, stations)[:, :2]
    one, other = points[_HALF_STEPS:], points[_HALF_STEPS::-1]
    over, under = (one, other) if up > 0 else (other, one)
    a, b, c = plane.normal
    level = math.hypot(a, b)
    trace = math.atan2(-a, b)
    sweeps = np.arctan2(points[:, 1], points[:, 0])
    return LeaningLayout(
        heel_mm=over[0],
        throat_mm=over[-1],
        middle_mm=cut_middle(cut),
        top_mm=over[_HALF_STEPS // 2],
        foot_mm=under[_HALF_STEPS // 2],
        over_mm=over,
        under_mm=under,
        trace_rad=trace,
        bevel_rad=math.atan2(level, up * c),
        least_rad=float(sweeps.min()),
        most_rad=float(sweeps.max()),
    )


def cut_middle(cut: LeaningCut) -> Array:
    """Where the plane passes the centreline, in plan [mm], shape (2,)."""
    radius = cut.elbow.bend_radius_mm or 0.0
    return radius * np.array([math.cos(cut.wrap_angle_rad), math.sin(cut.wrap_angle_rad)])


def face_to_cut_rad(cut: LeaningCut) -> float:
    """Angle between the plane of the piece's own face and that of its cut [rad].

    What an angle finder reads on the face when the finished piece stands on its cut on a flat plate.
    """
    kept = LeaningCut(cut.elbow, cut.piece_angle_rad, cut.lean, "own")
    a, b, c = tube_and_plane(kept)[1].normal
    return math.atan2(math.hypot(a, c), b)
