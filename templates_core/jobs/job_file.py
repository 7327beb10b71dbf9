"""Reads a job file: TOML to a job that is ready to compute with, or every fault in it at once."""

from __future__ import annotations

import hashlib
import re
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

from templates_core.errors import BadValueError, Fault, InputError
from templates_core.fittings import Pipe
from templates_core.jobs.job import Job, Joint, RailSpec, Shop
from templates_core.jobs.job_elbows import make_elbows, make_pipe
from templates_core.jobs.job_members import read_members
from templates_core.jobs.job_notes import Notes
from templates_core.jobs.job_path import read_rails
from templates_core.jobs.job_stock import make_stock
from templates_core.jobs.job_tables import ElbowsTable, PipeTable, RootTable, ShopTable
from templates_core.jobs.job_weld import make_welding
from templates_core.jobs.member_specs import Galvanising
from templates_core.jobs.member_tables import GalvanisingTable
from templates_core.paths.rail_ends import whole_path
from templates_core.standards import elbow_kinds
from templates_core.units import INCH, MM, UNITS

PAPERS = {MM: "A4", INCH: "letter"}
"""Paper of a job that names none, by its unit."""
THIN_KERF_MM, THICK_KERF_MM = 0.3, 4.0
"""A kerf outside these is thinner or thicker than the blades that cut elbows."""

CheckPaper = Callable[[str, str], object]
"""Called with the name of a paper and its place in the file; raises InputError for one that can't be used."""


def load_job(path: Path, check_paper: CheckPaper | None = None) -> Job:
    """The job of a TOML file.  Raises InputError with every fault, in the order of the file."""
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        raise _refusal(path.name, "there is no such file", "check the name and the folder") from None
    except OSError as error:
        reason = (error.strerror or "it can't be opened").lower()
        raise _refusal(path.name, f"it can't be read: {reason}", "give the path of a job file") from None
    return parse_job(data, path.name, check_paper)


def parse_job(data: bytes, source_name: str, check_paper: CheckPaper | None = None) -> Job:
    """The job of a TOML file's bytes; source_name: of the file, for messages and sheets.

    Raises InputError with every fault, in the order of the file.
    """
    return job_of_tables(
        _toml(data, source_name), source_name, hashlib.sha256(data).hexdigest()[:8], check_paper
    )


def job_of_tables(
    raw: dict[str, Any], source_name: str, fingerprint: str, check_paper: CheckPaper | None = None
) -> Job:
    """The job of tables as TOML gives them.  Raises InputError with every fault, in their order."""
    units = raw.get("units")
    notes = Notes(raw, units if units in UNITS else MM)
    root = notes.read(RootTable, raw, ()) or _as_far_as_sound(raw)
    if not raw.get("rail") and not raw.get("member"):
        remedy = "write each rail as [[rail]], with a mark and a path, or loose pipes as [[member]]"
        notes.add(("rail",), BadValueError("it is missing", remedy))
    pipe = _pipe(root, notes)
    elbows, taped, nominal = make_elbows(root, _elbows_table(root, notes), pipe, notes)
    shop = _shop(root, notes)
    stock = make_stock(root.stock, elbows, notes)
    welding = make_welding(root.weld, None if pipe is None else pipe.wall_mm, notes)
    if check_paper is not None and isinstance(root.shop, dict):
        _note_paper(root.shop.get("paper"), check_paper, notes)
    rails = read_rails(root.rail, pipe, notes)
    members = read_members(root.member, pipe, elbows, notes)
    galvanising = _galvanising(root, notes)
    if not elbows and not notes.faults and any(_needs_elbow(rail) for _, rail in rails):
        remedy = f"list those that can be bought; known: {', '.join(elbow_kinds())}"
        notes.add(("elbows", "stock"), BadValueError("there is no elbow to make the corners from", remedy))
    if notes.faults or pipe is None or shop is None:
        _note_paths(rails, notes)
        raise InputError(notes.faults)
    return Job(
        title=root.title,
        number=root.number,
        revision=root.revision,
        units=root.units,
        pipe=pipe,
        elbows=elbows,
        taped=taped,
        shop=shop,
        rails=tuple(rail for _, rail in rails),
        fingerprint=fingerprint,
        source_name=source_name,
        warnings=tuple(notes.warnings),
        nominal=nominal,
        stock=stock,
        tolerance=root.tolerance or "",
        welding=welding,
        members=members,
        galvanising=galvanising,
    )


def _refusal(where: str, what: str, remedy: str) -> InputError:
    return InputError([Fault(where, what, remedy)])


def _toml(data: bytes, source_name: str) -> dict[str, Any]:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        what = f"line {line} has a letter that isn't UTF-8"
        raise _refusal(source_name, what, "save the file as plain text with UTF-8 encoding") from None
    try:
        return tomllib.loads(text)
    except ValueError as error:
        found = re.fullmatch(r"(.*) \(at (.*)\)", str(error), re.DOTALL)
        what, place = (found[1], found[2]) if found else (str(error), "somewhere")
        remedy = (
            "look there for a missing quote, comma or bracket, or a key given twice; "
            'text and lengths with a unit stand in quotes: "57 mm"'
        )
        what = f"{what[:1].lower()}{what[1:]}"
        raise _refusal(f"{source_name}, {place}", what, remedy) from None


def _as_far_as_sound(raw: dict[str, Any]) -> RootTable:
    """The top of a file that is at fault, with what of it can still be read on."""

    def of_type(key: str, kind: type) -> dict[str, Any]:
        return {key: raw[key]} if isinstance(raw.get(key), kind) else {}

    lists: dict[str, Any] = {"elbow": [], "rail": [], "member": []}
    for key in list(lists):
        lists |= of_type(key, list)
    tables = {"pipe": raw.get("pipe"), "elbows": raw.get("elbows"), "shop": raw.get("shop")}
    tables |= {key: raw.get(key) for key in ("stock", "weld", "galvanising")}
    return RootTable.model_construct(**tables, **lists, **{"measured": {}, **of_type("measured", dict)})


def _pipe(root: RootTable, notes: Notes) -> Pipe | None:
    if root.pipe is None:
        return None
    table = notes.read(PipeTable, root.pipe, ("pipe",))
    try:
        return None if table is None else make_pipe(table, notes.units)
    except BadValueError as error:
        notes.add(("pipe",), error)
        return None


def _elbows_table(root: RootTable, notes: Notes) -> ElbowsTable:
    """The table, or as much of one at fault as lets the elbows it names be checked."""
    table = notes.read(ElbowsTable, {} if root.elbows is None else root.elbows, ("elbows",))
    if table is not None:
        return table
    stock = root.elbows.get("stock") if isinstance(root.elbows, dict) else None
    named = [name for name in stock if isinstance(name, str)] if isinstance(stock, list) else []
    return ElbowsTable.model_construct(stock=named, ends="bevelled")


def _shop(root: RootTable, notes: Notes) -> Shop | None:
    table = notes.read(ShopTable, {} if root.shop is None else root.shop, ("shop",))
    if table is None:
        return None
    if not THIN_KERF_MM <= table.kerf <= THICK_KERF_MM:
        notes.warn(("shop", "kerf"), f"{table.kerf:.2f} mm is not the width of a usual blade")
    return Shop(
        kerf_mm=table.kerf,
        dressing_mm=table.dressing,
        root_gap_mm=table.root_gap,
        wrap_thickness_mm=table.wrap_thickness,
        least_throat_mm=table.least_throat,
        least_scrap_mm=table.least_scrap,
        paper=table.paper or PAPERS[notes.units],
        ordinate_tolerance_mm=table.ordinate_tolerance,
    )


def _galvanising(root: RootTable, notes: Notes) -> Galvanising | None:
    if root.galvanising is None:
        return None
    table = notes.read(GalvanisingTable, root.galvanising, ("galvanising",))
    return None if table is None else Galvanising(table.from_end, table.hole)


def _note_paper(paper: object, check_paper: CheckPaper, notes: Notes) -> None:
    """Faults of the paper's name, even where something else in its table is at fault."""
    loc = ("shop", "paper")
    try:
        if isinstance(paper, str) and paper:
            check_paper(paper, notes.place(loc))
    except InputError as error:
        for fault in error.faults:
            notes.note(loc, fault)


def _needs_elbow(rail: RailSpec) -> bool:
    return any(corner.by is Joint.ELBOW for corner in rail.corners)


def _note_paths(rails: tuple[tuple[int, RailSpec], ...], notes: Notes) -> None:
    """Faults in the paths of sound rails, so that a file at fault elsewhere shows them at the same time."""
    for index, rail in rails:
        try:
            whole_path(rail, notes.units)
        except InputError as error:
            for fault in error.faults:
                notes.note(("rail", index, "path"), fault)
