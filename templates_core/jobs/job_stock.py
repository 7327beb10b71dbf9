"""What a job has to cut from: prices, what is on hand, and the lengths that pipe comes in."""

from __future__ import annotations

from collections.abc import Sequence

from templates_core.errors import BadValueError
from templates_core.fittings import StockElbow
from templates_core.jobs.job import ElbowStock, PipeStock, Stock
from templates_core.jobs.job_elbows import read_own_pipe
from templates_core.jobs.job_notes import Notes, nearest
from templates_core.jobs.job_tables import StockElbowTable, StockPipeTable, StockTable
from templates_core.units import format_length

SHORTEST_STICK_MM = 100.0
"""A stick shorter than this is taken for a number in the wrong unit."""


def make_stock(raw: object, elbows: Sequence[StockElbow], notes: Notes) -> Stock:
    """The stock of the ``[stock]`` table, as far as it is sound; faults go to the notes.

    elbows: of the job; kinds that the table doesn't name can be bought and have no price.
    """
    table = None if raw is None else notes.read(StockTable, raw, ("stock",))
    if table is None:
        return Stock()
    kinds = _elbows(table, elbows, notes)
    pipes = _pipes(table, notes)
    return Stock(kinds, pipes, table.end_trim, table.least_offcut)


def _elbows(table: StockTable, elbows: Sequence[StockElbow], notes: Notes) -> tuple[ElbowStock, ...]:
    names = {_key(elbow.name): elbow.name for elbow in elbows}
    sound = not notes.faults
    found: dict[str, ElbowStock] = {}
    for index, raw in enumerate(table.elbow):
        loc = ("stock", "elbow", index)
        read = notes.read(StockElbowTable, raw, loc)
        if read is None:
            continue
        name = names.get(_key(read.kind))
        if name in found:
            notes.add((*loc, "kind"), BadValueError("this kind is listed twice", "leave one of them out"))
        elif name is not None:
            found[name] = ElbowStock(name, read.price, read.on_hand, read.buy)
        elif sound:
            remedy = nearest(read.kind, [elbow.name for elbow in elbows]) if elbows else "leave it out"
            notes.add((*loc, "kind"), BadValueError("there is no such elbow in this job", remedy))
    stocked = [found.get(name, ElbowStock(name)) for name in names.values()]
    if sound and not notes.faults:
        _check_prices(("stock", "elbow"), stocked, notes)
    return tuple(found.values())


def _key(name: str) -> str:
    return " ".join(name.split()).casefold()


def _pipes(table: StockTable, notes: Notes) -> tuple[PipeStock, ...]:
    pipes = []
    for index, raw in enumerate(table.pipe):
        loc = ("stock", "pipe", index)
        read = notes.read(StockPipeTable, raw, loc)
        if read is None:
            continue
        length = format_length(read.length, notes.units)
        if read.length < SHORTEST_STICK_MM:
            what = f"a stick of {length} is too short"
            notes.add((*loc, "length"), BadValueError(what, 'check the unit: "6 m" or "20 ft" in quotes'))
        elif read.length <= 2 * table.end_trim:
            what = f"nothing of {length} is left between its trimmed ends"
            notes.add((*loc, "length"), BadValueError(what, "make end_trim shorter"))
        else:
            pipe = read_own_pipe(read, loc, notes)
            pipes.append(PipeStock(read.length, read.price, read.on_hand, read.buy, pipe))
    if len(pipes) == len(table.pipe):
        for pipe in dict.fromkeys(one.pipe for one in pipes):
            _check_prices(("stock", "pipe"), [one for one in pipes if one.pipe == pipe], notes)
    return tuple(pipes)


def _check_prices(loc: tuple[str, str], stock: Sequence[ElbowStock | PipeStock], notes: Notes) -> None:
    """All of one size that can be bought has a price, or nothing has."""
    priced = [one.price_cents is not None for one in stock if one.buyable]
    if any(priced) and not all(priced):
        what = "some that can be bought have a price and some have none"
        notes.add(loc, BadValueError(what, "give every kind of the job a price, or none"))
