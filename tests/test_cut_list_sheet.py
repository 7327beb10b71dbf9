"""The cut list read back from the written PDF: what comes out of each stick and elbow adds up to it."""

from __future__ import annotations

import math
import re
from collections import Counter
from itertools import pairwise
from pathlib import Path

import pytest

from render.pages.pdf import LEAST_TEXT_PT
from render.sheets.cut_list_sheet import cut_list_pages
from templates_core.model import Model
from tests.layout_checks import outside_margins, text_overlaps
from tests.pdf_reader import Sheet
from tests.sheet_samples import ALL, FAR, FRAME, LEVEL, RAMP, SPATIAL, TWENTY, layout, model_of, rail, written

TRIMMED = '[stock]\nend_trim = "10 mm"'
SHORT = rail("B", (5600,), ()) + rail("C", (133.3,), (), quantity=37)
SHARED = rail(
    "M", (700,) * 9, [f"turn = {t}, towards = 'left'" for t in (22, 22, 30, 28, 40, 23.5, 45, 44)], quantity=2
)
MARK = r"[A-Za-z0-9][\w.-]*-P\d+"


def sheets_of(tmp_path: Path, model: Model, paper: str = "A4") -> list[Sheet]:
    return written(tmp_path, cut_list_pages(model, layout(paper)))


def blocks(sheets: list[Sheet], heading: str) -> list[tuple[str, list[str]]]:
    """Each heading that starts so with the words after it, up to the next bold line of its size or more."""
    found: list[tuple[str, list[str]]] = []
    for sheet in sheets:
        body = [word for word in sheet.words if word.at[1] > 23.0]
        for word in body:
            if word.text.startswith(heading):
                found.append((word.text, []))
            elif word.text == "Elbows" or word.text.startswith(("Offcuts", "Elbow plan")):
                found.append(("", []))
            elif found and found[-1][0]:
                found[-1][1].append(word.text)
    return [block for block in found if block[0]]


def pipes_of(words: list[str]) -> list[tuple[str, int, float]]:
    """Mark, how many and length of each part of a bar, in order; ``trim``, ``keep`` and ``scrap`` too."""
    parts = []
    for name, length in pairwise(words):
        found = re.fullmatch(r"(?:(\d+) × )?(\d+\.\d)", length)
        if found and (re.fullmatch(rf"{MARK}|\d+ marks|trim|keep|scrap|blade takes", name)):
            parts.append((name, int(found[1] or 1), float(found[2])))
    return parts


@pytest.mark.parametrize("more", ["", TRIMMED])
@pytest.mark.parametrize("tables", [(RAMP,), (LEVEL, FAR), (SHORT,), (FRAME,)])
def test_pipes_kerfs_trim_and_rest_make_up_each_stick(
    tmp_path: Path, tables: tuple[str, ...], more: str
) -> None:
    model = model_of(*tables, more=more)
    found = blocks(sheets_of(tmp_path, model), "Stick plan")
    assert len(found) == sum(len(one.share.plans) for one in model.pipe_shares)
    made = 0
    for title, words in found:
        parts = pipes_of(words)
        pipes = [part for part in parts if part[0] not in ("trim", "keep", "scrap", "blade takes")]
        count = sum(times for _, times, _ in pipes)
        (sticks,) = re.findall(r"cut (\d+) of 6\.00 m", title)
        made += int(sticks) * count
        kerfs = count if any(name in ("keep", "scrap") for name, _, _ in parts) else count - 1
        total = sum(times * length for _, times, length in parts) + 1.6 * kerfs
        assert total == pytest.approx(6000, abs=0.051 * (count + 2))
    assert made == sum(rail.quantity * len(rail.members) for rail in model.rails)


@pytest.mark.parametrize("more", ["", TRIMMED])
def test_lines_run_from_one_end_with_a_kerf_between_two_pipes(tmp_path: Path, more: str) -> None:
    for _, words in blocks(sheets_of(tmp_path, model_of(RAMP, more=more)), "Stick plan"):
        lengths = [
            length
            for name, times, length in pipes_of(words)
            for _ in range(times)
            if name not in ("trim", "keep", "scrap", "blade takes")
        ]
        figures = [float(word) for word in words[words.index("0") + 1 :] if re.fullmatch(r"\d+\.\d", word)]
        at, wanted = 0.0, []
        for length in sorted(lengths, reverse=True):
            wanted.append(at + length)
            at += length + 1.6
        assert figures[: len(wanted)] == pytest.approx(wanted, abs=0.051 * (len(wanted) + 1))


def test_bars_are_drawn_to_the_scale_that_they_state(tmp_path: Path) -> None:
    """The box of the longest pipe of a bar is its length over the scale, but for the kerf before it."""
    (sheet, *_) = sheets_of(tmp_path, model_of(rail("B", (5600,), ())))
    (title,) = [word.text for word in sheet.words if word.text.startswith("Stick plan")]
    (scale,) = re.findall(r"drawn 1:(\d+)", title)
    widths = [max(x for x, _ in s.points) - min(x for x, _ in s.points) for s in sheet.with_width(0.35)]
    assert any(width == pytest.approx(5600 / int(scale), abs=0.01) for width in widths)
    assert sum(width for width in widths) == pytest.approx(6000 / int(scale), abs=0.01)


@pytest.mark.parametrize("name", ["level", "ramp", "spatial", "twenty"])
def test_every_pipe_is_on_the_bars_as_often_as_it_is_made(tmp_path: Path, name: str) -> None:
    model = model_of(ALL[name])
    counts: Counter[str] = Counter()
    for title, words in blocks(sheets_of(tmp_path, model), "Stick plan"):
        (sticks,) = re.findall(r"cut (\d+) of", title)
        text = " ".join(words)
        for mark, times, _ in pipes_of(words):
            if re.fullmatch(MARK, mark):
                counts[mark] += int(sticks) * times
        for listed in re.findall(rf"\d mm: ((?:{MARK}(?: × \d+)?(?:, )?)+)", text):
            for mark, times_text in re.findall(rf"({MARK})(?: × (\d+))?", listed):
                counts[mark] += int(times_text or 1)
    assert counts == {
        member.mark: rail.quantity
        for rail in model.rails
        for member in rail.members
        if member.mark not in model.pipe_shares[0].share.too_long
    }


@pytest.mark.parametrize("tables", [(SHARED,), (LEVEL, FAR)])
def test_the_sectors_of_each_elbow_add_up_to_its_sweep(tmp_path: Path, tables: tuple[str, ...]) -> None:
    """Angles of pieces and offcut, and what the blade takes at the throat: R − r = 33.02, kerf 1.6."""
    model = model_of(*tables)
    cut = [plan for plan in model.elbow_share.plans if plan.lines]
    texts = [word.text for sheet in sheets_of(tmp_path, model) for word in sheet.words]
    starts = [i for i, text in enumerate(texts) if text.startswith("Elbow plan") and ": cut " in text]
    assert len(starts) == len(cut)
    for start, end in zip(starts, [*starts[1:], len(texts)], strict=True):
        words = texts[start + 1 : end]
        stop = (i for i, word in enumerate(words) if "used whole" in word or word.startswith("Offcuts"))
        words = words[: next(stop, len(words))]
        angles = [float(w[:-1]) for w in words if re.fullmatch(r"[\d.]+°", w)]
        angles += [float(w) for word in words for w in re.findall(r"(?:, |keep |scrap )([\d.]+)°$", word)]
        left = [word for word in words if word.startswith(("keep", "scrap"))]
        clear = sum("blade clear" in word for word in words)
        half = sum("blade centred" in word for word in words) / 2 if left else 0.0
        kerf = math.degrees(1.6 / 33.02)
        if half:
            assert -0.02 <= 90 - sum(angles) <= (clear + half) * kerf + 0.02
        else:
            assert sum(angles) + clear * kerf == pytest.approx(90, abs=0.02)


@pytest.mark.parametrize("name", ALL)
@pytest.mark.parametrize("paper", ["letter", "A3", "roll 200"])
def test_sheets_are_clean(tmp_path: Path, name: str, paper: str) -> None:
    for sheet in sheets_of(tmp_path, model_of(ALL[name], more=TRIMMED), paper):
        assert not text_overlaps(sheet)
        assert not outside_margins(sheet)
        assert not sheet.with_width(0.50), "only a trace edge is that wide"
        assert min(word.size_pt for word in sheet.words) >= LEAST_TEXT_PT


@pytest.mark.parametrize("table", [SHARED, SHORT, TWENTY])
def test_short_and_many_parts_are_clean(tmp_path: Path, table: str) -> None:
    for sheet in sheets_of(tmp_path, model_of(table, more=TRIMMED)):
        assert not text_overlaps(sheet)
        assert not outside_margins(sheet)


def test_identical_sticks_are_drawn_once(tmp_path: Path) -> None:
    runs = [(1500 + 20 * i, 900, 700 + 10 * i) for i in range(4)]
    tables = [
        rail(f"N{i}", run, ("turn = 45, towards = 'left'", "turn = 50, towards = 'left'"), quantity=167)
        for i, run in enumerate(runs)
    ]
    model = model_of(*tables)
    sheets = sheets_of(tmp_path, model)
    assert sum(one.pieces for one in model.pipe_shares) > 2000
    assert len(sheets) <= 8
    titles = [title for title, _ in blocks(sheets, "Stick plan")]
    sticks = sum(int(number) for title in titles for number in re.findall(r"cut (\d+) of", title))
    assert len(titles) < 25
    assert sticks > 300


def test_inches_and_rolls(tmp_path: Path) -> None:
    model = model_of(
        rail("A", (40, 104.5, 60), ("turn = 118, towards = 'left'", "turn = 33, towards = 'up'")), units="in"
    )
    sheets = sheets_of(tmp_path, model, "letter")
    assert not any(text_overlaps(sheet) or outside_margins(sheet) for sheet in sheets)
    text = " ".join(word.text for sheet in sheets for word in sheet.words)
    assert "lengths in inches" in text and "of 20 ft so" in text


def test_end_cuts_and_roll_are_told(tmp_path: Path) -> None:
    found = " ".join(
        word.text for sheet in sheets_of(tmp_path, model_of(RAMP, SPATIAL)) for word in sheet.words
    )
    assert "R-P2 2 mitre 2.38° at R1 mitre 2.38° at R2 180°, 75.8" in found
    assert "S-P1 1 square, open square at S1 – " in found


def test_a_stick_on_hand_is_called_by_its_own_length(tmp_path: Path) -> None:
    """Ordered lengths are rounded up to whole feet; a remnant of 90 in is not one of 8 ft."""
    more = '[[stock.pipe]]\nlength = "20 ft"\n[[stock.pipe]]\nlength = "90 in"\non_hand = 1\nbuy = false'
    model = model_of('[[rail]]\nmark = "A"\npath = [{ run = 80 }]\n', units="in", more=more)
    text = " ".join(word.text for sheet in sheets_of(tmp_path, model, "letter") for word in sheet.words)
    assert "cut 1 of 90 in so" in text
    assert "8 ft" not in text


def test_a_closing_pipe_and_what_the_rail_ends_in(tmp_path: Path) -> None:
    table = (
        '[[rail]]\nmark = "A"\nstart = { kind = "cap", thickness = 4 }\npath = [{ run = 900 }, '
        "{ turn = 45, towards = 'left' }, { run = 800, closing = { extra = 50 } }]\n"
    )
    model = model_of(table)
    text = " ".join(word.text for sheet in sheets_of(tmp_path, model) for word in sheet.words)
    first, last = model.rails[0].members
    assert f"A-P1 1 square, cap square at A1 – {first.length_mm:.1f} –" in text
    assert f"A-P2 1 square at A1 square, open – {last.length_mm + 50:.1f} 50.0" in text
    assert "cut off when the rail is closed" in text


MEMBERS = """
[[rail]]
mark = "A"
quantity = 2
path = [
  { run = 900 }, { turn = 40, towards = "up" }, { run = 2400 },
  { turn = 40, towards = "down" }, { run = 900 },
]
[[rail.posts]]
run = 2
spacing = 1200
first = 300
last = 300
floor = -1000
[[rail.mid_rails]]
below = 450
[[member]]
mark = "B1"
quantity = 4
length = 1040
size = "NPS 2"
schedule = "40"
start = "square"
end = { kind = "cope", on = "NPS 2", angle = 60 }
"""


@pytest.mark.parametrize("paper", ["A4", "roll 200"])
def test_posts_mid_rails_and_members_are_cut_too(tmp_path: Path, paper: str) -> None:
    """Every blank is in the list at its length from tip to tip, and on the bars of its own size."""
    model = model_of(MEMBERS)
    sheets = sheets_of(tmp_path, model, paper)
    assert not any(text_overlaps(sheet) or outside_margins(sheet) for sheet in sheets)
    text = " ".join(word.text for sheet in sheets for word in sheet.words)
    assert "Pipes to cut of NPS 2 Sch 40" in text
    assert "Pipes to cut of NPS 1-1/2 Sch 40" in text
    assert "NPS 2 Sch 40: 1 stick for 4 pipes" in text
    assert {pipe.mark[:3] for pipe in model.cut_pipes} == {"A-T", "A-M", "B1"}
    for pipe in model.cut_pipes:
        assert re.search(rf"{pipe.mark} {pipe.quantity} .*? – {pipe.overall_mm:.1f} ", text)


def test_a_job_of_members_alone_has_a_cut_list(tmp_path: Path) -> None:
    model = model_of("[[member]]" + MEMBERS.split("[[member]]")[1])
    text = " ".join(word.text for sheet in sheets_of(tmp_path, model) for word in sheet.words)
    assert "B1 4 square cope on NPS 2, 60°" in text
    assert "Elbow plan" not in text


def test_long_marks_on_thin_pieces_and_a_narrow_roll(tmp_path: Path) -> None:
    table = rail(
        "WWWWWWWWWW12", (900,) * 21, [f"turn = {(23, 31, 110)[i % 3]}, roll = 35" for i in range(20)]
    )
    pages = cut_list_pages(model_of(table, more=TRIMMED), layout("roll 200", (90.0, 90.0)))
    for sheet in written(tmp_path, pages):
        assert not text_overlaps(sheet)
        assert not outside_margins(sheet)
