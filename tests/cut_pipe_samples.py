"""Cut pipes made by hand, lopsided so that a mirrored or wrongly rolled template shows."""

from __future__ import annotations

import math

import numpy as np

from templates_core.fittings import Pipe
from templates_core.geometry.pipe_ends import BearsOn, PipeAxis, end_cut
from templates_core.geometry.solids import PipeSolid
from templates_core.pipes.cut_pipe import CutPipe, PipeEnd
from templates_core.wraps.cope_holes import cope_hole

NPS_1_5 = Pipe("NPS 1-1/2 Sch 40", 48.26, 3.68, "typed here")
FROM = np.array([100.0, 50.0, -30.0])
UP = np.array([0.0, 0.0, 1.0])


def headers(
    length_mm: float,
    angles_deg: tuple[float, float] = (57.3, 70.0),
    roll_deg: float = 37.0,
    offset_mm: float = 4.0,
    radii_mm: tuple[float, float] = (30.165, 24.13),
) -> tuple[PipeSolid, PipeSolid]:
    """Two pipes that the ends sit on: one crosses offset_mm behind the axis, the other rolled to it."""
    first, second = (math.radians(angle) for angle in angles_deg)
    roll = math.radians(roll_deg)
    one = np.array([math.sin(first), 0.0, math.cos(first)])
    other = np.array(
        [math.cos(roll) * math.sin(second), math.sin(roll) * math.sin(second), -math.cos(second)]
    )
    low, high = FROM + np.array([0.0, -offset_mm, 0.0]), FROM + length_mm * UP
    return (
        PipeSolid(low - 2000 * one, low + 2000 * one, radii_mm[0]),
        PipeSolid(high - 2000 * other, high + 2000 * other, radii_mm[1]),
    )


def lopsided(
    length_mm: float = 240.0,
    pipe: Pipe = NPS_1_5,
    mark: str = "M1",
    angles_deg: tuple[float, float] = (57.3, 70.0),
    roll_deg: float = 37.0,
    offset_mm: float = 4.0,
    radii_mm: tuple[float, float] = (30.165, 24.13),
    hole: bool = False,
    quantity: int = 3,
) -> CutPipe:
    """A pipe coped at both ends, oblique, offset, rolled."""
    axis = PipeAxis(FROM, UP, np.array([1.0, 0.0, 0.0]))
    one, other = headers(length_mm, angles_deg, roll_deg, offset_mm, radii_mm)
    bore = pipe.radius_mm - pipe.wall_mm
    opened = cope_hole(axis, UP, bore, one, np.array([0.0, -1.0, 0.0]), 0.1) if hole else None
    first, second = (math.radians(angle) for angle in angles_deg)
    return CutPipe(
        mark=mark,
        kind="member",
        where=f"member {mark}",
        quantity=quantity,
        hand="",
        pipe=pipe,
        axis=axis,
        start=PipeEnd(
            end_cut(axis, pipe, [one], "start"),
            f"cope on A-P2, {angles_deg[0]}°, offset {offset_mm}",
            ("A-P2",),
            first,
            offset_mm,
            BearsOn.FIRST,
            0.0,
            "crotch",
            0.0,
            opened,
        ),
        end=PipeEnd(
            end_cut(axis, pipe, [other], "end"),
            f"cope on A-P3, {angles_deg[1]}°",
            ("A-P3",),
            second,
            0.0,
            BearsOn.FIRST,
            math.radians(roll_deg),
            "crotch",
            length_mm,
        ),
        drawing_mm=length_mm,
        drawing_words="centre to centre",
    )
