"""The one computed model that every sheet and every table takes its numbers from."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from templates_core.corner_exit import own_faults
from templates_core.corner_pieces import least_throat_mm
from templates_core.corners import Corner, CornerAsked, make_corner
from templates_core.cut_list import Member, members_of, short_run_faults
from templates_core.cut_wraps import CutWrap, wrap_of_cut
from templates_core.errors import Fault, GeometryError, InputError
from templates_core.fittings import StockElbow
from templates_core.groups import (
    BuyLine,
    CutGroup,
    MitreGroup,
    Placed,
    buy_list,
    cut_groups,
    mitre_groups,
)
from templates_core.job import Job, RailSpec
from templates_core.marks import corner_mark
from templates_core.pipe_wraps import PipeWrap, mitre_wrap
from templates_core.rail_path import RailPath, lay_out
from templates_core.units import INCH, MM_PER_INCH

Progress = Callable[[str, int, int], None]
"""Called with what is being done, how many are done, and how many there are."""


@dataclass(frozen=True)
class Rail:
    """A rail computed: its path, its corners and its pipes, in order along it.

    quantity: how many rails like this the job makes.
    """

    mark: str
    quantity: int
    path: RailPath
    corners: tuple[Corner, ...]
    members: tuple[Member, ...]


@dataclass(frozen=True)
class Model:
    """A job computed.

    cut_wraps, mitre_wraps: one for each group, in the same order.
    pipe_mm: length of pipe in the whole job, finished, with no kerf and no waste.
    warnings: all that is doubtful, each with its place.
    """

    job: Job
    rails: tuple[Rail, ...]
    cut_groups: tuple[CutGroup, ...]
    mitre_groups: tuple[MitreGroup, ...]
    cut_wraps: tuple[CutWrap, ...]
    mitre_wraps: tuple[PipeWrap, ...]
    buy_list: tuple[BuyLine, ...]
    pipe_mm: float
    warnings: tuple[str, ...]


def build_model(job: Job, progress: Progress | None = None) -> Model:
    """Compute a job.  Raises InputError with every fault of every elbow and every rail."""
    elbow_faults = [fault for elbow in job.elbows for fault in _elbow_faults(elbow)]
    faults = list(elbow_faults)
    rails: list[Rail] = []
    for number, spec in enumerate(job.rails):
        if progress is not None:
            progress("rails", number, len(job.rails))
        try:
            if elbow_faults:
                lay_out(spec, job.units)
            else:
                rails.append(_rail(spec, job))
        except InputError as error:
            faults += error.faults
    if faults:
        raise InputError(faults)
    if progress is not None:
        progress("rails", len(rails), len(rails))
    placed = [place for rail in rails for place in _placed(rail)]
    cuts, mitres = cut_groups(placed), mitre_groups(placed)
    return Model(
        job,
        tuple(rails),
        cuts,
        mitres,
        _cut_wraps(cuts, job, progress),
        _mitre_wraps(mitres, job),
        buy_list(placed, job.elbows),
        sum(rail.quantity * member.length_mm for rail in rails for member in rail.members),
        job.warnings + tuple(text for rail in rails for text in _warnings(rail)),
    )


def _seam_step_mm(job: Job) -> float:
    """Between the girths marked on seam tabs: a millimetre, or a sixteenth of an inch."""
    return MM_PER_INCH / 16 if job.units == INCH else 1.0


def _cut_wraps(groups: Sequence[CutGroup], job: Job, progress: Progress | None) -> tuple[CutWrap, ...]:
    """A wrap for each cut.  Raises InputError with every cut whose wrap can't be laid out flat."""
    wraps, faults = [], []
    for number, group in enumerate(groups):
        if progress is not None:
            progress("wraps", number, len(groups))
        try:
            wraps.append(wrap_of_cut(group.cut, job.shop.wrap_thickness_mm, _seam_step_mm(job)))
        except GeometryError as error:
            remedy = 'use an elbow with a longer bend radius, or set by = "mitre"'
            faults.append(Fault(f"piece {', '.join(group.marks)}", str(error), remedy))
    if faults:
        raise InputError(faults)
    if progress is not None:
        progress("wraps", len(groups), len(groups))
    return tuple(wraps)


def _mitre_wraps(groups: Sequence[MitreGroup], job: Job) -> tuple[PipeWrap, ...]:
    thickness = job.shop.wrap_thickness_mm
    return tuple(
        mitre_wrap(job.pipe.radius_mm, group.tilt_rad, thickness, _seam_step_mm(job)) for group in groups
    )


def _elbow_faults(elbow: StockElbow) -> list[Fault]:
    """An elbow that can't be one: no throat, or a bevel deeper than its throat is hollow."""
    place = f"elbow {elbow.name}"
    if elbow.bend_radius_mm is None:
        return []
    throat = elbow.bend_radius_mm - elbow.radius_mm
    if throat <= 0:
        what = f"a bend radius of {elbow.bend_radius_mm:g} mm and an OD of {elbow.od_mm:g} mm leave no throat"
        return [Fault(place, what, f"give a bend radius over {elbow.radius_mm:g} mm, to the centreline")]
    if elbow.shoulder_mm >= throat:
        what = f"a shoulder {elbow.shoulder_mm:g} mm behind the face is more than its throat has"
        return [Fault(place, what, "measure from the face to the first edge of full diameter")]
    return []


def _rail(spec: RailSpec, job: Job) -> Rail:
    """One rail.  Raises InputError with all its faults: of its path, of its corners, of its runs."""
    faults: list[Fault] = []
    path: RailPath | None = None
    try:
        path = lay_out(spec, job.units)
    except InputError as error:
        faults += error.faults
    corners = []
    for asked in _asked(spec) if path is None else _laid(path):
        try:
            corners.append(make_corner(asked, job.pipe, job.elbows, job.shop, job.units))
        except InputError as error:
            faults += error.faults
    if path is None or faults:
        raise InputError(faults)
    members = members_of(path, corners)
    faults = short_run_faults(path, corners, members, least_throat_mm(job.shop, job.pipe.wall_mm), job.units)
    if faults:
        raise InputError(faults)
    return Rail(spec.mark, spec.quantity, path, tuple(corners), members)


def _laid(path: RailPath) -> list[CornerAsked]:
    return [
        CornerAsked(
            corner_mark(path.mark, corner.number),
            corner.number,
            corner.where,
            corner.turn_rad,
            corner.roll_rad,
            corner.by,
        )
        for corner in path.corners
    ]


def _asked(spec: RailSpec) -> list[CornerAsked]:
    """Corners of a rail whose path can't be laid out, as far as they state a turn that can be judged."""
    return [
        CornerAsked(corner_mark(spec.mark, number), number, corner.where, corner.turn_rad, 0.0, corner.by)
        for number, corner in enumerate(spec.corners, 1)
        if corner.turn_rad is not None and not own_faults(corner, None)
    ]


def _placed(rail: Rail) -> list[Placed]:
    runs = [run.length_mm for run in rail.path.runs]
    return [
        Placed(corner, rail.quantity, max(runs[corner.number - 1], runs[corner.number % len(runs)]))
        for corner in rail.corners
    ]


def _warnings(rail: Rail) -> tuple[str, ...]:
    return rail.path.warnings + tuple(text for corner in rail.corners for text in corner.warnings)
