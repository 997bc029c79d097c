"""Writes to what is on sale: stores, materials, packs, sheets, prices, and the sheets already
here."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.db.models import Max
from django.utils import timezone

from remodel.bridge import records
from remodel.bridge.lengths import Amount
from remodel.history.errors import Refused
from remodel.history.services import By, change, create, recorded, remove
from remodel.house.checks import refusing
from remodel.house.models import House
from remodel.house.queries import new_key, taken_keys
from remodel.supply.models import BoardKind, Material, OwnedSheet, Pack, Priced, SheetOnSale, Store

__all__ = [
    "board_kind_change",
    "material_add",
    "material_change",
    "owned_sheet_add",
    "owned_sheet_change",
    "owned_sheet_remove",
    "pack_add",
    "pack_change",
    "pack_remove",
    "prices_confirm",
    "prices_set",
    "sheet_add",
    "sheet_change",
    "sheet_remove",
    "store_add",
    "store_change",
    "store_remove",
]


@recorded("added a store")
def store_add(*, by: By, house: House, name: str, note: str = "") -> Store:
    if not name.strip():
        raise Refused("Name the store, like Mill Street Lumber", field="name")
    return create(Store(house=house, name=name.strip(), note=note))


@recorded("changed a store")
def store_change(*, by: By, store: Store, **values: Any) -> Store:
    return change(store, **values)


@recorded("removed a store")
def store_remove(*, by: By, store: Store) -> Store:
    """Remove a store nothing is bought at."""
    if (
        SheetOnSale.objects.filter(store=store).exists()
        or Pack.objects.filter(store=store).exists()
    ):
        raise Refused("Things are bought at this store; give them another store first")
    return remove(store)


@recorded("added a material")
def material_add(
    *, by: By, house: House, name: str, pack: dict[str, Any], cut: bool = False
) -> Material:
    """Add a material with its first pack (see `pack_add`)."""
    if not name.strip():
        raise Refused("Name the material, like Acoustic sealant", field="name")
    key = new_key(name, taken_keys(Material, house=house), fallback="material")
    row = create(
        Material(house=house, key=key, name=name.strip(), cut=cut, position=_next(house.materials))
    )
    pack_add(by=by, material=row, **pack)
    return row


@recorded("changed a material")
def material_change(*, by: By, material: Material, **values: Any) -> Material:
    return change(material, **values)


@recorded("changed a kind of board")
def board_kind_change(*, by: By, kind: BoardKind, **values: Any) -> BoardKind:
    return change(kind, **values)


@recorded("added a pack")
def pack_add(
    *, by: By, material: Material, name: str, holds: Amount, price: int, **values: Any
) -> Pack:
    """Add what a store sells as one; a price that a person enters is confirmed by that."""
    if holds.value <= 0:
        raise Refused("A pack must hold more than zero, like 4.5 gal", field="holds")
    _check_price(price)
    if material.packs.filter(name=name.strip()).exists():
        raise Refused(
            f"There is a pack called {name.strip()} already; add the store's name to it",
            field="name",
        )
    row = create(
        Pack(
            material=material,
            name=name.strip(),
            numerator=holds.value.numerator,
            denominator=holds.value.denominator,
            unit=holds.unit,
            price=price,
            confirmed_at=timezone.now(),
            position=_next(material.packs),
            **values,
        )
    )
    _note_samples(material.house)
    return row


@recorded("changed a pack")
def pack_change(*, by: By, pack: Pack, holds: Amount | None = None, **values: Any) -> Pack:
    """Change a pack; giving its price confirms it, the same price too."""
    if holds is not None:
        values |= {
            "numerator": holds.value.numerator,
            "denominator": holds.value.denominator,
            "unit": holds.unit,
        }
    row = change(pack, **_confirmed(values))
    _note_samples(pack.material.house)
    return row


@recorded("removed a pack")
def pack_remove(*, by: By, pack: Pack) -> Pack:
    """Remove a pack; a material keeps at least one."""
    if not pack.material.packs.exclude(pk=pack.pk).exists():
        raise Refused(f"{pack.material} must keep a pack to buy it in; add another first")
    row = remove(pack)
    _note_samples(pack.material.house)
    return row


@recorded("added a sheet")
def sheet_add(
    *,
    by: By,
    house: House,
    board: str,
    thickness: int,
    width: int,
    length: int,
    price: int,
    **values: Any,
) -> SheetOnSale:
    """Put a sheet on sale: a size that a store has, with its price."""
    _check_price(price)
    _check_board(house, board)
    if width > length:
        raise Refused(
            "A sheet's width must be at most its length, like 48 in by 8 ft", field="width"
        )
    row = create(
        SheetOnSale(
            house=house,
            board=board,
            thickness=thickness,
            width=width,
            length=length,
            price=price,
            confirmed_at=timezone.now(),
            position=_next(house.sheets),
            **values,
        )
    )
    _note_samples(house)
    return row


@recorded("changed a sheet")
def sheet_change(*, by: By, sheet: SheetOnSale, **values: Any) -> SheetOnSale:
    """Change a sheet on sale; giving its price confirms it, the same price too."""
    row = change(sheet, **_confirmed(values))
    _note_samples(sheet.house)
    return row


@recorded("took a sheet off the list")
def sheet_remove(*, by: By, sheet: SheetOnSale) -> SheetOnSale:
    """Take a size off the list, because no store here has it."""
    row = remove(sheet)
    _note_samples(sheet.house)
    return row


@recorded("confirmed prices")
def prices_confirm(
    *, by: By, house: House, priced: Iterable[Priced], store: Store | None = None
) -> House:
    """Say that prices are a store's own as they stand."""
    now = timezone.now()
    for row in priced:
        change(row, confirmed_at=now, store=store or row.store)
    return _note_samples(house)


@recorded("set prices")
def prices_set(
    *,
    by: By,
    house: House,
    prices: Iterable[tuple[Priced, int]],
    gone: Iterable[Priced] = (),
    store: Store | None = None,
) -> House:
    """Give prices as a person read them in the store, each (what, cents), and take away what no
    store here has. All or nothing; a price given is confirmed."""
    for row, price in prices:
        if isinstance(row, Pack):
            pack_change(by=by, pack=row, price=price, store=store)
        elif isinstance(row, SheetOnSale):
            sheet_change(by=by, sheet=row, price=price, store=store)
    for row in gone:
        if isinstance(row, Pack):
            pack_remove(by=by, pack=row)
        elif isinstance(row, SheetOnSale):
            sheet_remove(by=by, sheet=row)
    return _note_samples(house)


@recorded("noted sheets on hand")
def owned_sheet_add(*, by: By, house: House, board: str, **values: Any) -> OwnedSheet:
    """Note sheets or offcuts that are here: thickness, width, length, count, factory_edges."""
    _check_board(house, board)
    key = new_key(board, taken_keys(OwnedSheet, house=house), prefix="here", fallback="sheet")
    row = OwnedSheet(
        house=house, key=key, board=board, position=_next(house.owned_sheets), **values
    )
    with refusing():
        records.check_row(row)
    return create(row)


@recorded("changed sheets on hand")
def owned_sheet_change(*, by: By, sheet: OwnedSheet, **values: Any) -> OwnedSheet:
    row = change(sheet, **values)
    with refusing():
        records.check_row(row)
    return row


@recorded("took away sheets on hand")
def owned_sheet_remove(*, by: By, sheet: OwnedSheet) -> OwnedSheet:
    return remove(sheet)


def _confirmed(values: dict[str, Any]) -> dict[str, Any]:
    if "price" in values:
        _check_price(values["price"])
        values["confirmed_at"] = timezone.now()
    return values


def _check_price(price: int) -> None:
    if not 0 <= price <= 10**9:
        raise Refused("A price must be zero or more, like 14.50", field="price")


def _check_board(house: House, board: str) -> None:
    if not house.board_kinds.filter(key=board).exists():
        raise Refused("Choose a kind of board from the list", field="board")


def _note_samples(house: House) -> House:
    """Keep the house's mark true: sample prices as long as any price is one."""
    sample = (
        SheetOnSale.objects.filter(house=house, confirmed_at=None).exists()
        or Pack.objects.filter(
            material__house=house, material__deleted_at=None, confirmed_at=None
        ).exists()
    )
    return change(house, sample_prices=sample)


def _next(rows_: Any) -> int:
    last = rows_.aggregate(last=Max("position"))["last"]
    return 0 if last is None else last + 1
