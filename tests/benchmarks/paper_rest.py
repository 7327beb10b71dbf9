"""Bring a net of springs on a tube to rest: least energy, some nodes held, the rest free."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.sparse import coo_array, csc_array, diags_array
from scipy.sparse.linalg import splu

from tests.benchmarks.paper_mesh import Floats, Ints, Net
from tests.benchmarks.paper_tube import Tube

#: The net is at rest when no node moves further than this in a step [mm].
AT_REST_MM = 2e-5


@dataclass(frozen=True)
class Holds:
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


def spring_lengths(net: Net, tube: Tube, phi: Floats, psi: Floats) -> Floats:
    """Geodesic lengths [mm] on the tube, by the metric at each spring's middle (exact on a pipe)."""
    (i, j), r = net.springs.T, tube.tube_radius_mm
    rho = tube.rho((phi[i] + phi[j]) / 2)
    return np.asarray(np.hypot(r * (phi[j] - phi[i]), rho * (psi[j] - psi[i])))


def relax(
    net: Net, tube: Tube, holds: Holds, compression: float, phi: Floats, psi: Floats, max_steps: int
) -> tuple[Floats, Floats, int]:
    """Damped Gauss-Newton with the pull's own sideways stiffness, until the net is at rest or steps run out.

    Gives the steps taken as well.
    """
    damping, energy = 1e-3, _energy(net, tube, compression, phi, psi)
    for step in range(1, max_steps + 1):
        gradient, stiffness = _system(net, tube, holds, compression, phi, psi)
        while True:
            scaled = csc_array(stiffness + damping * diags_array(stiffness.diagonal()))
            move = -factored(scaled).solve(gradient)
            trial = _moved(move, phi, psi, tube, holds)
            trial_energy = _energy(net, tube, compression, *trial)
            largest = _largest_mm(tube, phi, psi, *trial)
            if trial_energy <= energy or largest < AT_REST_MM:
                break
            damping = max(damping * 8, 1e-6)
        (phi, psi), energy, damping = trial, trial_energy, damping / 5
        if largest < AT_REST_MM:
            return phi, psi, step
    return phi, psi, max_steps


def factored(matrix: csc_array) -> Any:
    """Factors of a symmetric positive matrix."""
    return splu(matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})


def _moved(move: Floats, phi: Floats, psi: Floats, tube: Tube, holds: Holds) -> tuple[Floats, Floats]:
    phi = np.where(holds.phi_free >= 0, phi + move[holds.phi_free], phi)
    psi = np.where(holds.psi_free >= 0, psi + move[holds.psi_free], psi)
    return phi, on_shoulder(phi, psi, tube, holds)


def _largest_mm(tube: Tube, phi: Floats, psi: Floats, phi_new: Floats, psi_new: Floats) -> float:
    round_mm, along_mm = tube.tube_radius_mm * (phi_new - phi), tube.rho(phi) * (psi_new - psi)
    return float(np.hypot(round_mm, along_mm).max())


def _energy(net: Net, tube: Tube, compression: float, phi: Floats, psi: Floats) -> float:
    strain = spring_lengths(net, tube, phi, psi) / net.lengths - 1.0
    stiffness = net.areas * np.where(strain > 0, 1.0, compression)
    return float(0.5 * (stiffness * strain**2).sum())


def _system(
    net: Net, tube: Tube, holds: Holds, compression: float, phi: Floats, psi: Floats
) -> tuple[Floats, csc_array]:
    """Gradient and stiffness of the energy in the free coordinates."""
    (i, j), r, n, m = net.springs.T, tube.tube_radius_mm, len(phi), len(net.springs)
    d_phi, d_psi, middle = phi[j] - phi[i], psi[j] - psi[i], (phi[i] + phi[j]) / 2
    rho, slope = tube.rho(middle), tube.rho_slope(middle)
    length = np.hypot(r * d_phi, rho * d_psi)
    strain = length / net.lengths - 1.0
    k = net.areas * np.where(strain > 0, 1.0, compression)
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


def _follow(tube: Tube, holds: Holds, phi: Floats) -> csc_array:
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


def on_shoulder(phi: Floats, psi: Floats, tube: Tube, holds: Holds) -> Floats:
    """Psi with the folds put on the shoulder circle, or as far off it as their tab is held."""
    at = phi[holds.fold]
    psi[holds.fold] = tube.shoulder_psi(at) + holds.fold_off / tube.rho(at)
    return psi
