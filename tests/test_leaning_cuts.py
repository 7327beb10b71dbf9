"""Leaning cuts against root finding and mesh sections, in space, as made at the bench, and refused."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from typing import Literal

import numpy as np
import pytest
import shapely
import trimesh
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from templates_core.elbows.groups import mitre_groups
from templates_core.elbows.leaning_cuts import LeaningCut, lean_shape, leaning_lines, most_lean_rad
from templates_core.elbows.leaning_layout import face_to_cut_rad, lay_out_leaning
from templates_core.errors import GeometryError, InputError
from templates_core.fitting_up.leaning_metal import edge_point_mm, leaning_rims
from templates_core.fitting_up.metal import runs_of_metal
from templates_core.paths.leans import ElbowLean
from tests.elbow_samples import BEVELLED, LR90, PIPE
from tests.leaning_samples import BEND_MM, HEAD, TUBE_MM, Wall, model
from tests.settings import seeded
from tests.test_chain import assert_lands

GIRTHS = [math.radians(degrees) for degrees in range(-165, 181, 15)]
CASES = [(40.0, 9.0, 0.0), (40.0, 0.0, -12.0), (52.0, -7.0, 8.0), (33.0, 5.0, 14.0), (60.0, -15.0, -3.0)]


def cut_of(turn: float, pitch: float, yaw: float) -> LeaningCut:
    lean = ElbowLean(math.radians(pitch), math.radians(yaw))
    return LeaningCut(BEVELLED, math.radians(turn), lean, "own")


def plane_of(turn: float, pitch: float, yaw: float) -> tuple[np.ndarray, np.ndarray]:
    """A point of the plane and its normal, from two directions that lie in it: the sides leaning forward."""
    psi = math.radians(turn)
    out, ahead, up = (
        np.array(one)
        for one in ([math.cos(psi), math.sin(psi), 0], [-math.sin(psi), math.cos(psi), 0], [0.0, 0, 1])
    )
    heel = out + math.tan(math.radians(pitch)) * ahead
    side = up + math.tan(math.radians(yaw)) * ahead
    normal = np.cross(side, heel)
    return BEND_MM * out, normal / np.linalg.norm(normal)


def torus_point(phi: float, psi: float) -> np.ndarray:
    rho = BEND_MM + TUBE_MM * math.cos(phi)
    return np.array([rho * math.cos(psi), rho * math.sin(psi), TUBE_MM * math.sin(phi)])


@pytest.mark.parametrize("case", CASES)
def test_lengths_from_the_face_are_those_that_root_finding_gives(case: tuple[float, float, float]) -> None:
    point, normal = plane_of(*case)
    for line in leaning_lines(cut_of(*case), GIRTHS):

        def off(psi: float, phi: float = line.girth_rad) -> float:
            return float((torus_point(phi, psi) - point) @ normal)

        near = math.radians(case[0])
        psi = brentq(off, max(0.0, near - 0.9), near + 0.9)
        rho = BEND_MM + TUBE_MM * math.cos(line.girth_rad)
        assert line.face_mm == pytest.approx(rho * psi, abs=1e-6)
        shoulder = math.asin(BEVELLED.shoulder_mm / rho)
        assert line.shoulder_mm == pytest.approx(rho * (psi - shoulder), abs=1e-6)
        chord = torus_point(line.girth_rad, psi) - torus_point(line.girth_rad, shoulder)
        assert line.chord_mm == pytest.approx(float(np.linalg.norm(chord)), abs=1e-6)


@pytest.mark.parametrize("case", CASES)
def test_the_cut_is_the_section_of_a_fine_mesh(case: tuple[float, float, float]) -> None:
    phi, psi = np.meshgrid(np.linspace(0, 2 * math.pi, 361), np.linspace(-0.6, 2.2, 561), indexing="ij")
    rho = BEND_MM + TUBE_MM * np.cos(phi)
    points = np.stack([rho * np.cos(psi), rho * np.sin(psi), TUBE_MM * np.sin(phi)], axis=-1).reshape(-1, 3)
    at = np.arange(361 * 561).reshape(361, 561)
    corners = [at[:-1, :-1], at[1:, :-1], at[1:, 1:], at[:-1, 1:]]
    a, b, c, d = (one.ravel() for one in corners)
    mesh = trimesh.Trimesh(points, np.vstack([np.column_stack([a, b, c]), np.column_stack([a, c, d])]))
    origin, normal = plane_of(*case)
    section = mesh.section(plane_origin=origin, plane_normal=normal)
    assert section is not None
    lines = [np.array(line) for line in section.discrete]
    edge = shapely.MultiLineString([line[:, :2] for line in lines])
    heights = np.vstack(lines)
    for line in leaning_lines(cut_of(*case), GIRTHS):
        rho_here = BEND_MM + TUBE_MM * math.cos(line.girth_rad)
        found = torus_point(line.girth_rad, line.face_mm / rho_here)
        assert edge.distance(shapely.Point(found[:2])) < 0.05
        assert np.linalg.norm(heights - found, axis=1).min() < 0.6  # the mesh has a point every 0.4 mm


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("face", ["own", "far"])
def test_the_plan_has_the_planes_trace(case: tuple[float, float, float], face: Literal["own", "far"]) -> None:
    """Both faces: laid out from the far one, the elbow is turned over and its plan starts at face B."""
    cut = replace(cut_of(*case), from_face=face)
    layout = lay_out_leaning(cut)
    origin, normal = plane_of(*case)
    r = TUBE_MM
    over = layout.over_mm[len(layout.over_mm) // 3]
    height = math.sqrt(r**2 - (math.hypot(*over) - BEND_MM) ** 2)
    places = [
        (layout.heel_mm, 0.0),
        (layout.throat_mm, 0.0),
        (layout.middle_mm, 0.0),
        (layout.top_mm, r),
        (layout.foot_mm, -r),
        (over, height),
    ]
    for (x, y), z in places:
        # Turned over about the line that bisects the elbow, which exchanges its faces.
        point = np.array([x, y, z]) if face == "own" else np.array([y, x, -z])
        assert (point - origin) @ normal == pytest.approx(0, abs=1e-6)
    assert math.hypot(*layout.heel_mm) == pytest.approx(BEND_MM + r)
    assert math.hypot(*layout.throat_mm) == pytest.approx(BEND_MM - r)
    run = layout.heel_mm - layout.throat_mm
    assert math.atan2(run[1], run[0]) == pytest.approx(layout.trace_rad)
    across = (layout.top_mm - layout.foot_mm) @ np.array(
        [-math.sin(layout.trace_rad), math.cos(layout.trace_rad)]
    )
    assert math.atan2(2 * r, -across) == pytest.approx(layout.bevel_rad)
    assert math.cos(face_to_cut_rad(cut)) == pytest.approx(float(normal[1]))


@pytest.mark.parametrize("hand", [1, -1])
@pytest.mark.parametrize(("up", "left"), [(8, 0), (0, 6), (7, -5), (-6, 4)])
def test_the_end_of_an_elbow_stands_on_its_wall_in_space(hand: int, up: float, left: float) -> None:
    """The elbow placed by its work point and its bend, the wall by what an angle finder reads on it."""
    wall = Wall(50, up, left, gap_mm=3, hand=hand)
    made = model(wall.rail)
    (group,) = made.leaning_groups
    points = []
    for line in leaning_lines(group.cut, GIRTHS):
        rho = BEND_MM + TUBE_MM * math.cos(line.girth_rad)
        points.append(torus_point(line.girth_rad, line.face_mm / rho))
    off = wall.off_wall_mm(wall.in_space(np.array(points)))
    assert off == pytest.approx(np.full(len(points), -3.0), abs=1e-6)
    end = made.rails[0].path.points_mm[-1]
    assert wall.off_wall_mm(end[None]) == pytest.approx([0], abs=1e-9)
    rail = made.rails[0]
    runs = runs_of_metal(rail.path, rail.corners, rail.members)
    (rim,) = leaning_rims(rail.path, rail.corners, runs, TUBE_MM)
    assert np.abs(wall.off_wall_mm(rim.points_mm) + 3).max() < 1e-6


@pytest.mark.parametrize("at_start", [True, False])
def test_a_pipes_edge_stands_on_its_plate_in_space(at_start: bool) -> None:
    """A rail along x: the pipe ends a plate's thickness and a gap short of its outer face, square to it."""
    key = "start" if at_start else "end"
    rail = model(
        f'{key} = {{ kind = "plate", thickness = 8, gap = 2, lean = {{ up = 10, left = 4 }} }}\n'
        "path = [ { run = 1000 } ]"
    ).rails[0]
    outward = np.array([-1.0, 0, 0]) if at_start else np.array([1.0, 0, 0])
    point = np.array([0.0 if at_start else 1000.0, 0, 0])
    up, left = math.tan(math.radians(10)), math.tan(math.radians(4))
    normal = outward - up * np.array([0, 0, 1.0]) - left * np.array([0, 1.0, 0])
    normal /= np.linalg.norm(normal)
    runs = runs_of_metal(rail.path, rail.corners, rail.members)
    (rim,) = leaning_rims(rail.path, rail.corners, runs, TUBE_MM)
    assert (rim.points_mm - point) @ normal == pytest.approx(np.full(len(rim.points_mm), -10.0))
    (member,) = rail.members
    reach = (rim.points_mm @ outward).max() - (rim.points_mm @ outward).min()
    assert member.overall_mm - member.short_mm == pytest.approx(reach, abs=0.01)
    top = edge_point_mm(rail.path, rail.corners, runs, at_start, np.array([0, 0, 1.0]), TUBE_MM)
    assert (top - point) @ normal == pytest.approx(-10)


def test_long_points_of_two_planes_add_up_by_where_they_lie() -> None:
    """Parallel planes leave a pipe as long on every side; those that open to one side make it short there."""
    lean = '{ kind = "open", lean = { up = 10 } }'
    path = "path = [ { run = 1000 } ]"
    reach = TUBE_MM * math.tan(math.radians(10))
    (same,) = model(f"start = {lean}\nend = {lean}\n{path}").rails[0].members
    assert same.short_mm == pytest.approx(1000 - 2 * reach)
    assert same.overall_mm == pytest.approx(1000 + 2 * reach)
    down = lean.replace("up", "down")
    (parallel,) = model(f"start = {down}\nend = {lean}\n{path}").rails[0].members
    assert parallel.short_mm == pytest.approx(1000)


LEANS = st.tuples(st.floats(-9, 9), st.floats(-9, 9)).filter(lambda two: max(map(abs, two)) > 0.5)


@seeded(25)
@given(st.floats(35, 60), LEANS, st.sampled_from(["left", "right", "up", "down"]), st.booleans())
def test_rails_that_end_on_leaning_elbows_land(
    turn: float, lean: tuple[float, float], towards: str, at_start: bool
) -> None:
    """Rebuilt from its parts on the table, the rail comes to the end that its path says, at either end."""
    sides = [("left", "right", lean[0]), ("up", "down", lean[1])]
    words = ", ".join(f"{one if deg > 0 else two} = {abs(deg)}" for one, two, deg in sides if abs(deg) > 0.01)
    key = "start" if at_start else "end"
    made = model(
        f'{key} = [ {{ kind = "wall return", towards = "{towards}", turn = {turn} }}, '
        f'{{ kind = "plate", thickness = 6, gap = 2, lean = {{ {words} }} }} ]\n'
        "path = [ { run = 900 }, { turn = 40, roll = 30 }, { run = 800 } ]"
    )
    (rail,) = made.rails
    assert_lands((rail.path, rail.corners, rail.members))
    assert [member.mark for member in rail.members] == ["A-P1", "A-P2"]
    piece = rail.corners[0 if at_start else -1].pieces[0 if at_start else -1]
    assert piece.loss_mm == 0
    assert piece.cut_end == ("before" if at_start else "after")
    take_out = BEND_MM * math.tan(math.radians(turn) / 2)
    corner = rail.corners[0 if at_start else -1]
    if len(corner.pieces) == 1:
        taken = corner.take_out_before_mm if at_start else corner.take_out_after_mm
        assert taken == pytest.approx(take_out)


def test_other_hands_are_mirrored_and_never_one_group() -> None:
    wall = Wall(50, 8, 5)
    made = model("mirror = true\n" + wall.rail)
    one, other = made.leaning_groups
    assert (one.marks, other.marks) == (("A1",), ("AM1",))
    assert one.cut.lean == ElbowLean(one.cut.lean.pitch_rad, -other.cut.lean.yaw_rad)
    assert one.cut.lean.pitch_rad == other.cut.lean.pitch_rad
    left, right = (
        [line.face_mm for line in leaning_lines(group.cut, girths)]
        for group, girths in ((one, GIRTHS), (other, [-girth for girth in GIRTHS]))
    )
    assert left == pytest.approx(right)


def test_a_flat_rail_whose_lean_lies_in_its_plane_is_turned_over_for_the_other_hand() -> None:
    (group,) = model("quantity = 2\nmirror = true\n" + Wall(50, 0, 5).rail).leaning_groups
    assert group.quantity == 4


def test_mirrored_rails_on_the_same_plane_both_ways_share_a_group() -> None:
    """Two rails of the same hand are cut alike, whatever they are called."""
    text = Wall(50, 8, 5).rail
    second = HEAD[HEAD.index("[[rail]]") :].replace('"A"', '"B"')
    (group,) = model(f"{text}\n{second}{text}").leaning_groups
    assert (group.marks, group.quantity) == (("A1", "B1"), 2)


def test_a_leaning_piece_takes_its_elbow_to_its_farthest_point_and_keeps_a_face() -> None:
    """Its own line is the only one where scrap lies beyond; beside another piece that one is cut first."""
    rails = [Wall(40, 8, 0).rail, "path = [ { run = 900 }, { turn = 25, roll = 0 }, { run = 900 } ]"]
    second = HEAD[HEAD.index("[[rail]]") :].replace('"A"', '"B"')
    made = model(f"{rails[0]}\n{second}{rails[1]}")
    (plan,) = made.elbow_share.plans
    (names,) = plan.copies
    assert sorted(names) == ["A1", "B1"]
    place = names.index("A1")
    assert plan.layout.is_end(place)
    taken = plan.layout.angles_rad[place]
    farthest = max(
        line.face_mm / (BEND_MM + TUBE_MM * math.cos(line.girth_rad))
        for line in leaning_lines(made.leaning_groups[0].cut, [math.radians(d) for d in range(-179, 181)])
    )
    assert farthest < taken < farthest + math.radians(4)
    piece = made.rails[0].corners[0].pieces[0]
    assert (piece.loss_mm, piece.cut_end) == (0, "after")


def test_a_blank_that_shares_a_line_is_named_on_it() -> None:
    wall = Wall(40, 8, 0)
    second = HEAD[HEAD.index("[[rail]]") :].replace('"A"', '"B"')
    other = f"{wall.rail}\n{second}path = [ {{ run = 900 }}, {{ turn = TURN, roll = 0 }}, {{ run = 900 }} ]"
    (plan,) = model(other.replace("TURN", "25")).elbow_share.plans
    exact = math.degrees(plan.elbow.sweep_rad - plan.layout.angles_rad[plan.copies[0].index("A1")])
    shared = model(other.replace("TURN", f"{exact:.4f}"))
    (group,) = shared.cut_groups
    assert group.blanks == ("A1",)
    assert set(group.all_marks) == {"A1", "B1"}
    (leaning,) = shared.leaning_groups
    assert leaning.marks == ("A1",)


def test_the_most_that_a_bend_leans_is_where_its_shape_ends() -> None:
    way = ElbowLean(math.radians(50), 0.0)
    most = most_lean_rad(TUBE_MM, BEND_MM, way)
    lean_shape(TUBE_MM, BEND_MM, way.scaled(most))
    with pytest.raises(GeometryError):
        lean_shape(TUBE_MM, BEND_MM, way.scaled(most + math.radians(0.1)))


@pytest.mark.parametrize(
    ("turn", "lean", "says"),
    [
        (20, "up = 12", "no stock elbow turns 20° to an end that leans 12°"),
        (170, "up = 12", "no stock elbow turns 170° to an end that leans 12°"),
        (45, "throat = 55", "leaves no piece of elbow that can be cut and welded"),
        (45, "heel = 9, left = 4", "the two sides of its lean aren't square to each other there"),
    ],
)
def test_what_no_elbow_can_be_cut_to_is_refused_with_what_would_fit(turn: int, lean: str, says: str) -> None:
    with pytest.raises(InputError) as caught:
        model(
            f'end = {{ kind = "wall return", towards = "left", turn = {turn}, lean = {{ {lean} }} }}\n'
            "path = [ { run = 1000 } ]"
        )
    (fault,) = caught.value.faults
    assert says in str(fault)


def test_the_turns_that_a_refusal_offers_can_be_made() -> None:
    with pytest.raises(InputError) as caught:
        model(Wall(20, 12, 0).rail)
    told = str(caught.value.faults[0])
    given = re.search(r"radius: ([0-9.]+)° to ([0-9.]+)°", told)
    assert given is not None
    least, most = map(float, given.groups())
    for turn in (least, most):
        (group,) = model(Wall(turn, 12, 0).rail).leaning_groups
        assert math.degrees(group.cut.piece_angle_rad) == pytest.approx(turn)
    with pytest.raises(InputError):
        model(Wall(least - 0.2, 12, 0).rail)


def test_a_plumb_end_has_no_top_and_a_straight_rail_no_heel() -> None:
    path = "path = [ { run = 1000 } ]"
    for rail, says in (
        ('end = { kind = "wall return", towards = "down", lean = { up = 5 } }', "plumb, so it has no top"),
        ('end = { kind = "plate", thickness = 6, lean = { heel = 5 } }', "no corner gives it a heel"),
    ):
        with pytest.raises(InputError) as caught:
            model(f"{rail}\n{path}")
        assert says in str(caught.value.faults[0])


def test_a_return_whose_run_is_just_its_elbow_can_not_lean() -> None:
    with pytest.raises(InputError) as caught:
        model(
            'end = { kind = "wall return", towards = "left", run = 57.15, lean = { up = 5 } }\n'
            "path = [ { run = 1000 } ]"
        )
    assert "leave run out" in str(caught.value.faults[0])


def test_a_return_without_a_run_or_a_lean_is_an_elbow_cut_square() -> None:
    made = model('end = { kind = "wall return", towards = "left" }\npath = [ { run = 1000 } ]')
    (rail,) = made.rails
    assert [piece.cut for piece in rail.corners[0].pieces] == [None]
    assert rail.path.points_mm[-1] == pytest.approx([1000, BEND_MM, 0])
    assert not made.leaning_groups


def test_pipe_ends_of_one_tilt_share_a_wrap_with_mitres() -> None:
    made = model(
        'start = { kind = "plate", thickness = 6, lean = { up = 15 } }\n'
        'path = [ { run = 900 }, { turn = 30, towards = "left", by = "mitre" }, { run = 900 } ]'
    )
    (group,) = made.mitre_groups
    assert (group.joints, group.ends) == (("A1/1",), 3)
    assert group.marks == ("A1/1", "A-P1 start")
    (plate,) = group.plates
    # Turning left the heel is on the right; the top lies a quarter turn anticlockwise from it.
    assert plate.long_rad == pytest.approx(-math.pi / 2)
    assert mitre_groups([]) == ()
    assert PIPE.radius_mm == pytest.approx(LR90.radius_mm)
