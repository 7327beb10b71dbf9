"""What an end of a straight pipe is called on the sheets, and which way its datum faces."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from templates_core.geometry.pipe_ends import PipeAxis
from templates_core.paths import directions as d
from templates_core.paths.directions import Vector
from templates_core.units import degrees_text, format_length

SQUARE_RAD = math.radians(0.05)
"""An end this near to square has no acute side."""
_OFFSET_MM = 0.05
_STEEP = math.sin(math.radians(60))


def cope_words(marks: Sequence[str], angle_rad: float, right_mm: float, units: str) -> str:
    """``cope on A-P2, 57.3°, 4.0 mm to the right``; square and in the middle it is the mark alone.

    right_mm: how far it is off the middle of what it sits on, to the right looking forward along the rail.
    """
    words = [f"cope on {' and '.join(marks)}"]
    if abs(angle_rad - math.pi / 2) > SQUARE_RAD:
        words.append(degrees_text(angle_rad))
    if abs(right_mm) > _OFFSET_MM:
        side = "right" if right_mm > 0 else "left"
        words.append(f"{format_length(abs(right_mm), units, fine=True)} to the {side}")
    return ", ".join(words)


def foot_words(plate_mm: float, gap_mm: float, tilt_rad: float, units: str) -> str:
    """``square``, or ``cut to the floor, 4.8° off square``, with the plate and gap under it."""
    plate = f"base plate {format_length(plate_mm, units)}" if plate_mm else "floor"
    shape = "square" if tilt_rad <= SQUARE_RAD else f"{degrees_text(tilt_rad)} off square"
    gap = f", gap {format_length(gap_mm, units, fine=True)}" if gap_mm else ""
    return f"{shape} on {plate}{gap}"


def datum_of(axis: PipeAxis, header: Vector, away: Vector, forward: Vector) -> tuple[float, str]:
    """Girth angle of the datum of a cope [rad], and what it is.

    That is its crotch, the side of the acute angle between the pipe and its header; where it stands square,
    the side that the header's direction points to.  header: unit (3,) along it.  away: unit (3,) along the
    pipe, away from the header.  forward: of the rail, for the words.
    """
    lean = float(header @ away)
    if abs(lean) <= math.sin(SQUARE_RAD):
        return axis.girth_of(header), f"{side_words(header, forward)} side"
    acute = header if lean > 0 else -header
    return axis.girth_of(acute), f"crotch ({side_words(acute, forward)})"


def plate_datum(axis: PipeAxis, into: Vector, forward: Vector) -> tuple[float, str]:
    """The same of an end on a plate or a mitre: its short side, where the angle to the plate is acute.

    into: unit (3,) square to the plate, into it.
    """
    across = into - float(into @ axis.along) * axis.along
    if np.linalg.norm(across) <= math.sin(SQUARE_RAD):
        return 0.0, f"{side_words(axis.zero, forward)} side"
    return axis.girth_of(across), f"short side ({side_words(across, forward)})"


def offset_of(axis: PipeAxis, datum_rad: float, away: Vector, from_header: Vector) -> float:
    """Offset of a pipe's axis from its header's [mm].

    Positive towards 90° of girth from the datum, right-handed about `away`, unit (3,) along the pipe away
    from the header.  from_header: from any point of the header's axis to one of the pipe's (3,).
    """
    return float(from_header @ np.cross(away, axis.outward(datum_rad)))


def side_words(way: Vector, forward: Vector) -> str:
    """Where a direction goes: up or down, else forward or back along the rail, on a slope up or down it."""
    way = way / np.linalg.norm(way)
    rise, along = float(way @ d.UP), float(way @ forward)
    if abs(rise) >= _STEEP:
        return "upper" if rise > 0 else "lower"
    climb = float(forward @ d.UP)
    if abs(climb) <= math.sin(SQUARE_RAD):
        return "forward" if along > 0 else "back"
    return "uphill" if along * climb > 0 else "downhill"
