"""What an end of a loose member is cut to, as solids set about the member's own axis."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from templates_core.geometry.solids import BendSolid, HalfSpace, PipeSolid, Solid
from templates_core.jobs.member_specs import CutKind, CutSpec, ElbowSeat
from templates_core.paths import directions as d
from templates_core.paths.directions import Vector

_HEADER_MM = 50_000.0
"""Headers of loose members go on this far both ways: where they end the job file doesn't say."""


@dataclass(frozen=True, eq=False)
class Place:
    """Where an end is: a point on the member's axis (3,), and its directions, unit (3,).

    away: along the member, away from this end.  zero: to the end's own datum.  side: away × zero.
    """

    point: Vector
    away: Vector
    zero: Vector

    @property
    def side(self) -> Vector:
        """Towards 90° of girth, right-handed about `away`."""
        return np.asarray(np.cross(self.away, self.zero))


@dataclass(frozen=True, eq=False)
class CutSolids:
    """The solids of one cut, grown by its gap, and the bare header where that is a pipe, for a hole in it."""

    solids: tuple[Solid, ...]
    header: PipeSolid | None = None
    along: Vector | None = None


def solids_of(cut: CutSpec, place: Place, root_gap_mm: float) -> CutSolids:
    """What one cut of an end sits on."""
    if cut.kind is CutKind.COPE:
        return _on_elbow(cut, cut.seat, place) if cut.seat is not None else _on_pipe(cut, place)
    gap = usual_gap_mm(cut, root_gap_mm)
    normal = math.cos(cut.tilt_rad) * place.away - math.sin(cut.tilt_rad) * place.zero
    return CutSolids((HalfSpace(place.point + gap * normal, normal),))


def usual_gap_mm(cut: CutSpec, root_gap_mm: float) -> float:
    """What the member gives up for the weld gap [mm]: of a mitre half, of anything else all."""
    if cut.kind is CutKind.MITRE:
        return (root_gap_mm if cut.gap_mm is None else cut.gap_mm) / 2
    return cut.gap_mm or 0.0


def _on_pipe(cut: CutSpec, place: Place) -> CutSolids:
    along = math.cos(cut.angle_rad) * place.away + math.sin(cut.angle_rad) * place.zero
    middle = place.point - cut.offset_mm * place.side
    start, end = middle - _HEADER_MM * along, middle + _HEADER_MM * along
    radius = cut.header_od_mm / 2
    grown = PipeSolid(start, end, radius + (cut.gap_mm or 0.0))
    return CutSolids((grown,), PipeSolid(start, end, radius), along)


def _on_elbow(cut: CutSpec, seat: ElbowSeat, place: Place) -> CutSolids:
    """The bend with its tangents, and the pipes at both its faces."""
    elbow = seat.elbow
    assert elbow.bend_radius_mm is not None
    R, radius = elbow.bend_radius_mm, elbow.radius_mm + (cut.gap_mm or 0.0)
    along = math.cos(cut.angle_rad) * place.away + math.sin(cut.angle_rad) * place.zero
    out = (place.away - math.cos(cut.angle_rad) * along) / math.sin(cut.angle_rad)
    axis_side = np.cross(out, along)
    heel = math.cos(seat.girth_rad) * out - math.sin(seat.girth_rad) * axis_side
    axis = math.sin(seat.girth_rad) * out + math.cos(seat.girth_rad) * axis_side
    centre = place.point - cut.offset_mm * place.side - R * heel
    bend = BendSolid(centre, axis, d.turned(heel, axis, -seat.at_rad), R, radius, seat.sweep_rad)
    solids: list[Solid] = [bend]
    for psi, way in ((0.0, -1.0), (seat.sweep_rad, 1.0)):
        face, forward = bend.centreline(psi)
        solids.append(PipeSolid(face, face + way * _HEADER_MM * forward, radius))
    return CutSolids(tuple(solids), None, along)
