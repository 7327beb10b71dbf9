"""The cut list: every straight pipe of the job with its lengths, its end cuts, and the roll between them."""

from __future__ import annotations

from dataclasses import dataclass

from templates_core.corners import Corner
from templates_core.cut_list import Member, end_corners
from templates_core.model import Model, Rail

SQUARE, MITRE = "square", "mitre"


@dataclass(frozen=True)
class EndCut:
    """How one end of a pipe is cut.

    cut: ``square`` or ``mitre``.  tilt_rad: of the cut off square, 0 for a square one.  at: mark of the
    corner that stands there, or what the rail ends in, such as ``open`` or ``cap``.  is_corner: which.
    """

    cut: str
    tilt_rad: float
    at: str
    is_corner: bool


@dataclass(frozen=True)
class CutRow:
    """One pipe of the cut list.

    quantity: in the whole job.  rail: mark of the rail that it goes in.  pipe: name of its size.
    roll_rad, girth_mm: from the heel line at its start, carried along the pipe, to the heel line at its end,
    as an angle and round the outside; positive is clockwise looking forward, and the heel of a mitre is its
    long point.  None where an end has no corner.
    cut_mm: length to cut it to on the centreline.  tip_mm: the same from tip to tip, which is what the stick
    gives.  extra_mm: how much of both the closing run's pipe is left longer for the site; else 0.
    """

    mark: str
    rail: str
    quantity: int
    pipe: str
    start: EndCut
    end: EndCut
    roll_rad: float | None
    girth_mm: float | None
    cut_mm: float
    tip_mm: float
    extra_mm: float

    @property
    def is_shaped(self) -> bool:
        """Whether an end is cut other than square."""
        return self.start.cut != SQUARE or self.end.cut != SQUARE


def cut_rows(model: Model) -> tuple[CutRow, ...]:
    """Every pipe of the job, in the order of the rails and along them."""
    pipe = model.job.pipe.name
    return tuple(_row(rail, member, pipe) for rail in model.rails for member in rail.members)


def _row(rail: Rail, member: Member, pipe: str) -> CutRow:
    before, after = end_corners(rail.path, rail.corners, member.run_number)
    roll = next((one for one in rail.fit_up.rolls if one.run_number == member.run_number), None)
    return CutRow(
        member.mark,
        rail.mark,
        rail.quantity,
        pipe,
        _end_cut(before, rail.path.start.kind.value),
        _end_cut(after, rail.path.end.kind.value),
        None if roll is None else roll.roll_rad,
        None if roll is None else roll.girth_mm,
        member.cut_mm,
        member.blank_mm,
        member.extra_mm,
    )


def _end_cut(corner: Corner | None, rail_end: str) -> EndCut:
    if corner is None:
        return EndCut(SQUARE, 0.0, rail_end, is_corner=False)
    if corner.mitre is None:
        return EndCut(SQUARE, 0.0, corner.mark, is_corner=True)
    return EndCut(MITRE, corner.mitre.tilt_rad, corner.mark, is_corner=True)
