"""Lengths and angles as people write them."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from templates_core.errors import BadValueError
from templates_core.units import (
    format_angle,
    format_length,
    parse_angle_rad,
    parse_length_mm,
    parse_slope,
    to_nearest_sixteenth,
)


@pytest.mark.parametrize(
    ("text", "length_mm"),
    [
        ("57 mm", 57.0),
        ("57mm", 57.0),
        ("57 MM", 57.0),
        ("5.7 cm", 57.0),
        ("0.9 m", 900.0),
        (".5 m", 500.0),
        ("2-1/4 in", 57.15),
        ('2 1/4"', 57.15),
        ("2¼ in", 57.15),
        ("½ in", 12.7),
        ("15/16 inch", 23.8125),
        ("1.900 in", 48.26),
        ("3' 6-1/2\"", 1079.5),
        ("3′ 6½″", 1079.5),
        ("3'-6 1/2\"", 1079.5),
        ("3 ft 6 in", 1066.8),
        ("3ft6in", 1066.8),
        ("3'", 914.4),
        ("4 feet", 1219.2),
        ("10' 0\"", 3048.0),
        ("2 - 1/4 inches", 57.15),
    ],
)
def test_a_length_with_its_own_unit_is_the_same_in_any_job(text: str, length_mm: float) -> None:
    assert parse_length_mm(text, "mm") == length_mm
    assert parse_length_mm(text, "in") == length_mm


def test_a_bare_number_is_in_the_units_of_the_job() -> None:
    assert parse_length_mm(900, "mm") == 900
    assert parse_length_mm("900", "mm") == 900
    assert parse_length_mm(1.9, "in") == 48.26
    assert parse_length_mm("2-1/4", "in") == 57.15


@pytest.mark.parametrize(
    "value",
    [
        *(
            "",
            " ",
            "mm",
            "abc",
            "57 mmm",
            "5 5 mm",
            "1e3 mm",
            "2-9/4 in",
            "1/0 in",
            "nan",
            "inf mm",
            "--5 mm",
        ),
        *(
            "3' 12\"",
            "3' 6",
            "1,5 mm",
            "1,500",
            "2-1/4 mm",
            "٣ mm",
            "9" * 5000,
            "1000001 mm",
            "2//4 in",
            "5 in mm",
        ),
        *("3' 6 mm", "-5 mm", -5, math.nan, math.inf, -math.inf, True, None, [57], 10**400, 1e9),
    ],
)
def test_what_is_no_length_is_refused(value: object) -> None:
    with pytest.raises(BadValueError):
        parse_length_mm(value, "mm")


def test_a_fraction_is_never_taken_for_millimetres() -> None:
    with pytest.raises(BadValueError, match=r"fraction of a mm; write inches as 2-1/4 in"):
        parse_length_mm("2-1/4", "mm")


def test_a_decimal_comma_is_refused_by_name() -> None:
    with pytest.raises(BadValueError, match="comma"):
        parse_length_mm("48,3 mm", "mm")


def test_a_sign_is_read_only_where_one_makes_sense() -> None:
    assert parse_length_mm("-3' 6\"", "mm", signed=True) == -1066.8
    assert parse_length_mm("−175 mm", "mm", signed=True) == -175
    assert parse_length_mm(0, "mm") == 0
    with pytest.raises(BadValueError, match="negative"):
        parse_length_mm("-175 mm", "mm")


@pytest.mark.parametrize(
    ("value", "degrees"),
    [
        (32.5, 32.5),
        (90, 90),
        ("32.5", 32.5),
        ("32.5°", 32.5),
        ("32.5 deg", 32.5),
        ("32°30'", 32.5),
        ("32° 30′ 15″", 32 + 30 / 60 + 15 / 3600),
        ("0°45'", 0.75),
        ("11°15'", 11.25),
    ],
)
def test_angles(value: object, degrees: float) -> None:
    assert parse_angle_rad(value) == pytest.approx(math.radians(degrees), rel=1e-15)


@pytest.mark.parametrize(
    "value",
    ["", "x", "32 30'", "32°75'", "32°30'60\"", "1:12", "-5", -5, 361, "400", math.nan, True, None, "32°'"],
)
def test_what_is_no_angle_is_refused(value: object) -> None:
    with pytest.raises(BadValueError):
        parse_angle_rad(value)


def test_a_slope_is_no_angle_and_the_message_says_which_it_would_be() -> None:
    # 1:12 turns 4.76 degrees: the pitch that ramp tables give it.
    with pytest.raises(BadValueError, match=r"is a slope, not an angle; a slope of 1:12 is 4\.76°"):
        parse_angle_rad("1:12")
    assert parse_slope("1:12") == pytest.approx(1 / 12)
    assert parse_slope("-1 : 12") == pytest.approx(-1 / 12)
    assert parse_slope("1:0") is None
    assert parse_slope(12) is None


@pytest.mark.parametrize(
    ("length_mm", "sixteenths"),
    [
        (57.15, 36),
        (25.4 * 3 / 32, 2),  # half-way between 1/16 and 1/8: to the longer
        (25.4 * 5 / 32, 3),
        (25.4 * 0.0937, 1),
        (-25.4 * 3 / 32, -2),
        (0.79, 0),
        (0.80, 1),
    ],
)
def test_to_nearest_sixteenth_gives_ties_to_the_longer(length_mm: float, sixteenths: int) -> None:
    assert to_nearest_sixteenth(length_mm) == Fraction(sixteenths, 16)


def test_tenths_take_ties_away_from_zero() -> None:
    # 57.15 is below the tie in binary; it is written as a tie, and goes up.
    assert format_length(57.15, "mm", with_unit=False) == "57.2"
    assert format_length(-57.15, "mm", with_unit=False) == "−57.2"
    assert format_length(57.149, "mm", with_unit=False) == "57.1"


def test_lengths_as_printed() -> None:
    assert format_length(57.15, "mm") == "57.2 mm"
    assert format_length(57.15, "mm", fine=True) == "57.15 mm"
    assert format_length(57.15, "in") == "2-1/4 in"
    assert format_length(46.81, "in", fine=True) == "1.843 in"
    assert format_length(25.4, "in") == "1 in"
    assert format_length(25.4 / 16, "in", with_unit=False) == "1/16"
    assert format_length(-25.4 * 1.5, "in") == "−1-1/2 in"
    assert format_length(-0.01, "mm") == "0.0 mm"
    assert format_length(0.0, "in") == "0 in"


def test_angles_as_printed() -> None:
    assert format_angle(math.radians(32.25)) == "32.3°"
    assert format_angle(math.radians(4.7636), places=2) == "4.76°"
    assert format_angle(math.radians(-90)) == "−90.0°"
    assert format_angle(-1e-9) == "0.0°"


@pytest.mark.parametrize("value", [math.nan, math.inf])
def test_what_is_no_number_is_never_printed(value: float) -> None:
    with pytest.raises(ValueError, match="can't be printed"):
        format_length(value, "mm")
    with pytest.raises(ValueError, match="can't be printed"):
        format_length(value, "in")
    with pytest.raises(ValueError, match="can't be printed"):
        format_angle(value)


lengths_mm = st.floats(min_value=-9e5, max_value=9e5, allow_nan=False)


@given(lengths_mm)
def test_a_printed_length_reads_back_to_what_was_printed(length_mm: float) -> None:
    within = {("mm", False): 0.05, ("mm", True): 0.005, ("in", False): 25.4 / 32, ("in", True): 0.0127}
    for (units, fine), tolerance_mm in within.items():
        text = format_length(length_mm, units, fine)
        assert abs(parse_length_mm(text, "mm", signed=True) - length_mm) <= tolerance_mm * (1 + 1e-9)


@given(st.fractions(min_value=0, max_value=1000, max_denominator=64))
def test_inches_in_any_of_their_forms_are_one_length(inches: Fraction) -> None:
    whole, rest = divmod(inches, 1)
    feet, over = divmod(inches, 12)
    forms = [f"{inches} in", f"{whole}-{rest} in" if rest else f"{whole} in"]
    over_text = f"{over // 1}-{over % 1}" if over % 1 else f"{over}"
    forms.append(f"{feet}' {over_text}\"")
    assert {parse_length_mm(form, "mm") for form in forms} == {float(inches * Fraction(254, 10))}


@given(st.floats(min_value=0, max_value=360, allow_nan=False))
def test_degrees_minutes_and_seconds_are_the_decimal_angle(degrees: float) -> None:
    total = round(degrees * 3600)
    text = f"{total // 3600}°{total // 60 % 60}'{total % 60}\""
    assert parse_angle_rad(text) == pytest.approx(math.radians(total / 3600), abs=1e-12)
