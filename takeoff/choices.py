"""The words a person chooses from: each is spelt in a house file as its value here."""

from __future__ import annotations

from enum import StrEnum

__all__ = [
    "Above",
    "Action",
    "BeadKind",
    "BuiltKind",
    "CeilingKind",
    "CeilingRows",
    "Compound",
    "CountedBy",
    "CutoutKind",
    "Found",
    "FramedWhen",
    "HiddenKind",
    "JointMode",
    "MeasureTo",
    "MeasuredTo",
    "OldLining",
    "OpeningEdge",
    "OpeningGiven",
    "OpeningKind",
    "Orientation",
    "PatchHeld",
    "Remedy",
    "Runs",
    "Sheen",
    "Side",
    "Substrate",
    "SurfaceKind",
    "Tape",
    "Turn",
]


class SurfaceKind(StrEnum):
    WALL = "wall"
    CEILING = "ceiling"


class Action(StrEnum):
    """What happens to a surface. `BOARD` is open framing; the other four begin with an old lining
    in place."""

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


class Above(StrEnum):
    """What lies over a ceiling: rooms to live in, or an attic or roof."""

    ROOM = "room"
    ATTIC = "attic"


class OldLining(StrEnum):
    """What an old lining is: gypsum board, or plaster on lath."""

    BOARD = "board"
    PLASTER = "plaster"


class PatchHeld(StrEnum):
    """What holds a patch of board: strips put in behind the old board, or the framing, where a part
    of a surface is boarded flush to what stays beside it."""

    STRIPS = "strips"
    FRAMING = "framing"


class Orientation(StrEnum):
    """How the long edge of a board lies to the members behind it."""

    ACROSS = "across"
    ALONG = "along"
    BEST = "best"


class JointMode(StrEnum):
    """Where a butt seam may fall: on a member, floating at mid-bay on a backer, or whichever is
    better."""

    FRAMING = "framing"
    FLOATING = "floating"
    EITHER = "either"


class CeilingRows(StrEnum):
    """Which edge of a ceiling the rows count from: the edge at v = 0 (`a`), the far edge (`b`), or
    the better."""

    SIDE_A = "a"
    SIDE_B = "b"
    EITHER = "either"


class Runs(StrEnum):
    """How members lie on a surface, by its drawing (u right, v up): `across` is upright, as studs
    stand in a wall."""

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
    VAULT = "vault"


class OpeningKind(StrEnum):
    DOOR = "door"
    WINDOW = "window"
    PASSAGE = "passage"


class OpeningGiven(StrEnum):
    """Whether what is given is the rough opening, or the door or window itself.

    Around a unit the rules' allowance is added: half on either side, half under a window, all above
    a door.
    """

    ROUGH = "rough"
    UNIT = "unit"


class OpeningEdge(StrEnum):
    """How board ends at an opening: under a casing, in a corner bead, or turned into the opening
    with a bead."""

    CASED = "cased"
    BEAD = "bead"
    RETURN = "return"


class BeadKind(StrEnum):
    """What outside corners are beaded with: metal bead, nailed through its flanges, or paper-faced
    bead, which is bedded in compound."""

    METAL = "metal"
    PAPER = "paper"


class BuiltKind(StrEnum):
    """What is built into a room: a box under the ceiling, a box from floor to ceiling, the shaft
    under a skylight, or stairs along a wall, which the board stops at."""

    SOFFIT = "soffit"
    CHASE = "chase"
    WELL = "skylight well"
    STAIRS = "stairs"


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
    NAIL_PLATE = "nail plate"
    BACKER = "backer"


class MeasureTo(StrEnum):
    """Which part of a thing the tape reads at: the edge nearer its origin, the centre, or the
    farther edge."""

    NEAR = "near"
    CENTRE = "centre"
    FAR = "far"


class Found(StrEnum):
    """What becomes of an opening: it stays (or is in a wall that is framed anew), is cut into a
    wall that stands, or is closed."""

    STAYS = "stays"
    CUT = "cut"
    CLOSED = "closed"


class FramedWhen(StrEnum):
    """Whether a partition is framed before the room around it is boarded, or stands on finished
    faces after."""

    BEFORE = "before"
    AFTER = "after"


class CountedBy(StrEnum):
    """What an amount that people add goes by: their own number, or an area, a length or the pieces
    of the room. `baseboard` is the perimeter less doors and cased openings."""

    HAND = "hand"
    FLOOR = "floor"
    WALLS = "walls"
    CEILING = "ceiling"
    PERIMETER = "perimeter"
    BASEBOARD = "baseboard"
    DOORS = "doors"
    WINDOWS = "windows"


class Sheen(StrEnum):
    """How much a paint shines, from the least."""

    FLAT = "flat"
    MATTE = "matte"
    EGGSHELL = "eggshell"
    SATIN = "satin"
    SEMI_GLOSS = "semi-gloss"
    GLOSS = "gloss"


class Side(StrEnum):
    LEFT = "left"
    RIGHT = "right"


class Turn(StrEnum):
    """Which way a partition turns at a corner, walked from the wall it starts at: toward the room
    it makes (an outside corner of the room it stands in), or away from it."""

    TOWARD = "toward"
    AWAY = "away"


class Tape(StrEnum):
    PAPER = "paper"
    MESH = "mesh"


class Compound(StrEnum):
    DRYING = "drying"
    SETTING = "setting"
