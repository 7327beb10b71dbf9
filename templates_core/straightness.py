"""Straight after welding: what pulls each run of a rail, how far, what to set against it, and in which order.

Only runs with welds on their sides bend; welds all round a joint shorten.  A run is straightened by itself,
on the table, before its corners are welded.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from templates_core import directions as d
from templates_core.corners import Corner
from templates_core.cut_list import Member, end_corners
from templates_core.errors import Fault, InputError
from templates_core.free_shape import FreeShape, Kink, end_slopes, free_shape
from templates_core.job import ClampSpec, Job, RailSpec, Welding, WeldSpec
from templates_core.marks import side_weld_mark
from templates_core.metal import RunMetal, runs_of_metal
from templates_core.preset import BESIDE_WELD_MM, Held, Preset, plan_preset
from templates_core.rail_path import RailPath
from templates_core.support_beam import Tube
from templates_core.tack_order import RailJoint
from templates_core.units import format_length
from templates_core.weld_kinks import FACTOR, Pull, estimated_butt_mm, estimated_pull, shortening_mm
from templates_core.weld_order import Spot, Turn, welding_order
from templates_core.weld_shrinkage import Opening, RunLoss, butt_losses_mm, girth_way, openings


class Trust(StrEnum):
    """Where the kink of a weld comes from."""

    TRIAL = "trial"
    ESTIMATE = "estimate"


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
class PlacedWeld:
    """A side weld and what it does.  leg_mm: of its fillet."""

    weld: SideWeld
    leg_mm: float
    pull: Pull
    trust: Trust


@dataclass(frozen=True)
class Datum:
    """The end of a pipe that a tape is hooked on.

    end: in words.  at_start: of the pipe, seen along the rail.  beyond_mm: how far the tip of a mitred end
    stands past the centreline's end.
    """

    end: str
    other_end: str
    at_start: bool
    beyond_mm: float

    def reads_mm(self, along_mm: float, length_mm: float) -> float:
        """What a tape reads at a place, which is given from the start of the pipe [mm]."""
        return (along_mm if self.at_start else length_mm - along_mm) + self.beyond_mm


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
    job: Job,
    placed: Sequence[SideWeld] = (),
) -> Straightness | None:
    """All of a rail; None where the job has no ``[weld]`` table.

    placed: welds of what stands on the rail, besides those that the file lists.  Raises InputError with
    every listed weld and clamp that is off its pipe.
    """
    welding = job.welding
    if welding is None:
        return None
    runs = runs_of_metal(path, corners, members)
    listed, clamps = _on_pipes(spec, path, runs, members, joints, job)
    welds = [*placed, *listed]
    bent = tuple(
        _bent_run(member, path, corners, [w for w in welds if w.run_number == member.run_number], clamps, job)
        for member in members
        if any(weld.run_number == member.run_number for weld in welds)
    )
    trial = welding.butt_mm is not None
    butt = _butt_mm(welding, job)
    slopes = {run.run_number: _slopes(run, path) for run in bent}
    return Straightness(
        bent,
        tuple(_losses(path, corners, joints, members, bent, butt)),
        openings(path, corners, slopes),
        _butt_order(joints),
        butt,
        Trust.TRIAL if trial else Trust.ESTIMATE,
    )


def _butt_mm(welding: Welding, job: Job) -> float:
    if welding.butt_mm is not None:
        return welding.butt_mm
    bevelled = any(elbow.shoulder_mm > 0 for elbow in job.elbows)
    return estimated_butt_mm(job.pipe.wall_mm, job.shop.root_gap_mm, bevelled)


def _on_pipes(
    spec: RailSpec,
    path: RailPath,
    runs: Sequence[RunMetal],
    members: Sequence[Member],
    joints: Sequence[RailJoint],
    job: Job,
) -> tuple[list[SideWeld], dict[int, tuple[float, ...]]]:
    """Listed welds and clamps from the start of their pipes.  Raises InputError with all that are off."""
    starts = _pipe_starts_mm(path, runs, members, joints)
    lengths = {member.run_number: member.cut_mm for member in members}
    faults: list[Fault] = []
    welds, clamps = [], {}
    for number, weld in enumerate(spec.welds, 1):
        fault = _off_pipe(weld, (weld.at_mm,), starts, lengths, job.units) or _no_side(weld, path)
        if fault is not None:
            faults.append(fault)
            continue
        mark = side_weld_mark(path.mark, number)
        welds.append(_side_weld(weld, mark, weld.at_mm - starts[weld.run_number], job))
    for clamp in spec.clamps:
        fault = _off_pipe(clamp, clamp.places_mm, starts, lengths, job.units)
        if fault is not None:
            faults.append(fault)
        else:
            clamps[clamp.run_number] = tuple(at - starts[clamp.run_number] for at in clamp.places_mm)
    if faults:
        raise InputError(faults)
    return welds, clamps


def _side_weld(spec: WeldSpec, mark: str, along_mm: float, job: Job) -> SideWeld:
    pipe = job.pipe
    od = pipe.od_mm if spec.od_mm is None else spec.od_mm
    return SideWeld(
        mark,
        spec.run_number,
        along_mm,
        spec.girth_rad,
        od,
        pipe.wall_mm,
        leg_mm=spec.leg_mm,
        kink_rad=spec.kink_rad,
    )


def _pipe_starts_mm(
    path: RailPath, runs: Sequence[RunMetal], members: Sequence[Member], joints: Sequence[RailJoint]
) -> dict[int, float]:
    """Where each pipe starts along its run; a pipe left long at its near end starts that much earlier."""
    extras = {member.mark: member.extra_mm for member in members}
    early = {joint.parts[1]: extras.get(joint.parts[1], 0.0) for joint in joints if joint.on_site}
    return {
        run.run_number: float((run.start_mm - path.points_mm[place]) @ run.direction)
        - early.get(run.mark or "", 0.0)
        for place, run in enumerate(runs)
    }


def _off_pipe(
    spec: WeldSpec | ClampSpec,
    places_mm: Sequence[float],
    starts: dict[int, float],
    lengths: dict[int, float],
    units: str,
) -> Fault | None:
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
        return Fault(
            weld.where, what, "give side in degrees clockwise looking forward, 0 towards its heading"
        )
    return None


def _bent_run(
    member: Member,
    path: RailPath,
    corners: Sequence[Corner],
    welds: Sequence[SideWeld],
    clamps: dict[int, tuple[float, ...]],
    job: Job,
) -> BentRun:
    assert job.welding is not None
    ordered = sorted(welds, key=lambda weld: (weld.along_mm, weld.mark))
    placed = tuple(_placed(weld, job.welding, job) for weld in ordered)
    shape = free_shape(
        [Kink(one.weld.along_mm, one.weld.girth_rad, one.pull.kink_rad) for one in placed], member.cut_mm
    )
    tube = Tube(job.pipe.od_mm, job.pipe.wall_mm, member.cut_mm)
    held = Held(shape, tube, job.welding, job.units, _blocked(placed))
    preset = plan_preset(held, clamps.get(member.run_number, ()))
    guessed = any(one.trust is Trust.ESTIMATE for one in placed)
    spots = [Spot(one.weld.mark, one.weld.along_mm, one.weld.girth_rad) for one in placed]
    return BentRun(
        member.run_number,
        member.mark,
        member.cut_mm,
        _datum(path, corners, member),
        placed,
        shape,
        FACTOR if guessed else 1.0,
        preset,
        welding_order(spots),
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


def _datum(path: RailPath, corners: Sequence[Corner], member: Member) -> Datum:
    """A square end before a mitred one, else the end at the start."""
    before, after = end_corners(path, corners, member.run_number)
    at_start = not (_is_mitred(before) and not _is_mitred(after))
    names = (_end_name(before, "start"), _end_name(after, "end"))
    near, far = names if at_start else reversed(names)
    corner = before if at_start else after
    beyond = corner.mitre.reach_mm if corner is not None and corner.mitre is not None else 0.0
    return Datum(near, far, at_start, beyond)


def _is_mitred(corner: Corner | None) -> bool:
    return corner is not None and corner.mitre is not None


def _end_name(corner: Corner | None, end: str) -> str:
    if corner is None:
        return f"the rail's {end}"
    return f"corner {corner.mark}" + (" (long point)" if corner.mitre is not None else "")


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


def _butt_order(joints: Sequence[RailJoint]) -> tuple[Turn, ...]:
    shop = [joint for joint in joints if not joint.on_site]
    return welding_order([Spot(", ".join(joint.marks), place) for place, joint in enumerate(shop)])
