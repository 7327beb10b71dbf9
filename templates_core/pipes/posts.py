"""Posts of a rail, placed: where each stands under its run or corner, which way, and on what floor."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from templates_core.elbows.corners import Corner
from templates_core.errors import Fault, InputError
from templates_core.jobs.job import RailSpec
from templates_core.jobs.member_specs import Foot, PostRow, Stand
from templates_core.marks import corner_post_mark, post_mark
from templates_core.paths import directions as d
from templates_core.paths.directions import Vector
from templates_core.paths.rail_path import RailPath, Run
from templates_core.pipes.header_solids import corner_middle
from templates_core.units import format_length

SAME_PLACE_MM = 0.1
"""A post this near an end of its run stands at it."""
_EQUAL_MM = 1e-6


@dataclass(frozen=True, eq=False)
class PlacedPost:
    """A post in space.

    run_number: of the run that it stands under; of one under a corner, the run before, at its end.
    along_mm: from that run's first work point to abreast of the post, along the run.  corner_number: of the
    corner that it stands under, else None.
    work_point: on the rail's centreline (3,).  top: on the post's axis, abreast of it (3,).  direction: unit
    (3,) from the foot up.  forward: unit (3,) of the rail there.  side: unit (3,) to the right of it, level.
    floor_point: where the post's axis meets the floor (3,).  floor_normal: unit (3,) out of the floor.
    """

    mark: str
    where: str
    row: PostRow
    run_number: int
    along_mm: float
    corner_number: int | None
    work_point: Vector
    top: Vector
    direction: Vector
    forward: Vector
    side: Vector
    floor_point: Vector
    floor_normal: Vector

    @property
    def height_mm(self) -> float:
        """From the floor to abreast of the rail's centreline, along the post [mm]."""
        return float((self.top - self.floor_point) @ self.direction)


def place_posts(
    path: RailPath, corners: Sequence[Corner], rail: RailSpec, units: str
) -> tuple[PlacedPost, ...]:
    """Every post of a rail, in order along it.

    units: ``mm`` or ``in``, for the lengths in messages.  Raises InputError with every row that can't stand.
    """
    faults = post_faults(path, rail, units)
    if faults:
        raise InputError(faults)
    counted: dict[tuple[bool, int], int] = defaultdict(int)
    placed = []
    for row in rail.posts:
        for run, along in places_of(path, own_runs_of(rail), row):
            counted[False, run.number] += 1
            mark = post_mark(path.mark, run.number, counted[False, run.number])
            point = _first_point(path, run) + along * run.direction
            placed.append(_placed(mark, row, run, along, None, point, path))
        if row.corner_number is not None:
            run, _ = path.runs_at(row.corner_number)
            place = row.corner_number - path.runs[0].number
            counted[True, row.corner_number] += 1
            mark = corner_post_mark(path.mark, row.corner_number, counted[True, row.corner_number])
            point = corner_middle(path, corners, place)
            placed.append(_placed(mark, row, run, run.length_mm, row.corner_number, point, path))
    low = [_too_low(post, units) for post in placed if post.height_mm <= post.row.pipe.od_mm]
    if low:
        raise InputError(low)
    return tuple(sorted(placed, key=lambda post: (post.run_number, post.along_mm)))


def places_of(path: RailPath, own_runs: int, row: PostRow) -> list[tuple[Run, float]]:
    """Runs and distances along them [mm] of a row's posts; none for a post under a corner.

    own_runs: of the path itself, without those that its ends add.
    """
    return [(run, along) for run in _runs_of(path, own_runs, row) for along in _along(row, run)]


def _runs_of(path: RailPath, own_runs: int, row: PostRow) -> list[Run]:
    """Runs that a row stands on; a row that names none leaves plumb runs out, and what ends add."""
    if row.corner_number is not None:
        return []
    if row.run_number is not None:
        return [run for run in path.runs if run.number == row.run_number]
    return [run for run in path.runs if 1 <= run.number <= own_runs and not d.is_plumb(run.direction)]


def own_runs_of(rail: RailSpec) -> int:
    """How many runs the path of a rail has without those that its ends add."""
    return len(rail.runs) or len(rail.points_mm) - (not rail.closed)


def _along(row: PostRow, run: Run) -> Iterator[float]:
    """Distances along a run [mm]; those given level are longer along a slope."""
    level = _level_share(row, run)
    if row.spacing_mm is None:
        yield from (at / level for at in row.at_mm)
        return
    first, last = row.first_mm / level, run.length_mm - row.last_mm / level
    spaces = max(1, math.ceil((last - first) * level / row.spacing_mm - _EQUAL_MM))
    if last - first <= SAME_PLACE_MM:
        yield first
        return
    yield from (first + (last - first) * number / spaces for number in range(spaces + 1))


def _level_share(row: PostRow, run: Run) -> float:
    """What a distance along a run is worth as the row gives it: less than itself where that is level."""
    return math.cos(run.pitch_rad) if row.level else 1.0


def _first_point(path: RailPath, run: Run) -> Vector:
    return np.asarray(path.points_mm[run.number - path.runs[0].number])


def _placed(
    mark: str,
    row: PostRow,
    run: Run,
    along_mm: float,
    corner: int | None,
    point: Vector,
    path: RailPath,
) -> PlacedPost:
    forward = run.direction
    if corner is not None:
        here, there = path.runs_at(corner)
        forward = here.direction + there.direction
        forward = forward / np.linalg.norm(forward)
    upright = d.turned(forward, d.bend_axis(forward, d.UP), math.pi / 2)
    side = np.cross(forward, upright)
    up = d.UP if row.stand is Stand.PLUMB else upright
    top = point + row.offset_mm * side
    normal = upright if row.foot is Foot.SLOPE else d.UP
    under = np.array([*point[:2], row.floor_mm]) if row.drop_mm is None else point - row.drop_mm * d.UP
    reach = float((top - under) @ normal) / float(up @ normal)
    return PlacedPost(
        mark,
        row.where,
        row,
        run.number,
        along_mm,
        corner,
        point,
        top,
        up,
        forward,
        side,
        top - reach * up,
        normal,
    )


def _too_low(post: PlacedPost, units: str) -> Fault:
    height = format_length(post.height_mm, units)
    what = f"post {post.mark} would be {height} high from the floor to the rail's centreline"
    return Fault(post.where, what, "give floor, the height z of the floor, or drop, from the rail down to it")


def post_faults(path: RailPath, rail: RailSpec, units: str) -> list[Fault]:
    """What is wrong with the rows of posts of a rail, as far as the path alone tells."""
    own = own_runs_of(rail)
    return [fault for row in rail.posts for fault in _row_faults(path, own, row, units)]


def _row_faults(path: RailPath, own_runs: int, row: PostRow, units: str) -> Iterator[Fault]:
    if row.corner_number is not None:
        yield from _corner_faults(path, row)
        return
    runs = _runs_of(path, own_runs, row)
    if not runs:
        first, last = path.runs[0].number, path.runs[-1].number
        named = row.run_number is not None
        what = f"there is no run {row.run_number}" if named else "no run is left to stand under"
        yield Fault(row.where, what, f"name one of runs {first} to {last} that isn't plumb")
    for run in runs:
        length = format_length(run.length_mm, units)
        long = f"run {run.number} is {length} long between work points"
        if d.is_plumb(run.direction):
            what = f"run {run.number} is plumb, and no post stands under it"
            yield Fault(row.where, what, "name another run")
        elif row.spacing_mm is not None:
            taken = (row.first_mm + row.last_mm) / _level_share(row, run)
            if taken > run.length_mm + SAME_PLACE_MM:
                what = f"first and last take {format_length(taken, units)}, but {long}"
                yield Fault(row.where, what, "make them shorter, or name the runs one by one")
        else:
            for along in _along(row, run):
                if along > run.length_mm + SAME_PLACE_MM:
                    what = f"{format_length(along, units)} is past the end, as {long}"
                    yield Fault(row.where, what, f"give at most {length}")


def _corner_faults(path: RailPath, row: PostRow) -> Iterator[Fault]:
    numbers = [corner.number for corner in path.corners]
    if row.corner_number not in numbers:
        have = f"corners go from {numbers[0]} to {numbers[-1]}" if numbers else "this rail has no corner"
        yield Fault(row.where, f"there is no corner {row.corner_number}", have)
        return
    runs = path.runs_at(row.corner_number)
    across = runs[0].direction + runs[1].direction
    if d.is_plumb(across):
        yield Fault(
            row.where, "the rail is plumb there, and no post stands under it", "place posts along a run"
        )
