"""Finds texts that run into each other or into lines on a sheet as written, and what leaves its margins."""

from __future__ import annotations

import math

from shapely import LineString, Polygon, STRtree

from tests.pdf_reader import Point, Sheet, Stroke

INK_SLACK_MM = 0.2
"""Letters fill less than the room a font gives them; boxes are shrunk by this on each side."""


def text_overlaps(sheet: Sheet) -> list[str]:
    """Each pair of words, and word and line, that overlap; empty on a clean sheet."""
    words = [word for word in sheet.words if word.text.strip()]
    rooms = [Polygon(word.corners).buffer(-INK_SLACK_MM, join_style="mitre") for word in words]
    found = []
    tree = STRtree(rooms)
    for i, room in enumerate(rooms):
        found += [f"{words[i].text!r} on {words[j].text!r}" for j in tree.query(room, "intersects") if j > i]
    for stroke in sheet.strokes:
        ink = _ink(stroke)
        found += [f"{words[j].text!r} on {_named(stroke)}" for j in tree.query(ink, "intersects")]
    return found


def outside_margins(sheet: Sheet, margin_mm: float = 6.35) -> list[str]:
    """Words and lines that come nearer to the edge of the page than the margin."""
    found = []
    things: list[tuple[tuple[Point, ...], float, str]]
    things = [(word.corners, 0.0, word.text) for word in sheet.words]
    things += [(s.points, 0.0 if s.filled else s.width_mm / 2.0, _named(s)) for s in sheet.strokes]
    for points, half_mm, name in things:
        xs, ys = [x for x, _ in points], [y for _, y in points]
        near = min(*xs, *ys, sheet.width_mm - max(xs), sheet.height_mm - max(ys)) - half_mm
        if near < margin_mm - 1e-3:
            found.append(f"{near:.2f} mm from the edge: {name}")
    return found


def _ink(stroke: Stroke) -> Polygon | LineString:
    if stroke.filled:
        return Polygon(stroke.points)
    line = LineString(stroke.path)
    return line.buffer(stroke.width_mm / 2.0, quad_segs=2)


def _named(stroke: Stroke) -> str:
    x, y = stroke.points[0]
    return f"a {stroke.width_mm:.2f} mm line from ({x:.1f}, {y:.1f})"


def crowded_words(sheet: Sheet, clear_mm: float) -> list[str]:
    """Each word that runs along a line and comes nearer to it than clear_mm, letters as high as they get.

    Lines across the reading direction, such as leaders that end at a word, don't count.
    """
    found = []
    words = [word for word in sheet.words if word.text.strip()]
    rooms = [Polygon(word.corners) for word in words]
    tree = STRtree(rooms)
    for stroke in sheet.strokes:
        if stroke.filled or len(stroke.points) != 2:
            continue
        (x1, y1), (x2, y2) = stroke.points
        length = math.dist(*stroke.points)
        line = LineString(stroke.points)
        for j in tree.query(line.buffer(clear_mm), "intersects"):
            angle = words[j].angle_rad
            across = abs((x2 - x1) * math.sin(angle) - (y2 - y1) * math.cos(angle))
            if across < 0.1 * length and length > 4.0 and rooms[j].distance(line) < clear_mm:
                found.append(f"{words[j].text!r} beside {_named(stroke)}")
    return found


def lines_on(sheet: Sheet, foot_mm: float = 23.0) -> int:
    """How many lines of text stand over the title block."""
    return len({round(word.at[1], 1) for word in sheet.words if word.at[1] > foot_mm and not word.angle_rad})
