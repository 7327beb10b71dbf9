import math
from pathlib import Path

import pytest

from render.sheets.buy_sheet import buy_pages
from render.sheets.check_record import check_record_pages
from render.sheets.job_sheet import CAUTIONS, job_pages
from render.sheets.measure_sheet import measure_pages
from tests.layout_checks import outside_margins, text_overlaps
from tests.sheet_samples import (
    ALL,
    FAR,
    FRAME,
    LEVEL,
    SPATIAL,
    TWENTY,
    layout,
    model_of,
    rail,
    words,
    written,
)

PAPERS = [
    ("letter", None),
    ("A4", (98.0, 101.5)),
    ("A3", None),
    ("roll 200", (90.0, 90.0)),
    ("roll 914", None),
]


@pytest.mark.parametrize("name", ALL)
@pytest.mark.parametrize(("paper", "reading"), PAPERS)
def test_sheets_are_clean_on_every_paper(
    tmp_path: Path, name: str, paper: str, reading: tuple[float, float] | None
) -> None:
    model = model_of(ALL[name])
    on = layout(paper, reading)
    pages = [
        *measure_pages(model, on),
        *job_pages(model, on),
        *buy_pages(model, on),
        *check_record_pages(model, on),
    ]
    for sheet in written(tmp_path, pages):
        assert not text_overlaps(sheet)
        assert not outside_margins(sheet)
        assert not sheet.with_width(0.50), "only a trace edge is that wide"


def test_sheets_in_inches_are_clean(tmp_path: Path) -> None:
    model = model_of(
        rail("A", (40, 104.5, 60), ("turn = 118, towards = 'left'", "turn = 33, towards = 'up'")), units="in"
    )
    on = layout("letter")
    pages = [
        *measure_pages(model, on),
        *job_pages(model, on),
        *buy_pages(model, on),
        *check_record_pages(model, on),
    ]
    sheets = written(tmp_path, pages)
    assert not any(text_overlaps(sheet) for sheet in sheets)
    found = words(sheets)
    assert "lengths in inches" in found and "run 104-1/2" in found and " in in " not in found


def test_every_figure_of_a_corner_is_there(tmp_path: Path) -> None:
    """62° inside is a whole 90 and a piece of 28° with s = 2.4: t = R·tan 59° + s·sin(other)/sin 118°."""
    found = words(written(tmp_path, job_pages(model_of(LEVEL), layout("A4"))))
    for needed in ("147.3°", "32.7°", "62°", "118°", "A2a whole 90 long radius + A2b piece 28° of 90"):
        assert needed in found
    take_outs = [
        57.15 * math.tan(math.radians(59)) + 2.4 * math.sin(math.radians(a)) / math.sin(math.radians(118))
        for a in (28, 90)
    ]
    assert " ".join(f"{length:.1f}" for length in take_outs) in found


def test_warnings_and_cautions_are_printed_in_full(tmp_path: Path) -> None:
    model = model_of(FAR)
    found = words(written(tmp_path, job_pages(model, layout("letter"))))
    assert model.warnings
    for text in (*model.warnings, *CAUTIONS):
        assert text in found
    for needed in (
        "guard",
        "Eye and face",
        "Clamp",
        "fire watch",
        "zinc",
        "stainless",
        "certifies nothing",
        "proved on metal",
    ):
        assert needed in found
    assert "None." in words(written(tmp_path, job_pages(model_of(LEVEL), layout("letter"))))


def test_roll_is_told_only_where_the_rail_leaves_its_plane(tmp_path: Path) -> None:
    assert "Roll" not in words(written(tmp_path, job_pages(model_of(LEVEL), layout("A4"))))
    found = words(written(tmp_path, job_pages(model_of(SPATIAL), layout("A4"))))
    assert "Roll" in found and "−60°" in found and "Plan" in found and "Elevation" in found


def test_a_frame_says_how_well_it_closes(tmp_path: Path) -> None:
    found = words(written(tmp_path, job_pages(model_of(FRAME), layout("A4"))))
    assert "a closed frame" in found and "0.0 mm, 0.00° in direction" in found


def test_long_titles_wrap(tmp_path: Path) -> None:
    title = "Heron Slip boathouse steps and the lookout over the reed bed, " * 3
    sheets = written(tmp_path, job_pages(model_of(LEVEL, title=title.strip()), layout("A4")))
    assert not any(text_overlaps(sheet) or outside_margins(sheet) for sheet in sheets)
    assert title.strip() in words(sheets)


def test_marks_of_a_page_are_its_corners() -> None:
    pages = job_pages(model_of(TWENTY), layout("A4"))
    assert pages[0].marks[0] == "hndrail-N.12-1" and len(pages[0].marks) == 20
    assert pages[0].section == "Job" and pages[1].title == "Job sheet, continued"


def test_long_marks_fit_a_narrow_page() -> None:
    bent = rail(
        "WWWWWWWWWW12", [900] * 21, [f"turn = {(45, 60, 110)[i % 3]}, roll = 35" for i in range(20)], 1000
    )
    mitred = rail("WWWWWWWWWWM2", [900] * 21, ["turn = 5, towards = 'left', by = 'mitre'"] * 20)
    on = layout("roll 200", (90.0, 90.0))
    for table in (bent, mitred):
        model = model_of(table)
        assert all(draw(model, on) for draw in (measure_pages, job_pages, buy_pages, check_record_pages))
