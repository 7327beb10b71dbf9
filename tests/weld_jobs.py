"""Jobs with welds on the sides of their rails, for the tests of straightness and its sheets."""

from __future__ import annotations

from collections.abc import Sequence

from templates_core.jobs.job_file import parse_job
from templates_core.model import Model, build_model

CLAMPS = """
clamp_spacing = "900 mm"
shims = ["0.5 mm", "1 mm", "2 mm", "3 mm", "5 mm", "10 mm", "20 mm", "25 mm"]
yield_strength = "240 MPa"
grade = "A53 Grade B"
clamp_force = "3 kN"
"""
TRIED = "kink = 0.4\nkept = 0.5\n"


def weld(run: int, at: float, side: object = "below", more: str = "") -> str:
    shown = f'"{side}"' if isinstance(side, str) else side
    return f'[[rail.weld]]\nrun = {run}\nat = "{at} mm"\nside = {shown}\n{more}\n'


def rail_of(mark: str, path: str, *welds: str, more: str = "") -> str:
    return f'[[rail]]\nmark = "{mark}"\n{more}\npath = [{path}]\n' + "".join(welds)


def text_of(
    *rails: str, table: str = CLAMPS, units: str = "mm", size: str = "NPS 1-1/2", head: str = ""
) -> str:
    weld_table = "" if table is None else f"[weld]\n{table}"
    return f"""
title = "Heron Slip ramp"
number = "HS-031"
revision = "A"
units = "{units}"
{head}
[pipe]
size = "{size}"
schedule = "40"
[elbows]
stock = ["90 long radius"]
[shop]
root_gap = "2.4 mm"
{weld_table}
""" + "\n".join(rails)


def made(*rails: str, table: str = CLAMPS, units: str = "mm", size: str = "NPS 1-1/2") -> Model:
    return build_model(parse_job(text_of(*rails, table=table, units=units, size=size).encode(), "job.toml"))


BEND = "{ turn = 90, towards = 'left' }"


def posts(run: int, places: Sequence[float], side: object = "below") -> list[str]:
    return [weld(run, at, side) for at in places]


TWO_POSTS = rail_of("A", "{ run = '2400 mm' }", *posts(1, (600, 1800)))
NINE_POSTS = rail_of(
    "B",
    f"{{ run = '4500 mm' }}, {BEND}, {{ run = '1500 mm' }}, {BEND}, {{ run = '4500 mm' }}",
    *posts(1, (150, 1200, 2250, 3300)),
    *posts(2, (750,)),
    *posts(3, (1200, 2250, 3300, 4350)),
)
TWO_SIDES = rail_of("C", "{ run = '3000 mm' }", *posts(1, (500, 1500, 2500)), *posts(1, (1000, 2000), "left"))
BALANCED = rail_of("D", "{ run = '2000 mm' }", *posts(1, (1000,)), *posts(1, (1000,), "above"))
OPPOSED = rail_of("E", "{ run = '3000 mm' }", weld(1, 900), weld(1, 2200, "above"))
