"""Where a flat paper wrap comes to lie on an elbow or a pipe, and how far its trace edge is off the cut.

The paper is a net of springs over its flat outline (`paper_mesh`). Paper hardly stretches but buckles at
almost no force, so a spring resists tension with stiffness 1 and compression with a hundredth or so of it.
The wrap lies where the energy is least, with its tabs held on the shoulder of the elbow's end and its seam
taped. Nothing here comes from the product: outline in, deviation out.

Frame, as everywhere: torus axis z, girth angle phi from the heel, psi [rad] from the face that the tabs hook
over, rho = R + r cos(phi), P = (rho cos psi, rho sin psi, r sin phi). On a straight pipe (bend radius
infinite) rho is 1 mm and psi is the distance along it in mm.
"""

from dataclasses import dataclass, field

import numpy as np

from tests.benchmarks.paper_mesh import FlatPaper, Floats, Net, net_over, signed_area
from tests.benchmarks.paper_rest import Holds, relax, spring_lengths
from tests.benchmarks.paper_start import PlacementError, first_guess
from tests.benchmarks.paper_tube import Tube

__all__ = ["Options", "Placement", "PlacementError", "Tube", "place"]

#: The paper is first laid as a cloth that resists compression too, then softened by these steps: a net that
#: is slack from the start catches on itself.
SOFTENING = (1.0, 0.2)
SOFTENING_STEPS = 30


@dataclass(frozen=True)
class Options:
    """How to lay the paper.

    `spacing_mm` between nodes (default: girth / 150); `compression` is the stiffness against compression as
    a part of that against tension; `grain_rad` turns the net on the paper, which must not matter.
    `off_round_mm` and `off_along_mm` put the named tab off its mark round the girth (towards +phi) and away
    from the face.
    """

    spacing_mm: float | None = None
    compression: float = 0.015
    grain_rad: float = 0.0
    off_round_mm: dict[str, float] = field(default_factory=dict)
    off_along_mm: dict[str, float] = field(default_factory=dict)
    max_steps: int = 800


@dataclass(frozen=True)
class Placement:
    """The paper at rest on the tube.

    `phi` and `psi` (n,) belong to `net.points`. `trace_phi`, `trace_psi` and `deviation_mm` (k,) run along
    the trace edge; the deviation is along the girth line, positive away from the face. `turn_rad` is how
    much the best plane through the trace edge turns the joint in the plane of the bend (positive: throat
    side further from the face than heel side), `tilt_rad` out of that plane, `joint_error_rad` both.
    `strain` (m,) of the springs. `folded_over` triangles
    lie wrong side up: a few where paper would crease; many mean that the net is caught in a false rest.
    """

    net: Net
    phi: Floats
    psi: Floats
    trace_phi: Floats
    trace_psi: Floats
    deviation_mm: Floats
    turn_rad: float
    tilt_rad: float
    strain: Floats
    folded_over: int
    steps: int

    @property
    def joint_error_rad(self) -> float:
        """Angle between the best plane through the trace edge and the cut plane."""
        return float(np.hypot(self.turn_rad, self.tilt_rad))

    @property
    def max_deviation_mm(self) -> float:
        """Largest deviation from the cut plane, either way."""
        return float(np.abs(self.deviation_mm).max())

    @property
    def heel_minus_throat_mm(self) -> float:
        """Deviation at the heel less that at the throat."""
        heel, throat = self.deviation_at(np.array([0.0, np.pi]))
        return float(heel - throat)

    def deviation_at(self, phi_rad: Floats) -> Floats:
        """Deviation [mm] at girth angles, shape as given."""
        turns = 2 * np.pi * np.arange(-2, 3)
        phi = (self.trace_phi[:, None] + turns).ravel()
        order = np.argsort(phi)
        return np.interp(phi_rad, phi[order], np.repeat(self.deviation_mm, 5)[order])


def place(paper: FlatPaper, tube: Tube, cut_psi: float, options: Options | None = None) -> Placement:
    """Lay the paper on the tube with least strain; compare its trace edge with the plane psi = cut_psi."""
    options = options or Options()
    spacing = options.spacing_mm or 2 * np.pi * tube.tube_radius_mm / 150
    net = net_over(paper, spacing, options.grain_rad)
    holds = _holds(net, paper, tube, options)
    phi, psi = first_guess(net, paper, tube, cut_psi, holds)
    for compression in SOFTENING:
        cloth = max(compression, options.compression)
        phi, psi, _ = relax(net, tube, holds, cloth, phi, psi, SOFTENING_STEPS)
    phi, psi, steps = relax(net, tube, holds, options.compression, phi, psi, options.max_steps)
    if steps == options.max_steps:
        raise PlacementError(f"the net is not at rest after {steps} steps")
    strain = spring_lengths(net, tube, phi, psi) / net.lengths - 1.0
    trace_phi, trace_psi = phi[net.trace], psi[net.trace]
    turn, tilt = _plane_error(tube, trace_phi, trace_psi, cut_psi)
    return Placement(
        net=net,
        phi=phi,
        psi=psi,
        trace_phi=trace_phi,
        trace_psi=trace_psi,
        deviation_mm=tube.rho(trace_phi) * (trace_psi - cut_psi),
        turn_rad=turn,
        tilt_rad=tilt,
        strain=strain,
        folded_over=_folded_over(net, tube, phi, psi),
        steps=steps,
    )


def _folded_over(net: Net, tube: Tube, phi: Floats, psi: Floats) -> int:
    on_tube = signed_area(np.column_stack([tube.x_sign * phi, psi]), net.triangles)
    return int((on_tube * signed_area(net.points, net.triangles) <= 0).sum())


def _holds(net: Net, paper: FlatPaper, tube: Tube, options: Options) -> Holds:
    n = len(net.points)
    names = {fold.name for fold in paper.folds}
    unknown = (set(options.off_round_mm) | set(options.off_along_mm)) - names
    if unknown:
        raise PlacementError(f"no tab is called {', '.join(sorted(unknown))}")
    pinned, pinned_phi, fold_off = [], [], []
    for fold, nodes in zip(paper.folds, net.folds, strict=True):
        fold_off.append(np.full(len(nodes), options.off_along_mm.get(fold.name, 0.0)))
        if fold.hold_round:
            middle = np.asarray(fold.line, dtype=float)[[0, -1]].mean(axis=0)
            pinned.append(nodes[np.argmin(np.hypot(*(net.points[nodes] - middle).T))])
            pinned_phi.append(fold.phi_rad + options.off_round_mm.get(fold.name, 0.0) / tube.tube_radius_mm)
    same = np.arange(n)
    same[net.seam[:, 1]] = net.seam[:, 0]
    ahead = np.zeros(n)
    ahead[net.seam[:, 1]] = 2 * np.pi * _seam_sign(net, tube)
    on_fold = np.isin(np.arange(n), np.concatenate(net.folds))
    phi_held, psi_held = np.isin(np.arange(n), pinned), on_fold
    free = np.concatenate([np.flatnonzero((same == np.arange(n)) & ~held) for held in (phi_held, psi_held)])
    split_at = int(((same == np.arange(n)) & ~phi_held).sum())
    phi_free, psi_free = np.full(n, -1), np.full(n, -1)
    phi_free[free[:split_at]] = np.arange(split_at)
    psi_free[free[split_at:]] = np.arange(split_at, len(free))
    return Holds(
        phi_free=phi_free[same],
        psi_free=psi_free[same],
        count=len(free),
        phi_ahead=ahead,
        fold=np.concatenate(net.folds),
        fold_off=np.concatenate(fold_off),
        pinned=np.array(pinned, dtype=np.int64),
        pinned_phi=np.array(pinned_phi),
    )


def _seam_sign(net: Net, tube: Tube) -> int:
    """+1 where the second seam edge lies a turn ahead of the first in phi."""
    if not len(net.seam):
        return 1
    one, other = net.points[net.seam[0]]
    return tube.x_sign * int(np.sign(other[0] - one[0]))


def _plane_error(tube: Tube, phi: Floats, psi: Floats, cut_psi: float) -> tuple[float, float]:
    """In-plane turn and out-of-plane tilt [rad] of the best plane through points, against the cut plane."""
    points = tube.in_space(phi, psi)
    if tube.straight:
        radial, normal = np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])
    else:
        radial = np.array([np.cos(cut_psi), np.sin(cut_psi), 0.0])
        normal = np.array([-np.sin(cut_psi), np.cos(cut_psi), 0.0])
    _, _, axes = np.linalg.svd(points - points.mean(axis=0), full_matrices=False)
    found = axes[2] * np.sign(axes[2] @ normal)
    return float(np.arctan2(found @ radial, found @ normal)), float(np.arctan2(found[2], found @ normal))
