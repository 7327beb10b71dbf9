"""The words of a written pack: captions under its templates, rows of its tables, lengths."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from tests.pdf_reader import Point, Sheet, Stroke, Word

_HEADING = re.compile(
    r"(?P<marks>[\w-]+(?:(?:, | to )[\w-]+)*?)(?:, (?P<hand>drawn|other) hand)?: "
    r"(?P<what>both ends|first end|second end"
    r"|hole under its (?:first|second) end) – make (?P<make>\d+)"
)
LENGTH = r"((?:\d+-)?(?:\d+/\d+|[\d.]+) (?:mm|in))"


def length_mm(text: str) -> float:
    """A printed length [mm]: ``1040.64 mm``, ``2-1/4 in``, ``− 10.0``; a bare number stays as it is."""
    found = re.fullmatch(r"([−-] ?)?(?:(\d+)-)?(\d+/\d+|[\d.]+)(?: (mm|in))?", text.strip())
    assert found, text
    value = float(Fraction(found[3])) + float(found[2] or 0)
    return (-value if found[1] else value) * (25.4 if found[4] == "in" else 1.0)


def first_length_mm(pattern: str, text: str) -> float:
    """The length in the place of LENGTH in a pattern."""
    found = re.search(pattern, text)
    assert found, f"no {pattern} in: {text}"
    return length_mm(found[1])


@dataclass(frozen=True)
class Caption:
    """Words under a wrap or a hole.  at: where they start [mm].  marks: of all pipes that they are for."""

    at: Point
    marks: tuple[str, ...]
    hand: str
    what: str
    make: int
    text: str


def captions(sheet: Sheet) -> list[Caption]:
    """All captions of a sheet, each read down its own column."""
    found = []
    for lines in _columns(sheet):
        while lines:
            at = lines[0].at
            heading = " ".join(word.text for word in _while_bold(lines))
            text = " ".join(word.text for word in _while_plain(lines))
            match = _HEADING.fullmatch(heading)
            if match:
                marks = tuple(mark for words in match["marks"].split(", ") for mark in _marks(words))
                found.append(Caption(at, marks, match["hand"] or "", match["what"], int(match["make"]), text))
    return found


def _marks(words: str) -> Iterator[str]:
    """``A-T2-1``, or every mark of ``A-T2-1 to A-T2-4``."""
    first, _, last = words.partition(" to ")
    if not last:
        yield first
        return
    stem = first.rstrip("0123456789")
    for number in range(int(first[len(stem) :]), int(last.removeprefix(stem)) + 1):
        yield f"{stem}{number}"


def _columns(sheet: Sheet) -> Iterator[list[Word]]:
    columns: dict[float, list[Word]] = {}
    for word in sheet.words:
        if abs(word.angle_rad) < 1e-6:
            columns.setdefault(round(word.at[0], 1), []).append(word)
    for words in columns.values():
        yield sorted(words, key=lambda word: -word.at[1])


def _while_bold(lines: list[Word]) -> list[Word]:
    """A heading ends where its own ends, so that one right after another is another."""
    taken: list[Word] = []
    while lines and "Bold" in lines[0].font:
        taken.append(lines.pop(0))
        if re.search(r"make \d+$", taken[-1].text):
            break
    return taken


def _while_plain(lines: list[Word]) -> list[Word]:
    taken = []
    while lines and "Bold" not in lines[0].font:
        taken.append(lines.pop(0))
    return taken


def rows(sheets: Sequence[Sheet]) -> list[list[str]]:
    """Cells of every line of the sheets, left to right, from the top."""
    found = []
    for sheet in sheets:
        lines: dict[int, list[Word]] = {}
        for word in sheet.words:
            lines.setdefault(round(word.at[1] * 4), []).append(word)
        for height in sorted(lines, reverse=True):
            found.append([word.text for word in sorted(lines[height], key=lambda word: word.at[0])])
    return found


def printed(sheets: Sequence[Sheet], factors: tuple[float, float]) -> list[Sheet]:
    """The sheets as a printer puts them on paper that draws 1 mm across and up as so much."""

    def put(point: Point) -> Point:
        return (point[0] * factors[0], point[1] * factors[1])

    return [
        Sheet(
            sheet.width_mm,
            sheet.height_mm,
            tuple(
                Stroke(tuple(map(put, s.points)), s.width_mm, s.dash_mm, s.closed, s.filled)
                for s in sheet.strokes
            ),
            tuple(Word(w.text, put(w.at), w.size_pt, w.angle_rad, w.width_mm, w.font) for w in sheet.words),
        )
        for sheet in sheets
    ]
