"""One flat face seen from inside its room: the value every later step works on.

Coordinates: u to the right, v up, as one faces the surface from inside; on a wall u = 0 is the left
framing corner and v = 0 the floor. A ceiling is seen from below with the room's first wall at the
bottom: u along that wall, v into the room (drawings turn it: `read_turned`); a sloped plane with
its eave at the bottom: u along the eave, v up the slope in true length. On both u = 0 is the
leftmost and v = 0 the lowest point of the plane in its room. Board size never shifts coordinates:
`board_area` lies in the same frame as `outline`, so members, openings and boxes keep their places.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from takeoff.choices import (
    Action,
    CutoutKind,
    Found,
    HiddenKind,
    JointMode,
    OldLining,
    OpeningEdge,
    OpeningKind,
    Orientation,
    SurfaceKind,
)
from takeoff.house import Framing, Insulation, Paint, Patch
from takeoff.reference import Place
from takeoff.rules import BoardChoice
from takeoff.units import Nm, UnitSystem

__all__ = [
    "Edge",
    "EdgeKind",
    "PartitionFace",
    "Placed",
    "PlacedCutout",
    "PlacedHidden",
    "PlacedOpening",
    "Point",
    "Surface",
]

Point = tuple[Nm, Nm]


class EdgeKind(StrEnum):
    """What a side of a surface meets. `FREE` is a free end, or a side that nothing is known of (in
    plain lists). `FRAME` is the frame of a skylight, where board ends in a trim."""

    FLOOR = "floor"
    CEILING = "ceiling"
    WALL = "wall"
    INSIDE_CORNER = "inside corner"
    OUTSIDE_CORNER = "outside corner"
    RIDGE = "ridge"
    FRAME = "frame"
    FREE = "free"


@dataclass(frozen=True, slots=True)
class Edge:
    """One side of a surface's outline, from its vertex of the same index to the next, and the
    surface it meets."""

    kind: EdgeKind
    neighbour: str | None = None


@dataclass(frozen=True, slots=True)
class PartitionFace:
    """Which side of which leg of a partition a surface is on, by the leg's id. A place on the side
    behind and the same place on the side of the parent room add up to `mirror`, each counted from
    the left end of its whole face."""

    leg: str
    is_behind: bool
    mirror: Nm


@dataclass(frozen=True, slots=True)
class PlacedOpening:
    """An opening as a rectangle of the surface, rough opening size."""

    id: str
    name: str
    kind: OpeningKind
    left: Nm
    bottom: Nm
    right: Nm
    top: Nm
    edge: OpeningEdge
    return_depth: Nm | None = None
    found: Found = Found.STAYS
    nonbearing: bool = False


@dataclass(frozen=True, slots=True)
class PlacedCutout:
    """A hole to cut: its bounding rectangle; a round one's is square."""

    id: str
    name: str
    kind: CutoutKind
    left: Nm
    bottom: Nm
    right: Nm
    top: Nm

    @property
    def is_round(self) -> bool:
        return self.kind in (CutoutKind.ROUND, CutoutKind.PIPE)


@dataclass(frozen=True, slots=True)
class PlacedHidden:
    """Something behind the board, as a rectangle of the surface."""

    id: str
    name: str
    kind: HiddenKind
    left: Nm
    bottom: Nm
    right: Nm
    top: Nm
    planned: bool
    lumber: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """What stands on one whole surface, in the order the person gave it.

    `name` is the name of the surface for people, with that of its room first, and `parts` are its
    outlines. On a surface that `is_upright` (a wall, the face of a partition, a rectangle of a
    plain list), a reading from the left starts at `tape_from`, and one from the right at `tape_to`.
    On a ceiling plane readings start at walls. `closed` are openings that are there no more.
    """

    name: str = ""
    parts: tuple[tuple[Point, ...], ...] = ()
    is_upright: bool = True
    tape_from: Nm = Nm(0)
    tape_to: Nm = Nm(0)
    openings: tuple[PlacedOpening, ...] = ()
    cutouts: tuple[PlacedCutout, ...] = ()
    hidden: tuple[PlacedHidden, ...] = ()
    closed: tuple[PlacedOpening, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Surface:
    """A wall or ceiling plane with every choice made: no default is still to be looked up.

    `outline` is the framing face, counter-clockwise from its lowest left corner; `edges[i]` runs
    from `outline[i]` to the next vertex. `board_area` is what new board must cover before openings
    are cut out; the board of neighbors, the floor gap and the fitting are already off it, and it is
    empty where no board goes up. Its edges may lie anywhere between `outer_area` and `inner_area`,
    which have the same corners in the same order: see `geometry.deductions`. `framing.spacing` None
    means that members are assumed.
    `framing.runs` is always given, and `runs_known` says whether anybody looked. `finish_level`
    says how it is finished; a surface that is left as it is may still be painted, in the color of
    `paint` where one is said. `origin` is where
    its (0, 0) lies on the whole wall or plane, before partitions cut it. `units` are those of the
    house, for sentences about it. `code` is that of its room and `letter` its own in the room: what
    its boards are marked with (see `takeoff.marks`). `insulated` says that the board is known to
    carry insulation, and `maybe_insulated` that a ceiling counts as if it did, for nobody has said
    what is above. Under a room to live in, the ceiling of a garage is `under_living`.
    `partition_face` says of which partition it is a face, if it is one. `openings` are those it
    comes to have; `changed` are those among them that are cut now, and those that are closed.
    A level ceiling is `read_turned`: people see it, and its boards as they are marked, half a turn
    from its own axes, for the top of every page points to the room's first wall.
    """

    id: str
    room: str
    name: str
    kind: SurfaceKind
    outline: tuple[Point, ...]
    edges: tuple[Edge, ...]
    board_area: tuple[Point, ...]
    outer_area: tuple[Point, ...] = ()
    inner_area: tuple[Point, ...] = ()
    openings: tuple[PlacedOpening, ...] = ()
    cutouts: tuple[PlacedCutout, ...] = ()
    hidden: tuple[PlacedHidden, ...] = ()
    action: Action = Action.BOARD
    lining: Nm = Nm(0)
    board: BoardChoice
    orientation: Orientation = Orientation.ACROSS
    joint_mode: JointMode = JointMode.FRAMING
    framing: Framing
    runs_known: bool = True
    rated: str | None = None
    wet: bool = False
    braces: bool = False
    insulated: bool = False
    maybe_insulated: bool = False
    under_living: bool = False
    layers: int = 1
    insulation: Insulation | None = None
    old_lining: OldLining | None = None
    patches: tuple[Patch, ...] = ()
    tiled: bool = False
    water_texture: bool = False
    paint: Paint | None = None
    most_load: Decimal | None = None
    finish_level: int = 4
    longest_board: Nm | None = None
    heaviest_lift: Decimal | None = None
    origin: Point = (Nm(0), Nm(0))
    units: UnitSystem = UnitSystem.INCH
    code: str = ""
    letter: str = ""
    partition_face: PartitionFace | None = None
    read_turned: bool = False
    changed: tuple[PlacedOpening, ...] = ()

    @property
    def outer(self) -> tuple[Point, ...]:
        """The shape that no board's edge may pass."""
        return self.outer_area or self.board_area

    @property
    def inner(self) -> tuple[Point, ...]:
        """The shape that boards must cover at least."""
        return self.inner_area or self.board_area

    def on_frame(self, u: Nm) -> Nm:
        """How far along the frame of its partition a place of the surface is, counted alike on both
        sides: from the left end of the side of the parent room."""
        whole = Nm(self.origin[0] + u)
        face = self.partition_face
        return Nm(face.mirror - whole) if face is not None and face.is_behind else whole

    @property
    def place(self) -> Place:
        """Which rows of the framing table hold for it."""
        if self.kind is SurfaceKind.WALL:
            return Place.WALL
        return Place.GARAGE_CEILING if self.under_living else Place.CEILING

    @property
    def mark(self) -> str:
        """What the marks of its pieces begin with, like `K-A`."""
        return f"{self.code}-{self.letter}"

    @property
    def sloped(self) -> bool:
        """Whether any side is neither level nor upright, so that pieces have a last, slanted
        cut."""
        corners = self.outline
        return any(
            a[0] != b[0] and a[1] != b[1]
            for a, b in zip(corners, corners[1:] + corners[:1], strict=True)
        )
