"""What is bought for amounts that are missing: packs on sale, sheets among them, and sticks."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from fractions import Fraction
from functools import lru_cache

from remodel.bridge.supply import item_name
from takeoff.catalogue import Catalogue, MaterialOnSale
from takeoff.cutting.sticks import StickStock, cut_sticks
from takeoff.errors import TakeoffError
from takeoff.packs import cheapest_mix, part_of_mix
from takeoff.quantities import Amount, Cents, convert
from takeoff.rules import Rules
from takeoff.supply import SNIPPED, PackCount, Shelf, counted, stick_length
from takeoff.units import Nm

__all__ = ["NotOnSale", "PackCount", "Shop", "cost_of", "held_by"]

Sticks = Counter[int]


class NotOnSale(Exception):
    """Nothing on sale meets a need; the text says why and what to do."""


class Shop:
    """What is on sale to a house: the names and places of items, and what one buys for an amount
    that is missing. An item is a material or a size of sheet, by its key."""

    def __init__(self, catalogue: Catalogue, rules: Rules) -> None:
        self._catalogue = catalogue
        self._shelf = Shelf(catalogue, catalogue.sheets if rules.sheets is None else rules.sheets)
        self._kerf = rules.kerf
        self.sample = catalogue.sample

    def name(self, item: str) -> str:
        """The name people read, also of a size that is sold no more."""
        material = self._material(item)
        return item_name(item, self._catalogue) if material is None else material.name

    def place(self, item: str) -> int:
        """Where an item stands in a list."""
        return self._shelf.place(item)

    def is_cut(self, item: str) -> bool:
        """Whether an item is cut from sticks."""
        material = self._material(item)
        return material is not None and material.cut

    def kerf(self, item: str) -> Nm:
        return Nm(0) if item in SNIPPED else self._kerf

    def mix(self, item: str, missing: Amount) -> tuple[PackCount, ...]:
        """The cheapest packs that hold what is missing. Raises `NotOnSale`."""
        material = self._on_sale(item)
        try:
            counts = cheapest_mix(missing, material.packs)
        except TakeoffError as error:
            raise NotOnSale(f"{material.name}: {error}") from None
        return _counts(material, counts)

    def part(self, item: str, missing: Amount, mix: Sequence[PackCount]) -> tuple[PackCount, ...]:
        """The cheapest part of a mix that holds what is missing. Raises `NotOnSale`."""
        material = self._on_sale(item)
        by_name = {pack.name: pack.count for pack in mix}
        counts = [by_name.get(pack.name, 0) for pack in material.packs]
        try:
            return _counts(material, part_of_mix(missing, material.packs, counts))
        except TakeoffError as error:
            raise NotOnSale(f"{material.name}: {error}") from None

    def usual(self, item: str) -> Callable[[tuple[int, ...]], Sticks]:
        """Which sticks one would buy for some members; none where they come out of no stick on
        sale."""
        stock = self._sticks(item)
        kerf = self.kerf(item)

        def sticks(members: tuple[int, ...]) -> Sticks:
            try:
                return Counter(dict(_sticks_for(members, stock, kerf)))
            except TakeoffError:
                # More than any stock holds, so that it is never taken for what is there.
                return Counter({max(members): 10**6})

        return sticks

    def sticks(self, item: str, lacking: tuple[int, ...]) -> tuple[PackCount, ...]:
        """The sticks to buy for members that come out of none that is there. Raises
        `NotOnSale`."""
        material = self._on_sale(item)
        stock = self._sticks(item)
        try:
            wanted = dict(_sticks_for(lacking, stock, self.kerf(item)))
        except TakeoffError as error:
            raise NotOnSale(f"{material.name}: {error}") from None
        packs = []
        for pack in sorted(material.packs, key=lambda pack: pack.price):
            count = wanted.pop(stick_length(pack, material), 0)
            if count:
                packs.append(counted(pack, count))
        return tuple(packs)

    def _material(self, item: str) -> MaterialOnSale | None:
        try:
            return self._shelf.material(item)
        except TakeoffError:
            return None

    def _on_sale(self, item: str) -> MaterialOnSale:
        try:
            return self._shelf.material(item)
        except TakeoffError as error:
            raise NotOnSale(f"{self.name(item)}: {error}") from None

    def _sticks(self, item: str) -> tuple[tuple[int, int], ...]:
        material = self._material(item)
        if material is None:
            return ()
        prices: dict[int, int] = {}
        for pack in material.packs:
            length = stick_length(pack, material)
            prices[length] = min(prices.get(length, pack.price), pack.price)
        return tuple(prices.items())


def cost_of(packs: Sequence[PackCount]) -> int:
    """What packs cost, in cents."""
    return sum(pack.price * pack.count for pack in packs)


def held_by(packs: Sequence[PackCount], unit: str) -> Fraction:
    """How much packs hold together, in `unit`."""
    return sum((convert(pack.holds, unit).value * pack.count for pack in packs), start=Fraction(0))


def _counts(material: MaterialOnSale, counts: Sequence[int]) -> tuple[PackCount, ...]:
    return tuple(
        counted(pack, count) for pack, count in zip(material.packs, counts, strict=True) if count
    )


@lru_cache(maxsize=4096)
def _sticks_for(
    members: tuple[int, ...], stock: tuple[tuple[int, int], ...], kerf: Nm
) -> tuple[tuple[int, int], ...]:
    """How many sticks of each length one buys for some members."""
    if not members:
        return ()
    plan = cut_sticks(
        [Nm(length) for length in members],
        [StickStock(Nm(length), Cents(price)) for length, price in stock],
        kerf=kerf,
        prove_best=False,
    )
    return tuple(Counter(int(stick.stock.length) for stick in plan.sticks).items())
