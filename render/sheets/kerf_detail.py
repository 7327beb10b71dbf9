"""The blade at a cut line, drawn enlarged: which edge of the mark is the line, and where the kerf lies."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from render.pages.drawing import Anchor, Item, Line, Pen, Polyline, Text, drawing
from render.pages.flow import Figure
from render.pages.shapes import Box, bounds, dimension, rectangle
from templates_core.units import format_length

MARK_MM = 0.5
"""Width of a traced mark, as it is drawn here."""
_SCALES = (4.0, 3.0, 2.0, 1.0)
_MOST_MM = 24.0
"""How far right of the line the kerf may reach on paper, before a smaller scale is taken."""
_LEFT_MM, _RIGHT_MM = -25.0, 20.0
_METAL_MM = 9.0
_TRACE_TOP_MM, _CUT_TOP_MM = -10.0, -38.0
_BLADE_UP_MM, _BLADE_DOWN_MM = 7.0, 2.0
_WORD_PT = 8.0

Part = Literal["keep", "scrap"]


def kerf_detail(
    kind: Literal["clear", "centred"], paper_on: Part, kerf_mm: float, dressing_mm: float, units: str
) -> Figure:
    """Two sections across the cut line, tracing and cutting; its scale is written on it.

    clear: KEEP lies left, SCRAP right, and the blade on the scrap, clear of the line by what is ground off
    afterwards (dressing_mm).  centred: both parts are kept, the blade runs along the line.
    paper_on: the part that the wrap lay on (keep: the left one); the mark is on the other side of the line.
    """
    left = dressing_mm if kind == "clear" else -kerf_mm / 2
    scale = next((one for one in _SCALES if one * (left + kerf_mm) <= _MOST_MM), _SCALES[-1])
    slot = (scale * left, scale * (left + kerf_mm))
    right = max(slot[1], 0.0) + _RIGHT_MM
    names = ("KEEP", "SCRAP") if kind == "clear" else ("KEEP", "KEEP")
    items: list[Item] = [
        Text((_LEFT_MM, 0.0), f"Blade at the line, {scale:g} : 1", 9.0, bold=True),
        Text((_LEFT_MM, -4.4), "True line: the edge of the mark that touched the wrap", _WORD_PT),
        Line((0.0, -6.0), (0.0, _CUT_TOP_MM - _METAL_MM - 2.0), Pen.TICK),
        *_tracing(paper_on, scale, right),
        *_cutting(slot, right, names),
        Text(
            (slot[1] + 1.5, _CUT_TOP_MM + 3.0), f"blade {format_length(kerf_mm, units, fine=True)}", _WORD_PT
        ),
    ]
    if kind == "clear":
        items += _left_to_grind(slot[0], dressing_mm, units)
    picture = drawing(items)
    return Figure(picture, bounds(picture))


def _tracing(paper_on: Part, scale: float, right: float) -> Iterator[Item]:
    """The whole metal, the wrap on one side of the line, the mark along its edge on the other."""
    top = _TRACE_TOP_MM - 4.0
    yield from _broken_bar(_LEFT_MM, right, top, both=True)
    side = -1.0 if paper_on == "keep" else 1.0
    mark = sorted((0.0, -side * scale * MARK_MM))
    yield Polyline(Box(mark[0], top, mark[1], top + 0.9).corners, Pen.TICK, closed=True, filled=True)
    sheet = sorted((0.0, side * 17.0))
    yield rectangle(Box(sheet[0], top + 0.4, sheet[1], top + 1.4), Pen.OUTLINE)
    yield Text((side * 16.5, top + 2.4), "wrap", _WORD_PT, Anchor.START if side < 0 else Anchor.END)
    anchor = Anchor.START if side < 0 else Anchor.END
    yield Text((-side * (scale * MARK_MM + 1.0), top + 1.4), "mark", _WORD_PT, anchor)


def _cutting(slot: tuple[float, float], right: float, names: tuple[str, str]) -> Iterator[Item]:
    """Both parts with the kerf between them, and the blade in it."""
    top = _CUT_TOP_MM
    for start, end, name in ((_LEFT_MM, slot[0], names[0]), (right, slot[1], names[1])):
        yield from _broken_bar(start, end, top, both=False)
        inner = min(end, 0.0) if start < end else max(end, 0.0)
        yield Text(((start + inner) / 2, top - _METAL_MM / 2 - 1.4), name, 11.0, Anchor.MIDDLE, bold=True)
    blade = Box(slot[0], top - _METAL_MM + _BLADE_DOWN_MM, slot[1], top + _BLADE_UP_MM)
    yield rectangle(blade, Pen.OUTLINE)
    step = 2.0
    for i in range(int((blade.height - blade.width) / step) + 1):
        low = blade.bottom + i * step
        if low + blade.width <= blade.top:
            yield Line((blade.left, low), (blade.right, low + blade.width), Pen.TICK)


def _broken_bar(start: float, end: float, top: float, both: bool) -> Iterator[Item]:
    """A bar of metal under top from start to end, broken off raggedly at its start, or at both ends."""
    foot = top - _METAL_MM
    shares = ((0.0, 0.0), (0.3, 1.0), (0.7, -1.0), (1.0, 0.0))
    first = tuple((start + out, top - share * _METAL_MM) for share, out in shares)
    last = tuple((end + (out if both else 0.0), top - share * _METAL_MM) for share, out in shares)
    yield Line((start, top), (end, top), Pen.OBJECT)
    yield Line((start, foot), (end, foot), Pen.OBJECT)
    yield Polyline(first, Pen.TICK)
    yield Polyline(last, Pen.TICK) if both else Line((end, top), (end, foot), Pen.OBJECT)


def _left_to_grind(edge: float, dressing_mm: float, units: str) -> Iterator[Item]:
    """What is left between the line and the kerf; nothing where the shop dresses nothing off."""
    foot = _CUT_TOP_MM - _METAL_MM
    if dressing_mm <= 0.0:
        yield Text((1.5, foot - 4.5), "blade against the line, on the scrap", _WORD_PT)
        return
    words = f"{format_length(dressing_mm, units, fine=True)} to grind off"
    yield from dimension((0.0, foot), (edge, foot), -3.5, words, _WORD_PT)
