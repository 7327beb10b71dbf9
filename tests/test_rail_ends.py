"""Rail ends: what each does to the length, what it adds to the path, and that marks stay."""

from __future__ import annotations

import math

import numpy as np
import pytest

from render.figures.figure_tables import pipes_table
from templates_core.errors import InputError
from templates_core.jobs.job_file import parse_job
from templates_core.model import Model, Rail, build_model

HEAD = """
title = "Heron Slip"
units = "mm"
[pipe]
size = "NPS 1-1/2"
schedule = "40"
[elbows]
stock = ["90 long radius"]
ends = "square"
[shop]
root_gap = 2.4
[[rail]]
mark = "A"
"""
STAIR = """path = [
  { run = 600, heading = 30 },
  { corner = "elbow" },
  { rise = 1500, going = 2000, heading = 30 },
]
"""


def model(rail: str, path: str = STAIR) -> Model:
    return build_model(parse_job(f"{HEAD}{rail}\n{path}".encode(), "job.toml"))


def made(rail: str, path: str = STAIR) -> Rail:
    return model(rail, path).rails[0]


def faults_of(rail: str, path: str = STAIR) -> list[str]:
    with pytest.raises(InputError) as caught:
        model(rail, path)
    return [str(fault) for fault in caught.value.faults]


def xyz(point: object) -> list[float]:
    return [round(float(x), 6) for x in np.asarray(point)]


@pytest.mark.parametrize(
    ("end", "shorter"),
    [
        ('"open"', 0),
        ('{ kind = "open", gap = 25 }', 25),
        ('{ kind = "cap", thickness = 4 }', 4),
        ('{ kind = "cap", thickness = 4, gap = 1.6 }', 5.6),
        ('{ kind = "plate", thickness = 6, gap = 2 }', 8),
        ('{ kind = "flange", setback = 9.5 }', 9.5),
        ('{ kind = "flange", setback = 0 }', 0),
        ('{ kind = "sleeve", length = "2 in", insertion = "1 in" }', 25.4),
    ],
)
def test_what_stands_at_an_end_takes_its_length_from_the_pipe(end: str, shorter: float) -> None:
    bare = made("").members
    for place, key in ((0, "start"), (1, "end")):
        members = made(f"{key} = {end}").members
        assert members[place].length_mm == pytest.approx(bare[place].length_mm - shorter)
        assert members[1 - place] == bare[1 - place]


def test_a_single_pipe_between_two_plates() -> None:
    rail = made(
        'start = { kind = "plate", thickness = 6 }\nend = { kind = "cap", thickness = 4 }',
        "path = [ { run = 1000 } ]",
    )
    assert [member.length_mm for member in rail.members] == [990]
    assert [joint.marks for joint in rail.fit_up.joints] == [("A/S",), ("A/E",)]
    assert [joint.parts for joint in rail.fit_up.joints] == [("plate", "A-P1"), ("A-P1", "cap")]


def test_a_return_goes_to_the_side_of_somebody_walking_forward_at_both_ends() -> None:
    """Walking along x with the wall to the left, at y = 150: both ends come to it."""
    wall = '{ kind = "wall return", towards = "left", run = 150 }'
    rail = made(f"start = {wall}\nend = {wall}", "path = [ { run = 1000 } ]")
    assert [xyz(point) for point in rail.path.points_mm] == [
        [0, 150, 0],
        [0, 0, 0],
        [1000, 0, 0],
        [1000, 150, 0],
    ]
    assert [corner.mark for corner in rail.corners] == ["A0", "A1"]
    assert [member.mark for member in rail.members] == ["A-P0", "A-P1", "A-P2"]
    taken = 57.15 + 2.4
    lengths = [member.length_mm for member in rail.members]
    assert lengths == pytest.approx([150 - taken, 1000 - 2 * taken, 150 - taken])
    assert rail.path.is_flat


def test_a_return_up_at_the_start_comes_down_to_the_rail() -> None:
    rail = made('start = { kind = "wall return", towards = "up", run = 200 }', "path = [ { run = 900 } ]")
    assert xyz(rail.path.points_mm[0]) == [0, 0, 200]


def test_a_return_of_another_turn_and_its_gap_to_the_wall() -> None:
    rail = made(
        'end = { kind = "wall return", towards = "right", turn = 60, run = 200, gap = 3 }',
        "path = [ { run = 1000 } ]",
    )
    sine, cosine = math.sin(math.pi / 3), 0.5
    assert xyz(rail.path.points_mm[-1]) == [1000 + 200 * cosine, round(-200 * sine, 6), 0]
    taken = 57.15 * math.tan(math.radians(30)) + 2.4
    assert rail.members[-1].length_mm == pytest.approx(200 - 3 - taken)


def test_a_level_extension_turns_by_the_pitch_and_keeps_the_heading() -> None:
    """A stair of 1500 in 2000 pitches 36.87°; 12 in more at its top go on level the way the stair heads."""
    rail = made('end = { kind = "level extension", run = "12 in" }')
    assert math.degrees(rail.corners[-1].turn_rad) == pytest.approx(36.8698976)
    heading = math.radians(30)
    onward = rail.path.points_mm[-1] - rail.path.points_mm[-2]
    assert onward == pytest.approx([304.8 * math.cos(heading), 304.8 * math.sin(heading), 0])
    assert rail.members[-1].run_mm == pytest.approx(304.8)


def test_a_level_extension_at_the_foot_comes_before_the_stair() -> None:
    rail = made(
        'start = { kind = "level extension", run = 305, by = "mitre" }',
        "path = [ { rise = 900, going = 1200 } ]",
    )
    assert xyz(rail.path.points_mm[0]) == [-305, 0, 0]
    assert rail.corners[0].mitre is not None
    assert math.degrees(rail.corners[0].turn_rad) == pytest.approx(36.8698976)


def test_an_extension_then_a_return_then_a_plate() -> None:
    rail = made(
        'end = [ { kind = "level extension", run = 305 }, '
        '{ kind = "wall return", towards = "left", run = 120 }, { kind = "plate", thickness = 6 } ]'
    )
    assert [corner.mark for corner in rail.corners] == ["A1", "A2", "A3"]
    assert rail.members[-1].length_mm == pytest.approx(120 - 6 - 57.15 - 2.4)
    heading = math.radians(120)
    onward = rail.path.points_mm[-1] - rail.path.points_mm[-2]
    assert onward == pytest.approx([120 * math.cos(heading), 120 * math.sin(heading), 0])


def test_two_added_at_the_start_are_numbered_outward() -> None:
    rail = made(
        'start = [ { kind = "level extension", run = 305 }, '
        '{ kind = "wall return", towards = "left", run = 120 } ]',
        "path = [ { rise = 900, going = 1200 } ]",
    )
    assert [corner.mark for corner in rail.corners] == ["A00", "A0"]
    assert [member.mark for member in rail.members] == ["A-P00", "A-P0", "A-P1"]


def test_ends_leave_marks_corners_and_place_of_the_rest_as_they_are() -> None:
    bare = made("")
    wall = '{ kind = "wall return", towards = "left", run = 150 }'
    ended = made(f"start = {wall}\nend = {wall}")
    assert ended.corners[1].mark == bare.corners[0].mark == "A1"
    assert ended.corners[1].pieces == bare.corners[0].pieces
    assert ended.corners[1].take_out_before_mm == bare.corners[0].take_out_before_mm
    assert [member.mark for member in ended.members[1:3]] == [member.mark for member in bare.members]
    assert np.abs(ended.path.points_mm[1:4] - bare.path.points_mm).max() < 1e-9
    # The first corner's roll is from the return now: that turns left, then the stair goes up.
    assert math.degrees(bare.corners[0].roll_rad) == pytest.approx(0)
    assert math.degrees(ended.corners[1].roll_rad) == pytest.approx(90)


def test_a_return_by_roll_on_a_plumb_run() -> None:
    """A post goes up, over along x, and down again: rolled by 0, its foot turns on the same way, back."""
    hoop = """path = [ { run = 900, pitch = 90 }, { turn = 90, roll = 0 }, { run = 800 },
      { turn = 90, roll = 0 }, { run = 900 } ]"""
    rail = made('end = { kind = "wall return", roll = 0, run = 150 }', hoop)
    assert xyz(rail.path.points_mm[-1]) == [650, 0, 0]
    (fault,) = faults_of('end = { kind = "wall return", towards = "left", run = 150 }', hoop)
    assert fault == "rail A, end: the run there is plumb, so it has no side called left; give its roll"


@pytest.mark.parametrize("roll", [0, 35, -120])
def test_the_roll_of_a_return_is_from_the_corner_next_to_it_at_either_end(roll: float) -> None:
    """On a level rail that turns left, 0 goes on turning left, at the start as at the end."""
    path = 'path = [ { run = 600 }, { turn = 50, towards = "left" }, { run = 700 } ]'
    wall = f'{{ kind = "wall return", roll = {roll}, turn = 70, run = 200 }}'
    rail = made(f"start = {wall}\nend = {wall}", path)
    assert [math.degrees(corner.roll_rad) for corner in rail.corners[1:]] == pytest.approx([roll, roll])
    if roll == 0:
        crosses = np.cross(
            np.diff(rail.path.points_mm, axis=0)[:-1], np.diff(rail.path.points_mm, axis=0)[1:]
        )
        assert (crosses[:, 2] > 0).all()


def test_extensions_that_have_no_level_to_go_to() -> None:
    level = 'end = { kind = "level extension", run = 305 }'
    assert faults_of(level, "path = [ { run = 900 } ]") == [
        "rail A, end: the run there is level already; make it longer and leave the extension out"
    ]
    assert faults_of(level, "path = [ { run = 900, pitch = 90 } ]") == [
        "rail A, end: the run there is plumb, so it has no way to go on level; "
        "give the corner and the run in the path, with a heading"
    ]


def test_a_return_too_short_for_its_elbow_says_what_stands_there() -> None:
    (short,) = faults_of(
        'start = [ { kind = "wall return", towards = "left", run = 70 }, { kind = "plate", thickness = 6 } ]'
    )
    assert short.startswith(
        "rail A, start: it is 6.6 mm too short for corner A0 and the plate at its end and a pipe that can be "
        "welded; make it 76.6 mm or longer, or exactly 63.15 mm for a weld with no pipe between"
    )


def test_the_closing_run_is_cut_longer_and_finishes_the_same() -> None:
    plain = model("")
    path = STAIR.replace("heading = 30 },\n]", "heading = 30, closing = { extra = 50 } },\n]")
    left = model("", path)
    one, two = plain.rails[0].members[1], left.rails[0].members[1]
    assert (two.length_mm, two.extra_mm) == (one.length_mm, 50)
    assert (two.cut_mm, two.blank_mm) == (one.length_mm + 50, one.overall_mm + 50)
    assert left.pipe_mm == pytest.approx(plain.pipe_mm + 50)
    table = pipes_table(left.rails[0], "mm")
    place = [column.heading for column in table.columns].index("Cut longer, for the site")
    assert [row[place] for row in table.rows] == ["0.0", "50.0"]
    assert [joint.on_site for joint in left.rails[0].fit_up.joints] == [False, True]


def test_a_closing_run_in_the_middle_is_loose_at_its_far_end() -> None:
    path = """path = [ { run = 500 }, { turn = 30, towards = "left" },
      { run = 800, closing = { extra = "2 in" } }, { turn = 90, towards = "left" }, { run = 500 } ]"""
    rail = made("", path)
    assert [joint.marks[0] for joint in rail.fit_up.joints if joint.on_site] == ["A2/1"]
    assert [step.joint.marks[0] for step in rail.fit_up.steps][-4:] == ["A2/1"] * 4
    assert rail.members[1].extra_mm == pytest.approx(50.8)


def test_elbows_that_meet_have_no_pipe_and_one_weld() -> None:
    """To within a tenth of a millimetre of two centre-to-ends and a gap, and no further."""
    path = """path = [ {{ run = 500 }}, {{ turn = 90, towards = "left" }}, {{ run = {} }},
      {{ turn = 90, towards = "up" }}, {{ run = 500 }} ]"""
    exact = 2 * 57.15 + 2.4
    for off in (-0.09, 0, 0.09):
        rail = made("", path.format(exact + off))
        assert [member.mark for member in rail.members] == ["A-P1", "A-P3"]
        assert [(joint.marks, joint.parts) for joint in rail.fit_up.joints] == [
            (("A1/1",), ("A-P1", "A1")),
            (("A1/2", "A2/1"), ("A1", "A2")),
            (("A2/2",), ("A2", "A-P3")),
        ]
    assert "A1" in faults_of("", path.format(exact + 0.11))[0]
    assert "exactly 116.70 mm" in faults_of("", path.format(exact - 0.11))[0]


def test_a_closing_run_must_have_a_pipe() -> None:
    path = """path = [ { run = 500 }, { turn = 90, towards = "left" },
      { run = 116.7, closing = { extra = 20 } }, { turn = 90, towards = "up" }, { run = 500 } ]"""
    assert faults_of("", path) == [
        "rail A, run 2: its elbows meet, so it has no pipe to leave long; leave another run long"
    ]


def test_an_elbow_may_be_the_end_of_a_rail() -> None:
    """Its face is the open end: no pipe, no weld there."""
    rail = made("", 'path = [ { run = 500 }, { turn = 90, towards = "left" }, { run = 57.15 } ]')
    assert [member.mark for member in rail.members] == ["A-P1"]
    assert [joint.marks for joint in rail.fit_up.joints] == [("A1/1",)]
