"""Elbow rows against their sibling rows and against makers' tables in millimetres.

The millimetres are second-hand: makers' tables of B16.9 that agree, each rounded to a whole millimetre.
The data are inches, from memory, so that these columns are independent of them.
"""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import pairwise

import pytest

from templates_core.fittings import StockElbow
from templates_core.standards import StandardsError, nps_sizes, pipe_size, stock_elbow

WHOLE_MM = 1.0
"""Makers' tables round to a millimetre, some of them down."""

SIZES = ("1/2", "3/4", "1", "1-1/4", "1-1/2", "2", "2-1/2", "3", "3-1/2", "4", "5", "6", "8", "10", "12")
LR_90_A = (38, 38, 38, 48, 57, 76, 95, 114, 133, 152, 190, 229, 305, 381, 457)
LR_45_B = (16, 19, 22, 25, 29, 35, 44, 51, 57, 64, 79, 95, 127, 159, 190)
RETURN_O = (76, 76, 76, 95, 114, 152, 190, 229, 267, 305, 381, 457, 610, 762, 914)
RETURN_K = (48, 51, 56, 70, 83, 106, 132, 159, 184, 210, 262, 313, 414, 518, 619)
THREE_D_90_A = (None, 57, 76, 95, 114, 152, 190, 229, 267, 305, 381, 457, 610, 762, 914)
THREE_D_45_B = (None, 24, 31, 39, 47, 63, 79, 95, 111, 127, 157, 189, 252, 316, 378)
SR_90_A = (None, None, 25, 32, 38, 51, 64, 76, 89, 102, 127, 152, 203, 254, 305)


def elbow(kind: str, size: str) -> StockElbow:
    return stock_elbow(kind, pipe_size(f"NPS {size}", "40"), bevelled=True)


def nominal_mm(size: str) -> float:
    return float(sum(Fraction(part) for part in size.split("-"))) * 25.4


def test_the_columns_cover_every_size() -> None:
    assert nps_sizes() == SIZES


@pytest.mark.parametrize(
    ("kind", "column"),
    [
        ("90 long radius", LR_90_A),
        ("90 short radius", SR_90_A),
        ("90 3D", THREE_D_90_A),
        ("45 long radius", LR_45_B),
        ("45 3D", THREE_D_45_B),
    ],
)
def test_centre_to_end_as_makers_give_it(kind: str, column: tuple[int | None, ...]) -> None:
    for size, published_mm in zip(SIZES, column, strict=True):
        if published_mm is None:
            with pytest.raises(StandardsError, match="it is made for NPS"):
                elbow(kind, size)
        else:
            assert elbow(kind, size).centre_to_end_mm == pytest.approx(published_mm, abs=WHOLE_MM)


@pytest.mark.parametrize(("size", "published_mm"), list(zip(SIZES, RETURN_O, strict=True)))
def test_a_return_is_as_wide_as_makers_give_it_and_as_two_90s(size: str, published_mm: int) -> None:
    back = elbow("180 long radius return", size)
    assert back.bend_radius_mm is not None
    assert 2 * back.bend_radius_mm == pytest.approx(published_mm, abs=WHOLE_MM)
    assert 2 * elbow("90 long radius", size).centre_to_end_mm == pytest.approx(published_mm, abs=WHOLE_MM)
    assert back.sweep_rad == pytest.approx(math.pi)


@pytest.mark.parametrize(("size", "published_mm"), list(zip(SIZES, RETURN_K, strict=True)))
def test_back_to_face_of_a_return_is_its_radius_and_half_its_od(size: str, published_mm: int) -> None:
    back = elbow("180 long radius return", size)
    assert back.bend_radius_mm is not None
    # The published figure is up to 1.7 mm the larger at NPS 1 to 1-1/2, under 1 mm off elsewhere.
    assert back.bend_radius_mm + back.radius_mm == pytest.approx(published_mm, abs=2 * WHOLE_MM)


@pytest.mark.parametrize(("size", "published_mm"), [("1-1/2", 47), ("2", 63), ("12", 378)])
def test_a_3d_45_is_half_of_its_90(size: str, published_mm: int) -> None:
    radius_mm = elbow("90 3D", size).centre_to_end_mm
    assert radius_mm * math.tan(math.radians(22.5)) == pytest.approx(published_mm, abs=WHOLE_MM)
    assert elbow("45 3D", size).bend_radius_mm == pytest.approx(radius_mm)


def test_a_long_radius_45_is_not_half_of_a_90() -> None:
    for size, longer_by_mm in (("3/4", 3.3), ("1", 6.4), ("1-1/4", 5.7), ("1-1/2", 4.9), ("2", 3.4)):
        half_mm = elbow("90 long radius", size).centre_to_end_mm * math.tan(math.radians(22.5))
        assert elbow("45 long radius", size).centre_to_end_mm - half_mm == pytest.approx(
            longer_by_mm, abs=0.06
        )
    for size in SIZES:
        assert elbow("45 long radius", size).bend_radius_mm is None


@pytest.mark.parametrize("size", SIZES[2:])
def test_a_long_radius_90_bends_to_one_and_a_half_sizes(size: str) -> None:
    # What "long radius" means in B16.9; the two smallest sizes are made longer.
    assert elbow("90 long radius", size).bend_radius_mm == pytest.approx(1.5 * nominal_mm(size))


def test_rows_rise_with_size() -> None:
    for kind, first in (("90 long radius", 2), ("90 short radius", 2), ("90 3D", 1), ("45 long radius", 0)):
        ends_mm = [elbow(kind, size).centre_to_end_mm for size in SIZES[first:]]
        assert all(a < b for a, b in pairwise(ends_mm)), kind


def test_every_elbow_has_a_throat() -> None:
    for size in SIZES:
        for kind in ("90 long radius", "90 short radius", "90 3D"):
            if kind == "90 long radius" or size not in ("1/2", "3/4"):
                made = elbow(kind, size)
                assert made.bend_radius_mm is not None
                assert made.bend_radius_mm > made.radius_mm


def test_older_three_quarter_inch_elbows_are_shorter() -> None:
    # 1-1/8 and 7/16 in: from memory.
    assert elbow("90 long radius old pattern", "3/4").centre_to_end_mm == pytest.approx(28.575)
    assert elbow("45 long radius old pattern", "3/4").centre_to_end_mm == pytest.approx(11.1125)
    with pytest.raises(StandardsError, match="it is made for NPS 3/4"):
        elbow("90 long radius old pattern", "1")
