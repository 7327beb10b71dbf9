"""Rails of a job: drafted, with paths laid out and pieces chosen; then made up of pipes, the stock known."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from templates_core.elbows.corners import Corner, CornerAsked, Piece, make_corner, with_stock
from templates_core.elbows.elbow_ends import lean_faults, lean_of_corner, settled
from templates_core.elbows.groups import Placed
from templates_core.elbows.leaning_cuts import blank_rad, lean_shape
from templates_core.elbows.plate_ends import PlateEnd, plate_ends
from templates_core.errors import Fault, InputError
from templates_core.fitting_up.fit_up import FitUp, fit_up
from templates_core.fitting_up.metal import runs_of_metal
from templates_core.fitting_up.tack_order import tack_steps
from templates_core.fittings import StockElbow
from templates_core.jobs.job import Job, RailSpec, Shop
from templates_core.marks import corner_mark
from templates_core.paths.corner_exit import own_faults
from templates_core.paths.mirror import is_own_other_hand, mirrored
from templates_core.paths.rail_ends import whole_path
from templates_core.paths.rail_path import RailPath
from templates_core.pipes.cut_list import Member, members_of
from templates_core.pipes.post_sizes import NO_SIZES, PostSizes, post_sizes
from templates_core.pipes.posts import post_faults
from templates_core.pipes.rail_posts import NO_POSTS, RailPosts, stand_posts
from templates_core.pipes.short_runs import short_run_faults
from templates_core.stock.elbow_layouts import face_loss_mm
from templates_core.stock.elbow_plans import StockedPiece
from templates_core.stock.stock_elbows import PieceWanted
from templates_core.welding.straightness import Straightness, straightness_of

Progress = Callable[[str, int, int], None]
"""Called with what is being done, how many are done, and how many there are."""


@dataclass(frozen=True)
class Rail:
    """A rail computed: its path, its corners and its pipes, in order along it.

    quantity: how many rails like this the job makes.  mirror_of: mark of the rail that this one is the
    other hand of, else empty.  turned_over: of a flat rail made in both hands, which are one shape: half of
    the quantity is the other hand.  standing: its posts and mid rails, with post_sizes to
    place them by.  straightness: None where the job says nothing of its welds.
    """

    mark: str
    quantity: int
    path: RailPath
    corners: tuple[Corner, ...]
    members: tuple[Member, ...]
    fit_up: FitUp
    mirror_of: str = ""
    turned_over: bool = False
    standing: RailPosts = NO_POSTS
    post_sizes: PostSizes = NO_SIZES
    straightness: Straightness | None = None


@dataclass(frozen=True)
class RailDraft:
    """A rail whose pieces are chosen and not yet shared out to the stock."""

    spec: RailSpec
    path: RailPath
    corners: tuple[Corner, ...]


def draft_rails(job: Job, progress: Progress | None) -> list[RailDraft]:
    """Every rail with its corners.

    Where there are faults, runs that are too short are told with them, as far as can be known before the
    stock is shared out.
    """
    elbow_faults = [fault for elbow in job.elbows for fault in _elbow_faults(elbow)]
    faults = list(elbow_faults)
    told: list[tuple[Fault, ...]] = []
    by_rail: list[list[RailDraft]] = []
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


def make_rails(drafts: Sequence[RailDraft], found: Mapping[str, StockedPiece], job: Job) -> tuple[Rail, ...]:
    """Rails with their pieces as they come out of the stock, and their pipes."""
    rails: list[Rail] = []
    faults: list[Fault] = []
    faulty: set[str] = set()
    for draft in drafts:
        corners = tuple(with_stock(corner, found, job.shop.root_gap_mm) for corner in draft.corners)
        stocked = RailDraft(draft.spec, settled(draft.path, corners), corners)
        short = _short_runs(stocked, job)
        faults += [fault for fault in short if fault not in faults]
        if short or draft.spec.mirror_of in faulty:
            continue
        try:
            rails.append(_rail(stocked, job))
        except InputError as error:
            faults += [fault for fault in error.faults if fault not in faults]
            faulty.add(draft.spec.mark)
    if faults:
        raise InputError(faults)
    return tuple(rails)


def _rail(draft: RailDraft, job: Job) -> Rail:
    spec, path, corners = draft.spec, draft.path, draft.corners
    members = members_of(path, corners, job.pipe.radius_mm)
    fitted = fit_up(path, corners, members, job)
    standing = stand_posts(spec, path, corners, members, job)
    sizes = post_sizes(path, corners, runs_of_metal(path, corners, members), standing, job)
    in_order = tack_steps((*fitted.joints, *sizes.joints))
    return Rail(
        spec.mark,
        spec.quantity,
        path,
        corners,
        members,
        replace(fitted, steps=in_order),
        spec.mirror_of,
        turned_over=spec.mirror and path.is_own_other_hand and not standing.posts,
        standing=standing,
        post_sizes=sizes,
        straightness=straightness_of(spec, path, corners, members, fitted.joints, standing, job),
    )


def _short_runs(draft: RailDraft, job: Job) -> list[Fault]:
    members = members_of(draft.path, draft.corners, job.pipe.radius_mm)
    faults = short_run_faults(draft.path, draft.corners, members, job)
    return [*faults, *lean_faults(draft.path, draft.corners)]


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


def _hands(spec: RailSpec, job: Job) -> list[RailDraft]:
    """The rail, and its other hand where that is asked for and is another shape.  Raises InputError."""
    draft = _draft(spec, job)
    if not spec.mirror:
        return [draft]
    if is_own_other_hand(spec, draft.path):
        return [replace(draft, spec=replace(spec, quantity=2 * spec.quantity))]
    return [draft, _draft(mirrored(spec), job)]


def _draft(spec: RailSpec, job: Job) -> RailDraft:
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
    if path is not None:
        faults += post_faults(path, spec, job.units)
    if path is None or faults:
        raise InputError(faults)
    return RailDraft(spec, settled(path, corners), tuple(corners))


def _laid(path: RailPath) -> list[CornerAsked]:
    return [
        CornerAsked(
            corner_mark(path.mark, corner.number),
            corner.number,
            corner.where,
            corner.turn_rad,
            corner.roll_rad,
            corner.by,
            *lean_of_corner(path, place),
        )
        for place, corner in enumerate(path.corners)
    ]


def _asked(spec: RailSpec) -> list[CornerAsked]:
    """Corners of a rail whose path can't be laid out, as far as they state a turn that can be judged."""
    return [
        CornerAsked(corner_mark(spec.mark, number), number, corner.where, corner.turn_rad, 0.0, corner.by)
        for number, corner in enumerate(spec.corners, 1)
        if corner.turn_rad is not None and not own_faults(corner, None)
    ]


def placed_corners(rail: Rail) -> list[Placed]:
    """Corners of a rail, for grouping what is alike."""
    return [
        Placed(corner, rail.quantity, max(run.length_mm for run in rail.path.runs_at(corner.number)))
        for corner in rail.corners
    ]


def piece_wanted(piece: Piece, where: str, quantity: int, shop: Shop) -> PieceWanted:
    """What the stock is asked for; a leaning piece takes its elbow up to its farthest point."""
    angle = piece.angle_rad
    if piece.lean is not None and piece.elbow.bend_radius_mm is not None:
        shape = lean_shape(piece.elbow.radius_mm, piece.elbow.bend_radius_mm, piece.lean)
        angle = blank_rad(shape, angle, face_loss_mm(shop))
    whole, leaning = piece.cut is None, piece.lean is not None
    return PieceWanted(piece.mark, where, piece.elbow, angle, whole, quantity, keeps_face=leaning)


def plates_of(rail: Rail, job: Job) -> tuple[PlateEnd, ...]:
    """Pipe ends of a rail that are cut to a plane."""
    return tuple(plate_ends(rail.path, rail.corners, rail.members, job.pipe.radius_mm))


def rail_warnings(rail: Rail) -> tuple[str, ...]:
    """All that is doubtful about a rail; of an other hand, only what names its own parts."""
    own = () if rail.mirror_of else rail.path.warnings + rail.standing.doubts
    return own + tuple(text for corner in rail.corners for text in corner.warnings)
