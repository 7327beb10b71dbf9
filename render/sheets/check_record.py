"""The check record: blanks for what was measured on print, elbows, pieces, pipes and corners."""

from __future__ import annotations

from render.figures.cut_tables import offcuts_table
from render.figures.figure_tables import rail_title
from render.figures.leaning_words import lines_at
from render.pages.flow import Element, Heading, Paragraph, columns_of, flow_pages
from render.pages.flow_tables import side_by_side
from render.pages.paper import Layout, Page
from render.pages.tables import Column, Table
from render.sheets.cut_pipe_record import cut_pipes_record, post_sizes_record, standing_record
from render.sheets.fit_up_lists import record_tables
from render.sheets.straightness_record import straightness_record, trials_record
from templates_core.elbows.corners import Corner, Piece
from templates_core.elbows.cuts import lines_of_piece
from templates_core.elbows.leaning_layout import face_to_cut_rad
from templates_core.model import Model, Rail
from templates_core.units import degrees_text, format_angle, format_length, units_word

SECTION = "Check record"
_TEXT_PT = 9.0
_ROW_MM = 8.0
_READ_MM = 10.5
_COPY_MEMBERS = "Where more than one is made, copy the row for each of them."
_PRINTS = ("Print check", "Wraps", "Bench sheets")


def check_record_pages(model: Model, layout: Layout) -> tuple[Page, ...]:
    """The record of a job: its prints and elbows once, and each rail, to be copied for each one made."""
    elements: list[Element] = [Heading("Check record", 13.0), _prints(), *_elbows(model)]
    for rail in model.rails:
        elements += _rail_elements(rail, model.job.units, columns_of(layout)[1])
    loose = [pipe for pipe in model.cut_pipes if pipe.kind == "member"]
    if loose:
        elements += [Heading("Loose members", 12.0), Paragraph(_COPY_MEMBERS, _TEXT_PT)]
        elements.append(cut_pipes_record("Members", loose, model.job.units, _ROW_MM))
    if model.job.welding is not None:
        elements.append(trials_record(units_word(model.job.units), _ROW_MM))
    elements += [*_offcuts(model), Heading("Signed"), _signatures()]
    marks = tuple(corner.mark for rail in model.rails for corner in rail.corners)
    return flow_pages(SECTION, "Check record", elements, layout, marks)


def _read(heading: str = "Read", least_mm: float = _READ_MM) -> Column:
    return Column(heading, least_mm=least_mm)


def _prints() -> Table:
    columns = (
        Column("Print", least_mm=34.0),
        _read("100 mm across", 27.0),
        _read("100 mm up", 27.0),
        _read("Diagonals equal", 27.0),
        _read("Printer, paper, date", 34.0),
    )
    rows = (*((name, "", "", "", "") for name in _PRINTS), ("", "", "", "", ""))
    return Table("Prints: the check square, or the 50 mm bars doubled", columns, rows, _ROW_MM)


def _elbows(model: Model) -> list[Element]:
    if not model.buy_list:
        return []
    columns = (
        Column("Elbow"),
        *(_read(name, 20.0) for name in ("Girth", "Heel arc", "Throat arc", "Sweep", "Shoulder")),
        _read("Batch or heat", 32.0),
    )
    blanks = ("",) * 6
    rows = [row for line in model.buy_list for row in ((line.elbow.name, *blanks), ("", *blanks))]
    return [
        Table(f"Elbows as measured, {units_word(model.job.units)} and degrees", columns, tuple(rows), _ROW_MM)
    ]


def _rail_elements(rail: Rail, units: str, width_mm: float) -> list[Element]:
    elements: list[Element] = [Heading(f"Rail {rail.mark}, number ____ of {rail.quantity}", 12.0)]
    if rail.quantity > 1:
        words = f"{rail_title(rail)}: copy the record of this rail for each of them."
        elements.append(Paragraph(words, _TEXT_PT))
    tables = [_pieces(rail, units), _leaning(rail, units), _mitres(rail), _pipes(rail, units), _corners(rail)]
    tables += [cut_pipes_record("Posts and mid rails", rail.standing.pipes, units, _ROW_MM)]
    tables += record_tables(rail, units, _read("Measured", 24.0))
    tables += [*post_sizes_record(rail, units, _ROW_MM), standing_record(rail, units, _ROW_MM)]
    elements += [side_by_side(table, width_mm, table.text_pt) for table in tables if table.rows]
    return [*elements, *straightness_record(rail, units, _ROW_MM)]


def _pieces(rail: Rail, units: str) -> Table:
    """Each piece after cutting and dressing, from its own face; a whole elbow by its sweep alone."""
    columns = [Column("Piece")]
    for name in ("Heel arc", "Throat arc", "Heel chord", "Throat chord", "Turn"):
        columns += [Column(name, right=True), _read()]
    columns.append(_read("By"))
    rows = tuple(_piece_row(piece, units) for corner in rail.corners for piece in corner.pieces)
    title = (
        f"Pieces after dressing: from the shoulder of the piece's own face to the cut, {units_word(units)}, "
        "and its turn"
    )
    return Table(title, tuple(columns), rows, _ROW_MM)


def _piece_row(piece: Piece, units: str) -> tuple[str, ...]:
    expected = ["whole", "–", "–", "–"]
    if piece.cut is not None:
        leaning = piece.leaning_cut
        heel, throat = (
            lines_of_piece(piece.cut, piece.loss_mm)[::2]
            if leaning is None
            else lines_at(leaning, (0, 180), of_piece=True)
        )
        lengths = (heel.shoulder_mm, throat.shoulder_mm, heel.chord_mm, throat.chord_mm)
        expected = [format_length(length, units, fine=True, with_unit=False) for length in lengths]
    cells = [cell for value in [*expected, degrees_text(piece.angle_rad)] for cell in (value, "")]
    return (piece.mark, *cells, "")


def _leaning(rail: Rail, units: str) -> Table:
    """Elbow ends that lean: their sides, and what an angle finder reads on the piece stood on its cut."""
    columns = [Column("End of piece")]
    for name in ("Left side arc", "Right side arc", "Own face to plate"):
        columns += [Column(name, right=True), _read()]
    columns += [_read("Sits without rocking", 24.0), _read("By")]
    rows = []
    for corner in rail.corners:
        for piece in corner.pieces:
            cut = piece.leaning_cut
            if cut is not None:
                sides = lines_at(cut, (90, -90), of_piece=True)
                shown = [format_length(one.shoulder_mm, units, fine=True, with_unit=False) for one in sides]
                shown.append(format_angle(face_to_cut_rad(cut), 2))
                rows.append((piece.mark, *(cell for value in shown for cell in (value, "")), "", ""))
    title = f"Elbow ends on a plane: own face down, heel towards you, from the shoulder, {units_word(units)}"
    return Table(title, tuple(columns), tuple(rows), _ROW_MM)


def _mitres(rail: Rail) -> Table:
    columns = (
        Column("Joint"),
        Column("Off square", right=True),
        _read("Pipe before", 24.0),
        _read("Pipe after", 24.0),
        _read("Long points together", 30.0),
        _read("By"),
    )
    rows = tuple(
        (corner.joints[0], format_angle(corner.mitre.tilt_rad, 2), "", "", "", "")
        for corner in rail.corners
        if corner.mitre is not None
    )
    return Table("Mitred pipe ends", columns, rows, _ROW_MM)


def _pipes(rail: Rail, units: str) -> Table:
    columns = (
        Column("Pipe"),
        Column("Cut, tip to tip", right=True),
        _read("Read", 22.0),
        Column("Finished length", right=True),
        _read("Read", 22.0),
        _read("Ends checked", 22.0),
        _read("By"),
    )
    rows = []
    for member in rail.members:
        cut, finished = (
            format_length(length, units, with_unit=False) for length in (member.blank_mm, member.length_mm)
        )
        rows.append((member.mark, cut, "", finished, "", "", ""))
    title = f"Pipes: as cut off the stick, and finished on the centreline, {units_word(units)}"
    return Table(title, columns, tuple(rows), _ROW_MM)


def _offcuts(model: Model) -> list[Element]:
    """Blanks for what is kept of sticks and elbows, as the cut list has it."""
    listed = offcuts_table(model)
    if not listed.rows:
        return []
    columns = (*listed.columns, _read("Read", 22.0), _read("Marked, put away where", 40.0))
    rows = tuple((*row, "", "") for row in listed.rows)
    return [Table("Offcuts kept", columns, rows, _ROW_MM)]


def _corners(rail: Rail) -> Table:
    columns = (
        Column("Corner"),
        Column("Inside angle", right=True),
        _read("Tacked", 15.0),
        _read("Welded, cold", 15.0),
        Column("Welds"),
        _read("Welded by, date", 20.0),
        _read("Checked by"),
    )
    rows = tuple(_corner_row(corner) for corner in rail.corners)
    return Table("Corners", columns, rows, _ROW_MM)


def _corner_row(corner: Corner) -> tuple[str, ...]:
    return corner.mark, degrees_text(corner.inside_angle_rad), "", "", ", ".join(corner.joints), "", ""


def _signatures() -> Table:
    columns = (Column("", least_mm=34.0), _read("Name", 46.0), _read("Signature", 46.0), _read("Date", 28.0))
    rows = tuple((role, "", "", "") for role in ("Cut and fitted", "Welded", "Checked"))
    return Table("", columns, rows, 10.0)
