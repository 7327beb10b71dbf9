"""The other hand of a rail: what a vertical mirror beside it shows.

Up stays up; left and right change places, and every roll and heading changes its sign.  A rail that lies
in one plane is its own other hand, turned over.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from templates_core.jobs.job import CornerSpec, EndSpec, RailSpec, Towards
from templates_core.marks import other_hand_mark
from templates_core.paths.rail_path import FLAT_RAD, RailPath

_SIDES = {
    Towards.LEFT: Towards.RIGHT,
    Towards.RIGHT: Towards.LEFT,
    Towards.UP: Towards.UP,
    Towards.DOWN: Towards.DOWN,
    None: None,
}


def mirrored(rail: RailSpec) -> RailSpec:
    """The rail in the other hand, with a mark of its own; that of the other hand is the rail again.

    Places stay those of the job file.
    """
    mark, mirror_of = (rail.mirror_of, "") if rail.mirror_of else (other_hand_mark(rail.mark), rail.mark)
    return replace(
        rail,
        mark=mark,
        mirror_of=mirror_of,
        runs=tuple(replace(run, heading_rad=_negated(run.heading_rad)) for run in rail.runs),
        corners=tuple(_other_corner(corner) for corner in rail.corners),
        points_mm=tuple((x, -y, z) for x, y, z in rail.points_mm),
        start=tuple(_other_end(end) for end in rail.start),
        end=tuple(_other_end(end) for end in rail.end),
        welds=tuple(replace(weld, girth_rad=-weld.girth_rad) for weld in rail.welds),
        posts=tuple(replace(row, offset_mm=-row.offset_mm) for row in rail.posts),
    )


def is_own_other_hand(rail: RailSpec, path: RailPath) -> bool:
    """Whether a rail and its other hand are one shape: a flat one is, turned over.

    One with posts can't be turned over: it must keep to an upright plane, with its posts in it.
    """
    if not path.is_own_other_hand:
        return False
    if not rail.posts:
        return True
    level = np.array([run.direction[:2] for run in path.runs])
    longest = level[np.argmax(np.linalg.norm(level, axis=1))]
    across = level[:, 0] * longest[1] - level[:, 1] * longest[0]
    in_plane = bool(np.all(np.abs(across) < math.sin(FLAT_RAD)))
    return in_plane and all(row.offset_mm == 0 for row in rail.posts)


def _negated(angle_rad: float | None) -> float | None:
    return None if angle_rad is None else -angle_rad


def _other_corner(corner: CornerSpec) -> CornerSpec:
    return replace(corner, roll_rad=_negated(corner.roll_rad), towards=_SIDES[corner.towards])


def _other_end(end: EndSpec) -> EndSpec:
    lean = None if end.lean is None else replace(end.lean, left_rad=-end.lean.left_rad)
    return replace(end, roll_rad=_negated(end.roll_rad), towards=_SIDES[end.towards], lean=lean)
