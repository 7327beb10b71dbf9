"""Pipe and elbow tables: their form, and what is refused."""

from __future__ import annotations

import csv
import math
from importlib.resources import files

import pytest

from templates_core.standards import (
    StandardsError,
    bevel_shoulder_mm,
    checked_pipe,
    dn_sizes,
    elbow_kind,
    elbow_kinds,
    nps_sizes,
    pipe_size,
    stock_elbow,
)

TABLES = sorted(entry.name for entry in files("templates_core.data").iterdir() if entry.name.endswith(".csv"))


@pytest.mark.parametrize("name", TABLES)
def test_every_row_is_whole_and_names_its_source_and_unit(name: str) -> None:
    text = files("templates_core.data").joinpath(name).read_text(encoding="utf-8")
    rows = list(csv.DictReader(text.splitlines()))
    assert rows
    for row in rows:
        assert None not in row, "more cells than columns: a comma that wants quotes"
        assert all(isinstance(cell, str) and cell.strip() for cell in row.values()), row
        marks = ("read", "second-hand", "memory", "derived")
        assert any(mark in row["source"] for mark in marks), row
    units = [column for column in rows[0] if column == "unit" or column.endswith("_unit")]
    assert units or name == "elbow_kinds.csv"
    assert all(row[column] in ("mm", "in", "minute") for row in rows for column in units)


def test_walls_thicken_with_schedule_and_ods_grow_with_size() -> None:
    before_mm = 0.0
    for size in nps_sizes():
        walls_mm = [pipe_size(f"NPS {size}", schedule).wall_mm for schedule in ("5S", "10S", "40", "80")]
        assert walls_mm == sorted(set(walls_mm)), size
        od_mm = pipe_size(f"NPS {size}", "40").od_mm
        assert od_mm > before_mm
        before_mm = od_mm
    en_mm = [pipe_size(f"DN {dn}", wall_mm=2).od_mm for dn in dn_sizes()]
    assert en_mm == sorted(set(en_mm))


def test_inches_are_authoritative_for_nps_ods() -> None:
    assert pipe_size("NPS 1-1/2", "40").od_mm == 48.26
    assert pipe_size("NPS 12", "STD").od_mm == 323.85
    assert pipe_size("NPS 5", "40").od_mm == pytest.approx(5.563 * 25.4)


def test_std_and_xs_part_from_40_and_80_in_the_large_sizes() -> None:
    # B36.10M, second-hand.
    for size in nps_sizes()[:-2]:
        assert pipe_size(f"NPS {size}", "STD").wall_mm == pipe_size(f"NPS {size}", "40").wall_mm
        assert pipe_size(f"NPS {size}", "XS").wall_mm == pipe_size(f"NPS {size}", "80").wall_mm
    assert pipe_size("NPS 12", "STD").wall_mm == 9.53
    assert pipe_size("NPS 12", "XS").wall_mm == 12.70


@pytest.mark.parametrize("text", ["NPS 1-1/2", "nps 1 1/2", "NPS 1½", "NPS1-1/2", "  NPS  1-1/2 "])
def test_a_size_in_any_usual_spelling(text: str) -> None:
    pipe = pipe_size(text, "Sch 40")
    assert (pipe.name, pipe.od_mm, pipe.wall_mm) == ("NPS 1-1/2 Sch 40", 48.26, 3.68)


@pytest.mark.parametrize(
    ("size", "schedule", "wall_mm", "message"),
    [
        ("NPS 7", "40", None, r"there is no size NPS 7 in the tables; known: NPS 1/2, 3/4, 1,"),
        ("1-1/2", "40", None, r"'1-1/2' doesn't say NPS or DN"),
        ("NPS 1-1/2", None, None, r"neither a schedule nor a wall is given"),
        ("NPS 1-1/2", "40", 3.68, r"both a schedule and a wall are given"),
        ("NPS 1-1/2", "4O", None, r"there is no schedule '4O' in the tables; known: 5S, 10S, 40"),
        (
            "NPS 1-1/2",
            "160",
            None,
            r"there is no schedule '160' in the tables;.*known: 5S, 10S, 40, 80, STD, XS",
        ),
        ("DN 40", "40", None, r"DN 40 is an EN size, and schedules belong to NPS sizes"),
        ("DN 40", None, None, r"DN 40 fixes no wall"),
        ("DN 45", None, 2.6, r"there is no size DN 45 in the tables"),
        ("DN 40", None, 24.2, r"a wall of 24\.2 mm leaves no bore in a pipe of 48\.30 mm OD"),
        ("NPS 1", None, 0.0, r"a wall of 0 mm leaves no bore"),
    ],
)
def test_sizes_that_are_refused(size: str, schedule: str | None, wall_mm: float | None, message: str) -> None:
    with pytest.raises(StandardsError, match=message):
        pipe_size(size, schedule, wall_mm)


def test_en_and_nps_are_never_mixed_silently() -> None:
    differ = ("20", "25", "32", "65", "125")
    for dn in dn_sizes():
        pipe = pipe_size(f"DN {dn}", wall_mm=2.6)
        if dn in differ:
            with pytest.raises(StandardsError, match=r"is an NPS elbow, and no NPS size has an OD of"):
                stock_elbow("90 long radius", pipe, bevelled=True)
        else:
            made = stock_elbow("90 long radius", pipe, bevelled=True)
            assert made.od_mm == pytest.approx(pipe.od_mm, abs=0.1)
    with pytest.raises(
        StandardsError, match=r"is an EN elbow, and no DN size .* nearest is DN 25 at 33\.70 mm"
    ):
        stock_elbow("EN 90 3D", pipe_size("NPS 1", "40"), bevelled=True)


def test_en_bend_radii() -> None:
    # EN 10253 models 3D and 2D, second-hand.
    for dn, radius_3d_mm, radius_2d_mm in (("15", 28, 25), ("40", 57, 38), ("65", 95, 63), ("100", 152, 102)):
        pipe = pipe_size(f"DN {dn}", wall_mm=2.6)
        assert stock_elbow("EN 90 3D", pipe, True).bend_radius_mm == radius_3d_mm
        assert stock_elbow("EN 90 2D", pipe, True).bend_radius_mm == radius_2d_mm
        half = stock_elbow("EN 45 3D", pipe, True)
        assert half.centre_to_end_mm == pytest.approx(radius_3d_mm * math.tan(math.pi / 8))
    with pytest.raises(StandardsError, match=r"there is no 'EN 90 3D' for DN 150.*it is made for DN 15, 20"):
        stock_elbow("EN 90 3D", pipe_size("DN 150", wall_mm=4), True)


def test_the_shoulder_is_where_the_bevel_meets_the_outside() -> None:
    # A right-angled triangle: the wall less its land is one leg, the bevel leans 37.5° off the square face.
    pipe = pipe_size("NPS 1-1/2", "40")
    shoulder_mm = stock_elbow("90 long radius", pipe, bevelled=True).shoulder_mm
    assert math.degrees(math.atan2(shoulder_mm, pipe.wall_mm - 1.6)) == pytest.approx(37.5)
    assert bevel_shoulder_mm(1.65) == pytest.approx(0.0384, abs=1e-4)
    assert bevel_shoulder_mm(1.2) == 0
    assert stock_elbow("90 long radius", pipe, bevelled=False).shoulder_mm == 0


@pytest.mark.parametrize(
    ("size", "off_angle_mm", "plus_mm", "minus_mm"),
    [
        ("1/2", 1, 1.6, 0.8),
        ("2-1/2", 1, 1.6, 0.8),
        ("3", 1, 1.6, 1.6),
        ("4", 1, 1.6, 1.6),
        ("5", 2, 2.4, 1.6),
        ("8", 2, 2.4, 1.6),
        ("10", 3, 4.0, 3.2),
        ("12", 3, 4.0, 3.2),
    ],
)
def test_tolerances(size: str, off_angle_mm: float, plus_mm: float, minus_mm: float) -> None:
    # B16.9, second-hand; the ODs from NPS 5 up from memory.
    made = stock_elbow("90 long radius", pipe_size(f"NPS {size}", "40"), bevelled=True)
    assert math.tan(made.sweep_tolerance_rad) * made.od_mm == pytest.approx(off_angle_mm)
    assert (made.od_plus_mm, made.od_minus_mm) == (plus_mm, minus_mm)


def test_one_millimetre_off_angle_on_a_48_mm_elbow_is_1_2_degrees() -> None:
    made = stock_elbow("90 long radius", pipe_size("NPS 1-1/2", "40"), bevelled=True)
    assert math.degrees(made.sweep_tolerance_rad) == pytest.approx(1.2, abs=0.02)


def test_elbow_names() -> None:
    assert elbow_kind("90  Long Radius") == "90 long radius"
    assert len(set(elbow_kinds())) == len(elbow_kinds())
    with pytest.raises(
        StandardsError, match=r"there is no elbow '90 log radius'.*did you mean 90 long radius\?"
    ):
        elbow_kind("90 log radius")


def test_a_wall_must_leave_a_bore() -> None:
    pipe = pipe_size("NPS 1", "40")
    assert checked_pipe(pipe) is pipe
