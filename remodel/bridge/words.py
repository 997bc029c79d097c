"""The engine's words as choices for rows and forms: each list is (value, what a person reads)."""

from __future__ import annotations

from enum import StrEnum

from takeoff import choices
from takeoff.catalogue import BoardEdges, Cutting
from takeoff.needs.need import Phase
from takeoff.quantities import UNITS
from takeoff.units import UnitSystem

Choices = list[tuple[str, str]]


def _choices(words: type[StrEnum], **shown: str) -> Choices:
    return [(word.value, shown.get(word.name, word.value.capitalize())) for word in words]


SURFACE_KINDS = _choices(choices.SurfaceKind)
ACTIONS = _choices(
    choices.Action,
    BOARD="New board on bare framing",
    LEAVE="Leave as is",
    PATCH="Patch it",
    BOARD_OVER="New board over the old surface",
    STRIP_AND_BOARD="Tear out, then new board",
)
ABOVE = _choices(choices.Above, ROOM="A room to live in", ATTIC="An attic or the roof")
PATCH_HELD = _choices(
    choices.PatchHeld,
    STRIPS="Strips behind the old board",
    FRAMING="The framing, flush to what stays",
)
OLD_LININGS = _choices(choices.OldLining, BOARD="Gypsum board", PLASTER="Plaster on lath")
ORIENTATIONS = _choices(
    choices.Orientation,
    ACROSS="Across the framing",
    ALONG="Along the framing",
    BEST="Whichever is better",
)
JOINT_MODES = _choices(
    choices.JointMode,
    FRAMING="On framing",
    FLOATING="Floating, at half a bay on a backer",
    EITHER="Whichever is better",
)
CEILING_ROWS = _choices(
    choices.CeilingRows, SIDE_A="From side A", SIDE_B="From side B", EITHER="Whichever is better"
)
RUNS = _choices(
    choices.Runs,
    ACROSS="Upright, square to the drawing's lower edge",
    ALONG="Along the drawing's lower edge",
)
SUBSTRATES = _choices(choices.Substrate)
REMEDIES = _choices(choices.Remedy)
MEASURED_TO = _choices(choices.MeasuredTo, FRAMING="Framing", FINISHED="Finished faces")
CEILING_KINDS = _choices(
    choices.CeilingKind,
    FLAT="Flat",
    SLOPE="One slope",
    GABLE="Gable",
    VAULT="Sloped with a flat top",
)
BUILT_KINDS = _choices(
    choices.BuiltKind,
    SOFFIT="Soffit: a box under the ceiling",
    CHASE="Chase: a box from floor to ceiling",
    WELL="Skylight well",
    STAIRS="Stairs along a wall",
)
FOUND = _choices(
    choices.Found,
    STAYS="It stays, or the wall is framed anew",
    CUT="It is cut into a wall that stands",
    CLOSED="It is there now, and is closed",
)
OPENING_KINDS = _choices(choices.OpeningKind, PASSAGE="Cased opening (no door)")
OPENING_GIVEN = _choices(
    choices.OpeningGiven, ROUGH="Rough opening", UNIT="The door or window itself"
)
OPENING_EDGES = _choices(
    choices.OpeningEdge,
    CASED="Under a casing",
    BEAD="In a corner bead",
    RETURN="Turned into the opening",
)
CUTOUT_KINDS = _choices(choices.CutoutKind, BOX="Electrical box", ROUND="Round light")
HIDDEN_KINDS = _choices(choices.HiddenKind)
MEASURE_TO = _choices(choices.MeasureTo, NEAR="Nearer edge", CENTRE="Center", FAR="Farther edge")
FRAMED_WHEN = _choices(choices.FramedWhen, BEFORE="Before board", AFTER="After board")
COUNTED_BY = _choices(
    choices.CountedBy,
    HAND="The amount you enter",
    FLOOR="Floor area",
    WALLS="Wall area, without openings",
    CEILING="Ceiling area",
    PERIMETER="Length round the room",
    BASEBOARD="Length round the room, less doors and cased openings",
    DOORS="Doors in its walls",
    WINDOWS="Windows in its walls",
)
SHEENS = _choices(choices.Sheen)
SIDES = _choices(choices.Side)
TAPES = _choices(choices.Tape)
COMPOUNDS = _choices(choices.Compound)
UNIT_SYSTEMS = _choices(UnitSystem, INCH="Feet and inches", MILLIMETRE="Millimeters")
BOARD_EDGES = _choices(BoardEdges)
CUTTINGS = _choices(Cutting, SCORE="Scored and snapped", SAW="Sawn")
QUANTITY_PHASES = _choices(Phase, TEAR_OUT="Tear-out")
AMOUNT_UNITS: Choices = [(unit, unit) for unit in UNITS]


def values(choices_: Choices) -> list[str]:
    """The stored words alone, for a constraint."""
    return [value for value, _ in choices_]
