"""Straight pipes as the job file gives them: loose members, rows of posts and of mid rails."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from templates_core.fittings import Pipe, StockElbow
from templates_core.geometry.pipe_ends import BearsOn


class CutKind(StrEnum):
    """What a member's end is cut to."""

    SQUARE = "square"
    MITRE = "mitre"
    PLATE = "plate"
    COPE = "cope"


class Reach(StrEnum):
    """Which point of an end the drawing measures to."""

    CENTRE = "centre"
    LONG_POINT = "long point"
    SHORT_POINT = "short point"
    FLOOR = "floor"
    END = "end"


class Stand(StrEnum):
    """How a post stands."""

    PLUMB = "plumb"
    SQUARE = "square"


class Foot(StrEnum):
    """How the floor lies under a post: level, or along the slope of its run."""

    LEVEL = "level"
    SLOPE = "slope"


@dataclass(frozen=True)
class ElbowSeat:
    """A place on a stock elbow, or on a piece of one, with pipes welded to both its faces.

    sweep_rad: of the elbow or piece.  at_rad: from its face A.  girth_rad: from the heel.
    """

    elbow: StockElbow
    sweep_rad: float
    at_rad: float
    girth_rad: float


@dataclass(frozen=True)
class CutSpec:
    """One thing that an end of a member is cut to.

    tilt_rad: of a mitre or a plate, off square.  thickness_mm: of the plate, with the floor behind it.
    header_od_mm, header_words: the pipe of a cope.  seat: the elbow of a cope in its place.
    angle_rad: of a cope, between the member and the header's axis; on an elbow, to the way to face B.
    offset_mm: between both axes, over 0 where the member lies towards 90° of girth, right-handed about it
    as it leaves the header, from the acute angle.  gap_mm: left at the weld, square to what it sits on;
    None for the usual one.  roll_rad: how far this cut is turned about the member, right-handed from start
    to end.  hole: whether the header is opened under it.
    """

    where: str
    kind: CutKind
    tilt_rad: float = 0.0
    thickness_mm: float = 0.0
    header_od_mm: float = 0.0
    header_words: str = ""
    seat: ElbowSeat | None = None
    angle_rad: float = 0.0
    offset_mm: float = 0.0
    gap_mm: float | None = None
    roll_rad: float = 0.0
    hole: bool = False


@dataclass(frozen=True)
class MemberEnd:
    """One end of a member: what it is cut to, all at once where that is several, and what of it seats."""

    cuts: tuple[CutSpec, ...]
    reach: Reach
    bears_on: BearsOn = BearsOn.FIRST


@dataclass(frozen=True)
class MemberSpec:
    """A loose member.

    length_mm: between the points of its ends that the drawing measures to.  roll_rad: how far the end's cuts
    are turned from the start's about the member, right-handed from start to end.  mirror, mirror_of: as of
    a rail.
    """

    mark: str
    where: str
    quantity: int
    pipe: Pipe
    length_mm: float
    start: MemberEnd
    end: MemberEnd
    roll_rad: float = 0.0
    mirror: bool = False
    mirror_of: str = ""


@dataclass(frozen=True)
class PostRow:
    """Posts of one kind on a rail.

    run_number: that they stand on, None for every run of the path.  corner_number: of the corner whose middle
    one stands under, in place of runs and distances.
    at_mm: distances along the run from its first work point.  spacing_mm: in place of these, the most between
    posts in equal spaces, from first_mm after the first work point to last_mm before the last.  level:
    whether these are measured level.  floor_mm: height z of a level floor, or drop_mm: how far the floor is
    under the run's centreline, plumb, all along it.  plate_mm: thickness of the base plate.  gap_mm: between
    it and the post.  offset_mm: of the post's axis from the rail's, sideways, positive to the right looking
    forward.  on_corner: whether a post may sit on an elbow or a joint.
    """

    where: str
    pipe: Pipe
    run_number: int | None = None
    corner_number: int | None = None
    at_mm: tuple[float, ...] = ()
    spacing_mm: float | None = None
    first_mm: float = 0.0
    last_mm: float = 0.0
    level: bool = False
    stand: Stand = Stand.PLUMB
    floor_mm: float | None = None
    drop_mm: float | None = None
    foot: Foot = Foot.LEVEL
    plate_mm: float = 0.0
    gap_mm: float = 0.0
    offset_mm: float = 0.0
    bears_on: BearsOn = BearsOn.FIRST
    hole: bool = False
    on_corner: bool = False


@dataclass(frozen=True)
class MidRow:
    """Mid rails of one height on a rail, between its posts.

    run_number: None for every run with two posts or more.  below_mm: from the rail's centreline to the mid
    rail's, plumb, or square to the run where `square`.  through: one pipe from the first post of a run to
    the last, with the posts between in two lengths.
    """

    where: str
    pipe: Pipe
    below_mm: float
    run_number: int | None = None
    square: bool = False
    through: bool = False
    bears_on: BearsOn = BearsOn.FIRST
    hole: bool = False


@dataclass(frozen=True)
class Galvanising:
    """Drain and vent holes wanted for dipping.

    from_end_mm: from the weld to the middle of a hole.  hole_mm: its diameter as the galvanizer gave it, None
    where nobody has yet.
    """

    from_end_mm: float
    hole_mm: float | None = None
