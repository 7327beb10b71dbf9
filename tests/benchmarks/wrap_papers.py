"""A wrap as printed, read from its PDF, as a flat paper to lay on an elbow."""

import math

import numpy as np
import shapely

from tests.benchmarks.paper_mesh import FlatPaper, Floats, TabFold
from tests.benchmarks.paper_placement import Options, Placement, Tube, place
from tests.wrap_reader import ReadWrap, read_wrap
from tests.wrap_samples import cut_at, elbow_of, sheet_of_cut

PAPER_MM = 0.1


def paper_of(wrap: ReadWrap, tube: Tube) -> FlatPaper:
    """Outline, slits, folds and seam of a read wrap; heel and throat are lined up with marks on the metal."""
    folds: list[TabFold] = []
    for name in ("HEEL", "THROAT", "SIDE"):
        for number, stay in enumerate(wrap.named(name)):
            label = name.lower() + ("" if name != "SIDE" else "+" if _phi(stay.fold_mm, tube) > 0 else "-")
            phi = {"HEEL": 0.0, "THROAT": _throat(wrap, tube), "SIDE": _side(wrap, tube, number)}[name]
            folds.append(TabFold(label, stay.fold_mm, phi, name != "SIDE"))
    return FlatPaper(_without_tab(wrap), wrap.trace_mm, tuple(folds), wrap.slits_mm, _seam(wrap))


def _phi(fold: Floats, tube: Tube) -> float:
    return float(tube.x_sign * fold[:, 0].mean())


def _throat(wrap: ReadWrap, tube: Tube) -> float:
    """+180° or -180°, by the side of the heel on which the throat stay is drawn."""
    return math.copysign(math.pi, _phi(wrap.named("THROAT")[0].fold_mm, tube))


def _side(wrap: ReadWrap, tube: Tube, number: int) -> float:
    """Girth angle of a side stay, by where it meets the trace edge, to the nearest 5°."""
    stay = wrap.named("SIDE")[number]
    trace = shapely.LineString(wrap.trace_mm)
    root = stay.centre_mm[-1]
    from_heel = trace.project(shapely.Point(root)) - trace.project(shapely.Point(0, 0))
    degrees = math.degrees(tube.x_sign * from_heel / tube.tube_radius_mm)
    return math.radians(5 * round(degrees / 5))


def _seam(wrap: ReadWrap) -> tuple[Floats, Floats]:
    """The free end of the collar, and the line on the seam tab that it is taped to, equally long."""
    tab_end = wrap.end_line_mm[1]
    free = max(wrap.trace_mm[[0, -1]], key=lambda end: float(np.linalg.norm(end - tab_end)))
    ring = np.array(wrap.ring.exterior.coords)[:-1]
    row = int(np.argmin(np.linalg.norm(ring - free, axis=1)))
    trace = shapely.LineString(wrap.trace_mm)
    beside = ring[[row - 1, (row + 1) % len(ring)]]
    corner = max(beside, key=lambda point: float(trace.distance(shapely.Point(point))))
    depth = float(np.linalg.norm(corner - free))
    return np.vstack([free, corner]), np.vstack([tab_end, tab_end + depth * _inward(wrap)])


def _inward(wrap: ReadWrap) -> Floats:
    line = wrap.end_line_mm[0] - wrap.end_line_mm[1]
    return np.asarray(line / np.linalg.norm(line))


def _without_tab(wrap: ReadWrap) -> shapely.Polygon:
    """The outline cut off at the line that the seam tab begins at."""
    tab_end, inward = wrap.end_line_mm[1], _inward(wrap)
    onward = np.array([-inward[1], inward[0]])
    if onward @ (tab_end - wrap.trace_mm.mean(axis=0)) < 0:
        onward = -onward
    depth = float(np.linalg.norm(wrap.end_line_mm[0] - tab_end))
    up, down = tab_end - 2 * inward, tab_end + (depth + 2) * inward
    rest = wrap.ring.difference(shapely.Polygon([up, down, down + 50 * onward, up + 50 * onward]))
    corners = np.array(rest.exterior.coords)[:-1]
    past, taped = (corners - tab_end) @ inward, float(np.linalg.norm(np.diff(_seam(wrap)[0], axis=0)))
    on_line = (np.abs((corners - tab_end) @ onward) < 0.01) & (past > 0.01) & (past < taped - 0.01)
    return shapely.Polygon(corners[~on_line])


def laid(nps: str, kind: str, degrees: float, options: Options | None = None, face: str = "A") -> Placement:
    """The printed wrap of a stock elbow laid on it, the middle of the paper half its thickness off."""
    elbow = elbow_of(nps, kind)
    assert elbow.bend_radius_mm is not None
    cut = math.radians(degrees)
    tube = Tube(elbow.bend_radius_mm, elbow.radius_mm + PAPER_MM / 2, elbow.shoulder_mm, face)
    wrap = read_wrap(sheet_of_cut(cut_at(elbow, cut, "own" if face == "A" else "far"), PAPER_MM))
    return place(paper_of(wrap, tube), tube, cut, options)


def allowed_mm(nps: str) -> float:
    """How far the trace edge may come to lie off the cut: 0.3 mm, or a thousandth of the girth where more."""
    return max(0.3, 2 * math.pi * elbow_of(nps).radius_mm / 1000)
