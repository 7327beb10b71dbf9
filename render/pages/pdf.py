"""Writes pages as a PDF and measures text in its fonts; the only module that imports reportlab."""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

from reportlab import rl_config
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from render.pages.drawing import Drawing, Line, Pen, Point, Polyline, Text
from render.pages.paper import Layout, Page
from templates_core.errors import Fault, InputError

LEAST_TEXT_PT = 7.0
ASCENT = 0.76
"""Height of the tallest letters over the baseline, as a share of the text size."""
DESCENT = 0.24
"""Depth of the deepest letters under the baseline, as a share of the text size."""
_REGULAR, _BOLD = "Vera", "VeraBd"
_STAND_INS = str.maketrans({"′": "'", "″": '"', "\u00a0": " "})
"""Characters that the font lacks and that have a twin of the same meaning."""

_ESCAPES = {code: f"\\{code:03o}" for code in range(256) if not 32 <= code <= 126 or code in b"()\\"}
"""Characters that a string of the file can't hold as they are."""

rl_config.useA85 = 0


@dataclass(frozen=True)
class Metadata:
    """What the file says about itself."""

    title: str
    subject: str
    creator: str = "wrapwright"


def to_points(length_mm: float) -> float:
    """Millimetres as PDF points, 72 to the inch."""
    return length_mm * (72.0 / 25.4)


@cache
def _font(bold: bool) -> Any:
    name = _BOLD if bold else _REGULAR
    pdfmetrics.registerFont(TTFont(name, f"{name}.ttf"))
    return pdfmetrics.getFont(name)


@cache
def _advances(bold: bool) -> dict[str, float]:
    """Advance of each character that can be printed, for a size of 1 pt [pt]."""
    widths = _font(bold).face.charWidths
    return {chr(code): width / 1000.0 for code, width in widths.items() if 32 <= code < 0xF000}


@lru_cache(maxsize=20000)
def printable(text: str, bold: bool = False) -> str:
    """The text as it is printed, primes as straight quotes.

    Errors: InputError naming the characters that the font of the sheets does not have.
    """
    text = text.translate(_STAND_INS)
    missing = sorted(set(text) - _advances(bold).keys())
    if missing:
        what = f"the font of the sheets has no {' '.join(missing)!r}"
        raise InputError([Fault(f"text {text!r}", what, "write it with letters, digits and common signs")])
    return text


@lru_cache(maxsize=20000)
def text_width_mm(text: str, size_pt: float, bold: bool = False) -> float:
    """Length of a line of text [mm].  Errors: InputError for a character that cannot be printed."""
    advances = _advances(bold)
    try:
        ems = sum(advances[letter] for letter in text)
    except KeyError:
        ems = sum(advances[letter] for letter in printable(text, bold))
    return ems * size_pt * (25.4 / 72.0)


def write_pdf(
    path: Path,
    pages: Sequence[Page],
    metadata: Metadata,
    progress: Callable[[int, int], None] | None = None,
) -> None:
    """Write the pages to path: beside it first, then renamed, so a failed run leaves an old file whole.

    Coordinates are written as they are, with no transform; the same pages give the same bytes.
    progress: called with (pages done, pages in all).
    Errors: InputError for a character that the font lacks; ValueError for a number that is not finite
    or text under 7 pt; OSError when the file cannot be written.
    """
    data = pdf_bytes(pages, metadata, progress)
    beside = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        beside.write_bytes(data)
        beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)


def pdf_bytes(
    pages: Sequence[Page], metadata: Metadata, progress: Callable[[int, int], None] | None = None
) -> bytes:
    """The pages as the bytes of a PDF file; as ``write_pdf``."""
    if not pages:
        raise ValueError("a pack needs at least one page")
    _font(False), _font(True)
    canvas = Canvas(
        "pack.pdf", pageCompression=1, invariant=1, initialFontName=_REGULAR, lang="en", pdfVersion=(1, 6)
    )
    canvas.setTitle(metadata.title)
    canvas.setSubject(metadata.subject)
    canvas.setCreator(metadata.creator)
    canvas.setAuthor("")
    canvas.setViewerPreference("PrintScaling", "None")
    canvas.showOutline()
    section = None
    for number, page in enumerate(pages, start=1):
        _bookmark(canvas, page, number, new_section=page.section != section)
        section = page.section
        paper = page.layout.paper
        canvas.setPageSize((to_points(paper.width_mm), to_points(paper.height_mm)))
        canvas._code.extend(_operators(page.drawing, page.layout, canvas._doc))
        canvas.showPage()
        if progress is not None:
            progress(number, len(pages))
    data = canvas.getpdfdata()
    assert isinstance(data, bytes)
    return data


def _bookmark(canvas: Any, page: Page, number: int, new_section: bool) -> None:
    names = [(f"section{number}", page.section, 0)] if new_section else []
    for key, title, level in [*names, (f"sheet{number}", f"{number}  {page.title}", 1)]:
        canvas.bookmarkPage(key)
        canvas.addOutlineEntry(title, key, level=level)


def _operators(drawing: Drawing, layout: Layout, document: Any) -> Iterator[str]:
    """PDF operators of a drawing, one string an item, its lines with butt ends and round joins.

    Points take the print correction; texts its lesser factor, so that they keep to their room; pens none.
    """
    x0, kx, y0, ky = (to_points(number) for number in layout.to_page_mm())

    def put(point: Point) -> str:
        x, y = x0 + kx * point[0], y0 + ky * point[1]
        if not math.isfinite(x + y):
            raise ValueError(f"a point of the drawing is not a number: {point}")
        return f"{x:.4f} {y:.4f}"

    yield "0 J 1 j 0 g 0 G"
    pen = None
    for item in drawing:
        if isinstance(item, Text):
            yield _text_operators(item, put, min(layout.correction.scale), document)
            continue
        if item.pen is not pen:
            pen = item.pen
            yield _pen_operators(pen)
        yield _path_operators(item, put)


def _pen_operators(pen: Pen) -> str:
    dash = " ".join(f"{to_points(length):.4f}" for length in pen.dash_mm)
    return f"{to_points(pen.width_mm):.4f} w [{dash}] 0 d"


def _path_operators(item: Line | Polyline, put: Callable[[Point], str]) -> str:
    if isinstance(item, Line):
        return f"{put(item.start)} m {put(item.end)} l S"
    path = f"{put(item.points[0])} m " + "".join(f"{put(point)} l " for point in item.points[1:])
    if item.filled:
        return path + "h f"
    return path + ("h S" if item.closed else "S")


def _text_operators(text: Text, put: Callable[[Point], str], scale: float, document: Any) -> str:
    if text.size_pt < LEAST_TEXT_PT:
        raise ValueError(f"text {text.text!r} is {text.size_pt:g} pt; the least is {LEAST_TEXT_PT:g} pt")
    words = printable(text.text, text.bold)
    back_mm = text.anchor.share * text_width_mm(words, text.size_pt, text.bold)
    cos, sin = (math.cos(text.angle_rad), math.sin(text.angle_rad)) if text.angle_rad else (1.0, 0.0)
    start = put((text.at[0] - back_mm * cos, text.at[1] - back_mm * sin))
    font = _font(text.bold)
    size = f"{scale * text.size_pt:.4f}".rstrip("0").rstrip(".")
    shown = "".join(
        f"{font.getSubsetInternalName(subset, document)} {size} Tf ({_escaped(chunk)}) Tj "
        for subset, chunk in font.splitString(words, document)
    )
    return f"BT {cos:.6f} {sin:.6f} {-sin:.6f} {cos:.6f} {start} Tm {shown}ET"


def _escaped(chunk: bytes) -> str:
    return chunk.decode("latin-1").translate(_ESCAPES)
