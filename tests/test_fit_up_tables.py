import math
from dataclasses import replace
from pathlib import Path

import pytest

from render.figures.figure_list import figure_tables
from render.figures.fit_up_tables import (
    diagonals_table,
    fit_up_tables,
    overall_table,
    rolls_table,
    runs_table,
    tape_checks_table,
)
from render.pages.tables import Table, plain_text
from templates_core.jobs.job_file import load_job
from templates_core.model import build_model
from tests.sheet_samples import ALL, FRAME, LEVEL, SPATIAL, model_of

SAMPLES = Path(__file__).parent.parent / "sample_jobs"


def column(table: Table, heading: str) -> list[str]:
    (place,) = [i for i, one in enumerate(table.columns) if one.heading == heading]
    return [row[place] for row in table.rows]


def test_faces_stand_a_gap_from_each_end_of_a_pipe() -> None:
    """Between two elbows with gaps of 2.4: 4.8 more than the pipe; at an end of the rail one gap."""
    table = runs_table(model_of(LEVEL).rails[0], "mm")
    pipes = [float(cell) for cell in column(table, "End to end of the pipe")]
    faces = [float(cell) for cell in column(table, "Face to face of what it is welded to")]
    more = [face - pipe for face, pipe in zip(faces, pipes, strict=True)]
    assert more == pytest.approx([2.4, 4.8, 4.8, 2.4], abs=0.11)
    assert not {"Tip to tip", "Over the heels"} & {one.heading for one in table.columns}, "no run has them"


def test_a_square_frame_has_equal_diagonals_and_heels_an_od_over_its_work_points() -> None:
    rail = model_of(FRAME).rails[0]
    over = [float(cell) for cell in column(runs_table(rail, "mm"), "Over the heels")]
    assert over == pytest.approx([900 + 48.26, 500 + 48.26] * 2, abs=0.06)
    assert len(set(column(diagonals_table(rail, "mm"), "Work point to work point"))) == 1
    (length, width, off) = overall_table(rail, "mm").rows[0]
    assert [float(cell) for cell in (length, width, off)] == pytest.approx([948.26, 548.26, 48.26], abs=0.06)


def test_rolls_are_girth_distances_of_their_angles() -> None:
    table = rolls_table(model_of(SPATIAL).rails[0], "mm")
    assert column(table, "Roll") == ["90°", "−60°"]
    girth = math.pi * 48.26
    told = [float(cell) for cell in column(table, "Round the girth")]
    assert told == pytest.approx([girth / 4, girth / 6], abs=0.06)
    assert column(table, "Which way, looking forward") == ["clockwise", "anticlockwise"]


def test_the_long_point_of_a_leaning_end_is_told_from_the_heel_line() -> None:
    """The first corner turns up, so its heel is below; the start leans up, so its long point is on top."""
    rail = build_model(load_job(SAMPLES / "slip_wall_return.toml")).rails[0]
    table = rolls_table(rail, "mm")
    (row,) = [row for row in table.rows if row[2] == "long point, start"]
    assert row[:2] == ("A-P1", "A1")
    assert float(row[4]) == pytest.approx(math.pi * 48.26 / 2, abs=0.06)
    assert row[5] == "half round, to the other side"


def test_a_class_puts_its_tolerances_beside_the_sizes() -> None:
    """EN ISO 13920 class B (second-hand): 3 for lengths to 1000, 4 to 2000, 6 to 4000; 20′ on long legs."""
    plain = model_of(LEVEL)
    held = replace(plain.job, tolerance="B")
    rail = build_model(held).rails[0]
    told = column(runs_table(rail, "mm"), "Work point to work point")
    assert told == ["900.0 ±3", "2650.0 ±6", "1200.0 ±4", "600.0 ±3"]
    assert column(tape_checks_table(rail, "mm"), "Angle may be off")[1] == "±0.33°"
    assert "±" not in plain_text(runs_table(plain.rails[0], "mm"))
    assert "Angle may be off" not in plain_text(tape_checks_table(plain.rails[0], "mm"))


@pytest.mark.parametrize("name", ALL)
@pytest.mark.parametrize("units", ["mm", "in"])
def test_every_rail_has_its_tables_on_a_terminal(name: str, units: str) -> None:
    model = model_of(ALL[name])
    titles = [table.title for table in figure_tables(model)]
    assert any(title.startswith("Pipes to cut") for title in titles)
    assert any(title.startswith("Out of each stick") for title in titles)
    for rail in model.rails:
        for table in fit_up_tables(rail, units):
            assert table.rows
            assert all(len(line) <= 140 for line in plain_text(table, 140).splitlines()[1:])
