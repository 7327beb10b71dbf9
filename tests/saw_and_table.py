"""A rail made at the bench: stock elbows marked, sawn and dressed, sticks cut, all put together on a table.

It uses what is painted on the parts and nothing of how they were worked out: of a piece, its elbow, the line
marked and what its faces lost; of a pipe, its length; of a joint, the root gap; of a corner, its roll.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from templates_core.elbows.corners import Corner, Piece
from templates_core.fittings import StockElbow
from templates_core.paths.rail_path import RailPath
from templates_core.pipes.cut_list import Member

Vector = NDArray[np.float64]


@dataclass(frozen=True)
class Pose:
    """A place and a frame in it: x forward along the pipe, y left, z towards the throat of the bend."""

    at: Vector
    frame: Rotation

    def onward(self, length: float) -> Pose:
        return Pose(self.at + self.frame.apply([length, 0, 0]), self.frame)

    def rolled(self, angle: float) -> Pose:
        return Pose(self.at, self.frame * Rotation.from_euler("X", angle))

    def turned(self, angle: float) -> Pose:
        return Pose(self.at, self.frame * Rotation.from_euler("Y", -angle))

    def about_face(self) -> Pose:
        """The same face looked at from the other side."""
        return Pose(self.at, self.frame * Rotation.from_euler("Z", math.pi))

    def carried(self, own: Pose, other: Pose) -> Pose:
        """Where `other` of a part comes to when its `own` is laid on this pose."""
        move = self.frame * own.frame.inv()
        return Pose(self.at + move.apply(other.at - own.at), move * other.frame)


BENCH = Pose(np.zeros(3), Rotation.identity())


def marked_line(elbow: StockElbow, sweep: float) -> Pose:
    """Looking on from face A at a radial line so far round the bend."""
    start = BENCH.onward(elbow.tangent_a_mm)
    radius = elbow.bend_radius_mm
    assert radius is not None
    chord = np.array([radius * math.sin(sweep), 0, radius * (1 - math.cos(sweep))])
    return Pose(start.at + chord, start.frame).turned(sweep)


def face_b(elbow: StockElbow) -> Pose:
    """Looking out of face B."""
    if elbow.bend_radius_mm is None:
        half = elbow.centre_to_end_mm
        return BENCH.onward(half).turned(elbow.sweep_rad).onward(half)
    return marked_line(elbow, elbow.sweep_rad).onward(elbow.tangent_b_mm)


def sawn(piece: Piece) -> tuple[Pose, Pose]:
    """The two faces of a piece, both looked through from face A towards face B."""
    elbow = piece.elbow
    if piece.cut is None:
        return BENCH, face_b(elbow)
    start = piece.cut.offset_rad
    first = BENCH if piece.cut_end != "both" else marked_line(elbow, start).onward(piece.loss_mm)
    return first, marked_line(elbow, start + piece.angle_rad).onward(-piece.loss_mm)


@dataclass
class Table:
    """A rail put together on the table, part after part, each a root gap from the one before.

    at: pose after the last part, z towards roll 0.  pipes: by run number, poses of start and end.
    lines: a pose on the axis of every run.  joints: by mark, poses where the axis of the part before meets
    the middle of the gap.
    pieces: by mark, poses of the first face and the last one along the rail.
    """

    at: Pose
    gap: float
    pipes: dict[int, tuple[Pose, Pose]] = field(default_factory=dict)
    lines: list[Pose] = field(default_factory=list)
    joints: dict[str, Pose] = field(default_factory=dict)
    pieces: dict[str, tuple[Pose, Pose]] = field(default_factory=dict)

    def put_together(self, path: RailPath, corners: Sequence[Corner], members: Sequence[Member]) -> Table:
        lengths = {member.run_number: member.length_mm for member in members}
        for place, run in enumerate(path.runs):
            if run.number in lengths:
                mitred = place > 0 and corners[place - 1].mitre is not None
                mark = "" if mitred or place == 0 else corners[place - 1].joints[-1]
                start = self.at if mitred else self.gapped(mark)
                self.at = start.onward(lengths[run.number])
                self.pipes[run.number] = (start, self.at)
            self.lines.append(self.at)
            if place < len(corners):
                self.round(corners[place])
        return self

    def gapped(self, mark: str) -> Pose:
        """Past the gap to the next part; the first part has none before it."""
        if not self.pipes and not self.pieces:
            return self.at
        self.joints[mark] = self.at.onward(self.gap / 2)
        return self.at.onward(self.gap)

    def round(self, corner: Corner) -> None:
        self.at = self.at.rolled(corner.roll_rad)
        if corner.mitre is not None:
            plane = self.at.turned(corner.turn_rad / 2)
            self.joints[corner.joints[0]] = self.at.onward(self.gap / 2 / math.cos(corner.turn_rad / 2))
            self.at = Pose(plane.onward(self.gap).at, self.at.turned(corner.turn_rad).frame)
            return
        for piece, mark in zip(corner.pieces, corner.joints, strict=False):
            first, last = sawn(piece)
            if piece.cut_end == "before":
                first, last = last.about_face(), first.about_face()
            start = self.gapped(mark)
            self.at = start.carried(first, last)
            self.pieces[piece.mark] = (start, self.at)

    def work_points(self, closed: bool) -> Vector:
        """Where the axes of runs that follow each other meet; they must."""
        pairs = list(zip(self.lines, self.lines[1:], strict=False))
        pairs += [(self.lines[-1], self.lines[0])] if closed else []
        return np.array([meeting(one, two) for one, two in pairs])


def meeting(one: Pose, two: Pose) -> Vector:
    """Where two axes meet."""
    u, v = one.frame.apply([1, 0, 0]), two.frame.apply([1, 0, 0])
    along = np.linalg.lstsq(np.column_stack([u, -v]), two.at - one.at, rcond=None)[0]
    first, second = one.at + along[0] * u, two.at + along[1] * v
    assert np.linalg.norm(first - second) < 1e-6, "the axes pass each other"
    return np.asarray((first + second) / 2)


def rail_start(path: RailPath) -> Pose:
    """Where the first part of an open rail starts; its first run isn't plumb, and z is up."""
    run = path.runs[0]
    frame = Rotation.from_euler("ZY", [run.heading_rad, -run.pitch_rad])
    return Pose(path.points_mm[0], frame).onward(path.start.takes_mm)


def skin(table: Table, pieces: Sequence[Piece], tube_radius: float, step: float) -> Vector:
    """Points on the outside of all pipe ends and of elbow pieces of known radius, shape (n, 3)."""
    girth = np.arange(0, 2 * math.pi, step)
    ring = tube_radius * np.column_stack([0 * girth, np.cos(girth), np.sin(girth)])
    poses = [pose for ends in table.pipes.values() for pose in ends]
    for piece in pieces:
        radius = piece.elbow.bend_radius_mm
        if radius is not None:
            start = table.pieces[piece.mark][0]
            for sweep in np.arange(0, piece.angle_rad + step / 2, step):
                at = np.array([radius * math.sin(sweep), 0, radius * (1 - math.cos(sweep))])
                poses.append(start.carried(BENCH, Pose(at, BENCH.frame).turned(sweep)))
    return np.vstack([pose.at + pose.frame.apply(ring) for pose in poses])
