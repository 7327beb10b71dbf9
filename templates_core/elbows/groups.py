"""What is alike: pieces that need one cut, pipe ends that need one mitre, elbows to buy."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence, Set
from dataclasses import dataclass

from templates_core.elbows.corners import Corner
from templates_core.elbows.cuts import Cut, GirthLine, lines_of_piece, lines_to_cut
from templates_core.elbows.error_costs import ErrorCosts, error_costs, leaning_costs
from templates_core.elbows.leaning_cuts import LeaningCut
from templates_core.elbows.plate_ends import PlateEnd
from templates_core.fittings import StockElbow
from templates_core.stock.elbow_layouts import Blade, Line
from templates_core.stock.elbow_plans import ElbowPlan
from templates_core.stock.stock_elbows import ElbowsUsed

ALIKE_RAD = math.radians(0.001)
"""Angles nearer than this are one cut: 0.008 mm on the heel of an NPS 12 long radius elbow."""


@dataclass(frozen=True)
class CutGroup:
    """All lines to be cut that are one and the same on one kind of elbow.

    cut: as the piece on the side of the face measured from has it, or with scrap there, the piece beyond.
    marks: of the pieces of the cut, in order of the job.  quantity: of lines in the whole job.  blade:
    ``centred`` on the line, or ``clear`` of it in the scrap.  beyond_marks: of the pieces on the other side
    of a line that two pieces share, with beyond_angle_rad what they turn; none where that is scrap.
    to_cut: heel, side and throat from the face that the cut is measured from.  of_piece: the same of the
    piece of the cut, from its own face, after its loss.  longest_run_mm: of the runs that meet at the
    corners of all these pieces.  blanks: those of its marks whose piece is cut again, on a leaning line of
    its own that lies inside this one.
    """

    cut: Cut
    marks: tuple[str, ...]
    quantity: int
    to_cut: tuple[GirthLine, ...]
    of_piece: tuple[GirthLine, ...]
    costs: ErrorCosts
    longest_run_mm: float
    blade: Blade = "clear"
    beyond_marks: tuple[str, ...] = ()
    beyond_angle_rad: float | None = None
    blanks: tuple[str, ...] = ()

    @property
    def all_marks(self) -> tuple[str, ...]:
        """Marks of all pieces that end on these lines, those of the cut first."""
        return tuple(dict.fromkeys(self.marks + self.beyond_marks))


@dataclass(frozen=True)
class LeaningGroup:
    """All elbow ends to be cut on one and the same leaning plane; never a cut with its mirror image.

    quantity: in the whole job.  costs, longest_run_mm: as of a radial cut.
    """

    cut: LeaningCut
    marks: tuple[str, ...]
    quantity: int
    costs: ErrorCosts
    longest_run_mm: float


@dataclass(frozen=True)
class MitreGroup:
    """All mitred joints, and pipe ends cut to a plane, of one tilt.

    joints: marks of the joints.  ends: of pipe to be cut so, in the whole job.  plates: of these, the ends
    that stand on a plane; their wraps are the same, as the lean shows only in where the long point lies.
    """

    tilt_rad: float
    reach_mm: float
    joints: tuple[str, ...]
    ends: int
    plates: tuple[PlateEnd, ...] = ()

    @property
    def marks(self) -> tuple[str, ...]:
        """Marks of the joints, then of the ends."""
        return self.joints + tuple(plate.mark for plate in self.plates)


@dataclass(frozen=True)
class BuyLine:
    """Elbows of one kind that the job takes.

    whole, to_cut: how many are used as they are, and cut.  marks: the pieces that come of them.
    from_hand: how many of them there are already.  price_cents: of one; None where there is no price.
    """

    elbow: StockElbow
    whole: int
    to_cut: int
    marks: tuple[str, ...]
    from_hand: int = 0
    price_cents: int | None = None

    @property
    def quantity(self) -> int:
        """Elbows to buy."""
        return self.whole + self.to_cut - self.from_hand


@dataclass(frozen=True)
class Placed:
    """A corner with the number of rails that have it and the longer of the two runs that meet there."""

    corner: Corner
    quantity: int
    longest_run_mm: float


def cut_groups(plans: Sequence[ElbowPlan], placed: Sequence[Placed], loss_mm: float) -> tuple[CutGroup, ...]:
    """Distinct cuts, in order of first need; loss_mm: of each face of a centred cut."""
    runs = {piece.mark: place.longest_run_mm for place in placed for piece in place.corner.pieces}
    order = {mark: number for number, mark in enumerate(runs)}
    leaning = {piece.mark for place in placed for piece in place.corner.pieces if piece.lean is not None}
    found = [one for plan in plans for line in plan.lines for one in _lines_of(plan, line, leaning)]
    groups = [
        _cut_group([found[number] for number in group], order, runs, loss_mm, leaning)
        for group in _alike([_words(line) for line in found])
    ]
    return tuple(sorted(groups, key=lambda group: (order[group.marks[0]], group.cut.wrap_angle_rad)))


@dataclass(frozen=True)
class _Marked:
    """A line on one elbow with the marks on its two sides; beyond: None where that is scrap."""

    cut: Cut
    blade: Blade
    mark: str
    beyond: str | None
    beyond_angle_rad: float | None


def _lines_of(plan: ElbowPlan, line: Line, leaning: Set[str]) -> Iterator[_Marked]:
    """One line of a plan, on each of its elbows, as seen from the face that it is measured from.

    Where a leaning piece has scrap beyond it, its leaning line is the only one.
    """
    sides = (line.before, line.after) if line.face == "A" else (line.after, line.before)
    own, far = sides
    place = own if own is not None else far
    if place is None:
        return
    start, end = plan.spans_rad[place]
    from_a = (line.face == "A") == (own is not None)
    offset = start if from_a else plan.elbow.sweep_rad - end
    keeps = plan.layout.is_end(place) and abs(offset) < ALIKE_RAD
    cut = Cut(plan.elbow, end - start, "far" if own is None else "own", 0.0 if keeps else offset)
    other = far if own is not None else None
    angle = None if other is None else plan.layout.angles_rad[other]
    for names in plan.copies:
        if other is None and names[place] in leaning:
            continue
        yield _Marked(cut, line.blade, names[place], None if other is None else names[other], angle)


def _words(line: _Marked) -> tuple[tuple[str, ...], tuple[float, ...]]:
    cut = line.cut
    angles = (cut.piece_angle_rad, cut.offset_rad, line.beyond_angle_rad or 0.0)
    return (cut.elbow.name, cut.from_face, line.blade), angles


def _cut_group(
    lines: Sequence[_Marked],
    order: Mapping[str, int],
    runs: Mapping[str, float],
    loss_mm: float,
    leaning: Set[str],
) -> CutGroup:
    cut, blade = lines[0].cut, lines[0].blade
    marks, beyond = (
        tuple(sorted({name for name in names if name is not None}, key=order.__getitem__))
        for names in ([line.mark for line in lines], [line.beyond for line in lines])
    )
    return CutGroup(
        cut,
        marks=marks,
        quantity=len(lines),
        to_cut=lines_to_cut(cut),
        of_piece=lines_of_piece(cut, loss_mm if blade == "centred" else 0.0),
        costs=error_costs(cut),
        longest_run_mm=max(runs[mark] for mark in marks + beyond),
        blade=blade,
        beyond_marks=beyond,
        beyond_angle_rad=lines[0].beyond_angle_rad,
        blanks=tuple(mark for mark in marks + beyond if mark in leaning),
    )


def leaning_groups(placed: Sequence[Placed]) -> tuple[LeaningGroup, ...]:
    """Distinct leaning cuts, in order of first need."""
    found = [
        (piece.mark, place, cut)
        for place in placed
        for piece in place.corner.pieces
        if (cut := piece.leaning_cut) is not None
    ]
    keys = [
        ((cut.elbow.name, cut.from_face), (cut.piece_angle_rad, cut.lean.pitch_rad, cut.lean.yaw_rad))
        for _, _, cut in found
    ]
    groups = []
    for numbers in _alike(keys):
        group = [found[number] for number in numbers]
        cut = group[0][2]
        groups.append(
            LeaningGroup(
                cut,
                tuple(mark for mark, _, _ in group),
                sum(place.quantity for _, place, _ in group),
                leaning_costs(cut),
                max(place.longest_run_mm for _, place, _ in group),
            )
        )
    return tuple(groups)


def mitre_groups(
    placed: Sequence[Placed], plates: Sequence[tuple[int, PlateEnd]] = ()
) -> tuple[MitreGroup, ...]:
    """Distinct mitres, in order of first need; plates: pipe ends on planes, with how many of each."""
    found: list[tuple[float, float, int, Corner | PlateEnd]] = [
        (mitre.tilt_rad, mitre.reach_mm, 2 * place.quantity, place.corner)
        for place in placed
        if (mitre := place.corner.mitre) is not None
    ]
    found += [(plate.tilt_rad, plate.reach_mm, quantity, plate) for quantity, plate in plates]
    groups = []
    for numbers in _alike([((), (tilt,)) for tilt, _, _, _ in found]):
        group = [found[number] for number in numbers]
        joints = tuple(one.joints[0] for _, _, _, one in group if isinstance(one, Corner))
        ends = tuple(one for _, _, _, one in group if isinstance(one, PlateEnd))
        groups.append(
            MitreGroup(group[0][0], group[0][1], joints, sum(count for _, _, count, _ in group), ends)
        )
    return tuple(groups)


def _alike(keys: Sequence[tuple[tuple[str, ...], tuple[float, ...]]]) -> list[list[int]]:
    """Indices of the keys that are alike in their words and in their angles, all in first order."""
    groups: list[list[int]] = []
    for number in sorted(range(len(keys)), key=lambda index: keys[index]):
        words, angles = keys[number]
        if groups:
            words_before, before = keys[groups[-1][0]]
            if words == words_before and all(
                abs(one - other) <= ALIKE_RAD for one, other in zip(angles, before, strict=True)
            ):
                groups[-1].append(number)
                continue
        groups.append([number])
    return sorted(sorted(group) for group in groups)


def buy_list(used: Sequence[ElbowsUsed], placed: Sequence[Placed]) -> tuple[BuyLine, ...]:
    """Elbows that the job takes, in the order of the job file; kinds not needed are left out."""
    pieces = [piece for place in placed for piece in place.corner.pieces]
    return tuple(
        BuyLine(
            line.elbow,
            line.whole,
            line.to_cut,
            tuple(piece.mark for piece in pieces if piece.elbow.name == line.elbow.name),
            line.from_hand,
            line.price_cents,
        )
        for line in used
    )
