"""Draws the pictures of sample_jobs/pictures anew; it needs ``pdftocairo`` of Poppler.

``python -m tests.benchmarks.pictures`` draws them all, with names behind it only those.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

from render.pack import pack_metadata, pack_pages
from render.pages.paper import Layout, paper_named
from render.pages.pdf import write_pdf
from templates_core.jobs.job_file import load_job
from templates_core.model import Model, build_model
from tests.sheet_samples import ZIGZAG, model_of

SAMPLES = Path(__file__).parent.parent.parent / "sample_jobs"
MM_PER_INCH = 25.4


@dataclass(frozen=True)
class Picture:
    """One sheet of a pack, or the upper part of it.

    job: name of a sample job, or a rail as in a job file.  title: how the sheet's title starts.  number:
    which of the sheets that are titled so.  high_mm: how much is shown from the top, all of it for None.
    """

    name: str
    job: str
    title: str
    number: int = 1
    dpi: int = 60
    high_mm: float | None = None


PICTURES = (
    Picture("bench_sheet", "lookout_guard", "Bench sheet A1"),
    Picture("cut_list", "lookout_rail", "Cut list", dpi=80),
    Picture("far_face_bench_sheet", "lookout_guard", "Bench sheet A3"),
    Picture("fit_up_closed_frame", "kayak_rack", "Fit-up"),
    Picture("fit_up_flat_stair", "boathouse_stair", "Fit-up"),
    Picture("fit_up_out_of_plane", "lookout_rail", "Fit-up", 2),
    Picture("fit_up_out_of_plane_parts", "lookout_rail", "Fit-up"),
    Picture("fit_up_ramp", "ramp_rails", "Fit-up", dpi=50),
    Picture("fit_up_twenty_corners", ZIGZAG, "Fit-up", 2),
    Picture("hole_template", "lookout_posts", "Pipe ends at the bench; Hole", dpi=70),
    Picture("job_sheet_inches", "lookout_guard", "Job sheet"),
    Picture("job_sheet_twenty_corners", ZIGZAG, "Job sheet"),
    Picture("leaning_bench_sheet", "slip_wall_return", "Bench sheet A2", 2, dpi=80),
    Picture("leaning_wrap", "slip_wall_return", "Wrap A2", dpi=80),
    Picture("nps12_tile", "slipway_bumper", "Wrap A1, A2, tile R1C1", dpi=50),
    Picture("oblique_cope_wraps", "dock_frame", "Wrap B1, second end", dpi=80),
    Picture("post_wraps", "lookout_posts", "Wrap A-T1-1", dpi=80),
    Picture("posts_fit_up", "lookout_posts", "Fit-up", dpi=70),
    Picture("posts_fit_up_sizes", "lookout_posts", "Fit-up", 2, dpi=70),
    Picture("ramp_mitre", "ramp_rails", "At the bench; Mitre", dpi=50),
    Picture("wrap_sheet", "lookout_rail", "Wrap", dpi=100, high_mm=97.0),
)


def draw(picture: Picture, pack: Path, titles: list[str]) -> None:
    """Write one picture of a pack that is written already."""
    found = [number for number, title in enumerate(titles, 1) if title.startswith(picture.title)]
    page = str(found[picture.number - 1])
    to = SAMPLES / "pictures" / picture.name
    command = ["pdftocairo", "-png", "-gray", "-singlefile", "-r", str(picture.dpi), "-f", page, "-l", page]
    if picture.high_mm is not None:
        command += [
            "-x",
            "0",
            "-y",
            "0",
            "-W",
            "0",
            "-H",
            str(round(picture.high_mm / MM_PER_INCH * picture.dpi)),
        ]
    subprocess.run([*command, str(pack), str(to)], check=True)


def model_for(job: str) -> Model:
    """The model of a sample job by its name, or of a rail given as in a job file."""
    named = SAMPLES / f"{job}.toml"
    return build_model(load_job(named)) if "\n" not in job and named.exists() else model_of(job)


def main(names: list[str]) -> None:
    """Draw the pictures of these names, or all of them."""
    wanted = [picture for picture in PICTURES if not names or picture.name in names]
    for job in dict.fromkeys(picture.job for picture in wanted):
        model = model_for(job)
        pages = pack_pages(model, Layout(paper_named(model.job.shop.paper)))
        with tempfile.TemporaryDirectory() as folder:
            pack = Path(folder) / "pack.pdf"
            write_pdf(pack, pages, pack_metadata(model.job))
            for picture in wanted:
                if picture.job == job:
                    draw(picture, pack, [page.title for page in pages])


if __name__ == "__main__":
    main(sys.argv[1:])
