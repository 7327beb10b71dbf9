"""Length and bending of the developed cut against scipy quadrature on the shape in space.

The curve's bending in space comes from the implicit equation F = 0 of torus or cylinder and the plane alone:
no girth-line slopes, no heading, no formula of the flat curve.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate

from templates_core.geometry.development import FlatCurve, develop
from templates_core.geometry.section import SurfaceCurve, girth_line, section, tilted_plane
from templates_core.geometry.surfaces import Tube
from tests.drawn_cuts import SEEDED, Array, Cut, cuts, place

CHORD_MM = 2e-4
FEW = settings(SEEDED, max_examples=20)


@dataclass(frozen=True)
class Local:
    """The surface F = 0 about a point: gradient and second derivatives of F."""

    gradient: Array
    hessian: Array


def torus(tube: Tube, at: Array) -> Local:
    """F = (√(x² + y²) - R)² + z² - r²."""
    x, y, z = at
    q, R = math.hypot(x, y), tube.bend_radius_mm
    gradient = 2 * np.array([x * (1 - R / q), y * (1 - R / q), z])
    hessian = 2 * np.array(
        [
            [1 - R / q + R * x * x / q**3, R * x * y / q**3, 0],
            [R * x * y / q**3, 1 - R / q + R * y * y / q**3, 0],
            [0, 0, 1],
        ]
    )
    return Local(gradient, hessian)


def cylinder(tube: Tube, at: Array, turned: float) -> Local:
    """F = (x cos t + y sin t - R)² + z² - r²."""
    out = np.array([math.cos(turned), math.sin(turned), 0.0])
    up = np.array([0.0, 0.0, 1.0])
    gradient = 2 * ((at @ out - tube.bend_radius_mm) * out + at[2] * up)
    return Local(gradient, 2 * (np.outer(out, out) + np.outer(up, up)))


def surface_at(tube: Tube, at: Array, station: float) -> Local:
    if station < tube.arc_start_mm:
        return cylinder(tube, at, 0.0)
    if station > tube.arc_end_mm:
        return cylinder(tube, at, tube.sweep_rad)
    return torus(tube, at)


def bending(cut: Cut, phi: float) -> tuple[float, float]:
    """Speed [mm/rad] by girth angle and geodesic curvature [1/mm] of the cut, anticlockwise from inside."""
    tube, n = cut.tube, np.asarray(cut.plane.normal)
    station = float(cut.curve.at(np.array([phi]))[1][0])
    at = place(tube, phi, station)
    local = surface_at(tube, at, station)
    outward = local.gradient / np.linalg.norm(local.gradient)
    turned = float(np.clip((station - tube.arc_start_mm) / tube.bend_radius_mm, 0, tube.sweep_rad))
    round_girth = np.array(
        [-math.sin(phi) * math.cos(turned), -math.sin(phi) * math.sin(turned), math.cos(phi)]
    )
    along = np.cross(n, local.gradient)
    along *= math.copysign(1 / float(np.linalg.norm(along)), float(along @ round_girth))
    in_plane = local.gradient - (local.gradient @ n) * n
    steep = float(np.linalg.norm(in_plane))
    bend = -float(along @ local.hessian @ along) / steep * (in_plane / steep)
    left_seen_from_inside = np.cross(-outward, along)
    return tube.radius_mm / float(along @ round_girth), float(bend @ left_seen_from_inside)


def flat_length(flat: FlatCurve) -> float:
    return float(np.linalg.norm(np.diff(flat.points_mm, axis=0), axis=1).sum())


def turning(flat: FlatCurve) -> float:
    return float(flat.heading_rad[-1] - flat.heading_rad[0])


def around(cut: Cut, value: str) -> float:
    def integrand(phi: float) -> float:
        speed, curvature = bending(cut, phi)
        return speed if value == "length" else curvature * speed

    ends = [cut.curve.start, *cut.curve.joins, cut.curve.end]
    parts = [integrate.quad(integrand, a, b, epsabs=1e-7)[0] for a, b in pairwise(ends)]
    return float(sum(parts))


@FEW
@given(cuts())
def test_the_flat_curve_is_as_long_as_the_cut(cut: Cut) -> None:
    """A chord is short of its arc by under a third of its sagitta times its turning."""
    flat = develop(cut.tube, cut.curve, chord_tolerance_mm=CHORD_MM)
    short = CHORD_MM / 3 * float(np.abs(np.diff(flat.heading_rad)).sum())
    assert flat_length(flat) == pytest.approx(around(cut, "length") - short / 2, abs=short / 2 + 1e-6)


@FEW
@given(cuts())
def test_the_flat_curve_turns_by_the_total_geodesic_curvature_of_the_cut(cut: Cut) -> None:
    flat = develop(cut.tube, cut.curve)
    assert turning(flat) == pytest.approx(around(cut, "turning"), abs=1e-7)


@FEW
@given(cuts(), st.floats(0.3, 6.0))
def test_the_flat_curve_bends_as_the_cut_does_at_every_point(cut: Cut, phi: float) -> None:
    if any(abs(phi - join) < 1e-2 for join in cut.curve.joins):
        return
    h = 1e-3
    flat = develop(cut.tube, cut.curve, (phi - h, phi + h))
    before, after = flat.index(phi - h), flat.index(phi + h)
    speed, curvature = bending(cut, phi)
    turned = float(flat.heading_rad[after] - flat.heading_rad[before])
    assert turned / (2 * h * speed) == pytest.approx(curvature, abs=2e-5 / cut.tube.radius_mm)


@FEW
@given(cuts(), st.floats(0, 6.0))
def test_the_flat_heading_is_the_angle_between_cut_and_girth_in_space(cut: Cut, phi: float) -> None:
    """At its start the flat curve keeps its angle with the girth direction, which is flat x."""
    part = SurfaceCurve(
        cut.curve.at, phi, cut.curve.end, tuple(j for j in cut.curve.joins if phi < j < cut.curve.end)
    )
    flat = develop(cut.tube, part)
    speed, _ = bending(cut, phi)
    assert math.cos(float(flat.heading_rad[0])) == pytest.approx(cut.tube.radius_mm / speed, abs=1e-9)


def corner_turn(tube: Tube, into: Array, out: Array, at: Array, station: float) -> float:
    """Turn between two directions at a point, anticlockwise seen from inside."""
    inward = -surface_at(tube, at, station).gradient
    inward /= np.linalg.norm(inward)
    return math.atan2(float(np.cross(into, out) @ inward), float(into @ out))


def direction(tube: Tube, curve: SurfaceCurve, t: float, way: int) -> Array:
    """Unit direction in space at an end of a curve, by a short step into it."""
    h = 1e-6 * (1 if t == curve.start else -1)
    phi, station, _, _ = curve.at(np.array([t, t + h]))
    step = place(tube, phi[1], station[1]) - place(tube, phi[0], station[0])
    return np.asarray(way * math.copysign(1.0, h) * step / np.linalg.norm(step))


PATCHES = [
    (
        "on the arc, heel half",
        Tube(24.13, 57.15, math.pi / 2),
        (12.0, 10.0, -15.0),
        (50.0, -20.0, 25.0),
        -1.2,
        1.0,
    ),
    (
        "on the arc, over the throat",
        Tube(24.13, 57.15, math.pi / 2),
        (20.0, 5.0, 9.0),
        (70.0, 8.0, -6.0),
        2.0,
        4.4,
    ),
    (
        "arc and both tangents",
        Tube(24.13, 57.15, math.pi / 4, 30.0, 30.0),
        (25.0, 20.0, 9.0),
        (80.0, 8.0, 20.0),
        0.4,
        5.5,
    ),
    (
        "on one tangent",
        Tube(24.13, 57.15, math.pi / 4, 99.0, 0.0),
        (30.0, 20.0, 9.0),
        (70.0, 8.0, 20.0),
        -0.4,
        3.5,
    ),
]


@pytest.mark.parametrize(
    ("name", "tube", "low", "high", "left", "right"), PATCHES, ids=[p[0] for p in PATCHES]
)
def test_gauss_bonnet_over_a_patch_between_two_cuts_and_two_girth_lines(
    name: str,
    tube: Tube,
    low: tuple[float, float, float],
    high: tuple[float, float, float],
    left: float,
    right: float,
) -> None:
    """Bending of the edge + turns at the corners + curvature inside = 2π."""

    def cut(station: float, pitch_deg: float, yaw_deg: float) -> SurfaceCurve:
        plane = tilted_plane(tube, station, math.radians(pitch_deg), math.radians(yaw_deg))
        return section(tube, plane, station, left, right)

    def station(curve: SurfaceCurve, phi: float) -> float:
        return float(curve.at(np.array([phi]))[1][0])

    bottom, top = cut(*low), cut(*high)
    up = girth_line(tube, right, station(bottom, right), station(top, right))
    down = girth_line(tube, left, station(top, left), station(bottom, left))
    bent = turning(develop(tube, bottom)) + turning(develop(tube, up)) + turning(develop(tube, down))
    bent -= turning(develop(tube, top))

    corners = [
        (bottom, right, 1, up, up.start, 1),
        (up, up.end, 1, top, right, -1),
        (top, left, -1, down, down.start, 1),
        (down, down.end, 1, bottom, left, 1),
    ]
    turns = 0.0
    for before, t, way, after, t2, way2 in corners:
        phi, mm = (float(v[0]) for v in after.at(np.array([t2]))[:2])
        into, out = direction(tube, before, t, way), direction(tube, after, t2, way2)
        turns += corner_turn(tube, into, out, place(tube, phi, mm), mm)

    def swept(curve: SurfaceCurve, phi: float) -> float:
        along = (station(curve, phi) - tube.tangent_a_mm) / tube.bend_radius_mm
        return min(max(along, 0.0), tube.sweep_rad)

    ends = sorted({left, right, *bottom.joins, *top.joins})
    inside = sum(
        integrate.quad(lambda phi: math.cos(phi) * (swept(top, phi) - swept(bottom, phi)), a, b)[0]
        for a, b in pairwise(ends)
    )
    assert bent + turns + inside == pytest.approx(2 * math.pi, abs=2e-6), name
