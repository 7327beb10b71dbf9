"""What a tired reader trips over, on the packs of the sample jobs as written."""

from __future__ import annotations

from pathlib import Path

import pytest

from render.pack import MEMBERS, pack_metadata, pack_pages
from render.pages.pdf import write_pdf
from render.sheets.member_sheet import member_pages
from templates_core.jobs.job_file import load_job
from templates_core.model import build_model
from tests.layout_checks import crowded_words, lines_on, outside_margins, text_overlaps
from tests.pdf_reader import read_pack
from tests.sheet_samples import layout, written

SAMPLES = sorted((Path(__file__).parent.parent / "sample_jobs").glob("*.toml"))
FEWEST_LINES = 4


@pytest.mark.parametrize("job", SAMPLES, ids=lambda path: path.stem)
def test_no_sheet_of_a_pack_is_unclean_or_goes_on_for_a_line_or_two(tmp_path: Path, job: Path) -> None:
    model = build_model(load_job(job))
    pages = pack_pages(model, layout(model.job.shop.paper))
    write_pdf(tmp_path / "pack.pdf", pages, pack_metadata(model.job))
    for page, sheet in zip(pages, read_pack(tmp_path / "pack.pdf"), strict=True):
        assert not text_overlaps(sheet), page.title
        assert not outside_margins(sheet), page.title
        assert min(word.size_pt for word in sheet.words) >= 7.0, page.title
        if page.title.endswith(", continued"):
            assert lines_on(sheet) >= FEWEST_LINES, page.title


@pytest.mark.parametrize("job", ["lookout_posts", "dock_frame"])
def test_words_on_wraps_of_pipes_stand_clear_of_the_lines_along_them(tmp_path: Path, job: str) -> None:
    model = build_model(load_job(SAMPLES[0].parent / f"{job}.toml"))
    for sheet in written(tmp_path, member_pages(model, layout("A4"))):
        wrapped = [line for line in crowded_words(sheet, 0.3) if "°" in line or line.split("'")[1].isupper()]
        assert not wrapped, MEMBERS
