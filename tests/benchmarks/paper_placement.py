"""Where a flat paper wrap comes to lie on an elbow or a pipe, and how far its trace edge is off the cut.

The paper is a net of springs over its flat outline (`paper_mesh`). Paper hardly stretches but buckles at
almost no force, so a spring resists tension with stiffness 1 and compression with a hundredth or so of it.
The wrap lies where the energy is least, with its tabs held on the shoulder of the elbow's end and its seam
taped. Nothing here comes from the product: outline in, deviation out.

Frame, as everywhere: torus axis z, girth angle phi from the heel, psi [rad] from the face that the tabs hook
over, rho = R + r cos(phi), P = (rho cos psi, rho sin psi, r sin phi). On a straight pipe (bend radius
infinite) rho is 1 mm and psi is the distance along it in mm.
"""

from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse import coo_array, csc_array, diags_array
from scipy.sparse.linalg import splu

from tests.benchmarks.paper_mesh import FlatPaper, Floats, Ints, Net, TabFold, net_over, signed_area

Bools = NDArray[np.bool_]

#: The net is at rest when no node moves further than this in a step [mm].
AT_REST_MM = 2e-5
#: The paper is first laid as a cloth that resists compression too, then softened by these steps: a net that
#: is slack from the start catches on itself.
SOFTENING = (1.0, 0.2)


class PlacementError(Exception):
    """The paper can't be laid on the tube; the message says why."""


@dataclass(frozen=True)
class Tube:
    """The elbow (or, with an infinite bend radius, the pipe) that the paper is laid on.

    `shoulder_mm` is how far behind the face plane the edge lies that tabs hook over. The paper lies printed
    side out with the face down: left to right is -phi seen so from face A, +phi from face B.
    """

    bend_radius_mm: float
    tube_radius_mm: float
    shoulder_mm: float = 0.0
    face: str = "A"

    @property
    def straight(self) -> bool:
        """Whether this is a straight pipe."""
        return bool(np.isinf(self.bend_radius_mm))

    @property
    def x_sign(self) -> int:
        """+1 where phi grows to the right on the paper, -1 where it grows to the left."""
        return {"A": -1, "B": 1}[self.face]

    def rho(self, phi: Floats) -> Floats:
        """Millimetres along the girth line per unit of psi."""
        if self.straight:
            return np.ones_like(phi)
        return np.asarray(self.bend_radius_mm + self.tube_radius_mm * np.cos(phi))

    def rho_slope(self, phi: Floats) -> Floats:
        """d rho / d phi."""
        return np.zeros_like(phi) if self.straight else np.asarray(-self.tube_radius_mm * np.sin(phi))

    def shoulder_psi(self, phi: Floats) -> Floats:
        """Psi of the shoulder circle: the section by the plane at `shoulder_mm` behind the face."""
        if self.straight:
            return np.full_like(phi, self.shoulder_mm)
        return np.asarray(np.arcsin(self.shoulder_mm / self.rho(phi)))

    def shoulder_slope(self, phi: Floats) -> Floats:
        """d shoulder_psi / d phi."""
        if self.straight:
            return np.zeros_like(phi)
        rho, b = self.rho(phi), self.shoulder_mm
        return np.asarray(-b * self.rho_slope(phi) / (rho * np.sqrt(rho**2 - b**2)))

    def in_space(self, phi: Floats, psi: Floats) -> Floats:
        """Points in space, shape (n, 3)."""
        r = self.tube_radius_mm
        if self.straight:
            return np.column_stack([r * np.cos(phi), psi, r * np.sin(phi)])
        rho = self.rho(phi)
        return np.column_stack([rho * np.cos(psi), rho * np.sin(psi), r * np.sin(phi)])


@dataclass(frozen=True)
class Options:
    """How to lay the paper.

    `spacing_mm` between nodes (default: girth / 150); `compression` is the stiffness against compression as
    a part of that against tension; `grain_rad` turns the net on the paper, which must not matter; `off_round_mm` and `off_along_mm` put the named tab off its mark round the
    girth (towards +phi) and away from the face.
    """

    spacing_mm: float | None = None
    compression: float = 0.015
    grain_rad: float = 0.0
    off_round_mm: dict[str, float] = field(default_factory=dict)
    off_along_mm: dict[str, float] = field(default_factory=dict)
    max_steps: int = 300


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
    """Lay the paper on the tube with least strain, and compare its trace edge with the plane psi = cut_psi."""
    options = options or Options()
    spacing = options.spacing_mm or 2 * np.pi * tube.tube_radius_mm / 150
    net = net_over(paper, spacing, options.grain_rad)
    holds = _holds(net, paper, tube, options)
    phi, psi = _first_guess(net, paper, tube, cut_psi, holds)
    steps = 0
    for compression in (*(c for c in SOFTENING if c > options.compression), options.compression):
        softened = replace(options, compression=compression)
        phi, psi, more = _relax(net, tube, holds, softened, phi, psi)
        steps += more
    strain = _spring_lengths(net, tube, phi, psi) / net.lengths - 1.0
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


@dataclass(frozen=True)
class _Holds:
    """Which coordinates are free, and what the others follow.

    Free coordinates are numbered; `phi_free` and `psi_free` (n,) give each node's, -1 where it is held.
    Nodes taped at the seam have the same numbers, and `phi_ahead` (n,) is 0 or a whole turn. Nodes in `fold`
    follow the shoulder circle, `fold_off` (n,) mm beyond it; `pinned` nodes stay at `pinned_phi`.
    """

    phi_free: Ints
    psi_free: Ints
    count: int
    phi_ahead: Floats
    fold: Ints
    fold_off: Floats
    pinned: Ints
    pinned_phi: Floats


def _holds(net: Net, paper: FlatPaper, tube: Tube, options: Options) -> _Holds:
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
    return _Holds(
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


def _first_guess(
    net: Net, paper: FlatPaper, tube: Tube, cut_psi: float, holds: _Holds
) -> tuple[Floats, Floats]:
    """Trace edge and folds about where they belong, and the rest drawn out evenly between them."""
    phi, psi = np.zeros(len(net.points)), np.zeros(len(net.points))
    known: Bools = np.zeros(len(net.points), dtype=bool)
    heel = next((k for k, fold in enumerate(paper.folds) if abs(fold.phi_rad) < 1e-6), 0)
    heel_fold = np.asarray(paper.folds[heel].line, dtype=float)
    heel_x = heel_fold[[0, -1], 0].mean()
    trace = net.points[net.trace]
    girth = np.append(0.0, np.cumsum(np.hypot(*np.diff(trace, axis=0).T)))
    direction = tube.x_sign * np.sign(trace[-1, 0] - trace[0, 0])
    at_heel = girth[np.argmin(np.abs(trace[:, 0] - heel_x))]
    along_trace, depth = _beside(trace, net.points)
    phi[net.trace] = paper.folds[heel].phi_rad + direction * (girth - at_heel) / tube.tube_radius_mm
    psi[net.trace] = cut_psi
    known[net.trace] = True
    for fold, nodes in zip(paper.folds, net.folds, strict=True):
        ends = np.asarray(fold.line, dtype=float)[[0, -1]]
        ends = ends if (ends[1, 0] - ends[0, 0]) * tube.x_sign > 0 else ends[::-1]
        along = (net.points[nodes] - ends.mean(axis=0)) @ (ends[1] - ends[0]) / np.hypot(*(ends[1] - ends[0]))
        phi[nodes] = fold.phi_rad + along / tube.tube_radius_mm
        psi[nodes] = tube.shoulder_psi(phi[nodes])
        known[nodes] = True
    _check_hand(net, paper, phi, tube)
    unknown = np.flatnonzero(~known)
    i, j = net.springs.T
    ones = np.ones(len(net.springs))
    links = coo_array((np.append(ones, ones), (np.append(i, j), np.append(j, i))), shape=(len(phi),) * 2)
    graph = csc_array(diags_array(np.asarray(links.sum(axis=0)).ravel()) - links)
    rest = _factored(csc_array(graph[unknown][:, unknown]))
    reach = csc_array(graph[unknown][:, np.flatnonzero(known)])
    unrolled = paper.folds[heel].phi_rad + direction * (along_trace - at_heel) / tube.tube_radius_mm
    shifted = cut_psi - depth / tube.rho(unrolled)
    phi[unknown] = unrolled[unknown] + rest.solve(-reach @ (phi - unrolled)[known])
    psi[unknown] = shifted[unknown] + rest.solve(-reach @ (psi - shifted)[known])
    return _bound(phi, psi, tube, holds)


def _beside(line: Floats, points: Floats) -> tuple[Floats, Floats]:
    """How far along the line, run on straight at both ends, and how far beside it the points are [mm]."""
    reach = np.hypot(*np.ptp(points, axis=0))
    ends = [line[0] - line[1], line[-1] - line[-2]]
    ends = [reach * end / np.hypot(*end) for end in ends]
    path = shapely.LineString(np.vstack([line[0] + ends[0], line, line[-1] + ends[1]]))
    at = shapely.points(points)
    return np.asarray(path.project(at)) - reach, np.asarray(shapely.distance(path, at))


def _check_hand(net: Net, paper: FlatPaper, phi: Floats, tube: Tube) -> None:
    """Refuse a paper whose tabs stand in the mirrored order for its face."""
    x = np.array([net.points[nodes, 0].mean() for nodes in net.folds])
    phi_at = np.array([fold.phi_rad for fold in paper.folds])
    if len(x) > 2 and np.corrcoef(x, phi_at)[0, 1] * tube.x_sign < 0:
        raise PlacementError(f"the wrap is mirrored: its tabs stand in the wrong order for face {tube.face}")


def _bound(phi: Floats, psi: Floats, tube: Tube, holds: _Holds) -> tuple[Floats, Floats]:
    """Move held nodes to where they are held; taped nodes take the place of the first of their pair."""
    phi, psi = phi.copy(), psi.copy()
    phi[holds.pinned] = holds.pinned_phi
    free = np.empty(holds.count)
    home = holds.phi_ahead == 0.0
    for coordinate, number in ((phi, holds.phi_free), (psi, holds.psi_free)):
        own = home & (number >= 0)
        free[number[own]] = coordinate[own]
    return _expanded(free, phi, psi, tube, holds)


def _expanded(
    free: Floats, phi: Floats, psi: Floats, tube: Tube, holds: _Holds
) -> tuple[Floats, Floats]:
    phi = np.where(holds.phi_free >= 0, free[holds.phi_free] + holds.phi_ahead, phi)
    psi = np.where(holds.psi_free >= 0, free[holds.psi_free], psi)
    at = phi[holds.fold]
    psi[holds.fold] = tube.shoulder_psi(at) + holds.fold_off / tube.rho(at)
    return phi, psi


def _spring_lengths(net: Net, tube: Tube, phi: Floats, psi: Floats) -> Floats:
    """Geodesic lengths [mm] on the tube, by the metric at each spring's middle (exact on a pipe)."""
    (i, j), r = net.springs.T, tube.tube_radius_mm
    rho = tube.rho((phi[i] + phi[j]) / 2)
    return np.asarray(np.hypot(r * (phi[j] - phi[i]), rho * (psi[j] - psi[i])))


def _relax(
    net: Net, tube: Tube, holds: _Holds, options: Options, phi: Floats, psi: Floats
) -> tuple[Floats, Floats, int]:
    """Damped Gauss-Newton with the pull's own sideways stiffness, until the net is at rest."""
    damping, energy = 1e-3, _energy(net, tube, options, phi, psi)
    for step in range(1, options.max_steps + 1):
        gradient, stiffness = _system(net, tube, holds, options, phi, psi)
        while True:
            scaled = csc_array(stiffness + damping * diags_array(stiffness.diagonal()))
            move = -_factored(scaled).solve(gradient)
            trial = _moved(move, phi, psi, tube, holds)
            trial_energy = _energy(net, tube, options, *trial)
            largest = _largest_mm(tube, phi, psi, *trial)
            if trial_energy <= energy or largest < AT_REST_MM:
                break
            damping = max(damping * 8, 1e-6)
        (phi, psi), energy, damping = trial, trial_energy, damping / 5
        if largest < AT_REST_MM:
            return phi, psi, step
    raise PlacementError(f"the net is not at rest after {options.max_steps} steps")


def _factored(matrix: csc_array) -> Any:
    """Factors of a symmetric positive matrix."""
    return splu(matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})


def _moved(move: Floats, phi: Floats, psi: Floats, tube: Tube, holds: _Holds) -> tuple[Floats, Floats]:
    phi = np.where(holds.phi_free >= 0, phi + move[holds.phi_free], phi)
    psi = np.where(holds.psi_free >= 0, psi + move[holds.psi_free], psi)
    at = phi[holds.fold]
    psi[holds.fold] = tube.shoulder_psi(at) + holds.fold_off / tube.rho(at)
    return phi, psi


def _largest_mm(tube: Tube, phi: Floats, psi: Floats, phi_new: Floats, psi_new: Floats) -> float:
    round_mm, along_mm = tube.tube_radius_mm * (phi_new - phi), tube.rho(phi) * (psi_new - psi)
    return float(np.hypot(round_mm, along_mm).max())


def _energy(net: Net, tube: Tube, options: Options, phi: Floats, psi: Floats) -> float:
    strain = _spring_lengths(net, tube, phi, psi) / net.lengths - 1.0
    stiffness = net.areas * np.where(strain > 0, 1.0, options.compression)
    return float(0.5 * (stiffness * strain**2).sum())


def _system(
    net: Net, tube: Tube, holds: _Holds, options: Options, phi: Floats, psi: Floats
) -> tuple[Floats, csc_array]:
    """Gradient and stiffness of the energy in the free coordinates."""
    (i, j), r, n, m = net.springs.T, tube.tube_radius_mm, len(phi), len(net.springs)
    d_phi, d_psi, middle = phi[j] - phi[i], psi[j] - psi[i], (phi[i] + phi[j]) / 2
    rho, slope = tube.rho(middle), tube.rho_slope(middle)
    length = np.hypot(r * d_phi, rho * d_psi)
    strain = length / net.lengths - 1.0
    k = net.areas * np.where(strain > 0, 1.0, options.compression)
    across, along = r * d_phi / length, rho * d_psi / length
    bend = 0.5 * slope * d_psi * along
    spring = np.arange(m)
    rows, columns = np.tile(spring, 4), np.concatenate([i, j, n + i, n + j])
    stretch = coo_array(
        (np.concatenate([bend - r * across, bend + r * across, -rho * along, rho * along]), (rows, columns)),
        shape=(m, 2 * n),
    )
    sideways = coo_array(
        (np.concatenate([r * along, -r * along, -rho * across, rho * across]), (rows, columns)),
        shape=(m, 2 * n),
    )
    follow = _follow(tube, holds, phi)
    jacobian = csc_array(diags_array(np.sqrt(k) / net.lengths) @ stretch @ follow)
    pull = np.sqrt(k * np.maximum(strain, 0.0) / (net.lengths * length))
    taut = csc_array(diags_array(pull) @ sideways @ follow)
    gradient = jacobian.T @ (np.sqrt(k) * strain)
    return gradient, csc_array(jacobian.T @ jacobian + taut.T @ taut)


def _follow(tube: Tube, holds: _Holds, phi: Floats) -> csc_array:
    """d (phi, psi of all nodes) / d (free coordinates), shape (2n, count)."""
    n = len(phi)
    free_phi, free_psi = np.flatnonzero(holds.phi_free >= 0), np.flatnonzero(holds.psi_free >= 0)
    sliding = holds.fold[holds.phi_free[holds.fold] >= 0]
    off = holds.fold_off[holds.phi_free[holds.fold] >= 0]
    at = phi[sliding]
    slope = tube.shoulder_slope(at) - off * tube.rho_slope(at) / tube.rho(at) ** 2
    rows = np.concatenate([free_phi, n + free_psi, n + sliding])
    columns = np.concatenate([holds.phi_free[free_phi], holds.psi_free[free_psi], holds.phi_free[sliding]])
    values = np.concatenate([np.ones(len(free_phi) + len(free_psi)), slope])
    return csc_array(coo_array((values, (rows, columns)), shape=(2 * n, holds.count)))


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
