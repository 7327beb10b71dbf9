"""Plane sections against the tube's shape in space: on the plane, unbroken, refused where they fail."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from templates_core.errors import GeometryError
from templates_core.geometry.section import Plane, girth_line, radial_plane, section, tilted_plane
from templates_core.geometry.surfaces import Tube, straight_pipe
from tests.drawn_cuts import SEEDED, Array, Cut, cuts, place, tubes

ELBOW = Tube(24.13, 57.15, math.pi / 2)
LONG_ENDS = Tube(24.13, 57.15, math.pi / 2, 40.0, 40.0)
ROUND = np.radians(np.arange(0, 360.5, 3.0))


def in_space(tube: Tube, phi: Array, station: Array) -> Array:
    return np.array([place(tube, p, s) for p, s in zip(phi, station, strict=True)])


@SEEDED
@given(cuts())
def test_the_cut_lies_on_the_plane_and_goes_once_round(cut: Cut) -> None:
    phi, station, d_phi, _ = cut.curve.at(ROUND)
    assert cut.plane.distance_mm(in_space(cut.tube, phi, station)) == pytest.approx(0, abs=1e-8)
    assert phi == pytest.approx(ROUND)
    assert d_phi == pytest.approx(1)
    assert station[0] == pytest.approx(station[-1], abs=1e-8)
    assert (cut.curve.start, cut.curve.end) == (0.0, 2 * math.pi)


@SEEDED
@given(cuts())
def test_the_cut_is_unbroken_and_its_slope_is_the_slope_of_its_stations(cut: Cut) -> None:
    h = 1e-5
    phi = np.array([p for p in ROUND if all(abs(p - j) > 2 * h for j in cut.curve.joins)])
    _, ahead, _, _ = cut.curve.at(phi + h)
    _, behind, _, _ = cut.curve.at(phi - h)
    _, _, _, slope = cut.curve.at(phi)
    assert (ahead - behind) / (2 * h) == pytest.approx(slope, rel=1e-4, abs=1e-4 * cut.tube.radius_mm)
    _, station, _, _ = cut.curve.at(np.linspace(0, 2 * math.pi, 3601))
    _, _, _, slopes = cut.curve.at(np.linspace(0, 2 * math.pi, 3601))
    steepest = np.maximum(np.abs(slopes[1:]), np.abs(slopes[:-1])) * math.radians(0.1)
    assert np.all(np.abs(np.diff(station)) <= 1.5 * steepest + 1e-3 * cut.tube.radius_mm)


@SEEDED
@given(cuts(), st.floats(-0.05, 0.05), st.booleans())
def test_neither_a_rough_station_nor_the_way_the_normal_points_changes_the_cut(
    cut: Cut, off: float, turn_over: bool
) -> None:
    near = cut.near_mm + off * cut.tube.radius_mm
    a, b, c = cut.plane.normal
    plane = Plane((-a, -b, -c), -cut.plane.offset_mm) if turn_over else cut.plane
    again = section(cut.tube, plane, near)
    assert again.at(ROUND)[1] == pytest.approx(cut.curve.at(ROUND)[1], abs=1e-9)


@SEEDED
@given(cuts())
def test_joins_are_where_the_cut_passes_between_arc_and_tangents(cut: Cut) -> None:
    tube, fine = cut.tube, np.linspace(0, 2 * math.pi, 7201)
    _, at_joins, _, _ = cut.curve.at(np.array(cut.curve.joins))
    for station in at_joins:
        assert min(abs(station - tube.arc_start_mm), abs(station - tube.arc_end_mm)) < 1e-7
    region = np.searchsorted([tube.arc_start_mm + 1e-6, tube.arc_end_mm - 1e-6], cut.curve.at(fine)[1])
    for i in np.flatnonzero(np.diff(region)):
        assert any(fine[i] - 1e-3 <= join <= fine[i + 1] + 1e-3 for join in cut.curve.joins)


@pytest.mark.parametrize("lean_deg", [-30.0, -2.0, 2.0, 30.0])
def test_a_plane_hinged_on_the_sides_at_a_join_has_its_joins_there(lean_deg: float) -> None:
    plane = tilted_plane(LONG_ENDS, 40.0, math.radians(lean_deg), 0.0)
    joins = section(LONG_ENDS, plane, 40.0).joins
    assert np.degrees(joins) == pytest.approx([90, 270], abs=1e-6)


def test_a_square_cut_along_a_join_has_no_joins() -> None:
    cut = section(LONG_ENDS, radial_plane(LONG_ENDS, 0.0), 40.0)
    assert cut.joins == ()
    assert cut.at(ROUND)[1] == pytest.approx(40.0, abs=1e-9)


@pytest.mark.parametrize("angle_deg", [0.0, 10.0, 38.0, 90.0])
def test_a_radial_cut_stays_at_its_sweep_angle(angle_deg: float) -> None:
    station = 57.15 * math.radians(angle_deg)
    cut = section(ELBOW, radial_plane(ELBOW, math.radians(angle_deg)), station)
    assert cut.at(ROUND)[1] == pytest.approx(station, abs=1e-9)
    assert cut.at(ROUND)[3] == pytest.approx(0, abs=1e-9)


@SEEDED
@given(tubes())
def test_a_square_cut_at_either_end_of_the_arc_is_there_in_spite_of_rounding(tube: Tube) -> None:
    for angle, station in ((0.0, tube.arc_start_mm), (tube.sweep_rad, tube.arc_end_mm)):
        cut = section(tube, radial_plane(tube, angle), station)
        assert cut.at(np.linspace(0, 2 * math.pi, 1001))[1] == pytest.approx(station, abs=1e-9)
        assert cut.joins == ()


def test_radial_plane_looks_up_the_bend_and_is_refused_off_the_elbow() -> None:
    plane = radial_plane(ELBOW, math.radians(30))
    assert float(plane.distance_mm(ELBOW.point(0.3, 57.15 * math.radians(31)))) > 0
    for angle_deg in (-0.1, 90.1):
        with pytest.raises(GeometryError, match=f"a cut at {angle_deg:.2f}° is not on an elbow of 90.00°"):
            radial_plane(ELBOW, math.radians(angle_deg))


@SEEDED
@given(tubes(), st.floats(0.2, 0.8), st.floats(1, 5))
def test_pitch_moves_the_heel_forward_and_yaw_the_side_at_90(
    tube: Tube, share: float, lean_deg: float
) -> None:
    near = share * tube.length_mm
    pitched = section(tube, tilted_plane(tube, near, math.radians(lean_deg), 0.0), near)
    yawed = section(tube, tilted_plane(tube, near, 0.0, math.radians(lean_deg)), near)
    heel, side, throat, far = (float(pitched.at(np.array([p]))[1][0]) for p in np.arange(4) * math.pi / 2)
    assert heel > near > throat
    assert side == pytest.approx(far, abs=1e-8)
    heel, side, throat, far = (float(yawed.at(np.array([p]))[1][0]) for p in np.arange(4) * math.pi / 2)
    assert side > near > far
    assert [heel, throat] == pytest.approx([near, near], abs=1e-8)


def test_a_return_bend_keeps_to_the_leg_that_was_asked_for() -> None:
    """A level plane crosses both legs of a 180° return; only one of the cuts is near."""
    bend = Tube(24.13, 57.15, math.pi, 60.0, 60.0)
    level = Plane((0.0, 1.0, 0.0), -25.0)
    assert section(bend, level, 30.0).at(ROUND)[1] == pytest.approx(35.0)
    assert section(bend, level, bend.length_mm - 30.0).at(ROUND)[1] == pytest.approx(bend.length_mm - 35.0)


@pytest.mark.parametrize(
    ("tube", "near_mm", "pitch_deg", "yaw_deg"),
    [
        (Tube(101.403, 148.83, math.pi, 270.628, 217.676), 908.814, 20.122, 5.107),
        (Tube(120.141, 181.167, math.pi, 341.842, 343.583), 872.934, -30.948, -3.696),
        (Tube(28.1846, 35.2676, math.pi / 4, 0.0, 79.435), 65.534, -50.1836, -37.6494),
    ],
)
def test_a_steep_cut_never_jumps_to_another_leg(
    tube: Tube, near_mm: float, pitch_deg: float, yaw_deg: float
) -> None:
    plane = tilted_plane(tube, near_mm, math.radians(pitch_deg), math.radians(yaw_deg))
    try:
        cut = section(tube, plane, near_mm)
    except GeometryError:
        return
    fine = np.linspace(0, 2 * math.pi, 7201)
    station = cut.at(fine)[1]
    assert plane.distance_mm(in_space(tube, fine, station)) == pytest.approx(0, abs=1e-6)
    assert np.max(np.abs(np.diff(station))) < tube.radius_mm / 10


def test_beyond_a_face_says_where_and_by_how_much() -> None:
    pipe = straight_pipe(30.0, 100.0)
    with pytest.raises(GeometryError, match=r"at 180° from the heel 10\.0 mm beyond the end of the fitting"):
        section(pipe, tilted_plane(pipe, 20.0, math.pi / 4, 0.0), 20.0)
    with pytest.raises(GeometryError, match=r"at 0° from the heel 7\.0 mm beyond the end of the fitting"):
        section(pipe, tilted_plane(pipe, 77.0, math.pi / 4, 0.0), 77.0)
    lean = tilted_plane(ELBOW, 0.0, 0.0, math.atan(3.0 / 24.13))
    with pytest.raises(GeometryError, match=r"at 270° from the heel 3\.0 mm beyond"):
        section(ELBOW, lean, 0.0)


def test_a_plane_that_misses_is_refused_with_the_girth_line() -> None:
    over_the_heel = Plane((math.cos(math.pi / 4), math.sin(math.pi / 4), 0.0), 57.15 + 10.0)
    with pytest.raises(GeometryError, match=r"misses the girth line at .*° from the heel"):
        section(ELBOW, over_the_heel, 20.0)
    flat_on_the_table = Plane((0.0, 0.0, 1.0), 5.0)
    with pytest.raises(GeometryError, match=r"runs along the pipe 20\.0 mm from its face"):
        section(ELBOW, flat_on_the_table, 20.0)
    with pytest.raises(GeometryError, match="runs along the pipe"):
        section(straight_pipe(30.0, 100.0), Plane((1.0, 0.0, 0.0), 3.0), 50.0)


@pytest.mark.parametrize("phi_deg", [180.0, 170.3, 140.1])
def test_a_double_root_is_refused(phi_deg: float) -> None:
    """The tangent plane of the hollow side cuts the torus in a loop that crosses itself there."""
    bend = Tube(24.13, 57.15, math.pi, 200.0, 200.0)
    phi, middle = math.radians(phi_deg), math.pi / 2
    outward = np.array([0.0, math.cos(phi), math.sin(phi)])
    touching = bend.point(phi, bend.arc_start_mm + bend.bend_radius_mm * middle)
    plane = Plane((0.0, float(outward[1]), float(outward[2])), float(outward @ touching))
    with pytest.raises(GeometryError, match=r"misses|only touches"):
        section(bend, plane, bend.arc_start_mm + 20.0)


def test_part_of_a_round_may_be_cut_where_the_whole_would_miss() -> None:
    plane = tilted_plane(ELBOW, 5.0, math.radians(30), 0.0)
    with pytest.raises(GeometryError, match="beyond the end"):
        section(ELBOW, plane, 5.0)
    part = section(ELBOW, plane, 5.0, -math.pi / 2, math.pi / 2)
    assert (part.start, part.end) == (-math.pi / 2, math.pi / 2)


@pytest.mark.parametrize(("start", "end"), [(10.0, 100.0), (100.0, 10.0), (60.0, 150.0)])
def test_girth_lines_run_either_way_and_name_their_joins(start: float, end: float) -> None:
    line = girth_line(LONG_ENDS, 2.0, start, end)
    phi, station, d_phi, d_station = line.at(np.array([line.start, line.end]))
    assert list(station) == [start, end]
    assert list(phi) == [2.0, 2.0]
    assert not d_phi.any()
    assert list(d_station) == [math.copysign(1, end - start)] * 2
    borders = {LONG_ENDS.arc_start_mm, LONG_ENDS.arc_end_mm}
    crossed = {border for border in borders if min(start, end) < border < max(start, end)}
    assert set(np.round(line.at(np.array(line.joins))[1], 9)) == {round(border, 9) for border in crossed}
