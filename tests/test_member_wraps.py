"""Paper for cut pipes: where it may be laid, what it says, and its ordinates."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from templates_core.errors import GeometryError
from templates_core.pipes.cut_pipe import alike
from templates_core.wraps.member_wraps import end_wrap, ordinates, whole_wrap
from templates_core.wraps.pipe_wraps import PipeWrap, mitre_wrap
from tests.cut_pipe_samples import NPS_1_5, lopsided

PAPER_MM = 0.1


def ring_of(wrap: PipeWrap) -> shapely.LinearRing:
    """The whole edge of a wrap, its chains joined end to end."""
    chains = [shapely.LineString(edge.line_mm) for edge in wrap.edges]
    chains += [shapely.LineString(chain) for chain in wrap.outlines_mm]
    merged = shapely.line_merge(shapely.set_precision(shapely.union_all(chains), 1e-6))
    assert merged.is_closed
    return shapely.LinearRing(merged.coords)


@pytest.mark.parametrize(
    "wrap",
    [
        whole_wrap(lopsided(200.0), PAPER_MM),
        whole_wrap(lopsided(120.0, roll_deg=170.0), PAPER_MM),
        end_wrap(lopsided(900.0), "start", PAPER_MM).wrap,
        end_wrap(lopsided(900.0, angles_deg=(22.0, 35.0), roll_deg=-80.0), "end", PAPER_MM).wrap,
        mitre_wrap(24.13, 0.4, PAPER_MM),
    ],
    ids=["whole", "short whole", "first end", "second end", "mitre"],
)
def test_a_wrap_is_one_sheet_whose_ends_meet_and_whose_tab_stays_under_it(wrap: PipeWrap) -> None:
    ring = ring_of(wrap)
    assert ring.is_simple
    girth = 2 * math.pi * (NPS_1_5.radius_mm + PAPER_MM / 2)
    for edge in wrap.edges:
        assert np.ptp(edge.line_mm[:, 0]) == pytest.approx(girth, abs=1e-9)
        assert edge.line_mm[0, 1] == pytest.approx(edge.line_mm[-1, 1], abs=1e-9)
    sheet, tab_right = shapely.Polygon(ring), ring.bounds[2]
    end = max(float(edge.line_mm[-1, 0]) for edge in wrap.edges)
    tab = sheet.intersection(shapely.box(end + 1e-6, -1e4, tab_right, 1e4))
    body = sheet.intersection(shapely.box(-1e4, -1e4, end, 1e4))
    under = shapely.affinity.translate(body, girth)
    assert tab.difference(under.buffer(1e-3)).area < 1e-6


def test_a_pipe_too_short_between_its_cuts_gets_no_whole_wrap() -> None:
    with pytest.raises(GeometryError, match="at its shortest"):
        whole_wrap(lopsided(75.0), PAPER_MM)


def test_ring_lines_stand_at_whole_steps_from_their_own_tips() -> None:
    made = lopsided(1800.0)
    first, second = end_wrap(made, "start", PAPER_MM), end_wrap(made, "end", PAPER_MM)
    assert first.ring_mm == first.tip_mm
    assert made.overall_mm - second.ring_mm == pytest.approx(second.tip_mm, abs=1e-9)
    for one in (first, second):
        assert one.tip_mm % 5.0 == pytest.approx(0.0, abs=1e-9)
        (edge,) = one.wrap.edges
        assert np.min(np.abs(edge.line_mm[:, 1])) >= NPS_1_5.radius_mm


@pytest.mark.parametrize("tolerance_mm", [2.0, 0.5, 0.1])
def test_ordinates_are_as_many_as_the_tolerance_wants(tolerance_mm: float) -> None:
    made = lopsided(1800.0)
    table = ordinates(made, "end", 1700.0, tolerance_mm)
    count = len(table.girth_rad)
    assert count % 4 == 0 and count >= 8
    assert np.diff(table.arc_mm) == pytest.approx(2 * math.pi * NPS_1_5.radius_mm / count, abs=1e-9)
    turned = made.end.datum_rad + np.append(table.girth_rad, 2 * math.pi)
    chords = shapely.LineString(
        np.stack([NPS_1_5.radius_mm * turned, 1700.0 + np.append(table.distance_mm, table.distance_mm[0])], 1)
    )
    fine = np.linspace(turned[0], turned[-1], 3000)
    points = shapely.points(NPS_1_5.radius_mm * fine, made.end.cut.at(fine))
    assert float(np.max(shapely.distance(points, chords))) <= tolerance_mm + 1e-6


def test_fewer_stations_for_a_coarser_tolerance_and_never_under_8() -> None:
    made = lopsided(1800.0)
    counts = [len(ordinates(made, "start", 100.0, mm).girth_rad) for mm in (50.0, 2.0, 0.2)]
    assert counts[0] == 8
    assert counts == sorted(counts)
    assert counts[1] < counts[2]


def test_alike_pipes_share_a_wrap_and_others_do_not() -> None:
    pipes = [
        lopsided(900.0, mark="M1"),
        lopsided(900.0, mark="M2", roll_deg=38.0),
        lopsided(900.0, mark="M3", quantity=2),
        lopsided(900.5, mark="M4"),
        lopsided(900.0, mark="M5", offset_mm=-4.0),
    ]
    groups = alike(pipes)
    assert [group.marks for group in groups] == [("M1", "M3"), ("M2",), ("M4",), ("M5",)]
    assert groups[0].quantity == 5


def test_the_roll_of_a_pipe_is_from_one_datum_to_the_other() -> None:
    assert math.degrees(lopsided(900.0).roll_rad) == pytest.approx(37.0)
    assert lopsided(900.0).centre_mm == 900.0
    assert lopsided(900.0).short_mm < lopsided(900.0).overall_mm
