"""Whether an amount in stock can be counted against what is on sale."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from takeoff.catalogue import Catalogue, MaterialOnSale, StockItem
from takeoff.needs.materials import sheet_id
from takeoff.quantities import Amount, convert, same_kind
from takeoff.rules import Rules
from takeoff.units import FOOT

__all__ = ["OnSale"]

_EACH = Amount(Fraction(1), "each")
_FOOT = Amount(Fraction(1), "ft")
_LARGEST = 2**63  # what a database column holds of either part of a fraction


@dataclass(frozen=True, slots=True)
class OnSale:
    """What stock can be of: the materials on sale, and each sheet on sale by its id."""

    materials: Mapping[str, MaterialOnSale]
    sheets: frozenset[str]

    @classmethod
    def of(cls, catalogue: Catalogue, rules: Rules) -> OnSale:
        sheets = catalogue.sheets if rules.sheets is None else rules.sheets
        return cls(
            {material.id: material for material in catalogue.materials},
            frozenset(
                sheet_id(sheet.board, sheet.thickness, sheet.width, sheet.length)
                for sheet in sheets
            ),
        )

    def has(self, item: str) -> bool:
        return item in self.materials or item in self.sheets

    def wrong_amount(self, item: StockItem) -> str:
        """What to enter in place of an amount that cannot be counted; empty where it can be, and
        where the item itself is not known."""
        amount = item.amount
        if max(amount.value.numerator, amount.value.denominator) >= _LARGEST:
            return "This has too many digits; give fewer, for example 4.5 gal"
        material = self.materials.get(item.material)
        if material is not None and item.material not in self.sheets and material.cut:
            # The second half converts, so it is asked of lengths alone.
            is_length = same_kind(amount, _FOOT) and amount.value > 0
            if is_length and (convert(amount, "ft").value * FOOT).denominator == 1:
                return ""
            return (
                f"{material.name} is counted stick by stick; give each stick its length, "
                "for example 8 ft"
            )
        return self.wrong_kind(item.material, amount)

    def wrong_kind(self, item: str, amount: Amount) -> str:
        """What to enter in place of an amount of another kind than the item is sold by; empty where
        it is of that kind, and where the item itself is not known."""
        if item in self.sheets:
            return (
                ""
                if same_kind(amount, _EACH)
                else "Sheets are counted; say how many, for example 3 each"
            )
        material = self.materials.get(item)
        if material is None or any(same_kind(amount, pack.holds) for pack in material.packs):
            return ""
        unit = material.packs[0].holds.unit
        if unit == "each":
            return f"{material.name} is counted; say how many, for example 3 each"
        return (
            f"{material.name} is sold by the {unit}; give an amount in that, for example 3 {unit}"
        )
