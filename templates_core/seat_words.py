"""What an end of a straight pipe is called on the sheets, and which way its datum faces."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from templates_core import directions as d
from templates_core.directions import Vector
from templates_core.pipe_ends import PipeAxis
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
        words.append(f"{format_length(abs(right_mm), units)} to the {side}")
    return ", ".join(words)


def foot_words(plate_mm: float, gap_mm: float, tilt_rad: float, units: str) -> str:
    """``square``, or ``cut to the floor, 4.8° off square``, with the plate and gap under it."""
    plate = f"base plate {format_length(plate_mm, units)}" if plate_mm else "floor"
    shape = "square" if tilt_rad <= SQUARE_RAD else f"{degrees_text(tilt_rad)} off square"
    gap = f", gap {format_length(gap_mm, units)}" if gap_mm else ""
    return f"{shape} on {plate}{gap}"


def datum_of(axis: PipeAxis, forward: Vector, stated: str, away: Vector | None = None) -> tuple[float, str]:
    """Girth angle of an end's datum [rad], and what it faces.

    That is the side of the acute angle between the pipe and what it sits on; where it stands square, the side
    that `forward` points to, called `stated`.  forward: along the header, or a plate's normal into it, unit
    (3,).  away: unit (3,) along the pipe away from the header; None for a plate.
    """
    if away is None:
        across = forward - float(forward @ axis.along) * axis.along
        if np.linalg.norm(across) <= math.sin(SQUARE_RAD):
            return 0.0, stated
        return axis.girth_of(across), f"acute side, {side_words(across)}"
    lean = float(forward @ away)
    acute = forward if lean >= -math.sin(SQUARE_RAD) else -forward
    words = stated if abs(lean) <= math.sin(SQUARE_RAD) else f"acute side, {side_words(acute)}"
    return axis.girth_of(acute), words


def offset_of(axis: PipeAxis, datum_rad: float, away: Vector, from_header: Vector) -> float:
    """Offset of a pipe's axis from its header's [mm].

    Positive towards 90° of girth from the datum, right-handed about `away`, unit (3,) along the pipe away
    from the header.  from_header: from any point of the header's axis to one of the pipe's (3,).
    """
    return float(from_header @ np.cross(away, axis.outward(datum_rad)))


def side_words(way: Vector) -> str:
    """Whether a direction goes up, down or level, in a word or two."""
    rise = float(way @ d.UP) / float(np.linalg.norm(way))
    if abs(rise) <= math.sin(SQUARE_RAD):
        return "level"
    if abs(rise) >= _STEEP:
        return "upper side" if rise > 0 else "lower side"
    return "uphill" if rise > 0 else "downhill"
