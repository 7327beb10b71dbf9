"""The job as read: sizes resolved, lengths in millimetres, angles in radians, nothing yet computed."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from templates_core.fittings import Pipe, StockElbow


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


@dataclass(frozen=True)
class RunSpec:
    """A run as the job file gives it.

    where: place in the job file, such as ``rail A, run 2``.
    length_mm: between work points.  pitch_rad, heading_rad: stated direction, None where it follows
    from the run before and the corner.  Heading is anticlockwise from the x axis seen from above.
    """

    where: str
    length_mm: float
    pitch_rad: float | None = None
    heading_rad: float | None = None


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
    """

    mark: str
    quantity: int
    runs: tuple[RunSpec, ...]
    corners: tuple[CornerSpec, ...]
    closed: bool = False
    points_mm: tuple[tuple[float, float, float], ...] = ()


@dataclass(frozen=True)
class Shop:
    """How this shop cuts, welds and prints.

    kerf_mm: width the blade removes.  dressing_mm: what grinding flat removes from one face.
    least_throat_mm: shortest throat of a piece that can be welded; None for the default rule.
    least_scrap_mm: shortest throat beyond a kerf that can still be clamped and sawn off.
    paper: name of the paper, as in ``render.paper``.
    """

    kerf_mm: float
    dressing_mm: float
    root_gap_mm: float
    wrap_thickness_mm: float
    least_throat_mm: float | None
    least_scrap_mm: float
    paper: str


@dataclass(frozen=True)
class PipeStock:
    """Sticks of one length.

    price_cents: of one, in hundredths of any money; None where no stick has a price.  on_hand: how many
    there are already, which cost nothing.  buyable: False where these are all there is.
    """

    length_mm: float
    price_cents: int | None = None
    on_hand: int = 0
    buyable: bool = True


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
