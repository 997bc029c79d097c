"""Your store's lengths and prices."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse, QueryDict
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from remodel.bridge.on_sale import in_use, pack_content, sheet_size
from remodel.bridge.records import rules_of
from remodel.bridge.supply import sheet_sizes, size_of_sheet
from remodel.history.errors import Refused
from remodel.history.services import By
from remodel.house.models import House
from remodel.house.services import house_set_rules
from remodel.pages.editing import Seen, edit, offer_undo, page, posted
from remodel.pages.supply.forms import (
    ConfirmForm,
    LongestForm,
    MaterialForm,
    PackForm,
    PriceFileForm,
    PricesForm,
    SheetForm,
    StoreForm,
)
from remodel.pages.supply.price_table import HEADER, price_rows, read_prices
from remodel.people.http import SiteRequest
from remodel.people.queries import house_for, row_for
from remodel.spreadsheet import csv_answer
from remodel.supply import services
from remodel.supply.models import BoardKind, Material, Pack, Priced, SheetOnSale, Store
from remodel.supply.queries import cost_of_items
from remodel.web.responses import go
from remodel.web.templatetags.halfbay import money
from remodel.workbook import NotATable, rows_of_file, xlsx_answer

__all__ = [
    "price_bring_in",
    "price_confirm",
    "price_list",
    "price_longest",
    "price_material",
    "price_material_add",
    "price_pack_add",
    "price_sheet_add",
    "price_sheets",
    "price_table_csv",
    "price_table_xlsx",
    "store_add",
    "store_change",
    "store_remove",
]


_USED_FIRST = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Sizes of one board, or packs of one material, which are priced together. `rows` are pairs:
    the words for it, and its row. `bought` are the rows that are used, where several stores sell
    one thing."""

    name: str
    key: str
    thickness: int
    rows: tuple[tuple[str, Priced], ...]
    bought: frozenset[UUID] = frozenset()

    @property
    def samples(self) -> int:
        return sum(1 for _, row in self.rows if row.is_sample)

    @property
    def stores(self) -> str:
        return ", ".join(sorted({row.store.name for _, row in self.rows if row.store}))


def _board_groups(house: House) -> list[Group]:
    """Every board and thickness on sale: kinds in their order, thin before thick, short before
    long."""
    kinds = {kind.key: kind.name for kind in BoardKind.objects.filter(house=house)}
    sheets: dict[tuple[str, int], list[SheetOnSale]] = {}
    for sheet in SheetOnSale.objects.filter(house=house).select_related("store"):
        sheets.setdefault((sheet.board, sheet.thickness), []).append(sheet)
    order = {key: index for index, key in enumerate(kinds)}
    return [
        Group(
            name=f"{kinds.get(board, board)}, {sheet_sizes(thickness, 0, 0)[0]}",
            key=board,
            thickness=thickness,
            rows=_named_at_stores(
                [
                    (sheet_sizes(thickness, sheet.width, sheet.length)[1], sheet)
                    for sheet in sorted(
                        sheets[board, thickness],
                        key=lambda sheet: (sheet.width, sheet.length, sheet.position),
                    )
                ],
                sheet_size,
            ),
            bought=_bought(sheets[board, thickness], sheet_size),
        )
        for board, thickness in sorted(
            sheets, key=lambda pool: (order.get(pool[0], len(order)), pool[1])
        )
    ]


def _material_groups(house: House) -> list[Group]:
    packs: dict[UUID, list[Pack]] = {}
    for pack in Pack.objects.filter(material__house=house).select_related("store"):
        packs.setdefault(pack.material_id, []).append(pack)
    return [
        Group(
            name=material.name,
            key=str(material.pk),
            thickness=0,
            rows=tuple((pack.name, pack) for pack in packs.get(material.pk, ())),
            bought=_bought(packs.get(material.pk, ()), pack_content),
        )
        for material in Material.objects.filter(house=house)
    ]


def _named_at_stores(
    rows: Sequence[tuple[str, SheetOnSale]], same: Callable[[Any], Hashable]
) -> tuple[tuple[str, Priced], ...]:
    """The rows with the store in the words of those that several stores sell."""
    alike = Counter(same(row) for _, row in rows)
    return tuple(
        (f"{name}, {row.store or 'no store named'}" if alike[same(row)] > 1 else name, row)
        for name, row in rows
    )


def _bought(rows: Iterable[Any], same: Callable[[Any], Hashable]) -> frozenset[UUID]:
    """The rows that are bought, of things that more than one row sells."""
    rows = list(rows)
    alike = Counter(same(row) for row in rows)
    return frozenset(row.pk for row in in_use(rows, same) if alike[same(row)] > 1)


def _used_first(house: House, groups: Sequence[Group]) -> list[Group]:
    """The groups that most money of the house's rooms goes to, dearest first."""
    cost: dict[tuple[str, int], Fraction] = {}
    keys = dict(Material.objects.filter(house=house).values_list("key", "pk"))
    for item, cents in cost_of_items(house).items():
        sheet = size_of_sheet(item)
        key = (sheet[0], int(sheet[1])) if sheet else (str(keys.get(item, "")), 0)
        cost[key] = cost.get(key, Fraction(0)) + cents
    used = [group for group in groups if cost.get((group.key, group.thickness))]
    used.sort(key=lambda group: -cost[group.key, group.thickness])
    return used[:_USED_FIRST]


@require_GET
def price_list(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """Everything on sale with its price, and how many of the prices are a store's own."""
    house = house_for(request.person, house_id)
    boards, materials = _board_groups(house), _material_groups(house)
    priced = [row for group in (*boards, *materials) for _, row in group.rows]
    first = _used_first(house, [*boards, *materials])
    shown = {(group.key, group.thickness) for group in first}

    def rest(groups: Iterable[Group]) -> list[Group]:
        return [group for group in groups if (group.key, group.thickness) not in shown]

    context = {
        "house": house,
        "first": first,
        "boards": rest(boards),
        "materials": rest(materials),
        "stores": list(house.stores.all()),
        "of": len(priced),
        "own": sum(1 for row in priced if not row.is_sample),
        "longest": rules_of(house).longest_board,
    }
    return page(request, "supply/price_list.html", context)


@require_http_methods(["GET", "POST"])
def price_sheets(request: SiteRequest, house_id: UUID, board: str, thickness: int) -> HttpResponse:
    """The sizes of one board in one thickness, with their prices."""
    house = house_for(request.person, house_id, write=True)
    group = next(
        (
            board_group
            for board_group in _board_groups(house)
            if (board_group.key, board_group.thickness) == (board, thickness)
        ),
        None,
    )
    if group is None:
        return go(request, "price-list", house.pk)
    context = {
        "heading": group.name,
        "things": "sizes",
        "add_board": board,
        "add_thickness": thickness,
    }
    return _prices(request, house, group, context)


@require_http_methods(["GET", "POST"])
def price_material(request: SiteRequest, material_id: UUID) -> HttpResponse:
    """The packs of one material, with their prices."""
    material = row_for(
        request.person, Material.objects.all(), material_id, through="house", write=True
    )
    rows = tuple((pack.name, pack) for pack in material.packs.select_related("store", "material"))
    group = Group(name=material.name, key=str(material.pk), thickness=0, rows=rows)
    return _prices(
        request,
        material.house,
        group,
        {"heading": material.name, "things": "packs", "material": material},
    )


def _prices(
    request: SiteRequest, house: House, group: Group, context: dict[str, Any]
) -> HttpResponse:
    rows = [row for _, row in group.rows]
    form = PricesForm(
        posted(request),
        rows=rows,
        names={row.pk: name for name, row in group.rows},
        stores=list(house.stores.all()),
        same=sheet_size if group.thickness else pack_content,
        units=house.units,
        seen=Seen.of(*rows),
    )

    def write(by: By) -> House:
        return services.prices_set(
            by=by,
            house=house,
            prices=form.prices,
            gone=form.gone,
            store=form.cleaned_data.get("store"),
            keep_stores=form.keeps_stores,
            chosen=form.chosen,
        )

    def saved(_: House) -> HttpResponse:
        if form.gone:
            offer_undo(request, f"Took {len(form.gone)} off the list.", form.gone[0])
        return go(request, "price-list", house.pk)

    return edit(
        request,
        form,
        "supply/prices.html",
        {"house": house, **context},
        write=write,
        then=saved,
        needs_of=house,
    )


@require_http_methods(["GET", "POST"])
def price_confirm(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """Sample prices that are right as they stand, ticked and confirmed together."""
    house = house_for(request.person, house_id, write=True)
    samples = [
        (row, f"{group.name}, {name}: {money(row.price, house.currency)}")
        for group in (*_board_groups(house), *_material_groups(house))
        for name, row in group.rows
        if row.is_sample
    ]
    stores = list(house.stores.all())
    seen = Seen.of(*(row for row, _ in samples))
    form = ConfirmForm(
        posted(request), samples=samples, stores=stores, units=house.units, seen=seen
    )
    return edit(
        request,
        form,
        "supply/price_confirm.html",
        {"house": house, "samples": samples},
        write=lambda by: services.prices_confirm(
            by=by, house=house, priced=form.priced, store=form.cleaned_data["store"]
        ),
        then=lambda _: go(request, "price-list", house.pk),
    )


@require_GET
def price_table_csv(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """Everything on sale with its price, for a spreadsheet."""
    house = house_for(request.person, house_id)
    return csv_answer(f"{house.name} prices", HEADER, price_rows(house))


@require_GET
def price_table_xlsx(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """The same table as a workbook."""
    house = house_for(request.person, house_id)
    return xlsx_answer(f"{house.name} prices", HEADER, price_rows(house))


@require_http_methods(["GET", "POST"])
def price_bring_in(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """Bring a table of prices in: all of it, or nothing and what is wrong row by row."""
    house = house_for(request.person, house_id, write=True)
    form = PriceFileForm(posted(request), request.FILES or None, units=house.units)
    context: dict[str, Any] = {"house": house}
    prices: list[services.PriceRead] = []

    def write(by: By) -> House:
        try:
            rows = rows_of_file(form.cleaned_data["file"])
        except NotATable as error:
            raise Refused(f'"Price table" {error}', field="file") from None
        read, wrong = read_prices(house, rows)
        if wrong:
            context["wrong"] = wrong
            rows_wrong = "1 row is" if len(wrong) == 1 else f"{len(wrong)} rows are"
            raise Refused(
                f'"Price table" was not brought in: {rows_wrong} wrong in it. Fix what is listed, '
                "then choose it again",
                field="file",
            )
        prices[:] = read
        return services.prices_bring_in(by=by, house=house, prices=read)

    def brought_in(_: House) -> HttpResponse:
        count = len(prices)
        messages.info(
            request,
            f"Brought in {count} price{'' if count == 1 else 's'}."
            if count
            else "No price in the table differs from yours, so nothing changed.",
        )
        return go(request, "price-list", house.pk)

    return edit(
        request,
        form,
        "supply/price_bring_in.html",
        context,
        write=write,
        then=brought_in,
        needs_of=house,
    )


@require_http_methods(["GET", "POST"])
def price_longest(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """The longest board that gets into the house. Boards and orders take none that is longer."""
    house = house_for(request.person, house_id, write=True)
    initial = {"longest_board": rules_of(house).longest_board}
    form = LongestForm(posted(request), units=house.units, seen=Seen.of(house), initial=initial)
    return edit(
        request,
        form,
        "supply/price_longest.html",
        {"house": house},
        write=lambda by: house_set_rules(by=by, house=house, **form.values),
        then=lambda _: go(request, "price-list", house.pk),
        needs_of=house,
    )


@require_http_methods(["GET", "POST"])
def price_sheet_add(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """Add a sheet size that a store has."""
    house = house_for(request.person, house_id, write=True)
    kinds = [(board_kind.key, board_kind.name) for board_kind in house.board_kinds.all()]
    start = {"board": request.GET.get("board", "")}
    if request.GET.get("thickness", "").isascii() and request.GET.get("thickness", "").isdigit():
        start["thickness"] = min(int(request.GET["thickness"][:12]), 10**11)  # type: ignore[assignment]
    stores = list(house.stores.all())
    form = SheetForm(posted(request), kinds=kinds, stores=stores, units=house.units, initial=start)
    return edit(
        request,
        form,
        "supply/price_add.html",
        {"house": house, "heading": "Add a size of board"},
        write=lambda by: services.sheet_add(by=by, house=house, **form.values),
        then=lambda sheet: go(request, "price-sheets", house.pk, sheet.board, sheet.thickness),
        needs_of=house,
    )


@require_http_methods(["GET", "POST"])
def price_pack_add(request: SiteRequest, material_id: UUID) -> HttpResponse:
    """Add another pack of a material."""
    material = row_for(
        request.person, Material.objects.all(), material_id, through="house", write=True
    )
    house, first = material.house, material.packs.first()
    start = {"unit": first.unit if first else "each"}
    form = PackForm(
        posted(request), stores=list(house.stores.all()), units=house.units, initial=start
    )
    return edit(
        request,
        form,
        "supply/price_add.html",
        {"house": house, "material": material, "heading": f"Add a package of {material.name}"},
        write=lambda by: services.pack_add(by=by, material=material, **form.pack),
        then=lambda _: go(request, "price-material", material.pk),
    )


@require_http_methods(["GET", "POST"])
def price_material_add(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """Add a material that was not on the list, with its first pack."""
    house = house_for(request.person, house_id, write=True)
    stores = list(house.stores.all())
    form = MaterialForm(posted(request), stores=stores, units=house.units, initial={"unit": "each"})

    def write(by: By) -> Material:
        given = form.cleaned_data
        return services.material_add(
            by=by, house=house, name=given["material"], cut=given["cut"], pack=form.pack
        )

    return edit(
        request,
        form,
        "supply/price_add.html",
        {"house": house, "heading": "Add a material"},
        write=write,
        then=lambda material: go(request, "price-material", material.pk),
    )


@require_http_methods(["GET", "POST"])
def store_add(request: SiteRequest, house_id: UUID) -> HttpResponse:
    house = house_for(request.person, house_id, write=True)
    form = StoreForm(posted(request), units=house.units)
    return edit(
        request,
        form,
        "supply/store.html",
        {"house": house},
        write=lambda by: services.store_add(by=by, house=house, **form.values),
        then=lambda _: go(request, "price-list", house.pk),
    )


@require_http_methods(["GET", "POST"])
def store_change(request: SiteRequest, store_id: UUID) -> HttpResponse:
    store = row_for(request.person, Store.objects.all(), store_id, through="house", write=True)
    form = _store_form(store, posted(request))
    return edit(
        request,
        form,
        "supply/store.html",
        {"house": store.house, "store": store},
        write=lambda by: services.store_change(by=by, store=store, **form.values),
        then=lambda store: go(request, "price-list", store.house_id),
    )


def _store_form(store: Store, sent: QueryDict | None = None) -> StoreForm:
    initial = {"name": store.name, "phone": store.phone, "note": store.note}
    return StoreForm(sent, units=store.house.units, seen=Seen.of(store), initial=initial)


@require_POST
def store_remove(request: SiteRequest, store_id: UUID) -> HttpResponse:
    """Remove a store at which nothing is bought."""
    store = row_for(request.person, Store.objects.all(), store_id, through="house", write=True)
    try:
        services.store_remove(by=By(request.person), store=store)
    except Refused as error:
        context = {"house": store.house, "store": store, "refused": str(error)}
        return page(request, "supply/store.html", context, form=_store_form(store), status=422)
    offer_undo(request, f"Removed {store.name}.", store)
    return go(request, "price-list", store.house_id)
