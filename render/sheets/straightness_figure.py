"""Draws a run twice: as its welds would leave it, and as it is held against them, bows much enlarged.

Its welded side is up on the paper, and the hook of the tape is at the left, whichever end of the pipe that
is: the reader walks round the pipe until he sees it so.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from render.figures.straightness_tables import in_tape_order, place_mark
from render.figures.straightness_words import SQUARE, bow_text, pulled_side_words
from render.pages.drawing import Anchor, Item, Line, Pen, Point, Polyline, Text, drawing
from render.pages.flow import Figure
from render.pages.pdf import text_width_mm
from render.pages.shapes import Box, arrowhead, bounds, circle
from templates_core.jobs.job import PresetKind
from templates_core.units import format_length
from templates_core.welding.straightness import BentRun

SCALES = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50, 60, 75, 100, 150, 200, 500, 1000)
TIMES = (1, 2, 5, 10, 20, 50, 100, 200, 500)
"""How many times too large a bow may be drawn."""
_BOW_MM, _MOST_BOW_MM = 15.0, 50.0
"""What an exaggerated bow takes on the paper at most, and one drawn as it is."""
_LEFT, _RIGHT = 8.0, 8.0
_HALF_PIPE = 1.0
_POST, _POST_HALF = 6.5, 1.2
_RING = 2.3
_TEXT_PT, _TITLE_PT = 7.5, 8.5
_LABEL_STEP = 3.4
"""Upright labels stand at least so far apart; those in between are in the table alone."""
_STATIONS = 60


@dataclass(frozen=True)
class _Paper:
    """From a place along a pipe to the paper.  times: heights are drawn so many times too large."""

    run: BentRun
    scale: int
    times: int

    def x(self, along_mm: float) -> float:
        way = along_mm if self.run.datum.at_start else self.run.length_mm - along_mm
        return _LEFT + way / self.scale

    def up(self, height_mm: float) -> float:
        return height_mm * self.times / self.scale

    @property
    def right(self) -> float:
        return _LEFT + self.run.length_mm / self.scale

    def line(self, height_mm: Callable[[float], float], foot: float) -> list[Point]:
        places = sorted(
            {one.weld.along_mm for one in self.run.welds} | set(np.linspace(0, self.run.length_mm, _STATIONS))
        )
        points = [(self.x(at), foot + self.up(height_mm(at))) for at in places]
        return points if self.run.datum.at_start else points[::-1]


def run_figure(run: BentRun, units: str, width_mm: float) -> tuple[str, Figure]:
    """The two pictures of a run, and what is said under them of their scale."""
    bow = max(run.shape.bow_mm, _held_mm(run))
    room = width_mm - _LEFT - _RIGHT
    scale = next(s for s in SCALES if run.length_mm / s <= room and bow / s <= _MOST_BOW_MM)
    times = 1 if run.shape.is_straight else max((t for t in TIMES if bow * t / scale <= _BOW_MM), default=1)
    paper = _Paper(run, scale, times)
    free = _free(paper, units)
    items = list(free)
    foot = _lowest(items)
    if run.preset.supports or (run.preset.kind is PresetKind.FREE and not run.shape.is_straight):
        items += drawing(_held(paper, units)).moved(0.0, foot - 6.0 - _held_top(paper))
    box = Box(0.0, _lowest(items) - 1.0, width_mm, 0.0)
    bow_words = f", the bow exaggerated {times} times" if times > 1 else ""
    note = f"Drawn 1:{scale}{bow_words}. Go by the figures; don't measure the drawing."
    return note, Figure(drawing(items), box)


def _held_mm(run: BentRun) -> float:
    return max((support.stack.height_mm for support in run.preset.supports), default=0.0)


def _lowest(items: Sequence[Item]) -> float:
    return bounds(items).bottom


def _pipe(points: Sequence[Point]) -> Iterator[Item]:
    upper = tuple((x, y + _HALF_PIPE) for x, y in points)
    lower = tuple((x, y - _HALF_PIPE) for x, y in points)
    yield Polyline((*upper, *reversed(lower)), Pen.OBJECT, closed=True)


def _free(paper: _Paper, units: str) -> Iterator[Item]:
    """The pipe as its welds would leave it, top at 0."""
    run = paper.run
    rows = _ring_rows(paper)
    straight = -5.0 - (max(rows, default=0) + 1) * 2 * (_RING + 0.3) - _POST - _HALF_PIPE
    yield Text((0.0, -3.2), _title(run, "Welded free"), _TITLE_PT, bold=True)
    shape = paper.line(lambda at: -run.shape.off_mm(at), straight)
    yield Line((_LEFT - 4.0, straight), (paper.right + 4.0, straight), Pen.CENTRE)
    yield from _pipe(shape)
    yield from _posts(paper, shape)
    order = {turn.mark: turn.number for turn in run.order}
    for one, row in zip(run.welds, rows, strict=True):
        at = (paper.x(one.weld.along_mm), straight + _POST + _HALF_PIPE + (2 * row + 1) * (_RING + 0.3))
        yield circle(at, _RING)
        yield Text((at[0], at[1] - 0.95), str(order[one.weld.mark]), _TEXT_PT, Anchor.MIDDLE)
    bottom = min(y for _, y in shape) - _HALF_PIPE - 1.5
    yield from _off_words(paper, bottom, units)
    if not run.shape.is_straight:
        for x, way in ((_LEFT, -1), (paper.right, 1)):
            tip = (x + way * 3.0, straight + 6.0)
            yield Line((tip[0], straight + 1.5), tip, Pen.OUTLINE)
            yield arrowhead(tip, math.pi / 2, 2.8)
    labels = [
        (paper.x(one.weld.along_mm), f"{one.weld.mark}  {_reads(run, one.weld.along_mm, units)}")
        for one in run.welds
    ]
    yield from _hook(paper, straight, bottom - 3.8)
    yield from _feet(labels, bottom - 9.5)


def _title(run: BentRun, what: str) -> str:
    if run.shape.is_straight:
        return f"{what}: {run.pipe}"
    return f"{what}: {run.pipe}. Up on the paper is {pulled_side_words(run)}"


def _reads(run: BentRun, along_mm: float, units: str) -> str:
    return format_length(run.datum.reads_mm(along_mm), units, with_unit=False)


def _ring_rows(paper: _Paper) -> list[int]:
    """A row for the order number of each weld, so that no two rings touch."""
    ends: list[float] = []
    rows = [0] * len(paper.run.welds)
    by_x = sorted(range(len(rows)), key=lambda i: paper.x(paper.run.welds[i].weld.along_mm))
    for i in by_x:
        x = paper.x(paper.run.welds[i].weld.along_mm)
        row = next((r for r, end in enumerate(ends) if x - end >= 2 * _RING + 0.4), len(ends))
        ends[row : row + 1] = [x]
        rows[i] = row
    return rows


def _posts(paper: _Paper, line: Sequence[Point]) -> Iterator[Item]:
    """Branches: up on the welded side, down on the far side, a ring where they are square to the paper."""
    xs, ys = [x for x, _ in line], [y for _, y in line]
    for one in paper.run.welds:
        x = paper.x(one.weld.along_mm)
        y = float(np.interp(x, xs, ys))
        share = math.cos(one.weld.girth_rad - paper.run.shape.side_rad)
        if abs(share) < SQUARE:
            yield circle((x, y), _POST_HALF)
            continue
        way = math.copysign(1.0, share)
        foot, head = y + way * _HALF_PIPE, y + way * (_HALF_PIPE + _POST - 1.0)
        for side in (-1, 1):
            edge = x + side * _POST_HALF
            yield Line((edge, foot), (edge, head), Pen.OBJECT)
            fillet = ((edge, foot), (edge + side * 1.1, foot), (edge, foot + way * 1.1))
            yield Polyline(fillet, Pen.TICK, closed=True, filled=True)


def _off_words(paper: _Paper, bottom: float, units: str) -> Iterator[Item]:
    """How far the middle stands off, under it."""
    run = paper.run
    if run.shape.is_straight:
        return
    x = paper.x(run.shape.at_mm)
    words = f"stands off {bow_text(run.shape.bow_mm, units)}"
    if run.factor > 1:
        low, high = (
            bow_text(run.shape.bow_mm * f, units, with_unit=False) for f in (1 / run.factor, run.factor)
        )
        words += f", ESTIMATE: {low} to {high}"
    width = text_width_mm(words, _TEXT_PT)
    at = min(max(x, width / 2), paper.right + _RIGHT - width / 2)
    yield Text((at, bottom - 2.4), words, _TEXT_PT, Anchor.MIDDLE)


def _feet(labels: Sequence[tuple[float, str]], top: float) -> Iterator[Item]:
    """Upright labels hanging from a line, with a tick each; where they would crowd, some are left out."""
    last = -math.inf
    for x, words in sorted(labels):
        yield Line((x, top), (x, top + 1.6), Pen.TICK)
        if x - last < _LABEL_STEP:
            continue
        last = x
        yield Text((x + 0.95, top - 1.0), words, _TEXT_PT, Anchor.END, math.pi / 2)


def _hook(paper: _Paper, level: float, foot: float) -> Iterator[Item]:
    """The end that the tape is hooked on, and the name of the other end."""
    run = paper.run
    yield Line((_LEFT, level - 2.5), (_LEFT, foot), Pen.TICK)
    words = f"HOOK: {run.datum.end}"
    yield Text((0.0, foot - 2.6), words, _TEXT_PT, bold=True)
    yield Text((paper.right + _RIGHT - 1.0, foot - 2.6), run.datum.other_end, _TEXT_PT, Anchor.END)


def _held_top(paper: _Paper) -> float:
    """Highest thing in the picture of the held pipe, over its table."""
    most = max((paper.up(height) for _, _, height in _heights(paper.run)), default=0.0)
    return most + 2 * _HALF_PIPE + _POST + 8.0


def _heights(run: BentRun) -> list[tuple[str, float, float]]:
    """Mark, place and height of every support, or of a free preset at every weld."""
    if run.preset.supports:
        return [
            (place_mark(number), support.at_mm, support.stack.height_mm)
            for number, support in enumerate(in_tape_order(run), 1)
        ]
    return [(one.weld.mark, one.weld.along_mm, run.shape.off_mm(one.weld.along_mm)) for one in run.welds]


def _held(paper: _Paper, units: str) -> Iterator[Item]:
    """The pipe as it is held, over a table at height 0."""
    run = paper.run
    bent = run.preset.bent
    what = "Held for welding" if bent is not None else "Bent first"
    yield Text((0.0, _held_top(paper) - 3.2), _title(run, what), _TITLE_PT, bold=True)
    height = run.shape.off_mm if bent is None else bent.height_mm
    line = [(x, y + _HALF_PIPE) for x, y in paper.line(height, 0.0)]
    yield from _pipe(line)
    yield from _posts(paper, line)
    yield from _table(paper, bent is not None)
    labels = []
    for mark, at, tall in _heights(run):
        x = paper.x(at)
        labels.append((x, f"{mark}  {_reads(run, at, units)}, {_height_words(bent is None, tall, units)}"))
        if bent is None:
            yield Line((x, 0.0), (x, paper.up(tall)), Pen.TICK)
    for support in run.preset.supports:
        x, top = paper.x(support.at_mm), paper.up(support.stack.height_mm)
        yield from _shims(x, [paper.up(shim) for shim in support.stack.shims_mm])
        if support.force_n < 0 and not support.is_slack:
            yield from _clamp(x, top + 2 * _HALF_PIPE)
    yield from _hook(paper, 0.5, -1.8)
    yield from _feet(labels, -7.5)


def _height_words(free: bool, tall_mm: float, units: str) -> str:
    if free:
        return f"off {bow_text(tall_mm, units, with_unit=False)}"
    shown = format_length(tall_mm, units, fine=True, with_unit=False)
    return f"shim {shown}" if tall_mm > 0 else "no shim"


def _table(paper: _Paper, hatched: bool) -> Iterator[Item]:
    left, right = _LEFT - 5.0, paper.right + 5.0
    yield Line((left, 0.0), (right, 0.0), Pen.OUTLINE if hatched else Pen.CENTRE)
    if hatched:
        for i in range(int((right - left) / 3.0)):
            x = left + 3.0 * i
            yield Line((x + 1.2, 0.0), (x, -1.2), Pen.TICK)


def _shims(x: float, thick: Sequence[float]) -> Iterator[Item]:
    foot = 0.0
    for one in thick:
        corners = ((x - 1.8, foot), (x + 1.8, foot), (x + 1.8, foot + one), (x - 1.8, foot + one))
        yield Polyline(corners, Pen.OUTLINE, closed=True)
        foot += one


def _clamp(x: float, top: float) -> Iterator[Item]:
    yield Line((x, top + 6.0), (x, top + 2.0), Pen.OBJECT)
    yield arrowhead((x, top + 0.2), -math.pi / 2, 3.2)
