"""Sheets of cut pipes as written: clear, complete, and warning of what can't be welded well."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from render.pages.paper import Page
from render.sheets.member_sheet import member_pages
from templates_core.fittings import Pipe
from templates_core.pipes.cut_pipe import CutPipe
from tests.cut_pipe_samples import NPS_1_5, lopsided
from tests.layout_checks import outside_margins, text_overlaps
from tests.pdf_reader import Sheet
from tests.post_jobs import SLOPE, made
from tests.sheet_samples import LEVEL, layout, model_of, written

HALF, THREE = Pipe("NPS 1/2 Sch 40", 21.336, 2.77, "typed"), Pipe("NPS 3 Sch 40", 88.9, 5.49, "typed")
SIX, TWELVE = Pipe("NPS 6 Sch 40", 168.3, 7.11, "typed"), Pipe("NPS 12 Sch 40", 323.85, 10.31, "typed")
JOBS = {
    "short": [lopsided(200.0)],
    "long, with a hole": [lopsided(1800.0, hole=True)],
    "rolled a little": [lopsided(1500.0, roll_deg=4.0), lopsided(160.0, mark="M2", roll_deg=-3.0)],
    "short and thin": [lopsided(75.0, HALF), lopsided(58.0, HALF, "M2", roll_deg=-20.0)],
    "half inch": [lopsided(150.0, HALF), lopsided(700.0, HALF, "M2", angles_deg=(25.0, 40.0), hole=True)],
    "three inch": [lopsided(1800.0, THREE, radii_mm=(57.15, 44.45))],
    "six inch": [lopsided(2500.0, SIX, angles_deg=(66.3, 84.5), radii_mm=(109.5, 84.15), hole=True)],
    "twelve inch": [lopsided(2800.0, TWELVE, "frame-12", radii_mm=(177.8, 161.925), hole=True)],
}


def pages(pipes: list[CutPipe], paper: str = "A4") -> tuple[Page, ...]:
    return member_pages(replace(model_of(LEVEL), cut_pipes=tuple(pipes)), layout(paper))


def test_sheets_of_posts_and_mid_rails_are_clear(tmp_path: Path) -> None:
    for sheet in written(tmp_path, member_pages(made(SLOPE), layout("A4"))):
        assert text_overlaps(sheet) == []
        assert outside_margins(sheet) == []


@pytest.mark.parametrize("name", JOBS)
@pytest.mark.parametrize("paper", ["A4", "letter", "roll 610"])
def test_nothing_overlaps_or_leaves_the_page(name: str, paper: str, tmp_path: Path) -> None:
    for sheet in written(tmp_path, pages(JOBS[name], paper)):
        assert text_overlaps(sheet) == []
        assert outside_margins(sheet) == []
        assert min(word.size_pt for word in sheet.words) >= 7.0


def words(tmp_path: Path, *pipes: CutPipe) -> str:
    return " ".join(w.text for sheet in written(tmp_path, pages(list(pipes))) for w in sheet.words)


def test_a_sheet_says_what_a_fitter_needs(tmp_path: Path) -> None:
    said = words(tmp_path, lopsided(1800.0))
    for needed in (
        "M1: first end – make 3",
        "M1: second end – make 3",
        "cope on A-P2, 57.3°, offset 4.0",
        "whichever comes first",
        "square to what it sits on",
        "Ring line",
        "from the sawn first end",
        "TO THE FIRST",
        "KEEP",
        "CROTCH",
        "37.00° round from the 0° line",
        "centre to centre",
    ):
        assert needed in said


@pytest.mark.parametrize(("angle_deg", "warned"), [(44.0, True), (46.0, False)])
def test_a_lateral_under_45_degrees_is_warned_of(angle_deg: float, warned: bool, tmp_path: Path) -> None:
    """NAVEDTRA 14251, ch. 3: laterals under 45° are hard to weld in the crotch."""
    said = words(tmp_path, lopsided(1800.0, angles_deg=(angle_deg, 90.0)))
    assert ("hard to weld" in said) == warned


def test_pipes_that_are_alike_are_drawn_once(tmp_path: Path) -> None:
    said = words(tmp_path, *(lopsided(1800.0, mark=f"M{n}") for n in range(1, 6)))
    assert said.count("first end – make") == 1
    assert "M1 to M5: first end – make 15" in said


def test_no_page_without_a_cut_pipe() -> None:
    assert pages([]) == ()


def test_each_wrap_is_as_long_as_its_pipe_is_round(tmp_path: Path) -> None:
    (sheet,) = [s for s in written(tmp_path, pages([lopsided(200.0)])) if len(s.with_width(0.5)) == 2]
    for trace in sheet.with_width(0.5):
        across, up = np.ptp(np.array(trace.points), axis=0)
        assert max(across, up) == pytest.approx(math.pi * (NPS_1_5.od_mm + 0.1), abs=0.01)


def test_more_ordinates_where_the_shop_wants_them_closer(tmp_path: Path) -> None:
    lines = []
    for tolerance in ("2 mm", "0.5 mm", "0.01 mm"):
        text = SLOPE + f'\n[shop]\nordinate_tolerance = "{tolerance}"\n'
        (sheet,) = [
            s for s in written(tmp_path, member_pages(made(text), layout("A4"))) if "A-T1-1 +1" in said(s)
        ]
        lines.append(said(sheet))
    counts = [max(int(n) for n in re.findall(r" ([0-9]{1,2}) [0-9]+\.[0-9]{2} ", text)) for text in lines]
    assert counts[0] < counts[1] < counts[2] == 63
    assert "chords leave the cut by up to" in lines[2]
    assert "chords leave" not in lines[1]


def said(sheet: Sheet) -> str:
    return " ".join(word.text for word in sheet.words)
