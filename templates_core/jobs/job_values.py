"""What may stand in one key of a job file: read, checked for its range, in millimetres or radians.

The validation context is the job's unit, mm or in.  A value that won't do raises BadValueError.
"""

from __future__ import annotations

import math
import re
from typing import Annotated

from pydantic import BeforeValidator, Field, ValidationInfo

from templates_core.errors import BadValueError
from templates_core.geometry.end_checks import LEAST_ANGLE_RAD as LEAST_MEETING_RAD
from templates_core.geometry.pipe_ends import BearsOn
from templates_core.jobs.job import EndKind, Joint
from templates_core.jobs.load_units import format_stress, parse_force_n, parse_stress_mpa
from templates_core.jobs.member_specs import Reach
from templates_core.standards import size_od_mm
from templates_core.units import format_angle, format_length, parse_angle_rad, parse_length_mm, parse_slope
from templates_core.welding.weld_kinks import MOST_KINK_RAD

MOST_LOSS_MM = 10.0
"""No kerf, dressing or root gap is wider: past that, a number was meant in the other unit."""
MOST_WRAP_MM = 1.0
MOST_PRICE = 1_000_000.0
LEAST_YIELD_MPA, MOST_YIELD_MPA = 100.0, 1000.0
_GIRTH_WORDS = {"heel": 0.0, "side": math.pi / 2, "throat": math.pi}
_BEARING = {"first": BearsOn.FIRST, "outer": BearsOn.OUTER, "bore": BearsOn.BORE}
MOST_LEAN_RAD = math.radians(60)
"""An end cut further off square than this is more likely measured from the pipe than from square."""
LEAST_INSIDE_RAD = math.radians(15)
"""An inside angle under this is taken for a slope and refused; a hairpin that sharp is written as a turn."""


def _unit(info: ValidationInfo) -> str:
    """The job's unit, mm or in: the validation context."""
    return str(info.context)


def _mm(value: object, info: ValidationInfo) -> float:
    return parse_length_mm(value, _unit(info))


def _signed_mm(value: object, info: ValidationInfo) -> float:
    return parse_length_mm(value, _unit(info), signed=True)


def _positive_mm(value: object, info: ValidationInfo) -> float:
    length_mm = _mm(value, info)
    if length_mm == 0:
        raise BadValueError("it is 0", "give a length over 0")
    return length_mm


def _up_to_mm(most_mm: float) -> BeforeValidator:
    def check(value: object, info: ValidationInfo) -> float:
        length_mm = _mm(value, info)
        if length_mm > most_mm:
            what = f"{format_length(length_mm, 'mm')} is more than it can be"
            remedy = f'give at most {most_mm:g} mm; in another unit than the job\'s it is text: "1.6 mm"'
            raise BadValueError(what, remedy)
        return length_mm

    return BeforeValidator(check)


def _inside_rad(value: object) -> float:
    slope = parse_slope(value)
    angle_rad = abs(math.atan(slope)) if slope is not None else _bend_rad(value)
    if slope is None and angle_rad >= LEAST_INSIDE_RAD:
        return angle_rad
    small, large = format_angle(angle_rad, 2), format_angle(math.pi - angle_rad, 2)
    what = f"an inside angle of {small} turns the pipe back by {large}"
    bare_small, bare_large = small.removesuffix("°"), large.removesuffix("°")
    remedy = (
        f"for a pipe that bends by {small} write turn = {bare_small} or inside_angle = {bare_large}; "
        f"for a hairpin write turn = {bare_large}"
    )
    raise BadValueError(what, remedy)


def _turn_rad(value: object) -> float:
    slope = parse_slope(value)
    if slope is None:
        return _bend_rad(value)
    angle = format_angle(abs(math.atan(slope)), 2)
    what = f"{value} is a slope of {angle} to level, not a turn"
    bare = angle.removesuffix("°")
    remedy = f"give rise and going on the run, or write turn = {bare} where the run before is level"
    raise BadValueError(what, remedy)


def _bend_rad(value: object) -> float:
    angle_rad = parse_angle_rad(value)
    if not 0 < angle_rad < math.pi:
        raise BadValueError(
            f"{format_angle(angle_rad)} makes no corner", "give an angle over 0 and under 180°"
        )
    return angle_rad


def _sweep_rad(value: object) -> float:
    angle_rad = parse_angle_rad(value)
    if not 0 < angle_rad <= math.pi:
        raise BadValueError(f"{format_angle(angle_rad)} is no sweep", "give an angle over 0, at most 180°")
    return angle_rad


def _pitch_rad(value: object) -> float:
    slope = parse_slope(value)
    angle_rad = math.atan(slope) if slope is not None else parse_angle_rad(value, signed=True)
    if abs(angle_rad) > math.pi / 2:
        raise BadValueError(f"{format_angle(angle_rad)} is past plumb", "give a pitch from −90 to 90°")
    return angle_rad


def _lean_rad(value: object) -> float:
    angle_rad = parse_angle_rad(value)
    if not 0 < angle_rad <= MOST_LEAN_RAD:
        most = format_angle(MOST_LEAN_RAD)
        what = f"a lean of {format_angle(angle_rad, 2)} off square is no end cut"
        raise BadValueError(what, f"give an angle over 0, at most {most}; 0 is square, so leave it out")
    return angle_rad


def _round_rad(value: object) -> float:
    return parse_angle_rad(value, signed=True)


def _kink_rad(value: object) -> float:
    angle_rad = parse_angle_rad(value)
    if angle_rad > MOST_KINK_RAD:
        what = f"a weld does not turn a pipe by {format_angle(angle_rad, 2)}"
        raise BadValueError(what, "give degrees as `wrapwright trial` prints them, such as 0.35")
    return angle_rad


def _share_kept(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 < value <= 1:
        shown = f"{value:g}" if isinstance(value, int | float) and not isinstance(value, bool) else "this"
        what = f"{shown} can't be the share of a preset that stays"
        remedy = "it lies between 0 and 1: leave it out until a second trial has given it"
        raise BadValueError(what, remedy)
    return float(value)


def _force_n(value: object, info: ValidationInfo) -> float:
    return parse_force_n(value, _unit(info))


def _stress_mpa(value: object, info: ValidationInfo) -> float:
    stress = parse_stress_mpa(value, _unit(info))
    if not LEAST_YIELD_MPA <= stress <= MOST_YIELD_MPA:
        what = f"no pipe yields at {format_stress(stress, _unit(info))}"
        raise BadValueError(what, 'give it with its unit: "240 MPa" or "35 ksi"')
    return stress


def _price_cents(value: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise BadValueError("the price is not a number", "give the number alone, in any one money: 4.25")
    if not 0 < value <= MOST_PRICE:
        what = f"a price of {value:g} can't be"
        raise BadValueError(what, "give the price of one, over 0; for what you have already give on_hand")
    return round(value * 100)


def _tilt_rad(value: object) -> float:
    slope = parse_slope(value)
    angle_rad = math.atan(slope) if slope is not None else parse_angle_rad(value, signed=True)
    if abs(angle_rad) > math.pi / 2 - LEAST_MEETING_RAD:
        what = f"{format_angle(angle_rad)} off square leaves a feather edge"
        raise BadValueError(what, "give the angle off square, from −75 to 75°; a square end has 0")
    return angle_rad


def _meeting_rad(value: object) -> float:
    angle_rad = parse_angle_rad(value)
    if not LEAST_MEETING_RAD <= angle_rad <= math.pi - LEAST_MEETING_RAD:
        what = f"{format_angle(angle_rad)} to the header is too flat to cut or weld"
        raise BadValueError(what, "give the angle between both axes, 15 to 165°; 90 where it stands square")
    return angle_rad


def _girth_rad(value: object) -> float:
    if isinstance(value, str) and value.strip().lower() in _GIRTH_WORDS:
        return _GIRTH_WORDS[value.strip().lower()]
    try:
        return parse_angle_rad(value, signed=True)
    except BadValueError as error:
        raise BadValueError(error.what, 'write "heel", "side", "throat", or degrees from the heel') from None


def _on_pipe(value: object, info: ValidationInfo) -> tuple[float, str]:
    """OD [mm] of the pipe that an end sits on, of a size or given, and what it is called."""
    if isinstance(value, str) and re.match(r"\s*(NPS|DN)", value, re.IGNORECASE):
        return size_od_mm(value), " ".join(value.split())
    od_mm = _positive_mm(value, info)
    return od_mm, f"{format_length(od_mm, _unit(info), fine=True)} OD"


def _measured(value: object) -> tuple[str, str]:
    words = " ".join(value.split()).lower().split(" to ") if isinstance(value, str) else []
    if len(words) != 2 or any(word not in list(Reach) for word in words):
        known = ", ".join(Reach)
        remedy = f'write "floor to centre", "centre to centre" or the like, start first; known: {known}'
        raise BadValueError("it doesn't say from where to where", remedy)
    return words[0], words[1]


def _bearing(value: object) -> BearsOn:
    if isinstance(value, str) and value in _BEARING:
        return _BEARING[value]
    raise BadValueError("no such edge of the wall", 'write "first", "outer" or "bore"')


_SLIPPED = re.compile(r"(slip|sleeve|socket|spigot|insert)", re.IGNORECASE)
"""Words for fittings that a pipe goes into or over."""


def _joint(value: object) -> object:
    if isinstance(value, str) and _SLIPPED.search(value):
        raise BadValueError(f"{value}: joints are butt joints here", 'write "elbow" or "mitre"')
    return value


def _end(value: object) -> object:
    if isinstance(value, str) and _SLIPPED.search(value) and value != EndKind.SLEEVE:
        what = f"{value}: a fitting that the pipe goes into is a sleeve of known depth"
        raise BadValueError(what, 'write { kind = "sleeve", length = 50, insertion = 30 }')
    return value


def _schedule(value: object) -> object:
    return str(value) if isinstance(value, int) and not isinstance(value, bool) else value


Length = Annotated[float, BeforeValidator(_mm)]
PositiveLength = Annotated[float, BeforeValidator(_positive_mm)]
SignedLength = Annotated[float, BeforeValidator(_signed_mm)]
Loss = Annotated[float, _up_to_mm(MOST_LOSS_MM)]
Thickness = Annotated[float, _up_to_mm(MOST_WRAP_MM)]
InsideAngle = Annotated[float, BeforeValidator(_inside_rad)]
TurnAngle = Annotated[float, BeforeValidator(_turn_rad)]
PitchAngle = Annotated[float, BeforeValidator(_pitch_rad)]
LeanAngle = Annotated[float, BeforeValidator(_lean_rad)]
RoundAngle = Annotated[float, BeforeValidator(_round_rad)]
SweepAngle = Annotated[float, BeforeValidator(_sweep_rad)]
KinkAngle = Annotated[float, BeforeValidator(_kink_rad)]
ShareKept = Annotated[float, BeforeValidator(_share_kept)]
Force = Annotated[float, BeforeValidator(_force_n)]
Stress = Annotated[float, BeforeValidator(_stress_mpa)]
TiltAngle = Annotated[float, BeforeValidator(_tilt_rad)]
MeetingAngle = Annotated[float, BeforeValidator(_meeting_rad)]
GirthPlace = Annotated[float, BeforeValidator(_girth_rad)]
OnPipe = Annotated[tuple[float, str], BeforeValidator(_on_pipe)]
Measured = Annotated[tuple[str, str], BeforeValidator(_measured)]
BearingEdge = Annotated[BearsOn, BeforeValidator(_bearing)]
PriceCents = Annotated[int, BeforeValidator(_price_cents)]
JointKind = Annotated[Joint, Field(strict=False), BeforeValidator(_joint)]
KindOfEnd = Annotated[EndKind, Field(strict=False), BeforeValidator(_end)]
Schedule = Annotated[str, BeforeValidator(_schedule), Field(min_length=1)]
Words = Annotated[str, Field(min_length=1)]
