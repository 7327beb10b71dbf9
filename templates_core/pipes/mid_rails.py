"""Mid rails: parallel to a run below it, from post to post or through them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from templates_core.errors import Fault, GeometryError, InputError
from templates_core.geometry.pipe_ends import At, PipeAxis
from templates_core.geometry.solids import PipeSolid
from templates_core.jobs.job import Job, RailSpec
from templates_core.jobs.member_specs import MidRow
from templates_core.marks import mid_rail_mark
from templates_core.paths import directions as d
from templates_core.paths.directions import Vector
from templates_core.paths.rail_path import RailPath, Run
from templates_core.pipes.coped_ends import EndAsked, coped_end
from templates_core.pipes.cut_pipe import CutPipe, PipeEnd
from templates_core.pipes.post_pipes import Crossing
from templates_core.pipes.posts import PlacedPost, own_runs_of
from templates_core.pipes.seat_words import cope_words
from templates_core.units import format_length

_IN_LINE_MM = 0.05


@dataclass(frozen=True, eq=False)
class Bay:
    """A mid rail to be: its row, its run, the posts at both ends, and those that it runs through.

    start, end: on its own centreline, nearest to the axes of the posts (3,).
    """

    mark: str
    row: MidRow
    run: Run
    first: PlacedPost
    last: PlacedPost
    through: tuple[PlacedPost, ...]
    start: Vector
    end: Vector

    @property
    def length_mm(self) -> float:
        """Between the centres of its posts [mm]."""
        return float((self.end - self.start) @ self.run.direction)


def bays_of(path: RailPath, rail: RailSpec, posts: Sequence[PlacedPost], units: str) -> tuple[Bay, ...]:
    """Every mid rail of a rail, in order along it.

    Raises InputError with every row that has no two posts to go between, or posts out of line.
    """
    bays: list[Bay] = []
    faults: list[Fault] = []
    for number, row in enumerate(rail.mid_rails, 1):
        found = 0
        for run in _runs_of(path, rail, row):
            along = posts_on(path, posts, run)
            if len(along) < 2:
                continue
            found += 1
            try:
                bays += _row_bays(path, row, number, run, along, units)
            except InputError as error:
                faults += error.faults
        if not found:
            faults.append(_no_posts(path, row, posts))
    if faults:
        raise InputError(faults)
    return tuple(bays)


def posts_on(path: RailPath, posts: Sequence[PlacedPost], run: Run) -> list[PlacedPost]:
    """Posts of a run in order along it, with those under the corners at its two ends."""
    first, last = path.runs[0].number, path.runs[-1].number
    before = run.number - 1 if run.number > first else (last if path.closed else None)
    at_start = [post for post in posts if post.corner_number is not None and post.corner_number == before]
    return at_start[:1] + [post for post in posts if post.run_number == run.number]


def _runs_of(path: RailPath, rail: RailSpec, row: MidRow) -> list[Run]:
    if row.run_number is not None:
        return [run for run in path.runs if run.number == row.run_number]
    return [run for run in path.runs if 1 <= run.number <= own_runs_of(rail)]


def _no_posts(path: RailPath, row: MidRow, posts: Sequence[PlacedPost]) -> Fault:
    if row.run_number is None:
        return Fault(row.where, "no run has two posts for it to go between", "give the rail posts")
    numbers = [run.number for run in path.runs]
    if row.run_number not in numbers:
        return Fault(
            row.where, f"there is no run {row.run_number}", f"runs go from {numbers[0]} to {numbers[-1]}"
        )
    run = path.runs[row.run_number - numbers[0]]
    count = len(posts_on(path, posts, run))
    what = f"run {row.run_number} has {'no post' if count == 0 else 'one post'}, and a mid rail takes two"
    return Fault(row.where, what, "add a post to that run or under its corner; no mid rail turns a corner")


def _row_bays(
    path: RailPath, row: MidRow, number: int, run: Run, posts: Sequence[PlacedPost], units: str
) -> Iterator[Bay]:
    point = path.points_mm[run.number - path.runs[0].number] + _drop(row, run)
    offsets = [post.row.offset_mm for post in posts]
    if max(offsets) - min(offsets) > _IN_LINE_MM:
        apart = format_length(max(offsets) - min(offsets), units)
        what = f"posts of run {run.number} stand {apart} out of line, so no mid rail between them is parallel"
        raise InputError([Fault(row.where, what, "give all posts of that run one offset")])
    point = point + offsets[0] * _right(run)
    spans = (
        [(posts[0], posts[-1], tuple(posts[1:-1]))]
        if row.through
        else [(*pair, ()) for pair in pairwise(posts)]
    )
    for at, (first, last, between) in enumerate(spans, 1):
        start, end = (_nearest(point, run.direction, post.top, post.direction) for post in (first, last))
        yield Bay(
            mid_rail_mark(path.mark, run.number, at, number),
            row,
            run,
            first,
            last,
            tuple(between),
            start,
            end,
        )


def _drop(row: MidRow, run: Run) -> Vector:
    """From the run's centreline down to the mid rail's."""
    if not row.square:
        return np.asarray(-row.below_mm * d.UP)
    return np.asarray(-row.below_mm * _upright(run))


def _right(run: Run) -> Vector:
    return d.bend_axis(run.direction, d.UP)


def _upright(run: Run) -> Vector:
    """Square to a run, as near to up as that can be."""
    return d.turned(run.direction, _right(run), math.pi / 2)


def _nearest(point: Vector, along: Vector, other: Vector, direction: Vector) -> Vector:
    """Point of a line that is nearest to another line."""
    lean = float(along @ direction)
    reach = float((other - point) @ (along - lean * direction)) / (1 - lean * lean)
    return np.asarray(point + reach * along)


def crossing_of(bay: Bay, post: PlacedPost) -> Crossing:
    """A mid rail as a post that it runs through sees it."""
    middle = _nearest(post.top, post.direction, bay.start, bay.run.direction)
    solid = PipeSolid(bay.start, bay.end, bay.row.pipe.radius_mm)
    return Crossing(bay.mark, middle, solid, bay.row.hole, bay.row.bears_on)


def mid_rail_pipe(bay: Bay, quantity: int, job: Job) -> CutPipe:
    """A mid rail as a pipe to cut.  Raises InputError where it can't sit on its posts."""
    axis = PipeAxis(bay.start, bay.run.direction, _upright(bay.run))
    try:
        start = _on_post(bay, axis, bay.first, 0.0, "start", job)
        end = _on_post(bay, axis, bay.last, bay.length_mm, "end", job)
    except GeometryError as error:
        remedy = "give a mid rail no wider than its posts, or move them"
        raise InputError([Fault(bay.row.where, f"mid rail {bay.mark}: {error}", remedy)]) from None
    words = f"centre of {bay.first.mark} to centre of {bay.last.mark}"
    pipe = CutPipe(
        *(bay.mark, "mid rail", bay.row.where, quantity, "", bay.row.pipe, axis, start, end),
        drawing_mm=bay.length_mm,
        drawing_words=words,
    )
    if pipe.short_mm <= 0:
        what = f"mid rail {bay.mark} has no room between posts {bay.first.mark} and {bay.last.mark}"
        raise InputError([Fault(bay.row.where, what, "move the posts apart")])
    return pipe


def _on_post(bay: Bay, axis: PipeAxis, post: PlacedPost, station_mm: float, at_end: At, job: Job) -> PipeEnd:
    row, along = bay.row, bay.run.direction
    foot = post.floor_point + (post.row.plate_mm + post.row.gap_mm) * post.direction
    solid = PipeSolid(foot, post.top, post.row.pipe.radius_mm)
    paper_mm = job.shop.wrap_thickness_mm
    asked = EndAsked(axis, row.pipe, at_end, station_mm, row.bears_on, along, row.hole, paper_mm)
    cut = asked.cut_on([solid])
    lean = d.acute_between(post.direction, axis.along)
    right_mm = float((asked.point - post.top) @ _right(bay.run))
    words = cope_words((post.mark,), lean, right_mm, job.units)
    return coped_end(asked, cut, solid, post.direction, post.top, (post.mark,), words)
