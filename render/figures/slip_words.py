"""What a slip of the hand on an elbow's wrap comes to, in words."""

from __future__ import annotations

from dataclasses import dataclass

from templates_core.elbows.groups import CutGroup, LeaningGroup
from templates_core.geometry.surfaces import elbow_surface
from templates_core.units import INCH, MM_PER_INCH, format_angle, format_length
from templates_core.wraps.cut_wraps import CutWrap, LeaningWrap, turn_per_girth


@dataclass(frozen=True)
class Slip:
    """A slip of 1 mm or 1/16 in on a wrap.

    turn, turn_rad: of the cut, by a slip of heel against throat.  tip: by a slip off the heel line.
    seam: a sentence on girths: the nominal, what a slip over it costs, where the wrap must be printed again.
    """

    words: str
    turn: str
    turn_rad: float
    tip: str
    seam: str


def slip_on(group: CutGroup | LeaningGroup, made: CutWrap | LeaningWrap, units: str) -> Slip:
    """What a slip on the wrap of a cut comes to.  units: ``mm`` or ``in``, of the tape."""
    cut, costs = group.cut, group.costs
    step_mm, words = (MM_PER_INCH / 16, "1/16 in") if units == INCH else (1.0, "1 mm")
    nominal, low, high = (
        format_length(girth, units, fine=units == INCH)
        for girth in (made.wrap.girth_mm, made.girth_from_mm, made.girth_to_mm)
    )
    over = format_angle(step_mm * turn_per_girth(elbow_surface(cut.elbow), cut.wrap_angle_rad), 2)
    seam = (
        f"Seam: nominal girth {nominal}; {words} over takes {over} off the turn. "
        f"Below {low} or above {high} enter the girth and print again."
    )
    turn_rad, tip_rad = step_mm * costs.turn_rad_per_mm, step_mm * costs.tip_rad_per_mm
    return Slip(words, format_angle(turn_rad, 2), turn_rad, format_angle(tip_rad, 2), seam)
