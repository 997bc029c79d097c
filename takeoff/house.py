"""The values a person gives: house, rooms, walls, openings, choices, rules, catalogue.

All are frozen and checked when made, so a wrong value cannot exist. None holds anything that can be worked out:
surfaces, members and boards are derived by the modules that come after. Lengths are whole nanometres (`Nm`),
money whole cents, rates exact decimals.

Ids: rooms, openings, cut-outs, hidden items and partitions have ids unique in the house; wall ids are unique in
their room, and a surface is known everywhere as `room-id/wall-id` (a ceiling plane as `room-id/ceiling`).
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from typing import ClassVar

from takeoff.errors import BadValue
from takeoff.quantities import Amount, Cents
from takeoff.units import FOOT, INCH, SIXTEENTH, Nm, UnitSystem

__all__ = [
    "Action",
    "BehindPartition",
    "BoardChoice",
    "BoardEdges",
    "BoardKind",
    "Catalogue",
    "Ceiling",
    "CeilingKind",
    "CeilingRows",
    "Compound",
    "Cutout",
    "CutoutKind",
    "Cutting",
    "Finish",
    "FramedWhen",
    "Framing",
    "HiddenItem",
    "HiddenKind",
    "House",
    "JointMode",
    "Material",
    "Measure",
    "MeasureTo",
    "MeasuredTo",
    "Opening",
    "OpeningEdge",
    "OpeningGiven",
    "OpeningKind",
    "Orientation",
    "Outline",
    "OwnedSheet",
    "Pack",
    "Partition",
    "PlainSurface",
    "QuickRoom",
    "Remedy",
    "Room",
    "Rules",
    "Runs",
    "SheetOnSale",
    "Side",
    "StockItem",
    "Substrate",
    "SurfaceChoice",
    "SurfaceKind",
    "SurfaceList",
    "Tape",
    "UnevenMember",
    "Wall",
]

_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}\Z")
_LONGEST = Nm(1_000 * FOOT)  # nothing in a house is longer; keeps a slip of the pen from filling memory


def _check_id(value: str, what: str) -> None:
    if not _ID.match(value):
        raise BadValue(
            f"{what} id {value[:80]!r} must be 1 to 64 letters, digits, dots, dashes or underscores, like 'wall-a'"
        )


def _check_length(value: Nm | None, what: str, *, zero: bool = False) -> None:
    """Refuse a length that is negative, absurdly long, or zero where something must have a size."""
    if value is None:
        return
    if value < 0 or (value == 0 and not zero):
        raise BadValue(f"{what} must be {'zero or more' if zero else 'more than zero'}")
    if value > _LONGEST:
        raise BadValue(f"{what} must be at most 1000 ft (304.8 m)")


def _check_unique(ids: Iterable[str], what: str) -> None:
    seen: set[str] = set()
    for each in ids:
        if each in seen:
            raise BadValue(f"{what} id {each!r} is used twice; give each its own")
        seen.add(each)


class SurfaceKind(StrEnum):
    WALL = "wall"
    CEILING = "ceiling"


class Action(StrEnum):
    """What happens to a surface. `BOARD` is open framing; the other four begin with an old lining in place."""

    BOARD = "board"
    LEAVE = "leave"
    PATCH = "patch"
    BOARD_OVER = "board over"
    STRIP_AND_BOARD = "strip and board"

    @property
    def gets_board(self) -> bool:
        """Whether new sheets go up on this surface, so that it has a plan."""
        return self in (Action.BOARD, Action.BOARD_OVER, Action.STRIP_AND_BOARD)

    @property
    def keeps_lining(self) -> bool:
        """Whether the old lining stays, so that it counts in every thickness."""
        return self in (Action.LEAVE, Action.PATCH, Action.BOARD_OVER)


class Orientation(StrEnum):
    """How the long edge of a board lies to the members behind it."""

    ACROSS = "across"
    ALONG = "along"
    BEST = "best"


class JointMode(StrEnum):
    """Where a butt seam may fall: on a member, floating at mid-bay on a backer, or whichever is better."""

    FRAMING = "framing"
    FLOATING = "floating"
    EITHER = "either"


class CeilingRows(StrEnum):
    """Which edge of a ceiling the rows count from: the edge at v = 0 (`a`), the far edge (`b`), or the better."""

    SIDE_A = "a"
    SIDE_B = "b"
    EITHER = "either"


class Runs(StrEnum):
    """How members lie on a surface, by its drawing (u right, v up): `across` is upright, as studs stand in a wall."""

    ACROSS = "across"
    ALONG = "along"


class Substrate(StrEnum):
    WOOD = "wood"
    STEEL = "steel"


class Remedy(StrEnum):
    """How a member that is out of line is brought into plane."""

    SHIM = "shim"
    SISTER = "sister"
    FURRING = "furring"


class MeasuredTo(StrEnum):
    FRAMING = "framing"
    FINISHED = "finished"


class CeilingKind(StrEnum):
    FLAT = "flat"
    SLOPE = "slope"
    GABLE = "gable"


class OpeningKind(StrEnum):
    DOOR = "door"
    WINDOW = "window"
    PASSAGE = "passage"


class OpeningGiven(StrEnum):
    """Whether the sizes given are the rough opening, or the door or window itself (an allowance is then added)."""

    ROUGH = "rough"
    UNIT = "unit"


class OpeningEdge(StrEnum):
    """How board ends at an opening: under a casing, in a corner bead, or turned into the opening with a bead."""

    CASED = "cased"
    BEAD = "bead"
    RETURN = "return"


class CutoutKind(StrEnum):
    BOX = "box"
    ROUND = "round"
    VENT = "vent"
    PIPE = "pipe"


class HiddenKind(StrEnum):
    BLOCKING = "blocking"
    CABLE = "cable"
    PIPE = "pipe"
    DUCT = "duct"


class MeasureTo(StrEnum):
    """Which part of a thing the tape reads at: the edge nearer its origin, the centre, or the farther edge."""

    NEAR = "near"
    CENTRE = "centre"
    FAR = "far"


class FramedWhen(StrEnum):
    """Whether a partition is framed before the room around it is boarded, or stands on finished faces after."""

    BEFORE = "before"
    AFTER = "after"


class Side(StrEnum):
    LEFT = "left"
    RIGHT = "right"


class Tape(StrEnum):
    PAPER = "paper"
    MESH = "mesh"


class Compound(StrEnum):
    DRYING = "drying"
    SETTING = "setting"


class BoardEdges(StrEnum):
    TAPERED = "tapered"
    SQUARE = "square"


class Cutting(StrEnum):
    """How a board is cut: scored and snapped (no kerf), or sawn (the rules' kerf is lost)."""

    SCORE = "score"
    SAW = "saw"


# -- what stands in a room --------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    """One wall of an outline, walked clockwise as one stands inside: its length, then the turn at its far end.

    `turn` is in degrees to the right, exact: 90 is an inside corner, -90 an outside one, 45 a slanted wall's corner.
    """

    id: str
    name: str
    length: Nm
    turn: Decimal = Decimal(90)

    def __post_init__(self) -> None:
        _check_id(self.id, "Wall")
        _check_length(self.length, f"Wall {self.name} length")
        if not -180 < self.turn < 180:
            raise BadValue(f"Wall {self.name} turn must be between -180 and 180 degrees, like 90")


@dataclass(frozen=True, slots=True, kw_only=True)
class QuickRoom:
    """A right-angled room by length (wall A), width (wall B) and height of a flat ceiling; its walls are A B C D."""

    length: Nm
    width: Nm

    def __post_init__(self) -> None:
        _check_length(self.length, "Room length")
        _check_length(self.width, "Room width")


@dataclass(frozen=True, slots=True, kw_only=True)
class Outline:
    """A room walked wall by wall from the left end of the door wall, clockwise as one stands inside."""

    walls: tuple[Wall, ...]

    def __post_init__(self) -> None:
        if not 3 <= len(self.walls) <= 100:
            raise BadValue(f"A room's outline must have 3 to 100 walls; this one has {len(self.walls)}")
        _check_unique((wall.id for wall in self.walls), "Wall")


@dataclass(frozen=True, slots=True, kw_only=True)
class PlainSurface:
    """One rectangle to board, where a room is given as a plain list: width to the right, height up."""

    id: str
    name: str
    kind: SurfaceKind
    width: Nm
    height: Nm

    def __post_init__(self) -> None:
        _check_id(self.id, "Surface")
        _check_length(self.width, f"Surface {self.name} width")
        _check_length(self.height, f"Surface {self.name} height")


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceList:
    """A room as a plain list of rectangles: nothing is known of how they meet, so each edge is taken off as given."""

    surfaces: tuple[PlainSurface, ...]

    def __post_init__(self) -> None:
        if not 1 <= len(self.surfaces) <= 200:
            raise BadValue(f"A surface list must have 1 to 200 surfaces; this one has {len(self.surfaces)}")
        _check_unique((surface.id for surface in self.surfaces), "Surface")


@dataclass(frozen=True, slots=True, kw_only=True)
class BehindPartition:
    """A room that a planned partition makes: its shape is what the partition cuts off its parent room."""

    partition: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Ceiling:
    """The ceiling's shape; heights are floor to the face the room was measured to.

    flat: `height`. slope: `height` at the low wall (`low_wall`), `high` at the point of the room farthest from it.
    gable: `height` at the eave wall `low_wall`, the ridge runs parallel to it at `ridge_at` from it (half the
    room's depth where None) and `high` up; `far_height` is the far eave (same as `height` where None).
    """

    kind: CeilingKind = CeilingKind.FLAT
    height: Nm = Nm(8 * FOOT)
    low_wall: str | None = None
    high: Nm | None = None
    ridge_at: Nm | None = None
    far_height: Nm | None = None

    def __post_init__(self) -> None:
        _check_length(self.height, "Ceiling height")
        for value, what in (
            (self.high, "high point"),
            (self.ridge_at, "ridge distance"),
            (self.far_height, "far eave"),
        ):
            _check_length(value, f"Ceiling {what}")
        if self.kind is CeilingKind.FLAT:
            if self.high or self.ridge_at or self.far_height or self.low_wall:
                raise BadValue(
                    "A flat ceiling has a height only; leave out low_wall, high, ridge_at and far_height"
                )
        elif self.low_wall is None or self.high is None:
            raise BadValue(
                f"A {self.kind} ceiling must name its low_wall and its high point, like high 11' 6\""
            )
        elif self.high <= max(self.height, self.far_height or self.height):
            raise BadValue(f"A {self.kind} ceiling's high point must be above its eaves")
        if self.kind is CeilingKind.SLOPE and (self.ridge_at or self.far_height):
            raise BadValue("A single slope has no ridge and no far eave; leave out ridge_at and far_height")


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """A door, window or passage in a wall: `left` as one faces the wall from inside, `sill` up from the floor."""

    id: str
    name: str
    kind: OpeningKind
    wall: str
    left: Nm
    sill: Nm
    width: Nm
    height: Nm
    given: OpeningGiven = OpeningGiven.ROUGH
    edge: OpeningEdge = OpeningEdge.CASED

    def __post_init__(self) -> None:
        _check_id(self.id, "Opening")
        _check_length(self.left, f"Opening {self.name} left", zero=True)
        _check_length(self.sill, f"Opening {self.name} sill", zero=True)
        _check_length(self.width, f"Opening {self.name} width")
        _check_length(self.height, f"Opening {self.name} height")


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """One tape reading that places a thing: from where, how far, and to which part of it.

    `origin` is `left`, `right`, `floor` or `ceiling` on a wall; on a ceiling it names the wall measured from.
    """

    origin: str
    distance: Nm
    to: MeasureTo = MeasureTo.CENTRE

    def __post_init__(self) -> None:
        _check_length(self.distance, f"Distance from {self.origin}", zero=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cutout:
    """A hole in the board: `surface` is a wall id, `ceiling`, or a plane's id; `width` is a round one's diameter.

    `across` and `up` are the two readings that place it; on a ceiling both name walls that are not parallel.
    """

    id: str
    name: str
    kind: CutoutKind
    surface: str
    across: Measure
    up: Measure
    width: Nm
    height: Nm | None = None

    def __post_init__(self) -> None:
        _check_id(self.id, "Cut-out")
        _check_length(self.width, f"Cut-out {self.name} width")
        _check_length(self.height, f"Cut-out {self.name} height")
        if self.is_round != (self.height is None):
            raise BadValue(
                f"Cut-out {self.name}: a round light or pipe takes a width only (its diameter), "
                "a box or vent takes width and height"
            )

    @property
    def is_round(self) -> bool:
        return self.kind in (CutoutKind.ROUND, CutoutKind.PIPE)


@dataclass(frozen=True, slots=True, kw_only=True)
class HiddenItem:
    """Something behind the board, kept after it is closed; `planned` is what must still go in before closing."""

    id: str
    name: str
    kind: HiddenKind
    surface: str
    across: Measure
    up: Measure
    width: Nm
    height: Nm
    planned: bool = False
    lumber: str = "2x6"

    def __post_init__(self) -> None:
        _check_id(self.id, "Hidden item")
        _check_length(self.width, f"Hidden item {self.name} width")
        _check_length(self.height, f"Hidden item {self.name} height")


@dataclass(frozen=True, slots=True, kw_only=True)
class UnevenMember:
    """A member out of line: where its centre is, by how much its face stands back, and how it is brought into plane."""

    at: Nm
    out_by: Nm
    remedy: Remedy

    def __post_init__(self) -> None:
        _check_length(self.at, "Uneven member position", zero=True)
        _check_length(self.out_by, "Uneven member out_by")


@dataclass(frozen=True, slots=True, kw_only=True)
class Framing:
    """Members behind a surface. `spacing` None means not known yet: the plan then rests on an assumption and says so.

    Positions are of member centres, from u = 0 where members are upright (`across`), from v = 0 where they lie
    `along`. `first` is the first member's centre; the next stand `spacing` apart. `extra` and `missing` are single
    members where reality differs; `missing` names the position it would have had. `start_backed` and `end_backed` say
    whether the board's edge at either end of the run of members has something to screw to; None means not looked at.
    """

    spacing: Nm | None = None
    first: Nm = Nm(0)
    runs: Runs | None = None
    member_width: Nm = Nm(3 * INCH // 2)
    extra: tuple[Nm, ...] = ()
    missing: tuple[Nm, ...] = ()
    start_backed: bool | None = None
    end_backed: bool | None = None
    substrate: Substrate = Substrate.WOOD
    uneven: tuple[UnevenMember, ...] = ()

    def __post_init__(self) -> None:
        _check_length(self.spacing, "Member spacing")
        _check_length(self.first, "First member's position", zero=True)
        _check_length(self.member_width, "Member width")
        if self.spacing is not None and self.spacing < 4 * INCH:
            raise BadValue("Member spacing must be at least 4 in (100 mm), like 16 in")
        for at in (*self.extra, *self.missing):
            _check_length(at, "A single member's position", zero=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardChoice:
    """Which board: a kind of the catalogue, its thickness, and a width where only one will do."""

    kind: str
    thickness: Nm
    width: Nm | None = None

    def __post_init__(self) -> None:
        _check_length(self.thickness, "Board thickness")
        _check_length(self.width, "Board width")


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceChoice:
    """What a person says of one wall or ceiling plane; None means the room's or the house's default.

    `of` is a wall id, `ceiling`, or a plane's id. `lining` is the thickness of old board on the framing. A surface
    that is `rated` names its tested assembly; one that is `wet`, rated, or `braces` the structure takes no floating
    seam. `insulated` matters on ceilings: the board carries it.
    """

    of: str
    action: Action | None = None
    lining: Nm | None = None
    board: BoardChoice | None = None
    orientation: Orientation | None = None
    joint_mode: JointMode | None = None
    framing: Framing | None = None
    rated: str | None = None
    wet: bool = False
    braces: bool = False
    insulated: bool = False
    tiled: bool = False

    def __post_init__(self) -> None:
        _check_length(self.lining, f"Lining of {self.of}", zero=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Finish:
    """How far a room's board is finished: level 0 to 5 (GA-214's scale), what it is taped with, coats, texture."""

    wall_level: int = 4
    ceiling_level: int = 4
    compound: Compound = Compound.DRYING
    tape: Tape = Tape.PAPER
    primer_coats: int = 1
    paint_coats: int = 2
    texture: bool = False

    def __post_init__(self) -> None:
        for level in (self.wall_level, self.ceiling_level):
            if not 0 <= level <= 5:
                raise BadValue(f"Level of finish must be 0 to 5, like 4; got {level}")
        if not (0 <= self.primer_coats <= 5 and 0 <= self.paint_coats <= 5):
            raise BadValue("Primer and paint coats must each be 0 to 5, like 2")
        if self.tape is Tape.MESH and self.compound is Compound.DRYING:
            raise BadValue(
                "Mesh tape goes with setting compound only; choose paper tape, or compound 'setting'"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """One room: its shape, ceiling, what stands in its walls, and what is done to each surface.

    `hang_first` lists walls in the order they are hung, where the order matters to the person; the rest follow,
    longest first. `longest_board` is the longest sheet that gets into the room, `heaviest_lift` pounds a sheet.
    """

    id: str
    name: str
    shape: QuickRoom | Outline | SurfaceList | BehindPartition
    ceiling: Ceiling = Ceiling()
    measured_to: MeasuredTo = MeasuredTo.FRAMING
    openings: tuple[Opening, ...] = ()
    cutouts: tuple[Cutout, ...] = ()
    hidden: tuple[HiddenItem, ...] = ()
    surfaces: tuple[SurfaceChoice, ...] = ()
    wall_framing: Framing | None = None
    ceiling_framing: Framing | None = None
    wall_board: BoardChoice | None = None
    ceiling_board: BoardChoice | None = None
    finish: Finish = Finish()
    hang_first: tuple[str, ...] = ()
    longest_board: Nm | None = None
    heaviest_lift: Decimal | None = None
    finished: bool = False

    def __post_init__(self) -> None:
        _check_id(self.id, "Room")
        if not self.name.strip():
            raise BadValue(f"Room {self.id} must have a name, like 'Kitchen'")
        _check_length(self.longest_board, f"Room {self.name} longest board")
        if self.heaviest_lift is not None and self.heaviest_lift <= 0:
            raise BadValue(f"Room {self.name} heaviest lift must be more than zero pounds, like 80")
        _check_unique((choice.of for choice in self.surfaces), f"Room {self.name} surface")


@dataclass(frozen=True, slots=True, kw_only=True)
class Partition:
    """A planned wall, square off `wall` of `room`, `at` from that wall's left end to the partition's framing.

    What lies on its `side` (as one faces `wall` from inside) becomes the room whose shape is `BehindPartition`.
    Openings are placed as one faces the partition from the parent room. Bearing ones are refused to an engineer.
    """

    id: str
    name: str
    room: str
    wall: str
    at: Nm
    side: Side
    framed: FramedWhen = FramedWhen.BEFORE
    bearing: bool = False
    stud: str = "2x4"
    spacing: Nm = Nm(16 * INCH)
    openings: tuple[Opening, ...] = ()
    blocking_recorded: bool = False
    framed_choice_open: bool = False

    def __post_init__(self) -> None:
        _check_id(self.id, "Partition")
        _check_length(self.at, f"Partition {self.name} at")
        _check_length(self.spacing, f"Partition {self.name} spacing")


# -- what is on sale and in the hallway ---------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardKind:
    """A kind of board: its edges, how it is cut, what it may do, and its weight by thickness (psf, exact)."""

    id: str
    name: str
    edges: BoardEdges = BoardEdges.TAPERED
    cutting: Cutting = Cutting.SCORE
    sag_resistant: bool = False
    tile_backer: bool = False
    moisture_resistant: bool = False
    fire_rated: bool = False
    weights: tuple[tuple[Nm, Decimal], ...] = ()

    def __post_init__(self) -> None:
        _check_id(self.id, "Board kind")

    def weight(self, thickness: Nm) -> Decimal | None:
        """Pounds a square foot at `thickness`, or None where the catalogue does not say."""
        return dict(self.weights).get(thickness)


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetOnSale:
    """A sheet one can buy: kind, size, price in cents."""

    board: str
    thickness: Nm
    width: Nm
    length: Nm
    price: Cents

    def __post_init__(self) -> None:
        for value, what in ((self.thickness, "thickness"), (self.width, "width"), (self.length, "length")):
            _check_length(value, f"Sheet {what}")
        if self.width > self.length:
            raise BadValue("A sheet's width must be at most its length, like 48 in by 8 ft")
        if self.price < 0:
            raise BadValue("A sheet's price must be zero or more, like 14.50")


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnedSheet:
    """Sheets or offcuts already here: free, in finite number. `factory_edges` is how many long edges are factory."""

    id: str
    board: str
    thickness: Nm
    width: Nm
    length: Nm
    count: int = 1
    factory_edges: int = 2

    def __post_init__(self) -> None:
        _check_id(self.id, "Owned sheet")
        for value, what in ((self.thickness, "thickness"), (self.width, "width"), (self.length, "length")):
            _check_length(value, f"Owned sheet {self.id} {what}")
        if not 1 <= self.count <= 1000:
            raise BadValue(f"Owned sheet {self.id} count must be 1 to 1000")
        if not 0 <= self.factory_edges <= 2:
            raise BadValue(f"Owned sheet {self.id} factory_edges must be 0, 1 or 2")


@dataclass(frozen=True, slots=True, kw_only=True)
class Pack:
    """What a store sells as one: a box, pail, roll, stick. `weight` in pounds, None where not known."""

    name: str
    holds: Amount
    price: Cents
    weight: Decimal | None = None

    def __post_init__(self) -> None:
        if self.holds.value <= 0:
            raise BadValue(f"Pack {self.name} must hold more than zero")
        if self.price < 0:
            raise BadValue(f"Pack {self.name} price must be zero or more, like 9.95")


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """Something bought other than sheets. `cut` ones are sticks: needs are cut from whole packs, never poured."""

    id: str
    name: str
    packs: tuple[Pack, ...]
    cut: bool = False

    def __post_init__(self) -> None:
        _check_id(self.id, "Material")
        if not self.packs:
            raise BadValue(f"Material {self.name} must have at least one pack on sale")


@dataclass(frozen=True, slots=True, kw_only=True)
class Catalogue:
    """Board kinds and materials with packs and prices. `sample` prices are ours until the person confirms them."""

    boards: tuple[BoardKind, ...] = ()
    sheets: tuple[SheetOnSale, ...] = ()
    materials: tuple[Material, ...] = ()
    currency: str = "USD"
    sample: bool = True

    def __post_init__(self) -> None:
        _check_unique((kind.id for kind in self.boards), "Board kind")
        _check_unique((material.id for material in self.materials), "Material")

    def board(self, kind: str) -> BoardKind:
        """The board kind of that id; raises `BadValue` naming those there are."""
        for each in self.boards:
            if each.id == kind:
                return each
        raise BadValue(
            f"No board kind {kind!r} in the catalogue; there are {', '.join(k.id for k in self.boards)}"
        )

    def material(self, item: str) -> Material:
        """The material of that id; raises `BadValue` where the catalogue has none."""
        for each in self.materials:
            if each.id == item:
                return each
        raise BadValue(f"No material {item!r} in the catalogue")


@dataclass(frozen=True, slots=True, kw_only=True)
class StockItem:
    """So much of a material already on hand."""

    material: str
    amount: Amount


# -- freedoms and allowances --------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """Every freedom and allowance of the board plan and the needs. Zero is allowed wherever a length is taken off.

    Prices are exact decimals of the currency. `sheets` replaces the catalogue's sheets on sale where given;
    `widths` narrows them. Defaults come from `takeoff/reference/` where a source exists; see each figure there.
    """

    # joints
    joint_mode: JointMode = JointMode.FRAMING
    stagger: Nm = Nm(16 * INCH)
    preferred_stagger: Nm = Nm(24 * INCH)
    preferred_stagger_price: Decimal = Decimal(0)
    opening_clearance: Nm = Nm(8 * INCH)
    shortest_piece: Nm = Nm(12 * INCH)
    mid_bay_tolerance: Nm = Nm(2 * INCH)
    floating_clear_bay: Nm = Nm(21 * INCH // 2)
    # prices of the plan's aim
    seam_price: Decimal = Decimal("1.00")
    backer_price: Decimal = Decimal("3.50")
    shim_price: Decimal = Decimal("0.15")
    # allowances
    floor_gap: Nm = Nm(INCH // 2)
    largest_floor_gap: Nm = Nm(INCH)
    fitting: Nm = Nm(2 * SIXTEENTH)
    thickness_deduction: bool = True
    kerf: Nm = Nm(2 * SIXTEENTH)
    closing_tolerance: Nm = Nm(INCH)
    narrow_strip: Nm = Nm(12 * INCH)
    unit_allowance_width: Nm = Nm(2 * INCH)
    unit_allowance_height: Nm = Nm(2 * INCH)
    # rows
    orientation: Orientation = Orientation.ACROSS
    ceiling_rows: CeilingRows = CeilingRows.EITHER
    shared_edge_rip: bool = False
    split_at_large_openings: bool = False
    # sheets
    wall_board: BoardChoice = BoardChoice(kind="regular", thickness=Nm(INCH // 2))
    ceiling_board: BoardChoice = BoardChoice(kind="regular", thickness=Nm(INCH // 2))
    widths: tuple[Nm, ...] = ()
    sheets: tuple[SheetOnSale, ...] | None = None
    owned: tuple[OwnedSheet, ...] = ()
    keep_offcuts: bool = True
    longest_board: Nm | None = None
    heaviest_lift: Decimal | None = None
    # framing and fastening
    assumed_wall_spacing: Nm = Nm(16 * INCH)
    assumed_ceiling_spacing: Nm = Nm(24 * INCH)
    floating_corners: bool = False
    adhesive: bool = False
    edge_support: str = "nailer"
    partition_slack: Nm = Nm(INCH // 4)
    gap_to_prefill: Nm = Nm(2 * SIXTEENTH)

    ZERO_ALLOWED: ClassVar[tuple[str, ...]] = (
        "stagger", "preferred_stagger", "opening_clearance", "shortest_piece", "mid_bay_tolerance",
        "floating_clear_bay", "floor_gap", "largest_floor_gap", "fitting", "kerf", "closing_tolerance",
        "narrow_strip", "unit_allowance_width", "unit_allowance_height", "partition_slack", "gap_to_prefill",
    )  # fmt: skip

    def __post_init__(self) -> None:
        for name in self.ZERO_ALLOWED:
            _check_length(getattr(self, name), f"Rule {name}", zero=True)
        for name in ("assumed_wall_spacing", "assumed_ceiling_spacing", "longest_board"):
            _check_length(getattr(self, name), f"Rule {name}")
        for name in ("seam_price", "backer_price", "shim_price", "preferred_stagger_price"):
            price: Decimal = getattr(self, name)
            if not price.is_finite() or price < 0:
                raise BadValue(f"Rule {name} must be zero or more, like 1.00")
        if self.floor_gap > self.largest_floor_gap:
            raise BadValue("Rule floor_gap must be at most largest_floor_gap")
        if self.edge_support not in ("nailer", "stud", "clip"):
            raise BadValue("Rule edge_support must be nailer, stud or clip")

    @property
    def seam_cents_per_nm(self) -> Fraction:
        """The seam price in cents a nanometre, exact."""
        return Fraction(self.seam_price) * 100 / FOOT


@dataclass(frozen=True, slots=True, kw_only=True)
class House:
    """A whole house: what a house file holds, and all that a takeoff needs beside the default catalogue."""

    id: str
    name: str
    units: UnitSystem = UnitSystem.INCH
    rooms: tuple[Room, ...] = ()
    partitions: tuple[Partition, ...] = ()
    rules: Rules = field(default_factory=Rules)
    catalogue: Catalogue = field(default_factory=Catalogue)
    stock: tuple[StockItem, ...] = ()
    note: str = ""

    def __post_init__(self) -> None:
        _check_id(self.id, "House")
        if len(self.rooms) > 500:
            raise BadValue("A house may have at most 500 rooms")
        _check_unique((room.id for room in self.rooms), "Room")
        _check_unique((partition.id for partition in self.partitions), "Partition")
        things = [thing.id for room in self.rooms for thing in (*room.openings, *room.cutouts, *room.hidden)]
        things += [opening.id for partition in self.partitions for opening in partition.openings]
        _check_unique(things, "Opening, cut-out or hidden item")

    def room(self, room_id: str) -> Room:
        """The room of that id; raises `BadValue` where the house has none."""
        for room in self.rooms:
            if room.id == room_id:
                return room
        raise BadValue(f"No room {room_id!r} in this house; there are {', '.join(r.id for r in self.rooms)}")
