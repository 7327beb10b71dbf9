"""The real elbow: sizes worked out from what was taped, each with its uncertainty."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

from templates_core.elbows.corner_pieces import shoulder_sweep
from templates_core.errors import GeometryError
from templates_core.fittings import StockElbow, centre_to_end_mm
from templates_core.jobs.job import Taped
from templates_core.units import degrees_text, format_length

TAPE_MM = 0.5
"""Uncertainty of a length read off a tape or a rule, either way [mm]."""

ANGLE_FINDER_RAD = math.radians(0.2)
"""Uncertainty of an angle finder, either way [rad]."""

CENTRE_TO_END_MM = 2.0
"""Tolerance of centre-to-end, either way, to NPS 12: ASME B16.9, from makers' tables that agree."""

RADIUS_STEPS = 20
RADIUS_SETTLED_MM = 1e-9


@dataclass(frozen=True)
class Reading:
    """One size of the real elbow.

    value, nominal, uncertainty: [mm] or [rad] as `unit` says; uncertainty is either way.
    nominal: what the standard gives, None where it gives nothing.
    """

    name: str
    value: float
    uncertainty: float
    nominal: float | None
    unit: Literal["mm", "rad"]


@dataclass(frozen=True)
class MeasuredElbow:
    """A real elbow: the elbow to compute with, what was worked out of the tape, and what is doubtful."""

    elbow: StockElbow
    readings: tuple[Reading, ...]
    warnings: tuple[str, ...]


def real_elbow(nominal: StockElbow, taped: Taped, units: str = "mm") -> MeasuredElbow:
    """The real elbow from what was taped on it; what was not taped stays nominal.

    OD = girth/π.  Bend radius R = (heel + throat)/(2·sweep), after adding ρ·asin(b/ρ) for each end taped
    from a bevel's shoulder b, and taking tangents off.  Arcs are taken as taped between shoulders.
    units: ``mm`` or ``in``, for the lengths in warnings.
    Raises GeometryError where only one arc is given, a reading is not over 0, or the arcs make no elbow.
    """
    _check_readings(nominal.name, taped)
    od = _od(nominal, taped)
    sweep = _sweep(nominal, taped)
    shoulder = _shoulder(nominal, taped)
    elbow = replace(
        nominal,
        od_mm=od.value,
        sweep_rad=sweep.value,
        shoulder_mm=shoulder.value,
        sweep_tolerance_rad=sweep.uncertainty,
        od_plus_mm=nominal.od_plus_mm if taped.girth_mm is None else od.uncertainty,
        od_minus_mm=nominal.od_minus_mm if taped.girth_mm is None else od.uncertainty,
    )
    readings = [od, sweep, shoulder]
    if taped.heel_arc_mm is not None and taped.throat_arc_mm is not None:
        radius, by_arcs = _bend_radius(nominal, elbow, shoulder, taped.heel_arc_mm, taped.throat_arc_mm)
        readings += [radius, by_arcs]
        elbow = replace(elbow, bend_radius_mm=radius.value)
    if elbow.bend_radius_mm is not None:
        reach = centre_to_end_mm(elbow.bend_radius_mm, elbow.sweep_rad, elbow.tangent_a_mm)
        elbow = replace(elbow, centre_to_end_mm=reach)
    if taped != Taped():
        elbow = replace(elbow, source="measured")
    return MeasuredElbow(elbow, tuple(readings), _warnings(nominal, elbow, taped, readings, units))


def _check_readings(name: str, taped: Taped) -> None:
    arcs = (taped.heel_arc_mm, taped.throat_arc_mm)
    if (arcs[0] is None) != (arcs[1] is None):
        raise GeometryError(f"{name}: heel and throat arcs go together; tape both, or give neither")
    for label, value in (
        ("girth", taped.girth_mm),
        ("sweep", taped.sweep_rad),
        ("heel", arcs[0]),
        ("throat", arcs[1]),
    ):
        if value is not None and not 0 < value < math.inf:
            raise GeometryError(f"{name}: the {label} taped must be over 0")
    if taped.shoulder_mm is not None and not 0 <= taped.shoulder_mm < math.inf:
        raise GeometryError(f"{name}: the face to shoulder taped must be 0 or more")
    if arcs[0] is not None and arcs[1] is not None and arcs[0] <= arcs[1]:
        raise GeometryError(f"{name}: the heel arc must be longer than the throat arc; were they swapped?")


def _od(nominal: StockElbow, taped: Taped) -> Reading:
    if taped.girth_mm is None:
        spread = max(nominal.od_plus_mm, nominal.od_minus_mm)
        return Reading("OD", nominal.od_mm, spread, nominal.od_mm, "mm")
    return Reading("OD", taped.girth_mm / math.pi, TAPE_MM / math.pi, nominal.od_mm, "mm")


def _sweep(nominal: StockElbow, taped: Taped) -> Reading:
    if taped.sweep_rad is None:
        return Reading("sweep", nominal.sweep_rad, nominal.sweep_tolerance_rad, nominal.sweep_rad, "rad")
    return Reading("sweep", taped.sweep_rad, ANGLE_FINDER_RAD, nominal.sweep_rad, "rad")


def _shoulder(nominal: StockElbow, taped: Taped) -> Reading:
    value = nominal.shoulder_mm if taped.shoulder_mm is None else taped.shoulder_mm
    return Reading("face to shoulder", value, TAPE_MM if value > 0 else 0.0, nominal.shoulder_mm, "mm")


def _full_arc(elbow: StockElbow, line_radius_mm: float, taped_mm: float) -> float:
    """Arc between the two tangents [mm], from one taped between the bevels' shoulders."""
    full = taped_mm
    for tangent in (elbow.tangent_a_mm, elbow.tangent_b_mm):
        full -= max(0.0, tangent - elbow.shoulder_mm)
        full += line_radius_mm * shoulder_sweep(elbow.shoulder_mm, tangent, line_radius_mm)
    return full


def _bend_radius(
    nominal: StockElbow, elbow: StockElbow, shoulder: Reading, heel_mm: float, throat_mm: float
) -> tuple[Reading, Reading]:
    """Bend radius, and the sweep that the two arcs alone give: a coarse check, as 1 mm is over a degree."""
    r, sweep = elbow.radius_mm, elbow.sweep_rad
    R = (heel_mm + throat_mm) / (2 * sweep)
    for _ in range(RADIUS_STEPS):
        if R - r <= elbow.shoulder_mm:
            raise GeometryError(
                f"{elbow.name}: the arcs taped make a bend radius of {R:.1f} mm, too tight for its OD"
            )
        heel, throat = _full_arc(elbow, R + r, heel_mm), _full_arc(elbow, R - r, throat_mm)
        before, R = R, (heel + throat) / (2 * sweep)
        if abs(R - before) < RADIUS_SETTLED_MM:
            break
    else:
        raise GeometryError(f"{elbow.name}: no bend radius fits the arcs taped; check the face to shoulder")
    by_tape = math.sqrt(2) * TAPE_MM / (2 * sweep)
    by_shoulder = 2 * shoulder.uncertainty / sweep
    by_sweep = R * elbow.sweep_tolerance_rad / sweep
    radius = Reading(
        "bend radius", R, math.hypot(by_tape, by_shoulder, by_sweep), nominal.bend_radius_mm, "mm"
    )
    by_arcs = (heel - throat) / elbow.od_mm
    spread = math.hypot(math.sqrt(2) * TAPE_MM / elbow.od_mm, by_arcs * elbow.od_plus_mm / elbow.od_mm)
    return radius, Reading("sweep by heel less throat", by_arcs, spread, nominal.sweep_rad, "rad")


def _warnings(
    nominal: StockElbow, elbow: StockElbow, taped: Taped, readings: list[Reading], units: str
) -> tuple[str, ...]:
    def shown(length_mm: float) -> str:
        return format_length(length_mm, units, fine=True)

    found = []
    off = elbow.od_mm - nominal.od_mm
    if taped.girth_mm is not None and not -nominal.od_minus_mm <= off <= nominal.od_plus_mm:
        allowed = f"+{shown(nominal.od_plus_mm)}, −{shown(nominal.od_minus_mm)}"
        found.append(f"its OD is {shown(elbow.od_mm)}, not {shown(nominal.od_mm)} (allowed {allowed})")
    bent = elbow.sweep_rad - nominal.sweep_rad
    if taped.sweep_rad is not None and abs(bent) > nominal.sweep_tolerance_rad:
        allowed = degrees_text(nominal.sweep_tolerance_rad)
        sweeps = f"{degrees_text(elbow.sweep_rad)}, not {degrees_text(nominal.sweep_rad)}"
        found.append(f"its sweep is {sweeps} (allowed ±{allowed})")
    if abs(elbow.centre_to_end_mm - nominal.centre_to_end_mm) > CENTRE_TO_END_MM:
        ends = f"{shown(elbow.centre_to_end_mm)}, not {shown(nominal.centre_to_end_mm)}"
        found.append(f"its centre-to-end works out at {ends} (allowed ±{shown(CENTRE_TO_END_MM)})")
    for check in readings:
        if check.name == "sweep by heel less throat":
            doubt = 2 * math.hypot(check.uncertainty, elbow.sweep_tolerance_rad)
            if abs(check.value - elbow.sweep_rad) > doubt:
                found.append(
                    f"heel less throat makes its sweep {degrees_text(check.value)}, not "
                    f"{degrees_text(elbow.sweep_rad)}: tape the arcs and the girth again"
                )
    return tuple(f"{nominal.name}: {text}" for text in found)
