"""The line that a stay is laid by: midway between its edges, from its fold to the trace edge."""

from __future__ import annotations

import math

import numpy as np
import shapely
from numpy.typing import NDArray

from tests.wrap_reader import ReadStay, ReadWrap

Array = NDArray[np.float64]


def to_trace(stay: ReadStay, wrap: ReadWrap) -> Array:
    """The middle of a stay from its fold to the trace edge, over the bridge with its last bend."""
    middle = stay.centre_mm
    bend, heading_end = last_bend(stay, middle)
    reach = 3 * wrap.bridge_mm
    steps = np.linspace(0, reach, 31)[1:]
    heading = heading_end + bend * (steps - steps[0] / 2)
    ahead = middle[-1] + np.cumsum(steps[0] * np.column_stack([np.cos(heading), np.sin(heading)]), axis=0)
    chain = np.vstack([middle, ahead])
    trace = shapely.LineString(wrap.trace_mm)
    line = shapely.LineString(chain)
    crossing = line.intersection(trace)
    assert crossing.geom_type == "Point"
    gone = line.project(crossing)
    sofar = np.append(0.0, np.cumsum(np.hypot(*np.diff(chain, axis=0).T)))
    return np.vstack([chain[sofar < gone - 1e-9], [crossing.x, crossing.y]])


def last_bend(stay: ReadStay, middle: Array) -> tuple[float, float]:
    """Curvature and heading at the end of a stay's line, by two chords over its last half or more.

    A line of one chord starts square to its fold.
    """
    back = np.cumsum(np.hypot(*np.diff(middle, axis=0).T)[::-1])[::-1]
    if len(back) == 1:
        chords, apart = np.array([fold_heading(stay), middle[-1] - middle[0]]), back[0] / 2
    else:
        between = 1 + int(np.argmin(np.abs(back[1:] - 0.35 * back[0])))
        first = int(np.argmin(np.abs(back[:between] - 1.8 * back[between])))
        chords, apart = np.diff(middle[[first, between, -1]], axis=0), back[first] / 2
    headings = np.unwrap(np.arctan2(chords[:, 1], chords[:, 0]))
    bend = float(headings[1] - headings[0]) / float(apart)
    return bend, float(headings[1]) + bend * math.hypot(*chords[1]) / 2


def fold_heading(stay: ReadStay) -> Array:
    across = stay.fold_mm[1] - stay.fold_mm[0]
    return np.array([-across[1], across[0]])
