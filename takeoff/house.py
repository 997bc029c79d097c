"""The values a person gives: house, rooms, walls, openings, partitions, and the choices for each.

All are frozen and checked when made, so that a wrong value cannot exist. None holds anything that
can be worked out: surfaces, members and boards come from the modules that follow. Lengths are whole
nanometres (`Nm`), money is whole cents, rates are exact decimals.

Rooms, openings, cut-outs, hidden items and partitions have ids that are unique in the house. The id
of a wall is unique in its room, so a surface is known everywhere as `room-id/wall-id` (a ceiling
plane as `room-id/ceiling`).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction

from takeoff._checks import (
    check_code,
    check_id,
    check_length,
    check_letter,
    check_marks_unique,
    check_unique,
)
from takeoff.added import AddedNeed, OwnPhase
from takeoff.as_found import TakenOut
from takeoff.built_in import BuiltIn, built_faces
from takeoff.catalogue import Catalogue, StockItem
from takeoff.choices import (
    Above,
    Action,
    BuiltKind,
    CeilingKind,
    Compound,
    CutoutKind,
    Found,
    FramedWhen,
    HiddenKind,
    JointMode,
    MeasuredTo,
    MeasureTo,
    OldLining,
    OpeningEdge,
    OpeningGiven,
    OpeningKind,
    Orientation,
    PatchHeld,
    Remedy,
    Runs,
    Side,
    Substrate,
    SurfaceKind,
    Tape,
    Turn,
)
from takeoff.errors import BadValue
from takeoff.needs.need import Phase
from takeoff.paint import Paint
from takeoff.quantities import Amount, same_kind
from takeoff.reference import batt_sizes, figures
from takeoff.rules import BoardChoice, Rules
from takeoff.units import FOOT, INCH, Nm, UnitSystem

__all__ = [
    "AddedNeed",
    "BehindPartition",
    "BuiltIn",
    "Ceiling",
    "Cutout",
    "Finish",
    "Framing",
    "HiddenItem",
    "House",
    "Insulation",
    "Leg",
    "Measure",
    "Opening",
    "Outline",
    "OwnPhase",
    "Paint",
    "Partition",
    "Patch",
    "PlainSurface",
    "QuickRoom",
    "Room",
    "SurfaceChoice",
    "SurfaceList",
    "TakenOut",
    "UnevenMember",
    "Wall",
]


# No room of a house is larger; what is larger is a slip of the units.
_LONGEST_SIDE = Nm(300 * FOOT)
_HIGHEST = Nm(40 * FOOT)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    """One wall of an outline, walked clockwise by a person inside: its length, then the turn at its
    far end.

    `turn` is in degrees to the right, exact: 90 is an inside corner, -90 an outside corner, 45 the
    corner of a slanted wall.
    """

    id: str
    name: str
    length: Nm
    turn: Decimal = Decimal(90)
    letter: str = ""

    def __post_init__(self) -> None:
        check_id(self.id, "Wall")
        check_letter(self.letter, f"Wall {self.name} letter")
        check_length(self.length, f"Wall {self.name} length", most=_LONGEST_SIDE)
        if not -180 < self.turn < 180:
            raise BadValue(
                f"Wall {self.name} turn must be between -180 and 180 degrees, for example 90"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class QuickRoom:
    """A right-angled room by its length (wall A) and width (wall B). Its walls are A, B, C and
    D."""

    length: Nm
    width: Nm

    def __post_init__(self) -> None:
        check_length(self.length, "Room length", most=_LONGEST_SIDE)
        check_length(self.width, "Room width", most=_LONGEST_SIDE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Outline:
    """A room walked wall by wall, clockwise by a person inside, from the left end of the door
    wall."""

    walls: tuple[Wall, ...]

    def __post_init__(self) -> None:
        if not 3 <= len(self.walls) <= 100:
            raise BadValue(
                f"A room's outline must have 3 to 100 walls; this one has {len(self.walls)}"
            )
        check_unique((wall.id for wall in self.walls), "Wall")
        check_marks_unique((wall.letter for wall in self.walls), "Wall letter", "A")


@dataclass(frozen=True, slots=True, kw_only=True)
class PlainSurface:
    """One rectangle to board, in a room that is given as a plain list: width to the right, height
    up."""

    id: str
    name: str
    kind: SurfaceKind
    width: Nm
    height: Nm
    letter: str = ""

    def __post_init__(self) -> None:
        check_id(self.id, "Surface")
        check_letter(
            self.letter,
            f"Surface {self.name} letter",
            ceiling=self.kind is SurfaceKind.CEILING,
        )
        check_length(self.width, f"Surface {self.name} width", most=_LONGEST_SIDE)
        highest = _HIGHEST if self.kind is SurfaceKind.WALL else _LONGEST_SIDE
        check_length(self.height, f"Surface {self.name} height", most=highest)


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceList:
    """A room as a plain list of rectangles. Nothing is known of how they meet, so nothing is
    taken off for a neighbor."""

    surfaces: tuple[PlainSurface, ...]

    def __post_init__(self) -> None:
        if not 1 <= len(self.surfaces) <= 200:
            raise BadValue(
                f"A surface list must have 1 to 200 surfaces; this one has {len(self.surfaces)}"
            )
        check_unique((surface.id for surface in self.surfaces), "Surface")
        check_marks_unique((surface.letter for surface in self.surfaces), "Surface letter", "A")


@dataclass(frozen=True, slots=True, kw_only=True)
class BehindPartition:
    """A room that a planned partition makes. Its shape is what the partition cuts off its parent
    room."""

    partition: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Ceiling:
    """The shape of a ceiling. Heights go from the floor to the face the room was measured to.

    flat: `height`. slope: `height` at the low wall (`low_wall`), `high` at the point of the room
    farthest from it. gable: `height` at the eave wall (`low_wall`); the ridge runs parallel to that
    wall, `ridge_at` from it (half the depth of the room where None), and is `high` up; `far_height`
    is the height of the far eave (`height` where None). vault: like a gable with a flat top, which
    is `high` up, begins `flat_at` from the low wall and is `flat_width` wide, both measured level;
    without `flat_width` the flat part reaches the far wall. The low wall of a vault may be a knee
    wall.
    """

    kind: CeilingKind = CeilingKind.FLAT
    height: Nm = Nm(8 * FOOT)
    low_wall: str | None = None
    high: Nm | None = None
    ridge_at: Nm | None = None
    far_height: Nm | None = None
    flat_at: Nm | None = None
    flat_width: Nm | None = None

    def __post_init__(self) -> None:
        check_length(self.height, "Ceiling height", most=_HIGHEST)
        check_length(self.high, "Ceiling high", most=_HIGHEST)
        check_length(self.far_height, "Ceiling far_height", most=_HIGHEST)
        check_length(self.ridge_at, "Ceiling ridge_at", most=_LONGEST_SIDE)
        check_length(self.flat_at, "Ceiling flat_at", most=_LONGEST_SIDE)
        check_length(self.flat_width, "Ceiling flat_width", most=_LONGEST_SIDE)
        if self.kind is CeilingKind.FLAT:
            if self.high or self.ridge_at or self.far_height or self.low_wall:
                raise BadValue(
                    "A flat ceiling has a height only; leave out low_wall, high, ridge_at and "
                    "far_height"
                )
        elif self.low_wall is None or self.high is None:
            raise BadValue(
                f"A {self.kind} ceiling must name its low_wall and its high point, for example "
                "high 11' "
                '6"'
            )
        elif self.high <= max(self.height, self.far_height or self.height):
            raise BadValue(f"A {self.kind} ceiling's high point must be above its eaves")
        if self.kind is CeilingKind.SLOPE and (self.ridge_at or self.far_height):
            raise BadValue(
                "A single slope has no ridge and no far eave; leave out ridge_at and far_height"
            )
        self._check_flat_part()

    def _check_flat_part(self) -> None:
        if self.kind is CeilingKind.VAULT:
            if self.flat_at is None:
                raise BadValue(
                    "A vault ceiling must say how far from its low wall the flat part begins, "
                    "for example flat_at 4' 6\""
                )
            if self.ridge_at is not None:
                raise BadValue("A vault ceiling has no ridge; leave out ridge_at")
            if self.far_height is not None and self.flat_width is None:
                raise BadValue(
                    "A vault ceiling with a far eave must say how wide its flat part is, for "
                    "example "
                    "flat_width 5' 2\""
                )
        elif self.flat_at is not None or self.flat_width is not None:
            raise BadValue(
                f"A {self.kind} ceiling has no flat part beside a slope; leave out flat_at and "
                "flat_width, or choose vault"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """A door, window or cased opening in a wall. `left` is measured by a person who faces the wall
    from inside, `sill` is up from the floor.

    `return_depth` is how deep board is turned into the opening, from the framing face of the wall
    to the frame of the door or window, or to the wall's other face. It goes with the edge `return`;
    where nobody measured it, only the bead at the wall's own corner is counted.

    One that is `found` as it stays needs nothing. One that is cut into a wall that stands takes a
    header and studs, where `nonbearing` says that nothing rests on that wall. One that is closed is
    filled with studs, in the room that gives it; old board and plaster are patched over it.
    """

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
    return_depth: Nm | None = None
    found: Found = Found.STAYS
    nonbearing: bool = False

    def __post_init__(self) -> None:
        check_id(self.id, "Opening")
        if self.nonbearing and self.found is not Found.CUT:
            raise BadValue(
                f"Opening {self.name}: nonbearing is asked of an opening that is cut into a wall; "
                "leave it out, or set found to 'cut'"
            )
        deepest = figures.length("RT-deepest")
        if self.return_depth is not None:
            if self.edge is not OpeningEdge.RETURN:
                raise BadValue(
                    f"Opening {self.name} has a return_depth, so its edge must be 'return'"
                )
            if not 0 < self.return_depth <= deepest:
                raise BadValue(
                    f"Opening {self.name} return_depth must be more than zero and no deeper than a "
                    "wall is thick, at most 24 in (610 mm); enter the depth from the framing face "
                    "to the frame, for example 4 1/2 in (115 mm)"
                )
        check_length(self.left, f"Opening {self.name} left", zero=True)
        check_length(self.sill, f"Opening {self.name} sill", zero=True)
        check_length(self.width, f"Opening {self.name} width")
        check_length(self.height, f"Opening {self.name} height")


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """One tape reading that places a thing: where the tape begins, how far it reads, and to which
    part of the thing.

    `origin` is `left`, `right`, `floor` or `ceiling` on a wall. On a ceiling it names the wall the
    tape begins at.
    """

    origin: str
    distance: Nm
    to: MeasureTo = MeasureTo.CENTRE

    def __post_init__(self) -> None:
        check_length(self.distance, f"Distance from {self.origin}", zero=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cutout:
    """A hole in the board. `surface` is the id of a wall, `ceiling`, or the id of a plane. `width`
    of a round hole is its diameter.

    `across` and `up` are the two readings that place it. On a ceiling both name walls, which must
    not be parallel. On a wall the width is level. On a ceiling `along` is the id of the wall along
    which the longer side of a box or vent lies; None leaves the width along the first wall.
    """

    id: str
    name: str
    kind: CutoutKind
    surface: str
    across: Measure
    up: Measure
    width: Nm
    height: Nm | None = None
    along: str | None = None

    def __post_init__(self) -> None:
        check_id(self.id, "Cut-out")
        check_length(self.width, f"Cut-out {self.name} width")
        check_length(self.height, f"Cut-out {self.name} height")
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
    """Something behind the board, recorded so that it is known once the wall is closed. `planned`
    items must still go in before it is closed."""

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
        check_id(self.id, "Hidden item")
        check_length(self.width, f"Hidden item {self.name} width")
        check_length(self.height, f"Hidden item {self.name} height")


@dataclass(frozen=True, slots=True, kw_only=True)
class UnevenMember:
    """A member out of line: where its center is, how far its face stands back, and how it is
    brought into plane."""

    at: Nm
    out_by: Nm
    remedy: Remedy

    def __post_init__(self) -> None:
        check_length(self.at, "Place of the stud or joist out of line", zero=True)
        check_length(self.out_by, "out_by of the stud or joist out of line")


@dataclass(frozen=True, slots=True, kw_only=True)
class Framing:
    """The members behind a surface. `spacing` None means not known yet: the plan then rests on an
    assumption and says so.

    Positions are of the centers of members. They count from u = 0 where members are upright
    (`across`), and from v = 0 where they lie `along`. `first` is the center of the first member;
    the next ones stand `spacing` apart. `extra` and `missing` are single members where reality
    differs; `missing` gives the position that such a member would have had. `start_backed` and
    `end_backed` say whether the edge of the board at either end of the run of members has something
    to screw to; None means that nobody has looked.
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
        check_length(self.spacing, "Spacing of studs or joists")
        check_length(self.first, "Place of the first stud or joist", zero=True)
        check_length(self.member_width, "Width of studs or joists")
        if self.spacing is not None and self.spacing < 4 * INCH:
            raise BadValue(
                "Spacing of studs or joists must be at least 4 in (100 mm), for example 16 in"
            )
        for at in (*self.extra, *self.missing):
            check_length(at, "Place of a single stud or joist", zero=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Insulation:
    """Batts between the members of a surface: their R-value, the area they fill, and whether a
    sheet against vapor goes over them.

    `r` is the number on the bag: the R-value in a house in inches, the RSI in one in millimeters.
    Nothing of it is chosen for people: climate and local code decide.
    """

    r: Decimal
    area: Amount
    retarder: bool = False

    def __post_init__(self) -> None:
        if not self.r.is_finite() or not 0 < self.r <= 100:
            raise BadValue("Insulation r must be the number on the bag, for example 13 (RSI 2.3)")
        if not same_kind(self.area, Amount(Fraction(1), "sq ft")) or self.area.value <= 0:
            raise BadValue("Insulation area must be an area, for example 96 sq ft or 9 m2")


@dataclass(frozen=True, slots=True, kw_only=True)
class Patch:
    """New board let into a surface that stays: `count` rectangles of one size.

    A patch held by `strips` fills a hole. One held by the `framing` is a part of the surface that
    is boarded flush to what stays beside it. `thickness` is that of the old board or plaster round
    it; None means that of the surface's lining.
    """

    width: Nm
    height: Nm
    count: int = 1
    held: PatchHeld = PatchHeld.STRIPS
    thickness: Nm | None = None

    def __post_init__(self) -> None:
        check_length(self.width, "Patch width")
        check_length(self.height, "Patch height")
        check_length(self.thickness, "Patch thickness")
        if not 1 <= self.count <= 500:
            raise BadValue("Patch count must be from 1 to 500, for example 2")


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceChoice:
    """What a person chooses for one wall or ceiling plane. None means the default of the room or of
    the house.

    `of` is the id of a wall, `ceiling`, or the id of a plane. `lining` is the thickness of old
    board on the framing, and `old_lining` what it is. `rated` names the tested assembly of a rated
    surface. No floating seam goes on a surface that is `wet`, rated, or `braces` the structure.
    `insulated` matters on ceilings, where the board carries the insulation; None means that nobody
    has said, and a ceiling counts as insulated then unless there is a room `above`. `insulation` is
    what is put in, and `patches` are let into a surface that is left or patched. New board goes up
    in one layer or two. `paint` is its color where that is not the room's. `most_load` is what of
    board it may carry, as somebody licensed or the maker of its trusses said: pounds per square
    foot, or kilograms per square meter in a house in millimeters.
    """

    of: str
    action: Action | None = None
    lining: Nm | None = None
    old_lining: OldLining | None = None
    board: BoardChoice | None = None
    orientation: Orientation | None = None
    joint_mode: JointMode | None = None
    framing: Framing | None = None
    rated: str | None = None
    wet: bool = False
    braces: bool = False
    insulated: bool | None = None
    tiled: bool = False
    above: Above | None = None
    insulation: Insulation | None = None
    patches: tuple[Patch, ...] = ()
    layers: int = 1
    paint: Paint | None = None
    most_load: Decimal | None = None

    def __post_init__(self) -> None:
        if self.most_load is not None and not (
            self.most_load.is_finite() and 0 < self.most_load <= 500
        ):
            raise BadValue(
                f"{self.of}: most_load must be what it may carry, more than zero and at most 500, "
                "for example 5 (pounds per sq ft; 25 in kilograms per m2)"
            )
        if self.layers not in (1, 2):
            raise BadValue(f"{self.of}: layers must be 1 or 2")
        check_length(self.lining, f"Lining of {self.of}", zero=True)
        if self.patches and self.action is not None and self.action.gets_board:
            raise BadValue(
                f"{self.of} gets new board all over, so it has no patches; choose action 'patch'"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Finish:
    """How far the board of a room is finished: level 0 to 5 (the scale of GA-214), tape, compound,
    coats, and texture. Walls and ceiling are painted in the colors said here; None means that no
    color is said, and one can of paint serves all such surfaces."""

    wall_level: int = 4
    ceiling_level: int = 4
    compound: Compound = Compound.DRYING
    tape: Tape = Tape.PAPER
    primer_coats: int = 1
    paint_coats: int = 2
    texture: bool = False
    wall_paint: Paint | None = None
    ceiling_paint: Paint | None = None

    def __post_init__(self) -> None:
        for level in (self.wall_level, self.ceiling_level):
            if not 0 <= level <= 5:
                raise BadValue(f"Level of finish must be 0 to 5, for example 4; got {level}")
        if not (0 <= self.primer_coats <= 5 and 0 <= self.paint_coats <= 5):
            raise BadValue("Primer and paint coats must each be 0 to 5, for example 2")
        if self.tape is Tape.MESH and self.compound is Compound.DRYING:
            raise BadValue(
                "Mesh tape goes with setting compound only; choose paper tape, or compound "
                "'setting'"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """One room: its shape, its ceiling, what is in its walls, and what is done to each surface.

    `hang_first` lists walls in the order they are hung, where that order matters to the person; the
    others follow, the longest first. `longest_board` is the longest sheet that gets into the room,
    and `heaviest_lift` the pounds a sheet may weigh. `pile` names what the room is bought with:
    rooms of one pile are cut from the same sheets (see `takeoff.piles`). `code` is what its boards
    are marked with. A `garage` whose ceiling has a room above takes fire-rated board there. On a
    `slab` the sole plates of partitions are treated lumber, anchored in the concrete. `built` are
    its soffits, chases, skylight wells and stairs. `taken_out` are walls that stand in it now and
    come out. `added` is what people add to its phases, and `phases` are those of them that they
    named themselves.
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
    pile: str = ""
    finished: bool = False
    code: str = ""
    garage: bool = False
    slab: bool = False
    built: tuple[BuiltIn, ...] = ()
    taken_out: tuple[TakenOut, ...] = ()
    phases: tuple[OwnPhase, ...] = ()
    added: tuple[AddedNeed, ...] = ()

    def __post_init__(self) -> None:
        check_id(self.id, "Room")
        check_code(self.code, f"Room {self.name} code")
        if self.pile:
            check_id(self.pile, "Pile")
        if not self.name.strip():
            raise BadValue(f"Room {self.id} must have a name, for example 'Kitchen'")
        check_length(self.longest_board, f"Room {self.name} longest board")
        if self.heaviest_lift is not None and self.heaviest_lift <= 0:
            raise BadValue(
                f"Room {self.name} heaviest lift must be more than zero pounds, for example 80"
            )
        check_unique((choice.of for choice in self.surfaces), f"Room {self.name} surface")
        check_unique((built.id for built in self.built), f"Room {self.name} built-in")
        check_unique((gone.id for gone in self.taken_out), f"Room {self.name} wall taken out")
        if self.taken_out and isinstance(self.shape, SurfaceList | BehindPartition):
            raise BadValue(
                f"Room {self.name} has no walls of its own that {self.taken_out[0].name} stood "
                "between; give it in the room that was measured"
            )
        if self.built and isinstance(self.shape, SurfaceList | BehindPartition):
            raise BadValue(
                f"Room {self.name} has no walls of its own to build {self.built[0].name} on; give "
                "it in the room that was measured, or list its faces as surfaces"
            )
        check_unique((phase.id for phase in self.phases), f"Room {self.name} phase")
        own = {phase.id for phase in self.phases}
        for need in self.added:
            if need.phase not in own and need.phase not in tuple(Phase):
                raise BadValue(
                    f"Room {self.name}, added need {need.id}: there is no phase {need.phase!r}; "
                    f"give one of {', '.join((*Phase, *sorted(own)))}, or name it under phases"
                )


# More legs than any closet has; more are a slip.
_MOST_LEGS = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """One straight run of a partition after its first, square to the run before it. `turn` is the
    way the partition turns where the leg begins.

    `length` is that of the longer of its two sides, from the outside of one corner to the outside
    of the next; the last leg has none, because it runs to the wall it meets.
    """

    id: str
    name: str
    turn: Turn
    length: Nm | None = None
    letter: str = ""

    def __post_init__(self) -> None:
        check_id(self.id, "Leg")
        check_letter(self.letter, f"Leg {self.name} letter")
        check_length(self.length, f"Leg {self.name} length", most=_LONGEST_SIDE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Partition:
    """A planned wall that begins square to the wall `wall` of `room`. `at` goes from the left end
    of that wall to the framing of the partition.

    `wall` may also be a partition of the same room that stands before this one, or a leg of one,
    as seen from that room. What lies on its `side`, for a person who faces `wall` from inside,
    becomes the room whose shape is `BehindPartition`. A partition of one leg runs to the wall
    opposite. One of more legs runs `length` to its first corner, on the longer of its two sides,
    and then along `legs`. Openings are placed as seen from the parent room, in the partition (its
    first leg) or in one of its legs. A bearing partition always is framed before board, and its
    sticks are not counted: an engineer has to size it.
    """

    id: str
    name: str
    room: str
    wall: str
    at: Nm
    side: Side
    length: Nm | None = None
    legs: tuple[Leg, ...] = ()
    framed: FramedWhen = FramedWhen.BEFORE
    bearing: bool = False
    stud: str = "2x4"
    spacing: Nm = Nm(16 * INCH)
    openings: tuple[Opening, ...] = ()
    blocking_recorded: bool = False
    letter: str = ""

    def __post_init__(self) -> None:
        check_id(self.id, "Partition")
        check_letter(self.letter, f"Partition {self.name} letter")
        check_length(self.at, f"Partition {self.name} at")
        check_length(self.spacing, f"Partition {self.name} spacing")
        check_length(self.length, f"Partition {self.name} length", most=_LONGEST_SIDE)
        self._check_legs()
        for opening in self.openings:
            if opening.found is not Found.STAYS:
                raise BadValue(
                    f"{opening.name} is in the planned partition {self.name}, so it is neither cut "
                    "nor closed; leave out found"
                )

    @property
    def runs(self) -> tuple[tuple[str, str, Nm | None], ...]:
        """The id, name and length of every straight run, from the wall where it starts. The first
        has the id and name of the partition."""
        return (
            (self.id, self.name, self.length),
            *((leg.id, leg.name, leg.length) for leg in self.legs),
        )

    @property
    def run_ids(self) -> tuple[str, ...]:
        return (self.id, *(leg.id for leg in self.legs))

    def _check_legs(self) -> None:
        if len(self.legs) > _MOST_LEGS:
            raise BadValue(
                f"Partition {self.name} has {len(self.legs)} legs after its first corner; enter at "
                f"most {_MOST_LEGS}"
            )
        for run, (_, name, length) in enumerate(self.runs):
            is_last = run == len(self.legs)
            if length is None and not is_last:
                raise BadValue(
                    f"Partition {self.name}: {name} turns a corner, so it needs its length to that "
                    "corner, for example 3' 2\""
                )
            if length is not None and is_last:
                raise BadValue(
                    f"Partition {self.name}: {name} runs to the wall it meets; leave out its "
                    "length, or add the leg that it turns into"
                )


@dataclass(frozen=True, slots=True, kw_only=True)
class House:
    """A whole house: what a house file holds, and all that a takeoff needs beside the default
    catalogue."""

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
        check_id(self.id, "House")
        if len(self.rooms) > 500:
            raise BadValue("A house may have at most 500 rooms")
        check_unique((room.id for room in self.rooms), "Room")
        check_unique(
            (run for partition in self.partitions for run in partition.run_ids),
            "Partition or leg",
        )
        check_marks_unique((room.code for room in self.rooms), "Room code", "KIT")
        self._check_partition_letters()
        self._check_r_values()
        things = [opening.id for room in self.rooms for opening in room.openings]
        things += [cutout.id for room in self.rooms for cutout in room.cutouts]
        things += [item.id for room in self.rooms for item in room.hidden]
        things += [opening.id for partition in self.partitions for opening in partition.openings]
        check_unique(things, "Opening, cut-out or hidden item")
        check_unique((need.id for room in self.rooms for need in room.added), "Added need")
        check_unique((one.id for room in self.rooms for one in room.built), "Built-in")

    def _check_r_values(self) -> None:
        """An R-value of the other system of units is none on sale here, so it cannot pass."""
        metric = self.units is UnitSystem.MILLIMETRE
        sold = [batt.rsi if metric else batt.r for batt in batt_sizes()]
        for room in self.rooms:
            for choice in room.surfaces:
                if choice.insulation is not None and choice.insulation.r not in sold:
                    which = "RSI" if metric else "R-value"
                    raise BadValue(
                        f"{room.name}, {choice.of}: insulation r {choice.insulation.r} is no "
                        f"{which} of batts on sale; enter one of {', '.join(map(str, sold))}"
                    )

    @property
    def built_faces(self) -> frozenset[str]:
        """The names of the faces of all soffits and skylight wells, which are drawn by themselves;
        those of a chase are walls of the plan."""
        return built_faces(
            built
            for room in self.rooms
            for built in room.built
            if built.kind is not BuiltKind.CHASE
        )

    @property
    def own_phases(self) -> dict[str, str]:
        """The names of the phases that people named themselves, by their ids, in the order of the
        rooms. Rooms share an id where they have a phase of one name."""
        return {phase.id: phase.name for room in self.rooms for phase in room.phases}

    @property
    def on_hand(self) -> tuple[StockItem, ...]:
        """The stock, and the whole sheets among those owned. A sheet that both tell of is one."""
        whole = []
        for sheet in self.rules.owned:
            told = [item.amount.value for item in self.stock if item.material == sheet.id]
            untold = Fraction(sheet.count) - sum(told)
            if sheet.whole and untold > 0:
                whole.append(StockItem(material=sheet.id, amount=Amount(untold, "each")))
        return (*self.stock, *whole)

    def _check_partition_letters(self) -> None:
        shapes = {room.id: room.shape for room in self.rooms}
        letters: dict[str, list[str]] = {}
        for partition in self.partitions:
            given = letters.setdefault(partition.room, [])
            given += [partition.letter, *(leg.letter for leg in partition.legs)]
        for own in self.rooms:
            if own.built:
                letters.setdefault(own.id, []).extend(built.letter for built in own.built)
        for room, mine in letters.items():
            match shapes.get(room):
                case Outline(walls=walls):
                    mine += [wall.letter for wall in walls]
                case QuickRoom():
                    mine += "ABCD"
            check_marks_unique(mine, f"Letter of a wall or partition of {room!r}", "E")

    def room(self, room_id: str) -> Room:
        """The room of that id; raises `BadValue` where the house has none."""
        for room in self.rooms:
            if room.id == room_id:
                return room
        raise BadValue(
            f"No room {room_id!r} in this house; there are {', '.join(r.id for r in self.rooms)}"
        )
