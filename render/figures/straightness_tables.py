"""Tables of what welding does to a rail, shared by the straightness sheet and the terminal."""

from __future__ import annotations

import math
from collections.abc import Sequence

from render.figures.straightness_words import bow_text, side_words
from render.pages.tables import Column, Table
from templates_core.jobs.job import PresetKind
from templates_core.jobs.load_units import format_force
from templates_core.model import Model, Rail
from templates_core.units import format_angle, format_length, units_word
from templates_core.welding.preset import Support
from templates_core.welding.straightness import BentRun, Straightness, Trust
from templates_core.welding.weld_kinks import FACTOR

LEAST_RAD = math.radians(0.05)
"""An angle under this is not told."""
SMALL_MM = 0.05
"""A length under this is printed as nothing."""


def straightness_tables(model: Model) -> tuple[Table, ...]:
    """Every table of every rail, in the order of the sheet; empty ones are left out."""
    units = model.job.units
    tables: list[Table] = []
    for rail in model.rails:
        if rail.straightness is not None:
            tables.append(bows_table(rail, rail.straightness, units))
            for run in rail.straightness.runs:
                tables += [side_welds_table(run, units), supports_table(run, units)]
            tables += rail_tables(rail, rail.straightness, units)
    return tuple(table for table in tables if table.rows)


def rail_tables(rail: Rail, found: Straightness, units: str) -> list[Table]:
    """Lengths lost, angles to open, and the order of the joints of one rail."""
    return [losses_table(rail, found, units), openings_table(rail, found), butts_table(rail, found)]


def bows_table(rail: Rail, found: Straightness, units: str) -> Table:
    """How each run with side welds bends, and what its preset leaves."""
    columns = (
        Column("Pipe"),
        Column("Ends are pulled to"),
        Column("Bow, welded free", right=True),
        Column("Between", right=True),
        Column("From the hook", right=True),
        Column("Hook at"),
        Column("Preset"),
        Column("Bow left", right=True),
    )
    rows = []
    for run in found.runs:
        bow = run.shape.bow_mm
        at = run.datum.reads_mm(run.shape.at_mm)
        shown = bow_text(bow, units, with_unit=False), format_length(at, units, with_unit=False)
        between = "by trial"
        if run.factor > 1:
            ends = (bow_text(bow * f, units, with_unit=False) for f in (1 / run.factor, run.factor))
            between = f"{' to '.join(ends)}, ESTIMATE"
        rows.append(
            (
                run.pipe,
                "–" if run.shape.is_straight else side_words(run.shape.side_rad),
                shown[0],
                between,
                shown[1],
                run.datum.end,
                *_preset_cells(run, units),
            )
        )
    return Table(f"Rail {rail.mark}: bows, {units_word(units)}", columns, tuple(rows))


def _preset_cells(run: BentRun, units: str) -> tuple[str, str]:
    preset = run.preset
    if run.shape.is_straight:
        return "not needed", "–"
    if preset.kind is PresetKind.FREE:
        return "bent first", "none"
    if not preset.supports:
        return "none", "all"
    what = "clamped" if preset.share == 1 else f"clamped, {100 * preset.share:.0f} % of it"
    left = "UNKNOWN" if preset.left_mm is None else bow_text(preset.left_mm, units, with_unit=False)
    return what, left


def side_welds_table(run: BentRun, units: str) -> Table:
    """Welds of a run in the order in which they are made."""
    columns = (
        Column("Order", right=True),
        Column("Weld"),
        Column("From the hook", right=True),
        Column("Side"),
        Column("Leg", right=True),
        Column("Turns the pipe", right=True),
        Column("By"),
        Column("Before it"),
    )
    placed = {one.weld.mark: one for one in run.welds}
    rows = []
    for turn in run.order:
        one = placed[turn.mark]
        at = run.datum.reads_mm(one.weld.along_mm)
        by = "trial" if one.trust is Trust.TRIAL else f"ESTIMATE, × or ÷ {FACTOR:g}"
        lengths = (
            format_length(at, units, with_unit=False),
            format_length(one.leg_mm, units, with_unit=False),
        )
        rows.append(
            (
                str(turn.number),
                turn.mark,
                lengths[0],
                side_words(one.weld.girth_rad),
                lengths[1],
                format_angle(one.pull.kink_rad, 2),
                by,
                "let the last one cool" if turn.wait else "–",
            )
        )
    return Table(f"{run.pipe}: side welds in their order, {units_word(units)}", columns, tuple(rows))


def supports_table(run: BentRun, units: str) -> Table:
    """Clamp places with their shims; of a free preset, what to lay off at each weld."""
    if run.preset.kind is PresetKind.FREE and not run.shape.is_straight:
        return _laid_off(run, units)
    columns = (
        Column("Place"),
        Column("From the hook", right=True),
        Column("Shims, thickest first"),
        Column("Height", right=True),
        Column("Wanted", right=True),
        Column("Off by", right=True),
        Column("It bears", right=True),
        Column("Hold"),
    )
    rows = []
    for number, support in enumerate(in_tape_order(run), 1):
        at = run.datum.reads_mm(support.at_mm)
        hold = "CLAMP pulls down" if support.force_n < 0 else "shims push up"
        shims = " + ".join(
            format_length(shim, units, fine=True, with_unit=False) for shim in support.stack.shims_mm
        )
        fine = (support.stack.height_mm, support.wanted_mm, support.error_mm)
        rows.append(
            (
                place_mark(number),
                format_length(at, units, with_unit=False),
                shims or "none",
                *(_small(length, units) for length in fine),
                format_force(abs(support.force_n), units),
                "nothing: steady it" if support.is_slack else hold,
            )
        )
    return Table(f"{run.pipe}: clamps and shims, {units_word(units)}", columns, tuple(rows))


def in_tape_order(run: BentRun) -> Sequence[Support]:
    """The supports of a run as a tape comes to them."""
    return run.preset.supports if run.datum.at_start else run.preset.supports[::-1]


def place_mark(number: int) -> str:
    """Name of a clamp place, by its number from the hook on, from 1: ``C1``."""
    return f"C{number}"


def _laid_off(run: BentRun, units: str) -> Table:
    columns = (
        Column("Weld"),
        Column("From the hook", right=True),
        Column("Off the line through the ends, towards the welds", right=True),
    )
    rows = []
    for one in run.welds:
        at = run.datum.reads_mm(one.weld.along_mm)
        off = run.shape.off_mm(one.weld.along_mm)
        shown = format_length(at, units, with_unit=False), bow_text(off, units, with_unit=False)
        rows.append((one.weld.mark, *shown))
    return Table(f"{run.pipe}: shape to bend it to first, {units_word(units)}", columns, tuple(rows))


def losses_table(rail: Rail, found: Straightness, units: str) -> Table:
    """What each run comes out too short by."""
    columns = (
        Column("Run", right=True),
        Column("Pipe"),
        Column("Lost at butt joints", right=True),
        Column("Lost at side welds", right=True),
        Column("Length you may add", right=True),
    )
    rows = tuple(
        (
            str(loss.run_number),
            loss.pipe or "none",
            *(_small(mm, units) for mm in (loss.butt_mm, loss.side_mm, loss.total_mm)),
        )
        for loss in found.losses
        if loss.total_mm >= SMALL_MM
    )
    by = "measured" if found.butt_trust is Trust.TRIAL else f"ESTIMATE, × or ÷ {FACTOR:g}"
    each = format_length(found.butt_mm, units, fine=True)
    title = f"Rail {rail.mark}: lengths, {units_word(units)}; a butt joint shrinks {each} ({by})"
    return Table(title, columns, rows)


def _small(length_mm: float, units: str) -> str:
    """To a hundredth of a millimetre or a thousandth of an inch; a dash for next to nothing."""
    return "–" if abs(length_mm) < SMALL_MM else format_length(length_mm, units, fine=True, with_unit=False)


def openings_table(rail: Rail, found: Straightness) -> Table:
    """What bows left alone do to the corners beside them."""
    tips = any(abs(one.tip_rad) >= LEAST_RAD for one in found.openings)
    columns = [Column("Corner"), Column("Wanted inside angle", right=True)]
    columns += [Column("Comes out", right=True), Column("Fit it at", right=True)]
    columns += [Column("Leaves its plane by", right=True)] if tips else []
    by_mark = {corner.mark: corner for corner in rail.corners}
    rows = []
    for one in found.openings:
        if max(abs(one.more_turn_rad), abs(one.tip_rad)) < LEAST_RAD:
            continue
        inside = by_mark[one.corner].inside_angle_rad
        angles = [inside, inside - one.more_turn_rad, inside + one.more_turn_rad]
        shown = [format_angle(angle, 2) for angle in angles]
        rows.append((one.corner, *shown, *([_tip(one.tip_rad)] if tips else [])))
    title = f"Rail {rail.mark}: corners beside a run that bows, if nothing is set against the bow"
    return Table(title, tuple(columns), tuple(rows))


def _tip(tip_rad: float) -> str:
    return "–" if abs(tip_rad) < LEAST_RAD else format_angle(abs(tip_rad), 2)


def butts_table(rail: Rail, found: Straightness) -> Table:
    """The joints of a rail in the order in which they are welded."""
    columns = (Column("Order", right=True), Column("Joint"), Column("Joins"), Column("Before it"))
    parts = {", ".join(joint.marks): " to ".join(joint.parts) for joint in rail.fit_up.joints}
    rows = tuple(
        (str(turn.number), turn.mark, parts[turn.mark], "let the last one cool" if turn.wait else "–")
        for turn in found.butt_order
    )
    return Table(f"Rail {rail.mark}: joints in the order of welding", columns, rows)
