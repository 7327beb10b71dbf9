"""What the sheets say of cuts that lean: which way, and their lengths along the girth lines."""

from __future__ import annotations

import math
from collections.abc import Sequence

from render.figures.mark_ranges import mark_ranges
from render.figures.slip_words import slip_on
from render.pages.flow import Element, Heading, Paragraph
from render.pages.tables import Column, Table
from templates_core.elbows.error_costs import end_moves_mm
from templates_core.elbows.groups import LeaningGroup
from templates_core.elbows.leaning_cuts import LeaningCut, LeaningLine, leaning_lines
from templates_core.elbows.plate_ends import PlateEnd
from templates_core.jobs.job import Job, LeanSpec
from templates_core.paths.leans import ElbowLean
from templates_core.units import format_angle, format_length
from templates_core.wraps.cut_wraps import LeaningWrap

EIGHTHS_DEG = (0, 45, 90, 135, 180, -135, -90, -45)
"""Girth lines of the wrap's table, from the heel round by the left side."""
HELD = "Left and right: that face down, the heel towards you"
_LEAST_RAD = math.radians(0.005)


def left_sign(cut: LeaningCut) -> int:
    """+1 where girth angles grow to the left, with the face measured from down and the heel towards you."""
    return 1 if cut.from_face == "own" else -1


def line_name(degrees: int) -> str:
    """``heel``, ``45° left``, ``left side``, …, ``throat``; positive is to the left."""
    named = {0: "heel", 90: "left side", -90: "right side", 180: "throat"}
    return named.get(degrees, f"{abs(degrees)}° {'left' if degrees > 0 else 'right'}")


def lines_at(cut: LeaningCut, lefts_deg: Sequence[int], of_piece: bool = False) -> list[LeaningLine]:
    """Girth lines by degrees to the left of the heel, from the face measured from or of the piece itself.

    A piece is held with its own face down.
    """
    sign = 1 if of_piece else left_sign(cut)
    return leaning_lines(cut, [sign * math.radians(degrees) for degrees in lefts_deg], of_piece)


def lean_words(lean: ElbowLean, left: int) -> str:
    """``8.94° off square: longer at the heel by 4.00° and at the left side by 8.00°``.

    left: +1 where positive girth angles lie to the left.
    """
    yaw = left * lean.yaw_rad
    sides = [
        (lean.pitch_rad, "heel", "throat"),
        (yaw, "left side", "right side"),
    ]
    longer = [
        f"at the {one if angle > 0 else other} by {format_angle(abs(angle), 2)}"
        for angle, one, other in sides
        if abs(angle) > _LEAST_RAD
    ]
    return f"{format_angle(lean.angle_rad, 2)} off square: longer {' and '.join(longer)}"


def spec_words(lean: LeanSpec) -> str:
    """``up 8.00°, left 5.00°``: the sides of an end that come longer, as the job file names them."""
    sides = ((lean.up_rad, "up", "down"), (lean.left_rad, "left", "right"), (lean.heel_rad, "heel", "throat"))
    return ", ".join(
        f"{one if angle > 0 else other} {format_angle(abs(angle), 2)}" for angle, one, other in sides if angle
    )


def long_point_words(plate: PlateEnd, job: Job) -> str:
    """Where the long point of a pipe end lies round the girth."""
    head = f"{plate.mark}: longer {spec_words(plate.lean)}"
    if plate.long_rad is None:
        return f"{head}, as seen walking forward along the rail."
    girth = format_length(abs(plate.long_rad) * job.pipe.radius_mm, job.units)
    way = "clockwise" if plate.long_rad > 0 else "anticlockwise"
    if abs(plate.long_rad) < _LEAST_RAD:
        return f"{head}; long point on the heel line of {plate.corner}."
    return f"{head}; long point {girth} {way} round from the heel line of {plate.corner}, looking forward."


def leaning_heading(group: LeaningGroup) -> str:
    """``A1, B1 – make 3, end cut to lean``."""
    return f"{mark_ranges(group.marks)} – make {group.quantity}, end cut to lean"


def leaning_wrap_words(job: Job, group: LeaningGroup, made: LeaningWrap) -> tuple[Element, ...]:
    """The words and the table under a leaning wrap."""
    units, cut, slip = job.units, group.cut, slip_on(group, made, job.units)
    own = cut.from_face == "own"
    lies = (
        "Lies on the piece that is kept; tabs hook on its own face."
        if own
        else "Lies on the part that is SCRAP; tabs hook on the FAR face. Measure the elbow's sweep first."
    )
    out = format_length(end_moves_mm(cut.elbow.od_mm, slip.turn_rad), units, fine=True)
    lines = (
        f"Piece of {format_angle(cut.piece_angle_rad, 2)} on the centreline from {cut.elbow.name}. {lies}",
        f"The line leans {lean_words(cut.wrap_lean, left_sign(cut))}, from the face that the tabs hook on. "
        f"{HELD}. Never use it for the other hand. Blade clear of the line on the scrap side, "
        "all round; grind to it.",
        f"{slip.words} of heel against throat turns the end {slip.turn} off its plane, a gap of {out} across "
        f"it. {slip.words} round, off the heel line, tips it {slip.tip}. {slip.seam}",
    )
    return (
        Heading(leaning_heading(group)),
        *(Paragraph(line, 8.0) for line in lines),
        _eighths(cut, units),
    )


def _eighths(cut: LeaningCut, units: str) -> Table:
    columns = (
        Column(units),
        *(Column(line_name(degrees), right=True) for degrees in EIGHTHS_DEG),
    )
    lines = lines_at(cut, EIGHTHS_DEG)
    arcs, chords = (
        tuple(format_length(length, units, fine=True, with_unit=False) for length in lengths)
        for lengths in ([line.shoulder_mm for line in lines], [line.chord_mm for line in lines])
    )
    rows = (("fold to line", *arcs), ("straight", *chords))
    return Table("Fold to line along the metal, and straight across", columns, rows)
