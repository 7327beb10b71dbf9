"""What a job file says of its welds: how they pull, what the pipe is clamped with, and where welds stand."""

from __future__ import annotations

import math
from collections.abc import Sequence

from templates_core.errors import BadValueError
from templates_core.jobs.job import ClampSpec, PresetKind, Welding, WeldSpec
from templates_core.jobs.job_notes import Loc, Notes
from templates_core.jobs.job_tables import ClampsTable, RailTable, SideWeldTable, WeldTable
from templates_core.units import format_length, parse_angle_rad
from templates_core.welding.free_shape import SIDES
from templates_core.welding.shims import MOST_IN_STACK
from templates_core.welding.weld_kinks import MOST_LEG_WALLS

CLAMPING = ("clamp_spacing", "shims", "yield_strength")
"""Keys of ``[weld]`` that only make sense together."""
THICKEST_SHIM_MM = 150.0
DOUBTFUL_LEG_WALLS = 2.0
"""A fillet with a leg of more walls than this is doubtful."""


def make_welding(raw: object, wall_mm: float | None, notes: Notes) -> Welding | None:
    """The ``[weld]`` table; None where there is none or it is at fault.  Faults and doubts go to the notes.

    wall_mm: of the job's pipe, None where that is at fault.
    """
    table = None if raw is None else notes.read(WeldTable, raw, ("weld",))
    if table is None:
        return None
    _check_clamping(table, notes)
    if table.leg is not None and wall_mm is not None:
        _check_leg(table.leg, wall_mm, ("weld", "leg"), notes)
    return Welding(
        leg_mm=table.leg,
        kink_rad=table.kink,
        kept=table.kept,
        preset=table.preset,
        butt_mm=table.butt_shrink,
        clamp_spacing_mm=table.clamp_spacing,
        shims_mm=tuple(sorted(set(table.shims or ()))),
        yield_mpa=table.yield_strength,
        grade=table.grade,
        margin=table.margin,
        clamp_force_n=table.clamp_force,
    )


def _check_leg(leg_mm: float, wall_mm: float, loc: Loc, notes: Notes) -> None:
    leg, wall = (format_length(mm, notes.units, fine=True) for mm in (leg_mm, wall_mm))
    if leg_mm > MOST_LEG_WALLS * wall_mm:
        what = f"a leg of {leg} on a wall of {wall} would burn through it"
        remedy = 'check the unit: in another than the job\'s it is text: "4 mm"'
        notes.add(loc, BadValueError(what, remedy))
    elif leg_mm > DOUBTFUL_LEG_WALLS * wall_mm:
        notes.warn(loc, f"a leg of {leg} is large for a wall of {wall}")


def _check_clamping(table: WeldTable, notes: Notes) -> None:
    given = [key for key in CLAMPING if getattr(table, key) is not None]
    if (given or table.clamp_force is not None) and len(given) < len(CLAMPING):
        missing = " and ".join(key for key in CLAMPING if key not in given)
        examples = [str((WeldTable.model_fields[key].examples or [""])[0]) for key in CLAMPING]
        what = f"clamps need {missing} as well"
        notes.add(("weld",), BadValueError(what, f"write {', '.join(examples)}, or none of them"))
    if table.kept is not None and table.preset is PresetKind.FREE:
        what = "of a free preset all is kept"
        notes.add(("weld", "kept"), BadValueError(what, 'leave it out, or write preset = "clamped"'))
    for at, shim in enumerate(table.shims or ()):
        if shim > THICKEST_SHIM_MM:
            what = f"{format_length(shim, notes.units)} is no shim"
            remedy = f"give the thickness of one; up to {MOST_IN_STACK} are stacked"
            notes.add(("weld", "shims", at), BadValueError(what, remedy))


def read_side_welds(
    table: RailTable, loc: Loc, notes: Notes
) -> tuple[tuple[WeldSpec, ...], tuple[ClampSpec, ...]]:
    """Side welds and clamps that a rail lists, as far as they are sound."""
    welds = [_weld(raw, table.mark, number, loc, notes) for number, raw in enumerate(table.weld)]
    clamps = [_clamps(raw, table.mark, number, loc, notes) for number, raw in enumerate(table.clamps)]
    _check_twice([None if one is None else one.run_number for one in clamps], loc, notes)
    listed = notes.raw.get("weld") is not None
    for key, found in (("weld", table.weld), ("clamps", table.clamps)):
        if found and not listed:
            what = "there is no [weld] table, so no straightness sheet is made of this"
            notes.warn((*loc, key), what)
    return (
        tuple(one for one in welds if one is not None),
        tuple(one for one in clamps if one is not None),
    )


def _weld(raw: object, rail: str, number: int, loc: Loc, notes: Notes) -> WeldSpec | None:
    at: Loc = (*loc, "weld", number)
    table = notes.read(SideWeldTable, raw, at)
    if table is None:
        return None
    try:
        girth_rad = _girth_rad(table.side)
    except BadValueError as error:
        notes.add((*at, "side"), error)
        return None
    word = table.side if isinstance(table.side, str) and table.side in SIDES else ""
    where = f"rail {rail}, weld {number + 1}"
    return WeldSpec(where, table.run, table.at, girth_rad, word, table.od, table.leg, table.kink)


def _girth_rad(side: object) -> float:
    if isinstance(side, str) and side in SIDES:
        return SIDES[side]
    try:
        return math.remainder(parse_angle_rad(side, signed=True), 2 * math.pi)
    except BadValueError:
        words = ", ".join(SIDES)
        what = "that is no side of a run"
        remedy = f"write {words}, or degrees clockwise from above looking forward"
        raise BadValueError(what, remedy) from None


def _clamps(raw: object, rail: str, number: int, loc: Loc, notes: Notes) -> ClampSpec | None:
    at: Loc = (*loc, "clamps", number)
    table = notes.read(ClampsTable, raw, at)
    if table is None:
        return None
    if any(two <= one for one, two in zip(table.at, table.at[1:], strict=False)):
        what = "the clamps don't stand in order along the run"
        notes.add((*at, "at"), BadValueError(what, "list them from the start of the run, each once"))
        return None
    return ClampSpec(f"rail {rail}, clamps of run {table.run}", table.run, tuple(table.at))


def _check_twice(runs: Sequence[int | None], loc: Loc, notes: Notes) -> None:
    for at, run in enumerate(runs):
        if run is not None and run in runs[:at]:
            what = f"the clamps of run {run} are listed already"
            notes.add((*loc, "clamps", at, "run"), BadValueError(what, "put them all in one list"))
