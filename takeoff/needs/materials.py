"""The materials the engine can ask for, each with its id, its name and its unit, in one place.

An id is the same in every catalogue. A catalogue says in which packs a material is on sale and may
call it by another name; where it has no such material, people read the name given here.

Lumber goes by its nominal size, `2x4`. Screws are `screw-coarse-1.25` (wood), `screw-fine-1.25`
(steel) and `screw-tile-1.25`, by length in inches. Sheets are of the sizes a house has on sale, so
they are not registered: their id says all, `sheet-regular-0.5x48x96in` or
`sheet-regular-12.5x1200x2400mm` (kind, thickness, width, length).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cache
from types import MappingProxyType

from takeoff.catalogue import BoardKind, Catalogue, decimal_size, sheet_id
from takeoff.errors import BadValue
from takeoff.paint import Paint, paint_id, paint_name
from takeoff.reference import (
    batt_sizes,
    lumber,
    lumber_sizes,
    screw_lengths,
    steel_sizes,
    stud_size,
)
from takeoff.units import INCH, MM, SIXTY_FOURTH, Nm, UnitSystem

__all__ = [
    "ADHESIVE",
    "ALKALI_TAPE",
    "ANCHORS",
    "BAGS",
    "BEAD",
    "BEAD_NAILS",
    "BLADES",
    "BOX_EXTENDER",
    "CEILING_PAINT",
    "CLIP",
    "CONTROL_JOINT",
    "DRYING_COMPOUND",
    "FLOOR_STRIP",
    "FRAMING_SCREWS",
    "LIFT_DAYS",
    "MASKS",
    "MESH_TAPE",
    "MORTAR",
    "NAILS_8D",
    "NAILS_16D",
    "PANEL",
    "PAPER_BEAD",
    "PAPER_TAPE",
    "PRIMER",
    "SANDING",
    "SEALANT",
    "SETTING_COMPOUND",
    "SHEETING",
    "SHIMS",
    "STEEL_STUD",
    "TEXTURE",
    "TRIM",
    "VAPOR_SHEET",
    "WALL_PAINT",
    "Material",
    "any_material",
    "batt_material",
    "is_screw",
    "lumber_material",
    "material_name",
    "materials",
    "paint_kind",
    "paint_material",
    "screw_material",
    "sheet_id",
    "sheet_material",
    "sheet_name",
    "steel_material",
    "treated_material",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """A material that a need can ask for. `name` is what people read where their catalogue has no
    name for it; `unit` is the unit needs of it are measured in."""

    id: str
    name: str
    unit: str


# framing and partitions
NAILS_16D = Material(id="nails-16d", name="16d common nails", unit="each")
NAILS_8D = Material(id="nails-8d", name="8d common nails", unit="each")

STEEL_STUD = Material(id="steel-stud", name="Steel stud, 25 gauge", unit="ft")
FRAMING_SCREWS = Material(
    id="screw-framing", name="7/16 in pan-head framing screw (steel)", unit="each"
)

FLOOR_STRIP = Material(
    id="floor-strip", name="Flooring to match, for strips where a wall stood", unit="sq ft"
)

# hand goods
BLADES = Material(id="knife-blade", name="Utility knife blade", unit="each")
LIFT_DAYS = Material(id="lift-day", name="Drywall lift, rented by the day", unit="each")
MASKS = Material(id="mask", name="N95 respirator mask", unit="each")
SHEETING = Material(id="sheeting", name="Plastic sheeting, 4 mil", unit="sq ft")
BAGS = Material(id="rubble-bag", name="Contractor bag, 42 gal", unit="each")

# insulation
VAPOR_SHEET = Material(
    id="vapor-sheet", name="Polyethylene sheet against vapor, 6 mil", unit="sq ft"
)

# hanging
SEALANT = Material(id="sealant", name="Acoustical sealant, 28 fl oz cartridge", unit="ft")
ANCHORS = Material(id="concrete-anchor", name="1/4 x 2-3/4 in concrete screw anchor", unit="each")
CLIP = Material(id="drywall-clip", name="Drywall clip", unit="each")
BOX_EXTENDER = Material(id="box-extender", name="Electrical box extender", unit="each")
ADHESIVE = Material(id="adhesive", name="Drywall adhesive, 29 fl oz cartridge", unit="ft")
PANEL = Material(id="panel-3-4", name="3/4 in plywood or OSB, 4 x 8 ft", unit="each")
SHIMS = Material(id="shim-strip", name="Cardboard shim strip, 1/16 in x 1-1/2 in", unit="ft")

# taping
PAPER_TAPE = Material(id="tape-paper", name="Paper joint tape", unit="ft")
MESH_TAPE = Material(id="tape-mesh", name="Mesh joint tape", unit="ft")
ALKALI_TAPE = Material(id="tape-alkali", name="Alkali-resistant mesh tape, 2 in", unit="ft")
MORTAR = Material(id="mortar", name="Thin-set mortar, powder", unit="lb")
DRYING_COMPOUND = Material(id="compound-drying", name="Ready-mix joint compound", unit="gal")
SETTING_COMPOUND = Material(
    id="compound-setting", name="Lightweight setting-type compound, powder", unit="lb"
)
BEAD = Material(id="corner-bead", name="Corner bead", unit="ft")
PAPER_BEAD = Material(id="corner-bead-paper", name="Corner bead, paper-faced", unit="ft")
TRIM = Material(id="l-trim", name="L-shaped drywall trim", unit="ft")
CONTROL_JOINT = Material(id="control-joint", name="Drywall control joint, zinc", unit="ft")
BEAD_NAILS = Material(id="nails-board", name="1-1/4 in drywall nails", unit="each")

# finishing
SANDING = Material(id="sanding-sheet", name="Drywall sandpaper sheet", unit="each")
PRIMER = Material(id="primer", name="Drywall primer", unit="gal")
WALL_PAINT = Material(id="paint-wall", name="Wall paint", unit="gal")
CEILING_PAINT = Material(id="paint-ceiling", name="Ceiling paint", unit="gal")
_PAINTS = (WALL_PAINT, CEILING_PAINT)
TEXTURE = Material(id="texture", name="Ceiling texture, powder", unit="lb")

_FURRING = ("1x2", "1x3")
_TREATED = ("2x3", "2x4", "2x6")

_SCREWS = {
    "coarse": "coarse-thread drywall screw (wood)",
    "fine": "fine-thread drywall screw (steel)",
    "tile": "tile backer screw",
}


def lumber_material(nominal: str) -> Material:
    """Sticks of lumber of a nominal size, like `2x4`; raises `BadValue` where there is no such
    size."""
    lumber(nominal)
    kind = "furring strip" if nominal in _FURRING else "lumber"
    return Material(id=nominal, name=f"{nominal} {kind}", unit="ft")


def steel_material(stud: str, *, track: bool) -> Material:
    """Studs or tracks of light steel, by the name of the stud, like `steel-3.625`."""
    web = _mixed(Fraction(stud_size(stud).width, INCH))
    kind = "track" if track else "stud"
    return Material(
        id=f"steel-{kind}-{stud.removeprefix('steel-')}",
        name=f"Steel {kind}, {web} in, 25 gauge",
        unit="ft",
    )


def treated_material(nominal: str) -> Material:
    """Sticks of pressure-treated lumber of a nominal size, for plates on concrete."""
    lumber(nominal)
    return Material(id=f"{nominal}-treated", name=f"{nominal} pressure-treated lumber", unit="ft")


def batt_material(r: Decimal, units: UnitSystem) -> Material:
    """Batts of an R-value: the RSI in a house in millimeters.

    Raises `BadValue` where none of that value is on sale.
    """
    metric = units is UnitSystem.MILLIMETRE
    for batt in batt_sizes():
        if r == (batt.rsi if metric else batt.r):
            return Material(id=f"batts-r{batt.r}", name=f"R-{batt.r} batts", unit="sq ft")
    raise BadValue(
        "No batts of that value on sale; enter one of "
        + ", ".join(str(batt.rsi if metric else batt.r) for batt in batt_sizes())
    )


def screw_material(kind: str, length: Nm) -> Material:
    """Screws of `kind` (`coarse`, `fine`, `tile`) and length.

    >>> screw_material("coarse", Nm(31_750_000)).name
    '1-1/4 in coarse-thread drywall screw (wood)'
    """
    inches = Fraction(length, INCH)
    return Material(
        id=f"screw-{kind}-{decimal_size(inches)}",
        name=f"{_mixed(inches)} in {_SCREWS[kind]}",
        unit="each",
    )


def paint_material(kind: Material, paint: Paint | None) -> Material:
    """Paint of a color and sheen, where `kind` is wall or ceiling paint; `kind` itself where nobody
    said a color."""
    if paint is None:
        return kind
    return Material(id=paint_id(kind.id, paint), name=paint_name(kind.name, paint), unit=kind.unit)


def paint_kind(item: str) -> Material | None:
    """The wall or ceiling paint that the item of that id is, of a color or of any; None where it is
    no such paint."""
    return next(
        (kind for kind in _PAINTS if item == kind.id or item.startswith(f"{kind.id}-")), None
    )


def is_screw(item: str) -> bool:
    """Whether the item of that id is board screws."""
    return item.startswith("screw-") and item != FRAMING_SCREWS.id


def sheet_material(kind: BoardKind, thickness: Nm, width: Nm, length: Nm) -> Material:
    """Sheets of a kind and size."""
    return Material(
        id=sheet_id(kind.id, thickness, width, length),
        name=sheet_name(kind.name, thickness, width, length),
        unit="each",
    )


@cache
def materials() -> Mapping[str, Material]:
    """Every material but sheets by its id: the constants of this module, lumber of every size,
    batts of every R-value, and screws of every kind and length."""
    named = (value for value in globals().values() if isinstance(value, Material))
    sticks = (lumber_material(size.id) for size in lumber_sizes())
    treated = (treated_material(size) for size in _TREATED)
    steel = (
        steel_material(size.id, track=track) for size in steel_sizes() for track in (False, True)
    )
    batts = (batt_material(batt.r, UnitSystem.INCH) for batt in batt_sizes())
    screws = (screw_material(kind, length) for kind in _SCREWS for length in screw_lengths(kind))
    every = (*named, *sticks, *treated, *steel, *batts, *screws)
    return MappingProxyType({material.id: material for material in every})


def any_material(item: str, catalogue: Catalogue, *, unit: str) -> Material:
    """The material of that id, whoever asks for it: in the unit that needs of it are measured in
    here, or that it is sold in, or else in `unit`."""
    known = materials().get(item)
    if known is not None:
        return known
    try:
        on_sale = catalogue.material(item)
    except BadValue:
        counted = item.startswith("sheet-")
        return Material(id=item, name=material_name(item), unit="each" if counted else unit)
    sold_in = "ft" if on_sale.cut else on_sale.packs[0].holds.unit
    return Material(id=on_sale.id, name=on_sale.name, unit=sold_in)


def material_name(item: str) -> str:
    """The name of the material of that id, for lists of a house whose catalogue has no name for it;
    the id itself where no material has it."""
    material = materials().get(item)
    if material is not None:
        return material.name
    kind = paint_kind(item)
    if kind is None:
        return item
    return f"{kind.name}, {item.removeprefix(f'{kind.id}-').replace('-', ' ')}"


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
        f"{' x '.join(decimal_size(Fraction(size, MM)) for size in (thickness, width, length))} mm"
    )


def _mixed(value: Fraction) -> str:
    whole, part = divmod(value, 1)
    if not part:
        return str(whole)
    return f"{whole}-{part}" if whole else str(part)
