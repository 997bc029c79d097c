"""Which sheets a surface may be cut from: on sale or owned, short enough for the room, light enough
for two."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from takeoff.boards.words import shown
from takeoff.catalogue import BoardKind, Catalogue, OwnedSheet, SheetOnSale
from takeoff.errors import CannotBoard
from takeoff.geometry.surface import Surface
from takeoff.reference import figures
from takeoff.rules import Rules
from takeoff.units import FOOT, INCH, Nm

__all__ = ["heaviest_lift", "is_hard_to_lift", "is_large", "on_sale", "owned_for", "sheets_for"]

_WIDE = 48 * INCH
_LONG = 12 * FOOT


def is_large(width: Nm, length: Nm) -> bool:
    """Whether a sheet is wider or longer than those that everybody handles."""
    return width > _WIDE or length > _LONG


def is_hard_to_lift(
    kind: BoardKind, thickness: Nm, width: Nm, length: Nm, lift: Decimal | None = None
) -> bool:
    """Whether a large sheet is heavier than what is lifted: `lift` pounds, a usual weight
    where nobody said. False where nobody knows what the board weighs."""
    most = figures.number("HL-lift") if lift is None else Fraction(lift)
    weight = kind.weight(thickness)
    if weight is None or not is_large(width, length):
        return False
    return Fraction(weight) * width * length > most * FOOT * FOOT


def on_sale(surface: Surface, rules: Rules, catalogue: Catalogue) -> list[SheetOnSale]:
    """Every sheet on sale of the board chosen for `surface`, of any size."""
    sheets = rules.sheets if rules.sheets is not None else catalogue.sheets
    choice = surface.board
    return [
        sheet
        for sheet in sheets
        if sheet.board == choice.kind and sheet.thickness == choice.thickness
    ]


def sheets_for(
    surface: Surface, kind: BoardKind, rules: Rules, catalogue: Catalogue
) -> tuple[SheetOnSale, ...]:
    """The sheets on sale that `surface` may be cut from, by width and then length, the cheapest of
    each size.

    Raises `CannotBoard` naming what leaves none.
    """
    choice = surface.board
    sheets = on_sale(surface, rules, catalogue)
    if not sheets:
        raise _none(
            surface,
            "sheets",
            f"no {shown(choice.thickness, surface, feet=False)} {kind.name} is on sale. Add one "
            "with its price",
        )
    if choice.width is not None:
        sheets = [sheet for sheet in sheets if sheet.width == choice.width]
        if not sheets:
            raise _none(
                surface,
                "board",
                f"no {shown(choice.width, surface)} wide {kind.name} is on sale. Leave out the "
                "board's width",
            )
    elif rules.widths:
        sheets = [sheet for sheet in sheets if sheet.width in rules.widths]
        if not sheets:
            raise _none(
                surface,
                "widths",
                f"none of the widths allowed is on sale in {kind.name}. Empty the rule",
            )
    longest = longest_board(surface, rules)
    if longest is not None:
        sheets = [sheet for sheet in sheets if sheet.length <= longest]
        if not sheets:
            raise _none(
                surface,
                "longest_board",
                f"every sheet on sale is longer than {shown(longest, surface)}, the longest that "
                "gets in",
            )
    lift = heaviest_lift(surface, rules)
    sheets = [
        sheet
        for sheet in sheets
        if _liftable(sheet.width, sheet.length, kind, choice.thickness, lift)
    ]
    if not sheets:
        raise _none(
            surface,
            "heaviest_lift",
            f"every sheet on sale weighs more than {lift} lb. Raise the lift, or add a lighter "
            "board",
        )
    # Of one size at several prices only the cheapest is ever bought.
    cheapest: dict[tuple[Nm, Nm], SheetOnSale] = {}
    for sheet in sorted(sheets, key=lambda sheet: (sheet.width, sheet.length, sheet.price)):
        cheapest.setdefault((sheet.width, sheet.length), sheet)
    return tuple(cheapest.values())


def owned_for(surface: Surface, kind: BoardKind, rules: Rules) -> tuple[OwnedSheet, ...]:
    """The owned sheets, whole or offcuts, that `surface` may be cut from."""
    longest, lift = longest_board(surface, rules), heaviest_lift(surface, rules)
    return tuple(
        owned
        for owned in rules.owned
        if owned.board == kind.id
        and owned.thickness == surface.board.thickness
        and (longest is None or owned.length <= longest)
        and _liftable(owned.width, owned.length, kind, owned.thickness, lift)
    )


def longest_board(surface: Surface, rules: Rules) -> Nm | None:
    """The longest sheet that gets to `surface`; None where nothing is in its way."""
    limits = [limit for limit in (surface.longest_board, rules.longest_board) if limit is not None]
    return min(limits, default=None)


def heaviest_lift(surface: Surface, rules: Rules) -> Decimal | None:
    """The heaviest sheet two people should lift there, in pounds; None where nobody set one."""
    limits = [limit for limit in (surface.heaviest_lift, rules.heaviest_lift) if limit is not None]
    return min(limits, default=None)


def _liftable(width: Nm, length: Nm, kind: BoardKind, thickness: Nm, lift: Decimal | None) -> bool:
    weight = kind.weight(thickness)
    if lift is None or weight is None:
        return True
    return Fraction(weight) * width * length <= Fraction(lift) * FOOT * FOOT


def _none(surface: Surface, rule: str, why: str) -> CannotBoard:
    return CannotBoard(surface=surface.id, rule=rule, message=f"{surface.name}: {why}")
