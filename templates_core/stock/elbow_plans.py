"""Stock elbows with the pieces that are marked out on each: who gets which place, lines, and what is left."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace

from templates_core.elbows.cuts import Cut
from templates_core.fittings import StockElbow
from templates_core.jobs.job import Shop
from templates_core.stock.elbow_layouts import Layout, Line, face_loss_mm, limits_of
from templates_core.stock.elbow_patterns import Cutting


@dataclass(frozen=True)
class Offcut:
    """What is left of an elbow.

    start_rad, end_rad: the lines or faces that it lies between, from face A.  sweep_rad: that can still be
    cut from it, less what the blade took.  keeps_face: whether it has a stock face.  usable: whether a piece
    can be made of it.
    """

    start_rad: float
    end_rad: float
    sweep_rad: float
    keeps_face: bool
    usable: bool


@dataclass(frozen=True)
class ElbowPlan:
    """Elbows of one kind that are all cut alike.

    copies: the marks of the pieces of each elbow, in order from face A.  lines: in the same order, with the
    blade as it is to be cut; none for an elbow that is used whole.  leaning: those of the marks whose piece
    is cut to lean, inside the line that it takes its elbow up to.
    """

    elbow: StockElbow
    layout: Layout
    lines: tuple[Line, ...]
    copies: tuple[tuple[str, ...], ...]
    offcut: Offcut | None
    leaning: frozenset[str] = frozenset()

    def leaning_to(self, line: Line) -> tuple[str, ...]:
        """Marks of the pieces with scrap beyond a line that are not cut on it but to lean, inside it."""
        place = line.before if line.after is None else line.after if line.before is None else None
        if place is None:
            return ()
        return tuple(dict.fromkeys(names[place] for names in self.copies if names[place] in self.leaning))

    @property
    def quantity(self) -> int:
        """Elbows cut so."""
        return len(self.copies)

    @property
    def spans_rad(self) -> tuple[tuple[float, float], ...]:
        """Where each piece starts and ends, from face A [rad]."""
        return self.layout.spans_rad()

    def marks_at(self, place: int) -> tuple[tuple[str, int], ...]:
        """Marks of the pieces in a place, by its number from 0, and how many of each there are."""
        return tuple(Counter(copy[place] for copy in self.copies).items())


@dataclass(frozen=True)
class StockedPiece:
    """What a piece is after the stock was shared out.

    elbow: of the kind that it comes of.  cut: from the far face where the elbow's sweep goes into the piece,
    as its two ends are not measured from the same face, and from its own else; where pieces of one mark are
    cut in several ways, one that leans on the sweep goes first.  middle: whether both its faces are cut.
    loss_mm: of each cut face.
    """

    elbow: StockElbow
    cut: Cut
    middle: bool
    loss_mm: float


def whole_plan(elbow: StockElbow, marks: Sequence[str]) -> ElbowPlan:
    """Elbows used as they are, one for each of the marks."""
    layout = Layout(elbow.sweep_rad, (elbow.sweep_rad,), 0, 0.0, far_end=True)
    return ElbowPlan(elbow, layout, (), tuple((mark,) for mark in marks), None)


def give_out(
    cuttings: Sequence[Cutting], copies: Sequence[Sequence[tuple[str, int]]], middles: set[str]
) -> list[tuple[str, ...]]:
    """Marks of the pieces of each elbow.

    copies: by size, marks with how many of each, in order of the job.  middles: marks that go in the middle
    of elbows.  Places beside a shared line go first, so that hardly a mark has some pieces beside one and
    some beside scrap.
    """
    places: dict[tuple[int, bool], list[tuple[bool, int, int]]] = defaultdict(list)
    for elbow, cutting in enumerate(cuttings):
        clear = _clear_places(cutting.layout.lines())
        for place, size in enumerate(cutting.sizes):
            middle = not cutting.layout.is_end(place)
            places[size, middle].append((place in clear, elbow, place))
    marks = [["" for _ in cutting.sizes] for cutting in cuttings]
    for (size, middle), free in places.items():
        names = [mark for mark, count in copies[size] if (mark in middles) == middle for _ in range(count)]
        for mark, (_, elbow, place) in zip(names, sorted(free), strict=True):
            marks[elbow][place] = mark
    return [tuple(of_elbow) for of_elbow in marks]


def _clear_places(lines: Sequence[Line]) -> set[int]:
    """Numbers of the pieces that are cut clear of their line."""
    return {
        place
        for line in lines
        if line.blade == "clear"
        for place in (line.before, line.after)
        if place is not None
    }


def plans_of(
    cuttings: Sequence[Cutting], marks: Sequence[tuple[str, ...]], elbows: Sequence[StockElbow], shop: Shop
) -> list[ElbowPlan]:
    """Elbows cut alike together, in order of first need.

    Of a mark with some pieces beside a shared line, all are cut with the blade centred, also those with scrap
    beyond, so that all lose as much and the rails that they go in are alike.
    """
    shared = {
        mark
        for cutting, names in zip(cuttings, marks, strict=True)
        for place, mark in enumerate(names)
        if place not in _clear_places(cutting.layout.lines())
    }
    alike: dict[tuple[int, Layout, tuple[Line, ...]], list[tuple[str, ...]]] = defaultdict(list)
    for cutting, names in zip(cuttings, marks, strict=True):
        lines = tuple(
            replace(line, blade="centred") if _beside(line, names) & shared else line
            for line in cutting.layout.lines()
        )
        alike[cutting.kind, cutting.layout, lines].append(names)
    return [
        ElbowPlan(elbows[kind], layout, lines, tuple(copies), _offcut(elbows[kind], layout, lines, shop))
        for (kind, layout, lines), copies in alike.items()
    ]


def _beside(line: Line, names: Sequence[str]) -> set[str]:
    return {names[place] for place in (line.before, line.after) if place is not None}


def _offcut(elbow: StockElbow, layout: Layout, lines: Sequence[Line], shop: Shop) -> Offcut | None:
    """The scrap of an elbow; None where pieces take all of it."""
    if not layout.gap_after or elbow.bend_radius_mm is None:
        return None
    radius = elbow.bend_radius_mm - elbow.radius_mm
    sides = [line for line in lines if line.before is None or line.after is None]
    lost = sum(shop.kerf_mm if line.blade == "clear" else shop.kerf_mm / 2 for line in sides)
    start = layout.spans_rad()[layout.gap_after - 1][1]
    sweep = layout.gap_rad - lost / radius
    at_face = layout.gap_after == len(layout.angles_rad)
    limits = limits_of(elbow, elbow.bend_radius_mm, shop)
    least = limits.end_clear_rad if at_face else limits.middle_rad
    return Offcut(start, start + layout.gap_rad, sweep, at_face, sweep >= least)


def stocked_pieces(plans: Sequence[ElbowPlan], shop: Shop) -> dict[str, StockedPiece]:
    """What became of each mark that is cut."""
    found: dict[str, StockedPiece] = {}
    for plan in plans:
        for place in range(len(plan.layout.angles_rad)) if plan.lines else ():
            piece = _stocked(plan, place, shop)
            for mark in dict.fromkeys(names[place] for names in plan.copies):
                before = found.get(mark)
                if before is None or piece.cut.from_face == "far":
                    found[mark] = piece
    return found


def _stocked(plan: ElbowPlan, place: int, shop: Shop) -> StockedPiece:
    layout, elbow = plan.layout, plan.elbow
    beside = [line for line in plan.lines if place in (line.before, line.after)]
    middle = not layout.is_end(place)
    loss = face_loss_mm(shop) if any(line.blade == "centred" for line in beside) else 0.0
    faces = {line.face for line in beside}
    if not middle:
        faces.add("A" if place == 0 else "B")
    return StockedPiece(elbow, _cut(plan, place, len(faces) > 1, "B" in faces), middle, loss)


def _cut(plan: ElbowPlan, place: int, leans: bool, from_b: bool) -> Cut:
    """The cut of a piece: one that keeps no face seen from the one it is measured from, or else from A."""
    start, end = plan.spans_rad[place]
    offset = 0.0
    if not plan.layout.is_end(place):
        offset = plan.layout.sweep_rad - end if from_b and not leans else start
    return Cut(plan.elbow, end - start, "far" if leans else "own", offset)
