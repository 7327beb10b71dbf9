"""Loose members as pipes to cut: both ends seated, then set apart by the length that the drawing gives."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from templates_core.errors import Fault, GeometryError, InputError
from templates_core.fittings import Pipe
from templates_core.geometry.pipe_ends import At, EndCut, PipeAxis
from templates_core.geometry.solids import PipeSolid
from templates_core.jobs.job import Job
from templates_core.jobs.member_specs import CutKind, CutSpec, MemberEnd, MemberSpec, Reach
from templates_core.marks import other_hand_mark
from templates_core.pipes.cut_pipe import CutPipe, EndShape, PipeEnd, alike
from templates_core.pipes.member_solids import CutSolids, Place, solids_of
from templates_core.pipes.seats import seat
from templates_core.units import degrees_text, format_length
from templates_core.wraps.cope_holes import CopeHole, cope_hole
from templates_core.wraps.member_wraps import is_square

_AXIS = PipeAxis(np.zeros(3), np.array([0.0, 0.0, 1.0]), np.array([1.0, 0.0, 0.0]))
_GIRTHS = {0.0: "heel", 90.0: "side", 180.0: "throat", -90.0: "other side"}


def make_members(job: Job) -> tuple[CutPipe, ...]:
    """Every loose member of a job, other hands too.  Raises InputError with every one that can't be made."""
    made: list[CutPipe] = []
    faults: list[Fault] = []
    for spec in job.members:
        try:
            made += _hands(spec, job)
        except InputError as error:
            faults += error.faults
    if faults:
        raise InputError(faults)
    return tuple(made)


def _hands(spec: MemberSpec, job: Job) -> list[CutPipe]:
    """A member, and its other hand where asked for; two hands that are one shape are of no hand."""
    one = _member(spec, job)
    if not spec.mirror:
        return [one]
    other = _member(mirrored_member(spec), job)
    if len(alike([one, other])) == 1:
        return [one, other]
    return [replace(one, hand="drawn"), replace(other, hand="other")]


def mirrored_member(spec: MemberSpec) -> MemberSpec:
    """A member in the other hand, with a mark of its own: rolls, offsets and sides change their sign."""

    def other(end: MemberEnd) -> MemberEnd:
        return replace(end, cuts=tuple(_mirrored_cut(cut) for cut in end.cuts))

    mark, mirror_of = (spec.mirror_of, "") if spec.mirror_of else (other_hand_mark(spec.mark), spec.mark)
    return replace(
        spec,
        mark=mark,
        mirror_of=mirror_of,
        roll_rad=-spec.roll_rad,
        start=other(spec.start),
        end=other(spec.end),
    )


def _mirrored_cut(cut: CutSpec) -> CutSpec:
    seat_there = cut.seat and replace(cut.seat, girth_rad=-cut.seat.girth_rad)
    return replace(cut, offset_mm=-cut.offset_mm, roll_rad=-cut.roll_rad, seat=seat_there)


@dataclass(frozen=True, eq=False)
class _Seated:
    """An end at station 0: its cut, what it sits on, and the station that the drawing measures to."""

    spec: MemberEnd
    at_end: At
    roll_rad: float
    cut: EndCut
    sits: tuple[CutSolids, ...]
    reach_mm: float


def _member(spec: MemberSpec, job: Job) -> CutPipe:
    start = _seated(spec, spec.start, "start", 0.0, job)
    end = _seated(spec, spec.end, "end", spec.roll_rad, job)
    pipe = CutPipe(
        spec.mark,
        "member",
        spec.where,
        spec.quantity,
        "",
        spec.pipe,
        _AXIS,
        _pipe_end(start, spec.pipe, 0.0, job),
        _pipe_end(end, spec.pipe, spec.length_mm, job),
        spec.length_mm,
        f"{spec.start.reach} to {spec.end.reach}",
    )
    if pipe.short_mm <= 0:
        short = format_length(-pipe.short_mm, job.units)
        what = f"its two cuts run {short} into each other"
        raise InputError([Fault(spec.where, what, "make it longer, or measure from other points")])
    return pipe


def _seated(spec: MemberSpec, end: MemberEnd, at_end: At, roll_rad: float, job: Job) -> _Seated:
    away = _AXIS.along if at_end == "start" else -_AXIS.along
    sits = tuple(
        solids_of(
            cut,
            Place(_AXIS.start_mm, away, _AXIS.outward(roll_rad + cut.roll_rad)),
            job.shop.root_gap_mm,
        )
        for cut in end.cuts
    )
    solids = [solid for one in sits for solid in one.solids]
    try:
        cut = seat(_AXIS, spec.pipe, 0.0, solids, at_end, end.bears_on)
    except GeometryError as error:
        where = f"{spec.where}, {at_end}"
        raise InputError([Fault(where, str(error), "change its angle, offset, size or place")]) from None
    return _Seated(end, at_end, roll_rad, cut, sits, _reach_mm(end, cut))


def _reach_mm(end: MemberEnd, cut: EndCut) -> float:
    """Station that the drawing measures to, where the axes meet at station 0 [mm]."""
    tip, crotch = float(cut.station_mm.min()), float(cut.station_mm.max())
    if cut.at_end == "end":
        tip, crotch = crotch, tip
    if end.reach in (Reach.LONG_POINT, Reach.END):
        return tip
    if end.reach is Reach.SHORT_POINT:
        return crotch
    if end.reach is Reach.CENTRE:
        return 0.0
    plate = next(one for one in end.cuts if one.kind is CutKind.PLATE)
    beyond = plate.thickness_mm / math.cos(plate.tilt_rad)
    return -beyond if cut.at_end == "start" else beyond


def _pipe_end(seated: _Seated, pipe: Pipe, station_mm: float, job: Job) -> PipeEnd:
    """The end set so that the point the drawing measures to is at a station."""
    first = seated.spec.cuts[0]
    over = first.kind is CutKind.COPE and first.angle_rad > math.pi / 2
    return PipeEnd(
        replace(seated.cut, station_mm=seated.cut.station_mm + station_mm - seated.reach_mm),
        "; ".join(cut_words(cut, job.units) for cut in seated.spec.cuts),
        tuple(sits_on for cut in seated.spec.cuts for sits_on in _sits_on(cut)),
        _acute_rad(first),
        first.offset_mm,
        seated.spec.bears_on,
        seated.roll_rad + first.roll_rad + (math.pi if over else 0.0),
        _datum_words(first),
        centre_mm=station_mm,
        hole=_hole(seated, pipe, job),
        kind=_kind(seated),
    )


def _kind(seated: _Seated) -> EndShape:
    if is_square(seated.cut):
        return "square"
    kinds: tuple[EndShape, ...] = tuple(cut.kind.value for cut in seated.spec.cuts)
    return "cope" if "cope" in kinds else kinds[0]


def _acute_rad(cut: CutSpec) -> float:
    if cut.kind is CutKind.COPE:
        return min(cut.angle_rad, math.pi - cut.angle_rad)
    return math.pi / 2 - abs(cut.tilt_rad)


def _sits_on(cut: CutSpec) -> tuple[str, ...]:
    if cut.kind is CutKind.COPE:
        return (cut.header_words if cut.seat is None else cut.seat.elbow.name,)
    return ("plate",) if cut.kind is CutKind.PLATE else ()


def _datum_words(cut: CutSpec) -> str:
    if cut.kind is CutKind.COPE:
        if abs(cut.angle_rad - math.pi / 2) > 1e-9:
            return "crotch"
        return "side towards face B" if cut.seat is not None else "side along its header"
    return "short side" if cut.tilt_rad else "start's datum side"


def cut_words(cut: CutSpec, units: str) -> str:
    """What one cut of an end is: ``cope on NPS 2 Sch 40, 60°, offset 5.0 mm``."""
    if cut.kind is CutKind.SQUARE:
        words = ["square"]
    elif cut.kind is CutKind.MITRE:
        words = [f"mitre {degrees_text(cut.tilt_rad)} off square"]
    elif cut.kind is CutKind.PLATE:
        tilt = f"{degrees_text(cut.tilt_rad)} off square" if cut.tilt_rad else "square"
        thick = f", {format_length(cut.thickness_mm, units)} thick" if cut.thickness_mm else ""
        words = [f"{tilt} on a plate{thick}"]
    else:
        words = [_cope_words(cut)]
        if _acute_rad(cut) < math.pi / 2 - 1e-9:
            words.append(degrees_text(_acute_rad(cut)))
        if cut.offset_mm:
            words.append(f"offset {format_length(cut.offset_mm, units, fine=True)}")
    if cut.gap_mm:
        words.append(f"gap {format_length(cut.gap_mm, units, fine=True)}")
    return ", ".join(words)


def _cope_words(cut: CutSpec) -> str:
    if cut.seat is None:
        return f"cope on {cut.header_words}"
    seat_there = cut.seat
    girth = math.degrees(seat_there.girth_rad)
    where = _GIRTHS.get(round(girth, 3), f"{degrees_text(seat_there.girth_rad)} round from the heel")
    return f"cope on {seat_there.elbow.name}, {where}, {degrees_text(seat_there.at_rad)} from face A"


def _hole(seated: _Seated, pipe: Pipe, job: Job) -> CopeHole | None:
    """The hole under the first cope that asks for one, its header read towards the acute angle."""
    for cut, sits in zip(seated.spec.cuts, seated.sits, strict=True):
        if not cut.hole:
            continue
        away = _AXIS.along if seated.at_end == "start" else -_AXIS.along
        if sits.header is None or sits.along is None:
            what = "a hole in an elbow has no flat template"
            raise InputError([Fault(cut.where, what, "open it through the pipe; leave out hole")])
        zero = away - float(away @ sits.along) * sits.along
        zero = zero / np.linalg.norm(zero)
        bore = pipe.radius_mm - pipe.wall_mm
        header = sits.header
        if cut.angle_rad > math.pi / 2:
            header = PipeSolid(header.end_mm, header.start_mm, header.radius_mm)
        return cope_hole(_AXIS, away, bore, header, zero, job.shop.wrap_thickness_mm)
    return None
