"""One corner from options, with no job file: a rail of two runs, read and computed like any other."""

from __future__ import annotations

import hashlib
import json
import re
from dataclasses import dataclass
from typing import Any

from templates_core.errors import Fault, InputError
from templates_core.jobs.job import Job
from templates_core.jobs.job_file import CheckPaper, job_of_tables
from templates_core.model import Model, build_model
from templates_core.units import INCH, MM

SOURCE_NAME = "wrapwright single"
_ELBOW_NAME = "real elbow"
_RUNS = {MM: "1 m", INCH: "4 ft"}
"""Run on each side of the corner where none is given, by unit: one that people can picture."""
_ANY_STICK = "1000 m"
"""Of the pipe on both sides only the corner's end is of use, so no stick is too short."""
_KEYS = {
    "size": "--size",
    "schedule": "--schedule",
    "od": "--od",
    "wall": "--wall",
    "stock": "--elbow",
    "bend_radius": "--bend-radius",
    "sweep": "--sweep",
    "shoulder": "--shoulder",
    "ends": "--ends",
    "turn": "--turn",
    "inside_angle": "--inside-angle",
    "run": "--run",
    "paper": "--paper",
    "units": "--units",
    "title": "--title",
}
"""Keys of the tables and the options that fill them."""
_PLACES = (
    (r"rail A, (run|path item [13]).*", "--run"),
    (r"(rail A, (corner|path item 2)|piece ).*", "--turn"),
    (r"(elbow|elbows).*", "--elbow"),
    (r"pipe", "--size"),
)
"""Places in the tables that name no option's key, and the option that a fault there belongs to."""


@dataclass(frozen=True)
class SingleAsked:
    """The options as typed; None for those not given.

    Lengths without a unit are in `units`; angles are degrees.  mitre: half of the turn on each pipe.
    elbow: one of the stock kinds, or None with bend_radius and sweep of a real one.
    run: the longer run at the corner, for what an error costs at its end.
    """

    units: str = MM
    title: str | None = None
    size: str | None = None
    schedule: str | None = None
    od: str | None = None
    wall: str | None = None
    elbow: str | None = None
    bend_radius: str | None = None
    sweep: str | None = None
    shoulder: str | None = None
    ends: str | None = None
    turn: str | None = None
    inside_angle: str | None = None
    mitre: bool = False
    run: str | None = None
    paper: str | None = None


def single_job(asked: SingleAsked, check_paper: CheckPaper | None = None) -> Job:
    """The job of one corner.  Raises InputError with every fault, each at its option."""
    missing = _missing(asked)
    tables = _tables(asked)
    fingerprint = hashlib.sha256(json.dumps(tables, sort_keys=True).encode()).hexdigest()[:8]
    try:
        job = job_of_tables(tables, SOURCE_NAME, fingerprint, check_paper)
    except InputError as error:
        found = [_at_option(fault) for fault in error.faults]
        named = {fault.where for fault in missing}
        raise InputError([*missing, *(fault for fault in found if fault.where not in named)]) from None
    if missing:
        raise InputError(missing)
    return job


def single_model(job: Job) -> Model:
    """The model of a job of one corner.  Raises InputError, each fault at its option."""
    try:
        model = build_model(job)
    except InputError as error:
        raise InputError(dict.fromkeys(_at_option(fault) for fault in error.faults)) from None
    if not model.cut_groups and not model.mitre_groups:
        names = " and ".join(f"{line.quantity} × {line.elbow.name}" for line in model.buy_list)
        what = f"whole elbows make this turn ({names}): there is nothing to cut"
        raise InputError([Fault("--turn", what, "use them as they are, or ask for another turn")])
    return model


def _missing(asked: SingleAsked) -> list[Fault]:
    """What this command needs that a job file would say in another way."""
    faults = []
    if asked.turn is None and asked.inside_angle is None:
        faults.append(
            Fault("--turn", "no angle is given", "give --turn 32.7, or --inside-angle 147.3 as drawings do")
        )
    if asked.turn is not None and asked.inside_angle is not None:
        faults.append(Fault("--turn", "both --turn and --inside-angle are given", "give one of the two"))
    given = [asked.elbow, asked.bend_radius, asked.sweep, asked.shoulder, asked.ends]
    if asked.mitre:
        if any(value is not None for value in given):
            faults.append(
                Fault("--mitre", "a mitre is cut on pipe and takes no elbow", "leave one of them out")
            )
    elif asked.elbow is None and asked.bend_radius is None:
        remedy = 'give --elbow "90 long radius", or --bend-radius of a real one, or --mitre'
        faults.append(Fault("--elbow", "no elbow is given", remedy))
    elif asked.elbow is not None and (asked.bend_radius or asked.sweep or asked.shoulder):
        what = "a stock elbow has its sizes by its name"
        faults.append(Fault("--elbow", what, "give --elbow, or --bend-radius, --sweep and --shoulder"))
    return faults


def _tables(asked: SingleAsked) -> dict[str, Any]:
    """The tables that a job file of this corner would have."""
    run = asked.run or _RUNS.get(asked.units, _RUNS[MM])
    corner = _given(inside_angle=asked.inside_angle, turn=asked.turn)
    title = asked.title or ("One mitre" if asked.mitre else "One elbow cut")
    path = [
        {"run": run},
        {**corner, "towards": "left", "by": "mitre" if asked.mitre else "elbow"},
        {"run": run},
    ]
    tables: dict[str, Any] = {
        "title": title,
        "units": asked.units,
        "pipe": _given(size=asked.size, schedule=asked.schedule, od=asked.od, wall=asked.wall),
        "elbows": _given(stock=None if asked.elbow is None else [asked.elbow], ends=asked.ends),
        "shop": _given(paper=asked.paper),
        "stock": {"pipe": [{"length": _ANY_STICK}]},
        "rail": [{"mark": "A", "path": path}],
    }
    if asked.elbow is None and asked.bend_radius is not None:
        sizes = _given(bend_radius=asked.bend_radius, shoulder=asked.shoulder)
        tables["elbow"] = [{"name": _ELBOW_NAME, "sweep": asked.sweep or "90", **sizes}]
    return tables


def _given(**values: object) -> dict[str, object]:
    return {key: value for key, value in values.items() if value is not None}


def _at_option(fault: Fault) -> Fault:
    """The fault in the words of the command line: its place, and any key that its remedy names."""
    return Fault(_option(fault.where), _in_options(fault.what), _in_options(fault.remedy))


def _option(where: str) -> str:
    key = re.split(r"[.,]\s*", re.sub(r", item \d+$", "", where))[-1]
    if key in _KEYS:
        return _KEYS[key]
    for pattern, option in _PLACES:
        if re.fullmatch(pattern, where):
            return option
    return where


def _in_options(text: str) -> str:
    text = text.replace('set by = "mitre"', "give --mitre")
    return re.sub(r"\b(\w+) = ", lambda found: f"{_KEYS[found[1]]} " if found[1] in _KEYS else found[0], text)
