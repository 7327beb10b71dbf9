"""What the sheets of a cut pipe say of it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from render.figures.mark_ranges import mark_ranges
from render.figures.post_size_tables import line_words
from render.pages.tables import Column, Table
from templates_core.geometry.pipe_ends import BearsOn
from templates_core.pipes.cut_pipe import CutPipe, PipeEnd, PipeGroup
from templates_core.pipes.hole_places import HolePlace
from templates_core.units import INCH, MM_PER_INCH, format_angle, format_length
from templates_core.wraps.cope_holes import CopeHole
from templates_core.wraps.member_wraps import ORDINATE_TOLERANCE_MM, EndWrap, Ordinates, ordinates

_HARD_CROTCH_RAD = math.radians(45)
_NO_GAP_MM = 0.05
_NO_ROUND_MM = 0.05
_SQUARE_RAD = 1e-9


@dataclass(frozen=True)
class Setting:
    """Units of the job, the thickness of the paper, and the tolerance of ordinate tables [mm]."""

    units: str
    thickness_mm: float
    ordinate_tolerance_mm: float = ORDINATE_TOLERANCE_MM

    @property
    def seam_step_mm(self) -> float:
        """Between girths on the seam tab: a millimetre, or a sixteenth of an inch."""
        return MM_PER_INCH / 16 if self.units == INCH else 1.0

    @property
    def ring_step_mm(self) -> float:
        """Ring lines stand at whole multiples of this from the tip of their end."""
        return MM_PER_INCH / 4 if self.units == INCH else 5.0

    def fine(self, length_mm: float) -> str:
        """A length to scribe by, with its unit."""
        return format_length(length_mm, self.units, fine=True)

    def gap(self, length_mm: float) -> str:
        """A gap, with its unit: a tenth of a millimetre, or thousandths of an inch."""
        return format_length(length_mm, self.units, fine=self.units == INCH)

    def length(self, length_mm: float) -> str:
        """A length, with its unit."""
        return format_length(length_mm, self.units)


def end_name(end: PipeEnd) -> str:
    """Which end of its pipe it is."""
    return "first end" if end.cut.at_end == "start" else "second end"


def heading_of(group: PipeGroup, what: str) -> str:
    """Marks, what the wrap is for, hand, and how many to make."""
    hand = f", {group.first.hand} hand" if group.first.hand else ""
    return f"{mark_ranges(group.marks)}{hand}: {what} – make {group.quantity}"


def pipe_lines(made: CutPipe, setting: Setting) -> tuple[str, ...]:
    """Its size, and its lengths as drawn and as cut."""
    return (
        f"{made.kind.capitalize()}, {made.pipe.name}. Blank {setting.fine(made.overall_mm)}, sawn square, "
        f"tip to tip. On the drawing {setting.length(made.drawing_mm)}, {made.drawing_words}.",
    )


def end_lines(group: PipeGroup, at_end: str, setting: Setting) -> Iterator[str]:
    """What one end sits on, how it bears, what faces where, and what to beware of."""
    ends = [one.start if at_end == "start" else one.end for one in group.pipes]
    end = ends[0]
    sits = "; ".join(dict.fromkeys(one.words for one in ends))
    yield f"{end_name(end).capitalize()}: {sits}. {_bearing(end, setting)}"
    yield _facing(group.first, end, setting)
    if end.angle_rad < _HARD_CROTCH_RAD and end.sits_on:
        yield (
            f"CROTCH at {format_angle(end.angle_rad)}: under 45° it is hard to weld there. Agree how it is "
            "prepared and welded before cutting."
        )


def _bearing(end: PipeEnd, setting: Setting) -> str:
    outside, inside = float(end.cut.gap_outside_mm.max()), float(end.cut.gap_inside_mm.max())
    flat = end.kind in ("mitre", "plate") and max(outside, inside) < _NO_GAP_MM
    if flat:
        return "Cut it flat, all of the end in one plane: the wall then touches all over."
    left = " and ".join(
        f"up to {setting.gap(gap)} at the {where}"
        for gap, where in ((outside, "outside"), (inside, "bore"))
        if gap >= _NO_GAP_MM
    )
    leaves = f"; that leaves {left}, square to what it sits on" if left else ""
    proud = "" if end.bears_on is BearsOn.FIRST else " Grind back what touches before it."
    return f"The wall bears on {end.bears_on.value}{leaves}.{proud}"


def _facing(made: CutPipe, end: PipeEnd, setting: Setting) -> str:
    turned = math.degrees(end.datum_rad) % 360.0
    if min(turned, 360.0 - turned) < 0.005:
        return f"The {end.datum_words} is on the 0° line."
    arc = made.pipe.radius_mm * math.radians(turned)
    return (
        f"The {end.datum_words} is {format_angle(math.radians(turned), 2)} round from the 0° line, "
        f"{setting.fine(arc)} to the right with the first end down."
    )


def ring_line(one: EndWrap, setting: Setting) -> str:
    """Where the ring line of a located wrap is struck."""
    return (
        f"Ring line {setting.fine(one.ring_mm)} from the sawn first end, for the square edge; "
        f"{setting.fine(one.tip_mm)} from it to this end's tip. 0° line on the scribed 0° line."
    )


def ordinate_table(
    made: CutPipe, end: PipeEnd, ring_station_mm: float, from_what: str, setting: Setting
) -> Table:
    """The cut by numbers, so far round from the datum, so far along."""
    rows = ordinates(made, end.cut.at_end, ring_station_mm, setting.ordinate_tolerance_mm)
    wide = rows.off_mm > setting.ordinate_tolerance_mm
    within = f"; chords leave the cut by up to {setting.fine(rows.off_mm)}" if wide else ""
    columns = (Column("Line", right=True), Column("Round", right=True), Column("Along", right=True))
    return Table(
        f"{end_name(end).capitalize()}, arrow down: round to the right from the {end.datum_words}, "
        f"along from {from_what}; {setting.units}{within}",
        columns,
        tuple(_rows(rows, setting)),
    )


def _rows(rows: Ordinates, setting: Setting) -> Iterator[tuple[str, ...]]:
    for number, (arc, distance) in enumerate(zip(rows.arc_mm, rows.distance_mm, strict=True)):
        yield (
            str(number),
            *(format_length(float(x), setting.units, fine=True, with_unit=False) for x in (arc, distance)),
        )


def hole_lines(
    header: Sequence[str], end: PipeEnd, hole: CopeHole, places: Sequence[HolePlace], setting: Setting
) -> tuple[str, ...]:
    """What the template of a hole is laid to, and where; of a loose member the drawing has that."""
    far = "towards the header's far end"
    if not places and end.angle_rad < math.pi / 2 - _SQUARE_RAD:
        far = "to the side of the acute angle between both"
    elif not places:
        far = f"the way that the {end.datum_words} of that pipe faces"
    return (
        f"Hole in {', '.join(header)}: {setting.length(hole.along_mm)} along it, "
        f"{setting.length(hole.round_mm)} round it, for the bore of the pipe that sits on it.",
        "Scribe where that pipe's axis meets the header: a line along it and a ring. Lay the cross on them, "
        f"printed side out, the arrow {far}. Cut inside the wide line and dress to it.",
        *(_place_line(place, setting) for place in places),
    )


def _place_line(place: HolePlace, setting: Setting) -> str:
    along, away = setting.length(place.along_mm), abs(place.round_mm)
    if place.from_zero:
        line = "on its 0° line"
        if away >= _NO_ROUND_MM:
            side = "right" if place.round_mm > 0 else "left"
            line = f"on the line {setting.length(away)} round to the {side} of its 0° line, first end down"
        return f"{place.pipe}: {along} from the sawn first end of {place.header}, {line}."
    line = line_words(place.round_mm, setting.units)
    return f"{place.pipe}: {along} from the start of {place.header}, {line}."
