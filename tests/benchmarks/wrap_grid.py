"""Lays the printed wrap of every stocked size on its elbow: python -m tests.benchmarks.wrap_grid [NPS ...]

Deviation is along girth lines, positive away from the face. Limits: 0.3 mm or a thousandth of the girth,
heel against throat 0.2 mm. The last rows have a tab off its mark.
"""

import math
import sys
import time

from tests.benchmarks.paper_placement import Options, Placement
from tests.benchmarks.wrap_papers import allowed_mm, laid
from tests.wrap_samples import FITTINGS, SIZES_IN, elbow_of

DEGREES = (20, 32, 45, 60)
LEAST_THROAT_MM = 6.0
HEEL_THROAT_MM = 0.2
OFF = (
    ("whole wrap 1 mm round", Options(off_round_mm={"heel": 1.0, "throat": 1.0})),
    ("heel tab 1 mm round", Options(off_round_mm={"heel": 1.0})),
    ("heel tab 0.5 mm out", Options(off_along_mm={"heel": 0.5})),
    ("side tab 0.5 mm out", Options(off_along_mm={"side+": 0.5})),
    ("throat tab 0.5 mm out", Options(off_along_mm={"throat": 0.5})),
)


def weldable(nps: str, kind: str, degrees: float) -> bool:
    """Whether enough throat is left behind the shoulder: three walls, and 6 mm."""
    elbow = elbow_of(nps, kind)
    assert elbow.bend_radius_mm is not None
    throat = (elbow.bend_radius_mm - elbow.radius_mm) * math.radians(degrees) - elbow.shoulder_mm
    return throat >= max(LEAST_THROAT_MM, 3 * elbow.wall_mm)


def row(name: str, wrap: Placement, limit_mm: float | None) -> str:
    """One line of the table."""
    good = limit_mm is None or (
        wrap.max_deviation_mm < limit_mm and abs(wrap.heel_minus_throat_mm) < HEEL_THROAT_MM
    )
    limit = "    -" if limit_mm is None else f"{limit_mm:5.2f}"
    return (
        f"{name:34} {wrap.max_deviation_mm:6.3f} {limit} {wrap.heel_minus_throat_mm:+7.3f} "
        f"{math.degrees(wrap.turn_rad):+7.3f} {math.degrees(wrap.tilt_rad):+7.3f} {'' if good else 'OVER'}"
    )


def main(sizes: list[str]) -> None:
    began = time.perf_counter()
    print(f"{'wrap':34} {'max mm':>6} {'limit':>5} {'heel-thr':>7} {'turn°':>7} {'tilt°':>7}")
    for nps, kind in FITTINGS:
        for degrees in DEGREES:
            if nps in sizes and weldable(nps, kind, degrees):
                wrap = laid(nps, kind, degrees)
                print(row(f"NPS {nps} {kind} {degrees}°", wrap, allowed_mm(nps)), flush=True)
    for name, options in OFF:
        print(row(f"NPS 1-1/2 LR 32°, {name}", laid("1-1/2", "LR", 32, options), None), flush=True)
    print(f"{time.perf_counter() - began:.0f} s")


if __name__ == "__main__":
    main(sys.argv[1:] or list(SIZES_IN))
