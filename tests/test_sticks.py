"""Pipe of several sizes: each is cut from sticks of its own size, and what the job doesn't list is said."""

from __future__ import annotations

from dataclasses import replace

import pytest

from templates_core.errors import InputError
from templates_core.fittings import Pipe
from templates_core.jobs.job import Job, PipeStock, Stock
from templates_core.stock.sticks import SizedBlank, Sticks, share_sticks
from templates_core.stock.stock_pipe import Blank
from tests.elbow_samples import job

THIN = Pipe("NPS 1-1/4 Sch 40", 42.16, 3.56, "ASME B36.10M")
JOB: Job = job()
WIDE = JOB.pipe
BLANKS = [
    SizedBlank(WIDE, Blank("A-P1", "rail A, run 1", 2500.0, 2), 2490.0),
    SizedBlank(THIN, Blank("B1", "member B1", 900.0, 6), 880.0),
]


def shared(*stock: PipeStock) -> Sticks:
    return share_sticks(BLANKS, replace(JOB, stock=Stock(pipes=stock)), None)


def test_each_size_comes_out_of_sticks_of_its_own() -> None:
    sticks = shared(PipeStock(6000.0), PipeStock(3000.0, pipe=THIN))
    wide, thin = sticks.shares
    assert (wide.pipe, wide.pieces, wide.longest_mm, wide.cut_mm) == (WIDE, 2, 2500.0, 4980.0)
    assert (thin.pipe, thin.pieces, thin.longest_mm, thin.cut_mm) == (THIN, 6, 900.0, 5280.0)
    assert [(plan.stock.length_mm, plan.quantity) for plan in wide.share.plans] == [(6000.0, 1)]
    assert [(plan.stock.length_mm, plan.quantity) for plan in thin.share.plans] == [(3000.0, 2)]
    assert (sticks.doubts, sticks.notes) == ((), ())


def test_a_size_that_is_not_listed_comes_out_of_usual_sticks_and_that_is_said() -> None:
    assert shared(PipeStock(6000.0)).notes == (
        "The job lists no pipe of NPS 1-1/4 Sch 40, so sticks of 6.00 m are taken: "
        "list yours as [[stock.pipe]].",
    )
    assert len(shared().notes) == 2


def test_stock_that_nothing_is_made_of_is_doubtful() -> None:
    other = Pipe("NPS 1-1/4 Sch 80", 42.16, 4.85, "ASME B36.10M")
    assert shared(PipeStock(6000.0, pipe=other)).doubts == (
        "stock.pipe: nothing in this job is made of NPS 1-1/4 Sch 80",
    )


def test_every_pipe_that_no_stick_of_its_size_makes_is_told() -> None:
    with pytest.raises(InputError) as caught:
        shared(PipeStock(2000.0), PipeStock(800.0, pipe=THIN))
    assert [fault.where for fault in caught.value.faults] == ["rail A, run 1", "member B1"]
