import math
from pathlib import Path

import pytest
from pypdf import PdfReader

from render.pages.drawing import Anchor, Line, Pen, Polyline, Text, drawing
from render.pages.paper import Correction, Layout, Page, paper_named
from render.pages.pdf import Metadata, pdf_bytes, text_width_mm, write_pdf
from render.pages.title_block import JobLabel, with_title_blocks
from templates_core.errors import InputError
from tests.layout_checks import outside_margins, text_overlaps
from tests.pdf_reader import Sheet, read_pack

LETTER = Layout(paper_named("letter"))
ABOUT = Metadata("HS-014 Heron Slip boathouse steps", "Wraps")
JOB = JobLabel("Heron Slip boathouse steps", "HS-014", "A", "3f9a2c1d")


def page(*items: Line | Polyline | Text, layout: Layout = LETTER, section: str = "Wraps") -> Page:
    return Page(section, "Wrap A1", layout, drawing(items), ("A1",))


def written(tmp_path: Path, *pages: Page) -> list[Sheet]:
    write_pdf(tmp_path / "pack.pdf", pages, ABOUT)
    return read_pack(tmp_path / "pack.pdf")


def test_a_hundred_millimetres_are_that_many_points_in_the_file(tmp_path: Path) -> None:
    write_pdf(tmp_path / "pack.pdf", [page(Line((20.0, 30.0), (120.0, 30.0)))], ABOUT)
    contents = PdfReader(tmp_path / "pack.pdf").pages[0].get_contents()
    assert contents is not None
    lines = [line.split() for line in contents.get_data().decode("latin-1").splitlines()]
    (path,) = (words for words in lines if words[-1:] == ["S"])
    x0, y0, _, x1, y1, *_ = path
    assert float(x1) - float(x0) == pytest.approx(283.4646, abs=0.01)
    assert float(y0) == float(y1)


@pytest.mark.parametrize("name", ["letter", "A4", "A3", "tabloid", "roll 610"])
@pytest.mark.parametrize("sideways", [False, True])
def test_page_sizes_are_not_rounded(tmp_path: Path, name: str, sideways: bool) -> None:
    layout = Layout(paper_named(name))
    layout = layout.turned() if sideways else layout
    layout = layout.cut_for(300.0)
    (sheet,) = written(tmp_path, page(Line((0.0, 0.0), (1.0, 0.0)), layout=layout))
    assert (sheet.width_mm, sheet.height_mm) == pytest.approx(
        (layout.paper.width_mm, layout.paper.height_mm), abs=1e-3
    )


@pytest.mark.parametrize(("across_mm", "up_mm"), [(100.0, 100.0), (99.2, 99.6), (101.5, 98.0), (90.0, 110.0)])
def test_a_corrected_page_printed_by_that_printer_comes_out_true(
    tmp_path: Path, across_mm: float, up_mm: float
) -> None:
    layout = Layout(paper_named("A4"), Correction(across_mm, up_mm))
    square = Polyline(((10.0, 10.0), (110.0, 10.0), (110.0, 110.0), (10.0, 110.0)), Pen.OUTLINE, closed=True)
    sheets = written(tmp_path, *with_title_blocks([page(square, layout=layout)], JOB))
    ways = (across_mm / 100.0, up_mm / 100.0)
    (box,) = (s for s in sheets[0].strokes if s.closed and len(s.points) == 4 and s.width_mm > 0.2)
    a, b, c, d = box.points
    assert (b[0] - a[0]) * ways[0] == pytest.approx(100.0, abs=1e-3)
    assert (c[1] - b[1]) * ways[1] == pytest.approx(100.0, abs=1e-3)
    assert d[0] == a[0] and b[1] == a[1]
    printed = [
        tuple((x * ways[0], y * ways[1]) for x, y in s.points) for s in sheets[0].strokes if not s.closed
    ]
    fifties = [p for p in printed if len(p) == 2 and abs(math.dist(*p) - 50.0) < 1e-3]
    assert {abs(p[0][0] - p[1][0]) > 1.0 for p in fifties} == {True, False}, "a check bar each way"


def test_hand_and_order_of_points_are_kept(tmp_path: Path) -> None:
    shape = ((0.0, 0.0), (60.0, 0.0), (0.0, 25.0))
    (sheet,) = written(tmp_path, page(Polyline(shape, Pen.TRACE, closed=True)))
    a, b, c = sheet.strokes[0].points
    assert math.dist(a, b) == pytest.approx(60.0, abs=1e-3) and b[0] > a[0] and c[1] > a[1]


def test_widths_and_dashes_are_the_pens(tmp_path: Path) -> None:
    lines = [Line((10.0, 10.0 * i), (90.0, 10.0 * i), pen) for i, pen in enumerate(Pen)]
    (sheet,) = written(tmp_path, page(*lines))
    for stroke, pen in zip(sheet.strokes, Pen, strict=True):
        assert stroke.width_mm == pytest.approx(pen.width_mm, abs=1e-4)
        assert stroke.dash_mm == pytest.approx(pen.dash_mm, abs=1e-4)
    assert len(sheet.with_width(0.50)) == 1


@pytest.mark.parametrize("anchor", list(Anchor))
@pytest.mark.parametrize("bold", [False, True])
def test_texts_stand_where_they_are_put_and_measure_what_was_promised(
    tmp_path: Path, anchor: Anchor, bold: bool
) -> None:
    words = 'Heel 32.5° × 57 mm − ½ (±0.1) \\ ≤ 2"'
    (sheet,) = written(tmp_path, page(Text((80.0, 90.0), words, 9.0, anchor, math.radians(30.0), bold)))
    (word,) = sheet.words
    assert word.text == words and word.size_pt == 9.0
    assert word.angle_rad == pytest.approx(math.radians(30.0), abs=1e-5)
    length_mm = text_width_mm(words, 9.0, bold)
    assert word.width_mm == pytest.approx(length_mm, rel=2e-3)
    back_mm = {Anchor.START: 0.0, Anchor.MIDDLE: 0.5, Anchor.END: 1.0}[anchor] * length_mm
    x, y = LETTER.put((80.0, 90.0))
    at = (x - back_mm * math.cos(math.radians(30.0)), y - back_mm * math.sin(math.radians(30.0)))
    assert word.at == pytest.approx(at, abs=1e-3)
    assert ("Bold" in word.font) == bold


@pytest.mark.parametrize("reading", [(110.0, 108.0), (99.2, 99.6), (90.0, 92.0)])
def test_corrected_texts_print_no_larger_than_was_planned(
    tmp_path: Path, reading: tuple[float, float]
) -> None:
    layout = Layout(paper_named("A4"), Correction(*reading))
    (sheet,) = written(tmp_path, page(Text((10.0, 10.0), "Wrap A1, heel 57.2 mm", 9.0), layout=layout))
    printed_mm = sheet.words[0].width_mm * max(reading) / 100.0
    planned_mm = text_width_mm("Wrap A1, heel 57.2 mm", 9.0)
    assert planned_mm * 0.995 < printed_mm < planned_mm * 1.002
    assert sheet.words[0].size_pt * max(reading) / 100.0 == pytest.approx(9.0, abs=1e-3)


def test_primes_print_as_straight_quotes(tmp_path: Path) -> None:
    (sheet,) = written(tmp_path, page(Text((10.0, 10.0), "32°30′ 6″")))
    assert sheet.words[0].text == "32°30' 6\""


@pytest.mark.parametrize("letter", ["→", "⅛", "θ", "木", "\n"])
def test_letters_that_the_font_lacks_are_refused_by_name(tmp_path: Path, letter: str) -> None:
    with pytest.raises(InputError, match="font of the sheets has no"):
        written(tmp_path, page(Text((10.0, 10.0), f"a{letter}b")))
    with pytest.raises(InputError, match="font of the sheets has no"):
        text_width_mm(f"a{letter}b", 8.0)
    assert not list(tmp_path.iterdir())


def test_small_text_and_bad_numbers_are_refused(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="least is 7 pt"):
        written(tmp_path, page(Text((10.0, 10.0), "too small", 6.9)))
    for bad in (math.nan, math.inf):
        with pytest.raises(ValueError, match="not a number"):
            written(tmp_path, page(Line((0.0, 0.0), (bad, 1.0))))


def test_the_same_pages_give_the_same_bytes() -> None:
    pages = [page(Text((10.0, 10.0), "Wrap A1"), Line((0.0, 0.0), (50.0, 0.0)))]
    assert pdf_bytes(pages, ABOUT) == pdf_bytes(pages, ABOUT)


def test_the_file_says_what_it_is_and_asks_for_no_scaling(tmp_path: Path) -> None:
    pages = [page(Text((9.0, 9.0), "1"), section=s) for s in ("Print check", "Wraps", "Wraps", "Fit-up")]
    write_pdf(tmp_path / "pack.pdf", pages, ABOUT)
    reader = PdfReader(tmp_path / "pack.pdf")
    assert reader.metadata is not None and reader.metadata.title == ABOUT.title
    assert reader.root_object["/ViewerPreferences"]["/PrintScaling"] == "/None"  # type: ignore[index]
    sections = [entry for entry in reader.outline if not isinstance(entry, list)]
    assert [entry.title for entry in sections] == ["Print check", "Wraps", "Fit-up"]
    sheets = [len(entry) for entry in reader.outline if isinstance(entry, list)]
    assert sheets == [1, 2, 1]
    fonts = reader.pages[0]["/Resources"]["/Font"]  # type: ignore[index]
    assert all("Vera" in font.get_object()["/BaseFont"] for font in fonts.values())


def test_a_run_that_fails_half_way_leaves_the_old_pack_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "pack.pdf"
    pages = [page(Line((0.0, 0.0), (50.0, 0.0)))] * 3
    write_pdf(target, pages, ABOUT)
    before = target.read_bytes()

    def stop(done: int, _: int) -> None:
        if done == 2:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        write_pdf(target, pages, Metadata("other", "other"), progress=stop)

    def full_disk(self: Path, data: bytes) -> int:
        with self.open("wb") as file:
            file.write(data[:100])
        raise OSError("no space left")

    monkeypatch.setattr(Path, "write_bytes", full_disk)
    with pytest.raises(OSError, match="no space"):
        write_pdf(target, pages, Metadata("other", "other"))
    assert target.read_bytes() == before
    assert [file.name for file in tmp_path.iterdir()] == ["pack.pdf"]


def test_progress_counts_the_pages() -> None:
    seen: list[tuple[int, int]] = []
    pdf_bytes([page(Text((9.0, 9.0), "1"))] * 3, ABOUT, lambda done, count: seen.append((done, count)))
    assert seen == [(1, 3), (2, 3), (3, 3)]


@pytest.mark.parametrize("name", ["letter", "A4", "A3", "tabloid", "roll 210"])
@pytest.mark.parametrize("reading", [(100.0, 100.0), (90.0, 90.0), (110.0, 110.0), (99.2, 99.6)])
def test_title_block_says_all_and_keeps_inside_the_margins(
    tmp_path: Path, name: str, reading: tuple[float, float]
) -> None:
    layout = Layout(paper_named(name), Correction(*reading)).cut_for(10.0)
    marks = tuple(f"A{i}" for i in range(1, 60))
    many = Page("Wraps", "Wrap A1; " * 30, layout, drawing([]), marks)
    sheets = written(tmp_path, *with_title_blocks([many, many], JOB))
    for number, sheet in enumerate(sheets, start=1):
        text = " ".join(word.text for word in sheet.words)
        for words in ("HS-014", "Heron Slip", "rev A", "3f9a2c1d", "scale 1:1", "Marks: A1 to A59", "50 mm"):
            assert words in text
        assert f"Sheet {number} of 2" in text and name in text
        assert not text_overlaps(sheet)
        assert not outside_margins(sheet)
