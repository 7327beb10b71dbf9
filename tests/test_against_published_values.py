"""Against values printed in books and tables; each test names its source."""

from __future__ import annotations

import math

import numpy as np
import pytest

from templates_core.elbows.corners import CornerAsked, make_corner
from templates_core.elbows.cuts import Cut, lines_to_cut
from templates_core.elbows.error_costs import end_moves_mm
from templates_core.elbows.take_out import Bend, centre_to_face, take_outs_of_two
from templates_core.fittings import Pipe, StockElbow
from templates_core.geometry.pipe_ends import At, PipeAxis, end_cut
from templates_core.geometry.solids import HalfSpace
from templates_core.jobs.job import CornerSpec, Joint, RailSpec, RunSpec
from templates_core.model import build_model
from templates_core.paths.rail_path import RailPath, lay_out
from templates_core.wraps.pipe_wraps import mitre_wrap
from tests.elbow_samples import LR90, PIPE, SHOP, job

INCH_MM = 25.4
SIXTEENTH_IN = 1 / 16


def elbow(bend_radius: float, od: float) -> StockElbow:
    return StockElbow(
        "90", od, od / 20, math.pi / 2, bend_radius, bend_radius, 0, 0, 0, 0.02, 1, 1, "published example"
    )


def arcs(bend_radius: float, od: float, angle: float) -> list[float]:
    return [line.face_mm for line in lines_to_cut(Cut(elbow(bend_radius, od), math.radians(angle), "own"))]


def plane_path(lengths: list[float], turns: list[tuple[float, float]], by: Joint = Joint.ELBOW) -> RailSpec:
    corners = [
        CornerSpec(f"corner {n}", math.radians(turn), math.radians(roll), by=by)
        for n, (turn, roll) in enumerate(turns, 1)
    ]
    runs = [RunSpec(f"run {n}", length) for n, length in enumerate(lengths, 1)]
    return RailSpec("A", 1, tuple(runs), tuple(corners))


def offset(path: RailPath) -> tuple[float, float]:
    """Going and rise between the two corners of an offset."""
    going, _, rise = path.points_mm[2] - path.points_mm[1]
    return float(going), float(rise)


def test_heel_and_throat_of_a_quarter_bend() -> None:
    """J. & M. Hamilton, Math to Build On, 1993: radii 3, 4 and 2; at 45° half of each."""
    heel, _, throat = arcs(3, 2, 90)
    assert (heel, throat) == pytest.approx((6.2832, 3.1416), abs=5e-5)
    heel, _, throat = arcs(3, 2, 45)
    assert (heel, throat) == pytest.approx((6.2832 / 2, 3.1416 / 2), abs=5e-5)


def test_heel_and_throat_of_a_10_inch_elbow_cut_at_38_degrees() -> None:
    """HVAC&R Weekly no. 14: R 15, OD 10.750: heel 13½, throat 6⅜ in, to the nearest 1/16."""
    heel, _, throat = arcs(15 * INCH_MM, 10.75 * INCH_MM, 38)
    assert heel / INCH_MM == pytest.approx(13.5, abs=SIXTEENTH_IN / 2)
    assert throat / INCH_MM == pytest.approx(6.375, abs=SIXTEENTH_IN / 2)


def test_travel_of_an_8_inch_offset_at_20_degrees() -> None:
    """HVAC&R Weekly no. 14: travel 23⅜ in."""
    path = lay_out(plane_path([10, 23.375, 10], [(20, 0), (20, 180)]))
    assert offset(path)[1] == pytest.approx(8, abs=SIXTEENTH_IN / 2)


@pytest.mark.parametrize(("angle", "factor"), [(45, 1.414), (22.5, 2.613), (60, 1.155)])
def test_travel_factors_of_offsets(angle: float, factor: float) -> None:
    """Pipefitting offset tables: travel over offset."""
    path = lay_out(plane_path([10, factor, 10], [(angle, 0), (angle, 180)]))
    assert offset(path)[1] == pytest.approx(1, abs=5e-4)


def test_run_and_travel_of_a_12_inch_offset_at_60_degrees() -> None:
    """Pipefitting offset tables: run 6.9288, travel 13.8564."""
    path = lay_out(plane_path([10, 13.8564, 10], [(60, 0), (60, 180)]))
    assert offset(path) == pytest.approx((6.9288, 12), abs=1e-3)


def test_mitre_lines_of_a_five_piece_turn() -> None:
    """Longfield, Sheet Metal Drafting, p. 59: mitre 11¼°; rises 11¼°, 33¾°, 56¼°, 78¾°."""
    rail = build_model(job(plane_path([100, 200, 200, 200, 100], [(22.5, 0)] * 4, Joint.MITRE))).rails[0]
    tilts = [corner.mitre.tilt_rad for corner in rail.corners if corner.mitre is not None]
    assert [math.degrees(tilt) for tilt in tilts] == pytest.approx([11.25] * 4)
    rises = [run.pitch_rad + tilt for run, tilt in zip(rail.path.runs, tilts, strict=False)]
    assert [math.degrees(rise) for rise in rises] == pytest.approx([11.25, 33.75, 56.25, 78.75])


@pytest.mark.parametrize("pieces", range(2, 9))
def test_turns_of_two_to_eight_pieces_have_mitres_of_6_degrees(pieces: int) -> None:
    """Longfield, problems 13D to J: turns of 12, 24, … 84°, every mitre 6°."""
    total = 12 * (pieces - 1)
    spec = plane_path([300] * pieces, [(total / (pieces - 1), 0)] * (pieces - 1), Joint.MITRE)
    model = build_model(job(spec))
    assert math.degrees(model.rails[0].path.runs[-1].pitch_rad) == pytest.approx(total)
    assert [math.degrees(group.tilt_rad) for group in model.mitre_groups] == pytest.approx([6])


def test_pipes_of_a_five_piece_turn_end_on_its_mitre_lines() -> None:
    """Longfield, p. 59: planes that rise 11¼°, 33¾°, 56¼°, 78¾° cut every pipe 11¼° off square.

    So each end is longer on the outside of the turn by OD·tan 11¼°, and the four ends of the inner pieces
    are alike.
    """
    od = 10.0
    for number, rise in enumerate((11.25, 33.75, 56.25, 78.75)):
        for piece in (number, number + 1):
            lean, up = math.radians(22.5 * piece), math.radians(rise)
            along = np.array([math.cos(lean), 0.0, math.sin(lean)])
            outside = np.array([math.sin(lean), 0.0, -math.cos(lean)])
            away = np.array([math.cos(up), 0.0, math.sin(up)])
            at_end: At = "end" if piece == number else "start"
            plane = HalfSpace(np.zeros(3), -away if at_end == "end" else away)
            cut = end_cut(PipeAxis(np.zeros(3), along, outside), Pipe("", od, 0.5, ""), [plane], at_end)
            longer = float(cut.at(0.0) - cut.at(math.pi)) * (1 if at_end == "end" else -1)
            assert longer == pytest.approx(od * math.tan(math.radians(11.25)), abs=1e-6)
            assert np.ptp(cut.station_mm) == pytest.approx(longer, abs=1e-6)


def test_both_pipes_of_a_two_piece_turn_are_cut_back_half_each_side_of_the_base_line() -> None:
    """NAVEDTRA 14251, ch. 3: the cut crosses the base line at the sides, half the cut-back to each side."""
    wrap = mitre_wrap(24.13, math.radians(22.5), 0.0)
    (edge,) = wrap.edges
    heights = dict(zip(np.round(edge.girth_rad, 9), edge.line_mm[:, 1], strict=True))
    long, side, short = (heights[round(phi, 9)] for phi in (0.0, math.pi / 2, math.pi))
    assert (long + short) / 2 == pytest.approx(side, abs=1e-9)
    assert long - side == pytest.approx(24.13 * math.tan(math.radians(22.5)), abs=1e-9)


@pytest.mark.parametrize(
    ("od", "girth", "half_a_figure"), [(4.5, 14.137, 5e-4), (4.5, 14.125, SIXTEENTH_IN), (6, 18.85, 5e-3)]
)
def test_girth(od: float, girth: float, half_a_figure: float) -> None:
    """Open Oregon, Layout for Metals, ch. 3: 14⅛ in (14.137) for 4.5 OD, 18.85 for 6.000."""
    assert Pipe("", od, 0.1, "").girth_mm == pytest.approx(girth, abs=half_a_figure)


def test_an_acute_inside_angle_takes_a_90_and_a_piece_of_90_less_it() -> None:
    """Common practice: turn = 180° − inside angle, and so 62° takes a 90 and 28°."""
    asked = CornerAsked("A1", 1, "corner 1", math.radians(180 - 62), 0, Joint.ELBOW)
    corner = make_corner(asked, PIPE, (LR90,), SHOP)
    assert math.degrees(corner.inside_angle_rad) == pytest.approx(62)
    assert [math.degrees(piece.angle_rad) for piece in corner.pieces] == pytest.approx([90, 90 - 62])


def two_pieces(straight: float) -> tuple[float, float]:
    quarter, rest = math.pi / 2, math.radians(28)
    first = Bend(quarter, *[centre_to_face(57.15, quarter, 0, 0)] * 2)
    second = Bend(rest, *[centre_to_face(57.15, rest, 0, 0)] * 2)
    return take_outs_of_two(first, second, straight)


def test_take_outs_worked_by_hand() -> None:
    """R 57.15: worked out by hand from the triangle of the two tangents."""
    assert centre_to_face(57.15, math.radians(32), 0, 0) == pytest.approx(16.387, abs=5e-4)
    assert two_pieces(0) == pytest.approx((95.114, 95.114), abs=5e-4)
    assert two_pieces(2.4) == pytest.approx((96.390, 97.832), abs=5e-4)


def test_45_minutes_is_13_mm_a_metre() -> None:
    """EN ISO 13920: 45′ on its table of angles and of millimetres per metre."""
    assert end_moves_mm(1000, math.radians(0.75)) == pytest.approx(13, abs=0.5)
