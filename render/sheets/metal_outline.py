"""What is seen of tubes in space from one side: their outlines on the paper, nearer ones before others."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

import numpy as np
import shapely

from render.pages.drawing import Pen, Point, Polyline
from render.sheets.rail_views import View
from templates_core.fitting_up.tubes import Tube
from templates_core.paths.directions import Vector

_LEAST_MM2 = 1e-3
"""Shadows that overlap by less only touch [mm² on the paper]."""
_LEAST_HOLE_MM2 = 0.3
"""Smaller ones are where the chords of a bend don't quite meet."""
_SIMPLE_MM = 0.004
"""How far a drawn outline may leave the one worked out."""


def shadow(tube: Tube, view: View, scale: float) -> shapely.Polygon:
    """All that a tube covers of the paper, in mm of the paper at so many of them a mm of metal.

    A bend covers all that is nearer to its centreline than its radius, and towards its ends what lies between
    one ring and the next.
    """
    axes = np.column_stack([view.right, view.up]) * scale
    rings, middles = tube.rings_mm @ axes, tube.centres_mm @ axes
    pairs = np.concatenate([rings[:-1], rings[1:]], axis=1)
    if len(pairs) > 4:
        pairs = pairs[[0, 1, -2, -1]]
    covered = list(shapely.convex_hull(shapely.multipoints(pairs)))
    if len(covered) == 1:
        return covered[0]
    if len(rings) > 5:
        radius_mm = scale * float(np.linalg.norm(tube.rings_mm[2, 0] - tube.centres_mm[2]))
        covered.append(shapely.LineString(middles[1:-1]).buffer(radius_mm, cap_style="flat"))
    whole = shapely.union_all(covered)
    if not isinstance(whole, shapely.Polygon):
        return whole.convex_hull
    holes = [ring for ring in whole.interiors if shapely.Polygon(ring).area > _LEAST_HOLE_MM2]
    return shapely.Polygon(whole.exterior, holes)


def visible_outlines(
    tubes: Sequence[Tube], shadows: Sequence[shapely.Polygon], view: View, scale: float
) -> Iterator[Polyline]:
    """The outline of each tube where no nearer one stands before it."""
    lines = [shadow.boundary for shadow in shadows]
    towards = view.towards
    for one, two in combinations(range(len(tubes)), 2):
        if not shadows[one].intersects(shadows[two]):
            continue
        both = shadows[one].intersection(shadows[two])
        if both.area < _LEAST_MM2:
            continue
        at = np.array(both.representative_point().coords[0])
        depths = [_depth(tubes[k], view, towards, scale, at) for k in (one, two)]
        if abs(depths[0] - depths[1]) < 1e-6:
            continue
        near, far = (one, two) if depths[0] > depths[1] else (two, one)
        lines[far] = lines[far].difference(shadows[near].buffer(-1e-4))
    for line in lines:
        yield from _polylines(line)


def _depth(tube: Tube, view: View, towards: Vector, scale: float, at: Vector) -> float:
    """How near to the viewer a tube's centreline comes where it is seen nearest to a point."""
    starts, steps = tube.centres_mm[:-1] * scale, np.diff(tube.centres_mm, axis=0) * scale
    seen = np.column_stack([starts @ view.right, starts @ view.up])
    along = np.column_stack([steps @ view.right, steps @ view.up])
    shares = ((at - seen) * along).sum(axis=1) / np.maximum((along * along).sum(axis=1), 1e-12)
    shares = np.clip(shares, 0, 1)
    away = np.linalg.norm(seen + shares[:, None] * along - at, axis=1)
    best = int(away.argmin())
    return float((starts[best] + shares[best] * steps[best]) @ towards)


def _polylines(geometry: shapely.Geometry) -> Iterator[Polyline]:
    if isinstance(geometry, shapely.MultiLineString):
        geometry = shapely.line_merge(geometry)
    for line in shapely.get_parts(geometry):
        points = [_point(p) for p in line.simplify(_SIMPLE_MM).coords]
        closed = len(points) > 3 and points[0] == points[-1]
        if len(points) > 1:
            yield Polyline(tuple(points[:-1] if closed else points), Pen.OBJECT, closed)


def _point(coords: Sequence[float]) -> Point:
    return float(coords[0]), float(coords[1])
