"""Rails made in both hands, by the laws of a mirror."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from render.figures.figure_tables import rail_title
from templates_core.jobs.job import CornerSpec, EndKind, EndSpec, RailSpec, RunSpec, Towards
from templates_core.model import build_model
from templates_core.paths.mirror import mirrored
from templates_core.paths.rail_ends import whole_path
from tests.elbow_samples import job
from tests.settings import seeded

ROLL = st.floats(-math.pi, math.pi)
WALL = EndSpec("end", EndKind.WALL_RETURN, run_mm=300, turn_rad=1.3, towards=Towards.LEFT)


@st.composite
def rails(draw: st.DrawFn) -> RailSpec:
    turns = draw(st.lists(st.tuples(st.floats(0.35, 2.5), ROLL), min_size=1, max_size=6))
    corners = tuple(CornerSpec(f"rail A, corner {n}", turn, roll) for n, (turn, roll) in enumerate(turns, 1))
    runs = [RunSpec(f"rail A, run {n}", draw(st.floats(500, 2000))) for n in range(1, len(corners) + 2)]
    runs[0] = replace(runs[0], pitch_rad=draw(st.floats(-1.2, 1.2)), heading_rad=draw(ROLL))
    ends = draw(st.sampled_from([(), (WALL,), (replace(WALL, towards=None, roll_rad=0.7),)]))
    return RailSpec("A", 1, tuple(runs), corners, start=ends, end=ends, mirror=True)


@seeded(150)
@given(rails())
def test_the_other_hand_is_the_rail_in_a_mirror(spec: RailSpec) -> None:
    """Every work point, those of returns too, with y negated; turns alike, rolls negated."""
    path, other = whole_path(spec), whole_path(mirrored(spec))
    assert np.abs(other.points_mm - path.points_mm * [1, -1, 1]).max() < 1e-6
    for one, two in zip(path.corners, other.corners, strict=True):
        assert abs(one.turn_rad - two.turn_rad) < 1e-9
        assert abs(math.remainder(one.roll_rad + two.roll_rad, 2 * math.pi)) < 1e-6


@seeded(50)
@given(rails())
def test_the_other_hand_of_the_other_hand_is_the_rail(spec: RailSpec) -> None:
    assert mirrored(mirrored(spec)) == spec
    assert mirrored(spec) != spec


def test_a_rail_of_points_in_a_mirror() -> None:
    spec = RailSpec("A", 1, (), (), False, ((0.0, 1.0, 2.0), (900.0, 10.0, 5.0), (950.0, 700.0, 80.0)))
    assert mirrored(spec).points_mm == ((0.0, -1.0, 2.0), (900.0, -10.0, 5.0), (950.0, -700.0, 80.0))
    assert mirrored(mirrored(spec)) == spec


def rail(rolls: tuple[float, ...], quantity: int = 1, mirror: bool = True) -> RailSpec:
    corners = tuple(
        CornerSpec(f"rail A, corner {n}", math.radians(turn), math.radians(roll))
        for n, (turn, roll) in enumerate(zip((32, 60, 40), rolls, strict=True), 1)
    )
    runs = tuple(RunSpec(f"rail A, run {n}", 900) for n in range(1, 5))
    return RailSpec("A", quantity, runs, corners, mirror=mirror)


def test_quantity_counts_pairs_and_the_model_has_both_hands() -> None:
    model = build_model(job(rail((90, 35, -110), quantity=3)))
    one, two = model.rails
    assert [(r.mark, r.quantity, r.mirror_of, r.turned_over) for r in model.rails] == [
        ("A", 3, "", False),
        ("AM", 3, "A", False),
    ]
    assert [rail_title(r) for r in model.rails] == ["Rail A, make 3", "Rail AM, the other hand of A, make 3"]
    assert [corner.mark for corner in two.corners] == ["AM1", "AM2", "AM3"]
    assert [m.length_mm for m in one.members] == [m.length_mm for m in two.members]
    assert [mark.girth_mm for mark in two.fit_up.rolls] == [-mark.girth_mm for mark in one.fit_up.rolls]
    assert sum(group.quantity for group in model.cut_groups) == 18


def test_a_flat_rail_is_its_own_other_hand_turned_over() -> None:
    """No second rail, twice as many: turned over about its first run, it lies on its mirror image."""
    spec = rail((90, 0, 180), quantity=3)
    model = build_model(job(spec))
    (flat,) = model.rails
    assert (flat.quantity, flat.turned_over, flat.mirror_of) == (6, True, "")
    assert rail_title(flat) == "Rail A, make 6 (both hands: half of them turned over)"
    assert sum(group.quantity for group in model.cut_groups) == 18
    turned_over = flat.path.points_mm * [1, -1, -1]
    assert np.abs(turned_over - whole_path(mirrored(spec)).points_mm).max() < 1e-6


def test_a_flat_rail_with_a_return_out_of_its_plane_has_two_hands() -> None:
    wall = EndSpec("rail A, end", EndKind.WALL_RETURN, run_mm=200, turn_rad=math.pi / 2, roll_rad=1.0)
    model = build_model(job(replace(rail((90, 0, 180)), end=(wall,))))
    assert [r.mark for r in model.rails] == ["A", "AM"]


def test_without_mirror_there_is_one_hand() -> None:
    assert [r.mark for r in build_model(job(rail((90, 35, -110), mirror=False))).rails] == ["A"]


def test_what_is_doubtful_is_told_once_but_for_parts_of_their_own_name() -> None:
    """Piece A2 and its other hand are both measured from the far face; an assumed roll is told once."""
    spec = rail((90, 35, -110))
    far = replace(spec, corners=(spec.corners[0], replace(spec.corners[1], turn_rad=1.2, roll_rad=None)))
    far = replace(far, runs=(replace(spec.runs[0], pitch_rad=0.2), *spec.runs[1:3]))
    bent = replace(
        far, corners=(*far.corners, replace(spec.corners[2], where="rail A, corner 3")), runs=spec.runs
    )
    texts = build_model(job(bent)).warnings
    assert sum("no roll or side given" in text for text in texts) == 1
    assert sum("measured from the far face" in text for text in texts) == 2
