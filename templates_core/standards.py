"""Pipe and elbows of the standards, from the tables in ``data``; each row there carries its source.

ASME (NPS) sizes have the inch OD as the authoritative one; B16.9 elbow dimensions are inches too, EN ones
millimetres.  What follows from other rows isn't stored: a short-radius or 3D elbow bends to its nominal size
or three times that, a return is twice a long-radius 90.  Sizes given to ``stock_elbow`` are found by OD, so
that an EN pipe never gets an ASME elbow of another OD, nor the other way about.
"""

from __future__ import annotations

import csv
import difflib
import math
import re
from collections.abc import Mapping
from functools import cache
from importlib.resources import files

from templates_core.errors import BadValueError
from templates_core.fittings import Pipe, StockElbow, centre_to_end_mm
from templates_core.units import parse_length_mm

BEVEL_RAD = math.radians(37.5)
"""Slope of a butt-weld bevel off the square (B16.25, from memory)."""
LAND_MM = 1.6
"""Flat left at the bore of a bevelled end (B16.25, from memory)."""
SAME_OD_MM = 0.1
"""ODs nearer than this are one size: 48.3 stands for 1.900 in; EN 33.7 is not NPS 1 (33.4)."""

_ANY_WALL_MM = 1.0

NPS, EN = "NPS", "EN"
TableRow = Mapping[str, str]


class StandardsError(BadValueError):
    """No such size, schedule or elbow in the tables; the remedy names the nearest that there is."""


@cache
def data_table(name: str) -> tuple[TableRow, ...]:
    """Rows of a table in ``data``, by their column names."""
    text = files("templates_core.data").joinpath(name).read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))


def nps_sizes() -> tuple[str, ...]:
    """NPS sizes with data, smallest first: ``1/2``, …, ``12``."""
    return tuple(row["size"] for row in data_table("pipe_nps.csv"))


def dn_sizes() -> tuple[str, ...]:
    """EN 10220 series 1 sizes with data, smallest first: ``15``, …, ``300``."""
    return tuple(row["dn"] for row in data_table("pipe_en.csv"))


def elbow_kinds() -> tuple[str, ...]:
    """Names of the elbows that a job file can list as stock."""
    return tuple(row["kind"] for row in data_table("elbow_kinds.csv"))


def pipe_size(size: str, schedule: str | None = None, wall_mm: float | None = None) -> Pipe:
    """The pipe of a size such as ``NPS 1-1/2`` or ``DN 40`` (EN 10220 series 1).

    An NPS size takes its wall [mm] from a schedule (5S, 10S, 40, 80, STD, XS) or has it given; a DN size has
    it given.  Raises StandardsError.
    """
    text = size.replace("½", " 1/2").replace("¼", " 1/4").replace("¾", " 3/4").upper()
    found = re.fullmatch(r"(NPS|DN) ?(.+)", " ".join(text.split()))
    if not found:
        known = f"NPS {', '.join(nps_sizes())} or DN {', '.join(dn_sizes())}"
        raise StandardsError(
            f"'{size}' doesn't say NPS or DN", f"write it like NPS 1-1/2 or DN 40; known: {known}"
        )
    if found[1] == "DN":
        return _dn_pipe(found[2], schedule, wall_mm)
    return _nps_pipe(re.sub(r"(?<=\d) (?=\d)", "-", found[2]), schedule, wall_mm)


def size_od_mm(size: str) -> float:
    """OD [mm] of a size, which is the same for every wall.  Raises StandardsError."""
    return pipe_size(size, wall_mm=_ANY_WALL_MM).od_mm


def _nps_pipe(size: str, schedule: str | None, wall_mm: float | None) -> Pipe:
    row = _row_for("pipe_nps.csv", "size", size, "NPS ")
    name = f"NPS {size}"
    od_mm = _dimension_mm(row["od"], row["od_unit"])
    if wall_mm is not None and schedule is None:
        return checked_pipe(Pipe(f"{name} × {wall_mm:.2f} mm wall", od_mm, wall_mm, row["source"]))
    if schedule is None or wall_mm is not None:
        what = (
            "both a schedule and a wall are given" if schedule else "neither a schedule nor a wall is given"
        )
        raise StandardsError(f"{name}: {what}", "give one of the two, such as schedule 40")
    key = _schedule_key(schedule)
    wall = row[key]
    if wall.startswith("as "):
        wall = row[wall.removeprefix("as ")]
    label = key if key in ("STD", "XS") else f"Sch {key}"
    return Pipe(f"{name} {label}", od_mm, _dimension_mm(wall, row["wall_unit"]), row["source"])


def _schedule_key(schedule: str) -> str:
    known = ("5S", "10S", "40", "80", "STD", "XS")
    key = re.sub(r"^SCH(EDULE)?\.?\s*", "", schedule.strip().upper())
    if key not in known:
        raise StandardsError(f"there is no schedule '{schedule}' in the tables", f"known: {', '.join(known)}")
    return key


def _dn_pipe(dn: str, schedule: str | None, wall_mm: float | None) -> Pipe:
    row = _row_for("pipe_en.csv", "dn", dn, "DN ")
    if schedule is not None:
        raise StandardsError(
            f"DN {dn} is an EN size, and schedules belong to NPS sizes", "give its wall, or write an NPS size"
        )
    if wall_mm is None:
        raise StandardsError(f"DN {dn} fixes no wall", "give the wall as well, such as 2.6 mm")
    name = f"DN {dn} (EN) × {wall_mm:.2f} mm wall"
    return checked_pipe(Pipe(name, _dimension_mm(row["od"], row["od_unit"]), wall_mm, row["source"]))


def checked_pipe(pipe: Pipe) -> Pipe:
    """The pipe, if its wall leaves a bore.  Raises StandardsError."""
    if not 0 < pipe.wall_mm < pipe.radius_mm:
        what = f"a wall of {pipe.wall_mm:g} mm leaves no bore in a pipe of {pipe.od_mm:.2f} mm OD"
        raise StandardsError(what, f"give a wall over 0 and under {pipe.radius_mm:.2f} mm")
    return pipe


def bevel_shoulder_mm(wall_mm: float) -> float:
    """Axial distance [mm] from the face of a bevelled end back to the bevel's shoulder at the full OD."""
    return max(0.0, wall_mm - LAND_MM) * math.tan(BEVEL_RAD)


def stock_elbow(kind: str, pipe: Pipe, bevelled: bool) -> StockElbow:
    """The nominal elbow of a kind that fits the OD of a pipe, as thick as the pipe.

    A long-radius 45 has only its centre-to-end: its bend radius is None, since it is not half of a 90.  For a
    return, `centre_to_end_mm` is half of its centre-to-centre.  Raises StandardsError where the kind is
    unknown or isn't made for this OD.
    """
    row = _kind_row(kind)
    size, od_mm = _size_for(pipe.od_mm, row)
    length_mm = _elbow_length_mm(row, size, pipe)
    whole_only = row["dimension"].startswith("B")
    sweep_rad = math.radians(float(row["sweep_deg"]))
    off_angle_mm, od_plus_mm, od_minus_mm = _tolerances_mm(od_mm)
    return StockElbow(
        name=row["kind"],
        od_mm=od_mm,
        wall_mm=pipe.wall_mm,
        sweep_rad=sweep_rad,
        centre_to_end_mm=length_mm if whole_only else centre_to_end_mm(length_mm, sweep_rad, 0.0),
        bend_radius_mm=None if whole_only else length_mm,
        tangent_a_mm=0.0,
        tangent_b_mm=0.0,
        shoulder_mm=bevel_shoulder_mm(pipe.wall_mm) if bevelled else 0.0,
        sweep_tolerance_rad=math.atan(off_angle_mm / od_mm),
        od_plus_mm=od_plus_mm,
        od_minus_mm=od_minus_mm,
        source=row["source"],
    )


def elbow_kind(name: str) -> str:
    """The kind meant by a name in any case and spacing.  Raises StandardsError."""
    return _kind_row(name)["kind"]


def _kind_row(kind: str) -> TableRow:
    key = " ".join(kind.split()).casefold()
    for row in data_table("elbow_kinds.csv"):
        if row["kind"].casefold() == key:
            return row
    by_case = {name.casefold(): name for name in elbow_kinds()}
    near = difflib.get_close_matches(key, by_case, n=1, cutoff=0.5)
    hint = f"did you mean {by_case[near[0]]}? " if near else ""
    raise StandardsError(
        f"there is no elbow '{kind}' in the tables", f"{hint}known: {', '.join(elbow_kinds())}"
    )


def _size_for(od_mm: float, kind: TableRow) -> tuple[str, float]:
    """Size of the kind's own series with this OD, and that OD as the series has it [mm]."""
    key, table = ("size", "pipe_nps.csv") if kind["series"] == NPS else ("dn", "pipe_en.csv")
    ods = {row[key]: _dimension_mm(row["od"], row["od_unit"]) for row in data_table(table)}
    nearest = min(ods, key=lambda size: abs(ods[size] - od_mm))
    if abs(ods[nearest] - od_mm) <= SAME_OD_MM:
        return nearest, ods[nearest]
    prefix = "NPS" if kind["series"] == NPS else "DN"
    what = f"'{kind['kind']}' is an {kind['series']} elbow, and no {prefix} size has an OD of {od_mm:.2f} mm"
    remedy = (
        f"the nearest is {prefix} {nearest} at {ods[nearest]:.2f} mm; choose pipe and elbows of one series"
    )
    raise StandardsError(what, remedy)


def _elbow_length_mm(kind: TableRow, size: str, pipe: Pipe) -> float:
    """Bend radius or centre-to-end [mm], whichever the kind is known by."""
    rows = [row for row in data_table("elbow_dimensions.csv") if row["dimension"] == kind["dimension"]]
    sizes = [row["size"] for row in rows] or list(nps_sizes())
    sizes = sizes[sizes.index(kind["least_size"]) :]
    if size not in sizes:
        prefix = "NPS" if kind["series"] == NPS else "DN"
        what = f"there is no '{kind['kind']}' for {pipe.name}"
        raise StandardsError(what, f"it is made for {prefix} {', '.join(sizes)}")
    if not rows:
        return float(kind["times"]) * _dimension_mm(size, "in")
    row = next(row for row in rows if row["size"] == size)
    return float(kind["times"]) * _dimension_mm(row["value"], row["unit"])


def _tolerances_mm(od_mm: float) -> tuple[float, float, float]:
    """Off-angle, OD over, OD under [mm]; B16.9 figures also for EN elbows, which have none in the tables."""
    ods = {row["size"]: _dimension_mm(row["od"], row["od_unit"]) for row in data_table("pipe_nps.csv")}
    for row in data_table("elbow_tolerances.csv"):
        if od_mm <= ods[row["largest_nps"]] + SAME_OD_MM:
            off_angle, plus, minus = (
                _dimension_mm(row[k], row["unit"]) for k in ("off_angle", "od_plus", "od_minus")
            )
            return off_angle, plus, minus
    raise StandardsError(f"no tolerances are known for an OD of {od_mm:.2f} mm", "use a size up to NPS 12")


def _dimension_mm(text: str, unit: str) -> float:
    return parse_length_mm(f"{text} {unit}", unit)


def _row_for(table: str, key: str, value: str, prefix: str) -> TableRow:
    for row in data_table(table):
        if row[key] == value:
            return row
    known = f"known: {prefix}{', '.join(row[key] for row in data_table(table))}"
    raise StandardsError(f"there is no size {prefix}{value} in the tables", known)
