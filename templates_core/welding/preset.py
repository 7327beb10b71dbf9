"""What to set against the pull of welds: clamp places, real shims, what the pipe and the clamps bear.

A pipe bends towards its welds; so it is held bent the other way, with its welded side away from the table,
higher in the middle than at its ends.  What is left afterwards is kink_free − η·kink_preset.  Parts that
are free while they are welded, or bent for good before, have η = 1.  Of a preset that clamps hold, η lies
between 0 and 1: only a trial gives it, and until there is one nothing is said of what will be left.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from templates_core.errors import GeometryError
from templates_core.jobs.job import PresetKind, Welding
from templates_core.units import INCH, MM_PER_INCH
from templates_core.welding.free_shape import FreeShape
from templates_core.welding.shims import Stack, highest_mm, stack_for, stack_over
from templates_core.welding.support_beam import Beam, BentPipe, bend_over

LEAST_SUPPORTS = 3
"""Two supports bend nothing."""
MORE_SUPPORTS = 6
"""So many more than the job's own are tried where that one would not hold."""
BESIDE_WELD_MM = 25.0
"""Room for a clamp and a torch beside a weld."""
SLACK_N = 10.0
"""A support with less force than this only steadies the pipe."""
_STEP_DOWN = 0.98
_LEAST_SHARE = 0.05


@dataclass(frozen=True)
class Support:
    """One place where the pipe is held.  at_mm: from the start of the pipe.

    wanted_mm: height that the shape asks for.  stack: real shims.  force_n: positive where the shims push
    the pipe up, negative where a clamp has to pull it down.
    """

    at_mm: float
    wanted_mm: float
    stack: Stack
    force_n: float

    @property
    def is_slack(self) -> bool:
        """Whether it bears next to nothing."""
        return abs(self.force_n) < SLACK_N

    @property
    def error_mm(self) -> float:
        """How much too high the real shims are [mm]."""
        return self.stack.height_mm - self.wanted_mm


@dataclass(frozen=True)
class Trouble:
    """Why the whole preset can't be held, and what would do.

    short_mm: how much higher it would be than the highest stack of shims; 0 where they reach.
    largest_share: of it, that holds.  side_by_side: clamps at each place that would hold it, None where the
    pipe itself would not.  other_counts: numbers of places, evenly spaced, with which all of it holds.
    """

    stress_mpa: float
    stress_at_mm: float
    pull_n: float
    short_mm: float
    largest_share: float
    side_by_side: int | None
    other_counts: tuple[int, ...]


@dataclass(frozen=True)
class Preset:
    """What is set against the welds of one pipe.

    kept: η, None where it isn't known.  wanted_mm: bow of the whole preset; share of it that is set, less
    than 1 only where there is trouble.  supports: empty where nothing is clamped.  left_mm: bow left after
    release where that can be said, + still towards the welds.  bent: the pipe as it is held.
    """

    kind: PresetKind
    kept: float | None
    wanted_mm: float
    share: float = 1.0
    supports: tuple[Support, ...] = ()
    bent: BentPipe | None = None
    trouble: Trouble | None = None
    left_mm: float | None = None


@dataclass(frozen=True)
class Held:
    """A pipe to be held against the pull of its welds.

    shape: that it would come to if it were free.  blocked: stretches that the branches take, where no clamp
    can stand.  tape_zero_mm: where a tape hooked on the pipe reads 0, from the pipe's start.
    """

    shape: FreeShape
    beam: Beam
    welding: Welding
    units: str
    tape_zero_mm: float = 0.0
    blocked: tuple[tuple[float, float], ...] = ()

    @property
    def kept(self) -> float:
        """η, or 1 while it isn't known, for the mirrored shape as a first trial."""
        return self.welding.kept or 1.0


def plan_preset(held: Held, places_mm: Sequence[float] = ()) -> Preset:
    """The preset for a pipe.  places_mm: of its supports, where the job gives them.

    Nothing is clamped where the welds balance, the job gives no clamp, or the pipe is too short for three.
    """
    welding, bow = held.welding, held.shape.bow_mm
    if welding.preset is PresetKind.FREE:
        return Preset(PresetKind.FREE, 1.0, bow, left_mm=0.0)
    plain = Preset(PresetKind.CLAMPED, welding.kept, bow / held.kept)
    if held.shape.is_straight or welding.clamp_spacing_mm is None:
        return plain
    places = tuple(places_mm) or clamp_places_mm(held, welding.clamp_spacing_mm)
    if len(places) < LEAST_SUPPORTS:
        return plain
    supports, bent = _set(held, places, 1.0)
    share, trouble = 1.0, None
    if not _holds(held, supports, bent):
        share = _largest_share(held, places)
        trouble = _trouble(held, supports, bent, share)
        if share == 0.0:
            return replace(plain, share=0.0, trouble=trouble)
        supports, bent = _set(held, places, share)
    left = None if welding.kept is None else _left_mm(held, supports)
    return replace(plain, share=share, supports=supports, bent=bent, trouble=trouble, left_mm=left)


def clamp_places_mm(held: Held, spacing_mm: float, count: int | None = None) -> tuple[float, ...]:
    """Places evenly spaced, at most spacing_mm apart, one OD from the ends, moved clear of the branches.

    count: so many, whatever their spacing.  Round numbers on the tape, of 5 mm or a quarter inch.  None
    where fewer than three would stand three ODs apart.
    """
    beam, least = held.beam, 3 * held.beam.od_mm
    room = beam.length_mm - 2 * beam.od_mm
    bays = count - 1 if count else max(LEAST_SUPPORTS - 1, math.ceil(room / spacing_mm - 1e-9))
    if not count:
        bays = min(bays, math.floor(room / least))
    if bays < LEAST_SUPPORTS - 1 or room / bays < least:
        return ()
    even = [beam.od_mm + room * i / bays for i in range(bays + 1)]
    return tuple(_clear(held, place, room / bays) for place in even)


def _clear(held: Held, place: float, bay: float) -> float:
    """The nearest round place to one that no branch takes, within a third of a bay; else that place."""
    step = MM_PER_INCH / 4 if held.units == INCH else 5.0
    best, reach = round((place - held.tape_zero_mm) / step), math.ceil(bay / 3 / step)
    half_od = held.beam.od_mm / 2
    for off in sorted(range(-reach, reach + 1), key=abs):
        at = held.tape_zero_mm + (best + off) * step
        on_pipe = half_od <= at <= held.beam.length_mm - half_od
        if on_pipe and not any(start < at < end for start, end in held.blocked):
            return at
    return held.tape_zero_mm + best * step


def _set(held: Held, places: Sequence[float], share: float) -> tuple[tuple[Support, ...], BentPipe]:
    """Real shims for this share of the preset, and the pipe over them.

    The outer supports are level with each other, and so high that the pipe touches the table nowhere.
    """
    stock = held.welding.shims_mm
    wanted = [share * off / held.kept for off in _off_chord(held.shape, places)]
    exact = bend_over(held.beam, places, wanted)
    ends = (exact.height_mm(0.0), exact.height_mm(held.beam.length_mm))
    base = stack_over(-min(0.0, *wanted, *ends), stock).height_mm
    stacks = [stack_for(height + base, stock) for height in wanted]
    bent = bend_over(held.beam, places, [stack.height_mm for stack in stacks])
    supports = tuple(
        Support(at, height + base, stack, force)
        for at, height, stack, force in zip(places, wanted, stacks, bent.forces_n, strict=True)
    )
    return supports, bent


def _off_chord(shape: FreeShape, places: Sequence[float]) -> list[float]:
    """How far the free shape stands off the line through its outer places, away from its welds' side."""
    offs = [shape.off_mm(at) for at in places]
    slope = (offs[-1] - offs[0]) / (places[-1] - places[0])
    return [off - offs[0] - slope * (at - places[0]) for off, at in zip(offs, places, strict=True)]


def allowed_mpa(welding: Welding) -> float:
    """Bending stress that a pipe may be held at.  Raises GeometryError where the job gives no yield."""
    if welding.yield_mpa is None:
        raise GeometryError("there is no yield strength to hold the bending stress against")
    return welding.yield_mpa / welding.margin


def _holds(held: Held, supports: Sequence[Support], bent: BentPipe) -> bool:
    limit = held.welding.clamp_force_n
    within = limit is None or bent.pull_n <= limit
    return within and bent.stress_mpa <= allowed_mpa(held.welding) and _short_mm(held, supports) == 0


def _short_mm(held: Held, supports: Sequence[Support]) -> float:
    most = max(support.wanted_mm for support in supports)
    return max(0.0, most - highest_mm(held.welding.shims_mm))


def _largest_share(held: Held, places: Sequence[float]) -> float:
    """The largest share of the preset that holds on real shims; 0 where none over 5 % does.

    Stress and force grow with the heights, so exact heights give the share; rounding may take a little more.
    """
    welding = held.welding
    exact = bend_over(held.beam, places, [off / held.kept for off in _off_chord(held.shape, places)])
    share = min(1.0, allowed_mpa(welding) / exact.stress_mpa)
    if welding.clamp_force_n is not None:
        share = min(share, welding.clamp_force_n / exact.pull_n)
    while share >= _LEAST_SHARE:
        if _holds(held, *_set(held, places, share)):
            return share
        share *= _STEP_DOWN
    return 0.0


def _trouble(held: Held, supports: Sequence[Support], bent: BentPipe, share: float) -> Trouble:
    welding, beside = held.welding, None
    short = _short_mm(held, supports)
    if welding.clamp_force_n is not None and bent.stress_mpa <= allowed_mpa(welding) and not short:
        beside = math.ceil(bent.pull_n / welding.clamp_force_n)
    counts = tuple(_counts_that_hold(held, len(supports)))
    return Trouble(bent.stress_mpa, bent.stress_at_mm, bent.pull_n, short, share, beside, counts)


def _counts_that_hold(held: Held, count: int) -> Iterator[int]:
    for other in range(LEAST_SUPPORTS, count + MORE_SUPPORTS + 1):
        places = clamp_places_mm(held, held.beam.length_mm, other)
        if other != count and places and _holds(held, *_set(held, places, 1.0)):
            yield other


def _left_mm(held: Held, supports: Sequence[Support]) -> float:
    """The bow that is left at the support where most is, measured from the line through the outer ones."""
    places = [support.at_mm for support in supports]
    heights = [support.stack.height_mm for support in supports]
    left = [
        off - held.kept * (height - heights[0])
        for off, height in zip(_off_chord(held.shape, places), heights, strict=True)
    ]
    return max(left, key=abs)
