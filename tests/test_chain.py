"""Rails rebuilt in space from their parts, as made at the bench, against the work points of the drawing."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import cycle

import numpy as np
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from templates_core.elbows.corners import Corner, CornerAsked, Piece, make_corner, with_stock
from templates_core.elbows.cuts import Cut
from templates_core.errors import InputError
from templates_core.fittings import StockElbow
from templates_core.jobs.job import CornerSpec, EndKind, EndSpec, Joint, RailSpec, RunSpec, Towards
from templates_core.marks import corner_mark
from templates_core.model import build_model
from templates_core.paths.mirror import mirrored
from templates_core.paths.rail_ends import whole_path
from templates_core.paths.rail_path import RailPath
from templates_core.pipes.cut_list import Member, members_of
from templates_core.stock.elbow_plans import StockedPiece
from tests.elbow_samples import BEVELLED, LR45, LR90, PIPE, SHOP, job
from tests.path_forms import by_directions, by_points, by_turns
from tests.saw_and_table import Pose, Table, rail_start
from tests.settings import seeded

STOCKS = (
    (LR90, LR45),
    (BEVELLED,),
    (replace(LR90, tangent_a_mm=6, tangent_b_mm=4, centre_to_end_mm=63.15), LR45),
    (replace(LR90, name="60", sweep_rad=math.radians(60)), replace(LR90, bend_radius_mm=144.78)),
)
ROLL = st.floats(-math.pi, math.pi)


@st.composite
def corners(draw: st.DrawFn) -> CornerSpec:
    """An elbow corner, of one piece, two, or whole ones; or a mitre."""
    by = draw(st.sampled_from([Joint.ELBOW, Joint.ELBOW, Joint.ELBOW, Joint.MITRE]))
    turn = draw(
        st.floats(3, 70) if by is Joint.MITRE else st.floats(20, 170) | st.sampled_from([45, 90, 135])
    )
    return CornerSpec("corner", math.radians(turn), draw(ROLL), by=by)


@st.composite
def ends(draw: st.DrawFn) -> tuple[EndSpec, ...]:
    """Nothing, a plate with its gap, a sleeve, a return, or an extension and a plate."""
    plate = EndSpec("end", EndKind.PLATE, draw(st.floats(3, 12)), gap_mm=draw(st.floats(0, 3)))
    sleeve = EndSpec("end", EndKind.SLEEVE, 60, insertion_mm=draw(st.floats(5, 50)))
    wall = EndSpec(
        "end", EndKind.WALL_RETURN, run_mm=300, turn_rad=math.radians(80), roll_rad=draw(ROLL), gap_mm=2
    )
    level = EndSpec("end", EndKind.LEVEL_EXTENSION, run_mm=400, by=Joint.MITRE)
    return draw(st.sampled_from([(), (plate,), (sleeve,), (wall,), (level, plate)]))


@st.composite
def rails(draw: st.DrawFn) -> RailSpec:
    turns = draw(st.lists(corners(), min_size=1, max_size=5))
    runs = [RunSpec("run", draw(st.floats(700, 3000))) for _ in range(len(turns) + 1)]
    runs[0] = replace(runs[0], pitch_rad=draw(st.floats(-1.2, 1.2)), heading_rad=draw(ROLL))
    return RailSpec("A", 1, tuple(runs), tuple(turns), start=draw(ends()), end=draw(ends()))


Parts = tuple[RailPath, tuple[Corner, ...], tuple[Member, ...]]


def parts_of(spec: RailSpec, elbows: Sequence[StockElbow]) -> Parts:
    """The planner's parts for a rail."""
    path = whole_path(spec)
    made = tuple(
        make_corner(
            CornerAsked(corner_mark("A", c.number), c.number, c.where, c.turn_rad, c.roll_rad, c.by),
            PIPE,
            elbows,
            SHOP,
        )
        for c in path.corners
    )
    return path, made, members_of(path, made, PIPE.radius_mm)


def drawn(spec: RailSpec, elbows: Sequence[StockElbow], losses: Sequence[float] = (0.0,)) -> Parts:
    """The same for a drawn rail, its cut pieces losing these lengths in turn; of those, some are cut twice.

    One that can't be made is no case.
    """
    try:
        path, made, _ = parts_of(spec, elbows)
    except InputError:
        assume(False)
        raise
    left = cycle(losses)
    sawn = tuple(
        with_stock(
            corner, {piece.mark: stocked(piece, next(left)) for piece in corner.pieces}, SHOP.root_gap_mm
        )
        for corner in made
    )
    parts = path, sawn, members_of(path, sawn, PIPE.radius_mm)
    assume(all(member.short_mm > 11 for member in parts[2]))
    assume(abs(math.cos(parts[0].runs[0].pitch_rad)) > 0.01)
    return parts


def assert_lands(parts: Parts) -> None:
    path, made, members = parts
    table = Table(rail_start(path), SHOP.root_gap_mm).put_together(path, made, members)
    assert np.abs(table.work_points(path.closed) - path.points_mm[1:-1]).max() < 1e-6
    assert np.abs(table.at.onward(path.end.takes_mm).at - path.points_mm[-1]).max() < 1e-6


def stocked(piece: Piece, loss: float) -> StockedPiece:
    """A cut piece that loses so much at each cut face; one that loses over 1 mm keeps no stock face."""
    cut = Cut(piece.elbow, piece.angle_rad, "own", 0.1 if loss > 1 else 0.0)
    return StockedPiece(piece.elbow, cut, loss > 1, loss)


@seeded(300)
@given(rails(), st.sampled_from(STOCKS), st.lists(st.floats(0, 2), min_size=1, max_size=4))
def test_a_rail_made_at_the_bench_lands_on_every_work_point(
    spec: RailSpec, elbows: tuple[StockElbow, ...], losses: list[float]
) -> None:
    assert_lands(drawn(spec, elbows, losses))


@seeded(60)
@given(rails(), st.sampled_from(STOCKS))
def test_so_does_its_other_hand(spec: RailSpec, elbows: tuple[StockElbow, ...]) -> None:
    assert_lands(drawn(mirrored(spec), elbows))


@seeded(60)
@given(st.lists(st.tuples(*[st.floats(-2500, 2500)] * 3), min_size=4, max_size=7), st.sampled_from(STOCKS))
def test_a_ring_made_at_the_bench_closes(
    points: list[tuple[float, float, float]], elbows: tuple[StockElbow, ...]
) -> None:
    """Put together from the first pipe on: the last weld must be a root gap wide, and nothing twisted."""
    steps = np.array(points) - np.roll(points, 1, axis=0)
    assume(np.linalg.norm(steps, axis=1).min() > 900)
    path, made, members = drawn(RailSpec("A", 1, (), (), True, tuple(points)), elbows)
    u = path.runs[0].direction
    throat = np.cross(path.corners[-1].axis, u)
    frame = Rotation.from_matrix(np.column_stack([u, np.cross(throat, u), throat]))
    table = Table(Pose(np.zeros(3), frame), SHOP.root_gap_mm).put_together(path, made, members)
    last = table.at.onward(SHOP.root_gap_mm)
    assert np.abs(last.at).max() < 1e-6
    assert (last.frame * frame.inv()).magnitude() < 1e-9
    met = table.work_points(closed=True)
    assert np.abs((met - met[-1]) - (np.roll(path.points_mm, -1, axis=0) - path.points_mm[0])).max() < 1e-6


def test_elbows_that_meet_with_no_pipe_land_too() -> None:
    """Two 90s that meet take 57.15 each and one gap; the plate at the end stands on the elbow itself."""
    meet = 2 * 57.15 + 2.4
    specs = [RunSpec("run", 900), RunSpec("run", meet), RunSpec("run", 500), RunSpec("run", 57.15 + 8)]
    turns = [CornerSpec("corner", math.pi / 2, roll) for roll in (0.3, 1.1, -2.0)]
    plate = (EndSpec("end", EndKind.PLATE, 6, gap_mm=2),)
    parts = parts_of(RailSpec("A", 1, tuple(specs), tuple(turns), end=plate), (LR90,))
    assert [member.run_number for member in parts[2]] == [1, 3]
    assert_lands(parts)


def test_rails_of_a_whole_job_land_as_cut_from_stock() -> None:
    """With the losses that sharing elbows brings."""
    turns = (41.0, 49.0, 118.0, 30.0, 30.0, 90.0)
    specs = [
        RailSpec(
            mark,
            2,
            tuple(RunSpec("run", 800) for _ in range(7)),
            tuple(CornerSpec("corner", math.radians(t), roll) for t in turns),
            end=(EndSpec("end", EndKind.WALL_RETURN, run_mm=200, turn_rad=1.2, roll_rad=0.4),),
        )
        for mark, roll in (("A", 0.2), ("B", math.pi))
    ]
    rails_made = build_model(job(*specs)).rails
    pieces = [piece for rail in rails_made for corner in rail.corners for piece in corner.pieces]
    assert {piece.loss_mm > 0 for piece in pieces} == {True, False}
    for rail in rails_made:
        assert_lands((rail.path, rail.corners, rail.members))


@seeded(100)
@given(rails())
def test_every_form_of_a_path_gives_the_path_again(spec: RailSpec) -> None:
    path = drawn(spec, STOCKS[0])[0]
    assume(all(math.cos(run.pitch_rad) > 1e-4 for run in path.runs))
    for form in (by_points, by_turns, by_directions):
        again = whole_path(form(path))
        moved = again.points_mm - again.points_mm[0] + path.points_mm[0]
        assert np.abs(moved - path.points_mm).max() < 1e-6
        assert (again.start, again.end) == (path.start, path.end)
        for one, two in zip(path.corners, again.corners, strict=True):
            assert abs(one.turn_rad - two.turn_rad) < 1e-9
            assert abs(math.remainder(one.roll_rad - two.roll_rad, 2 * math.pi)) < 1e-7


def test_a_ring_in_every_form() -> None:
    points = ((0.0, 0.0, 0.0), (400.0, 0.0, 90.0), (380.0, 300.0, -40.0), (-20.0, 310.0, 60.0))
    path = whole_path(RailSpec("F", 1, (), (), True, points))
    for form in (by_points, by_turns, by_directions):
        again = whole_path(form(path))
        assert np.abs(again.points_mm - path.points_mm).max() < 1e-6
        assert again.misclosure is not None
        assert again.misclosure.position_mm < 1e-6
        rolls = [(one.roll_rad, two.roll_rad) for one, two in zip(path.corners, again.corners, strict=True)]
        assert max(abs(math.remainder(one - two, 2 * math.pi)) for one, two in rolls) < 1e-9


def test_towards_is_kept_by_a_form_of_points() -> None:
    spec = RailSpec(
        "A",
        1,
        (RunSpec("run", 900), RunSpec("run", 700, extra_mm=40)),
        (CornerSpec("corner", 0.6, towards=Towards.LEFT),),
    )
    again = whole_path(by_points(whole_path(spec)))
    assert again.corners[0].roll_rad == -math.pi / 2
    assert [run.extra_mm for run in again.runs] == [0, 40]
