"""The other hand of a rail: what a vertical mirror beside it shows.

Up stays up; left and right change places, and every roll and heading changes its sign.  A rail that lies
in one plane is its own other hand, turned over.
"""

from __future__ import annotations

from dataclasses import replace

from templates_core.job import CornerSpec, EndSpec, RailSpec, Towards
from templates_core.marks import other_hand_mark

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
    )


def _negated(angle_rad: float | None) -> float | None:
    return None if angle_rad is None else -angle_rad


def _other_corner(corner: CornerSpec) -> CornerSpec:
    return replace(corner, roll_rad=_negated(corner.roll_rad), towards=_SIDES[corner.towards])


def _other_end(end: EndSpec) -> EndSpec:
    return replace(end, roll_rad=_negated(end.roll_rad), towards=_SIDES[end.towards])
