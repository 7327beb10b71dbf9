"""Every wrap of the stocked sizes, degree by degree: it can be cut out of a flat sheet and has its girth."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import combinations, pairwise

import numpy as np
import pytest
import shapely

from templates_core.fittings import StockElbow
from templates_core.wraps.cut_wraps import wrap_of_cut
from templates_core.wraps.wraps import Stay, Wrap
from tests.wrap_samples import FITTINGS, SIZES_IN, cut_at, elbow_of

PAPER_MM = 0.1
SCISSORS_MM = 0.9
"""Least clear paper between two strips that are cut out apart."""
THIN_WALL_MM = {"1/2": 1.65, "2": 1.65, "4": 2.11, "6": 2.77, "8": 2.77, "12": 3.96}
"""Schedule 5S, ASME B36.19M, from memory: the shortest legal pieces."""


def least_degrees(elbow: StockElbow) -> int:
    """First whole degree whose throat, behind the shoulder, is three walls and 6 mm long."""
    assert elbow.bend_radius_mm is not None
    throat = max(3 * elbow.wall_mm, 6.0) + elbow.shoulder_mm
    return math.ceil(math.degrees(throat / (elbow.bend_radius_mm - elbow.radius_mm)))


def wraps_of(elbow: StockElbow, degrees: range) -> list[Wrap]:
    return [wrap_of_cut(cut_at(elbow, math.radians(d)), PAPER_MM, 1.0).wrap for d in degrees]


def strip(stay: Stay) -> shapely.Polygon:
    """The stay with its tab, drawn from its middle line."""
    return shapely.LineString(stay.centre_mm).buffer(stay.width_mm / 2, cap_style="flat", join_style="mitre")


def lap(wrap: Wrap) -> shapely.Polygon:
    """The seam tab beyond the trace edge's end."""
    return shapely.Polygon(wrap.outline_mm[:4])


def sheet(wrap: Wrap) -> shapely.Polygon:
    """The whole sheet, its corners to a millionth of a millimetre."""
    return shapely.Polygon(np.round(np.vstack([wrap.trace_mm, wrap.outline_mm[1:-1]]), 6))


def check(elbow: StockElbow, wrap: Wrap, named: str) -> None:
    edge, whole = shapely.LineString(wrap.trace_mm), sheet(wrap)
    assert edge.length == pytest.approx(math.pi * (elbow.od_mm + PAPER_MM), abs=1e-3), named
    assert whole.is_valid and edge.is_simple, named
    strips = [strip(stay) for stay in wrap.stays]
    apart = [*strips, lap(wrap)]
    assert all(part.is_valid for part in apart), named
    clear = min(a.distance(b) for a, b in combinations(apart, 2))
    assert clear >= SCISSORS_MM, f"{named}: {clear:.2f} mm between two strips"
    outside = shapely.union_all(apart).difference(whole.buffer(0.02))
    assert edge.buffer(0.2).contains(outside), named
    check_strips(wrap, whole, strips, named)
    check_slits(wrap, whole, edge, named)


def check_strips(wrap: Wrap, whole: shapely.Polygon, strips: list[shapely.Polygon], named: str) -> None:
    """Each strip leaves the collar once, its fold is a free end, and its own edges are edges of the sheet."""
    border = whole.exterior
    for stay, body in zip(wrap.stays, strips, strict=True):
        assert border.distance(shapely.Point(stay.fold_mm[0])) < 0.02, f"{named}: {stay.name} fold"
        assert border.distance(shapely.Point(stay.fold_mm[1])) < 0.02, f"{named}: {stay.name} fold"
        rest = whole.difference(body.buffer(0.02))
        beyond = shapely.LineString(stay.centre_mm).buffer(stay.width_mm / 2 + 0.3, cap_style="flat")
        touching = [
            part for part in getattr(rest, "geoms", [rest]) if part.area > 0.5 and part.intersects(beyond)
        ]
        for part in touching:
            reach = shapely.LineString(stay.fold_mm).distance(part)
            assert reach > 0.5, f"{named}: the collar reaches the {stay.name} fold"


def check_slits(wrap: Wrap, whole: shapely.Polygon, edge: shapely.LineString, named: str) -> None:
    left = [edge.distance(shapely.LineString(slit)) for slit in wrap.slits_mm]
    assert len(left) >= 12, named
    bridge = np.median(left)
    assert min(left) > 0.97 * bridge, f"{named}: a slit comes within {min(left):.2f} of {bridge:.2f} mm"
    assert all(whole.buffer(0.02).contains(shapely.LineString(slit)) for slit in wrap.slits_mm), named
    assert bridge >= 2.0 - 0.01, named


@pytest.mark.parametrize(("nps", "kind"), FITTINGS)
def test_every_wrap_can_be_cut_out(nps: str, kind: str) -> None:
    elbow = elbow_of(nps, kind)
    degrees = range(least_degrees(elbow), 61)
    for degree, wrap in zip(degrees, wraps_of(elbow, degrees), strict=True):
        check(elbow, wrap, f"NPS {nps} {kind} at {degree}°")


@pytest.mark.parametrize("nps", THIN_WALL_MM)
def test_short_pieces_of_thin_pipe_keep_their_folds(nps: str) -> None:
    elbow = replace(elbow_of(nps), wall_mm=THIN_WALL_MM[nps], shoulder_mm=0.0)
    first = least_degrees(elbow)
    for degree, wrap in zip(range(first, first + 4), wraps_of(elbow, range(first, first + 4)), strict=True):
        check(elbow, wrap, f"NPS {nps} 5S at {degree}°")


def test_the_sizes_ascend() -> None:
    rows = [row[:1] + row[2:3] for row in SIZES_IN.values()]
    assert all(a < b for (a, _), (b, _) in pairwise(rows))
