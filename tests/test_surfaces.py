"""The outside of an elbow against its own shape in space, laws of surfaces and published arcs."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate

from templates_core.errors import GeometryError
from templates_core.fittings import StockElbow
from templates_core.geometry.surfaces import Tube, elbow_surface, straight_pipe
from tests.drawn_cuts import SEEDED, Array, place, tubes

IN = 25.4
ELBOW = Tube(24.13, 57.15, math.pi / 2, 12.0, 20.0)


def slope_of(tube: Tube, phi: float, s: float, d_phi: float, d_s: float) -> Array:
    """Derivative of the point along (d_phi, d_s), by central differences of the tube written down twice."""
    h = 1e-4
    apart = place(tube, phi + h * d_phi, s + h * d_s) - place(tube, phi - h * d_phi, s - h * d_s)
    return np.asarray(apart / (2 * h))


@SEEDED
@given(tubes(), st.floats(0, 2 * math.pi), st.floats(-0.1, 1.1))
def test_points_are_those_of_a_circle_carried_along_the_centreline(
    tube: Tube, phi: float, share: float
) -> None:
    s = tube.length_mm * share
    assert tube.point(phi, s) == pytest.approx(place(tube, phi, s), abs=1e-9)


@SEEDED
@given(tubes(), st.floats(0, 2 * math.pi), st.floats(0.01, 0.99))
def test_from_outside_with_face_a_down_the_girth_angle_grows_to_the_left(
    tube: Tube, phi: float, share: float
) -> None:
    s = tube.length_mm * share
    up = slope_of(tube, phi, s, 0, 1)
    centre = (place(tube, phi, s) + place(tube, phi + math.pi, s)) / 2
    looking = centre - place(tube, phi, s)
    right = np.cross(looking, up)
    step = tube.point(phi + 0.01, s) - tube.point(phi, s)
    assert step @ right < -0.009 * tube.radius_mm * np.linalg.norm(right)


def test_the_heel_lies_farthest_from_the_axis_of_the_bend_and_90_degrees_points_up_z() -> None:
    assert ELBOW.point(0.0, 12.0) == pytest.approx([57.15 + 24.13, 0, 0])
    assert ELBOW.point(math.pi, 12.0) == pytest.approx([57.15 - 24.13, 0, 0], abs=1e-12)
    assert ELBOW.point(math.pi / 2, 12.0) == pytest.approx([57.15, 0, 24.13])
    assert ELBOW.point(0.0, 0.0) == pytest.approx([57.15 + 24.13, -12, 0])
    assert ELBOW.point(0.0, ELBOW.length_mm) == pytest.approx([-20, 57.15 + 24.13, 0])


@SEEDED
@given(tubes(), st.floats(0, 2 * math.pi), st.floats(0.02, 0.98))
def test_scale_and_curvature_are_those_of_the_shape_in_space(tube: Tube, phi: float, share: float) -> None:
    s = tube.length_mm * share
    if min(abs(s - tube.arc_start_mm), abs(s - tube.arc_end_mm)) < 0.01:
        return
    along, across = slope_of(tube, phi, s, 0, 1), slope_of(tube, phi, s, 1, 0)
    assert float(tube.axial_scale(phi, s)) == pytest.approx(np.linalg.norm(along), rel=1e-6)

    normal = np.cross(across, along)
    normal /= np.linalg.norm(normal)
    h, here = 3e-3, place(tube, phi, s)

    def second(d_phi: float, d_s: float) -> float:
        ends = place(tube, phi + h * d_phi, s + h * d_s) + place(tube, phi - h * d_phi, s - h * d_s)
        return float((ends - 2 * here) @ normal / h**2)

    e, g = second(1, 0), second(0, 1)
    f = (second(1, 1) - e - g) / 2
    by_shape = (e * g - f * f) / (across @ across * (along @ along))
    scale = 1 / tube.radius_mm / (tube.bend_radius_mm - tube.radius_mm)
    assert float(tube.gaussian_curvature(phi, s)) == pytest.approx(by_shape, abs=3e-4 * scale)


@SEEDED
@given(tubes())
def test_area_of_the_outside_is_girth_times_centreline(tube: Tube) -> None:
    """Pappus: the circle's centre of gravity travels the centreline."""
    phi = (np.arange(64) + 0.5) / 64 * 2 * math.pi
    mean_length = float(np.mean(tube.girth_line_length(phi, 0.0, tube.length_mm)))
    assert mean_length == pytest.approx(tube.length_mm, rel=1e-12)


@SEEDED
@given(tubes(), st.floats(0, 2 * math.pi), st.floats(0, 1), st.floats(0, 1))
def test_girth_line_length_is_the_length_of_the_line_in_space(
    tube: Tube, phi: float, start: float, end: float
) -> None:
    a, b = tube.length_mm * start, tube.length_mm * end
    walk = np.array([place(tube, phi, s) for s in np.linspace(a, b, 401)])
    walked = float(np.linalg.norm(np.diff(walk, axis=0), axis=1).sum())
    assert float(tube.girth_line_length(phi, a, b)) == pytest.approx(
        math.copysign(walked, b - a), rel=2e-5, abs=1e-9
    )


@SEEDED
@given(tubes(with_tangents=False))
def test_heel_half_carries_the_whole_turn_twice_as_curvature(tube: Tube) -> None:
    """The outward normals of the heel half cover a zone of the unit sphere of area 2·sweep."""

    def band(phi: float) -> float:
        mid = tube.length_mm / 2
        length = float(tube.girth_line_length(phi, 0.0, tube.length_mm))
        return float(tube.gaussian_curvature(phi, mid)) * length * tube.radius_mm

    heel, _ = integrate.quad(band, -math.pi / 2, math.pi / 2)
    throat, _ = integrate.quad(band, math.pi / 2, 3 * math.pi / 2)
    assert heel == pytest.approx(2 * tube.sweep_rad, rel=1e-9)
    assert throat == pytest.approx(-2 * tube.sweep_rad, rel=1e-9)


@pytest.mark.parametrize(
    ("bend", "radius", "angle_deg", "heel", "throat", "within", "source"),
    [
        (3, 1, 90, 6.2832, 3.1416, 5e-5, "J. & M. Hamilton, Math to Build On, 1993"),
        (3, 1, 45, 3.1416, 1.5708, 5e-5, "J. & M. Hamilton, Math to Build On, 1993"),
        (15, 10.75 / 2, 38, 13.5, 6.375, 1 / 32, "HVAC&R Weekly no. 14, 10 in long radius elbow"),
    ],
)
def test_published_heel_and_throat_arcs(
    bend: float, radius: float, angle_deg: float, heel: float, throat: float, within: float, source: str
) -> None:
    tube = Tube(radius * IN, bend * IN, math.pi / 2)
    end = bend * IN * math.radians(angle_deg)
    found = tube.girth_line_length([0.0, math.pi], 0.0, end) / IN
    assert found == pytest.approx([heel, throat], abs=within), source


@SEEDED
@given(tubes(), st.floats(0.0, 0.9))
def test_plane_station_lies_at_its_depth_from_face_a(tube: Tube, share: float) -> None:
    reach = (tube.bend_radius_mm - tube.radius_mm) * math.sin(min(tube.sweep_rad, math.pi / 2))
    depth = share * (tube.tangent_a_mm + reach)
    phi = np.radians(np.arange(0, 360, 15.0))
    stations = tube.plane_station(phi, depth)
    heights = [place(tube, p, s)[1] + tube.tangent_a_mm for p, s in zip(phi, stations, strict=True)]
    assert heights == pytest.approx([depth] * len(phi), abs=1e-9)
    with pytest.raises(GeometryError, match="beyond the end of the bend"):
        tube.plane_station(phi, tube.tangent_a_mm + 1.01 * reach)


def test_shoulder_of_a_bevel_is_where_a_flat_plate_at_that_depth_meets_the_bend() -> None:
    psi = ELBOW.plane_station(np.array([0.0, math.pi]), 12.0 + 3.0) - 12.0
    assert psi / 57.15 == pytest.approx([math.asin(3 / 81.28), math.asin(3 / 33.02)], abs=1e-12)


@SEEDED
@given(tubes())
def test_seen_from_face_b_is_the_mirror_image(tube: Tube) -> None:
    """Same distances between points at stations counted from the other end, opposite hand."""
    back = tube.seen_from_face_b()
    phi = np.array([0.1, 1.3, 2.9, 4.4])
    s = tube.length_mm * np.array([0.05, 0.4, 0.6, 0.9])
    here, there = tube.point(phi, s), back.point(phi, tube.length_mm - s)

    def distances(points: Array) -> Array:
        return np.asarray(np.linalg.norm(points[:, None] - points[None, :], axis=-1))

    assert distances(there) == pytest.approx(distances(here), abs=1e-8)
    volume, image = (np.linalg.det(points[1:] - points[0]) for points in (here, there))
    assert image == pytest.approx(-volume, rel=1e-6)


def test_a_straight_pipe_is_as_long_as_asked_with_heel_on_x() -> None:
    pipe = straight_pipe(30.0, 200.0)
    assert pipe.length_mm == 200.0
    assert pipe.point([0.0, math.pi / 2], [0.0, 200.0]) == pytest.approx(
        np.array([[30.0, -200.0, 0.0], [0.0, 0.0, 30.0]]), abs=1e-12
    )
    assert pipe.axial_scale(1.0, 50.0) == 1.0
    assert pipe.gaussian_curvature(1.0, 50.0) == 0.0
    assert float(pipe.girth_line_length(2.0, 150.0, 20.0)) == -130.0


def test_a_wrap_lies_half_its_thickness_outside() -> None:
    covered = ELBOW.covered(0.1)
    apart = covered.point([0.0, math.pi, 2.0], 40.0) - ELBOW.point([0.0, math.pi, 2.0], 40.0)
    assert np.linalg.norm(apart, axis=-1) == pytest.approx([0.05] * 3, abs=1e-9)


@pytest.mark.parametrize(
    ("sizes", "words"),
    [
        ((30.0, 30.0, 1.0), "bend radius of 30.00 mm leaves no throat on an outside radius of 30.00 mm"),
        ((0.0, 30.0, 1.0), "below 0"),
        ((10.0, 30.0, -1.0), "below 0"),
        ((10.0, 30.0, 1.0, -0.1), "below 0"),
        ((10.0, 30.0, 1.0, 0.0, -0.1), "below 0"),
        ((math.nan, 30.0, 1.0), "below 0"),
        ((10.0, 30.0, 1.0, math.nan), "below 0"),
    ],
)
def test_impossible_tubes_are_refused(sizes: tuple[float, ...], words: str) -> None:
    with pytest.raises(GeometryError, match=words):
        Tube(*sizes)


def test_an_elbow_of_unknown_bend_radius_is_refused_and_a_known_one_keeps_its_sizes() -> None:
    elbow = StockElbow(
        "45 long radius", 48.26, 3.68, math.pi / 4, 29.0, None, 0.0, 0.0, 1.0, 0.01, 1.6, 0.8, "test"
    )
    with pytest.raises(GeometryError, match="45 long radius is not known, so it can be used whole only"):
        elbow_surface(elbow)
    tube = elbow_surface(replace(elbow, bend_radius_mm=57.0, tangent_a_mm=2.0, tangent_b_mm=3.0))
    assert tube == Tube(24.13, 57.0, math.pi / 4, 2.0, 3.0)
