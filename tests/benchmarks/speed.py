"""How long a pack takes and how much memory: ``python -m tests.benchmarks.speed``.

1. A job of six corners, geometry and writing, beside a bare reportlab script that writes as many pages with
   as many path operators (and, for information, one that writes the texts as well); imports apart.
2. The whole process for the same job, and its peak memory.
3. Seconds a page at 10, 100 and 1,000 distinct corners.
"""

from __future__ import annotations

import io
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path

from reportlab import rl_config
from reportlab.pdfgen.canvas import Canvas

from render.drawing import Line, Polyline, Text
from render.pack import pack_metadata, pack_pages
from render.paper import Layout, Page, paper_named
from render.pdf import pdf_bytes
from templates_core.job_file import parse_job
from templates_core.model import build_model

ROOT = Path(__file__).parent.parent.parent
PT_PER_MM = 72 / 25.4
LEAST_TURN_DEG, MOST_TURN_DEG = 23.0, 59.0
REPEATS = 5

JOB = """
title = "Heron Slip timing rail"
number = "HS-900"
revision = "A"
units = "mm"
[pipe]
size = "NPS 1-1/2"
schedule = "40"
[elbows]
stock = ["90 long radius"]
[shop]
paper = "A4"
[[rail]]
mark = "A"
path = [ {path} ]
"""


def job_text(corners: int) -> str:
    """A job file of so many corners, no two alike."""
    step = (MOST_TURN_DEG - LEAST_TURN_DEG) / max(corners - 1, 1)
    items = ["{ run = 1000 }"]
    for number in range(corners):
        side = "left" if number % 2 else "right"
        turn = LEAST_TURN_DEG + step * number
        items += [f'{{ turn = {turn:.4f}, towards = "{side}" }}', "{ run = 1000 }"]
    return JOB.replace("{path}", ",\n".join(items))


def pages_of(text: str) -> tuple[Page, ...]:
    """The pages of a job file's pack."""
    model = build_model(parse_job(text.encode(), "timing.toml"))
    return pack_pages(model, Layout(paper_named("A4")))


def write(text: str) -> int:
    """A whole pack as bytes; gives its number of pages."""
    model = build_model(parse_job(text.encode(), "timing.toml"))
    pages = pack_pages(model, Layout(paper_named("A4")))
    pdf_bytes(pages, pack_metadata(model.job))
    return len(pages)


def bare(pages: Sequence[Page], texts: bool) -> None:
    """What somebody would write who had these lines ready: reportlab's own calls, nothing else."""
    canvas = Canvas(io.BytesIO(), pageCompression=1, invariant=1)
    for page in pages:
        paper = page.layout.paper
        canvas.setPageSize((paper.width_mm * PT_PER_MM, paper.height_mm * PT_PER_MM))
        for item in page.drawing:
            if isinstance(item, Text):
                if texts:
                    canvas.setFont("Helvetica", item.size_pt)
                    canvas.drawString(item.at[0] * PT_PER_MM, item.at[1] * PT_PER_MM, item.text)
                continue
            points = (item.start, item.end) if isinstance(item, Line) else item.points
            path = canvas.beginPath()
            path.moveTo(points[0][0] * PT_PER_MM, points[0][1] * PT_PER_MM)
            for x, y in points[1:]:
                path.lineTo(x * PT_PER_MM, y * PT_PER_MM)
            canvas.drawPath(path)
        canvas.showPage()
    canvas.getpdfdata()


def path_operators(pages: Sequence[Page]) -> int:
    """Moves and lines on the pages."""
    lines = (item for page in pages for item in page.drawing)
    return sum(
        2 if isinstance(item, Line) else len(item.points)
        for item in lines
        if isinstance(item, Line | Polyline)
    )


def seconds(work: Callable[[], object], repeats: int = REPEATS) -> float:
    """Median time of one call, after one that warms up."""
    work()
    taken = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def six_corners() -> None:
    text = job_text(6)
    pages = pages_of(text)
    ours = seconds(lambda: write(text))
    print(f"six corners: {len(pages)} pages, {path_operators(pages)} path operators")
    print(f"  geometry and writing        {ours:.3f} s")
    for what, texts in (("paths alone", False), ("paths and texts", True)):
        other = seconds(lambda texts=texts: bare(pages, texts))  # type: ignore[misc]
        print(f"  bare reportlab, {what:15} {other:.3f} s, ours is {ours / other:.2f} times that")


def whole_process() -> None:
    with tempfile.TemporaryDirectory() as folder:
        job, out = Path(folder, "job.toml"), Path(folder, "pack.pdf")
        job.write_text(job_text(6), encoding="utf-8")
        command = [sys.executable, str(ROOT / "cli.py"), "sheets", str(job), "-o", str(out)]
        taken = seconds(lambda: subprocess.run(command, check=True, capture_output=True))
    peak_mb = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    print(f"whole process, six corners: {taken:.2f} s, peak memory {peak_mb:.0f} MB")


def growth() -> None:
    for corners in (10, 100, 1000):
        start = time.perf_counter()
        pages = write(job_text(corners))
        taken = time.perf_counter() - start
        print(f"{corners:5} corners: {pages:4} pages, {taken:6.2f} s, {1000 * taken / pages:5.1f} ms each")


def main() -> None:
    """Print all of it."""
    rl_config.useA85 = 0
    six_corners()
    whole_process()
    growth()


if __name__ == "__main__":
    main()
