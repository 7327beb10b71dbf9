"""The cut list: every straight pipe of the job with its lengths, its end cuts, and the roll between them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from templates_core.elbows.corners import Corner
from templates_core.model import Model, Rail
from templates_core.paths.directions import roll_between
from templates_core.paths.leans import Lean, heel_way
from templates_core.pipes.cut_list import Member, end_corners
from templates_core.pipes.cut_pipe import CutPipe, PipeEnd
from templates_core.wraps.member_wraps import is_square

SQUARE, MITRE, PLANE, SHAPED = "square", "mitre", "off square", "shaped"


@dataclass(frozen=True)
class RowEnd:
    """How one end of a pipe is cut.

    cut: ``square``, ``mitre``, ``off square`` to stand on a plane, or ``shaped`` to what it sits on.
    tilt_rad: of a mitre or a plane, off square, else 0.
    at: mark of the corner that stands there, what the rail ends in, such as ``open`` or ``cap``, or marks
    of what it sits on.  is_corner: whether that is a corner.  words: what a post, a mid rail or a member
    says of its end; else empty.
    """

    cut: str
    tilt_rad: float
    at: str
    is_corner: bool
    words: str = ""


@dataclass(frozen=True)
class CutRow:
    """One pipe of the cut list.

    quantity: in the whole job.  rail: mark of the rail that it goes in; None for a loose member.  pipe: name
    of its size.
    roll_rad, girth_mm: from the heel line at its start, carried along the pipe, to the heel line at its end,
    as an angle and round the outside; positive is clockwise looking from start to end.  The heel of a mitre,
    or of an end on a plane, is its long point; of a shaped end its datum, as on its wrap, stands for it.
    None where an end has none.
    cut_mm: length to cut it to on the centreline; None where an end is shaped.  tip_mm: from tip to tip,
    which is what the stick gives.  extra_mm: how much of both the closing run's pipe is left longer for the
    site; else 0.
    """

    mark: str
    rail: str | None
    quantity: int
    pipe: str
    start: RowEnd
    end: RowEnd
    roll_rad: float | None
    girth_mm: float | None
    cut_mm: float | None
    tip_mm: float
    extra_mm: float

    @property
    def is_shaped(self) -> bool:
        """Whether an end is cut other than square."""
        return self.start.cut != SQUARE or self.end.cut != SQUARE


def cut_rows(model: Model) -> tuple[CutRow, ...]:
    """Every pipe of the job: rail by rail with its posts and mid rails, then the loose members."""
    return tuple(_rows(model))


def _rows(model: Model) -> Iterator[CutRow]:
    standing = set()
    pipe = model.job.pipe
    for rail in model.rails:
        yield from (_row(rail, member, pipe.name, pipe.radius_mm) for member in rail.members)
        for made in rail.standing.pipes:
            standing.add(made.mark)
            yield _shaped_row(made, rail.mark)
    yield from (_shaped_row(made, None) for made in model.cut_pipes if made.mark not in standing)


def _row(rail: Rail, member: Member, pipe: str, radius_mm: float) -> CutRow:
    before, after = end_corners(rail.path, rail.corners, member.run_number)
    leans = rail.path.start_lean, rail.path.end_lean
    roll_rad = _roll_rad(rail, member)
    return CutRow(
        member.mark,
        rail.mark,
        rail.quantity,
        pipe,
        _end_cut(before, rail.path.start.kind.value, leans[0]),
        _end_cut(after, rail.path.end.kind.value, leans[1]),
        roll_rad,
        None if roll_rad is None else radius_mm * roll_rad,
        member.cut_mm,
        member.blank_mm,
        member.extra_mm,
    )


def _roll_rad(rail: Rail, member: Member) -> float | None:
    """From the heel line or long point at a pipe's start to the one at its end."""
    path = rail.path
    place = member.run_number - path.runs[0].number
    along = path.runs[place].direction
    corners = end_corners(path, rail.corners, member.run_number)
    heels = []
    for corner, laid, lean in zip(corners, (place - 1, place), (path.start_lean, path.end_lean), strict=True):
        if corner is not None:
            heels.append(heel_way(path.corners[laid].axis, along))
        elif lean is not None:
            heels.append(lean.way)
    return roll_between(along, heels[0], heels[1]) if len(heels) == 2 else None


def _end_cut(corner: Corner | None, rail_end: str, lean: Lean | None) -> RowEnd:
    if corner is None and lean is not None:
        return RowEnd(PLANE, lean.angle_rad, rail_end, is_corner=False)
    if corner is None:
        return RowEnd(SQUARE, 0.0, rail_end, is_corner=False)
    if corner.mitre is None:
        return RowEnd(SQUARE, 0.0, corner.mark, is_corner=True)
    return RowEnd(MITRE, corner.mitre.tilt_rad, corner.mark, is_corner=True)


def _shaped_row(made: CutPipe, rail: str | None) -> CutRow:
    start, end = _shaped_end(made.start), _shaped_end(made.end)
    rolled = SQUARE not in (start.cut, end.cut)
    return CutRow(
        made.mark,
        rail,
        made.quantity,
        made.pipe.name,
        start,
        end,
        made.roll_rad if rolled else None,
        made.roll_rad * made.pipe.radius_mm if rolled else None,
        made.overall_mm if start.cut == end.cut == SQUARE else None,
        made.overall_mm,
        0.0,
    )


def _shaped_end(end: PipeEnd) -> RowEnd:
    cut = SQUARE if is_square(end.cut) else SHAPED
    return RowEnd(cut, 0.0, ", ".join(end.sits_on), is_corner=False, words=end.words)
