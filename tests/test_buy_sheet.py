import math
import re
from pathlib import Path

import pytest

from render.buy_sheet import buy_pages
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


def test_what_comes_out_of_each_stick_and_its_kerfs_make_up_the_stick(tmp_path: Path) -> None:
    """Two level pipes and a long one on each of two rails, out of sticks of 6 m, read as printed."""
    found = words(written(tmp_path, buy_pages(model_of(RAMP), layout("A4"))))
    table = found[found.index("Out of each stick") : found.index("About the pipe")]
    rows = re.findall(r"(\d+) 6\.00 m (.*?) ([\d.]+) mm, (?:keep|scrap)", table)
    pipes = 0
    for sticks, row, left in rows:
        lengths = [float(number) for number in re.findall(r"([\d.]+) mm", row)]
        pipes += int(sticks) * len(lengths)
        kerfs = 6000 - sum(lengths) - float(left)
        assert kerfs == pytest.approx(1.6 * len(lengths), abs=0.06 * (len(lengths) + 1))
    assert pipes == 6


def test_pipe_in_inches_is_ordered_by_whole_feet(tmp_path: Path) -> None:
    model = model_of('[[rail]]\nmark = "A"\npath = [{ run = 300.5 }]\n', units="in")
    found = words(written(tmp_path, buy_pages(model, layout("letter"))))
    assert "300-1/2 in (26 ft)" in found
