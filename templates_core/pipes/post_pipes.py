"""Posts as pipes to cut: foot on the floor's plate, top coped on the rail, or lengths between mid rails."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from templates_core.errors import Fault, GeometryError, InputError
from templates_core.geometry.pipe_ends import At, BearsOn, EndCut, PipeAxis
from templates_core.geometry.solids import HalfSpace, PipeSolid
from templates_core.jobs.job import Job
from templates_core.marks import post_length_mark
from templates_core.paths import directions as d
from templates_core.paths.directions import Vector
from templates_core.pipes.coped_ends import EndAsked, coped_end
from templates_core.pipes.cut_pipe import CutPipe, EndShape, PipeEnd
from templates_core.pipes.header_solids import HeaderPart
from templates_core.pipes.posts import PlacedPost
from templates_core.pipes.seat_words import SQUARE_RAD, cope_words, foot_words, plate_datum
from templates_core.pipes.seats import seat
from templates_core.units import format_length

JOINT_ROOM_MM = 3.0
"""A cope ends this far short of the weld at a pipe's end, at least (common practice, no source)."""


@dataclass(frozen=True, eq=False)
class Header:
    """What a post's top sits on.

    straight: the run as if it went on for ever, by which a post off the corners is cut; run: its real pipe,
    None where it has none.  parts: of the whole rail.
    """

    straight: PipeSolid
    run: HeaderPart | None
    parts: tuple[HeaderPart, ...]


@dataclass(frozen=True, eq=False)
class Crossing:
    """A mid rail that runs through a post.  middle: on the post's axis (3,).  solid: the mid rail."""

    mark: str
    middle: Vector
    solid: PipeSolid
    hole: bool
    bears_on: BearsOn


def post_pipes(
    post: PlacedPost, header: Header, crossings: Sequence[Crossing], quantity: int, job: Job
) -> tuple[CutPipe, ...]:
    """The pipe of a post, or its lengths from the top down where mid rails run through it.

    crossings: in any order.  Raises InputError where it can't sit where it is to stand.
    """
    try:
        return tuple(_lengths(post, header, crossings, quantity, job))
    except GeometryError as error:
        remedy = "move it, or give it another size, offset or stand, or no hole"
        raise InputError([Fault(post.where, f"post {post.mark}: {error}", remedy)]) from None


def _lengths(
    post: PlacedPost, header: Header, crossings: Sequence[Crossing], quantity: int, job: Job
) -> list[CutPipe]:
    axis = PipeAxis(post.floor_point, post.direction, _zero(post))

    def height_mm(crossing: Crossing) -> float:
        return float((crossing.middle - axis.start_mm) @ axis.along)

    stops = sorted(crossings, key=height_mm, reverse=True)
    ends = [(_foot(post, axis, job), _top(post, header, axis, job))]
    for crossing in stops:
        height = height_mm(crossing)
        foot, top = ends.pop()
        ends.append((_on_crossing(post, axis, crossing, height, "start", job), top))
        ends.append((foot, _on_crossing(post, axis, crossing, height, "end", job)))
    names = ["centre of rail", *(f"centre of {one.mark}" for one in stops), "floor"]
    return [
        CutPipe(
            post_length_mark(post.mark, number + 1) if stops else post.mark,
            "post",
            post.where,
            quantity,
            "",
            post.row.pipe,
            axis,
            start,
            end,
            end.centre_mm - start.centre_mm,
            f"{names[number + 1]} to {names[number]}",
        )
        for number, (start, end) in enumerate(ends)
    ]


def _zero(post: PlacedPost) -> Vector:
    """Towards girth angle 0: along the rail, square to the post; uphill, and forward where that is level.

    So posts of a run that climbs and of one that falls alike are alike from their 0° line on.
    """
    way = -post.forward if float(post.forward @ d.UP) < -math.sin(SQUARE_RAD) else post.forward
    across = way - float(way @ post.direction) * post.direction
    return np.asarray(across / np.linalg.norm(across))


def _foot(post: PlacedPost, axis: PipeAxis, job: Job) -> PipeEnd:
    row = post.row
    plane = HalfSpace(post.floor_point + (row.plate_mm + row.gap_mm) * post.floor_normal, post.floor_normal)
    cut = seat(axis, row.pipe, 0.0, [plane], "start", row.bears_on)
    lean = d.turn_between(post.floor_normal, post.direction)
    datum, faces = plate_datum(axis, -post.floor_normal, post.forward)
    words = foot_words(row.plate_mm, row.gap_mm, lean, job.units)
    sits_on = ("base plate",) if row.plate_mm else ("floor",)
    angle = math.pi / 2 - lean
    kind: EndShape = "square" if lean <= SQUARE_RAD else "plate"
    return PipeEnd(cut, words, sits_on, angle, 0.0, row.bears_on, datum, faces, centre_mm=0.0, kind=kind)


def _top(post: PlacedPost, header: Header, axis: PipeAxis, job: Job) -> PipeEnd:
    asked = _asked(post, axis, post.height_mm, "end", job)
    if post.corner_number is None:
        straight = asked.cut_on([header.straight])
        if header.run is not None and not _past_ends(post, header.run, axis, straight):
            return _coped(post, asked, straight, [header.run], header.straight.along, job)
        if not post.row.on_corner:
            raise InputError([_on_a_corner(post, header, axis, straight, job.units)])
    near = _near(post, header.parts)
    cut = asked.cut_on([part.solid for part in near])
    met = [near[number] for number in dict.fromkeys(cut.solid.tolist())]
    for part in met:
        if not part.known:
            what = f"post {post.mark} sits on {part.mark}, an elbow whose bend radius is not known"
            raise InputError([Fault(post.where, what, "measure it and give it as an [[elbow]]")])
    return _coped(post, asked, cut, met, post.forward, job)


def _asked(post: PlacedPost, axis: PipeAxis, station_mm: float, at_end: At, job: Job) -> EndAsked:
    row, paper_mm = post.row, job.shop.wrap_thickness_mm
    return EndAsked(axis, row.pipe, at_end, station_mm, row.bears_on, post.forward, row.hole, paper_mm)


def _coped(
    post: PlacedPost, asked: EndAsked, cut: EndCut, met: Sequence[HeaderPart], along: Vector, job: Job
) -> PipeEnd:
    marks = tuple(dict.fromkeys(part.mark for part in met))
    lean = d.acute_between(along, asked.axis.along)
    words = cope_words(marks, lean, post.row.offset_mm, job.units)
    return coped_end(asked, cut, met[0].solid, along, post.work_point, marks, words)


def _on_crossing(
    post: PlacedPost, axis: PipeAxis, crossing: Crossing, height_mm: float, at_end: At, job: Job
) -> PipeEnd:
    asked = replace(
        _asked(post, axis, height_mm, at_end, job), hole=crossing.hole, bears_on=crossing.bears_on
    )
    along = crossing.solid.along
    lean = d.acute_between(along, axis.along)
    words = cope_words((crossing.mark,), lean, 0.0, job.units)
    cut = asked.cut_on([crossing.solid])
    return coped_end(asked, cut, crossing.solid, along, crossing.middle, (crossing.mark,), words)


def _past_ends(post: PlacedPost, run: HeaderPart, axis: PipeAxis, cut: EndCut) -> bool:
    return min(_room(post, run, axis, cut)) < -1e-6


def _room(post: PlacedPost, run: HeaderPart, axis: PipeAxis, cut: EndCut) -> tuple[float, float]:
    """What a cope leaves of a run's pipe before it and after it, less the room that a weld wants [mm]."""
    solid = run.solid
    assert isinstance(solid, PipeSolid)
    points = axis.point(cut.girth_rad, cut.station_mm, post.row.pipe.radius_mm)
    along = (points - solid.start_mm) @ solid.along
    return float(along.min()) - JOINT_ROOM_MM, solid.length_mm - float(along.max()) - JOINT_ROOM_MM


def _on_a_corner(post: PlacedPost, header: Header, axis: PipeAxis, cut: EndCut, units: str) -> Fault:
    if header.run is None:
        what = f"post {post.mark} stands where elbows meet with no pipe between"
        return Fault(post.where, what, "move it to another run, or write on_corner = true")
    before, after = _room(post, header.run, axis, cut)
    at = format_length(post.along_mm, units)
    what = f"post {post.mark}, {at} along run {post.run_number}, sits on the weld or elbow at the"
    if before + after < 0:
        short = format_length(-before - after, units)
        return Fault(
            post.where,
            f"{what} ends of a pipe that is {short} too short for it",
            "move it to another run, or write on_corner = true",
        )
    side, shift = ("start", -before) if before < 0 else ("end", -after)
    by = format_length(shift, units)
    to = format_length(post.along_mm + (shift if before < 0 else -shift), units)
    remedy = f"move it by {by}, to {to} along the run, or write on_corner = true"
    return Fault(post.where, f"{what} {side} of {header.run.mark}", remedy)


def _near(post: PlacedPost, parts: Sequence[HeaderPart]) -> list[HeaderPart]:
    """Parts within reach of a post's top; others that it could meet are no part of this joint."""
    reach = 2.5 * post.row.pipe.od_mm
    return [part for part in parts if float(part.solid.distance_mm(post.top)) <= reach]
