"""Elbows by a size table of its own, and single wraps of them written to a PDF and read back."""

from __future__ import annotations

import io
import math
from dataclasses import replace
from typing import Literal

from render.pages.paginate import Block
from render.pages.paper import Layout, Page, Paper
from render.pages.pdf import Metadata, pdf_bytes
from render.sheets.wrap_sheet import elbow_wrap_parts, mitre_wrap_parts
from templates_core.elbows.cuts import Cut, lines_of_piece, lines_to_cut
from templates_core.elbows.error_costs import error_costs
from templates_core.elbows.groups import CutGroup, MitreGroup
from templates_core.fittings import StockElbow
from templates_core.wraps.cut_wraps import CutWrap, wrap_of_cut
from templates_core.wraps.pipe_wraps import PipeWrap
from tests.elbow_samples import LR90, job
from tests.pdf_reader import Sheet, read_pack

INCH_MM = 25.4
SIZES_IN: dict[str, tuple[float, float, float, float | None]] = {
    # NPS: OD, wall (Sch 40), centre-to-end of the 90 long radius, of the 90 short radius [in].
    # ASME B36.10M and B16.9, from memory.
    "1/2": (0.840, 0.109, 1.5, None),
    "3/4": (1.050, 0.113, 1.5, None),
    "1": (1.315, 0.133, 1.5, 1.0),
    "1-1/4": (1.660, 0.140, 1.875, 1.25),
    "1-1/2": (1.900, 0.145, 2.25, 1.5),
    "2": (2.375, 0.154, 3.0, 2.0),
    "2-1/2": (2.875, 0.203, 3.75, 2.5),
    "3": (3.500, 0.216, 4.5, 3.0),
    "3-1/2": (4.000, 0.226, 5.25, 3.5),
    "4": (4.500, 0.237, 6.0, 4.0),
    "5": (5.563, 0.258, 7.5, 5.0),
    "6": (6.625, 0.280, 9.0, 6.0),
    "8": (8.625, 0.322, 12.0, 8.0),
    "10": (10.750, 0.365, 15.0, 10.0),
    "12": (12.750, 0.406, 18.0, 12.0),
}
FITTINGS = [(nps, kind) for nps, row in SIZES_IN.items() for kind in ("LR", "SR") if kind == "LR" or row[3]]


def elbow_of(nps: str, kind: str = "LR", bevelled: bool = True) -> StockElbow:
    """A 90° elbow by the table; a bevel of 37.5° with a land of 1.6 mm (from memory)."""
    od, wall, long_radius, short_radius = (None if x is None else x * INCH_MM for x in SIZES_IN[nps])
    radius = long_radius if kind == "LR" else short_radius
    assert od is not None and wall is not None and radius is not None
    shoulder = max(0.0, wall - 1.6) * math.tan(math.radians(37.5)) if bevelled else 0.0
    return replace(
        LR90,
        name=f"90 {kind} NPS {nps}",
        od_mm=od,
        wall_mm=wall,
        centre_to_end_mm=radius,
        bend_radius_mm=radius,
        shoulder_mm=shoulder,
    )


def group_of(cut: Cut, marks: tuple[str, ...] = ("A1",)) -> CutGroup:
    """The pieces of one cut."""
    return CutGroup(
        cut,
        marks,
        len(marks),
        lines_to_cut(cut),
        lines_of_piece(cut),
        error_costs(cut),
        longest_run_mm=1000.0,
    )


def cut_at(elbow: StockElbow, wrap_angle_rad: float, face: Literal["own", "far"] = "own") -> Cut:
    """The cut that lies that far from the face that its wrap hangs from."""
    piece = wrap_angle_rad if face == "own" else elbow.sweep_rad - wrap_angle_rad
    return Cut(elbow, piece, face)


def sheet_of_cut(cut: Cut, thickness_mm: float = 0.1, made: CutWrap | None = None) -> Sheet:
    """The wrap of one cut as written on a page of its own, and read back."""
    made = made or wrap_of_cut(cut, thickness_mm, 1.0)
    block, _ = elbow_wrap_parts(job(), group_of(cut), made)
    return written(block)


def sheet_of_mitre(group: MitreGroup, flat: PipeWrap) -> Sheet:
    """The wrap of one mitre as written on a page of its own, and read back."""
    block, _ = mitre_wrap_parts(job(), group, flat)
    return written(block)


def written(block: Block) -> Sheet:
    """A template as written on a page of its own, and read back."""
    box = block.box
    layout = Layout(Paper("test", box.width + 60, box.height + 60))
    drawing = block.drawing.moved(10 - box.left, 10 - box.bottom)
    data = pdf_bytes([Page("Wraps", block.title, layout, drawing)], Metadata("test", "test"))
    return read_pack(io.BytesIO(data))[0]
