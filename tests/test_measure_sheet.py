import math
import re
from pathlib import Path

import pytest

from render.sheets.measure_sheet import measure_pages
from templates_core.model import Model
from tests.sheet_samples import BEVELLED, FAR, LEVEL, RAMP, SQUARE, layout, model_of, words, written

KEYS = ("girth", "heel_arc", "throat_arc", "sweep", "shoulder")


def sheet_words(tmp_path: Path, model: Model) -> str:
    return words(written(tmp_path, measure_pages(model, layout("A4"))))


def expected(found: str, kind: str) -> dict[str, str]:
    """The figure that follows each blank of an elbow."""
    part = found[found.index(f'[measured."{kind}"]') :]
    return {key: re.search(rf"{key} = ([\d.]+)", part)[1] for key in KEYS}  # type: ignore[index]


@pytest.mark.parametrize("ends", [SQUARE, BEVELLED])
def test_blanks_filled_in_as_expected_make_a_job_that_reads_the_same(tmp_path: Path, ends: str) -> None:
    """The names on the sheet are those that a job file takes, and its figures those of the nominal elbow."""
    model = model_of(LEVEL, ends=ends)
    blanks = expected(sheet_words(tmp_path, model), "90 long radius")
    table = "\n".join(['[measured."90 long radius"]', *(f"{key} = {value}" for key, value in blanks.items())])
    again = model_of(LEVEL, ends=ends, more=table)
    before, after = model.job.elbows[0], again.job.elbows[0]
    assert after.source == "measured" and not again.job.warnings
    assert after.bend_radius_mm == pytest.approx(before.bend_radius_mm, abs=0.1)
    assert after.od_mm == pytest.approx(before.od_mm, abs=0.05)
    assert after.shoulder_mm == pytest.approx(before.shoulder_mm, abs=0.05)


def test_figures_of_an_nps_1_1_2_elbow(tmp_path: Path) -> None:
    """OD 48.26, R 57.15 (B16.9): girth π·48.26, arcs 81.28 and 33.02 times a quarter turn."""
    found = sheet_words(tmp_path, model_of(LEVEL, ends=SQUARE))
    quarter = math.pi / 2
    told = expected(found, "90 long radius")
    assert told["girth"] == f"{math.pi * 48.26:.1f}"
    assert told["heel_arc"] == f"{81.28 * quarter:.1f}" and told["throat_arc"] == f"{33.02 * quarter:.1f}"
    assert told["sweep"] == "90.0" and told["shoulder"] == "0.0"
    assert "149.1 mm to 156.6 mm" in found, "OD +1.6, −0.8"


def test_what_was_taped_stands_beside_what_is_nominal(tmp_path: Path) -> None:
    more = '[measured."90 long radius"]\ngirth = 152.4\nsweep = 89.6'
    found = sheet_words(tmp_path, model_of(LEVEL, more=more))
    assert expected(found, "90 long radius")["girth"] == "151.6"
    assert "152.4 mm" in found and "89.6°" in found


def test_a_45_of_unknown_radius_says_so(tmp_path: Path) -> None:
    found = sheet_words(tmp_path, model_of(LEVEL))
    assert '[measured."45 long radius"]' in found
    assert found.count("not known") == 2 and "used whole" in found


def test_far_face_cuts_ask_for_the_sweep_of_every_elbow(tmp_path: Path) -> None:
    far = sheet_words(tmp_path, model_of(FAR))
    assert "F1: cut from the far face. Measure the sweep of every elbow" in far
    moved = 1100 * math.radians(1)  # its longest run
    assert f"a run of 1100.0 mm out by {moved:.1f} mm" in far
    assert "far face. Measure" not in sheet_words(tmp_path, model_of(LEVEL))


def test_a_bend_radius_that_is_off_leaves_the_angle_and_moves_the_face() -> None:
    """Arcs of the nominal elbow laid on one whose radius is 1 mm over, in plan: what the sheet says of it."""
    R, r, turn = 57.15, 24.13, math.radians(40)
    heel, throat = (
        (radius * math.cos(at), radius * math.sin(at))
        for side in (1, -1)
        for radius in (R + 1 + side * r,)
        for at in ((R + side * r) * turn / radius,)
    )
    tilt = math.atan2(heel[1] - throat[1], heel[0] - throat[0])
    assert tilt == pytest.approx(turn, abs=math.radians(0.02))


def test_a_job_of_mitres_alone_measures_pipe(tmp_path: Path) -> None:
    found = sheet_words(tmp_path, model_of(RAMP))
    assert "[measured" not in found and "heel_arc: " not in found and "[pipe]" in found
