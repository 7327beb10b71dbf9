"""The dimensions that a fit-up drawing wants: of runs, over all, and diagonals."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from render.pages.drawing import Point
from render.sheets.dimension_places import Span
from render.sheets.fit_up_look import Look
from render.sheets.fit_up_scene import Scene
from templates_core.fitting_up.fit_up import overall_ways
from templates_core.fitting_up.metal import corner_parts, reach_mm
from templates_core.paths.directions import Vector
from templates_core.units import format_length


def run_spans(look: Look, place: int, short: bool) -> list[Span]:
    """The pipe end to end, then work points, then heel to heel; short: in few words."""
    scene = look.scene
    sizes = next(one for one in scene.rail.fit_up.runs if one.run_number == scene.runs[place].run_number)
    run = scene.runs[place]
    wanted: list[tuple[tuple[Vector, Vector], tuple[str, str], float]] = []
    if sizes.end_to_end is not None:
        mark = sizes.pipe or ""
        wanted.append(((run.start_mm, run.end_mm), (f"pipe {mark}", mark), sizes.end_to_end.length_mm))
    wanted.append((scene.work_points(place), ("work points", "WP"), sizes.work_points.length_mm))
    if sizes.heel_to_heel is not None:
        wanted.append((_heels(scene, place), ("heel to heel", "heels"), sizes.heel_to_heel.length_mm))
    made = []
    for points, words, length in wanted:
        start, end = (look.seen(point) for point in points)
        text = f"{words[short]} {format_length(length, scene.units, with_unit=False)}"
        made.append(Span(start, end, text, look.away((start, end)), look.half_mm))
    return made


def _heels(scene: Scene, place: int) -> tuple[Vector, Vector]:
    """Outermost points along a run, on its own centreline."""
    run, count = scene.runs[place], len(scene.runs)
    reached = []
    for corner_place, way, bare in (
        ((place - 1) % count if scene.path.closed or place else None, -run.direction, run.start_mm),
        (place if scene.path.closed or place < count - 1 else None, run.direction, run.end_mm),
    ):
        reach = float(way @ bare)
        if corner_place is not None:
            parts, _ = corner_parts(scene.path, corner_place, scene.rail.corners[corner_place])
            reach = reach_mm(parts, way, scene.radius_mm)
        reached.append(bare + (reach - float(way @ bare)) * way)
    return reached[0], reached[1]


def overall_spans(look: Look) -> Iterator[Span]:
    """Length and width over all of a flat rail, below it and beside it, from its outermost points."""
    rail, view = look.scene.rail, look.view
    overall = rail.fit_up.overall
    points = look.seen_all(np.vstack([tube.rings_mm.reshape(-1, 3) for tube in look.scene.tubes]))
    for way, size in zip(overall_ways(rail.path), (overall.length, overall.width), strict=False):
        along = np.array([float(way @ view.right), float(way @ view.up)])
        across = np.array([along[1], -along[0]])
        if across[1] > 1e-6 or (abs(across[1]) <= 1e-6 and across[0] > 0):
            across = -across
        side = float((points @ across).max())
        found = [
            points[int((sign * (points @ along) + 1e-6 * (points @ across)).argmax())] for sign in (-1, 1)
        ]
        start, end = (_pair(foot + (side - float(foot @ across)) * across) for foot in found)
        text = f"overall {format_length(size.length_mm, look.scene.units, with_unit=False)}"
        yield Span(start, end, text, _pair(across), feet=(_pair(found[0]), _pair(found[1])))


def _pair(values: Vector) -> Point:
    return float(values[0]), float(values[1])


def diagonal_spans(look: Look) -> Iterator[Span]:
    """Every diagonal between runs that are drawn, by its number in the table."""
    scene = look.scene
    for order, diagonal in enumerate(scene.rail.fit_up.diagonals, 1):
        first, last = (_place_of(scene, run) for run in (diagonal.from_run, diagonal.to_run))
        if diagonal.length_mm is None or not {first, last} <= set(scene.places):
            continue
        start, end = (
            look.seen(scene.runs[first].start_mm),
            look.seen(scene.runs[last].end_mm),
        )
        text = f"D{order} {format_length(diagonal.length_mm, scene.units, with_unit=False)}"
        yield Span(start, end, text, look.away((start, end)), look.half_mm)


def _place_of(scene: Scene, run_number: int) -> int:
    return next(i for i, run in enumerate(scene.runs) if run.run_number == run_number)
