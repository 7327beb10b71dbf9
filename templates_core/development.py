"""A curve on a surface laid flat with its length and its geodesic curvature kept (Cartan development).

On a tube with ds² = (r dphi)² + (scale dstation)² let alpha be the angle from the direction of growing phi to
the curve's direction. Liouville's formula gives the geodesic curvature

    kappa_g ds = d alpha - sin phi d psi        (the last term on the arc only),

so a flat curve of that curvature has the heading beta = alpha - ∫ sin phi d psi. One formula serves
torus, tangent and cylinder. Source: do Carmo, Differential Geometry of Curves and Surfaces, section 4-4
(from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from templates_core.section import SurfaceCurve
from templates_core.surfaces import Array, Tube

CHORD_TOLERANCE_MM = 0.01
_NODES = 6
_LEAST_PANELS = 8
_MOST_ROUNDS = 12
_SAME = 1e-12
"""Stops nearer than this are one: a rounding error, of a parameter in radians or mm."""
_ESTIMATED = 1.05
"""A chord's sagitta, worked out from one bend a panel, may be this much under the true one."""


@dataclass(frozen=True)
class FlatCurve:
    """A developed curve; row i is the curve at parameter[i].

    parameter, girth_rad, station_mm, heading_rad: shape (n,).  points_mm: shape (n, 2), the flat x axis
    along growing girth angle at the start.  Heading is anticlockwise from flat x.
    """

    parameter: Array
    girth_rad: Array
    station_mm: Array
    points_mm: Array
    heading_rad: Array

    def index(self, parameter: float) -> int:
        """Row of a parameter that was asked for as a stop."""
        return int(np.argmin(np.abs(self.parameter - parameter)))


def develop(
    tube: Tube,
    curve: SurfaceCurve,
    stops: Sequence[float] = (),
    chord_tolerance_mm: float = CHORD_TOLERANCE_MM,
    extra_curvature: Callable[[Array, Array], Array] | None = None,
) -> FlatCurve:
    """Lay a curve flat, starting at the origin with its own heading there.

    stops: parameters that must be among the rows, besides both ends and the joins.
    chord_tolerance_mm: largest distance between the curve and its chords from row to row.
    extra_curvature: added geodesic curvature [1/mm] by girth angle and station, for a sheet that is meant
    to be laid bent; None for the true development.
    """
    marks = _in_order(curve, stops)
    longest = (marks[-1] - marks[0]) / _LEAST_PANELS
    panels = np.maximum(1, np.ceil(np.diff(marks) / longest)).astype(int)
    for _ in range(_MOST_ROUNDS):
        flat, sagitta = _integrate(tube, curve, _split(marks, panels), extra_curvature)
        worst = np.maximum.reduceat(sagitta, np.cumsum(panels) - panels)
        worst = _ESTIMATED * worst
        if np.all(worst <= chord_tolerance_mm):
            return flat
        panels = np.ceil(panels * np.sqrt(np.maximum(1.0, 1.02 * worst / chord_tolerance_mm))).astype(int)
    raise AssertionError("a smooth curve meets its chord tolerance after a few rounds")


def _in_order(curve: SurfaceCurve, stops: Sequence[float]) -> list[float]:
    marks = sorted({*stops, *curve.joins, curve.start, curve.end})
    if marks[0] < curve.start or marks[-1] > curve.end:
        raise ValueError(
            f"stops from {marks[0]} to {marks[-1]} leave the curve ({curve.start} to {curve.end})"
        )
    inner = [mark for before, mark in pairwise(marks) if mark - before > _SAME and marks[-1] - mark > _SAME]
    return [marks[0], *inner, *marks[1:][-1:]]


def _split(marks: list[float], panels: NDArray[np.int_]) -> Array:
    """The marks with each interval parted evenly into its number of panels."""
    start = np.repeat(marks[:-1], panels)
    step = np.repeat(np.diff(marks) / panels, panels)
    number = np.arange(len(start)) - np.repeat(np.cumsum(panels) - panels, panels)
    return np.append(start + number * step, marks[-1])


@cache
def _gauss() -> tuple[Array, Array, Array]:
    """Gauss-Legendre nodes and weights on [0, 1], and the matrix that integrates up to each node."""
    x, w = np.polynomial.legendre.leggauss(_NODES)
    nodes, weights = (x + 1) / 2, w / 2
    powers = np.vander(nodes, increasing=True)
    integrals = np.stack([nodes ** (k + 1) / (k + 1) for k in range(_NODES)], axis=1)
    return nodes, weights, integrals @ np.linalg.inv(powers)


def _integrate(
    tube: Tube,
    curve: SurfaceCurve,
    nodes: Array,
    extra: Callable[[Array, Array], Array] | None,
) -> tuple[FlatCurve, Array]:
    """Rows at the given parameters by panel-wise Gauss quadrature, and each panel's sagitta [mm]."""
    at, weights, up_to = _gauss()
    step = np.diff(nodes)
    inner = nodes[:-1, None] + step[:, None] * at
    phi, station, dphi, dstation = (v.reshape(inner.shape) for v in curve.at(inner.ravel()))
    across, along = tube.radius_mm * dphi, tube.axial_scale(phi, station) * dstation
    speed = np.hypot(across, along)
    turn_rate = -np.sin(phi) * tube.sweep_rate(station) * dstation
    if extra is not None:
        turn_rate = turn_rate + extra(phi, station) * speed
    per_panel = (turn_rate @ weights) * step
    turned = np.concatenate([[0.0], np.cumsum(per_panel)])
    direction = np.unwrap(np.arctan2(along, across), axis=1)
    heading = direction + turned[:-1, None] + (turn_rate @ up_to.T) * step[:, None]
    moves = np.stack([(speed * np.cos(heading)) @ weights, (speed * np.sin(heading)) @ weights], axis=1)
    points = np.concatenate([np.zeros((1, 2)), np.cumsum(moves * step[:, None], axis=0)])

    phi_n, station_n, dphi_n, dstation_n = curve.at(nodes)
    alpha = np.arctan2(tube.axial_scale(phi_n, station_n) * dstation_n, tube.radius_mm * dphi_n)
    flat = FlatCurve(nodes, phi_n, station_n, points, alpha + turned)
    bend = np.ptp(heading, axis=1) / (at[-1] - at[0])
    return flat, bend * (speed @ weights) * step / 8
