"""Wrap sheets of packs as written: true size, one wide line, every wrap once, tiles that go together."""

from __future__ import annotations

import io
import math
import re
from dataclasses import dataclass

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from pypdf import PdfReader
from pypdf.generic import ContentStream
from scipy.integrate import quad

from render.pages.pdf import Metadata, pdf_bytes
from templates_core.units import MM
from tests.layout_checks import outside_margins, text_overlaps
from tests.pdf_reader import Sheet, Stroke, Word
from tests.wrap_jobs import JOBS, Pack, bent_rail, job_of, pack_of
from tests.wrap_reader import TRACE_MM, ReadWrap, read_wraps, trace_edges
from tests.wrap_samples import FITTINGS, SIZES_IN, cut_at, elbow_of, sheet_of_cut

Array = NDArray[np.float64]
PAPER_MM = 0.1
HUNDRED_MM_PT = 283.4646
OD_MM = {nps: row[0] * 25.4 for nps, row in SIZES_IN.items()}


@pytest.fixture(scope="module")
def packs() -> dict[str, Pack]:
    return {name: pack_of(*job) for name, job in JOBS.items()}


def girth(nps: str) -> float:
    return math.pi * (OD_MM[nps] + PAPER_MM)


def mitre_edge(nps: str, tilt_deg: float) -> float:
    """Length of the edge of a pipe cut askew, unrolled, by quadrature."""
    lean, r = math.tan(math.radians(tilt_deg)) * OD_MM[nps] / 2, (OD_MM[nps] + PAPER_MM) / 2
    length, _ = quad(lambda phi: math.hypot(r, lean * math.sin(phi)), 0, 2 * math.pi)
    return float(length)


WHOLE = {
    "normal on A4": sorted([girth("1-1/2")] * 4 + [mitre_edge("1-1/2", 5.0)]),
    "inches on letter": sorted([girth("2")] * 2 + [mitre_edge("2", 6.0)]),
    "tiny on letter": sorted([girth("1/2")] * 2 + [mitre_edge("1/2", 4.75)]),
    "tiny on A4": sorted([girth("1/2")] * 2 + [mitre_edge("1/2", 4.75)]),
    "many marks on A4": [girth("1-1/2")],
    "huge on a roll": [girth("12")],
    "from the far face on A3": [girth("3")],
}


@pytest.mark.parametrize("name", WHOLE)
def test_the_only_wide_lines_are_trace_edges_of_their_length(packs: dict[str, Pack], name: str) -> None:
    lengths = []
    for page, sheet in zip(packs[name].pages, packs[name].sheets, strict=True):
        wide = [s for s in sheet.strokes if not s.filled and s.width_mm > 0.36]
        assert all(abs(s.width_mm - TRACE_MM) < 0.001 and not s.dash_mm and not s.closed for s in wide)
        assert page.section == "Wraps" or not wide
        lengths += [s.length_mm for s in wide]
    assert sorted(lengths) == pytest.approx(WHOLE[name], abs=2e-3)


@pytest.mark.parametrize("name", JOBS)
def test_nothing_overlaps_and_nothing_leaves_the_page(packs: dict[str, Pack], name: str) -> None:
    for page, sheet in packs[name].of_wraps():
        assert not text_overlaps(sheet), page.title
        assert not outside_margins(sheet), page.title


def test_a_hundred_millimetres_is_a_hundred_millimetres_in_points(packs: dict[str, Pack]) -> None:
    """Straight from the operators: no transform of any kind, and the square of the print check in points."""
    data = pdf_bytes(packs["normal on A4"].pages, Metadata("test", "test"))
    reader = PdfReader(io.BytesIO(data))
    for page in reader.pages:
        for operands, operator in ContentStream(page.get_contents(), reader).operations:
            assert operator != b"cm" or [float(x) for x in operands] == [1, 0, 0, 1, 0, 0]
        assert "/UserUnit" not in page and page.get("/Rotate", 0) == 0
    sides = []
    path: list[tuple[float, float]] = []
    for operands, operator in ContentStream(reader.pages[0].get_contents(), reader).operations:
        if operator in (b"m", b"l"):
            path = path * (operator == b"l") + [(float(operands[0]), float(operands[1]))]
        elif operator == b"h" and len(path) == 4:
            sides.append([math.dist(a, b) for a, b in zip(path, path[1:] + path[:1], strict=True)])
    assert any(side == pytest.approx([HUNDRED_MM_PT] * 4, abs=0.01) for side in sides)


def test_each_page_has_its_check_bars(packs: dict[str, Pack]) -> None:
    for pack in packs.values():
        for _, sheet in pack.of_wraps():
            for axis in (0, 1):
                bars = [s for s in sheet.strokes if _straight_along(s, axis)]
                assert any(abs(s.length_mm - 50.0) < 1e-3 for s in bars)


def _straight_along(stroke: Stroke, axis: int) -> bool:
    return len(stroke.points) == 2 and abs(stroke.points[0][1 - axis] - stroke.points[1][1 - axis]) < 1e-6


def headings(pack: Pack) -> list[str]:
    words = [word.text for _, sheet in pack.of_wraps() for word in sheet.words]
    return [text for text in words if re.search(r"(make \d+|\d+ pipe ends?)$", text)]


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        (
            "normal on A4",
            ["A1, B1 – make 3", "A2 – make 2", "A3 – make 2", "A4/1 – 4 pipe ends", "B2 – make 1"],
        ),
        ("inches on letter", ["A1 – make 1", "A2 – make 1", "A3/1 – 2 pipe ends"]),
        ("huge on A4", ["A1 – make 1"]),
        ("from the far face on A3", ["A1 – make 1"]),
    ],
)
def test_every_wrap_is_there_once_with_its_quantity(
    packs: dict[str, Pack], name: str, expected: list[str]
) -> None:
    assert sorted(headings(packs[name])) == expected


@pytest.mark.parametrize("name", WHOLE)
def test_every_elbow_wrap_names_its_stays(packs: dict[str, Pack], name: str) -> None:
    """The reader refuses a wrap without HEEL, THROAT and two SIDE at its stays."""
    found = [wrap for _, sheet in packs[name].of_wraps() for wrap in read_wraps(sheet)]
    assert len(found) == sum(length < 1.0001 * girth(_size(name)) for length in WHOLE[name])
    assert all(len(wrap.stays) == 4 for wrap in found)


def _size(name: str) -> str:
    pipe = JOBS[name][0].pipe.name
    return pipe.split()[1]


def test_a_wrap_for_many_pieces_names_them_all(packs: dict[str, Pack]) -> None:
    pack = packs["many marks on A4"]
    words = " ".join(word.text for _, sheet in pack.of_wraps() for word in sheet.words)
    assert "A1 to A30 – make 30" in words
    assert "HEEL  A1 +29" in words


@dataclass(frozen=True)
class Cross:
    """A registration mark: where it is on the page, and where it says it is on the template."""

    page_mm: Array
    template_mm: Array


def crosses(sheet: Sheet) -> list[Cross]:
    """Each label with figures, and the crossing of two thin lines next to its start."""
    thin = [
        np.array(s.points) for s in sheet.strokes if abs(s.width_mm - 0.13) < 0.005 and len(s.points) == 2
    ]
    arms = [line for line in thin if abs(np.linalg.norm(line[1] - line[0]) - 8.0) < 1e-3]
    found = []
    for word in sheet.words:
        figures = re.fullmatch(r"x (−?\d+) y (−?\d+)", word.text)
        if figures:
            x, y = (float(text.replace("−", "-")) for text in figures.groups())
            found.append(Cross(_cross_at(word, arms), np.array([x, y])))
    return found


def _cross_at(word: Word, arms: list[Array]) -> Array:
    middles = sorted((line.mean(axis=0) for line in arms), key=lambda p: float(np.linalg.norm(p - word.at)))
    assert np.linalg.norm(middles[0] - middles[1]) < 1e-3, "a label stands at a cross"
    assert np.linalg.norm(middles[0] - word.at) < 3.0
    return np.asarray(middles[0])


def to_template(sheet: Sheet) -> tuple[Array, Array]:
    """Turn (2, 2) and move (2,) that put the sheet's crosses where they say: a turn and a move, no more."""
    marks = crosses(sheet)
    page = np.array([mark.page_mm for mark in marks])
    template = np.array([mark.template_mm for mark in marks])
    there, here = template[-1] - template[0], page[-1] - page[0]
    angle = math.atan2(there[1], there[0]) - math.atan2(here[1], here[0])
    turn = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
    move = template[0] - turn @ page[0]
    assert np.abs(page @ turn.T + move - template).max() < 0.01, "crosses are where their figures say"
    return turn, move


@pytest.mark.parametrize("name", ["huge on A4", "huge on letter"])
def test_tiles_put_together_by_their_crosses_are_the_template(packs: dict[str, Pack], name: str) -> None:
    tiles = [sheet for page, sheet in packs[name].of_wraps() if "tile" in page.title]
    assert len(tiles) > 4
    placed: dict[float, list[shapely.LineString]] = {0.5: [], 0.25: []}
    for sheet in tiles:
        assert len(crosses(sheet)) >= 2
        turn, move = to_template(sheet)
        for stroke in sheet.strokes:
            key = round(stroke.width_mm, 2)
            if key in placed and not stroke.filled and not _in_title_block(stroke):
                placed[key].append(shapely.LineString(np.array(stroke.path) @ turn.T + move))
    whole = sheet_of_cut(packs[name].model.cut_groups[0].cut)
    (trace,) = trace_edges(whole)
    shift = _shift(np.array(trace), placed[0.5])
    for width, pieces in placed.items():
        joined = shapely.union_all(pieces)
        for stroke in whole.with_width(width):
            line = shapely.LineString(np.array(stroke.path) + shift)
            assert line.difference(joined.buffer(0.01)).length < 0.05, f"{width} mm line is not on the tiles"
    everything = shapely.union_all([shapely.LineString(np.array(s.path) + shift) for s in whole.strokes])
    for piece in placed[0.5]:
        assert piece.difference(everything.buffer(0.01)).length < 0.05, "a tile has a line that is not there"


def _in_title_block(stroke: Stroke) -> bool:
    return max(y for _, y in stroke.points) < 22.0


def _shift(trace: Array, pieces: list[shapely.LineString]) -> Array:
    """From the page to the template: both traces' lowest left corners laid on each other."""
    joined = np.vstack([np.array(piece.coords) for piece in pieces])
    assert np.ptp(joined, axis=0) == pytest.approx(np.ptp(trace, axis=0), abs=0.01)
    return np.asarray(joined.min(axis=0) - trace.min(axis=0))


def figures(text: str, unit: str) -> tuple[list[float], list[float]]:
    """Arcs (heel, sides, throat) and chords (heel, throat) as the words under a wrap give them [mm]."""
    number = r"(\d+(?:\.\d+)?)"
    found = re.search(
        rf"heel {number}, sides {number}, throat {number} {unit}\. +Straight across: "
        rf"heel {number}, throat {number} {unit}",
        text,
    )
    assert found, text
    mm = [float(figure) * (25.4 if unit == "in" else 1.0) for figure in found.groups()]
    return mm[:3], mm[3:]


def words_under(sheet: Sheet, mark: str) -> str:
    """The words after the heading of a wrap: lines that run the same way, in the order as written."""
    texts = [word.text for word in sheet.words]
    start = next(i for i, text in enumerate(texts) if text.startswith(mark) and "make" in text)
    return " ".join(texts[start + 1 : start + 12])


def check_figures(wrap: ReadWrap, text: str, unit: str, bend_mm: float, radius_mm: float) -> None:
    """Arcs and chords on the metal from the lengths that are printed on the paper."""
    arcs, chords = figures(text, unit)
    slack = 0.02 if unit == "mm" else 0.03
    (heel,), (throat,) = wrap.named("HEEL"), wrap.named("THROAT")
    trace = shapely.LineString(wrap.trace_mm)
    on_paper = [trace.distance(shapely.Point(stay.fold_mm.mean(axis=0))) for stay in (heel, throat)]
    swept = on_paper[0] / (bend_mm + radius_mm + PAPER_MM / 2)
    assert arcs[0] == pytest.approx((bend_mm + radius_mm) * swept, abs=slack)
    assert chords[0] == pytest.approx(2 * (bend_mm + radius_mm) * math.sin(swept / 2), abs=slack)
    lacking = throat.width_mm**2 / (8 * radius_mm)
    swept = on_paper[1] / (bend_mm - radius_mm - PAPER_MM / 2 + lacking)
    assert arcs[2] == pytest.approx((bend_mm - radius_mm) * swept, abs=slack)
    assert chords[1] == pytest.approx(2 * (bend_mm - radius_mm) * math.sin(swept / 2), abs=slack)


@pytest.mark.parametrize(
    ("name", "mark", "nps", "unit"),
    [
        ("huge on a roll", "A1", "12", "mm"),
        ("from the far face on A3", "A1", "3", "mm"),
        ("many marks on A4", "A1", "1-1/2", "mm"),
        ("inches on letter", "A2", "2", "in"),
    ],
)
def test_arcs_and_chords_in_words_are_those_of_the_drawing(
    packs: dict[str, Pack], name: str, mark: str, nps: str, unit: str
) -> None:
    sheets = [sheet for page, sheet in packs[name].of_wraps() if trace_edges(sheet) and mark in page.marks]
    texts = [
        sheet for _, sheet in packs[name].of_wraps() if any("Straight across" in w.text for w in sheet.words)
    ]
    wraps = [wrap for wrap in read_wraps(sheets[0]) if _is_for(wrap, mark)]
    text = next(words_under(s, mark) for s in texts if any(w.text.startswith(mark) for w in s.words))
    check_figures(wraps[0], text, unit, SIZES_IN[nps][2] * 25.4, OD_MM[nps] / 2)


def _is_for(wrap: ReadWrap, mark: str) -> bool:
    return any(word.text.split()[:2] == ["HEEL", mark] for word in wrap.words)


def test_the_far_face_says_that_it_lies_on_scrap(packs: dict[str, Pack]) -> None:
    for name, side, other in (
        ("from the far face on A3", "SCRAP", "KEEP"),
        ("huge on a roll", "KEEP", "SCRAP"),
    ):
        texts = [w.text for _, sheet in packs[name].of_wraps() if trace_edges(sheet) for w in sheet.words]
        assert any(text in (side, f"{side} THIS SIDE") for text in texts)
        assert not any(text in (other, f"{other} THIS SIDE") for text in texts)
    words = " ".join(w.text for _, sheet in packs["from the far face on A3"].of_wraps() for w in sheet.words)
    assert "Lies on the part that is SCRAP" in words


@pytest.mark.parametrize("nps", SIZES_IN)
def test_the_seam_reads_the_girth(nps: str) -> None:
    """A wrap whose other end falls on a tick is round a pipe of the girth printed at that tick."""
    wrap = read_wraps(sheet_of_cut(cut_at(elbow_of(nps), math.radians(40))))[0]
    assert wrap.seam
    end = wrap.end_line_mm[1]
    onward = end - wrap.trace_mm[1 if end[0] < 0 else -2]
    for text, foot in wrap.seam:
        further = math.copysign(float(np.linalg.norm(foot - end)), float((foot - end) @ onward))
        assert float(text) == pytest.approx(math.pi * OD_MM[nps] + further, abs=1e-2)
    steps = np.linalg.norm(np.diff(wrap.seam_ticks_mm, axis=0), axis=1)
    assert steps == pytest.approx(1.0, abs=1e-3)


def test_ticks_stand_a_quarter_girth_apart() -> None:
    for nps, kind in FITTINGS[::4]:
        wrap = read_wraps(sheet_of_cut(cut_at(elbow_of(nps, kind), math.radians(45))))[0]
        edge = shapely.LineString(wrap.trace_mm)
        at = np.sort([edge.project(shapely.Point(tick[0])) for tick in wrap.ticks_mm])
        assert np.diff(at) == pytest.approx([girth(nps) / 4] * 3, abs=0.01)


def test_the_plate_line_is_where_the_end_touches_a_plate() -> None:
    """A girth line from the face to the shoulder is rho asin(b/rho) long."""
    elbow = elbow_of("4")
    wrap = read_wraps(sheet_of_cut(cut_at(elbow, math.radians(40))))[0]
    R, r = 6.0 * 25.4, OD_MM["4"] / 2
    for name, rho in (("HEEL", R + r), ("SIDE", R), ("THROAT", R - r)):
        for stay in wrap.named(name):
            assert stay.plate_mm is not None
            apart = np.linalg.norm(stay.plate_mm.mean(axis=0) - stay.fold_mm.mean(axis=0))
            assert apart == pytest.approx(rho * math.asin(elbow.shoulder_mm / rho), abs=0.01)


def test_a_job_without_a_cut_has_no_wraps() -> None:
    assert not pack_of(job_of("2", MM, bent_rail("A", (90.0,))), "A4", ("wraps", "job")).of_wraps()


def test_the_units_of_the_words_are_the_jobs(packs: dict[str, Pack]) -> None:
    for name, unit, other in (("inches on letter", "in", "mm"), ("normal on A4", "mm", "in")):
        words = [w.text for _, sheet in packs[name].of_wraps() for w in sheet.words if "nominal" in w.text]
        assert words and all(f" {unit}" in text for text in words)
        assert not any(re.search(rf"\d {other}\b", text) for text in words)
