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
from pathlib import Path

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen import canvas

from render.drawing import Line, Text
from render.pack import pack_metadata, pack_pages
from render.paper import Layout, Page, paper_named
from render.pdf import write_pdf
from templates_core.job_file import parse_job
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


def pages_of(text: str) -> tuple[tuple[Page, ...], float]:
    """All sheets of a job, and the seconds that reading, computing and drawing it took."""
    start = time.perf_counter()
    model = build_model(parse_job(text.encode(), "speed.toml"))
    pages = pack_pages(model, Layout(paper_named(model.job.shop.paper)))
    return pages, time.perf_counter() - start


def write_time(pages: Sequence[Page], path: Path, text: str) -> float:
    """Seconds to write the pages."""
    metadata = pack_metadata(parse_job(text.encode(), "speed.toml"))
    return timed(lambda: write_pdf(path, pages, metadata))


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
    """Seconds that one call takes."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def main() -> None:
    """Print the table."""
    pdfmetrics.registerFont(TTFont("Vera", "Vera.ttf"))
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "pack.pdf"
        text = job_text(6)
        pages_of(text)
        pages, computing = pages_of(text)
        writing, bare = min(write_time(pages, out, text) for _ in range(3)), bare_time(pages, out)
        bare = min(bare, bare_time(pages, out))
        print(f"6 corners, {len(pages)} pages: computed and drawn in {computing:.3f} s")
        print(
            f"written in {writing:.3f} s; a bare reportlab script of the same pages and lines: {bare:.3f} s"
        )
        print(f"ratio of both together to the bare script: {(computing + writing) / bare:.2f}")
        job = Path(folder) / "speed.toml"
        job.write_text(text)
        command = [sys.executable, str(CHECKOUT / "cli.py"), "sheets", str(job), "-o", str(out)]
        whole = min(timed(lambda: subprocess.run(command, check=True, capture_output=True)) for _ in range(3))
        memory_mb = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
        print(f"whole process: {whole:.2f} s, peak memory {memory_mb:.0f} MB")
        for corners in (10, 100, 1000):
            text = job_text(corners)
            pages, computing = pages_of(text)
            total = computing + write_time(pages, out, text)
            each_ms = total / len(pages) * 1000
            print(f"{corners:5d} distinct corners: {len(pages)} pages, {each_ms:.2f} ms a page", flush=True)


if __name__ == "__main__":
    main()
