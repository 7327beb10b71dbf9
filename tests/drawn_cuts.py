"""Tubes and planes for tests to draw, and the tube's shape written down a second time, point by point."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from hypothesis import reject, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from templates_core.errors import GeometryError
from templates_core.geometry.section import Plane, SurfaceCurve, section, tilted_plane
from templates_core.geometry.surfaces import Tube

Array = NDArray[np.float64]
SEEDED = settings(derandomize=True, deadline=None, max_examples=30, database=None)


@dataclass(frozen=True)
class Cut:
    """A plane cut that was drawn: near_mm is the station at which the plane passes the centreline."""

    tube: Tube
    plane: Plane
    near_mm: float
    curve: SurfaceCurve


@st.composite
def tubes(draw: st.DrawFn, with_tangents: bool = True) -> Tube:
    """Elbows of NPS 1/2 to 12: bend radius 1.5 to 6 tube radii, sweep 30° to 180°."""
    radius = draw(st.floats(10, 165))
    bend = radius * draw(st.floats(1.5, 6))
    sweep = math.radians(draw(st.floats(30, 180)))
    tangents = st.sampled_from([0.0, 0.3, 1.0, 2.0]) if with_tangents else st.just(0.0)
    return Tube(radius, bend, sweep, radius * draw(tangents), radius * draw(tangents))


@st.composite
def cuts(draw: st.DrawFn, with_tangents: bool = True) -> Cut:
    """A plane leaning any way, up to as far as the fitting has room for."""
    tube = draw(tubes(with_tangents))
    anywhere = tube.length_mm * draw(st.floats(0.1, 0.9))
    joins = [mm for mm in (tube.arc_start_mm, tube.arc_end_mm) if 0 < mm < tube.length_mm]
    near = draw(st.sampled_from([anywhere, *joins]))
    room = min(near, tube.length_mm - near) / tube.radius_mm
    lean = min(room, 2.0) * draw(st.integers(20, 110)) / 100
    towards = draw(st.integers(-180, 180).map(math.radians))
    plane = tilted_plane(tube, near, math.atan(lean * math.cos(towards)), math.atan(lean * math.sin(towards)))
    try:
        return Cut(tube, plane, near, section(tube, plane, near))
    except GeometryError:
        reject()


def place(tube: Tube, phi: float, mm: float) -> Array:
    """The point of a tube at girth angle phi and station mm: a circle carried along the line."""
    turned = min(max(mm - tube.tangent_a_mm, 0.0) / tube.bend_radius_mm, tube.sweep_rad)
    spin = np.array(
        [[math.cos(turned), -math.sin(turned), 0], [math.sin(turned), math.cos(turned), 0], [0, 0, 1]]
    )
    before = min(mm - tube.tangent_a_mm, 0.0)
    after = max(mm - tube.tangent_a_mm - tube.bend_radius_mm * tube.sweep_rad, 0.0)
    in_face = [tube.bend_radius_mm + tube.radius_mm * math.cos(phi), before + after]
    return np.asarray(spin @ [*in_face, tube.radius_mm * math.sin(phi)])
