import itertools
import math
import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, MultiLineString, Point, unary_union
from shapely.geometry.base import BaseGeometry

from render.pages import paginate
from render.pages.drawing import Anchor, Drawing, Item, Line, Pen, Polyline, Text, drawing
from render.pages.paginate import GAP_MM, Block, block_of, block_pages, fits, nest
from render.pages.paper import Correction, Layout, Page, paper_named
from render.pages.pdf import Metadata, write_pdf
from render.pages.shapes import Box, bounds, rectangle
from render.pages.tiles import OVERLAP_MM
from render.pages.title_block import JobLabel, with_title_blocks
from templates_core.errors import GeometryError
from tests.layout_checks import outside_margins, text_overlaps
from tests.pdf_reader import Sheet, Stroke, read_pack
from tests.settings import seeded

LETTER = Layout(paper_named("letter"))
JOB = JobLabel("Heron Slip boathouse steps", "HS-014", "A", "3f9a2c1d")
ABOUT = Metadata("HS-014", "Wraps")
SIZES = st.lists(st.tuples(st.floats(15.0, 190.0), st.floats(15.0, 240.0)), min_size=1, max_size=25)


def card(mark: str, width_mm: float, height_mm: float) -> Block:
    """A rectangle with a notch at its lower left, so that a mirrored or half-turned one shows."""
    box = Box(0.0, 0.0, width_mm, height_mm)
    notch = Line((0.0, 5.0), (3.0, 0.0), Pen.TICK)
    return Block("Wraps", f"Wrap {mark}", drawing([rectangle(box), notch]), box, (mark,))


def rooms_on(page: Page) -> list[Box]:
    return [bounds([item]).grown(-0.125) for item in page.drawing if isinstance(item, Polyline)]


@seeded(40)
@given(SIZES)
def test_nested_blocks_keep_their_size_apart_and_on_the_page(sizes: list[tuple[float, float]]) -> None:
    blocks = [card(f"A{i}", *size) for i, size in enumerate(sizes)]
    pages = nest(blocks, LETTER)
    assert sorted(mark for page in pages for mark in page.marks) == sorted(b.marks[0] for b in blocks)
    found = []
    for page in pages:
        rooms = rooms_on(page)
        for room in rooms:
            assert room.left > -1e-6 and room.bottom > -1e-6
            assert room.right < LETTER.width_mm + 1e-6 and room.top < LETTER.height_mm + 1e-6
        for one, other in itertools.combinations(rooms, 2):
            assert not one.grown(GAP_MM - 1e-6).meets(other)
        found += [tuple(sorted((round(room.width, 6), round(room.height, 6)))) for room in rooms]
    wanted = sorted(tuple(sorted((round(w, 6), round(h, 6)))) for w, h in sizes)
    assert all(
        one == pytest.approx(other, abs=2e-6) for one, other in zip(sorted(found), wanted, strict=True)
    )


def test_a_turned_block_is_turned_and_not_mirrored() -> None:
    (page,) = nest([card("A1", 230.0, 50.0)], LETTER)
    (outline, notch) = page.drawing.items
    assert isinstance(outline, Polyline) and isinstance(notch, Line)
    a, b, c, _ = outline.points
    across, up = (b[0] - a[0], b[1] - a[1]), (c[0] - b[0], c[1] - b[1])
    assert math.hypot(*across) == pytest.approx(230.0) and abs(across[1]) == pytest.approx(230.0)
    assert across[0] * up[1] - across[1] * up[0] == pytest.approx(230.0 * 50.0)
    assert math.dist(notch.start, a) == pytest.approx(5.0)


def test_a_block_that_may_not_turn_stays_upright() -> None:
    upright = Block(**{**vars(card("A1", 230.0, 50.0)), "may_turn": False})
    assert not fits(upright, LETTER)
    assert len(block_pages([upright], LETTER)) == 2


def test_packing_is_dense() -> None:
    halves = [card(f"A{i}", 195.0, 120.0) for i in range(8)]
    quarters = [card(f"B{i}", 94.0, 120.0) for i in range(8)]
    assert len(nest(halves, LETTER)) == 4
    assert len(nest(quarters, LETTER)) == 2
    assert len(nest([*halves[:3], *quarters[:2]], LETTER)) == 2
    bits = [card(f"C{i}", 40.0 + 7 * (i % 9), 30.0 + 11 * (i % 7)) for i in range(50)]
    area = sum((b.box.width + GAP_MM) * (b.box.height + GAP_MM) for b in bits)
    pages = nest(bits, LETTER)
    assert len(pages) <= math.ceil(area / (0.8 * (LETTER.width_mm + GAP_MM) * (LETTER.height_mm + GAP_MM)))


def test_a_roll_takes_all_on_one_page_just_long_enough() -> None:
    roll = Layout(paper_named("roll 610"))
    (page,) = nest([card(f"A{i}", 280.0, 200.0) for i in range(6)], roll)
    assert page.layout.height_mm == pytest.approx(3 * 200.0 + 2 * GAP_MM)
    assert page.layout.paper.width_mm == 610.0


def test_a_long_pack_takes_no_more_trials_a_block_than_a_short_one(monkeypatch: pytest.MonkeyPatch) -> None:
    trials = []
    place = paginate._Bin.place

    def counted(self: paginate._Bin, order: int, block: Block) -> bool:
        trials.append(order)
        return place(self, order, block)

    monkeypatch.setattr(paginate._Bin, "place", counted)
    counts = []
    for number in (200, 800):
        trials.clear()
        blocks = [card(f"A{i}", 100.0 + i % 60, 130.0 + i % 50) for i in range(number)]
        assert sum(len(page.marks) for page in nest(blocks, LETTER)) == number
        counts.append(len(trials) / number)
    assert counts[1] < 1.2 * counts[0]


def wave(width_mm: float, height_mm: float, at: tuple[float, float] = (0.0, 0.0)) -> Block:
    """A lopsided template: a trace edge, an outline, slits, a circle, and figures along the edge."""
    x0, y0 = at
    xs = [width_mm * i / 400 for i in range(401)]
    edge = [(x0 + x, y0 + height_mm / 2 + height_mm * 0.35 * math.sin(5.0 * x / width_mm)) for x in xs]
    items: list[Item] = [
        Polyline(tuple(edge), Pen.TRACE),
        Polyline(tuple((x, y - 30.0 - 10.0 * x / width_mm) for x, y in edge)),
        Line((x0, y0), (x0 + width_mm, y0 + height_mm)),
        rectangle(Box(x0 + 0.3 * width_mm, y0 + 1.0, x0 + 0.3 * width_mm + 9.0, y0 + 0.2 * height_mm)),
    ]
    items += [Text((x, y + 14.0), f"{x - x0:.1f}", 7.0, Anchor.MIDDLE) for x, y in edge[::24]]
    return block_of("Wraps", "Wrap C1, NPS 12", items, ("C1",))


def put_together(sheets: list[Sheet], correction: Correction) -> tuple[list[Stroke], set[tuple[str, str]]]:
    """Strokes of all tiles in the template's coordinates, each tile moved by its own crosses alone.

    A tile may only be turned and moved to meet its crosses: its scale and its hand are its own.
    Also the pairs (label, how many tiles print it).
    """
    strokes, labels = [], []
    for sheet in sheets:
        stretch = (correction.across_mm / 100.0, correction.up_mm / 100.0)
        on_paper, on_template = [], []
        for word in sheet.words:
            if label := re.fullmatch(r"x (−?\d+) y (−?\d+)", word.text):
                x, y = (float(number.replace("−", "-")) for number in label.groups())
                cx, cy = cross_near(sheet, word.at)
                on_paper.append(complex(cx * stretch[0], cy * stretch[1]))
                on_template.append(complex(x, y))
                labels.append(word.text)
        assert len(on_paper) >= 2, "two crosses place a tile"
        turn = (on_template[-1] - on_template[0]) / (on_paper[-1] - on_paper[0])
        assert abs(turn) == pytest.approx(1.0, abs=2e-5)
        move = on_template[0] - turn * on_paper[0]
        for here, there in zip(on_paper, on_template, strict=True):
            assert abs(turn * here + move - there) < 0.005
        for stroke in sheet.strokes:
            if stroke.width_mm > 0.2 and not is_key_frame(stroke):
                moved = [turn * complex(x * stretch[0], y * stretch[1]) + move for x, y in stroke.path]
                points = tuple((z.real, z.imag) for z in moved)
                strokes.append(Stroke(points, stroke.width_mm, (), False, False))
    counts = {(label, str(labels.count(label))) for label in labels}
    return strokes, counts


def is_key_frame(stroke: Stroke) -> bool:
    return 0.3 < stroke.width_mm < 0.4


def cross_near(sheet: Sheet, at: tuple[float, float]) -> tuple[float, float]:
    """Middle of the cross beside a label: the nearest point that is the middle of two 8 mm lines."""
    middles = []
    for stroke in sheet.strokes:
        if len(stroke.points) == 2 and 7.0 < stroke.length_mm < 9.0 and stroke.width_mm < 0.2:
            (x0, y0), (x1, y1) = stroke.points
            middles.append(((x0 + x1) / 2.0, (y0 + y1) / 2.0))
    near = min(middles, key=lambda middle: math.dist(middle, at))
    assert math.dist(near, at) < 2.5
    assert sum(math.dist(near, middle) < 1e-3 for middle in middles) == 2
    return near


def lines_of(items: Drawing, width_mm: float) -> BaseGeometry:
    parts = []
    for item in items:
        if not isinstance(item, Text) and item.pen.width_mm == width_mm:
            path = (item.start, item.end) if isinstance(item, Line) else item.points
            parts.append(LineString([*path, path[0]] if isinstance(item, Polyline) and item.closed else path))
    return unary_union(parts)


CASES = [
    ("letter", 1030.0, 400.0, (0.0, 0.0), Correction()),
    ("letter", 260.0, 330.0, (-130.0, -72.5), Correction()),
    ("A4", 190.0, 1150.0, (0.0, 0.0), Correction(99.2, 99.6)),
    ("A3", 900.0, 500.0, (-12.25, 3.75), Correction(101.5, 100.5)),
    ("tabloid", 520.0, 700.0, (0.0, -350.0), Correction()),
    ("roll 610", 1400.0, 900.0, (0.0, 0.0), Correction()),
]


@pytest.mark.parametrize(("name", "width_mm", "height_mm", "at", "correction"), CASES)
def test_tiles_put_together_by_their_crosses_give_back_the_template(
    tmp_path: Path,
    name: str,
    width_mm: float,
    height_mm: float,
    at: tuple[float, float],
    correction: Correction,
) -> None:
    block = wave(width_mm, height_mm, at)
    pages = block_pages([block], Layout(paper_named(name), correction))
    write_pdf(tmp_path / "pack.pdf", pages, ABOUT)
    sheets = read_pack(tmp_path / "pack.pdf")
    assert len(sheets) > 1
    strokes, counts = put_together(sheets, correction)
    assert {count for _, count in counts} == {"2"}, "each cross is on two tiles"
    for pen in (Pen.TRACE, Pen.OUTLINE):
        again = unary_union([LineString(s.points) for s in strokes if abs(s.width_mm - pen.width_mm) < 0.01])
        template = lines_of(block.drawing, pen.width_mm)
        assert template.difference(again.buffer(0.01)).length == 0.0, "nothing is missing"
        assert again.difference(template.buffer(0.01)).length == 0.0, "nothing is out of place"


@pytest.mark.parametrize(("name", "width_mm", "height_mm", "at", "correction"), CASES)
def test_tile_sheets_are_clean(
    tmp_path: Path,
    name: str,
    width_mm: float,
    height_mm: float,
    at: tuple[float, float],
    correction: Correction,
) -> None:
    block = wave(width_mm, height_mm, at)
    layout = Layout(paper_named(name), correction)
    write_pdf(tmp_path / "pack.pdf", with_title_blocks(block_pages([block], layout), JOB), ABOUT)
    sheets = read_pack(tmp_path / "pack.pdf")
    figures = {item.text for item in block.drawing if isinstance(item, Text)}
    shown = {word.text for sheet in sheets for word in sheet.words}
    assert figures <= shown, "each figure is whole on some tile"
    for sheet in sheets:
        assert not [
            clash for clash in text_overlaps(sheet) if "0.50 mm" not in clash and not edge_figure(clash)
        ]
        assert not outside_margins(sheet)
        own = next(w.text for w in sheet.words if w.text.startswith("Tile R"))
        name_of_tile = own.removeprefix("Tile ").split(",")[0]
        assert any(w.text == name_of_tile and "Bold" in w.font for w in sheet.words), "framed on the key plan"
        assert len([w for w in sheet.words if re.fullmatch(r"R\d+C\d+", w.text)]) == len(sheets)


def edge_figure(clash: str) -> bool:
    """The made-up template lets its diagonal run through its own figures."""
    return bool(re.match(r"'\d+\.\d' on a 0.25", clash))


def test_overlaps_are_printed_on_both_tiles() -> None:
    block = Block(**{**vars(card("A1", 300.0, 100.0)), "may_turn": False})
    pages = block_pages([block], LETTER)
    lengths = []
    for page in pages:
        for item in page.drawing:
            if isinstance(item, Polyline) and item.pen is Pen.OUTLINE:
                lengths.append(sum(math.dist(a, b) for a, b in itertools.pairwise(item.points)))
    assert sum(lengths) == pytest.approx(2 * 300.0 + 2 * 100.0 + 2 * OVERLAP_MM)
    assert 10.0 <= OVERLAP_MM <= 15.0


def test_empty_tiles_are_left_out() -> None:
    corner = [Line((0.0, 0.0), (900.0, 0.0)), Line((0.0, 0.0), (0.0, 900.0))]
    pages = block_pages([block_of("Wraps", "Wrap A1", corner)], LETTER)
    assert all(any(getattr(i, "pen", None) is Pen.OUTLINE for i in page.drawing) for page in pages)
    assert len(pages) < 10


def test_wanted_seams_are_taken_when_they_cost_no_tile() -> None:
    plain = Block(**{**vars(card("A1", 300.0, 100.0)), "may_turn": False})
    wanted = Block(**{**vars(plain), "seams_x_mm": (137.0, 20.0)})
    texts = [i.text for p in block_pages([wanted], LETTER) for i in p.drawing if isinstance(i, Text)]
    assert sum(text.startswith("x 137 y") for text in texts) == 4
    texts = [i.text for p in block_pages([plain], LETTER) for i in p.drawing if isinstance(i, Text)]
    assert sum(text.startswith("x 150 y") for text in texts) == 4


def test_a_template_that_leaves_no_seam_is_refused() -> None:
    sentence = Text((0.0, 50.0), "a line of words that is far too long to be whole on any one sheet " * 4)
    box = rectangle(Box(0.0, 0.0, 400.0, 300.0))
    with pytest.raises(GeometryError, match="no place to part"):
        block_pages([block_of("Wraps", "Wrap A1", [sentence, box])], LETTER)


def test_sections_keep_their_order() -> None:
    small = card("A1", 50.0, 50.0)
    other = Block(**{**vars(card("A2", 50.0, 50.0)), "section": "Bench sheets"})
    assert [page.section for page in block_pages([small, other, small], LETTER)] == [
        "Wraps",
        "Bench sheets",
        "Wraps",
    ]


def test_the_template_itself_is_lopsided() -> None:
    """The tiles' test can only see a wrong hand if the template differs from its mirror image."""
    lines = lines_of(wave(300.0, 200.0).drawing, 0.5)
    assert isinstance(lines, LineString | MultiLineString)
    mirrored = LineString([(300.0 - x, y) for x, y in lines.coords])
    assert mirrored.hausdorff_distance(lines) > 20.0
    assert lines.distance(Point(0.0, 100.0)) < 1e-6
