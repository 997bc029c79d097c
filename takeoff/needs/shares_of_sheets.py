"""Board that is in no plan, such as strips and patches: the sheet it is cut from, and its share."""

from __future__ import annotations

from fractions import Fraction

from takeoff.catalogue import Catalogue, SheetOnSale
from takeoff.geometry.surface import Surface
from takeoff.quantities import Amount, Cents
from takeoff.reference import figures
from takeoff.rules import Rules
from takeoff.units import FOOT, Nm

__all__ = ["sheet_for", "sheet_share"]


def sheet_for(
    surface: Surface, catalogue: Catalogue, rules: Rules, *, thickest: Nm | None = None
) -> SheetOnSale:
    """Return the sheet on sale that costs least by area, of the board chosen for a surface.

    With `thickest`, it is of the thickest board of that kind that is no thicker, or of the thinnest
    there is. Where nothing of the kind is on sale, it is a sheet of the size that stores keep, so
    that lists show what is missing.
    """
    on_sale = catalogue.sheets if rules.sheets is None else rules.sheets
    sheets = [sheet for sheet in on_sale if sheet.board == surface.board.kind]
    chosen = surface.board.thickness
    if thickest is not None and sheets:
        thicknesses = {sheet.thickness for sheet in sheets}
        limit = thickest + figures.length("PA-near")
        fitting = [thickness for thickness in thicknesses if thickness <= limit]
        chosen = max(fitting, default=min(thicknesses))
    return min(
        (sheet for sheet in sheets if sheet.thickness == chosen),
        key=lambda sheet: (Fraction(sheet.price, sheet.width * sheet.length), -sheet.length),
        default=SheetOnSale(
            board=surface.board.kind,
            thickness=chosen,
            width=Nm(4 * FOOT),
            length=Nm(8 * FOOT),
            price=Cents(0),
        ),
    )


def sheet_share(area: Fraction, sheet: SheetOnSale) -> Amount:
    """Return the share of sheets that `area` (square nanometres) is. Whole sheets are bought for
    all rooms at once."""
    return Amount(area / (sheet.width * sheet.length), "each")
