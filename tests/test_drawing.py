import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, Polygon
from shapely import box as shapely_box

from render.pages.clip import clip_segment, clipped, crosses
from render.pages.drawing import Anchor, Drawing, Line, Pen, Point, Polyline, Text, drawing
from render.pages.pdf import text_width_mm
from render.pages.shapes import Box, arc, arrowhead, bounds, circle, dimension, readable, text_box
from tests.settings import seeded

NUMBERS = st.floats(-50.0, 50.0, allow_nan=False)
POINTS = st.tuples(NUMBERS, NUMBERS)
BOX = Box(-20.0, -10.0, 15.0, 25.0)


def test_moved_turns_anticlockwise_then_moves() -> None:
    put = drawing([Line((10.0, 0.0), (10.0, 5.0)), Text((1.0, 0.0), "A")]).moved(100.0, 0.0, math.pi / 2.0)
    line, text = put.items
    assert isinstance(line, Line) and isinstance(text, Text)
    assert line.start == pytest.approx((100.0, 10.0)) and line.end == pytest.approx((95.0, 10.0))
    assert text.at == pytest.approx((100.0, 1.0)) and text.angle_rad == pytest.approx(math.pi / 2.0)


def test_only_the_trace_edge_is_half_a_millimetre_wide() -> None:
    assert [pen for pen in Pen if pen.width_mm >= 0.45] == [Pen.TRACE]


@seeded(200)
@given(POINTS, POINTS)
def test_clipped_segment_agrees_with_shapely(start: Point, end: Point) -> None:
    part = clip_segment(start, end, BOX)
    expected = LineString([start, end]).intersection(shapely_box(-20.0, -10.0, 15.0, 25.0)).length
    assert (math.dist(*part) if part else 0.0) == pytest.approx(expected, abs=1e-9)


@seeded(100)
@given(st.lists(POINTS, min_size=3, max_size=12), st.booleans())
def test_clipped_chain_keeps_just_the_length_inside(points: list[Point], closed: bool) -> None:
    kept = clipped([Polyline(tuple(points), Pen.TRACE, closed)], BOX)
    whole = [*points, points[0]] if closed else points
    pairs = itertools.pairwise(whole)
    inside = shapely_box(-20.0, -10.0, 15.0, 25.0)
    expected = sum(LineString(pair).intersection(inside).length for pair in pairs)
    lengths = []
    for item in kept:
        assert isinstance(item, Polyline) and item.pen is Pen.TRACE
        path = (*item.points, item.points[0]) if item.closed else item.points
        lengths.append(sum(math.dist(a, b) for a, b in itertools.pairwise(path)))
    assert sum(lengths) == pytest.approx(expected, abs=1e-8)


def test_clipped_arrowhead_stays_filled_and_inside() -> None:
    (kept,) = clipped([arrowhead((16.0, 0.0), 0.0)], BOX).items
    assert isinstance(kept, Polyline) and kept.filled
    whole = Polygon(arrowhead((16.0, 0.0), 0.0).points)
    inside = whole.intersection(shapely_box(-20.0, -10.0, 15.0, 25.0))
    assert Polygon(kept.points).area == pytest.approx(inside.area, abs=1e-12)


def test_texts_are_kept_whole_or_left_out() -> None:
    inside, across = Text((0.0, 0.0), "whole"), Text((14.0, 0.0), "cut")
    assert clipped([inside, across], BOX).items == (inside,)
    assert crosses([across], BOX) and not crosses([Text((40.0, 0.0), "far")], BOX)


def test_text_box_is_turned_with_its_text_and_starts_at_its_anchor() -> None:
    width_mm = text_width_mm("12.5", 10.0)
    upright = text_box(Text((5.0, 5.0), "12.5", 10.0, Anchor.END, math.pi / 2.0))
    ys = [y for _, y in upright]
    xs = [x for x, _ in upright]
    assert (min(ys), max(ys)) == pytest.approx((5.0 - width_mm, 5.0))
    assert max(xs) - min(xs) == pytest.approx(10.0 * 25.4 / 72.0)
    assert min(xs) < 5.0 - 2.0, "letters stand to the left of a baseline that goes up"


def test_arc_chords_stay_within_the_named_error() -> None:
    points = arc((3.0, 4.0), 57.15, 0.2, 1.9, max_chord_error_mm=0.02).points
    sags = [
        57.15 - math.dist(((a[0] + b[0]) / 2, (a[1] + b[1]) / 2), (3.0, 4.0))
        for a, b in itertools.pairwise(points)
    ]
    assert 0.005 < max(sags) <= 0.02 + 1e-12
    assert points[0] == pytest.approx((3.0 + 57.15 * math.cos(0.2), 4.0 + 57.15 * math.sin(0.2)))
    assert points[-1] == pytest.approx((3.0 + 57.15 * math.cos(1.9), 4.0 + 57.15 * math.sin(1.9)))


def test_circle_has_its_area_and_bounds_take_in_the_pen() -> None:
    assert Polygon(circle((0.0, 0.0), 20.0).points).area == pytest.approx(math.pi * 400.0, rel=1e-3)
    box = bounds([Line((0.0, 0.0), (10.0, 0.0), Pen.TRACE)])
    assert (box.bottom, box.top, box.right) == pytest.approx((-0.25, 0.25, 10.25))


def test_an_empty_drawing_has_no_bounds() -> None:
    with pytest.raises(ValueError, match="empty"):
        bounds(Drawing())


@pytest.mark.parametrize("degrees", range(-180, 181, 15))
def test_dimension_text_reads_from_below_or_from_the_right_and_clears_its_line(degrees: int) -> None:
    angle_rad = math.radians(degrees)
    end = (60.0 * math.cos(angle_rad), 60.0 * math.sin(angle_rad))
    items = dimension((0.0, 0.0), end, 8.0, "60.0").items
    (text,) = (item for item in items if isinstance(item, Text))
    assert -90.0 < math.degrees(text.angle_rad) <= 90.0 + 1e-6
    lines = [LineString([item.start, item.end]) for item in items if isinstance(item, Line)]
    assert all(Polygon(text_box(text)).distance(line) > 0.1 for line in lines)
    tips = [item.points[0] for item in items if isinstance(item, Polyline)]
    assert math.dist(*tips) == pytest.approx(60.0)


@pytest.mark.parametrize("degrees", [0, 90, 180, 270])
def test_a_short_dimension_puts_its_text_outside(degrees: int) -> None:
    angle_rad = math.radians(degrees)
    end = (4.0 * math.cos(angle_rad), 4.0 * math.sin(angle_rad))
    items = dimension((0.0, 0.0), end, -8.0, "4.0").items
    (text,) = (item for item in items if isinstance(item, Text))
    lines = [LineString([item.start, item.end]) for item in items if isinstance(item, Line)]
    assert all(Polygon(text_box(text)).distance(line) > 0.1 for line in lines)


def test_readable_leaves_upright_text_alone() -> None:
    assert readable(math.pi / 2.0) == pytest.approx(math.pi / 2.0)
    assert readable(-math.pi / 2.0) == pytest.approx(math.pi / 2.0)
    assert readable(math.pi) == pytest.approx(0.0)
