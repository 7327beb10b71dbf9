"""Job files: what they mean, and the message that each broken one must give."""

from __future__ import annotations

import hashlib
import math
import re
import tomllib
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest

from templates_core.errors import InputError
from templates_core.jobs.job import (
    CornerSpec,
    ElbowStock,
    Job,
    Joint,
    PipeStock,
    RunSpec,
    Stock,
    Taped,
    Towards,
)
from templates_core.jobs.job_file import load_job, parse_job
from templates_core.model import build_model
from templates_core.standards import bevel_shoulder_mm, pipe_size, stock_elbow

HERE = Path(__file__).parent
BROKEN = tomllib.loads((HERE / "broken_jobs.toml").read_text(encoding="utf-8"))
SOUND: str = BROKEN["sound"]
SAMPLES = sorted((HERE.parent / "sample_jobs").glob("*.toml"))
START = files("templates_core.data").joinpath("start.toml").read_bytes()
PATH = SOUND[SOUND.index("path = [") :]


def job(was: str = "", now: str = "") -> Job:
    assert SOUND.count(was) == 1 or not was
    return parse_job(SOUND.replace(was, now).encode() if was else SOUND.encode(), "job.toml")


def faults_of(text: str | bytes) -> list[str]:
    data = text if isinstance(text, bytes) else text.encode()
    with pytest.raises(InputError) as caught:
        parse_job(data, "job.toml")
    return [str(fault) for fault in caught.value.faults]


@pytest.mark.parametrize("case", BROKEN["broken"], ids=lambda case: " ".join(case["now"].split())[:40])
def test_a_broken_job_file_gives_its_message(case: dict[str, str]) -> None:
    assert SOUND.count(case["was"]) == 1
    found = faults_of(SOUND.replace(case["was"], case["now"]))
    assert len(found) == len(case["says"])
    for fault, said in zip(found, case["says"], strict=True):
        assert fault == said or (said.endswith("…") and fault.startswith(said[:-1]))


@pytest.mark.parametrize("case", BROKEN["unmakable"], ids=lambda case: " ".join(case["now"].split())[:40])
def test_a_job_that_cannot_be_made_gives_its_message(case: dict[str, Any]) -> None:
    assert SOUND.count(case["was"]) == 1
    sound = parse_job(SOUND.replace(case["was"], case["now"]).encode(), "job.toml")
    with pytest.raises(InputError) as caught:
        build_model(sound)
    assert [str(fault) for fault in caught.value.faults] == case["says"]


def test_there_are_enough_broken_files() -> None:
    assert len({(case["was"], case["now"]) for case in BROKEN["broken"]}) >= 40


def test_stock_prices_lengths_and_what_is_on_hand() -> None:
    text = SOUND.replace("[[rail]]", STOCK + "[[rail]]", 1)
    stock = parse_job(text.encode(), "job.toml").stock
    assert stock.elbows == (ElbowStock("45 long radius", None, 3, False), ElbowStock("90 long radius", 425))
    assert stock.pipes == (PipeStock(6000.0, 3150), PipeStock(2340.5, None, 1, False))
    assert (stock.end_trim_mm, stock.least_offcut_mm) == (10.0, 300.0)
    assert job().stock == Stock()


STOCK = """[stock]
end_trim = "1 cm"
[[stock.elbow]]
kind = "45 Long Radius"
on_hand = 3
buy = false
[[stock.elbow]]
kind = "90 long radius"
price = 4.25
[[stock.pipe]]
length = "6 m"
price = 31.5
[[stock.pipe]]
length = 2340.5
on_hand = 1
buy = false
"""

ODD = ("0", "-1", "1e300", "nan", "true", '""', '"x"', "[]", "[[]]", "[[0]]", "{}", "{ x = 1 }", "12:00:00")
FULL = f"""{SOUND}
[[rail]]
mark = "B"
closed = false
points = [[0, 0, 0], [900, 0, 0], [900, 600, 0]]
corners = ["elbow"]
[[elbow]]
name = "old bend"
sweep = 60
bend_radius = 80
tangent = 5
[measured."old bend"]
girth = 152
sweep = 59.5
[stock]
end_trim = 5
least_offcut = 300
[[stock.elbow]]
kind = "old bend"
on_hand = 2
buy = false
[[stock.pipe]]
length = 6000
price = 31.5
[weld]
leg = 4
kink = 0.3
kept = 0.5
preset = "clamped"
butt_shrink = 1.1
clamp_spacing = 900
shims = [1, 2, 5]
yield_strength = "240 MPa"
grade = "A53 Grade B"
margin = 1.5
clamp_force = "3 kN"
[[rail.weld]]
run = 1
at = 450
side = "below"
od = 33
[[rail.clamps]]
run = 1
at = [100, 400, 800]
"""


@pytest.mark.parametrize("odd", ODD)
def test_an_odd_value_anywhere_is_a_fault_or_harmless_never_a_crash(odd: str) -> None:
    parse_job(FULL.encode(), "job.toml")
    values = [
        *re.finditer(r'(?<== )(\[.*\]|"[^"]*"|[\d.]+|false)', FULL),
        *re.finditer(r"(?<=  )\{.*\}", FULL),
    ]
    assert len(values) > 30
    broken = 0
    for value in values:
        text = FULL[: value.start()] + odd + FULL[value.end() :]
        try:
            parse_job(text.encode(), "job.toml")
        except InputError as error:
            assert all(fault.where and fault.what and fault.remedy for fault in error.faults)
            broken += 1
    assert broken > 20


def test_every_fault_is_told_at_once_in_the_order_of_the_file() -> None:
    text = SOUND
    for was, now in [
        ('revision = "A"', 'revison = "A"'),
        ('schedule = "40"', 'schedule = "41"'),
        ('"45 long radius"]', '"45 lang radius"]'),
        ("kerf = 1.6", "kerf = -1.6"),
        ("quantity = 2", "quantity = 0"),
        ("{ run = 900 }", '{ run = "900 m m" }'),
        ("inside_angle = 62", "inside_angle = 4.76"),
    ]:
        text = text.replace(was, now)
    places = [fault.split(": ")[0] for fault in faults_of(text)]
    assert places == [
        "revison",
        "pipe",
        "elbows.stock, item 2",
        "shop.kerf",
        "rail A, quantity",
        "rail A, path item 1, run",
        "rail A, path item 4, inside_angle",
    ]


def test_a_fault_elsewhere_does_not_hide_one_in_the_path() -> None:
    text = SOUND.replace("kerf = 1.6", "kerf = -1.6").replace(
        "{ run = 2650 }", "{ risers = 12, rise = 175, going = 270 }"
    )
    first, second = faults_of(text)
    assert first.startswith("shop.kerf: ")
    # A pitch of 32.95° can't be reached by turning left through 32.7° from level.
    assert second.startswith("rail A, corner 1: ")


def test_a_slope_as_an_inside_angle_shows_both_readings() -> None:
    (fault,) = faults_of(SOUND.replace("inside_angle = 147.3", "inside_angle = 4.76"))
    assert "4.76°" in fault and "175.24°" in fault
    assert "turn = 4.76 or inside_angle = 175.24" in fault


def test_the_sound_file() -> None:
    read = job()
    assert (read.title, read.number, read.revision, read.units) == (
        "Heron Slip jetty rail",
        "HS-001",
        "A",
        "mm",
    )
    assert read.pipe == pipe_size("NPS 1-1/2", "40")
    assert read.elbows == tuple(
        stock_elbow(kind, read.pipe, bevelled=True) for kind in ("90 long radius", "45 long radius")
    )
    (rail,) = read.rails
    assert (rail.mark, rail.quantity, rail.closed, rail.points_mm) == ("A", 2, False, ())
    assert rail.runs == (
        RunSpec("rail A, run 1", 900),
        RunSpec("rail A, run 2", 2650),
        RunSpec("rail A, run 3", 600),
    )
    assert [corner.towards for corner in rail.corners] == [Towards.LEFT, Towards.LEFT]
    assert rail.corners[0].turn_rad == pytest.approx(math.radians(32.7))
    assert rail.corners[1].turn_rad == pytest.approx(math.radians(118))
    assert read.fingerprint == hashlib.sha256(SOUND.encode()).hexdigest()[:8]
    assert read.warnings == ()


def test_what_a_shop_leaves_out_has_a_default_in_millimetres_in_any_job() -> None:
    for units, paper in (("mm", "A4"), ("in", "letter")):
        text = SOUND.replace('units = "mm"', f'units = "{units}"')
        shop = parse_job(text.replace('[shop]\nkerf = 1.6\npaper = "letter"\n', "").encode(), "job.toml").shop
        assert (shop.kerf_mm, shop.dressing_mm, shop.root_gap_mm, shop.wrap_thickness_mm) == (
            1.6,
            0.5,
            2.4,
            0.1,
        )
        assert (shop.least_throat_mm, shop.least_scrap_mm, shop.paper) == (None, 6.0, paper)


def test_an_inch_job_may_have_millimetres_in_it_and_the_other_way_about() -> None:
    inches = SOUND.replace('units = "mm"', 'units = "in"').replace("kerf = 1.6", 'kerf = "1.6 mm"')
    read = parse_job(inches.replace("{ run = 900 }", '{ run = "3\' 6-1/2\\"" }').encode(), "job.toml")
    assert read.shop.kerf_mm == 1.6
    assert read.rails[0].runs[0].length_mm == 1079.5
    assert read.rails[0].runs[1].length_mm == 2650 * 25.4
    assert job("kerf = 1.6", 'kerf = "1/16 in"').shop.kerf_mm == 1.5875


def test_risers_multiply_the_rise_and_going_of_one_step() -> None:
    run = job(PATH, "path = [ { risers = 12, rise = -175, going = 270 } ]").rails[0].runs[0]
    # Twelve steps of 175 on 270: 2100 on 3240, by Pythagoras.
    assert run.length_mm == pytest.approx(math.sqrt(2100**2 + 3240**2))
    assert run.pitch_rad == pytest.approx(-math.atan(175 / 270))
    assert run.heading_rad is None


def test_a_slope_of_one_in_twelve() -> None:
    by_sides = job(PATH, "path = [ { rise = 500, going = 6000, heading = 90 } ]").rails[0].runs[0]
    assert math.degrees(by_sides.pitch_rad or 0) == pytest.approx(4.76, abs=0.005)
    assert by_sides.heading_rad == pytest.approx(math.pi / 2)
    by_pitch = job(PATH, 'path = [ { run = 6000, pitch = "1:12" } ]').rails[0].runs[0]
    assert by_pitch.pitch_rad == pytest.approx(by_sides.pitch_rad)
    plumb = job(PATH, "path = [ { rise = -500, going = 0 } ]").rails[0].runs[0]
    assert (plumb.length_mm, plumb.pitch_rad) == (500, -math.pi / 2)


def test_corners_in_their_forms() -> None:
    path = """path = [
      { run = 600 }, { turn = "32°30'", roll = -90, by = "mitre" },
      { run = 600 }, { corner = "mitre" }, { run = 600, pitch = 20, heading = 5 }, { corner = "elbow" },
      { run = 600, pitch = 0 },
    ]"""
    assert job(PATH, path).rails[0].corners == (
        CornerSpec("rail A, corner 1", math.radians(32.5), -math.pi / 2, by=Joint.MITRE),
        CornerSpec("rail A, corner 2", by=Joint.MITRE),
        CornerSpec("rail A, corner 3"),
    )


def test_points_and_their_corners() -> None:
    rail = job(PATH, 'points = [[0, 0, 0], [900, 0, -5], ["1 m", 600, 0]]\ncorners = ["mitre"]\n').rails[0]
    assert rail.points_mm == ((0, 0, 0), (900, 0, -5), (1000, 600, 0))
    assert (rail.runs, [corner.by for corner in rail.corners]) == ((), [Joint.MITRE])
    ring = job(PATH, "closed = true\npoints = [[0, 0, 0], [900, 0, 0], [900, 600, 0]]\n").rails[0]
    assert ring.closed
    assert [corner.where for corner in ring.corners] == [f"rail A, corner {n}" for n in (1, 2, 3)]


def test_a_pipe_by_its_own_sizes() -> None:
    pipe = job('size = "NPS 1-1/2"\nschedule = "40"', "od = 48.3\nwall = 3.7").pipe
    assert (pipe.od_mm, pipe.wall_mm, pipe.name) == (48.3, 3.7, "48.30 mm OD × 3.70 mm wall")
    assert job('size = "NPS 1-1/2"\nschedule = "40"', 'size = "NPS 2"\nschedule = 80').pipe.wall_mm == 5.54


def real(keys: str) -> Job:
    return job("[shop]", f'[[elbow]]\nname = "old bend"\n{keys}\n[shop]')


def test_a_real_elbow_by_its_own_sizes() -> None:
    bend = real("sweep = 60\nbend_radius = 80\ntangent = 12").elbows[-1]
    assert (bend.name, bend.bend_radius_mm, bend.tangent_a_mm, bend.tangent_b_mm) == ("old bend", 80, 12, 12)
    assert bend.centre_to_end_mm == pytest.approx(80 * math.tan(math.radians(30)) + 12)
    assert (bend.od_mm, bend.wall_mm, bend.shoulder_mm) == (48.26, 3.68, bevel_shoulder_mm(3.68))
    assert (bend.sweep_tolerance_rad, bend.od_plus_mm, bend.od_minus_mm) == (0, 0, 0)
    square = job(
        'ends = "bevelled"', 'ends = "square"\n[[elbow]]\nname = "b"\nsweep = 90\nbend_radius = 60'
    ).elbows
    assert {elbow.shoulder_mm for elbow in square} == {0}


@pytest.mark.parametrize(
    ("keys", "radius_mm", "tangents_mm"),
    [
        ("sweep = 90\ncentre_to_end = 60", None, (0, 0)),
        ("sweep = 90\ncentre_to_end = 60\ntangent = 3", 57, (3, 3)),
        ("sweep = 90\ncentre_to_end = 60\nbend_radius = 57", 57, (3, 3)),
        ("sweep = 90\ncentre_to_end = 60\nbend_radius = 60.2", 60.2, (0, 0)),
        ("sweep = 90\nbend_radius = 57\ntangent_a = 2\ntangent_b = 5", 57, (2, 5)),
        ("sweep = 180\nbend_radius = 57", 57, (0, 0)),
    ],
)
def test_two_of_bend_radius_centre_to_end_and_tangent_give_the_third(
    keys: str, radius_mm: float | None, tangents_mm: tuple[float, float]
) -> None:
    bend = real(keys).elbows[-1]
    assert bend.bend_radius_mm == (None if radius_mm is None else pytest.approx(radius_mm))
    assert (bend.tangent_a_mm, bend.tangent_b_mm) == pytest.approx(tangents_mm)


def test_a_return_keeps_half_of_its_centre_to_centre() -> None:
    assert real("sweep = 180\nbend_radius = 57\ntangent = 20").elbows[-1].centre_to_end_mm == 57


def test_a_real_elbow_takes_the_place_of_the_stock_one_of_its_name() -> None:
    read = job("[shop]", '[[elbow]]\nname = "90 Long Radius"\nsweep = 90.4\nbend_radius = 56.8\n[shop]')
    assert [elbow.bend_radius_mm for elbow in read.elbows] == [56.8, None]


def test_a_taped_elbow_takes_the_place_of_the_nominal_one() -> None:
    taped = '[measured."90 long radius"]\ngirth = 152.5\nsweep = 89.6\n[shop]'
    read = job("[shop]", taped)
    assert read.elbows[0].od_mm == pytest.approx(152.5 / math.pi)
    assert read.elbows[0].sweep_rad == pytest.approx(math.radians(89.6))
    assert read.elbows[1].od_mm == 48.26
    assert read.taped == {"90 long radius": Taped(girth_mm=152.5, sweep_rad=math.radians(89.6))}


@pytest.mark.parametrize(
    ("was", "now", "warning"),
    [
        ("kerf = 1.6", "kerf = 0.06", "shop.kerf: 0.06 mm is not the width of a usual blade"),
        ("kerf = 1.6", "kerf = 6", "shop.kerf: 6.00 mm is not the width of a usual blade"),
        (
            "inside_angle = 62",
            "inside_angle = 32.7",
            "rail A, path item 4: an inside angle of 32.70° is a turn of 147.30°; "
            "if it is a slope, write turn = 32.7",
        ),
        (
            "{ run = 900 }",
            "{ risers = 3, rise = 240, going = 250 }",
            "rail A, path item 1: a step of 240.0 mm is high; rise and going beside risers are those of one",
        ),
        (
            "[shop]",
            '[[elbow]]\nname = "bend"\nsweep = 90\nbend_radius = 60\nod = 51\n[shop]',
            "elbow bend, od: its OD is 51.00 mm, the pipe's 48.26 mm: they won't meet fairly",
        ),
        (
            "[shop]",
            '[measured."90 long radius"]\nsweep = 87\n[shop]',
            "90 long radius: its sweep is 87°, not 90°",
        ),
    ],
)
def test_what_is_legal_but_doubtful_is_a_warning(was: str, now: str, warning: str) -> None:
    assert any(text.startswith(warning) for text in job(was, now).warnings)


def test_the_file_itself(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"none\.toml: there is no such file; check the name and the folder"):
        load_job(tmp_path / "none.toml")
    with pytest.raises(InputError, match="it can't be read: is a directory"):
        load_job(tmp_path)
    there = tmp_path / "job.toml"
    there.write_bytes(SOUND.encode("utf-8-sig"))
    assert load_job(there).source_name == "job.toml"
    assert faults_of(SOUND.replace("jetty", "jétty").encode("latin-1")) == [
        "job.toml: line 1 has a letter that isn't UTF-8; save the file as plain text with UTF-8 encoding"
    ]
    assert "save the file as plain text with UTF-8" in faults_of(SOUND.encode("utf-16"))[0]
    assert [fault.split(": ")[0] for fault in faults_of("")] == ["title", "units", "pipe", "rail"]


def test_there_is_a_sample_of_each_kind() -> None:
    jobs = [load_job(path) for path in SAMPLES]
    assert len(jobs) >= 4
    assert {read.units for read in jobs} == {"mm", "in"}
    assert {"A4", "letter"} <= {read.shop.paper for read in jobs}
    assert any(read.pipe.od_mm > 300 for read in jobs)
    corners = [corner for read in jobs for rail in read.rails for corner in rail.corners]
    assert Joint.MITRE in {corner.by for corner in corners}
    assert any(corner.turn_rad is not None and corner.turn_rad > math.pi / 2 for corner in corners)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_a_sample_job_can_be_made_and_has_nothing_doubtful_in_it(path: Path) -> None:
    read = load_job(path)
    assert read.warnings == ()
    made = [rail for rail in build_model(read).rails if not rail.mirror_of]
    assert len(made) == len(read.rails)


def test_the_file_to_fill_in_can_be_made_as_it_is() -> None:
    read = parse_job(START, "start.toml")
    assert read.warnings == ()
    build_model(read)


def test_the_lines_that_the_file_to_fill_in_offers_are_right() -> None:
    text = START.decode()
    start, end = text.index('# [measured."90'), text.index("[shop]")
    block = "\n".join(line.removeprefix("# ") for line in text[start:end].splitlines())
    text = text[:start] + block + "\n" + text[end:]
    for line in ("least_throat", "least_scrap"):
        text = text.replace(f"# {line} =", f"{line} =")
    read = parse_job(text.encode(), "start.toml")
    assert (read.shop.least_throat_mm, read.shop.least_scrap_mm) == (11, 6)
    assert read.elbows[0].source == "measured"
    assert read.warnings == ()


def test_the_weld_table_that_the_file_to_fill_in_offers_is_right() -> None:
    text = START.decode()
    start, end = text.index("# [weld]"), text.index("# A rail is runs")
    block = "\n".join(line.removeprefix("# ") for line in text[start:end].splitlines())
    read = parse_job((text[:start] + block + "\n" + text[end:]).encode(), "start.toml")
    assert read.welding is not None
    assert (read.welding.leg_mm, read.welding.kept, read.welding.clamp_force_n) == (4, 0.4, 3000)
    assert read.warnings == ()
