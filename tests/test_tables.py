import itertools
import re
from pathlib import Path

import pytest

from render.pages.drawing import Text, drawing
from render.pages.flow import Element, Figure, Heading, Paragraph, Steps, flow_pages, stack
from render.pages.flow_tables import column_widths_mm
from render.pages.paper import Layout, Page, paper_named
from render.pages.pdf import Metadata, text_width_mm, write_pdf
from render.pages.shapes import Box, bounds, rectangle
from render.pages.strips import wrapped
from render.pages.tables import Column, Table, plain_text
from tests.layout_checks import outside_margins, text_overlaps
from tests.pdf_reader import Sheet, read_pack

A4 = Layout(paper_named("A4"))
ABOUT = Metadata("HS-014", "Buy list")
KIND = "90 long radius butt-weld elbow, NPS 1-1/2, schedule 40, bevelled ends, carbon steel, hot finished"
BUY = Table(
    "What to buy",
    (Column("Part"), Column("Kind"), Column("Number", right=True), Column("mm", right=True)),
    tuple((f"P{i}", KIND if i % 3 else "pipe", str(i), f"{i * 12.5:.1f}") for i in range(1, 71)),
)


def written(tmp_path: Path, pages: tuple[Page, ...]) -> list[Sheet]:
    write_pdf(tmp_path / "pack.pdf", pages, ABOUT)
    return read_pack(tmp_path / "pack.pdf")


def test_plain_text_lines_up_and_keeps_to_its_width() -> None:
    lines = plain_text(BUY, 60).splitlines()
    assert lines[0] == "What to buy"
    assert max(len(line) for line in lines) <= 60
    assert lines[2].split() == ["-" * len(part) for part in lines[2].split()]
    ends = {re.search(r"\d+\.\d$", line).end() for line in lines if re.search(r"\d+\.\d$", line)}  # type: ignore[union-attr]
    assert len(ends) == 1, "figures end in one column"
    assert " ".join(" ".join(lines).split()).count("butt-weld") == sum(row[1] == KIND for row in BUY.rows)


def test_plain_text_of_a_narrow_terminal_keeps_words_whole() -> None:
    text = plain_text(BUY, 20)
    assert "butt-weld" in text and "schedule" in text


def test_a_row_with_too_few_cells_is_refused() -> None:
    with pytest.raises(ValueError, match="1 cells for 2 columns"):
        Table("t", (Column("a"), Column("b")), (("1",),))


def test_a_long_table_goes_on_under_its_headings_and_loses_no_row(tmp_path: Path) -> None:
    pages = flow_pages("Buy list", "Buy list", [BUY], A4)
    sheets = written(tmp_path, pages)
    assert len(sheets) > 1
    for sheet in sheets:
        words = [word.text for word in sheet.words]
        assert words.count("Part") == 1 and words.count("Number") == 1
        assert not text_overlaps(sheet) and not outside_margins(sheet)
    parts = [w.text for sheet in sheets for w in sheet.words if re.fullmatch(r"P\d+", w.text)]
    assert parts == [row[0] for row in BUY.rows]
    assert pages[1].title == "Buy list, continued"


def test_columns_narrow_before_they_overflow_and_refuse_when_they_must() -> None:
    widths = column_widths_mm(BUY, 120.0)
    assert sum(widths) == pytest.approx(120.0, abs=1e-6) or sum(widths) < 120.0
    assert widths[0] < 20.0 < widths[1]
    with pytest.raises(ValueError, match="needs"):
        column_widths_mm(BUY, 30.0)


def test_blanks_to_write_in_have_their_room(tmp_path: Path) -> None:
    blanks = Table("Measured", (Column("Elbow"), Column("Girth", least_mm=40.0)), (("E1", ""),) * 3, 9.0)
    (sheet,) = written(tmp_path, flow_pages("Measure first", "Measure first", [blanks], A4))
    levels = sorted({round(s.points[0][1], 3) for s in sheet.strokes if s.points[0][1] == s.points[1][1]})
    gaps = [high - low for low, high in itertools.pairwise(levels)]
    assert sorted(gaps)[-3:] == pytest.approx([9.0, 9.0, 9.0], abs=1e-2)
    uprights = sorted({round(s.points[0][0], 3) for s in sheet.strokes if s.points[0][0] == s.points[1][0]})
    assert uprights[2] - uprights[1] >= 40.0 - 1e-3


@pytest.mark.parametrize("width_mm", [25.0, 60.0, 190.0])
def test_wrapped_lines_fit_and_say_the_same(width_mm: float) -> None:
    lines = wrapped(KIND, width_mm, 8.5)
    assert " ".join(lines) == KIND
    assert max(text_width_mm(line, 8.5) for line in lines) <= width_mm + 1e-6
    first = lines[1].split()[0] if len(lines) > 1 else ""
    assert not first or text_width_mm(f"{lines[0]} {first}", 8.5) > width_mm, "lines are filled"


def test_a_word_wider_than_its_column_is_refused() -> None:
    with pytest.raises(ValueError, match="wider than its column"):
        wrapped("straightness", 10.0, 9.0)


def test_two_columns_and_steps_read_down_then_across(tmp_path: Path) -> None:
    steps = Steps(
        tuple(f"Step number {i} of the work at the bench, said at some length." for i in range(1, 61))
    )
    pages = flow_pages("Job", "Job", [Heading("At the bench"), steps], A4, columns=2)
    (sheet,) = written(tmp_path, pages)
    numbers = [word for word in sheet.words if re.fullmatch(r"\d+\.", word.text)]
    assert [int(word.text[:-1]) for word in numbers] == list(range(1, 61))
    assert {word.at[0] > sheet.width_mm / 2 for word in numbers} == {True, False}
    assert not text_overlaps(sheet) and not outside_margins(sheet)


def test_a_heading_is_never_the_last_line_of_a_page(tmp_path: Path) -> None:
    high = Figure(drawing([rectangle(Box(0.0, 0.0, 1.0, 1.0))]), Box(0.0, 0.0, 1.0, A4.height_mm - 8.0))
    filler: list[Element] = [high, Heading("Next"), Paragraph("What comes next.")]
    first, second = written(tmp_path, flow_pages("Job", "Job", [Paragraph("First."), *filler], A4))
    assert [word.text for word in first.words] == ["First."]
    assert [word.text for word in second.words] == ["Next", "What comes next."]


def test_a_figure_keeps_its_scale_and_one_too_large_is_refused() -> None:
    box = Box(-10.0, -5.0, 70.0, 45.0)
    figure = Figure(drawing([rectangle(box)]), box)
    placed, room = stack([Paragraph("Above."), figure], 100.0)
    outline = bounds([item for item in placed if not isinstance(item, Text)]).grown(-0.125)
    assert (outline.left, outline.width, outline.height) == pytest.approx((0.0, 80.0, 50.0))
    assert room.bottom == pytest.approx(outline.bottom) and outline.top < 0.0
    with pytest.raises(ValueError, match=r"80\.0 mm wide"):
        stack([figure], 79.0)
    tall = Figure(drawing([rectangle(box)]), Box(0.0, 0.0, 10.0, A4.height_mm + 1.0))
    with pytest.raises(ValueError, match="high in a column"):
        flow_pages("Job", "Job", [tall], A4)


def test_a_wide_roll_sets_text_in_columns_and_cuts_the_page(tmp_path: Path) -> None:
    roll = Layout(paper_named("roll 914"))
    (sheet,) = written(tmp_path, flow_pages("Job", "Job", [Paragraph(f"{KIND}. " * 200)], roll))
    assert max(word.width_mm for word in sheet.words) < 230.0
    assert sheet.height_mm < 460.0 and not outside_margins(sheet)
