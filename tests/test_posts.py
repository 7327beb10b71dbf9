"""Posts and mid rails, put together in space by other code: they touch what they sit on and enter nothing."""

from __future__ import annotations

import math
import time
from itertools import pairwise

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from templates_core.errors import InputError
from templates_core.model import Model
from templates_core.pipes.cut_pipe import CutPipe
from tests.post_jobs import HEAD, SLOPE, made

Points = NDArray[np.float64]
TOUCH_MM = 0.05
UP = np.array([0.0, 0.0, 1.0])


def pipes_of(model: Model) -> dict[str, CutPipe]:
    return {pipe.mark: pipe for pipe in model.cut_pipes}


class Walker:
    """Walks the path of SLOPE by rotations: x forward, z up."""

    def __init__(self) -> None:
        level = Rotation.from_euler("Z", 20, degrees=True)
        pitched = level * Rotation.from_euler("Y", -math.degrees(math.atan2(1100, 1700)), degrees=True)
        # 40° to the left about the upright of the pitched run, seen walking forward
        turned = pitched * Rotation.from_euler("Z", 40, degrees=True)
        self.ways = [frame.apply([1.0, 0.0, 0.0]) for frame in (level, pitched, turned)]
        self.lengths = [900.0, math.hypot(1100, 1700), 1500.0]
        self.starts = [np.zeros(3)]
        for way, length in zip(self.ways[:-1], self.lengths[:-1], strict=True):
            self.starts.append(self.starts[-1] + length * way)


def wall(pipe: CutPipe, at_end: str, origin: Points, frame: Rotation, shift_mm: float) -> Points:
    """The cut wall in space, from bore to outside, shape (rows, radii, 3): stations along the frame's z."""
    cut = pipe.start.cut if at_end == "start" else pipe.end.cut
    radii = np.linspace(pipe.pipe.radius_mm - pipe.pipe.wall_mm, pipe.pipe.radius_mm, 41)
    girth, radius = np.meshgrid(cut.girth_rad, radii, indexing="ij")
    station = np.broadcast_to(cut.station_mm[:, None] + shift_mm, girth.shape)
    local = np.stack([radius * np.cos(girth), radius * np.sin(girth), station], axis=-1)
    return np.asarray(origin + frame.apply(local.reshape(-1, 3)).reshape(local.shape))


def frame_of(along: Points, zero: Points) -> Rotation:
    x = zero - (zero @ along) * along
    x = x / np.linalg.norm(x)
    return Rotation.from_matrix(np.stack([x, np.cross(along, x), along], axis=1))


def line_distance(points: Points, at: Points, way: Points) -> Points:
    off = points - at
    return np.asarray(np.linalg.norm(off - (off @ way)[..., None] * way, axis=-1))


def assert_seated(points: Points, at: Points, way: Points, radius_mm: float) -> None:
    """Every line along the wall touches a round header, and none enters it."""
    clear = line_distance(points, at, way).min(axis=1) - radius_mm
    assert np.abs(clear).max() < TOUCH_MM


def test_posts_touch_the_rail_and_stand_on_the_floor() -> None:
    walker, pipes = Walker(), pipes_of(made(SLOPE))
    r = 48.26 / 2
    spaced = np.linspace(200, walker.lengths[1] - 250, 3)
    places = {1: [150.0, 700.0], 2: list(spaced), 3: [300.0, 1200.0]}
    for run, alongs in places.items():
        at, way = walker.starts[run - 1], walker.ways[run - 1]
        right = np.cross(way, UP) / np.linalg.norm(np.cross(way, UP))
        square = np.cross(right, way)
        up = square if run == 3 else UP
        for number, along in enumerate(alongs, 1):
            pipe = pipes[f"A-T{run}-{number}"]
            top = at + along * way + (2.0 * right if run == 3 else 0.0)
            frame = frame_of(up, way)
            upper = wall(pipe, "end", top, frame, -pipe.end.centre_mm)
            assert_seated(upper, at, way, r)
            normal = square if run == 2 else UP
            lower = wall(pipe, "start", top, frame, -pipe.end.centre_mm)[:, -1] @ normal
            under = -900.0 if run == 3 else (at + along * way - 1000 * UP) @ normal
            lift = {1: 10.0, 2: 12.0, 3: 0.0}[run]
            assert lower.min() == pytest.approx(under + lift, abs=TOUCH_MM)  # the first edge to come
            assert lower.max() - lower.min() < 2 * pipe.pipe.wall_mm


def test_mid_rails_touch_both_posts_and_run_with_the_rail() -> None:
    walker, pipes = Walker(), pipes_of(made(SLOPE))
    spaced = np.linspace(200, walker.lengths[1] - 250, 3)
    radius = {1: 48.26 / 2, 2: 48.26 / 2, 3: 42.164 / 2}
    for run, alongs in {1: [150.0, 700.0], 2: list(spaced), 3: [300.0, 1200.0]}.items():
        at, way = walker.starts[run - 1], walker.ways[run - 1]
        right = np.cross(way, UP) / np.linalg.norm(np.cross(way, UP))
        square = np.cross(right, way)
        up = square if run == 3 else UP
        line = at - 450 * UP + (2.0 * right if run == 3 else 0.0)
        for number, ends in enumerate(pairwise(alongs), 1):
            pipe = pipes[f"A-M{run}-{number}"]
            feet = [at + along * way + (2.0 * right if run == 3 else 0.0) for along in ends]
            # where the mid rail's line passes each post's axis
            crossings = []
            for foot in feet:
                two = np.stack([way, -up], axis=1)
                crossings.append(line + np.linalg.lstsq(two, foot - line, rcond=None)[0][0] * way)
            assert pipe.drawing_mm == pytest.approx(float(np.linalg.norm(crossings[1] - crossings[0])))
            frame = frame_of(way, square)
            for at_end, foot in zip(("start", "end"), feet, strict=True):
                assert_seated(wall(pipe, at_end, crossings[0], frame, 0.0), foot, up, radius[run])


THROUGH = SLOPE.replace(
    'below = 450\nsize = "NPS 1"', 'below = 450\nrun = 2\nthrough = true\nsize = "NPS 1-1/2"'
)


def test_a_mid_rail_through_posts_cuts_those_between_in_two() -> None:
    walker, pipes = Walker(), pipes_of(made(THROUGH))
    assert [mark for mark in pipes if "T2" in mark or "M" in mark] == [
        *("A-T2-1", "A-T2-2a", "A-T2-2b", "A-T2-3", "A-M2-1")
    ]
    at, way = walker.starts[1], walker.ways[1]
    along = 200 + (walker.lengths[1] - 450) / 2
    top = at + along * way
    upper, lower = pipes["A-T2-2a"], pipes["A-T2-2b"]
    frame, r = frame_of(UP, way), 48.26 / 2
    shift = -upper.end.centre_mm
    assert_seated(wall(upper, "end", top, frame, shift), at, way, r)
    assert_seated(wall(upper, "start", top, frame, shift), at - 450 * UP, way, r)
    assert_seated(wall(lower, "end", top, frame, shift), at - 450 * UP, way, r)
    whole = pipes["A-T2-1"]
    assert upper.drawing_mm + lower.drawing_mm == pytest.approx(whole.drawing_mm)


def test_posts_of_the_other_hand_are_mirror_images() -> None:
    text = SLOPE.replace('mark = "A"', 'mark = "A"\nmirror = true')
    pipes = pipes_of(made(text))
    for mark, pipe in pipes.items():
        if not mark.startswith("AM-"):
            other = pipes[mark.replace("A-", "AM-", 1)]
            girth = np.linspace(-math.pi, math.pi, 73)
            for one, two in ((pipe.start, other.start), (pipe.end, other.end)):
                assert np.allclose(one.cut.at(girth), two.cut.at(-girth), atol=0.02), mark


def test_an_upright_rail_with_posts_is_its_own_other_hand() -> None:
    text = (
        HEAD
        + """
[[rail]]
mark = "A"
mirror = true
path = [ { run = 900 }, { turn = 30, towards = "up" }, { run = 2000 } ]
posts = [ { run = 1, at = [300], drop = 1000 } ]
"""
    )
    (rail,) = made(text).rails
    assert (rail.quantity, rail.turned_over) == (2, False)
    level = text.replace('towards = "up"', 'towards = "left"')
    assert [rail.mark for rail in made(level).rails] == ["A", "AM"]


def test_a_post_under_a_corner_seats_on_all_that_is_there() -> None:
    text = (
        HEAD
        + """
[[rail]]
mark = "A"
path = [
  { run = 900 }, { turn = 30, towards = "up" }, { run = 2000 }, { turn = 60, towards = "left" },
  { run = 1500 }, { turn = 4.76, towards = "left", by = "mitre" }, { run = 1500 },
]
posts = [ { corner = 1, drop = 1000 }, { corner = 2, drop = 1000 }, { corner = 3, drop = 1000 } ]
"""
    )
    pipes = pipes_of(made(text))
    assert list(pipes) == ["A-TC1", "A-TC2", "A-TC3"]
    assert pipes["A-TC3"].end.sits_on == ("A-P3", "A-P4")
    assert "A2" in pipes["A-TC2"].end.sits_on
    mitred = pipes["A-TC3"]
    # By symmetry the two halves of a cope in a level mitre would be alike; this run climbs 30° in all.
    assert mitred.overall_mm < 1000.0


@pytest.mark.parametrize("turn", [35.0, 60.0, 90.0])
def test_a_post_under_a_level_bend_seats_on_its_torus_and_pipes(turn: float) -> None:
    text = (
        HEAD
        + f"""
[[rail]]
mark = "A"
path = [ {{ run = 900 }}, {{ turn = {turn}, towards = "left" }}, {{ run = 1200 }} ]
posts = [ {{ corner = 1, drop = 1000 }} ]
"""
    )
    pipe = pipes_of(made(text))["A-TC1"]
    bend, r, half = 57.15, 48.26 / 2, math.radians(turn / 2)
    centre = np.array([900 - bend * math.tan(half), bend, 0.0])
    top = centre + bend * np.array([math.sin(half), -math.cos(half), 0.0])
    forward = np.array([math.cos(half), math.sin(half), 0.0])
    points = wall(pipe, "end", top, frame_of(UP, forward), -pipe.end.centre_mm)
    local = points - centre
    sweep = np.arctan2(local[..., 0], -local[..., 1])
    ring = np.hypot(local[..., 0], local[..., 1]) - bend
    torus = np.where((sweep >= 0) & (sweep <= 2 * half), np.hypot(ring, local[..., 2]), np.inf)
    before = np.where(local[..., 0] <= 0, np.hypot(points[..., 1], points[..., 2]), np.inf)
    end = centre + bend * np.array([math.sin(2 * half), -math.cos(2 * half), 0.0])
    way = np.array([math.cos(2 * half), math.sin(2 * half), 0.0])
    after = np.where((points - end) @ way >= 0, line_distance(points, end, way), np.inf)
    clear = np.minimum(np.minimum(torus, before), after).min(axis=1) - r
    assert np.abs(clear).max() < TOUCH_MM
    assert pipe.end.centre_mm == pytest.approx(1000.0)


def test_two_hundred_posts_are_worked_out_in_seconds() -> None:
    rail = """
[[rail]]
mark = "{mark}"
path = [
  {{ run = 6000, pitch = {pitch} }}, {{ turn = 40, towards = "left" }}, {{ run = 6000 }},
  {{ turn = 35, towards = "up" }}, {{ run = 6000 }}, {{ turn = 30, towards = "down" }}, {{ run = 6000 }},
]
posts = [ {{ spacing = {spacing}, first = 300, last = 300, drop = 1000, plate = 10 }} ]
mid_rails = [ {{ below = 500 }} ]
"""
    text = HEAD + "".join(
        rail.format(mark=mark, pitch=1.5 * number, spacing=650 + 5 * number)
        for number, mark in enumerate("ABCDE")
    )
    begun = time.process_time()
    model = made(text)
    assert sum(pipe.kind == "post" for pipe in model.cut_pipes) >= 200
    assert time.process_time() - begun < 20


def faults_of(text: str) -> list[str]:
    with pytest.raises(InputError) as caught:
        made(text)
    return [str(fault) for fault in caught.value.faults]


def straight(posts: str, more: str = "") -> str:
    return (
        HEAD
        + f"""
[[rail]]
mark = "A"
path = [ {{ run = 900 }}, {{ turn = 90, towards = "left" }}, {{ run = 1200 }} ]
posts = [ {posts} ]
{more}
"""
    )


def test_a_post_on_an_elbow_says_how_far_to_move_and_moving_it_so_will_do() -> None:
    (fault,) = faults_of(straight("{ run = 2, at = [70], drop = 1000 }"))
    assert "sits on the weld or elbow at the start of A-P2; move it by " in fault
    to = fault.split(", to ")[1].split(" mm along")[0]
    (post,) = made(straight(f"{{ run = 2, at = [{float(to) + 0.06}], drop = 1000 }}")).rails[0].standing.posts
    assert post.along_mm == pytest.approx(float(to) + 0.06)
    assert faults_of(straight(f"{{ run = 2, at = [{float(to) - 0.06}], drop = 1000 }}"))
    assert made(straight("{ run = 2, at = [90], drop = 1000, on_corner = true }"))


def test_posts_too_close_and_posts_close() -> None:
    (fault,) = faults_of(straight("{ run = 2, at = [400, 470], drop = 1000 }"))
    assert "posts A-T2-1 and A-T2-2 stand 3.3 mm too close to be welded all round" in fault
    model = made(straight("{ run = 2, at = [400, 480], drop = 1000 }"))
    assert model.warnings[-1].endswith("posts A-T2-1 and A-T2-2 leave 31.7 mm clear, hard to weld in")


def test_spacing_is_equal_and_no_more_than_asked() -> None:
    rail = made(straight("{ run = 2, spacing = 300, first = 150, last = 150, drop = 1000 }")).rails[0]
    assert [post.along_mm for post in rail.standing.posts] == pytest.approx([150, 450, 750, 1050])
    rail = made(straight("{ run = 2, spacing = 299, first = 150, last = 150, drop = 1000 }")).rails[0]
    assert [post.along_mm for post in rail.standing.posts] == pytest.approx([150, 375, 600, 825, 1050])


def test_level_distances_are_longer_along_a_slope() -> None:
    text = (
        HEAD
        + """
[[rail]]
mark = "A"
path = [ { rise = 900, going = 1200 } ]
posts = [ { run = 1, at = [400, 800], level = true, drop = 1000 } ]
"""
    )
    posts = made(text).rails[0].standing.posts
    assert [post.along_mm for post in posts] == pytest.approx([500, 1000])
    assert [post.top[0] for post in posts] == pytest.approx([400, 800])


def test_marks_stay_when_other_posts_move() -> None:
    one = made(straight("{ run = 2, at = [400, 900], drop = 1000 }, { run = 1, at = [300], drop = 1000 }"))
    two = made(straight("{ run = 2, at = [400, 250], drop = 1000 }, { run = 1, at = [200], drop = 1000 }"))
    marks = {pipe.mark for pipe in one.cut_pipes}
    assert marks == {pipe.mark for pipe in two.cut_pipes} == {"A-T2-1", "A-T2-2", "A-T1-1"}
    placed = {post.mark: post.along_mm for post in two.rails[0].standing.posts}
    assert placed["A-T2-1"] == 400


@pytest.mark.parametrize(
    ("posts", "more", "says"),
    [
        ("{ run = 3, at = [100], drop = 900 }", "", "there is no run 3; name one of runs 1 to 2"),
        ("{ corner = 2, drop = 900 }", "", "there is no corner 2; corners go from 1 to 1"),
        ("{ run = 1, at = [950], drop = 900 }", "", "950.0 mm is past the end"),
        ("{ run = 1, at = [400], floor = 10 }", "", "post A-T1-1 would be −10.0 mm high"),
        ("{ run = 1, at = [400], drop = 900, offset = 3 }", "", "an offset of 3.0 mm brings it 3.0 mm past"),
        (
            "{ run = 1, at = [400], drop = 900 }",
            "mid_rails = [ { below = 450, run = 1 } ]",
            "run 1 has one post, and a mid rail takes two",
        ),
        (
            "{ run = 2, at = [300, 900], drop = 900 }",
            "mid_rails = [ { below = 60 } ]",
            "mid rail A-M2-1 comes 13.3 mm too near to the rail",
        ),
        (
            "{ run = 2, at = [300, 900], drop = 900 }",
            "mid_rails = [ { below = 880 } ]",
            "mid rail A-M2-1 comes 29.1 mm too near to the floor at post A-T2-1",
        ),
        (
            "{ run = 2, at = [300, 900], drop = 900 }",
            "mid_rails = [ { below = 400 }, { below = 440 } ]",
            "mid rails A-M2-1 and A-M2-1b are 33.3 mm too close",
        ),
        (
            "{ run = 2, spacing = 500, first = 800, last = 800, drop = 900 }",
            "",
            "first and last take 1600.0 mm, but run 2 is 1200.0 mm long",
        ),
    ],
)
def test_what_cannot_be_is_refused(posts: str, more: str, says: str) -> None:
    faults = faults_of(straight(posts, more))
    assert any(says in fault for fault in faults), faults
