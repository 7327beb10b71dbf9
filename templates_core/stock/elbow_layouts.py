"""How pieces lie in one stock elbow: in a row, with scrap in at most one place, and where each line is.

A piece from an end keeps a stock face, one from the middle has two cut faces.  Where two pieces meet on a
line, or a middle piece ends at scrap, the blade is centred on the line, and each face loses half a kerf and
the dressing; an end piece with scrap beyond is cut clear of its line, ground to it, and loses nothing.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Literal

from templates_core.elbows.corner_pieces import EXACT_RAD, OWN_FACE_LIMIT_RAD, least_throat_mm, throat_mm
from templates_core.fittings import StockElbow
from templates_core.jobs.job import Shop

Blade = Literal["centred", "clear"]
Face = Literal["A", "B"]
Sides = tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...]]

ROUNDING_RAD = 1e-9
MOST_RAD = OWN_FACE_LIMIT_RAD + ROUNDING_RAD
MOST_MIDDLES_OF_A_RETURN = 8
"""No more middle pieces are laid out in an elbow that has a part which no wrap reaches."""


@dataclass(frozen=True)
class Line:
    """A line that is cut.

    at_rad: from face A.  before, after: numbers, from 0, of the pieces on its two sides, on the side of face
    A and of face B; None for scrap.  blade: ``centred`` on the line, or ``clear`` of it, in the scrap.
    face: that it is measured from.
    """

    at_rad: float
    before: int | None
    after: int | None
    blade: Blade
    face: Face


@dataclass(frozen=True)
class Layout:
    """Pieces in one stock elbow.

    angles_rad: of the pieces in order from face A.  gap_after: number of the piece that scrap follows, from
    1; 0 where there is no scrap.  gap_rad: sweep of the scrap, between lines.  far_end: whether the last
    piece keeps face B; the first always keeps face A.
    """

    sweep_rad: float
    angles_rad: tuple[float, ...]
    gap_after: int
    gap_rad: float
    far_end: bool

    def spans_rad(self) -> tuple[tuple[float, float], ...]:
        """Where each piece starts and ends, from face A."""
        at, spans = 0.0, []
        for number, angle in enumerate(self.angles_rad, 1):
            spans.append((at, at + angle))
            at += angle + (self.gap_rad if number == self.gap_after else 0.0)
        return tuple(spans)

    def is_end(self, number: int) -> bool:
        """Whether a piece, by its number from 0, keeps a stock face."""
        return number == 0 or (self.far_end and number == len(self.angles_rad) - 1)

    def lines(self) -> tuple[Line, ...]:
        """Lines in order from face A."""
        spans, lines = self.spans_rad(), []
        for number in range(len(spans) - (1 if self.far_end else 0)):
            following = number + 1 if number + 1 < len(spans) else None
            if self.gap_after != number + 1:
                lines.append(self._line(spans[number][1], number, following))
                continue
            lines.append(self._line(spans[number][1], number, None))
            if following is not None:
                lines.append(self._line(spans[following][0], None, following))
        return tuple(lines)

    def _line(self, at_rad: float, before: int | None, after: int | None) -> Line:
        alone = before if after is None else after if before is None else None
        clear = alone is not None and self.is_end(alone)
        return Line(at_rad, before, after, "clear" if clear else "centred", self._face(at_rad, before, after))

    def _face(self, at_rad: float, before: int | None, after: int | None) -> Face:
        """The face of the one end piece that ends here, as far as a wrap reaches; else the nearer face."""
        from_b_rad = self.sweep_rad - at_rad
        own_a, own_b = before == 0, after is not None and self.is_end(after)
        if own_a and not own_b and at_rad <= MOST_RAD:
            return "A"
        if own_b and not own_a and from_b_rad <= MOST_RAD:
            return "B"
        return "A" if at_rad <= from_b_rad + ROUNDING_RAD else "B"


@dataclass(frozen=True)
class Limits:
    """What one kind of elbow and the shop allow.

    End pieces clear of, and on, a centred line are at least end_clear_rad and end_centred_rad; middle pieces
    middle_rad.  one_end_rad, two_end_rad: least scrap beside one stock face, and between two end pieces.
    far_rad: least scrap where a line is measured across it, from its face.  two_ended: whether both faces
    may be kept by pieces.
    """

    sweep_rad: float
    end_clear_rad: float
    end_centred_rad: float
    middle_rad: float
    one_end_rad: float
    far_rad: float
    two_end_rad: float
    two_ended: bool


def face_loss_mm(shop: Shop) -> float:
    """What a face loses along its tangent where the blade is centred on its line [mm]."""
    return shop.kerf_mm / 2 + shop.dressing_mm


def limits_of(elbow: StockElbow, bend_radius_mm: float, shop: Shop) -> Limits:
    """Least angles of pieces and scrap; each is a length at the throat."""
    radius = bend_radius_mm - elbow.radius_mm
    least, loss = least_throat_mm(shop, elbow.wall_mm), face_loss_mm(shop)
    own = throat_mm(elbow, bend_radius_mm, elbow.tangent_a_mm, 0.0)
    far = throat_mm(elbow, bend_radius_mm, elbow.tangent_b_mm, 0.0)
    scrap = shop.kerf_mm + shop.least_scrap_mm
    return Limits(
        sweep_rad=elbow.sweep_rad,
        end_clear_rad=(least - own) / radius,
        end_centred_rad=(least + loss - own) / radius,
        middle_rad=(least + 2 * loss) / radius,
        one_end_rad=max(0.0, scrap - elbow.tangent_b_mm) / radius,
        far_rad=(scrap - far) / radius,
        two_end_rad=(scrap + shop.kerf_mm) / radius,
        two_ended=abs(elbow.tangent_a_mm - elbow.tangent_b_mm) < 1e-9,
    )


def lay_out_pieces(ends: Sequence[float], middles: Sequence[float], limits: Limits) -> Layout | None:
    """A layout of one or two end pieces and any middle pieces [rad], or None where there is none."""
    slack = limits.sweep_rad - sum(ends) - sum(middles)
    exact = abs(slack) <= EXACT_RAD and len(ends) == 2
    if not exact and slack < (limits.two_end_rad if len(ends) == 2 else limits.one_end_rad) - ROUNDING_RAD:
        return None
    if (len(ends) == 2 or middles) and not limits.two_ended:
        return None
    if any(angle < limits.middle_rad - ROUNDING_RAD for angle in middles):
        return None
    return next(
        (one for one in _orders(ends, middles, 0.0 if exact else slack, limits) if _can_be_cut(one, limits)),
        None,
    )


def _orders(
    ends: Sequence[float], middles: Sequence[float], slack: float, limits: Limits
) -> Iterator[Layout]:
    """Layouts to try.

    Where every line is near enough to a face, the order makes no odds, and any scrap lies beside the shorter
    end piece, which then loses nothing.  Else the middle pieces are shared out to the two sides of the part
    that no line may lie in, with each in turn across it.
    """
    far_end = len(ends) == 2
    first, last = (max(ends), (min(ends),)) if far_end else (ends[0], ())
    if limits.sweep_rad <= 2 * MOST_RAD:
        shared: Iterable[Sides] = [((), (), tuple(sorted(middles, reverse=True)))]
    elif len(middles) <= MOST_MIDDLES_OF_A_RETURN:
        shared = _sides(middles)
    else:
        return
    for near, across, beyond in shared:
        angles = (first, *near, *across, *beyond, *last)
        places = {1 + len(near), 1 + len(near) + len(across), len(angles) - 1}
        for gap_after in sorted(places if far_end else {len(angles)}, reverse=True) if slack else (0,):
            yield Layout(limits.sweep_rad, angles, gap_after, slack, far_end)


def _sides(middles: Sequence[float]) -> Iterator[Sides]:
    """Middle pieces before, across and after the part that no line may lie in; at most one across."""
    for across in ((), *((angle,) for angle in dict.fromkeys(middles))):
        rest = Counter(middles) - Counter(across)
        for near in product(*(range(count + 1) for count in rest.values())):
            before = [angle for angle, n in zip(rest, near, strict=True) for _ in range(n)]
            after = [angle for angle, n in zip(rest, near, strict=True) for _ in range(rest[angle] - n)]
            yield tuple(before), across, tuple(after)


def _can_be_cut(layout: Layout, limits: Limits) -> bool:
    """Whether every line can be marked, every end piece stays long enough, and scrap measured across is."""
    lines = layout.lines()
    for line in lines:
        if min(line.at_rad, limits.sweep_rad - line.at_rad) > MOST_RAD:
            return False
        least = limits.end_clear_rad if line.blade == "clear" else limits.end_centred_rad
        beside = [number for number in (line.before, line.after) if number is not None]
        if any(layout.is_end(n) and layout.angles_rad[n] < least - ROUNDING_RAD for n in beside):
            return False
    last = lines[-1]
    across = not layout.far_end and last.face == "B"
    return not across or limits.sweep_rad - last.at_rad >= limits.far_rad - ROUNDING_RAD
