"""What of a rail is drawn together on a fit-up sheet: its metal at the lengths that it is drawn with."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TypeVar

import numpy as np

from render.sheets.rail_views import Part, chain, schematic_lengths_mm
from templates_core.elbows.corners import Corner
from templates_core.fitting_up.fit_up import Size
from templates_core.fitting_up.metal import RunMetal, runs_of_metal
from templates_core.fitting_up.tubes import (
    PLATE_RADII,
    JointPlace,
    Tube,
    TubeKind,
    joint_places,
    rail_tubes,
    straight_tube,
)
from templates_core.jobs.job import EndKind
from templates_core.marks import end_joint_mark
from templates_core.model import Rail
from templates_core.paths.directions import Vector
from templates_core.paths.rail_path import RailPath


@dataclass(frozen=True, eq=False)
class Held:
    """A point in space and where on the rail it hangs: on which run, how far along from its work point [mm].

    Where pipes are drawn short, the point moves with that place.
    """

    point_mm: Vector
    run_number: int
    along_mm: float


@dataclass(frozen=True, eq=False)
class ExtraMetal:
    """A straight pipe that is no run of the rail: a post, or a mid rail between two posts."""

    mark: str
    start: Held
    end: Held
    radius_mm: float


@dataclass(frozen=True, eq=False)
class ExtraSize:
    """A size besides those of the runs, such as the spacing of posts.

    how: how the tape lies, which heads its table.  first, second: what it is held to.  short: words for it on
    the drawing.
    """

    how: str
    first: str
    second: str
    short: str
    start: Held
    end: Held
    size: Size


@dataclass(frozen=True)
class Extras:
    """What stands on a rail besides its own pipes and elbows, and the sizes that place it."""

    metal: tuple[ExtraMetal, ...] = ()
    sizes: tuple[ExtraSize, ...] = ()


NO_EXTRAS = Extras()
_T = TypeVar("_T", ExtraMetal, ExtraSize)


@dataclass(frozen=True, eq=False)
class Scene:
    """A part of a rail as it is drawn, in mm of metal; scale: mm of paper to one of them.

    path: with the run lengths that are drawn.  to_scale: 1:n, None where pipes are drawn short.
    """

    rail: Rail
    part: Part
    path: RailPath
    radius_mm: float
    scale: float
    to_scale: int | None
    units: str
    extras: Extras = NO_EXTRAS

    @cached_property
    def runs(self) -> tuple[RunMetal, ...]:
        """Metal of every run of the rail."""
        return runs_of_metal(self.path, self.rail.corners, self.rail.members)

    @cached_property
    def drawn_as(self) -> tuple[object, ...]:
        """What tells this scene from others of its rail: its part, scale and lengths on the paper [mm]."""
        lengths_mm = tuple(round(run.length_mm * self.scale, 3) for run in self.path.runs)
        return self.part, self.scale, lengths_mm

    @property
    def places(self) -> list[int]:
        """Places of the runs of this part."""
        return self.part.places(len(self.path.runs))

    @property
    def corner_places(self) -> list[int]:
        """Places of the corners between them."""
        return self.part.corner_places(len(self.path.runs))

    @property
    def corners(self) -> list[Corner]:
        """The corners between the runs of this part."""
        return [self.rail.corners[place] for place in self.corner_places]

    @cached_property
    def tubes(self) -> tuple[Tube, ...]:
        """Its metal, with what stands at the ends of the rail that it reaches, and the extras on its runs."""
        places = self.places, self.corner_places
        own = rail_tubes(self.path, self.rail.corners, self.runs, self.radius_mm, *places)
        return (*own, *(self._extra(extra) for extra in self._on_part(self.extras.metal)))

    @property
    def corners_mm(self) -> Vector:
        """Points between which the middles of all tubes keep, shape (n, 3)."""
        points = [point for place in self.places for point in self.work_points(place)]
        extras = self._on_part(self.extras.metal)
        return np.array([*points, *(self.moved(end) for one in extras for end in (one.start, one.end))])

    @cached_property
    def pipes_out_mm(self) -> tuple[Vector, Vector]:
        """``corners_mm`` with pipes of no length, and how they move for each mm that the longest is drawn."""
        none, one = (with_short_pipes(self, longest_mm).corners_mm for longest_mm in (0.0, 1.0))
        return none, one - none

    @property
    def widest_mm(self) -> float:
        """Size across the widest tube."""
        plates = any(end.kind in (EndKind.PLATE, EndKind.FLANGE) for end in (self.path.start, self.path.end))
        return 2 * self.radius_mm * (PLATE_RADII if plates else 1.0)

    def _on_part(self, extras: Sequence[_T]) -> Iterator[_T]:
        numbers = {self.runs[place].run_number for place in self.places}
        return (extra for extra in extras if {extra.start.run_number, extra.end.run_number} <= numbers)

    def _extra(self, extra: ExtraMetal) -> Tube:
        ends = self.moved(extra.start), self.moved(extra.end)
        return straight_tube(extra.mark, TubeKind.OTHER, *ends, extra.radius_mm)

    @property
    def extra_sizes(self) -> tuple[ExtraSize, ...]:
        """Sizes of the extras on the runs of this part."""
        return tuple(self._on_part(self.extras.sizes))

    @property
    def joints(self) -> tuple[JointPlace, ...]:
        """Welds of the corners of this part, and of the rail's ends that it reaches."""
        marks = {mark for corner in self.corners for mark in corner.joints}
        for place, at_start in ((0, True), (len(self.path.runs) - 1, False)):
            marks |= {end_joint_mark(self.path.mark, at_start)} if place in self.places else set()
        wanted = [joint.marks for joint in self.rail.fit_up.joints if marks & set(joint.marks)]
        return joint_places(self.path, self.rail.corners, self.runs, wanted)

    def work_points(self, place: int) -> tuple[Vector, Vector]:
        """Both work points of a run."""
        points = self.path.points_mm
        return np.asarray(points[place]), np.asarray(points[(place + 1) % len(points)])

    def moved(self, held: Held) -> Vector:
        """Where a point that hangs on the rail is drawn."""
        place = next(i for i, run in enumerate(self.path.runs) if run.number == held.run_number)
        real, drawn = self.rail.path.runs[place], self.path.runs[place]
        at = self.rail.path.points_mm[place] + held.along_mm * real.direction
        share = held.along_mm / real.length_mm
        to = self.path.points_mm[place] + share * drawn.length_mm * drawn.direction
        return np.asarray(held.point_mm + (to - at))


def true_scene(scene: Scene, per: int) -> Scene:
    """The part at 1:per."""
    return replace(scene, path=scene.rail.path, scale=1 / per, to_scale=per)


def short_scene(scene: Scene, tube_mm: float, pipe_mm: float) -> Scene:
    """The part with its pipes so wide on the paper, the longest of them so long there [mm]."""
    scale = tube_mm / 2 / scene.radius_mm
    return replace(with_short_pipes(scene, pipe_mm / scale), scale=scale, to_scale=None)


def with_short_pipes(scene: Scene, longest_mm: float) -> Scene:
    """The part with its longest pipe so long, the others shorter in order of their lengths.

    Elbows keep their shape and angles stay true; lengths stay in proportion to nothing.
    """
    real = {member.run_number: member.length_mm for member in scene.rail.members}
    drawn = dict(zip(real, schematic_lengths_mm(list(real.values())), strict=True))
    shrink = longest_mm / max(drawn.values())
    runs = tuple(
        replace(run, length_mm=run.length_mm - real.get(run.number, 0) + shrink * drawn.get(run.number, 0))
        for run in scene.rail.path.runs
    )
    points = chain(scene.rail.path, 0, len(runs), [run.length_mm for run in runs])
    return replace(scene, path=replace(scene.rail.path, runs=runs, points_mm=points))
