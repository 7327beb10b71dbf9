"""Fit-up sizes, tape checks, heel lines and diagonals, measured again on a rail put together in space."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from templates_core.elbows.corners import Corner
from templates_core.fitting_up.diagonals import HEEL, LEFT, RIGHT, THROAT, TOP
from templates_core.fitting_up.fit_up import FitUp
from templates_core.fitting_up.tack_order import Action
from templates_core.fitting_up.tape_checks import round_length_mm
from templates_core.fittings import StockElbow
from templates_core.jobs.job import CornerSpec, EndKind, EndSpec, Joint, RailSpec, RunSpec
from templates_core.model import Rail, build_model
from templates_core.tolerances import angular_rad, linear_mm
from tests.elbow_samples import LR90, PIPE, SHOP, job
from tests.saw_and_table import Pose, Table, Vector, rail_start, skin
from tests.settings import seeded

R = PIPE.radius_mm
FINE = 0.02
"""Step of points over the skin [rad]: they miss its outermost point by under 0.02 mm."""


def spec(
    turns: list[tuple[float, float]], runs: list[float], pitch: float = 0.0, mitres: tuple[int, ...] = ()
) -> RailSpec:
    corners = tuple(
        CornerSpec(
            f"rail A, corner {n}",
            math.radians(turn),
            math.radians(roll),
            by=Joint.MITRE if n in mitres else Joint.ELBOW,
        )
        for n, (turn, roll) in enumerate(turns, 1)
    )
    made = [RunSpec(f"rail A, run {n}", length) for n, length in enumerate(runs, 1)]
    made[0] = replace(made[0], pitch_rad=math.radians(pitch))
    return RailSpec("A", 1, tuple(made), corners)


FLAT = spec([(90, 0), (118, 180), (32.7, 0), (90, 0)], [700, 900, 800, 1200, 500], pitch=20)
SKEW = spec([(90, 40), (118, 75), (32.7, -120), (50, 10)], [700, 900, 800, 1200, 500], pitch=20, mitres=(4,))
MITRED = spec([(48, 108), (50, 157), (70, -145), (36, -102)], [700, 900, 800, 1200, 500], 20, (1, 2, 3, 4))
ENDED = replace(
    SKEW,
    start=(EndSpec("start", EndKind.SLEEVE, 60, insertion_mm=25),),
    end=(EndSpec("end", EndKind.PLATE, 8, gap_mm=2),),
)
LONG_ENDED = replace(LR90, tangent_a_mm=6, tangent_b_mm=4, centre_to_end_mm=63.15)
HOOP = spec([(90, 0), (90, 0)], [600, 800, 600])


def made(rail: RailSpec, tolerance: str = "", elbow: StockElbow = LR90) -> Rail:
    return build_model(replace(job(rail, elbows=(elbow,)), tolerance=tolerance)).rails[0]


def on_table(rail: Rail) -> Table:
    table = Table(rail_start(rail.path), SHOP.root_gap_mm)
    return table.put_together(rail.path, rail.corners, rail.members)


def at(pose: Pose, along: float = 0.0, left: float = 0.0, throat: float = 0.0) -> Vector:
    return np.asarray(pose.at + pose.frame.apply([along, left, throat]))


def apart(one: Vector, two: Vector) -> float:
    return float(np.linalg.norm(one - two))


def pose_before(table: Table, rail: Rail, corner: Corner) -> Pose:
    """The end of the pipe before a corner, z to the corner's throat."""
    before, _ = rail.path.runs_at(corner.number)
    return table.pipes[before.number][1].rolled(corner.roll_rad)


def pose_after(table: Table, rail: Rail, corner: Corner) -> Pose:
    _, after = rail.path.runs_at(corner.number)
    return table.pipes[after.number][0]


@pytest.mark.parametrize("rail_spec", [FLAT, SKEW, HOOP])
def test_tape_checks_are_what_a_tape_reads_between_the_marks(rail_spec: RailSpec) -> None:
    rail = made(rail_spec)
    table = on_table(rail)
    for corner, check in zip(rail.corners, rail.fit_up.tape_checks, strict=True):
        one, two = pose_before(table, rail, corner), pose_after(table, rail, corner)
        for side in (R, -R):
            read = apart(at(one, -check.along_mm, side), at(two, check.along_mm, side))
            assert read == pytest.approx(check.apart_mm, abs=1e-6)


@pytest.mark.parametrize("elbow", [LR90, LONG_ENDED], ids=["no tangents", "tangents"])
@pytest.mark.parametrize("rail_spec", [FLAT, SKEW])
def test_the_change_per_degree_is_what_turning_one_joint_does(rail_spec: RailSpec, elbow: StockElbow) -> None:
    """All beyond a joint turned by a hundredth of a degree about the joint's middle, marks and all."""
    rail = made(rail_spec, elbow=elbow)
    table = on_table(rail)
    small = math.radians(0.01)
    for corner, check in zip(rail.corners, rail.fit_up.tape_checks, strict=True):
        one, two = pose_before(table, rail, corner), pose_after(table, rail, corner)
        first, second = at(one, -check.along_mm, R), at(two, check.along_mm, R)
        assert [joint.joint for joint in check.joints] == list(corner.joints)
        for joint in check.joints:
            hinge = table.joints[joint.joint].at
            more = Rotation.from_rotvec(-small * one.frame.apply([0, 1, 0]))
            moved = hinge + more.apply(second - hinge)
            change = (apart(first, moved) - apart(first, second)) / small
            assert change == pytest.approx(-joint.mm_per_rad, rel=1e-3)


def test_the_marks_are_set_as_far_along_as_both_pipes_go_in_round_lengths() -> None:
    rail = made(FLAT)
    pipes = [member.length_mm for member in rail.members]
    for place, check in enumerate(rail.fit_up.tape_checks):
        short = min(pipes[place], pipes[place + 1])
        assert short - 50 < check.along_mm <= short
        assert check.along_mm % 50 == 0
    assert [round_length_mm(length, "mm") for length in (0, 9.9, 99, 149.9, 5000)] == [0, 0, 90, 100, 1000]
    assert [round_length_mm(25.4 * inch, "in") / 25.4 for inch in (3.9, 4.9, 99)] == [3.5, 4, 36]


def test_a_square_corner_by_pythagoras() -> None:
    """Equal legs from the work point to the marks: apart by √2 of a leg."""
    (check, _) = made(HOOP).fit_up.tape_checks
    assert check.along_mm == 500
    assert check.apart_mm == pytest.approx(math.sqrt(2) * (57.15 + 2.4 + 500))


@pytest.mark.parametrize("rail_spec", [FLAT, SKEW])
def test_heel_lines_stand_apart_round_the_pipe_as_rolled(rail_spec: RailSpec) -> None:
    rail = made(rail_spec)
    table = on_table(rail)
    assert len(rail.fit_up.rolls) == len(rail.corners) - 1
    for mark, corner in zip(rail.fit_up.rolls, rail.corners[1:], strict=True):
        assert (mark.to_corner, mark.pipe) == (corner.mark, f"A-P{mark.run_number}")
        start = table.pipes[mark.run_number][0].frame
        heel = start.inv().apply(pose_before(table, rail, corner).frame.apply([0, 0, -1]))
        # Looking forward with the first heel down at six, clockwise goes on to the left at nine.
        clockwise = math.atan2(heel[1], -heel[2])
        assert math.remainder(mark.girth_mm / R - clockwise, 2 * math.pi) == pytest.approx(0, abs=1e-9)
        assert abs(mark.girth_mm) <= PIPE.girth_mm / 2 + 1e-9


def test_overall_reaches_to_the_tip_of_a_mitre() -> None:
    """A pipe that doubles back by 120°: beyond the work point stands r·tan 60°."""
    rail = made(spec([(120, 0)], [1000, 600], mitres=(1,)))
    assert rail.fit_up.overall.length.length_mm == pytest.approx(1000 + R * math.sqrt(3))


@pytest.mark.parametrize("rail_spec", [FLAT, SKEW, HOOP, ENDED])
def test_sizes_along_each_run(rail_spec: RailSpec) -> None:
    rail = made(rail_spec)
    table = on_table(rail)
    for sizes, run in zip(rail.fit_up.runs, rail.path.runs, strict=True):
        start, end = table.pipes[run.number]
        assert sizes.work_points.length_mm == run.length_mm
        assert sizes.end_to_end is not None
        assert sizes.end_to_end.length_mm == pytest.approx(apart(start.at, end.at))
        faces = [start.at, end.at]
        mitred = False
        for corner in rail.corners:
            before, after = rail.path.runs_at(corner.number)
            if corner.pieces and after.number == run.number:
                faces[0] = table.pieces[corner.pieces[-1].mark][1].at
            if corner.pieces and before.number == run.number:
                faces[1] = table.pieces[corner.pieces[0].mark][0].at
            mitred = mitred or (not corner.pieces and run.number in (before.number, after.number))
        assert (sizes.tip_to_tip is not None) is mitred
        if not mitred:
            assert sizes.face_to_face is not None
            assert sizes.face_to_face.length_mm == pytest.approx(apart(*faces))


def test_heel_to_heel_where_both_corners_stand_square_or_past_it() -> None:
    """The hoop: 800 between work points is 800 + OD over the heels; a leg, 600 + r from its end."""
    heels = [sizes.heel_to_heel for sizes in made(HOOP).fit_up.runs]
    assert [None if one is None else one.length_mm for one in heels] == pytest.approx(
        [600 + R, 800 + 2 * R, 600 + R]
    )
    assert [sizes.heel_to_heel is None for sizes in made(FLAT).fit_up.runs] == [
        False,
        False,
        True,
        True,
        False,
    ]


def test_heel_to_heel_over_the_skin() -> None:
    for rail_spec in (FLAT, SKEW):
        rail = made(rail_spec)
        elbows = replace(on_table(rail), pipes={})
        run, sizes = rail.path.runs[1], rail.fit_up.runs[1]
        reaches = [
            (skin(elbows, corner.pieces, R, FINE) @ (way * run.direction)).max()
            for corner, way in ((rail.corners[0], -1), (rail.corners[1], 1))
        ]
        assert sizes.heel_to_heel is not None
        assert sizes.heel_to_heel.length_mm == pytest.approx(sum(reaches), abs=0.03)


@pytest.mark.parametrize("flat", [True, False])
def test_overall_is_the_box_round_the_skin(flat: bool) -> None:
    rail = made(FLAT if flat else spec([(90, 40), (118, 75), (32.7, -120)], [700, 900, 800, 1200], pitch=20))
    points = skin(on_table(rail), [piece for corner in rail.corners for piece in corner.pieces], R, FINE)
    longest = max(rail.path.runs, key=lambda run: run.length_mm)
    if flat:
        x, z = longest.direction, rail.path.corners[0].axis
    else:
        x, z = (
            np.array([math.cos(longest.heading_rad), math.sin(longest.heading_rad), 0]),
            np.array([0, 0, 1]),
        )
    overall = rail.fit_up.overall
    assert overall.flat is flat
    for size, way in ((overall.length, x), (overall.width, np.cross(z, x)), (overall.height, z)):
        assert size.length_mm == pytest.approx(np.ptp(points @ way), abs=0.03)


def test_overall_of_a_mitred_frame_and_of_a_pipe_between_plates() -> None:
    """A picture frame mitred at its corners is its work points and an OD; plates end a pipe's length."""
    square = ((0.0, 0.0, 0.0), (700.0, 0.0, 0.0), (700.0, 400.0, 0.0), (0.0, 400.0, 0.0))
    corners = tuple(CornerSpec(f"corner {n}", by=Joint.MITRE) for n in range(4))
    overall = made(RailSpec("A", 1, (), corners, True, square)).fit_up.overall
    sizes = [overall.length.length_mm, overall.width.length_mm, overall.height.length_mm]
    assert sizes == pytest.approx([700 + 2 * R, 400 + 2 * R, 2 * R])
    plate = (EndSpec("end", EndKind.PLATE, 6),)
    one = made(RailSpec("A", 1, (RunSpec("run", 1000),), (), start=plate, end=plate)).fit_up.overall
    assert (one.length.length_mm, one.width.length_mm) == pytest.approx((1000, 2 * R))


LINES = {HEEL: (0, -1), THROAT: (0, 1), LEFT: (-1, 0), RIGHT: (1, 0)}
"""To the left and to the throat in a pose, which has the throat uppermost; heel up, left is right."""


def diagonal_ends(rail: Rail, table: Table, number: int) -> tuple[Vector, Vector]:
    """Where the tape of a diagonal is held, on the table."""
    diagonal = rail.fit_up.diagonals[number]
    start, end = table.pipes[diagonal.from_run][0], table.pipes[diagonal.to_run][1]
    if diagonal.from_line == TOP:
        top = R * rail.path.corners[0].axis
        return start.at + top, end.at + top
    assert diagonal.from_line is not None and diagonal.to_line is not None
    if diagonal.from_run == 1:
        start = start.rolled(rail.corners[0].roll_rad)
    if diagonal.to_run <= len(rail.corners):
        end = end.rolled(rail.corners[diagonal.to_run - 1].roll_rad)
    before = rail.corners[diagonal.from_run - 2] if diagonal.from_run > 1 else None
    after = rail.corners[diagonal.to_run - 1] if diagonal.to_run <= len(rail.corners) else None
    return _line_end(start, diagonal.from_line, before, 1), _line_end(end, diagonal.to_line, after, -1)


def _line_end(pose: Pose, line: str, corner: Corner | None, way: int) -> Vector:
    """Where a line of a pipe meets its end: square, or a mitre's plane, which leans back at the throat."""
    left, throat = LINES[line]
    tilt = 0.0 if corner is None or corner.mitre is None else corner.turn_rad / 2
    normal = np.array([math.cos(tilt), 0, -way * math.sin(tilt)])
    along = -normal[2] * R * throat / normal[0]
    return at(pose, along, R * left, R * throat)


def centreline(rail: Rail, table: Table) -> Vector:
    """Points every few millimetres along the middle of all parts."""
    points = []
    for start, end in table.pipes.values():
        points.append(start.at + np.linspace(0, 1, 400)[:, None] * (end.at - start.at))
    for corner in rail.corners:
        for piece in corner.pieces:
            start, radius = table.pieces[piece.mark][0], piece.elbow.bend_radius_mm
            assert radius is not None
            for sweep in np.linspace(0, piece.angle_rad, 30):
                points.append(at(start, radius * math.sin(sweep), 0, radius * (1 - math.cos(sweep)))[None])
    return np.vstack(points)


@pytest.mark.parametrize("rail_spec", [FLAT, SKEW, HOOP, MITRED, ENDED])
def test_diagonals_are_what_a_tape_reads_and_nothing_is_in_its_way(rail_spec: RailSpec) -> None:
    rail = made(rail_spec)
    table = on_table(rail)
    middle = centreline(rail, table)
    reachable = 0
    for number, diagonal in enumerate(rail.fit_up.diagonals):
        if diagonal.length_mm is None:
            continue
        reachable += 1
        one, two = diagonal_ends(rail, table, number)
        assert diagonal.length_mm == pytest.approx(apart(one, two), abs=1e-6)
        tape = one + np.linspace(0, 1, 200)[:, None] * (two - one)
        clear = np.linalg.norm(tape[:, None] - middle, axis=2).min()
        assert clear > R - 0.1
    assert reachable >= len(rail.corners)


def test_which_diagonals_there_are() -> None:
    def pairs(rail: RailSpec) -> list[tuple[int, int]]:
        return [(one.from_run, one.to_run) for one in made(rail).fit_up.diagonals]

    assert pairs(HOOP) == [(1, 2), (2, 3), (1, 3)]
    assert pairs(FLAT) == [(1, 2), (2, 3), (3, 4), (4, 5), (1, 5)]
    assert pairs(SKEW) == [(1, 2), (2, 3), (3, 4), (4, 5), (1, 3), (2, 4), (3, 5), (1, 5)]
    square = ((0.0, 0.0, 0.0), (700.0, 0.0, 0.0), (700.0, 400.0, 0.0), (0.0, 400.0, 0.0))
    ring = RailSpec("A", 1, (), (), True, square)
    assert pairs(ring) == [(1, 2), (2, 3), (3, 4), (4, 1)]
    across = made(ring).fit_up.diagonals[0]
    assert across.work_points_mm == pytest.approx(math.hypot(700, 400))
    # From the end of the weld after one corner to the end of the weld before the opposite one.
    assert across.length_mm == pytest.approx(math.hypot(700 - 57.15 - 2.4, 400 - 57.15 - 2.4))


def test_joints_come_in_order_and_the_last_of_a_corner_brings_the_tape() -> None:
    rail = made(SKEW)
    assert [(joint.marks[0], joint.parts, joint.tape_checks) for joint in rail.fit_up.joints] == [
        ("A1/1", ("A-P1", "A1"), ()),
        ("A1/2", ("A1", "A-P2"), ("A1",)),
        ("A2/1", ("A-P2", "A2a"), ()),
        ("A2/2", ("A2a", "A2b"), ()),
        ("A2/3", ("A2b", "A-P3"), ("A2",)),
        ("A3/1", ("A-P3", "A3"), ()),
        ("A3/2", ("A3", "A-P4"), ("A3",)),
        ("A4/1", ("A-P4", "A-P5"), ("A4",)),
    ]
    steps = rail.fit_up.steps
    assert [step.number for step in steps] == list(range(1, 4 * 8 + 1))
    assert [step.action for step in steps[:4]] == [
        Action.TACK,
        Action.CHECK,
        Action.OPPOSITE,
        Action.CHECK_AGAIN,
    ]
    assert [step.joint.marks[0] for step in steps[::4]] == [joint.marks[0] for joint in rail.fit_up.joints]


def test_a_ring_closes_with_its_last_joint() -> None:
    square = ((0.0, 0.0, 0.0), (700.0, 0.0, 0.0), (700.0, 400.0, 0.0), (0.0, 400.0, 0.0))
    joints = made(RailSpec("A", 1, (), (), True, square)).fit_up.joints
    assert [joint.parts for joint in joints][-2:] == [("A-P4", "A4"), ("A4", "A-P1")]
    assert joints[0].parts == ("A-P1", "A1")


def test_a_ring_whose_elbows_meet_across_its_start() -> None:
    """Both short sides are just two elbows and a gap: a hoop of four elbows and two pipes."""
    side = 2 * 57.15 + 2.4
    hoop = ((0.0, 0.0, 0.0), (side, 0.0, 0.0), (side, 400.0, 0.0), (0.0, 400.0, 0.0))
    joints = made(RailSpec("A", 1, (), (), True, hoop)).fit_up.joints
    assert [(joint.marks, joint.parts, joint.tape_checks) for joint in joints] == [
        (("A1/1", "A4/2"), ("A4", "A1"), ("A4",)),
        (("A1/2",), ("A1", "A-P2"), ("A1",)),
        (("A2/1",), ("A-P2", "A2"), ()),
        (("A2/2", "A3/1"), ("A2", "A3"), ("A2",)),
        (("A3/2",), ("A3", "A-P4"), ("A3",)),
        (("A4/1",), ("A-P4", "A4"), ()),
    ]


# EN ISO 13920, second-hand: plus or minus by length up to 120, 400, 1000, 2000, 4000, 8000 mm.
LINEAR = {
    "A": (1, 1, 2, 3, 4, 5),
    "B": (2, 2, 3, 4, 6, 8),
    "C": (3, 4, 6, 8, 11, 14),
    "D": (4, 7, 9, 12, 16, 21),
}
# In minutes, by the shorter leg up to 400, up to 1000, over.
ANGULAR = {"A": (20, 15, 10), "B": (45, 30, 20), "C": (60, 45, 30), "D": (90, 75, 60)}


@pytest.mark.parametrize("name", "ABCD")
def test_tolerance_classes_transcribed(name: str) -> None:
    limits = (120, 400, 1000, 2000, 4000, 8000)
    assert tuple(linear_mm(name, limit) for limit in limits) == LINEAR[name]
    assert tuple(linear_mm(name, limit - 0.01) for limit in limits) == LINEAR[name]
    over = tuple(linear_mm(name, limit + 0.01) for limit in limits[:-1])
    assert over == LINEAR[name][1:]
    minutes = tuple(math.degrees(angular_rad(name, leg)) * 60 for leg in (400, 1000, 1000.1))
    assert minutes == pytest.approx(ANGULAR[name])


def test_tolerances_grow_with_length_and_with_class() -> None:
    lengths = (20, 100, 300, 900, 1500, 3000, 7000, 11000, 15000, 19000, 30000)
    table = np.array([[linear_mm(name, length) for length in lengths] for name in "ABCD"])
    assert (np.diff(table, axis=1) >= 0).all()
    assert (np.diff(table, axis=0) >= 0).all()


def test_45_minutes_are_13_mm_in_a_metre() -> None:
    """As the standard's own column in millimetres a metre has it (second-hand)."""
    assert 1000 * math.tan(angular_rad("B", 400)) == pytest.approx(13, abs=0.1)


def test_a_job_that_names_a_class_gets_a_tolerance_on_every_size() -> None:
    rail = made(FLAT, "B")
    fit = rail.fit_up
    for sizes in fit.runs:
        assert sizes.work_points.tolerance_mm == linear_mm("B", sizes.work_points.length_mm)
    assert fit.overall.height.tolerance_mm == 2
    check = fit.tape_checks[0]
    assert check.angle_tolerance_rad == pytest.approx(math.radians(0.5))
    assert check.apart_tolerance_mm == pytest.approx(
        math.radians(0.5) * min(j.mm_per_rad for j in check.joints)
    )
    assert all(one.tolerance_mm is not None for one in fit.diagonals if one.length_mm is not None)
    assert _tolerances(made(FLAT).fit_up) == {None}


def _tolerances(fit: FitUp) -> set[float | None]:
    return {
        *(sizes.work_points.tolerance_mm for sizes in fit.runs),
        *(one.tolerance_mm for one in fit.diagonals),
        *(check.apart_tolerance_mm for check in fit.tape_checks),
    }


@seeded(40)
@given(
    st.lists(st.tuples(st.floats(25, 150), st.floats(-180, 180)), min_size=2, max_size=5),
    st.floats(700, 2000),
)
def test_any_rails_tape_checks_on_the_table(turns: list[tuple[float, float]], length: float) -> None:
    rail = made(spec(turns, [length] * (len(turns) + 1)))
    table = on_table(rail)
    for corner, check in zip(rail.corners, rail.fit_up.tape_checks, strict=True):
        one, two = pose_before(table, rail, corner), pose_after(table, rail, corner)
        read = apart(at(one, -check.along_mm, R), at(two, check.along_mm, R))
        assert read == pytest.approx(check.apart_mm, abs=1e-6)


def test_a_mark_is_never_set_past_the_short_side_of_a_mitred_pipe() -> None:
    """A pipe of 302 on its centreline whose far end is mitred: its short side has no 300 to mark."""
    rail = made(
        spec([(90, 0), (40, 100)], [700, 302 + 57.15 + 2.4 + 1.2 / math.cos(math.radians(20)), 700], 0, (2,))
    )
    assert rail.members[1].length_mm == pytest.approx(302)
    assert rail.members[1].short_mm < 300
    assert [check.along_mm for check in rail.fit_up.tape_checks] == [250, 250]
