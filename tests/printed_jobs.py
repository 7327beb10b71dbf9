"""Job files of rails with posts and mid rails, and of loose members, to be made from their packs."""

from __future__ import annotations

from pathlib import Path

_SAMPLES = Path(__file__).parent.parent / "sample_jobs"
_HEAD = """
title = "Heron Slip"
units = "{units}"
[pipe]
size = "{size}"
schedule = "40"
[elbows]
stock = ["90 long radius"]
[shop]
root_gap = "2.4 mm"
"""
_ARCH = (
    _HEAD.format(units="mm", size="NPS 1-1/2")
    + """
[galvanising]
from_end = 20

[[rail]]
mark = "A"
mirror = true
start = { kind = "level extension", run = 305 }
path = [
  { rise = 750, going = 1600, heading = 0 },
  { turn = 37, towards = "left" },
  { run = 900 },
  { turn = 30, towards = "down" },
  { run = 1500 },
]

[[rail.posts]]
run = 0
at = [100]
drop = 900
plate = 6

[[rail.posts]]
run = 1
at = [250, 800, 1300]
drop = 950
foot = "slope"
plate = 8
gap = 1.5
hole = true

[[rail.posts]]
run = 2
at = [150, 650]
floor = -600
size = "NPS 1-1/4"
schedule = "40"
offset = 2.5
stand = "square"

[[rail.posts]]
run = 3
at = [200, 1250]
drop = 950
foot = "slope"
plate = 8
gap = 1.5
hole = true

[[rail.mid_rails]]
run = 1
below = 300
through = true
hole = true

[[rail.mid_rails]]
run = 2
below = 350
measured = "square"
size = "NPS 1"
schedule = "40"
bears_on = "outer"

[[rail.mid_rails]]
run = 3
below = 400
size = "NPS 1-1/4"
schedule = "40"
hole = true
"""
)
_UP_AND_DOWN = (
    _HEAD.format(units="mm", size="NPS 1-1/2")
    + """
[galvanising]
from_end = 15

[[rail]]
mark = "U"
path = [
  { rise = 300, going = 1500 },
  { corner = "mitre" },
  { rise = -300, going = 1500 },
]

[[rail.posts]]
spacing = 900
first = 200
last = 200
drop = 1000
foot = "slope"
plate = 10
hole = true
"""
)
_INCHES = (
    _HEAD.format(units="in", size="NPS 2")
    + """
[[rail]]
mark = "I"
path = [
  { rise = 14, going = 60, heading = 30 },
  { turn = 6, towards = "right", by = "mitre" },
  { run = 50 },
]

[[rail.posts]]
run = 1
spacing = 24
first = 9
last = 8
level = true
drop = 40
foot = "slope"
plate = 0.375
size = "NPS 1"
schedule = "40"
offset = -0.25

[[rail.posts]]
run = 2
at = [10, 40]
drop = 40
plate = 0.375
offset = 0.125
size = "NPS 1-1/2"
schedule = "40"
bears_on = "bore"

[[rail.mid_rails]]
below = 20
run = 1
size = "NPS 3/4"
schedule = "40"

[[rail.mid_rails]]
below = 20
run = 2
size = "NPS 1"
schedule = "40"
"""
)
_RING = (
    _HEAD.format(units="mm", size="NPS 1-1/4")
    + """
[[rail]]
mark = "R"
closed = true
points = [[0, 0, 0], [1500, 0, 300], [1700, 1300, 300], [100, 1700, -100]]

[[rail.posts]]
spacing = 1300
first = 250
last = 250
floor = -1100
plate = 5

[[rail.mid_rails]]
run = 1
below = 400
size = "NPS 1"
schedule = "40"
"""
)
_CORNERS = (
    _HEAD.format(units="mm", size="NPS 1-1/2")
    + """
[[rail]]
mark = "C"
start = { kind = "plate", thickness = 6, lean = { up = 7, right = 4 } }
path = [
  { run = 900, heading = 15 },
  { turn = 38, towards = "up" },
  { run = 900 },
  { turn = 42, towards = "left" },
  { run = 800 },
  { turn = 11, towards = "right", by = "mitre" },
  { run = 700 },
]
posts = [
  { corner = 2, drop = 1000, size = "NPS 1-1/4", schedule = "40" },
  { corner = 3, floor = -700, plate = 8 },
  { run = 2, at = [35], floor = -700, on_corner = true, size = "NPS 1", schedule = "40" },
  { run = 3, at = [450], drop = 900, foot = "slope" },
  { run = 1, at = [200], drop = 900, stand = "square", plate = 5 },
]
"""
)
LOPSIDED = (
    _HEAD.format(units="mm", size="NPS 2")
    + """
[[member]]
mark = "K1"
mirror = true
size = "NPS 1-1/2"
schedule = "40"
length = 190
start = { kind = "cope", angle = 63, offset = 4, hole = true }
end = { kind = "mitre", tilt = 17 }
roll = 124

[[member]]
mark = "K2"
mirror = true
size = "NPS 1"
schedule = "40"
length = 731
start = { kind = "cope", angle = 118, offset = -7, on = "NPS 1-1/2" }
end = { kind = "cope", elbow = "90 long radius", at = 31, girth = 62 }
roll = -71

[[member]]
mark = "K3"
mirror = true
size = "NPS 1-1/4"
schedule = "40"
length = 1204.5
measured = "floor to centre"
start = { kind = "plate", tilt = 21, thickness = 9, gap = 2 }
end = [
  { kind = "cope", angle = 90, offset = 3 },
  { kind = "cope", angle = 71, roll = 83 },
]
roll = 39

[[member]]
mark = "K4"
size = "NPS 1"
schedule = "40"
length = 402
measured = "short point to end"
start = { kind = "mitre", tilt = 30 }
end = "square"

[[member]]
mark = "K5"
mirror = true
size = "NPS 3/4"
schedule = "40"
length = 96
measured = "centre to centre"
start = { kind = "cope", on = "NPS 1", angle = 75, offset = 2.5, bears_on = "bore", hole = true }
end = { kind = "cope", on = "NPS 2", angle = 81, offset = -9, gap = 1 }
roll = -158
"""
)
RAILS = {
    "corners": _CORNERS,
    "lookout": (_SAMPLES / "lookout_posts.toml").read_text(),
    "arch": _ARCH,
    "up and down": _UP_AND_DOWN,
    "inches": _INCHES,
    "ring": _RING,
}
LOOSE = {"dock": (_SAMPLES / "dock_frame.toml").read_text(), "lopsided": LOPSIDED}
