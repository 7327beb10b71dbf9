"""Sheets of leaning cuts: wraps read back from the PDF and hung on the elbow in space, and what is told."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest

from render.figures.figure_list import figure_tables
from render.figures.figures_json import figures_json
from render.figures.leaning_words import EIGHTHS_DEG, line_name, lines_at
from render.pages.drawing import Line, Pen, Text
from render.pages.paper import Layout, paper_named
from render.sheets.bench_sheet import bench_pages
from render.sheets.check_record import check_record_pages
from render.sheets.cut_list_sheet import cut_list_pages
from render.sheets.leaning_bench import leaning_parts
from render.sheets.wrap_sheet import leaning_wrap_parts, wrap_pages
from templates_core.elbows.leaning_layout import lay_out_leaning
from templates_core.model import Model
from tests.leaning_samples import Wall, model
from tests.test_wrap_hand import METAL, MISS_MM, Hung, laid, mirrored
from tests.wrap_reader import ReadWrap, read_wrap
from tests.wrap_samples import written

WALLS = [
    Wall(50, 8, 5, gap_mm=3),
    Wall(50, 8, 5, gap_mm=3, hand=-1),
    Wall(45, -9, 4),
    Wall(38, -6, -10, hand=-1),
    Wall(62, -4, 3),
    Wall(62, -4, 3, hand=-1),
]


def wrap_of(made: Model) -> tuple[ReadWrap, Hung]:
    """The wrap of the one leaning cut as printed, and the face that it hangs from."""
    (group,), (flat,) = made.leaning_groups, made.leaning_wraps
    block, _ = leaning_wrap_parts(made.job, group, flat)
    shoulder = group.cut.elbow.shoulder_mm
    own = group.cut.from_face == "own"
    hung = Hung(METAL, 0.0, 1.0, shoulder) if own else Hung(METAL, math.pi / 2, -1.0, shoulder)
    return read_wrap(written(block)), hung


@pytest.mark.parametrize("wall", WALLS, ids=str)
def test_a_printed_wrap_comes_to_lie_on_its_wall_and_its_mirror_image_does_not(wall: Wall) -> None:
    """From the job's words to the metal: every stay and the whole trace edge, printed side out, in space."""
    made = model(wall.rail)
    wrap, hung = wrap_of(made)
    assert (made.leaning_groups[0].cut.from_face == "far") == (wall.turn_deg > 60)
    landed, edge = laid(wrap, hung)
    off = wall.off_wall_mm(wall.in_space(edge)) + wall.gap_mm
    assert len(edge) > 60
    assert np.abs(off).max() < 0.05
    for name, (point, way, spare) in landed.items():
        outward = wall.in_space(np.array([point, point + way]))
        here, there = wall.off_wall_mm(outward) + wall.gap_mm
        assert here / (there - here) == pytest.approx(spare, abs=0.05), name
    wrong, wrong_edge = laid(mirrored(wrap), hung)
    assert np.abs(wall.off_wall_mm(wall.in_space(wrong_edge)) + wall.gap_mm).max() > MISS_MM / 2
    sides = [wall.in_space(wrong[name][0][None]) for name in ("left side", "right side")]
    assert max(abs(float(wall.off_wall_mm(side)[0]) + wall.gap_mm) for side in sides) > MISS_MM / 3


def test_the_wrap_of_one_hand_misses_the_wall_of_the_other() -> None:
    wrap, hung = wrap_of(model(WALLS[0].rail))
    edge = laid(wrap, hung)[1]
    assert np.abs(WALLS[1].off_wall_mm(WALLS[1].in_space(edge)) + 3).max() > MISS_MM / 2


def test_the_words_name_the_sides_as_the_wrap_lies_on_the_table() -> None:
    """Face down and the heel towards you, the left of the print is your left."""
    made = model(WALLS[0].rail)
    (group,) = made.leaning_groups
    wrap, _ = wrap_of(made)
    left, right = (stay.centre_mm for stay in wrap.named("SIDE"))
    longer = {"left": length(left) > length(right), "right": length(right) > length(left)}
    lines = {
        line_name(degrees): line
        for degrees, line in zip(EIGHTHS_DEG, lines_at(group.cut, EIGHTHS_DEG), strict=True)
    }
    told = "left" if lines["left side"].shoulder_mm > lines["right side"].shoulder_mm else "right"
    assert longer[told]
    printed = {word.text: word.at[0] for word in wrap.words}
    assert printed["LEFT SIDE"] < printed["HEEL  A1"] < printed["RIGHT SIDE"]
    words = " ".join(row[5] for row in table(made, "Elbow ends cut to a plane"))
    assert f"at the {told} side by 8.00°" in words
    assert "at the throat by 5.00°" in words


def length(line: np.ndarray) -> float:
    return float(np.hypot(*np.diff(line, axis=0).T).sum())


def table(made: Model, title: str) -> tuple[tuple[str, ...], ...]:
    return next(one.rows for one in figure_tables(made) if one.title.startswith(title))


def test_the_bench_sheet_draws_the_trace_through_heel_and_throat() -> None:
    made = model(WALLS[2].rail)
    (group,) = made.leaning_groups
    layout = lay_out_leaning(group.cut)
    items = leaning_parts(made.job, group).plan.drawing
    heavy = [item for item in items if isinstance(item, Line) and item.pen is Pen.OBJECT]
    along = layout.heel_mm - layout.throat_mm
    across = np.array([-along[1], along[0]]) / np.hypot(*along)
    on_trace = [
        line
        for line in heavy
        if all(abs((np.array(end) - layout.heel_mm) @ across) < 1e-9 for end in (line.start, line.end))
        and math.dist(line.start, line.end) > np.hypot(*along)
    ]
    assert len(on_trace) == 1
    words = {item.text for item in items if isinstance(item, Text)}
    assert {"T", "S", "b", "KEEP", "A1", "SCRAP", "FACE A"} <= words


def test_a_lean_in_the_plane_of_the_bend_needs_no_second_view() -> None:
    made = model(Wall(50, 0, 7).rail)
    (group,) = made.leaning_groups
    words = {item.text for item in leaning_parts(made.job, group).plan.drawing if isinstance(item, Text)}
    assert not words & {"T", "S", "b"}


@pytest.mark.parametrize("paper", ["A4", "letter", "A3", "roll 610 mm"])
def test_every_leaning_cut_has_its_sheets(paper: str) -> None:
    made = model("mirror = true\n" + WALLS[0].rail)
    layout = Layout(paper_named(paper))
    for pages in (wrap_pages(made, layout), bench_pages(made, layout), check_record_pages(made, layout)):
        words = " ".join(item.text for page in pages for item in page.drawing if isinstance(item, Text))
        assert "A1" in words
        assert "AM1" in words
    record = [
        item.text
        for page in check_record_pages(made, layout)
        for item in page.drawing
        if isinstance(item, Text)
    ]
    assert any(text.startswith("Elbow ends on a plane") for text in record)


def test_figures_give_the_plane_and_the_lines_round_it() -> None:
    made = model(WALLS[0].rail)
    (cut,) = json.loads(figures_json(made))["leaning_cuts"]
    assert cut["pieces"] == ["A1"]
    assert cut["lean"]["heel_deg"] == pytest.approx(-5)
    assert abs(cut["lean"]["side_deg"]) == pytest.approx(8)
    assert len(cut["to_cut"]) == len(cut["of_piece"]) == 24


def test_a_pipe_end_on_a_plane_is_told_on_every_table() -> None:
    made = model(
        'end = { kind = "plate", thickness = 8, gap = 2, lean = { up = 10, left = 4 } }\n'
        'path = [ { run = 900 }, { turn = 30, towards = "left" }, { run = 900 } ]'
    )
    lean = math.degrees(math.atan(math.hypot(math.tan(math.radians(10)), math.tan(math.radians(4)))))
    rows = table(made, "Rail A: pipes")
    assert rows[1][-1] == f"square / {lean:.2f}".rstrip("0") + "° off square"
    (mitre,) = table(made, "Mitres")
    assert mitre[0] == "A-P2 end"
    words = " ".join(
        item.text
        for page in wrap_pages(made, Layout(paper_named("A4")))
        for item in page.drawing
        if isinstance(item, Text)
    )
    assert "longer up 10.00°, left 4.00°" in words


def test_the_cut_list_sends_a_leaning_piece_to_its_wrap() -> None:
    """The elbow's drawing and table give no radial line to saw where the cut leans."""
    made = model("mirror = true\n" + WALLS[0].rail)
    (plan,) = (one for one in made.elbow_share.plans if one.lines)
    (row,) = (row for row in table(made, "Out of each elbow") if row[4] != "whole")
    assert row[4].endswith("at most, cut to lean, by wrap")
    assert plan.leaning == {"A1", "AM1"}
    words = " ".join(
        item.text
        for page in cut_list_pages(made, Layout(paper_named("A4")))
        for item in page.drawing
        if isinstance(item, Text)
    )
    assert "cut to lean, by wrap" in words
