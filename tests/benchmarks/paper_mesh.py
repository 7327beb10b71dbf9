"""Net of springs over a flat paper outline: triangles of even size, cut open along the slits.

Lengths in mm. Nothing here knows a pipe or an elbow. The net's nodes lie on every edge and slit of the
paper; a node on a slit is doubled, so that no spring joins the two sides of a slit.
"""

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import Delaunay, cKDTree
from shapely.ops import split

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

#: Two points of the paper nearer than this [mm] are the same point; a PDF keeps 0.001 mm or better.
SAME_POINT_MM = 0.01
#: An outline vertex where the edge turns by more than this keeps a node of its own [rad].
CORNER_RAD = np.radians(15.0)


class MeshError(Exception):
    """The paper can't be meshed; the message says where."""


@dataclass(frozen=True)
class TabFold:
    """Fold of one tab, held on the shoulder circle.

    `line` is the fold as drawn, shape (2, 2) or a polyline (n, 2). `phi_rad` is the girth angle of its
    middle. With `hold_round` its middle stays at that angle, as it does when lined up with a mark on the
    metal; without, the tab may slide along the circle, and `phi_rad` only says where to start.
    """

    name: str
    line: Floats
    phi_rad: float
    hold_round: bool = True


@dataclass(frozen=True)
class FlatPaper:
    """A wrap as printed, seen from its printed side, x right and y up [mm].

    `trace_edge` (n, 2) and the two `seam` edges are parts of the outline, or lines inside it: what lies
    beyond a seam edge (the lap) and beyond a fold (the tab) is cut off, as it carries no pull. Both seam
    edges start at the trace edge and are equally long: points at the same distance along them are taped
    together. Slits are lines of no width, cut right through.
    """

    outline: shapely.Polygon
    trace_edge: Floats
    folds: tuple[TabFold, ...]
    slits: tuple[Floats, ...] = ()
    seam: tuple[Floats, Floats] | None = None


@dataclass(frozen=True)
class Net:
    """Springs over the paper.

    `points` (n, 2) flat positions; `springs` (m, 2) node numbers; `lengths` (m,) at rest; `areas` (m,) the
    area of paper that each spring stands for, so that stiffness doesn't depend on the spacing. `trace` node
    numbers along the trace edge in its order; `folds` node numbers along each fold; `seam` (k, 2) nodes that
    are taped together, the first edge's before the second's.
    """

    points: Floats
    triangles: Ints
    springs: Ints
    lengths: Floats
    areas: Floats
    trace: Ints
    folds: tuple[Ints, ...]
    seam: Ints


def net_over(paper: FlatPaper, spacing_mm: float, grain_rad: float = 0.0) -> Net:
    """Mesh the paper at about `spacing_mm` between nodes, one of the net's directions at `grain_rad`."""
    outline = _without_tabs_and_lap(paper)
    ring_nodes = [_sampled_ring(ring, paper, spacing_mm) for ring in (outline.exterior, *outline.interiors)]
    slits = [_sampled_slit(line, outline, spacing_mm) for line in paper.slits]
    points, ring_edges, slit_edges = _numbered([_closed(ring) for ring in ring_nodes], slits)
    n_rim = int(ring_edges.max()) + 1
    sampled = shapely.Polygon(ring_nodes[0], ring_nodes[1:])
    points = np.vstack([points, _inner_points(sampled, points, spacing_mm, grain_rad)])
    triangles, points, ring_edges, slit_edges = _conforming(points, sampled, ring_edges, slit_edges)
    rim = np.unique(ring_edges) if len(ring_edges) else np.arange(n_rim)
    points, triangles, rim = _cut_open(points, triangles, slit_edges, rim)
    springs, areas = _springs(points, triangles)
    lengths = np.hypot(*(points[springs[:, 1]] - points[springs[:, 0]]).T)
    return Net(
        points=points,
        triangles=triangles,
        springs=springs,
        lengths=lengths,
        areas=areas,
        trace=_along(points, rim, paper.trace_edge),
        folds=tuple(_along(points, rim, fold.line) for fold in paper.folds),
        seam=_seam_pairs(points, rim, paper),
    )


def resampled(line: Floats, spacing_mm: float) -> Floats:
    """Points along a polyline, ends included, evenly spaced by at most `spacing_mm`."""
    path = shapely.LineString(line)
    count = max(1, int(np.ceil(path.length / spacing_mm - 1e-9)))
    return np.asarray(
        shapely.get_coordinates(path.interpolate(np.linspace(0.0, 1.0, count + 1), normalized=True))
    )


def _without_tabs_and_lap(paper: FlatPaper) -> shapely.Polygon:
    middle = shapely.LineString(paper.trace_edge).interpolate(0.5, normalized=True)
    outline = paper.outline
    for line in [fold.line for fold in paper.folds] + list(paper.seam or ()):
        parts = [part for part in split(outline, _lengthened(line)).geoms if part.area > SAME_POINT_MM]
        outline = min(parts, key=middle.distance)
    return outline


def _lengthened(line: Floats) -> shapely.LineString:
    """The line with both ends run on a little, so that it surely crosses the outline."""
    line = np.asarray(line, dtype=float)
    ends = [line[0] - line[1], line[-1] - line[-2]]
    ends = [SAME_POINT_MM * end / np.hypot(*end) for end in ends]
    return shapely.LineString(np.vstack([line[0] + ends[0], line, line[-1] + ends[1]]))


def _sampled_ring(ring: Any, paper: FlatPaper, spacing_mm: float) -> Floats:
    """Nodes round one ring of the outline, not closed: its corners, the paper's marks, and points between."""
    path = shapely.LineString(ring.coords)
    corners = _corner_points(np.asarray(ring.coords)[:-1])
    marks = _marks(paper, spacing_mm)
    marks = marks[shapely.distance(path, shapely.points(marks)) < SAME_POINT_MM] if len(marks) else marks
    at_marks = np.unique(np.round(path.project(shapely.points(marks)), 4)) if len(marks) else np.empty(0)
    at_corners = np.asarray(path.project(shapely.points(corners))) if len(corners) else np.empty(0)
    for at in at_corners:
        around = np.abs(at_marks - at)
        if not len(at_marks) or np.minimum(around, path.length - around).min() > 0.2 * spacing_mm:
            at_marks = np.append(at_marks, at)
    at_marks = np.sort(at_marks) if len(at_marks) else np.array([0.0])
    stops = np.append(at_marks, at_marks[0] + path.length)
    samples = [
        np.linspace(a, b, max(1, int(np.ceil((b - a) / spacing_mm - 0.01))), endpoint=False)
        for a, b in pairwise(stops)
        if b - a > SAME_POINT_MM
    ]
    at_nodes = np.mod(np.concatenate(samples), path.length)
    return np.asarray(shapely.get_coordinates(path.interpolate(at_nodes)))


def _corner_points(ring: Floats) -> Floats:
    before, after = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    turn = np.abs(np.arctan2(cross, (before * after).sum(axis=1)))
    return np.asarray(ring[turn > CORNER_RAD])


def _marks(paper: FlatPaper, spacing_mm: float) -> Floats:
    """Points of the paper that must carry a node wherever they lie on its edge."""
    marks = [paper.trace_edge[[0, -1]]]
    for fold in paper.folds:
        halfway = shapely.LineString(fold.line).interpolate(0.5, normalized=True)
        marks.append(np.vstack([fold.line[0], fold.line[-1], shapely.get_coordinates(halfway)]))
    marks += [np.asarray(slit)[[0, -1]] for slit in paper.slits]
    if paper.seam is not None:
        marks += [resampled(edge, spacing_mm) for edge in paper.seam]
    return np.vstack(marks)


def _sampled_slit(line: Floats, outline: shapely.Polygon, spacing_mm: float) -> Floats:
    line = np.array(line, dtype=float)
    rim = shapely.LineString(outline.exterior.coords)
    for end in (0, -1):
        tip = shapely.Point(line[end])
        if rim.distance(tip) < SAME_POINT_MM:
            line[end] = shapely.get_coordinates(rim.interpolate(rim.project(tip)))[0]
    return resampled(line, spacing_mm)


def _closed(ring: Floats) -> Floats:
    return np.vstack([ring, ring[:1]])


def _numbered(rings: list[Floats], slits: list[Floats]) -> tuple[Floats, Ints, Ints]:
    """Give the points of all lines numbers, the same number to the same point; edges as number pairs."""
    lines = rings + slits
    stacked = np.vstack(lines)
    near = np.array(sorted(cKDTree(stacked).query_pairs(SAME_POINT_MM)), dtype=np.int64).reshape(-1, 2)
    graph = coo_array((np.ones(len(near)), (near[:, 0], near[:, 1])), shape=(len(stacked),) * 2)
    _, label = connected_components(graph, directed=False)
    _, first, number = np.unique(label, return_index=True, return_inverse=True)
    order = np.argsort(np.argsort(first))
    number, points = order[number], stacked[np.sort(first)]
    edges, start = [], 0
    for line in lines:
        ids = number[start : start + len(line)]
        pairs = np.column_stack([ids[:-1], ids[1:]])
        edges.append(pairs[pairs[:, 0] != pairs[:, 1]])
        start += len(line)
    none = np.empty((0, 2), dtype=np.int64)
    return points, np.vstack(edges[: len(rings)]), np.vstack([none, *edges[len(rings) :]])


def _inner_points(outline: shapely.Polygon, rim: Floats, spacing_mm: float, grain_rad: float) -> Floats:
    """Hexagonal grid inside the outline, clear of the points already there."""
    c, s = np.cos(grain_rad), np.sin(grain_rad)
    turned = np.array([[c, s], [-s, c]])
    (left, low), (right, high) = np.min(rim @ turned.T, axis=0), np.max(rim @ turned.T, axis=0)
    rows = np.arange(low, high, spacing_mm * np.sqrt(0.75))
    across = np.arange(left - spacing_mm, right, spacing_mm)
    x = across[None, :] + np.where(np.arange(len(rows)) % 2, spacing_mm / 2, 0.0)[:, None]
    grid = np.column_stack([x.ravel(), np.repeat(rows, len(across))]) @ turned
    shapely.prepare(outline)
    grid = grid[shapely.contains_xy(outline, grid[:, 0], grid[:, 1])]
    distance, _ = cKDTree(rim).query(grid)
    return np.asarray(grid[distance > 0.72 * spacing_mm])


def _conforming(
    points: Floats, outline: shapely.Polygon, ring_edges: Ints, slit_edges: Ints
) -> tuple[Ints, Floats, Ints, Ints]:
    """Delaunay triangles inside the outline that have every ring and slit edge as a side.

    A missing side is halved by a new node, and the whole is triangulated again.
    """
    shapely.prepare(outline)
    for _ in range(8):
        triangles = np.asarray(Delaunay(points).simplices, dtype=np.int64)
        centre = points[triangles].mean(axis=1)
        inside = shapely.contains_xy(outline, centre[:, 0], centre[:, 1])
        inside &= np.abs(signed_area(points, triangles)) > 1e-7 * outline.length**2 / len(points)
        triangles = triangles[inside]
        sides = _keys(_sides(triangles).reshape(-1, 2), len(points))
        missing = [~np.isin(_keys(edges, len(points)), sides) for edges in (ring_edges, slit_edges)]
        if not any(lost.any() for lost in missing):
            return triangles, points, ring_edges, slit_edges
        points, ring_edges = _halved(points, ring_edges, missing[0])
        points, slit_edges = _halved(points, slit_edges, missing[1])
    raise MeshError("the outline or a slit has an edge too sharp to mesh")


def _halved(points: Floats, edges: Ints, which: NDArray[np.bool_]) -> tuple[Floats, Ints]:
    cut = edges[which]
    middle = np.arange(len(cut)) + len(points)
    halves = np.vstack([np.column_stack([cut[:, 0], middle]), np.column_stack([middle, cut[:, 1]])])
    return np.vstack([points, points[cut].mean(axis=1)]), np.vstack([edges[~which], halves])


def signed_area(points: Floats, triangles: Ints) -> Floats:
    a, b, c = (points[triangles[:, i]] for i in range(3))
    ab, ac = b - a, c - a
    return np.asarray(0.5 * (ab[:, 0] * ac[:, 1] - ab[:, 1] * ac[:, 0]))


def _sides(triangles: Ints) -> Ints:
    """The three sides of each triangle, shape (n, 3, 2)."""
    return np.stack([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]], axis=1)


def _keys(pairs: Ints, count: int) -> Ints:
    return np.asarray(pairs.min(axis=1) * count + pairs.max(axis=1))


def _cut_open(points: Floats, triangles: Ints, slit_edges: Ints, rim: Ints) -> tuple[Floats, Ints, Ints]:
    """Give each side of a slit its own nodes.

    The corners of all triangles start apart; two triangles with a common side that isn't a slit share that
    side's two corners. What is joined so is one node.
    """
    sides = _sides(triangles).reshape(-1, 2)
    corner = np.arange(len(triangles) * 3).reshape(-1, 3)
    ends = _sides(corner).reshape(-1, 2)
    swap = sides[:, 0] > sides[:, 1]
    ends[swap] = ends[swap][:, ::-1]
    keys = _keys(sides, len(points))
    order = np.argsort(keys, kind="stable")
    same = keys[order][1:] == keys[order][:-1]
    same &= ~np.isin(keys[order][1:], _keys(slit_edges, len(points)))
    one, other = ends[order][:-1][same], ends[order][1:][same]
    rows, columns = one.ravel(), other.ravel()
    graph = coo_array((np.ones(len(rows)), (rows, columns)), shape=(corner.size,) * 2)
    count, label = connected_components(graph, directed=False)
    old = np.empty(count, dtype=np.int64)
    old[label] = triangles.ravel()
    return points[old], label[corner].astype(np.int64), np.flatnonzero(np.isin(old, rim))


def _springs(points: Floats, triangles: Ints) -> tuple[Ints, Floats]:
    """Each side once, and a third of the area of the one or two triangles that it belongs to."""
    keys = _keys(_sides(triangles).reshape(-1, 2), len(points))
    unique, number = np.unique(keys, return_inverse=True)
    third = np.repeat(np.abs(signed_area(points, triangles)) / 3.0, 3)
    springs = np.column_stack([unique // len(points), unique % len(points)])
    return springs, np.asarray(np.bincount(number, weights=third), dtype=np.float64)


def _along(points: Floats, rim: Ints, line: Floats) -> Ints:
    """Nodes of the rim that lie on the line, in its order."""
    path, at = shapely.LineString(line), shapely.points(points[rim])
    on = shapely.distance(path, at) < SAME_POINT_MM
    if on.sum() < 2:
        raise MeshError("the trace edge, a seam edge or a fold isn't on the outline")
    return np.asarray(rim[on][np.argsort(path.project(at[on]), kind="stable")])


def _seam_pairs(points: Floats, rim: Ints, paper: FlatPaper) -> Ints:
    if paper.seam is None:
        return np.empty((0, 2), dtype=np.int64)
    one, other = (_along(points, rim, edge) for edge in paper.seam)
    if len(one) != len(other):
        raise MeshError("the two seam edges are not equally long")
    return np.column_stack([one, other])
