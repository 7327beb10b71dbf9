"""What the sheets of one cut say of the pieces on its two sides, and of the blade."""

from __future__ import annotations

from collections.abc import Sequence

from render.figures.mark_ranges import mark_ranges
from templates_core.elbows.groups import CutGroup
from templates_core.units import format_angle


def short_mark(marks: Sequence[str]) -> str:
    """The first mark, with how many more there are; nothing for none."""
    return "" if not marks else marks[0] + (f" +{len(marks) - 1}" if len(marks) > 1 else "")


def cut_heading(group: CutGroup) -> str:
    """``A1, B1 – make 3``; ``A1 | A2 – make 1`` where two pieces share the line."""
    sides = [mark_ranges(marks) for marks in (group.marks, group.beyond_marks) if marks]
    return f"{' | '.join(sides)} – make {group.quantity}"


def shared_words(group: CutGroup) -> list[str]:
    """Sentences for a line that isn't simply the end of one piece with scrap beyond."""
    words = []
    if group.beyond_marks and group.beyond_angle_rad is not None:
        words.append(
            f"SHARED LINE: {', '.join(group.marks)} on the side measured from, "
            f"{', '.join(group.beyond_marks)} ({format_angle(group.beyond_angle_rad, 2)}) beyond. "
            "Both are kept: centre the blade on the line."
        )
    elif group.blade == "centred":
        words.append("Centre the blade on the line, though there is scrap on one side of it.")
    if group.blanks:
        words.append(
            f"{', '.join(group.blanks)}: cut again to lean, inside this line, by a wrap of its own. Mark "
            "both lines first, cut this one first."
        )
    if group.cut.offset_rad > 0:
        words.append(
            "Piece from the middle of an elbow: both its faces are cut. Mark every line of the elbow from "
            "its faces before the first cut."
        )
    return words
