"""A written pack as the shop has it: printed, its pipes sawn, marked, wrapped and cut as its sheets say.

The pack is written by the command and read back from the PDF alone.  Its job file is set out in space by
other code (`job_in_space`), and the pipes are set against that.
"""

from __future__ import annotations

import io
import re
import tomllib
from pathlib import Path
from typing import Any

from click.testing import CliRunner

import cli
from tests.hands import Bench, SawnPipe
from tests.job_in_space import TUBES, Post, RailInSpace, Run
from tests.pdf_reader import read_pack
from tests.printed_words import length_mm, printed, rows


class Pack:
    """A pack as it comes out of the printer, and its job file."""

    def __init__(
        self, folder: Path, text: str, asked: str = "", factors: tuple[float, float] = (1.0, 1.0)
    ) -> None:
        folder.mkdir(exist_ok=True)
        job, out = folder / "job.toml", folder / "pack.pdf"
        job.write_text(text, encoding="utf-8")
        arguments = ["sheets", str(job), "-o", str(out), "--only", "job,cut-list,members,fit-up,record"]
        result = CliRunner().invoke(cli.main, [*arguments, *asked.split()])
        assert result.exit_code == 0, result.output
        self.sheets = printed(read_pack(io.BytesIO(out.read_bytes())), factors)
        self.job: dict[str, Any] = tomllib.loads(text)
        self.rows = rows(self.sheets)
        self.mm = 25.4 if self.job["units"] == "in" else 1.0
        self.shop_mm = {"root_gap": 2.4}
        self.bench = Bench(self.sheets, self.rows, 0.1)
        self.made: dict[str, SawnPipe] = {}

    def rails(self) -> list[RailInSpace]:
        """Every rail of the job, in each hand that it has."""
        return [
            RailInSpace(self.job, rail, other)
            for rail in self.job["rail"]
            for other in ((False, True) if rail.get("mirror") else (False,))
        ]

    def pipe(self, mark: str, size: str) -> SawnPipe:
        if mark not in self.made:
            self.made[mark] = self.bench.make(mark, TUBES[size], self.mm)
        return self.made[mark]

    def size(self, first: str, second: str) -> tuple[str, float]:
        """A size of the fit-up's tables between two things: how the tape lies, and how long it is [mm]."""
        how, title = "", False
        for cells in self.rows:
            if cells[0].startswith(("Posts: from", "Clear between")):
                how, title = cells[0], True
            elif cells[0] == "From":
                title = False
            elif title:
                how += f" {cells[0]}"
            for place in range(0, len(cells) - 2, 3):
                if how and cells[place : place + 2] == [first, second]:
                    return how, length_mm(cells[place + 2]) * self.mm
        raise AssertionError(f"no size from {first} to {second}")

    def start_mm(self, rail: RailInSpace, run: Run) -> float:
        """From a run's first work point to its pipe after an elbow: take-out and gap of the job sheet."""
        corner = f"{rail.mark}{(run.number - 1) or (len(rail.runs) if rail.rail.get('closed') else 0)}"
        (cells,) = [cells for cells in self.rows if cells[0] == corner and len(cells) == 8]
        return (length_mm(cells[6]) + length_mm(cells[7])) * self.mm

    @property
    def half_step_mm(self) -> float:
        """Half of the last place of a printed size, and a little."""
        return 25.4 / 32 + 0.01 if self.mm > 1 else 0.051


def sizes_of(pack: Pack) -> dict[str, str]:
    """The size of every pipe, by the cut list."""
    sizes: dict[str, str] = {}
    size = ""
    for cells in pack.rows:
        found = re.match(r"Pipes to cut of (NPS [\d/-]+) Sch 40", cells[0])
        size = found[1] if found else "" if cells[0].startswith(("Drawing length", "•")) else size
        if size and len(cells) >= 6 and re.fullmatch(r"\w+-[TM][\w-]+", cells[0]):
            sizes.setdefault(cells[0], size)
    return sizes


def lengths_of(pack: Pack, post: Post) -> list[SawnPipe]:
    """The pipe of a post, or its lengths from the top down."""
    size = post.row.get("size", pack.job["pipe"]["size"])
    listed = sizes_of(pack)
    if post.mark in listed:
        return [pack.pipe(post.mark, size)]
    marks = [mark for mark in listed if re.fullmatch(rf"{post.mark}[a-z]", mark)]
    return [pack.pipe(mark, size) for mark in marks]


def hands_of(pack: Pack) -> list[tuple[dict[str, Any], str, float]]:
    """Every member with its mark, in each hand."""
    found = []
    for member in pack.job["member"]:
        found.append((member, member["mark"], 1.0))
        if member.get("mirror"):
            found.append((member, f"{member['mark']}M", -1.0))
    return found
