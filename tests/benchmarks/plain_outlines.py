"""Outlines to lay on an elbow, drawn here from first principles and for the benchmarks only."""

from dataclasses import dataclass

import numpy as np
import shapely

from tests.benchmarks.paper_mesh import FlatPaper, Floats, TabFold
from tests.benchmarks.paper_placement import Tube


def plain_strip(tube_radius_mm: float, length_mm: float, slits: tuple[Floats, ...] = ()) -> FlatPaper:
    """A rectangle once round a straight pipe, its lower edge held on the pipe's end."""
    return _sheet(np.array([[-1.0, 1.0], [1.0, 1.0]]) * [np.pi * tube_radius_mm, length_mm], slits)


def usual_flat_sheet(tube: Tube, cut_psi: float) -> FlatPaper:
    """The sheet y = psi (R + r cos phi) over x = r phi, seam at the throat, held all along y = 0."""
    phi = np.linspace(-np.pi, np.pi, 361)
    return _sheet(np.column_stack([tube.tube_radius_mm * phi, cut_psi * tube.rho(phi)]))


def _sheet(trace: Floats, slits: tuple[Floats, ...] = ()) -> FlatPaper:
    base = trace[[0, -1]] * [1.0, 0.0]
    return FlatPaper(
        outline=shapely.Polygon(np.vstack([trace, base[::-1]])),
        trace_edge=trace,
        folds=(TabFold("face", base, 0.0),),
        slits=slits,
        seam=(np.vstack([trace[0], base[0]]), np.vstack([trace[-1], base[1]])),
    )


@dataclass(frozen=True)
class CollarShape:
    """A collar with stays for a tube located from face B, so that x grows with phi.

    `stays`: name, girth angle [rad], width and extra length [mm]. `slit_every_mm` 0 leaves the collar whole.
    `with_allowance` bends the trace edge by kappa = -K h / 2 (K the surface's curvature, h the bridge;
    positive where the edge bends away from the face), so that the bridge's two sides both fit; it cuts slits
    at the flanks of the stays too.
    """

    collar_mm: float
    bridge_mm: float
    slit_every_mm: float
    stays: tuple[tuple[str, float, float, float], ...]
    with_allowance: bool = False
    seam_rad: float = np.radians(135.0)


def collar_wrap(tube: Tube, cut_psi: float, shape: CollarShape) -> FlatPaper:
    """Draw the collar along its trace edge, the stays down to the shoulder, and the slits.

    Folds are square to their stay, which is right for a tube without a bevel (shoulder 0).
    """
    edge = _TraceEdge.drawn(tube, shape)
    phi = np.linspace(shape.seam_rad - 2 * np.pi, shape.seam_rad, 1441)
    trace, inner = edge.below(phi, 0.0), edge.below(phi, shape.collar_mm)
    parts, folds = [shapely.Polygon(np.vstack([trace, inner[::-1]]))], []
    for name, phi_stay, width, extra in shape.stays:
        right, left = _stay_sides(tube, cut_psi, edge, phi_stay, width, extra)
        root = int(np.searchsorted(np.hypot(*(right - right[0]).T), 0.6 * shape.collar_mm))
        parts.append(shapely.Polygon(np.vstack([right[root:], left[root:][::-1]])))
        folds.append(TabFold(name, np.vstack([left[-1], right[-1]]), phi_stay, not name.startswith("side")))
    ends = [np.vstack([trace[k], inner[k]]) for k in (0, -1)]
    slits = tuple(
        np.vstack([edge.below(at, shape.collar_mm), edge.below(at, shape.bridge_mm)])
        for at in _slit_angles(tube, shape)
    )
    return FlatPaper(shapely.union_all(parts), trace, tuple(folds), slits, (ends[0], ends[1]))


@dataclass(frozen=True)
class _TraceEdge:
    """The trace edge in the flat: points and direction [rad] at girth angles, heel at the origin."""

    phi: Floats
    points: Floats
    heading: Floats

    @classmethod
    def drawn(cls, tube: Tube, shape: CollarShape) -> "_TraceEdge":
        r, phi = tube.tube_radius_mm, np.linspace(shape.seam_rad - 2 * np.pi, shape.seam_rad, 5761)
        curvature = np.cos(phi) / (r * tube.rho(phi)) * shape.bridge_mm / 2 * shape.with_allowance
        heading = _summed(-curvature * r, phi)
        points = r * np.column_stack([_summed(np.cos(heading), phi), _summed(np.sin(heading), phi)])
        return cls(phi, points, heading)

    def below(self, phi: Floats | float, depth_mm: float) -> Floats:
        """Points at a depth towards the face, square to the edge."""
        heading = np.interp(phi, self.phi, self.heading)
        x, y = (np.interp(phi, self.phi, self.points[:, k]) for k in (0, 1))
        return np.stack([x + depth_mm * np.sin(heading), y - depth_mm * np.cos(heading)], axis=-1)


def _summed(slope: Floats, phi: Floats) -> Floats:
    """Integral over phi, 0 at the heel (trapezoids)."""
    total = np.append(0.0, np.cumsum((slope[1:] + slope[:-1]) / 2 * np.diff(phi)))
    return np.asarray(total - np.interp(0.0, phi, total))


def _stay_sides(
    tube: Tube, cut_psi: float, edge: _TraceEdge, phi: float, width: float, extra: float
) -> tuple[Floats, Floats]:
    """Right and left side of a stay, trace edge to shoulder; it bends to the throat by sin(phi) / rho."""
    rho = float(tube.rho(np.array(phi)))
    length = rho * (cut_psi - float(tube.shoulder_psi(np.array(phi)))) + extra
    along = np.linspace(0.0, length, int(length / 0.25) + 3)
    heading = np.interp(phi, edge.phi, edge.heading) - np.pi / 2 + np.sin(phi) / rho * along
    step = np.diff(along)[:, None] * np.column_stack(
        [np.cos((heading[1:] + heading[:-1]) / 2), np.sin((heading[1:] + heading[:-1]) / 2)]
    )
    centre = edge.below(phi, 0.0) + np.vstack([[0.0, 0.0], np.cumsum(step, axis=0)])
    across = np.column_stack([-np.sin(heading), np.cos(heading)]) * width / 2
    return centre + across, centre - across


def _slit_angles(tube: Tube, shape: CollarShape) -> Floats:
    """Evenly over the girth, clear of the stays' roots; with the allowance also at the stays' flanks."""
    if not shape.slit_every_mm:
        return np.empty(0)
    r, low = tube.tube_radius_mm, shape.seam_rad - 2 * np.pi
    count = round(2 * np.pi * r / shape.slit_every_mm)
    angles = low + 2 * np.pi * (np.arange(count) + 0.5) / count
    for _, phi, width, _ in shape.stays:
        half, apart = width / 2 / r, np.abs((angles - phi + np.pi) % (2 * np.pi) - np.pi)
        angles = angles[apart > half + (0.25 * shape.slit_every_mm / r if shape.with_allowance else 0.01)]
        if shape.with_allowance:
            flanks = np.array([phi - half, phi + half])
            angles = np.append(angles, (flanks - low) % (2 * np.pi) + low)
    return np.sort(angles)
