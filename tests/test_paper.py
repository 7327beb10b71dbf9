import pytest

from render.pages.paper import (
    FOOT_MM,
    ROLL_MOST_LENGTH_MM,
    SIDE_MM,
    Correction,
    Layout,
    correction_printed,
    paper_named,
    sheet_papers,
)
from templates_core.errors import InputError

# ISO 216 for the A sizes; ANSI Y14.1 (from memory) for letter and tabloid, in inches.
SIZES_MM = [
    ("letter", 8.5 * 25.4, 11 * 25.4),
    ("A4", 210.0, 297.0),
    ("A3", 297.0, 420.0),
    ("tabloid", 11 * 25.4, 17 * 25.4),
]


@pytest.mark.parametrize(("name", "width_mm", "height_mm"), SIZES_MM)
def test_paper_sizes_are_exact(name: str, width_mm: float, height_mm: float) -> None:
    paper = paper_named(f" {name.upper()} ")
    assert (paper.name, paper.width_mm, paper.height_mm) == (name, width_mm, height_mm)
    assert paper.margin_mm >= 6.35


def test_two_letters_make_a_tabloid_and_two_a4_an_a3() -> None:
    papers = sheet_papers()
    assert papers["tabloid"].width_mm == papers["letter"].height_mm
    assert papers["tabloid"].height_mm == pytest.approx(2 * papers["letter"].width_mm)
    assert (papers["a3"].width_mm, papers["a3"].height_mm) == (297.0, 2 * 210.0)


@pytest.mark.parametrize(
    ("text", "width_mm"),
    [("roll 610", 610.0), ("Roll 610mm", 610.0), ("roll 24 in", 609.6), ('roll 36"', 914.4)],
)
def test_a_roll_takes_its_width_and_the_longest_page(text: str, width_mm: float) -> None:
    paper = paper_named(text)
    assert paper.roll and paper.width_mm == pytest.approx(width_mm)
    assert paper.height_mm == ROLL_MOST_LENGTH_MM
    assert paper.turned() == paper


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("B5", "letter, A4, A3, tabloid or roll"),
        ("roll", "roll 610 mm"),
        ("roll 24", "200 to 1626 mm"),
        ("roll 2000 mm", "200 to 1626 mm"),
        ("roll nan", "roll 610 mm"),
        ("roll -610", "roll 610 mm"),
    ],
)
def test_wrong_papers_are_refused_with_the_right_ones(text: str, says: str) -> None:
    with pytest.raises(InputError, match=says) as caught:
        paper_named(text, "shop.paper")
    assert caught.value.faults[0].where == "shop.paper"


@pytest.mark.parametrize(
    "text", ["99.2x99.6", " 99.2 x 99.6 ", "99.2X99.6", "99.2×99.6", "99.2 mm x 99.6 mm"]
)
def test_readings_are_across_then_up(text: str) -> None:
    assert correction_printed(text) == Correction(99.2, 99.6)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("89.9x100", "wrong print setting"),
        ("100x110.1", "wrong print setting"),
        ("99.2", "two readings"),
        ("99,2x99,6", "two readings"),
        ("nanx100", "two readings"),
        ("-99x100", "two readings"),
        ("infxinf", "two readings"),
    ],
)
def test_wrong_readings_are_refused(text: str, says: str) -> None:
    with pytest.raises(InputError, match=says):
        correction_printed(text)


@pytest.mark.parametrize("reading", ["90x110", "110x90", "99.2x99.6", "100.4x100.1", "100x100"])
@pytest.mark.parametrize("name", ["letter", "A4", "A3", "tabloid"])
@pytest.mark.parametrize("sideways", [False, True])
def test_the_frame_stays_inside_the_margins_as_written_and_as_printed(
    reading: str, name: str, sideways: bool
) -> None:
    layout = Layout(paper_named(name), correction_printed(reading))
    layout = layout.turned() if sideways else layout
    low = layout.put((-SIDE_MM, -FOOT_MM))
    high = layout.put((layout.width_mm, layout.height_mm))
    paper = layout.paper
    readings = (layout.correction.across_mm, layout.correction.up_mm)
    for i, size_mm in enumerate((paper.width_mm, paper.height_mm)):
        assert low[i] + 1e-9 >= 6.35 and high[i] <= size_mm - 6.35 + 1e-9
        stretch = readings[i] / 100.0
        printed = [size_mm / 2.0 + stretch * (at - size_mm / 2.0) for at in (low[i], high[i])]
        assert printed[0] + 1e-9 >= 6.35 and printed[1] <= size_mm - 6.35 + 1e-9
        wanted_mm = (layout.width_mm + SIDE_MM, layout.height_mm + FOOT_MM)[i]
        assert printed[1] - printed[0] == pytest.approx(wanted_mm), "as printed, a millimetre is a millimetre"


def test_a_page_on_its_side_takes_the_readings_the_other_way_round() -> None:
    layout = Layout(paper_named("A4"), Correction(98.0, 101.0)).turned()
    assert (layout.paper.width_mm, layout.paper.height_mm) == (297.0, 210.0)
    assert layout.correction == Correction(101.0, 98.0)


def test_a_roll_page_is_cut_to_its_drawing_and_never_past_the_longest() -> None:
    layout = Layout(paper_named("roll 610"), Correction(98.0, 97.0))
    assert layout.cut_for(700.0).height_mm == pytest.approx(700.0)
    assert layout.cut_for(9000.0).paper.height_mm == ROLL_MOST_LENGTH_MM
    assert layout.cut_for(1.0).height_mm > 51.0, "the upright check bar stands on it"
    sheet = Layout(paper_named("A4"))
    assert sheet.cut_for(50.0) == sheet
