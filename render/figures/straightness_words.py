"""What the straightness sheet says of one run: which way it bends, what is set against it, what bears it."""

from __future__ import annotations

import math
from collections.abc import Iterator

from templates_core.jobs.job import PresetKind, Welding
from templates_core.jobs.load_units import format_force, format_stress
from templates_core.paths.directions import wrapped
from templates_core.units import INCH, format_length
from templates_core.welding.free_shape import SIDES
from templates_core.welding.preset import Preset, allowed_mpa
from templates_core.welding.shims import MOST_IN_STACK
from templates_core.welding.straightness import BentRun

ESTIMATE = "ESTIMATE"
_NEAR_RAD = math.radians(2)
SQUARE = 0.3
"""A weld whose side has less than this cosine to the plane of the figure is drawn square to it."""
_ALIKE = math.cos(math.radians(50))
_SMALL_BOW_MM = 12.7
_ACROSS_SHARE = 0.05
"""A bow square to the plane of the figure is told from this share of the greatest bow on."""


def bow_text(bow_mm: float, units: str, with_unit: bool = True) -> str:
    """A bow for a sheet; a small one in inches in decimals, as a sixteenth is too coarse for it."""
    fine = units == INCH and abs(bow_mm) < _SMALL_BOW_MM
    return format_length(bow_mm, units, fine, with_unit)


def side_words(girth_rad: float) -> str:
    """``below``, or ``30° clockwise from above``, looking forward along the rail."""
    for word, side_rad in SIDES.items():
        if abs(wrapped(girth_rad - side_rad)) < _NEAR_RAD:
            return word
    return f"{round(math.degrees(girth_rad)) % 360}° clockwise from above"


def bend_words(run: BentRun, units: str) -> str:
    """Which way a run bends when it is welded free, by how much and where."""
    shape = run.shape
    if shape.is_straight:
        return f"The welds of {run.pipe} balance: free or clamped, it should come out straight."
    near, far = side_words(shape.side_rad), side_words(shape.side_rad + math.pi)
    at = run.datum.reads_mm(shape.at_mm)
    return (
        f"Welded free, {run.pipe} bends towards its welds: both ends move {_towards(near)} (the arrows), "
        f"and the middle stands off {bow_text(shape.bow_mm, units)} {_towards(far)}, most at "
        f"{format_length(at, units)} from the hook. {trust_words(run, units)}"
    )


_WAYS = {"above": "UP", "below": "DOWN", "left": "to the LEFT", "right": "to the RIGHT"}


def _towards(side: str) -> str:
    """The side as a way to move."""
    return _WAYS.get(side, f"to the side {side}")


def pulled_side_words(run: BentRun) -> str:
    """The side that is up in the figures of a run, with its name."""
    side_rad = run.shape.side_rad
    alike = all(math.cos(one.weld.girth_rad - side_rad) > _ALIKE for one in run.welds)
    name = "the WELDED side" if alike else "the side that the welds pull the ends to"
    return f"{name} ({side_words(side_rad)})"


def at_table(run: BentRun) -> list[str]:
    """Marks of the welds whose branches point to the table that the run is clamped to."""
    side_rad = run.shape.side_rad
    return [one.weld.mark for one in run.welds if math.cos(one.weld.girth_rad - side_rad) < -SQUARE]


def trust_words(run: BentRun, units: str) -> str:
    """Where the bow comes from, and between what it may lie where it is an estimate."""
    if run.factor == 1.0:
        return "By trial of this shop's own weld."
    low, high = (bow_text(run.shape.bow_mm * f, units) for f in (1 / run.factor, run.factor))
    return f"{ESTIMATE}: it may come out anywhere from {low} to {high}. Make the first trial."


def across_words(run: BentRun, units: str) -> str | None:
    """What lies out of the plane of the figure; None where nothing to speak of does."""
    if run.shape.is_straight or run.shape.across_mm < _ACROSS_SHARE * run.shape.bow_mm:
        return None
    return (
        f"Its welds are on more than one side. The figure shows the plane of the greatest bow; square to it "
        f"the pipe stands off up to {bow_text(run.shape.across_mm, units)} more, which this preset does "
        "not touch."
    )


def preset_words(run: BentRun, welding: Welding, units: str) -> Iterator[str]:
    """What is set against the bow, and what will be left of it."""
    preset = run.preset
    if run.shape.is_straight:
        return
    if preset.kind is PresetKind.FREE:
        yield (
            "Bend the pipe for good to the mirrored shape before it is welded, or tack its parts free at "
            "that shape: all of such a preset is kept. Lay it off at each weld as below; measure after "
            "welding."
        )
        return
    if not preset.supports:
        yield from _no_clamps(run, welding, units)
        return
    yield (
        f"Lay it with {pulled_side_words(run)} AWAY from the table, or from a strongback. Set the shims, "
        f"pull it down by the clamps, and it stands {bow_text(_held_mm(preset), units)} higher between "
        "its ends than at them, bent the other way."
    )
    if at_table(run):
        yield (
            f"{', '.join(at_table(run))} point to the table: let them hang over its edge or a gap, or put "
            "everything on equal blocks."
        )
    yield left_words(run, units)
    yield _bears(preset, welding, units)
    if preset.trouble is not None:
        yield from trouble_words(preset, units)


def _held_mm(preset: Preset) -> float:
    heights = [support.stack.height_mm for support in preset.supports]
    return max(heights) - heights[0]


def _no_clamps(run: BentRun, welding: Welding, units: str) -> Iterator[str]:
    if run.preset.trouble is not None:
        yield "Set NO preset with these clamps:"
        yield from trouble_words(run.preset, units)
    elif welding.clamp_spacing_mm is None:
        yield "The job names no clamps, so none are placed: give clamp_spacing, shims and yield_strength."
    else:
        yield "It is too short to be held bent by three clamps: weld it free, and straighten it after."


def left_words(run: BentRun, units: str) -> str:
    """What will be left after release: figures where the share kept is known, else that it isn't."""
    preset = run.preset
    part = "" if preset.share == 1.0 else f" ({100 * preset.share:.0f} % of it, see below)"
    if preset.left_mm is None or preset.kept is None:
        return (
            f"First trial: the mirrored shape{part}. What is left after release: UNKNOWN. Nobody can compute "
            "how much of a clamped preset stays; measure it and make the second trial."
        )
    left = bow_text(abs(preset.left_mm), units)
    way = "still towards the welds" if preset.left_mm >= 0 else "away from the welds"
    if_right = (
        "if the pull is as in the trial" if run.factor == 1.0 else f"if the {ESTIMATE.lower()} is right"
    )
    return (
        f"By trial {preset.kept:.2f} of a clamped preset stays, so it is held {1 / preset.kept:.1f} times as "
        f"far as it would bow{part}. Left after release, {if_right}: {left} {way}."
    )


def _bears(preset: Preset, welding: Welding, units: str) -> str:
    assert preset.bent is not None and welding.yield_mpa is not None
    allowed = format_stress(allowed_mpa(welding), units)
    words = (
        f"Bending stress up to {format_stress(preset.bent.stress_mpa, units)}; allowed {allowed}, from yield "
        f"{format_stress(welding.yield_mpa, units)} ({welding.grade}) with a margin of {welding.margin:g}. "
        f"Greatest pull of a clamp {format_force(preset.bent.pull_n, units)}; "
    )
    if welding.clamp_force_n is None:
        return words + "the job says nothing of what a clamp holds, so check that."
    return words + f"one holds {format_force(welding.clamp_force_n, units)}."


def trouble_words(preset: Preset, units: str) -> Iterator[str]:
    """Why the whole preset can't be held, and everything that would do."""
    trouble = preset.trouble
    assert trouble is not None
    share = f"{100 * trouble.largest_share:.0f} %"
    pull = format_force(trouble.pull_n, units)
    takes = f"{format_stress(trouble.stress_mpa, units)} and a clamp pull of {pull}"
    if trouble.short_mm > 0:
        over = bow_text(trouble.short_mm, units)
        takes = f"stacks {over} higher than {MOST_IN_STACK} of the thickest shim"
    set_here = f" Shims and clamps here are for {share} of it, the largest that holds."
    set_here = set_here if preset.share else ""
    whole = bow_text(preset.wanted_mm, units)
    yield f"THE WHOLE PRESET ({whole}) DOES NOT HOLD: it would take {takes}.{set_here}"
    ways = []
    if trouble.side_by_side is not None:
        ways.append(f"with {trouble.side_by_side} clamps side by side at each place")
    if trouble.short_mm > 0:
        ways.append("with blocks listed among the shims, as far as the pipe bears it")
    if trouble.other_counts:
        counts = ", ".join(map(str, trouble.other_counts))
        ways.append(f"with this many places, evenly spaced: {counts}")
    ways.append("with the pipe bent for good beforehand")
    yield f"All of it would do {'; or '.join(ways)}."
