"""Pipe out of sticks: least cost against every way of cutting small jobs, and the rules at their limits."""

from __future__ import annotations

import math
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from templates_core.errors import InputError
from templates_core.jobs.job import PipeStock
from templates_core.stock import stock_milp
from templates_core.stock.stock_pipe import Blank, PipeShare, share_pipe


def blanks(*lengths: float, quantity: int = 1) -> list[Blank]:
    return [Blank(f"A-P{n}", f"rail A, run {n}", mm, quantity) for n, mm in enumerate(lengths, 1)]


def shared(
    lengths: list[float], *stock: PipeStock, kerf: float = 0.0, trim: float = 0.0, least: float = 300.0
) -> PipeShare:
    return share_pipe(blanks(*lengths), stock, kerf, trim, least)


def sticks_of(share: PipeShare) -> int:
    return sum(plan.quantity for plan in share.plans)


def brute_force_cost(lengths: tuple[int, ...], stock: tuple[PipeStock, ...], kerf: int) -> int:
    """Least cost by trying every share-out, longest length first, each into every stick open or new."""

    @cache
    def rest(number: int, left: tuple[tuple[int, int], ...], hand: tuple[int, ...]) -> float:
        if number == len(lengths):
            return 0
        need = lengths[number] + kerf
        costs = [math.inf]
        for place, (room, kind) in enumerate(left):
            if need <= room:
                others = left[:place] + left[place + 1 :]
                costs.append(rest(number + 1, tuple(sorted((*others, (room - need, kind)))), hand))
        for kind, one in enumerate(stock):
            room = int(one.length_mm) + kerf - need
            fresh = tuple(sorted((*left, (room, kind))))
            if room >= 0 and hand[kind]:
                used = (*hand[:kind], hand[kind] - 1, *hand[kind + 1 :])
                costs.append(rest(number + 1, fresh, used))
            elif room >= 0 and one.buyable:
                costs.append((one.price_cents or 0) + rest(number + 1, fresh, hand))
        return min(costs)

    return int(rest(0, (), tuple(one.on_hand for one in stock)))


KINDS = st.tuples(st.integers(60, 110), st.integers(1, 9), st.integers(0, 2))
"""Length, price and number on hand."""


@settings(max_examples=40, derandomize=True, deadline=None)
@given(
    st.lists(st.integers(5, 60), min_size=1, max_size=7),
    st.lists(KINDS, min_size=1, max_size=3, unique_by=lambda kind: kind[0]),
    st.integers(0, 4),
)
def test_small_jobs_cost_the_least_there_is(
    lengths: list[int], kinds: list[tuple[int, int, int]], kerf: int
) -> None:
    stock = tuple(PipeStock(float(mm), price, on_hand) for mm, price, on_hand in kinds)
    share = shared([float(mm) for mm in lengths], *stock, kerf=float(kerf))
    least = brute_force_cost(tuple(sorted(lengths, reverse=True)), stock, kerf)
    assert (share.cost, share.bound) == (least, least)
    check_plans(share, lengths, kerf)


def check_plans(share: PipeShare, lengths: list[int], kerf: float) -> None:
    """Every pipe once, nothing over the end of a stick, nothing lost."""
    cut = sorted(mm for plan in share.plans for _ in plan.copies for mm in plan.lengths_mm)
    assert cut == sorted(lengths)
    marks = [mark for plan in share.plans for names in plan.copies for mark in names]
    assert sorted(marks) == sorted(f"A-P{n}" for n in range(1, len(lengths) + 1))
    by_mark = {f"A-P{n}": mm for n, mm in enumerate(lengths, 1)}
    for plan in share.plans:
        assert all(tuple(by_mark[mark] for mark in names) == plan.lengths_mm for names in plan.copies)
        taken = sum(plan.lengths_mm) + kerf * (len(plan.lengths_mm) - 1)
        assert taken <= plan.stock.length_mm
        assert plan.offcut_mm == pytest.approx(max(0, plan.stock.length_mm - taken - kerf))
    for line in share.used:
        used = sum(plan.quantity for plan in share.plans if plan.stock == line.stock)
        assert used == line.from_hand + line.to_buy


def test_a_kerf_is_lost_between_two_lengths_and_none_at_a_bare_end() -> None:
    """3 × 1998.4 and two kerfs of 2.4 are 6000; a hair more needs another stick."""
    assert sticks_of(shared([1998.4] * 3, PipeStock(6000.0), kerf=2.4)) == 1
    assert sticks_of(shared([1998.4, 1998.4, 1998.41], PipeStock(6000.0), kerf=2.4)) == 2
    assert sticks_of(shared([6000.0], PipeStock(6000.0), kerf=2.4)) == 1


def test_both_ends_are_trimmed() -> None:
    assert sticks_of(shared([2989.0, 2989.0], PipeStock(6000.0), kerf=2.0, trim=10.0)) == 1
    assert sticks_of(shared([2989.0, 2989.1], PipeStock(6000.0), kerf=2.0, trim=10.0)) == 2
    (plan,) = shared([1000.0], PipeStock(6000.0), kerf=2.0, trim=10.0).plans
    assert plan.offcut_mm == 6000 - 10 - 1000 - 2


def test_an_offcut_is_kept_from_the_stated_length_on() -> None:
    for length, usable in ((5698.0, True), (5698.1, False)):
        (plan,) = shared([length], PipeStock(6000.0), kerf=2.0, least=300.0).plans
        assert plan.usable is usable


def test_what_is_on_hand_goes_first_and_the_shortest_of_it() -> None:
    stock = (PipeStock(6000.0, 3000, 1), PipeStock(2500.0, None, 1, False), PipeStock(1200.0, None, 1, False))
    share = shared([1100.0], *stock)
    assert [(line.stock.length_mm, line.from_hand, line.to_buy) for line in share.used] == [(1200.0, 1, 0)]
    share = shared([1100.0, 2400.0, 5000.0, 5000.0], *stock)
    assert (share.cost, share.bound, share.priced) == (3000, 3000, True)


def test_two_lengths_of_stick_by_price() -> None:
    """Four of 2900: two sticks of 6 m, or four of 3 m, whichever is cheaper."""
    for price, wanted in ((1400, 3000.0), (1600, 6000.0)):
        share = shared([2900.0] * 4, PipeStock(6000.0, 3000), PipeStock(3000.0, price))
        assert {plan.stock.length_mm for plan in share.plans} == {wanted}


def test_without_prices_the_least_length_of_pipe_is_bought() -> None:
    share = shared([2900.0] * 3, PipeStock(6000.0), PipeStock(3000.0))
    assert (share.cost, share.bound, share.priced) == (9000, 9000, False)


def test_too_few_on_hand_is_refused_and_too_long_is_told() -> None:
    with pytest.raises(InputError, match="on hand don't make all the pipes"):
        shared([2900.0] * 3, PipeStock(6000.0, None, 1, False))
    share = shared([2900.0, 6000.1], PipeStock(6000.0))
    assert share.too_long == ("A-P2",)
    assert [plan.copies for plan in share.plans] == [(("A-P1",),)]
    assert shared([7000.0], PipeStock(6000.0)).plans == ()


def test_found_patterns_do_as_well_as_all_patterns(monkeypatch: pytest.MonkeyPatch) -> None:
    """One job solved with every pattern, and again with those that prices find."""
    lengths = [730.0, 812.5, 1190.0, 455.0, 1604.0, 990.25] * 4
    stock = (PipeStock(6000.0, 3000, 1), PipeStock(4000.0, 2100))
    whole = shared(lengths, *stock, kerf=1.6)
    monkeypatch.setattr(stock_milp, "DIRECT_PATTERNS", 10)
    found = shared(lengths, *stock, kerf=1.6)
    assert whole.cost == whole.bound
    assert found.bound <= whole.cost <= found.cost <= whole.cost * 1.05
    assert found.bound >= 0.95 * whole.cost


def test_sticks_cut_alike_are_one_plan_with_the_marks_of_each() -> None:
    (plan,) = share_pipe(blanks(2990.0, 2000.0, quantity=2), [PipeStock(5000.0)], 0.0, 0.0, 300.0).plans
    assert (plan.quantity, plan.lengths_mm) == (2, (2990.0, 2000.0))
    assert plan.copies == (("A-P1", "A-P2"), ("A-P1", "A-P2"))
