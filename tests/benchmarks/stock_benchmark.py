"""How long it takes to share out 2,000 pieces and 2,000 pipes of 60 distinct sizes, and how near the bound.

Run from the checkout: python -m tests.benchmarks.stock_benchmark
"""

from __future__ import annotations

import math
import random
import resource
import sys
import time

from templates_core.fittings import StockElbow
from templates_core.jobs.job import PipeStock, Shop
from templates_core.stock.stock_elbows import PieceWanted, share_elbows
from templates_core.stock.stock_pipe import Blank, share_pipe

SIZES, PIECES = 60, 2000
SHOP = Shop(1.6, 0.5, 2.4, 0.1, None, 6.0, "A4")
NPS_1_5 = StockElbow("NPS 1-1/2", 48.26, 3.68, math.pi / 2, 57.15, 57.15, 0, 0, 1.6, 0.02, 1.6, 0.8, "sample")
NPS_12 = StockElbow("NPS 12", 323.85, 9.53, math.pi / 2, 457.2, 457.2, 0, 0, 6.1, 0.01, 4.0, 3.2, "sample")


def told(done: int, total: int) -> None:
    """Show progress on one line."""
    if sys.stderr.isatty():
        sys.stderr.write(f"\r{done} of at most {total} rounds ")


def pipes() -> None:
    """Lengths from 200 to 2,650 mm out of sticks of 6 m."""
    draw = random.Random(1)
    lengths = [draw.uniform(200, 2650) for _ in range(SIZES)]
    blanks = [Blank(f"P{n}", "rail", draw.choice(lengths), 1) for n in range(PIECES)]
    started = time.process_time()
    share = share_pipe(blanks, [PipeStock(6000.0)], 1.6, 0.0, 300.0, told)
    report("pipes", started, share.cost, share.bound)


def pieces(elbow: StockElbow, least_deg: float, most_deg: float) -> None:
    """Pieces of these angles out of 90s."""
    draw = random.Random(1)
    angles = [math.radians(draw.uniform(least_deg, most_deg)) for _ in range(SIZES)]
    wanted = [PieceWanted(f"A{n}", "rail", elbow, draw.choice(angles), False, 1) for n in range(PIECES)]
    started = time.process_time()
    share = share_elbows(wanted, [elbow], [], SHOP, told)
    report(f"pieces of {elbow.name}, {least_deg:g} to {most_deg:g}°", started, share.cost, share.bound)


def report(what: str, started: float, cost: int, bound: int) -> None:
    """Print processor time, gap and the most memory so far."""
    seconds = time.process_time() - started
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    gap = 100 * (cost - bound) / bound
    print(f"{what}: {seconds:.1f} s, cost {cost}, bound {bound}, gap {gap:.2f} %, {memory:.0f} MB in all")


if __name__ == "__main__":
    pipes()
    pieces(NPS_1_5, 22, 60)
    pieces(NPS_12, 10, 60)
