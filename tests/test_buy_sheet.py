import math
from pathlib import Path

from render.sheets.buy_sheet import buy_pages
from tests.sheet_samples import FAR, LEVEL, RAMP, layout, model_of, words, written


def test_elbows_are_counted_over_every_rail(tmp_path: Path) -> None:
    """A: a piece, a 90 with a piece, a whole 45.  F, three of it: one piece each.  A1 and A2b share."""
    found = words(written(tmp_path, buy_pages(model_of(LEVEL, FAR), layout("A4"))))
    assert "90 long radius 48.26 mm OD × 3.68 mm, centre to end 57.15 mm 5 1 4 A1, A2a, A2b, F1 × 3" in found
    assert "45 long radius 48.26 mm OD × 3.68 mm, centre to end 28.58 mm 1 1 0 A3" in found


def test_pipe_is_the_sum_of_finished_lengths(tmp_path: Path) -> None:
    """Mitres: each pipe gives up half a gap over cos(tilt) at each of its mitred ends."""
    found = words(written(tmp_path, buy_pages(model_of(RAMP), layout("A4"))))
    gap = 1.2 / math.cos(math.radians(2.38))
    total = 2 * (300 + 4515.6 + 500 - 4 * gap)
    assert f"{total:.1f} mm ({math.ceil(total / 10) / 100:.2f} m)" in found
    reach = 24.13 * math.tan(math.radians(2.38))
    assert f"6 {4515.6 - 2 * gap + 2 * reach:.1f} mm" in found
    assert "No elbows" in found and "kerf" in found


def test_sticks_to_buy_and_on_hand_are_told_apart(tmp_path: Path) -> None:
    """Six pipes of two ramp rails: the two long ones don't share a stick; one is there already."""
    more = "[[stock.pipe]]\nlength = 6000\non_hand = 1"
    found = words(written(tmp_path, buy_pages(model_of(RAMP, more=more), layout("A4"))))
    assert "Buy Take from hand NPS 1-1/2 Sch 40 6.00 m 1 1" in found


def test_pipe_in_inches_is_ordered_by_whole_feet(tmp_path: Path) -> None:
    model = model_of('[[rail]]\nmark = "A"\npath = [{ run = 300.5 }]\n', units="in")
    found = words(written(tmp_path, buy_pages(model, layout("letter"))))
    assert "300-1/2 in (26 ft)" in found
