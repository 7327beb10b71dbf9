"""Lopsided wraps as printed, wrapped in space by what a fitter does: the one check that a mirror can't pass.

Printed side out, the hooked face down. Seen from outside, up on the paper is away from that face, and a line
that bends to the left on the paper bends to the left about the outward normal of the metal. Nothing else
says here which way round a wrap goes.

Space: the axis of the bend is z, face A lies in y = 0 and the bend leaves it towards +y, right-handed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray

from templates_core.elbows.groups import MitreGroup
from templates_core.geometry.section import Plane
from templates_core.geometry.surfaces import elbow_surface
from templates_core.wraps.cut_wraps import CutWrap
from templates_core.wraps.pipe_wraps import mitre_wrap
from templates_core.wraps.wrap_rules import rules_for
from templates_core.wraps.wraps import elbow_wrap
from tests.pdf_reader import Sheet
from tests.stay_lines import fold_heading, to_trace
from tests.wrap_reader import CUT_OUT_MM, ReadWrap, outline_of, read_wrap, trace_edges
from tests.wrap_samples import cut_at, elbow_of, sheet_of_cut, sheet_of_mitre

Array = NDArray[np.float64]
PAPER_MM = 0.1
MISS_MM = 6.0
"""The wrong hand misses these planes by more than this at the sides."""
SAME_MM = 0.3
"""A corner of the trace edge nearer than this to the heel's gives no direction: print is true to 1e-4 mm."""


@dataclass(frozen=True)
class Torus:
    """R and r of the metal, and of the middle of the paper on it."""

    bend_mm: float
    radius_mm: float

    @property
    def under_paper(self) -> Torus:
        return Torus(self.bend_mm, self.radius_mm + PAPER_MM / 2)

    def out(self, point: Array) -> Array:
        """Outward normal: away from the nearest point of the centreline circle."""
        centre = self.bend_mm * point * [1, 1, 0] / math.hypot(point[0], point[1])
        away = point - centre
        return np.asarray(away / np.linalg.norm(away))

    def on_metal(self, point: Array) -> Array:
        """The point of the metal under a point of the paper."""
        return np.asarray(point - PAPER_MM / 2 * self.out(point))

    def fall(self, point: Array, way: Array) -> float:
        """Curvature of the surface along a direction, towards the inside."""
        rho = math.hypot(point[0], point[1])
        along = np.array([-point[1], point[0], 0.0]) / rho
        share = float(way @ along) ** 2
        outward = float(self.out(point)[:2] @ point[:2]) / rho
        return (1 - share) / self.radius_mm + share * outward / rho

    def gauss(self, point: Array) -> float:
        """Product of the two principal curvatures."""
        along = np.array([-point[1], point[0], 0.0]) / math.hypot(point[0], point[1])
        return self.fall(point, along) / self.radius_mm


def walk(torus: Torus, point: Array, way: Array, length: float, left_mm: float) -> tuple[Array, Array]:
    """Where a line ends that runs on the surface and bends to the left by left_mm of its curvature K."""
    count = max(1, math.ceil(length / (torus.radius_mm / 12)))
    h = length / count

    def rate(p: Array, t: Array) -> tuple[Array, Array]:
        out = torus.out(p)
        return t, left_mm * torus.gauss(p) * np.cross(out, t) - torus.fall(p, t) * out

    for _ in range(count):
        a, b = rate(point, way)
        c, d = rate(point + h / 2 * a, way + h / 2 * b)
        e, f = rate(point + h / 2 * c, way + h / 2 * d)
        g, k = rate(point + h * e, way + h * f)
        point, way = point + h / 6 * (a + 2 * c + 2 * e + g), way + h / 6 * (b + 2 * d + 2 * f + k)
    return point, way


def turned(torus: Torus, point: Array, way: Array, left_rad: float) -> Array:
    out = torus.out(point)
    return np.asarray(way * math.cos(left_rad) + np.cross(out, way) * math.sin(left_rad))


def left_turn(a: Array, b: Array) -> float:
    return math.atan2(a[0] * b[1] - a[1] * b[0], float(a @ b))


def lay(
    torus: Torus, chain: Array, point: Array, way: Array, bridge_mm: float = 0.0
) -> list[tuple[Array, Array]]:
    """Points and directions along a chain of the paper; way is that of its first chord.

    A bridge bends the trace edge by -K h/2 towards up, which is left on the way to the right; on the metal
    it is unbent by that.
    """
    moves = np.diff(chain, axis=0)
    found = []
    to_right = 1.0 if chain[-1, 0] > chain[0, 0] else -1.0
    for row, move in enumerate(moves):
        if row:
            way = turned(torus, point, way, left_turn(moves[row - 1], move))
        point, way = walk(torus, point, way, float(np.hypot(*move)), to_right * bridge_mm / 2)
        found.append((point, way))
    return found


@dataclass(frozen=True)
class Hung:
    """A face that tabs hook over: a point of its plane, and the unit vector into the elbow."""

    torus: Torus
    sweep_at_face: float
    into: float
    shoulder_mm: float

    def start(self, side: float) -> tuple[Array, Array]:
        """Point on the shoulder and way up, a girth angle `side` to the right of the heel (left when < 0)."""
        psi = self.sweep_at_face
        heelward = np.array([math.cos(psi), math.sin(psi), 0.0])
        up = self.into * np.array([-math.sin(psi), math.cos(psi), 0.0])
        right = np.cross(up, heelward)  # up on the paper × towards the eye, seen from outside at the heel
        metal, paper = self.torus, self.torus.under_paper
        rho = metal.bend_mm + metal.radius_mm * math.cos(side)
        swept = math.asin(self.shoulder_mm / rho)
        round_axis = math.cos(swept) * heelward + math.sin(swept) * up
        ahead = math.cos(swept) * up - math.sin(swept) * heelward
        on_paper = paper.bend_mm + paper.radius_mm * math.cos(side)
        return on_paper * round_axis + paper.radius_mm * math.sin(side) * right, ahead


def spare_mm(torus: Torus, side: float, width: float, theta: float) -> float:
    """Length that a stay is given for its worse edge."""

    def rho(phi: float) -> float:
        return torus.bend_mm + torus.radius_mm * math.cos(phi)

    steps = [way * width / (2 * torus.radius_mm) for way in (-1, 1)]
    return max(
        0.0, *((rho(side + d) - rho(side) + torus.radius_mm * d * math.sin(side)) * theta for d in steps)
    )


def laid(wrap: ReadWrap, hung: Hung) -> tuple[dict[str, tuple[Array, Array, float]], Array]:
    """Each stay's landing on the metal (point, way, and spare), and the trace edge on the metal (n, 3)."""
    paper = hung.torus.under_paper
    sides = wrap.named("SIDE")
    places = {
        "heel": (wrap.named("HEEL")[0], 0.0),
        "throat": (wrap.named("THROAT")[0], math.pi),
        "left side": (sides[0], -math.pi / 2),
        "right side": (sides[1], math.pi / 2),
    }
    landed: dict[str, tuple[Array, Array, float]] = {}
    edge: list[Array] = []
    for name, (stay, side) in places.items():
        chain = to_trace(stay, wrap)
        point, way = hung.start(side)
        way = turned(paper, point, way, left_turn(fold_heading(stay), chain[1] - chain[0]))
        point, way = lay(paper, chain, point, way)[-1]
        swept = abs(math.atan2(point[1], point[0]) - hung.sweep_at_face)
        rho = math.hypot(point[0], point[1])
        swept -= math.asin(hung.shoulder_mm / rho)
        landed[name] = (hung.torus.on_metal(point), way, spare_mm(paper, side, stay.width_mm, swept))
        if name == "heel":
            edge = trace_laid(wrap, paper, chain, point, way)
    return landed, np.array([hung.torus.on_metal(point) for point in edge])


def trace_laid(wrap: ReadWrap, paper: Torus, chain: Array, point: Array, way: Array) -> list[Array]:
    foot, arriving = chain[-1], chain[-1] - chain[-2]
    right = wrap.trace_mm[wrap.trace_mm[:, 0] > foot[0] + SAME_MM]
    left = wrap.trace_mm[wrap.trace_mm[:, 0] < foot[0] - SAME_MM][::-1]
    found = [point]
    for half in (right, left):
        line = np.vstack([foot, half])
        start = turned(paper, point, way, left_turn(arriving, line[1] - line[0]))
        found += [place for place, _ in lay(paper, line, point, start, wrap.bridge_mm)]
    return found


ELBOW = elbow_of("1-1/2")
METAL = Torus(57.15, 24.13)
SHOULDER_MM = ELBOW.shoulder_mm


def tilted(psi: float, pitch_rad: float, yaw_rad: float) -> Plane:
    """Through the centreline at psi, the heel leaning forward by pitch, the +z side by yaw."""
    forward = np.array([-math.sin(psi), math.cos(psi), 0.0])
    heelward = np.array([math.cos(psi), math.sin(psi), 0.0])
    normal = forward - math.tan(pitch_rad) * heelward - math.tan(yaw_rad) * np.array([0.0, 0.0, 1.0])
    normal /= np.linalg.norm(normal)
    a, b, c = (float(x) for x in normal)
    return Plane((a, b, c), METAL.bend_mm * float(normal @ heelward))


def from_face_b(plane: Plane) -> Plane:
    """The plane as the wrap of face B takes it: sweeps counted from face B, z as it is."""
    a, b, c = plane.normal
    cos, sin = math.cos(math.pi / 2), math.sin(math.pi / 2)
    return Plane((a * cos + b * sin, a * sin - b * cos, c), plane.offset_mm)


def printed(plane: Plane, swept_rad: float, face_a_down: bool) -> Sheet:
    tube = elbow_surface(ELBOW)
    if not face_a_down:
        tube, plane = tube.seen_from_face_b(), from_face_b(plane)
    rules = rules_for(tube, swept_rad, SHOULDER_MM)
    near = METAL.bend_mm * swept_rad
    wrap = elbow_wrap(tube, plane, near, SHOULDER_MM, rules, PAPER_MM, face_a_down)
    cut = cut_at(ELBOW, swept_rad, "own" if face_a_down else "far")
    return sheet_of_cut(cut, PAPER_MM, CutWrap(cut, wrap, rules, 0.0, 1000.0))


def hung_from(face_a_down: bool) -> Hung:
    return Hung(METAL, 0.0, 1.0, SHOULDER_MM) if face_a_down else Hung(METAL, math.pi / 2, -1.0, SHOULDER_MM)


def off(plane: Plane, points: Array) -> Array:
    return np.asarray(points @ np.array(plane.normal) - plane.offset_mm)


def mirrored(wrap: ReadWrap) -> ReadWrap:
    """What a printer driver that mirrors would have made of it."""
    flip = np.array([-1.0, 1.0])
    stays = tuple(
        replace(
            stay,
            fold_mm=(stay.fold_mm * flip)[::-1],
            left_mm=stay.right_mm * flip,
            right_mm=stay.left_mm * flip,
            tips_mm=stay.tips_mm * flip,
        )
        for stay in wrap.stays
    )
    return replace(wrap, stays=stays, trace_mm=(wrap.trace_mm * flip)[::-1])


@pytest.mark.parametrize("face_a_down", [True, False], ids=["face A down", "face B down"])
@pytest.mark.parametrize(("pitch", "yaw"), [(0.0, 9.0), (4.0, 8.0), (-5.0, -8.0)])
def test_a_lopsided_wrap_lands_on_its_plane_and_its_mirror_image_does_not(
    face_a_down: bool, pitch: float, yaw: float
) -> None:
    swept = math.radians(40)
    psi = swept if face_a_down else math.pi / 2 - swept
    plane = tilted(psi, math.radians(pitch), math.radians(yaw))
    wrap = read_wrap(printed(plane, swept, face_a_down))
    hung = hung_from(face_a_down)
    landed, edge = laid(wrap, hung)
    for name, (point, way, spare) in landed.items():
        past = off(plane, point) / (np.array(plane.normal) @ way)
        assert past == pytest.approx(spare, abs=0.05), name
    assert len(edge) > 60
    assert np.abs(off(plane, edge)).max() < 0.02
    wrong, wrong_edge = laid(mirrored(wrap), hung)
    for name in ("left side", "right side"):
        assert abs(off(plane, wrong[name][0])) > MISS_MM
    assert np.abs(off(plane, wrong_edge)).max() > MISS_MM


RADIUS_MM = 24.13


@dataclass(frozen=True)
class ReadMitre:
    """A mitre wrap: x from the long point to the right, y from the square edge."""

    trace_mm: Array
    square_mm: Array


def read_mitre(sheet: Sheet) -> ReadMitre:
    (trace,) = trace_edges(sheet)
    outline = outline_of(sheet, trace)
    sides = np.diff(outline, axis=0)
    base = outline[int(np.argmax(np.hypot(*sides.T)))]
    across = sides[int(np.argmax(np.hypot(*sides.T)))]
    across = across / np.hypot(*across)
    up = np.array([-across[1], across[0]])
    if (trace.mean(axis=0) - base) @ up < 0:
        across, up = -across, -up
    (label,) = [word for word in sheet.words if word.text == "LONG POINT"]
    lines = [np.array(s.points) for s in sheet.strokes if s.dash_mm and abs(s.width_mm - CUT_OUT_MM) > 0.05]
    line = min(lines, key=lambda line: shapely.LineString(line).distance(shapely.Polygon(label.corners)))
    foot = line[int(np.argmin((line - base) @ up))]
    turn = np.array([across, up])
    return ReadMitre((trace - foot) @ turn.T, (outline - foot) @ turn.T)


def round_pipe(flat: Array, ahead: Array, long_side: Array, square_at: Array) -> Array:
    """Points of the paper on a pipe, square edge down: up is ahead, right as seen from outside."""
    right = np.cross(ahead, long_side)
    angle = flat[:, 0] / (RADIUS_MM + PAPER_MM / 2)
    rim = np.outer(np.cos(angle), long_side) + np.outer(np.sin(angle), right)
    return np.asarray(square_at + RADIUS_MM * rim + np.outer(flat[:, 1], ahead))


@pytest.mark.parametrize("turn_deg", [4.76, 19.0, 45.0, 88.0])
def test_mitred_pipes_meet_at_the_turn(turn_deg: float) -> None:
    turn = math.radians(turn_deg)
    group = MitreGroup(turn / 2, RADIUS_MM * math.tan(turn / 2), ("A1",), 2)
    mitre = read_mitre(sheet_of_mitre(group, mitre_wrap(RADIUS_MM, turn / 2, PAPER_MM)))
    heights = mitre.trace_mm[:, 1]
    back = (heights.max() + heights.min()) / 2
    one_ahead, other_ahead = np.array([1.0, 0.0, 0.0]), -np.array([math.cos(turn), math.sin(turn), 0.0])
    outside_one = np.array([0.0, -1.0, 0.0])
    outside_other = np.array([math.sin(turn), -math.cos(turn), 0.0])
    girth = 2 * math.pi * (RADIUS_MM + PAPER_MM / 2)
    across = np.linspace(-girth / 2, girth / 2, 721)
    flat, mirror = (
        np.column_stack([x, np.interp(x, mitre.trace_mm[:, 0], heights, period=girth)])
        for x in (across, -across)
    )
    one = round_pipe(flat, one_ahead, outside_one, -back * one_ahead)
    other = round_pipe(mirror, other_ahead, outside_other, -back * other_ahead)
    normal = np.array([math.cos(turn / 2), math.sin(turn / 2), 0.0])
    assert np.abs(one @ normal).max() < 0.02
    assert np.abs(other @ normal).max() < 0.02
    assert np.linalg.norm(one - other, axis=1).max() < 0.03
    assert np.ptp(mitre.trace_mm[:, 0]) == pytest.approx(girth, abs=1e-3)


def test_the_square_edge_of_a_mitre_wrap_is_a_straight_line_as_long_as_the_girth() -> None:
    group = MitreGroup(0.3, RADIUS_MM * math.tan(0.3), ("A1",), 2)
    mitre = read_mitre(sheet_of_mitre(group, mitre_wrap(RADIUS_MM, 0.3, PAPER_MM)))
    assert abs(mitre.square_mm[:, 1]).min() == pytest.approx(0, abs=1e-3)
    low = mitre.square_mm[np.abs(mitre.square_mm[:, 1]) < 1e-3]
    girth = 2 * math.pi * (RADIUS_MM + PAPER_MM / 2)
    assert np.ptp(mitre.trace_mm[:, 0]) == pytest.approx(girth, abs=1e-3)
    assert np.ptp(low[:, 0]) > girth
