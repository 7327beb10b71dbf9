"""Cuts of pipe ends against fine meshes of what they sit on, sectioned by trimesh.

A plane through the post's axis and one of its lines cuts the mesh in segments; where they are highest between
the bore and the outside of the wall, the wall seats.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh

from templates_core.geometry.pipe_ends import end_cut
from templates_core.geometry.solids import BendSolid, PipeSolid, Solid
from templates_core.geometry.surfaces import Array
from tests.seat_samples import SEATS, THROAT, Seat

ROUND, RINGS = 720, 361
TOLERANCE_MM = 0.05


def tube(solid: Solid) -> trimesh.Trimesh:
    """The round side of a solid as a fine mesh, corners on the true surface."""
    centres, alongs = centreline(solid)
    side = np.cross(alongs, np.array([0.31, 0.82, -0.48]))
    side /= np.linalg.norm(side, axis=1)[:, None]
    angle = np.linspace(0, 2 * math.pi, ROUND, endpoint=False)
    out = (
        np.cos(angle)[None, :, None] * side[:, None]
        + np.sin(angle)[None, :, None] * np.cross(alongs, side)[:, None]
    )
    assert isinstance(solid, PipeSolid | BendSolid)
    corners = (centres[:, None] + solid.radius_mm * out).reshape(-1, 3)
    ring, i = np.meshgrid(np.arange(len(centres) - 1), np.arange(ROUND), indexing="ij")
    a, b = (ring * ROUND + i).ravel(), (ring * ROUND + (i + 1) % ROUND).ravel()
    faces = np.concatenate([np.stack([a, b, b + ROUND], 1), np.stack([a, b + ROUND, a + ROUND], 1)])
    return trimesh.Trimesh(corners, faces, process=False)


def centreline(solid: Solid) -> tuple[Array, Array]:
    if isinstance(solid, PipeSolid):
        span = solid.end_mm - solid.start_mm
        return np.stack([solid.start_mm, solid.end_mm]), np.stack([span, span]) / np.linalg.norm(span)
    assert isinstance(solid, BendSolid)
    psi = np.linspace(0, solid.sweep_rad, RINGS)[:, None]
    forward = np.cross(solid.axis, solid.to_face_a)
    out = np.cos(psi) * solid.to_face_a + np.sin(psi) * forward
    return solid.centre_mm + solid.bend_radius_mm * out, np.cross(solid.axis, out)


def highest(seat: Seat, meshes: list[trimesh.Trimesh], girth: float) -> float:
    """Greatest station of the meshes between bore and outside on one half-plane through the axis."""
    out = seat.axis.outward(girth)
    normal = np.cross(seat.back, out)
    best = -math.inf
    for mesh in meshes:
        chain = trimesh.intersections.mesh_plane(mesh, normal, seat.at)  # type: ignore[no-untyped-call]
        r, z = (chain - seat.at) @ out, (chain - seat.at) @ seat.back
        best = max(best, within_wall(r, z, seat.pipe.radius_mm - seat.pipe.wall_mm, seat.pipe.radius_mm))
    return best


def within_wall(r: Array, z: Array, bore: float, outer: float) -> float:
    """Greatest z of segments (n, 2) where bore <= r <= outer."""
    best = -math.inf
    with np.errstate(divide="ignore", invalid="ignore"):
        for edge in (bore, outer):
            share = (edge - r[:, 0]) / (r[:, 1] - r[:, 0])
            on = (share >= 0) & (share <= 1)
            best = max(best, *(z[on, 0] + share[on] * (z[on, 1] - z[on, 0])), -math.inf)
    inside = (r >= bore) & (r <= outer)
    return max(best, float(np.max(z[inside], initial=-math.inf)))


@pytest.mark.parametrize("seat", SEATS, ids=lambda seat: seat.name)
def test_the_wall_seats_on_the_mesh(seat: Seat) -> None:
    cut = end_cut(seat.axis, seat.pipe, seat.solids, "start")
    meshes = [tube(solid) for solid in seat.solids]
    girth = np.linspace(-3.0, 3.2, 14)
    found = np.array([highest(seat, meshes, g) for g in girth])
    assert np.max(np.abs(cut.at(girth) - found)) < TOLERANCE_MM


def test_a_mirrored_cut_would_be_caught() -> None:
    """The check has teeth: girth angles the other way round are off by millimetres."""
    cut = end_cut(THROAT.axis, THROAT.pipe, THROAT.solids, "start")
    meshes = [tube(solid) for solid in THROAT.solids]
    girth = np.linspace(-3.0, 3.2, 14)
    found = np.array([highest(THROAT, meshes, -g) for g in girth])
    assert np.max(np.abs(cut.at(girth) - found)) > 1.0
