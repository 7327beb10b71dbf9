"""Oblique plane sections against a fine mesh of the same elbow, sliced by trimesh."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pytest
import trimesh
from scipy.spatial import cKDTree

from templates_core.geometry.development import develop
from templates_core.geometry.section import section, tilted_plane
from templates_core.geometry.surfaces import Tube
from tests.drawn_cuts import Array, place

ROUND, PER_QUARTER = 360, 180
CHORD_MM = 1e-3


@dataclass(frozen=True)
class Case:
    """An elbow and the plane through its centreline at near_mm."""

    name: str
    tube: Tube
    near_mm: float
    pitch_deg: float
    yaw_deg: float


LR_2 = Tube(30.165, 76.2, math.pi / 2)
ENDS = Tube(24.13, 57.15, math.pi / 4, 35.0, 50.0)
CASES = [
    Case("oblique on the torus", LR_2, 60.0, 18.0, -27.0),
    Case("oblique on a short radius", Tube(16.7, 25.4, math.pi / 2), 20.0, -8.0, 20.0),
    Case("across the first join", ENDS, 38.0, 25.0, 30.0),
    Case("across the last join", ENDS, 78.0, -20.0, 35.0),
    Case("across both joins", Tube(24.13, 57.15, math.radians(30), 60.0, 60.0), 75.0, 50.0, 5.0),
    Case("on a tangent", Tube(24.13, 57.15, math.pi / 2, 80.0, 0.0), 40.0, 30.0, 40.0),
    Case("on a 180° return", Tube(24.13, 57.15, math.pi, 20.0, 20.0), 110.0, 15.0, 15.0),
]


def stations(tube: Tube) -> Array:
    """Rings of the mesh: close on the arc, one at each join and face."""
    arc = np.linspace(
        tube.arc_start_mm, tube.arc_end_mm, 1 + round(PER_QUARTER * tube.sweep_rad / (math.pi / 2))
    )
    return np.unique([0.0, *arc, tube.length_mm])


def mesh_of(tube: Tube) -> trimesh.Trimesh:
    """The open outside of a tube; corners on the true surface, split into triangles."""
    rings = stations(tube)
    section_circle = np.linspace(0, 2 * math.pi, ROUND, endpoint=False)
    corners = np.array([[place(tube, phi, s) for phi in section_circle] for s in rings]).reshape(-1, 3)
    ring, i = np.meshgrid(np.arange(len(rings) - 1), np.arange(ROUND), indexing="ij")
    a, b = (ring * ROUND + i).ravel(), (ring * ROUND + (i + 1) % ROUND).ravel()
    faces = np.concatenate([np.stack([a, b, b + ROUND], 1), np.stack([a, b + ROUND, a + ROUND], 1)])
    return trimesh.Trimesh(corners, faces, process=False)


def facet_depth_mm(tube: Tube) -> float:
    """How far the mesh lies off the surface at most: sagittas of both chords of a facet's quad."""
    across = tube.radius_mm * (1 - math.cos(math.pi / ROUND))
    along = (tube.bend_radius_mm + tube.radius_mm) * (1 - math.cos(math.pi / 4 / PER_QUARTER))
    return across + along


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_the_cut_is_the_mesh_section_and_the_flat_curve_is_as_long(case: Case) -> None:
    tube = case.tube
    plane = tilted_plane(tube, case.near_mm, math.radians(case.pitch_deg), math.radians(case.yaw_deg))
    normal = np.asarray(plane.normal)
    curve = section(tube, plane, case.near_mm)
    sliced = mesh_of(tube).section(normal, normal * plane.offset_mm)
    assert sliced is not None

    phi, station, _, _ = curve.at(np.linspace(0, 2 * math.pi, 40001))
    exact = np.array(tube.point(phi, station))
    spacing = float(np.max(np.linalg.norm(np.diff(exact, axis=0), axis=1)))
    spine = (exact + np.array(tube.point(phi + math.pi, station))) / 2
    outward = (exact - spine) / tube.radius_mm
    least_sine = float(np.min(np.linalg.norm(np.cross(outward, normal), axis=1)))
    bound = facet_depth_mm(tube) / least_sine * 1.05 + spacing / 2

    loop = min(sliced.discrete, key=lambda points: cKDTree(exact).query(points[0])[0])
    off = cKDTree(exact).query(loop)[0]
    assert float(np.max(off)) < bound < 0.06
    edges = np.linalg.norm(np.diff(loop, axis=0), axis=1)
    assert np.linalg.norm(loop[0] - loop[-1]) < 1e-6
    gaps = cKDTree(loop).query(exact)[0]
    assert float(np.max(gaps)) < float(np.max(edges)) / 2 + bound

    flat = develop(tube, curve, chord_tolerance_mm=CHORD_MM)
    length = float(np.linalg.norm(np.diff(flat.points_mm, axis=0), axis=1).sum())
    turning = float(np.linalg.norm(np.diff(np.diff(loop, axis=0) / edges[:, None], axis=0), axis=1).sum())
    assert length == pytest.approx(float(edges.sum()), abs=bound * turning)


def test_a_mirrored_plane_would_be_caught() -> None:
    """The comparison above has teeth: the same plane with its side lean the other way is far off."""
    case = CASES[0]
    wrong = tilted_plane(case.tube, case.near_mm, math.radians(case.pitch_deg), math.radians(-case.yaw_deg))
    right = tilted_plane(case.tube, case.near_mm, math.radians(case.pitch_deg), math.radians(case.yaw_deg))
    normal = np.asarray(right.normal)
    sliced = mesh_of(case.tube).section(normal, normal * right.offset_mm)
    assert sliced is not None
    phi, station, _, _ = section(case.tube, wrong, case.near_mm).at(np.linspace(0, 2 * math.pi, 2001))
    exact = np.array(case.tube.point(phi, station))
    assert min(float(np.max(cKDTree(exact).query(loop)[0])) for loop in sliced.discrete) > 5.0
