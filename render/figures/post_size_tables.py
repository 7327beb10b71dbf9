"""Sizes that posts and mid rails are placed by, as tables and as JSON."""

from __future__ import annotations

from typing import Any

from render.figures.figure_tables import rail_title
from render.figures.fit_up_tables import size_words
from render.pages.tables import Column, Table
from templates_core.model import Rail
from templates_core.pipes.post_sizes import ClearSize, PostSize
from templates_core.units import format_length, units_word

_ROUND_MM = 0.05


def post_sizes_table(rail: Rail, units: str) -> Table:
    """From the pipe's start to each post, and clear between neighbours."""
    columns = (Column("From"), Column("To"), Column("How the tape lies"), Column("Size", right=True))
    rows = []
    for post in rail.post_sizes.posts:
        start = f"start of {post.pipe}" if post.along is not None else "–"
        how = line_words(post.round_mm, units) if post.along is not None else "under the middle of the bend"
        rows.append((start, f"near side of {post.post}", how, size_words(post.along, units)))
    rows += [
        (one.first, one.second, "clear, square to both", size_words(one.clear, units)) for one in _clear(rail)
    ]
    title = f"{rail_title(rail)}: posts and mid rails, {units_word(units)}"
    return Table(title, columns, tuple(rows))


def line_words(round_mm: float, units: str) -> str:
    """A line along a rail's pipe, so far round to the right of its lower one: ``on its lower line``."""
    if abs(round_mm) < _ROUND_MM:
        return "on its lower line"
    side = "right" if round_mm > 0 else "left"
    return f"on the line {format_length(abs(round_mm), units)} round to the {side} of its lower line"


def _clear(rail: Rail) -> tuple[ClearSize, ...]:
    return (*rail.post_sizes.between, *rail.post_sizes.below)


def post_sizes_json(rail: Rail) -> dict[str, Any]:
    """The same, with every size in a key of its own."""
    return {
        "posts": [_post(post) for post in rail.post_sizes.posts],
        "clear": [
            {
                "first": one.first,
                "second": one.second,
                "clear_mm": one.clear.length_mm,
                "clear_tolerance_mm": one.clear.tolerance_mm,
            }
            for one in _clear(rail)
        ],
    }


def _post(post: PostSize) -> dict[str, Any]:
    return {
        "post": post.post,
        "run": post.run_number,
        "pipe": post.pipe,
        "line_round_mm": post.round_mm,
        "from_pipe_start_mm": None if post.along is None else post.along.length_mm,
        "tolerance_mm": None if post.along is None else post.along.tolerance_mm,
    }
