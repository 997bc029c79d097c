"""Prices as a table for a spreadsheet: taken out, and read back with what is wrong row by row."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.core.exceptions import ValidationError

from remodel.bridge.supply import sheet_sizes
from remodel.house.models import House
from remodel.spreadsheet import Value, money_cell
from remodel.supply.models import BoardKind, Material, Pack, Priced, SheetOnSale, Store
from remodel.supply.services import PriceRead
from remodel.web.fields import MoneyField

__all__ = ["HEADER", "Wrong", "price_rows", "read_prices", "thing_of"]

HEADER = ("Item", "Size or package", "Store", "Price", "Sample")
_MOST_WRONG = 100


@dataclass(frozen=True, slots=True)
class Wrong:
    """What is wrong in a row of a file, counted as a spreadsheet counts it."""

    row: int
    text: str


@dataclass(frozen=True, slots=True)
class _Thing:
    item: str
    size: str


def thing_of(row: Priced, kinds: Mapping[str, str]) -> _Thing:
    """How the table names what a row prices: the item, and its size or package without the store
    that some packages are named for."""
    if isinstance(row, SheetOnSale):
        thickness, size = sheet_sizes(row.thickness, row.width, row.length)
        return _Thing(f"{kinds.get(row.board, row.board)}, {thickness}", size)
    assert isinstance(row, Pack)
    name = row.name
    if row.store is not None:
        name = name.removesuffix(f", {row.store.name}")
    return _Thing(row.material.name, name)


def price_rows(house: House) -> Iterator[Sequence[Value]]:
    """All that is on sale, a row a price."""
    kinds = _kinds(house)
    for row in _on_sale(house):
        thing = thing_of(row, kinds)
        store = row.store.name if row.store else ""
        yield (
            thing.item,
            thing.size,
            store,
            money_cell(row.price),
            "yes" if row.is_sample else "",
        )


def read_prices(house: House, rows: Sequence[Sequence[str]]) -> tuple[list[PriceRead], list[Wrong]]:
    """The prices of a file that are not what they were, and what is wrong in it. An empty price
    leaves a row as it is; a price, or a sample whose "yes" is gone, is the store's own."""
    at = _columns(rows[0] if rows else ())
    if isinstance(at, str):
        return [], [Wrong(1, at)]
    reader = _Reader(house, at)
    read: list[PriceRead] = []
    wrong: list[Wrong] = []
    seen: dict[Any, int] = {}
    for number, row in enumerate(rows[1:], start=2):
        if not any(row):
            continue
        try:
            one = reader.read(row)
        except ValueError as error:
            wrong.append(Wrong(number, str(error)))
            continue
        if one is None:
            continue
        key = (one.row.pk, one.store.pk if one.store else None)
        if key in seen:
            wrong.append(Wrong(number, f"The same price stands in row {seen[key]}. Take one out."))
        seen.setdefault(key, number)
        read.append(one)
    return read, wrong[:_MOST_WRONG]


def _columns(header: Iterable[str]) -> dict[str, int] | str:
    at = {text.strip().casefold(): place for place, text in enumerate(header)}
    missing = [name for name in HEADER[:4] if name.casefold() not in at]
    if missing:
        names = ", ".join(f'"{name}"' for name in HEADER)
        return f'There is no column "{missing[0]}". The first row must name the columns: {names}.'
    return {name: at[name.casefold()] for name in HEADER if name.casefold() in at}


class _Reader:
    """Reads rows against what is on sale in a house."""

    def __init__(self, house: House, at: Mapping[str, int]) -> None:
        self._at = at
        self._stores = {store.name.casefold(): store for store in house.stores.all()}
        kinds = _kinds(house)
        self._rows: dict[tuple[str, str], list[Priced]] = {}
        self._items: dict[str, str] = {}
        for row in _on_sale(house):
            thing = thing_of(row, kinds)
            self._rows.setdefault((thing.item.casefold(), thing.size.casefold()), []).append(row)
            self._items.setdefault(thing.item.casefold(), thing.size)
        self._money = MoneyField(label="Price", required=False, example="14.98")

    def read(self, row: Sequence[str]) -> PriceRead | None:
        """The change that a row asks for; None where it asks for none. Raises `ValueError` with
        what to enter."""
        item, size, store_name, price_text = (self._text(row, name) for name in HEADER[:4])
        if not item:
            raise ValueError('"Item" is empty. Enter what it is, as in the table you took out.')
        if item.casefold() not in self._items:
            raise ValueError(
                f'"Item" is not on the list: {item[:60]}. Add it under Store prices first, or '
                "write it as in the table you took out."
            )
        rows = self._rows.get((item.casefold(), size.casefold()))
        if rows is None:
            raise ValueError(
                f'"Size or package" is not on the list: {size[:60] or "empty"}. Enter, for '
                f"example, {self._items[item.casefold()]}."
            )
        store = self._store(store_name)
        try:
            price = self._money.clean(price_text)
        except ValidationError as error:
            raise ValueError(f"{error.messages[0]}.") from None
        if price is None:
            return None
        mine = self._row_at(rows, store)
        same = mine.store_id == (store.pk if store else None)
        sample = "Sample" in self._at and bool(self._text(row, "Sample"))
        if same and price == mine.price and (sample or not mine.is_sample):
            return None
        return PriceRead(row=mine, price=price, store=store)

    @staticmethod
    def _row_at(rows: Sequence[Priced], store: Store | None) -> Priced:
        """The row of that store; else one that is no store's yet, else any that it is like."""
        pk = store.pk if store else None
        at_store = [row for row in rows if row.store_id == pk]
        nobodys = [row for row in rows if row.store_id is None]
        return (at_store or nobodys or list(rows))[0]

    def _store(self, name: str) -> Store | None:
        if not name:
            return None
        store = self._stores.get(name.casefold())
        if store is None:
            known = next(iter(self._stores.values()), None)
            example = f"enter, for example, {known.name}" if known else "leave it empty"
            raise ValueError(
                f'"Store" names none of this house: {name[:60]}. Add the store under Store prices '
                f"first, or {example}."
            )
        return store

    def _text(self, row: Sequence[str], name: str) -> str:
        place = self._at.get(name)
        return row[place].strip() if place is not None and place < len(row) else ""


def _kinds(house: House) -> dict[str, str]:
    return dict(BoardKind.objects.filter(house=house).values_list("key", "name"))


def _on_sale(house: House) -> list[Priced]:
    sheets = SheetOnSale.objects.filter(house=house).select_related("store")
    materials = Material.objects.filter(house=house)
    packs = (
        Pack.objects.filter(material__in=materials)
        .select_related("store", "material")
        .order_by("material__position", "position", "id")
    )
    return [
        *sorted(sheets, key=lambda one: (one.board, one.thickness, one.width, one.length)),
        *packs,
    ]
