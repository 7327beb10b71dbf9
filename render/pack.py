"""The pack: every section's sheets in order, numbered, and what the file says of itself."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial

from render.pages.paper import Layout, Page
from render.pages.pdf import Metadata, printable
from render.pages.title_block import JobLabel, with_title_blocks
from render.sheets.bench_sheet import bench_pages
from render.sheets.buy_sheet import buy_pages
from render.sheets.check_record import check_record_pages
from render.sheets.cut_list_sheet import cut_list_pages
from render.sheets.fit_up_sheet import fit_up_pages
from render.sheets.job_sheet import job_pages
from render.sheets.measure_sheet import measure_pages
from render.sheets.member_sheet import member_pages
from render.sheets.post_extras import extras_of
from render.sheets.print_check import print_check
from render.sheets.straightness_sheet import straightness_pages
from render.sheets.wrap_sheet import wrap_pages
from templates_core.errors import Fault, InputError
from templates_core.jobs.job import Job
from templates_core.model import Model, Progress
from templates_core.units import INCH

PRINT_CHECK, MEASURE, JOB, BUY, CUT_LIST = "print-check", "measure", "job", "buy", "cut-list"
WRAPS, BENCH, MEMBERS, FIT_UP = "wraps", "bench", "members", "fit-up"
STRAIGHTNESS, RECORD = "straightness", "record"
SINGLE_SECTIONS = (PRINT_CHECK, WRAPS, BENCH)
"""Sections of a pack of one corner: the others need a job."""


def _print_check_pages(model: Model, layout: Layout) -> tuple[Page, ...]:
    return (print_check(layout, inches=model.job.units == INCH),)


def _fit_up_pages(model: Model, layout: Layout) -> tuple[Page, ...]:
    return fit_up_pages(model, layout, partial(extras_of, units=model.job.units))


SECTIONS: dict[str, Callable[[Model, Layout], tuple[Page, ...]]] = {
    PRINT_CHECK: _print_check_pages,
    MEASURE: measure_pages,
    JOB: job_pages,
    BUY: buy_pages,
    CUT_LIST: cut_list_pages,
    WRAPS: wrap_pages,
    BENCH: bench_pages,
    MEMBERS: member_pages,
    FIT_UP: _fit_up_pages,
    STRAIGHTNESS: straightness_pages,
    RECORD: check_record_pages,
}
"""The sections by their short names, in the order of the pack."""


def sections_named(names: Sequence[str], where: str = "--only") -> tuple[str, ...]:
    """The sections asked for, in the order of the pack; all of them for no name.

    names: each one section, or several with commas between.  Raises InputError with every unknown one.
    """
    asked = [name.strip().lower() for given in names for name in given.split(",")]
    faults = [_unknown(name, where) for name in asked if name not in SECTIONS]
    if faults:
        raise InputError(faults)
    return tuple(name for name in SECTIONS if not asked or name in asked)


def _unknown(name: str, where: str) -> Fault:
    near = difflib.get_close_matches(name, SECTIONS, n=1, cutoff=0.5)
    hint = f"did you mean {near[0]}? " if near else ""
    return Fault(where, f"the pack has no section {name!r}", f"{hint}it has {', '.join(SECTIONS)}")


def pack_pages(
    model: Model, layout: Layout, sections: Sequence[str] = tuple(SECTIONS), progress: Progress | None = None
) -> tuple[Page, ...]:
    """The sheets of the sections, in their order, each numbered in its title block.

    Raises InputError where the job has nothing for any of them.
    """
    pages: list[Page] = []
    for number, name in enumerate(sections):
        if progress is not None:
            progress(f"drawing {name}", number, len(sections))
        pages += SECTIONS[name](model, layout)
    if not pages:
        what = f"this job has no sheet for {', '.join(sections)}"
        raise InputError([Fault("--only", what, "ask for another section, or leave --only out")])
    job = model.job
    label = JobLabel(job.title, number_of(job), job.revision, job.fingerprint)
    return with_title_blocks(pages, label)


def check_words(job: Job) -> None:
    """Raise InputError for each of the job's own words that the font of the sheets can't print."""
    words = {"title": job.title, "number": job.number, "revision": job.revision}
    words |= {f"elbow {elbow.name}": elbow.name for elbow in job.elbows}
    faults = []
    for place, text in words.items():
        try:
            printable(text)
        except InputError as error:
            faults += [replace(fault, where=place) for fault in error.faults]
    if faults:
        raise InputError(faults)


def pack_metadata(job: Job) -> Metadata:
    """Title and subject of the file."""
    return Metadata(
        f"{number_of(job)} {job.title}".strip(),
        f"revision {job.revision}, job file {job.source_name}, {job.fingerprint}",
    )


def number_of(job: Job) -> str:
    """The job's number; empty for a job without one."""
    return "" if job.number == "-" else job.number
