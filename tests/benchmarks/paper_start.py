"""Where to start from when paper is laid on a tube: near enough, and with nothing folded over."""

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse import coo_array, csc_array, diags_array

from tests.benchmarks.paper_mesh import FlatPaper, Floats, Net
from tests.benchmarks.paper_rest import Holds, factored, on_shoulder
from tests.benchmarks.paper_tube import Tube

Bools = NDArray[np.bool_]


class PlacementError(Exception):
    """The paper can't be laid on the tube; the message says why."""


def first_guess(
    net: Net, paper: FlatPaper, tube: Tube, cut_psi: float, holds: Holds
) -> tuple[Floats, Floats]:
    """Trace edge and folds about where they belong, and the rest drawn out evenly between them."""
    _check_hand(net, paper, tube)
    phi, psi = _squared_to_trace(net, paper, tube, cut_psi)
    moved_phi, moved_psi = np.zeros_like(phi), np.zeros_like(psi)
    for fold, nodes in zip(paper.folds, net.folds, strict=True):
        ends = np.asarray(fold.line, dtype=float)[[0, -1]]
        ends = ends if (ends[1, 0] - ends[0, 0]) * tube.x_sign > 0 else ends[::-1]
        along = (net.points[nodes] - ends.mean(axis=0)) @ (ends[1] - ends[0]) / np.hypot(*(ends[1] - ends[0]))
        at = fold.phi_rad + along / tube.tube_radius_mm
        moved_phi[nodes], moved_psi[nodes] = at - phi[nodes], tube.shoulder_psi(at) - psi[nodes]
    known = np.isin(np.arange(len(phi)), np.concatenate([net.trace, *net.folds]))
    phi, psi = phi + _drawn_out(net, moved_phi, known), psi + _drawn_out(net, moved_psi, known)
    return _bound(net, phi, psi, tube, holds)


def _squared_to_trace(net: Net, paper: FlatPaper, tube: Tube, cut_psi: float) -> tuple[Floats, Floats]:
    """Every node as far round as its foot on the trace edge, and as far from the cut as from that edge."""
    heel = min(paper.folds, key=lambda fold: abs(fold.phi_rad))
    heel_x = np.asarray(heel.line, dtype=float)[[0, -1], 0].mean()
    trace = net.points[net.trace]
    along, depth = _beside(trace, net.points)
    at_heel = along[net.trace][np.argmin(np.abs(trace[:, 0] - heel_x))]
    direction = tube.x_sign * np.sign(trace[-1, 0] - trace[0, 0])
    phi = heel.phi_rad + direction * (along - at_heel) / tube.tube_radius_mm
    return phi, cut_psi - depth / tube.rho(phi)


def _drawn_out(net: Net, values: Floats, known: Bools) -> Floats:
    """Fill in the unknown nodes' values, each the mean of its neighbours'."""
    i, j = net.springs.T
    ones = np.ones(len(net.springs))
    count = len(values)
    links = coo_array((np.append(ones, ones), (np.append(i, j), np.append(j, i))), shape=(count, count))
    graph = csc_array(diags_array(np.asarray(links.sum(axis=0)).ravel()) - links)[np.flatnonzero(~known)]
    filled = values.copy()
    pull = graph[:, np.flatnonzero(known)] @ values[known]
    filled[~known] = factored(csc_array(graph[:, np.flatnonzero(~known)])).solve(-pull)
    return filled


def _beside(line: Floats, points: Floats) -> tuple[Floats, Floats]:
    """How far along the line, run on straight at both ends, and how far beside it the points are [mm]."""
    reach = np.hypot(*np.ptp(points, axis=0))
    ends = [line[0] - line[1], line[-1] - line[-2]]
    ends = [reach * end / np.hypot(*end) for end in ends]
    path = shapely.LineString(np.vstack([line[0] + ends[0], line, line[-1] + ends[1]]))
    at = shapely.points(points)
    return np.asarray(path.project(at)) - reach, np.asarray(shapely.distance(path, at))


def _check_hand(net: Net, paper: FlatPaper, tube: Tube) -> None:
    """Refuse a paper whose tabs stand in the mirrored order for its face."""
    x = np.array([net.points[nodes, 0].mean() for nodes in net.folds])
    phi_at = np.array([fold.phi_rad for fold in paper.folds])
    if len(x) > 2 and np.corrcoef(x, phi_at)[0, 1] * tube.x_sign < 0:
        raise PlacementError(f"the wrap is mirrored: its tabs stand in the wrong order for face {tube.face}")


def _bound(net: Net, phi: Floats, psi: Floats, tube: Tube, holds: Holds) -> tuple[Floats, Floats]:
    """Move held nodes to where they are held; taped nodes take the place of the first of their pair."""
    phi, psi = phi.copy(), psi.copy()
    phi[holds.pinned] = holds.pinned_phi
    one, other = net.seam.T
    phi[other], psi[other] = phi[one] + holds.phi_ahead[other], psi[one]
    return phi, on_shoulder(phi, psi, tube, holds)
