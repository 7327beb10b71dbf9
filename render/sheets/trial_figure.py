"""Pictures of the two weld trials: how a bow is read, and how a pipe is held for the second one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import pi

from render.pages.drawing import Anchor, Drawing, Item, Line, Pen, Point, Polyline, Text, drawing
from render.pages.flow import Figure
from render.pages.shapes import Box, arrowhead, dimension, rectangle

_WIDTH, _HEIGHT = 170.0, 42.0
_HALF_LENGTH, _BOW, _PIPE = 36.0, 7.0, 2.4
_PT = 8.0
_STEPS = 24


def trial_figure() -> Figure:
    """First trial released, with its straight edge; second one clamped, with its shims."""
    parts = (_released().moved(40.0, 10.0), _clamped().moved(128.0, 10.0))
    return Figure(drawing(item for part in parts for item in part), Box(0.0, 0.0, _WIDTH, _HEIGHT))


def _pipe(line: Sequence[Point]) -> Iterator[Item]:
    upper = tuple((x, y + _PIPE) for x, y in line)
    yield Polyline((*line, *reversed(upper)), Pen.OBJECT, closed=True)


def _post(foot: float) -> Iterator[Item]:
    for side in (-1, 1):
        edge = 1.6 * side
        yield Line((edge, foot), (edge, foot + 9.0), Pen.OBJECT)
        fillet = ((edge, foot), (edge + side * 1.4, foot), (edge, foot + 1.4))
        yield Polyline(fillet, Pen.TICK, closed=True, filled=True)


def _released() -> Drawing:
    """The pipe bent to its weld, its middle on a straight edge that shows the same gap at both ends."""
    ends = ((-_HALF_LENGTH, _BOW), (0.0, 0.0), (_HALF_LENGTH, _BOW))
    items: list[Item] = [*_pipe(ends), *_post(_PIPE)]
    edge = Box(-_HALF_LENGTH, -2.2, _HALF_LENGTH, 0.0)
    items.append(rectangle(edge))
    items.append(Text((0.0, -6.0), "straight edge on the far side", _PT, Anchor.MIDDLE))
    for side in (-1, 1):
        items += _gap(side * (_HALF_LENGTH - 0.6), side)
    items += dimension((-_HALF_LENGTH, 15.0), (_HALF_LENGTH, 15.0), 6.0, "span L", _PT)
    items.append(Text((0.0, 26.5), "First trial, released and cold", _PT, Anchor.MIDDLE, bold=True))
    return drawing(items)


def _gap(x: float, side: int) -> Iterator[Item]:
    yield Line((x, 0.0), (x, _BOW - 0.2), Pen.TICK)
    yield arrowhead((x, _BOW - 0.2), pi / 2, 1.8)
    yield arrowhead((x, 0.0), -pi / 2, 1.8)
    anchor = Anchor.END if side < 0 else Anchor.START
    yield Text((x + side * 1.8, _BOW / 2 - 1.0), "h", 9.0, anchor)


def _clamped() -> Drawing:
    """The pipe held bent the other way, before it is welded."""
    line = [
        (x, _BOW * (1.0 - (x / _HALF_LENGTH) ** 2))
        for x in (_HALF_LENGTH * (2.0 * i / _STEPS - 1.0) for i in range(_STEPS + 1))
    ]
    items: list[Item] = [*_pipe(line), *_post(_BOW + _PIPE)]
    left, right = -_HALF_LENGTH - 3.0, _HALF_LENGTH + 3.0
    items.append(Line((left, 0.0), (right, 0.0), Pen.OUTLINE))
    items += [Line((left + 3.0 * i + 1.2, 0.0), (left + 3.0 * i, -1.2), Pen.TICK) for i in range(26)]
    items.append(rectangle(Box(-2.2, 0.0, 2.2, _BOW)))
    items += [Line((4.5, 0.0), (4.5, _BOW), Pen.TICK), arrowhead((4.5, _BOW), pi / 2, 1.8)]
    items += [arrowhead((4.5, 0.0), -pi / 2, 1.8), Text((6.0, 2.2), "p, by shims", _PT)]
    for x in (-_HALF_LENGTH + 2.0, _HALF_LENGTH - 2.0):
        items += [Line((x, 12.0), (x, 5.0), Pen.OBJECT), arrowhead((x, _PIPE + 1.0), -pi / 2, 3.2)]
        items.append(Text((x, 13.2), "clamp", _PT, Anchor.MIDDLE))
    items.append(Text((0.0, 26.5), "Second trial, held while it is welded", _PT, Anchor.MIDDLE, bold=True))
    items.append(Text((0.0, -6.0), "table", _PT, Anchor.MIDDLE))
    return drawing(items)
