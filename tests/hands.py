"""What a fitter reads off a written pack, and the metal that saw, scriber and paper make of it.

From the PDF alone (`pdf_reader`) and the tubes on the rack: nothing here knows how a cut is worked out.  A
sawn pipe lies in a frame of its own: z along it from its sawn first end, x towards its scribed 0° line.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from tests.pdf_reader import Point, Sheet, Stroke, Word

Array = NDArray[np.float64]
TRACE_MM, OUTLINE_MM, GUIDE_MM = 0.50, 0.25, 0.13
QUARTERS = {"0°": 0.0, "90°": math.pi / 2, "180°": math.pi, "270°": -math.pi / 2}
_SAME_MM = 0.02
_HEADING = re.compile(
    r"(?P<marks>[\w-]+(?:(?:, | to )[\w-]+)*?)(?:, (?P<hand>drawn|other) hand)?: "
    r"(?P<what>both ends|first end|second end"
    r"|hole under its (?:first|second) end) – make (?P<make>\d+)"
)


_MARK = re.compile(r"(?:[A-Z]+\d*-)?[A-Z]+\d+\w*(?:-\d+\w*)?(?: \+\d+)?")


def length_mm(text: str) -> float:
    """A printed length [mm]: ``1040.64 mm``, ``2-1/4 in``, ``− 10.0``; a bare number stays as it is."""
    found = re.fullmatch(r"([−-] ?)?(?:(\d+)-)?(\d+/\d+|[\d.]+)(?: (mm|in))?", text.strip())
    assert found, text
    value = float(Fraction(found[3])) + float(found[2] or 0)
    return (-value if found[1] else value) * (25.4 if found[4] == "in" else 1.0)


LENGTH = r"((?:\d+-)?(?:\d+/\d+|[\d.]+) (?:mm|in))"


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


@dataclass(frozen=True)
class PaperWrap:
    """A wrap cut out and held with its arrow to the first end down.

    x [mm] goes right from the 0° line, y up.  traces: wide edges (n, 2), the first end's before the second's.
    square_mm: y of the square edge, None where both edges are wide.
    """

    mark: str
    what: str
    traces: tuple[Array, ...]
    square_mm: float | None
    ring_mm: float | None
    quarters_mm: dict[str, float]


def paper_wraps(sheet: Sheet) -> list[PaperWrap]:
    """Every wrap of a pipe's end, or of both, on a sheet that has them whole."""
    todo = [s for s in sheet.with_width(TRACE_MM) if not s.closed]
    found = []
    while todo:
        edges = [todo.pop(0)]
        chains = _chains(sheet, edges[0])
        for other in list(todo):
            if any(_meet(chain, other) for chain in chains):
                edges.append(other)
                todo.remove(other)
                chains += [chain for chain in _chains(sheet, other) if chain not in chains]
        wrap = _paper_wrap(sheet, edges, chains)
        if wrap is not None:
            found.append(wrap)
    return found


def _chains(sheet: Sheet, edge: Stroke) -> list[Stroke]:
    return [s for s in sheet.with_width(OUTLINE_MM) if not s.dash_mm and len(s.points) > 2 and _meet(s, edge)]


def _meet(one: Stroke, other: Stroke) -> bool:
    ends = [(a, b) for a in (one.points[0], one.points[-1]) for b in (other.points[0], other.points[-1])]
    return any(math.dist(a, b) < _SAME_MM for a, b in ends)


def _paper_wrap(sheet: Sheet, edges: list[Stroke], chains: list[Stroke]) -> PaperWrap | None:
    points = np.vstack([np.array(s.points) for s in (*edges, *chains)])
    low, high = points.min(axis=0), points.max(axis=0)

    def inside(point: Point) -> bool:
        return bool(np.all(np.array(point) > low - 0.1) and np.all(np.array(point) < high + 0.1))

    words = [word for word in sheet.words if inside(word.at)]
    arrows = [np.array(s.points) for s in sheet.strokes if s.filled and inside(s.points[0])]
    if not arrows:
        return None  # of an elbow, or of a mitre between two runs
    ways = [_tip(arrow) - arrow.mean(axis=0) for arrow in arrows]
    down = ways[0] / np.hypot(*ways[0])
    assert all(way @ down > 0.999 * np.hypot(*way) for way in ways), "arrows to the first end disagree"
    cos, sin = np.round(-down[[1, 0]] * [1.0, -1.0])  # a sheet's wraps stand square on it
    upright = np.array([[cos, sin], [-sin, cos]])
    texts = [word.text for word in words]
    what = next(text for text in texts if text in ("first end", "second end", "both ends"))
    ring = next((text for text in texts if text.startswith("ring ")), None)
    lines = [
        upright @ np.array(s.points).T
        for s in sheet.with_width(GUIDE_MM)
        if s.dash_mm and inside(s.points[0]) and inside(s.points[1])
    ]
    along = [float(line[0].mean()) for line in lines if np.ptp(line[0]) < 1e-3]
    quarters = {}
    for word in words:
        if word.text in QUARTERS:
            x = float((upright @ np.array(word.at))[0])
            quarters[word.text] = min((at for at in along if at < x), key=lambda at: x - at)
    zero = quarters["0°"]
    traces = sorted(((upright @ np.array(s.points).T).T - [zero, 0.0] for s in edges), key=_height)
    far = [float((upright @ np.array(p))[1]) for s in chains for p in s.points]
    square = None if what == "both ends" else max(far) if what == "first end" else min(far)
    return PaperWrap(
        next(text for text in texts if _MARK.fullmatch(text)),
        what,
        tuple(traces),
        square,
        None if ring is None else length_mm(ring.removeprefix("ring ")),
        {name: x - zero for name, x in quarters.items()},
    )


def _height(line: Array) -> float:
    return float(line[:, 1].mean())


@dataclass(frozen=True)
class Tube:
    """What lies on the rack [mm]."""

    od_mm: float
    wall_mm: float

    @property
    def radius_mm(self) -> float:
        return self.od_mm / 2

    @property
    def bore_mm(self) -> float:
        return self.radius_mm - self.wall_mm


@dataclass(frozen=True)
class SawnPipe:
    """A pipe cut to its lines.  first, second: (n, 2) girth angle [rad] and z [mm] of each end's cut."""

    mark: str
    tube: Tube
    blank_mm: float
    first: Array
    second: Array
    captions: dict[str, Caption] = field(default_factory=dict)

    def wall(self, end: str, radii: int = 25) -> Array:
        """The cut of an end, bore to outside, (n, radii, 3): square through the wall, or flat if so said."""
        cut = self.first if end == "first end" else self.second
        r = np.linspace(self.tube.bore_mm, self.tube.radius_mm, radii)
        phi, z = cut[:, :1], np.broadcast_to(cut[:, 1:], (len(cut), radii))
        x, y = np.cos(phi) * r, np.sin(phi) * r
        if "Cut it flat" in self.said(end):
            plane = np.linalg.lstsq(
                np.column_stack([x[:, -1], y[:, -1], 0 * x[:, -1] + 1]), z[:, -1], rcond=None
            )[0]
            z = plane[0] * x + plane[1] * y + plane[2]
        return np.stack([x, y, z], axis=-1)

    def said(self, end: str) -> str:
        """What the captions say of one end."""
        text = " ".join(c.text for name, c in self.captions.items() if name in (end, "both ends"))
        if "both ends" in self.captions:
            begins = [text.find("First end:"), text.find("Second end:")]
            if end == "second end":
                text = text[begins[1] :] if begins[1] >= 0 else ""
            else:
                text = text[: begins[1] if begins[1] >= 0 else None] if begins[0] >= 0 else ""
        return text

    def cut_at(self, end: str, phi: float) -> float:
        """z of an end's cut on the line at a girth angle."""
        cut = self.first if end == "first end" else self.second
        turned = np.remainder(cut[:, 0] - phi, 2 * math.pi)
        order = np.argsort(turned)
        return float(np.interp(0.0, turned[order], cut[order, 1], period=2 * math.pi))

    def facing(self, end: str) -> tuple[str, float]:
        """What the words say faces where at an end, and its girth angle [rad] from the 0° line."""
        text = self.said(end)
        found = re.search(r"The ([\w ]+(?: \([\w ]+\))?) is (?:on|([\d.]+)° round from) the 0° line", text)
        assert found, text
        return found[1], math.radians(float(found[2] or 0))


@dataclass(frozen=True)
class Bench:
    """Sheets of wraps and the cut list, and the tubes on the rack by the words of their size."""

    wraps: list[Sheet]
    rows: list[list[str]]
    paper_mm: float

    @cached_property
    def captions(self) -> list[Caption]:
        return [caption for sheet in self.wraps for caption in captions(sheet)]

    def tip_to_tip_mm(self, mark: str, unit_mm: float) -> float:
        """As the cut list has it: the last figure of the pipe's row."""
        row = next(row for row in self.rows if row[0] == mark and len(row) >= 6)
        return length_mm(row[-1]) * unit_mm

    def make(self, mark: str, tube: Tube, unit_mm: float = 1.0) -> SawnPipe:
        """Saw a blank, strike its lines, wind its wraps on, cut."""
        said = {c.what: c for c in self.captions if mark in c.marks and not c.what.startswith("hole")}
        listed = self.tip_to_tip_mm(mark, unit_mm)
        blank = listed
        if said:
            blank = first_length_mm(rf"Blank {LENGTH}, sawn square", next(iter(said.values())).text)
            assert abs(blank - listed) < (0.06 if unit_mm == 1.0 else 0.9), (blank, listed)
        round_ = np.linspace(-math.pi, math.pi, 181)
        ends = {
            "first end": np.column_stack([round_, 0 * round_]),
            "second end": np.column_stack([round_, 0 * round_ + blank]),
        }
        for what, caption in said.items():
            wrap = self.wrap_of(caption)
            _check_quarters(wrap, tube)
            if what == "both ends":
                low, high = wrap.traces
                ends["first end"] = self.wound(low - np.array([0.0, low[:, 1].min()]), tube)
                ends["second end"] = self.wound(high + np.array([0.0, blank - high[:, 1].max()]), tube)
                assert np.isclose(high[:, 1].max() - low[:, 1].min(), blank, atol=0.03)
            else:
                ring = first_length_mm(rf"Ring line {LENGTH} from the sawn first end", caption.text)
                assert wrap.ring_mm in (None, ring) and wrap.square_mm is not None
                (trace,) = wrap.traces
                ends[what] = self.wound(trace + np.array([0.0, ring - wrap.square_mm]), tube)
        first, second = ends["first end"], ends["second end"]
        assert abs(first[:, 1].min()) < 0.05 and abs(second[:, 1].max() - blank) < 0.05, mark
        return SawnPipe(mark, tube, blank, first, second, said)

    def wrap_of(self, caption: Caption) -> PaperWrap:
        (one,) = [
            wrap
            for wrap in self.papers
            if wrap.what == caption.what and wrap.mark.split(" ")[0] == caption.marks[0]
        ]
        return one

    @cached_property
    def papers(self) -> list[PaperWrap]:
        return [wrap for sheet in self.wraps for wrap in paper_wraps(sheet)]

    def wound(self, line: Array, tube: Tube) -> Array:
        """Girth angles and heights of a line drawn on paper, by points at most half a millimetre apart."""
        steps = [np.linspace(a, b, max(2, int(math.dist(a, b) / 0.5) + 2))[:-1] for a, b in pairwise(line)]
        dense = np.vstack([*steps, line[-1:]])
        return np.column_stack([dense[:, 0] / (tube.radius_mm + self.paper_mm / 2), dense[:, 1]])


def _check_quarters(wrap: PaperWrap, tube: Tube) -> None:
    """The four lines stand a quarter of the girth apart, in order, on paper that lies on the pipe."""
    for name, phi in QUARTERS.items():
        off = wrap.quarters_mm[name] / tube.radius_mm - phi
        assert abs(math.remainder(off, 2 * math.pi)) < 0.02, (wrap.mark, name)


@dataclass(frozen=True)
class PaperHole:
    """A hole's template held with its arrow up: outline (n, 2) [mm] about its cross.

    at: its middle on the sheet [mm].  along: the words by the arrow.
    """

    at: Point
    outline: Array
    along: str


def paper_holes(sheet: Sheet) -> list[PaperHole]:
    """Every template of a hole on a sheet."""
    found = []
    for stroke in sheet.with_width(TRACE_MM):
        if not stroke.closed:
            continue
        outline = np.array(stroke.points)
        middle = outline.mean(axis=0)
        near = [w for w in sheet.words if w.text.startswith("along") and math.dist(w.at, middle) < 120]
        word = min(near, key=lambda w: math.dist(w.at, middle))
        cos, sin = math.cos(word.angle_rad), math.sin(word.angle_rad)
        upright = np.array([[cos, sin], [-sin, cos]])
        lines = [
            (upright @ np.array(s.points).T).T
            for s in sheet.with_width(GUIDE_MM)
            if s.dash_mm and math.dist(np.mean(s.points, axis=0), middle) < 30
        ]
        x = next(float(line[0, 0]) for line in lines if np.ptp(line[:, 0]) < 1e-3)
        y = next(float(line[0, 1]) for line in lines if np.ptp(line[:, 1]) < 1e-3)
        tips = [
            (upright @ np.array(s.points).T).T
            for s in sheet.strokes
            if s.filled and math.dist(np.mean(s.points, axis=0), word.at) < 12
        ]
        (tip,) = tips
        arrow = _tip(tip) - tip.mean(axis=0)
        assert arrow[1] > 0 and abs(arrow[0]) < 1e-3, "the arrow by the words points the way that they stand"
        found.append(
            PaperHole((float(middle[0]), float(middle[1])), (upright @ outline.T).T - [x, y], word.text)
        )
    return found


def _tip(head: Array) -> Array:
    """The corner of an arrowhead that its shortest side is not at."""
    sides = [(math.dist(head[i - 1], head[i - 2]), i) for i in range(3)]
    return np.asarray(head[min(sides)[1]])
