"""What is found wrong or doubtful while a job file is read, each with its place, in the order of the file."""

from __future__ import annotations

import difflib
import json
from collections.abc import Mapping
from typing import Any, TypeVar

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from templates_core.errors import BadValueError, Fault
from templates_core.jobs.job_tables import Table

Loc = tuple[int | str, ...]
"""Keys and indices (from 0) that lead from the top of the file to a value."""
AnyTable = TypeVar("AnyTable", bound=Table)

_WORDS = {
    "bool_type": "is neither true nor false",
    "dict_type": "is not a table",
    "int_type": "is not a whole number",
    "list_type": "is not a list",
    "model_type": "is not a table",
    "string_too_short": "is empty",
    "string_type": "is not text",
    "too_long": "has too many entries",
    "too_short": "has too few entries",
    "greater_than_equal": "is too small",
    "less_than_equal": "is too large",
    "string_pattern_mismatch": "can't be stamped on a part",
}
_REMEDIES = {
    "string_pattern_mismatch": "use up to 12 letters, digits, dots or dashes, the first a letter or digit",
    "model_type": "give its keys, each with a value, under its name in brackets",
}


class Notes:
    """Collects faults and warnings of one job file.

    raw: the file as TOML gives it.  units: unit of bare lengths in it, mm or in.
    """

    def __init__(self, raw: Mapping[str, Any], units: str) -> None:
        self.raw = raw
        self.units = units
        self.warnings: list[str] = []
        self._faults: list[tuple[tuple[int, ...], Fault]] = []

    @property
    def faults(self) -> tuple[Fault, ...]:
        """Every fault so far, in the order of the file."""
        return tuple(fault for _, fault in sorted(self._faults, key=lambda pair: pair[0]))

    def read(self, model: type[AnyTable], value: object, loc: Loc) -> AnyTable | None:
        """The table at a place in the file, or None after noting each of its faults."""
        try:
            return model.model_validate(value, context=self.units)
        except ValidationError as error:
            for detail in error.errors():
                what, remedy = _in_words(detail, model)
                where = (*loc, *detail["loc"])
                self.note(where, Fault(self.place(where), what, remedy))
            return None

    def add(self, loc: Loc, error: BadValueError) -> None:
        """Note a value that can't be used."""
        self.note(loc, error.at(self.place(loc)))

    def note(self, loc: Loc, fault: Fault) -> None:
        """Note a fault that names its own place."""
        self._faults.append((self._order(loc), fault))

    def warn(self, loc: Loc, text: str) -> None:
        """Note something legal but doubtful."""
        self.warnings.append(f"{self.place(loc)}: {text}")

    def place(self, loc: Loc) -> str:
        """A place in the fitter's words: ``shop.kerf``, ``rail A, path item 3, turn``."""
        if len(loc) >= 2 and loc[0] in ("rail", "elbow", "member") and isinstance(loc[1], int):
            name = self._name_of(loc[0], loc[1])
            return ", ".join([f"{loc[0]} {name}", *_parts(loc[2:])])
        if len(loc) >= 2 and loc[0] == "measured":
            return ".".join(["measured", f'"{loc[1]}"', *_parts(loc[2:])])
        parts = _parts(loc)
        return ".".join(parts[:2]) + "".join(f", {part}" for part in parts[2:]) if parts else "job file"

    def _name_of(self, table: str, index: int) -> str:
        entry = self.raw[table][index]
        name = entry.get("name" if table == "elbow" else "mark") if isinstance(entry, dict) else None
        return name if isinstance(name, str) and name.strip() else f"number {index + 1}"

    def _order(self, loc: Loc) -> tuple[int, ...]:
        """Sorts places as they stand in the file; a missing key comes at the end of its table."""
        order: list[int] = []
        here: Any = self.raw
        for step in loc:
            if isinstance(here, dict):
                order.append(list(here).index(step) if step in here else len(here))
                here = here.get(step)
            elif isinstance(step, int):
                order.append(step)
                here = here[step] if isinstance(here, list) and step < len(here) else None
        return tuple(order)


def nearest(given: str, known: list[str]) -> str:
    """Remedy for a name that isn't known: the nearest one, or all of them."""
    by_case = {name.casefold(): name for name in known}
    near = difflib.get_close_matches(given.casefold(), by_case, n=1, cutoff=0.6)
    return f"did you mean {by_case[near[0]]}?" if near else f"known here: {', '.join(known)}"


def _parts(loc: Loc) -> list[str]:
    """Keys as they are; indices from 1, named by the list that they count."""
    items = {"path": "path item", "points": "point", "corners": "corner", "weld": "weld", "clamps": "clamps"}
    items |= {"posts": "posts row", "mid_rails": "mid rails row"}
    parts: list[str] = []
    for at, step in enumerate(loc):
        if isinstance(step, str):
            if not (step in items and at + 1 < len(loc) and isinstance(loc[at + 1], int)):
                parts.append(step)
        elif at and loc[at - 1] in items:
            parts.append(f"{items[str(loc[at - 1])]} {step + 1}")
        else:
            parts.append(
                "xyz"[step] if at > 1 and loc[at - 2] == "points" and step < 3 else f"item {step + 1}"
            )
    return parts


def _in_words(detail: ErrorDetails, model: type[Table]) -> tuple[str, str]:
    """What is wrong and what would be right, of one error that pydantic found."""
    kind, value, context = detail["type"], detail["input"], detail.get("ctx", {})
    error = context.get("error")
    if isinstance(error, BadValueError):
        return error.what, error.remedy
    key = next((str(step) for step in detail["loc"]), "")
    field = model.model_fields.get(key)
    example = f"write {field.examples[0]}" if field is not None and field.examples else "see the sample jobs"
    if kind == "missing":
        return "it is missing", example
    if kind == "extra_forbidden":
        return "there is no such key here", nearest(key, list(model.model_fields))
    if kind in ("enum", "literal_error"):
        expected = str(context["expected"]).replace("'", '"')
        return f"{_shown(value)} can't stand here", f"write {expected}"
    remedy = example if kind == "model_type" and key else _REMEDIES.get(kind, example)
    return f"{_shown(value)} {_WORDS.get(kind, detail['msg'])}", remedy


def _shown(value: object) -> str:
    """The value about as the file has it, cut short; a table or a list is only *it*."""
    if isinstance(value, dict | list):
        return "it"
    text = json.dumps(value, default=str, ensure_ascii=False)
    return text if len(text) <= 40 else text[:39] + "…"
