"""Pieces, take-outs and cuts of a corner, against centrelines built numerically in the plane."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import partial

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import brentq

from templates_core.elbows.corner_pieces import choose, legal_spans
from templates_core.elbows.corners import Corner, CornerAsked, make_corner
from templates_core.elbows.cuts import cut_of, lines_of_piece, lines_to_cut
from templates_core.elbows.error_costs import end_moves_mm, error_costs
from templates_core.elbows.take_out import Bend, centre_to_face, take_outs_of_two
from templates_core.errors import InputError
from templates_core.fittings import StockElbow
from templates_core.jobs.job import Joint, Shop
from tests.elbow_samples import BEVELLED, LR45, LR90, PIPE, RETURN, SHOP

TENTH_MM = 0.1


def made(
    turn: float,
    elbows: Sequence[StockElbow] = (LR90, LR45),
    shop: Shop = SHOP,
    by: Joint = Joint.ELBOW,
) -> Corner:
    return make_corner(
        CornerAsked("A2", 2, "rail A, corner 2", math.radians(turn), 0, by), PIPE, elbows, shop
    )


def what_it_is(corner: Corner) -> list[tuple[str, float, str]]:
    return [
        (p.elbow.name, round(math.degrees(p.angle_rad), 6), "whole" if p.cut is None else p.cut.from_face)
        for p in corner.pieces
    ]


def refusal(turn: float, elbows: Sequence[StockElbow] = (LR90, LR45), shop: Shop = SHOP) -> str:
    with pytest.raises(InputError) as caught:
        made(turn, elbows, shop)
    return str(caught.value)


@pytest.mark.parametrize(
    ("turn", "pieces"),
    [
        (32.7, [("90 long radius", 32.7, "own")]),
        (45, [("45 long radius", 45, "whole")]),
        (44.98, [("90 long radius", 44.98, "own")]),
        (60, [("90 long radius", 60, "own")]),
        (63, [("90 long radius", 63, "far")]),
        (90, [("90 long radius", 90, "whole")]),
        (88, [("45 long radius", 45, "whole"), ("90 long radius", 43, "own")]),
        (118, [("90 long radius", 90, "whole"), ("90 long radius", 28, "own")]),
        (108, [("90 long radius", 54, "own")] * 2),
        (135, [("90 long radius", 90, "whole"), ("45 long radius", 45, "whole")]),
        (155, [("90 long radius", 90, "whole"), ("90 long radius", 65, "far")]),
    ],
)
def test_what_makes_a_corner(turn: float, pieces: list[tuple[str, float, str]]) -> None:
    assert what_it_is(made(turn)) == pieces


def test_a_cut_return_makes_a_sharp_corner_where_stocked() -> None:
    assert what_it_is(made(130, (LR90, RETURN))) == [("180 long radius return", 130, "far")]


def test_a_return_is_not_cut_where_neither_face_is_near() -> None:
    assert [len(legal_spans(elbow, SHOP)) for elbow in (LR45, LR90, RETURN)] == [0, 1, 2]
    assert what_it_is(made(112, (RETURN,))) == [("180 long radius return", 56, "own")] * 2
    assert what_it_is(made(118, (RETURN, LR90)))[0] == ("90 long radius", 90, "whole")


def test_stock_45s_alone_are_used_whole() -> None:
    corner = made(90, (LR45,))
    assert what_it_is(corner) == [("45 long radius", 45, "whole")] * 2
    assert "whole only" in refusal(40, (LR45,))


def test_a_45_with_a_known_radius_may_be_cut() -> None:
    known = replace(LR45, bend_radius_mm=60.0, tangent_a_mm=2.0, tangent_b_mm=2.0)
    assert what_it_is(made(21, (known,))) == [("45 long radius", 21, "own")]


def test_the_least_turn_on_square_ends_is_19_2_degrees() -> None:
    """Three walls of 3.68 on a throat of 57.15 − 24.13: 19.16°, printed 19.2."""
    assert what_it_is(made(19.2, (LR90,))) == [("90 long radius", 19.2, "own")]
    assert refusal(19.1, (LR90,)) == (
        "rail A, corner 2: a turn of 19.1° is too small for a piece of elbow: "
        "its throat would be shorter than the 11.0 mm that can be welded; "
        'the least turn is 19.2° (90 long radius): turn that much or more, or set by = "mitre"'
    )


def test_a_bevel_takes_its_part_of_the_least_throat() -> None:
    least = legal_spans(BEVELLED, SHOP)[0].least_rad
    piece = lines_of_piece(cut_of(BEVELLED, least))[2]
    assert piece.shoulder_mm == pytest.approx(3 * 3.68)
    assert math.degrees(least) > 19.2
    assert legal_spans(LR90, SHOP, loss_mm=1.3)[0].least_rad * (57.15 - 24.13) == pytest.approx(
        3 * 3.68 + 1.3
    )


def test_the_least_throat_is_never_under_6_mm_unless_the_shop_says() -> None:
    thin = replace(LR90, wall_mm=1.65)
    throat = 57.15 - 24.13
    assert legal_spans(thin, SHOP)[0].least_rad * throat == pytest.approx(6)
    assert legal_spans(thin, replace(SHOP, least_throat_mm=4))[0].least_rad * throat == pytest.approx(4)


@given(st.floats(1, 179))
@settings(max_examples=300, derandomize=True, deadline=None)
def test_pieces_add_up_to_the_turn_and_can_be_made(turn: float) -> None:
    elbows = (BEVELLED, LR45, replace(RETURN, shoulder_mm=1.6))
    pieces = choose(math.radians(turn), elbows, SHOP)
    if not pieces:
        assert turn < 22.1 or turn > 172
        return
    assert sum(math.degrees(piece.angle_rad) for piece in pieces) == pytest.approx(turn, abs=0.0201)
    throat_radius = 57.15 - 24.13
    for piece in pieces:
        if piece.whole:
            assert piece.angle_rad == piece.elbow.sweep_rad
            continue
        assert piece.elbow.bend_radius_mm is not None
        left = (piece.elbow.sweep_rad - piece.angle_rad) * throat_radius
        assert left >= SHOP.kerf_mm + SHOP.least_scrap_mm - 1e-9
        cut = cut_of(piece.elbow, piece.angle_rad)
        assert lines_of_piece(cut)[2].shoulder_mm >= 3 * 3.68 - 1e-9
        assert cut.wrap_angle_rad <= math.radians(60) + 1e-12
        assert lines_to_cut(cut)[2].shoulder_mm > 0


def walk(profile: Sequence[tuple[float, float]]) -> tuple[float, float, float]:
    """End x, y and heading of a plane path of (length, turn) parts, by quadrature."""
    x = y = start = 0.0
    for length, turn in profile:
        x += quad(lambda s, a=start, k=turn / length: math.cos(a + k * s), 0, length)[0]
        y += quad(lambda s, a=start, k=turn / length: math.sin(a + k * s), 0, length)[0]
        start += turn
    return x, y, start


def take_outs_by_walking(profile: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Where the tangents at the two ends of a path meet: distances from its start and its end."""
    x, y, turn = walk(profile)

    def off_start_line(back: float) -> float:
        return y - back * math.sin(turn)

    back = brentq(off_start_line, -1e4, 1e4, xtol=1e-12)
    return x - back * math.cos(turn), back


@pytest.mark.parametrize("turn", [22.0, 32.7, 60.0, 75.0])
def test_take_outs_of_one_piece(turn: float) -> None:
    long_ended = replace(LR90, tangent_a_mm=7.0)
    corner = made(turn, (long_ended,))
    angle = math.radians(turn)
    expected = take_outs_by_walking([(7.0, 0), (57.15 * angle, angle)])
    assert (corner.take_out_before_mm, corner.take_out_after_mm) == pytest.approx(expected, abs=1e-8)


@pytest.mark.parametrize("turn", [108.0, 118.0, 135.0, 150.0, 170.0])
def test_take_outs_of_two_pieces(turn: float) -> None:
    corner = made(turn, (LR90,)) if turn != 135 else made(turn)
    profile: list[tuple[float, float]] = []
    for piece in corner.pieces:
        radius = piece.elbow.bend_radius_mm
        if radius is None:  # a stock 45 by its centre-to-end alone: straights that meet at its work point
            profile += [(28.575, 0), (1e-9, piece.angle_rad), (28.575, 0)]
        else:
            profile.append((radius * piece.angle_rad, piece.angle_rad))
        if piece is corner.pieces[0]:
            profile.append((2.4, 0))
    expected = take_outs_by_walking(profile)
    assert (corner.take_out_before_mm, corner.take_out_after_mm) == pytest.approx(expected, abs=1e-6)
    assert (corner.gap_before_mm, corner.gap_after_mm, corner.joint_gap_mm) == (2.4, 2.4, 2.4)


@settings(max_examples=80, derandomize=True, deadline=None)
@given(
    st.floats(20, 80),
    st.floats(20, 80),
    st.floats(30, 300),
    st.floats(30, 300),
    st.lists(st.floats(0, 9), min_size=5, max_size=5),
)
def test_take_outs_of_two_unlike_pieces(a1: float, a2: float, R1: float, R2: float, s: list[float]) -> None:
    one, two = math.radians(a1), math.radians(a2)
    first = Bend(one, centre_to_face(R1, one, s[0], 0), centre_to_face(R1, one, s[1], 0))
    second = Bend(two, centre_to_face(R2, two, s[2], 0), centre_to_face(R2, two, 0, s[3] / 10))
    joint = s[4] + s[1] + s[2]
    walked = take_outs_by_walking([(s[0] or 1e-9, 0), (R1 * one, one), (joint or 1e-9, 0), (R2 * two, two)])
    expected = walked[0], walked[1] - s[3] / 10
    assert take_outs_of_two(first, second, s[4]) == pytest.approx(expected, abs=1e-6)


def test_a_loss_moves_a_face_and_not_its_angle() -> None:
    """Two pieces of one cut 90, each with its cut face in the joint and 1.3 lost: s = gap − 2.6."""
    half = math.radians(45)
    piece = Bend(half, centre_to_face(57.15, half, 0, 0), centre_to_face(57.15, half, 0, 1.3))
    mirrored = Bend(half, piece.after_mm, piece.before_mm)
    before, after = take_outs_of_two(piece, mirrored, 2.4)
    expected = 57.15 + (2.4 - 2.6) * math.sin(half)
    assert (before, after) == pytest.approx((expected, expected))


def test_a_whole_45_takes_out_its_centre_to_end() -> None:
    assert made(45).take_out_before_mm == 28.575


def test_a_mitre_halves_the_turn() -> None:
    corner = made(4.76, by=Joint.MITRE)
    assert corner.mitre is not None
    assert math.degrees(corner.mitre.tilt_rad) == pytest.approx(2.38)
    long_side = corner.mitre.reach_mm - -corner.mitre.reach_mm
    assert math.degrees(math.atan(long_side / 48.26)) == pytest.approx(2.38)
    assert (corner.take_out_before_mm, corner.pieces, corner.joints) == (0, (), ("A2/1",))
    assert corner.gap_before_mm * math.cos(corner.mitre.tilt_rad) == pytest.approx(1.2)
    assert "crotch" in made(140, by=Joint.MITRE).warnings[0]


def test_doubtful_corners_warn() -> None:
    assert made(32.7).warnings == ()
    assert made(63).warnings == (
        "rail A, corner 2: piece A2 is measured from the far face of its elbow: check the sweep of "
        "90 long radius first, which may be off by 1.2° either way and puts as much into the corner",
    )
    assert "if 20° is the slope, write turn = 20" in made(160, (LR90,)).warnings[0]


def test_marks_run_along_the_rail() -> None:
    corner = made(118)
    assert [piece.mark for piece in corner.pieces] == ["A2a", "A2b"]
    assert corner.joints == ("A2/1", "A2/2", "A2/3")
    assert [piece.cut_end for piece in corner.pieces] == [None, "after"]
    assert [piece.cut_end for piece in made(108).pieces] == ["before", "after"]


def torus_point(radius: float, girth: float, sweep: float) -> tuple[float, float, float]:
    rho = radius + 24.13 * math.cos(girth)
    return rho * math.cos(sweep), rho * math.sin(sweep), 24.13 * math.sin(girth)


@pytest.mark.parametrize("angle", [25.0, 45.0, 60.0, 70.0])
def test_arcs_and_chords_on_the_torus(angle: float) -> None:
    """Lengths of lines of many points on the surface; the shoulder is where it is b behind the face plane."""
    cut = cut_of(BEVELLED, math.radians(angle))
    for line in lines_to_cut(cut):
        along = partial(torus_point, 57.15, line.girth_angle_rad)
        start = brentq(lambda w, at=along: at(w)[1] - BEVELLED.shoulder_mm, 0, 1)
        points = np.array([along(w) for w in np.linspace(start, cut.wrap_angle_rad, 4001)])
        steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
        assert line.shoulder_mm == pytest.approx(steps.sum(), abs=1e-5)
        assert line.chord_mm == pytest.approx(np.linalg.norm(points[-1] - points[0]), abs=1e-9)
        assert line.face_mm == pytest.approx(line.radius_mm * cut.wrap_angle_rad)


def test_a_tangent_longer_than_the_bevel_lengthens_every_line() -> None:
    straight = replace(BEVELLED, tangent_a_mm=10.0)
    for line in lines_to_cut(cut_of(straight, math.radians(40))):
        arc = line.radius_mm * math.radians(40)
        assert line.face_mm == pytest.approx(10 + arc)
        assert line.shoulder_mm == pytest.approx(10 - BEVELLED.shoulder_mm + arc)
        corner = np.array([line.radius_mm, BEVELLED.shoulder_mm - 10])
        end = line.radius_mm * np.array([math.cos(math.radians(40)), math.sin(math.radians(40))])
        assert line.chord_mm == pytest.approx(np.linalg.norm(end - corner))


def test_a_cut_measured_from_the_far_face() -> None:
    """63° kept of a 90 with straight ends of 10 and 4: the wrap hooks on the far end, 27° away."""
    ends = replace(BEVELLED, tangent_a_mm=10.0, tangent_b_mm=4.0)
    cut = cut_of(ends, math.radians(63))
    assert cut.from_face == "far"
    for far, kept in zip(lines_to_cut(cut), lines_of_piece(cut), strict=True):
        assert far.face_mm == pytest.approx(4 + far.radius_mm * math.radians(27))
        assert kept.face_mm == pytest.approx(10 + kept.radius_mm * math.radians(63))
        assert far.face_mm + kept.face_mm == pytest.approx(14 + far.radius_mm * math.pi / 2)
    assert error_costs(cut).tip_rad_per_mm == pytest.approx(math.radians(27) / 24.13)


def test_scrap_measured_from_its_far_face_leaves_the_bevel_clear() -> None:
    """A kerf and the least scrap are left of the throat between the cut and the far shoulder."""
    most = legal_spans(BEVELLED, SHOP)[-1].most_rad
    assert lines_to_cut(cut_of(BEVELLED, most))[2].shoulder_mm == pytest.approx(1.6 + 3.0)


def test_what_a_millimetre_costs() -> None:
    """1 mm of heel against throat on 48.3 is 1.19°, and 50 mm at the end of 2.4 m; 1.3° of tip at 32°."""
    costs = error_costs(cut_of(LR90, math.radians(32)))
    assert math.degrees(costs.turn_rad_per_mm) == pytest.approx(1.19, abs=0.005)
    assert end_moves_mm(2400, costs.turn_rad_per_mm) == pytest.approx(50, abs=0.5)
    assert math.degrees(costs.tip_rad_per_mm) == pytest.approx(1.3, abs=0.05)
    assert costs.sweep_rad == 0
    assert math.degrees(error_costs(cut_of(LR90, math.radians(63))).sweep_rad) == pytest.approx(1.2)


def test_the_tip_of_a_wrap_turned_off_the_heel() -> None:
    """Fit a plane to the points a wrap turned by 1 mm marks: each girth line gets its neighbour's arc."""
    angle, girth = math.radians(32), np.linspace(0, 2 * math.pi, 721)[:-1]
    rho = 57.15 + 24.13 * np.cos(girth)
    sweep = angle * (57.15 + 24.13 * np.cos(girth - 1 / 24.13)) / rho
    points = np.column_stack([rho * np.cos(sweep), rho * np.sin(sweep), 24.13 * np.sin(girth)])
    normal = np.linalg.svd(points - points.mean(axis=0))[2][2]
    wanted = np.array([-math.sin(angle), math.cos(angle), 0])
    tip = math.asin(min(1.0, float(np.linalg.norm(np.cross(normal, wanted)))))
    assert tip == pytest.approx(error_costs(cut_of(LR90, angle)).tip_rad_per_mm, rel=0.1)
