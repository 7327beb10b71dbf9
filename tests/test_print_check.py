import math
from pathlib import Path

import numpy as np
import pypdfium2
import pytest

from render.pages.paper import Correction, Layout, paper_named
from render.pages.pdf import Metadata, write_pdf
from render.pages.title_block import JobLabel, with_title_blocks
from render.sheets.print_check import print_check
from tests.layout_checks import outside_margins, text_overlaps
from tests.pdf_reader import Sheet, Stroke, read_pack

ABOUT = Metadata("HS-014", "Print check")
JOB = JobLabel("Heron Slip boathouse steps", "HS-014", "A", "3f9a2c1d")
DIAGONAL_MM = 141.4214  # 100 times the square root of two


def written(tmp_path: Path, layout: Layout, inches: bool = False) -> Sheet:
    write_pdf(tmp_path / "check.pdf", with_title_blocks([print_check(layout, inches)], JOB), ABOUT)
    (sheet,) = read_pack(tmp_path / "check.pdf")
    return sheet


def squares(sheet: Sheet) -> list[Stroke]:
    closed = [s for s in sheet.strokes if s.closed and len(s.points) == 4 and s.width_mm > 0.2]
    return sorted(closed, key=lambda s: s.length_mm)


def test_the_squares_and_diagonals_have_their_sizes(tmp_path: Path) -> None:
    sheet = written(tmp_path, Layout(paper_named("letter")))
    small, large = squares(sheet)
    for square, size_mm in ((small, 100.0), (large, 4 * 25.4)):
        a, b, c, d = square.points
        assert [math.dist(a, b), math.dist(b, c)] == pytest.approx([size_mm, size_mm], abs=1e-3)
        assert a[1] == b[1] and c[1] == d[1] and a[0] == d[0] and b[0] == c[0]
    diagonals = [s for s in sheet.strokes if abs(s.length_mm - DIAGONAL_MM) < 0.01]
    assert len(diagonals) == 2
    assert not sheet.with_width(0.50), "the check has no line to cut along"


@pytest.mark.parametrize("name", ["letter", "A4", "A3", "tabloid", "roll 210", "roll 914"])
@pytest.mark.parametrize("reading", [(100.0, 100.0), (90.0, 90.0), (110.0, 110.0), (99.2, 99.6)])
@pytest.mark.parametrize("inches", [False, True])
def test_the_sheet_is_clean_on_every_paper(
    tmp_path: Path, name: str, reading: tuple[float, float], inches: bool
) -> None:
    sheet = written(tmp_path, Layout(paper_named(name), Correction(*reading)), inches)
    assert not text_overlaps(sheet)
    assert not outside_margins(sheet)
    ways = (reading[0] / 100.0, reading[1] / 100.0)
    a, b, c, _ = squares(sheet)[0].points
    assert (b[0] - a[0]) * ways[0] == pytest.approx(100.0, abs=1e-3)
    assert (c[1] - b[1]) * ways[1] == pytest.approx(100.0, abs=1e-3)


@pytest.mark.parametrize("inches", [False, True])
def test_rulers_are_the_longest_and_each_figure_is_where_it_says(tmp_path: Path, inches: bool) -> None:
    sheet = written(tmp_path, Layout(paper_named("A4")), inches)
    spines = sorted((s for s in sheet.with_width(0.25) if len(s.points) == 2), key=lambda s: -s.length_mm)[:2]
    for spine, size_mm in zip(spines, (sheet.height_mm, sheet.width_mm), strict=True):
        start, end = spine.points
        assert spine.length_mm == pytest.approx(round(spine.length_mm), abs=1e-3)
        assert spine.length_mm > size_mm - 2 * 6.6 - 42.0
        along = [(end[i] - start[i]) / spine.length_mm for i in (0, 1)]
        figures: dict[bool, dict[int, float]] = {}
        for word in sheet.words:
            if word.text.isdigit() and word.size_pt == 7.0:
                middle = (
                    (word.corners[0][0] + word.corners[2][0]) / 2,
                    (word.corners[0][1] + word.corners[2][1]) / 2,
                )
                offset = (middle[0] - start[0], middle[1] - start[1])
                at = offset[0] * along[0] + offset[1] * along[1]
                across = offset[0] * -along[1] + offset[1] * along[0]
                if 4.0 < abs(across) < 9.0 and -1.0 < at < spine.length_mm + 1.0:
                    figures.setdefault(across > 0.0, {})[int(word.text)] = at
        steps = sorted(max(at / figure for figure, at in edge.items() if figure) for edge in figures.values())
        assert steps == pytest.approx([1.0, 25.4] if inches else [1.0], rel=2e-3)
        for edge in figures.values():
            step = 1.0 if max(edge) > 20 else 25.4
            assert all(at == pytest.approx(figure * step, abs=0.1) for figure, at in edge.items())


def test_words_tell_what_to_set_and_what_to_give(tmp_path: Path) -> None:
    sheet = written(tmp_path, Layout(paper_named("A4"), Correction(99.2, 99.6)))
    words = " ".join(word.text for word in sheet.words)
    for needed in ("Actual size", "100 %", "--printed", "99.2 × 99.6", "both diagonals 141.4 mm", "A4"):
        assert needed in words
    plain = written(tmp_path, Layout(paper_named("A4")))
    assert "multiply" not in " ".join(word.text for word in plain.words)
    assert "multiply" in words


def test_following_the_advice_on_a_corrected_sheet_ends_at_the_printers_true_readings() -> None:
    """A printer that prints 97.5 for 100, first read as 98: the second advice gives 97.5."""
    first = Correction(98.0, 100.0)
    reading = 100.0 * first.scale[0] * 0.975
    assert first.across_mm * reading / 100.0 == pytest.approx(97.5)


def test_a_raster_of_the_square_measures_a_hundred(tmp_path: Path) -> None:
    written(tmp_path, Layout(paper_named("letter")))
    sheet = read_pack(tmp_path / "check.pdf")[0]
    square = squares(sheet)[0]
    document = pypdfium2.PdfDocument(tmp_path / "check.pdf")
    dots_per_mm = 24.0
    page = document[0]
    ink = 255.0 - page.render(scale=dots_per_mm * 25.4 / 72.0, grayscale=True).to_numpy().astype(float)
    (left, bottom), (right, _), (_, top), _ = square.points

    def middle(row_mm: float, near_mm: float, lines: np.ndarray) -> float:
        band = lines[round(row_mm * dots_per_mm), :]
        low, high = (round((near_mm + off) * dots_per_mm) for off in (-1.0, 1.0))
        places = np.arange(low, high) + 0.5
        return float((band[low:high] * places).sum() / band[low:high].sum() / dots_per_mm)

    height_mm = sheet.height_mm
    row_mm = height_mm - (bottom + 70.0)
    across_mm = middle(row_mm, right, ink) - middle(row_mm, left, ink)
    column_mm = left + 70.0
    up_mm = middle(column_mm, height_mm - bottom, ink.T) - middle(column_mm, height_mm - top, ink.T)
    page.close()
    document.close()
    assert (across_mm, up_mm) == pytest.approx((100.0, 100.0), abs=0.05)
