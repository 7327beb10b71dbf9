"""Posts and mid rails of a rail as the fit-up drawing takes them, with the sizes that place them."""

from __future__ import annotations

from collections.abc import Iterator

from render.figures.post_size_tables import line_words
from render.sheets.fit_up_scene import ExtraMetal, Extras, ExtraSize, Held
from templates_core.model import Rail
from templates_core.paths.directions import Vector

_ALONG = "Posts: from the start of the pipe, {}, to the near side of the post"
_CLEAR = "Clear between posts, mid rails and the rail, square to both"


def extras_of(rail: Rail, units: str) -> Extras:
    """All that stands under a rail.  units: ``mm`` or ``in``, of the lengths in words."""
    return Extras((*_posts(rail), *_mid_rails(rail)), tuple(_sizes(rail, units)))


def _posts(rail: Rail) -> Iterator[ExtraMetal]:
    for post in rail.standing.posts:
        foot, top = (Held(point, post.run_number, post.along_mm) for point in (post.floor_point, post.top))
        yield ExtraMetal(post.mark, foot, top, post.row.pipe.radius_mm)


def _mid_rails(rail: Rail) -> Iterator[ExtraMetal]:
    for bay in rail.standing.bays:
        start, end = (_held(rail, point, bay.run.number) for point in (bay.start, bay.end))
        yield ExtraMetal(bay.mark, start, end, bay.row.pipe.radius_mm)


def _sizes(rail: Rail, units: str) -> Iterator[ExtraSize]:
    sizes = rail.post_sizes
    runs = {post.mark: post.run_number for post in rail.standing.posts}
    for post in sizes.posts:
        if post.along is not None and post.from_point is not None and post.to_point is not None:
            group = _ALONG.format(line_words(post.round_mm, units))
            start, end = (_held(rail, point, post.run_number) for point in (post.from_point, post.to_point))
            yield ExtraSize(group, f"start of {post.pipe}", post.post, post.post, start, end, post.along)
    for one in sizes.between:
        start = _held(rail, one.from_point, runs[one.first])
        end = _held(rail, one.to_point, runs[one.second])
        yield ExtraSize(_CLEAR, one.first, one.second, "clear", start, end, one.clear)
    of_bay = {bay.mark: bay.run.number for bay in rail.standing.bays}
    for one in sizes.below:
        run = of_bay[one.second]
        start, end = (_held(rail, point, run) for point in (one.from_point, one.to_point))
        yield ExtraSize(_CLEAR, one.first, one.second, "clear", start, end, one.clear)


def _held(rail: Rail, point: Vector, run_number: int) -> Held:
    place = run_number - rail.path.runs[0].number
    along = float((point - rail.path.points_mm[place]) @ rail.path.runs[place].direction)
    return Held(point, run_number, along)
