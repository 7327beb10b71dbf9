"""A cutting-stock instance from the literature whose least number of rolls is known.

Rolls of 5600 mm are cut to thirteen widths; 73 rolls do.  The instance is the paper-machine example that
articles on the cutting-stock problem work through, with its answer of 73 (both from memory).  That no fewer
do is checked here from the demand alone, and that 73 do from the plan.
"""

from __future__ import annotations

import math

import pytest

from templates_core.jobs.job import PipeStock
from templates_core.stock import stock_milp
from templates_core.stock.stock_pipe import Blank, PipeShare, share_pipe

ROLL_MM = 5600.0
WIDTHS_MM = (1380, 1520, 1560, 1710, 1820, 1880, 1930, 2000, 2050, 2100, 2140, 2150, 2200)
WANTED = (22, 25, 12, 14, 18, 18, 20, 10, 12, 14, 16, 18, 20)
LEAST_ROLLS = 73


def test_no_fewer_rolls_are_long_enough_in_all() -> None:
    length = sum(width * count for width, count in zip(WIDTHS_MM, WANTED, strict=True))
    assert math.ceil(length / ROLL_MM) == LEAST_ROLLS


def shared() -> PipeShare:
    blanks = [
        Blank(f"W{width}", "order", float(width), count)
        for width, count in zip(WIDTHS_MM, WANTED, strict=True)
    ]
    return share_pipe(blanks, [PipeStock(ROLL_MM)], 0.0, 0.0, 300.0)


def test_the_known_least_number_of_rolls() -> None:
    share = shared()
    assert sum(plan.quantity for plan in share.plans) == LEAST_ROLLS
    assert share.cost == share.bound == LEAST_ROLLS * ROLL_MM
    cut = [width for plan in share.plans for _ in plan.copies for width in plan.lengths_mm]
    assert [cut.count(width) for width in WIDTHS_MM] == list(WANTED)
    assert all(sum(plan.lengths_mm) <= ROLL_MM for plan in share.plans)


def test_patterns_found_by_prices_come_within_one_roll_and_prove_the_bound(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(stock_milp, "DIRECT_PATTERNS", 50)
    share = shared()
    assert share.bound == LEAST_ROLLS * ROLL_MM
    assert sum(plan.quantity for plan in share.plans) <= LEAST_ROLLS + 1
