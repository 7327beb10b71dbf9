"""Tables drawn as strips: rows too high for a column."""

from __future__ import annotations

import pytest

from render.pages.drawing import Text
from render.pages.flow_tables import table_strips
from render.pages.tables import Column, Table


@pytest.mark.parametrize("marks", [10, 900])
def test_a_row_too_high_for_a_page_goes_on_in_rows_under_it(marks: int) -> None:
    names = [f"A{number}" for number in range(marks)]
    table = Table("", (Column("Elbow"), Column("Pieces")), (("90", ", ".join(names)),))
    strips = list(table_strips(table, 80.0))
    assert max(strip.height_mm for strip in strips) < 120
    words = " ".join(item.text for strip in strips for item in strip.drawing if isinstance(item, Text))
    assert [word for word in words.replace(",", "").split() if word.startswith("A")] == names
    assert words.split().count("90") == 1
