"""The figures of a model as CSV, one file a table: the rows of the JSON document, laid flat.

Numbers are as in the JSON, unrounded.  An empty cell is what is not known or doesn't apply.
"""

from __future__ import annotations

import csv
import io
import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from render.figures.figures_json import figures
from templates_core.errors import Fault, InputError
from templates_core.model import Model

Row = dict[str, Any]
FIRST = "job_file"
"""First column of every table: the fingerprint of the job file, by which our own files are known too."""


def figure_csvs(model: Model) -> dict[str, str]:
    """Text of each CSV by its file name; every table is there, if only with its headings."""
    document = figures(model)
    fingerprint = document["job"]["fingerprint"]
    return {f"{name}.csv": _text(table, document, fingerprint) for name, table in TABLES.items()}


def write_csvs(folder: Path, texts: Mapping[str, str]) -> None:
    """Write the files into a folder, made if need be: all beside first, then renamed.

    Raises InputError as check_folder; OSError when it can't be written to.
    """
    check_folder(folder)
    folder.mkdir(exist_ok=True)
    parts = {name: folder / f".{name}.{os.getpid()}.part" for name in texts}
    try:
        for name, part in parts.items():
            part.write_text(texts[name], encoding="utf-8", newline="")
        for name, part in parts.items():
            part.replace(folder / name)
    finally:
        for part in parts.values():
            part.unlink(missing_ok=True)


def check_folder(folder: Path) -> None:
    """Refuse, by InputError, what is no folder, or holds a file of such a name that isn't one of ours."""
    if folder.exists() and not folder.is_dir():
        raise _refusal(folder, "that is a file", "give the name of a folder, which is made if need be")
    if not folder.exists() and not folder.parent.is_dir():
        raise _refusal(folder, f"there is no folder {folder.parent}", "make it first, or choose another")
    others = [f"{name}.csv" for name in TABLES if not _may_replace(folder / f"{name}.csv")]
    if others:
        what = f"{', '.join(others)} there is not from wrapwright"
        raise _refusal(folder, what, "choose another folder, or move what is there")


def _may_replace(path: Path) -> bool:
    """Whether nothing is there, or a table of ours."""
    if not path.exists():
        return True
    if not path.is_file():
        return False
    with path.open("rb") as file:
        return file.read(len(FIRST) + 1) == f"{FIRST},".encode()


def _refusal(folder: Path, what: str, remedy: str) -> InputError:
    return InputError([Fault(f"--csv {folder}", what, remedy)])


def _text(table: tuple[Sequence[str], Callable[[Row], Iterator[Row]]], document: Row, name: str) -> str:
    columns, rows = table
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, [FIRST, *columns], extrasaction="ignore")
    writer.writeheader()
    writer.writerows({FIRST: name} | _flat(row) for row in rows(document))
    return text.getvalue()


def _flat(row: Row, before: str = "") -> Row:
    """One level: a key of an inner object after its outer one, lists of words as one text."""
    cells: Row = {}
    for key, value in row.items():
        if isinstance(value, dict):
            cells |= _flat(value, f"{before}{key}_")
        elif isinstance(value, bool):
            cells[before + key] = "yes" if value else "no"
        elif isinstance(value, list):
            cells[before + key] = "; ".join(str(item) for item in value)
        else:
            cells[before + key] = value
    return cells


def _of_rails(key: str) -> Callable[[Row], Iterator[Row]]:
    return lambda document: ({"rail": rail["mark"]} | row for rail in document["rails"] for row in rail[key])


def _of_fit_up(key: str) -> Callable[[Row], Iterator[Row]]:
    return lambda document: (
        {"rail": rail["mark"]} | row for rail in document["rails"] for row in rail["fit_up"][key]
    )


def _of_straightness(key: str) -> Callable[[Row], Iterator[Row]]:
    return lambda document: (
        {"rail": rail["mark"]} | row
        for rail in document["rails"]
        for row in (rail["straightness"] or {key: []})[key]
    )


def _side_welds(document: Row) -> Iterator[Row]:
    return (pipe | weld for pipe in _of_straightness("pipes")(document) for weld in pipe["welds"])


def _supports(document: Row) -> Iterator[Row]:
    for pipe in _of_straightness("pipes")(document):
        yield from (pipe | support for support in pipe["preset"]["supports"])


def _pieces(document: Row) -> Iterator[Row]:
    for rail in document["rails"]:
        for corner in rail["corners"]:
            for piece in corner["pieces"]:
                yield {"corner": corner["mark"], "rail": rail["mark"], "quantity": rail["quantity"]} | piece


def _rails(document: Row) -> Iterator[Row]:
    for rail in document["rails"]:
        yield {key: value for key, value in rail.items() if not isinstance(value, list)}


def _turning(document: Row) -> Iterator[Row]:
    for check in _of_fit_up("tape_checks")(document):
        for joint in check["turning"] or [{}]:
            yield check | joint


def _buy(document: Row) -> Iterator[Row]:
    """Elbows by kind, then sticks by size and length."""
    for line in document["buy"]:
        yield {"item": "elbow", "name": line["elbow"], "buy": line["quantity"]} | line
    for sticks in document["sticks"]:
        for line in sticks["used"]:
            yield {"item": "stick", "name": sticks["size"], "buy": line["to_buy"]} | line


def _sticks(document: Row) -> Iterator[Row]:
    return ({"size": sticks["size"]} | plan for sticks in document["sticks"] for plan in sticks["plans"])


def _places(plans: Iterator[Row], key: str) -> Iterator[Row]:
    """One row for each mark in each place of each plan; quantity is of the plan, count of the mark."""
    for plan in plans:
        for place in plan[key]:
            for marked in place["marks"]:
                yield plan | place | marked


def _elbow_plans(document: Row) -> Iterator[Row]:
    yield from document["elbow_stock"]["plans"]


def _elbow_lines(document: Row) -> Iterator[Row]:
    return (plan | line for plan in document["elbow_stock"]["plans"] for line in plan["lines"])


def _cuts(document: Row) -> Iterator[Row]:
    for cut in document["cuts"]:
        for line in cut["to_cut"]:
            yield cut | line


def _leaning_cuts(document: Row) -> Iterator[Row]:
    for cut in document["leaning_cuts"]:
        for line in cut["to_cut"]:
            yield cut | line


def _words(text: str) -> tuple[str, ...]:
    return tuple(text.split())


TABLES: dict[str, tuple[Sequence[str], Callable[[Row], Iterator[Row]]]] = {
    "rails": (
        _words(
            "mark quantity closed mirror_of turned_over start_kind start_takes_mm end_kind end_takes_mm "
            "misclosure_position_mm misclosure_direction_deg misclosure_twist_deg fit_up_overall_laid_flat "
            "fit_up_overall_length_mm fit_up_overall_width_mm fit_up_overall_height_mm"
        ),
        _rails,
    ),
    "runs": (_words("rail number length_mm pitch_deg heading_deg"), _of_rails("runs")),
    "corners": (
        _words(
            "rail mark number inside_angle_deg turn_deg roll_deg by take_out_before_mm take_out_after_mm "
            "gap_before_mm gap_after_mm joint_gap_mm joints mitre_tilt_deg"
        ),
        _of_rails("corners"),
    ),
    "pieces": (_words("rail corner mark quantity elbow angle_deg whole cut_end loss_mm"), _pieces),
    "members": (
        _words(
            "mark rail quantity size start_cut start_tilt_deg start_at start_words end_cut end_tilt_deg "
            "end_at end_words roll_deg roll_girth_mm cut_length_mm tip_to_tip_mm extra_mm"
        ),
        lambda document: iter(document["cut_list"]),
    ),
    "posts": (_words("rail mark run corner along_mm height_mm offset_mm"), _of_rails("posts")),
    "cut_pipes": (
        _words(
            "mark kind quantity size hand drawing_mm drawing_words at_start_mm at_end_mm tip_to_tip_mm "
            "start_words start_angle_deg start_offset_mm start_bears_on start_datum_deg start_datum "
            "end_words end_angle_deg end_offset_mm end_bears_on end_datum_deg end_datum"
        ),
        lambda document: iter(document["cut_pipes"]),
    ),
    "drain_holes": (
        _words("pipe quantity end along_mm line girth_deg"),
        lambda document: iter(document["drain_holes"]),
    ),
    "sticks": (
        _words("plan size quantity stick_length_mm trim_mm kerf_mm rest_mm offcut_mm usable"),
        _sticks,
    ),
    "stick_pipes": (
        _words("plan size place mark count length_mm start_mm end_mm"),
        lambda document: _places(_sticks(document), "pipes"),
    ),
    "elbows": (
        _words(
            "plan elbow quantity sweep_deg offcut_start_deg offcut_end_deg offcut_sweep_deg "
            "offcut_keeps_face offcut_usable"
        ),
        _elbow_plans,
    ),
    "elbow_pieces": (
        _words("plan elbow place mark count start_deg end_deg"),
        lambda document: _places(_elbow_plans(document), "pieces"),
    ),
    "elbow_lines": (_words("plan elbow at_deg measured_from measured_deg blade"), _elbow_lines),
    "buy": (_words("item name stick_length_mm buy from_hand whole to_cut price"), _buy),
    "cuts": (
        _words(
            "pieces quantity elbow piece_angle_deg from_face wrap_angle_deg line radius_mm from_face_mm "
            "from_shoulder_mm chord_mm turn_deg_per_mm tip_deg_per_mm sweep_error_deg"
        ),
        _cuts,
    ),
    "leaning_cuts": (
        _words(
            "pieces quantity elbow piece_angle_deg from_face lean_off_square_deg lean_heel_deg lean_side_deg "
            "girth_deg from_face_mm from_shoulder_mm chord_mm"
        ),
        _leaning_cuts,
    ),
    "mitres": (
        _words("joints pipe_ends tilt_deg reach_mm"),
        lambda document: iter(document["mitres"]),
    ),
    "fit_up_runs": (
        _words(
            "rail run pipe work_points_mm work_points_tolerance_mm end_to_end_mm end_to_end_tolerance_mm "
            "tip_to_tip_mm tip_to_tip_tolerance_mm face_to_face_mm face_to_face_tolerance_mm "
            "heel_to_heel_mm heel_to_heel_tolerance_mm"
        ),
        _of_fit_up("runs"),
    ),
    "rolls": (
        _words("rail run pipe from_corner to_corner roll_deg roll_girth_mm"),
        _of_fit_up("rolls"),
    ),
    "tape_checks": (
        _words("rail corner along_mm apart_mm apart_tolerance_mm angle_tolerance_deg joint mm_per_deg"),
        _turning,
    ),
    "diagonals": (
        _words("rail from_run to_run from_line to_line length_mm tolerance_mm work_points_mm"),
        _of_fit_up("diagonals"),
    ),
    "post_sizes": (
        _words("rail post run pipe line_round_mm from_pipe_start_mm tolerance_mm"),
        _of_fit_up("posts"),
    ),
    "clear_sizes": (_words("rail first second clear_mm clear_tolerance_mm"), _of_fit_up("clear")),
    "joints": (_words("rail marks parts tape_checks on_site"), _of_fit_up("joints")),
    "bows": (
        _words(
            "rail mark run length_mm hook bow_mm bow_at_mm pulled_to_deg bow_across_mm estimate_factor "
            "preset_kind preset_kept preset_whole_mm preset_share_set preset_left_mm preset_stress_mpa "
            "preset_clamp_pull_n"
        ),
        _of_straightness("pipes"),
    ),
    "side_welds": (
        _words("rail run mark at_mm side_deg leg_mm kink_deg kink_by shortening_mm"),
        _side_welds,
    ),
    "supports": (_words("rail mark run at_mm wanted_mm shims_mm height_mm force_n"), _supports),
    "weld_losses": (_words("rail run butt_mm side_mm total_mm"), _of_straightness("losses")),
    "openings": (_words("rail corner more_turn_deg tip_deg"), _of_straightness("openings")),
    "warnings": (("warning",), lambda document: ({"warning": text} for text in document["warnings"])),
}
"""Columns and rows of each table, by its name."""
