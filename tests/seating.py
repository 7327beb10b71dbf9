"""Sawn pipes held, turned and slid until they touch what they are to sit on, and how well they do.

A pose (3, 4) is a pipe's frame in space (3, 3), then where its sawn first end is.
"""

from __future__ import annotations

import math
import re

import numpy as np

from tests.bench_packs import Pack, lengths_of
from tests.hands import SawnPipe
from tests.job_in_space import UP, Array, Distance, MidRail, Post, line_distance, unit

TOUCH_MM = 0.05
PRINT_MM = 0.02
"""What rounding on paper and chords of the printed line may add to it."""
_WAYS = {"upper": 1.0, "lower": -1.0}
_EDGES = {"first": slice(None), "outer": slice(-1, None), "bore": slice(0, 1)}


def facing_way(words: str, forward: Array) -> Array:
    """Which way in space a side is, by its name on the sheet."""
    (name,) = re.findall(r"\b(forward|back|uphill|downhill|upper|lower)\b", words)
    if name in _WAYS:
        return _WAYS[name] * UP
    climbs = 1.0 if forward @ UP > 0 else -1.0
    return forward * {"forward": 1.0, "back": -1.0, "uphill": climbs, "downhill": -climbs}[name]


def stood(pipe: SawnPipe, end: str, along: Array, forward: Array) -> Array:
    """The frame (3, 3) of a pipe held along a direction, the side that its words name turned that way."""
    words, girth = pipe.facing(end)
    way = facing_way(words, forward)
    way = unit(way - (way @ along) * along)
    zero = math.cos(girth) * way - math.sin(girth) * np.cross(along, way)
    return np.stack([zero, np.cross(along, zero), along], axis=1)


def put(points: Array, pose: Array) -> Array:
    """Points of a pipe where its pose has them."""
    return np.asarray(points @ pose[:, :3].T + pose[:, 3])


def round_from_zero(pose: Array, turned_rad: float) -> Array:
    """The way out of a posed pipe at an angle round from its 0° line."""
    return np.asarray(math.cos(turned_rad) * pose[:, 0] + math.sin(turned_rad) * pose[:, 1])


def slid_on(wall: Array, way: Array, header: Distance, bears_on: str = "first") -> float:
    """How far a cut goes along a way until it first touches; from 200 mm short of where it is."""
    low, high, edges = -200.0, 200.0, _EDGES[bears_on]
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (middle, high) if header(wall[:, edges] + middle * way).min() > 0 else (low, middle)
    return low


def assert_seated(clear: Array, bears_on: str = "first") -> None:
    """Clearance (rows, radii) of a wall: what bears touches all round, and nothing that matters enters."""
    bearing = {"first": clear.min(axis=1), "outer": clear[:, -1], "bore": clear[:, 0]}[bears_on]
    assert np.abs(bearing).max() < TOUCH_MM + PRINT_MM


def pushed_up(pipe: SawnPipe, post: Post, start: Array, over: Distance, bears_on: str = "first") -> Array:
    """The pose of a post's pipe, pushed up from a point for its first end until it touches what is over."""
    frame = stood(pipe, "second end", post.stands, post.forward)
    wall = put(pipe.wall("second end"), np.column_stack([frame, start]))
    return np.column_stack([frame, start + slid_on(wall, post.stands, over, bears_on) * post.stands])


def hung(pack: Pack, post: Post) -> tuple[SawnPipe, Array]:
    """A post, or its upper length, under its rail, and its pose."""
    pipe = lengths_of(pack, post)[0]
    start = post.top - pipe.blank_mm * post.stands
    return pipe, pushed_up(pipe, post, start, post.header, post.row.get("bears_on", "first"))


def post_line(post: Post) -> Distance:
    """Clearance to a post's outside, as if it had no ends."""
    return line_distance(post.top, post.stands, post.tube.radius_mm)


def laid(pack: Pack, mid: MidRail) -> tuple[SawnPipe, Array]:
    """A mid rail slid along its line onto its first post, and its pose."""
    pipe = pack.pipe(mid.mark, mid.row.get("size", pack.job["pipe"]["size"]))
    frame = stood(pipe, "first end", mid.run.way, mid.run.way)
    start = mid.at + mid.first.along_mm * mid.run.way
    wall = put(pipe.wall("first end"), np.column_stack([frame, start]))
    lift = slid_on(wall, -mid.run.way, post_line(mid.first), mid.row.get("bears_on", "first"))
    return pipe, np.column_stack([frame, start - lift * mid.run.way])
