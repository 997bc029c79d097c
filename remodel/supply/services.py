"""Writes to what is on sale (stores, materials, packs, sheets, prices) and to the sheets already
here."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from itertools import count
from typing import Any

from django.db.models import Max
from django.utils import timezone

from remodel.board.queries import planned_offcuts
from remodel.bridge import lengths, records
from remodel.bridge.lengths import Amount
from remodel.bridge.sheet_lists import PlannedFrom
from remodel.history.errors import Refused
from remodel.history.services import By, change, create, recorded, remove
from remodel.house.checks import refusing
from remodel.house.models import House
from remodel.house.queries import new_key, taken_keys
from remodel.supply.models import BoardKind, Material, OwnedSheet, Pack, Priced, SheetOnSale, Store

__all__ = [
    "PriceRead",
    "board_kind_change",
    "check_waits",
    "largest_sheet",
    "material_add",
    "material_change",
    "owned_sheet_add",
    "owned_sheet_change",
    "owned_sheet_gone",
    "owned_sheet_remove",
    "pack_add",
    "pack_change",
    "pack_remove",
    "prices_bring_in",
    "prices_confirm",
    "prices_set",
    "sheet_add",
    "sheet_change",
    "sheet_remove",
    "store_add",
    "store_change",
    "store_remove",
    "waiting_for",
    "waits_words",
]

# What of an offcut decides which pieces can be cut out of it.
_SIZE = ("board", "thickness", "width", "length", "factory_edges")


@recorded("added a store")
def store_add(*, by: By, house: House, name: str, phone: str = "", note: str = "") -> Store:
    if not name.strip():
        raise Refused("Name the store, for example Mill Street Lumber", field="name")
    return create(Store(house=house, name=name.strip(), phone=phone, note=note))


@recorded("changed a store")
def store_change(*, by: By, store: Store, **values: Any) -> Store:
    return change(store, **values)


@recorded("removed a store")
def store_remove(*, by: By, store: Store) -> Store:
    """Remove a store at which nothing is bought."""
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
        raise Refused("Name the material, for example Acoustic sealant", field="name")
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
    """Add a pack of a material. A price that a person enters counts as confirmed."""
    if holds.value <= 0:
        raise Refused("A pack must hold more than zero, for example 4.5 gal", field="holds")
    _check_price(price)
    store = values.get("store")
    if store is not None and material.packs.filter(name=name.strip()).exclude(store=store).exists():
        name = f"{name.strip()}, {store.name}"  # the same package at another store
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
    """Change a pack. Giving its price confirms it, even where the price stays the same."""
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
    """Remove a pack. A material keeps at least one."""
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
    """Put a sheet on sale, with its size and its price."""
    _check_price(price)
    _check_board(house, board)
    if width > length:
        raise Refused(
            "A sheet's width must be at most its length, for example 48 in by 8 ft", field="width"
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
    """Change a sheet on sale. Giving its price confirms it, even where the price stays the same."""
    row = change(sheet, **_confirmed(values))
    _note_samples(sheet.house)
    return row


@recorded("took a sheet off the list")
def sheet_remove(*, by: By, sheet: SheetOnSale) -> SheetOnSale:
    """Take a sheet off sale, because no store here has it."""
    row = remove(sheet)
    _note_samples(sheet.house)
    return row


@recorded("confirmed prices")
def prices_confirm(
    *, by: By, house: House, priced: Iterable[Priced], store: Store | None = None
) -> House:
    """Confirm prices as a store's own, as they stand."""
    now = timezone.now()
    for row in priced:
        change(row, confirmed_at=now, store=store or row.store)
    return _note_samples(house)


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceRead:
    """A price that a file says: of a row on sale, in cents, at a store or none. Where the row is
    another store's, the price is one beside it."""

    row: Priced
    price: int
    store: Store | None


@recorded("brought prices in")
def prices_bring_in(*, by: By, house: House, prices: Iterable[PriceRead]) -> House:
    """Set prices as a file says them, all or nothing. Each counts as confirmed."""
    for read in prices:
        _check_price(read.price)
        row = read.row
        if row.store_id is None or (read.store and row.store_id == read.store.pk):
            change(row, price=read.price, store=read.store, confirmed_at=timezone.now())
        elif read.store is not None:
            _beside(row, read.store, read.price)
        else:
            change(row, price=read.price, confirmed_at=timezone.now())
    return _note_samples(house)


def _beside(row: Priced, store: Store, price: int) -> Priced:
    """The same thing at another store."""
    own: dict[str, Any] = {"store": store, "price": price, "confirmed_at": timezone.now()}
    if isinstance(row, SheetOnSale):
        own |= {"house": row.house, "position": _next(row.house.sheets)}
        same = ("board", "thickness", "width", "length")
    else:
        assert isinstance(row, Pack)
        name = row.name.removesuffix(f", {row.store.name}") if row.store else row.name
        own |= {
            "material": row.material,
            "name": f"{name}, {store.name}"[:200],
            "position": _next(row.material.packs),
        }
        same = ("numerator", "denominator", "unit", "weight")
    return create(type(row)(**own, **{field: getattr(row, field) for field in same}))


@recorded("set prices")
def prices_set(
    *,
    by: By,
    house: House,
    prices: Iterable[tuple[Priced, int]],
    gone: Iterable[Priced] = (),
    store: Store | None = None,
    keep_stores: bool = False,
    chosen: Mapping[Any, bool] | None = None,
) -> House:
    """Set prices as a person read them in the store, each as (row, cents), and take off sale the
    rows in `gone`, which no store here has. With `keep_stores` each row stays at its own store.
    `chosen` says of rows, by their keys, whether they are bought although another is cheaper.

    All or nothing. A price that is given counts as confirmed.
    """
    chosen = chosen or {}
    for row, price in prices:
        values: dict[str, Any] = {"price": price}
        if not keep_stores:
            values["store"] = store
        if row.pk in chosen:
            values["chosen"] = chosen[row.pk]
        if isinstance(row, Pack):
            pack_change(by=by, pack=row, **values)
        elif isinstance(row, SheetOnSale):
            sheet_change(by=by, sheet=row, **values)
    for row in gone:
        if isinstance(row, Pack):
            pack_remove(by=by, pack=row)
        elif isinstance(row, SheetOnSale):
            sheet_remove(by=by, sheet=row)
    return _note_samples(house)


@recorded("noted sheets on hand")
def owned_sheet_add(
    *, by: By, house: House, board: str, mark: str = "", **values: Any
) -> OwnedSheet:
    """Note offcuts that are here: thickness, width, length, count, factory_edges, made_by, place.
    `mark` is what is written on one that was left of a sheet. One that is larger than any sheet of
    its board is refused."""
    _check_board(house, board)
    taken = taken_keys(OwnedSheet, house=house)
    key = mark if mark and mark not in taken else ""
    key = key or next(key for n in count(1) if (key := f"offcut-{n}") not in taken)
    row = OwnedSheet(
        house=house, key=key, board=board, position=_next(house.owned_sheets), **values
    )
    _check_owned(row)
    return create(row)


@recorded("changed sheets on hand")
def owned_sheet_change(
    *, by: By, sheet: OwnedSheet, knowing: Collection[str] = (), **values: Any
) -> OwnedSheet:
    """Change an offcut as it was written down. As many as were cut or thrown away stay. Of another
    size, or of fewer, it is changed `knowing` the pieces that wait for it (see `check_waits`)."""
    gone = sheet.cut_up + sheet.spoiled
    if values.get("count", gone) < gone:
        raise Refused(
            f"{gone} of these {'is' if gone == 1 else 'are'} cut or thrown away already; "
            f"enter {gone} or more",
            field="count",
        )
    left = values.get("count", sheet.count) - gone
    if any(values.get(name, getattr(sheet, name)) != getattr(sheet, name) for name in _SIZE):
        left = 0
    check_waits(sheet, left, knowing)
    row = change(sheet, **values)
    _check_owned(row)
    return row


@recorded("threw an offcut away")
def owned_sheet_gone(*, by: By, sheet: OwnedSheet, knowing: Collection[str] = ()) -> OwnedSheet:
    """Note that one offcut of a row is gone: broken, wet, thrown away. One that pieces wait for is
    thrown away `knowing` them (see `check_waits`)."""
    if not sheet.here:
        raise Refused("None of these is here any more")
    check_waits(sheet, sheet.here - 1, knowing)
    return change(sheet, spoiled=sheet.spoiled + 1)


@recorded("took away sheets on hand")
def owned_sheet_remove(*, by: By, sheet: OwnedSheet, knowing: Collection[str] = ()) -> OwnedSheet:
    """Remove an offcut that was written down wrongly; one that was cut stays. One that pieces wait
    for is removed `knowing` them (see `check_waits`)."""
    if sheet.cut_up:
        raise Refused(
            f"{sheet.cut_up} of these {'is' if sheet.cut_up == 1 else 'are'} cut already, so the "
            "entry stays; mark the rest as gone instead"
        )
    check_waits(sheet, 0, knowing)
    return remove(sheet)


def waiting_for(sheet: OwnedSheet) -> list[PlannedFrom]:
    """What plans that stand cut out of an offcut."""
    return [one for one in planned_offcuts(sheet.house_id).get(sheet.key, ()) if one.stands]


def waits_words(waiting: Iterable[PlannedFrom]) -> str:
    """Which pieces wait for an offcut, and what becomes of them without it, in two sentences."""
    waiting = list(waiting)
    words = " and ".join(one.words for one in waiting)
    several = sum(len(one.pieces) for one in waiting) > 1
    are, they = ("are", "they are") if several else ("is", "it is")
    return (
        f"{words} {are} to be cut from this offcut. Without it, {they} cut from another sheet, "
        "which may have to be bought"
    )


def check_waits(sheet: OwnedSheet, left: int, knowing: Collection[str]) -> None:
    """Raise `Refused` where so few of an offcut would be `left` that pieces of plans that stand
    wait in vain, unless the person was told of them: `knowing` are the marks of those."""
    if left >= sheet.here:
        return
    waiting = waiting_for(sheet)
    if len(waiting) > left and {code for one in waiting for code in one.codes} - set(knowing):
        raise Refused(waits_words(waiting))


def largest_sheet(house: House, board: str, thickness: int) -> tuple[int, int] | None:
    """The width and length of the largest sheet of a board on sale; None where none is."""
    return (
        SheetOnSale.objects.filter(house=house, board=board, thickness=thickness)
        .order_by("-length", "-width")
        .values_list("width", "length")
        .first()
    )


def _check_owned(row: OwnedSheet) -> None:
    """Refuse an offcut that cannot be, or that comes out of no sheet of its board on sale."""
    with refusing():
        records.check_row(row)
    sizes = SheetOnSale.objects.filter(
        house=row.house, board=row.board, thickness=row.thickness
    ).values_list("width", "length")
    short, long = sorted((row.width, row.length))
    if sizes and not any(short <= width and long <= length for width, length in sizes):
        largest = largest_sheet(row.house, row.board, row.thickness)
        assert largest is not None
        width, length = (lengths.show_length(size, row.house.units) for size in largest)
        raise Refused(
            f"The largest sheet of this board is {width} by {length}; an offcut of it is no larger",
            field="length",
        )


def _confirmed(values: dict[str, Any]) -> dict[str, Any]:
    if "price" in values:
        _check_price(values["price"])
        values["confirmed_at"] = timezone.now()
    return values


def _check_price(price: int) -> None:
    if not 0 <= price <= 10**9:
        raise Refused("A price must be zero or more, for example 14.50", field="price")


def _check_board(house: House, board: str) -> None:
    if not house.board_kinds.filter(key=board).exists():
        raise Refused("Choose a kind of board from the list", field="board")


def _note_samples(house: House) -> House:
    """Keep the house's mark of sample prices true: it stands as long as any price is a sample."""
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
