"""The one computed model that every sheet and every table takes its numbers from."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

from templates_core.corner_exit import own_faults
from templates_core.corners import Corner, CornerAsked, make_corner, with_stock
from templates_core.cut_list import Member, members_of
from templates_core.cut_wraps import CutWrap, wrap_of_cut
from templates_core.elbow_layouts import face_loss_mm
from templates_core.elbow_plans import StockedPiece, stocked_pieces
from templates_core.errors import Fault, GeometryError, InputError
from templates_core.fit_up import FitUp, fit_up
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
from templates_core.job import Job, PipeStock, RailSpec
from templates_core.marks import corner_mark
from templates_core.mirror import mirrored
from templates_core.pipe_wraps import PipeWrap, mitre_wrap
from templates_core.rail_ends import whole_path
from templates_core.rail_path import RailPath
from templates_core.short_runs import short_run_faults
from templates_core.stock_elbows import ElbowShare, PieceWanted, share_elbows
from templates_core.stock_pipe import Blank, PipeShare, share_pipe
from templates_core.units import INCH, MM, MM_PER_INCH, format_length, format_stock_length

Progress = Callable[[str, int, int], None]
"""Called with what is being done, how many are done, and how many there are."""

USUAL_STICK_MM = {MM: 6000.0, INCH: 20 * 12 * MM_PER_INCH}
"""Length of the sticks that pipe comes in, by unit of the job, where it lists none (from memory)."""


@dataclass(frozen=True)
class Rail:
    """A rail computed: its path, its corners and its pipes, in order along it.

    quantity: how many rails like this the job makes.  mirror_of: mark of the rail that this one is the
    other hand of, else empty.  turned_over: of a flat rail made in both hands, which are one shape: half of
    the quantity is the other hand.
    """

    mark: str
    quantity: int
    path: RailPath
    corners: tuple[Corner, ...]
    members: tuple[Member, ...]
    fit_up: FitUp
    mirror_of: str = ""
    turned_over: bool = False


@dataclass(frozen=True)
class Model:
    """A job computed.

    cut_wraps, mitre_wraps: one for each group, in the same order.
    elbow_share, pipe_share: what comes out of each elbow and each stick, what is left, and what no plan
    can better.  pipe_mm: length of pipe in the whole job as cut, with no kerf and no waste.
    warnings: all that is doubtful, each with its place.  notes: what was taken where the job says nothing.
    """

    job: Job
    rails: tuple[Rail, ...]
    cut_groups: tuple[CutGroup, ...]
    mitre_groups: tuple[MitreGroup, ...]
    cut_wraps: tuple[CutWrap, ...]
    mitre_wraps: tuple[PipeWrap, ...]
    buy_list: tuple[BuyLine, ...]
    elbow_share: ElbowShare
    pipe_share: PipeShare
    pipe_mm: float
    warnings: tuple[str, ...]
    notes: tuple[str, ...]


def build_model(job: Job, progress: Progress | None = None) -> Model:
    """Compute a job.  Raises InputError with every fault of every elbow and every rail.

    Pieces are chosen first; then they are shared out to the stock, which says what each cut face loses; then
    come take-outs, and last what is left for the pipes.
    """
    drafts = _drafts(job, progress)
    elbow_share = _share_elbows(drafts, job, progress)
    found = stocked_pieces(elbow_share.plans, job.shop)
    rails = _rails(drafts, found, job)
    placed = [place for rail in rails for place in _placed(rail)]
    cuts = cut_groups(elbow_share.plans, placed, face_loss_mm(job.shop))
    mitres = mitre_groups(placed)
    pipe_share, doubts = _share_pipe(rails, job, progress)
    return Model(
        job,
        rails,
        cuts,
        mitres,
        _cut_wraps(cuts, job, progress),
        _mitre_wraps(mitres, job),
        buy_list(elbow_share.used, placed),
        elbow_share,
        pipe_share,
        sum(rail.quantity * member.cut_mm for rail in rails for member in rail.members),
        job.warnings + tuple(dict.fromkeys(text for rail in rails for text in _warnings(rail))) + doubts,
        _notes(job),
    )


@dataclass(frozen=True)
class _Draft:
    """A rail whose pieces are chosen and not yet shared out to the stock."""

    spec: RailSpec
    path: RailPath
    corners: tuple[Corner, ...]


def _drafts(job: Job, progress: Progress | None) -> list[_Draft]:
    """Every rail with its corners.

    Where there are faults, runs that are too short are told with them, as far as can be known before the
    stock is shared out.
    """
    elbow_faults = [fault for elbow in job.elbows for fault in _elbow_faults(elbow)]
    faults = list(elbow_faults)
    told: list[tuple[Fault, ...]] = []
    by_rail: list[list[_Draft]] = []
    for number, spec in enumerate(job.rails):
        if progress is not None:
            progress("rails", number, len(job.rails))
        try:
            if elbow_faults:
                whole_path(spec, job.units)
            by_rail.append([] if elbow_faults else _hands(spec, job))
            told.append(())
        except InputError as error:
            by_rail.append([])
            told.append(error.faults)
    if elbow_faults or any(told):
        for found, drafts in zip(told, by_rail, strict=True):
            faults += found or (_short_runs(drafts[0], job) if drafts else ())
        raise InputError(faults)
    if progress is not None:
        progress("rails", len(job.rails), len(job.rails))
    return [draft for drafts in by_rail for draft in drafts]


def _share_elbows(drafts: Sequence[_Draft], job: Job, progress: Progress | None) -> ElbowShare:
    wanted = [
        PieceWanted(
            piece.mark, corner.where, piece.elbow, piece.angle_rad, piece.cut is None, draft.spec.quantity
        )
        for draft in drafts
        for corner in draft.corners
        for piece in corner.pieces
    ]
    return share_elbows(wanted, job.elbows, job.stock.elbows, job.shop, _told("elbows", progress))


def _told(what: str, progress: Progress | None) -> Callable[[int, int], None] | None:
    return None if progress is None else partial(progress, what)


def _share_pipe(
    rails: Sequence[Rail], job: Job, progress: Progress | None
) -> tuple[PipeShare, tuple[str, ...]]:
    """Pipes shared out to sticks, and what is doubtful; where the job lists no stick, to the usual one."""
    blanks = [
        Blank(member.mark, member.where, member.blank_mm, rail.quantity)
        for rail in rails
        for member in rail.members
    ]
    stock = job.stock
    pipes = stock.pipes or (PipeStock(USUAL_STICK_MM[job.units]),)
    share = share_pipe(
        blanks,
        pipes,
        job.shop.kerf_mm,
        stock.end_trim_mm,
        stock.least_offcut_mm,
        _told("sticks", progress),
    )
    longest = max(one.length_mm for one in pipes) - 2 * stock.end_trim_mm
    too_long = [one for one in blanks if one.mark in share.too_long]
    if stock.pipes and too_long:
        raise InputError([_too_long(one, longest, job.units) for one in too_long])
    stick = format_stock_length(pipes[0].length_mm, job.units)
    return share, tuple(f"{one.where}: pipe {one.mark} is longer than a stick of {stick}" for one in too_long)


def _notes(job: Job) -> tuple[str, ...]:
    if job.stock.pipes:
        return ()
    stick = format_stock_length(USUAL_STICK_MM[job.units], job.units)
    return (f"The job lists no pipe, so sticks of {stick} are taken: list yours as [[stock.pipe]].",)


def _too_long(blank: Blank, longest_mm: float, units: str) -> Fault:
    length, longest = (format_length(mm, units) for mm in (blank.length_mm, longest_mm))
    what = f"pipe {blank.mark} takes {length}, and the longest stick gives {longest}"
    return Fault(blank.where, what, "list a longer [[stock.pipe]], or make it of two runs")


def _rails(drafts: Sequence[_Draft], found: Mapping[str, StockedPiece], job: Job) -> tuple[Rail, ...]:
    """Rails with their pieces as they come out of the stock, and their pipes."""
    rails: list[Rail] = []
    faults: list[Fault] = []
    for draft in drafts:
        corners = tuple(with_stock(corner, found, job.shop.root_gap_mm) for corner in draft.corners)
        stocked = _Draft(draft.spec, draft.path, corners)
        short = _short_runs(stocked, job)
        faults += [fault for fault in short if fault not in faults]
        if not faults:
            rails.append(_rail(stocked, job))
    if faults:
        raise InputError(faults)
    return tuple(rails)


def _rail(draft: _Draft, job: Job) -> Rail:
    spec, path, corners = draft.spec, draft.path, draft.corners
    members = members_of(path, corners)
    fitted = fit_up(path, corners, members, job)
    turned_over = spec.mirror and path.is_flat
    return Rail(spec.mark, spec.quantity, path, corners, members, fitted, spec.mirror_of, turned_over)


def _short_runs(draft: _Draft, job: Job) -> list[Fault]:
    return short_run_faults(draft.path, draft.corners, members_of(draft.path, draft.corners), job)


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


def _hands(spec: RailSpec, job: Job) -> list[_Draft]:
    """The rail, and its other hand where that is asked for and is another shape.  Raises InputError."""
    draft = _draft(spec, job)
    if not spec.mirror:
        return [draft]
    if draft.path.is_flat:
        return [replace(draft, spec=replace(spec, quantity=2 * spec.quantity))]
    return [draft, _draft(mirrored(spec), job)]


def _draft(spec: RailSpec, job: Job) -> _Draft:
    """One rail.  Raises InputError with all the faults of its path and of its corners."""
    faults: list[Fault] = []
    path: RailPath | None = None
    try:
        path = whole_path(spec, job.units)
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
    return _Draft(spec, path, tuple(corners))


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
    return [
        Placed(corner, rail.quantity, max(run.length_mm for run in rail.path.runs_at(corner.number)))
        for corner in rail.corners
    ]


def _warnings(rail: Rail) -> tuple[str, ...]:
    """All that is doubtful about a rail; of an other hand, only what names its own parts."""
    own = () if rail.mirror_of else rail.path.warnings
    return own + tuple(text for corner in rail.corners for text in corner.warnings)
