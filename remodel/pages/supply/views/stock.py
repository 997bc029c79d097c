"""What is here: by item with whom it is for, item by item, and the ledger that says so."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from fractions import Fraction
from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpResponse
from django.views.decorators.http import require_GET, require_POST

from remodel.bridge.lengths import Amount
from remodel.history.errors import Refused
from remodel.history.services import By
from remodel.house.models import House
from remodel.pages.editing import page
from remodel.pages.supply.listing import amount_words
from remodel.pages.supply.stock_listing import (
    HERE_CSV_HEADER,
    batches_shown,
    bringing_of,
    here_csv_rows,
    item_shown,
    jobs_shown,
    places_of,
)
from remodel.pages.supply.views.stock_offcuts import offcuts_of
from remodel.people.http import SiteRequest
from remodel.people.queries import house_for, row_for
from remodel.spreadsheet import Value, csv_answer
from remodel.supply.ledger import movements_of, reverse
from remodel.supply.models import Movement, OrderLine
from remodel.supply.queries import names_of
from remodel.supply.standing import standing_of
from remodel.web.responses import go
from remodel.work.queries import names_of_phases

__all__ = ["stock_csv", "stock_item", "stock_list", "stock_reverse", "stock_table"]

_A_PAGE = 20


def _ledger(
    house: House, request: SiteRequest, name_of: Callable[[str], str], item: str = ""
) -> dict[str, Any]:
    """One page of the ledger, latest first."""
    movements = movements_of(house, item=item).select_related("receipt")
    pages = Paginator(movements, _A_PAGE)
    shown = pages.get_page(request.GET.get("page"))
    phases = names_of_phases(house, among=(movement.phase for movement in shown))
    rows = [
        {
            "move": movement,
            "name": name_of(movement.item),
            "amount": _signed(movement, house.units),
            "phase": phases.get(movement.phase, movement.phase),
            "back": hasattr(movement, "reversed_by"),
            "can_undo": not (
                movement.reverses_id
                or movement.kind == Movement.Kind.CUT
                or hasattr(movement, "receipt")
            ),
        }
        for movement in shown
    ]
    return {"moves": rows, "pages": shown}


def _signed(movement: Movement, units: str) -> str:
    value = movement.amount
    one = Amount(abs(Fraction(movement.value)), movement.unit)
    whole = Amount(abs(value.value), value.unit)
    size = (
        _shown(movement.item, one, movement.pieces, units)
        if one.value != 1
        else _shown(movement.item, whole, 1, units)
    )
    return f"{'+' if value.value > 0 else '−' if value.value < 0 else ''}{size}"


def _shown(item: str, amount: Amount, count: int, units: str) -> str:
    """An amount, or so many times the amount: `5 × 8 ft`. Counted things say what they are: `4
    sheets`, `2 × 238 pieces`."""
    size = amount_words(amount, units)
    if amount.unit == "each":
        size += (
            " "
            f"{'sheet' if item.startswith('sheet-') else 'piece'}{'' if amount.value == 1 else 's'}"
        )
    return f"{count} × {size}" if count > 1 else size


@require_GET
def stock_list(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """What is here, for whom, what is free and on its way, offcuts, and every movement."""
    house = house_for(request.person, house_id)
    standing = standing_of(house)
    places, bringing = places_of(house), bringing_of(house)
    offcuts, rests = offcuts_of(house)
    items = [item_shown(standing, item, house.units) for item in standing.items]
    known = [item for item in items if item.item in standing.supply or item.short]
    rows = [
        {"shown": item, "place": places.get(item.item, ""), "order": bringing.get(item.item)}
        for item in known
        if not item.is_gone
    ]
    context = {
        "house": house,
        "rows": rows,
        "gone": [item for item in known if item.is_gone],
        "offcuts": offcuts,
        "rests": rests,
        "press_key": uuid4(),
        **_ledger(house, request, standing.shop.name),
    }
    return page(request, "supply/stock_list.html", context)


@require_GET
def stock_item(request: SiteRequest, house_id: UUID, item: str) -> HttpResponse:
    """One item: how much is here, who gets it, what can be done with it, and its movements."""
    house = house_for(request.person, house_id)
    standing = standing_of(house)
    known = item in standing.items or standing.shop.name(item) != item
    if not known and not (
        Movement.objects.filter(house=house, item=item).exists()
        or OrderLine.objects.filter(order__house=house, item=item).exists()
    ):
        raise Http404("No such item")
    in_line, others = jobs_shown(standing, item, house.units)
    context = {
        "house": house,
        "item": item,
        "shown": item_shown(standing, item, house.units),
        "in_line": in_line,
        "others": others,
        "place": places_of(house).get(item, ""),
        "order": bringing_of(house, item).get(item),
        "batches": batches_shown(house, item),
        "press_key": uuid4(),
        **_ledger(house, request, standing.shop.name, item),
    }
    return page(request, "supply/stock_item.html", context)


@require_POST
def stock_reverse(request: SiteRequest, movement_id: UUID) -> HttpResponse:
    """Undo an entry by its opposite. Both stay in the ledger."""
    rows = Movement.objects.select_related("house")
    movement = row_for(request.person, rows, movement_id, through="house", write=True)
    try:
        reverse(by=By(request.person), movement=movement)
        messages.info(request, "Undone by an entry of its own; both stay in the ledger.")
    except Refused as error:
        messages.info(request, str(error))
    return go(request, "stock-item", movement.house_id, movement.item)


@require_GET
def stock_table(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """What is here, for whom, free and on its way, as a table."""
    house = house_for(request.person, house_id)
    rows = here_csv_rows(standing_of(house), house.units)
    return csv_answer(f"{house.name} what is here", HERE_CSV_HEADER, rows)


@require_GET
def stock_csv(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """The whole ledger as a table."""
    house = house_for(request.person, house_id)
    header = (
        "Number",
        "Day",
        "What happened",
        "Item",
        "Key",
        "Amount",
        "Unit",
        "Pieces",
        "Room",
        "Phase",
        "Place",
        "Who",
        "Note",
        "Undoes number",
        "Counted",
    )
    return csv_answer(f"{house.name} stock ledger", header, _csv_rows(house))


def _csv_rows(house: House) -> Iterable[tuple[Value, ...]]:
    names, phases = names_of(house), names_of_phases(house)
    moves = (
        Movement.objects.filter(house=house)
        .select_related("room", "person", "reverses")
        .order_by("serial")
    )
    for movement in moves:
        yield (
            movement.serial,
            movement.day.isoformat(),
            movement.get_kind_display(),
            names.get(movement.item, movement.item),
            movement.item,
            Fraction(movement.value),
            movement.unit,
            movement.pieces,
            movement.room.name if movement.room else "",
            phases.get(movement.phase, movement.phase),
            movement.place,
            movement.person.name if movement.person else "",
            movement.note,
            movement.reverses.serial if movement.reverses else None,
            "yes" if movement.count else "",
        )
