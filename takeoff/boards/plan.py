"""A board plan: which boards lie where, where they meet, and how they come out of sheets.

Values only; the planner makes them, the checker reads them, and neither knows the other. Positions
are surface coordinates (see `geometry.surface`) except on a sheet, where x runs along its length
from the left end and y up across its width from its lower long edge, face up.

Every mark is used once in a house, so that no two boards on its floors carry the same. A piece is
the code of its room, the letter of its surface and its number there, `K-A1` (see
`takeoff.marks`). A sheet is the code of the room it is first cut in and a number, `K7`: they count
up in the order sheets are first cut, and go on from one kind of board to the next. An offcut is
its sheet's mark and its number on it, `K7.1`.

Plans that were stored before carry other marks. So a mark is never read apart: it is written as a
whole, and compared as a whole.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction

from takeoff.catalogue import sheet_id
from takeoff.choices import Runs
from takeoff.geometry.surface import Point
from takeoff.quantities import Cents
from takeoff.units import Nm

__all__ = [
    "NOTHING_BUILT",
    "AsBuilt",
    "BoardPlan",
    "Bound",
    "BoundBasis",
    "Course",
    "Joint",
    "JointKind",
    "Offcut",
    "Piece",
    "PlacedBoard",
    "PlacedPiece",
    "PlanNote",
    "Sheet",
    "Strip",
    "SurfacePlan",
]


class JointKind(StrEnum):
    FRAMING = "framing"
    FLOATING = "floating"


class BoundBasis(StrEnum):
    """What a bound rests on: exact rational arithmetic, a solver within its tolerance, or area
    alone."""

    PROVEN = "proven"
    SOLVER = "to solver tolerance"
    AREA = "area"


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """One course of boards. `low` to `high` is its extent square to its run (v where courses run
    along u).

    `segments` are the stretches to board along the course, in order, split where an opening takes
    the course's whole height. `sheet_width` is the width of sheet it is cut from; `factory_low` and
    `factory_high` say which long edges of its pieces are the sheet's own (tapered) edges; the other
    was cut.
    """

    # The fields of these classes are the names that stored plans are read by. So a surface plan
    # keeps `rows`, and a joint and a piece keep `row`: the index of their course.
    index: int
    low: Nm
    high: Nm
    sheet_width: Nm
    factory_low: bool
    factory_high: bool
    segments: tuple[tuple[Nm, Nm], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Joint:
    """A butt seam at `at` along course `row`; `length` is the seam itself, openings it crosses
    taken out."""

    row: int
    at: Nm
    kind: JointKind
    length: Nm


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One board as it hangs: its bounding rectangle in course coordinates and its true outline in
    the surface's.

    `start` to `end` is along the course, `low` to `high` square to it; the rectangle is what is
    bought. `outline` (counter-clockwise, surface coordinates) is the rectangle unless the surface
    is sloped there; openings and holes are not taken out of it.
    """

    code: str
    surface: str
    row: int
    start: Nm
    end: Nm
    low: Nm
    high: Nm
    outline: tuple[Point, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanNote:
    """Something a person must know of the plan: a narrow strip, an assumption, a limit; `rule`
    names the key."""

    surface: str
    rule: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfacePlan:
    """The boards of one surface. `rows_run` ALONG: courses lie level along u; ACROSS: they stand
    along v.

    `along_framing` is true for boards laid along their framing: their butt ends then stand on
    blocking.
    """

    surface: str
    room: str
    board: str
    thickness: Nm
    rows_run: Runs
    along_framing: bool
    rows: tuple[Course, ...]
    joints: tuple[Joint, ...]
    pieces: tuple[Piece, ...]
    notes: tuple[PlanNote, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedPiece:
    """A piece on a sheet or strip, `start` to `end` along it; `width` is its finished width."""

    piece: str
    start: Nm
    end: Nm
    width: Nm


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """One of the two strips of a rip, `low` to `high` across the sheet, and the pieces crosscut
    from it.

    `factory_edges` of its own is 1 where it touches a long edge of the sheet that is a factory
    edge, else 0. A piece narrower than the strip is trimmed on the strip's cut side.
    """

    low: Nm
    high: Nm
    factory_edges: int
    pieces: tuple[PlacedPiece, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Offcut:
    """What is left over and large enough to keep: size, long factory edges, and the sheet it comes
    from."""

    id: str
    length: Nm
    width: Nm
    factory_edges: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One sheet and its cuts: first the full-width pieces from its left end, then one rip of what
    is left.

    `source` is None for a sheet bought; the id of an owned sheet, or of an earlier sheet's offcut,
    otherwise (price zero then): its own `item` where it is a whole sheet that is here. `room` is
    where it is cut. `strips` is empty, or one or two strips of the length from `rip_at` on.
    """

    code: str
    room: str
    board: str
    thickness: Nm
    width: Nm
    length: Nm
    factory_edges: int
    price: Cents
    source: str | None
    crosscuts: tuple[PlacedPiece, ...]
    rip_at: Nm | None
    strips: tuple[Strip, ...]
    offcuts: tuple[Offcut, ...]

    @property
    def item(self) -> str:
        """The id that a sheet of its size has in needs and supply."""
        return sheet_id(self.board, self.thickness, self.width, self.length)

    @property
    def is_whole(self) -> bool:
        """Whether it is a sheet as a store sells it, bought or here already, and no offcut: what
        needs count."""
        return self.source is None or self.source == self.item

    def only(self, pieces: Collection[str]) -> Sheet:
        """The sheet without the pieces that are not among these: what was cut wrong is on no
        plan."""
        return replace(
            self,
            crosscuts=tuple(piece for piece in self.crosscuts if piece.piece in pieces),
            strips=tuple(
                replace(
                    strip, pieces=tuple(piece for piece in strip.pieces if piece.piece in pieces)
                )
                for strip in self.strips
            ),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Bound:
    """No plan under these rules and joint points can cost less than `value` (cents); `basis` says
    why that is so."""

    value: Fraction
    basis: BoundBasis


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardPlan:
    """The plan of one or more rooms that share their offcuts, in the order they are hung.

    `sheet_cost` is cents; `seam_cost` prices butt seams, `backer_cost` backers and shims, and
    `work_cost` is what the hours that a plan can change are worth: their sum is the aim.
    """

    surfaces: tuple[SurfacePlan, ...]
    sheets: tuple[Sheet, ...]
    sheet_cost: Cents
    seam_cost: Fraction
    backer_cost: Fraction
    bound: Bound
    work_cost: Cents = Cents(0)  # plans that were stored before hours counted have none

    @property
    def money(self) -> Fraction:
        """What of the aim is paid, in cents: sheets bought, butt seams at the seam price, backers
        and shims."""
        return self.sheet_cost + self.seam_cost + self.backer_cost

    @property
    def total(self) -> Fraction:
        """The aim in cents: the money, and what the hours are worth."""
        return self.money + self.work_cost


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedBoard:
    """A board that is cut or hung and stays where it is, whatever is planned around it.

    `start` to `end` and `low` to `high` are its rectangle in course coordinates and `outline` its
    corners on the surface, as in a `Piece`; `row_low` to `row_high` is the course it hangs in, of
    sheets `sheet_width` wide. `start_joint` and `end_joint` say how its butt ends are held.

    All these are places on the surface as it was taken to be when the board was hung: `frame` is
    the rectangle around its framing then (left, bottom, right, top). The board was measured from
    its left and its bottom, or from the right where `from_right` and the top where `from_top`.
    From those sides it keeps its distance when the surface is measured anew.
    """

    mark: str
    surface: str
    board: str
    thickness: Nm
    rows_run: Runs
    start: Nm
    end: Nm
    low: Nm
    high: Nm
    outline: tuple[Point, ...]
    row_low: Nm
    row_high: Nm
    sheet_width: Nm
    factory_low: bool
    factory_high: bool
    frame: tuple[Nm, Nm, Nm, Nm]
    start_joint: JointKind = JointKind.FRAMING
    end_joint: JointKind = JointKind.FRAMING
    from_right: bool = False
    from_top: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class AsBuilt:
    """What can no longer change: the boards that are cut or hung, and the sheets they came from.

    A sheet holds the pieces that are cut of it, at the size it was and the price paid for it, on
    sale or not. Its `offcuts` are what of it is still there to be cut; see `boards.hung.begun`.
    Sheets the rules own are what is here beside all of these.
    `taken` are marks that were used before, which no new piece or sheet is given.

    The joints of the `standing` surfaces stay, and only how their boards are cut is planned.
    """

    boards: tuple[PlacedBoard, ...] = ()
    sheets: tuple[Sheet, ...] = ()
    taken: tuple[str, ...] = ()
    standing: tuple[SurfacePlan, ...] = ()


NOTHING_BUILT = AsBuilt()
