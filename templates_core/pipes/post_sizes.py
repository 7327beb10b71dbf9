"""Sizes that place posts and mid rails, as a tape reaches them on the metal, and their welds."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from templates_core.elbows.corners import Corner
from templates_core.fitting_up.fit_up import Size, size_of
from templates_core.fitting_up.metal import RunMetal, throat_way
from templates_core.fitting_up.tack_order import RailJoint
from templates_core.jobs.job import Job
from templates_core.marks import seat_joint_mark
from templates_core.paths import directions as d
from templates_core.paths.directions import Vector
from templates_core.paths.rail_path import RailPath
from templates_core.pipes.cut_list import end_corners
from templates_core.pipes.cut_pipe import CutPipe
from templates_core.pipes.mid_rails import Bay
from templates_core.pipes.posts import PlacedPost
from templates_core.pipes.rail_posts import RailPosts

_PARALLEL = 1 - 1e-9


@dataclass(frozen=True, eq=False)
class PostSize:
    """Where one post goes.

    along: from the start of its run's pipe, on the line that the post's axis comes to, to the near side of
    the post; None where elbows meet with no pipe, and for a post under a corner, which stands in the middle
    of it.  round_mm: from the pipe's lower line round the outside to that line, positive to the right looking
    forward; 0 for a post in the middle.  from_point, to_point: both ends of `along` (3,).
    """

    post: str
    run_number: int
    pipe: str | None
    along: Size | None
    round_mm: float = 0.0
    from_point: Vector | None = None
    to_point: Vector | None = None


@dataclass(frozen=True, eq=False)
class ClearSize:
    """Clear width between two parts, square to both: two posts, or the rail and a mid rail.

    from_point, to_point: on the faces towards each other, where it is taken (3,).
    """

    first: str
    second: str
    clear: Size
    from_point: Vector
    to_point: Vector


@dataclass(frozen=True, eq=False)
class PostSizes:
    """All sizes that place what stands under one rail, and the welds that hold it, in order of tacking."""

    posts: tuple[PostSize, ...] = ()
    between: tuple[ClearSize, ...] = ()
    below: tuple[ClearSize, ...] = ()
    joints: tuple[RailJoint, ...] = ()


NO_SIZES = PostSizes()


def post_sizes(
    path: RailPath, corners: Sequence[Corner], runs: Sequence[RunMetal], standing: RailPosts, job: Job
) -> PostSizes:
    """The sizes and welds of one rail's posts and mid rails."""
    by_run = {run.run_number: run for run in runs}
    return PostSizes(
        tuple(_post_size(post, by_run[post.run_number], path, corners, job) for post in standing.posts),
        tuple(_between(standing.posts, job)),
        tuple(_below(bay, by_run[bay.run.number], path, job) for bay in standing.bays),
        tuple(_joints(standing)),
    )


def _post_size(
    post: PlacedPost, run: RunMetal, path: RailPath, corners: Sequence[Corner], job: Job
) -> PostSize:
    if run.mark is None or post.corner_number is not None:
        return PostSize(post.mark, post.run_number, run.mark, None)
    radius, right = job.pipe.radius_mm, d.bend_axis(run.direction, d.UP)
    lower = -d.turned(run.direction, right, math.pi / 2)
    turned = math.asin(float((post.top - post.work_point) @ right) / radius)
    line = math.cos(turned) * lower + math.sin(turned) * right
    start = line_start(run, path, corners, radius * line)
    lean = float(run.direction @ post.direction)
    sine = math.sqrt(1 - lean * lean)
    # Down the post from its top to the level of that line; its near side is that much nearer.
    centre = post.top - radius * math.cos(turned) / sine * post.direction
    near = centre - post.row.pipe.radius_mm / sine * run.direction
    along = size_of(float((near - start) @ run.direction), job)
    return PostSize(post.mark, post.run_number, run.mark, along, radius * turned, start, near)


def line_start(run: RunMetal, path: RailPath, corners: Sequence[Corner], out: Vector) -> Vector:
    """Where a line along the outside of a run's pipe starts (3,), which is cut across, mitred or leaning.

    out: from the centreline to that line (3,).
    """
    return np.asarray(run.start_mm + out - _longer_mm(run, path, corners, out) * run.direction)


def _longer_mm(run: RunMetal, path: RailPath, corners: Sequence[Corner], out: Vector) -> float:
    """How far a mitre or a leaning plane at its start takes a line along the pipe past its centreline [mm].

    out: from the centreline to that line (3,).
    """
    before, _ = end_corners(path, corners, run.run_number)
    if before is None:
        lean = path.start_lean
        return 0.0 if lean is None else float(lean.slope @ out)
    if before.mitre is None:
        return 0.0
    axis = next(laid.axis for laid in path.corners if laid.number == before.number)
    return math.tan(before.mitre.tilt_rad) * float(-throat_way(axis, run.direction) @ out)


def _between(posts: Sequence[PlacedPost], job: Job) -> Iterator[ClearSize]:
    """Clear between neighbours that stand parallel, half-way up the shorter one."""
    for one, two in pairwise(posts):
        if abs(float(one.direction @ two.direction)) < _PARALLEL:
            continue
        middle = one.floor_point + min(one.height_mm, two.height_mm) / 2 * one.direction
        off = two.top - middle
        across = off - float(off @ one.direction) * one.direction
        apart = float(np.linalg.norm(across))
        way = across / apart
        radii = one.row.pipe.radius_mm, two.row.pipe.radius_mm
        faces = middle + radii[0] * way, middle + (apart - radii[1]) * way
        yield ClearSize(one.mark, two.mark, size_of(apart - sum(radii), job), *faces)


def _below(bay: Bay, run: RunMetal, path: RailPath, job: Job) -> ClearSize:
    """Clear between the rail and a mid rail, square to both, in the middle of the bay."""
    middle = (bay.start + bay.end) / 2
    at = path.points_mm[bay.run.number - path.runs[0].number]
    off = middle - at
    across = off - float(off @ run.direction) * run.direction
    apart = float(np.linalg.norm(across))
    way = across / apart
    on_line = middle - across
    clear = apart - job.pipe.radius_mm - bay.row.pipe.radius_mm
    faces = on_line + job.pipe.radius_mm * way, middle - bay.row.pipe.radius_mm * way
    return ClearSize(run.mark or "the rail", bay.mark, size_of(clear, job), *faces)


def _joints(standing: RailPosts) -> Iterator[RailJoint]:
    """Tops of posts, then mid rails, then feet on their plates."""
    stands = {post.mark: post.row.stand.value for post in standing.posts}
    posts = [pipe for pipe in standing.pipes if pipe.kind == "post"]
    for pipe in posts:
        whole = pipe.mark if pipe.mark in stands else pipe.mark[:-1]
        yield _joint(pipe, at_start=False, check=f"place, {stands[whole]}")
    for pipe in standing.pipes:
        if pipe.kind == "mid rail":
            yield from (_joint(pipe, at_start, "clear below the rail") for at_start in (True, False))
    for pipe in posts:
        if pipe.start.sits_on == ("base plate",):
            yield _joint(pipe, at_start=True, check="plate")
        elif pipe.start.sits_on != ("floor",):
            yield _joint(pipe, at_start=True, check="in line with the length above")


def _joint(pipe: CutPipe, at_start: bool, check: str) -> RailJoint:
    end = pipe.start if at_start else pipe.end
    mark = seat_joint_mark(pipe.mark, at_start)
    return RailJoint((mark,), (pipe.mark, " and ".join(end.sits_on)), check=check)
