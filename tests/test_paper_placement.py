"""The paper simulator itself: what it must give where the answer is known without it."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from tests.benchmarks.paper_mesh import net_over
from tests.benchmarks.paper_placement import Options, PlacementError, Tube, place
from tests.benchmarks.plain_outlines import CollarShape, collar_wrap, plain_strip, usual_flat_sheet

R, r = 57.15, 24.13
ELBOW = Tube(R, r, face="B")
HUNDREDTH_MM = 0.01


def test_strip_on_a_pipe_lies_without_strain() -> None:
    slit = np.array([[3.0, 0.0], [3.0, 20.0]])
    laid = place(plain_strip(r, 40.0, (slit,)), Tube(np.inf, r, face="B"), 40.0, Options(spacing_mm=2.5))
    assert np.abs(laid.strain).max() < 1e-4
    assert laid.max_deviation_mm < HUNDREDTH_MM
    assert laid.joint_error_rad < 1e-4


def test_strip_a_millimetre_short_stops_a_millimetre_short() -> None:
    laid = place(plain_strip(r, 39.0), Tube(np.inf, r, face="B"), 40.0, Options(spacing_mm=4.0))
    np.testing.assert_allclose(laid.deviation_mm, -1.0, atol=HUNDREDTH_MM)


def test_slit_parts_the_net() -> None:
    slit = np.array([[3.0, 0.0], [3.0, 20.0]])
    whole, slit_open = net_over(plain_strip(r, 40.0), 2.5), net_over(plain_strip(r, 40.0, (slit,)), 2.5)
    on_slit = np.abs(slit_open.points[:, 0] - 3.0) < 1e-6
    below = on_slit & (slit_open.points[:, 1] < 19.9)
    assert below.sum() == 2 * len(np.unique(slit_open.points[below, 1]))
    assert whole.areas.sum() == pytest.approx(2 * np.pi * r * 40.0)
    assert slit_open.areas.sum() == pytest.approx(2 * np.pi * r * 40.0)


def test_spring_length_is_the_geodesic() -> None:
    """A geodesic shot over the torus by its own equation is as long as the spring between its ends."""

    def on(_: float, state: np.ndarray) -> list[float]:
        phi, _psi, phi_rate, psi_rate = state
        rho, slope = R + r * np.cos(phi), -r * np.sin(phi)
        return [phi_rate, psi_rate, rho * slope * psi_rate**2 / r**2, -2 * slope / rho * phi_rate * psi_rate]

    tube = Tube(R, r)
    for phi, heading in [(2.5, 0.7), (1.2, 1.5), (3.0, 0.1)]:
        start = [phi, 0.3, np.cos(heading) / r, np.sin(heading) / (R + r * np.cos(phi))]
        end = solve_ivp(on, (0.0, 1.0), start, rtol=1e-11, atol=1e-13).y[:, -1]
        rho = float(tube.rho(np.array((phi + end[0]) / 2)))
        assert np.hypot(r * (end[0] - phi), rho * (end[1] - 0.3)) == pytest.approx(1.0, abs=5e-5)


def test_usual_flat_sheet_misses_the_cut_by_millimetres() -> None:
    cut = np.radians(32.0)
    laid = place(usual_flat_sheet(ELBOW, cut), ELBOW, cut, Options(spacing_mm=2.0, grain_rad=np.pi / 6))
    assert 3.0 < laid.max_deviation_mm < 6.0
    assert 2.0 < np.degrees(laid.joint_error_rad) < 5.0


def _wrap(with_allowance: bool) -> CollarShape:
    cut = np.radians(45.0)
    spare = 6.0**2 * cut / (8 * r) if with_allowance else 0.0
    side = np.radians(60.0)
    stays = (("heel", 0.0, 6.0, 0.0), ("side+", side, 6.0, 0.0), ("side-", -side, 6.0, 0.0))
    return CollarShape(10.0, 3.0, 6.0, (*stays, ("throat", -np.pi, 6.0, spare)), with_allowance)


def test_wrap_lies_the_same_on_a_finer_softer_or_turned_net() -> None:
    cut = np.radians(45.0)
    paper = collar_wrap(ELBOW, cut, _wrap(with_allowance=True))
    at = np.linspace(-np.pi, np.pi, 37)
    options = Options(spacing_mm=1.6, grain_rad=np.pi / 6)
    coarse = place(paper, ELBOW, cut, options)
    for change in (
        replace(options, spacing_mm=0.8),
        replace(options, compression=0.002),
        replace(options, grain_rad=0.0),
    ):
        laid = place(paper, ELBOW, cut, change)
        assert np.abs(laid.deviation_at(at) - coarse.deviation_at(at)).max() < 0.05


def test_allowance_brings_the_edge_on_to_the_cut() -> None:
    cut, options = np.radians(45.0), Options(spacing_mm=1.4, grain_rad=np.pi / 6)
    plain, allowed = (
        place(collar_wrap(ELBOW, cut, _wrap(with_allowance=on)), ELBOW, cut, options) for on in (False, True)
    )
    assert allowed.max_deviation_mm < 0.1 < plain.max_deviation_mm
    assert abs(allowed.heel_minus_throat_mm) < 0.05


def test_tab_off_its_mark_moves_the_edge() -> None:
    cut, options = np.radians(45.0), Options(spacing_mm=2.0, off_along_mm={"throat": 0.5})
    paper = collar_wrap(ELBOW, cut, _wrap(with_allowance=True))
    moved = place(paper, ELBOW, cut, options)
    kept = place(paper, ELBOW, cut, replace(options, off_along_mm={}))
    throat = np.array([np.pi])
    assert (moved.deviation_at(throat) - kept.deviation_at(throat))[0] == pytest.approx(0.5, abs=0.1)
    with pytest.raises(PlacementError, match="no tab is called thraot"):
        place(paper, ELBOW, cut, Options(off_round_mm={"thraot": 1.0}))


def test_mirrored_wrap_is_refused() -> None:
    cut = np.radians(45.0)
    paper = collar_wrap(ELBOW, cut, _wrap(with_allowance=True))
    with pytest.raises(PlacementError, match="mirrored"):
        place(paper, replace(ELBOW, face="A"), cut, Options(spacing_mm=3.0))
