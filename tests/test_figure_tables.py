import math

import pytest

from render.figures.figure_list import figure_tables
from render.figures.figure_tables import cuts_table, mitres_table, ordinates_table, pipes_table
from render.pages.tables import Table, plain_text
from tests.sheet_samples import ALL, FAR, LEVEL, RAMP, SPATIAL, SQUARE, model_of


def cells(table: Table, row: str) -> dict[str, str]:
    headings = [column.heading for column in table.columns]
    (found,) = [line for line in table.rows if row in line[0].split(", ")]
    return dict(zip(headings, found, strict=True))


def test_ordinates_follow_the_torus() -> None:
    """ρ·θ with ρ = R + r·cos φ from the face measured from: a 66° piece is cut 24° from the far face."""
    for table, mark, degrees in ((LEVEL, "A1", 32.7), (FAR, "F1", 24.0)):
        row = cells(ordinates_table(model_of(table, ends=SQUARE)), mark)
        told = [float(value) for heading, value in row.items() if "°" in heading]
        arcs = [
            (57.15 + 24.13 * math.cos(math.radians(phi))) * math.radians(degrees) for phi in range(0, 181, 30)
        ]
        assert told == pytest.approx(arcs, abs=0.0051)


def test_ordinates_at_heel_side_and_throat_are_the_arcs_of_the_cuts_table() -> None:
    model = model_of(LEVEL, FAR)
    for mark in ("A1", "A2b", "F1"):
        ordinates, cut = cells(ordinates_table(model), mark), cells(cuts_table(model), mark)
        assert [ordinates[h] for h in ("Heel 0°", "Side 90°", "Throat 180°")] == [
            cut[h] for h in ("Heel arc", "Side arc", "Throat arc")
        ]
    assert cells(cuts_table(model), "F1")["From face"] == "far"
    assert cells(cuts_table(model), "F1")["Make"] == "3"


def test_mitre_ordinates_lie_in_a_plane() -> None:
    table = mitres_table(model_of(RAMP))
    row = cells(table, "R1/1")
    assert row["Pipe ends"] == "8" and row["Off square"] == "2.38°"
    assert float(row["Long point 0°"]) == pytest.approx(24.13 * math.tan(math.radians(2.38)), abs=0.005)
    assert row["Short point 180°"] == "−" + row["Long point 0°"]
    assert float(row["60°"]) == pytest.approx(float(row["Long point 0°"]) / 2, abs=0.006)


def test_a_pipe_with_two_mitres_takes_both_tips() -> None:
    model = model_of(RAMP)
    row = cells(pipes_table(model.rails[0], "mm"), "R-P2")
    reach = 24.13 * math.tan(math.radians(2.38))
    length = float(row["Pipe length on the centreline"])
    assert float(row["Overall, tip to tip"]) == pytest.approx(length + 2 * reach, abs=0.1)


@pytest.mark.parametrize("name", ALL)
def test_every_table_goes_on_a_terminal(name: str) -> None:
    for table in figure_tables(model_of(ALL[name])):
        assert table.rows
        assert max(len(line) for line in plain_text(table, 140).splitlines()[1:]) <= 140


def test_sizes_are_told_with_what_they_rest_on() -> None:
    more = '[measured."90 long radius"]\ngirth = 152.4\nheel_arc = 125\nthroat_arc = 49.5'
    (table, *_) = figure_tables(model_of(SPATIAL, more=more))
    rows = {row[1]: row[2:] for row in table.rows if row[0] == "90 long radius"}
    assert rows["OD"] == ("48.51", "48.26", "± 0.16", "measured")
    assert rows["bend radius"][1] == "57.15" and rows["bend radius"][0] != "57.15"
    (plain, *_) = figure_tables(model_of(SPATIAL))
    told = {row[1]: row[2:] for row in plain.rows}
    assert told["OD"][:3] == ("48.26", "48.26", "± 1.60")
    assert told["bend radius"][:3] == ("57.15", "57.15", "–")
