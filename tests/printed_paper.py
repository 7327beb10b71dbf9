"""The templates of a written pack as paper in the hand: wraps of pipe ends, and holes."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tests.pdf_reader import Point, Sheet, Stroke
from tests.printed_words import length_mm

Array = NDArray[np.float64]
TRACE_MM, OUTLINE_MM, GUIDE_MM = 0.50, 0.25, 0.13
QUARTERS = {"0°": 0.0, "90°": math.pi / 2, "180°": math.pi, "270°": -math.pi / 2}
_SAME_MM = 0.02
_MARK = re.compile(r"(?:[A-Z]+\d*-)?[A-Z]+\d+\w*(?:-\d+\w*)?(?: \+\d+)?")


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
