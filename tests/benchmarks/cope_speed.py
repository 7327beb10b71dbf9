"""Prints what one wrap of a pipe's end costs, as computed and recorded, on a pipe, an elbow and a corner.

Run by hand: ``python -m tests.benchmarks.cope_speed``.  Wanted: under 5 ms for a cope on a pipe.
"""

from __future__ import annotations

import math
import statistics
import time
from collections.abc import Callable
from dataclasses import replace
from functools import partial

from render.sheets.member_drawing import wrap_drawing
from templates_core.geometry.pipe_ends import end_cut
from templates_core.pipes.cut_pipe import CutPipe
from templates_core.wraps.member_wraps import end_wrap
from tests.cut_pipe_samples import lopsided
from tests.seat_samples import SEATS, Seat

ROUNDS = 40


def median_ms(work: Callable[[], object]) -> float:
    """Median milliseconds of processor time of a call, after a few to warm up."""
    times = []
    for number in range(ROUNDS + 3):
        start = time.process_time()
        work()
        times.append((time.process_time() - start) * 1000 if number >= 3 else math.nan)
    return statistics.median(times[3:])


def wrapped(seat: Seat, made: CutPipe) -> None:
    """Cut an end, unroll its wrap and record its drawing."""
    cut = end_cut(seat.axis, seat.pipe, seat.solids, "start")
    pipe = replace(made, pipe=seat.pipe, start=replace(made.start, cut=cut))
    wrap_drawing(end_wrap(pipe, "start", 0.1).wrap, (made.mark, "first end", "KEEP"), "mm")


def main() -> None:
    """Print the table."""
    made = lopsided(1800.0)
    print("one wrap, cut, unrolled and recorded, median milliseconds of processor time")
    for seat in SEATS:
        print(f"  {seat.name:40s} {median_ms(partial(wrapped, seat, made)):6.2f}")


if __name__ == "__main__":
    main()
