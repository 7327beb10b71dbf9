"""Stock of many distinct sizes: plans and bounds, against every share-out of small jobs and against laws."""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from templates_core.jobs.job import PipeStock
from templates_core.stock import elbow_patterns, stock_milp, stock_pipe, stock_pricing
from templates_core.stock.stock_elbows import ElbowShare, PieceWanted, share_elbows
from templates_core.stock.stock_filling import filled_sticks
from templates_core.stock.stock_patterns import Kind
from templates_core.stock.stock_pipe import Blank, PipeShare, share_pipe
from tests.elbow_samples import LR90, SHOP
from tests.test_stock_elbows import THIN, least_cost
from tests.test_stock_pipe import brute_force_cost


@contextmanager
def unlisted() -> Iterator[None]:
    """Small jobs take the way of large ones: no list of all patterns, and hardly any work on prices."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(stock_pipe, "LISTED_SIZES", 0)
        patch.setattr(stock_milp, "DIRECT_PATTERNS", 1)
        patch.setattr(elbow_patterns, "MOST_TRIED", 0)
        patch.setattr(stock_pricing, "MOST_WORK", 20_000)
        yield


def blanks(lengths: list[int]) -> list[Blank]:
    return [Blank(f"A-P{n}", f"rail A, run {n}", float(mm), 1) for n, mm in enumerate(lengths, 1)]


def pieces(angles: list[float]) -> list[PieceWanted]:
    return [PieceWanted(f"A{n}", "rail A", LR90, math.radians(a), False, 1) for n, a in enumerate(angles, 1)]


def random_pipes(count: int) -> PipeShare:
    draw = random.Random(count)
    lengths = [draw.randint(200, 2650) for _ in range(count)]
    return share_pipe(blanks(lengths), [PipeStock(6000.0)], 1.6, 0.0, 300.0)


def random_pieces(count: int) -> ElbowShare:
    draw = random.Random(count)
    return share_elbows(pieces([draw.uniform(22, 58) for _ in range(count)]), [LR90], [], SHOP)


@settings(max_examples=40, derandomize=True, deadline=None)
@given(st.lists(st.integers(15, 70), min_size=1, max_size=7), st.integers(0, 2))
def test_the_bound_of_pipes_is_under_the_least_cost_and_the_plan_over_it(
    lengths: list[int], on_hand: int
) -> None:
    stock = (PipeStock(100.0, 9), PipeStock(72.0, 7, on_hand))
    least = brute_force_cost(tuple(sorted(lengths, reverse=True)), stock, 2)
    with unlisted():
        share = share_pipe(blanks(lengths), stock, 2.0, 0.0, 300.0)
    assert share.bound <= least <= share.cost
    assert share.cost <= least + 9
    cut = sorted(mm for plan in share.plans for _ in plan.copies for mm in plan.lengths_mm)
    assert cut == sorted(lengths)
    for plan in share.plans:
        assert sum(plan.lengths_mm) + 2 * (len(plan.lengths_mm) - 1) <= plan.stock.length_mm + 1e-6


@settings(max_examples=40, derandomize=True, deadline=None)
@given(st.lists(st.integers(22, 60), min_size=1, max_size=6))
def test_the_bound_of_pieces_is_under_the_least_cost_and_the_plan_over_it(angles: list[int]) -> None:
    degrees = [float(angle) for angle in angles]
    with unlisted():
        share = share_elbows(pieces(degrees), [LR90], [], THIN)
    least = least_cost(degrees, [(90.0, 9000)], LR90.shoulder_mm, THIN)
    assert share.bound <= least <= share.cost
    assert share.cost <= least + 9000


def test_hundreds_of_distinct_lengths_come_within_a_stick_of_the_bound() -> None:
    for count in (150, 400):
        share = random_pipes(count)
        assert share.bound <= share.cost <= share.bound + 6000
        assert sum(len(names) for plan in share.plans for names in plan.copies) == count
        used = sum((mm + 1.6) * plan.quantity for plan in share.plans for mm in plan.lengths_mm)
        assert share.cost == 6000 * sum(plan.quantity for plan in share.plans)
        assert share.bound >= 6000 * math.ceil(used / 6001.6 - 1e-9)


def test_hundreds_of_distinct_pieces_are_all_cut_near_the_bound() -> None:
    share = random_pieces(220)
    assert share.bound <= share.cost <= 1.05 * share.bound
    assert sorted(mark for plan in share.plans for names in plan.copies for mark in names) == sorted(
        f"A{n}" for n in range(1, 221)
    )
    for plan in share.plans:
        spans = plan.spans_rad
        assert spans[0][0] == 0.0
        assert spans[-1][1] <= math.pi / 2 + math.radians(0.01)
        assert all(before[1] <= after[0] + 1e-9 for before, after in pairwise(spans))


def test_the_same_job_is_shared_out_alike_each_time() -> None:
    assert random_pipes(150) == random_pipes(150)
    assert random_pieces(120) == random_pieces(120)


def test_too_little_work_widens_the_gap_and_breaks_nothing() -> None:
    with unlisted():
        share = random_pieces(60)
    assert 0 < share.bound <= share.cost
    assert sum(len(names) for plan in share.plans for names in plan.copies) == 60


def test_a_stick_is_filled_to_the_last_hair() -> None:
    plan = filled_sticks([1200.0, 1100.0, 900.0, 800.0], [2000.0], [1] * 4, [Kind(1, 0)], [0])
    assert plan is not None
    assert sorted(pattern.items for pattern in plan) == [((0, 1), (3, 1)), ((1, 1), (2, 1))]
    assert filled_sticks([1000.0], [2000.0], [3], [Kind(1, 1, buyable=False)], [0]) is None
    one = filled_sticks([1000.0], [6000.0], [6], [Kind(1, 0)], [0])
    assert one is not None
    assert list(one.values()) == [1]
