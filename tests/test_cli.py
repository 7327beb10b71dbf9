"""The command: what it writes, what it says, and the status that it ends with."""

from __future__ import annotations

import json
import math
import subprocess
import sys
import time
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from pypdf import PdfReader

import cli
import render.pack
from templates_core.errors import InputError
from templates_core.jobs.job_file import load_job
from templates_core.model import build_model
from templates_core.single import SingleAsked, single_job, single_model

ROOT = Path(__file__).parent.parent
SAMPLES = sorted((ROOT / "sample_jobs").glob("*.toml"))
STAIR = ROOT / "sample_jobs" / "boathouse_stair.toml"
ELBOW = ("--size", "NPS 1-1/2", "--schedule", "40", "--elbow", "90 long radius")


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(cli.main, [str(argument) for argument in arguments])


def write(folder: Path, text: str) -> Path:
    path = folder / "job.toml"
    path.write_text(text, encoding="utf-8")
    return path


def sections_of(pdf: Path) -> list[str]:
    """Bookmarks of the top level."""
    return [str(entry.title) for entry in PdfReader(pdf).outline if not isinstance(entry, list)]


@pytest.fixture(scope="module")
def pack(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Result]:
    out = tmp_path_factory.mktemp("pack") / "stair.pdf"
    return out, run("sheets", STAIR, "-o", out)


def test_sheets_writes_a_pack_and_says_what_it_wrote(pack: tuple[Path, Result]) -> None:
    out, result = pack
    pages = len(PdfReader(out).pages)
    assert result.exit_code == 0, result.output
    assert f"{pages} sheets on A4, written to {out}" in result.stdout
    for text in build_model(load_job(STAIR)).warnings:
        assert f"Caution: {text}" in result.stderr


def test_sections_come_in_the_order_of_the_bench(pack: tuple[Path, Result]) -> None:
    assert sections_of(pack[0]) == [
        "Print check",
        "Measure first",
        "Job",
        "Buy list",
        "Cut list",
        "Wraps",
        "Bench sheets",
        "Fit-up",
        "Check record",
    ]


def test_sheets_are_numbered_through_the_pack(pack: tuple[Path, Result]) -> None:
    pages = PdfReader(pack[0]).pages
    for number, page in enumerate(pages, 1):
        assert f"Sheet {number} of {len(pages)}" in page.extract_text()


def test_the_same_job_gives_the_same_bytes(pack: tuple[Path, Result], tmp_path: Path) -> None:
    run("sheets", STAIR, "-o", tmp_path / "again.pdf")
    assert (tmp_path / "again.pdf").read_bytes() == pack[0].read_bytes()


def test_only_takes_sections_by_name_and_in_order(tmp_path: Path) -> None:
    out = tmp_path / "some.pdf"
    assert run("sheets", STAIR, "-o", out, "--only", "record, wraps", "--only", "job").exit_code == 0
    assert sections_of(out) == ["Job", "Wraps", "Check record"]


def test_only_with_an_unknown_section_names_the_nearest(tmp_path: Path) -> None:
    result = run("sheets", STAIR, "-o", tmp_path / "some.pdf", "--only", "wrap")
    assert result.exit_code == 2
    assert "--only: the pack has no section 'wrap'" in result.stderr
    assert "did you mean wraps?" in result.stderr


def test_paper_overrides_the_one_of_the_job(tmp_path: Path) -> None:
    out = tmp_path / "pack.pdf"
    assert "on A3" in run("sheets", STAIR, "-o", out, "--paper", "a3").stdout
    sizes = {(float(page.mediabox.width), float(page.mediabox.height)) for page in PdfReader(out).pages}
    for width, height in sizes:
        assert sorted((width, height)) == pytest.approx([297 * 72 / 25.4, 420 * 72 / 25.4], abs=0.01)


def test_a_print_correction_reaches_the_sheets(tmp_path: Path) -> None:
    out = tmp_path / "pack.pdf"
    run("sheets", STAIR, "-o", out, "--printed", "99.2x99.6", "--only", "print-check")
    assert "99.2 × 99.6" in PdfReader(out).pages[0].extract_text()


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_every_sample_job_writes_a_pack(path: Path, tmp_path: Path) -> None:
    result = run("sheets", path, "-o", tmp_path / "pack.pdf")
    assert result.exit_code == 0, result.output
    assert len(PdfReader(tmp_path / "pack.pdf").pages) >= 7


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_figures_of_every_sample_job(path: Path) -> None:
    result = run("figures", path)
    assert result.exit_code == 0, result.output
    for rail in build_model(load_job(path)).rails:
        for corner in rail.corners:
            assert corner.mark in result.stdout


def test_json_has_full_precision_and_degrees() -> None:
    result = run("figures", STAIR, "--json")
    document = json.loads(result.stdout)
    corner = document["rails"][0]["corners"][0]
    assert corner["turn_deg"] == pytest.approx(math.degrees(math.atan2(175, 270)), abs=1e-12)
    assert corner["inside_angle_deg"] + corner["turn_deg"] == pytest.approx(180, abs=1e-12)
    stair = document["rails"][0]["runs"][1]
    assert stair["length_mm"] == pytest.approx(12 * math.hypot(175, 270), rel=1e-15)
    assert stair["pitch_deg"] == pytest.approx(-corner["turn_deg"], abs=1e-12)
    heel, side, throat = document["cuts"][0]["to_cut"]
    assert heel["from_face_mm"] + throat["from_face_mm"] == pytest.approx(2 * side["from_face_mm"], rel=1e-12)


def test_start_writes_a_job_file_that_makes_a_pack_and_is_not_overwritten(tmp_path: Path) -> None:
    job = tmp_path / "rail.toml"
    first = run("start", job)
    assert first.exit_code == 0
    assert str(job) in first.stdout
    assert run("sheets", job, "-o", tmp_path / "rail.pdf").exit_code == 0
    job.write_text("mine", encoding="utf-8")
    again = run("start", job)
    assert again.exit_code == 2
    assert "there is such a file already" in again.stderr
    assert job.read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize(
    ("name", "says"), [("rail", "a job file's name ends in .toml"), ("no/rail.toml", "it can't be written")]
)
def test_start_refuses_a_place_that_will_not_do(name: str, says: str, tmp_path: Path) -> None:
    result = run("start", tmp_path / name)
    assert result.exit_code == 2
    assert says in result.stderr


def test_every_fault_of_file_and_options_is_told_at_once(tmp_path: Path) -> None:
    text = STAIR.read_text(encoding="utf-8")
    text = text.replace("kerf = 1.6", "kerf = 160").replace('paper = "A4"', 'paper = "A5"')
    result = run(
        "sheets",
        write(tmp_path, text),
        "-o",
        tmp_path / "no" / "pack.txt",
        "--printed",
        "80x80",
        "--only",
        "cut",
    )
    assert result.exit_code == 2
    for place in ("--only:", "shop.kerf:", "shop.paper:", "--printed:", "-o "):
        assert any(line.startswith(place) for line in result.stderr.splitlines()), place
    assert "5 faults" in result.stderr
    assert result.stdout == ""


def test_words_that_cannot_be_printed_are_told_with_their_place(tmp_path: Path) -> None:
    text = (
        STAIR.read_text(encoding="utf-8").replace("HS-014", "中").replace('revision = "A"', 'revision = "Σ"')
    )
    result = run("sheets", write(tmp_path, text), "-o", tmp_path / "pack.pdf")
    assert result.exit_code == 2
    assert "number: the font of the sheets has no '中'" in result.stderr
    assert "revision: the font of the sheets has no 'Σ'" in result.stderr


@pytest.mark.parametrize(
    ("name", "says"),
    [("pack.toml", "ends in .pdf"), ("no/pack.pdf", "there is no folder"), ("here.pdf", "that is a folder")],
)
def test_a_place_for_the_pack_that_will_not_do_is_refused(name: str, says: str, tmp_path: Path) -> None:
    (tmp_path / "here.pdf").mkdir()
    result = run("sheets", STAIR, "-o", tmp_path / name)
    assert result.exit_code == 2
    assert says in result.stderr
    assert not (tmp_path / "pack.toml").exists()


def test_a_job_file_that_is_not_there(tmp_path: Path) -> None:
    for command in (("sheets", "no.toml", "-o", tmp_path / "pack.pdf"), ("figures", "no.toml")):
        result = run(*command)
        assert result.exit_code == 2
        assert "no.toml: there is no such file" in result.stderr
    assert not (tmp_path / "pack.pdf").exists()


@pytest.mark.parametrize("fault", [ZeroDivisionError("by nought"), InputError([])])
def test_a_run_that_fails_half_way_leaves_the_old_pack_whole(
    fault: Exception, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "pack.pdf"
    out.write_bytes(b"the old pack")

    def fail(*_: object) -> None:
        raise fault

    monkeypatch.setitem(render.pack.SECTIONS, "record", fail)
    result = run("sheets", STAIR, "-o", out)
    assert result.exit_code == (2 if isinstance(fault, InputError) else 1)
    assert out.read_bytes() == b"the old pack"
    assert list(tmp_path.iterdir()) == [out]


def test_an_internal_fault_gives_a_line_to_report(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> None:
        raise ZeroDivisionError("by nought")

    monkeypatch.setitem(render.pack.SECTIONS, "job", fail)
    result = run("sheets", STAIR, "-o", tmp_path / "pack.pdf")
    assert result.exit_code == 1
    assert "Please report it" in result.stderr
    assert "test_cli.py line" in result.stderr
    assert "ZeroDivisionError: by nought" in result.stderr
    assert "Traceback" not in result.output
    monkeypatch.setenv(cli.DEBUG, "1")
    assert isinstance(run("sheets", STAIR, "-o", tmp_path / "pack.pdf").exception, ZeroDivisionError)


def test_single_writes_the_sheets_of_one_corner(tmp_path: Path) -> None:
    out = tmp_path / "corner.pdf"
    result = run("single", *ELBOW, "--inside-angle", "147.3", "-o", out)
    assert result.exit_code == 0, result.output
    assert sections_of(out) == ["Print check", "Wraps", "Bench sheets"]


def test_single_mitre_needs_no_elbow(tmp_path: Path) -> None:
    out = tmp_path / "mitre.pdf"
    result = run("single", "--od", "48.3", "--wall", "3.7", "--mitre", "--turn", "4.76", "-o", out)
    assert result.exit_code == 0, result.output
    assert "Wraps" in sections_of(out)


def test_single_is_the_job_that_a_file_would_give() -> None:
    """The same corner in a job file and from options has the same cut."""
    job = single_job(SingleAsked("in", size="NPS 2", schedule="80", elbow="90 long radius", turn="40"))
    cut = single_model(job).cut_groups[0].cut
    assert cut.elbow.bend_radius_mm == pytest.approx(76.2)
    assert cut.elbow.od_mm == pytest.approx(60.325)
    assert cut.elbow.wall_mm == pytest.approx(5.54, abs=0.01)
    assert math.degrees(cut.piece_angle_rad) == pytest.approx(40)


def test_single_takes_a_real_elbow() -> None:
    asked = SingleAsked(
        "in", od="1.9", wall="0.145", bend_radius="2-1/4", sweep="89.5", shoulder="0.06 in", turn="30"
    )
    (elbow,) = single_job(asked).elbows
    assert elbow.bend_radius_mm == pytest.approx(57.15)
    assert math.degrees(elbow.sweep_rad) == pytest.approx(89.5)
    assert elbow.shoulder_mm == pytest.approx(1.524)


SINGLE_FAULTS = {
    "no angle": (SingleAsked(size="NPS 1", schedule="40", elbow="90 long radius"), "--turn: no angle"),
    "both angles": (
        SingleAsked(size="NPS 1", schedule="40", elbow="90 long radius", turn="20", inside_angle="160"),
        "--turn: both --turn and --inside-angle",
    ),
    "no elbow": (SingleAsked(size="NPS 1", schedule="40", turn="40"), "--elbow: no elbow"),
    "no size": (SingleAsked(elbow="90 long radius", turn="40"), "--size: it has no size"),
    "schedule": (
        SingleAsked(size="NPS 1", schedule="41", elbow="90 long radius", turn="40"),
        "--size: there is no schedule",
    ),
    "kind": (
        SingleAsked(size="NPS 1", schedule="40", elbow="90 lng radius", turn="40"),
        "--elbow: there is no elbow '90 lng radius'",
    ),
    "two elbows": (
        SingleAsked(size="NPS 1", schedule="40", elbow="90 long radius", bend_radius="38", turn="40"),
        "--elbow: a stock elbow has its sizes",
    ),
    "mitred elbow": (
        SingleAsked(size="NPS 1", schedule="40", elbow="90 long radius", mitre=True, turn="40"),
        "--mitre: a mitre is cut on pipe",
    ),
    "length": (
        SingleAsked(od="48,3", wall="3.7", bend_radius="57", turn="40"),
        "--od: '48,3' has a comma",
    ),
    "radius": (
        SingleAsked(od="48.3", wall="3.7", bend_radius="20", turn="40"),
        "--elbow: a bend radius of 20 mm",
    ),
    "units": (
        SingleAsked("ft", size="NPS 1", schedule="40", elbow="90 long radius", turn="40"),
        "--units:",
    ),
    "small": (
        SingleAsked(size="NPS 1-1/2", schedule="40", elbow="90 long radius", turn="3"),
        "--turn: a turn of 3° is too small",
    ),
    "whole": (
        SingleAsked(size="NPS 1-1/2", schedule="40", elbow="90 long radius", turn="90"),
        "--turn: whole elbows make this turn",
    ),
    "run": (
        SingleAsked(size="NPS 1", schedule="40", elbow="90 long radius", turn="40", run="5"),
        "--run: it is",
    ),
}


@pytest.mark.parametrize(("asked", "says"), SINGLE_FAULTS.values(), ids=SINGLE_FAULTS.keys())
def test_single_names_the_option_at_fault(asked: SingleAsked, says: str) -> None:
    with pytest.raises(InputError) as caught:
        single_model(single_job(asked))
    (fault,) = caught.value.faults
    assert str(fault).startswith(says)
    assert "by = " not in str(fault)
    assert "rail A" not in str(fault)


def test_an_unknown_option_is_bad_input() -> None:
    result = run("sheets", STAIR, "--out", "x.pdf", "--papr", "A4")
    assert result.exit_code == 2
    assert "--paper" in result.stderr


def test_the_command_works_from_a_checkout() -> None:
    done = subprocess.run(
        [sys.executable, "cli.py", "--version"], cwd=ROOT, text=True, capture_output=True, check=True
    )
    assert done.stdout.startswith("wrapwright, version ")


def test_help_loads_nothing_heavy() -> None:
    """Help comes at once because it imports none of the libraries that geometry and PDF need."""
    code = (
        "import sys, click.testing, cli; click.testing.CliRunner().invoke(cli.main, ['sheets', '--help']);"
        "print(sorted({'numpy', 'shapely', 'pydantic', 'reportlab'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, text=True, capture_output=True, check=True)
    assert done.stdout.strip() == "[]"


class Screen:
    """A terminal or a file that remembers what was written to it."""

    def __init__(self, terminal: bool) -> None:
        self.text = ""
        self.terminal = terminal

    def isatty(self) -> bool:
        return self.terminal

    def write(self, text: str) -> int:
        self.text += text
        return len(text)

    def flush(self) -> None:
        pass


@pytest.mark.parametrize(
    ("terminal", "seconds", "shows"), [(True, 5, True), (True, 0.2, False), (False, 5, False)]
)
def test_progress_shows_on_a_terminal_after_a_second(
    terminal: bool, seconds: float, shows: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    screen, now = Screen(terminal), [100.0]
    monkeypatch.setattr(sys, "stderr", screen)
    monkeypatch.setattr(time, "monotonic", lambda: now[0])
    with cli._Progress() as progress:
        now[0] += seconds
        progress("wraps", 3, 40)
        assert ("wraps: 3 of 40" in screen.text) == shows
    assert screen.text.endswith("\r") == shows
