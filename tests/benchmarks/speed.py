"""Prints what a pack costs: against a bare script of the same drawing, as a process, in memory, a page.

Run by hand: ``python -m tests.benchmarks.speed``.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen import canvas

from render.pack import pack_metadata, pack_pages
from render.pages.drawing import Line, Text
from render.pages.flow import element_strips
from render.pages.paper import Layout, Page, paper_named
from render.pages.pdf import write_pdf
from templates_core.jobs.job_file import parse_job
from templates_core.model import build_model

CHECKOUT = Path(__file__).parents[2]
MM = 72.0 / 25.4
HEAD = """
title = "Heron Slip speed"
number = "HS-900"
revision = "A"
units = "mm"
[pipe]
size = "NPS 1-1/2"
schedule = "40"
[elbows]
stock = ["90 long radius"]
ends = "bevelled"
"""


def job_text(corners: int) -> str:
    """A job of distinct corners, twenty to a rail, each with a cut of its own."""
    rails = []
    for first in range(0, corners, 20):
        count = min(20, corners - first)
        turns = (24.0 + 34.0 * (first + i) / corners for i in range(count))
        steps = ", ".join(
            f'{{ turn = {turn:.4f}, towards = "{"up" if i % 2 else "down"}" }}, {{ run = 900 }}'
            for i, turn in enumerate(turns)
        )
        rails.append(f'[[rail]]\nmark = "{chr(65 + first // 20 % 26)}{"X" * (first // 520)}"\n')
        rails.append(f"path = [{{ run = 900 }}, {steps}]\n")
    return HEAD + "".join(rails)


@dataclass(frozen=True)
class Stages:
    """Pages of a job and seconds of processor time that each stage took."""

    pages: tuple[Page, ...]
    computing: float
    drawing: float
    writing: float

    @property
    def total(self) -> float:
        """All stages [s]."""
        return self.computing + self.drawing + self.writing


def staged(text: str, path: Path) -> Stages:
    """Compute, draw and write a job, as if it were the first."""
    element_strips.cache_clear()
    job = parse_job(text.encode(), "speed.toml")
    clock = [time.process_time()]
    model = build_model(job)
    clock.append(time.process_time())
    pages = pack_pages(model, Layout(paper_named(model.job.shop.paper)))
    clock.append(time.process_time())
    write_pdf(path, pages, pack_metadata(job))
    clock.append(time.process_time())
    return Stages(pages, *(after - before for before, after in pairwise(clock)))


def bare_time(pages: Sequence[Page], path: Path) -> float:
    """Seconds for the same pages, lines and texts by plain reportlab calls on ready-made numbers."""
    ready = [[_ready(item) for item in page.drawing] for page in pages]

    def draw() -> None:
        pdf = canvas.Canvas(str(path))
        for page in ready:
            for chain, text in page:
                if text is not None:
                    pdf.setFont("Vera", text.size_pt)
                    pdf.drawString(text.at[0] * MM, text.at[1] * MM, text.text)
                    continue
                outline = pdf.beginPath()
                outline.moveTo(*chain[0])
                for point in chain[1:]:
                    outline.lineTo(*point)
                pdf.setLineWidth(0.7)
                pdf.drawPath(outline)
            pdf.showPage()
        pdf.save()

    return timed(draw)


def _ready(item: object) -> tuple[list[tuple[float, float]], Text | None]:
    if isinstance(item, Text):
        return [], item
    points = (item.start, item.end) if isinstance(item, Line) else item.points  # type: ignore[attr-defined]
    return [(x * MM, y * MM) for x, y in points], None


def timed(work: Callable[[], object]) -> float:
    """Seconds of processor time that one call takes."""
    start = time.process_time()
    work()
    return time.process_time() - start


def main() -> None:
    """Print the tables."""
    pdfmetrics.registerFont(TTFont("Vera", "Vera.ttf"))
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "pack.pdf"
        text = job_text(6)
        staged(text, out)
        best = min((staged(text, out) for _ in range(3)), key=lambda stages: stages.total)
        bare = min(bare_time(best.pages, out) for _ in range(3))
        print(f"6 corners, {len(best.pages)} pages: all stages {best.total:.3f} s of processor time; a bare")
        print(f"reportlab script of the same lines and texts {bare:.3f} s; ratio {best.total / bare:.2f}")
        job = Path(folder) / "speed.toml"
        job.write_text(text)
        command = [sys.executable, str(CHECKOUT / "cli.py"), "sheets", str(job), "-o", str(out)]
        start = time.perf_counter()
        subprocess.run(command, check=True, capture_output=True)
        memory_mb = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
        print(
            f"whole process: {time.perf_counter() - start:.2f} s on the clock, peak memory {memory_mb:.0f} MB"
        )
        print("corners  pages  compute s  draw s  write s  ms a page  peak MB")
        for corners in (6, 10, 100, 1000):
            one = staged(job_text(corners), out)
            each_ms = 1000 * one.total / len(one.pages)
            peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            stages = f"{one.computing:9.2f} {one.drawing:7.2f} {one.writing:8.2f}"
            print(f"{corners:7d} {len(one.pages):6d} {stages} {each_ms:10.1f} {peak_mb:8.0f}", flush=True)


if __name__ == "__main__":
    main()
