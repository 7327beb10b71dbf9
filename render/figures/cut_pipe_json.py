"""Posts, mid rails and members as they stand in the JSON of a model's figures."""

from __future__ import annotations

import math
from typing import Any

from templates_core.pipes.cut_lengths import length_sum
from templates_core.pipes.cut_pipe import CutPipe, PipeEnd
from templates_core.pipes.posts import PlacedPost


def post_json(post: PlacedPost) -> dict[str, Any]:
    """Where a post stands."""
    return {
        "mark": post.mark,
        "run": post.run_number,
        "corner": post.corner_number,
        "along_mm": post.along_mm,
        "height_mm": post.height_mm,
        "offset_mm": post.row.offset_mm,
        "top_mm": [float(x) for x in post.top],
        "floor_point_mm": [float(x) for x in post.floor_point],
    }


def cut_pipe_json(pipe: CutPipe) -> dict[str, Any]:
    """A pipe with both its ends, and how its drawing length becomes its cut length."""
    found = length_sum(pipe)
    return {
        "mark": pipe.mark,
        "kind": pipe.kind,
        "quantity": pipe.quantity,
        "size": pipe.pipe.name,
        "hand": pipe.hand,
        "drawing_mm": found.drawing_mm,
        "drawing_words": found.words,
        "at_start_mm": found.at_start_mm,
        "at_end_mm": found.at_end_mm,
        "tip_to_tip_mm": found.tip_to_tip_mm,
        "start": _end(pipe.start),
        "end": _end(pipe.end),
    }


def _end(end: PipeEnd) -> dict[str, Any]:
    return {
        "words": end.words,
        "sits_on": list(end.sits_on),
        "angle_deg": math.degrees(end.angle_rad),
        "offset_mm": end.offset_mm,
        "bears_on": end.bears_on.value,
        "datum_deg": math.degrees(end.datum_rad),
        "datum": end.datum_words,
        "gap_outside_mm": float(end.cut.gap_outside_mm.max()),
        "gap_inside_mm": float(end.cut.gap_inside_mm.max()),
        "hole": end.hole is not None,
    }
