"""Wraps as printed, rolled on to the elbow from their folds: they must land on the cut, with no cut given.

Each stay starts with its fold on the shoulder, at its girth line, square to the fold. It is carried to the
trace edge, and the trace edge is carried on from there. What the print allows for is stated here again:

* Trace edge. The bridge between trace edge and slits, of height h, lies along a cut that is a geodesic of a
  surface of curvature K. A fibre at depth d in it has 1 - K d²/2 of the edge's length on the metal (Jacobi),
  1 + k d on paper bent by k away from the face. The fibre at d = h fits for k = -K h/2.
* Stay. Its edges at phi ± w/2r run over rho(phi ± w/2r) theta of metal; on flat paper bent as its centre line
  they have rho(phi) theta less ± (w/2) sin phi theta. It is longer by what the worse edge lacks.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, reject
from hypothesis import strategies as st
from numpy.typing import NDArray

from templates_core.errors import GeometryError
from templates_core.fittings import StockElbow
from tests.pdf_reader import Sheet
from tests.rolling import Bend, Place, along, roll
from tests.settings import seeded
from tests.stay_lines import fold_heading, to_trace
from tests.wrap_reader import ReadStay, ReadWrap, read_wrap
from tests.wrap_samples import FITTINGS, cut_at, elbow_of, sheet_of_cut

Array = NDArray[np.float64]
LANDING_MM = 0.05


@dataclass(frozen=True)
class Elbow:
    """What a fitter knows of the part and of his paper, and of the cut only what it is checked against."""

    bend_mm: float
    radius_mm: float
    tangent_mm: float
    shoulder_mm: float
    paper_mm: float
    cut_rad: float
    face: Literal["own", "far"]

    @property
    def under_paper(self) -> Bend:
        """The middle of the paper lies half its thickness outside the metal."""
        return Bend(self.bend_mm, self.radius_mm + self.paper_mm / 2, self.tangent_mm)

    def fold_s(self, phi: float) -> float:
        """Where a girth line passes the shoulder: a plane that far behind the face."""
        if self.shoulder_mm <= self.tangent_mm:
            return self.shoulder_mm
        rho = self.bend_mm + self.radius_mm * math.cos(phi)
        return self.tangent_mm + self.bend_mm * math.asin((self.shoulder_mm - self.tangent_mm) / rho)

    @property
    def cut_s(self) -> float:
        return self.tangent_mm + self.bend_mm * self.cut_rad

    @property
    def x_way(self) -> int:
        """Face down and seen from outside, left to right is clockwise looking into face A: against phi."""
        return -1 if self.face == "own" else 1


def write(elbow: Elbow, sweep_rad: float = math.pi / 2) -> Sheet:
    tangents = (elbow.tangent_mm, 0.0) if elbow.face == "own" else (0.0, elbow.tangent_mm)
    stock = replace(
        elbow_of("1-1/2"),
        od_mm=2 * elbow.radius_mm,
        bend_radius_mm=elbow.bend_mm,
        sweep_rad=sweep_rad,
        tangent_a_mm=tangents[0],
        tangent_b_mm=tangents[1],
        shoulder_mm=elbow.shoulder_mm,
    )
    return sheet_of_cut(cut_at(stock, elbow.cut_rad, elbow.face), elbow.paper_mm)


def spare_mm(elbow: Elbow, phi: float, width_mm: float, theta: float) -> float:
    """What the worse edge of a stay lacks."""
    bend = elbow.under_paper
    lacks = []
    for way in (-1, 1):
        on_metal = bend.rho(phi + way * width_mm / (2 * bend.radius_mm)) * theta
        on_paper = (bend.rho(phi) - way * width_mm / 2 * math.sin(phi)) * theta
        lacks.append(on_metal - on_paper)
    return max(0.0, *lacks)


def along_phi(elbow: Elbow, points: Array) -> Array:
    """Points of the paper with x along growing phi."""
    return points * [elbow.x_way, 1]


def girth_of(stay: ReadStay) -> float:
    """The girth line that the heel or the throat stay belongs on."""
    return {"HEEL": 0.0, "THROAT": math.pi}[stay.name]


def carried(elbow: Elbow, stay: ReadStay, wrap: ReadWrap, phi: float) -> tuple[Array, Place]:
    """A stay's middle line on paper, and its place on the elbow where it meets the trace edge."""
    chain = to_trace(stay, wrap)
    flat = along_phi(elbow, chain)
    square = along_phi(elbow, np.array([fold_heading(stay)]))[0]
    first = flat[1] - flat[0]
    off_square = math.atan2(square[0] * first[1] - square[1] * first[0], square @ first)
    start = (phi, elbow.fold_s(phi), math.pi / 2 + off_square)
    return chain, roll(elbow.under_paper, flat, start)[-1]


def side_girth(elbow: Elbow, stay: ReadStay, wrap: ReadWrap) -> float:
    """Side stays hang on a girth line of a round number of degrees: the nearest to where they are drawn."""
    chain = to_trace(stay, wrap)
    place = shapely.LineString(wrap.trace_mm)
    heel = place.project(shapely.Point(0, 0))
    drawn = (place.project(shapely.Point(chain[-1])) - heel) * elbow.x_way / elbow.under_paper.radius_mm
    girth = math.radians(5 * round(math.degrees(drawn) / 5))
    assert drawn == pytest.approx(girth, abs=0.02)
    assert math.radians(55) - 1e-9 <= abs(girth) <= math.pi / 2 + 1e-9
    return girth


def stays_carried(elbow: Elbow, wrap: ReadWrap) -> list[tuple[ReadStay, float, Array, Place]]:
    found = []
    for stay in wrap.stays:
        phi = side_girth(elbow, stay, wrap) if stay.name == "SIDE" else girth_of(stay)
        chain, place = carried(elbow, stay, wrap, phi)
        found.append((stay, phi, chain, place))
    return found


def trace_carried(elbow: Elbow, wrap: ReadWrap, heel: Place, chain: Array) -> list[tuple[float, Place]]:
    """The trace edge carried both ways from the heel stay's landing, its allowance taken out.

    Length from the heel along growing phi, and place, for each of its points.
    """
    bend, bridge = elbow.under_paper, wrap.bridge_mm
    line = along_phi(elbow, wrap.trace_mm)
    line = line if line[0, 0] < line[-1, 0] else line[::-1]
    foot = along_phi(elbow, chain[-1:])[0]
    arriving = foot - along_phi(elbow, chain[-2:-1])[0]
    after = int(np.argmax(line[:, 0] > foot[0] + 1e-6))
    before = after - 1 if line[after - 1, 0] < foot[0] - 1e-6 else after - 2
    halves = ((1, np.vstack([foot, line[after:]])), (-1, np.vstack([foot, line[: before + 1][::-1]])))
    found = []
    for way, half in halves:
        first = half[1] - half[0]
        turn = math.atan2(arriving[0] * first[1] - arriving[1] * first[0], arriving @ first)

        def unbent(place: Place, way: int = way) -> float:
            # Paper bent by -K h/2 away from the face (left of growing phi) is unbent by as much.
            return way * bend.curvature(place[0], place[1]) * bridge / 2

        places = roll(bend, half, (heel[0], heel[1], heel[2] + turn), unbent)
        lengths = way * np.append(0.0, np.cumsum(np.hypot(*np.diff(half, axis=0).T)))
        found += list(zip(lengths, places, strict=True))
    return found


def check(elbow: Elbow, wrap: ReadWrap) -> None:
    bend = elbow.under_paper
    assert sorted(stay.name for stay in wrap.stays) == ["HEEL", "SIDE", "SIDE", "THROAT"]
    carried_stays = stays_carried(elbow, wrap)
    for stay, phi, _, place in carried_stays:
        theta = elbow.cut_rad - max(0.0, elbow.fold_s(phi) - elbow.tangent_mm) / elbow.bend_mm
        beyond = (place[1] - elbow.cut_s) * bend.rho(phi) / elbow.bend_mm
        assert beyond == pytest.approx(spare_mm(elbow, phi, stay.width_mm, theta), abs=LANDING_MM), stay.name
        assert (place[0] - phi) * bend.radius_mm == pytest.approx(0, abs=LANDING_MM), stay.name
        assert abs(math.cos(place[2])) < 0.02, stay.name
    heel = next(entry for entry in carried_stays if entry[0].name == "HEEL")
    for length, place in trace_carried(elbow, wrap, heel[3], heel[2]):
        off = (place[1] - elbow.cut_s) * bend.rho(place[0]) / elbow.bend_mm
        assert off == pytest.approx(0, abs=LANDING_MM), math.degrees(place[0])
        assert place[0] * bend.radius_mm == pytest.approx(length, abs=LANDING_MM)
    girth = shapely.LineString(wrap.trace_mm).length
    assert girth == pytest.approx(2 * math.pi * bend.radius_mm, abs=1e-3 * max(1.0, girth / 100))


def weldable(elbow: Elbow) -> bool:
    """Whether enough throat is left of a piece to weld: 6 mm behind its shoulder."""
    arc = (elbow.bend_mm - elbow.radius_mm) * elbow.cut_rad
    return arc + elbow.tangent_mm - elbow.shoulder_mm >= 6.0


def of_stock(stock: StockElbow, degrees: float, face: Literal["own", "far"], paper_mm: float = 0.1) -> Elbow:
    assert stock.bend_radius_mm is not None
    tangent = stock.tangent_a_mm if face == "own" else stock.tangent_b_mm
    return Elbow(
        stock.bend_radius_mm,
        stock.radius_mm,
        tangent,
        stock.shoulder_mm,
        paper_mm,
        math.radians(degrees),
        face,
    )


@seeded(160)
@given(st.sampled_from(FITTINGS), st.floats(20, 60), st.sampled_from(["own", "far"]), st.booleans())
def test_wraps_of_stock_elbows_land_on_the_cut(
    fitting: tuple[str, str], degrees: float, face: Literal["own", "far"], bevelled: bool
) -> None:
    elbow = of_stock(elbow_of(*fitting, bevelled=bevelled), degrees, face)
    assume(weldable(elbow))
    check(elbow, read_wrap(write(elbow)))


@st.composite
def measured_elbows(draw: st.DrawFn) -> Elbow:
    """Sizes that nobody stocks: any radius, straight ends, shoulders before and behind the join."""
    radius = draw(st.floats(10, 170))
    return Elbow(
        bend_mm=radius * draw(st.floats(1.6, 6)),
        radius_mm=radius,
        tangent_mm=radius * draw(st.sampled_from([0.0, 0.0, 0.15, 0.4])),
        shoulder_mm=radius * draw(st.sampled_from([0.0, 0.05, 0.12])),
        paper_mm=draw(st.sampled_from([0.0, 0.1, 0.25])),
        cut_rad=math.radians(draw(st.floats(20, 60))),
        face=draw(st.sampled_from(["own", "far"])),
    )


@seeded(120)
@given(measured_elbows())
def test_wraps_of_measured_elbows_land_on_the_cut(elbow: Elbow) -> None:
    assume(weldable(elbow))
    try:
        sheet = write(elbow)
    except GeometryError as refused:
        assert "overlap" in str(refused)
        reject()
    check(elbow, read_wrap(sheet))


def test_a_geodesic_keeps_its_distance_times_the_sine_of_its_heading() -> None:
    """Clairaut's law for the integrator itself."""
    bend = Bend(57.15, 24.13)
    at = (0.3, 5.0, 0.7)
    law = bend.rho(at[0]) * math.sin(at[2])
    for _ in range(40):
        at = along(bend, at, 2.0)
        assert bend.rho(at[0]) * math.sin(at[2]) == pytest.approx(law, rel=1e-7)
