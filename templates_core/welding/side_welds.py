"""Welds on the sides of a rail's runs: those of its posts, and those that the job file lists by hand."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from templates_core.errors import Fault, InputError
from templates_core.fitting_up.metal import RunMetal
from templates_core.fitting_up.tack_order import RailJoint
from templates_core.jobs.job import ClampSpec, Job, RailSpec, WeldSpec
from templates_core.marks import seat_joint_mark, side_weld_mark
from templates_core.paths import directions as d
from templates_core.paths.rail_path import RailPath
from templates_core.pipes.cut_list import Member
from templates_core.pipes.posts import PlacedPost
from templates_core.pipes.rail_posts import RailPosts
from templates_core.units import format_length
from templates_core.welding.weld_kinks import MOST_LEG_WALLS
from templates_core.welding.weld_shrinkage import girth_way


@dataclass(frozen=True)
class SideWeld:
    """A weld on the side of a run.

    mark: of its joint.  along_mm: of its middle, from the end of the run's pipe at the run's start.
    girth_rad: side that it is on, 0 up (a plumb run: towards its heading), clockwise looking forward.
    branch_od_mm, branch_wall_mm: of what is welded on; angle_rad: between it and the run.  leg_mm, kink_rad:
    where the weld has its own, else None.
    """

    mark: str
    run_number: int
    along_mm: float
    girth_rad: float
    branch_od_mm: float
    branch_wall_mm: float
    angle_rad: float = math.pi / 2
    leg_mm: float | None = None
    kink_rad: float | None = None


@dataclass(frozen=True)
class RunPipes:
    """Where the pipes of a rail are, by run number: start and length along the run [mm]."""

    path: RailPath
    starts_mm: Mapping[int, float]
    lengths_mm: Mapping[int, float]


def run_pipes(
    path: RailPath, runs: Sequence[RunMetal], members: Sequence[Member], joints: Sequence[RailJoint]
) -> RunPipes:
    """Pipes of every run; one that is left long at its near end starts that much earlier."""
    extras = {member.mark: member.extra_mm for member in members}
    early = {joint.parts[1]: extras.get(joint.parts[1], 0.0) for joint in joints if joint.on_site}
    starts = {
        run.run_number: float((run.start_mm - path.points_mm[place]) @ run.direction)
        - early.get(run.mark or "", 0.0)
        for place, run in enumerate(runs)
    }
    return RunPipes(path, starts, {member.run_number: member.cut_mm for member in members})


def listed_welds(spec: RailSpec, pipes: RunPipes, job: Job) -> tuple[SideWeld, ...]:
    """The welds that a rail lists.  Raises InputError with every one that can't be."""
    faults, welds = [], []
    for number, weld in enumerate(spec.welds, 1):
        fault = (
            _off_pipe(weld, (weld.at_mm,), pipes, job.units)
            or _no_side(weld, pipes.path)
            or _thick_leg(weld, job)
        )
        if fault is not None:
            faults.append(fault)
            continue
        welds.append(
            SideWeld(
                side_weld_mark(pipes.path.mark, number),
                weld.run_number,
                weld.at_mm - pipes.starts_mm[weld.run_number],
                weld.girth_rad,
                job.pipe.od_mm if weld.od_mm is None else weld.od_mm,
                job.pipe.wall_mm,
                leg_mm=weld.leg_mm,
                kink_rad=weld.kink_rad,
            )
        )
    if faults:
        raise InputError(faults)
    return tuple(welds)


def clamp_places(spec: RailSpec, pipes: RunPipes, units: str) -> dict[int, tuple[float, ...]]:
    """Where listed clamps stand on their pipes, by run.  Raises InputError with every one that is off."""
    faults = [_off_pipe(clamp, clamp.places_mm, pipes, units) for clamp in spec.clamps]
    if any(faults):
        raise InputError([fault for fault in faults if fault is not None])
    return {
        clamp.run_number: tuple(at - pipes.starts_mm[clamp.run_number] for at in clamp.places_mm)
        for clamp in spec.clamps
    }


def post_welds(
    standing: RailPosts, pipes: RunPipes, members: Sequence[Member], rail_radius_mm: float
) -> Iterator[SideWeld]:
    """Welds at the tops of posts that stand on the pipe of a run; those under corners bend no run."""
    tops = {pipe.mark: pipe.end for pipe in standing.pipes}
    on = {member.run_number: member for member in members}
    for post in standing.posts:
        member = on.get(post.run_number)
        top = next((mark for mark in (post.mark, f"{post.mark}a") if mark in tops), None)
        if post.corner_number is not None or member is None or top is None:
            continue
        if member.mark not in tops[top].sits_on:
            continue
        weld = _post_weld(post, seat_joint_mark(top, at_start=False), pipes, rail_radius_mm)
        if 0 <= weld.along_mm <= member.cut_mm:
            yield weld


def _post_weld(post: PlacedPost, mark: str, pipes: RunPipes, radius_mm: float) -> SideWeld:
    """Where a post's axis meets the skin of the run: under its centreline, and beside it by its offset."""
    run = pipes.path.runs[post.run_number - pipes.path.runs[0].number]
    down = -post.direction
    lean = float(down @ run.direction)
    across = down - lean * run.direction
    square = float(np.linalg.norm(across))
    drop = math.sqrt(max(0.0, radius_mm**2 - post.row.offset_mm**2))
    skin = post.row.offset_mm * post.side + drop * across / square
    up, right = (girth_way(pipes.path, run.number, girth) for girth in (0.0, math.pi / 2))
    return SideWeld(
        mark,
        run.number,
        post.along_mm + drop * lean / square - pipes.starts_mm[run.number],
        math.atan2(float(skin @ right), float(skin @ up)),
        post.row.pipe.od_mm,
        post.row.pipe.wall_mm,
        d.acute_between(down, run.direction),
    )


def _off_pipe(
    spec: WeldSpec | ClampSpec, places_mm: Sequence[float], pipes: RunPipes, units: str
) -> Fault | None:
    starts, lengths = pipes.starts_mm, pipes.lengths_mm
    if spec.run_number not in starts:
        first, last = min(starts), max(starts)
        return Fault(spec.where, f"there is no run {spec.run_number}", f"the rail has runs {first} to {last}")
    if spec.run_number not in lengths:
        return Fault(spec.where, "two elbows meet in that run, with no pipe between", "give another run")
    start = starts[spec.run_number]
    end = start + lengths[spec.run_number]
    for at in places_mm:
        if not start <= at <= end:
            where, low, high = (format_length(mm, units) for mm in (at, start, end))
            what = f"{where} along run {spec.run_number} is off its pipe"
            remedy = f"from the run's first work point its pipe goes from {low} to {high}"
            return Fault(spec.where, what, remedy)
    return None


def _no_side(weld: WeldSpec, path: RailPath) -> Fault | None:
    run = path.runs[weld.run_number - path.runs[0].number]
    if weld.side and d.is_plumb(run.direction):
        what = f"the run there is plumb, so it has no side called {weld.side}"
        remedy = "give side in degrees clockwise looking forward, 0 towards its heading"
        return Fault(weld.where, what, remedy)
    return None


def _thick_leg(weld: WeldSpec, job: Job) -> Fault | None:
    if weld.leg_mm is None or weld.leg_mm <= MOST_LEG_WALLS * job.pipe.wall_mm:
        return None
    leg, wall = (format_length(mm, job.units, fine=True) for mm in (weld.leg_mm, job.pipe.wall_mm))
    what = f"a leg of {leg} on a wall of {wall} would burn through it"
    return Fault(weld.where, what, "check the unit")
