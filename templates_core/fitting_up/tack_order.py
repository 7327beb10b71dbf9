"""The joints of a rail and the order to tack and check them in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from templates_core.elbows.corners import Corner
from templates_core.fitting_up.leaning_metal import is_on_leaning_elbow
from templates_core.jobs.job import EndKind
from templates_core.marks import end_joint_mark
from templates_core.paths.rail_path import RailPath
from templates_core.pipes.cut_list import Member, end_corners


class Action(StrEnum):
    """What is done at a joint, in this order."""

    TACK = "tack"
    CHECK = "check"
    OPPOSITE = "tack opposite"
    CHECK_AGAIN = "check again"


@dataclass(frozen=True)
class RailJoint:
    """A weld of a rail.

    marks: its mark; two where an elbow meets an elbow, as each corner has one for it.  parts: marks of what
    it joins, in order along the rail, or the kind of what stands at an end.  tape_checks: corners that are
    whole with this weld, to be checked with the tape.  on_site: left for the site.
    check: what else is checked at it, of a post or a mid rail.
    """

    marks: tuple[str, ...]
    parts: tuple[str, str]
    tape_checks: tuple[str, ...] = ()
    on_site: bool = False
    check: str = ""


@dataclass(frozen=True)
class TackStep:
    """One step.  number: from 1.  A check is of the heel lines, and of the joint's corners with the tape."""

    number: int
    joint: RailJoint
    action: Action


def joints_of(path: RailPath, corners: Sequence[Corner], members: Sequence[Member]) -> tuple[RailJoint, ...]:
    """Every weld of a rail in order along it."""
    loose = _left_for_site(path, corners)
    marks: dict[tuple[str, str], list[str]] = {}
    checks: dict[tuple[str, str], list[str]] = {}
    for mark, parts, corner in _welds(path, corners, {member.run_number: member.mark for member in members}):
        marks.setdefault(parts, []).append(mark)
        checks.setdefault(parts, []).extend(corner)
    return tuple(
        RailJoint(tuple(names), parts, tuple(checks[parts]), on_site=loose in names)
        for parts, names in marks.items()
    )


_Weld = tuple[str, tuple[str, str], tuple[str, ...]]
"""Mark, parts, and the corner that is whole with it; a weld of two corners comes once for each."""


def _welds(path: RailPath, corners: Sequence[Corner], pipes: Mapping[int, str]) -> Iterator[_Weld]:
    chain = _parts_in_order(path, corners, pipes)
    if not path.closed and path.start.kind is not EndKind.OPEN:
        yield end_joint_mark(path.mark, at_start=True), (chain[0], chain[1]), ()
    for corner in corners:
        for number, (mark, parts) in enumerate(
            zip(corner.joints, _joined(path, corner, chain, pipes), strict=True)
        ):
            last = number == len(corner.joints) - 1
            whole = (corner.mark,) if last and not is_on_leaning_elbow(path, corner) else ()
            if parts is not None:
                yield mark, parts, whole
    if not path.closed and path.end.kind is not EndKind.OPEN:
        yield end_joint_mark(path.mark, at_start=False), (chain[-2], chain[-1]), ()


def _parts_in_order(path: RailPath, corners: Sequence[Corner], pipes: Mapping[int, str]) -> list[str]:
    """Marks of all parts along the rail, with what stands at its ends."""
    chain = [] if path.closed or path.start.kind is EndKind.OPEN else [str(path.start.kind)]
    for place, run in enumerate(path.runs):
        chain += [pipes[run.number]] if run.number in pipes else []
        chain += [piece.mark for piece in corners[place].pieces] if place < len(corners) else []
    return chain if path.closed or path.end.kind is EndKind.OPEN else [*chain, str(path.end.kind)]


def _joined(
    path: RailPath, corner: Corner, chain: Sequence[str], pipes: Mapping[int, str]
) -> Iterator[tuple[str, str] | None]:
    """What each weld of a corner joins; None where an elbow itself is the rail's open end."""
    before, after = path.runs_at(corner.number)
    own = [piece.mark for piece in corner.pieces]
    if not own:
        yield pipes[before.number], pipes[after.number]
        return
    at = chain.index(own[0])
    beyond = at + len(own)
    yield (chain[at - 1], own[0]) if at or path.closed else None
    yield from pairwise(own)
    yield (own[-1], chain[beyond % len(chain)]) if beyond < len(chain) or path.closed else None


def _left_for_site(path: RailPath, corners: Sequence[Corner]) -> str:
    """Mark of the weld left loose: at the far end of the closing run, or at its near one.

    That is where the far end is mitred, or bare; empty where there is no closing run or neither has a weld.
    """
    for run in path.runs:
        if run.extra_mm > 0:
            before, after = end_corners(path, corners, run.number)
            far = after.joints[0] if after is not None and after.mitre is None else None
            near = before.joints[-1] if before is not None and before.mitre is None else None
            if after is None and path.end.kind is not EndKind.OPEN:
                far = end_joint_mark(path.mark, at_start=False)
            if before is None and path.start.kind is not EndKind.OPEN:
                near = end_joint_mark(path.mark, at_start=True)
            return far or near or ""
    return ""


def tack_steps(joints: Sequence[RailJoint]) -> tuple[TackStep, ...]:
    """Tack, check, tack opposite, check again, then the next joint; what is left for the site comes last."""
    ordered = sorted(joints, key=lambda joint: joint.on_site)
    pairs = [(joint, action) for joint in ordered for action in Action]
    return tuple(TackStep(number, *pair) for number, pair in enumerate(pairs, 1))
