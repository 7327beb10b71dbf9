"""Pipe sizes against the tables of the ``fluids`` package, attributed there to B36.10M and B36.19M.

A transcription check: OD and wall of every size and schedule, row by row.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from fluids.piping import nearest_pipe

from templates_core.standards import nps_sizes, pipe_size

HUNDREDTH_MM = 0.005
"""Walls are tabulated to a hundredth of a millimetre in both."""
TENTH_MM = 0.0501
"""ODs are tabulated to a tenth there, and are inches here."""


def nominal(size: str) -> float:
    return float(sum(Fraction(part) for part in size.split("-")))


@pytest.mark.parametrize("schedule", ["5S", "10S", "40", "80", "STD", "XS"])
@pytest.mark.parametrize("size", nps_sizes())
def test_od_and_wall(size: str, schedule: str) -> None:
    # The annotation says int; the function's documentation passes 3.5 and the like.
    _, _, od_m, wall_m = nearest_pipe(NPS=nominal(size), schedule=schedule)  # type: ignore[arg-type]
    pipe = pipe_size(f"NPS {size}", schedule)
    assert pipe.od_mm == pytest.approx(1000 * od_m, abs=TENTH_MM)
    assert pipe.wall_mm == pytest.approx(1000 * wall_m, abs=HUNDREDTH_MM)
