import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Literal

import pytest

from render.pages.drawing import Polyline, Text
from render.pages.paper import Layout, paper_named
from render.pages.pdf import Metadata, write_pdf
from render.pages.shapes import Box, box_round
from render.pages.title_block import JobLabel, with_title_blocks
from render.sheets.bench_sheet import bench_pages
from render.sheets.kerf_detail import MARK_MM, Part, kerf_detail
from templates_core.jobs.job_file import parse_job
from templates_core.model import Model, build_model
from tests.layout_checks import outside_margins, text_overlaps
from tests.pdf_reader import Point, Sheet, Stroke, Word, read_pack

LABEL = JobLabel("Heron Slip boathouse steps", "HS-014", "A", "3f9a2c1d")
NPS_1_1_2, NPS_10 = 'size = "NPS 1-1/2"\nschedule = "40"', 'size = "NPS 10"\nschedule = "40"'
REAL = """[[elbow]]
name = "bent tube"
bend_radius = "57.15 mm"
sweep = 90
tangent_a = "12 mm"
tangent_b = "30 mm"
"""
TIGHT = "least_throat = 6\nleast_scrap = 2"
TENTH_MM = 0.1
Kind = Literal["clear", "centred"]
DRAWN_MM = 0.011  # a drawn chord may leave its arc by 0.01


def model(
    *corners: str,
    pipe: str = NPS_1_1_2,
    stock: str = "90 long radius",
    ends: str = "bevelled",
    units: str = "mm",
    more: str = "",
    shop: str = "",
) -> Model:
    run = '{ run = "3 m" }'
    turns = [f'{{ towards = "left", {corner} }}' for corner in corners]
    path = ", ".join([run, *(item for turn in turns for item in (turn, run))])
    text = f"""
title = "Heron Slip"
units = "{units}"
[pipe]
{pipe}
[elbows]
stock = ["{stock}"]
ends = "{ends}"
[shop]
{shop}
{more}
[[rail]]
mark = "A"
path = [{path}]
"""
    return build_model(parse_job(text.encode(), "job.toml"))


def sheets(tmp_path: Path, of: Model, paper: str = "A4") -> list[Sheet]:
    pages = with_title_blocks(bench_pages(of, Layout(paper_named(paper))), LABEL)
    write_pdf(tmp_path / "bench.pdf", pages, Metadata("HS-014", "Bench sheets"))
    return read_pack(tmp_path / "bench.pdf")


@dataclass(frozen=True)
class ReadPlan:
    """What is seen on a sheet: points from the bend centre, x along the axis of the face measured from."""

    sheet: Sheet
    centre: Point
    x_axis: Stroke
    cut: Stroke

    def seen(self, point: Point) -> Point:
        return (point[0] - self.centre[0], point[1] - self.centre[1])

    def radius(self, point: Point) -> float:
        return math.dist(point, self.centre)

    def angle(self, point: Point) -> float:
        return math.atan2(point[1] - self.centre[1], point[0] - self.centre[0])

    @property
    def cut_rad(self) -> float:
        return self.angle(max(self.cut.points, key=self.radius))

    def circle_of(self, radius_mm: float) -> Stroke:
        """The longest chain of drawn lines that keeps this distance from the bend centre."""
        chains = [
            stroke
            for stroke in self.sheet.with_width(0.25)
            if all(abs(self.radius(p) - radius_mm) < 1e-3 for p in stroke.points)
        ]
        return max(chains, key=lambda stroke: stroke.length_mm)


def middle(word: Word) -> Point:
    (ax, ay), _, (cx, cy), _ = word.corners
    return ((ax + cx) / 2, (ay + cy) / 2)


def read_plan(sheet: Sheet) -> ReadPlan:
    """The bend centre is where the axes start; the cut line is the heavy line that points away from it."""
    axes = [
        stroke for stroke in sheet.with_width(0.13) if len(stroke.dash_mm) == 4 and len(stroke.points) == 2
    ]
    starts = [stroke.points[0] for stroke in axes]
    centre = next(start for start in starts if starts.count(start) == 2)
    x_axis = next(a for a in axes if a.points[0] == centre and abs(a.points[1][1] - centre[1]) < 1e-6)
    heavy = [stroke for stroke in sheet.with_width(0.35) if len(stroke.points) == 2]
    pointing = [stroke for stroke in heavy if abs(off_line(centre, *stroke.points)) < 1e-3]
    return ReadPlan(sheet, centre, x_axis, max(pointing, key=lambda stroke: stroke.length_mm))


def off_line(point: Point, start: Point, end: Point) -> float:
    """Distance of a point to the left of the line through two others."""
    (px, py), (ax, ay), (bx, by) = point, start, end
    return ((bx - ax) * (py - ay) - (by - ay) * (px - ax)) / math.dist(start, end)


def length_to_line(plan: ReadPlan, arc: Stroke) -> float:
    """Length along a drawn chain from its end on the x axis to where the cut line crosses it."""
    points = arc.points if abs(plan.angle(arc.points[0])) < 1e-6 else arc.points[::-1]
    total = 0.0
    for start, end in pairwise(points):
        here, there = (off_line(p, *plan.cut.points) for p in (start, end))
        if here * there < 0.0:
            return total + math.dist(start, end) * here / (here - there)
        total += math.dist(start, end)
    raise AssertionError("the cut line does not cross it")


def row_of(sheet: Sheet, name: str, after: str) -> list[float]:
    """Figures of the first row with that name in its first cell, below the title of its table."""
    title = next(word for word in sheet.words if word.text.startswith(after))
    below = [w for w in sheet.words if w.text == name and w.at[1] < title.at[1] and w.size_pt < 8.5]
    first = max(below, key=lambda word: word.at[1])
    cells = [w for w in sheet.words if abs(w.at[1] - first.at[1]) < 0.01 and w.at[0] > first.at[0]]
    return [float(word.text) for word in sorted(cells, key=lambda word: word.at[0])]


def test_a_published_elbow_is_as_long_on_paper_as_its_book_says(tmp_path: Path) -> None:
    # 10 in long radius elbow cut at 38°: heel 13.513, throat 6.384 in (HVAC&R Weekly no. 14).
    (sheet,) = sheets(tmp_path, model("turn = 38", pipe=NPS_10, ends="square"), "roll 914")
    plan = read_plan(sheet)
    for radius_in, arc_in in ((15.0 + 5.375, 13.513), (15.0 - 5.375, 6.384)):
        arc = plan.circle_of(radius_in * 25.4)
        assert length_to_line(plan, arc) == pytest.approx(arc_in * 25.4, abs=0.0006 * 25.4)
    assert math.degrees(plan.cut_rad) == pytest.approx(38.0, abs=1e-3)


@pytest.mark.parametrize(("turn", "line"), [(32.7, 32.7), (58.0, 58.0), (70.0, 20.0)])
def test_the_cut_line_runs_from_squaring_mark_to_squaring_mark_through_the_bend_centre(
    tmp_path: Path, turn: float, line: float
) -> None:
    (sheet,) = sheets(tmp_path, model(f"turn = {turn}"))
    plan = read_plan(sheet)
    assert math.degrees(plan.cut_rad) == pytest.approx(line, abs=2e-3)
    inner, outer = sorted(plan.cut.points, key=plan.radius)
    assert plan.radius(outer) > 57.15 + 24.13 + 10.0, "a square stands past the heel"
    assert 5.0 < plan.radius(inner) < 57.15 - 24.13 - 10.0, "and past the throat"
    for end in (inner, outer):
        bars = [
            stroke
            for stroke in sheet.with_width(0.35)
            if math.dist(end, mid(*stroke.points[:2])) < 1e-3 and stroke is not plan.cut
        ]
        assert len(bars) == 1
        (ax, ay), (bx, by) = bars[0].points
        (cx, cy), (dx, dy) = plan.cut.points
        assert (bx - ax) * (dx - cx) + (by - ay) * (dy - cy) == pytest.approx(0.0, abs=0.01)


def mid(a: Point, b: Point) -> Point:
    return ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)


@pytest.mark.parametrize(("turn", "units"), [(32.7, "mm"), (32.7, "in"), (60.0, "mm"), (70.0, "mm")])
def test_printed_coordinates_are_those_of_the_drawn_line(tmp_path: Path, turn: float, units: str) -> None:
    (sheet,) = sheets(tmp_path, model(f"turn = {turn}", units=units))
    plan = read_plan(sheet)
    unit, slack = (25.4, 0.0005) if units == "in" else (1.0, 0.005)
    tan = math.tan(math.radians(turn if turn <= 60 else 90 - turn))
    for name, radius in (("throat", 33.02), ("side", 57.15), ("heel", 81.28), ("P", None)):
        x, y, from_centre = row_of(sheet, name, "To lay it out")
        assert y == pytest.approx(x * tan, abs=3 * slack)
        assert math.hypot(x, y) == pytest.approx(from_centre, abs=2 * slack)
        at = (plan.centre[0] + x * unit, plan.centre[1] + y * unit)
        assert abs(off_line(at, *plan.cut.points)) < 2 * slack * unit + 1e-3
        assert radius is None or from_centre * unit == pytest.approx(radius, abs=slack * unit + 1e-9)
    x, y, _ = row_of(sheet, "P", "To lay it out")
    assert (x / (1.0 if units == "mm" else 0.0625)).is_integer(), "a figure that a rule can set"
    ring = min(
        (s for s in sheet.with_width(0.13) if s.closed and len(s.points) > 8),
        key=lambda s: abs(s.points[0][0] - plan.centre[0] - x * unit - 0.9),
    )
    rx = sum(p[0] for p in ring.points) / len(ring.points) - plan.centre[0]
    ry = sum(p[1] for p in ring.points) / len(ring.points) - plan.centre[1]
    assert (rx, ry) == pytest.approx((x * unit, y * unit), abs=slack * unit + 0.01)


@pytest.mark.parametrize("units", ["mm", "in"])
def test_printed_arcs_are_as_long_as_the_drawn_ones(tmp_path: Path, units: str) -> None:
    (sheet,) = sheets(tmp_path, model("turn = 47", units=units, ends="square"))
    plan = read_plan(sheet)
    unit, slack = (25.4, 0.0005) if units == "in" else (1.0, 0.005)
    for name, radius in (("heel", 81.28), ("throat", 33.02)):
        arc_mm, chord_mm = (figure * unit for figure in row_of(sheet, name, "FACE A to the cut"))
        drawn = plan.circle_of(radius)
        assert length_to_line(plan, drawn) == pytest.approx(arc_mm, abs=slack * unit + DRAWN_MM)
        crossing = (radius * math.cos(plan.cut_rad), radius * math.sin(plan.cut_rad))
        assert math.dist(crossing, (radius, 0.0)) == pytest.approx(chord_mm, abs=slack * unit + DRAWN_MM)
    ordinates = [row_of(sheet, f"{degrees}°", "Ordinates")[1] for degrees in (15, 30, 45, 60, 75, 105, 165)]
    assert ordinates == sorted(ordinates, reverse=True)
    round_mm, arc_mm = (figure * unit for figure in row_of(sheet, "60°", "Ordinates"))
    assert round_mm == pytest.approx(math.pi * 48.26 / 6, abs=slack * unit)
    assert arc_mm == pytest.approx(math.radians(47) * (57.15 + 24.13 / 2), abs=slack * unit)


def test_a_bevel_shows_its_shoulder_where_the_table_measures_from(tmp_path: Path) -> None:
    (sheet,) = sheets(tmp_path, model("turn = 32.7"))
    plan = read_plan(sheet)
    from_face, from_shoulder, _ = row_of(sheet, "heel", "FACE A to the cut")
    heel = plan.circle_of(81.28)
    starts = sorted(abs(plan.angle(p)) for p in (heel.points[0], heel.points[-1]))
    assert 81.28 * starts[0] == pytest.approx(from_face - from_shoulder, abs=0.02)
    shoulder = [
        s
        for s in sheet.with_width(0.13)
        if len(s.points) == 2 and abs(s.length_mm - 48.26) < TENTH_MM and s.points[0][1] == s.points[1][1]
    ]
    depth_mm = (3.68 - 1.6) * math.tan(math.radians(37.5))
    assert [s.points[0][1] - plan.centre[1] for s in shoulder] == pytest.approx([depth_mm], abs=0.01)


@pytest.mark.parametrize(("turn", "keep_first"), [(32.7, True), (70.0, False)])
def test_keep_and_scrap_are_on_their_sides_of_the_line(tmp_path: Path, turn: float, keep_first: bool) -> None:
    (sheet,) = sheets(tmp_path, model(f"turn = {turn}"))
    plan = read_plan(sheet)
    sides = {}
    for text in ("KEEP", "SCRAP", "A1"):
        words = [w for w in sheet.words if w.text == text and abs(plan.radius(middle(w)) - 57.15) < 15.0]
        sides[text] = plan.angle(middle(words[0])) < plan.cut_rad
        assert len(words) == 1
    assert sides == {"KEEP": keep_first, "A1": keep_first, "SCRAP": not keep_first}
    ticks = [
        stroke.points
        for stroke in sheet.with_width(0.13)
        if len(stroke.points) == 2
        and abs(off_line(stroke.points[0], *plan.cut.points)) < 1e-3
        and 33.0 < plan.radius(stroke.points[0]) < 81.3
        and stroke.length_mm < 5.0
    ]
    assert len(ticks) > 8
    assert all((plan.angle(end) < plan.cut_rad) == sides["SCRAP"] for _, end in ticks)


def test_a_cut_from_the_far_face_says_to_check_the_sweep_and_gives_both_arcs(tmp_path: Path) -> None:
    (sheet,) = sheets(tmp_path, model("turn = 70", ends="square"))
    words = " ".join(word.text for word in sheet.words)
    assert "CHECK THE ELBOW'S SWEEP FIRST: it must be 90.00°" in words
    assert row_of(sheet, "heel", "FAR FACE to the cut")[0] == pytest.approx(
        81.28 * math.radians(20), abs=0.005
    )
    assert row_of(sheet, "heel", "To check the piece")[0] == pytest.approx(
        81.28 * math.radians(70), abs=0.005
    )
    near = next(word for word in sheet.words if word.text == "FAR FACE")
    assert near.at[1] < read_plan(sheet).centre[1], "the face measured from lies on the x axis"
    (own,) = sheets(tmp_path, model("turn = 50"))
    assert "SWEEP FIRST" not in " ".join(word.text for word in own.words)
    for one, wrap_left in ((sheet, False), (own, True)):
        wrap, mark = (next(w.at[0] for w in one.words if w.text == text) for text in ("wrap", "mark"))
        assert (wrap < mark) == wrap_left, "the wrap lies on the part with the face measured from"


def test_straights_put_the_faces_off_the_axes(tmp_path: Path) -> None:
    of = model("turn = 32.7", "turn = 70", stock="bent tube", ends="square", more=REAL)
    read = [read_plan(s) for s in sheets(tmp_path, of) if any(word.text == "O" for word in s.words)]
    assert len(read) == 2
    for plan, near, far in zip(read, (12.0, 30.0), (30.0, 12.0), strict=True):
        ends = [s for s in plan.sheet.with_width(0.25) if len(s.points) == 6]
        flats = sorted(plan.seen(p) for s in ends for p in s.points)
        assert min(y for _, y in flats) == pytest.approx(-near, abs=1e-3)
        assert min(x for x, _ in flats) == pytest.approx(-far, abs=1e-3)
        for radius in (81.28, 33.02):
            arc = plan.circle_of(radius)
            assert arc.length_mm == pytest.approx(radius * math.pi / 2, abs=0.01)


NPS_1_2, NPS_12 = 'size = "NPS 1/2"\nschedule = "40"', 'size = "NPS 12"\nschedule = "40"'
NPS_1, NPS_4 = 'size = "NPS 1"\nschedule = "40"', 'size = "NPS 4"\nschedule = "80"'


@pytest.mark.parametrize(
    ("of", "paper", "least_pages"),
    [
        (lambda: model("turn = 22.5", "turn = 40", pipe=NPS_1_2), "A4", 2),
        (lambda: model("turn = 50", pipe=NPS_12), "A4", 9),
        (lambda: model("turn = 32.7", "turn = 62", units="in"), "letter", 2),
        (lambda: model("inside_angle = 62"), "letter", 1),
        (lambda: model("turn = 32.7", "turn = 70", stock="bent tube", more=REAL), "A4", 4),
        (lambda: model("turn = 45", "turn = 130", stock="180 long radius return"), "A4", 4),
        (lambda: model("turn = 25", stock="45 3D"), "letter", 2),
        (lambda: model("turn = 60", pipe=NPS_1, stock="90 short radius", shop=TIGHT), "A4", 1),
        (lambda: model("turn = 20", "turn = 76", pipe=NPS_4), "A3", 4),
        (lambda: model("turn = 50", shop="kerf = 8\ndressing = 3"), "roll 210", 1),
    ],
    ids=["narrow", "tiles", "inch", "acute", "straights", "return", "45", "tight", "middling", "roll"],
)
def test_sheets_are_clean_and_keep_the_widest_line_for_wraps(
    tmp_path: Path, of: Callable[[], Model], paper: str, least_pages: int
) -> None:
    built = of()
    read = sheets(tmp_path, built, paper)
    assert len(read) >= least_pages
    for sheet in read:
        assert not text_overlaps(sheet)
        assert not outside_margins(sheet)
        assert not sheet.with_width(0.50)
    words = [word.text for sheet in read for word in sheet.words]
    for group in built.cut_groups:
        assert f"{', '.join(group.marks)} – make {group.quantity}" in words
    assert words.count("O") >= len(built.cut_groups), "every cut has its plan"


def test_a_job_without_a_cut_has_no_bench_sheet() -> None:
    assert bench_pages(model("turn = 90"), Layout(paper_named("A4"))) == ()


def kerf_parts(kind: Kind, paper_on: Part, kerf_mm: float, dressing_mm: float) -> tuple[float, Box, Box, Box]:
    """Scale as written, and the boxes of blade, mark and wrap."""
    items = kerf_detail(kind, paper_on, kerf_mm, dressing_mm, "mm").drawing.items
    (title,) = [t.text for t in items if isinstance(t, Text) and t.text.startswith("Blade at the line")]
    shapes = [item for item in items if isinstance(item, Polyline) and len(item.points) == 4 and item.closed]
    (mark,) = [box_round(item.points) for item in shapes if item.filled]
    wrap, blade = sorted((box_round(i.points) for i in shapes if not i.filled), key=lambda box: box.height)
    return float(title.split()[-3]), blade, mark, wrap


@pytest.mark.parametrize("paper_on", ["keep", "scrap"])
def test_the_blade_stands_clear_of_the_line_on_the_scrap(paper_on: Part) -> None:
    scale, blade, mark, wrap = kerf_parts("clear", paper_on, 1.6, 0.5)
    assert scale == 4
    assert (blade.left, blade.right) == pytest.approx((4 * 0.5, 4 * 2.1)), "scrap lies right"
    touching = (wrap.right, mark.left) if paper_on == "keep" else (wrap.left, mark.right)
    assert touching == (0.0, 0.0), "the true line is where mark and wrap met"
    assert mark.width == pytest.approx(4 * MARK_MM)


def test_a_shared_cut_has_its_blade_centred_and_two_parts_to_keep() -> None:
    _, blade, _, _ = kerf_parts("centred", "keep", 3.2, 0.5)
    assert -blade.left == blade.right == pytest.approx(6.4)
    words = [t.text for t in kerf_detail("centred", "keep", 3.2, 0.5, "mm").drawing if isinstance(t, Text)]
    assert words.count("KEEP") == 2
    assert "SCRAP" not in words


def test_a_wide_kerf_is_drawn_at_a_smaller_scale_that_is_stated() -> None:
    scale, blade, _, _ = kerf_parts("clear", "keep", 9.0, 1.0)
    assert scale < 4
    assert blade.width == pytest.approx(scale * 9.0)
