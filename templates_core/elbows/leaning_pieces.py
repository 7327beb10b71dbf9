"""Which pieces make a corner whose outer end is cut on a leaning plane, and why none do."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Literal

import numpy as np

from templates_core.elbows.corner_pieces import (
    EXACT_RAD,
    OWN_FACE_LIMIT_RAD,
    Choice,
    Span,
    least_throat_mm,
    legal_spans,
    shoulder_sweep,
    throat_mm,
)
from templates_core.elbows.leaning_cuts import LeanShape, blank_rad, lean_shape, most_lean_rad
from templates_core.errors import BadValueError, GeometryError
from templates_core.fittings import StockElbow
from templates_core.jobs.job import Shop
from templates_core.paths.leans import ElbowLean
from templates_core.stock.elbow_layouts import face_loss_mm
from templates_core.units import degrees_text

End = Literal["before", "after"]
_WITH_RUN = "give the return a run, so that a pipe is cut to the plane"


def leaning_spans(elbow: StockElbow, lean: ElbowLean, shop: Shop) -> tuple[Span, ...]:
    """What a piece with a leaning cut may turn: none, one, or (a long return) two spans of angle.

    The piece keeps face A.  Its shortest girth line is as long as the shop asks of a throat; the plane meets
    the arc alone; beyond its farthest point there is a kerf and the least scrap at the throat; and the cut is
    within the limit of wraps from one of the two faces.
    """
    if elbow.bend_radius_mm is None:
        return ()
    try:
        shape = lean_shape(elbow.radius_mm, elbow.bend_radius_mm, lean)
    except GeometryError:
        return ()
    return _spans(elbow, elbow.bend_radius_mm, shape, shop)


def _spans(elbow: StockElbow, bend_radius_mm: float, shape: LeanShape, shop: Shop) -> tuple[Span, ...]:
    radius = bend_radius_mm - elbow.radius_mm
    least, beyond = _least_rad(elbow, shape, shop), blank_rad(shape, 0.0, face_loss_mm(shop))
    left = shop.kerf_mm + shop.least_scrap_mm
    bare = elbow.sweep_rad - max(0.0, left - elbow.tangent_b_mm) / radius - beyond
    far = throat_mm(elbow, bend_radius_mm, elbow.tangent_b_mm, 0.0)
    clear = elbow.sweep_rad - (left - far) / radius - beyond
    near = min(OWN_FACE_LIMIT_RAD, bare)
    if elbow.sweep_rad > 2 * OWN_FACE_LIMIT_RAD:
        near = min(near, OWN_FACE_LIMIT_RAD - beyond)
    spans = (
        Span(elbow, least, near),
        Span(elbow, max(least, OWN_FACE_LIMIT_RAD, elbow.sweep_rad - OWN_FACE_LIMIT_RAD), min(bare, clear)),
    )
    legal = [span for span in spans if span.least_rad <= span.most_rad]
    if len(legal) == 2 and legal[0].most_rad == legal[1].least_rad:
        return (Span(elbow, legal[0].least_rad, legal[1].most_rad),)
    return tuple(legal)


def _least_rad(elbow: StockElbow, shape: LeanShape, shop: Shop) -> float:
    """The least turn whose shortest girth line can be welded, all of its cut on the arc."""
    straight = max(0.0, elbow.tangent_a_mm - elbow.shoulder_mm)
    bevel = np.array([shoulder_sweep(elbow.shoulder_mm, elbow.tangent_a_mm, rho) for rho in shape.rho_mm])
    needed = max(0.0, least_throat_mm(shop, elbow.wall_mm) - straight) / shape.rho_mm
    return max(float(np.max(needed + bevel - shape.ahead_rad)), EXACT_RAD)


def choose_leaning(
    turn_rad: float, lean: ElbowLean, end: End, elbows: Sequence[StockElbow], shop: Shop
) -> tuple[Choice, ...]:
    """Pieces of a corner whose end is cut so, in order along the rail.

    end: at which end of the corner.  One piece before two; fewer cuts before more; cuts measured from their
    own face before others; an even split before an uneven one; then the order of the job file.  Raises
    BadValueError where no stock makes it, with what would.
    """
    leaning = [span for elbow in elbows for span in leaning_spans(elbow, lean, shop)]
    for span in leaning:
        if span.holds(turn_rad):
            return (Choice(span.elbow, turn_rad, whole=False),)

    def cost(pair: tuple[Choice, Choice]) -> tuple[int, int, float]:
        cuts = sum(not piece.whole for piece in pair)
        far = sum(piece.measured_far for piece in pair)
        return far, cuts, abs(pair[0].angle_rad - pair[1].angle_rad) if cuts == 2 else 0.0

    pair = min(_pairs(turn_rad, leaning, elbows, shop), key=cost, default=None)
    if pair is None:
        raise _refusal(turn_rad, lean, elbows, leaning)
    return pair if end == "after" else pair[::-1]


def _pairs(
    turn_rad: float, leaning: Sequence[Span], elbows: Sequence[StockElbow], shop: Shop
) -> Iterator[tuple[Choice, Choice]]:
    """Another piece, whole or cut, and the leaning one."""
    spans = [span for elbow in elbows for span in legal_spans(elbow, shop)]
    for last in leaning:
        for elbow in elbows:
            rest = turn_rad - elbow.sweep_rad
            if last.holds(rest):
                yield Choice(elbow, elbow.sweep_rad, whole=True), Choice(last.elbow, rest, whole=False)
        for one in spans:
            least = max(one.least_rad, turn_rad - last.most_rad)
            most = min(one.most_rad, turn_rad - last.least_rad)
            if least <= most:
                angle = min(max(turn_rad / 2, least), most)
                yield (
                    Choice(one.elbow, angle, whole=False),
                    Choice(last.elbow, turn_rad - angle, whole=False),
                )


def _refusal(
    turn_rad: float, lean: ElbowLean, elbows: Sequence[StockElbow], leaning: Sequence[Span]
) -> BadValueError:
    steep = degrees_text(lean.angle_rad)
    if leaning:
        given = "; ".join(
            f"{span.elbow.name}: {_tenth(span.least_rad, up=True)} to {_tenth(span.most_rad, up=False)}"
            for span in leaning
        )
        what = f"no stock elbow turns {degrees_text(turn_rad)} to an end that leans {steep} ({given})"
        return BadValueError(what, f"change the turn, stock an elbow that does, or {_WITH_RUN}")
    known = [elbow for elbow in elbows if elbow.bend_radius_mm is not None]
    if not known:
        what = "no stock elbow has a known bend radius, so none can be cut to lean"
        return BadValueError(what, f"give its bend radius, or {_WITH_RUN}")
    most = "; ".join(f"{elbow.name}: {_tenth(_most(elbow, lean), up=False)}" for elbow in known)
    what = f"a lean of {steep} leaves no piece of elbow that can be cut and welded (the bend's most: {most})"
    return BadValueError(what, f"lean it less, or {_WITH_RUN}")


def _tenth(angle_rad: float, up: bool) -> str:
    """An angle rounded to a tenth of a degree, the way that keeps it legal."""
    tenths = 10 * math.degrees(angle_rad)
    return degrees_text(math.radians((math.ceil(tenths - 1e-6) if up else math.floor(tenths + 1e-6)) / 10))


def _most(elbow: StockElbow, lean: ElbowLean) -> float:
    return 0.0 if elbow.bend_radius_mm is None else most_lean_rad(elbow.radius_mm, elbow.bend_radius_mm, lean)
