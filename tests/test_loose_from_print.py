"""Loose members made from a printed pack fit between what their drawing says, each hand its own way."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.bench_packs import Pack, hands_of
from tests.hands import SawnPipe
from tests.job_in_space import UP, Array, Distance, MemberEnd, member_end
from tests.printed_jobs import LOPSIDED
from tests.seating import TOUCH_MM, assert_seated, slid_on


def cut_of(end: Any) -> dict[str, Any]:
    """What the job file says of an end's cut, or of the first of two."""
    first = end[0] if isinstance(end, list) else end
    return first if isinstance(first, dict) else {"kind": first}


def turned_frame(pipe: SawnPipe, member: dict[str, Any], roll_rad: float) -> Array:
    """The frame (3, 3) of a plumb member, what its words name turned to where the drawing has that side.

    x: to the 0° side of its start.  At the start the words name that side, or the far side of an obtuse cope.
    """
    shaped = "first end" if pipe.said("first end") else "second end"
    _, girth = pipe.facing(shaped)
    over = cut_of(member["start"]).get("angle", 0.0) > 90
    spin = (roll_rad if shaped == "second end" else math.pi if over else 0.0) - girth
    cos, sin = math.cos(spin), math.sin(spin)
    return np.array([[cos, -sin, 0.0], [sin, cos, 0.0], [0.0, 0.0, 1.0]])


def all_clear(end: MemberEnd) -> Distance:
    """Clearance to the nearest of what an end sits on."""
    return lambda points: np.asarray(np.min([header(points) for header in end.headers], axis=0))


def check_member(pack: Pack, member: dict[str, Any], mark: str, hand: float) -> None:
    pipe = pack.pipe(mark, member.get("size", pack.job["pipe"]["size"]))
    first, second = member.get("measured", "centre to centre").split(" to ")
    zero, along = np.array([1.0, 0.0, 0.0]), UP
    roll = hand * math.radians(member.get("roll", 0.0))
    rolled = np.array([math.cos(roll), math.sin(roll), 0.0])
    frame = turned_frame(pipe, member, roll)
    start = member_end(pack.job, member["start"], first, np.zeros(3), along, zero, hand)
    wall = pipe.wall("first end") @ frame.T
    bears_on = cut_of(member["start"]).get("bears_on", "first")
    lift = slid_on(wall, -along, all_clear(start), bears_on)
    assert_seated(all_clear(start)(wall - lift * along), bears_on)
    tips = {"long point": pipe.blank_mm, "end": pipe.blank_mm, "short point": float(pipe.second[:, 1].min())}
    if start.reach_mm is None:  # the drawing measures from the metal itself
        low = {"long point": 0.0, "short point": float(pipe.first[:, 1].max())}[first]
        assert tips[second] - low == pytest.approx(member["length"], abs=TOUCH_MM)
        return
    if second in tips:
        assert tips[second] - lift == pytest.approx(member["length"] - start.reach_mm, abs=TOUCH_MM)
        return
    end = member_end(pack.job, member["end"], second, np.zeros(3), -along, rolled, hand)
    assert end.reach_mm is not None
    point = (member["length"] - start.reach_mm - end.reach_mm) * along
    wall = pipe.wall("second end") @ frame.T - lift * along - point
    assert_seated(all_clear(end)(wall), cut_of(member["end"]).get("bears_on", "first"))


def test_loose_members_fit_between_what_their_drawing_says(loose_pack: Pack) -> None:
    for member, mark, hand in hands_of(loose_pack):
        check_member(loose_pack, member, mark, hand)


def test_a_member_s_mirror_image_does_not_fit(loose_pack: Pack) -> None:
    wrong = 0
    for member, mark, hand in hands_of(loose_pack):
        if member.get("mirror"):
            with pytest.raises(AssertionError):
                check_member(loose_pack, member, mark, -hand)
            wrong += 1
    assert wrong >= 2


def test_a_pack_drawn_again_for_its_printer_comes_out_true(tmp_path: Path) -> None:
    """--printed 98.7x101.4: the printer draws 1 mm as 0.987 across and 1.014 up."""
    pack = Pack(tmp_path, LOPSIDED, "--printed 98.7x101.4", (0.987, 1.014))
    for member, mark, hand in hands_of(pack):
        check_member(pack, member, mark, hand)
    plain = Pack(tmp_path / "plain", LOPSIDED, "", (0.987, 1.014))
    with pytest.raises(AssertionError):
        check_member(plain, *hands_of(plain)[0])
