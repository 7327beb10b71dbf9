"""General tolerances of welded work: EN ISO 13920, classes A to D, as the table in ``data`` has them."""

from __future__ import annotations

import math

from templates_core.standards import data_table


def linear_mm(tolerance_class: str, length_mm: float) -> float:
    """How far a length may be off, either way [mm], by a class A to D."""
    return _of("linear", tolerance_class, length_mm)


def angular_rad(tolerance_class: str, shorter_leg_mm: float) -> float:
    """How far an angle may be off, either way [rad], by a class A to D and its shorter leg."""
    return math.radians(_of("angular", tolerance_class, shorter_leg_mm) / 60)


def _of(kind: str, tolerance_class: str, length_mm: float) -> float:
    """The row of the first range that the length is in."""
    rows = [
        row
        for row in data_table("en_iso_13920.csv")
        if (row["kind"], row["class"]) == (kind, tolerance_class)
    ]
    fits = (row for row in rows if length_mm <= float(row["up_to_mm"]))
    return float(next(fits)["plus_minus"])
