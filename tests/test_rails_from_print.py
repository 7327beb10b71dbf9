"""Posts and mid rails made from a printed pack stand on the rail and the floor that the job file asks for."""

from __future__ import annotations

import numpy as np
import pytest

from tests.bench_packs import Pack, lengths_of
from tests.job_in_space import Array, Post, line_distance, unit
from tests.seating import assert_seated, facing_way, hung, laid, post_line, pushed_up, put, round_from_zero


def over_floor(post: Post, foot: Array) -> Array:
    """Clearance of a foot's wall to what it stands on."""
    return np.asarray((foot - post.floor) @ post.normal - post.lift_mm)


def test_posts_stand_where_they_are_told_touch_the_rail_and_reach_the_floor(rail_pack: Pack) -> None:
    count = 0
    for rail in rail_pack.rails():
        for post in rail.posts():
            bears_on = post.row.get("bears_on", "first")
            pipe, pose = hung(rail_pack, post)
            assert_seated(post.header(put(pipe.wall("second end"), pose)), bears_on)
            if len(lengths_of(rail_pack, post)) == 1:
                assert_seated(over_floor(post, put(pipe.wall("first end"), pose)), bears_on)
            count += 1
    assert count >= 5


def test_posts_in_two_lengths_sit_on_the_mid_rail_and_reach_the_floor(rail_pack: Pack) -> None:
    for rail in rail_pack.rails():
        for mid in rail.mid_rails():
            bar = line_distance(mid.at, mid.run.way, mid.tube.radius_mm)
            for post in mid.through:
                _, lower = lengths_of(rail_pack, post)
                upper, pose = hung(rail_pack, post)
                assert_seated(bar(put(upper.wall("first end"), pose)))
                down = ((post.floor - post.top) @ post.normal) / (post.stands @ post.normal)
                pose = pushed_up(lower, post, post.top + down * post.stands, bar)
                assert_seated(over_floor(post, put(lower.wall("first end"), pose)))


def test_mid_rails_lie_parallel_touch_both_posts_and_keep_their_distance(rail_pack: Pack) -> None:
    for rail in rail_pack.rails():
        for mid in rail.mid_rails():
            pipe, pose = laid(rail_pack, mid)
            for end, post in (("first end", mid.first), ("second end", mid.last)):
                assert_seated(post_line(post)(put(pipe.wall(end), pose)), mid.row.get("bears_on", "first"))
            words, girth = pipe.facing("second end")
            way = facing_way(words, mid.run.way)
            way = unit(way - (way @ mid.run.way) * mid.run.way)
            assert round_from_zero(pose, girth) @ way == pytest.approx(1.0, abs=1e-5)
            off = np.cross(mid.at - mid.run.start, mid.run.way)
            wanted = float(np.linalg.norm(off)) - rail.tube.radius_mm - mid.tube.radius_mm
            how, said = rail_pack.size(f"{rail.mark}-P{mid.run.number}", mid.mark)
            assert "square to both" in how
            assert said == pytest.approx(wanted, abs=rail_pack.half_step_mm)
