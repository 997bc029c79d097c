"""What pages are given: plain frozen values, worked out on write and stored. Lengths are whole
nanometres."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from takeoff.boards.plan import BoardPlan, Bound, Course, Joint, Piece, PlanNote, Sheet
from takeoff.choices import Runs
from takeoff.framing.edges import UnsupportedEdge
from takeoff.framing.members import FramedSurface
from takeoff.framing.partition import PartitionFrame
from takeoff.geometry.rooms import Corner, PartitionShape
from takeoff.geometry.surface import Point
from takeoff.needs.need import CrossCheck, Need
from takeoff.plan_figures import FIGURE_LINES, FigureKind, FigureLine, PlanFigures
from takeoff.quantities import Amount
from takeoff.seams import Seam

__all__ = [
    "FIGURE_LINES",
    "Amiss",
    "Bound",
    "FigureKind",
    "FigureLine",
    "NeedLine",
    "PileResult",
    "PlanFigures",
    "PlanSummary",
    "PoolState",
    "RefusedSurface",
    "RoomSummary",
    "RoomView",
    "SheetAmiss",
    "SurfaceView",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanSummary:
    """One board plan of a room and of the rooms behind its partitions, which are cut from the same
    sheets.

    `value` is what the plan minimizes, in cents, and `bound` what no plan can cost less than. `gap`
    is the share of `value` between them, and `basis` says what the bound rests on. `source` is
    `first` (made at once), `better` (found by the search) or `accepted`. `digest` names all it was
    made from.
    """

    board: str
    board_name: str
    thickness: int
    value: Fraction
    bound: Fraction
    basis: str
    sheets_bought: int
    sheets_owned: int
    sheet_cost: int
    joints: int
    seam_length: int
    source: str
    digest: str
    work: int = 0  # what is stored of before has none

    @property
    def gap(self) -> Fraction:
        """How far the plan is at most from the best possible, as a share of its own cost; zero for
        a best plan."""
        return (
            max(Fraction(0), (self.value - self.bound) / self.value) if self.value else Fraction(0)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class NeedLine:
    """One material of one phase, with all its reasons. `cost` is in cents, at the cheapest price of
    a unit and before packs."""

    need: Need
    name: str
    cost: Fraction | None

    @property
    def phase(self) -> str:
        return self.need.phase

    @property
    def item(self) -> str:
        return self.need.material

    @property
    def amount(self) -> Amount:
        return self.need.amount


@dataclass(frozen=True, slots=True, kw_only=True)
class RefusedSurface:
    """A surface that cannot be boarded: the rule in the way, and what to relax."""

    rule: str
    message: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Amiss:
    """Something about boards that hang, or about a plan that stands, that is not by the rules and
    that no plan can change. `surface` is the id of the surface."""

    surface: str
    rule: str
    message: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetAmiss:
    """Something about a sheet that is cut, or that a plan which stands is to be cut from, that is
    not by the rules. `sheet` is its code."""

    sheet: str
    rule: str
    message: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceView:
    """One surface with its members and, where it gets board, its plan: all that its drawing and its
    table need."""

    framed: FramedSurface
    rows_run: Runs | None = None
    along_framing: bool = False
    rows: tuple[Course, ...] = ()
    joints: tuple[Joint, ...] = ()
    pieces: tuple[Piece, ...] = ()
    notes: tuple[PlanNote, ...] = ()
    refused: RefusedSurface | None = None

    @property
    def id(self) -> str:
        """The room and the surface, like `kitchen/A`."""
        return self.framed.surface.id

    @property
    def key(self) -> str:
        """The key of the surface inside its room: a wall's key, `ceiling`, or another plane's."""
        return self.id.partition("/")[2]

    @property
    def name(self) -> str:
        return self.framed.surface.name


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomView:
    """A room that was worked out. `plan` is its outline from above. `plans` are those of its whole
    pile, and `sheets` those cut in this room. `hanging_hours` and `finishing_hours` are one
    person's. `figures` are what its own boards come to; None where it has none."""

    key: str
    name: str
    head: str
    plan: tuple[Point, ...]
    closing_error: int
    floor_area: int
    surfaces: tuple[SurfaceView, ...]
    corners: tuple[Corner, ...]
    partitions: tuple[PartitionShape, ...]
    partition_frames: tuple[PartitionFrame, ...]
    plans: tuple[PlanSummary, ...]
    sheets: tuple[Sheet, ...]
    seams: tuple[Seam, ...]
    # stored results have called them so since the first version
    loose_edges: tuple[UnsupportedEdge, ...]
    needs: tuple[NeedLine, ...]
    cross_checks: tuple[CrossCheck, ...]
    warnings: tuple[str, ...]
    amiss: tuple[Amiss, ...] = ()
    amiss_sheets: tuple[SheetAmiss, ...] = ()
    hanging_hours: Fraction = Fraction(0)
    finishing_hours: Fraction = Fraction(0)
    figures: PlanFigures | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomSummary:
    """What a list page shows of a room. `costs` are cents by phase, at the cheapest price of a unit
    and before whole packs.

    Only the head room of a pile has `plans`, so that the plans of a house add up. `corners` is
    the outline from above.
    """

    key: str
    name: str
    head: str
    corners: tuple[Point, ...]
    floor_area: int
    surfaces: int
    refused: int
    provisional: bool
    joints: int
    seam_length: int
    sheets: int
    plans: tuple[PlanSummary, ...]
    costs: tuple[tuple[str, Fraction], ...]
    amounts: tuple[tuple[str, str, Amount], ...]
    warnings: int

    @property
    def cost(self) -> Fraction:
        return sum((cents for _, cents in self.costs), Fraction(0))


@dataclass(frozen=True, slots=True, kw_only=True)
class PoolState:
    """One pool and its plan. `digest` is of all the plan was made from."""

    board: str
    thickness: int
    digest: str
    total: Fraction
    bound: Fraction
    basis: str
    source: str
    plan: BoardPlan


@dataclass(frozen=True, slots=True, kw_only=True)
class PileResult:
    """A room and the rooms behind its partitions, worked out together. `used` counts the owned
    sheets they take."""

    views: tuple[RoomView, ...]
    summaries: tuple[RoomSummary, ...]
    pools: tuple[PoolState, ...]
    used: tuple[tuple[str, int], ...]
