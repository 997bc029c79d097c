"""Ids of what is bought, as they stand in a catalogue.

Sheets have no entry among a catalogue's materials: their id says all, `sheet-regular-0.5x48x96in`
or `sheet-regular-12.5x1200x2400mm` (kind, thickness, width, length). Lumber goes by its nominal
name, `2x4`. Screws are `screw-coarse-1.25` (wood), `screw-fine-1.25` (steel) and `screw-tile-1.25`,
by length in inches.
"""

from __future__ import annotations

from fractions import Fraction

from takeoff.errors import BadValue
from takeoff.units import INCH, MM, SIXTY_FOURTH, Nm

__all__ = [
    "ADHESIVE",
    "ALKALI_TAPE",
    "BEAD",
    "BEAD_NAILS",
    "BOX_EXTENDER",
    "CEILING_PAINT",
    "CLIP",
    "DRYING_COMPOUND",
    "MESH_TAPE",
    "MORTAR",
    "NAILS_8D",
    "NAILS_16D",
    "PANEL",
    "PAPER_TAPE",
    "PRIMER",
    "SANDING",
    "SETTING_COMPOUND",
    "SHIMS",
    "TEXTURE",
    "TILE_SCREWS",
    "WALL_PAINT",
    "screw_id",
    "sheet_id",
    "sheet_name",
]

NAILS_16D = "nails-16d"
NAILS_8D = "nails-8d"
CLIP = "drywall-clip"
BOX_EXTENDER = "box-extender"
ADHESIVE = "adhesive"
PANEL = "panel-3-4"
SHIMS = "shim-strip"
PAPER_TAPE = "tape-paper"
MESH_TAPE = "tape-mesh"
ALKALI_TAPE = "tape-alkali"
MORTAR = "mortar"
DRYING_COMPOUND = "compound-drying"
SETTING_COMPOUND = "compound-setting"
BEAD = "corner-bead"
BEAD_NAILS = "nails-board"
SANDING = "sanding-sheet"
PRIMER = "primer"
WALL_PAINT = "paint-wall"
CEILING_PAINT = "paint-ceiling"
TEXTURE = "texture"
TILE_SCREWS = "tile"


def screw_id(kind: str, length: Nm) -> str:
    """The id of screws of `kind` (`coarse`, `fine`, `tile`) and length, like
    `screw-coarse-1.25`."""
    return f"screw-{kind}-{_decimal(Fraction(length, INCH))}"


def sheet_id(board: str, thickness: Nm, width: Nm, length: Nm) -> str:
    """The id of a sheet: in inches where all three sizes are whole 64ths, else in millimetres.

    >>> sheet_id("regular", Nm(12_700_000), Nm(1_219_200_000), Nm(2_438_400_000))
    'sheet-regular-0.5x48x96in'
    """
    inches = all(size % SIXTY_FOURTH == 0 for size in (thickness, width, length))
    unit, name = (INCH, "in") if inches else (MM, "mm")
    sizes = "x".join(_decimal(Fraction(size, unit)) for size in (thickness, width, length))
    return f"sheet-{board}-{sizes}{name}"


def sheet_name(name: str, thickness: Nm, width: Nm, length: Nm) -> str:
    """What to call a sheet on a list: its kind's name and its sizes as a store writes them."""
    if all(size % SIXTY_FOURTH == 0 for size in (thickness, width, length)):
        feet, inches = divmod(Fraction(length, INCH), 12)
        long = f"{feet} ft" if not inches else f"{_mixed(Fraction(length, INCH))} in"
        return (
            f"{name}, {_mixed(Fraction(thickness, INCH))} in, {_mixed(Fraction(width, INCH))} "
            f"in x {long}"
        )
    return (
        f"{name}, "
        f"{' x '.join(_decimal(Fraction(size, MM)) for size in (thickness, width, length))} mm"
    )


def _mixed(value: Fraction) -> str:
    whole, part = divmod(value, 1)
    if not part:
        return str(whole)
    return f"{whole}-{part}" if whole else str(part)


def _decimal(value: Fraction) -> str:
    scaled = value * 10**6
    if scaled.denominator != 1:
        raise BadValue(
            "A size on sale must be a whole number of 64ths of an inch, or of nanometres"
        )
    whole, part = divmod(scaled.numerator, 10**6)
    return f"{whole}.{part:06d}".rstrip("0").rstrip(".")
