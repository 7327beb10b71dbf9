"""Rails laid out in space, against rotations of an independent library and against laws."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from templates_core.errors import InputError
from templates_core.jobs.job import CornerSpec, RailSpec, RunSpec, Towards
from templates_core.paths.rail_path import RailPath, lay_out

HAIR_MM = 1e-7


def rail(
    runs: Sequence[RunSpec | float], corners: Sequence[CornerSpec], closed: bool = False, quantity: int = 1
) -> RailSpec:
    specs = [
        run if isinstance(run, RunSpec) else RunSpec(f"rail A, run {n}", run) for n, run in enumerate(runs, 1)
    ]
    return RailSpec("A", quantity, tuple(specs), tuple(corners), closed)


def corner(
    turn: float | None = None, roll: float | None = None, towards: Towards | None = None, n: int = 1
) -> CornerSpec:
    return CornerSpec(
        f"rail A, corner {n}",
        None if turn is None else math.radians(turn),
        None if roll is None else math.radians(roll),
        towards,
    )


def run(length: float, pitch: float | None = None, heading: float | None = None, n: int = 2) -> RunSpec:
    return RunSpec(
        f"rail A, run {n}",
        length,
        None if pitch is None else math.radians(pitch),
        None if heading is None else math.radians(heading),
    )


def of_points(points: Sequence[Sequence[float]], closed: bool = False) -> RailSpec:
    return RailSpec("A", 1, (), (), closed, tuple((float(x), float(y), float(z)) for x, y, z in points))


def turns(path: RailPath) -> list[float]:
    return [math.degrees(c.turn_rad) for c in path.corners]


def rolls(path: RailPath) -> list[float]:
    return [math.degrees(c.roll_rad) for c in path.corners]


def faults_of(spec: RailSpec) -> list[str]:
    with pytest.raises(InputError) as caught:
        lay_out(spec)
    return [str(fault) for fault in caught.value.faults]


def test_a_stair_rail_that_keeps_turning_the_same_way() -> None:
    path = lay_out(rail([900, 2650, 600], [corner(32.7), corner(118)]))
    assert [math.degrees(r.pitch_rad) for r in path.runs] == pytest.approx([0, 32.7, 29.3])
    assert math.degrees(path.runs[2].heading_rad) == pytest.approx(180)
    assert path.points_mm[1] == pytest.approx([900, 0, 0])
    assert path.points_mm[2] == pytest.approx(
        [900 + 2650 * math.cos(math.radians(32.7)), 0, 2650 * math.sin(math.radians(32.7))]
    )
    assert path.warnings == (
        "rail A, corner 2: no roll or side given; "
        "taken to keep turning the same way as the corner before (roll 0)",
    )


def test_a_first_corner_with_no_side_is_told_where_level_matters() -> None:
    one = lay_out(rail([run(900, pitch=20, n=1), 900], [corner(30)]))
    assert one.warnings == ("rail A, corner 1: no roll or side given; taken to turn up",)
    two = lay_out(rail([900, 900, 900, 900], [corner(30), corner(30), corner(30, towards=Towards.LEFT)]))
    assert two.warnings == (
        "rail A, corners 1, 2: no roll or side given; corner 1 is taken to turn up, "
        "each later one is taken to keep turning the same way as the corner before (roll 0)",
    )


def test_an_s_comes_back_to_level() -> None:
    path = lay_out(rail([500, 1000, 500], [corner(30), corner(30, roll=180)]))
    assert path.runs[2].direction == pytest.approx([1, 0, 0])
    assert path.warnings == ()


@pytest.mark.parametrize(
    ("towards", "end"),
    [(Towards.UP, (0, 1)), (Towards.DOWN, (0, -1)), (Towards.LEFT, (1, 0)), (Towards.RIGHT, (-1, 0))],
)
def test_the_sides_are_those_of_a_walker_heading_along_x(towards: Towards, end: tuple[int, int]) -> None:
    path = lay_out(rail([100, 100], [corner(90, towards=towards)]))
    assert path.points_mm[2] == pytest.approx([100, 100 * end[0], 100 * end[1]], abs=HAIR_MM)


def test_a_first_roll_goes_with_the_clock_from_up() -> None:
    path = lay_out(rail([100, 100], [corner(90, roll=90)]))
    assert path.points_mm[2] == pytest.approx([100, -100, 0], abs=HAIR_MM)
    assert rolls(path) == pytest.approx([90])


def test_a_roll_of_90_after_a_turn_to_the_left_climbs() -> None:
    """Left is nine o'clock looking forward; a quarter turn with the clock from there is twelve."""
    path = lay_out(rail([100, 100, 100], [corner(90, towards=Towards.LEFT), corner(90, roll=90)]))
    assert path.points_mm[3] == pytest.approx([100, 100, 100], abs=HAIR_MM)


def test_left_on_a_slope_leaves_level() -> None:
    path = lay_out(rail([run(100, pitch=40, n=1), 100], [corner(90, towards=Towards.LEFT)]))
    assert path.runs[1].direction == pytest.approx([0, 1, 0], abs=1e-12)


def test_a_hoop_from_a_plumb_run() -> None:
    spec = rail([run(900, pitch=90, n=1), 1200, 900], [corner(90), corner(90)])
    assert lay_out(spec).points_mm == pytest.approx(
        np.array([(0, 0, 0), (0, 0, 900), (1200, 0, 900), (1200, 0, 0)]), abs=HAIR_MM
    )


def test_a_plumb_run_keeps_the_heading_carried_to_it() -> None:
    spec = rail([run(100, heading=90, n=1), run(100, pitch=90), run(100, pitch=0)], [corner(), corner()])
    path = lay_out(spec)
    assert path.points_mm[3] == pytest.approx([0, 200, 100], abs=HAIR_MM)
    assert rolls(path)[1] == pytest.approx(180)


def test_towards_on_a_plumb_run_is_a_fault() -> None:
    spec = rail([run(900, pitch=90, n=1), 1200], [corner(90, towards=Towards.LEFT)])
    assert faults_of(spec) == [
        "rail A, corner 1: the run before it is plumb, so it has no side called left; "
        "give its roll, or the pitch and heading of the run after it"
    ]


def test_a_corner_follows_from_two_runs() -> None:
    """Round a landing: up at 30°, level to the left, up at 30° going back."""
    spec = rail(
        [run(1000, pitch=30, n=1), run(500, 0, 90), run(1000, 30, 180, n=3)],
        [corner(n=1), corner(towards=Towards.LEFT, n=2)],
    )
    path = lay_out(spec)
    assert turns(path) == pytest.approx([90, 90])
    assert path.warnings == ()


def test_a_turn_and_the_pitch_after_it_agree_to_a_tenth_of_a_degree() -> None:
    good = rail([500, run(2000, pitch=32.735)], [corner(32.7)])
    assert turns(lay_out(good)) == pytest.approx([32.735])
    assert "turn of 32.5°" in faults_of(rail([500, run(2000, pitch=32.735)], [corner(32.5)]))[0]


def test_a_slope_written_as_the_inside_angle_shows_both_readings() -> None:
    spec = rail([500, run(2000, pitch=32.7)], [corner(180 - 32.7)])
    assert faults_of(spec) == [
        "rail A, corner 1: it gives inside angle 32.7°, a turn of 147.3°, but the runs either side make "
        "inside angle 147.3°, a turn of 32.7°; the slope was given as the inside angle: "
        "write inside_angle = 147.3 or turn = 32.7"
    ]


def test_contradictions_are_all_told_at_once() -> None:
    spec = rail(
        [500, run(900, 0, 90), run(900, 0, 180, n=3), run(900, 0, 270, n=4), 100, 100],
        [
            corner(90, towards=Towards.RIGHT, n=1),
            corner(roll=90, n=2),
            corner(80, n=3),
            corner(n=4),
            corner(190, n=5),
        ],
    )
    found = faults_of(spec)
    assert [text.split(":")[0] for text in found] == [f"rail A, corner {n}" for n in (1, 3, 4, 5)]
    assert "said to turn right" in found[0]
    assert "nothing says how much it turns" in found[2]
    assert "makes no corner" in found[3]


def test_a_stated_roll_must_agree_with_the_runs() -> None:
    spec = rail([500, run(900, 0, 90), run(900, 0, 180, n=3)], [corner(), corner(roll=90, n=2)])
    assert "its roll is given as 90°, but the runs either side make it 0°" in faults_of(spec)[0]


def test_a_pitch_that_a_full_corner_contradicts() -> None:
    spec = rail([500, run(900, pitch=10)], [corner(90, towards=Towards.LEFT)])
    assert "pitch of 0°, but rail A, run 2 gives 10°" in faults_of(spec)[0]


def test_runs_in_line_and_doubling_back() -> None:
    assert "in line" in faults_of(rail([500, run(500, pitch=0)], [corner()]))[0]
    assert "doubles straight back" in faults_of(rail([500, run(500, 0, 180)], [corner()]))[0]
    assert "are the same" in faults_of(of_points([(0, 0, 0), (0, 0, 0), (1, 0, 0)]))[0]


def test_counts_and_lengths() -> None:
    assert "3 runs and 1 corners" in faults_of(rail([1, 2, 3], [corner(90)]))[0]
    assert "as many corners as runs" in faults_of(rail([1, 2, 3], [corner(90)], closed=True))[0]
    assert "at least three" in faults_of(rail([1, 2], [corner(90)] * 2, closed=True))[0]
    assert len(faults_of(rail([-1, 0, math.nan], [corner(90)] * 2))) == 3


@pytest.mark.parametrize("state_last", [True, False])
def test_a_rectangle_closes(state_last: bool) -> None:
    last = corner(90, n=4) if state_last else corner(n=4)
    spec = rail([300, 200, 300, 200], [corner(90, towards=Towards.LEFT), corner(90), corner(90), last], True)
    path = lay_out(spec)
    assert path.misclosure is not None
    assert path.misclosure.position_mm == pytest.approx(0, abs=HAIR_MM)
    assert path.misclosure.direction_rad == pytest.approx(0, abs=1e-12)
    assert path.misclosure.twist_rad == 0
    assert rolls(path)[0] == pytest.approx(0, abs=1e-9)
    assert path.points_mm.shape == (4, 3)
    assert not any("misses" in text for text in path.warnings)


def test_a_ring_that_does_not_close_says_by_how_much() -> None:
    """One side 5 mm long, the last corner 2° over, the first roll 3° from what follows."""
    corners = [corner(90, roll=3), corner(90, roll=0), corner(90, roll=0), corner(92, roll=0)]
    path = lay_out(rail([300, 200, 305, 200], corners, True))
    assert path.misclosure is not None
    assert path.misclosure.position_mm == pytest.approx(5)
    assert math.degrees(path.misclosure.direction_rad) == pytest.approx(2)
    assert math.degrees(path.misclosure.twist_rad) == pytest.approx(3)
    assert path.points_mm[2] == pytest.approx([300, 0, 200], abs=HAIR_MM)
    assert path.warnings == (
        "rail A: the closed path misses its start by 5.0 mm, 2° in direction and 3° in twist",
    )


@pytest.mark.parametrize(
    ("side", "last", "roll", "missed"),
    [
        (330, 90, 0, "30.0 mm, 0° in direction and 0° in twist"),
        (300, 96, 0, "0.0 mm, 6° in direction and 0° in twist"),
        (300, 90, 7, "0.0 mm, 0° in direction and 7° in twist"),
    ],
)
def test_a_ring_that_stays_open_is_refused(side: float, last: float, roll: float, missed: str) -> None:
    corners = [corner(90, roll=roll), corner(90, roll=0), corner(90, roll=0), corner(last, roll=0)]
    assert faults_of(rail([300, 200, side, 200], corners, True)) == [
        f"rail A: the closed path misses its start by {missed}; "
        "correct its lengths or angles, or leave closed out"
    ]


def test_a_skew_ring_of_points_closes_with_any_first_roll_followed() -> None:
    path = lay_out(of_points([(0, 0, 0), (400, 0, 90), (380, 300, -40), (-20, 310, 60)], closed=True))
    assert path.misclosure is not None
    assert path.misclosure.position_mm < HAIR_MM
    again = rail(
        [RunSpec("r", r.length_mm) for r in path.runs],
        [CornerSpec("c", c.turn_rad, c.roll_rad) for c in path.corners],
        True,
    )
    rebuilt = lay_out(again).misclosure
    assert rebuilt is not None
    assert (rebuilt.position_mm, rebuilt.direction_rad, rebuilt.twist_rad) == pytest.approx(
        (0, 0, 0), abs=1e-7
    )


ANGLE = st.floats(-180, 180)
CORNERS = st.lists(st.tuples(st.floats(50, 3000), st.floats(3, 170), ANGLE), min_size=1, max_size=8)


def moving_frame(
    pitch: float, heading: float, corners: Sequence[tuple[float, float, float]]
) -> NDArray[np.float64]:
    """Work points by a walker's own frame: x forward, y left, z up, turned by scipy's rotations.

    Roll turns the walker about x, clockwise looking forward, the turn then lifts the nose about −y.
    """
    frame = Rotation.from_euler("ZY", [heading, -pitch], degrees=True)
    points = [np.zeros(3)]
    for length, turn, roll in corners:
        points.append(points[-1] + frame.apply([length, 0, 0]))
        frame = (
            frame
            * Rotation.from_euler("X", roll, degrees=True)
            * Rotation.from_euler("Y", -turn, degrees=True)
        )
    points.append(points[-1] + frame.apply([500, 0, 0]))
    return np.array(points)


@settings(max_examples=150, derandomize=True, deadline=None)
@given(st.floats(-85, 85), ANGLE, CORNERS)
def test_runs_and_corners_against_a_moving_frame(
    pitch: float, heading: float, corners: list[tuple[float, float, float]]
) -> None:
    runs = [run(length) for length, _, _ in corners] + [run(500)]
    runs[0] = run(corners[0][0], pitch, heading)
    path = lay_out(rail(runs, [corner(turn, roll) for _, turn, roll in corners]))
    assert path.points_mm == pytest.approx(moving_frame(pitch, heading, corners), abs=1e-6)


POINTS = st.lists(st.tuples(*[st.floats(-2000, 2000)] * 3), min_size=3, max_size=9)


def assume_proper(path_points: NDArray[np.float64]) -> None:
    steps = np.diff(path_points, axis=0)
    lengths = np.linalg.norm(steps, axis=1)
    assume(lengths.min() > 20)
    units = steps / lengths[:, None]
    sines = np.linalg.norm(np.cross(units[:-1], units[1:]), axis=1)
    assume(sines.min() > 0.02)
    assume(np.hypot(units[:, 0], units[:, 1]).min() > 0.01)


@settings(max_examples=150, derandomize=True, deadline=None)
@given(POINTS)
def test_points_to_corners_and_back(points: list[tuple[float, float, float]]) -> None:
    given_points = np.array(points)
    assume_proper(given_points)
    path = lay_out(of_points(points))
    assert path.points_mm == pytest.approx(given_points)
    first = path.runs[0]
    runs = [RunSpec("r", r.length_mm) for r in path.runs]
    runs[0] = RunSpec("r", first.length_mm, first.pitch_rad, first.heading_rad)
    again = lay_out(rail(runs, [CornerSpec("c", c.turn_rad, c.roll_rad) for c in path.corners]))
    assert again.points_mm + given_points[0] == pytest.approx(given_points, abs=1e-6)


@settings(max_examples=60, derandomize=True, deadline=None)
@given(POINTS)
def test_a_mirrored_rail_negates_roll(points: list[tuple[float, float, float]]) -> None:
    assume_proper(np.array(points))
    path, mirrored = lay_out(of_points(points)), lay_out(of_points([(x, -y, z) for x, y, z in points]))
    assert turns(mirrored) == pytest.approx(turns(path))
    for roll, other in zip(rolls(path), rolls(mirrored), strict=True):
        assert math.remainder(roll + other, 360) == pytest.approx(0, abs=1e-6)
