"""The one computed model that every sheet and every table takes its numbers from."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

from templates_core.elbows.groups import (
    BuyLine,
    CutGroup,
    LeaningGroup,
    MitreGroup,
    buy_list,
    cut_groups,
    leaning_groups,
    mitre_groups,
)
from templates_core.errors import Fault, Gathered, GeometryError, InputError
from templates_core.jobs.job import Job
from templates_core.pipes.clashes import crotch_doubts
from templates_core.pipes.cut_pipe import CutPipe
from templates_core.pipes.drain_holes import DrainHole, cut_pipe_holes, rail_holes
from templates_core.pipes.loose_members import make_members
from templates_core.rails import (
    Progress,
    Rail,
    RailDraft,
    draft_rails,
    make_rails,
    piece_wanted,
    placed_corners,
    plates_of,
    rail_warnings,
)
from templates_core.stock.elbow_layouts import face_loss_mm
from templates_core.stock.elbow_plans import stocked_pieces
from templates_core.stock.sticks import SizedBlank, SizeShare, share_sticks
from templates_core.stock.stock_elbows import ElbowShare, share_elbows
from templates_core.stock.stock_pipe import Blank
from templates_core.units import INCH, MM_PER_INCH
from templates_core.wraps.cut_wraps import CutWrap, LeaningWrap, wrap_of_cut, wrap_of_leaning
from templates_core.wraps.pipe_wraps import PipeWrap, mitre_wrap

__all__ = ["Model", "Progress", "Rail", "build_model"]


@dataclass(frozen=True)
class Model:
    """A job computed.

    cut_wraps, leaning_wraps, mitre_wraps: one for each group, in the same order.
    elbow_share, pipe_shares: what comes out of each elbow and, size by size, out of each stick, what is
    left, and what no plan can better.  pipe_mm: length of pipe in the whole job as cut, with no kerf and no
    waste.
    cut_pipes: posts and mid rails of the rails in order, then the loose members.
    drain_holes: for galvanising, where the job asks for them.
    warnings: all that is doubtful, each with its place.  notes: what was taken where the job says nothing.
    """

    job: Job
    rails: tuple[Rail, ...]
    cut_groups: tuple[CutGroup, ...]
    leaning_groups: tuple[LeaningGroup, ...]
    mitre_groups: tuple[MitreGroup, ...]
    cut_wraps: tuple[CutWrap, ...]
    leaning_wraps: tuple[LeaningWrap, ...]
    mitre_wraps: tuple[PipeWrap, ...]
    buy_list: tuple[BuyLine, ...]
    elbow_share: ElbowShare
    pipe_shares: tuple[SizeShare, ...]
    pipe_mm: float
    warnings: tuple[str, ...]
    notes: tuple[str, ...]
    cut_pipes: tuple[CutPipe, ...] = ()
    drain_holes: tuple[DrainHole, ...] = ()


def build_model(job: Job, progress: Progress | None = None) -> Model:
    """Compute a job.  Raises InputError with every fault of every elbow and every rail.

    Pieces are chosen first; then they are shared out to the stock, which says what each cut face loses; then
    come take-outs, and last what is left for the pipes.
    """
    gathered = Gathered()
    drafts = gathered.get(lambda: draft_rails(job, progress)) or []
    loose = gathered.get(lambda: make_members(job)) or ()
    gathered.refuse()
    elbow_share = _share_elbows(drafts, job, progress)
    found = stocked_pieces(elbow_share.plans, job.shop)
    rails = make_rails(drafts, found, job)
    placed = [place for rail in rails for place in placed_corners(rail)]
    cuts = cut_groups(elbow_share.plans, placed, face_loss_mm(job.shop))
    leaning = leaning_groups(placed)
    mitres = mitre_groups(placed, [(rail.quantity, end) for rail in rails for end in plates_of(rail, job)])
    doubts = tuple(dict.fromkeys(text for rail in rails for text in rail_warnings(rail)))
    cut_pipes = tuple(pipe for rail in rails for pipe in rail.standing.pipes) + loose
    _refuse_marks(rails, loose)
    sticks = share_sticks(_blanks(rails, cut_pipes, job), job, _told("sticks", progress))
    return Model(
        job,
        rails,
        cuts,
        leaning,
        mitres,
        _cut_wraps(cuts, job, progress),
        _leaning_wraps(leaning, job),
        _mitre_wraps(mitres, job),
        buy_list(elbow_share.used, placed),
        elbow_share,
        sticks.shares,
        sum(one.cut_mm for one in sticks.shares),
        job.warnings + doubts + tuple(crotch_doubts(loose)) + sticks.doubts,
        sticks.notes,
        cut_pipes,
        _drain_holes(rails, cut_pipes, job),
    )


def _share_elbows(drafts: Sequence[RailDraft], job: Job, progress: Progress | None) -> ElbowShare:
    wanted = [
        piece_wanted(piece, corner.where, draft.spec.quantity, job.shop)
        for draft in drafts
        for corner in draft.corners
        for piece in corner.pieces
    ]
    return share_elbows(wanted, job.elbows, job.stock.elbows, job.shop, _told("elbows", progress))


def _told(what: str, progress: Progress | None) -> Callable[[int, int], None] | None:
    return None if progress is None else partial(progress, what)


def _drain_holes(rails: Sequence[Rail], cut_pipes: Sequence[CutPipe], job: Job) -> tuple[DrainHole, ...]:
    if job.galvanising is None:
        return ()
    of_rails = [
        hole for rail in rails for hole in rail_holes(rail.path, rail.members, rail.quantity, job.galvanising)
    ]
    return (*of_rails, *cut_pipe_holes(cut_pipes, job.galvanising))


def _refuse_marks(rails: Sequence[Rail], loose: Sequence[CutPipe]) -> None:
    """Raises InputError for members that are marked like a part of a rail."""
    parts = {piece.mark: rail for rail in rails for corner in rail.corners for piece in corner.pieces}
    parts |= {member.mark: rail for rail in rails for member in rail.members}
    parts |= {pipe.mark: rail for rail in rails for pipe in rail.standing.pipes}
    known = {mark.casefold(): rail.mark for mark, rail in parts.items()}
    faults = [
        Fault(f"{pipe.where}, mark", f"a part of rail {known[key]} has the mark {pipe.mark}", "give another")
        for pipe in loose
        if (key := pipe.mark.casefold()) in known
    ]
    if faults:
        raise InputError(faults)


def _blanks(rails: Sequence[Rail], cut_pipes: Sequence[CutPipe], job: Job) -> list[SizedBlank]:
    of_rails = [
        SizedBlank(job.pipe, Blank(member.mark, member.where, member.blank_mm, rail.quantity), member.cut_mm)
        for rail in rails
        for member in rail.members
    ]
    return of_rails + [
        SizedBlank(pipe.pipe, Blank(pipe.mark, pipe.where, pipe.overall_mm, pipe.quantity), pipe.overall_mm)
        for pipe in cut_pipes
    ]


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


def _leaning_wraps(groups: Sequence[LeaningGroup], job: Job) -> tuple[LeaningWrap, ...]:
    """A wrap for each leaning cut.  Raises InputError with every one that can't be laid out flat."""
    wraps, faults = [], []
    for group in groups:
        try:
            wraps.append(wrap_of_leaning(group.cut, job.shop.wrap_thickness_mm, _seam_step_mm(job)))
        except GeometryError as error:
            remedy = "lean it less, use an elbow with a longer bend radius, or give the return a run"
            faults.append(Fault(f"piece {', '.join(group.marks)}", str(error), remedy))
    if faults:
        raise InputError(faults)
    return tuple(wraps)


def _mitre_wraps(groups: Sequence[MitreGroup], job: Job) -> tuple[PipeWrap, ...]:
    thickness = job.shop.wrap_thickness_mm
    return tuple(
        mitre_wrap(job.pipe.radius_mm, group.tilt_rad, thickness, _seam_step_mm(job)) for group in groups
    )
