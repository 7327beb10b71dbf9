"""Stacks of shims against every stack there is, and welds put in order."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from templates_core.welding.shims import MOST_IN_STACK, NEAR_MM, stack_for
from templates_core.welding.weld_order import Spot, welding_order
from tests.settings import seeded


@seeded(100)
@given(
    st.floats(0, 60), st.lists(st.sampled_from([0.5, 0.8, 1.5875, 3.0, 5.0, 12.7]), min_size=1, unique=True)
)
def test_a_stack_is_as_near_as_any_and_made_of_few(wanted: float, stock: list[float]) -> None:
    stack = stack_for(wanted, stock)
    assert len(stack.shims_mm) <= MOST_IN_STACK and set(stack.shims_mm) <= set(stock)
    every = [
        shims
        for count in range(MOST_IN_STACK + 1)
        for shims in itertools.combinations_with_replacement(stock, count)
    ]
    best = min(abs(sum(shims) - wanted) for shims in every)
    assert abs(stack.height_mm - wanted) <= best + NEAR_MM + 1e-9
    near = [shims for shims in every if abs(sum(shims) - wanted) <= best + NEAR_MM - 1e-6]
    assert len(stack.shims_mm) <= min(len(shims) for shims in near)


def test_stacks_by_hand() -> None:
    stock = (1.0, 2.0, 5.0, 10.0)
    assert stack_for(0.0, stock).shims_mm == ()
    assert stack_for(18.2, stock).shims_mm == (10.0, 5.0, 2.0, 1.0)
    assert stack_for(10.4, stock).shims_mm == (10.0,)
    assert stack_for(10.5, stock).height_mm == 10.0, "a tie goes to the lower one"
    assert stack_for(200.0, stock).shims_mm == (10.0,) * 5


def order(*places: float, sides: tuple[float, ...] = (0.0,)) -> list[str]:
    spots = [Spot(f"{place:g}{'abc'[i]}", place, side) for place in places for i, side in enumerate(sides)]
    return [turn.mark for turn in welding_order(spots, 1.5)]


def test_nine_posts_from_the_middle_out_in_both_halves_by_turns() -> None:
    assert order(*range(1, 10)) == ["5a", "3a", "6a", "4a", "7a", "2a", "8a", "1a", "9a"]


def test_two_posts_wait_for_each_other() -> None:
    first, second = welding_order([Spot("A", 0.0), Spot("B", 1.0)], 1.5)
    assert (first.mark, first.wait, second.mark, second.wait) == ("A", False, "B", True)
    assert welding_order([], 1.5) == ()


def test_far_apart_nothing_waits() -> None:
    assert [turn.wait for turn in welding_order([Spot("A", 0.0), Spot("B", 900.0)], 480.0)] == [False, False]


def test_welds_opposite_each_other_follow_one_another() -> None:
    marks = order(1, 2, 3, 4, 5, sides=(0.0, math.pi))
    assert [mark[0] for mark in marks[:2]] == ["3", "3"]
    assert all(one[1] != two[1] for one, two in itertools.pairwise(marks))


@seeded(100)
@given(st.lists(st.integers(0, 30), min_size=1, max_size=25, unique=True))
def test_every_weld_comes_once_and_no_hot_neighbour_unsaid(places: list[int]) -> None:
    turns = welding_order([Spot(str(place), place, 0.0) for place in places], 100.0)
    assert sorted(turn.mark for turn in turns) == sorted(map(str, places))
    assert [turn.number for turn in turns] == list(range(1, len(places) + 1))
    ordered = sorted(places)
    for one, two in itertools.pairwise(turns):
        apart = abs(ordered.index(int(one.mark)) - ordered.index(int(two.mark)))
        assert two.wait == (apart == 1)
    middle = (ordered[0] + ordered[-1]) / 2
    assert abs(int(turns[0].mark) - middle) == pytest.approx(min(abs(p - middle) for p in ordered))
