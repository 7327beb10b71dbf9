"""One path in each form that a job can give it in: work points, turns and rolls, or run directions.

Each gives a rail that lays out to the same path, from its own start for the last two.
"""

from __future__ import annotations

from templates_core.jobs.job import CornerSpec, EndSpec, RailSpec, RunSpec
from templates_core.paths.rail_path import RailPath, Run


def by_points(path: RailPath) -> RailSpec:
    """The path as its work points."""
    corners = tuple(CornerSpec(corner.where, by=corner.by) for corner in path.corners)
    points = tuple((float(x), float(y), float(z)) for x, y, z in path.points_mm)
    runs = tuple(RunSpec(run.where, run.length_mm, extra_mm=run.extra_mm) for run in path.runs)
    return _spec(path, runs, corners, points)


def by_turns(path: RailPath) -> RailSpec:
    """The path as run lengths, turns and rolls; its first run, and the second of a ring, with a direction.

    A ring's first roll is from its last corner, so that it can't hold the second run in space.
    """
    held = 2 if path.closed else 1
    runs = tuple(_held(run) if n < held else _free(run) for n, run in enumerate(path.runs))
    corners = tuple(
        CornerSpec(corner.where, corner.turn_rad, corner.roll_rad, by=corner.by) for corner in path.corners
    )
    return _spec(path, runs, corners)


def by_directions(path: RailPath) -> RailSpec:
    """The path as runs of stated pitch and heading, as rise and going give them; its corners follow."""
    corners = tuple(CornerSpec(corner.where, by=corner.by) for corner in path.corners)
    return _spec(path, tuple(_held(run) for run in path.runs), corners)


def _held(run: Run) -> RunSpec:
    return RunSpec(run.where, run.length_mm, run.pitch_rad, run.heading_rad, run.extra_mm)


def _free(run: Run) -> RunSpec:
    return RunSpec(run.where, run.length_mm, extra_mm=run.extra_mm)


def _spec(
    path: RailPath,
    runs: tuple[RunSpec, ...],
    corners: tuple[CornerSpec, ...],
    points: tuple[tuple[float, float, float], ...] = (),
) -> RailSpec:
    def ended(end: EndSpec) -> tuple[EndSpec, ...]:
        return () if path.closed else (end,)

    return RailSpec(
        path.mark, path.quantity, runs, corners, path.closed, points, ended(path.start), ended(path.end)
    )
