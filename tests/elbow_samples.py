"""Elbows, pipes and shop settings that several tests share: NPS 1-1/2 Sch 40 unless said otherwise."""

from __future__ import annotations

import math
from dataclasses import replace

from templates_core.fittings import Pipe, StockElbow
from templates_core.jobs.job import Job, RailSpec, Shop

PIPE = Pipe("NPS 1-1/2 Sch 40", 48.26, 3.68, "sample")
SHOP = Shop(1.6, 0.5, 2.4, 0.1, None, 3.0, "letter")
LR90 = StockElbow(
    "90 long radius", 48.26, 3.68, math.pi / 2, 57.15, 57.15, 0, 0, 0, math.radians(1.2), 1.6, 0.8, "sample"
)
LR45 = replace(
    LR90, name="45 long radius", sweep_rad=math.pi / 4, centre_to_end_mm=28.575, bend_radius_mm=None
)
RETURN = replace(LR90, name="180 long radius return", sweep_rad=math.pi)
BEVELLED = replace(LR90, shoulder_mm=(3.68 - 1.6) * math.tan(math.radians(37.5)))


def job(*rails: RailSpec, elbows: tuple[StockElbow, ...] = (LR90, LR45), shop: Shop = SHOP) -> Job:
    """A job of these rails."""
    return Job("Heron Slip", "HS-014", "A", "mm", PIPE, elbows, {}, shop, rails, "0123abcd", "job.toml")
