"""The figures of a model as JSON: numbers unrounded, each key ending in its unit.

Lengths end in ``_mm``, angles in ``_deg``, and what an error of a millimetre costs in ``_deg_per_mm``.
"""

from __future__ import annotations

import json
import math
from typing import Any

from render.figures.cut_pipe_json import cut_pipe_json, post_json
from render.figures.drain_tables import drain_json
from render.figures.fit_up_json import fit_up_json
from render.figures.post_size_tables import post_sizes_json
from render.figures.stock_json import cut_list_json, elbow_stock_json, sticks_json
from render.figures.straightness_json import straightness_json
from templates_core.elbows.corners import Corner, Piece
from templates_core.elbows.cuts import GirthLine
from templates_core.elbows.groups import CutGroup, LeaningGroup, MitreGroup
from templates_core.elbows.leaning_cuts import LeaningCut, LeaningLine, leaning_lines
from templates_core.elbows.leaning_layout import face_to_cut_rad
from templates_core.elbows.plate_ends import PlateEnd
from templates_core.fittings import StockElbow
from templates_core.jobs.job import EndSpec, Job, Taped
from templates_core.model import Model, Rail
from templates_core.paths.leans import ElbowLean
from templates_core.paths.rail_path import Misclosure, Run
from templates_core.wraps.cut_wraps import CutWrap, LeaningWrap

FORMAT = "wrapwright figures 1"
"""First entry of the document; its number goes up when a key changes its meaning or goes."""


def figures_json(model: Model) -> str:
    """The document as indented JSON text, ending without a line break."""
    return json.dumps(figures(model), indent=2, ensure_ascii=False, allow_nan=False)


def figures(model: Model) -> dict[str, Any]:
    """The document as plain dictionaries, lists, text and numbers."""
    return {
        "format": FORMAT,
        "job": _job(model.job),
        "rails": [_rail(rail) for rail in model.rails],
        "cuts": [_cut(*pair) for pair in zip(model.cut_groups, model.cut_wraps, strict=True)],
        "leaning_cuts": [
            _leaning(*pair) for pair in zip(model.leaning_groups, model.leaning_wraps, strict=True)
        ],
        "mitres": [_mitre(group) for group in model.mitre_groups],
        "buy": [
            {
                "elbow": line.elbow.name,
                "quantity": line.quantity,
                "from_hand": line.from_hand,
                "whole": line.whole,
                "to_cut": line.to_cut,
                "pieces": list(line.marks),
            }
            for line in model.buy_list
        ],
        "cut_list": cut_list_json(model),
        "cut_pipes": [cut_pipe_json(pipe) for pipe in model.cut_pipes],
        "drain_holes": [drain_json(hole) for hole in model.drain_holes],
        "sticks": sticks_json(model),
        "elbow_stock": elbow_stock_json(model),
        "pipe_in_all_mm": model.pipe_mm,
        "warnings": list(model.warnings),
    }


def _job(job: Job) -> dict[str, Any]:
    shop = job.shop
    return {
        "title": job.title,
        "number": job.number,
        "revision": job.revision,
        "units": job.units,
        "file": job.source_name,
        "fingerprint": job.fingerprint,
        "pipe": {
            "name": job.pipe.name,
            "od_mm": job.pipe.od_mm,
            "wall_mm": job.pipe.wall_mm,
            "source": job.pipe.source,
        },
        "elbows": [_elbow(elbow) | {"taped": _taped(job.taped.get(elbow.name))} for elbow in job.elbows],
        "shop": {
            "kerf_mm": shop.kerf_mm,
            "dressing_mm": shop.dressing_mm,
            "root_gap_mm": shop.root_gap_mm,
            "wrap_thickness_mm": shop.wrap_thickness_mm,
            "least_throat_mm": shop.least_throat_mm,
            "least_scrap_mm": shop.least_scrap_mm,
            "paper": shop.paper,
            "ordinate_tolerance_mm": shop.ordinate_tolerance_mm,
        },
    }


def _elbow(elbow: StockElbow) -> dict[str, Any]:
    return {
        "name": elbow.name,
        "od_mm": elbow.od_mm,
        "wall_mm": elbow.wall_mm,
        "sweep_deg": math.degrees(elbow.sweep_rad),
        "centre_to_end_mm": elbow.centre_to_end_mm,
        "bend_radius_mm": elbow.bend_radius_mm,
        "tangent_a_mm": elbow.tangent_a_mm,
        "tangent_b_mm": elbow.tangent_b_mm,
        "shoulder_mm": elbow.shoulder_mm,
        "sweep_tolerance_deg": math.degrees(elbow.sweep_tolerance_rad),
        "source": elbow.source,
    }


def _taped(taped: Taped | None) -> dict[str, Any] | None:
    """Readings; null where none was taken."""
    if taped is None:
        return None
    return {
        "girth_mm": taped.girth_mm,
        "heel_arc_mm": taped.heel_arc_mm,
        "throat_arc_mm": taped.throat_arc_mm,
        "sweep_deg": None if taped.sweep_rad is None else math.degrees(taped.sweep_rad),
        "shoulder_mm": taped.shoulder_mm,
    }


def _rail(rail: Rail) -> dict[str, Any]:
    return {
        "mark": rail.mark,
        "quantity": rail.quantity,
        "closed": rail.path.closed,
        "work_points_mm": [[float(x) for x in point] for point in rail.path.points_mm],
        "runs": [_run(run) for run in rail.path.runs],
        "corners": [_corner(corner) for corner in rail.corners],
        "pipes": [
            {
                "mark": member.mark,
                "run": member.run_number,
                "length_mm": member.length_mm,
                "shortest_side_mm": member.short_mm,
            }
            for member in rail.members
        ],
        "posts": [post_json(post) for post in rail.standing.posts],
        "misclosure": _misclosure(rail.path.misclosure),
        "mirror_of": rail.mirror_of or None,
        "turned_over": rail.turned_over,
        "start": _rail_end(rail.path.start),
        "end": _rail_end(rail.path.end),
        "fit_up": fit_up_json(rail.fit_up) | post_sizes_json(rail),
        "straightness": straightness_json(rail.straightness),
    }


def _rail_end(end: EndSpec) -> dict[str, Any]:
    return {"kind": end.kind.value, "takes_mm": end.takes_mm}


def _run(run: Run) -> dict[str, Any]:
    return {
        "number": run.number,
        "length_mm": run.length_mm,
        "pitch_deg": math.degrees(run.pitch_rad),
        "heading_deg": math.degrees(run.heading_rad),
    }


def _misclosure(misclosure: Misclosure | None) -> dict[str, float] | None:
    if misclosure is None:
        return None
    return {
        "position_mm": misclosure.position_mm,
        "direction_deg": math.degrees(misclosure.direction_rad),
        "twist_deg": math.degrees(misclosure.twist_rad),
    }


def _corner(corner: Corner) -> dict[str, Any]:
    return {
        "mark": corner.mark,
        "number": corner.number,
        "inside_angle_deg": math.degrees(corner.inside_angle_rad),
        "turn_deg": math.degrees(corner.turn_rad),
        "roll_deg": math.degrees(corner.roll_rad),
        "by": corner.by.value,
        "pieces": [_piece(piece) for piece in corner.pieces],
        "take_out_before_mm": corner.take_out_before_mm,
        "take_out_after_mm": corner.take_out_after_mm,
        "gap_before_mm": corner.gap_before_mm,
        "gap_after_mm": corner.gap_after_mm,
        "joint_gap_mm": corner.joint_gap_mm,
        "joints": list(corner.joints),
        "mitre_tilt_deg": None if corner.mitre is None else math.degrees(corner.mitre.tilt_rad),
    }


def _piece(piece: Piece) -> dict[str, Any]:
    return {
        "mark": piece.mark,
        "elbow": piece.elbow.name,
        "angle_deg": math.degrees(piece.angle_rad),
        "whole": piece.cut is None,
        "cut_end": piece.cut_end,
        "loss_mm": piece.loss_mm,
        "lean": None if piece.lean is None else _lean(piece.lean),
    }


def _cut(group: CutGroup, made: CutWrap) -> dict[str, Any]:
    return _wrapped_cut(group, made) | {
        "to_cut": [_girth_line(line) for line in group.to_cut],
        "of_piece": [_girth_line(line) for line in group.of_piece],
    }


def _wrapped_cut(group: CutGroup | LeaningGroup, made: CutWrap | LeaningWrap) -> dict[str, Any]:
    """What a radial and a leaning cut have in common."""
    cut, costs = group.cut, group.costs
    return {
        "pieces": list(group.marks),
        "quantity": group.quantity,
        "elbow": cut.elbow.name,
        "piece_angle_deg": math.degrees(cut.piece_angle_rad),
        "from_face": cut.from_face,
        "wrap_angle_deg": math.degrees(cut.wrap_angle_rad),
        "turn_deg_per_mm": math.degrees(costs.turn_rad_per_mm),
        "tip_deg_per_mm": math.degrees(costs.tip_rad_per_mm),
        "sweep_error_deg": math.degrees(costs.sweep_rad),
        "longest_run_mm": group.longest_run_mm,
        "girth_mm": made.wrap.girth_mm,
        "girth_from_mm": made.girth_from_mm,
        "girth_to_mm": made.girth_to_mm,
    }


def _lean(lean: ElbowLean) -> dict[str, float]:
    return {
        "off_square_deg": math.degrees(lean.angle_rad),
        "heel_deg": math.degrees(lean.pitch_rad),
        "side_deg": math.degrees(lean.yaw_rad),
    }


def _leaning(group: LeaningGroup, made: LeaningWrap) -> dict[str, Any]:
    cut = group.cut
    return _wrapped_cut(group, made) | {
        "lean": _lean(cut.wrap_lean),
        "to_cut": [_leaning_line(line) for line in _round(cut)],
        "of_piece": [_leaning_line(line) for line in _round(cut, of_piece=True)],
        "face_to_cut_deg": math.degrees(face_to_cut_rad(cut)),
    }


def _round(cut: LeaningCut, of_piece: bool = False) -> list[LeaningLine]:
    return leaning_lines(cut, [math.radians(degrees) for degrees in range(-165, 181, 15)], of_piece)


def _leaning_line(line: LeaningLine) -> dict[str, float]:
    return {
        "girth_deg": math.degrees(line.girth_rad),
        "from_face_mm": line.face_mm,
        "from_shoulder_mm": line.shoulder_mm,
        "chord_mm": line.chord_mm,
    }


def _plate_end(plate: PlateEnd) -> dict[str, Any]:
    lean = plate.lean
    return {
        "pipe": plate.pipe,
        "at": "start" if plate.at_start else "end",
        "up_deg": math.degrees(lean.up_rad),
        "left_deg": math.degrees(lean.left_rad),
        "heel_deg": math.degrees(lean.heel_rad),
        "corner": plate.corner,
        "long_point_deg": None if plate.long_rad is None else math.degrees(plate.long_rad),
    }


def _girth_line(line: GirthLine) -> dict[str, Any]:
    return {
        "line": line.name,
        "radius_mm": line.radius_mm,
        "from_face_mm": line.face_mm,
        "from_shoulder_mm": line.shoulder_mm,
        "chord_mm": line.chord_mm,
    }


def _mitre(group: MitreGroup) -> dict[str, Any]:
    return {
        "joints": list(group.joints),
        "pipe_ends": group.ends,
        "planes": [_plate_end(plate) for plate in group.plates],
        "tilt_deg": math.degrees(group.tilt_rad),
        "reach_mm": group.reach_mm,
    }
