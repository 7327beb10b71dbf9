"""What is alike: pieces that need one cut, pipe ends that need one mitre, elbows to buy."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from templates_core.corners import Corner
from templates_core.cuts import Cut, GirthLine, lines_of_piece, lines_to_cut
from templates_core.error_costs import ErrorCosts, error_costs
from templates_core.fittings import StockElbow

ALIKE_RAD = math.radians(0.001)
"""Angles nearer than this are one cut: 0.008 mm on the heel of an NPS 12 long radius elbow."""


@dataclass(frozen=True)
class CutGroup:
    """All pieces that need one and the same cut.

    marks: of the pieces, in order of the job.  quantity: of pieces in the whole job.
    to_cut: heel, side and throat from the face that the cut is measured from.  of_piece: the same of the
    piece kept, from its own face.  longest_run_mm: of the runs that meet at these corners.
    """

    cut: Cut
    marks: tuple[str, ...]
    quantity: int
    to_cut: tuple[GirthLine, ...]
    of_piece: tuple[GirthLine, ...]
    costs: ErrorCosts
    longest_run_mm: float


@dataclass(frozen=True)
class MitreGroup:
    """All mitred joints of one tilt.  joints: their marks.  ends: of pipe to be cut so, in the whole job."""

    tilt_rad: float
    reach_mm: float
    joints: tuple[str, ...]
    ends: int


@dataclass(frozen=True)
class BuyLine:
    """Elbows of one kind to buy, one for each piece.  marks: the pieces that come of them."""

    elbow: StockElbow
    whole: int
    to_cut: int
    marks: tuple[str, ...]

    @property
    def quantity(self) -> int:
        """Elbows to buy."""
        return self.whole + self.to_cut


@dataclass(frozen=True)
class Placed:
    """A corner with the number of rails that have it and the longer of the two runs that meet there."""

    corner: Corner
    quantity: int
    longest_run_mm: float


def cut_groups(placed: Sequence[Placed]) -> tuple[CutGroup, ...]:
    """Distinct cuts, in order of first need."""
    pieces = [
        (place, piece.mark, piece.cut)
        for place in placed
        for piece in place.corner.pieces
        if piece.cut is not None
    ]
    groups = _alike([(cut.elbow.name, cut.from_face, cut.piece_angle_rad) for _, _, cut in pieces])
    return tuple(_cut_group([pieces[number] for number in group]) for group in groups)


def _cut_group(pieces: Sequence[tuple[Placed, str, Cut]]) -> CutGroup:
    cut = pieces[0][2]
    return CutGroup(
        cut,
        marks=tuple(mark for _, mark, _ in pieces),
        quantity=sum(place.quantity for place, _, _ in pieces),
        to_cut=lines_to_cut(cut),
        of_piece=lines_of_piece(cut),
        costs=error_costs(cut),
        longest_run_mm=max(place.longest_run_mm for place, _, _ in pieces),
    )


def mitre_groups(placed: Sequence[Placed]) -> tuple[MitreGroup, ...]:
    """Distinct mitres, in order of first need."""
    joints = [
        (place.quantity, place.corner.joints[0], place.corner.mitre)
        for place in placed
        if place.corner.mitre is not None
    ]
    groups = []
    for group in _alike([("", "", mitre.tilt_rad) for _, _, mitre in joints]):
        mitre = joints[group[0]][2]
        marks = tuple(joints[number][1] for number in group)
        ends = 2 * sum(joints[number][0] for number in group)
        groups.append(MitreGroup(mitre.tilt_rad, mitre.reach_mm, marks, ends))
    return tuple(groups)


def _alike(keys: Sequence[tuple[str, str, float]]) -> list[list[int]]:
    """Indices of the keys that are alike in both words and in angle, each group and all in first order."""
    groups: list[list[int]] = []
    for number in sorted(range(len(keys)), key=lambda index: keys[index]):
        *words, angle = keys[number]
        if groups:
            *words_before, angle_before = keys[groups[-1][0]]
            if words == words_before and angle - angle_before <= ALIKE_RAD:
                groups[-1].append(number)
                continue
        groups.append([number])
    return sorted(sorted(group) for group in groups)


def buy_list(placed: Sequence[Placed], elbows: Sequence[StockElbow]) -> tuple[BuyLine, ...]:
    """Elbows to buy, one for each piece, in the order of the job file; kinds not needed are left out."""
    lines = []
    for elbow in elbows:
        pieces = [
            (place.quantity, piece)
            for place in placed
            for piece in place.corner.pieces
            if piece.elbow.name == elbow.name
        ]
        whole = sum(quantity for quantity, piece in pieces if piece.cut is None)
        to_cut = sum(quantity for quantity, piece in pieces if piece.cut is not None)
        if pieces:
            lines.append(BuyLine(elbow, whole, to_cut, tuple(piece.mark for _, piece in pieces)))
    return tuple(lines)
