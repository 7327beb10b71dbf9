import math
import re
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.pages.drawing import Pen, Polyline, Text
from render.pages.shapes import box_round, text_box
from render.sheets.rail_drawing import RailFigure, rail_figures
from templates_core.model import Rail
from tests.settings import seeded
from tests.sheet_samples import ALL, FRAME, LEVEL, RAMP, SPATIAL, ZIGZAG, model_of, rail

WIDTH, HEIGHT = 190.0, 240.0


def figures(table: str) -> tuple[Rail, tuple[RailFigure, ...]]:
    computed = model_of(table).rails[0]
    return computed, rail_figures(computed, "mm", WIDTH, HEIGHT)


def lines(figure: RailFigure) -> list[np.ndarray]:
    """The rail's line in each view, from the drawing, points (n, 2)."""
    drawn = [i for i in figure.figure.drawing if isinstance(i, Polyline) and i.pen is Pen.OBJECT]
    return [np.array(line.points) for line in drawn]


def texts(figure: RailFigure) -> list[str]:
    return [item.text for item in figure.figure.drawing if isinstance(item, Text)]


def inside_angles(points: np.ndarray) -> list[float]:
    """Angles between lines at each inner point, by the law of cosines [degrees]."""
    found = []
    for a, b, c in zip(points, points[1:], points[2:], strict=False):
        p, q, r = np.linalg.norm(a - b), np.linalg.norm(c - b), np.linalg.norm(a - c)
        found.append(math.degrees(math.acos(np.clip((p * p + q * q - r * r) / (2 * p * q), -1, 1))))
    return found


def in_space(figure: RailFigure) -> np.ndarray:
    """Points put together from plan (x, y) and elevation (x, z)."""
    plan, elevation = lines(figure)
    assert plan[:, 0] == pytest.approx(elevation[:, 0], abs=1e-6), "the elevation stands under the plan"
    assert plan[:, 1].min() > elevation[:, 1].max()
    return np.column_stack([plan, elevation[:, 1]])


sides = st.sampled_from(["left", "right"])


@given(st.lists(st.tuples(st.floats(23, 150), sides, st.floats(200, 6000)), min_size=1, max_size=8))
@seeded(40)
def test_angles_of_a_level_rail_are_drawn_true_and_to_the_right_side(
    corners: list[tuple[float, str, float]],
) -> None:
    runs = [500.0, *(round(length + 300, 1) for _, _, length in corners)]
    asked = [f"turn = {turn:.2f}, towards = '{side}'" for turn, side, _ in corners]
    _, drawn = figures(rail("A", runs, asked))
    told = [180 - round(turn, 2) for turn, _, _ in corners]
    shown = {
        mark: angle for f in drawn for mark, angle in zip(f.marks, inside_angles(lines(f)[0]), strict=True)
    }
    assert [shown[f"A{i}"] for i in range(1, len(told) + 1)] == pytest.approx(told, abs=1e-4)
    for figure in drawn:
        steps = np.diff(lines(figure)[0], axis=0)
        for mark, (u, v) in zip(figure.marks, pairwise(steps), strict=True):
            left = u[0] * v[1] - u[1] * v[0] > 0
            assert left == (corners[int(mark[1:]) - 1][1] == "left"), mark


def test_a_rail_that_goes_up_is_drawn_upright_from_left_to_right() -> None:
    _, (figure,) = figures(RAMP)
    points = lines(figure)[0]
    assert np.all(np.diff(points[:, 0]) > 0)
    assert points[-1, 1] > points[0, 1]
    assert any("Elevation" in text for text in texts(figure))


def test_plan_and_elevation_put_together_are_the_rail() -> None:
    """Rebuilt in space from its two views: every angle, and the hand of every twist."""
    computed, (figure,) = figures(SPATIAL)
    points = in_space(figure)
    steps = np.diff(points, axis=0)
    angles = [corner.inside_angle_rad for corner in computed.corners]
    assert np.radians(inside_angles(points)) == pytest.approx(angles, abs=1e-6)
    for corner, (u, v, w) in zip(
        computed.corners[1:], zip(steps, steps[1:], steps[2:], strict=False), strict=True
    ):
        one, two = np.cross(u, v), np.cross(v, w)
        roll = math.atan2(float(v @ np.cross(one, two)) / np.linalg.norm(v), float(one @ two))
        assert corner.roll_rad == pytest.approx(roll, abs=1e-6)
    assert steps[0] @ [0, 0, 1] == pytest.approx(0, abs=1e-6) and steps[1][2] > 0, "corner 1 turns up"


def test_a_stated_scale_holds_for_every_run() -> None:
    for table in (FRAME, SPATIAL):
        computed, (figure,) = figures(table)
        found = re.search(r"Drawn 1:(\d+)", figure.caption)
        assert found, figure.caption
        points = in_space(figure) if len(lines(figure)) == 2 else lines(figure)[0]
        drawn = np.linalg.norm(np.diff(points, axis=0), axis=1) * int(found[1])
        assert drawn == pytest.approx([run.length_mm for run in computed.path.runs], abs=1e-3)


def test_runs_that_are_not_to_scale_keep_their_order_and_say_so() -> None:
    _, (figure,) = figures(rail("A", (150, 9000, 2000), ("turn = 40, towards = 'left'",) * 2))
    assert "Not to scale" in figure.caption and "1:" not in figure.caption
    drawn = np.linalg.norm(np.diff(lines(figure)[0], axis=0), axis=1)
    assert drawn[0] < drawn[2] < drawn[1] <= 4.001 * drawn[0]


@pytest.mark.parametrize("name", ALL)
def test_every_mark_angle_and_run_is_there_and_inside(name: str) -> None:
    computed, drawn = figures(ALL[name])
    found = " | ".join(text for figure in drawn for text in texts(figure))
    for corner in computed.corners:
        assert re.search(rf"(^|\| ){re.escape(corner.mark)}( \||$)", found), corner.mark
        angle = f"{round(math.degrees(corner.inside_angle_rad), 2):g}°"
        assert angle in found
    for member in computed.members:
        assert re.search(rf"{re.escape(member.mark)}(, | \| )run {member.run_mm:.1f}", found), member.mark
    for figure in drawn:
        assert figure.figure.box.width <= WIDTH and figure.figure.box.height <= HEIGHT + 1e-6
        for item in figure.figure.drawing:
            points = text_box(item) if isinstance(item, Text) else ()
            assert not points or figure.figure.box.holds(box_round(points)), item


def test_a_label_stands_by_what_it_names() -> None:
    _, (figure,) = figures(LEVEL)
    points = lines(figure)[0]
    for number, at in enumerate(points[1:-1], 1):
        (mark,) = [i for i in figure.figure.drawing if isinstance(i, Text) and i.text == f"A{number}"]
        away = [math.dist(mark.at, p) for p in points[1:-1]]
        assert math.dist(mark.at, at) == min(away) < 20


def test_a_rail_of_twenty_corners_is_shown_whole_and_in_parts_that_share_a_run() -> None:
    _, (whole, *parts) = figures(ZIGZAG)
    marks = [f"Z{n}" for n in range(1, 21)]
    assert list(whole.marks) == marks and len(parts) > 1
    assert [mark for part in parts for mark in part.marks] == marks
    runs = [{t.split(",")[0] for t in texts(part) if re.match(r"Z-P\d+", t)} for part in parts]
    assert all(len(one & two) == 1 for one, two in pairwise(runs))


def test_a_closed_frame_in_parts_shows_the_angle_of_every_corner() -> None:
    """Its last corner too, at the start of its first run."""
    count = 14
    ring = rail(
        "frameLong.14", [500] * count, [f"turn = {360 / count}, towards = 'left'"] * count, closed=True
    )
    computed = model_of(ring).rails[0]
    parts = [figure for figure in rail_figures(computed, "mm", 90.0, 120.0) if not figure.is_overview]
    assert len(parts) > 1
    corners = [corner.mark for corner in computed.corners]
    assert [mark for part in parts for mark in part.marks] == corners
    assert sum("°" in text for part in parts for text in texts(part)) == count
