"""The plan of an elbow on its two axes, full size, with the line of a cut run past its heel and throat."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from render.pages.drawing import Anchor, Item, Line, Pen, Point, Polyline, Text
from render.pages.pdf import ASCENT
from render.pages.shapes import MM_PER_PT, arc, circle, dimension
from templates_core.elbows.cuts import Cut
from templates_core.errors import GeometryError
from templates_core.standards import BEVEL_RAD
from templates_core.units import INCH, MM_PER_INCH, format_angle, format_length

NAME_PT = 9.0
BAR_MM = 3.0
"""Half of the bar across each end of the cut line."""
HATCH_MM = 2.6
"""How far the ticks on the scrap side stand off the cut line."""
_ROUND_STEPS = {
    False: (50.0, 20.0, 10.0, 5.0, 2.0, 1.0, 0.5),
    True: tuple(MM_PER_INCH * inches for inches in (2.0, 1.0, 0.5, 0.25, 0.125, 0.0625)),
}


@dataclass(frozen=True)
class Plan:
    """A cut in plan [mm, rad]: bend centre at (0, 0), the end measured from on the x axis, the bend
    anticlockwise from there.

    near_mm, far_mm: straights at the end measured from and at the other.  shared: whether both sides of the
    line are kept.
    """

    cut: Cut
    units: str
    bend_radius_mm: float
    near_mm: float
    far_mm: float
    shared: bool

    @property
    def radius_mm(self) -> float:
        """Outside radius of the tube."""
        return self.cut.elbow.radius_mm

    @property
    def heel_mm(self) -> float:
        """Radius of the heel about the bend centre."""
        return self.bend_radius_mm + self.radius_mm

    @property
    def throat_mm(self) -> float:
        """Radius of the throat about the bend centre."""
        return self.bend_radius_mm - self.radius_mm

    @property
    def past_mm(self) -> float:
        """How far the cut line runs past the heel, for a square to stand on."""
        return min(25.0, max(15.0, 0.12 * self.cut.elbow.od_mm))

    @property
    def inner_mm(self) -> float:
        """Radius at which the cut line ends in the hollow of the throat."""
        return self.throat_mm - min(self.past_mm, 0.6 * self.throat_mm)

    @property
    def cut_rad(self) -> float:
        """Direction of the cut line from the x axis."""
        return self.cut.wrap_angle_rad

    @property
    def sweep_rad(self) -> float:
        """Direction of the other end's axis."""
        return self.cut.elbow.sweep_rad

    @property
    def own(self) -> bool:
        """Whether the part on the x axis is the piece that is kept."""
        return self.cut.from_face == "own"

    def at_end(self, far: bool, radius_mm: float, inward_mm: float) -> Point:
        """A point by its distance from the bend centre along an end's axis, and inward from that axis."""
        if not far:
            return (radius_mm, inward_mm)
        cos, sin = math.cos(self.sweep_rad), math.sin(self.sweep_rad)
        return (radius_mm * cos + inward_mm * sin, radius_mm * sin - inward_mm * cos)


def plan_of(cut: Cut, units: str, shared: bool) -> Plan:
    """The plan of a cut; shared: whether both sides are kept.

    Errors: GeometryError for an elbow whose bend radius is not known.
    """
    elbow = cut.elbow
    if elbow.bend_radius_mm is None:
        raise GeometryError(f"{elbow.name}: it can't be drawn in plan, as its bend radius is not known")
    ends = (elbow.tangent_a_mm, elbow.tangent_b_mm)
    near, far = ends if cut.from_face == "own" else ends[::-1]
    return Plan(cut, units, elbow.bend_radius_mm, near, far, shared)


def round_point(plan: Plan) -> Point:
    """A point of the cut line past the heel with the roundest x that there is room for [mm]."""
    low, high = plan.heel_mm + 3.2, plan.heel_mm + plan.past_mm - 3.5
    cos, tan = math.cos(plan.cut_rad), math.tan(plan.cut_rad)
    for step in _ROUND_STEPS[plan.units == INCH]:
        x = step * math.floor(high * cos / step)
        if x >= low * cos:
            return (x, x * tan)
    raise GeometryError(f"no round point on a cut line at {format_angle(plan.cut_rad, 2)}")


def plan_lines(plan: Plan) -> Iterator[Item]:
    """The elbow's outline, its axes and the cut line, at true scale."""
    yield from outline_lines(plan)
    yield from axes_lines(plan)
    yield from _cut_line(plan)


def polar(radius_mm: float, angle_rad: float) -> Point:
    """The point so far from the bend centre in a direction from the x axis."""
    return (radius_mm * math.cos(angle_rad), radius_mm * math.sin(angle_rad))


def outline_lines(plan: Plan) -> Iterator[Item]:
    """Heel, throat and both ends, with the bevel and the line of its shoulder."""
    b = plan.cut.elbow.shoulder_mm
    inset = min(plan.cut.elbow.wall_mm, b / math.tan(BEVEL_RAD))
    for radius in (plan.heel_mm, plan.throat_mm):
        starts = [math.asin(max(0.0, b - straight) / radius) for straight in (plan.near_mm, plan.far_mm)]
        yield arc((0.0, 0.0), radius, starts[0], plan.sweep_rad - starts[1])
    for far, straight in ((False, plan.near_mm), (True, plan.far_mm)):
        shoulder = b - straight
        flanks = []
        for radius, side in ((plan.heel_mm, 1.0), (plan.throat_mm, -1.0)):
            arc_end = plan.at_end(far, radius, 0.0)
            over = math.sqrt(radius**2 - max(0.0, shoulder) ** 2)
            rim = plan.at_end(far, plan.bend_radius_mm + side * (plan.radius_mm - inset), -straight)
            flank = [rim, plan.at_end(far, over, shoulder)]
            flanks.append([*flank, arc_end] if shoulder < 0.0 else flank)
        yield Polyline((*flanks[0][::-1], *flanks[1]), Pen.OUTLINE)
        if b > 0.0:
            yield Line(flanks[0][1], flanks[1][1], Pen.TICK)


def axes_lines(plan: Plan) -> Iterator[Item]:
    """Both axes from the bend centre past the heel, the centre's name, and the straights' lengths."""
    end = plan.heel_mm + plan.past_mm
    for far, straight in ((False, plan.near_mm), (True, plan.far_mm)):
        yield Line(plan.at_end(far, 0.0, 0.0), plan.at_end(far, end, 0.0), Pen.CENTRE)
        if straight > 0.0:
            place = plan.heel_mm + 6.0
            for radius, out in ((plan.heel_mm, 8.0), (plan.throat_mm, -min(8.0, 0.5 * plan.throat_mm))):
                span = (plan.at_end(far, radius, -straight), plan.at_end(far, radius + out, -straight))
                yield Line(*span, Pen.TICK)
            words = format_length(straight, plan.units, fine=True)
            foot, top = plan.at_end(far, place, 0.0), plan.at_end(far, place, -straight)
            yield from dimension(foot, top, 0.0, words)
    yield circle((0.0, 0.0), 1.0, Pen.TICK)
    yield Text((-1.6, -1.6 - ASCENT * NAME_PT * MM_PER_PT), "O", NAME_PT, Anchor.END, bold=True)


def _cut_line(plan: Plan) -> Iterator[Item]:
    """The line between its bars past heel and throat, thin to the centre; ticks on the side of scrap."""
    out, inner = plan.heel_mm + plan.past_mm, plan.inner_mm
    yield Line((0.0, 0.0), polar(inner, plan.cut_rad), Pen.TICK)
    yield Line(polar(inner, plan.cut_rad), polar(out, plan.cut_rad), Pen.OBJECT)
    across = plan.cut_rad + math.pi / 2
    for radius, half in ((out, BAR_MM), (inner, min(BAR_MM, 0.4 * inner))):
        (x, y), (dx, dy) = polar(radius, plan.cut_rad), polar(half, across)
        yield Line((x - dx, y - dy), (x + dx, y + dy), Pen.OBJECT)
    if plan.shared:
        return
    towards = 1.0 if plan.own else -1.0
    step = min(5.0, max(2.5, plan.radius_mm / 12))
    count = int((2 * plan.radius_mm - 2.0) / step)
    for i in range(count):
        start = polar(plan.throat_mm + 1.0 + i * step, plan.cut_rad)
        dx, dy = polar(HATCH_MM * math.sqrt(2), plan.cut_rad + towards * math.pi / 4)
        yield Line(start, (start[0] + dx, start[1] + dy), Pen.TICK)
