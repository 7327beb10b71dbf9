"""Jobs for the tests of sheets, as TOML, and their sheets as written to a PDF."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from render.pages.paper import UNCORRECTED, Correction, Layout, Page, paper_named
from render.pages.pdf import Metadata, write_pdf
from render.pages.title_block import JobLabel, with_title_blocks
from templates_core.jobs.job_file import parse_job
from templates_core.model import Model, build_model
from tests.pdf_reader import Sheet, read_pack

SQUARE, BEVELLED = "square", "bevelled"


def model_of(
    *rails: str, units: str = "mm", title: str = "Heron Slip", ends: str = BEVELLED, more: str = ""
) -> Model:
    """A job of these [[rail]] tables in NPS 1-1/2 Sch 40."""
    head = f"""
title = "{title}"
number = "HS-014"
revision = "A"
units = "{units}"
[pipe]
size = "NPS 1-1/2"
schedule = "40"
[elbows]
stock = ["90 long radius", "45 long radius"]
ends = "{ends}"
[shop]
root_gap = "2.4 mm"
{more}
"""
    return build_model(parse_job((head + "\n".join(rails)).encode(), "job.toml"))


def rail(
    mark: str, runs: Sequence[float], corners: Sequence[str], quantity: int = 1, closed: bool = False
) -> str:
    """A [[rail]] of runs with corners between them; closed with a corner after the last run."""
    items = [f"{{ run = {run} }}" for run in runs]
    steps = [
        step for i, item in enumerate(items) for step in (item, *(f"{{ {c} }}" for c in corners[i : i + 1]))
    ]
    path = ", ".join(steps)
    shut = "true" if closed else "false"
    return f'[[rail]]\nmark = "{mark}"\nquantity = {quantity}\nclosed = {shut}\npath = [{path}]\n'


LEVEL = rail(
    "A",
    (900, 2650, 1200, 600),
    (
        "inside_angle = 147.3, towards = 'left'",
        "inside_angle = 62, towards = 'left'",
        "turn = 45, towards = 'right'",
    ),
)
FAR = rail("F", (900, 1100), ("turn = 66, towards = 'left'",), quantity=3)
SPATIAL = rail(
    "S", (700, 900, 400, 1000), ("turn = 40, towards = 'up'", "turn = 55, roll = 90", "turn = 90, roll = -60")
)
RAMP = rail(
    "R",
    (300, 4515.6, 500),
    ("turn = 4.76, towards = 'up', by = 'mitre'", "turn = 4.76, towards = 'down', by = 'mitre'"),
    quantity=2,
)
FRAME = rail("Q", (900, 500, 900, 500), ("turn = 90, towards = 'left'",) * 4, closed=True)
ZIGZAG = rail(
    "Z",
    [600 + 40 * i for i in range(21)],
    [f"turn = {35 + i}, towards = '{'left' if i % 2 else 'right'}'" for i in range(20)],
)
TWENTY = rail(
    "hndrail-N.12",
    [450 + 800 * (i % 4) for i in range(21)],
    [f"turn = {(25, 60, 110)[i % 3]}, roll = {(0, 90, 35, 180)[i % 4]}" for i in range(20)],
)
ALL = {
    "level": LEVEL,
    "far": FAR,
    "spatial": SPATIAL,
    "ramp": RAMP,
    "frame": FRAME,
    "zigzag": ZIGZAG,
    "twenty": TWENTY,
}


def layout(paper: str, reading: tuple[float, float] | None = None) -> Layout:
    return Layout(paper_named(paper), Correction(*reading) if reading else UNCORRECTED)


def written(tmp_path: Path, pages: Sequence[Page]) -> list[Sheet]:
    """The pages as written, with their title blocks."""
    label = JobLabel("Heron Slip", "HS-014", "A", "3f9a2c1d")
    write_pdf(tmp_path / "sheets.pdf", with_title_blocks(pages, label), Metadata("HS-014", "sheets"))
    return read_pack(tmp_path / "sheets.pdf")


def words(sheets: Sequence[Sheet]) -> str:
    """Every word in the order of writing, signs of list items left out."""
    return " ".join(word.text for sheet in sheets for word in sheet.words if word.text not in ("•", "!"))
