"""The computed model: rails rebuilt from their parts, faults told at once, marks that stay."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from templates_core.elbows.corners import Corner
from templates_core.errors import InputError
from templates_core.jobs.job import (
    CornerSpec,
    Job,
    Joint,
    PipeStock,
    RailSpec,
    RunSpec,
    Stock,
    Towards,
)
from templates_core.model import Model, Rail, build_model
from tests.elbow_samples import BEVELLED, LR45, LR90, RETURN, SHOP, job


def rail(
    mark: str,
    runs: Sequence[float],
    turns: Sequence[float | CornerSpec],
    quantity: int = 1,
    closed: bool = False,
) -> RailSpec:
    corners = [
        replace(turn, where=f"rail {mark}, corner {n}")
        if isinstance(turn, CornerSpec)
        else CornerSpec(f"rail {mark}, corner {n}", math.radians(turn))
        for n, turn in enumerate(turns, 1)
    ]
    specs = [RunSpec(f"rail {mark}, run {n}", length) for n, length in enumerate(runs, 1)]
    return RailSpec(mark, quantity, tuple(specs), tuple(corners), closed)


def bend(
    turn: float, roll: float | None = None, towards: Towards | None = None, by: Joint = Joint.ELBOW
) -> CornerSpec:
    return CornerSpec("", math.radians(turn), None if roll is None else math.radians(roll), towards, by)


def faults_of(a_job: Job) -> list[str]:
    with pytest.raises(InputError) as caught:
        build_model(a_job)
    return [str(fault) for fault in caught.value.faults]


class Fitter:
    """Puts parts end to end: a position and a frame, x forward along the rail, z towards roll 0."""

    def __init__(self, start: NDArray[np.float64]) -> None:
        self.at = start
        self.frame = Rotation.identity()

    def straight(self, length: float) -> None:
        self.at = self.at + self.frame.apply([length, 0, 0])

    def roll(self, angle: float) -> None:
        self.frame = self.frame * Rotation.from_euler("X", angle)

    def arc(self, radius: float, angle: float) -> None:
        """Ahead and up round a circle in the frame's own x–z plane."""
        self.at = self.at + self.frame.apply([radius * math.sin(angle), 0, radius * (1 - math.cos(angle))])
        self.frame = self.frame * Rotation.from_euler("Y", -angle)

    def corner(self, corner: Corner) -> None:
        self.roll(corner.roll_rad)
        self.straight(corner.gap_before_mm)
        for number, piece in enumerate(corner.pieces):
            if number:
                self.straight(corner.joint_gap_mm)
            elbow = piece.elbow
            if elbow.bend_radius_mm is None:
                self.straight(elbow.centre_to_end_mm)
                self.arc(0, piece.angle_rad)
                self.straight(elbow.centre_to_end_mm)
                continue
            cut = -piece.loss_mm
            first = cut if piece.cut_end in ("before", "both") else elbow.tangent_a_mm
            ends = {None: elbow.tangent_b_mm, "before": elbow.tangent_a_mm, "after": cut, "both": cut}
            self.straight(first)
            self.arc(elbow.bend_radius_mm, piece.angle_rad)
            self.straight(ends[piece.cut_end])
        if corner.mitre is not None:
            self.arc(0, corner.turn_rad)
        self.straight(corner.gap_after_mm)


def rebuilt_end(built: Rail) -> NDArray[np.float64]:
    fitter = Fitter(built.path.points_mm[0])
    for number, member in enumerate(built.members):
        fitter.straight(member.length_mm)
        if number < len(built.corners):
            fitter.corner(built.corners[number])
    return fitter.at


def test_a_rail_put_together_from_its_parts_ends_where_the_drawing_does() -> None:
    long_ended = replace(LR90, tangent_a_mm=6, tangent_b_mm=4)
    turns = [
        bend(32.7),
        bend(118, roll=37),
        bend(45, roll=-110),
        bend(108, roll=180),
        bend(4.76, by=Joint.MITRE, roll=20),
        bend(135, roll=65),
        bend(90, roll=-5),
        bend(88, roll=1),
    ]
    for elbows in ((LR90, LR45), (BEVELLED, LR45, RETURN), (long_ended, LR45)):
        built = build_model(
            job(rail("A", [900, 2650, 600, 800, 500, 700, 900, 650, 400], turns), elbows=elbows)
        )
        assert rebuilt_end(built.rails[0]) == pytest.approx(built.rails[0].path.points_mm[-1], abs=1e-7)


def test_pieces_that_share_elbows_still_bring_the_rail_home() -> None:
    """Shared lines take metal off faces, middle pieces off two; the pipes make up for it."""
    turns = [bend(40), bend(50, roll=25), bend(30, roll=-70), bend(30, roll=110), bend(30), bend(108, roll=9)]
    runs = [700, 650, 600, 550, 500, 650, 800]
    for elbows in ((LR90,), (BEVELLED,), (LR90, RETURN)):
        built = build_model(job(rail("A", runs, turns), rail("B", runs, turns, quantity=2), elbows=elbows))
        pieces = [piece for one in built.rails for corner in one.corners for piece in corner.pieces]
        assert {"before", "both"} <= {piece.cut_end for piece in pieces}
        for one in built.rails:
            assert rebuilt_end(one) == pytest.approx(one.path.points_mm[-1], abs=1e-7)


def test_what_a_shared_cut_takes_off_two_pieces_is_given_back_to_the_pipes() -> None:
    """40 and 50 of one 90: each is cut at its end after, and loses 1.6/2 + 0.5 there."""
    built = build_model(job(rail("A", [500, 500, 500], [40, 50])))
    lost = 1.6 / 2 + 0.5
    forty, fifty = (57.15 * math.tan(math.radians(turn / 2)) for turn in (40, 50))
    assert [member.length_mm for member in built.rails[0].members] == pytest.approx(
        [500 - forty - 2.4, 500 - forty - fifty + lost - 4.8, 500 - fifty + lost - 2.4]
    )
    (group,) = built.cut_groups
    assert (group.marks, group.beyond_marks, group.blade, group.quantity) == (("A1",), ("A2",), "centred", 1)
    assert math.degrees(group.cut.wrap_angle_rad) == pytest.approx(40)
    heel = group.of_piece[0]
    rho = 57.15 + 24.13
    assert heel.face_mm == pytest.approx(rho * (math.radians(40) - math.asin(lost / rho)))
    assert group.to_cut[0].face_mm == pytest.approx(rho * math.radians(40))
    assert [line.quantity for line in built.buy_list] == [1]
    assert "piece A2 leans on the sweep of an elbow that it shares" in built.warnings[-1]


def test_a_middle_piece_is_on_two_lines_and_has_no_stock_face() -> None:
    """Three of 30 in one 90: two lines alike, each 30 from its nearer face, the middle piece beyond both."""
    built = build_model(job(rail("A", [500] * 4, [30, 30, 30])))
    (group,) = built.cut_groups
    assert (group.quantity, len(group.marks), len(group.beyond_marks)) == (2, 2, 1)
    middle = next(c for c in built.rails[0].corners if c.mark == group.beyond_marks[0])
    take_out = 57.15 * math.tan(math.radians(15)) - (1.6 / 2 + 0.5)
    assert (middle.take_out_before_mm, middle.take_out_after_mm) == pytest.approx((take_out, take_out))


def test_a_line_within_an_elbow_is_measured_over_another_piece() -> None:
    """45 and the rest of a 90 but a kerf and 4 mm: the second is a middle piece, with scrap beyond."""
    rest = 45 - math.degrees((1.6 + 4.0) / (57.15 - 24.13))
    built = build_model(job(rail("A", [500] * 3, [45, rest]), elbows=(LR90,)))
    first, second = built.cut_groups
    assert [group.blade for group in (first, second)] == ["centred", "centred"]
    assert (first.marks + first.beyond_marks, second.beyond_marks) == (("A1", "A2"), ())
    assert (second.marks, second.cut.from_face) == (("A2",), "far")
    assert math.degrees(second.cut.wrap_angle_rad) == pytest.approx(45 - rest)
    lost = 1.6 / 2 + 0.5
    throat = second.of_piece[2]
    arc = (57.15 - 24.13) * (math.radians(rest) - 2 * math.asin(lost / (57.15 - 24.13)))
    assert throat.shoulder_mm == throat.face_mm == pytest.approx(arc)


def test_pipe_is_shared_out_to_the_sticks_of_the_job_or_to_usual_ones() -> None:
    spec = rail("A", [2600, 2700, 6100], [bend(90), bend(90, roll=0)])
    usual = build_model(job(spec))
    assert usual.notes == (
        "The job lists no pipe, so sticks of 6.00 m are taken: list yours as [[stock.pipe]].",
    )
    assert usual.warnings == ("rail A, run 3: pipe A-P3 is longer than a stick of 6.00 m",)
    assert [plan.copies for plan in usual.pipe_shares[0].share.plans] == [(("A-P2", "A-P1"),)]
    listed = replace(job(spec), stock=Stock(pipes=(PipeStock(6000.0),)))
    assert faults_of(listed) == [
        "rail A, run 3: pipe A-P3 takes 6040.5 mm, and the longest stick gives 6000.0 mm; "
        "list a longer [[stock.pipe]], or make it of two runs"
    ]
    fits = build_model(replace(job(spec), stock=Stock(pipes=(PipeStock(7000.0),))))
    assert (fits.notes, fits.warnings, fits.pipe_shares[0].share.bound) == ((), (), 14000)


def test_a_ring_uses_its_last_corner_on_its_first_run() -> None:
    turns = [bend(90, towards=Towards.LEFT), bend(90), bend(90), bend(90)]
    built = build_model(job(rail("A", [500, 300, 500, 300], turns, closed=True))).rails[0]
    lost = 2 * (57.15 + 2.4)
    assert [m.length_mm for m in built.members] == pytest.approx([500 - lost, 300 - lost] * 2)


def sample() -> Model:
    return build_model(
        job(
            rail("A", [900, 2650, 600], [47.7, 138], quantity=2),
            rail("B", [500, 1800, 400], [47.7, bend(4.76, by=Joint.MITRE)]),
            rail("R1", [500, 700], [48], quantity=3),
        )
    )


def test_like_cuts_are_one_group() -> None:
    model = sample()
    assert [(group.marks, group.quantity) for group in model.cut_groups] == [
        (("A1", "B1"), 3),
        (("A2b", "R1-1"), 5),
    ]
    assert [round(math.degrees(group.cut.piece_angle_rad), 6) for group in model.cut_groups] == [47.7, 48]
    assert [group.longest_run_mm for group in model.cut_groups] == [2650, 2650]


def test_own_and_far_cuts_of_one_wrap_angle_are_two_groups() -> None:
    """Of two pieces of 63 one takes what the 27 leaves of its elbow, and the other is cut clear."""
    model = build_model(job(rail("A", [500, 500, 500], [27, 63]), rail("B", [500, 500], [63])))
    assert [math.degrees(group.cut.wrap_angle_rad) for group in model.cut_groups] == pytest.approx([27, 27])
    assert [(group.marks, group.beyond_marks, group.blade) for group in model.cut_groups] == [
        (("A1",), ("A2",), "centred"),
        (("B1",), (), "clear"),
    ]
    assert [group.cut.from_face for group in model.cut_groups] == ["own", "far"]


def test_elbows_to_buy_are_what_the_pieces_fit_in() -> None:
    """Two each of 32.7 and 28 come of two elbows, with a kerf and more between them."""
    model = build_model(
        job(rail("A", [900, 2650, 600], [32.7, 118], quantity=2), rail("B", [500, 500, 900], [45, 90]))
    )
    assert [(line.elbow.name, line.whole, line.to_cut, line.quantity) for line in model.buy_list] == [
        ("90 long radius", 3, 2, 5),
        ("45 long radius", 1, 0, 1),
    ]


def test_mitres_are_grouped_by_tilt_and_count_both_pipe_ends() -> None:
    turns = [bend(4.76, by=Joint.MITRE), bend(4.76, roll=180, by=Joint.MITRE)]
    model = build_model(job(rail("A", [900, 6000, 900], turns, quantity=2)))
    assert [(group.joints, group.ends) for group in model.mitre_groups] == [(("A1/1", "A2/1"), 8)]
    assert (model.buy_list, model.cut_groups) == ((), ())


def test_pipe_length_counts_every_rail() -> None:
    model = sample()
    assert model.pipe_mm == pytest.approx(
        sum(rail.quantity * sum(member.length_mm for member in rail.members) for rail in model.rails)
    )
    one = model.rails[2].members[0]
    assert one.mark == "R1-P1"
    assert one.length_mm == pytest.approx(500 - 57.15 * math.tan(math.radians(24)) - 2.4)


def test_the_short_side_of_a_pipe_mitred_at_both_ends() -> None:
    """By the least length over generators of a pipe cut at both ends, the far cut turned by the roll."""
    for roll in (0.0, 70.0, 180.0):
        turns = [bend(20, by=Joint.MITRE), bend(30, roll=roll, by=Joint.MITRE)]
        member = build_model(job(rail("A", [300, 300, 300], turns))).rails[0].members[1]
        girth = np.linspace(0, 2 * math.pi, 7201)
        one = 24.13 * math.tan(math.radians(10)) * np.cos(girth)
        two = 24.13 * math.tan(math.radians(15)) * np.cos(girth - math.radians(roll))
        assert member.short_mm == pytest.approx((member.length_mm - one - two).min(), abs=1e-4)


def test_marks_stay_when_another_corner_changes() -> None:
    def marks(turns: Sequence[float | CornerSpec]) -> list[tuple[str, ...]]:
        corners = build_model(job(rail("A", [900] * 4, turns))).rails[0].corners
        return [(c.mark, *(piece.mark for piece in c.pieces), *c.joints) for c in corners]

    before, after = marks([32.7, 118, 30]), marks([bend(4, by=Joint.MITRE), 118, 108])
    assert before[1] == after[1] == ("A2", "A2a", "A2b", "A2/1", "A2/2", "A2/3")
    assert before[0] != after[0]


def test_all_faults_of_all_rails_are_told_at_once() -> None:
    short = rail("C", [900, 80, 600], [90, 90])
    bad_path = rail("B", [900, -5], [10])
    lost = replace(
        rail("D", [900, 500, 500], [12, 14]),
        runs=(
            RunSpec("rail D, run 1", 900),
            RunSpec("rail D, run 2", 500, 1.0),
            RunSpec("rail D, run 3", 500),
        ),
    )
    found = faults_of(job(rail("A", [900, 900, 900], [4, 5]), bad_path, short, lost))
    assert [text.split(":")[0] for text in found] == [
        "rail A, corner 1",
        "rail A, corner 2",
        "rail B, run 2",
        "rail B, corner 1",
        "rail C, run 2",
        "rail D, corner 1",
        "rail D, corner 1",
        "rail D, corner 2",
    ]


def test_a_short_run_names_its_corners_the_shortfall_and_what_would_fit() -> None:
    """Two 90s take 57.15 + 2.4 each, and three walls of pipe must be left: 130.14."""
    spec = rail("C", [900, 100, 600], [90, 90])
    assert faults_of(job(spec)) == [
        "rail C, run 2: it is 30.2 mm too short for corner C1 and corner C2 and a pipe that can be welded; "
        "make it 130.2 mm or longer, or exactly 116.70 mm for a weld with no pipe between, "
        "or use 90 short radius there, or use EN 90 2D there, or mitre corner C2"
    ]
    assert "make it 5-1/8 in or longer" in faults_of(replace(job(spec), units="in"))[0]
    fits = build_model(job(rail("C", [900, 130.2, 600], [90, 90])))
    assert fits.rails[0].members[1].length_mm == pytest.approx(3 * 3.68, abs=0.1)


def test_an_elbow_that_cannot_be_is_a_fault_beside_those_of_the_rails() -> None:
    tight = replace(LR90, bend_radius_mm=24.0)
    deep = replace(LR90, name="deep", shoulder_mm=40.0)
    found = faults_of(job(rail("A", [900, -1], [30]), elbows=(tight, deep)))
    assert [text.split(":")[0] for text in found] == [
        "elbow 90 long radius",
        "elbow deep",
        "rail A, run 2",
    ]


def test_warnings_are_one_list_with_the_jobs_own_first() -> None:
    model = build_model(replace(job(rail("A", [900, 900, 900], [32.7, 63])), warnings=("pipe: doubtful",)))
    assert [text.split(":")[0] for text in model.warnings] == ["pipe", "rail A, corner 2", "rail A, corner 2"]


def test_progress_is_told_rail_by_rail_and_wrap_by_wrap() -> None:
    told: list[tuple[str, int, int]] = []
    build_model(
        job(rail("A", [900, 900], [30]), rail("B", [900, 900], [30]), shop=SHOP),
        lambda what, done, total: told.append((what, done, total)),
    )
    assert told == [("rails", 0, 2), ("rails", 1, 2), ("rails", 2, 2), ("wraps", 0, 1), ("wraps", 1, 1)]
