"""Measured trials turned into the numbers that a job file takes: kink of one weld, share of a preset kept.

First trial: a spare length, one weld at the middle of a span L, left free: bow h gives 4h/L.  Second trial:
the same weld in the same pipe, held bent by p the other way, cooled and released: bow r is left.  By
r = h − η·p, the share kept is η = (h − r)/p.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from templates_core.errors import BadValueError, Fault, Gathered, InputError
from templates_core.units import UNITS, degrees_text, format_length, parse_length_mm
from templates_core.welding.weld_kinks import MOST_KINK_RAD, kink_of_bow

READING_MM = 0.5
"""A bow is read to this with a straight edge and a rule."""


@dataclass(frozen=True)
class TrialAsked:
    """What the command was given, as it was typed; left is signed, + still towards the weld."""

    bow: str
    span: str
    preset: str | None = None
    left: str | None = None
    units: str = "mm"


@dataclass(frozen=True)
class Trial:
    """What trials come to.

    kink_rad: of one weld.  kept: share of a clamped preset that stays, None without a second trial.
    kink_error_rad, kept_error: what a bow misread by READING_MM makes of each.
    """

    kink_rad: float
    kink_error_rad: float
    kept: float | None = None
    kept_error: float | None = None


def trial_of(asked: TrialAsked) -> Trial:
    """Work trials out.  Raises InputError with every fault of the options."""
    if asked.units not in UNITS:
        what = f"'{asked.units}' is no unit that is known here"
        raise InputError([Fault("--units", what, f"give {' or '.join(UNITS)}")])
    gathered = Gathered()
    bow = gathered.get(lambda: _length_mm("--bow", asked.bow, asked.units))
    span = gathered.get(lambda: _span_mm(asked))
    preset = gathered.get(lambda: _preset_mm(asked))
    left = gathered.get(lambda: _left_mm(asked))
    gathered.refuse()
    assert bow is not None and span is not None
    kink = kink_of_bow(bow, span)
    if kink > MOST_KINK_RAD:
        what = (
            f"a bow of {format_length(bow, asked.units)} over that is {degrees_text(kink)}: no weld does that"
        )
        remedy = "measure at the middle, from a straight edge that touches the pipe a whole span apart"
        raise InputError([Fault("--bow", what, remedy)])
    error = kink_of_bow(READING_MM, span)
    if preset is None or left is None:
        return Trial(kink, error)
    return Trial(kink, error, _kept(bow, preset, left, asked.units), READING_MM / preset)


def _length_mm(option: str, text: str, units: str, signed: bool = False) -> float:
    try:
        return parse_length_mm(text, units, signed)
    except BadValueError as error:
        raise InputError([error.at(option)]) from None


def _span_mm(asked: TrialAsked) -> float:
    span = _length_mm("--span", asked.span, asked.units)
    if span == 0:
        raise InputError(
            [Fault("--span", "it is 0", "give the length between the ends of the straight edge")]
        )
    return span


def _preset_mm(asked: TrialAsked) -> float | None:
    if asked.preset is None:
        if asked.left is not None:
            what = "what was left is told without the preset"
            raise InputError([Fault("--left", what, "give --preset, the bow that the clamps held")])
        return None
    preset = _length_mm("--preset", asked.preset, asked.units)
    if preset == 0:
        raise InputError([Fault("--preset", "it is 0", "leave it out where nothing was held bent")])
    return preset


def _left_mm(asked: TrialAsked) -> float | None:
    if asked.left is None:
        if asked.preset is not None:
            what = "the second trial needs what was left of the bow"
            remedy = "give --left: towards the weld as it is, the other way with a minus"
            raise InputError([Fault("--preset", what, remedy)])
        return None
    return _length_mm("--left", asked.left, asked.units, signed=True)


def _kept(bow_mm: float, preset_mm: float, left_mm: float, units: str) -> float:
    kept = (bow_mm - left_mm) / preset_mm
    if 0 <= kept <= 1 + 1e-9:
        return min(kept, 1.0)
    bow, preset, left = (format_length(mm, units) for mm in (bow_mm, preset_mm, left_mm))
    share = f"{kept:.2f}".replace("-", "−")
    what = f"a bow of {bow} without and {left} with a preset of {preset} makes the share kept {share}"
    remedy = "it lies between 0 and 1: check which way each bow goes (--left with a minus for away from the "
    remedy += "weld), and that both trials had the same weld, pipe and span"
    raise InputError([Fault("--left", what, remedy)])


def to_hold(kept: float) -> float:
    """How many times its free bow a pipe has to be held the other way, to come out straight."""
    return math.inf if kept == 0 else 1 / kept
