"""Posts and mid rails that meet what they should not, or leave no room to weld between them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

import numpy as np

from templates_core.errors import Fault
from templates_core.paths.directions import Vector
from templates_core.paths.segments import least_distances
from templates_core.pipes.cut_pipe import CutPipe
from templates_core.pipes.mid_rails import Bay
from templates_core.pipes.posts import PlacedPost
from templates_core.units import format_length

LEAST_CLEAR_MM = 25.0
"""Least clear width between two pipes that can be welded all round (common practice, no source)."""
HARD_MM = 75.0
"""A clear width under this is hard to weld in (common practice, no source)."""
CROTCH_DEG = 45
"""An angle under this is hard to weld in the crotch (NAVEDTRA 14251, ch. 3, of laterals)."""


def post_clashes(posts: Sequence[PlacedPost], units: str) -> tuple[list[Fault], list[str]]:
    """Faults and warnings of posts that stand too close to each other."""
    faults: list[Fault] = []
    doubts: list[str] = []
    if len(posts) < 2:
        return faults, doubts
    feet, tops = (np.array([getattr(post, key) for post in posts]) for key in ("floor_point", "top"))
    radii = np.array([post.row.pipe.radius_mm for post in posts])
    for at, post in enumerate(posts[:-1]):
        apart = least_distances(feet[at], tops[at], feet[at + 1 :], tops[at + 1 :])
        clear = apart - radii[at] - radii[at + 1 :]
        for number in np.flatnonzero(clear < HARD_MM):
            other, gap = posts[at + 1 + int(number)], float(clear[number])
            if gap >= LEAST_CLEAR_MM:
                words = format_length(gap, units)
                doubts.append(
                    f"{post.where}: posts {post.mark} and {other.mark} leave {words} clear, hard to weld in"
                )
                continue
            short = format_length(LEAST_CLEAR_MM - gap, units)
            what = f"posts {post.mark} and {other.mark} stand {short} too close to be welded all round"
            faults.append(Fault(other.where, what, f"move one of them by {short} or more"))
    return faults, doubts


def mid_rail_clashes(
    bays: Sequence[Bay], centreline: tuple[Vector, Vector], rail_radius_mm: float, units: str
) -> list[Fault]:
    """Faults of mid rails too near to the rail, to the floor, or to each other.

    centreline: starts and ends of the segments of the rail's centreline, shape (n, 3).
    """
    return [
        *(fault for bay in bays for fault in _rail_clash(bay, centreline, rail_radius_mm, units)),
        *(fault for bay in bays for fault in _floor_clash(bay, units)),
        *_row_clashes(bays, units),
    ]


def _rail_clash(bay: Bay, centreline: tuple[Vector, Vector], radius_mm: float, units: str) -> Iterator[Fault]:
    apart = least_distances(bay.start, bay.end, *centreline)
    short = LEAST_CLEAR_MM + radius_mm + bay.row.pipe.radius_mm - float(apart.min())
    if short > 0:
        by = format_length(short, units)
        what = f"mid rail {bay.mark} comes {by} too near to the rail or its elbows to be welded"
        yield Fault(bay.row.where, what, "make below more, or move the posts away from the corner")


def _floor_clash(bay: Bay, units: str) -> Iterator[Fault]:
    for post, point in ((bay.first, bay.start), (bay.last, bay.end)):
        floor_mm = float((point - post.floor_point) @ post.floor_normal) - post.row.plate_mm
        short = LEAST_CLEAR_MM + bay.row.pipe.radius_mm - floor_mm
        if short > 0:
            by = format_length(short, units)
            what = f"mid rail {bay.mark} comes {by} too near to the floor at post {post.mark}"
            yield Fault(bay.row.where, what, f"make below {by} less or shorter still")
            return


def _row_clashes(bays: Sequence[Bay], units: str) -> Iterator[Fault]:
    """Mid rails of one run, one above another, too close to each other; those of two rows are parallel."""
    rows = {(bay.run.number, bay.row.where): bay for bay in bays}
    for one, two in combinations(rows.values(), 2):
        if one.run is not two.run:
            continue
        between = two.start - one.start
        apart = float(np.linalg.norm(between - float(between @ one.run.direction) * one.run.direction))
        short = LEAST_CLEAR_MM + one.row.pipe.radius_mm + two.row.pipe.radius_mm - apart
        if short > 0:
            by = format_length(short, units)
            what = f"mid rails {one.mark} and {two.mark} are {by} too close to be welded"
            yield Fault(two.row.where, what, "give the rows other heights")


def crotch_doubts(pipes: Sequence[CutPipe]) -> list[str]:
    """Warnings for copes so oblique that their crotch is hard to weld, one for each place in the file."""
    found: dict[str, list[str]] = {}
    for pipe in pipes:
        for end in (pipe.start, pipe.end):
            if end.kind == "cope" and np.degrees(end.angle_rad) < CROTCH_DEG - 0.05:
                found.setdefault(pipe.where, []).append(pipe.mark)
    return [
        f"{where}: {', '.join(dict.fromkeys(marks))}: under {CROTCH_DEG}° to what it sits on, "
        "hard to weld in the crotch"
        for where, marks in found.items()
    ]
