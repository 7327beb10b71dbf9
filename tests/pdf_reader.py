"""Reads a written pack back, by pypdf alone: strokes and words in millimetres on the page, y up.

Independent of the code that writes.  It refuses what could change the scale: a transform that is not a
turn or a move, a page that is turned or has its own unit, drawings stored outside the page.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from io import BytesIO
from pathlib import Path
from typing import Any

from pypdf import PageObject, PdfReader
from pypdf.generic import ContentStream

MM = 25.4 / 72.0
Point = tuple[float, float]
Matrix = tuple[float, float, float, float, float, float]
IDENTITY: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


@dataclass(frozen=True)
class Stroke:
    """A path as written: points [mm], width of the line [mm], dash lengths [mm]."""

    points: tuple[Point, ...]
    width_mm: float
    dash_mm: tuple[float, ...]
    closed: bool
    filled: bool

    @property
    def path(self) -> tuple[Point, ...]:
        return self.points + self.points[:1] if self.closed else self.points

    @property
    def length_mm(self) -> float:
        return sum(math.dist(a, b) for a, b in zip(self.path, self.path[1:], strict=False))


@dataclass(frozen=True)
class Word:
    """A text as written: start of its baseline [mm], size [pt], direction and length [mm]."""

    text: str
    at: Point
    size_pt: float
    angle_rad: float
    width_mm: float
    font: str

    @property
    def corners(self) -> tuple[Point, Point, Point, Point]:
        low, high = -0.24 * self.size_pt * MM, 0.76 * self.size_pt * MM
        cos, sin = math.cos(self.angle_rad), math.sin(self.angle_rad)
        x, y = self.at
        ends = ((0.0, low), (self.width_mm, low), (self.width_mm, high), (0.0, high))
        a, b, c, d = ((x + u * cos - v * sin, y + u * sin + v * cos) for u, v in ends)
        return (a, b, c, d)


@dataclass(frozen=True)
class Sheet:
    """One page as written; sizes in mm."""

    width_mm: float
    height_mm: float
    strokes: tuple[Stroke, ...]
    words: tuple[Word, ...]

    def with_width(self, width_mm: float) -> list[Stroke]:
        return [s for s in self.strokes if not s.filled and abs(s.width_mm - width_mm) < 0.005]


def read_pack(source: Path | BytesIO) -> list[Sheet]:
    reader = PdfReader(source)
    return [_Reading(reader, page).sheet() for page in reader.pages]


@dataclass
class _State:
    matrix: Matrix = IDENTITY
    width: float = 1.0
    dash: tuple[float, ...] = ()
    font: str = ""
    size: float = 0.0


@dataclass
class _Font:
    name: str
    first: int
    widths: list[float]
    letters: dict[int, str]

    def decode(self, codes: bytes) -> str:
        return "".join(self.letters[code] for code in codes)

    def length(self, codes: bytes) -> float:
        return sum(self.widths[code - self.first] for code in codes) / 1000.0


@dataclass
class _Reading:
    reader: PdfReader
    page: PageObject
    state: _State = field(default_factory=_State)
    saved: list[_State] = field(default_factory=list)
    path: list[tuple[list[Point], bool]] = field(default_factory=list)
    strokes: list[Stroke] = field(default_factory=list)
    words: list[Word] = field(default_factory=list)
    text_matrix: Matrix = IDENTITY

    def sheet(self) -> Sheet:
        assert self.page.get("/Rotate", 0) == 0 and "/UserUnit" not in self.page
        contents = self.page.get_contents()
        assert contents is not None
        self.fonts = {name: _font(font.get_object()) for name, font in self._font_entries()}
        for operands, operator in ContentStream(contents, self.reader).operations:
            getattr(self, f"_op_{NAMES.get(operator, operator.decode())}")(*operands)
        assert not self.saved
        left, bottom, right, top = (float(x) for x in self.page.mediabox)
        assert left == bottom == 0.0
        return Sheet(right * MM, top * MM, tuple(self.strokes), tuple(self.words))

    def _font_entries(self) -> Any:
        return self.page["/Resources"]["/Font"].items()  # type: ignore[index]

    def _put(self, x: Any, y: Any) -> Point:
        a, b, c, d, e, f = self.state.matrix
        return ((a * float(x) + c * float(y) + e) * MM, (b * float(x) + d * float(y) + f) * MM)

    def _op_cm(self, *matrix: Any) -> None:
        self.state.matrix = _times(_rigid(matrix), self.state.matrix)

    def _op_q(self) -> None:
        self.saved.append(_State(**vars(self.state)))

    def _op_Q(self) -> None:  # noqa: N802 (operators of PDF)
        self.state = self.saved.pop()

    def _op_w(self, width: Any) -> None:
        self.state.width = float(width)

    def _op_d(self, dash: Any, _phase: Any) -> None:
        self.state.dash = tuple(float(length) * MM for length in dash)

    def _op_ignored(self, *_: Any) -> None:
        """Caps, joins and grey: nothing that moves a line."""

    def _op_grey(self, level: Any) -> None:
        assert float(level) == 0.0, "a sheet is black on white"

    def _op_m(self, x: Any, y: Any) -> None:
        self.path.append(([self._put(x, y)], False))

    def _op_l(self, x: Any, y: Any) -> None:
        self.path[-1][0].append(self._put(x, y))

    def _op_h(self) -> None:
        self.path[-1] = (self.path[-1][0], True)

    def _op_S(self) -> None:  # noqa: N802
        self._paint(filled=False)

    def _op_f(self) -> None:
        self._paint(filled=True)

    def _op_n(self) -> None:
        self.path = []

    def _paint(self, filled: bool) -> None:
        for points, closed in self.path:
            width_mm = self.state.width * MM
            self.strokes.append(Stroke(tuple(points), width_mm, self.state.dash, closed or filled, filled))
        self.path = []

    def _op_Tf(self, name: Any, size: Any) -> None:  # noqa: N802
        self.state.font, self.state.size = str(name), float(size)

    def _op_Tm(self, *matrix: Any) -> None:  # noqa: N802
        self.text_matrix = _rigid(matrix)

    def _op_Tj(self, shown: Any) -> None:  # noqa: N802
        codes = shown if isinstance(shown, bytes) else shown.original_bytes
        font = self.fonts[self.state.font]
        a, b, _, _, e, f = _times(self.text_matrix, self.state.matrix)
        width = font.length(codes) * self.state.size
        angle_rad = math.atan2(b, a)
        at = (e * MM, f * MM)
        self.words.append(Word(font.decode(codes), at, self.state.size, angle_rad, width * MM, font.name))
        self.text_matrix = _times((1.0, 0.0, 0.0, 1.0, width, 0.0), self.text_matrix)


NAMES = {
    b"J": "ignored",
    b"j": "ignored",
    b"g": "grey",
    b"G": "grey",
    b"BT": "ignored",
    b"ET": "ignored",
}


def _rigid(numbers: Any) -> Matrix:
    """The matrix, refused unless it only turns and moves."""
    a, b, c, d, e, f = (float(number) for number in numbers)
    off = max(abs(a * a + b * b - 1.0), abs(a - d), abs(b + c))
    assert off < 1e-5, f"a transform changes the scale or the hand: {numbers}"
    return (a, b, c, d, e, f)


def _times(first: Matrix, then: Matrix) -> Matrix:
    a, b, c, d, e, f = first
    p, q, r, s, t, u = then
    return (
        a * p + b * r,
        a * q + b * s,
        c * p + d * r,
        c * q + d * s,
        e * p + f * r + t,
        e * q + f * s + u,
    )


def _font(entry: Any) -> _Font:
    assert "/FontFile2" in entry["/FontDescriptor"], f"{entry['/BaseFont']} is not embedded"
    letters: dict[int, str] = {}
    cmap = entry["/ToUnicode"].get_object().get_data().decode("latin-1")
    for block in re.findall(r"beginbfchar(.*?)endbfchar", cmap, re.S):
        for code, letter in re.findall(r"<([0-9A-Fa-f]+)>\s*<([0-9A-Fa-f]+)>", block):
            letters[int(code, 16)] = bytes.fromhex(letter).decode("utf-16-be")
    for block in re.findall(r"beginbfrange(.*?)endbfrange", cmap, re.S):
        for low, _, rest in re.findall(r"<([0-9A-Fa-f]+)>\s*<([0-9A-Fa-f]+)>\s*\[(.*?)\]", block, re.S):
            for i, letter in enumerate(re.findall(r"<([0-9A-Fa-f]+)>", rest)):
                letters[int(low, 16) + i] = bytes.fromhex(letter).decode("utf-16-be")
    widths = [float(width) for width in entry["/Widths"]]
    return _Font(str(entry["/BaseFont"]), int(entry["/FirstChar"]), widths, letters)
