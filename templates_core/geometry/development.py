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

from templates_core.geometry.section import SurfaceCurve
from templates_core.geometry.surfaces import Array, Tube

CHORD_TOLERANCE_MM = 0.01
_NODES = 6
_LEAST_PANELS = 8
_MOST_ROUNDS = 12
_SAME = 1e-12
"""Stops nearer than this are one: a rounding error, of a parameter in radians or mm."""
_PARTS = 16
_SAMPLED = 1.02
"""How far the curve leaves a chord, taken at so many even parts, may be this much under the most."""


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
        flat, off_chord = _integrate(tube, curve, _split(marks, panels), extra_curvature)
        worst = _SAMPLED * np.maximum.reduceat(off_chord, np.cumsum(panels) - panels)
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
def _gauss() -> tuple[Array, Array, Array, Array]:
    """Gauss-Legendre nodes and weights on [0, 1]; what integrates up to each node, and to each even part."""
    x, w = np.polynomial.legendre.leggauss(_NODES)
    nodes, weights = (x + 1) / 2, w / 2
    coefficients = np.linalg.inv(np.vander(nodes, increasing=True))

    def up_to(ends: Array) -> Array:
        return np.stack([ends ** (k + 1) / (k + 1) for k in range(_NODES)], axis=1) @ coefficients

    return nodes, weights, up_to(nodes), up_to(np.arange(1, _PARTS) / _PARTS)


def _integrate(
    tube: Tube,
    curve: SurfaceCurve,
    nodes: Array,
    extra: Callable[[Array, Array], Array] | None,
) -> tuple[FlatCurve, Array]:
    """Rows at the given parameters by Gauss quadrature, and how far each panel leaves its chord [mm]."""
    at, weights, up_to, to_parts = _gauss()
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
    velocity = speed * np.exp(1j * heading)  # x + iy
    moves = (velocity @ weights) * step
    points = np.concatenate([[0.0], np.cumsum(moves)])

    phi_n, station_n, dphi_n, dstation_n = curve.at(nodes)
    alpha = np.arctan2(tube.axial_scale(phi_n, station_n) * dstation_n, tube.radius_mm * dphi_n)
    flat = FlatCurve(nodes, phi_n, station_n, np.stack([points.real, points.imag], axis=1), alpha + turned)
    along_chord = moves / np.maximum(np.abs(moves), np.finfo(float).tiny)
    parts = (velocity @ to_parts.T) * step[:, None] * along_chord.conj()[:, None]
    return flat, np.max(np.abs(parts.imag), axis=1)
