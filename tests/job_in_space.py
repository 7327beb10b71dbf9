"""A job file's rails and loose members set out in space, from the README's words alone.

Rotations by scipy: x forward along a run, y left, z up.  No code of the project is used, and no number of its
models: only what stands in the TOML.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from tests.hands import Tube

Array = NDArray[np.float64]
Distance = Callable[[Array], Array]
UP = np.array([0.0, 0.0, 1.0])
TUBES = {
    "NPS 3/4": Tube(26.67, 2.87),
    "NPS 1": Tube(33.401, 3.38),
    "NPS 1-1/4": Tube(42.164, 3.56),
    "NPS 1-1/2": Tube(48.26, 3.68),
    "NPS 2": Tube(60.325, 3.91),
}
"""ASME B36.10M Schedule 40, from memory."""
BENDS_MM = {"NPS 1": 38.1, "NPS 1-1/4": 47.625, "NPS 1-1/2": 57.15, "NPS 2": 76.2}
"""Bend radii of long-radius elbows, ASME B16.9, from memory."""
CLOCK = {"up": 0.0, "right": 90.0, "down": 180.0, "left": -90.0}


@dataclass(frozen=True)
class Run:
    """A run between work points; x of its frame goes forward, z up square to it, -y to the right."""

    number: int
    start: Array
    frame: Rotation
    length_mm: float

    @property
    def way(self) -> Array:
        return np.asarray(self.frame.apply([1.0, 0.0, 0.0]))

    @property
    def right(self) -> Array:
        side = np.cross(self.way, UP)
        return unit(side)

    @property
    def upright(self) -> Array:
        return np.cross(self.right, self.way)

    @property
    def end(self) -> Array:
        return self.start + self.length_mm * self.way


def unit(vector: Array) -> Array:
    return np.asarray(vector / np.linalg.norm(vector))


def heading_frame(way: Array) -> Rotation:
    """The frame of a run that isn't plumb."""
    left = unit(np.cross(UP, way))
    return Rotation.from_matrix(np.stack([way, left, np.cross(way, left)], axis=1))


def line_distance(at: Array, way: Array, radius_mm: float) -> Distance:
    """Clearance to a round bar that goes on for ever."""
    return lambda p: np.linalg.norm(np.cross(p - at, unit(way)), axis=-1) - radius_mm


def bent_distance(
    face: Array, way: Array, inward: Array, bend_mm: float, sweep_rad: float, radius_mm: float
) -> Distance:
    """Clearance to an elbow and the pipes at both its faces.

    face: centre of face A.  way: on into it.  inward: from there to the centre of the bend.
    """
    centre = face + bend_mm * inward

    def clear(p: Array) -> Array:
        x, y = (p - centre) @ -inward, (p - centre) @ way
        psi = np.arctan2(y, x)
        middle = sweep_rad / 2
        psi = np.clip(np.remainder(psi - middle + math.pi, 2 * math.pi) - math.pi + middle, 0.0, sweep_rad)
        spine = centre + bend_mm * (-np.cos(psi)[..., None] * inward + np.sin(psi)[..., None] * way)
        apart = np.linalg.norm(p - spine, axis=-1)
        for psi_face, on in ((0.0, -1.0), (sweep_rad, 1.0)):
            at = centre + bend_mm * (-math.cos(psi_face) * inward + math.sin(psi_face) * way)
            tangent = on * (math.sin(psi_face) * inward + math.cos(psi_face) * way)
            reach = np.maximum((p - at) @ tangent, 0.0)
            apart = np.minimum(apart, np.linalg.norm(p - at - reach[..., None] * tangent, axis=-1))
        return np.asarray(apart - radius_mm)

    return clear


def mitred_distance(point: Array, before: Array, after: Array, radius_mm: float) -> Distance:
    """Clearance to two pipes that meet in the plane between them."""
    plane = unit(before + after)
    one, two = line_distance(point, before, radius_mm), line_distance(point, after, radius_mm)
    return lambda p: np.where((p - point) @ plane < 0, one(p), two(p))


@dataclass(frozen=True)
class Post:
    """A post as the job file wants it.  top: on its axis abreast of the rail's centreline."""

    mark: str
    run: Run
    row: dict[str, Any]
    tube: Tube
    top: Array
    stands: Array
    forward: Array
    along_mm: float
    floor: Array
    normal: Array
    lift_mm: float
    header: Distance


@dataclass(frozen=True)
class MidRail:
    """A mid rail as the job file wants it: its line through a point, its two posts, those it runs through."""

    mark: str
    run: Run
    row: dict[str, Any]
    tube: Tube
    at: Array
    first: Post
    last: Post
    through: tuple[Post, ...]


class RailInSpace:
    """One rail of a job file, in its own hand or the other."""

    def __init__(self, job: dict[str, Any], rail: dict[str, Any], other_hand: bool = False) -> None:
        self.mm = 25.4 if job["units"] == "in" else 1.0
        self.size = job["pipe"]["size"]
        self.tube, self.bend_mm = TUBES[self.size], BENDS_MM[self.size]
        self.rail, self.side = rail, -1.0 if other_hand else 1.0
        self.mark = rail["mark"] + ("M" if other_hand else "")
        self.runs = list(self._points() if "points" in rail else self._walk())

    def _walk(self) -> Iterator[Run]:
        at, frame, number, turn = np.zeros(3), Rotation.identity(), 1, None
        steps = list(self.rail["path"])
        if self.rail.get("start", {}).get("kind") == "level extension":
            run = self.rail["start"]["run"] * self.mm
            way = unit(self._own_frame(steps[0], frame).apply([1.0, 0.0, 0.0]) * [1.0, 1.0, 0.0])
            yield Run(0, at - run * way, heading_frame(way), run)
        for step in steps:
            if not ("run" in step or "rise" in step):
                turn = step
                continue
            if turn is not None and ("turn" in turn or "inside_angle" in turn):
                frame = self._turned(frame, turn)
            else:
                frame = self._own_frame(step, frame)
            frame = heading_frame(frame.apply([1.0, 0.0, 0.0]))
            length = math.hypot(step["rise"], step["going"]) if "rise" in step else step["run"]
            run = Run(number, at, frame, length * self.mm)
            yield run
            at, number, turn = run.end, number + 1, None

    def _own_frame(self, step: dict[str, Any], frame: Rotation) -> Rotation:
        way = frame.apply([1.0, 0.0, 0.0])
        heading = step.get("heading")
        level = math.atan2(way[1], way[0]) if heading is None else self.side * math.radians(heading)
        pitch = (
            math.atan2(step["rise"], step["going"])
            if "rise" in step
            else math.radians(step.get("pitch", 0.0))
        )
        return Rotation.from_euler("ZY", [level, -pitch])

    def _turned(self, frame: Rotation, turn: dict[str, Any]) -> Rotation:
        angle = turn.get("turn", 180.0 - turn.get("inside_angle", 0.0))
        roll = CLOCK[turn["towards"]] * self.side
        # Clockwise looking forward is right-handed about x; then the nose goes up by so much.
        return frame * Rotation.from_euler("XY", [roll, -angle], degrees=True)

    def _points(self) -> Iterator[Run]:
        points = self.mm * np.array(self.rail["points"], float) * [1.0, self.side, 1.0]
        closed = self.rail.get("closed", False)
        for number, (one, two) in enumerate(pairwise([*points, *points[: int(closed)]]), 1):
            yield Run(number, one, heading_frame(unit(two - one)), float(np.linalg.norm(two - one)))

    def run(self, number: int) -> Run:
        return next(run for run in self.runs if run.number == number)

    def corner_before(self, run: Run) -> tuple[Run, dict[str, Any]] | None:
        """The run before, and what the job file says of the corner between; None at the start of the rail."""
        place = self.runs.index(run)
        if place == 0 and not self.rail.get("closed", False):
            return None
        corners = [step for step in self.rail.get("path", []) if not ("run" in step or "rise" in step)]
        said = corners[run.number - 2] if run.number > 1 and corners else {}
        return self.runs[place - 1], said

    def pipe_start_mm(self, run: Run, line: Array, root_gap_mm: float) -> float | None:
        """From a run's first work point to where its metal starts, on the line on a side, unit (3,).

        None after an elbow, as the work point alone doesn't tell how that is made.
        """
        corner = self.corner_before(run)
        if corner is None:
            return self._plate_start_mm(run, line)
        before, said = corner
        if "mitre" in (said.get("by"), said.get("corner")):
            plane = unit(before.way + run.way)
            return float((root_gap_mm / 2 - self.tube.radius_mm * line @ plane) / (run.way @ plane))
        return None

    def _plate_start_mm(self, run: Run, line: Array) -> float:
        """Where the first pipe starts on a line: on a plate that may lean, longer on the sides it names."""
        start = self.rail.get("start", {})
        lean = {name: math.tan(math.radians(angle)) for name, angle in start.get("lean", {}).items()}
        ways = {"up": run.upright, "down": -run.upright, "right": self.side * run.right}
        longer = sum(slope * (ways[name] @ line) for name, slope in lean.items())
        square = math.hypot(1.0, *lean.values())  # along the pipe a leaning plate takes so many times more
        return float(start.get("thickness", 0.0) * self.mm * square - self.tube.radius_mm * longer)

    def corner_header(self, before: Run, run: Run) -> tuple[Distance, Array]:
        """The metal at the end of a run, and where a post stands under the middle of it."""
        said = self.corner_before(run)
        assert said is not None
        if "mitre" in (said[1].get("by"), said[1].get("corner")):
            return mitred_distance(run.start, before.way, run.way, self.tube.radius_mm), run.start
        turn = math.atan2(np.linalg.norm(np.cross(before.way, run.way)), before.way @ run.way)
        takes = self.bend_mm * math.tan(turn / 2)
        inward = unit(run.way - (run.way @ before.way) * before.way)
        face = run.start - takes * before.way
        out = self.bend_mm * (1 - math.cos(turn / 2)), self.bend_mm * math.sin(turn / 2)
        clear = bent_distance(face, before.way, inward, self.bend_mm, turn, self.tube.radius_mm)
        return clear, face + out[0] * inward + out[1] * before.way

    def posts(self) -> list[Post]:
        counted: dict[str, int] = defaultdict(int)
        return [post for row in self.rail.get("posts", []) for post in self._row(row, counted)]

    def _row(self, row: dict[str, Any], counted: dict[str, int]) -> Iterator[Post]:
        if "corner" in row:
            number = row["corner"]
            run = self.run(number % len(self.runs) + 1)
            before = self.runs[self.runs.index(run) - 1]
            header, middle = self.corner_header(before, run)
            counted[f"TC{number}"] += 1
            yield self._post(f"TC{number}", row, run, 0.0, middle, unit(before.way + run.way), header)
            return
        runs = [self.run(row["run"])] if "run" in row else [run for run in self.runs if run.number > 0]
        for run in runs:
            level = math.hypot(*run.way[:2]) if row.get("level") else 1.0
            for along in self._places(row, run, level):
                counted[f"T{run.number}"] += 1
                mark = f"T{run.number}-{counted[f'T{run.number}']}"
                header = line_distance(run.start, run.way, self.tube.radius_mm)
                if row.get("on_corner"):
                    header, _ = self.corner_header(self.runs[self.runs.index(run) - 1], run)
                yield self._post(mark, row, run, along, run.start + along * run.way, run.way, header)

    def _places(self, row: dict[str, Any], run: Run, level: float) -> list[float]:
        if "at" in row:
            return [at * self.mm / level for at in row["at"]]
        first, last = row["first"] * self.mm / level, row["last"] * self.mm / level
        spaces = math.ceil((run.length_mm - first - last) * level / (row["spacing"] * self.mm) - 1e-9)
        return list(np.linspace(first, run.length_mm - last, max(1, spaces) + 1))

    def _post(
        self,
        mark: str,
        row: dict[str, Any],
        run: Run,
        along: float,
        point: Array,
        forward: Array,
        header: Distance,
    ) -> Post:
        right = unit(np.cross(forward, UP))
        upright = np.cross(right, forward)
        normal = upright if row.get("foot") == "slope" else UP
        floor = (
            point - row["drop"] * self.mm * UP
            if "drop" in row
            else np.array([0.0, 0.0, row["floor"] * self.mm])
        )
        return Post(
            f"{self.mark}-{mark}",
            run,
            row,
            TUBES[row.get("size", self.size)],
            point + self.side * row.get("offset", 0.0) * self.mm * right,
            upright if row.get("stand") == "square" else UP,
            forward,
            along,
            floor,
            normal,
            (row.get("plate", 0.0) + row.get("gap", 0.0)) * self.mm,
            header,
        )

    def mid_rails(self) -> Iterator[MidRail]:
        """Every mid rail; rows after the first have a letter."""
        posts = [post for post in self.posts() if "corner" not in post.row]
        for number, row in enumerate(self.rail.get("mid_rails", [])):
            for run in self.runs:
                on_run = sorted((p for p in posts if p.run.number == run.number), key=lambda p: p.along_mm)
                if row.get("run", run.number) != run.number or len(on_run) < 2 or run.number < 1:
                    continue
                down = run.upright if row.get("measured") == "square" else UP
                right = self.side * on_run[0].row.get("offset", 0.0) * self.mm * run.right
                at = run.start - row["below"] * self.mm * down + right
                through = row.get("through", False)
                pairs = [(on_run[0], on_run[-1])] if through else list(pairwise(on_run))
                for place, (first, last) in enumerate(pairs, 1):
                    mark = f"{self.mark}-M{run.number}-{place}{'abcdef'[number] if number else ''}"
                    between = tuple(on_run[1:-1]) if through else ()
                    tube = TUBES[row.get("size", self.size)]
                    yield MidRail(mark, run, row, tube, at, first, last, between)


@dataclass(frozen=True)
class MemberEnd:
    """What one end of a loose member sits on, and the station on its axis that its length is measured to.

    headers: of each cut.  reach_mm: of that station, past where the centrelines cross, away from the member;
    None where it is a point of the metal itself.
    """

    headers: tuple[Distance, ...]
    reach_mm: float | None


def member_end(
    job: dict[str, Any], end: Any, words: str, point: Array, away: Array, zero: Array, hand: float
) -> MemberEnd:
    """An end set out at a point of the member's axis.

    away: along the member, away from the end.  zero: to its 0° side.  hand: -1 for the other hand.
    """
    cuts = end if isinstance(end, list) else [end]
    headers, reach = [], 0.0 if words == "centre" else None
    for cut in cuts:
        turned = hand * math.radians(cut.get("roll", 0.0)) * (1 if away @ UP > 0 else -1)
        side = np.cross(away, zero)
        own = math.cos(turned) * zero + math.sin(turned) * side
        headers.append(_cut_header(job, cut, point, away, own, hand))
        if words == "floor":
            reach = cut["thickness"] / math.cos(math.radians(cut.get("tilt", 0.0)))
    return MemberEnd(tuple(headers), reach)


def _cut_header(
    job: dict[str, Any], cut: dict[str, Any], point: Array, away: Array, zero: Array, hand: float
) -> Distance:
    side = np.cross(away, zero)
    if cut["kind"] in ("plate", "mitre"):
        tilt = math.radians(cut.get("tilt", 0.0))
        normal = math.cos(tilt) * away - math.sin(tilt) * zero  # nearer to the member on its 0° side
        gap = cut.get("gap", 0.0) if cut["kind"] == "plate" else 2.4 / 2
        return lambda p: (p - point) @ normal - gap
    angle = math.radians(cut.get("angle", 90.0))
    along = math.cos(angle) * away + math.sin(angle) * zero
    offset = hand * cut.get("offset", 0.0)
    tube = TUBES[cut.get("on", job["pipe"]["size"])]
    if "elbow" not in cut:
        return line_distance(point - offset * side, along, tube.radius_mm + cut.get("gap", 0.0))
    named = {"heel": 0.0, "side": 90.0, "throat": 180.0}
    girth = hand * math.radians(
        named.get(cut["girth"], cut["girth"]) if cut["girth"] in named else cut["girth"]
    )
    bend_mm = BENDS_MM[job["pipe"]["size"]]
    # At a place on the bend: away = cos(girth) heel + sin(girth) axis, where axis = heel x the way to face B.
    heel = math.cos(girth) * away - math.sin(girth) * np.cross(away, along)
    axis = np.cross(heel, along)
    back = Rotation.from_rotvec(-math.radians(cut["at"]) * axis)
    heel_a = back.apply(heel)
    face = point - offset * side - bend_mm * heel + bend_mm * heel_a
    return bent_distance(face, np.cross(axis, heel_a), -heel_a, bend_mm, math.pi / 2, tube.radius_mm)
