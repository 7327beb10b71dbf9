"""The job as read: sizes resolved, lengths in millimetres, angles in radians, nothing yet computed."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from enum import StrEnum

from templates_core.fittings import Pipe, StockElbow
from templates_core.jobs.member_specs import Galvanising, MemberSpec, MidRow, PostRow


class Joint(StrEnum):
    """How two pipes are brought round a corner."""

    ELBOW = "elbow"
    MITRE = "mitre"


class Towards(StrEnum):
    """Which way a corner turns, seen by somebody walking forward along the run before it."""

    UP = "up"
    DOWN = "down"
    LEFT = "left"
    RIGHT = "right"


class EndKind(StrEnum):
    """What a rail ends in, or by what it goes on beyond its last work point."""

    OPEN = "open"
    CAP = "cap"
    PLATE = "plate"
    FLANGE = "flange"
    SLEEVE = "sleeve"
    WALL_RETURN = "wall return"
    LEVEL_EXTENSION = "level extension"


class PresetKind(StrEnum):
    """How a pipe stands against the pull of its welds: held bent by clamps, or free and bent before."""

    CLAMPED = "clamped"
    FREE = "free"


@dataclass(frozen=True)
class WeldSpec:
    """A weld on the side of a run, listed by hand.

    at_mm: from the run's first work point.  girth_rad: the side it is on, clockwise from above looking
    forward.  side: the word it was given by, else empty.  od_mm: of what is welded on, None for the pipe's
    own.  leg_mm, kink_rad: where they are not those of the job.
    """

    where: str
    run_number: int
    at_mm: float
    girth_rad: float
    side: str = ""
    od_mm: float | None = None
    leg_mm: float | None = None
    kink_rad: float | None = None


@dataclass(frozen=True)
class ClampSpec:
    """Where the clamps of one run stand.  places_mm: from its first work point, ascending."""

    where: str
    run_number: int
    places_mm: tuple[float, ...]


@dataclass(frozen=True)
class Welding:
    """How this shop's welds pull, and what it holds a pipe with.

    leg_mm: of side welds, None for the thinner wall.  kink_rad: of one side weld by trial.  kept: share of
    a clamped preset that stays, by trial.  butt_mm: shrinkage of a butt joint, measured.  clamp_spacing_mm:
    most between two clamps; with shims_mm (thicknesses in stock), yield_mpa (of the pipe, of that grade),
    margin on it, and clamp_force_n that one clamp holds.  None where the file says nothing.
    """

    leg_mm: float | None = None
    kink_rad: float | None = None
    kept: float | None = None
    preset: PresetKind = PresetKind.CLAMPED
    butt_mm: float | None = None
    clamp_spacing_mm: float | None = None
    shims_mm: tuple[float, ...] = ()
    yield_mpa: float | None = None
    grade: str = ""
    margin: float = 1.5
    clamp_force_n: float | None = None


@dataclass(frozen=True)
class LeanSpec:
    """How a plane that an end is cut to leans off square, as an angle finder reads it on its sides.

    Each is the angle off square seen along the side named, positive where that side of the end comes longer:
    up_rad its top, left_rad its left as seen walking forward along the rail, heel_rad the heel side of the
    corner next to it.  At most two are other than 0, and their sides lie square to each other.
    """

    up_rad: float = 0.0
    left_rad: float = 0.0
    heel_rad: float = 0.0

    @property
    def angle_rad(self) -> float:
        """Off square in all: the tangents of two leans square to each other add up as a right triangle."""
        return math.atan(math.hypot(*(math.tan(one) for one in (self.up_rad, self.left_rad, self.heel_rad))))


@dataclass(frozen=True)
class EndSpec:
    """One end of a rail as the job file gives it.

    An end in metal stands with its outer face at the rail's last work point.  length_mm: from that face to
    where the pipe butts: thickness of a cap or plate, setback of a flange, length of a sleeve.  gap_mm:
    left at the weld, or to the wall.  insertion_mm: how deep the pipe enters a sleeve.  lean: of the plane
    that it is cut to, plate or wall, whose thickness and gap are square to it; None for a square end.

    A wall return or a level extension adds a corner and a run of run_mm, 0 where a return's elbow is itself
    the end.  turn_rad: of a wall return; a level extension's follows from the pitch.  towards: as seen
    walking forward along the rail, at its start too.  roll_rad: in place of that, from the plane of the next
    corner in; 0 keeps turning its way.
    """

    where: str
    kind: EndKind = EndKind.OPEN
    length_mm: float = 0.0
    gap_mm: float = 0.0
    insertion_mm: float = 0.0
    run_mm: float = 0.0
    turn_rad: float = 0.0
    roll_rad: float | None = None
    towards: Towards | None = None
    by: Joint = Joint.ELBOW
    lean: LeanSpec | None = None

    @property
    def takes_mm(self) -> float:
        """How far short of its work point the pipe ends, along its centreline [mm]."""
        cosine = 1.0 if self.lean is None else math.cos(self.lean.angle_rad)
        return (self.length_mm + self.gap_mm) / cosine - self.insertion_mm

    @property
    def goes_on(self) -> bool:
        """Whether it adds a corner and a run."""
        return self.kind in (EndKind.WALL_RETURN, EndKind.LEVEL_EXTENSION)

    @property
    def on_elbow(self) -> bool:
        """Whether it is a return whose elbow is cut to be the end, with no pipe after it."""
        return self.kind is EndKind.WALL_RETURN and self.run_mm == 0


@dataclass(frozen=True)
class RunSpec:
    """A run as the job file gives it.

    where: place in the job file, such as ``rail A, run 2``.
    length_mm: between work points.  pitch_rad, heading_rad: stated direction, None where it follows
    from the run before and the corner.  Heading is anticlockwise from the x axis seen from above.
    extra_mm: of the closing run, how much longer than finished its pipe is left for the site; else 0.
    """

    where: str
    length_mm: float
    pitch_rad: float | None = None
    heading_rad: float | None = None
    extra_mm: float = 0.0


@dataclass(frozen=True)
class CornerSpec:
    """A corner as the job file gives it.

    turn_rad: None where it follows from two runs whose directions are stated.
    roll_rad or towards: which way it turns; at most one of them is given.
    """

    where: str
    turn_rad: float | None = None
    roll_rad: float | None = None
    towards: Towards | None = None
    by: Joint = Joint.ELBOW


@dataclass(frozen=True)
class RailSpec:
    """One rail of the job: runs and corners in turn (a closed path ends with a corner), or work points.

    points_mm: work points (x, y, z up) [mm] when the path is given so; corners then hold only `by`.
    start, end: what the rail ends in, from the path outwards; empty for open ends.
    posts, mid_rails: rows of them, as the file lists them.
    mirror: whether each of `quantity` is made in both hands.  mirror_of: mark of the rail that this one is
    the other hand of; empty for one that stands in the job file.
    welds, clamps: on the sides of its runs, as the file lists them.
    """

    mark: str
    quantity: int
    runs: tuple[RunSpec, ...]
    corners: tuple[CornerSpec, ...]
    closed: bool = False
    points_mm: tuple[tuple[float, float, float], ...] = ()
    start: tuple[EndSpec, ...] = ()
    end: tuple[EndSpec, ...] = ()
    mirror: bool = False
    mirror_of: str = ""
    welds: tuple[WeldSpec, ...] = ()
    clamps: tuple[ClampSpec, ...] = ()
    posts: tuple[PostRow, ...] = ()
    mid_rails: tuple[MidRow, ...] = ()


@dataclass(frozen=True)
class Shop:
    """How this shop cuts, welds and prints.

    kerf_mm: width the blade removes.  dressing_mm: what grinding flat removes from one face.
    least_throat_mm: shortest throat of a piece that can be welded; None for the default rule.
    least_scrap_mm: shortest throat beyond a kerf that can still be clamped and sawn off.
    paper: name of the paper, as in ``render.pages.paper``.  ordinate_tolerance_mm: how far chords between the
    stations of an ordinate table may leave the cut.
    """

    kerf_mm: float
    dressing_mm: float
    root_gap_mm: float
    wrap_thickness_mm: float
    least_throat_mm: float | None
    least_scrap_mm: float
    paper: str
    ordinate_tolerance_mm: float = 0.5


@dataclass(frozen=True)
class PipeStock:
    """Sticks of one length.

    price_cents: of one, in hundredths of any money; None where no stick has a price.  on_hand: how many
    there are already, which cost nothing.  buyable: False where these are all there is.  pipe: its size,
    None for the job's pipe.
    """

    length_mm: float
    price_cents: int | None = None
    on_hand: int = 0
    buyable: bool = True
    pipe: Pipe | None = None


@dataclass(frozen=True)
class ElbowStock:
    """Elbows of one kind, by its name: price and number on hand, as of sticks."""

    name: str
    price_cents: int | None = None
    on_hand: int = 0
    buyable: bool = True


@dataclass(frozen=True)
class Stock:
    """What there is to cut from.

    elbows: those of the job's kinds that the file says anything of.  pipes: empty where it names none.
    end_trim_mm: cut off each end of a stick, its cut included.  least_offcut_mm: shortest end of a stick
    that is worth keeping.
    """

    elbows: tuple[ElbowStock, ...] = ()
    pipes: tuple[PipeStock, ...] = ()
    end_trim_mm: float = 0.0
    least_offcut_mm: float = 300.0


@dataclass(frozen=True)
class Taped:
    """What was taped on one real elbow; lengths [mm], angle [rad]; None where it was not taken."""

    girth_mm: float | None = None
    heel_arc_mm: float | None = None
    throat_arc_mm: float | None = None
    sweep_rad: float | None = None
    shoulder_mm: float | None = None


@dataclass(frozen=True)
class Job:
    """A whole job, ready to compute with.

    elbows: the kinds that the job may use, in the order of the file; a measured one has its real sizes.
    taped: the raw readings by elbow name, for the sheets.
    nominal: the elbows that were taped as they are nominally, by name.
    tolerance: class of EN ISO 13920, A to D, that the job is held to; empty where it names none.
    welding: what the file says of its welds; None where it says nothing, and then nothing is worked out.
    members: loose ones.  galvanising: what is wanted for dipping, None where that is not asked for.
    fingerprint: short hash of the job file, printed on each sheet.
    """

    title: str
    number: str
    revision: str
    units: str
    pipe: Pipe
    elbows: tuple[StockElbow, ...]
    taped: dict[str, Taped]
    shop: Shop
    rails: tuple[RailSpec, ...]
    fingerprint: str
    source_name: str
    warnings: tuple[str, ...] = ()
    nominal: dict[str, StockElbow] = field(default_factory=dict)
    stock: Stock = Stock()
    tolerance: str = ""
    welding: Welding | None = None
    members: tuple[MemberSpec, ...] = ()
    galvanising: Galvanising | None = None
