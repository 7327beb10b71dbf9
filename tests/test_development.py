"""The flat curve: radial cuts, the unrolled pipe, girth lines, chords, and a roll back on to the bend."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp
from scipy.interpolate import CubicSpline

from templates_core.geometry.development import FlatCurve, develop
from templates_core.geometry.section import SurfaceCurve, girth_line, radial_plane, section, tilted_plane
from templates_core.geometry.surfaces import Tube, straight_pipe
from tests.drawn_cuts import SEEDED, Array, Cut, cuts, place, tubes

FEW = settings(SEEDED, max_examples=20)
LANDING_MM = 0.05


def off_chord(points: Array) -> float:
    """Greatest distance of points (n, 2) from the straight line through the first and last."""
    way = points[-1] - points[0]
    apart = points - points[0]
    return float(np.max(np.abs(apart[:, 0] * way[1] - apart[:, 1] * way[0])) / np.linalg.norm(way))


def flat_length(flat: FlatCurve) -> float:
    return float(np.linalg.norm(np.diff(flat.points_mm, axis=0), axis=1).sum())


@SEEDED
@given(tubes(), st.floats(0.02, 0.98))
def test_a_radial_cut_lies_straight_and_as_long_as_the_girth(tube: Tube, share: float) -> None:
    angle = tube.sweep_rad * share
    near = tube.arc_start_mm + tube.bend_radius_mm * angle
    flat = develop(tube, section(tube, radial_plane(tube, angle), near), np.radians(np.arange(5, 360, 5.0)))
    girth = 2 * math.pi * tube.radius_mm
    assert off_chord(flat.points_mm) < 1e-9
    assert flat.points_mm[-1] == pytest.approx([girth, 0], abs=1e-9)
    assert flat.points_mm[:, 0] == pytest.approx(tube.radius_mm * flat.girth_rad, abs=1e-9)


@SEEDED
@given(st.floats(10, 165), st.floats(-60, 60), st.floats(-60, 60), st.floats(-math.pi, math.pi))
def test_a_plane_cut_of_a_pipe_is_the_unrolled_sine(
    radius: float, pitch_deg: float, yaw_deg: float, start: float
) -> None:
    """z = r cos(phi) tan(pitch) + r sin(phi) tan(yaw) over x = r phi."""
    pipe = straight_pipe(radius, 8 * radius)
    plane = tilted_plane(pipe, 4 * radius, math.radians(pitch_deg), math.radians(yaw_deg))
    flat = develop(pipe, section(pipe, plane, 4 * radius, start, start + 2 * math.pi))
    lean, side = math.tan(math.radians(pitch_deg)), math.tan(math.radians(yaw_deg))
    phi = flat.girth_rad
    z = radius * (np.cos(phi) * lean + np.sin(phi) * side)
    assert flat.points_mm[:, 0] == pytest.approx(radius * (phi - start), abs=1e-7)
    assert flat.points_mm[:, 1] == pytest.approx(z - z[0], abs=1e-7)
    assert flat.station_mm == pytest.approx(4 * radius + z, abs=1e-9)


@SEEDED
@given(tubes(with_tangents=False), st.sampled_from([90.0, -90.0]))
def test_a_side_line_is_an_arc_of_the_bend_radius_bending_to_the_throat(tube: Tube, girth_deg: float) -> None:
    """Flat x grows with the girth angle, so the throat lies to +x of +90° and to -x of -90°."""
    flat = develop(tube, girth_line(tube, math.radians(girth_deg), 0.0, tube.length_mm))
    R, toward_throat = tube.bend_radius_mm, math.copysign(1, girth_deg)
    centre = np.array([toward_throat * R, 0.0])
    assert np.linalg.norm(flat.points_mm - centre, axis=1) == pytest.approx(R, rel=1e-9)
    end = [toward_throat * R * (1 - math.cos(tube.sweep_rad)), R * math.sin(tube.sweep_rad)]
    assert flat.points_mm[-1] == pytest.approx(end, abs=1e-9 * R)
    assert flat.heading_rad[-1] - flat.heading_rad[0] == pytest.approx(-toward_throat * tube.sweep_rad)


@SEEDED
@given(tubes(), st.sampled_from([0.0, math.pi, -math.pi]))
def test_heel_and_throat_lines_lie_straight_at_their_length(tube: Tube, girth: float) -> None:
    flat = develop(tube, girth_line(tube, girth, 0.0, tube.length_mm))
    walk = np.array([place(tube, girth, s) for s in np.linspace(0, tube.length_mm, 2001)])
    walked = float(np.linalg.norm(np.diff(walk, axis=0), axis=1).sum())
    assert off_chord(flat.points_mm) < 1e-9
    assert flat.points_mm[-1] == pytest.approx([0, walked], rel=1e-6, abs=1e-9)


def test_published_arcs_of_a_quarter_bend() -> None:
    """Heel radius 4, throat radius 2, centre 3: 6.2832, 3.1416 (J. & M. Hamilton, Math to Build On, 1993)."""
    tube = Tube(1.0, 3.0, math.pi / 2)
    for girth, arc in ((0.0, 6.2832), (math.pi, 3.1416)):
        flat = develop(tube, girth_line(tube, girth, 0.0, tube.length_mm))
        assert flat.points_mm[-1] == pytest.approx([0, arc], abs=5e-5)


@FEW
@given(tubes(), st.floats(-3, 3), st.floats(0, 1), st.floats(0, 1))
def test_a_girth_line_back_is_the_girth_line_out_turned_half_round(
    tube: Tube, girth: float, start: float, end: float
) -> None:
    a, b = tube.length_mm * start, tube.length_mm * end
    out, back = develop(tube, girth_line(tube, girth, a, b)), develop(tube, girth_line(tube, girth, b, a))
    turn = float(out.heading_rad[-1] + math.pi - back.heading_rad[0])
    spin = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    assert out.points_mm[-1] + spin @ back.points_mm[-1] == pytest.approx([0, 0], abs=1e-7)


def test_a_girth_line_of_no_length_is_one_point() -> None:
    flat = develop(Tube(10.0, 30.0, 1.0), girth_line(Tube(10.0, 30.0, 1.0), 0.5, 7.0, 7.0))
    assert flat.points_mm.tolist() == [[0.0, 0.0]]


@SEEDED
@given(cuts(), st.floats(-2.5, -0.3))
def test_no_chord_leaves_the_curve_by_more_than_the_tolerance(cut: Cut, exponent: float) -> None:
    tolerance = 10**exponent
    coarse = develop(cut.tube, cut.curve, chord_tolerance_mm=tolerance)
    between = np.linspace(coarse.parameter[:-1], coarse.parameter[1:], 9, axis=1)[:, 1:-1].ravel()
    stops = (*between, *coarse.parameter[1:-1])
    dense = develop(cut.tube, cut.curve, stops, chord_tolerance_mm=tolerance / 20)
    rows = np.array([dense.index(t) for t in coarse.parameter])
    assert dense.parameter[rows] == pytest.approx(coarse.parameter, abs=1e-15)
    assert dense.points_mm[rows] == pytest.approx(coarse.points_mm, abs=1e-5 * tolerance + 1e-10)
    for a, b in pairwise(rows):
        if b > a and np.linalg.norm(dense.points_mm[b] - dense.points_mm[a]) > 1e-9:
            assert off_chord(dense.points_mm[a : b + 1]) < 1.01 * tolerance


def test_chords_of_an_s_curve_are_measured_over_its_whole_bend() -> None:
    """A panel whose ends point the same way may still bulge on both sides."""
    pipe = straight_pipe(100.0, 400.0)
    cut = section(pipe, tilted_plane(pipe, 200.0, 0.7, 0.0), 200.0, 0.25 * math.pi, 0.75 * math.pi)
    flat = develop(pipe, cut, chord_tolerance_mm=0.02)
    for a, b in pairwise(flat.girth_rad):
        phi = np.linspace(a, b, 21)
        assert off_chord(np.stack([100 * phi, 100 * np.cos(phi) * math.tan(0.7)], axis=1)) < 0.0202


def test_stops_are_rows_and_stops_off_the_curve_are_refused() -> None:
    tube = Tube(24.13, 57.15, math.pi / 2, 20.0, 20.0)
    cut = section(tube, tilted_plane(tube, 22.0, 0.4, 0.2), 22.0)
    stops = (0.1234, 1.0, math.pi)
    flat = develop(tube, cut, stops)
    for t in (*stops, *cut.joins, cut.start, cut.end):
        assert flat.parameter[flat.index(t)] == t
    assert len(cut.joins) == 2
    assert np.all(np.diff(flat.parameter) > 0)
    for t in (-0.01, 6.3):
        with pytest.raises(ValueError, match="leave the curve"):
            develop(tube, cut, (t,))


@FEW
@given(cuts(), st.floats(-0.01, 0.01))
def test_stops_change_no_point(cut: Cut, stop: float) -> None:
    plain = develop(cut.tube, cut.curve)
    stopped = develop(cut.tube, cut.curve, (1.0, 2.0 + stop, 5.0))
    assert stopped.points_mm[-1] == pytest.approx(plain.points_mm[-1], abs=1e-8)
    assert stopped.heading_rad[-1] == pytest.approx(plain.heading_rad[-1], abs=1e-10)


def test_even_extra_curvature_bends_a_radial_cut_to_a_circle() -> None:
    tube = Tube(24.13, 57.15, math.pi / 2)
    cut = section(tube, radial_plane(tube, 0.6), 0.6 * 57.15)
    flat = develop(tube, cut, extra_curvature=lambda girth, _: np.full_like(girth, 1 / 300))
    centre = np.array([0.0, 300.0])
    assert np.linalg.norm(flat.points_mm - centre, axis=1) == pytest.approx(300.0, abs=1e-9)
    assert flat.heading_rad[-1] == pytest.approx(2 * math.pi * 24.13 / 300, abs=1e-12)
    assert flat.points_mm[-1][1] > 0


@FEW
@given(cuts(), st.floats(0.0005, 0.003))
def test_extra_curvature_adds_its_integral_along_the_cut_and_nothing_else(cut: Cut, most: float) -> None:
    """Heading gains ∫ extra ds, with ds walked in space; the length stays."""

    def extra(girth: Array, station: Array) -> Array:
        return most * (1 + np.cos(girth) * station / cut.tube.length_mm)

    def in_space(phi: float) -> Array:
        return place(cut.tube, phi, float(cut.curve.at(np.array([phi]))[1][0]))

    def gain(phi: float) -> float:
        h = 1e-5
        phi = min(max(phi, h), 2 * math.pi - h)
        speed = np.linalg.norm(in_space(phi + h) - in_space(phi - h)) / (2 * h)
        station = cut.curve.at(np.array([phi]))[1]
        return float(extra(np.array([phi]), station)[0] * speed)

    plain = develop(cut.tube, cut.curve, chord_tolerance_mm=1e-3)
    bent = develop(cut.tube, cut.curve, chord_tolerance_mm=1e-3, extra_curvature=extra)
    added = float(bent.heading_rad[-1] - plain.heading_rad[-1])
    edges = [0.0, *cut.curve.joins, 2 * math.pi]
    expected = sum(quad(gain, a, b, epsabs=1e-7)[0] for a, b in pairwise(edges))
    assert added == pytest.approx(expected, rel=1e-6)
    assert flat_length(bent) == pytest.approx(flat_length(plain), abs=5e-3)


def test_a_small_closed_loop_turns_by_a_full_turn_less_the_curvature_inside() -> None:
    """Gauss-Bonnet on a curve that heads every way: turning = 2π - K·area for a small loop."""
    tube, size = Tube(24.13, 57.15, math.pi / 2), 0.05
    phi0, station0 = 2.7, 40.0
    rho = 57.15 + 24.13 * math.cos(phi0)
    reach = 57.15 / rho * 24.13 * size

    def at(t: Array) -> tuple[Array, Array, Array, Array]:
        s, c = np.sin(t + 0.3), np.cos(t + 0.3)
        return phi0 + size * c, station0 + reach * s, -size * s, reach * c

    loop = SurfaceCurve(at, 0.0, 2 * math.pi)
    flat = develop(tube, loop)
    turned = float(np.unwrap(flat.heading_rad)[-1] - flat.heading_rad[0])
    area = math.pi * (24.13 * size) ** 2
    curvature = math.cos(phi0) / (24.13 * rho)
    assert turned == pytest.approx(2 * math.pi - curvature * area, rel=1e-5)
    assert abs(2 * math.pi - turned) > 1e-3
    assert len(flat.parameter) < 200


def roll_back(tube: Tube, points_mm: Array, start_rad: float, station_mm: float) -> Array:
    """Where a flat line of points (n, 2) lands when it is laid on the tube: end points in space (n, 3).

    Uses only the flat line's length and curvature, by a spline, and the equations of a curve on a surface of
    revolution: r dphi = cos a ds, scale dstation = sin a ds, da = k ds + sin phi dpsi. Flat x is the girth
    direction at the start.
    """
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points_mm, axis=0), axis=1))])
    line = CubicSpline(along, points_mm)
    first, second = line.derivative(), line.derivative(2)
    r, R = tube.radius_mm, tube.bend_radius_mm

    def carry(u: float, state: Array) -> list[float]:
        phi, station, heading = state
        (dx, dy), (ddx, ddy) = first(u), second(u)
        speed = math.hypot(dx, dy)
        bend = (dx * ddy - dy * ddx) / speed**2
        on_arc = tube.tangent_a_mm <= station <= tube.tangent_a_mm + R * tube.sweep_rad
        ahead = speed * math.sin(heading) / ((R + r * math.cos(phi)) / R if on_arc else 1.0)
        swing = math.sin(phi) * ahead / R if on_arc else 0.0
        return [speed * math.cos(heading) / r, ahead, bend + swing]

    heading = math.atan2(*first(0.0)[::-1])
    way = solve_ivp(
        carry,
        (0, along[-1]),
        [start_rad, station_mm, heading],
        t_eval=along,
        rtol=1e-7,
        atol=1e-8,
        max_step=8.0,
    )
    assert way.success
    return np.array([place(tube, phi, s) for phi, s in way.y[:2].T])


@FEW
@given(cuts())
def test_rolled_back_on_to_the_bend_the_flat_line_lands_on_the_plane(cut: Cut) -> None:
    flat = develop(cut.tube, cut.curve)
    landed = roll_back(cut.tube, flat.points_mm, 0.0, float(flat.station_mm[0]))
    assert np.max(np.abs(cut.plane.distance_mm(landed))) < LANDING_MM
    assert np.linalg.norm(landed[-1] - landed[0]) < LANDING_MM


def test_the_roll_back_would_show_a_mirrored_or_stretched_line() -> None:
    tube = Tube(24.13, 57.15, math.pi / 2)
    plane = tilted_plane(tube, 45.0, 0.2, 0.4)
    flat = develop(tube, section(tube, plane, 45.0))
    for wrong in (flat.points_mm * [1, -1], flat.points_mm * 1.01):
        landed = roll_back(tube, wrong, 0.0, float(flat.station_mm[0]))
        assert np.max(np.abs(plane.distance_mm(landed))) > 2 * LANDING_MM
