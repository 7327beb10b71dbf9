"""Tables of cuts that lean, for the terminal."""

from __future__ import annotations

from render.figures.leaning_words import lean_words, left_sign, line_name, lines_at
from render.pages.tables import Column, Table
from templates_core.elbows.groups import LeaningGroup
from templates_core.model import Model
from templates_core.units import degrees_text, format_angle, format_length

_ALL_ROUND_DEG = tuple(range(-150, 181, 30))


def leaning_table(model: Model) -> Table:
    """Each elbow end that is cut to a plane: what it is measured from, which way it leans, and its cost."""
    columns = (
        Column("Pieces"),
        Column("Make", right=True),
        Column("Elbow"),
        Column("Piece on the centreline", right=True),
        Column("From face"),
        Column("Leans, from that face"),
        Column("1 mm heel against throat turns", right=True),
    )
    return Table("Elbow ends cut to a plane", columns, tuple(_row(one) for one in model.leaning_groups))


def _row(group: LeaningGroup) -> tuple[str, ...]:
    cut = group.cut
    return (
        ", ".join(group.marks),
        str(group.quantity),
        cut.elbow.name,
        degrees_text(cut.piece_angle_rad),
        cut.from_face,
        lean_words(cut.wrap_lean, left_sign(cut)),
        format_angle(group.costs.turn_rad_per_mm, 2),
    )


def leaning_ordinates_table(model: Model) -> Table:
    """Arc from the shoulder to each leaning cut on the lines that divide the girth into twelve, all round."""
    units = model.job.units
    columns = [Column("Pieces")]
    columns += [Column(line_name(degrees).capitalize(), right=True) for degrees in _ALL_ROUND_DEG]
    rows = tuple(
        (
            ", ".join(group.marks),
            *(
                format_length(line.shoulder_mm, units, fine=True, with_unit=False)
                for line in lines_at(group.cut, _ALL_ROUND_DEG)
            ),
        )
        for group in model.leaning_groups
    )
    title = f"Their ordinates, shoulder to cut along each girth line, {units}; that face down, heel to you"
    return Table(title, tuple(columns), rows)
