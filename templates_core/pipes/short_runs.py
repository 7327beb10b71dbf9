"""Runs too short for their corners: by how much, and what would fit."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence

from templates_core.elbows.corner_pieces import least_throat_mm
from templates_core.elbows.corners import CROTCH_RAD, Corner, CornerAsked, make_corner
from templates_core.errors import BadValueError, Fault, InputError
from templates_core.fittings import StockElbow
from templates_core.jobs.job import EndKind, EndSpec, Job, Joint
from templates_core.paths.rail_path import RailPath
from templates_core.pipes.cut_list import Member, end_corners, no_pipe_run_mm, short_side_mm
from templates_core.standards import elbow_kinds, stock_elbow
from templates_core.units import INCH, MM_PER_INCH, format_length

STEP_MM = 0.1
STEP_INCH_MM = MM_PER_INCH / 16


def short_run_faults(
    path: RailPath, corners: Sequence[Corner], members: Sequence[Member], job: Job
) -> list[Fault]:
    """A fault for each run that leaves a pipe shorter, on its shortest side, than can be welded.

    And for a closing run that has no pipe.  Lengths in messages are rounded so that a run made to them does.
    """
    least_mm = least_throat_mm(job.shop, job.pipe.wall_mm)
    short = [_fault(path, corners, member, least_mm, job) for member in members if member.short_mm < least_mm]
    pipes = {member.run_number for member in members}
    bare = [run for run in path.runs if run.extra_mm > 0 and run.number not in pipes]
    what, remedy = "its elbows meet, so it has no pipe to leave long", "leave another run long"
    return short + [Fault(run.where, what, remedy) for run in bare]


def _fault(path: RailPath, corners: Sequence[Corner], member: Member, least_mm: float, job: Job) -> Fault:
    before, after = end_corners(path, corners, member.run_number)
    missing = least_mm - member.short_mm
    takers = [f"corner {corner.mark}" for corner in (before, after) if corner is not None]
    takers += [f"the {end.kind} at its end" for end in _ends(path, before, after) if end.takes_mm > 0]
    what = (
        f"it is {_up(missing, job.units)} too short for {' and '.join(takers)} and a pipe that can be welded"
    )
    remedies = [f"make it {_up(member.run_mm + missing, job.units)} or longer"]
    exact = no_pipe_run_mm(path, member.run_number, before, after)
    if exact is not None and exact > 0:
        remedies.append(
            f"exactly {format_length(exact, job.units, fine=True)} for a weld with no pipe between"
        )

    def fits(one: Corner | None, two: Corner | None) -> bool:
        return short_side_mm(path, member.run_number, one, two, job.pipe.radius_mm) >= least_mm

    remedies += _other_elbows(before, after, job, fits)
    remedies += _mitres(before, after, job, fits)
    return Fault(member.where, what, ", or ".join(remedies))


def _ends(path: RailPath, before: Corner | None, after: Corner | None) -> list[EndSpec]:
    ends = ([path.start] if before is None else []) + ([path.end] if after is None else [])
    return [end for end in ends if end.kind is not EndKind.OPEN]


def _up(length_mm: float, units: str) -> str:
    """A length rounded up as a fitter reads it: to a tenth of a millimetre, or a sixteenth of an inch."""
    step = STEP_INCH_MM if units == INCH else STEP_MM
    return format_length(math.ceil(length_mm / step - 1e-6) * step, units)


Fits = Callable[[Corner | None, Corner | None], bool]


def _other_elbows(before: Corner | None, after: Corner | None, job: Job, fits: Fits) -> Iterator[str]:
    """Kinds of elbow, of the job first, then of the tables, of which both corners would leave enough."""
    used = {piece.elbow.name for corner in (before, after) if corner is not None for piece in corner.pieces}
    for elbow in [*job.elbows, *_kinds_not_in(job)]:
        if used == {elbow.name}:
            continue
        one, two = (_remade(corner, Joint.ELBOW, (elbow,), job) for corner in (before, after))
        if (one is None) == (before is None) and (two is None) == (after is None) and fits(one, two):
            yield f"use {elbow.name} there"


def _kinds_not_in(job: Job) -> Iterator[StockElbow]:
    bevelled = any(elbow.shoulder_mm > 0 for elbow in job.elbows)
    for kind in elbow_kinds():
        if kind not in {elbow.name for elbow in job.elbows}:
            try:
                yield stock_elbow(kind, job.pipe, bevelled)
            except BadValueError:
                continue


def _mitres(before: Corner | None, after: Corner | None, job: Job, fits: Fits) -> Iterator[str]:
    """The corners to mitre, fewest first, that leave enough; none too sharp for a mitre."""
    one, two = (_remade(corner, Joint.MITRE, (), job) for corner in (before, after))
    for first, second in ((before, two), (one, after), (one, two)):
        changed = [
            new
            for old, new in ((before, first), (after, second))
            if old is not None and new is not None and new.mitre is not None and old.mitre is None
        ]
        sharp = any(corner.inside_angle_rad < CROTCH_RAD for corner in changed)
        if changed and not sharp and fits(first, second):
            yield f"mitre {' and '.join(f'corner {corner.mark}' for corner in changed)}"
            return


def _remade(corner: Corner | None, by: Joint, elbows: Sequence[StockElbow], job: Job) -> Corner | None:
    """The corner made in another way; None where it can't be, a mitre as it is."""
    if corner is None or corner.mitre is not None:
        return corner
    asked = CornerAsked(corner.mark, corner.number, corner.where, corner.turn_rad, corner.roll_rad, by)
    try:
        return make_corner(asked, job.pipe, elbows, job.shop, job.units)
    except InputError:
        return None
