"""Pieces out of stock elbows: least cost against every way of cutting small jobs, and the rules' limits."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from templates_core.errors import InputError
from templates_core.fittings import StockElbow
from templates_core.jobs.job import ElbowStock, Shop
from templates_core.stock.elbow_plans import stocked_pieces
from templates_core.stock.stock_elbows import ElbowShare, PieceWanted, share_elbows
from tests.elbow_samples import BEVELLED, LR45, LR90, RETURN, SHOP

THROAT_MM = 57.15 - 24.13
LOSS_MM = 1.6 / 2 + 0.5
THIN = replace(SHOP, least_throat_mm=6.0)
"""A shop that welds short pieces, so that several come of one elbow."""


def wanted(
    *angles_deg: float, elbow: StockElbow = LR90, quantity: int = 1, whole: bool = False
) -> list[PieceWanted]:
    return [
        PieceWanted(f"A{n}", f"rail A, corner {n}", elbow, math.radians(angle), whole, quantity)
        for n, angle in enumerate(angles_deg, 1)
    ]


def shared(
    pieces: Sequence[PieceWanted],
    elbows: Sequence[StockElbow] = (LR90,),
    shop: Shop = THIN,
    stock: Sequence[ElbowStock] = (),
) -> ElbowShare:
    return share_elbows(pieces, elbows, stock, shop)


def laid(share: ElbowShare) -> list[tuple[tuple[float, ...], int]]:
    """Angles of the pieces of each elbow that is cut, from face A, in degrees; and how many are cut so."""
    return [
        (tuple(round(math.degrees(angle), 6) for angle in plan.layout.angles_rad), plan.quantity)
        for plan in share.plans
        if plan.lines
    ]


def elbows_of(share: ElbowShare) -> int:
    return sum(plan.quantity for plan in share.plans)


# --- an account of the rules by trying everything, in degrees and millimetres ---


def throat_mm(degrees: float) -> float:
    return math.radians(degrees) * THROAT_MM


def can_be_cut(
    row: Sequence[float], gap_after: int | None, sweep: float, bevel_mm: float, shop: Shop
) -> bool:
    """Whether pieces [°] lie so in one elbow: in a row from face A, the rest pushed against face B.

    gap_after: how many lie before the scrap; None where there is none.
    """
    count, gap = len(row), sweep - sum(row)
    at_b = gap_after is None or gap_after < count
    if gap_after is None:
        if abs(gap) > 0.01 or count < 2:
            return False
    elif throat_mm(gap) < shop.kerf_mm * (2 if at_b else 1) + shop.least_scrap_mm - 1e-6:
        return False
    lines = list(lines_of(row, gap_after, sweep))
    if any(min(at, sweep - at) > 60 + 1e-6 for at, _, _ in lines):
        return False
    for number, angle in enumerate(row):
        end = number == 0 or (at_b and number == count - 1)
        beside = [(before, after) for _, before, after in lines if number in (before, after)]
        clear = end and any(None in sides for sides in beside)
        lost = 0.0 if clear else LOSS_MM * (1 if end else 2)
        bevel = math.degrees(math.asin(bevel_mm / THROAT_MM)) if end else 0.0
        if throat_mm(angle - bevel) - lost < least_mm(shop) - 1e-6:
            return False
    at, before, after = lines[-1]
    if after is None and not (before == 0 and at <= 60 + 1e-6) and at > sweep / 2:
        over = math.degrees(math.asin(bevel_mm / THROAT_MM))
        return throat_mm(sweep - at - over) >= shop.kerf_mm + shop.least_scrap_mm - 1e-6
    return True


def least_mm(shop: Shop) -> float:
    return max(3 * 3.68, 6.0) if shop.least_throat_mm is None else shop.least_throat_mm


def lines_of(
    row: Sequence[float], gap_after: int | None, sweep: float
) -> Iterator[tuple[float, int | None, int | None]]:
    """Where each line is from face A, and the pieces before and after it."""
    count = len(row)
    for number in range(1, count + 1):
        before_gap = gap_after is None or number <= gap_after
        at = sum(row[:number]) if before_gap else sweep - sum(row[number:])
        if gap_after == number:
            yield at, number - 1, None
            if number < count:
                yield sweep - sum(row[number:]), None, number
        elif number < count:
            yield at, number - 1, number


def fits_one(angles: Sequence[float], sweep: float, bevel_mm: float, shop: Shop) -> bool:
    return any(
        can_be_cut(row, gap_after, sweep, bevel_mm, shop)
        for row in set(permutations(angles))
        for gap_after in (None, *range(1, len(row) + 1))
    )


def groupings(items: list[int]) -> Iterator[list[list[int]]]:
    """Every way to put items in groups."""
    if not items:
        yield []
        return
    for rest in groupings(items[1:]):
        yield [[items[0]], *rest]
        for place, group in enumerate(rest):
            yield [*rest[:place], [items[0], *group], *rest[place + 1 :]]


def least_cost(angles: list[float], kinds: Sequence[tuple[float, int]], bevel_mm: float, shop: Shop) -> float:
    """kinds: sweep [°] and cost of each."""
    known: dict[tuple[float, ...], float] = {}

    def cost(group: list[int]) -> float:
        key = tuple(sorted(angles[number] for number in group))
        if key not in known:
            fitting = [price for sweep, price in kinds if fits_one(key, sweep, bevel_mm, shop)]
            known[key] = min(fitting, default=math.inf)
        return known[key]

    return min(sum(cost(group) for group in way) for way in groupings(list(range(len(angles)))))


@settings(max_examples=60, derandomize=True, deadline=None)
@given(
    st.lists(
        st.sampled_from([16.0, 18.0, 20.0, 22.5, 27.0, 30.0, 36.0, 40.0, 45.0, 50.0, 54.0, 60.0, 63.0]),
        min_size=1,
        max_size=6,
    ),
    st.booleans(),
)
def test_small_jobs_take_the_fewest_elbows_there_are(angles: list[float], bevelled: bool) -> None:
    elbow = BEVELLED if bevelled else LR90
    share = shared(wanted(*angles, elbow=elbow), (elbow,))
    assert elbows_of(share) == least_cost(angles, [(90.0, 1)], elbow.shoulder_mm, THIN)
    assert share.cost == share.bound
    assert sorted(mark for plan in share.plans for names in plan.copies for mark in names) == sorted(
        f"A{n}" for n in range(1, len(angles) + 1)
    )
    for plan in share.plans:
        for names in plan.copies:
            row = [round(math.degrees(a), 9) for a in plan.layout.angles_rad]
            assert [angles[int(name[1:]) - 1] for name in names] == pytest.approx(row)
            assert can_be_cut(row, plan.layout.gap_after or None, 90.0, elbow.shoulder_mm, THIN)


@settings(max_examples=25, derandomize=True, deadline=None)
@given(
    st.lists(st.sampled_from([17.0, 20.0, 25.0, 30.0, 35.0, 40.0, 60.0, 75.0]), min_size=1, max_size=5),
    st.integers(100, 250),
)
def test_returns_and_90s_at_least_cost(angles: list[float], price: int) -> None:
    stock = [ElbowStock(LR90.name, 100), ElbowStock(RETURN.name, price)]
    share = shared(wanted(*angles), (LR90, RETURN), THIN, stock)
    assert share.cost == least_cost(angles, [(90.0, 100), (180.0, price)], 0.0, THIN)
    assert (share.cost, share.priced) == (share.bound, True)


# --- rules ---


def test_40_and_50_come_of_one_90_and_each_face_loses_half_a_kerf_and_its_dressing() -> None:
    share = shared(wanted(40, 50), shop=SHOP)
    (plan,) = share.plans
    (line,) = plan.lines
    assert (line.blade, line.face, round(math.degrees(line.at_rad), 9)) == ("centred", "B", 50)
    assert plan.offcut is None
    pieces = stocked_pieces(share.plans, SHOP)
    assert {mark: piece.loss_mm for mark, piece in pieces.items()} == {"A1": LOSS_MM, "A2": LOSS_MM}
    assert [pieces[mark].cut.from_face for mark in ("A1", "A2")] == ["own", "far"]
    assert [math.degrees(pieces[mark].cut.wrap_angle_rad) for mark in ("A1", "A2")] == pytest.approx([40, 40])


def test_two_pieces_that_leave_enough_are_cut_clear_and_lose_nothing() -> None:
    share = shared(wanted(30, 35), shop=SHOP)
    (plan,) = share.plans
    assert [(line.blade, line.face) for line in plan.lines] == [("clear", "A"), ("clear", "B")]
    assert all(piece.loss_mm == 0 for piece in stocked_pieces(share.plans, SHOP).values())
    assert plan.offcut is not None and not plan.offcut.keeps_face
    assert math.degrees(plan.offcut.sweep_rad) == pytest.approx(25 - math.degrees(2 * 1.6 / THROAT_MM))


def test_what_is_left_is_nothing_or_can_be_sawn_off() -> None:
    """At the throat: nothing, or a kerf and 3 mm beside one piece, or two kerfs and 3 mm between two."""
    one, two = (math.degrees(mm / THROAT_MM) for mm in (1.6 + 3.0, 2 * 1.6 + 3.0))
    for left, elbows in ((0.0, 1), (0.009, 1), (0.011, 2), (one - 1e-4, 2), (one, 1), (two, 1)):
        assert elbows_of(shared(wanted(45, 45 - left))) == elbows, left
    for left, lines in (
        (one, ["centred", "centred"]),
        (two - 1e-4, ["centred", "centred"]),
        (two, ["clear", "clear"]),
    ):
        (plan,) = shared(wanted(45, 45 - left)).plans
        assert [line.blade for line in plan.lines] == lines


def test_a_piece_shares_only_where_it_stays_long_enough() -> None:
    """Three walls after what each shared face loses; a middle piece loses twice."""
    least = math.degrees((3 * 3.68 + LOSS_MM) / THROAT_MM)
    assert elbows_of(shared(wanted(90 - least - 1e-6, least + 1e-6), shop=SHOP)) == 1
    assert elbows_of(shared(wanted(90 - least + 1e-4, least - 1e-4), shop=SHOP)) == 2
    for over_mm, elbows in ((0.0, 1), (0.001, 2)):
        shop = replace(SHOP, least_throat_mm=throat_mm(30) - 2 * LOSS_MM + over_mm)
        assert elbows_of(shared(wanted(30, 30, 30), shop=shop)) == elbows


def test_a_middle_piece_has_two_cut_faces_and_each_line_its_nearer_face() -> None:
    share = shared(wanted(30, 30, 30), shop=SHOP)
    (plan,) = share.plans
    assert [(line.blade, line.face, round(math.degrees(line.at_rad))) for line in plan.lines] == [
        ("centred", "A", 30),
        ("centred", "B", 60),
    ]
    middle = stocked_pieces(share.plans, SHOP)[plan.copies[0][1]]
    assert (middle.middle, middle.loss_mm, middle.cut.from_face) == (True, LOSS_MM, "far")
    assert math.degrees(middle.cut.wrap_angle_rad) == pytest.approx(30)


def test_no_line_is_further_than_60_degrees_from_a_face() -> None:
    """A return takes two pieces up to 60 from its ends, and no third between that would need a line at 70."""
    assert elbows_of(shared(wanted(60, 60, elbow=RETURN), (RETURN,), SHOP)) == 1
    assert elbows_of(shared(wanted(40, 40, 30, elbow=RETURN), (RETURN,), SHOP)) == 2
    assert laid(shared(wanted(60, 60, 60, elbow=RETURN), (RETURN,), SHOP)) == [((60, 60, 60), 1)]


def test_pieces_of_one_mark_lose_alike() -> None:
    """Five of 45: two elbows are shared, and the fifth is cut as if it were, so that the rails are alike."""
    share = shared(wanted(45, quantity=5), shop=SHOP)
    assert sorted(laid(share)) == [((45.0,), 1), ((45.0, 45.0), 2)]
    assert {line.blade for plan in share.plans for line in plan.lines} == {"centred"}


def test_pieces_of_one_mark_are_all_from_the_middle_or_all_from_the_end() -> None:
    """Three of one mark of 30 would fill a 90 with two ends and a middle: they go two and one instead."""
    assert laid(shared(wanted(30, quantity=3), shop=SHOP)) != [((30.0, 30.0, 30.0), 1)]
    assert elbows_of(shared(wanted(30, quantity=3), shop=SHOP)) == 2
    marks = wanted(30, 30, quantity=2)
    share = shared([*marks, replace(marks[0], mark="A3")], shop=SHOP)
    assert laid(share) == [((30.0, 30.0, 30.0), 2)]
    assert len({names[1] for plan in share.plans for names in plan.copies}) == 1


def test_what_is_on_hand_costs_nothing_and_goes_first() -> None:
    stock = [ElbowStock(LR90.name, 400, on_hand=1), ElbowStock(RETURN.name, 900, on_hand=1)]
    share = shared(wanted(55, 55, 55), (LR90, RETURN), SHOP, stock)
    assert share.cost == 0
    assert [(line.elbow.name, line.from_hand, line.to_buy) for line in share.used] == [
        (LR90.name, 1, 0),
        (RETURN.name, 1, 0),
    ]
    more = shared(wanted(*[55] * 4, 55), (LR90, RETURN), SHOP, stock)
    assert (more.cost, more.bound) == (800, 800)


def test_whole_elbows_stay_whole() -> None:
    pieces = [*wanted(90, whole=True), replace(wanted(45, elbow=LR45, whole=True)[0], mark="A2")]
    share = shared(pieces, (LR90, LR45), SHOP, [ElbowStock(LR45.name, None, 3, False)])
    assert [(line.elbow.name, line.whole, line.to_cut, line.to_buy) for line in share.used] == [
        (LR90.name, 1, 0, 1),
        (LR45.name, 1, 0, 0),
    ]
    assert all(plan.lines == () and plan.offcut is None for plan in share.plans)


def test_too_few_elbows_are_refused_with_how_many() -> None:
    with pytest.raises(InputError, match=r"stock\.elbow 90 long radius: 2 more are needed"):
        shared(wanted(55, 55, 55), stock=[ElbowStock(LR90.name, None, 1, False)])


def test_an_elbow_of_other_ends_takes_no_place() -> None:
    """A return with straight ends isn't the same face; one of the same bend is, and is used where cheaper."""
    straight = replace(RETURN, tangent_a_mm=10.0, tangent_b_mm=10.0)
    cheap = [ElbowStock(LR90.name, 400), ElbowStock(RETURN.name, 100)]
    assert [line.elbow.name for line in shared(wanted(40), (LR90, straight), SHOP, cheap).used] == [LR90.name]
    assert [line.elbow.name for line in shared(wanted(40), (LR90, RETURN), SHOP, cheap).used] == [RETURN.name]


def test_unequal_ends_give_one_piece_each() -> None:
    uneven = replace(LR90, tangent_a_mm=6.0, tangent_b_mm=4.0)
    assert elbows_of(shared(wanted(30, 30, elbow=uneven), (uneven,), SHOP)) == 2
