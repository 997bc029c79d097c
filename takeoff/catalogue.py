"""What is on sale and what is here already: kinds of board, sheets, materials with their packs, and
stock."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from takeoff._checks import check_id, check_length, check_unique
from takeoff.errors import BadValue
from takeoff.quantities import Amount, Cents
from takeoff.units import INCH, MM, SIXTY_FOURTH, Nm

__all__ = [
    "BoardEdges",
    "BoardKind",
    "Catalogue",
    "Cutting",
    "MaterialOnSale",
    "OwnedSheet",
    "Pack",
    "SheetOnSale",
    "StockItem",
    "decimal_size",
    "sheet_id",
]


class BoardEdges(StrEnum):
    TAPERED = "tapered"
    SQUARE = "square"


class Cutting(StrEnum):
    """How a board is cut: scored and snapped (no kerf), or sawn (the rules' kerf is lost)."""

    SCORE = "score"
    SAW = "saw"


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardKind:
    """A kind of board: its edges, how it is cut, where it may go, and its weight by thickness
    (pounds per square foot, exact)."""

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
        check_id(self.id, "Board kind")

    def weight(self, thickness: Nm) -> Decimal | None:
        """Pounds a square foot at `thickness`, or None where the catalogue does not say."""
        return dict(self.weights).get(thickness)


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetOnSale:
    """A sheet on sale: its kind of board, its size, and its price in cents."""

    board: str
    thickness: Nm
    width: Nm
    length: Nm
    price: Cents

    def __post_init__(self) -> None:
        for value, what in (
            (self.thickness, "thickness"),
            (self.width, "width"),
            (self.length, "length"),
        ):
            check_length(value, f"Sheet {what}")
        if self.width > self.length:
            raise BadValue("A sheet's width must be at most its length, for example 48 in by 8 ft")
        if self.price < 0:
            raise BadValue("A sheet's price must be zero or more, for example 14.50")


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnedSheet:
    """Sheets or offcuts that are here already. They cost nothing, and there are `count` of them.
    `factory_edges` is how many of the long edges are factory edges.

    One whose id is the item id of its own size (`sheet_id`) is a whole sheet, as a store sells it:
    its use is a need like that of a sheet bought, for which it is stock. The use of all others,
    offcuts, makes no need.
    """

    id: str
    board: str
    thickness: Nm
    width: Nm
    length: Nm
    count: int = 1
    factory_edges: int = 2

    def __post_init__(self) -> None:
        check_id(self.id, "Owned sheet")
        for value, what in (
            (self.thickness, "thickness"),
            (self.width, "width"),
            (self.length, "length"),
        ):
            check_length(value, f"Owned sheet {self.id} {what}")
        if not 1 <= self.count <= 1000:
            raise BadValue(f"Owned sheet {self.id} count must be 1 to 1000")
        if not 0 <= self.factory_edges <= 2:
            raise BadValue(f"Owned sheet {self.id} factory_edges must be 0, 1 or 2")
        if self.whole and self.factory_edges != 2:
            raise BadValue(
                f"Owned sheet {self.id} is a whole sheet by its id, so factory_edges must be 2; "
                "give an offcut an id of its own, for example 'left-over'"
            )

    @property
    def whole(self) -> bool:
        """Whether it is whole sheets rather than offcuts."""
        return self.id == sheet_id(self.board, self.thickness, self.width, self.length)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pack:
    """What a store sells as one: a box, a pail, a roll, a stick. `weight` is in pounds, or None
    where it is not known."""

    name: str
    holds: Amount
    price: Cents
    weight: Decimal | None = None

    def __post_init__(self) -> None:
        if self.holds.value <= 0:
            raise BadValue(f"Pack {self.name} must hold more than zero")
        if self.price < 0:
            raise BadValue(f"Pack {self.name} price must be zero or more, for example 9.95")


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialOnSale:
    """A material on sale, other than sheets, with its packs. A material that is `cut` comes in
    sticks: needs are lengths cut out of whole sticks. All others are poured or counted."""

    id: str
    name: str
    packs: tuple[Pack, ...]
    cut: bool = False

    def __post_init__(self) -> None:
        check_id(self.id, "Material")
        if not self.packs:
            raise BadValue(f"Material {self.name} must have at least one pack on sale")


@dataclass(frozen=True, slots=True, kw_only=True)
class Catalogue:
    """Kinds of board, sheets and materials on sale, with packs and prices. `sample` is true until
    the person has put in the prices of a store."""

    boards: tuple[BoardKind, ...] = ()
    sheets: tuple[SheetOnSale, ...] = ()
    materials: tuple[MaterialOnSale, ...] = ()
    currency: str = "USD"
    sample: bool = True

    def __post_init__(self) -> None:
        check_unique((kind.id for kind in self.boards), "Board kind")
        check_unique((material.id for material in self.materials), "Material")

    def board(self, kind: str) -> BoardKind:
        """The board kind of that id; raises `BadValue` naming those there are."""
        for board in self.boards:
            if board.id == kind:
                return board
        raise BadValue(
            f"No board kind {kind!r} in the catalogue; there are "
            f"{', '.join(k.id for k in self.boards)}"
        )

    def material(self, item: str) -> MaterialOnSale:
        """The material of that id; raises `BadValue` where the catalogue has none."""
        for material in self.materials:
            if material.id == item:
                return material
        raise BadValue(f"No material {item!r} in the catalogue")


@dataclass(frozen=True, slots=True, kw_only=True)
class StockItem:
    """An amount of a material that is here already."""

    material: str
    amount: Amount


def sheet_id(board: str, thickness: Nm, width: Nm, length: Nm) -> str:
    """The id of a sheet: in inches where all three sizes are whole 64ths, else in millimetres.

    >>> sheet_id("regular", Nm(12_700_000), Nm(1_219_200_000), Nm(2_438_400_000))
    'sheet-regular-0.5x48x96in'
    """
    inches = all(size % SIXTY_FOURTH == 0 for size in (thickness, width, length))
    unit, name = (INCH, "in") if inches else (MM, "mm")
    sizes = "x".join(decimal_size(Fraction(size, unit)) for size in (thickness, width, length))
    return f"sheet-{board}-{sizes}{name}"


def decimal_size(value: Fraction) -> str:
    """A size in inches or millimetres as ids and names of goods have it, like `0.5`."""
    scaled = value * 10**6
    if scaled.denominator != 1:
        raise BadValue(
            "A size on sale must be a whole number of 64ths of an inch, or of nanometres"
        )
    whole, part = divmod(scaled.numerator, 10**6)
    return f"{whole}.{part:06d}".rstrip("0").rstrip(".")
