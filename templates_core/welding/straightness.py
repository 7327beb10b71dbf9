"""Straight after welding: what pulls each run of a rail, how far, what to set against it, and in which order.

Only runs with welds on their sides bend; welds all round a joint shorten.  A run is straightened by itself,
on the table, before its corners are welded.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from templates_core.elbows.corners import Corner
from templates_core.errors import Gathered
from templates_core.fitting_up.metal import runs_of_metal
from templates_core.fitting_up.tack_order import RailJoint
from templates_core.fitting_up.tape_hook import Datum, datum_of
from templates_core.jobs.job import Job, RailSpec, Welding
from templates_core.marks import end_joint_mark
from templates_core.paths import directions as d
from templates_core.paths.rail_path import RailPath
from templates_core.pipes.cut_list import Member
from templates_core.pipes.rail_posts import RailPosts
from templates_core.welding.free_shape import FreeShape, Kink, end_slopes, free_shape
from templates_core.welding.preset import BESIDE_WELD_MM, Held, Preset, plan_preset
from templates_core.welding.side_welds import SideWeld, clamp_places, listed_welds, post_welds, run_pipes
from templates_core.welding.support_beam import Beam
from templates_core.welding.weld_kinks import FACTOR, Pull, estimated_butt_mm, estimated_pull, shortening_mm
from templates_core.welding.weld_order import Spot, Turn, welding_order
from templates_core.welding.weld_shrinkage import Opening, RunLoss, butt_losses_mm, girth_way, openings

HOT_ODS = 10.0
"""Pipe stays too hot to go on welding within so many ODs of a fresh weld (common practice, no source)."""


class Trust(StrEnum):
    """Where the kink of a weld comes from."""

    TRIAL = "trial"
    ESTIMATE = "estimate"


@dataclass(frozen=True)
class PlacedWeld:
    """A side weld and what it does.  leg_mm: of its fillet."""

    weld: SideWeld
    leg_mm: float
    pull: Pull
    trust: Trust


@dataclass(frozen=True)
class BentRun:
    """A run with welds on its side.

    length_mm: of its pipe as cut.  welds: in order along it.  factor: an estimated bow may be so many times
    too small or too large; 1 where every kink was measured.  order: of its welds.
    """

    run_number: int
    pipe: str
    length_mm: float
    datum: Datum
    welds: tuple[PlacedWeld, ...]
    shape: FreeShape
    factor: float
    preset: Preset
    order: tuple[Turn, ...]


@dataclass(frozen=True)
class Straightness:
    """All of one rail.

    losses: of every run.  openings: of corners beside a run that bows.  butt_order: of the joints that are
    welded in the shop.  butt_mm: what one butt joint shrinks; butt_trust: where that comes from.
    """

    runs: tuple[BentRun, ...]
    losses: tuple[RunLoss, ...]
    openings: tuple[Opening, ...]
    butt_order: tuple[Turn, ...]
    butt_mm: float
    butt_trust: Trust


def straightness_of(
    spec: RailSpec,
    path: RailPath,
    corners: Sequence[Corner],
    members: Sequence[Member],
    joints: Sequence[RailJoint],
    standing: RailPosts,
    job: Job,
) -> Straightness | None:
    """All of a rail; None where the job has no ``[weld]`` table.

    Raises InputError with every listed weld and clamp that is off its pipe.
    """
    welding = job.welding
    if welding is None:
        return None
    pipes = run_pipes(path, runs_of_metal(path, corners, members), members, joints)
    gathered = Gathered()
    listed = gathered.get(lambda: listed_welds(spec, pipes, job)) or ()
    clamps = gathered.get(lambda: clamp_places(spec, pipes, job.units)) or {}
    gathered.refuse()
    welds = [*post_welds(standing, pipes, members, job.pipe.radius_mm), *listed]
    bent = tuple(
        _bent_run(
            datum_of(path, corners, member, job.pipe.radius_mm),
            member,
            [weld for weld in welds if weld.run_number == member.run_number],
            clamps.get(member.run_number, ()),
            job,
        )
        for member in members
        if any(weld.run_number == member.run_number for weld in welds)
    )
    butt = _butt_mm(welding, job)
    return Straightness(
        bent,
        tuple(_losses(path, corners, joints, members, bent, butt)),
        openings(path, corners, {run.run_number: _slopes(run, path) for run in bent}),
        _butt_order(path, corners, joints, job),
        butt,
        Trust.ESTIMATE if welding.butt_mm is None else Trust.TRIAL,
    )


def _butt_mm(welding: Welding, job: Job) -> float:
    if welding.butt_mm is not None:
        return welding.butt_mm
    bevelled = any(elbow.shoulder_mm > 0 for elbow in job.elbows)
    return estimated_butt_mm(job.pipe.wall_mm, job.shop.root_gap_mm, bevelled)


def _bent_run(
    datum: Datum, member: Member, welds: Sequence[SideWeld], clamps: tuple[float, ...], job: Job
) -> BentRun:
    assert job.welding is not None
    ordered = sorted(welds, key=lambda weld: (weld.along_mm, weld.mark))
    placed = tuple(_placed(weld, job.welding, job) for weld in ordered)
    shape = free_shape(
        [Kink(one.weld.along_mm, one.weld.girth_rad, one.pull.kink_rad) for one in placed], member.cut_mm
    )
    beam = Beam(job.pipe.od_mm, job.pipe.wall_mm, member.cut_mm)
    held = Held(shape, beam, job.welding, job.units, datum.zero_mm, _blocked(placed))
    guessed = any(one.trust is Trust.ESTIMATE for one in placed)
    spots = [Spot(one.weld.mark, one.weld.along_mm, one.weld.girth_rad) for one in placed]
    return BentRun(
        member.run_number,
        member.mark,
        member.cut_mm,
        datum,
        placed,
        shape,
        FACTOR if guessed else 1.0,
        plan_preset(held, clamps),
        welding_order(spots, HOT_ODS * job.pipe.od_mm),
    )


def _placed(weld: SideWeld, welding: Welding, job: Job) -> PlacedWeld:
    """A weld's own kink first, then the job's trial, then the estimate."""
    pipe = job.pipe
    leg = weld.leg_mm or welding.leg_mm or min(pipe.wall_mm, weld.branch_wall_mm)
    kink = welding.kink_rad if weld.kink_rad is None else weld.kink_rad
    if kink is None:
        pull = estimated_pull(pipe.od_mm, pipe.wall_mm, weld.branch_od_mm, leg)
        return PlacedWeld(weld, leg, pull, Trust.ESTIMATE)
    shorter = shortening_mm(kink, pipe.od_mm, pipe.wall_mm, weld.branch_od_mm)
    return PlacedWeld(weld, leg, Pull(kink, shorter), Trust.TRIAL)


def _blocked(placed: Sequence[PlacedWeld]) -> tuple[tuple[float, float], ...]:
    blocked = []
    for one in placed:
        half = one.weld.branch_od_mm / 2 / math.sin(one.weld.angle_rad) + one.leg_mm + BESIDE_WELD_MM
        blocked.append((one.weld.along_mm - half, one.weld.along_mm + half))
    return tuple(blocked)


def _losses(
    path: RailPath,
    corners: Sequence[Corner],
    joints: Sequence[RailJoint],
    members: Sequence[Member],
    bent: Sequence[BentRun],
    butt_mm: float,
) -> Iterator[RunLoss]:
    butts = butt_losses_mm(path, corners, joints, butt_mm)
    pipes = {member.run_number: member.mark for member in members}
    sides = {run.run_number: sum(one.pull.shortening_mm for one in run.welds) for run in bent}
    for run in path.runs:
        yield RunLoss(run.number, pipes.get(run.number), butts[run.number], sides.get(run.number, 0.0))


def _slopes(run: BentRun, path: RailPath) -> tuple[d.Vector, d.Vector]:
    """Slopes of a bowed pipe at its ends, in space."""
    ways = [girth_way(path, run.run_number, girth) for girth in (0.0, math.pi / 2)]
    start, end = (
        slope[0] * ways[0] + slope[1] * ways[1] for slope in end_slopes(run.shape.kinks, run.length_mm)
    )
    return start, end


def _butt_order(
    path: RailPath, corners: Sequence[Corner], joints: Sequence[RailJoint], job: Job
) -> tuple[Turn, ...]:
    places = dict(_joint_places_mm(path, corners))
    shop = [joint for joint in joints if not joint.on_site]
    spots = [Spot(", ".join(joint.marks), places[joint.marks[0]]) for joint in shop]
    return welding_order(spots, HOT_ODS * job.pipe.od_mm)


def _joint_places_mm(path: RailPath, corners: Sequence[Corner]) -> Iterator[tuple[str, float]]:
    """Where each joint is along the runs, near enough to put them in order; those of a corner are close."""
    so_far = 0.0
    yield end_joint_mark(path.mark, at_start=True), so_far
    for place, run in enumerate(path.runs):
        so_far += run.length_mm
        if place < len(corners):
            yield from ((mark, so_far + number) for number, mark in enumerate(corners[place].joints))
    yield end_joint_mark(path.mark, at_start=False), so_far
