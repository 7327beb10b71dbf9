"""One corner of a rail: its pieces or its mitre, what it takes from the runs, and why it can't be made."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from templates_core.elbows.corner_pieces import Choice, choose, least_throat_mm, legal_spans
from templates_core.elbows.cuts import Cut, cut_of
from templates_core.elbows.leaning_cuts import LeaningCut
from templates_core.elbows.leaning_pieces import choose_leaning
from templates_core.elbows.take_out import Bend, centre_to_face, take_outs_of_two
from templates_core.errors import BadValueError, Fault, InputError
from templates_core.fittings import Pipe, StockElbow
from templates_core.jobs.job import Joint, Shop
from templates_core.marks import joint_mark, piece_mark
from templates_core.paths.corner_exit import both_readings
from templates_core.paths.leans import ElbowLean
from templates_core.stock.elbow_plans import StockedPiece
from templates_core.units import degrees_text, format_length

ACUTE_RAD = math.radians(30)
"""An inside angle under this is more likely a slope written in the wrong place."""

CROTCH_RAD = math.radians(45)
"""A mitre of a smaller inside angle is hard to weld in the crotch (NAVEDTRA 14251, ch. 3, of laterals)."""


@dataclass(frozen=True)
class Piece:
    """A piece of a corner.

    elbow: that it comes of.  angle_rad: what it turns.  cut: None for a whole elbow.  cut_end: its end,
    along the rail, that is cut; the stock face is at the other, unless both are cut.  loss_mm: what each
    cut face loses along its tangent: 0 where it is ground to its line, as the rest of the elbow is scrap.
    lean: of the plane that its cut end is cut on, off the radial one; None for a radial cut.
    """

    mark: str
    elbow: StockElbow
    angle_rad: float
    cut: Cut | None
    cut_end: Literal["before", "after", "both"] | None
    loss_mm: float
    lean: ElbowLean | None = None

    @property
    def leaning_cut(self) -> LeaningCut | None:
        """Its cut, where that leans."""
        if self.lean is None or self.cut is None:
            return None
        return LeaningCut(self.elbow, self.angle_rad, self.lean, self.cut.from_face)


@dataclass(frozen=True)
class Mitre:
    """A mitred joint.

    tilt_rad: of the joint plane from square to each pipe, half the turn.  reach_mm: how much longer than
    its centreline a pipe is at its long point, and shorter at its short point, r·tan(tilt).
    """

    tilt_rad: float
    reach_mm: float


@dataclass(frozen=True)
class Corner:
    """A corner ready to make.

    take_out_before_mm, take_out_after_mm: from the work point to the face of the first and of the last
    piece, along the run before and the run after; 0 for a mitre.  gap_before_mm, gap_after_mm: what the
    weld gaps take from the two runs besides.  joint_gap_mm: between two pieces, else 0.
    joints: marks of the welds in order along the rail.  mitre: None where elbows make the corner.
    """

    mark: str
    number: int
    where: str
    turn_rad: float
    roll_rad: float
    by: Joint
    pieces: tuple[Piece, ...]
    take_out_before_mm: float
    take_out_after_mm: float
    gap_before_mm: float
    gap_after_mm: float
    joint_gap_mm: float
    joints: tuple[str, ...]
    mitre: Mitre | None
    warnings: tuple[str, ...]

    @property
    def inside_angle_rad(self) -> float:
        """Angle between the two runs [rad]."""
        return math.pi - self.turn_rad


@dataclass(frozen=True)
class CornerAsked:
    """What a corner has to be: mark and number, place in the job file, turn, roll and kind of joint.

    lean: of the plane that its end, one of the rail, is cut to; lean_end: which of its ends.
    """

    mark: str
    number: int
    where: str
    turn_rad: float
    roll_rad: float
    by: Joint
    lean: ElbowLean | None = None
    lean_end: Literal["before", "after"] = "after"


def make_corner(
    asked: CornerAsked, pipe: Pipe, elbows: Sequence[StockElbow], shop: Shop, units: str = "mm"
) -> Corner:
    """Make one corner from stock elbows or as a mitre.

    units: ``mm`` or ``in``, for the lengths in messages.  Raises InputError when the stock can't make the
    turn, with the least turn that it can.
    """
    if asked.by is Joint.MITRE:
        return _mitred(asked, pipe, shop)
    pieces = _pieces_asked(asked, elbows, shop, units)
    before, after = _take_outs(pieces, shop.root_gap_mm)
    return Corner(
        asked.mark,
        asked.number,
        asked.where,
        asked.turn_rad,
        asked.roll_rad,
        asked.by,
        pieces,
        before,
        after,
        gap_before_mm=shop.root_gap_mm,
        gap_after_mm=shop.root_gap_mm,
        joint_gap_mm=shop.root_gap_mm if len(pieces) > 1 else 0.0,
        joints=tuple(joint_mark(asked.mark, number) for number in range(1, len(pieces) + 2)),
        mitre=None,
        warnings=_acute_warning(asked) + _far_warnings(asked, pieces),
    )


def _pieces_asked(
    asked: CornerAsked, elbows: Sequence[StockElbow], shop: Shop, units: str
) -> tuple[Piece, ...]:
    if asked.lean is None:
        choices = choose(asked.turn_rad, elbows, shop)
        if not choices:
            raise InputError([_refusal(asked, elbows, shop, units)])
        return _pieces(asked.mark, choices)
    try:
        choices = choose_leaning(asked.turn_rad, asked.lean, asked.lean_end, elbows, shop)
    except BadValueError as error:
        raise InputError([error.at(asked.where)]) from None
    pieces = list(_pieces(asked.mark, choices))
    at = -1 if asked.lean_end == "after" else 0
    pieces[at] = replace(pieces[at], cut_end=asked.lean_end, lean=asked.lean)
    return tuple(pieces)


def with_stock(corner: Corner, found: Mapping[str, StockedPiece], root_gap_mm: float) -> Corner:
    """The corner with each cut piece as it comes out of the stock, and what that makes of its take-outs.

    found: by mark.  A mitre and whole elbows stay as they are.
    """
    pieces = tuple(
        piece if piece.cut is None else _restocked(piece, found[piece.mark]) for piece in corner.pieces
    )
    if pieces == corner.pieces:
        return corner
    before, after = _take_outs(pieces, root_gap_mm)
    warnings = tuple(
        f"{corner.where}: piece {new.mark} leans on the sweep of an elbow that it shares: "
        f"{_check_sweep(new.elbow)}"
        for old, new in zip(corner.pieces, pieces, strict=True)
        if _is_far(new) and not _is_far(old)
    )
    return replace(
        corner,
        pieces=pieces,
        take_out_before_mm=before,
        take_out_after_mm=after,
        warnings=corner.warnings + warnings,
    )


def _restocked(piece: Piece, found: StockedPiece) -> Piece:
    if piece.lean is not None:
        return replace(piece, elbow=found.elbow, cut=cut_of(found.elbow, piece.angle_rad))
    end: Literal["before", "after", "both"] | None = "both" if found.middle else piece.cut_end
    return replace(piece, elbow=found.elbow, cut=found.cut, cut_end=end, loss_mm=found.loss_mm)


def _is_far(piece: Piece) -> bool:
    return piece.cut is not None and piece.cut.from_face == "far"


def _mitred(asked: CornerAsked, pipe: Pipe, shop: Shop) -> Corner:
    tilt = asked.turn_rad / 2
    gap = shop.root_gap_mm / 2 / math.cos(tilt)
    warnings = _acute_warning(asked)
    if math.pi - asked.turn_rad < CROTCH_RAD:
        angle = degrees_text(math.pi - asked.turn_rad)
        warnings += (f"{asked.where}: a mitre of {angle} inside is hard to weld in the crotch",)
    return Corner(
        asked.mark,
        asked.number,
        asked.where,
        asked.turn_rad,
        asked.roll_rad,
        asked.by,
        pieces=(),
        take_out_before_mm=0.0,
        take_out_after_mm=0.0,
        gap_before_mm=gap,
        gap_after_mm=gap,
        joint_gap_mm=0.0,
        joints=(joint_mark(asked.mark, 1),),
        mitre=Mitre(tilt, pipe.radius_mm * math.tan(tilt)),
        warnings=warnings,
    )


def _pieces(mark: str, choices: Sequence[Choice]) -> tuple[Piece, ...]:
    """Marked pieces; of two, stock faces meet each other and cut ends meet the pipes."""
    pieces = []
    for number, choice in enumerate(choices, 1):
        cut = None if choice.whole else cut_of(choice.elbow, choice.angle_rad)
        end: Literal["before", "after"] = "before" if number < len(choices) else "after"
        name = piece_mark(mark, number, len(choices))
        pieces.append(
            Piece(name, choice.elbow, choice.angle_rad, cut, end if cut is not None else None, loss_mm=0.0)
        )
    return tuple(pieces)


def _bend(piece: Piece) -> Bend:
    """A piece as take-outs see it; a whole elbow of unknown radius by its centre-to-end."""
    elbow = piece.elbow
    if elbow.bend_radius_mm is None:
        return Bend(piece.angle_rad, elbow.centre_to_end_mm, elbow.centre_to_end_mm)
    R = elbow.bend_radius_mm
    cut_face = centre_to_face(R, piece.angle_rad, 0.0, piece.loss_mm)
    stock_face = centre_to_face(R, piece.angle_rad, elbow.tangent_a_mm, 0.0)
    if piece.cut_end is None:
        return Bend(piece.angle_rad, stock_face, centre_to_face(R, piece.angle_rad, elbow.tangent_b_mm, 0.0))
    before = stock_face if piece.cut_end == "after" else cut_face
    return Bend(piece.angle_rad, before, stock_face if piece.cut_end == "before" else cut_face)


def _take_outs(pieces: Sequence[Piece], root_gap_mm: float) -> tuple[float, float]:
    bends = [_bend(piece) for piece in pieces]
    if len(bends) == 1:
        return bends[0].before_mm, bends[0].after_mm
    return take_outs_of_two(bends[0], bends[1], root_gap_mm)


def _acute_warning(asked: CornerAsked) -> tuple[str, ...]:
    inside = math.pi - asked.turn_rad
    if inside >= ACUTE_RAD:
        return ()
    meant = degrees_text(inside).rstrip("°")
    return (
        f"{asked.where}: {both_readings(asked.turn_rad)}; if {meant}° is the slope, write turn = {meant}",
    )


def _far_warnings(asked: CornerAsked, pieces: Sequence[Piece]) -> tuple[str, ...]:
    return tuple(
        f"{asked.where}: piece {piece.mark} is measured from the far face of its elbow: "
        f"{_check_sweep(piece.elbow)}"
        for piece in pieces
        if _is_far(piece)
    )


def _check_sweep(elbow: StockElbow) -> str:
    """What a cut that depends on the elbow's sweep asks for; the standard's tolerance where there is one."""
    if elbow.sweep_tolerance_rad == 0:
        return f"check the sweep of {elbow.name} first, as its error goes whole into the corner"
    return (
        f"check the sweep of {elbow.name} first, which may be off by "
        f"{degrees_text(elbow.sweep_tolerance_rad)} either way and puts as much into the corner"
    )


def _refusal(asked: CornerAsked, elbows: Sequence[StockElbow], shop: Shop, units: str) -> Fault:
    spans = [span for elbow in elbows for span in legal_spans(elbow, shop)]
    mitre = 'or set by = "mitre"'
    least = min(spans, key=lambda span: span.least_rad, default=None)
    if least is not None and asked.turn_rad < least.least_rad:
        throat = least_throat_mm(shop, least.elbow.wall_mm)
        what = (
            f"a turn of {degrees_text(asked.turn_rad)} is too small for a piece of elbow: "
            f"its throat would be shorter than the {format_length(throat, units)} that can be welded"
        )
        turn = math.ceil(math.degrees(least.least_rad) * 10) / 10
        remedy = f"the least turn is {turn:g}° ({least.elbow.name}): turn that much or more, {mitre}"
        return Fault(asked.where, what, remedy)
    kinds = "; ".join(_what_it_gives(elbow, shop) for elbow in elbows) or "none is stocked"
    what = f"no one or two pieces of stock elbow make a turn of {degrees_text(asked.turn_rad)} ({kinds})"
    return Fault(asked.where, what, f"stock an elbow that does, change the angle, {mitre}")


def _what_it_gives(elbow: StockElbow, shop: Shop) -> str:
    if elbow.bend_radius_mm is None:
        return f"{elbow.name}: whole only, as its bend radius is not known"
    cuts = " or ".join(
        f"{degrees_text(span.least_rad)} to {degrees_text(span.most_rad)}"
        for span in legal_spans(elbow, shop)
    )
    return f"{elbow.name}: whole, or cut to {cuts}" if cuts else f"{elbow.name}: whole only, too short to cut"
