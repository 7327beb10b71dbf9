"""The plan of an elbow with a leaning cut, and the cut seen along its trace, at true scale."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from render.pages.drawing import Anchor, Drawing, Item, Line, Pen, Point, Polyline, Text, drawing
from render.pages.flow import Figure
from render.pages.shapes import Box, arc, bounds, circle
from render.sheets.bench_names import (
    angle_arc,
    centreline,
    end_names,
    line_names,
    sector_words,
    upright_lines,
)
from render.sheets.bench_plan import (
    BAR_MM,
    HATCH_MM,
    NAME_PT,
    Plan,
    axes_lines,
    outline_lines,
    plan_of,
    polar,
)
from templates_core.elbows.cuts import Cut
from templates_core.elbows.leaning_cuts import LeaningCut
from templates_core.elbows.leaning_layout import LeaningLayout, lay_out_leaning
from templates_core.geometry.surfaces import Array
from templates_core.units import format_angle, format_length

_UPRIGHT_RAD = math.radians(0.005)
_NAME_OUT_MM = 3.2
"""How far along the cut the name of a point stands from it, to keep off the centreline."""
_OUT_MM = 14.0
"""How far the view along the trace runs past the line."""
_SCALES = (1.0, 0.5, 0.2, 0.1)
_MOST_VIEW_MM = 62.0
_GAP_MM = 8.0
_BESIDE_MM = 185.0
"""The view stands beside the plan as far as both together are no wider than this, else under it."""


@dataclass(frozen=True, eq=False)
class LeaningPlan:
    """The elbow in plan as a radial cut has it, and the leaning cut on it."""

    plan: Plan
    layout: LeaningLayout

    @property
    def upright(self) -> bool:
        """Whether the plane stands square to the sheet."""
        return abs(self.layout.bevel_rad - math.pi / 2) < _UPRIGHT_RAD

    @property
    def along(self) -> Point:
        """Unit vector along the trace, towards the heel."""
        return polar(1.0, self.layout.trace_rad)

    def on(self, point: Array, along_mm: float, across_mm: float = 0.0) -> Point:
        """So far along the trace from a point, and across it to its left, looking towards the heel."""
        dx, dy = self.along
        x, y = float(point[0]), float(point[1])
        return (x + along_mm * dx - across_mm * dy, y + along_mm * dy + across_mm * dx)

    @property
    def inner_mm(self) -> float:
        """How far the trace runs on into the hollow of the throat."""
        return min(self.plan.past_mm, 0.6 * self.plan.throat_mm)


def leaning_plan(cut: LeaningCut, units: str) -> LeaningPlan:
    """The plan of a leaning cut."""
    radial = Cut(cut.elbow, cut.piece_angle_rad, cut.from_face)
    return LeaningPlan(plan_of(radial, units, shared=False), lay_out_leaning(cut))


def leaning_plan_drawing(made: LeaningPlan, mark: str) -> Drawing:
    """The elbow's outline, axes and names, the trace, and both edges of the cut where it leans over."""
    plan, layout = made.plan, made.layout
    keep, scrap = ("KEEP", mark), ("SCRAP",)
    first, second = (keep, scrap) if plan.own else (scrap, keep)
    spans = ((0.0, layout.least_rad), (layout.most_rad, plan.sweep_rad))
    near, near_gap = sector_words(plan, first, *spans[0])
    far, far_gap = sector_words(plan, second, *spans[1])
    lines, gaps = line_names(plan, [near_gap, (layout.least_rad, layout.most_rad), far_gap][::2], spans)
    items: list[Item] = [*outline_lines(plan), *axes_lines(plan), *near, *far, *lines]
    items += [*centreline(plan, gaps), *end_names(plan, mark), *_radial(made), *_trace(made)]
    if made.upright:
        return drawing(items)
    picture = drawing([*items, *_edges(made)])
    return picture + _beside(bounds(picture), view_along(made, plan.units))


def _beside(box: Box, view: Figure) -> Drawing:
    """The view to the right of the plan, or under it."""
    wide = box.width + _GAP_MM + view.box.width
    if wide <= _BESIDE_MM:
        return view.drawing.moved(box.right + _GAP_MM - view.box.left, box.bottom - view.box.bottom)
    return view.drawing.moved(box.left - view.box.left, box.bottom - _GAP_MM - view.box.top)


def _radial(made: LeaningPlan) -> Iterator[Item]:
    """The radial line through the middle of the cut, with its angle."""
    plan = made.plan
    yield Line((0.0, 0.0), polar(plan.heel_mm + plan.past_mm, plan.cut_rad), Pen.CENTRE)
    yield from angle_arc(plan)


def _trace(made: LeaningPlan) -> Iterator[Item]:
    """The trace between its bars past heel and throat, and ticks on the side of scrap."""
    layout, plan = made.layout, made.plan
    out, inner = made.on(layout.heel_mm, plan.past_mm), made.on(layout.throat_mm, -made.inner_mm)
    yield Line(inner, out, Pen.OBJECT)
    for point, along, half in (
        (layout.heel_mm, plan.past_mm, BAR_MM),
        (layout.throat_mm, -made.inner_mm, min(BAR_MM, 0.2 * plan.throat_mm)),
    ):
        yield Line(made.on(point, along, -half), made.on(point, along, half), Pen.OBJECT)
    length = math.dist(made.on(layout.heel_mm, 0.0), made.on(layout.throat_mm, 0.0))
    step, towards = min(5.0, max(2.5, plan.radius_mm / 12)), 1.0 if plan.own else -1.0
    for i in range(int((length - 2.0) / step)):
        start = 1.0 + i * step
        end = made.on(layout.throat_mm, start + HATCH_MM, towards * HATCH_MM)
        yield Line(made.on(layout.throat_mm, start), end, Pen.TICK)


def _edges(made: LeaningPlan) -> Iterator[Item]:
    """The cut over the top and under it, its uppermost and lowest points, and the line of the bevel."""
    layout, plan = made.layout, made.plan
    yield Polyline(tuple((float(x), float(y)) for x, y in layout.over_mm), Pen.OUTLINE)
    yield Polyline(tuple((float(x), float(y)) for x, y in layout.under_mm), Pen.FOLD)
    reach = plan.radius_mm + plan.past_mm
    yield Line(made.on(layout.foot_mm, plan.radius_mm), made.on(layout.foot_mm, reach), Pen.TICK)
    inner = -plan.radius_mm - made.inner_mm
    yield Line(made.on(layout.foot_mm, inner), made.on(layout.foot_mm, -plan.radius_mm), Pen.TICK)
    for point, name in ((layout.top_mm, "T"), (layout.foot_mm, "S")):
        yield circle(made.on(point, 0.0), 0.9, Pen.TICK)
        side = 1.0 if (point - layout.middle_mm) @ (-made.along[1], made.along[0]) > 0 else -1.0
        clear = 2.0 + HATCH_MM if side == (1.0 if plan.own else -1.0) else 2.0
        yield from upright_lines(made.on(point, _NAME_OUT_MM, side * (clear + 1.4)), (name,), NAME_PT, 0.0)
    yield from upright_lines(made.on(layout.foot_mm, reach + 2.6), ("b",), NAME_PT, 0.0)


def view_along(made: LeaningPlan, units: str) -> Figure:
    """The cut seen along the trace from the heel, the end measured from to the left; its scale is written."""
    r = made.plan.radius_mm
    scale = next((one for one in _SCALES if 2 * r * one <= _MOST_VIEW_MM), _SCALES[-1])
    high, shift = 2 * r * scale, r * scale / math.tan(made.layout.bevel_rad)
    wide = abs(shift) + _OUT_MM
    runs_on = 1.0 + 6.0 / (high / 2)
    foot, top = (shift, 0.0), (-shift, high)
    items: list[Item] = [
        Text((-wide, high + 14.0), "Seen along the line,", 9.0, bold=True),
        Text((-wide, high + 10.0), f"from the heel, {_scale_words(scale)}", 9.0, bold=True),
        Line((-wide - 14.0, 0.0), (wide + 4.0, 0.0), Pen.OBJECT),
        Line((-wide, high), (wide, high), Pen.OUTLINE),
        Line((-wide, high / 2), (wide, high / 2), Pen.CENTRE),
        Line((runs_on * shift, -6.0), (-runs_on * shift, high + 6.0), Pen.OBJECT),
        *(circle(point, 0.9, Pen.TICK) for point in (foot, top)),
        Text((top[0] + 3.0, high + 1.6), "T", NAME_PT, bold=True),
        Text((foot[0] + 3.0, 1.4), "S", NAME_PT, bold=True),
        Text((wide + 5.0, -1.1), "sheet", NAME_PT),
        Text((wide + 1.5, high / 2 - 1.1), "heel", NAME_PT),
        *_bevel(foot, made.layout.bevel_rad, min(0.35 * high, 14.0)),
    ]
    away = format_length(abs(made.plan.radius_mm * 2 / math.tan(made.layout.bevel_rad)), units, fine=True)
    past = "beyond" if -shift > shift else "short of"
    items.append(Text((-wide, -10.0), f"T lies {away} {past} S", NAME_PT))
    picture = drawing(items)
    return Figure(picture, bounds(picture))


def _scale_words(scale: float) -> str:
    return f"1 : {1 / scale:g}"


def _bevel(foot: Point, bevel_rad: float, radius_mm: float) -> Iterator[Item]:
    """The angle between the sheet and the cut, on the side of the end measured from."""
    yield arc(foot, radius_mm, math.pi - bevel_rad, math.pi, Pen.TICK)
    at = (foot[0] - radius_mm - 1.5, 1.5)
    yield Text(at, format_angle(bevel_rad, 2), NAME_PT, Anchor.END, bold=True)
