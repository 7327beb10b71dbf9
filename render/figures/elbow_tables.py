"""Tables of what is bought: elbows by kind, the sizes they are computed with, and pipe."""

from __future__ import annotations

from collections.abc import Sequence

from render.figures.stock_tables import stick_words
from render.pages.tables import Column, Table
from templates_core.fittings import StockElbow
from templates_core.jobs.job import Job, Taped
from templates_core.jobs.measured import Reading, real_elbow
from templates_core.model import Model
from templates_core.stock.sticks import SizeShare
from templates_core.units import format_angle, format_length, format_stock_length


def buy_tables(model: Model) -> tuple[Table, Table, Table]:
    """Elbows by kind, pipe by size, and the sticks that it is cut from, for the whole job."""
    return _elbows_to_buy(model), _pipe_to_buy(model), _sticks_to_buy(model)


def _elbows_to_buy(model: Model) -> Table:
    units = model.job.units
    times = {
        piece.mark: rail.quantity
        for rail in model.rails
        for corner in rail.corners
        for piece in corner.pieces
    }
    any_on_hand = any(line.from_hand for line in model.buy_list)
    rows = []
    for line in model.buy_list:
        marks = ", ".join(mark if times[mark] == 1 else f"{mark} × {times[mark]}" for mark in line.marks)
        hand = (str(line.from_hand),) if any_on_hand else ()
        numbers = (str(line.quantity), *hand, str(line.whole), str(line.to_cut))
        rows.append((line.elbow.name, elbow_size(line.elbow, units), *numbers, marks))
    columns = [Column("Elbow"), Column("Size"), Column("Buy", right=True)]
    columns += [Column("Take from hand", right=True)] if any_on_hand else []
    columns += [Column("Whole", right=True), Column("To cut", right=True), Column("For pieces")]
    return Table("Elbows", tuple(columns), tuple(rows))


def elbow_size(elbow: StockElbow, units: str) -> str:
    """OD, wall and centre-to-end of an elbow in words."""
    od, wall, end = (
        format_length(length, units, fine=True)
        for length in (elbow.od_mm, elbow.wall_mm, elbow.centre_to_end_mm)
    )
    return f"{od} OD × {wall}, centre to end {end}"


def _pipe_to_buy(model: Model) -> Table:
    rows = tuple(_size_row(one, model.job.units) for one in model.pipe_shares)
    columns = (
        Column("Pipe"),
        Column("Pieces", right=True),
        Column("Longest piece", right=True),
        Column("Finished length in all", right=True),
    )
    return Table("Pipe", columns, rows)


def _size_row(one: SizeShare, units: str) -> tuple[str, ...]:
    od, wall = (format_length(length, units, fine=True) for length in (one.pipe.od_mm, one.pipe.wall_mm))
    return (
        f"{one.pipe.name} ({od} OD × {wall})",
        str(one.pieces),
        format_length(one.longest_mm, units),
        f"{format_length(one.cut_mm, units)} ({format_stock_length(one.cut_mm, units)})",
    )


def _sticks_to_buy(model: Model) -> Table:
    rows = tuple(
        (
            sized.pipe.name,
            stick_words(line.stock.length_mm, model.job.units),
            str(line.to_buy),
            str(line.from_hand),
        )
        for sized in model.pipe_shares
        for line in sized.share.used
    )
    columns = (
        Column("Pipe"),
        Column("Stick"),
        Column("Buy", right=True),
        Column("Take from hand", right=True),
    )
    return Table("Sticks", columns, rows)


def elbows_table(model: Model) -> Table:
    """The sizes that the job is computed with, beside the nominal ones, each with its uncertainty."""
    units = model.job.units
    columns = (
        Column("Elbow"),
        Column("Size"),
        Column(f"Used, {units} or °", right=True),
        Column("Nominal", right=True),
        Column("Either way", right=True),
        Column("From"),
    )
    rows = [
        (line.elbow.name, *_reading_cells(reading, units), line.elbow.source)
        for line in model.buy_list
        for reading in elbow_readings(model.job, line.elbow)
    ]
    return Table("Elbow sizes used", columns, tuple(rows))


def elbow_readings(job: Job, elbow: StockElbow) -> Sequence[Reading]:
    """Sizes of an elbow of the job: worked out of what was taped, or nominal with the standard's spread."""
    if elbow.name in job.taped:
        return real_elbow(job.nominal[elbow.name], job.taped[elbow.name], job.units).readings
    readings = real_elbow(elbow, Taped(), job.units).readings
    if elbow.bend_radius_mm is None:
        return readings
    radius = Reading("bend radius", elbow.bend_radius_mm, 0.0, elbow.bend_radius_mm, "mm")
    return (*readings, radius)


def _reading_cells(reading: Reading, units: str) -> tuple[str, str, str, str]:
    def shown(value: float | None) -> str:
        if value is None:
            return "–"
        if reading.unit == "rad":
            return format_angle(value, 2)
        return format_length(value, units, fine=True, with_unit=False)

    spread = f"± {shown(reading.uncertainty)}" if reading.uncertainty else "–"
    return reading.name, shown(reading.value), shown(reading.nominal), spread
