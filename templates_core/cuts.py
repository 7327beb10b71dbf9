"""A radial cut through an elbow: which face it is measured from, its arcs, and its chord checks."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from templates_core.corner_pieces import OWN_FACE_LIMIT_RAD, shoulder_sweep
from templates_core.errors import GeometryError
from templates_core.fittings import StockElbow


@dataclass(frozen=True)
class Cut:
    """A radial cut that keeps the end of an elbow that has face A.

    piece_angle_rad: sweep kept.  from_face: ``own``, measured from face A of the piece itself, or
    ``far``, from face B of the elbow, on the part that is not kept.
    """

    elbow: StockElbow
    piece_angle_rad: float
    from_face: Literal["own", "far"]

    @property
    def wrap_angle_rad(self) -> float:
        """Sweep from the face measured from to the cut [rad]."""
        return (
            self.piece_angle_rad if self.from_face == "own" else self.elbow.sweep_rad - self.piece_angle_rad
        )

    @property
    def tangent_mm(self) -> float:
        """Straight at the face measured from [mm]."""
        return self.elbow.tangent_a_mm if self.from_face == "own" else self.elbow.tangent_b_mm


@dataclass(frozen=True)
class GirthLine:
    """One line along the outside of an elbow, from a face to a radial cut.

    girth_angle_rad: from the heel; the two sides are alike.  radius_mm: ρ of the line about the bend's
    axis.  face_mm: along the metal from the plane of the face to the cut.  shoulder_mm: from the bevel's
    shoulder, where a tab or a tape can hook.  chord_mm: straight from the shoulder to the cut.
    """

    name: Literal["heel", "side", "throat"]
    girth_angle_rad: float
    radius_mm: float
    face_mm: float
    shoulder_mm: float
    chord_mm: float


def cut_of(elbow: StockElbow, piece_angle_rad: float) -> Cut:
    """The cut that keeps this angle, measured from the piece's own face as far as wraps go, else from B."""
    return Cut(elbow, piece_angle_rad, "own" if piece_angle_rad <= OWN_FACE_LIMIT_RAD else "far")


def lines_to_cut(cut: Cut) -> tuple[GirthLine, GirthLine, GirthLine]:
    """Heel, side and throat from the face that the cut is measured from, all on the OD."""
    return _lines(cut.elbow, cut.tangent_mm, cut.wrap_angle_rad)


def lines_of_piece(cut: Cut) -> tuple[GirthLine, GirthLine, GirthLine]:
    """Heel, side and throat of the piece kept, from its own face, to check it by after cutting."""
    return _lines(cut.elbow, cut.elbow.tangent_a_mm, cut.piece_angle_rad)


def arc_to_cut(cut: Cut, girth_angle_rad: float) -> float:
    """Arc from the shoulder of the face measured from to the cut, along any girth line of the OD [mm]."""
    if cut.elbow.bend_radius_mm is None:
        raise GeometryError(f"{cut.elbow.name}: it can't be cut, as its bend radius is not known")
    radius = cut.elbow.bend_radius_mm + cut.elbow.radius_mm * math.cos(girth_angle_rad)
    sweep = cut.wrap_angle_rad - shoulder_sweep(cut.elbow.shoulder_mm, cut.tangent_mm, radius)
    return max(0.0, cut.tangent_mm - cut.elbow.shoulder_mm) + radius * sweep


def _lines(elbow: StockElbow, tangent_mm: float, angle_rad: float) -> tuple[GirthLine, GirthLine, GirthLine]:
    if elbow.bend_radius_mm is None:
        raise GeometryError(f"{elbow.name}: it can't be cut, as its bend radius is not known")
    R, r = elbow.bend_radius_mm, elbow.radius_mm
    return (
        _line("heel", 0.0, R + r, elbow.shoulder_mm, tangent_mm, angle_rad),
        _line("side", math.pi / 2, R, elbow.shoulder_mm, tangent_mm, angle_rad),
        _line("throat", math.pi, R - r, elbow.shoulder_mm, tangent_mm, angle_rad),
    )


def _line(
    name: Literal["heel", "side", "throat"],
    girth_angle_rad: float,
    radius_mm: float,
    shoulder_mm: float,
    tangent_mm: float,
    angle_rad: float,
) -> GirthLine:
    straight = max(0.0, tangent_mm - shoulder_mm)
    arc = angle_rad - shoulder_sweep(shoulder_mm, tangent_mm, radius_mm)
    return GirthLine(
        name,
        girth_angle_rad,
        radius_mm,
        face_mm=tangent_mm + radius_mm * angle_rad,
        shoulder_mm=straight + radius_mm * arc,
        chord_mm=math.hypot(straight + radius_mm * math.sin(arc), radius_mm * (1 - math.cos(arc))),
    )
