"""Tables of a job's figures, shared by the sheets and the terminal."""

from __future__ import annotations

import math

from render.pages.tables import Column, Table
from templates_core.elbows.corners import Corner, Piece
from templates_core.elbows.cuts import arc_to_cut
from templates_core.elbows.groups import CutGroup, MitreGroup
from templates_core.model import Model, Rail
from templates_core.paths.leans import Lean
from templates_core.pipes.cut_list import Member, end_corners
from templates_core.units import degrees_text, format_angle, format_length, units_word

ORDINATE_STEP_DEG = 30
"""Ordinates stand on the lines that divide a girth into twelve."""


def rail_title(rail: Rail) -> str:
    """``Rail A``, with its hand where it is made in both, and how many where that is more than one."""
    hand = f", the other hand of {rail.mirror_of}" if rail.mirror_of else ""
    make = f", make {rail.quantity}" if rail.quantity > 1 else ""
    over = " (both hands: half of them turned over)" if rail.turned_over else ""
    return f"Rail {rail.mark}{hand}{make}{over}"


def corners_table(rail: Rail, units: str) -> Table:
    """Each corner of a rail: angles, what makes it, and what it takes from the runs."""
    rolls = not rail.path.is_flat
    columns = [Column("Corner"), Column("Inside angle", right=True), Column("Turn", right=True)]
    columns += [Column("Roll", right=True)] if rolls else []
    columns += [Column("What to cut"), Column("Take-out before", right=True)]
    columns += [Column("Take-out after", right=True), Column("Gap off each pipe", right=True)]
    rows = []
    for corner in rail.corners:
        angles = [degrees_text(corner.inside_angle_rad), degrees_text(corner.turn_rad)]
        angles += [degrees_text(corner.roll_rad)] if rolls else []
        lengths = (corner.take_out_before_mm, corner.take_out_after_mm)
        taken = [format_length(length, units, with_unit=False) for length in lengths]
        gap = format_length(corner.gap_before_mm, units, fine=True, with_unit=False)
        rows.append((corner.mark, *angles, what_to_cut(corner), *taken, gap))
    return Table(f"{rail_title(rail)}: corners, lengths in {units_word(units)}", tuple(columns), tuple(rows))


def what_to_cut(corner: Corner) -> str:
    """``piece 32.7° of 90 long radius``, or ``mitre 2.38° on each pipe``; two pieces by their marks."""
    if corner.mitre is not None:
        return f"mitre {degrees_text(corner.mitre.tilt_rad)} on each pipe"
    if len(corner.pieces) == 1:
        return piece_words(corner.pieces[0])
    return " + ".join(f"{piece.mark} {piece_words(piece)}" for piece in corner.pieces)


def piece_words(piece: Piece) -> str:
    """What a piece is, and of which elbow."""
    if piece.cut is None:
        return f"whole {piece.elbow.name}"
    far = ", measured from the far face" if piece.cut.from_face == "far" else ""
    leans = "" if piece.lean is None else f", end cut {degrees_text(piece.lean.angle_rad)} off square"
    return f"piece {degrees_text(piece.angle_rad)} of {piece.elbow.name}{far}{leans}"


def pipes_table(rail: Rail, units: str) -> Table:
    """Each pipe of a rail: its run, its length, and what that comes to from tip to tip of slanting ends."""
    mitred = any(member.overall_mm > member.length_mm for member in rail.members)
    columns = [
        Column("Pipe"),
        Column("Run, work point to work point", right=True),
        Column("Pipe length on the centreline", right=True),
    ]
    columns += [Column("Overall, tip to tip", right=True)] if mitred else []
    loose = any(member.extra_mm > 0 for member in rail.members)
    columns += [Column("Cut longer, for the site", right=True)] if loose else []
    columns.append(Column("Ends"))
    rows = []
    for member in rail.members:
        lengths = [member.run_mm, member.length_mm]
        lengths += [member.overall_mm] if mitred else []
        lengths += [member.extra_mm] if loose else []
        shown = [format_length(length, units, with_unit=False) for length in lengths]
        rows.append((member.mark, *shown, pipe_end_words(rail, member)))
    return Table(
        f"{rail_title(rail)}: pipes, finished lengths in {units_word(units)}", tuple(columns), tuple(rows)
    )


def pipe_end_words(rail: Rail, member: Member) -> str:
    """``square / mitre 22.5°``: both ends of a pipe; ``12° off square`` for one cut to a plane."""
    corners = end_corners(rail.path, rail.corners, member.run_number)
    leans = (rail.path.start_lean, rail.path.end_lean)
    return " / ".join(_end_words(corner, lean) for corner, lean in zip(corners, leans, strict=True))


def _end_words(corner: Corner | None, lean: Lean | None) -> str:
    if corner is None:
        return "square" if lean is None else f"{degrees_text(lean.angle_rad)} off square"
    return "square" if corner.mitre is None else f"mitre {degrees_text(corner.mitre.tilt_rad)}"


def cuts_table(model: Model) -> Table:
    """Each distinct cut: what it is measured from, arcs, chords, and what an error costs."""
    units = model.job.units
    columns = (
        Column("Pieces"),
        Column("Make", right=True),
        Column("Elbow"),
        Column("Piece", right=True),
        Column("From face"),
        *(Column(f"{name} arc", right=True) for name in ("Heel", "Side", "Throat")),
        *(Column(f"{name} chord", right=True) for name in ("Heel", "Throat")),
        Column("1 mm heel against throat turns", right=True),
    )
    rows = tuple(_cut_row(group, units) for group in model.cut_groups)
    title = f"Cuts, {units} from the shoulder of the face along the metal (arc) and straight across (chord)"
    return Table(title, columns, rows)


def _cut_row(group: CutGroup, units: str) -> tuple[str, ...]:
    heel, side, throat = group.to_cut
    lengths = (heel.shoulder_mm, side.shoulder_mm, throat.shoulder_mm, heel.chord_mm, throat.chord_mm)
    return (
        ", ".join(group.marks),
        str(group.quantity),
        group.cut.elbow.name,
        degrees_text(group.cut.piece_angle_rad),
        group.cut.from_face,
        *(format_length(length, units, fine=True, with_unit=False) for length in lengths),
        format_angle(group.costs.turn_rad_per_mm, 2),
    )


def _girth_angles_deg() -> range:
    return range(0, 181, ORDINATE_STEP_DEG)


def ordinates_table(model: Model) -> Table:
    """Arc from the shoulder to each cut on the lines that divide the girth into twelve, heel to throat."""
    units = model.job.units
    named = {0: "Heel 0°", 90: "Side 90°", 180: "Throat 180°"}
    columns = [Column("Pieces")]
    columns += [Column(named.get(degrees, f"{degrees}°"), right=True) for degrees in _girth_angles_deg()]
    rows = []
    for group in model.cut_groups:
        arcs = [arc_to_cut(group.cut, math.radians(degrees)) for degrees in _girth_angles_deg()]
        shown = [format_length(arc, units, fine=True, with_unit=False) for arc in arcs]
        rows.append((", ".join(group.marks), *shown))
    title = f"Ordinates of the cuts, shoulder to cut along each girth line, {units}; both flanks alike"
    return Table(title, tuple(columns), tuple(rows))


def mitres_table(model: Model) -> Table:
    """Each distinct mitre: its tilt, and where its cut stands along the pipe round half of the girth."""
    units = model.job.units
    named = {0: "Long point 0°", 90: "Side 90°", 180: "Short point 180°"}
    columns = [Column("Joints or ends"), Column("Pipe ends", right=True), Column("Off square", right=True)]
    columns += [Column(named.get(degrees, f"{degrees}°"), right=True) for degrees in _girth_angles_deg()]
    rows = tuple(_mitre_row(group, units) for group in model.mitre_groups)
    title = (
        f"Mitres and ends on a plane: cut beyond the pipe's centreline length along each girth line, {units}"
    )
    return Table(title, tuple(columns), rows)


def _mitre_row(group: MitreGroup, units: str) -> tuple[str, ...]:
    beyond = [group.reach_mm * math.cos(math.radians(degrees)) for degrees in _girth_angles_deg()]
    shown = [format_length(length, units, fine=True, with_unit=False) for length in beyond]
    return (", ".join(group.marks), str(group.ends), degrees_text(group.tilt_rad), *shown)
