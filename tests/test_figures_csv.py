"""The CSV files read back with the csv module, against the JSON and the laws that they must hold."""

from __future__ import annotations

import csv
import json
from collections import Counter, defaultdict
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

import cli
from render.figures.figures_csv import TABLES, figure_csvs, write_csvs
from render.pages.paper import paper_named
from templates_core.errors import InputError
from templates_core.jobs.job_file import load_job
from templates_core.model import build_model
from tests.post_jobs import LOOSE, SLOPE, made
from tests.sheet_samples import ALL, FAR, LEVEL, RAMP, model_of

SAMPLES = sorted((Path(__file__).parent.parent / "sample_jobs").glob("*.toml"))
STAIR = next(path for path in SAMPLES if path.stem == "boathouse_stair")
Rows = dict[str, list[dict[str, str]]]


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(cli.main, [str(argument) for argument in arguments])


def read(folder: Path) -> Rows:
    tables = {}
    for path in folder.glob("*.csv"):
        with path.open(encoding="utf-8", newline="") as file:
            tables[path.stem] = list(csv.DictReader(file))
    return tables


def total(rows: list[dict[str, str]], *columns: str) -> float:
    """Sum over the rows of the product of these columns."""
    result = 0.0
    for row in rows:
        product = 1.0
        for column in columns:
            product *= float(row[column])
        result += product
    return result


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_totals_are_those_of_the_json(path: Path, tmp_path: Path) -> None:
    assert run("figures", path, "--csv", tmp_path / "out").exit_code == 0
    tables, document = read(tmp_path / "out"), json.loads(run("figures", path, "--json").stdout)
    assert set(tables) == set(TABLES)
    for row in tables["members"]:
        row["cut_length_mm"] = row["cut_length_mm"] or row["tip_to_tip_mm"]
    assert total(tables["members"], "quantity", "cut_length_mm") == pytest.approx(
        document["pipe_in_all_mm"], rel=1e-12
    )
    assert total(tables["pieces"], "quantity") == sum(
        rail["quantity"] * len(corner["pieces"]) for rail in document["rails"] for corner in rail["corners"]
    )
    bought = [row for row in tables["buy"] if row["item"] == "elbow"]
    assert total(bought, "whole") + total(bought, "to_cut") == total(tables["elbows"], "quantity")
    for rail in document["rails"]:
        run_rows = [row for row in tables["fit_up_runs"] if row["rail"] == rail["mark"]]
        assert [float(row["work_points_mm"]) for row in run_rows] == [r["length_mm"] for r in rail["runs"]]
    assert {row["job_file"] for rows in tables.values() for row in rows} == {document["job"]["fingerprint"]}


@pytest.mark.parametrize("name", ALL)
@pytest.mark.parametrize("more", ["", '[stock]\nend_trim = "10 mm"'])
def test_every_pipe_and_piece_comes_out_of_stock_once_and_stock_adds_up(
    name: str, more: str, tmp_path: Path
) -> None:
    model = model_of(ALL[name], more=more)
    write_csvs(tmp_path, figure_csvs(model))
    tables = read(tmp_path)
    for kind, wanted in (("stick_pipes", "members"), ("elbow_pieces", "pieces")):
        made: Counter[str] = Counter()
        for row in tables[kind]:
            made[row["mark"]] += int(row["count"])
        assert made == {row["mark"]: int(row["quantity"]) for row in tables[wanted]}
    lengths: dict[str, dict[str, float]] = defaultdict(dict)
    for row in tables["stick_pipes"]:
        lengths[row["plan"]][row["place"]] = float(row["length_mm"])
    for stick in tables["sticks"]:
        pipes = lengths[stick["plan"]].values()
        kerfs = float(stick["kerf_mm"]) * (len(pipes) - 1)
        parts = float(stick["trim_mm"]) + sum(pipes) + kerfs + float(stick["rest_mm"])
        assert parts == pytest.approx(float(stick["stick_length_mm"]), abs=1e-6)
    for elbow in tables["elbows"]:
        spans = {
            row["place"]: float(row["end_deg"]) - float(row["start_deg"])
            for row in tables["elbow_pieces"]
            if row["plan"] == elbow["plan"]
        }
        left = float(elbow["offcut_end_deg"] or 0) - float(elbow["offcut_start_deg"] or 0)
        assert sum(spans.values()) + left == pytest.approx(float(elbow["sweep_deg"]), abs=1e-9)


def test_an_other_line_is_measured_from_the_other_face(tmp_path: Path) -> None:
    write_csvs(tmp_path, figure_csvs(model_of(LEVEL, FAR)))
    lines = read(tmp_path)["elbow_lines"]
    assert {line["measured_from"] for line in lines} == {"A", "B"}
    for line in lines:
        other = 0.0 if line["measured_from"] == "A" else 90 - 2 * float(line["measured_deg"])
        assert float(line["at_deg"]) == pytest.approx(float(line["measured_deg"]) + other, abs=1e-9)


def test_tables_of_before_are_replaced_and_stale_rows_go(tmp_path: Path) -> None:
    write_csvs(tmp_path, figure_csvs(model_of(LEVEL, FAR)))
    write_csvs(tmp_path, figure_csvs(model_of(RAMP)))
    tables = read(tmp_path)
    assert {row["rail"] for row in tables["members"]} == {"R"}
    assert tables["elbow_lines"] == []
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(f"{name}.csv" for name in TABLES)


def test_a_file_of_somebody_else_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "members.csv").write_text("name,phone\nclub,1\n", encoding="utf-8")
    result = run("figures", STAIR, "--csv", tmp_path)
    assert result.exit_code == 2
    assert "members.csv there is not from wrapwright" in result.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["members.csv"]
    assert (tmp_path / "members.csv").read_text(encoding="utf-8").startswith("name,phone")


def test_a_failure_leaves_every_old_table_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_csvs(tmp_path, figure_csvs(model_of(RAMP)))
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    real: Any = Path.write_text

    def failing(self: Path, *args: Any, **kwargs: Any) -> int:
        if "rolls" in self.name:
            raise OSError(28, "No space left on device")
        written: int = real(self, *args, **kwargs)
        return written

    monkeypatch.setattr(Path, "write_text", failing)
    result = run("figures", STAIR, "--csv", tmp_path)
    assert result.exit_code == 2
    assert "no space left" in result.stderr
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_a_place_that_will_not_do_is_told_with_the_faults_of_the_job(tmp_path: Path) -> None:
    (tmp_path / "here").write_text("mine", encoding="utf-8")
    job = tmp_path / "job.toml"
    job.write_text(STAIR.read_text(encoding="utf-8").replace("kerf = 1.6", "kerf = 160"), encoding="utf-8")
    result = run("figures", job, "--csv", tmp_path / "here")
    assert result.exit_code == 2
    assert "that is a file" in result.stderr
    assert "shop.kerf" in result.stderr
    assert "there is no folder" in run("figures", STAIR, "--csv", tmp_path / "no" / "out").stderr
    with pytest.raises(InputError):
        write_csvs(tmp_path / "here", {})


def test_json_and_csv_are_asked_for_one_at_a_time(tmp_path: Path) -> None:
    result = run("figures", STAIR, "--json", "--csv", tmp_path / "out")
    assert result.exit_code == 2
    assert "it doesn't go with --json" in result.stderr
    assert result.stdout == ""
    assert not (tmp_path / "out").exists()


def test_columns_are_keys_of_the_json() -> None:
    """No column is always empty for want of its key: each is filled somewhere in the samples."""
    filled: set[tuple[str, str]] = set()
    trimmed = '[stock]\nend_trim = "10 mm"\n[[stock.pipe]]\nlength = 6000\nprice = 40'
    models = [model_of(table, more=trimmed) for table in ALL.values()]
    samples = [build_model(load_job(path, paper_named)) for path in SAMPLES]
    for model in [*models, *samples, made(SLOPE + LOOSE)]:
        for name, text in figure_csvs(model).items():
            for row in csv.DictReader(text.splitlines()):
                filled |= {(name, column) for column, cell in row.items() if cell}
    empty = {
        (f"{name}.csv", column)
        for name, (columns, _) in TABLES.items()
        for column in columns
        if (f"{name}.csv", column) not in filled
    }
    assert {column for _, column in empty if "tolerance" not in column} <= {
        "mirror_of",
        "warning",
        "start_words",
        "end_words",
        "preset_kept",
        "preset_left_mm",
    }


def test_what_welding_does_is_in_the_tables(tmp_path: Path) -> None:
    path = next(path for path in SAMPLES if path.stem == "gangway_rail")
    assert run("figures", path, "--csv", tmp_path).exit_code == 0
    tables, document = read(tmp_path), json.loads(run("figures", path, "--json").stdout)
    pipes = document["rails"][0]["straightness"]["pipes"]
    assert [row["mark"] for row in tables["bows"]] == [pipe["mark"] for pipe in pipes]
    assert total(tables["side_welds"], "kink_deg") == pytest.approx(
        sum(weld["kink_deg"] for pipe in pipes for weld in pipe["welds"])
    )
    for row in tables["supports"]:
        assert sum(map(float, row["shims_mm"].split("; "))) == pytest.approx(float(row["height_mm"]))


def test_leaning_cuts_have_a_row_for_each_girth_line(tmp_path: Path) -> None:
    path = next(path for path in SAMPLES if path.stem == "slip_wall_return")
    assert run("figures", path, "--csv", tmp_path).exit_code == 0
    rows = read(tmp_path)["leaning_cuts"]
    lengths = {(row["pieces"], float(row["girth_deg"])): float(row["from_face_mm"]) for row in rows}
    assert len(lengths) == len(rows) >= 24
    assert {row["pieces"] for row in rows} == {"A2", "AM2"}
    for (piece, girth), length in lengths.items():
        mirrored = {"A2": "AM2", "AM2": "A2"}[piece], -girth
        assert lengths.get(mirrored, length) == pytest.approx(length, abs=1e-6)
