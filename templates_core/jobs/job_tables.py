"""The tables of a job file as they are written: which keys there are, and what may stand in each.

Lengths come out in millimetres and angles in radians.  A field's example is what the fault shows where the
key is missing or can't be read.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

from templates_core.errors import BadValueError
from templates_core.jobs.job import PresetKind, Towards
from templates_core.jobs.job_values import (
    Force,
    InsideAngle,
    JointKind,
    KindOfEnd,
    KinkAngle,
    LeanAngle,
    Length,
    Loss,
    PitchAngle,
    PositiveLength,
    PriceCents,
    RoundAngle,
    Schedule,
    ShareKept,
    SignedLength,
    Stress,
    SweepAngle,
    Thickness,
    TurnAngle,
    Words,
)
from templates_core.units import format_length
from templates_core.welding.shims import MOST_THICKNESSES

MOST_RISER_MM = 500.0
"""No step is higher: past that, the rise of the whole flight was given."""


class Table(BaseModel):
    """What every table has in common: no unknown keys, no change of type."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


class RootTable(Table):
    """The top of the file; the tables under it are read one by one."""

    title: Words = Field(examples=['title = "Boathouse stair"'])
    number: Words = Field("-", examples=['number = "HS-014"'])
    revision: Words = Field("-", examples=['revision = "A"'])
    units: Literal["mm", "in"] = Field(examples=['units = "mm"'])
    tolerance: Literal["A", "B", "C", "D"] | None = Field(None, examples=['tolerance = "B"'])
    pipe: Any = Field(examples=['a [pipe] table with size = "NPS 1-1/2" and schedule = "40"'])
    elbows: Any = None
    elbow: list[Any] = Field([], examples=["each real elbow as [[elbow]]"])
    measured: dict[str, Any] = Field({}, examples=['[measured."90 long radius"]'])
    shop: Any = None
    stock: Any = None
    weld: Any = None
    rail: list[Any] = Field([], examples=["each rail as [[rail]], with a mark and a path"])
    member: list[Any] = Field([], examples=["each loose pipe as [[member]], with a mark and a length"])
    galvanising: Any = None


class PipeTable(Table):
    """``[pipe]``: a size with its schedule or wall, or OD and wall."""

    size: Words | None = Field(None, examples=['size = "NPS 1-1/2"'])
    schedule: Schedule | None = Field(None, examples=['schedule = "40"'])
    od: PositiveLength | None = Field(None, examples=['od = "48.3 mm"'])
    wall: PositiveLength | None = Field(None, examples=['wall = "3.7 mm"'])

    @property
    def names_a_size(self) -> bool:
        """Whether it says anything of a size of its own."""
        return any(given is not None for given in (self.size, self.schedule, self.od, self.wall))


class ElbowsTable(Table):
    """``[elbows]``: what the shop stocks."""

    stock: list[Words] = Field([], examples=['stock = ["90 long radius"]'])
    ends: Literal["bevelled", "square"] = Field("bevelled", examples=['ends = "bevelled"'])


class ElbowTable(Table):
    """``[[elbow]]``: a real elbow of known sizes."""

    name: Words = Field(examples=['name = "bend from the old ramp"'])
    sweep: SweepAngle = Field(examples=["sweep = 90"])
    bend_radius: PositiveLength | None = Field(None, examples=['bend_radius = "57 mm"'])
    centre_to_end: PositiveLength | None = Field(None, examples=['centre_to_end = "57 mm"'])
    tangent: Length | None = Field(None, examples=['tangent = "10 mm"'])
    tangent_a: Length | None = Field(None, examples=['tangent_a = "10 mm"'])
    tangent_b: Length | None = Field(None, examples=['tangent_b = "10 mm"'])
    shoulder: Length | None = Field(None, examples=['shoulder = "1.6 mm"'])
    od: PositiveLength | None = Field(None, examples=['od = "48.3 mm"'])
    wall: PositiveLength | None = Field(None, examples=['wall = "3.7 mm"'])


class TapedTable(Table):
    """``[measured."…"]``: what was taped on one elbow of the stock."""

    girth: PositiveLength | None = Field(None, examples=['girth = "151.5 mm"'])
    heel_arc: PositiveLength | None = Field(None, examples=['heel_arc = "127.5 mm"'])
    throat_arc: PositiveLength | None = Field(None, examples=['throat_arc = "52 mm"'])
    sweep: SweepAngle | None = Field(None, examples=["sweep = 90.5"])
    shoulder: Length | None = Field(None, examples=['shoulder = "1.6 mm"'])


class ShopTable(Table):
    """``[shop]``: how this shop cuts, welds and prints; None for what the file leaves out."""

    kerf: Loss = Field(1.6, examples=['kerf = "1.6 mm"'])
    dressing: Loss = Field(0.5, examples=['dressing = "0.5 mm"'])
    root_gap: Loss = Field(2.4, examples=['root_gap = "2.4 mm"'])
    wrap_thickness: Thickness = Field(0.1, examples=['wrap_thickness = "0.1 mm"'])
    paper: Words | None = Field(None, examples=['paper = "A4"'])
    least_throat: PositiveLength | None = Field(None, examples=['least_throat = "11 mm"'])
    least_scrap: PositiveLength = Field(6.0, examples=['least_scrap = "6 mm"'])
    ordinate_tolerance: PositiveLength = Field(0.5, examples=['ordinate_tolerance = "0.5 mm"'])


class WeldTable(Table):
    """``[weld]``: how this shop's welds pull, and what it clamps with; `job_weld` says what goes together."""

    leg: PositiveLength | None = Field(None, examples=["leg = 4"])
    kink: KinkAngle | None = Field(None, examples=["kink = 0.35"])
    kept: ShareKept | None = Field(None, examples=["kept = 0.4"])
    preset: Annotated[PresetKind, Field(strict=False)] = Field(
        PresetKind.CLAMPED, examples=['preset = "clamped"']
    )
    butt_shrink: Loss | None = Field(None, examples=["butt_shrink = 1.2"])
    clamp_spacing: PositiveLength | None = Field(None, examples=["clamp_spacing = 900"])
    shims: Annotated[list[PositiveLength], Field(min_length=1, max_length=MOST_THICKNESSES)] | None = Field(
        None, examples=["shims = [1, 2, 5, 10, 20]"]
    )
    yield_strength: Stress | None = Field(None, examples=['yield_strength = "240 MPa"'])
    grade: Words = Field("grade not given", examples=['grade = "A53 Grade B"'])
    margin: Annotated[float, Field(ge=1, le=10)] = Field(1.5, examples=["margin = 1.5"])
    clamp_force: Force | None = Field(None, examples=['clamp_force = "3 kN"'])


class SideWeldTable(Table):
    """``[[rail.weld]]``: a weld on the side of a run."""

    run: Annotated[int, Field(ge=1)] = Field(examples=["run = 2"])
    at: Length = Field(examples=["at = 450"])
    side: Any = Field("below", examples=['side = "below"'])
    od: PositiveLength | None = Field(None, examples=["od = 33.4"])
    leg: PositiveLength | None = Field(None, examples=["leg = 4"])
    kink: KinkAngle | None = Field(None, examples=["kink = 0.35"])


class ClampsTable(Table):
    """``[[rail.clamps]]``: where the clamps of a run stand."""

    run: Annotated[int, Field(ge=1)] = Field(examples=["run = 2"])
    at: Annotated[list[Length], Field(min_length=3, max_length=100)] = Field(
        examples=["at = [100, 900, 1700]"]
    )


class StockTable(Table):
    """``[stock]``: what there is to cut from, read one by one, and how sticks are cut."""

    elbow: list[Any] = Field([], examples=["each kind as [[stock.elbow]]"])
    pipe: list[Any] = Field([], examples=["each length as [[stock.pipe]]"])
    end_trim: Length = Field(0.0, examples=['end_trim = "10 mm"'])
    least_offcut: Length = Field(300.0, examples=['least_offcut = "300 mm"'])


class StockItem(Table):
    """What elbows and sticks have in common."""

    price: PriceCents | None = Field(None, examples=["price = 4.25"])
    on_hand: Annotated[int, Field(ge=0, le=100_000)] = Field(0, examples=["on_hand = 2"])
    buy: bool = Field(True, examples=["buy = false"])

    @model_validator(mode="after")
    def _to_be_had(self) -> Self:
        if not self.buy and self.price is not None:
            raise BadValueError("it has a price and can't be bought", "leave out price, or buy = false")
        if not self.buy and self.on_hand == 0:
            raise BadValueError("there is none of it and none can be bought", "give on_hand, or leave it out")
        return self


class StockElbowTable(StockItem):
    """``[[stock.elbow]]``: price and number on hand of one of the job's elbows."""

    kind: Words = Field(examples=['kind = "90 long radius"'])


class StockPipeTable(StockItem, PipeTable):
    """``[[stock.pipe]]``: sticks of one length, with their size where it isn't the job's."""

    length: PositiveLength = Field(examples=['length = "6 m"'])


class RailTable(Table):
    """``[[rail]]``: a path of runs and corners, read one by one, or work points."""

    mark: Annotated[str, Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9_.-]{0,11}$")] = Field(examples=['mark = "A"'])
    quantity: Annotated[int, Field(ge=1, le=1000)] = Field(1, examples=["quantity = 2"])
    closed: bool = Field(False, examples=["closed = true"])
    path: list[Any] | None = Field(None, examples=["path = [ { run = 900 }, { turn = 32 }, { run = 600 } ]"])
    points: list[Annotated[list[SignedLength], Field(min_length=3, max_length=3)]] | None = Field(
        None, examples=["points = [ [0, 0, 0], [900, 0, 0], [900, 600, 0] ]"]
    )
    corners: list[JointKind] | None = Field(None, examples=['corners = ["elbow", "mitre"]'])
    mirror: bool = Field(False, examples=["mirror = true"])
    start: Any = None
    end: Any = None
    weld: list[Any] = Field([], examples=["each side weld as [[rail.weld]]"])
    clamps: list[Any] = Field([], examples=["the clamps of each run as [[rail.clamps]]"])
    posts: list[Any] = Field([], examples=["each row of posts as [[rail.posts]]"])
    mid_rails: list[Any] = Field([], examples=["each row of mid rails as [[rail.mid_rails]]"])


class LeanTable(Table):
    """How a plane that an end is cut to leans: sides that come longer, with the angle off square on each."""

    up: LeanAngle | None = Field(None, examples=["up = 8"])
    down: LeanAngle | None = Field(None, examples=["down = 8"])
    left: LeanAngle | None = Field(None, examples=["left = 5"])
    right: LeanAngle | None = Field(None, examples=["right = 5"])
    heel: LeanAngle | None = Field(None, examples=["heel = 8"])
    throat: LeanAngle | None = Field(None, examples=["throat = 8"])

    @model_validator(mode="after")
    def _two_sides_at_most(self) -> Self:
        for one, other in (("up", "down"), ("left", "right"), ("heel", "throat")):
            if getattr(self, one) is not None and getattr(self, other) is not None:
                raise BadValueError(f"it has both {one} and {other}", "name the side that comes longer")
        if not 1 <= len(self.model_fields_set) <= 2:
            remedy = "give one side, or two square to each other: lean = { up = 8, left = 5 }"
            raise BadValueError(f"it names {len(self.model_fields_set)} sides", remedy)
        return self


class EndTable(Table):
    """What a rail ends in, or by what it goes on; `job_ends` tells which keys go with which kind."""

    kind: KindOfEnd = Field(examples=['kind = "plate"'])
    thickness: PositiveLength | None = Field(None, examples=["thickness = 6"])
    setback: Length | None = Field(None, examples=["setback = 10"])
    length: PositiveLength | None = Field(None, examples=["length = 50"])
    insertion: PositiveLength | None = Field(None, examples=["insertion = 30"])
    gap: Length | None = Field(None, examples=["gap = 2"])
    run: PositiveLength | None = Field(None, examples=["run = 100"])
    turn: TurnAngle | None = Field(None, examples=["turn = 90"])
    towards: Annotated[Towards, Field(strict=False)] | None = Field(None, examples=['towards = "left"'])
    roll: RoundAngle | None = Field(None, examples=["roll = 0"])
    by: JointKind | None = Field(None, examples=['by = "elbow"'])
    lean: LeanTable | None = Field(None, examples=["lean = { up = 8 }"])


class ClosingTable(Table):
    """How the closing run of a rail is left for the site."""

    extra: PositiveLength = Field(examples=["extra = 50"])


class RunItem(Table):
    """A run in a path: a length, or rise and going, or those of one step and the number of risers."""

    run: PositiveLength | None = Field(None, examples=["run = 900"])
    rise: SignedLength | None = Field(None, examples=["rise = 178"])
    going: Length | None = Field(None, examples=["going = 254"])
    risers: Annotated[int, Field(ge=1, le=1000)] | None = Field(None, examples=["risers = 12"])
    pitch: PitchAngle | None = Field(None, examples=["pitch = 32.5"])
    heading: RoundAngle | None = Field(None, examples=["heading = 90"])
    closing: ClosingTable | None = Field(None, examples=["closing = { extra = 50 }"])

    @model_validator(mode="after")
    def _one_form(self) -> RunItem:
        sloped = self.rise is not None or self.going is not None
        if self.run is not None and (sloped or self.risers is not None):
            raise BadValueError(
                "it has both run and rise, going or risers", "give the run, or rise and going"
            )
        if self.run is None and (self.rise is None or self.going is None):
            raise BadValueError("it has no length", "give run, or rise and going, or those and risers")
        if sloped and self.pitch is not None:
            raise BadValueError("its pitch follows from rise and going", "leave pitch out")
        if self.rise == 0 and self.going == 0:
            raise BadValueError("its rise and going are both 0", "give at least one of them")
        if self.risers is not None and self.rise is not None and abs(self.rise) > MOST_RISER_MM:
            what = f"a step of {format_length(self.rise, 'mm')} is too high"
            raise BadValueError(what, "beside risers, give the rise and the going of one step")
        return self


class CornerItem(Table):
    """A corner in a path; one with neither angle follows from the runs on its two sides.

    `by` and `corner` both say how it is made; `corner` reads better where nothing else is given.
    """

    inside_angle: InsideAngle | None = Field(None, examples=["inside_angle = 147.3"])
    turn: TurnAngle | None = Field(None, examples=["turn = 32.7"])
    towards: Annotated[Towards, Field(strict=False)] | None = Field(None, examples=['towards = "up"'])
    roll: RoundAngle | None = Field(None, examples=["roll = 90"])
    by: JointKind | None = Field(None, examples=['by = "mitre"'])
    corner: JointKind | None = Field(None, examples=['corner = "elbow"'])

    @model_validator(mode="after")
    def _one_form(self) -> CornerItem:
        for one, other in (("inside_angle", "turn"), ("towards", "roll"), ("by", "corner")):
            if getattr(self, one) is not None and getattr(self, other) is not None:
                raise BadValueError(f"it has both {one} and {other}", "give one of the two")
        return self
