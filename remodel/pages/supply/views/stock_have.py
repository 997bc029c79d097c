"""What we already have: sheets, part packs, sticks and offcuts, noted in one pass."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.views.decorators.http import require_http_methods

from remodel.bridge import lengths
from remodel.bridge.supply import sheet_key, sheet_sizes
from remodel.history.services import By
from remodel.house.models import House
from remodel.pages.editing import edit, posted
from remodel.pages.supply.forms_stock import BoardSize, HaveForm, HaveRow, OffcutRow
from remodel.pages.supply.stock_listing import measures_of, stick_size
from remodel.pages.supply.views.stock_offcuts import boards_on_sale, offcuts_shown
from remodel.people.http import SiteRequest
from remodel.people.queries import house_for
from remodel.supply.having import Had, note_what_is_here
from remodel.supply.ledger import stick_length
from remodel.supply.models import Material, SheetOnSale
from remodel.supply.standing import Standing, standing_of
from remodel.web.responses import go
from remodel.web.row_forms import posted_rows

__all__ = ["stock_have"]

_SPARE = 2
_MOST = 40
_EACH = [("1 each", "pieces")]


@require_http_methods(["GET", "POST"])
def stock_have(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """Note what is here already, or count what is here. Filled in with what the ledger knows."""
    house = house_for(request.person, house_id, write=True)
    standing = standing_of(house)
    rows = [*_sheets(house, standing), *_materials(house, standing)]
    boards, sizes = boards_on_sale(house)
    form = HaveForm(posted(request), rows=rows, units=house.units)
    offcuts = _offcuts(request, house, boards, sizes)
    adding = "add" in request.POST

    def write(by: By) -> House:
        had = Had(
            amounts=form.amounts,
            sticks=form.sticks,
            offcuts=[row.offcut for row in offcuts if not row.empty],
        )
        return note_what_is_here(by=by, house=house, had=had)

    def then(house: House) -> HttpResponse:
        messages.info(request, "Saved: this is what is here.")
        return go(request, "stock-list", house.pk)

    context: dict[str, Any] = {
        "house": house,
        "groups": form.groups,
        "offcuts": offcuts if boards else [],
        "noted": offcuts_shown(house),
        "has_folded": any(row.folded for row in rows),
        "known": any(row.shown for row in rows),
    }
    return edit(
        request,
        form,
        "supply/stock_have.html",
        context,
        write=write,
        then=then,
        more=offcuts,
        saving=not adding,
        fields=form.field_of,
    )


def _sheets(house: House, standing: Standing) -> Iterator[HaveRow]:
    """Every size on sale by its board, boards that the rooms take first, and sizes that are here
    and sold no more."""
    kinds = {kind.key: kind for kind in house.board_kinds.all()}
    sold = {
        sheet_key(sheet.board, sheet.thickness, sheet.width, sheet.length): sheet
        for sheet in SheetOnSale.objects.filter(house=house)
    }
    wanted = {
        (sheet.board, sheet.thickness)
        for item, sheet in sold.items()
        if item in standing.needs or item in standing.here
    }

    def place(item: str) -> tuple[bool, int]:
        sheet = sold[item]
        return (sheet.board, sheet.thickness) not in wanted, standing.shop.place(item)

    for item in sorted(sold, key=place):
        sheet = sold[item]
        thickness, size = sheet_sizes(sheet.thickness, sheet.width, sheet.length)
        kind = kinds.get(sheet.board)
        yield HaveRow(
            item=item,
            name=size,
            group=f"{kind.name if kind else sheet.board}, {thickness}",
            measures=_EACH,
            shown=_shown(standing, item),
            whole=True,
            folded=(sheet.board, sheet.thickness) not in wanted,
        )
    for item in standing.here:
        if item.startswith("sheet-") and item not in sold:
            yield HaveRow(
                item=item,
                name=standing.shop.name(item),
                group="Other sheets",
                measures=_EACH,
                shown=_shown(standing, item),
                whole=True,
            )


def _materials(house: House, standing: Standing) -> Iterator[HaveRow]:
    """What the rooms take other than sheets, and what is here of it; all there is where no room
    takes anything yet."""
    known = {item for item in standing.items if not item.startswith("sheet-")}
    materials = Material.objects.filter(house=house).prefetch_related("packs")
    for material in materials:
        if known and material.key not in known:
            continue
        here = standing.here.get(material.key)
        sticks = here.sticks if here else {}
        unit = standing.units.get(material.key, "each")
        measures = measures_of(material, unit, sticks, house.units)
        if material.cut:
            yield from _sticks(material, measures, sticks, house.units)
            continue
        shown = _shown(standing, material.key)
        yield HaveRow(
            item=material.key,
            name=material.name,
            group="Materials",
            measures=measures,
            # What is known is shown in its unit; what is not is most likely a part of a pack.
            chosen=measures[0][0] if shown else measures[-1 if len(measures) < 3 else 1][0],
            shown=shown,
        )


def _sticks(
    material: Material, measures: list[tuple[str, str]], here: Any, units: str
) -> Iterator[HaveRow]:
    for value, _ in measures:
        length = stick_length(lengths.parse_amount(value))
        words = stick_size(length, units)
        yield HaveRow(
            item=material.key,
            name=f"{material.name}, {words}",
            group="Sticks",
            measures=[(value, words)],
            shown=str(here[length]) if here.get(length, 0) > 0 else "",
            whole=True,
            length=length,
        )


def _shown(standing: Standing, item: str) -> str:
    """What the ledger has of an item as its box shows it; empty where it knows of none."""
    here = standing.here.get(item)
    if here is None or here.amount <= 0:
        return ""
    if here.unit == "each":
        return str(round(here.amount))
    return f"{float(here.amount):.2f}".rstrip("0").rstrip(".")


def _offcuts(
    request: SiteRequest,
    house: House,
    boards: list[tuple[str, str]],
    sizes: list[BoardSize],
) -> list[OffcutRow]:
    """A row of fields for each offcut that was typed, or a few spare ones."""
    shared: dict[str, Any] = {"boards": boards, "sheets": sizes, "units": house.units}
    if request.method != "POST":
        return [
            OffcutRow(prefix=f"offcut-{index}", number=index + 1, **shared)
            for index in range(_SPARE)
        ]
    after = None
    if "add" in request.POST:
        after = len(posted_rows(request.POST, "offcut", most=_MOST)) - 1
    rows = posted_rows(request.POST, "offcut", most=_MOST, after=after, fresh={"count": "1"})
    return [
        OffcutRow(row.data, prefix=row.prefix, number=number, **shared)
        for number, row in enumerate(rows, start=1)
    ]
