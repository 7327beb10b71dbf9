"""A cut through an elbow on a plane that leans off the radial one: its lengths along every girth line.

The plane passes through the centreline where the piece has its own turn, so that the take-out stays that of a
radial cut.  Girth angles are those of `surfaces`, of the elbow seen from the face that the piece keeps, A.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Literal

import numpy as np

from templates_core.elbows.corner_pieces import OWN_FACE_LIMIT_RAD
from templates_core.errors import GeometryError
from templates_core.fittings import StockElbow
from templates_core.geometry.section import Plane, section, tilted_plane
from templates_core.geometry.surfaces import Array, Tube, elbow_surface
from templates_core.paths.leans import ElbowLean

_ROUND_DEG = 1
_STEEP_COSINE = math.cos(math.radians(75))


@dataclass(frozen=True)
class LeaningCut:
    """A leaning cut at the end of a piece that keeps face A.

    piece_angle_rad: from face A to where the plane passes the centreline.  from_face: ``own``, measured from
    face A, or ``far``, from face B, on the scrap beyond.
    """

    elbow: StockElbow
    piece_angle_rad: float
    lean: ElbowLean
    from_face: Literal["own", "far"]

    @property
    def wrap_angle_rad(self) -> float:
        """Sweep from the face measured from to the cut on the centreline [rad]."""
        own = self.from_face == "own"
        return self.piece_angle_rad if own else self.elbow.sweep_rad - self.piece_angle_rad

    @property
    def tangent_mm(self) -> float:
        """Straight at the face measured from [mm]."""
        return self.elbow.tangent_a_mm if self.from_face == "own" else self.elbow.tangent_b_mm

    @property
    def wrap_lean(self) -> ElbowLean:
        """The lean as seen from the face measured from: from face B what is long is short."""
        if self.from_face == "own":
            return self.lean
        return ElbowLean(-self.lean.pitch_rad, -self.lean.yaw_rad)


def leaning_cut(elbow: StockElbow, piece_angle_rad: float, lean: ElbowLean) -> LeaningCut:
    """The cut, measured from the piece's own face as far as wraps go, else from B."""
    face: Literal["own", "far"] = "own" if piece_angle_rad <= OWN_FACE_LIMIT_RAD else "far"
    return LeaningCut(elbow, piece_angle_rad, lean, face)


def tube_and_plane(cut: LeaningCut) -> tuple[Tube, Plane, float]:
    """The elbow seen from the face measured from, the plane in its frame, and the station where they meet."""
    tube = elbow_surface(cut.elbow)
    tube = tube if cut.from_face == "own" else tube.seen_from_face_b()
    near = tube.arc_start_mm + tube.bend_radius_mm * cut.wrap_angle_rad
    return tube, tilted_plane(tube, near, cut.wrap_lean.pitch_rad, cut.wrap_lean.yaw_rad), near


@dataclass(frozen=True)
class LeaningLine:
    """One girth line of a leaning cut, from a face to the cut, on the OD.

    girth_rad: from the heel, over -pi to pi, positive towards the side at +90° of the frame that the piece
    keeps.  round_mm: from the heel along the metal.  face_mm: from the plane of the face.  shoulder_mm: from
    the bevel's shoulder.  chord_mm: straight from the shoulder.
    """

    girth_rad: float
    round_mm: float
    face_mm: float
    shoulder_mm: float
    chord_mm: float


def leaning_lines(cut: LeaningCut, girths_rad: Sequence[float], of_piece: bool = False) -> list[LeaningLine]:
    """Girth lines from the face that the cut is measured from, or from face A, to check the piece by.

    Raises GeometryError where the plane misses the elbow.
    """
    seen = LeaningCut(cut.elbow, cut.piece_angle_rad, cut.lean, "own") if of_piece else cut
    tube, plane, near = tube_and_plane(seen)
    girths = np.array(girths_rad, float)
    _, stations, _, _ = section(tube, plane, near, -math.pi, math.pi).at(girths)
    shoulder = tube.plane_station(girths, cut.elbow.shoulder_mm)
    from_face = tube.girth_line_length(girths, 0.0, stations)
    from_shoulder = tube.girth_line_length(girths, shoulder, stations)
    chords = np.linalg.norm(tube.point(girths, stations) - tube.point(girths, shoulder), axis=1)
    return [
        LeaningLine(girth, abs(girth) * tube.radius_mm, float(face), float(edge), float(chord))
        for girth, face, edge, chord in zip(girths_rad, from_face, from_shoulder, chords, strict=True)
    ]


@dataclass(frozen=True)
class LeanShape:
    """How far a leaning cut lies from the radial one, anywhere on an arc long enough for it.

    girth_rad, ahead_rad: shape (n,), sweep by which it is ahead on each girth line.  rho_mm: (n,) of these.
    """

    girth_rad: Array
    ahead_rad: Array
    rho_mm: Array


@cache
def lean_shape(radius_mm: float, bend_radius_mm: float, lean: ElbowLean) -> LeanShape:
    """The shape of a lean on one size of bend.

    Raises GeometryError where the plane misses a girth line, touches one, or meets one so flatly that no
    line could be marked.
    """
    tube = Tube(radius_mm, bend_radius_mm, math.pi)
    girths = np.radians(np.arange(-180, 180, _ROUND_DEG))
    middle = tube.length_mm / 2
    plane = tilted_plane(tube, middle, lean.pitch_rad, lean.yaw_rad)
    _, stations, _, _ = section(tube, plane, middle, -math.pi, math.pi).at(girths)
    psi = tube.sweep_at(stations)
    crossing = -plane.normal[0] * np.sin(psi) + plane.normal[1] * np.cos(psi)
    if np.any(np.abs(crossing) < _STEEP_COSINE):
        raise GeometryError("the plane runs nearly along the metal")
    return LeanShape(girths, psi - math.pi / 2, tube.rho_mm(girths))


def most_lean_rad(radius_mm: float, bend_radius_mm: float, lean: ElbowLean) -> float:
    """The most that a bend can be cut off square the same way [rad], to a hundredth of a degree below."""
    low, high = 0.0, lean.angle_rad
    while high - low > math.radians(0.005):
        middle = (low + high) / 2
        try:
            lean_shape(radius_mm, bend_radius_mm, lean.scaled(middle))
            low = middle
        except GeometryError:
            high = middle
    return low


def blank_rad(shape: LeanShape, angle_rad: float, loss_mm: float) -> float:
    """Sweep that a piece takes of its elbow [rad]: to its farthest point, and what a face there loses."""
    return angle_rad + float(np.max(shape.ahead_rad + np.arcsin(loss_mm / shape.rho_mm)))
