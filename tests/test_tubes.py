"""Tubes of a rail and their shadows: areas and ends by laws of plane figures and of a rail put together."""

from __future__ import annotations

import math

import numpy as np
import pytest

from render.sheets.metal_outline import shadow, visible_outlines
from render.sheets.rail_views import isometric, views_of
from templates_core.fitting_up.metal import runs_of_metal
from templates_core.fitting_up.tubes import Tube, TubeKind, joint_places, rail_tubes, straight_tube
from templates_core.model import Rail
from tests.saw_and_table import Table, rail_start
from tests.sheet_samples import ALL, LEVEL, RAMP, SPATIAL, model_of

RADIUS_MM, BEND_MM, GAP_MM = 48.26 / 2, 57.15, 2.4


def tubes_of(computed: Rail) -> tuple[Tube, ...]:
    runs = runs_of_metal(computed.path, computed.corners, computed.members)
    return rail_tubes(computed.path, computed.corners, runs, RADIUS_MM)


def test_shadows_of_a_flat_rail_have_the_areas_of_rectangles_and_rings() -> None:
    """A pipe: length times OD.  A piece that lost nothing: its share of the ring from R − r to R + r."""
    (computed,) = model_of(LEVEL).rails
    (view,) = views_of(computed.path)
    areas = {tube.mark: shadow(tube, view, 1.0).area for tube in tubes_of(computed)}
    for member in computed.members:
        assert areas[member.mark] == pytest.approx(member.length_mm * 2 * RADIUS_MM, rel=3e-3)
    for corner in computed.corners:
        for piece in corner.pieces:
            if piece.elbow.bend_radius_mm == pytest.approx(BEND_MM) and not piece.loss_mm:
                ring = piece.angle_rad / 2 * ((BEND_MM + RADIUS_MM) ** 2 - (BEND_MM - RADIUS_MM) ** 2)
                assert areas[piece.mark] == pytest.approx(ring, rel=5e-3)


def test_a_mitred_pipe_ends_on_the_plane_between_its_runs() -> None:
    (computed,) = model_of(RAMP).rails
    pipes = [tube for tube in tubes_of(computed) if tube.kind is TubeKind.PIPE]
    one, two = pipes[0].rings_mm[-1], pipes[1].rings_mm[0]
    gaps = [float(np.linalg.norm(two - point, axis=1).min()) for point in one]
    assert max(gaps) < 5.0 and min(gaps) == pytest.approx(GAP_MM, abs=0.1), "open by the gap all round"


@pytest.mark.parametrize("name", ["level", "spatial", "ramp", "far"])
def test_joints_and_pipe_ends_stand_where_a_rail_put_together_has_them(name: str) -> None:
    for computed in model_of(ALL[name]).rails:
        table = Table(rail_start(computed.path), GAP_MM)
        table.put_together(computed.path, computed.corners, computed.members)
        runs = runs_of_metal(computed.path, computed.corners, computed.members)
        marks = [joint.marks for joint in computed.fit_up.joints]
        for place in joint_places(computed.path, computed.corners, runs, marks):
            assert place.point_mm == pytest.approx(table.joints[place.marks[0]].at, abs=1e-6)
        pieces = {tube.mark: tube for tube in tubes_of(computed)}
        for mark, (first, last) in table.pieces.items():
            assert pieces[mark].centres_mm[0] == pytest.approx(first.at, abs=1e-6)
            assert pieces[mark].centres_mm[-1] == pytest.approx(last.at, abs=1e-6)


def test_the_nearer_of_two_crossing_pipes_hides_the_other() -> None:
    (computed,) = model_of(SPATIAL).rails
    view = views_of(computed.path)[0]
    low = straight_tube("low", TubeKind.OTHER, np.array([-100.0, 0, 0]), np.array([100.0, 0, 0]), 10)
    high = straight_tube("high", TubeKind.OTHER, np.array([0.0, -100, 50]), np.array([0.0, 100, 50]), 10)
    for pair in ((low, high), (high, low)):
        lines = list(visible_outlines(pair, [shadow(tube, view, 1.0) for tube in pair], view, 1.0))
        drawn = sum(
            math.dist(a, b) for line in lines for a, b in zip(line.points, line.points[1:], strict=False)
        )
        drawn += sum(math.dist(line.points[-1], line.points[0]) for line in lines if line.closed)
        assert drawn == pytest.approx(2 * 440 - 2 * 20, abs=0.5), "two stretches of the lower one are hidden"


def test_an_isometric_view_is_seen_from_above_and_never_mirrored() -> None:
    (computed,) = model_of(SPATIAL).rails
    view = isometric(computed.path, range(4))
    towards = np.cross(view.right, view.up)
    assert towards[2] == pytest.approx(1 / math.sqrt(3)), "35.26° above level"
    axes = [np.linalg.norm([axis @ view.right, axis @ view.up]) for axis in np.eye(3)]
    assert axes == pytest.approx([math.sqrt(2 / 3)] * 3), "all three axes alike shortened"
