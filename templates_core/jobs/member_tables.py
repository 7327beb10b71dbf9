"""The tables of straight pipes as they are written: members and their ends, posts, mid rails, galvanising."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from templates_core.geometry.pipe_ends import BearsOn
from templates_core.jobs.job_tables import PipeTable, Table
from templates_core.jobs.job_values import (
    BearingEdge,
    GirthPlace,
    Length,
    Measured,
    MeetingAngle,
    OnPipe,
    PositiveLength,
    RoundAngle,
    SignedLength,
    SweepAngle,
    TiltAngle,
    Words,
)
from templates_core.jobs.member_specs import CutKind, Foot, Stand

Mark = Annotated[str, Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9_.-]{0,11}$")]


class MemberTable(PipeTable):
    """``[[member]]``: a straight pipe; its ends are read one by one."""

    mark: Mark = Field(examples=['mark = "B1"'])
    quantity: Annotated[int, Field(ge=1, le=1000)] = Field(1, examples=["quantity = 4"])
    mirror: bool = Field(False, examples=["mirror = true"])
    length: PositiveLength = Field(examples=["length = 1040"])
    measured: Measured = Field(("centre", "centre"), examples=['measured = "floor to centre"'])
    roll: RoundAngle = Field(0.0, examples=["roll = 90"])
    start: Any = Field("square", examples=['start = "square"'])
    end: Any = Field("square", examples=['end = { kind = "cope", angle = 60 }'])


class CutTable(Table):
    """What one end of a member is cut to; `job_members` tells which keys go with which kind."""

    kind: Annotated[CutKind, Field(strict=False)] = Field(examples=['kind = "cope"'])
    tilt: TiltAngle | None = Field(None, examples=["tilt = 22.5"])
    thickness: PositiveLength | None = Field(None, examples=["thickness = 6"])
    gap: Length | None = Field(None, examples=["gap = 2"])
    on: OnPipe | None = Field(None, examples=['on = "NPS 2"'])
    elbow: Words | None = Field(None, examples=['elbow = "90 long radius"'])
    sweep: SweepAngle | None = Field(None, examples=["sweep = 32.7"])
    at: SweepAngle | None = Field(None, examples=["at = 45"])
    girth: GirthPlace | None = Field(None, examples=['girth = "throat"'])
    angle: MeetingAngle | None = Field(None, examples=["angle = 60"])
    offset: SignedLength | None = Field(None, examples=["offset = 5"])
    roll: RoundAngle = Field(0.0, examples=["roll = 90"])
    bears_on: BearingEdge | None = Field(None, examples=['bears_on = "outer"'])
    hole: bool = Field(False, examples=["hole = true"])


class PostsTable(PipeTable):
    """``[[rail.posts]]``: posts of one kind on a rail."""

    run: Annotated[int, Field(ge=0)] | None = Field(None, examples=["run = 2"])
    corner: Annotated[int, Field(ge=0)] | None = Field(None, examples=["corner = 1"])
    at: list[Length] | None = Field(None, min_length=1, examples=["at = [300, 1500]"])
    spacing: PositiveLength | None = Field(None, examples=["spacing = 1200"])
    first: Length | None = Field(None, examples=["first = 150"])
    last: Length | None = Field(None, examples=["last = 150"])
    level: bool = Field(False, examples=["level = true"])
    stand: Annotated[Stand, Field(strict=False)] = Field(Stand.PLUMB, examples=['stand = "plumb"'])
    floor: SignedLength | None = Field(None, examples=["floor = -1000"])
    drop: PositiveLength | None = Field(None, examples=["drop = 900"])
    foot: Annotated[Foot, Field(strict=False)] = Field(Foot.LEVEL, examples=['foot = "level"'])
    plate: Length = Field(0.0, examples=["plate = 10"])
    gap: Length = Field(0.0, examples=["gap = 2"])
    offset: SignedLength = Field(0.0, examples=["offset = 10"])
    bears_on: BearingEdge = Field(BearsOn.FIRST, examples=['bears_on = "outer"'])
    hole: bool = Field(False, examples=["hole = true"])
    on_corner: bool = Field(False, examples=["on_corner = true"])


class MidRailsTable(PipeTable):
    """``[[rail.mid_rails]]``: mid rails of one height, between the posts of a rail."""

    below: PositiveLength = Field(examples=["below = 450"])
    measured: Literal["plumb", "square"] = Field("plumb", examples=['measured = "plumb"'])
    run: Annotated[int, Field(ge=0)] | None = Field(None, examples=["run = 2"])
    through: bool = Field(False, examples=["through = true"])
    bears_on: BearingEdge = Field(BearsOn.FIRST, examples=['bears_on = "outer"'])
    hole: bool = Field(False, examples=["hole = true"])


class GalvanisingTable(Table):
    """``[galvanising]``: drain and vent holes for dipping are wanted."""

    from_end: PositiveLength = Field(15.0, examples=["from_end = 15"])
    hole: PositiveLength | None = Field(None, examples=["hole = 12"])
