"""Sizes that posts are placed by, taken again in space by other code; and their welds in order."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.post_jobs import HEAD, SLOPE, made
from tests.test_posts import Walker

UP = np.array([0.0, 0.0, 1.0])


def test_the_near_side_of_a_post_on_the_lower_line() -> None:
    """A plumb cylinder met by the lower line of a sloping pipe, by stepping along the line."""
    rail = made(SLOPE).rails[0]
    walker = Walker()
    way, at, r = walker.ways[1], walker.starts[1], 48.26 / 2
    normal = np.cross(np.cross(way, UP) / np.linalg.norm(np.cross(way, UP)), way)
    start = rail.members[1]
    for post, along in zip(
        rail.post_sizes.posts[2:5], np.linspace(200, walker.lengths[1] - 250, 3), strict=True
    ):
        axis = at + along * way
        steps = np.arange(along - 100, along + 60, 0.001)
        line = at + steps[:, None] * way - r * normal
        apart = np.linalg.norm((line - axis)[:, :2], axis=1)
        near = steps[np.argmax(apart <= r)]
        corner = rail.corners[0]
        begins = corner.take_out_after_mm + corner.gap_after_mm
        assert post.along is not None and start.run_number == 2
        assert post.along.length_mm == pytest.approx(near - begins, abs=0.01)


def test_clear_between_posts_and_under_the_rail() -> None:
    rail = made(SLOPE).rails[0]
    clear = {(one.first, one.second): one.clear.length_mm for one in rail.post_sizes.between}
    assert clear["A-T1-1", "A-T1-2"] == pytest.approx(550 - 48.26)
    level = (math.hypot(1100, 1700) - 450) / 2 * 1700 / math.hypot(1100, 1700)
    assert clear["A-T2-1", "A-T2-2"] == pytest.approx(level - 48.26)
    below = {one.second: one.clear.length_mm for one in rail.post_sizes.below}
    assert below["A-M1-1"] == pytest.approx(450 - 48.26 / 2 - 33.4 / 2, abs=0.05)
    assert below["A-M2-1"] == pytest.approx(
        450 * 1700 / math.hypot(1100, 1700) - 48.26 / 2 - 33.4 / 2, abs=0.05
    )


def test_a_mitre_at_the_start_moves_the_end_of_the_lower_line() -> None:
    text = (
        HEAD
        + """
[[rail]]
mark = "A"
path = [ { run = 900 }, { turn = 10, towards = "up", by = "mitre" }, { run = 900 } ]
posts = [ { run = 2, at = [400], drop = 1000, stand = "square" } ]
"""
    )
    (size,) = made(text).rails[0].post_sizes.posts
    assert size.along is not None
    # Turning up, the lower line is the heel of the mitre: the pipe starts that much before the work point.
    lost = 2.4 / 2 / math.cos(math.radians(5))
    reach = 24.13 * math.tan(math.radians(5))
    assert size.along.length_mm == pytest.approx(400 - 24.13 - lost + reach)


def test_welds_of_posts_come_after_the_rail_s_own() -> None:
    rail = made(SLOPE).rails[0]
    order = list(dict.fromkeys(step.joint.marks[0] for step in rail.fit_up.steps))
    assert order[:4] == ["A1/1", "A1/2", "A2/1", "A2/2"]
    assert order[4:6] == ["A-T1-1/E", "A-T1-2/E"]
    assert order[-5:] == ["A-T1-1/S", "A-T1-2/S", "A-T2-1/S", "A-T2-2/S", "A-T2-3/S"]
    assert "A-M2-1/S" in order and "A-T3-1/S" not in order  # those stand on the bare floor
