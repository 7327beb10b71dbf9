"""A part of a rail as it is seen in one view: where its points and its metal stand on the paper."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely

from render.pages.drawing import Drawing, Point, drawing
from render.sheets.fit_up_scene import Scene
from render.sheets.metal_outline import shadow, visible_outlines
from render.sheets.rail_views import View
from templates_core.paths.directions import Vector


@dataclass(frozen=True, eq=False)
class Look:
    """A scene in a view; what is worked out of it once serves every try to write on it."""

    scene: Scene
    view: View

    @cached_property
    def _shadows(self) -> list[shapely.Polygon]:
        return [shadow(tube, self.view, self.scene.scale) for tube in self.scene.tubes]

    @cached_property
    def metal(self) -> shapely.Geometry:
        """All that the tubes cover of the paper."""
        return shapely.union_all(self._shadows)

    @cached_property
    def outlines(self) -> Drawing:
        """The outlines of the tubes, nearer ones before others."""
        return drawing(visible_outlines(self.scene.tubes, self._shadows, self.view, self.scene.scale))

    @cached_property
    def middle(self) -> Point:
        """The middle of the drawing."""
        points = self.seen_all(np.vstack([tube.centres_mm for tube in self.scene.tubes]))
        x, y = (points.min(axis=0) + points.max(axis=0)) / 2
        return float(x), float(y)

    @cached_property
    def half_mm(self) -> float:
        """Half the width of a pipe on the paper."""
        return self.scene.radius_mm * self.scene.scale

    def seen_all(self, points_mm: Vector) -> Vector:
        """Points of the metal, shape (n, 3), as they lie on the paper, shape (n, 2)."""
        return np.asarray(points_mm @ np.column_stack([self.view.right, self.view.up]) * self.scene.scale)

    def seen(self, point_mm: Vector) -> Point:
        """A point of the metal as it lies on the paper."""
        x, y = self.seen_all(point_mm)
        return float(x), float(y)

    def away(self, ends: Sequence[Point]) -> Point:
        """From the middle of the drawing to that of two points."""
        x, y = self.middle
        return sum(p[0] for p in ends) / 2 - x, sum(p[1] for p in ends) / 2 - y

    def bearing(self, along: Vector) -> float | None:
        """Which way a unit direction goes on the paper; None where it is seen end on."""
        x, y = float(along @ self.view.right), float(along @ self.view.up)
        return math.atan2(y, x) if math.hypot(x, y) > 0.02 else None
