import math
from pathlib import Path

import pytest

from render.sheets.check_record import check_record_pages
from templates_core.model import Model
from tests.sheet_samples import FAR, LEVEL, RAMP, SQUARE, layout, model_of, words, written


def record(tmp_path: Path, model: Model) -> str:
    return words(written(tmp_path, check_record_pages(model, layout("A4"))))


@pytest.mark.parametrize(
    ("table", "mark", "degrees"), [(LEVEL, "A1", 32.7), (LEVEL, "A2b", 28.0), (FAR, "F1", 66.0)]
)
def test_a_piece_is_checked_from_its_own_face(tmp_path: Path, table: str, mark: str, degrees: float) -> None:
    """Square ends: arcs (R ± r)·θ and chords 2ρ·sin(θ/2), also where the cut is made from the far face."""
    turn = math.radians(degrees)
    arcs = [radius * turn for radius in (81.28, 33.02)]
    chords = [2 * radius * math.sin(turn / 2) for radius in (81.28, 33.02)]
    row = " ".join([mark, *(f"{length:.2f}" for length in (*arcs, *chords)), f"{degrees:g}°"])
    assert row in record(tmp_path, model_of(table, ends=SQUARE))


def test_everything_has_its_blank(tmp_path: Path) -> None:
    model = model_of(LEVEL, RAMP)
    found = record(tmp_path, model)
    for computed in model.rails:
        assert f"Rail {computed.mark}, number ____ of {computed.quantity}" in found
        for member in computed.members:
            assert f"{member.mark} {member.blank_mm:.1f} {member.length_mm:.1f}" in found
        for corner in computed.corners:
            assert ", ".join(corner.joints) in found
            assert all(piece.mark in found for piece in corner.pieces)
    assert "A2a whole" in found and "R1/1 2.38°" in found
    for needed in (
        "100 mm across",
        "Heel arc",
        "Tacked",
        "Welded, cold",
        "Signature",
        "Date",
        "copy the record",
        "Offcuts kept",
    ):
        assert needed in found


def test_blank_rows_are_high_enough_to_write_in(tmp_path: Path) -> None:
    (sheet, *_) = written(tmp_path, check_record_pages(model_of(LEVEL), layout("A4")))
    levels = sorted({round(s.points[0][1], 2) for s in sheet.strokes if s.points[0][1] == s.points[1][1]})
    (mark,) = [word for word in sheet.words if word.text == "A2b"]
    under = max(level for level in levels if level < mark.at[1])
    over = min(level for level in levels if level > mark.at[1])
    assert over - under == pytest.approx(8.0, abs=0.05)
