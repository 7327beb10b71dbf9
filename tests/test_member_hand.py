"""Wraps of cut pipes as written to a PDF, wound on a pipe in space: they must seat, their mirror images not.

The paper is read from the file alone: the wide lines, the 0° line, and the lengths in its words. A pipe is
stood where the drawing has it; the first end is slid along it until it touches, and the second end follows
from the printed ring lengths. Distances to headers are those of points to lines, less the radius.
"""

from __future__ import annotations

import io
import math
import re
from dataclasses import dataclass

import numpy as np
import pytest

from render.pages.paper import Layout, Page, Paper
from render.pages.pdf import Metadata, pdf_bytes
from render.sheets.member_sheet import group_blocks
from render.sheets.member_words import Setting
from templates_core.geometry.solids import PipeSolid
from templates_core.geometry.surfaces import Array
from templates_core.pipes.cut_pipe import CutPipe, PipeGroup
from tests.cut_pipe_samples import FROM, NPS_1_5, UP, headers, lopsided
from tests.pdf_reader import Sheet, Stroke, read_pack

PAPER_MM = 0.1
TOUCH_MM = 0.05
MISS_MM = 1.0
WIDE_MM, DASH_DOT = 0.5, 0.13
VAST = Layout(Paper("vast", 900.0, 900.0))
ZERO, LEFT = np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])


def printed(made: CutPipe) -> list[Sheet]:
    """Every block of a cut pipe on a page of its own, as written and read back."""
    pages = []
    for block in group_blocks(PipeGroup((made,)), Setting("mm", PAPER_MM), VAST):
        moved = block.drawing.moved(30 - block.box.left, 30 - block.box.bottom)
        pages.append(Page("Members", block.title, VAST, moved))
    return read_pack(io.BytesIO(pdf_bytes(pages, Metadata("test", "test"))))


@dataclass(frozen=True)
class Traced:
    """Wide lines (n, 2) [mm], lowest first: x from the 0° line, y as on the page; y of the square edge."""

    lines_mm: list[Array]
    square_mm: float
    words: str

    def mirrored(self) -> Traced:
        flip = np.array([-1.0, 1.0])
        return Traced([line * flip for line in self.lines_mm], self.square_mm, self.words)


def read_wrap(sheet: Sheet) -> Traced:
    (zero,) = [word for word in sheet.words if word.text == "0°"]
    assert "TO THE FIRST" in " ".join(word.text for word in sheet.words)
    heads = [np.array(s.points) for s in sheet.strokes if s.filled]
    assert heads
    assert all((head[:, 1] < head[:, 1].mean()).sum() == 1 for head in heads), "arrows point down"
    x = min((s for s in sheet.strokes if s.dash_mm), key=lambda s: beside(s, zero.at[0])).points[0][0]
    lines = sorted(
        (np.array(s.points) - [x, 0.0] for s in sheet.with_width(WIDE_MM)), key=lambda line: line[:, 1].mean()
    )
    outline = np.concatenate([np.array(s.points) for s in sheet.with_width(0.25) if len(s.points) > 4])
    square = outline[:, 1].max() if lines[0][:, 1].mean() < outline[:, 1].mean() else outline[:, 1].min()
    return Traced(lines, float(square), " ".join(word.text for word in sheet.words))


def beside(stroke: Stroke, x: float) -> float:
    """How far a name stands to the right of an upright line."""
    gap = x - stroke.points[0][0]
    return gap if gap > 0 else math.inf


def wound(line_mm: Array, lift_mm: float, radius_mm: float) -> Array:
    """A line of the paper, printed side out, up along the pipe, at a radius in its wall; shape (n, 3)."""
    phi = line_mm[:, 0] / (NPS_1_5.radius_mm + PAPER_MM / 2)
    out = np.outer(np.cos(phi), ZERO) + np.outer(np.sin(phi), LEFT)
    assert np.allclose(np.cross(UP, ZERO), LEFT)  # to the right on the paper, as one looks at the pipe
    return np.asarray(FROM + radius_mm * out + np.outer(line_mm[:, 1] + lift_mm, UP))


def clearance(line_mm: Array, lift_mm: float, header: PipeSolid) -> Array:
    """Least distance of the wall, cut square through along the line, to the header, for each point (n,)."""
    along = (header.end_mm - header.start_mm) / np.linalg.norm(header.end_mm - header.start_mm)
    radii = np.linspace(NPS_1_5.radius_mm - NPS_1_5.wall_mm, NPS_1_5.radius_mm, 41)
    rings = np.stack([wound(line_mm, lift_mm, r) for r in radii]) - header.start_mm
    return np.asarray(np.min(np.linalg.norm(np.cross(rings, along), axis=-1), axis=0) - header.radius_mm)


def dense(line_mm: Array) -> Array:
    """The line as drawn, by points 0.2 mm apart."""
    x = np.arange(line_mm[:, 0].min(), line_mm[:, 0].max(), 0.2)
    order = np.argsort(line_mm[:, 0])
    return np.stack([x, np.interp(x, line_mm[order, 0], line_mm[order, 1])], axis=1)


def seated(line_mm: Array, header: PipeSolid) -> float:
    """How far to lift the paper along the pipe so that its first end just touches the header."""
    low = -float(line_mm[:, 1].mean())  # deep inside
    high = low + 500.0
    for _ in range(60):
        middle = (low + high) / 2
        on_top = np.min(clearance(line_mm, middle, header)) > 0
        low, high = (low, middle) if on_top else (middle, high)
    return high


def length_after(words: str, name: str) -> float:
    found = re.search(rf"{name} ([0-9.]+) mm", words)
    assert found, words
    return float(found[1])


@pytest.fixture(scope="module")
def long_ones() -> tuple[Traced, Traced]:
    first, second = (read_wrap(sheet) for sheet in printed(lopsided(1800.0)))
    return first, second


def misfit(first: Traced, second: Traced, length_mm: float) -> tuple[Array, Array]:
    """Clearances of both ends of a long pipe, whose first end is put on its header."""
    one, other = headers(length_mm)
    low, high = dense(first.lines_mm[0]), dense(second.lines_mm[0])
    lift = seated(low, one)
    rings = [length_after(wrap.words, "Ring line") for wrap in (first, second)]
    second_lift = lift + first.square_mm + rings[1] - rings[0] - second.square_mm
    return clearance(low, lift, one), clearance(high, second_lift, other)


def test_both_wraps_of_a_long_lopsided_pipe_seat_all_round(long_ones: tuple[Traced, Traced]) -> None:
    for gaps in misfit(*long_ones, 1800.0):
        assert np.min(gaps) > -TOUCH_MM
        assert np.max(gaps) < TOUCH_MM


def test_their_mirror_images_do_not(long_ones: tuple[Traced, Traced]) -> None:
    first, second = long_ones
    for wrong in ((first.mirrored(), second), (first, second.mirrored())):
        assert max(float(np.ptp(gaps)) for gaps in misfit(*wrong, 1800.0)) > MISS_MM


def test_the_ring_lines_are_struck_from_the_sawn_end(long_ones: tuple[Traced, Traced]) -> None:
    """The first end's tip is the blank's end: its ring line lies as far from it as the words say."""
    first, second = long_ones
    ring = length_after(first.words, "Ring line")
    assert first.square_mm - first.lines_mm[0][:, 1].min() == pytest.approx(ring, abs=0.01)
    blank = length_after(second.words, "Blank")
    ring = length_after(second.words, "Ring line")
    assert second.lines_mm[0][:, 1].max() - second.square_mm == pytest.approx(blank - ring, abs=0.02)


def test_one_wrap_seats_both_ends_of_a_short_lopsided_pipe() -> None:
    wrap = read_wrap(printed(lopsided(230.0))[0])
    one, other = headers(230.0)
    low, high = (dense(line) for line in wrap.lines_mm)
    lift = seated(low, one)
    for line, header in ((low, one), (high, other)):
        assert np.max(np.abs(clearance(line, lift, header))) < TOUCH_MM
    wrong = wrap.mirrored()
    low, high = (dense(line) for line in wrong.lines_mm)
    lift = seated(low, one)
    assert np.ptp(clearance(low, lift, one)) > MISS_MM
    assert np.max(np.abs(clearance(high, lift, other))) > MISS_MM


def test_a_hole_laid_on_its_header_is_the_bore_of_the_branch_and_its_mirror_image_is_not() -> None:
    """The cross lies where the branch's axis meets the header, the arrow along it; the paper is wound on."""
    (sheet,) = [
        s for s in printed(lopsided(1800.0, hole=True)) if "along A-P2" in " ".join(w.text for w in s.words)
    ]
    (outline,) = [np.array(s.points) for s in sheet.with_width(WIDE_MM)]
    cross = [np.array(s.points) for s in sheet.strokes if s.dash_mm]
    (upright,) = [line for line in cross if np.ptp(line[:, 0]) < 1e-3]
    (level,) = [line for line in cross if np.ptp(line[:, 1]) < 1e-3]
    flat = outline - [upright[0, 0], level[0, 1]]
    header, _ = headers(1800.0)
    along = (header.end_mm - header.start_mm) / np.linalg.norm(header.end_mm - header.start_mm)
    meets = FROM + meeting(header, along) * UP
    foot = header.start_mm + along * ((meets - header.start_mm) @ along)
    out = (meets - foot) / np.linalg.norm(meets - foot)
    assert np.linalg.norm(meets - foot) == pytest.approx(header.radius_mm, abs=1e-6)

    def off(points: Array) -> Array:
        phi = points[:, 0] / (header.radius_mm + PAPER_MM / 2)
        rim = np.outer(np.cos(phi), out) + np.outer(np.sin(phi), np.cross(along, out))
        laid = foot + header.radius_mm * rim + np.outer(points[:, 1], along)
        return np.asarray(np.hypot(*(laid - FROM)[:, :2].T) - (NPS_1_5.radius_mm - NPS_1_5.wall_mm))

    assert np.max(np.abs(off(flat))) < TOUCH_MM
    assert np.max(np.abs(off(flat * [-1.0, 1.0]))) > MISS_MM


def meeting(header: PipeSolid, along: Array) -> float:
    """Height over FROM at which the upright axis comes out of the header: found by bisection."""
    low, high = 0.0, 200.0
    for _ in range(60):
        middle = (low + high) / 2
        apart = np.linalg.norm(np.cross(FROM + middle * UP - header.start_mm, along)) - header.radius_mm
        low, high = (middle, high) if apart < 0 else (low, middle)
    return high
