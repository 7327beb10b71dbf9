"""The elbow wrap: a collar along the cut and stays from it back to the end of the elbow, laid flat.

A bend can't be unrolled, but a narrow strip along one curve lies on it without stretching when the flat
strip has that curve's own geodesic curvature. The collar's outer edge, the trace edge, follows the cut. Each
stay follows a girth line from the collar to the end of the elbow, where its tab hooks over. The lengths of
the stays are what locates the cut, so the paper between them is left out.

Working frame: x along growing girth angle, y away from the hooked face, seen from INSIDE the tube (surfaces
says why). The finished wrap is turned printed side out as its last step, and only there.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import shapely

from templates_core.errors import GeometryError
from templates_core.geometry.development import FlatCurve, develop
from templates_core.geometry.section import Plane, SurfaceCurve, girth_line, section
from templates_core.geometry.surfaces import Array, Tube
from templates_core.wraps.wrap_rules import WrapRules, stay_shortfall_mm

HEEL, SIDE, THROAT = "heel", "side", "throat"
_SEAM_NEAR_RAD = math.radians(225)
_MARKED_RAD = (-math.pi / 2, 0.0, math.pi / 2, math.pi)
_CLEARANCE_MM = 1.0
_LEAST_SLIT_MM = 1.0
_GRID_RAD = math.radians(5)
_SIDE_STAYS_RAD = tuple(math.radians(a) for a in (90, 85, 80, 75, 70, 65, 60, 55))


@dataclass(frozen=True)
class Stay:
    """One locating strip, flat [mm].

    name: heel, side or throat.  girth_rad: its girth line.  length_mm: from trace edge to fold, along it.
    centre_mm, heading_rad: shape (n, 2) and (n,), from the trace edge to the end of the tab.
    fold_mm, plate_mm: shape (2, 2): where it folds over the shoulder, and where it touches a flat plate that
    the elbow stands on (the same line on a square end).
    """

    name: str
    girth_rad: float
    width_mm: float
    length_mm: float
    centre_mm: Array
    heading_rad: Array
    fold_mm: Array
    plate_mm: Array


@dataclass(frozen=True)
class GirthMark:
    """Where a heel, side or throat line crosses the trace edge; inward_mm is a unit vector into the wrap."""

    name: str
    girth_rad: float
    at_mm: Array
    inward: Array


@dataclass(frozen=True)
class SeamTick:
    """Where the wrap's other end falls on a tube of that girth: a short line on the seam tab."""

    girth_mm: float
    line_mm: Array


@dataclass(frozen=True)
class Wrap:
    """A whole flat wrap as printed [mm]: x to the right, y away from the end that it is located from.

    The origin is where the heel line crosses the trace edge, and the heel line stands upright.

    trace_mm: the cut line, shape (n, 2), and the girth angle of each of its points.
    outline_mm: the rest of the edge, from the trace edge's last point round to its first.
    slits_mm: shape (k, 2, 2), from the inner edge.  x_sense: +1 where x grows with the girth angle, else -1.
    """

    trace_mm: Array
    trace_girth_rad: Array
    outline_mm: Array
    slits_mm: Array
    stays: tuple[Stay, ...]
    marks: tuple[GirthMark, ...]
    seam: tuple[SeamTick, ...]
    girth_mm: float
    x_sense: int


@dataclass(frozen=True)
class _Sheet:
    """What the steps of building one wrap share: the tube under the paper, the cut, the rules."""

    tube: Tube
    paper: Tube
    cut: SurfaceCurve
    shoulder_mm: float
    rules: WrapRules

    def arc_mm(self, girth_rad: Array) -> Array:
        """Length of paper from the shoulder to the cut along girth lines [mm]."""
        _, station, _, _ = self.cut.at(girth_rad)
        return self.paper.girth_line_length(girth_rad, self.fold_station(girth_rad), station)

    def fold_station(self, girth_rad: Array) -> Array:
        return self.tube.plane_station(girth_rad, self.shoulder_mm)


def elbow_wrap(
    tube: Tube,
    plane: Plane,
    near_mm: float,
    shoulder_mm: float,
    rules: WrapRules,
    thickness_mm: float,
    face_a_down: bool,
    seam_step_mm: float = 1.0,
) -> Wrap:
    """The wrap that carries a cut round an elbow, located from the end at station 0.

    tube: as seen from the hooked face (`Tube.seen_from_face_b` for face B).  plane: of the cut, in the frame
    of that tube.  near_mm: station near which it cuts.  shoulder_mm: axial distance from the face to the
    edge that the tabs fold over.  thickness_mm: of the paper.  face_a_down: the hand of the print.
    Raises GeometryError where the stays can't be laid out without overlapping.
    """
    for side_rad in _SIDE_STAYS_RAD:
        stay_girths = {-side_rad: SIDE, 0.0: HEEL, side_rad: SIDE, math.pi: THROAT}
        teeth = _teeth(tube, rules, stay_girths)
        cut = section(tube, plane, near_mm, teeth.seam_rad, teeth.seam_rad + 2 * math.pi)
        sheet = _Sheet(tube, tube.covered(thickness_mm), cut, shoulder_mm, rules)
        wrap = _lay_out(sheet, stay_girths, teeth, seam_step_mm)
        if wrap is not None:
            upright = _heel_upright(wrap)
            return _printed_side_out(upright) if face_a_down else upright
    raise GeometryError("the stays of its wrap overlap when laid flat")


@dataclass(frozen=True)
class _Teeth:
    """How the collar is slit: girth angles of the slits between stays, and of the seam, amid a tooth."""

    slits_rad: tuple[float, ...]
    seam_rad: float


def _teeth(tube: Tube, rules: WrapRules, stay_girths: dict[float, str]) -> _Teeth:
    """Even teeth in each gap between two stays; the stays' own flanks are slit besides."""
    order = [*sorted(stay_girths), min(stay_girths) + 2 * math.pi]
    names = [*(stay_girths[girth] for girth in order[:-1]), stay_girths[order[0]]]
    half = {name: rules.stay_width(name) / 2 / tube.radius_mm for name in names}
    slits: list[float] = []
    gap: list[float] = []
    for i in range(len(order) - 1):
        start, end = order[i] + half[names[i]], order[i + 1] - half[names[i + 1]]
        count = max(1, round((end - start) * tube.radius_mm / rules.tooth_mm))
        gap = list(np.linspace(start, end, count + 1))
        slits += gap[1:-1]
    middles = [(a + b) / 2 for a, b in pairwise(gap)]
    seam = min(middles, key=lambda girth: abs(girth - _SEAM_NEAR_RAD)) - 2 * math.pi
    return _Teeth(tuple(slit - 2 * math.pi if slit - 2 * math.pi > seam else slit for slit in slits), seam)


def _lay_out(sheet: _Sheet, stay_girths: dict[float, str], teeth: _Teeth, seam_step_mm: float) -> Wrap | None:
    """The wrap with its stays at these girth angles, or None where parts of it overlap."""
    trace = _trace_edge(sheet, (*stay_girths, *teeth.slits_rad))
    stays = tuple(_stay(sheet, trace, name, girth) for girth, name in stay_girths.items())
    inner = _inner_edge(sheet, trace)
    lap, seam = _seam_tab(sheet, trace, seam_step_mm)
    outline = _outline(trace, inner, stays, lap)
    if outline is None:
        return None
    return Wrap(
        trace_mm=trace.points_mm,
        trace_girth_rad=trace.girth_rad,
        outline_mm=outline,
        slits_mm=np.concatenate([_slits(sheet, trace, teeth.slits_rad), *_flank_slits(sheet, inner, stays)]),
        stays=stays,
        marks=_marks(trace),
        seam=seam,
        girth_mm=2 * math.pi * sheet.tube.radius_mm,
        x_sense=1,
    )


def _trace_edge(sheet: _Sheet, girths: tuple[float, ...]) -> FlatCurve:
    """The cut laid flat, bent so that both edges of the bridge fit (wrap_rules says why)."""
    grid = np.arange(sheet.cut.start, sheet.cut.end, _GRID_RAD)
    half_bridge = sheet.rules.bridge_mm / 2

    def bend(girth_rad: Array, station_mm: Array) -> Array:
        return -half_bridge * sheet.paper.gaussian_curvature(girth_rad, station_mm)

    return develop(sheet.paper, sheet.cut, (*grid, *girths, *_MARKED_RAD), extra_curvature=bend)


def _face_side(heading_rad: Array) -> Array:
    """Unit vectors square to the trace edge, into the wrap."""
    return np.stack([np.sin(heading_rad), -np.cos(heading_rad)], axis=-1)


def _collar_width(sheet: _Sheet, girth_rad: Array) -> Array:
    rules = sheet.rules
    narrow = np.minimum(rules.collar_mm, rules.collar_share * sheet.arc_mm(girth_rad))
    return np.maximum(rules.bridge_mm, narrow)


def _inner_edge(sheet: _Sheet, trace: FlatCurve) -> Array:
    width = _collar_width(sheet, trace.girth_rad)
    return trace.points_mm + width[:, None] * _face_side(trace.heading_rad)


def _stay(sheet: _Sheet, trace: FlatCurve, name: str, girth_rad: float) -> Stay:
    row = trace.index(girth_rad)
    girth, station = float(trace.girth_rad[row]), float(trace.station_mm[row])
    fold_station = float(sheet.fold_station(np.array(girth)))
    flat = develop(sheet.paper, girth_line(sheet.paper, girth, station, fold_station))
    turn = float(trace.heading_rad[row]) - _cut_direction(sheet, girth, station)
    centre = trace.points_mm[row] + flat.points_mm @ _rotation(turn).T
    heading = flat.heading_rad + turn

    width = sheet.rules.stay_width(name)
    swept = float(sheet.paper.sweep_at(station) - sheet.paper.sweep_at(fold_station))
    spare = stay_shortfall_mm(sheet.paper, girth, width, swept)
    onward = np.array([math.cos(heading[-1]), math.sin(heading[-1])])
    across = np.array([-onward[1], onward[0]]) * width / 2
    fold = centre[-1] + spare * onward
    plate = fold + float(sheet.paper.girth_line_length(girth, 0.0, fold_station)) * onward
    centre = np.vstack([centre, fold + sheet.rules.tab_mm * onward])
    return Stay(
        name=name,
        girth_rad=girth_rad,
        width_mm=width,
        length_mm=float(sheet.arc_mm(np.array([girth]))[0]) + spare,
        centre_mm=centre,
        heading_rad=np.append(heading, heading[-1]),
        fold_mm=np.stack([fold - across, fold + across]),
        plate_mm=np.stack([plate - across, plate + across]),
    )


def _cut_direction(sheet: _Sheet, girth_rad: float, station_mm: float) -> float:
    """Angle from growing girth angle to the cut, on the tube."""
    _, _, dphi, dstation = sheet.cut.at(np.array([girth_rad]))
    along = sheet.paper.axial_scale(girth_rad, station_mm) * dstation
    return math.atan2(float(along[0]), sheet.paper.radius_mm * float(dphi[0]))


def _rotation(angle_rad: float) -> Array:
    cos, sin = math.cos(angle_rad), math.sin(angle_rad)
    return np.array([[cos, -sin], [sin, cos]])


def _ribbon(stay: Stay) -> Array:
    """Closed ring (n, 2) of a stay with its tab [mm]."""
    across = stay.width_mm / 2 * _face_side(stay.heading_rad)
    return np.vstack([stay.centre_mm + across, (stay.centre_mm - across)[::-1]])


def _slits(sheet: _Sheet, trace: FlatCurve, girths: tuple[float, ...]) -> Array:
    rows = [trace.index(g) for g in girths]
    points, inward = trace.points_mm[rows], _face_side(trace.heading_rad[rows])
    depth = _collar_width(sheet, trace.girth_rad[rows])
    ends = np.stack([points + depth[:, None] * inward, points + sheet.rules.bridge_mm * inward], axis=1)
    return np.asarray(ends[depth > sheet.rules.bridge_mm + _LEAST_SLIT_MM])


def _flank_slits(sheet: _Sheet, inner: Array, stays: tuple[Stay, ...]) -> Iterator[Array]:
    """Both sides of each stay run on into the collar as slits, so that a stay pulls only on its own root."""
    inner_edge = shapely.LineString(inner)
    for stay in stays:
        across = stay.width_mm / 2 * _face_side(stay.heading_rad)
        for flank in (stay.centre_mm + across, stay.centre_mm - across):
            line = shapely.LineString(flank)
            tip = line.interpolate(sheet.rules.bridge_mm)
            mouth = shapely.intersection(line, inner_edge)
            if mouth.geom_type == "Point" and tip.distance(mouth) > _LEAST_SLIT_MM:
                yield np.array([[[mouth.x, mouth.y], [tip.x, tip.y]]])


def _seam_tab(sheet: _Sheet, trace: FlatCurve, step_mm: float) -> tuple[Array, tuple[SeamTick, ...]]:
    """Ring of the tab that the wrap's first end laps, and its ticks by the girth that they stand for."""
    heading, end = float(trace.heading_rad[-1]), trace.points_mm[-1]
    onward = np.array([math.cos(heading), math.sin(heading)])
    inward = _face_side(trace.heading_rad[-1:])[0]
    depth = sheet.rules.lap_depth_mm
    lap = sheet.rules.lap_mm
    corners = [end, end + lap * onward, end + lap * onward + depth * inward, end + depth * inward]
    root = end + depth / 2 * (inward - onward)
    ring = np.stack([*corners, root])
    ticks = seam_ticks(
        nominal_mm=2 * math.pi * sheet.tube.radius_mm,
        at_mm=end,
        onward=onward,
        mark_mm=0.4 * depth * inward,
        lap_mm=lap,
        step_mm=step_mm,
    )
    return ring, ticks


def seam_ticks(
    nominal_mm: float, at_mm: Array, onward: Array, mark_mm: Array, lap_mm: float, step_mm: float
) -> tuple[SeamTick, ...]:
    """Ticks at round girths [mm], from a third of the lap under the nominal to the end of the seam tab.

    at_mm: where the other end falls at the nominal girth.  onward: unit vector towards the end of the tab.
    mark_mm: each tick, as a vector from its foot.
    """
    first = math.ceil((nominal_mm - lap_mm / 3) / step_mm)
    last = math.floor((nominal_mm + lap_mm - 1) / step_mm)
    feet = [(k * step_mm, at_mm + (k * step_mm - nominal_mm) * onward) for k in range(first, last + 1)]
    return tuple(SeamTick(girth, np.stack([foot, foot + mark_mm])) for girth, foot in feet)


def _outline(trace: FlatCurve, inner: Array, stays: tuple[Stay, ...], lap: Array) -> Array | None:
    """The edge of the whole sheet from the trace edge's end round to its start; None where parts overlap."""
    collar = shapely.Polygon(np.vstack([trace.points_mm, inner[::-1]]))
    strips = [shapely.Polygon(_ribbon(stay)) for stay in stays]
    tab = shapely.Polygon(lap)
    if not all(part.is_valid for part in (collar, tab, *strips)) or _crowded(collar, tab, strips):
        return None
    ring = np.asarray(shapely.union_all([collar, tab, *strips]).exterior.coords)[:-1]
    if shapely.LinearRing(ring).is_ccw:
        ring = ring[::-1]
    first = _row_of(ring, trace.points_mm[0])
    ring = np.roll(ring, -first, axis=0)
    last = _row_of(ring, trace.points_mm[-1])
    return np.vstack([ring[last:], ring[:1]])


def _row_of(ring: Array, point: Array) -> int:
    return int(np.argmin(np.linalg.norm(ring - point, axis=1)))


def _crowded(collar: shapely.Polygon, tab: shapely.Polygon, strips: list[shapely.Polygon]) -> bool:
    """Whether strips come nearer to each other than a pair of scissors likes, or run back into the collar."""
    apart = [*strips, tab]
    near = any(apart[i].distance(apart[j]) < _CLEARANCE_MM for i in range(len(apart)) for j in range(i))
    rejoined = any(strip.intersection(collar).geom_type != "Polygon" for strip in strips)
    return near or rejoined


def _marks(trace: FlatCurve) -> tuple[GirthMark, ...]:
    found = []
    for name, girth in zip((SIDE, HEEL, SIDE, THROAT), _MARKED_RAD, strict=True):
        row = trace.index(girth)
        found.append(GirthMark(name, girth, trace.points_mm[row], _face_side(trace.heading_rad[row])))
    return tuple(found)


def _heel_upright(wrap: Wrap) -> Wrap:
    """The wrap moved so that the heel line stands upright and crosses the trace edge at the origin."""
    heel = next(mark for mark in wrap.marks if mark.name == HEEL)
    turn = math.atan2(float(heel.inward[0]), -float(heel.inward[1]))
    return _moved(wrap, _rotation(-turn), heel.at_mm)


def _printed_side_out(wrap: Wrap) -> Wrap:
    """The wrap seen from outside: x reversed in every part."""
    return replace(_moved(wrap, np.diag([-1.0, 1.0]), np.zeros(2)), x_sense=-wrap.x_sense)


def _moved(wrap: Wrap, matrix: Array, origin_mm: Array) -> Wrap:
    """Every part of the wrap, as seen from origin_mm, under a rotation or a reflection."""

    def point(p: Array) -> Array:
        return np.asarray((p - origin_mm) @ matrix.T)

    def direction(heading_rad: Array) -> Array:
        x, y = matrix @ np.stack([np.cos(heading_rad), np.sin(heading_rad)])
        return np.asarray(np.arctan2(y, x))

    return replace(
        wrap,
        trace_mm=point(wrap.trace_mm),
        outline_mm=point(wrap.outline_mm),
        slits_mm=point(wrap.slits_mm),
        stays=tuple(
            replace(
                stay,
                centre_mm=point(stay.centre_mm),
                heading_rad=direction(stay.heading_rad),
                fold_mm=point(stay.fold_mm),
                plate_mm=point(stay.plate_mm),
            )
            for stay in wrap.stays
        ),
        marks=tuple(
            replace(mark, at_mm=point(mark.at_mm), inward=matrix @ mark.inward) for mark in wrap.marks
        ),
        seam=tuple(replace(tick, line_mm=point(tick.line_mm)) for tick in wrap.seam),
    )
