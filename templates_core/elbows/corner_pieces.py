"""Which pieces make a corner: whole elbows, cut pieces, and what may be cut at all."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from templates_core.fittings import StockElbow
from templates_core.jobs.job import Shop

EXACT_RAD = math.radians(0.01)
"""A whole elbow makes a corner when its sweep is within this of the turn."""

OWN_FACE_LIMIT_RAD = math.radians(60)
"""Furthest from a face, in sweep, that a cut line can be carried by a wrap."""

LEAST_THROAT_WALLS = 3
LEAST_THROAT_MM = 6.0
"""Unless the shop says otherwise, the throat of a piece is three walls long and never under 6 mm."""


@dataclass(frozen=True)
class Choice:
    """One piece of a corner: an elbow and the angle kept of it; cut unless that is all of it."""

    elbow: StockElbow
    angle_rad: float
    whole: bool

    @property
    def measured_far(self) -> bool:
        """Whether the cut is past the own-face limit, so that it is measured from the far face."""
        return not self.whole and self.angle_rad > OWN_FACE_LIMIT_RAD


@dataclass(frozen=True)
class Span:
    """Angles that a cut piece of one kind of elbow may keep [rad], both ends included."""

    elbow: StockElbow
    least_rad: float
    most_rad: float

    def holds(self, angle_rad: float) -> bool:
        """Whether a piece of this angle may be cut."""
        return self.least_rad <= angle_rad <= self.most_rad


def least_throat_mm(shop: Shop, wall_mm: float) -> float:
    """Shortest full-diameter throat that a piece may have [mm]."""
    if shop.least_throat_mm is not None:
        return shop.least_throat_mm
    return max(LEAST_THROAT_WALLS * wall_mm, LEAST_THROAT_MM)


def shoulder_sweep(shoulder_mm: float, tangent_mm: float, line_radius_mm: float) -> float:
    """Sweep from the end of the tangent to the bevel's shoulder along one girth line [rad].

    asin(b/ρ) for what the tangent does not take up of the shoulder; 0 when it takes up all.
    """
    return math.asin(max(0.0, shoulder_mm - tangent_mm) / line_radius_mm)


def throat_mm(elbow: StockElbow, bend_radius_mm: float, tangent_mm: float, angle_rad: float) -> float:
    """Throat from the bevel's shoulder at one face to a radial cut at that angle [mm]."""
    radius = bend_radius_mm - elbow.radius_mm
    straight = max(0.0, tangent_mm - elbow.shoulder_mm)
    return straight + radius * (angle_rad - shoulder_sweep(elbow.shoulder_mm, tangent_mm, radius))


def legal_spans(elbow: StockElbow, shop: Shop, loss_mm: float = 0.0) -> tuple[Span, ...]:
    """What may be cut from one kind of elbow: none, one, or (a long return) two spans of angle.

    A piece keeps face A.  Its throat, after the bevel and the loss of its cut face, is as long as the
    shop asks; beyond the cut there is a kerf and the least scrap at the throat, clear of the bevel where
    the cut is measured from there; and the cut is within the limit of one of the two faces.  An elbow
    whose bend radius is not known gives none.
    """
    if elbow.bend_radius_mm is None:
        return ()
    radius = elbow.bend_radius_mm - elbow.radius_mm
    own = throat_mm(elbow, elbow.bend_radius_mm, elbow.tangent_a_mm, 0.0)
    least = max((least_throat_mm(shop, elbow.wall_mm) + loss_mm - own) / radius, EXACT_RAD)
    left = shop.kerf_mm + shop.least_scrap_mm
    bare = elbow.sweep_rad - max(0.0, left - elbow.tangent_b_mm) / radius
    far = throat_mm(elbow, elbow.bend_radius_mm, elbow.tangent_b_mm, 0.0)
    clear = elbow.sweep_rad - (left - far) / radius
    near = Span(elbow, least, min(OWN_FACE_LIMIT_RAD, bare))
    beyond = Span(
        elbow, max(least, OWN_FACE_LIMIT_RAD, elbow.sweep_rad - OWN_FACE_LIMIT_RAD), min(bare, clear)
    )
    return _joined(tuple(span for span in (near, beyond) if span.least_rad <= span.most_rad))


def _joined(spans: tuple[Span, ...]) -> tuple[Span, ...]:
    if len(spans) == 2 and spans[0].most_rad == spans[1].least_rad:
        return (Span(spans[0].elbow, spans[0].least_rad, spans[1].most_rad),)
    return spans


def choose(turn_rad: float, elbows: Sequence[StockElbow], shop: Shop) -> tuple[Choice, ...]:
    """Pieces that make a turn, in order along the rail; empty when the stock can't make it.

    One piece before two; fewer cuts before more; cuts measured from their own face before others; an
    even split before an uneven one; then the order of the job file.
    """
    spans = [span for elbow in elbows for span in legal_spans(elbow, shop)]
    return _one_piece(turn_rad, elbows, spans) or _two_pieces(turn_rad, elbows, spans)


def _is_exact(elbow_sweep_rad: float, turn_rad: float) -> bool:
    return abs(elbow_sweep_rad - turn_rad) <= EXACT_RAD


def _one_piece(turn_rad: float, elbows: Sequence[StockElbow], spans: Sequence[Span]) -> tuple[Choice, ...]:
    for elbow in elbows:
        if _is_exact(elbow.sweep_rad, turn_rad):
            return (Choice(elbow, elbow.sweep_rad, whole=True),)
    for span in spans:
        if span.holds(turn_rad):
            return (Choice(span.elbow, turn_rad, whole=False),)
    return ()


def _two_pieces(turn_rad: float, elbows: Sequence[StockElbow], spans: Sequence[Span]) -> tuple[Choice, ...]:
    def cost(pair: tuple[Choice, ...]) -> tuple[int, int, float]:
        cuts = sum(not piece.whole for piece in pair)
        far = sum(piece.measured_far for piece in pair)
        return far, cuts, abs(pair[0].angle_rad - pair[1].angle_rad) if cuts == 2 else 0.0

    return min(_pairs(turn_rad, elbows, spans), key=cost, default=())


def _pairs(
    turn_rad: float, elbows: Sequence[StockElbow], spans: Sequence[Span]
) -> Iterator[tuple[Choice, ...]]:
    """Every way to make a turn of two pieces; of two cut ones, the most even split of each two spans."""
    for elbow in elbows:
        first, rest = Choice(elbow, elbow.sweep_rad, whole=True), turn_rad - elbow.sweep_rad
        for other in elbows:
            if _is_exact(other.sweep_rad, rest):
                yield first, Choice(other, other.sweep_rad, whole=True)
        for span in spans:
            if span.holds(rest):
                yield first, Choice(span.elbow, rest, whole=False)
    for one in spans:
        for two in spans:
            least = max(one.least_rad, turn_rad - two.most_rad)
            most = min(one.most_rad, turn_rad - two.least_rad)
            if least <= most:
                angle = min(max(turn_rad / 2, least), most)
                yield Choice(one.elbow, angle, whole=False), Choice(two.elbow, turn_rad - angle, whole=False)
