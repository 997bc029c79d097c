"""What a need is called on the shelf, and what it costs at the cheapest price of a unit, before
whole packs."""

from __future__ import annotations

from fractions import Fraction

from takeoff.catalogue import Catalogue, Pack, SheetOnSale
from takeoff.house import House
from takeoff.needs.materials import material_name, sheet_id, sheet_name
from takeoff.needs.need import Need
from takeoff.quantities import Cents, convert, same_kind

__all__ = ["UnitPrices"]


class UnitPrices:
    """The names of what is on sale for a house, and the cheapest price of a unit of each."""

    def __init__(self, house: House) -> None:
        self._packs: dict[str, tuple[str, tuple[Pack, ...]]] = {
            material.id: (material.name, material.packs) for material in house.catalogue.materials
        }
        sheets = house.catalogue.sheets if house.rules.sheets is None else house.rules.sheets
        self._sheets: dict[str, tuple[str, Cents]] = {
            sheet_id(sheet.board, sheet.thickness, sheet.width, sheet.length): (
                _name(sheet, house.catalogue),
                sheet.price,
            )
            for sheet in sheets
        }

    def has_sheet(self, item: str) -> bool:
        """Whether a whole sheet of that item is on sale."""
        return item in self._sheets

    def of(self, need: Need) -> tuple[str, Fraction | None]:
        """The name of what meets a need, and its cost in cents; None where nothing on sale does."""
        if need.material in self._sheets:
            name, price = self._sheets[need.material]
            return name, need.amount.value * price
        name, packs = self._packs.get(need.material, (material_name(need.material), ()))
        a_unit = [
            Fraction(pack.price) / convert(pack.holds, need.amount.unit).value
            for pack in packs
            if same_kind(pack.holds, need.amount)
        ]
        return name, need.amount.value * min(a_unit) if a_unit else None


def _name(sheet: SheetOnSale, catalogue: Catalogue) -> str:
    return sheet_name(catalogue.board(sheet.board).name, sheet.thickness, sheet.width, sheet.length)
