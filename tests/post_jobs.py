"""Jobs with posts and mid rails that several tests share."""

from __future__ import annotations

from templates_core.jobs.job import Job
from templates_core.jobs.job_file import parse_job
from templates_core.model import Model, build_model

HEAD = """
title = "Heron Slip lookout"
units = "mm"

[pipe]
size = "NPS 1-1/2"
schedule = "40"

[elbows]
stock = ["90 long radius"]

"""
SLOPE = (
    HEAD
    + """
[[rail]]
mark = "A"
path = [
  { run = 900, heading = 20 },
  { corner = "elbow" },
  { rise = 1100, going = 1700, heading = 20 },
  { turn = 40, towards = "left" },
  { run = 1500 },
]

[[rail.posts]]
run = 1
at = [150, 700]
drop = 1000
plate = 10

[[rail.posts]]
run = 2
spacing = 900
first = 200
last = 250
drop = 1000
plate = 10
gap = 2
foot = "slope"

[[rail.posts]]
run = 3
at = [300, 1200]
floor = -900
size = "NPS 1-1/4"
schedule = "40"
offset = 2
stand = "square"

[[rail.mid_rails]]
below = 450
size = "NPS 1"
schedule = "40"
"""
)
LOOSE = """
[[rail]]
mark = "B"
path = [ { run = 900 }, { turn = 30, towards = "up" }, { run = 900 } ]
posts = [ { corner = 1, drop = 1000 } ]

[galvanising]

[[member]]
mark = "K"
length = 1040
measured = "floor to centre"
mirror = true
start = { kind = "plate", thickness = 8 }
end = { kind = "cope", angle = 60, offset = 3, on = "NPS 2", hole = true }
"""


def read(text: str) -> Job:
    """The job of a text."""
    return parse_job(text.encode(), "job.toml")


def made(text: str) -> Model:
    """The model of a job file's text."""
    return build_model(read(text))
