"""Board that is in no plan, such as strips and patches: the sheet it is cut from, and its share."""

from __future__ import annotations

from fractions import Fraction

from takeoff.catalogue import Catalogue, SheetOnSale
from takeoff.geometry.surface import Surface
from takeoff.quantities import Amount
from takeoff.reference import figures
from takeoff.rules import Rules
from takeoff.units import Nm

__all__ = ["sheet_for", "sheet_share"]


def sheet_for(
    surface: Surface, catalogue: Catalogue, rules: Rules, *, thickest: Nm | None = None
) -> SheetOnSale | None:
    """Return the sheet on sale that costs least by area, of the board chosen for a surface.

    With `thickest`, it is of the thickest board of that kind that is no thicker, or of the thinnest
    there is. None where nothing of the kind is on sale.
    """
    on_sale = catalogue.sheets if rules.sheets is None else rules.sheets
    sheets = [sheet for sheet in on_sale if sheet.board == surface.board.kind]
    thicknesses = {sheet.thickness for sheet in sheets}
    if thickest is None:
        chosen = surface.board.thickness
    else:
        fitting = [
            thickness
            for thickness in thicknesses
            if thickness <= thickest + figures.length("PA-near")
        ]
        chosen = max(fitting, default=min(thicknesses, default=Nm(0)))
    return min(
        (sheet for sheet in sheets if sheet.thickness == chosen),
        key=lambda sheet: (Fraction(sheet.price, sheet.width * sheet.length), -sheet.length),
        default=None,
    )


def sheet_share(area: Fraction, sheet: SheetOnSale) -> Amount:
    """Return the share of sheets that `area` (square nanometres) is. Whole sheets are bought for
    all rooms at once."""
    return Amount(area / (sheet.width * sheet.length), "each")
