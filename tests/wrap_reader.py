"""Finds the wraps on a sheet as written: trace edges, outlines, slits, folds, plate lines, seam ticks, names.

It knows the lines by their weights and by where they lie, and nothing of how a wrap is computed. A read wrap
is turned so that its heel stay stands upright and moved so that the heel line crosses the trace edge at the
origin; it is never mirrored.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.optimize import linear_sum_assignment
from shapely.ops import substring

from tests.pdf_reader import Sheet, Stroke, Word

Array = NDArray[np.float64]

TRACE_MM, CUT_OUT_MM, TICK_MM = 0.50, 0.25, 0.13
"""Widths of the trace edge, of outline, slits and folds, and of ticks and plate lines."""
NAMES = ("HEEL", "SIDE", "SIDE", "THROAT")
_SAME_MM = 0.01
_CORNER_RAD = np.radians(15.0)


@dataclass(frozen=True)
class ReadStay:
    """A stay: its fold, its plate line (None where it has none), and its two edges from the fold on.

    name: HEEL, SIDE or THROAT.  fold_mm, plate_mm: (2, 2), left end first, with the tab down.
    left_mm, right_mm: (n, 2), from the fold to the collar.  tips_mm: (k, 2), ends of the slits that they go
    on in, none where the collar is no deeper than its bridge.
    """

    name: str
    fold_mm: Array
    plate_mm: Array | None
    left_mm: Array
    right_mm: Array
    tips_mm: Array

    @property
    def width_mm(self) -> float:
        return float(np.linalg.norm(self.fold_mm[1] - self.fold_mm[0]))

    @property
    def centre_mm(self) -> Array:
        """Half a width inside the longer of its two edges, from the fold; last, midway between the slits."""
        left, right = (float(np.hypot(*np.diff(e, axis=0).T).sum()) for e in (self.left_mm, self.right_mm))
        edge, inside = (
            (self.left_mm, -self.width_mm / 2) if left > right else (self.right_mm, self.width_mm / 2)
        )
        far = np.hypot(*np.diff(edge, axis=0).T)
        edge = edge[np.append(True, far > np.median(far) / 4)]
        chords = np.diff(edge, axis=0)
        square = np.column_stack([-chords[:, 1], chords[:, 0]]) / np.hypot(*chords.T)[:, None]
        mean = np.vstack([square[:1], square[:-1] + square[1:], square[-1:]])
        middle = edge + inside * mean / np.hypot(*mean.T)[:, None]
        middle[0] = self.fold_mm.mean(axis=0)
        return np.vstack([middle, self.tips_mm.mean(axis=0)]) if len(self.tips_mm) == 2 else middle


@dataclass(frozen=True)
class ReadWrap:
    """An elbow wrap: x right, y towards the trace edge at the heel.

    trace_mm: (n, 2) from left to right.  ring: the whole outline.  slits_mm: each (2, 2), tip last.
    ticks_mm: short lines across the trace edge at heel, sides and throat, (2, 2), foot on the edge.
    seam: girth printed at a tick [as printed] and the tick's foot.  seam_ticks_mm: feet of all seam ticks.
    """

    trace_mm: Array
    ring: shapely.Polygon
    slits_mm: tuple[Array, ...]
    stays: tuple[ReadStay, ...]
    ticks_mm: tuple[Array, ...]
    seam: tuple[tuple[str, Array], ...]
    seam_ticks_mm: Array
    end_line_mm: Array
    words: tuple[Word, ...]

    def named(self, name: str) -> tuple[ReadStay, ...]:
        """The stays of that name, from left to right."""
        found = [stay for stay in self.stays if stay.name == name]
        return tuple(sorted(found, key=lambda stay: stay.fold_mm[:, 0].mean()))

    @property
    def bridge_mm(self) -> float:
        """Paper left between slits and trace edge: of all slits, the middle one."""
        trace = shapely.LineString(self.trace_mm)
        return float(np.median([trace.distance(shapely.Point(slit[1])) for slit in self.slits_mm]))


def lines_of(stroke: Stroke) -> Array:
    return np.array(stroke.path)


def trace_edges(sheet: Sheet) -> list[Array]:
    """Every line as wide as a trace edge."""
    return [lines_of(stroke) for stroke in sheet.with_width(TRACE_MM)]


def read_wraps(sheet: Sheet) -> list[ReadWrap]:
    """Every elbow wrap on a sheet that has them whole."""
    return [wrap for edge in trace_edges(sheet) if (wrap := _read_wrap(sheet, edge)) is not None]


def read_wrap(sheet: Sheet) -> ReadWrap:
    """The one elbow wrap of a sheet."""
    wraps = read_wraps(sheet)
    assert len(wraps) == 1, f"{len(wraps)} wraps"
    return wraps[0]


def _read_wrap(sheet: Sheet, trace: Array) -> ReadWrap | None:
    outline = outline_of(sheet, trace)
    ring = shapely.Polygon(np.vstack([trace, outline[1:-1]]))
    inside = [stroke for stroke in sheet.strokes if _lies_on(stroke, ring)]
    folds = [lines_of(s) for s in inside if s.dash_mm and abs(s.width_mm - CUT_OUT_MM) < 0.005]
    if not folds:
        return None
    plain = [lines_of(s) for s in inside if not s.dash_mm and abs(s.width_mm - CUT_OUT_MM) < 0.005]
    thin = [lines_of(s) for s in inside if not s.dash_mm and abs(s.width_mm - TICK_MM) < 0.005]
    words = tuple(w for w in sheet.words if shapely.Polygon(w.corners).distance(ring) < 6.0)
    slits, end_line = _slits(plain, trace)
    stays = [_stay(fold, thin, ring, slits) for fold in folds]
    stays = [replace(stay, name=name) for stay, name in zip(stays, _names(stays, words), strict=True)]
    heel = next(stay for stay in stays if stay.name == "HEEL")
    mark_ticks, seam_ticks = _ticks(thin, trace, end_line, stays)
    up = _Upright(heel.fold_mm, trace)
    edge = up(trace)
    return ReadWrap(
        trace_mm=edge if edge[0, 0] < edge[-1, 0] else edge[::-1],
        ring=shapely.Polygon(up(np.array(ring.exterior.coords))),
        slits_mm=tuple(up(slit) for slit in slits),
        stays=tuple(_moved(stay, up) for stay in stays),
        ticks_mm=tuple(up(tick) for tick in mark_ticks),
        seam=_girths(words, seam_ticks, up),
        seam_ticks_mm=up(np.array([tick[0] for tick in seam_ticks])),
        end_line_mm=up(end_line),
        words=words,
    )


def _moved(stay: ReadStay, up: _Upright) -> ReadStay:
    return replace(
        stay,
        fold_mm=up(stay.fold_mm),
        plate_mm=None if stay.plate_mm is None else up(stay.plate_mm),
        left_mm=up(stay.left_mm),
        right_mm=up(stay.right_mm),
        tips_mm=up(stay.tips_mm) if len(stay.tips_mm) else stay.tips_mm,
    )


def _girths(words: tuple[Word, ...], ticks: list[Array], up: _Upright) -> tuple[tuple[str, Array], ...]:
    """Each girth printed on the seam tab with the foot of the tick nearest to it."""
    found = []
    for word in words:
        if word.text.replace(".", "").isdigit():
            middle = np.mean(word.corners, axis=0)
            tick = min(ticks, key=lambda tick: float(np.linalg.norm(tick[1] - middle)))
            found.append((word.text, up(tick[:1])[0]))
    return tuple(found)


def outline_of(sheet: Sheet, trace: Array) -> Array:
    """The line of cut-out weight that leads from the trace edge's last point round to its first."""
    found = []
    for stroke in sheet.with_width(CUT_OUT_MM):
        line = lines_of(stroke)
        for way in (line, line[::-1]):
            ends = np.linalg.norm(way[[0, -1]] - trace[[-1, 0]], axis=1)
            if len(line) > 2 and np.all(ends < _SAME_MM):
                found.append(way)
    assert len(found) == 1, f"{len(found)} outlines on one trace edge"
    return found[0]


def _lies_on(stroke: Stroke, ring: shapely.Polygon) -> bool:
    """Whether a straight line other than the ring itself lies on the paper of a wrap."""
    return len(stroke.points) == 2 and bool(ring.buffer(0.05).contains(shapely.LineString(stroke.points)))


def _names(stays: list[ReadStay], words: tuple[Word, ...]) -> list[str]:
    """The name of each stay: every name once (SIDE twice), as near as they go."""
    first = [(w, w.text.removeprefix("LEFT ").removeprefix("RIGHT ").split()[0]) for w in words]
    named = [(word, name) for word, name in first if name in NAMES]
    assert sorted(name for _, name in named) == sorted(NAMES), [w.text for w in words]
    bodies = [shapely.Polygon(np.vstack([stay.left_mm, stay.right_mm[::-1]])) for stay in stays]
    rooms = [shapely.Polygon(w.corners) for w, _ in named]
    far = np.array(
        [[room.distance(body) + room.centroid.distance(body) for room in rooms] for body in bodies]
    )
    rows, columns = linear_sum_assignment(far)
    return [named[column][1] for _, column in sorted(zip(rows, columns, strict=True))]


class _Upright:
    """Turns and moves points so that the heel stay stands upright under the trace edge's crossing."""

    def __init__(self, heel_fold: Array, trace: Array) -> None:
        middle = heel_fold.mean(axis=0)
        across = (heel_fold[1] - heel_fold[0]) / np.linalg.norm(heel_fold[1] - heel_fold[0])
        up = np.array([-across[1], across[0]])
        if up @ (trace.mean(axis=0) - middle) < 0:
            up = -up
        self.turn = np.array([[up[1], -up[0]], up])
        far = shapely.LineString([middle, middle + 5000 * up])
        crossing: Any = far.intersection(shapely.LineString(trace))
        self.origin = np.array([crossing.x, crossing.y])

    def __call__(self, points: Array) -> Array:
        return np.asarray((points - self.origin) @ self.turn.T)


def _slits(plain: list[Array], trace: Array) -> tuple[tuple[Array, ...], Array]:
    """The slits, tip last, and the line at the trace edge's end on which the other end falls."""
    edge = shapely.LineString(trace)
    slits: list[Array] = []
    ends: list[Array] = []
    for line in plain:
        far = [edge.distance(shapely.Point(point)) for point in line]
        (ends if min(far) < _SAME_MM else slits).append(line if far[1] < far[0] else line[::-1])
    assert len(ends) == 1, f"{len(ends)} lines end on the trace edge"
    return tuple(slits), ends[0]


def _stay(fold: Array, thin: list[Array], ring: shapely.Polygon, slits: tuple[Array, ...]) -> ReadStay:
    middle = fold.mean(axis=0)
    across = (fold[1] - fold[0]) / np.linalg.norm(fold[1] - fold[0])
    border = ring.exterior
    tab_side = _tab_side(fold, border)
    if np.array([-across[1], across[0]]) @ tab_side > 0:
        fold, across = fold[::-1], -across
    plates = [line for line in thin if _is_plate(line, middle, across, tab_side)]
    assert len(plates) <= 1
    plate = (
        None if not plates else plates[0] if (plates[0][1] - plates[0][0]) @ across > 0 else plates[0][::-1]
    )
    left, right = (_edge(point, -tab_side, border) for point in fold)
    tips = [slit[1] for slit in slits for end in (left, right) if np.linalg.norm(slit[0] - end[-1]) < 0.1]
    return ReadStay("", fold, plate, left, right, np.array(tips))


def _tab_side(fold: Array, border: shapely.LinearRing) -> Array:
    """Unit vector square to a fold, from it towards the tab: the side with the shorter way round."""
    there, back = (border.project(shapely.Point(point)) for point in fold)
    low, high = sorted((there, back))
    short = substring(border, low, high)
    if short.length > border.length / 2:
        points = np.vstack([substring(border, high, border.length).coords, substring(border, 0, low).coords])
    else:
        points = np.array(short.coords)
    across = (fold[1] - fold[0]) / np.linalg.norm(fold[1] - fold[0])
    square = np.array([-across[1], across[0]])
    return square if np.mean((points - fold[0]) @ square) > 0 else -square


def _is_plate(line: Array, middle: Array, across: Array, tab_side: Array) -> bool:
    """Whether a thin line is as wide as the stay, along its fold and beyond it."""
    way = (line[1] - line[0]) / np.linalg.norm(line[1] - line[0])
    beyond = (line.mean(axis=0) - middle) @ tab_side
    aside = (line.mean(axis=0) - middle) @ across
    return bool(abs(abs(way @ across) - 1) < 1e-3 and abs(aside) < 0.1 and 0 < beyond < 30)


def _edge(start: Array, onward: Array, border: shapely.LinearRing) -> Array:
    """One side of a stay: along the outline from the end of its fold to the collar."""
    ring = np.array(border.coords)[:-1]
    here = border.project(shapely.Point(start))
    way = 1 if (_at(border, here + 0.3) - start) @ onward > 0 else -1
    order = np.argsort((way * (_along(border) - here)) % border.length)
    points = [start]
    for row in order:
        if np.linalg.norm(ring[row] - points[-1]) < _SAME_MM:
            continue
        if len(points) > 1 and _turns(points[-2], points[-1], ring[row]):
            break
        points.append(ring[row])
    return np.array(points)


def _along(border: shapely.LinearRing) -> Array:
    """Length round the ring at each of its corners."""
    return np.append(0.0, np.cumsum(np.hypot(*np.diff(np.array(border.coords), axis=0).T)))[:-1]


def _at(border: shapely.LinearRing, along: float) -> Array:
    point = border.interpolate(along % border.length)
    return np.array([point.x, point.y])


def _turns(a: Array, b: Array, c: Array) -> bool:
    u, v = b - a, c - b
    return bool(abs(np.arctan2(u[0] * v[1] - u[1] * v[0], u @ v)) > _CORNER_RAD)


def _ticks(
    thin: list[Array], trace: Array, end_line: Array, stays: list[ReadStay]
) -> tuple[tuple[Array, ...], list[Array]]:
    """Ticks on the trace edge, and ticks on the seam tab, foot first."""
    edge = shapely.LineString(trace)
    end = end_line[1]
    plates = [stay.plate_mm.mean(axis=0) for stay in stays if stay.plate_mm is not None]
    marks: list[Array] = []
    seam: list[Array] = []
    at_start = np.linalg.norm(trace[0] - end) < np.linalg.norm(trace[-1] - end)
    onward = end - (trace[1] if at_start else trace[-2])
    onward = onward / np.linalg.norm(onward)
    line = shapely.LineString([end - 40 * onward, end + 40 * onward])
    for drawn in thin:
        if any(np.linalg.norm(drawn.mean(axis=0) - plate) < _SAME_MM for plate in plates):
            continue
        tick = drawn if _near(edge, line, drawn[0]) < _near(edge, line, drawn[1]) else drawn[::-1]
        on_edge = edge.distance(shapely.Point(tick[0])) < _SAME_MM
        by_seam = np.linalg.norm(tick[0] - end) < 25 and line.distance(shapely.Point(tick[0])) < 0.05
        (seam if by_seam else marks if on_edge else []).append(tick)
    return tuple(marks), seam


def _near(edge: shapely.LineString, line: shapely.LineString, point: Array) -> float:
    return float(min(edge.distance(shapely.Point(point)), line.distance(shapely.Point(point))))
