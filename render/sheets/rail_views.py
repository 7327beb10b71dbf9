"""How a rail is looked at: square on to its plane, or from above and from the side."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from render.pages.drawing import Point
from templates_core.paths import directions
from templates_core.paths.directions import UP, Vector
from templates_core.paths.rail_path import RailPath

LEVEL_SINE = 1e-6
STEEP_SINE = math.sin(math.radians(45))
RATIO = 4.0
"""On a drawing that is not to scale, the longest run is at most so many times the shortest."""


@dataclass(frozen=True, eq=False)
class View:
    """A way to look: what is to the right and what is up on the paper, unit vectors (3,).

    The viewer stands on the side of right × up, so that no view is ever mirrored.
    true: the rail lies in the plane of the paper, so that lengths and angles are true.
    """

    title: str
    right: Vector
    up: Vector
    true: bool

    @cached_property
    def towards(self) -> Vector:
        """Towards the viewer, unit vector (3,)."""
        return directions.cross(self.right, self.up)

    def seen(self, points_mm: Vector) -> tuple[Point, ...]:
        """Points (n, 3) as they lie on the paper."""
        x, y = self.right @ points_mm.T, self.up @ points_mm.T
        return tuple(zip(x.tolist(), y.tolist(), strict=True))


@dataclass(frozen=True)
class Part:
    """Runs that are drawn together: how many, from which place along the path on (from 0).

    ring: all of a closed frame, so that it comes back to its start.
    """

    first: int
    count: int
    ring: bool = False

    def halves(self) -> tuple[Part, Part]:
        """Two parts that share a run; those of a ring end on the run that the first began with."""
        count = self.count + self.ring
        head = count // 2 + 1
        return Part(self.first, head), Part(self.first + head - 1, count - head + 1)

    def places(self, runs: int) -> list[int]:
        """Places of its runs along a path of so many."""
        return [(self.first + i) % runs for i in range(self.count)]

    def corner_places(self, runs: int) -> list[int]:
        """Places of the corners between its runs, and of the last one of a ring, which is at its start."""
        return self.places(runs) if self.ring else self.places(runs)[:-1]


def whole_of(path: RailPath) -> Part:
    """All runs of a path."""
    return Part(0, len(path.runs), path.closed)


def views_of(path: RailPath) -> tuple[View, ...]:
    """One true view of a rail in a plane; a plan and, to stand under it, an elevation of any other."""
    first = path.runs[0]
    ahead = directions.direction(0.0, first.heading_rad)
    left = np.cross(UP, ahead)
    if not path.corners:
        return (View("Elevation, true view, seen from its right-hand side", ahead, UP, True),)
    if path.is_flat:
        return (_square_on(path),)
    return (
        View("Plan, seen from above; run 1 heads to the right", ahead, left, False),
        View("Elevation, seen from the right-hand side of run 1", ahead, UP, False),
    )


def _square_on(path: RailPath) -> View:
    """The view along the normal of the rail's plane: from above, or from the side with up at the top."""
    normal = path.corners[0].axis
    normal = normal if normal[2] >= 0 else -normal
    level = math.hypot(normal[0], normal[1])
    if level < STEEP_SINE:
        right = path.runs[0].direction
        name = "Plan" if level < LEVEL_SINE else "Sloping plane, square on to it"
        return View(f"{name}, true view, seen from above", right, np.cross(normal, right), True)
    up = UP - normal[2] * normal
    up = up / np.linalg.norm(up)
    right = np.cross(up, normal)
    if _travel(path) @ right < 0:
        normal, right = -normal, -right
    name = "Elevation" if abs(normal[2]) < LEVEL_SINE else "Sloping plane, square on to it"
    return View(f"{name}, true view, seen from its right-hand side", right, up, True)


def _travel(path: RailPath) -> Vector:
    """Which way the rail goes on the whole: from end to end, or along run 1 of one that comes back."""
    if path.closed:
        return path.runs[0].direction
    whole = path.points_mm[-1] - path.points_mm[0]
    return path.runs[0].direction if np.linalg.norm(whole) < 1.0 else np.asarray(whole)


def schematic_lengths_mm(lengths_mm: Sequence[float]) -> tuple[float, ...]:
    """Run lengths drawn nearer to each other, in the same order, none over ``RATIO`` times another."""
    ratio = max(lengths_mm) / min(lengths_mm)
    power = 1.0 if ratio <= RATIO else math.log(RATIO) / math.log(ratio)
    return tuple(max(lengths_mm) * (length / max(lengths_mm)) ** power for length in lengths_mm)


def chain(path: RailPath, first: int, count: int, lengths_mm: Sequence[float]) -> Vector:
    """Ends of so many runs from one on, shape (count + 1, 3), with the directions of the path."""
    places = Part(first, count).places(len(path.runs))
    steps = [length * path.runs[place].direction for place, length in zip(places, lengths_mm, strict=True)]
    return np.vstack([np.zeros(3), np.cumsum(steps, axis=0)])


def isometric(path: RailPath, places: Sequence[int]) -> View:
    """From above and one side, as run 1 heads: of four such views the one that best shows these runs.

    places: of the runs, from 0, in order.  That view shortens no run, and narrows no corner, unduly.
    """
    ahead = directions.direction(0.0, path.runs[0].heading_rad)
    left = np.cross(UP, ahead)
    sides = {
        "from behind and the right": (ahead, left),
        "from behind and the left": (-left, ahead),
        "from ahead and the right": (left, -ahead),
        "from ahead and the left": (-ahead, -left),
    }
    views = []
    for words, (one, two) in sides.items():
        up = (one + two) / math.sqrt(6) + math.sqrt(2 / 3) * UP
        title = f"Isometric, seen from above, {words} of run 1"
        views.append(View(title, (one - two) / math.sqrt(2), up, False))
    return max(views, key=lambda view: _shown(path, places, view))


def _shown(path: RailPath, places: Sequence[int], view: View) -> float:
    """How well a view shows runs and the corners between them, from 0 (one is seen end on) to 1."""
    runs = [math.dist((0, 0), *view.seen(path.runs[place].direction[None])) for place in places]
    corners = [abs(float(path.corners[place].axis @ view.towards)) for place in places[:-1]]
    return min([*runs, *corners])
