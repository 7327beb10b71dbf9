"""Loose members: ends against equations of what they sit on, lengths as the drawing measures, both hands."""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh
from numpy.typing import NDArray

from templates_core.errors import InputError
from templates_core.geometry.pipe_ends import EndCut
from templates_core.pipes.cut_pipe import CutPipe
from tests.post_jobs import HEAD, made

Points = NDArray[np.float64]
TOUCH_MM = 0.03
R_BEND, R_TUBE = 57.15, 24.13


def member(text: str, mark: str = "M") -> CutPipe:
    return next(pipe for pipe in made(table(text)).cut_pipes if pipe.mark == mark)


def table(text: str) -> str:
    return f'{HEAD}\n[[member]]\nmark = "M"\n{text}\n'


def faults_of(text: str) -> list[str]:
    with pytest.raises(InputError) as caught:
        made(table(text))
    return [str(fault) for fault in caught.value.faults]


def outline(cut: EndCut, radius_mm: float, level_mm: float) -> Points:
    """Points of an end's outer edge, z along the member from a station, x at girth 0, shape (n, 3)."""
    girth = cut.girth_rad
    x, y = radius_mm * np.cos(girth), radius_mm * np.sin(girth)
    return np.stack([x, y, cut.station_mm - level_mm], axis=1)


def test_an_oblique_offset_cope_touches_its_header_on_the_right_side() -> None:
    made_pipe = member(
        'length = 500\nend = { kind = "cope", on = "NPS 2", angle = 55, offset = 3, bears_on = "outer", '
        "roll = 30 }"
    )
    points = outline(made_pipe.end.cut, R_TUBE, 500.0)
    # Seen from the far end, away = -z; the acute side at girth 30°, and 90° from it right-handed about away.
    away = np.array([0.0, 0.0, -1.0])
    acute = np.array([math.cos(math.radians(30)), math.sin(math.radians(30)), 0.0])
    side = np.cross(away, acute)
    header = math.cos(math.radians(55)) * away + math.sin(math.radians(55)) * acute
    off = points + 3.0 * side  # the member lies 3 mm towards `side` of the header's axis
    clear = np.linalg.norm(off - np.outer(off @ header, header), axis=1) - 60.325 / 2
    assert np.abs(clear).max() < TOUCH_MM
    assert made_pipe.end.datum_rad == pytest.approx(math.radians(30))


def torus_miss(points: Points) -> Points:
    """Distance to a torus about z with its centre at the origin."""
    ring = np.hypot(points[:, 0], points[:, 1]) - R_BEND
    return np.asarray(np.hypot(ring, points[:, 2]) - R_TUBE)


@pytest.mark.parametrize(
    ("girth", "degrees"), [('"heel"', 0), ('"side"', 90), ('"throat"', 180), ("140", 140)]
)
def test_a_cope_on_an_elbow_touches_the_torus(girth: str, degrees: float) -> None:
    pipe = member(
        f'size = "NPS 3/4"\nschedule = "40"\nlength = 300\nmeasured = "centre to end"\n'
        f'start = {{ kind = "cope", elbow = "90 long radius", girth = {girth}, at = 40, bears_on = "outer" }}'
    )
    points = outline(pipe.start.cut, pipe.pipe.radius_mm, 0.0)
    # Place the bend by its own angles: the member leaves its centreline at 40° of sweep, at this girth.
    psi, phi = math.radians(40), math.radians(degrees)
    out = np.array([math.cos(psi) * math.cos(phi), math.sin(psi) * math.cos(phi), math.sin(phi)])
    tangent = np.array([-math.sin(psi), math.cos(psi), 0.0])  # to face B: the datum at 90°
    frame = np.stack([tangent, np.cross(out, tangent), out], axis=1)
    centre = R_BEND * np.array([math.cos(psi), math.sin(psi), 0.0])
    assert np.abs(torus_miss(centre + points @ frame.T)).max() < TOUCH_MM


def test_a_post_in_a_corner_of_two_pipes_stands_clear_of_both() -> None:
    pipe = member(
        'length = 400\nstart = [ { kind = "cope", angle = 60, bears_on = "outer" }, '
        '{ kind = "cope", angle = 70, roll = 120 } ]'
    )
    points = outline(pipe.start.cut, R_TUBE, 0.0)
    clear = []
    for angle, roll in ((60, 0), (70, 120)):
        a, t = math.radians(angle), math.radians(roll)
        way = np.array([math.sin(a) * math.cos(t), math.sin(a) * math.sin(t), math.cos(a)])
        clear.append(np.linalg.norm(points - np.outer(points @ way, way), axis=1) - R_TUBE)
    least = np.min(clear, axis=0)
    assert np.abs(least).max() < TOUCH_MM
    assert all((one > 0.5).any() for one in clear)  # each gives way to the other somewhere


@pytest.mark.parametrize(
    ("measured", "tip_to_tip"),
    [
        ("centre to centre", 600 + 2 * 24.13 * math.tan(math.radians(20))),
        ("long point to long point", 600.0),
        ("short point to short point", 600 + 4 * 24.13 * math.tan(math.radians(20))),
        ("long point to short point", 600 + 2 * 24.13 * math.tan(math.radians(20))),
    ],
)
def test_a_mitred_member_is_as_long_as_the_drawing_measures(measured: str, tip_to_tip: float) -> None:
    ends = 'start = { kind = "mitre", tilt = 20, gap = 0, bears_on = "outer" }\n'
    pipe = member(f'length = 600\nmeasured = "{measured}"\n{ends}{ends.replace("start", "end")}')
    assert pipe.overall_mm == pytest.approx(tip_to_tip, abs=0.02)


def test_from_the_floor_a_plate_and_its_gap_come_off() -> None:
    pipe = member(
        'length = 1000\nmeasured = "floor to end"\n'
        'start = { kind = "plate", thickness = 8, gap = 2, tilt = 30 }'
    )
    along, reach = 10 / math.cos(math.radians(30)), R_TUBE * math.tan(math.radians(30))
    assert pipe.start.cut.station_mm.max() == pytest.approx(along + reach, abs=0.02)
    assert pipe.start.cut.station_mm.min() == pytest.approx(along - reach, abs=0.02)
    assert pipe.end.cut.station_mm.max() == pytest.approx(1000)


def test_a_mitre_gives_up_half_of_the_root_gap() -> None:
    pipe = member('length = 600\nstart = { kind = "mitre", tilt = 20, bears_on = "outer" }')
    middle = np.interp(math.pi / 2, pipe.start.cut.girth_rad, pipe.start.cut.station_mm)
    assert middle == pytest.approx(2.4 / 2 / math.cos(math.radians(20)), abs=0.01)


def test_both_hands() -> None:
    end = '{ kind = "cope", angle = 60, on = "NPS 2", offset = 4, roll = 25 }'
    pipes = made(table(f"length = 500\nmirror = true\nquantity = 3\nend = {end}")).cut_pipes
    assert [(pipe.mark, pipe.quantity, pipe.hand) for pipe in pipes] == [
        ("M", 3, "drawn"),
        ("MM", 3, "other"),
    ]
    girth = np.linspace(-math.pi, math.pi, 61)
    assert np.allclose(pipes[0].end.cut.at(girth), pipes[1].end.cut.at(-girth), atol=0.02)
    alike = made(table('length = 500\nmirror = true\nend = { kind = "cope" }')).cut_pipes
    assert [pipe.hand for pipe in alike] == ["", ""]


def solid_volume(pipe: CutPipe) -> float:
    """Volume of the metal as a closed mesh: outer and inner walls, and both cut faces [mm³]."""
    girth = np.linspace(0, 2 * math.pi, 721)[:-1]
    low, high = pipe.start.cut.at(girth), pipe.end.cut.at(girth)
    rings = []
    for radius, station in (
        (pipe.pipe.radius_mm, low),
        (pipe.pipe.radius_mm, high),
        (pipe.pipe.radius_mm - pipe.pipe.wall_mm, high),
        (pipe.pipe.radius_mm - pipe.pipe.wall_mm, low),
    ):
        rings.append(np.stack([radius * np.cos(girth), radius * np.sin(girth), station], axis=1))
    n = len(girth)
    faces = []
    for ring in range(4):
        here, there = ring * n, (ring + 1) % 4 * n
        for k in range(n):
            a, b, c, e = here + k, here + (k + 1) % n, there + k, there + (k + 1) % n
            faces += [[a, b, c], [b, e, c]]
    return float(trimesh.Trimesh(np.vstack(rings), faces, process=False).volume)


def test_material_law_of_a_frame_with_mitres_and_plates() -> None:
    """A pipe cut by planes holds its section times its length on the centreline, whatever the tilts."""
    ends = [
        ("mitre", 22.5, "mitre", 22.5, 0),
        ("mitre", 45, "plate", 10, 70),
        ("plate", 32, "mitre", 12, 180),
    ]
    text = HEAD
    for number, (one, tilt, two, lean, roll) in enumerate(ends):
        text += (
            f'\n[[member]]\nmark = "F{number}"\nlength = {500 + 100 * number}\nroll = {roll}\n'
            f'start = {{ kind = "{one}", tilt = {tilt}, gap = 0, bears_on = "outer" }}\n'
            f'end = {{ kind = "{two}", tilt = {lean}, gap = 0, bears_on = "outer" }}\n'
        )
    model = made(text)
    area = math.pi * (24.13**2 - (24.13 - 3.68) ** 2)
    total = sum(solid_volume(pipe) for pipe in model.cut_pipes)
    assert total == pytest.approx(area * (500 + 600 + 700), rel=2e-4)
    (share,) = model.pipe_shares
    assert share.cut_mm == pytest.approx(sum(pipe.overall_mm for pipe in model.cut_pipes))


def test_material_law_of_an_equal_tee() -> None:
    """The outer edge of an equal 90° cope stands 2r/π on average off the header's axis: the mean of |cos|."""
    pipe = member('length = 400\nend = { kind = "cope", bears_on = "outer" }')
    area = math.pi * (24.13**2 - (24.13 - 3.68) ** 2)
    assert solid_volume(pipe) == pytest.approx(area * (400 - 2 * 24.13 / math.pi), rel=2e-4)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('end = "square"', "length: it is missing"),
        ('length = 500\nend = "welded"', "can't stand here"),
        ('length = 500\nend = { kind = "mitre" }', "a mitre needs its tilt"),
        ('length = 500\nend = { kind = "mitre", tilt = 80 }', "80.0° off square leaves a feather edge"),
        ('length = 500\nend = { kind = "cope", tilt = 5 }', "tilt can't go with the kind cope"),
        ('length = 500\nend = { kind = "cope", angle = 10 }', "10.0° to the header is too flat"),
        ('length = 500\nend = { kind = "cope", girth = "heel" }', "girth can go only with an elbow"),
        ('length = 500\nend = { kind = "cope", elbow = "90 long" }', "there is no such elbow in this job"),
        ('length = 500\nend = { kind = "cope", on = "NPS 1" }', "14.9 mm too wide"),
        ('length = 500\nend = { kind = "cope", offset = 2 }', "an offset of 2.0 mm brings it 2.0 mm past"),
        ('length = 500\nend = { kind = "cope", on = "NPS 9" }', "there is no size NPS 9"),
        ('length = 500\nmeasured = "floor to end"', "the start stands on no floor"),
        ('length = 500\nmeasured = "end to end"\nend = { kind = "cope" }', "its end is no one point"),
        ('length = 500\nmeasured = "all over"', "it doesn't say from where to where"),
        ('length = 30\nend = { kind = "cope", angle = 40 }', "its two cuts run "),
        ('length = 500\nend = [ "square", { kind = "cope" } ]', "a square end can't be something else too"),
        (
            'length = 500\nend = { kind = "cope", elbow = "90 long radius", hole = true }',
            "a hole in an elbow has no flat template",
        ),
        ('length = 500\nschedule = "40"', "a schedule goes with a size"),
    ],
)
def test_what_cannot_be_is_refused(text: str, says: str) -> None:
    faults = faults_of(text)
    assert len(faults) == 1 and says in faults[0] and faults[0].startswith("member M"), faults


def test_marks_are_not_shared() -> None:
    twice = table("length = 500") + '\n[[member]]\nmark = "m"\nlength = 100\n'
    with pytest.raises(InputError, match="another member has the mark m"):
        made(twice)
    rail = '\n[[rail]]\nmark = "A"\npath = [ { run = 500 } ]\n'
    with pytest.raises(InputError, match="a part of rail A has the mark A-P1"):
        made(table("length = 500").replace('"M"', '"A-P1"') + rail)
