"""Whole jobs for tests of wrap sheets, normal and odd, written as packs and read back."""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from render.pack import SECTIONS, pack_pages
from render.pages.paper import Layout, Page, paper_named
from render.pages.pdf import Metadata, pdf_bytes
from templates_core.fittings import Pipe, StockElbow
from templates_core.jobs.job import CornerSpec, Job, Joint, RailSpec, RunSpec
from templates_core.model import Model, build_model
from templates_core.units import INCH, MM
from tests.elbow_samples import SHOP, job
from tests.pdf_reader import Sheet, read_pack
from tests.wrap_samples import elbow_of


def bent_rail(
    mark: str, turns_deg: Sequence[float], mitres: Sequence[float] = (), quantity: int = 1
) -> RailSpec:
    """A rail with those turns by elbow and then by mitre, turn about, on runs long enough for any elbow."""
    corners = [
        CornerSpec(f"rail {mark}, corner {n}", math.radians(turn), 0.0 if n == 1 else math.pi * (n % 2))
        for n, turn in enumerate([*turns_deg, *mitres], 1)
    ]
    corners = [
        replace(corner, by=Joint.MITRE) if n >= len(turns_deg) else corner for n, corner in enumerate(corners)
    ]
    runs = [RunSpec(f"rail {mark}, run {n}", 3000.0) for n in range(1, len(corners) + 2)]
    return RailSpec(mark, quantity, tuple(runs), tuple(corners))


def job_of(nps: str, units: str, *rails: RailSpec, kind: str = "LR") -> Job:
    elbow: StockElbow = elbow_of(nps, kind)
    pipe = Pipe(f"NPS {nps} Sch 40", elbow.od_mm, elbow.wall_mm, "sample")
    return replace(job(*rails, elbows=(elbow,), shop=SHOP), pipe=pipe, units=units)


@dataclass(frozen=True)
class Pack:
    """A pack in each of its forms."""

    model: Model
    pages: tuple[Page, ...]
    sheets: tuple[Sheet, ...]

    def of_wraps(self) -> list[tuple[Page, Sheet]]:
        return [pair for pair in zip(self.pages, self.sheets, strict=True) if pair[0].section == "Wraps"]


def pack_of(a_job: Job, paper: str, sections: Sequence[str] = tuple(SECTIONS)) -> Pack:
    model = build_model(a_job)
    pages = pack_pages(model, Layout(paper_named(paper)), sections)
    data = pdf_bytes(pages, Metadata("test", "test"))
    return Pack(model, pages, tuple(read_pack(io.BytesIO(data))))


NORMAL = job_of("1-1/2", MM, bent_rail("A", (32.7, 45.0, 62.0), (10.0,), 2), bent_rail("B", (32.7, 51.0)))
INCHES = job_of("2", INCH, bent_rail("A", (28.5, 57.0), (12.0,)))
TINY = job_of("1/2", MM, bent_rail("A", (20.0, 60.0), (9.5,)))
MANY = job_of("1-1/2", MM, bent_rail("A", (33.0,) * 30))
HUGE = job_of("12", MM, bent_rail("A", (38.0,)))
FAR = job_of("3", MM, bent_rail("A", (75.0,)))
JOBS = {
    "normal on A4": (NORMAL, "A4"),
    "inches on letter": (INCHES, "letter"),
    "tiny on letter": (TINY, "letter"),
    "tiny on A4": (TINY, "A4"),
    "many marks on A4": (MANY, "A4"),
    "huge on A4": (HUGE, "A4"),
    "huge on letter": (HUGE, "letter"),
    "huge on a roll": (HUGE, "roll 1000"),
    "from the far face on A3": (FAR, "A3"),
}
