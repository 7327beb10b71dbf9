"""The straightness sheet as written: nothing runs into anything, figures stand where the model has them."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

import cli
from render.figures.figures_json import figures
from render.figures.straightness_tables import straightness_tables
from render.pages.drawing import Polyline, Text
from render.sheets.check_record import check_record_pages
from render.sheets.straightness_figure import run_figure
from render.sheets.straightness_sheet import straightness_pages
from templates_core.model import Model
from templates_core.welding.straightness import BentRun
from tests.layout_checks import outside_margins, text_overlaps
from tests.sheet_samples import LEVEL, layout, model_of, words, written
from tests.weld_jobs import (
    BALANCED,
    CLAMPS,
    NINE_POSTS,
    OPPOSED,
    TRIED,
    TWO_POSTS,
    TWO_SIDES,
    made,
    posts,
    rail_of,
    text_of,
)

CROWDED = rail_of("hndrail-N.12", "{ run = '5800 mm' }", *posts(1, [60 + 120 * i for i in range(48)], -30))
SHORT = rail_of("S", "{ run = '220 mm' }", *posts(1, (110,)))
TINY = rail_of("T", "{ run = '12000 mm' }", *posts(1, [300 + 600 * i for i in range(20)]))
RAMP = rail_of(
    "R",
    "{ run = '900 mm' }, { turn = 5, towards = 'up', by = 'mitre' }, { run = '2900 mm' }, "
    "{ turn = 5, towards = 'down', by = 'mitre' }, { run = '800 mm' }",
    *posts(2, (700, 1500, 2300)),
)
STRAIGHT = rail_of("N", "{ run = '900 mm' }, { turn = 50, towards = 'left' }, { run = '900 mm' }")
FREE = 'preset = "free"\n'
WEAK = CLAMPS.replace('"3 kN"', '"0.1 kN"')
CASES = {
    "two posts": ((TWO_POSTS,), CLAMPS, "NPS 1-1/2"),
    "nine posts": ((NINE_POSTS,), CLAMPS, "NPS 1-1/2"),
    "two sides": ((TWO_SIDES, OPPOSED, BALANCED), CLAMPS + TRIED, "NPS 1-1/2"),
    "crowded": ((CROWDED,), CLAMPS, "NPS 1-1/2"),
    "short": ((SHORT,), CLAMPS, "NPS 2"),
    "small pipe": ((TINY,), CLAMPS, "NPS 1/2"),
    "large pipe": ((rail_of("L", "{ run = '9000 mm' }", *posts(1, (3000, 6000))),), CLAMPS, "NPS 12"),
    "mitred": ((RAMP,), CLAMPS + TRIED, "NPS 1-1/2"),
    "no clamps": ((TWO_POSTS,), 'leg = "4 mm"\n', "NPS 1-1/2"),
    "free": ((NINE_POSTS,), FREE, "NPS 1-1/2"),
    "weak clamps": ((TWO_POSTS, NINE_POSTS), WEAK, "NPS 1-1/2"),
    "no side weld": ((STRAIGHT,), CLAMPS, "NPS 1-1/2"),
}


def case(name: str, units: str = "mm") -> Model:
    rails, table, size = CASES[name]
    return made(*rails, table=table, units=units, size=size)


def runs_of(model: Model) -> list[BentRun]:
    return [run for rail in model.rails if rail.straightness for run in rail.straightness.runs]


@pytest.mark.parametrize(("units", "paper"), [("mm", "A4"), ("in", "letter")])
@pytest.mark.parametrize("name", CASES)
def test_nothing_runs_into_anything(tmp_path: Path, name: str, units: str, paper: str) -> None:
    model = case(name, units)
    for sheet in written(tmp_path, straightness_pages(model, layout(paper))):
        assert not text_overlaps(sheet)
        assert not outside_margins(sheet)
        assert all(word.size_pt >= 7.0 for word in sheet.words)


def test_without_a_weld_table_there_is_no_sheet_and_no_record_of_it(tmp_path: Path) -> None:
    model = model_of(LEVEL)
    assert straightness_pages(model, layout("A4")) == ()
    assert straightness_tables(model) == ()
    assert figures(model)["rails"][0]["straightness"] is None
    assert "kink" not in words(written(tmp_path, check_record_pages(model, layout("A4"))))


def test_the_sheet_says_which_way_and_marks_the_estimate(tmp_path: Path) -> None:
    found = words(written(tmp_path, straightness_pages(case("two posts"), layout("A4"))))
    assert "both ENDS of the pipe come TOWARDS the side that is welded" in found
    assert "both ends move DOWN (the arrows), and the middle stands off" in found
    assert "ESTIMATE: it may come out anywhere from" in found
    assert "After release: UNKNOWN" in found or "after release: UNKNOWN" in found
    assert "COOL DOWN BEFORE RELEASE" in found
    assert "no outside data has tested it" in found
    assert "First trial" in found and "Second trial" in found
    assert "A53 Grade B" in found and "240 MPa" in found and "160 MPa" in found


def test_by_trial_nothing_is_called_an_estimate_but_the_butts(tmp_path: Path) -> None:
    model = made(TWO_POSTS, table=CLAMPS + TRIED + "butt_shrink = 1\n")
    found = words(written(tmp_path, straightness_pages(model, layout("A4"))))
    assert "By trial of this shop's own weld" in found and "By trial 0.50 of a clamped preset stays" in found
    assert "Whatever is marked ESTIMATE" in found
    assert found.count("ESTIMATE") == 1
    assert "UNKNOWN" not in found


def test_a_preset_that_does_not_hold_says_what_would(tmp_path: Path) -> None:
    found = words(written(tmp_path, straightness_pages(case("weak clamps"), layout("A4"))))
    assert "DOES NOT HOLD: it would take" in found
    assert re.search(r"with \d+ clamps side by side at each place", found)


def test_a_free_preset_is_laid_off_at_each_weld(tmp_path: Path) -> None:
    model = case("free")
    found = words(written(tmp_path, straightness_pages(model, layout("A4"))))
    assert "shape to bend it to first" in found and "clamps and shims" not in found
    run = runs_of(model)[0]
    for one in run.welds:
        row = f"{one.weld.mark} {one.weld.along_mm:.1f} {run.shape.off_mm(one.weld.along_mm):.1f}"
        assert row in found


@pytest.mark.parametrize("name", ["nine posts", "mitred", "two sides"])
def test_the_drawing_has_the_bow_to_its_scale_and_on_its_side(name: str) -> None:
    """Read back from the drawing: the pipe leaves its chord by the bow, times what the note says."""
    for run in runs_of(case(name)):
        note, figure = run_figure(run, "mm", 180.0)
        scale = int(re.findall(r"Drawn 1:(\d+)", note)[0])
        times = int((re.findall(r"exaggerated (\d+) times", note) or ["1"])[0])
        outlines = [item for item in figure.drawing if isinstance(item, Polyline) and len(item.points) > 50]
        upper = outlines[0].points[: len(outlines[0].points) // 2]
        (x0, y0), (x1, y1) = upper[0], upper[-1]
        assert x1 - x0 == pytest.approx(run.length_mm / scale)
        assert y1 == pytest.approx(y0)
        deepest = max((y0 - y for _, y in upper), key=abs)
        assert deepest == pytest.approx(run.shape.bow_mm * times / scale, rel=0.02, abs=0.01)
        if run.preset.supports:
            held = outlines[1].points[: len(outlines[1].points) // 2]
            assert max(y for _, y in held) > held[0][1], "it is held the other way"


@pytest.mark.parametrize("name", ["nine posts", "mitred"])
def test_places_on_the_drawing_are_those_of_the_tape(name: str) -> None:
    for run in runs_of(case(name)):
        note, figure = run_figure(run, "mm", 180.0)
        scale = int(re.findall(r"Drawn 1:(\d+)", note)[0])
        texts = [item for item in figure.drawing if isinstance(item, Text)]
        hook = min(item.at[0] for item in texts if item.text.startswith("HOOK"))
        for one in run.welds:
            reads = run.datum.reads_mm(one.weld.along_mm)
            (label,) = [item for item in texts if item.text.startswith(f"{one.weld.mark}  ")]
            assert float(label.text.split()[1]) == pytest.approx(reads, abs=0.0501)
            along = (reads - run.datum.beyond_mm) / scale
            assert label.at[0] == pytest.approx(hook + 8.0 + along + 0.95)


def test_the_record_has_blanks_for_what_was_left_and_what_to_enter(tmp_path: Path) -> None:
    found = words(written(tmp_path, check_record_pages(case("nine posts"), layout("A4"))))
    for needed in (
        "Bow left, + or −",
        "Next time: kink =",
        "kept =",
        "Weld trials",
        "kink = 4h/L",
        "used 0.599",
    ):
        assert needed in found
    for run in runs_of(case("nine posts")):
        assert run.pipe in found


def test_the_terminal_and_the_json_have_the_same_figures(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_text(text_of(TWO_POSTS, table=CLAMPS + TRIED), encoding="utf-8")
    shown = CliRunner().invoke(cli.main, ["figures", str(job)]).stdout
    model = case("two posts")
    assert "A-P1: clamps and shims, mm" in shown and "Rail A: bows, mm" in shown
    pipe = figures(made(TWO_POSTS, table=CLAMPS + TRIED))["rails"][0]["straightness"]["pipes"][0]
    assert pipe["welds"][0]["at_mm"] == pytest.approx(600)
    assert pipe["preset"]["kept"] == 0.5 and pipe["preset"]["left_mm"] is not None
    unknown = figures(model)["rails"][0]["straightness"]["pipes"][0]["preset"]
    assert unknown["left_mm"] is None and unknown["kept"] is None


def test_only_names_the_section(tmp_path: Path) -> None:
    job, out = tmp_path / "job.toml", tmp_path / "out.pdf"
    job.write_text(text_of(TWO_POSTS), encoding="utf-8")
    result = CliRunner().invoke(cli.main, ["sheets", str(job), "-o", str(out), "--only", "straightness"])
    assert result.exit_code == 0, result.output
