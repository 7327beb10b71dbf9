"""A radial cut through an elbow: which face it is measured from, its arcs, and its chord checks."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from templates_core.elbows.corner_pieces import OWN_FACE_LIMIT_RAD, shoulder_sweep
from templates_core.errors import GeometryError
from templates_core.fittings import StockElbow


@dataclass(frozen=True)
class Cut:
    """A radial cut at one end of a piece: of the end of an elbow that has face A, or of a part within it.

    piece_angle_rad: sweep kept.  from_face: ``own``, measured from face A, across the piece, or ``far``,
    from face B, on what lies beyond it.  offset_rad: sweep between face A and the piece, 0 for one that
    keeps that face.  Of two equal faces, A is either.
    """

    elbow: StockElbow
    piece_angle_rad: float
    from_face: Literal["own", "far"]
    offset_rad: float = 0.0

    @property
    def wrap_angle_rad(self) -> float:
        """Sweep from the face measured from to the cut [rad]."""
        from_a = self.offset_rad + self.piece_angle_rad
        return from_a if self.from_face == "own" else self.elbow.sweep_rad - from_a

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
    return _lines(cut.elbow, _Stretch(cut.wrap_angle_rad, cut.tangent_mm, cut.elbow.shoulder_mm))


def lines_of_piece(cut: Cut, loss_mm: float = 0.0) -> tuple[GirthLine, GirthLine, GirthLine]:
    """Heel, side and throat of the piece kept, to check it by after cutting.

    From its own face, or from the other cut face of a piece that keeps none.  loss_mm: of each cut face.
    """
    elbow = cut.elbow
    if cut.offset_rad > 0:
        return _lines(elbow, _Stretch(cut.piece_angle_rad, 0.0, 0.0, (loss_mm, loss_mm)))
    return _lines(elbow, _Stretch(cut.piece_angle_rad, elbow.tangent_a_mm, elbow.shoulder_mm, (loss_mm,)))


def arc_to_cut(cut: Cut, girth_angle_rad: float) -> float:
    """Arc from the shoulder of the face measured from to the cut, along any girth line of the OD [mm]."""
    if cut.elbow.bend_radius_mm is None:
        raise GeometryError(f"{cut.elbow.name}: it can't be cut, as its bend radius is not known")
    radius = cut.elbow.bend_radius_mm + cut.elbow.radius_mm * math.cos(girth_angle_rad)
    sweep = cut.wrap_angle_rad - shoulder_sweep(cut.elbow.shoulder_mm, cut.tangent_mm, radius)
    return max(0.0, cut.tangent_mm - cut.elbow.shoulder_mm) + radius * sweep


@dataclass(frozen=True)
class _Stretch:
    """Of an elbow: sweep, tangent and bevel's shoulder at its start, and what its cut faces lose [mm]."""

    sweep_rad: float
    tangent_mm: float
    shoulder_mm: float
    losses_mm: tuple[float, ...] = ()


def _lines(elbow: StockElbow, stretch: _Stretch) -> tuple[GirthLine, GirthLine, GirthLine]:
    if elbow.bend_radius_mm is None:
        raise GeometryError(f"{elbow.name}: it can't be cut, as its bend radius is not known")
    R, r = elbow.bend_radius_mm, elbow.radius_mm
    return (
        _line("heel", 0.0, R + r, stretch),
        _line("side", math.pi / 2, R, stretch),
        _line("throat", math.pi, R - r, stretch),
    )


def _line(
    name: Literal["heel", "side", "throat"], girth_angle_rad: float, radius_mm: float, stretch: _Stretch
) -> GirthLine:
    """One line; a face that loses metal moves parallel to itself, by asin(loss/ρ) of this line's sweep."""
    straight = max(0.0, stretch.tangent_mm - stretch.shoulder_mm)
    sweep = stretch.sweep_rad - sum(math.asin(loss / radius_mm) for loss in stretch.losses_mm)
    arc = sweep - shoulder_sweep(stretch.shoulder_mm, stretch.tangent_mm, radius_mm)
    return GirthLine(
        name,
        girth_angle_rad,
        radius_mm,
        face_mm=stretch.tangent_mm + radius_mm * sweep,
        shoulder_mm=straight + radius_mm * arc,
        chord_mm=math.hypot(straight + radius_mm * math.sin(arc), radius_mm * (1 - math.cos(arc))),
    )
