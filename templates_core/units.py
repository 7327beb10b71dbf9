"""Lengths and angles as people write them, and as the sheets print them; mm and radians inside.

Nothing else in the project parses or prints a unit.
"""

from __future__ import annotations

import math
import re
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from functools import lru_cache

from templates_core.errors import BadValueError

MM, INCH = "mm", "in"
UNITS = (MM, INCH)
"""The units that a job may be in."""

MM_PER_INCH = 25.4

LONGEST_MM = 1_000_000.0
"""Nothing in a shop is longer than a kilometre: past that, a unit or a point is wrong."""

_NOISE_PLACES = 9
"""Decimals of a millimetre or a degree past which a computed number is noise."""

_MM_PER = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": Fraction(str(MM_PER_INCH)),
    "ft": Fraction(str(MM_PER_INCH)) * 12,
}
_SPELLINGS = {"inch": "in", "inches": "in", '"': "in", "feet": "ft", "foot": "ft", "'": "ft"}
_LENGTH_FORMS = "57 mm, 5.7 cm, 0.9 m, 2-1/4 in or 3' 6-1/2\""
_ANGLE_FORMS = "32.5, 32°30' or 32°30'15\""

_VULGAR = {"¼": "1/4", "½": "1/2", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_MARKS = str.maketrans(
    {"′": "'", "’": "'", "‘": "'", "″": '"', "”": '"', "“": '"', "−": "-", "–": "-", "º": "°"}
)
_WHOLE = r"[0-9]{1,9}"
_NUMBER = rf"{_WHOLE}(?:\.[0-9]{{1,15}})?|\.[0-9]{{1,15}}"
_MIXED = (
    rf"(?:(?P<whole>{_WHOLE})(?:\s*-\s*|\s+))?(?P<top>{_WHOLE})\s*/\s*(?P<bottom>{_WHOLE})"
    rf"|(?P<number>{_NUMBER})"
)
_FEET = rf"(?P<feet>{_NUMBER})\s*(?:ft|feet|foot|')"
_ONE = re.compile(rf"(?:{_MIXED})\s*(?P<unit>mm|cm|m|inches|inch|in|\"|feet|foot|ft|')?")
_FEET_INCHES = re.compile(rf"{_FEET}\s*-?\s*(?:{_MIXED})\s*(?:inches|inch|in|\")")
_DEGREES = re.compile(
    rf"(?P<degrees>{_NUMBER})\s*(?:°|deg|degrees)?(?:(?<=[°sg])\s*(?P<minutes>{_NUMBER})\s*'"
    rf"(?:\s*(?P<seconds>{_NUMBER})\s*\")?)?"
)
_SLOPE = re.compile(rf"(?P<rise>{_NUMBER})\s*:\s*(?P<going>{_NUMBER})")


def parse_length_mm(value: object, default_unit: str, signed: bool = False) -> float:
    """A length [mm] from a number in the default unit (mm or in) or a string with its own.

    Strings: ``57 mm``, ``5.7 cm``, ``0.9 m``, ``2-1/4 in``, ``2 1/4"``, ``3' 6-1/2"``, ``3 ft 6 in``; one
    without a unit is in the default unit, but a fraction is never taken for millimetres.
    signed: whether it may be negative; 0 passes.  Raises BadValueError.
    """
    if isinstance(value, str):
        text, sign = _clean(value)
        return _checked_length_mm(sign * _length_of(text, value, default_unit), value, signed)
    number = _finite(value, f"a number of {default_unit} or text such as {_LENGTH_FORMS}")
    return _checked_length_mm(number * _MM_PER[default_unit], value, signed)


def parse_angle_rad(value: object, signed: bool = False) -> float:
    """An angle [rad] from a number of degrees or ``32.5°``, ``32°30'``, ``32°30'15"``.

    signed: whether it may be negative; 0 passes.  Raises BadValueError, also past 360°.
    """
    if isinstance(value, str):
        text, sign = _clean(value)
        degrees = sign * _degrees_of(text, value)
    else:
        degrees = _finite(value, f"degrees, such as {_ANGLE_FORMS}")
    if degrees < 0 and not signed:
        raise BadValueError(f"{_shown(value)} is negative", "give an angle of 0 or more")
    if abs(degrees) > 360:
        raise BadValueError(f"{_shown(value)} is more than a full turn", "give degrees up to 360")
    return math.radians(degrees)


def parse_slope(value: object) -> float | None:
    """Rise over going of a text such as ``1:12`` (negative with a minus before it); None if it isn't one."""
    if not isinstance(value, str):
        return None
    text, sign = _clean(value)
    found = _SLOPE.fullmatch(text)
    if not found or not float(found["going"]):
        return None
    return sign * float(found["rise"]) / float(found["going"])


def to_nearest_sixteenth(length_mm: float) -> Fraction:
    """Inches to the nearest sixteenth; a tie goes to the longer, which can still be trimmed."""
    sixteenths = abs(_settled(length_mm)) / _MM_PER["in"] * 16
    nearest = Fraction(math.floor(sixteenths + Fraction(1, 2)), 16)
    return -nearest if length_mm < 0 else nearest


def format_length(length_mm: float, units: str, fine: bool = False, with_unit: bool = True) -> str:
    """A length for a sheet: ``57.2 mm``, or in an inch job ``2-1/4 in``.

    fine: a decimal further, for what is set out with calipers: ``57.15 mm``, ``2.250 in``.
    """
    if units == INCH:
        inches = float(_settled(length_mm) / _MM_PER["in"])
        text = str(_rounded(inches, 3)) if fine else _mixed(to_nearest_sixteenth(length_mm))
    else:
        text = str(_rounded(length_mm, 2 if fine else 1))
    text = text.replace("-", "−", 1) if text.startswith("-") else text
    return f"{text} {units}" if with_unit else text


def units_word(units: str) -> str:
    """The unit of a job's lengths as a heading says it: ``mm`` or ``inches``."""
    return "inches" if units == INCH else MM


def format_stock_length(length_mm: float, units: str) -> str:
    """A length to order by, rounded up: metres to a hundredth, ``12.35 m``, or whole feet, ``41 ft``."""
    if units == INCH:
        return f"{math.ceil(_settled(length_mm) / _MM_PER['ft'])} ft"
    return f"{Decimal(math.ceil(_settled(length_mm) / 10)) / 100:.2f} m"


def format_angle(angle_rad: float, places: int = 1) -> str:
    """An angle for a sheet, in degrees with so many decimals: ``32.5°``; ties go away from zero."""
    text = str(_rounded(math.degrees(angle_rad), places))
    return text.replace("-", "−") + "°"


def degrees_text(angle_rad: float) -> str:
    """An angle for a message, in degrees to a hundredth, without idle zeros: ``147.3°``."""
    return format_angle(angle_rad, places=2).rstrip("°").rstrip("0").rstrip(".") + "°"


def _clean(value: str) -> tuple[str, int]:
    """The text with plain marks and fractions and no sign, and its sign."""
    text = value.strip()
    for glyph, plain in _VULGAR.items():
        text = text.replace(glyph, f" {plain}")
    text = text.strip().translate(_MARKS).lower()
    return (text[1:].lstrip(), -1) if text.startswith("-") else (text, 1)


def _shown(value: object) -> str:
    """The value as the message shows it, text in quotes, cut short."""
    text = str(value).lower() if isinstance(value, bool) else " ".join(str(value).split())
    text = text if len(text) <= 40 else text[:40] + "…"
    return f"'{text}'" if isinstance(value, str) else text


def _finite(value: object, wanted: str) -> Fraction:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise BadValueError(f"{_shown(value)} is not a number", f"give {wanted}")
    if isinstance(value, float) and not math.isfinite(value):
        raise BadValueError(f"{_shown(value)} is not a finite number", f"give {wanted}")
    return _exact(value)


def _exact(value: float) -> Fraction:
    """The decimal that is written for a number, exactly: 1.9 is 19/10, so 1.9 in is 48.26 mm."""
    return Fraction(str(value))


def _length_of(text: str, value: str, default_unit: str) -> Fraction:
    if both := _FEET_INCHES.fullmatch(text):
        inches = _mixed_value(both, value)
        if inches >= 12:
            raise BadValueError(
                f"{_shown(value)} has 12 inches or more beside its feet", "carry them into the feet"
            )
        return Fraction(both["feet"]) * _MM_PER["ft"] + inches * _MM_PER["in"]
    one = _ONE.fullmatch(text)
    if not one:
        raise _unreadable(value, "length", _LENGTH_FORMS)
    unit = _SPELLINGS.get(one["unit"] or default_unit, one["unit"] or default_unit)
    if one["top"] and unit in ("mm", "cm", "m"):
        raise BadValueError(
            f"{_shown(value)} is a fraction of a {unit}", "write inches as 2-1/4 in, millimetres with a point"
        )
    return _mixed_value(one, value) * _MM_PER[unit]


def _mixed_value(found: re.Match[str], value: str) -> Fraction:
    if found["number"]:
        return Fraction(found["number"])
    top, bottom = int(found["top"]), int(found["bottom"])
    if bottom == 0 or (found["whole"] and top >= bottom):
        raise BadValueError(f"{_shown(value)} has a fraction that makes no sense", "write it like 2-1/4 in")
    return int(found["whole"] or 0) + Fraction(top, bottom)


def _degrees_of(text: str, value: str) -> Fraction:
    if (slope := parse_slope(text)) is not None:
        degrees = format_angle(math.atan(slope), 2)
        raise BadValueError(
            f"{_shown(value)} is a slope, not an angle",
            f"a slope of {text} is {degrees} to level: give degrees",
        )
    found = _DEGREES.fullmatch(text)
    if not found:
        raise _unreadable(value, "angle", _ANGLE_FORMS)
    minutes, seconds = Fraction(found["minutes"] or 0), Fraction(found["seconds"] or 0)
    if minutes >= 60 or seconds >= 60:
        raise BadValueError(f"{_shown(value)} has 60 or more minutes or seconds", "carry them over")
    return Fraction(found["degrees"]) + minutes / 60 + seconds / 3600


def _unreadable(value: str, kind: str, forms: str) -> BadValueError:
    if re.search(r"\d,\d", value):
        return BadValueError(
            f"{_shown(value)} has a comma in it", "write a point for decimals and no thousands mark"
        )
    return BadValueError(
        f"{_shown(value)} can't be read as {'an' if kind == 'angle' else 'a'} {kind}", f"write {forms}"
    )


def _checked_length_mm(length: Fraction, value: object, signed: bool) -> float:
    if length < 0 and not signed:
        raise BadValueError(f"{_shown(value)} is negative", "give a length of 0 or more")
    if abs(length) > LONGEST_MM:
        raise BadValueError(f"{_shown(value)} is over a kilometre", "check the unit and the decimal point")
    return float(length)


def _settled(value: float) -> Fraction:
    """A computed number without its floating-point noise, so that what was meant as a tie is one."""
    if not math.isfinite(value):
        raise ValueError(f"{value} can't be printed")
    return _exact(round(value, _NOISE_PLACES))


@lru_cache(maxsize=20000)
def _rounded(value: float, places: int) -> Decimal:
    settled = _settled(value)
    exact = Decimal(settled.numerator) / settled.denominator
    rounded = exact.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)
    return rounded if rounded else abs(rounded)


def _mixed(inches: Fraction) -> str:
    """``2-1/4``, ``1/16``, ``3``, ``-2-1/4``."""
    sign = "-" if inches < 0 else ""
    whole, rest = divmod(abs(inches), 1)
    if not rest:
        return f"{sign}{whole}"
    return f"{sign}{whole}-{rest}" if whole else f"{sign}{rest}"
