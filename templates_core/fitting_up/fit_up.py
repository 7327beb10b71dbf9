"""What a rail is fitted up by: sizes that a tape reaches on the metal, heel lines, diagonals, tack order."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from templates_core.elbows.corners import Corner
from templates_core.elbows.plate_ends import PlateEnd, plate_ends
from templates_core.fitting_up.diagonals import Diagonal, diagonals_of
from templates_core.fitting_up.leaning_metal import is_on_leaning_elbow, leaning_rims, leans_at
from templates_core.fitting_up.metal import RunMetal, corner_parts, rail_parts, reach_mm, runs_of_metal
from templates_core.fitting_up.tack_order import RailJoint, TackStep, joints_of, tack_steps
from templates_core.fitting_up.tape_checks import TapeCheck, tape_check
from templates_core.jobs.job import Job
from templates_core.paths import directions as d
from templates_core.paths.rail_path import RailPath
from templates_core.pipes.cut_list import Member, end_corners
from templates_core.tolerances import linear_mm

SQUARE_RAD = math.radians(90) - 1e-6
"""A corner that turns this much or more shows its heel square across the run before and after."""


@dataclass(frozen=True)
class Size:
    """A length and how far the job's class lets it be off, either way; None where it names no class."""

    length_mm: float
    tolerance_mm: float | None


@dataclass(frozen=True)
class RunSizes:
    """One run's sizes.

    pipe: mark of its pipe, None where elbows meet with none between.  work_points: between the work points,
    which no tape reaches.  end_to_end: of the pipe alone, on its centreline or its side line.
    tip_to_tip: of a pipe with mitred or leaning ends.  face_to_face: between the ends of the parts that it is
    welded to; at an end of the rail, to the end of the pipe.  heel_to_heel: over the outsides of the corners
    at both its ends, or of one and the end of the pipe; None where a corner turns less than 90° or that end
    leans, so that nothing stands square to hook a tape on.
    """

    run_number: int
    pipe: str | None
    work_points: Size
    end_to_end: Size | None
    tip_to_tip: Size | None
    face_to_face: Size | None
    heel_to_heel: Size | None


@dataclass(frozen=True)
class RollMark:
    """How far apart round the girth the heel lines at the two ends of a run are.

    girth_mm: along the outside of the pipe from the heel line at its start, carried along the pipe, to the
    heel line at its end; positive is clockwise looking forward.  At a mitre the heel is the long point.
    """

    run_number: int
    pipe: str | None
    from_corner: str
    to_corner: str
    roll_rad: float
    girth_mm: float


@dataclass(frozen=True)
class Overall:
    """Size over all, outside to outside.

    flat: laid on the table, length along the longest run; else standing as built, length along the plan
    of the longest run.  height: off the table, or plumb.
    """

    flat: bool
    length: Size
    width: Size
    height: Size


@dataclass(frozen=True)
class FitUp:
    """All that one rail is fitted up by; corners in order along it.

    plates: pipe ends that lean, whose long points are turned from heel lines as rolls are.
    tape_checks: none of a corner whose elbow is a leaning end of the rail, where no mark stands at a length.
    """

    runs: tuple[RunSizes, ...]
    rolls: tuple[RollMark, ...]
    plates: tuple[PlateEnd, ...]
    tape_checks: tuple[TapeCheck, ...]
    diagonals: tuple[Diagonal, ...]
    overall: Overall
    joints: tuple[RailJoint, ...]
    steps: tuple[TackStep, ...]


def fit_up(path: RailPath, corners: Sequence[Corner], members: Sequence[Member], job: Job) -> FitUp:
    """Work out the fit-up of one rail."""
    runs = runs_of_metal(path, corners, members)
    joints = joints_of(path, corners, members)
    return FitUp(
        tuple(_run_sizes(path, corners, members, runs, job)),
        tuple(_rolls(path, corners, runs, job.pipe.radius_mm)),
        tuple(plate_ends(path, corners, members, job.pipe.radius_mm)),
        tuple(
            tape_check(path, place, corner, runs, job.units, job.tolerance)
            for place, corner in enumerate(corners)
            if not is_on_leaning_elbow(path, corner)
        ),
        diagonals_of(path, corners, runs, job),
        _overall(path, corners, runs, job),
        joints,
        tack_steps(joints),
    )


def size_of(length_mm: float, job: Job) -> Size:
    """A length with what the job's class lets it be off."""
    return Size(length_mm, linear_mm(job.tolerance, length_mm) if job.tolerance else None)


def _run_sizes(
    path: RailPath, corners: Sequence[Corner], members: Sequence[Member], runs: Sequence[RunMetal], job: Job
) -> Iterator[RunSizes]:
    by_run = {member.run_number: member for member in members}
    for place, run in enumerate(path.runs):
        before, after = end_corners(path, corners, run.number)
        member = by_run.get(run.number)
        gaps = (before.gap_after_mm if before else 0.0) + (after.gap_before_mm if after else 0.0)
        mitred = any(corner is not None and corner.mitre is not None for corner in (before, after))
        mitred = mitred or leans_at(path, place) is not None
        heels = _heel_to_heel_mm(path, corners, runs, place, job.pipe.radius_mm)
        yield RunSizes(
            run.number,
            None if member is None else member.mark,
            size_of(run.length_mm, job),
            end_to_end=None if member is None else size_of(member.length_mm, job),
            tip_to_tip=size_of(member.overall_mm, job) if member is not None and mitred else None,
            face_to_face=None if member is None or mitred else size_of(member.length_mm + gaps, job),
            heel_to_heel=None if heels is None else size_of(heels, job),
        )


def _heel_to_heel_mm(
    path: RailPath, corners: Sequence[Corner], runs: Sequence[RunMetal], place: int, tube_radius_mm: float
) -> float | None:
    before, after = end_corners(path, corners, path.runs[place].number)
    ends = [corner for corner in (before, after) if corner is not None]
    if leans_at(path, place) is not None:
        return None
    if not ends or any(corner.turn_rad < SQUARE_RAD for corner in ends):
        return None
    along = runs[place].direction
    reaches = [float(along @ runs[place].end_mm), -float(along @ runs[place].start_mm)]
    for side, (corner, way) in enumerate(((after, along), (before, -along))):
        if corner is not None:
            at = place if side == 0 else (place - 1) % len(path.runs)
            reaches[side] = reach_mm(corner_parts(path, at, corner)[0], way, tube_radius_mm)
    return sum(reaches)


def _rolls(
    path: RailPath, corners: Sequence[Corner], runs: Sequence[RunMetal], tube_radius_mm: float
) -> Iterator[RollMark]:
    for run in runs:
        before, after = end_corners(path, corners, run.run_number)
        if before is not None and after is not None:
            girth = tube_radius_mm * after.roll_rad
            yield RollMark(run.run_number, run.mark, before.mark, after.mark, after.roll_rad, girth)


def _overall(path: RailPath, corners: Sequence[Corner], runs: Sequence[RunMetal], job: Job) -> Overall:
    radius = job.pipe.radius_mm
    parts = (*rail_parts(path, corners, runs), *leaning_rims(path, corners, runs, radius))
    sizes = (
        size_of(reach_mm(parts, way, radius) + reach_mm(parts, -way, radius), job)
        for way in overall_ways(path)
    )
    return Overall(path.is_flat, *sizes)


def overall_ways(path: RailPath) -> tuple[d.Vector, d.Vector, d.Vector]:
    """Ways of the overall length, width and height, unit vectors.

    A flat rail's in its plane and off it, another's level and plumb.
    """
    longest = max(path.runs, key=lambda run: run.length_mm)
    if path.is_flat and path.corners:
        return longest.direction, np.cross(path.corners[0].axis, longest.direction), path.corners[0].axis
    if path.is_flat:
        axis = d.reference_axis(longest.direction, longest.heading_rad)
        return longest.direction, np.cross(axis, longest.direction), axis
    length = d.direction(0.0, longest.heading_rad)
    return length, np.cross(d.UP, length), d.UP
