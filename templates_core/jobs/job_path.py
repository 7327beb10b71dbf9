"""Rails of a job file: a path of runs and corners in turn, or work points, to what ``rail_path`` lays out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from templates_core.errors import BadValueError
from templates_core.fittings import Pipe
from templates_core.jobs.job import CornerSpec, Joint, RailSpec, RunSpec
from templates_core.jobs.job_ends import read_end
from templates_core.jobs.job_notes import Loc, Notes, nearest
from templates_core.jobs.job_posts import read_mid_rails, read_posts
from templates_core.jobs.job_tables import CornerItem, RailTable, RunItem
from templates_core.jobs.job_weld import read_side_welds
from templates_core.marks import other_hand_mark
from templates_core.units import format_angle, format_length

DOUBTFUL_INSIDE_RAD = math.radians(45)
"""An inside angle under this may be a slope put down by mistake."""
DOUBTFUL_RISER_MM = 230.0
"""A step higher than this is seldom built."""
LEAST_RING = 3
"""Runs that a closed path has at least."""

_RUN, _CORNER = "run", "corner"
_FOLLOWS = '{ corner = "elbow" } where its angle follows from the runs'


def read_rails(
    raw_rails: Sequence[object], pipe: Pipe | None, notes: Notes
) -> tuple[tuple[int, RailSpec], ...]:
    """The rails that have no fault, each with its index in the file; faults and doubts go to the notes.

    pipe: the job's, None when it is at fault, so that posts and mid rails aren't read.
    """
    rails = []
    seen: set[str] = set()
    mirrored = _mirrored_marks(raw_rails)
    for index, raw in enumerate(raw_rails):
        loc: Loc = ("rail", index)
        before = len(notes.faults)
        table = notes.read(RailTable, raw, loc)
        mark = raw.get("mark") if isinstance(raw, dict) else None
        if isinstance(mark, str):
            if mark.casefold() in seen:
                notes.add(
                    (*loc, "mark"), BadValueError("another rail has this mark", "give each rail its own")
                )
            elif mark.casefold() in mirrored:
                what = f"the other hand of rail {mirrored[mark.casefold()]} has this mark"
                notes.add((*loc, "mark"), BadValueError(what, "give one of them another"))
            seen.add(mark.casefold())
        spec = _from_path(raw, table, loc, notes) if _has_path(raw) else _from_points(table, loc, notes)
        if table is not None:
            start, end = (
                read_end(getattr(table, key), table, (*loc, key), notes) for key in ("start", "end")
            )
            welds, clamps = read_side_welds(table, loc, notes)
            if spec is not None:
                spec = replace(spec, start=start, end=end, mirror=table.mirror, welds=welds, clamps=clamps)
            if spec is not None and pipe is not None:
                posts = read_posts(table.posts, table.mark, pipe, loc, notes)
                mid_rails = read_mid_rails(table.mid_rails, table.mark, pipe, loc, notes)
                spec = replace(spec, posts=posts, mid_rails=mid_rails)
        if spec is not None and len(notes.faults) == before:
            rails.append((index, spec))
    return tuple(rails)


def _mirrored_marks(raw_rails: Sequence[object]) -> dict[str, str]:
    """Marks of the rails that `mirror` adds, each with the mark of the rail that it is the other hand of."""
    tables = [raw for raw in raw_rails if isinstance(raw, dict) and isinstance(raw.get("mark"), str)]
    return {
        other_hand_mark(raw["mark"]).casefold(): raw["mark"] for raw in tables if raw.get("mirror") is True
    }


def _has_path(raw: object) -> bool:
    return isinstance(raw, dict) and isinstance(raw.get("path"), list)


def _from_points(table: RailTable | None, loc: Loc, notes: Notes) -> RailSpec | None:
    if table is None:
        return None
    points = table.points
    if points is None:
        notes.add(loc, BadValueError("it has no path", "give path, runs and corners in turn, or points"))
        return None
    least = LEAST_RING if table.closed else 2
    if len(points) < least:
        what = f"{len(points)} are too few to make a rail"
        notes.add((*loc, "points"), BadValueError(what, f"give at least {least}"))
        return None
    wanted = len(points) if table.closed else len(points) - 2
    joints = [Joint.ELBOW] * wanted if table.corners is None else table.corners
    if len(joints) != wanted:
        what = f"it gives {len(joints)}, but {len(points)} points take {wanted}"
        notes.add((*loc, "corners"), BadValueError(what, 'give each corner as "elbow" or "mitre"'))
        return None
    corners = tuple(
        CornerSpec(f"rail {table.mark}, corner {number}", by=by) for number, by in enumerate(joints, 1)
    )
    in_space = tuple((x, y, z) for x, y, z in points)
    return RailSpec(table.mark, table.quantity, (), corners, table.closed, in_space)


def _from_path(raw: object, table: RailTable | None, loc: Loc, notes: Notes) -> RailSpec | None:
    """The rail of a path, whose items are read even where the rest of the table is at fault."""
    assert isinstance(raw, dict)
    items = [_read_item(item, (*loc, "path", at), notes) for at, item in enumerate(raw["path"])]
    _check_turns(raw["path"], raw.get("closed") is True, loc, notes)
    _check_closing(items, loc, notes)
    if table is not None and table.points is not None:
        notes.add(loc, BadValueError("it has both path and points", "give one of the two"))
    elif table is not None and table.corners is not None:
        remedy = 'a path has them in it, such as { turn = 4.76, by = "mitre" }'
        notes.add((*loc, "corners"), BadValueError("corners go with points", remedy))
    if table is None:
        return None
    run_items = [item for item in items if isinstance(item, RunItem)]
    corner_items = [item for item in items if isinstance(item, CornerItem)]
    runs = tuple(_run(item, f"rail {table.mark}, run {n}") for n, item in enumerate(run_items, 1))
    corners = tuple(_corner(item, f"rail {table.mark}, corner {n}") for n, item in enumerate(corner_items, 1))
    return RailSpec(table.mark, table.quantity, runs, corners, table.closed)


def _kind(item: object) -> str | None:
    """Whether an item of a path is a run or a corner, by its keys; None where they don't tell."""
    if not isinstance(item, dict):
        return None
    is_run = any(key in RunItem.model_fields for key in item)
    is_corner = any(key in CornerItem.model_fields for key in item)
    if is_run == is_corner:
        return None
    return _RUN if is_run else _CORNER


def _read_item(item: object, loc: Loc, notes: Notes) -> RunItem | CornerItem | None:
    kind = _kind(item)
    if kind == _RUN:
        run = notes.read(RunItem, item, loc)
        if run is not None:
            _doubt_run(run, loc, notes)
        return run
    if kind == _CORNER:
        corner = notes.read(CornerItem, item, loc)
        if corner is not None:
            _doubt_corner(corner, loc, notes)
        return corner
    if not isinstance(item, dict) or not item:
        what, remedy = "it is neither a run nor a corner", "write { run = 900 } or { inside_angle = 147.3 }"
    elif any(key in RunItem.model_fields for key in item):
        what, remedy = "it is a run and a corner at once", "give each its own { }"
    else:
        known = [*RunItem.model_fields, *CornerItem.model_fields]
        what, remedy = f"{next(iter(item))} is no key of a run or a corner", nearest(next(iter(item)), known)
    notes.add(loc, BadValueError(what, remedy))
    return None


def _check_turns(path: Sequence[object], closed: bool, loc: Loc, notes: Notes) -> None:
    """Runs and corners come in turn, a run first; an open path ends with a run, a ring with a corner."""
    kinds = [_kind(item) for item in path]
    runs = sum(kind != _CORNER for kind in kinds)
    if not kinds:
        notes.add((*loc, "path"), BadValueError("it is empty", "give runs and corners in turn"))
        return
    if kinds[0] == _CORNER:
        notes.add((*loc, "path", 0), BadValueError("a path starts with a run", "put the run before it"))
    for at in range(1, len(kinds)):
        if kinds[at] == kinds[at - 1] == _RUN:
            remedy = f"put the corner between them, {_FOLLOWS}"
            notes.add(
                (*loc, "path", at), BadValueError("this run follows another with no corner between", remedy)
            )
        if kinds[at] == kinds[at - 1] == _CORNER:
            what = "this corner follows another with no run between"
            notes.add((*loc, "path", at), BadValueError(what, "put the run between them"))
    last = (*loc, "path", len(kinds) - 1)
    if closed and kinds[-1] == _RUN:
        remedy = f"end with the corner back to the first run, {_FOLLOWS}"
        notes.add(last, BadValueError("a closed path ends with a corner", remedy))
    elif closed and runs < LEAST_RING:
        notes.add(
            (*loc, "path"), BadValueError("it has too few runs to close", f"give at least {LEAST_RING}")
        )
    elif not closed and kinds[-1] == _CORNER and len(kinds) > 1:
        remedy = "add the run after it, or write closed = true in the rail"
        notes.add(last, BadValueError("the path ends with a corner", remedy))


def _check_closing(items: Sequence[RunItem | CornerItem | None], loc: Loc, notes: Notes) -> None:
    """One run closes a rail, and it can be cut on site only square."""
    places = [at for at, item in enumerate(items) if isinstance(item, RunItem) and item.closing is not None]
    for at in places[1:]:
        what = f"path item {places[0] + 1} is the closing run already"
        notes.add((*loc, "path", at, "closing"), BadValueError(what, "leave one run long"))
    for at in places:
        ends = [items[place] for place in (at - 1, (at + 1) % len(items)) if 0 <= place < len(items)]
        corners = [item for item in ends if isinstance(item, CornerItem)]
        if len(corners) > 1 and all((item.by or item.corner) is Joint.MITRE for item in corners):
            what = "both of its ends are mitred, so it can't be cut to length on site"
            notes.add((*loc, "path", at, "closing"), BadValueError(what, "leave another run long"))


def _doubt_run(item: RunItem, loc: Loc, notes: Notes) -> None:
    if item.risers is not None and item.rise is not None and abs(item.rise) > DOUBTFUL_RISER_MM:
        rise = format_length(abs(item.rise), notes.units)
        notes.warn(loc, f"a step of {rise} is high; rise and going beside risers are those of one step")


def _doubt_corner(item: CornerItem, loc: Loc, notes: Notes) -> None:
    if item.inside_angle is not None and item.inside_angle < DOUBTFUL_INSIDE_RAD:
        inside, turn = (format_angle(a, 2) for a in (item.inside_angle, math.pi - item.inside_angle))
        bare = inside.removesuffix("°")
        notes.warn(
            loc, f"an inside angle of {inside} is a turn of {turn}; if it is a slope, write turn = {bare}"
        )


def _run(item: RunItem, where: str) -> RunSpec:
    """Length, and pitch where rise and going or the file state it; risers multiply both."""
    extra_mm = 0.0 if item.closing is None else item.closing.extra
    if item.run is not None:
        return RunSpec(where, item.run, item.pitch, item.heading, extra_mm)
    steps = item.risers or 1
    rise_mm, going_mm = steps * (item.rise or 0.0), steps * (item.going or 0.0)
    pitch_rad = math.atan2(rise_mm, going_mm)
    return RunSpec(where, math.hypot(rise_mm, going_mm), pitch_rad, item.heading, extra_mm)


def _corner(item: CornerItem, where: str) -> CornerSpec:
    turn_rad = item.turn if item.inside_angle is None else math.pi - item.inside_angle
    return CornerSpec(where, turn_rad, item.roll, item.towards, item.by or item.corner or Joint.ELBOW)
