"""Papers, what a printer does to them, and the area of a page that drawings may use."""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from importlib.resources import files

from render.pages.drawing import Drawing, Point
from templates_core.errors import Fault, InputError

MARGIN_MM = 6.6
"""Blank edge: the 6.35 mm that printers cannot reach, and half of the widest line."""
FOOT_MM = 15.0
"""Height at the foot of each page that the title block takes."""
SIDE_MM = 6.5
"""Width at the left of each page that the upright check bar takes."""
ROLL_LEAST_WIDTH_MM = 200.0
ROLL_MOST_WIDTH_MM = 1626.0
ROLL_MOST_LENGTH_MM = 5000.0
"""Longest page cut from a roll; PDF itself ends at 14400 pt, which is 5080 mm."""
ROLL_LEAST_HEIGHT_MM = 54.0
"""Least height for drawings on a page cut from a roll: the upright check bar stands in it."""
MM_PER_INCH = 25.4


@dataclass(frozen=True)
class Paper:
    """A paper as it lies in the printer, sizes exact [mm].

    roll: width is the roll's; height is the longest page, and each page is cut where its drawing ends.
    """

    name: str
    width_mm: float
    height_mm: float
    margin_mm: float = MARGIN_MM
    roll: bool = False

    def turned(self) -> Paper:
        """The same sheet with width and height changed over; a roll stays as it is."""
        return self if self.roll else replace(self, width_mm=self.height_mm, height_mm=self.width_mm)

    def cut_at(self, height_mm: float) -> Paper:
        """The page of this height from a roll; any other paper keeps its height."""
        return replace(self, height_mm=height_mm) if self.roll else self


@cache
def sheet_papers() -> Mapping[str, Paper]:
    """Papers of fixed size by lower-case name, from ``papers.csv``."""
    text = files("render.pages").joinpath("papers.csv").read_text(encoding="utf-8")
    papers = {}
    for row in csv.DictReader(text.splitlines()):
        mm = MM_PER_INCH if row["unit"] == "in" else 1.0
        papers[row["name"].lower()] = Paper(row["name"], float(row["width"]) * mm, float(row["height"]) * mm)
    return papers


def paper_named(text: str, where: str = "paper") -> Paper:
    """The paper of that name: one of the sheet papers, or ``roll 610``, ``roll 610 mm``, ``roll 24 in``.

    Errors: InputError at ``where`` for a name that is not known or a roll too narrow or too wide.
    """
    words = text.strip().lower()
    known = sheet_papers()
    if words in known:
        return known[words]
    if words.startswith("roll"):
        return _roll(words, where)
    names = ", ".join(paper.name for paper in known.values())
    fault = Fault(
        where, f"there is no paper called {text!r}", f"use {names} or roll and a width: roll 610 mm"
    )
    raise InputError([fault])


def _roll(words: str, where: str) -> Paper:
    found = re.fullmatch(r"roll\s+(\d+(?:\.\d+)?)\s*(mm|in|\")?", words)
    if not found:
        fault = Fault(where, f"{words!r} gives no roll width", "write roll 610 mm or roll 24 in")
        raise InputError([fault])
    width_mm = float(found[1]) * (1.0 if found[2] in (None, "mm") else MM_PER_INCH)
    if not ROLL_LEAST_WIDTH_MM <= width_mm <= ROLL_MOST_WIDTH_MM:
        limits = f"{ROLL_LEAST_WIDTH_MM:g} to {ROLL_MOST_WIDTH_MM:g} mm"
        fault = Fault(where, f"a roll {width_mm:g} mm wide cannot be used", f"give a width of {limits}")
        raise InputError([fault])
    return Paper(f"roll {width_mm:g} mm", width_mm, ROLL_MOST_LENGTH_MM, roll=True)


@dataclass(frozen=True)
class Correction:
    """What the 100 mm square of an uncorrected print measured on paper, across and up an upright sheet."""

    across_mm: float = 100.0
    up_mm: float = 100.0

    @property
    def scale(self) -> tuple[float, float]:
        """Factors on x and y that make 100 print as 100."""
        return (100.0 / self.across_mm, 100.0 / self.up_mm)

    def turned(self) -> Correction:
        """The same printer seen from a page lying on its side."""
        return Correction(self.up_mm, self.across_mm)

    def __str__(self) -> str:
        """``99.2 × 99.6``."""
        return f"{self.across_mm:g} × {self.up_mm:g}"


UNCORRECTED = Correction()


def correction_printed(text: str, where: str = "--printed") -> Correction:
    """The correction for a reading such as ``99.2x99.6`` (across x up) [mm].

    Errors: InputError when it cannot be read, or lies outside 90 to 110, where the print dialog was
    set to fit or scale the page and no correction is right.
    """
    found = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*(?:mm)?\s*[x×X]\s*(\d+(?:\.\d+)?)\s*(?:mm)?\s*", text)
    if not found:
        fault = Fault(where, f"{text!r} is not two readings", "give width x height in mm, such as 99.2x99.6")
        raise InputError([fault])
    across_mm, up_mm = float(found[1]), float(found[2])
    wrong = [reading for reading in (across_mm, up_mm) if not 90.0 <= reading <= 110.0]
    if wrong:
        what = f"a 100 mm square that prints as {wrong[0]:g} mm comes from a wrong print setting"
        fault = Fault(where, what, "print again at actual size (100 %, no fit to page) and measure again")
        raise InputError([fault])
    return Correction(across_mm, up_mm)


@dataclass(frozen=True)
class Layout:
    """Where drawings may stand on a page: x from 0 to width_mm, y from 0 to height_mm, true millimetres.

    The title block stands below y = 0 and the upright check bar left of x = 0, inside the margins both
    on the page as written and on the page as this printer prints it.
    """

    paper: Paper
    correction: Correction = UNCORRECTED

    @property
    def frame_mm(self) -> tuple[float, float]:
        """Width and height inside the margins, in millimetres as they come out on paper."""
        margins_mm = 2.0 * self.paper.margin_mm
        width_mm = (self.paper.width_mm - margins_mm) * min(1.0, self.correction.across_mm / 100.0)
        height_mm = (self.paper.height_mm - margins_mm) * min(1.0, self.correction.up_mm / 100.0)
        return (width_mm, height_mm)

    @property
    def width_mm(self) -> float:
        """Width that drawings may use."""
        return self.frame_mm[0] - SIDE_MM

    @property
    def height_mm(self) -> float:
        """Height that drawings may use."""
        return self.frame_mm[1] - FOOT_MM

    def turned(self) -> Layout:
        """The layout of the same paper on its side; the correction turns with it."""
        return self if self.paper.roll else Layout(self.paper.turned(), self.correction.turned())

    def cut_for(self, height_mm: float) -> Layout:
        """The layout of a roll page just long enough for a drawing this high; others stay as they are."""
        frame_mm = max(height_mm, ROLL_LEAST_HEIGHT_MM) + FOOT_MM
        page_mm = frame_mm / min(1.0, self.correction.up_mm / 100.0) + 2.0 * self.paper.margin_mm
        return replace(self, paper=self.paper.cut_at(min(page_mm, self.paper.height_mm)))

    def to_page_mm(self) -> tuple[float, float, float, float]:
        """Numbers (x0, kx, y0, ky): a drawing's (x, y) is written at (x0 + kx·x, y0 + ky·y) on the page.

        kx and ky are the correction, about the middle of the page; the page's corner is (0, 0).
        """
        kx, ky = self.correction.scale
        frame_width_mm, frame_height_mm = self.frame_mm
        x0 = self.paper.width_mm / 2.0 + kx * (SIDE_MM - frame_width_mm / 2.0)
        y0 = self.paper.height_mm / 2.0 + ky * (FOOT_MM - frame_height_mm / 2.0)
        return (x0, kx, y0, ky)

    def put(self, point: Point) -> Point:
        """Where a drawing's point is written on the page [mm from its lower left corner]."""
        x0, kx, y0, ky = self.to_page_mm()
        return (x0 + kx * point[0], y0 + ky * point[1])


@dataclass(frozen=True)
class Page:
    """One page: its drawing in the coordinates of its layout.

    section and title become bookmarks.  marks: part marks drawn on it, in order.
    """

    section: str
    title: str
    layout: Layout
    drawing: Drawing
    marks: tuple[str, ...] = field(default=())
