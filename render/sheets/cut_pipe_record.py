"""Blanks for what was measured on posts, mid rails and members: as cut, and as set up."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from render.figures.fit_up_tables import size_words
from render.pages.tables import Column, Table
from render.sheets.post_extras import extras_of
from templates_core.jobs.member_specs import Stand
from templates_core.model import Rail
from templates_core.pipes.cut_pipe import CutPipe
from templates_core.pipes.posts import PlacedPost
from templates_core.units import format_length, units_word

_TRIED_MM, _READ_MM, _BY_MM = 22.0, 20.0, 12.0


def cut_pipes_record(what: str, pipes: Sequence[CutPipe], units: str, row_mm: float) -> Table:
    """Each pipe as sawn, and each end as tried on what it sits on, or with a square.

    what: the kind of pipes, for the title.
    """
    columns = (
        Column("Pipe"),
        Column("Make", right=True),
        Column("Tip to tip", right=True),
        Column("Read", least_mm=_READ_MM),
        Column("First end tried on", least_mm=_TRIED_MM),
        Column("Seats", least_mm=_BY_MM),
        Column("Second end tried on", least_mm=_TRIED_MM),
        Column("Seats", least_mm=_BY_MM),
        Column("By", least_mm=_BY_MM),
    )
    rows = tuple(
        (
            f"{pipe.mark}{f', {pipe.hand} hand' if pipe.hand else ''}",
            str(pipe.quantity),
            format_length(pipe.overall_mm, units, with_unit=False),
            "",
            ", ".join(pipe.start.sits_on) or pipe.start.kind,
            "",
            ", ".join(pipe.end.sits_on) or pipe.end.kind,
            "",
            "",
        )
        for pipe in pipes
    )
    title = f"{what} as cut, each end tried before it is welded, {units_word(units)}"
    return Table(title, columns, rows, row_mm)


def post_sizes_record(rail: Rail, units: str, row_mm: float) -> Iterator[Table]:
    """Where each post stands, and what is clear between posts and under the rail, by how the tape lies."""
    columns = (
        *(Column(name) for name in ("From", "To")),
        Column("Should be", right=True),
        Column("Measured", least_mm=24.0),
        Column("By", least_mm=_BY_MM),
    )
    sizes = extras_of(rail, units).sizes
    for how in dict.fromkeys(one.how for one in sizes):
        rows = [(one.first, one.second, size_words(one.size, units)) for one in sizes if one.how == how]
        written = tuple((*row, "", "") for row in rows)
        yield Table(f"Fitted up. {how}, {units_word(units)}", columns, written, row_mm)


def standing_record(rail: Rail, units: str, row_mm: float) -> Table:
    """How each post stands, how high along it from the floor to the rail's centreline, and its foot."""
    columns = (
        Column("Post"),
        Column("Stands"),
        Column("Read", least_mm=_READ_MM),
        Column("Floor to rail's centreline", right=True),
        Column("Read", least_mm=_READ_MM),
        Column("Foot sits all round", least_mm=_TRIED_MM),
        Column("By", least_mm=_BY_MM),
    )
    pipes = {member.run_number: member.mark for member in rail.members}
    rows = tuple(
        (
            post.mark,
            _stands(post, pipes),
            "",
            _height(post, units),
            "",
            "",
            "",
        )
        for post in rail.standing.posts
    )
    return Table(f"Fitted up: posts on the floor, {units_word(units)}", columns, rows, row_mm)


def _height(post: PlacedPost, units: str) -> str:
    return format_length(post.height_mm, units, with_unit=False)


def _stands(post: PlacedPost, pipes: dict[int, str]) -> str:
    if post.row.stand is Stand.PLUMB:
        return "plumb"
    return f"square to {pipes.get(post.run_number, 'the rail')}"
