"""Straightness of whole rails: against chains of links in space, and what the job file says of welds."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from templates_core.errors import InputError
from templates_core.jobs.job import PresetKind
from templates_core.jobs.job_file import parse_job
from templates_core.model import Rail, build_model
from templates_core.welding.straightness import Straightness, Trust
from templates_core.welding.weld_kinks import FACTOR, estimated_pull
from tests.weld_jobs import (
    BALANCED,
    BEND,
    NINE_POSTS,
    TRIED,
    TWO_POSTS,
    TWO_SIDES,
    made,
    rail_of,
    text_of,
    weld,
)


def of(rail: Rail) -> Straightness:
    assert rail.straightness is not None
    return rail.straightness


def test_without_the_table_there_is_nothing() -> None:
    text = text_of(TWO_POSTS).replace(text_of(TWO_POSTS).split("[weld]\n")[1].split("[[rail]]")[0], "")
    job = parse_job(text.replace("[weld]\n", "").encode(), "job.toml")
    assert build_model(job).rails[0].straightness is None
    assert job.warnings == (
        "rail A, weld: there is no [weld] table, so no straightness sheet is made of this",
    )


def test_a_weld_stands_where_the_file_puts_it_from_the_end_of_its_pipe() -> None:
    """Runs go from work point to work point; the 90 takes 57.15 and the gap 2.4 off the pipe's start."""
    (rail,) = made(NINE_POSTS).rails
    second = next(run for run in of(rail).runs if run.run_number == 2)
    assert second.welds[0].weld.along_mm == pytest.approx(750 - 57.15 - 2.4)
    assert second.length_mm == pytest.approx(1500 - 2 * (57.15 + 2.4))
    assert [len(run.welds) for run in of(rail).runs] == [4, 1, 4]
    marks = [one.weld.mark for run in of(rail).runs for one in run.welds]
    assert marks == [f"B-W{n}" for n in range(1, 10)]


def test_kinks_by_trial_before_estimate() -> None:
    (guessed,) = of(made(TWO_POSTS).rails[0]).runs
    assert {one.trust for one in guessed.welds} == {Trust.ESTIMATE}
    assert guessed.factor == FACTOR
    pull = estimated_pull(48.26, 3.68, 48.26, 3.68)
    assert guessed.welds[0].pull == pull
    (tried,) = of(made(TWO_POSTS, table=TRIED).rails[0]).runs
    assert {one.trust for one in tried.welds} == {Trust.TRIAL} and tried.factor == 1.0
    assert tried.welds[1].pull.kink_rad == pytest.approx(math.radians(0.4))
    own = rail_of(
        "A", "{ run = 2400 }", weld(1, 600, more="kink = 0.9"), weld(1, 1800, more="leg = 6\nod = 30")
    )
    (mixed,) = of(made(own).rails[0]).runs
    assert mixed.welds[0].pull.kink_rad == pytest.approx(math.radians(0.9))
    assert (mixed.welds[1].leg_mm, mixed.factor) == (6.0, FACTOR)


def test_the_bow_of_two_posts_by_hand() -> None:
    """Kinks of 0.4° at the quarters of 2400: each lifts the middle by θ·600·1200/2400, so θ·600 in all."""
    (run,) = of(made(TWO_POSTS, table=TRIED).rails[0]).runs
    theta = math.radians(0.4)
    assert run.shape.off_mm(1200) == pytest.approx(theta * 600)
    assert run.shape.bow_mm == pytest.approx(theta * 600)
    assert abs(run.shape.side_rad) == pytest.approx(math.pi), "the ends are pulled down, to the posts"


def test_welds_opposite_each_other_leave_the_run_straight() -> None:
    (run,) = of(made(BALANCED, table=TRIED).rails[0]).runs
    assert run.shape.is_straight and run.preset.supports == ()


def test_welds_on_two_sides_bow_two_ways() -> None:
    (run,) = of(made(TWO_SIDES).rails[0]).runs
    assert run.shape.across_mm > 1
    assert run.preset.supports


def links(rail: Rail, kinked: bool) -> list[np.ndarray]:
    """Directions of the lines between the ends of each run's pipe, put together rigidly in space."""
    path = rail.path
    kinks = {run.run_number: run for run in of(rail).runs}
    frame = Rotation.identity()
    lines = []
    for run in path.runs:
        bent = kinks.get(run.number)
        point, last = np.zeros(3), 0.0
        length = bent.length_mm if bent else run.length_mm
        for one in bent.welds if bent and kinked else ():
            point = point + frame.apply(run.direction) * (one.weld.along_mm - last)
            last = one.weld.along_mm
            up = np.array([0.0, 0.0, 1.0])
            side = Rotation.from_rotvec(one.weld.girth_rad * run.direction).apply(up)
            turn = Rotation.from_rotvec(one.pull.kink_rad * np.cross(run.direction, side))
            frame = frame * turn
        point = point + frame.apply(run.direction) * (length - last)
        lines.append(point / np.linalg.norm(point))
    return lines


@pytest.mark.parametrize("side", ["left", "right", "below", 30])
def test_corners_open_by_what_a_chain_of_links_shows(side: object) -> None:
    """A level rail: the angle between its two lines with and without kinks, and how far one leaves level."""
    spec = rail_of(
        "A",
        "{ run = 2000 }, { turn = 60, towards = 'left' }, { run = 1600 }",
        weld(1, 700, side),
        weld(1, 1500, side),
        weld(2, 900, side),
    )
    (rail,) = made(spec, table="kink = 0.1").rails
    (opening,) = of(rail).openings
    straight, bent = links(rail, kinked=False), links(rail, kinked=True)

    def turn(lines: list[np.ndarray]) -> float:
        return math.atan2(float(np.cross(lines[0], lines[1])[2]), float(lines[0] @ lines[1]))

    assert opening.more_turn_rad == pytest.approx(turn(bent) - turn(straight), abs=2e-5)
    # The first line, brought back level, takes the cosine of the turn of its tilt along.
    tip = bent[1][2] - math.cos(math.radians(60)) * bent[0][2]
    assert opening.tip_rad == pytest.approx(tip, abs=2e-5)


def test_lengths_lost_at_butts_by_shifting_parts_together() -> None:
    """A 118° corner of two pieces: every joint drawn together by 1, the work points found again."""
    spec = rail_of("A", "{ run = 900 }, { turn = 118, towards = 'left' }, { run = 700 }")
    (rail,) = made(spec, table="butt_shrink = 1").rails
    (corner,) = rail.corners
    first, second = of(rail).losses
    angles = [0.0]
    for piece in corner.pieces:
        angles.append(angles[-1] + piece.angle_rad)
    shift = -sum(np.array([math.cos(a), math.sin(a)]) for a in angles)
    along, after = np.array([1.0, 0.0]), np.array([math.cos(angles[-1]), math.sin(angles[-1])])
    by_run = np.linalg.solve(np.column_stack([along, after]), -shift)
    assert len(angles) == 3
    assert (first.butt_mm, second.butt_mm) == pytest.approx(tuple(by_run))


def test_lengths_lost_at_mitres_and_where_elbows_meet() -> None:
    mitred = rail_of("A", "{ run = 900 }, { turn = 40, towards = 'left', by = 'mitre' }, { run = 700 }")
    first, second = of(made(mitred, table="butt_shrink = 1").rails[0]).losses
    assert first.butt_mm == pytest.approx(second.butt_mm) == pytest.approx(0.5 / math.cos(math.radians(20)))
    near = rail_of("A", f"{{ run = 900 }}, {BEND}, {{ run = 116.7 }}, {BEND}, {{ run = 700 }}")
    losses = of(made(near, table="butt_shrink = 1").rails[0]).losses
    assert [loss.butt_mm for loss in losses] == pytest.approx([1, 1, 1])
    assert losses[1].pipe is None


def test_an_estimated_butt_says_so() -> None:
    found = of(made(TWO_POSTS).rails[0])
    assert found.butt_trust is Trust.ESTIMATE and 0.3 < found.butt_mm < 2
    assert of(made(TWO_POSTS, table="butt_shrink = 1.1").rails[0]).butt_trust is Trust.TRIAL


def test_joints_left_for_the_site_are_not_in_the_order() -> None:
    spec = rail_of("A", f"{{ run = 900 }}, {BEND}, {{ run = 700, closing = {{ extra = 40 }} }}")
    (rail,) = made(spec).rails
    (loose,) = (joint for joint in rail.fit_up.joints if joint.on_site)
    assert loose.marks[0] not in [turn.mark for turn in of(rail).butt_order]
    assert len(of(rail).butt_order) == len(rail.fit_up.joints) - 1


def test_the_tape_hooks_on_a_square_end_before_a_mitred_one() -> None:
    spec = rail_of(
        "A",
        "{ run = 900 }, { turn = 20, towards = 'left', by = 'mitre' }, { run = 1700 }",
        weld(1, 400),
        weld(2, 900),
    )
    one, two = of(made(spec).rails[0]).runs
    assert (one.datum.end, one.datum.at_start, one.datum.beyond_mm) == ("the rail's start", True, 0)
    assert (two.datum.end, two.datum.at_start) == ("the rail's end", False)
    assert two.datum.reads_mm(two.welds[0].weld.along_mm) == pytest.approx(1700 - 900)
    both = spec.replace(
        "{ run = 1700 }", "{ run = 1700 }, { turn = 20, towards = 'left', by = 'mitre' }, { run = 600 }"
    )
    _, middle = of(made(both).rails[0]).runs
    reach = 48.26 / 2 * math.tan(math.radians(10))
    assert middle.datum.at_start and middle.datum.beyond_mm == pytest.approx(reach)
    assert middle.datum.reads_mm(900) == pytest.approx(900 + reach)


def test_an_end_out_of_square_is_hooked_by_its_long_point() -> None:
    lean = 'start = { kind = "plate", thickness = 8, gap = 2, lean = { up = 8 } }'
    spec = rail_of("A", f"{{ run = 900 }}, {BEND}, {{ run = 800 }}", weld(1, 400), more=lean)
    (run,) = of(made(spec).rails[0]).runs
    assert (run.datum.end, run.datum.at_start, run.datum.beyond_mm) == ("corner A1", False, 0)
    both = rail_of("A", "{ run = 900 }", weld(1, 400), more=lean + "\n" + lean.replace("start", "end", 1))
    (run,) = of(made(both).rails[0]).runs
    assert run.datum.end == "the rail's start (long point)"
    assert run.datum.beyond_mm == pytest.approx(48.26 / 2 * math.tan(math.radians(8)))


def test_the_other_hand_bows_the_other_way() -> None:
    turns = "{ turn = 40, towards = 'up' }, { run = 1400 }, { turn = 50, roll = 90 }"
    path = f"{{ run = 900 }}, {turns}, {{ run = 700 }}"
    spec = rail_of("A", path, weld(2, 700, "left"), more="mirror = true")
    one, two = made(spec).rails
    assert of(one).runs[0].shape.side_rad == pytest.approx(-math.pi / 2)
    assert of(two).runs[0].shape.side_rad == pytest.approx(math.pi / 2)
    assert of(two).runs[0].shape.bow_mm == pytest.approx(of(one).runs[0].shape.bow_mm)


def test_clamps_stand_where_the_file_puts_them() -> None:
    text = TWO_POSTS + "[[rail.clamps]]\nrun = 1\nat = [60, 1200, 2340]\n"
    (run,) = of(made(text).rails[0]).runs
    assert [support.at_mm for support in run.preset.supports] == [60, 1200, 2340]


@pytest.mark.parametrize(
    ("more", "fault"),
    [
        (weld(2, 100), "rail A, weld 3: there is no run 2; the rail has runs 1 to 1"),
        (weld(1, 2500), "rail A, weld 3: 2500.0 mm along run 1 is off its pipe; from the run's first"),
        (
            "[[rail.clamps]]\nrun = 1\nat = [60, 1200, 2440]\n",
            "rail A, clamps of run 1: 2440.0 mm along run 1 is off",
        ),
    ],
)
def test_what_is_off_the_pipe_is_refused(more: str, fault: str) -> None:
    with pytest.raises(InputError) as refused:
        made(TWO_POSTS + more)
    assert [str(one).startswith(fault) for one in refused.value.faults] == [True], refused.value


def test_a_plumb_run_has_no_side_below() -> None:
    spec = "{ run = 900 }, { turn = 90, towards = 'up' }, { run = 800 }"
    with pytest.raises(InputError, match="no side called below"):
        made(rail_of("A", spec, weld(2, 300)))
    (run,) = of(made(rail_of("A", spec, weld(2, 300, 0))).rails[0]).runs
    assert run.shape.bow_mm > 0


def test_the_table_as_read() -> None:
    job = parse_job(
        text_of(TWO_POSTS, table=TRIED + 'leg = 4\npreset = "clamped"\nmargin = 2.0').encode(), "j"
    )
    assert job.welding is not None
    assert (job.welding.leg_mm, job.welding.kept, job.welding.margin) == (4, 0.5, 2)
    free = parse_job(text_of(TWO_POSTS, table='preset = "free"').encode(), "j").welding
    assert free is not None and free.preset is PresetKind.FREE and free.yield_mpa is None


POSTS = """
[[rail]]
mark = "P"
path = [ { rise = 1400, going = 2000 }, { corner = "elbow" }, { run = 1800, pitch = 0 } ]
posts = [
  { run = 1, at = [500, 1500], drop = 1000 },
  { run = 2, at = [600], drop = 1000, stand = "square", od = 33.4, wall = 3.0, offset = 5 },
  { corner = 1, drop = 1000 },
]
"""


def test_posts_bring_their_welds() -> None:
    """Each weld is on the skin of its run and the line of its post; one under a corner bends no run."""
    (rail,) = made(POSTS).rails
    welds = [one.weld for run in of(rail).runs for one in run.welds]
    assert [weld.mark for weld in welds] == ["P-T1-1/E", "P-T1-2/E", "P-T2-1/E"]
    for one, post in zip(welds, rail.standing.posts[:2] + rail.standing.posts[-1:], strict=True):
        run = rail.path.runs[one.run_number - 1]
        pipe_start = rail.path.points_mm[one.run_number - 1] + run.direction * (
            0.0 if one.run_number == 1 else rail.corners[0].take_out_after_mm + 2.4
        )
        side = np.cross(run.direction, [0, 0, 1])
        side = side / np.linalg.norm(side)
        up = np.cross(side, run.direction)
        way = math.cos(one.girth_rad) * up + math.sin(one.girth_rad) * side
        point = pipe_start + one.along_mm * run.direction + 48.26 / 2 * way
        off = np.cross(point - post.top, post.direction)
        assert float(np.linalg.norm(off)) == pytest.approx(0, abs=1e-6)
        assert float((point - post.top) @ post.direction) < 0, "it is under the rail"
        assert one.branch_od_mm == post.row.pipe.od_mm
        assert one.angle_rad == pytest.approx(math.acos(abs(float(run.direction @ post.direction))))


def test_posts_and_listed_welds_bend_the_run_together() -> None:
    (rail,) = made(POSTS + weld(2, 1500, "above")).rails
    second = next(run for run in of(rail).runs if run.run_number == 2)
    assert [one.weld.mark for one in second.welds] == ["P-T2-1/E", "P-W1"]


def test_a_post_that_a_mid_rail_cuts_is_welded_at_its_upper_length() -> None:
    rails = """
[[rail]]
mark = "A"
path = [ { run = 3000 } ]
posts = [ { run = 1, at = [300, 1500, 2700], drop = 1000 } ]
mid_rails = [ { below = 450, through = true } ]
"""
    (rail,) = made(rails).rails
    (run,) = of(rail).runs
    assert [one.weld.mark for one in run.welds] == ["A-T1-1/E", "A-T1-2a/E", "A-T1-3/E"]
