"""Posts and mid rails of one rail: placed, checked against each other, and cut."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

from templates_core.elbows.corners import Corner
from templates_core.errors import Gathered
from templates_core.fitting_up.metal import RunMetal, centreline_mm, rail_parts, runs_of_metal
from templates_core.jobs.job import Job, RailSpec
from templates_core.paths.rail_path import RailPath
from templates_core.pipes.clashes import crotch_doubts, mid_rail_clashes, post_clashes
from templates_core.pipes.cut_list import Member
from templates_core.pipes.cut_pipe import CutPipe
from templates_core.pipes.header_solids import header_parts, straight_run
from templates_core.pipes.mid_rails import Bay, bays_of, crossing_of, mid_rail_pipe
from templates_core.pipes.post_pipes import Header, post_pipes
from templates_core.pipes.posts import PlacedPost, place_posts

_CHORD_RAD = math.radians(3)
_BEYOND_MM = 10_000.0


@dataclass(frozen=True, eq=False)
class RailPosts:
    """What stands under a rail: posts in order along it, mid rails, pipes of both, and what is doubtful."""

    posts: tuple[PlacedPost, ...] = ()
    bays: tuple[Bay, ...] = ()
    pipes: tuple[CutPipe, ...] = ()
    doubts: tuple[str, ...] = ()


NO_POSTS = RailPosts()


def stand_posts(
    rail: RailSpec, path: RailPath, corners: Sequence[Corner], members: Sequence[Member], job: Job
) -> RailPosts:
    """Posts and mid rails of a rail.  Raises InputError with every fault of its rows."""
    if not rail.posts and not rail.mid_rails:
        return NO_POSTS
    posts = place_posts(path, corners, rail, job.units)
    faults, doubts = post_clashes(posts, job.units)
    gathered = Gathered()
    gathered.faults += faults
    bays = gathered.get(lambda: bays_of(path, rail, posts, job.units)) or ()
    runs = runs_of_metal(path, corners, members)
    line = centreline_mm(rail_parts(path, corners, runs), _CHORD_RAD)
    gathered.faults += mid_rail_clashes(bays, line, job.pipe.radius_mm, job.units)
    headers = _headers(path, corners, runs, job.pipe.radius_mm)
    pipes: list[CutPipe] = []
    for post in posts:
        crossings = [crossing_of(bay, post) for bay in bays if any(one is post for one in bay.through)]
        header = headers[post.run_number]
        pipes += gathered.get(partial(post_pipes, post, header, crossings, rail.quantity, job)) or ()
    for bay in bays:
        made = gathered.get(partial(mid_rail_pipe, bay, rail.quantity, job))
        pipes += () if made is None else (made,)
    gathered.refuse()
    return RailPosts(posts, bays, tuple(pipes), (*doubts, *crotch_doubts(pipes)))


def _headers(
    path: RailPath, corners: Sequence[Corner], runs: Sequence[RunMetal], radius_mm: float
) -> dict[int, Header]:
    """What a post of each run sits on, by the run's number."""
    parts = header_parts(path, corners, runs, radius_mm)
    own = {part.run_number: part for part in parts if part.run_number is not None}
    return {
        run.run_number: Header(straight_run(run, radius_mm, _BEYOND_MM), own.get(run.run_number), parts)
        for run in runs
    }
