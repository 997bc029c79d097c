"""Pages of supply orders: drafted, edited, placed, printed, ticked off in the store."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.http import HttpResponse, QueryDict
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from remodel.board.queries import old_figures, pile_result_of
from remodel.bridge import lengths
from remodel.bridge.pile_savings import others_of
from remodel.bridge.reasons import figure_shown
from remodel.bridge.supply import size_of_sheet, tight_percent
from remodel.history.errors import Refused
from remodel.history.services import By
from remodel.house.models import Room, Wall
from remodel.pages.editing import Seen, edit, offer_undo, page, posted
from remodel.pages.money_bar import bar_of
from remodel.pages.paper import paper
from remodel.pages.stops import asked_first
from remodel.pages.supply.empty_shelf import shelf_of
from remodel.pages.supply.forms import LineForm, OrderAddForm, OrderForm, PlaceForm
from remodel.pages.supply.listing import (
    CSV_HEADER,
    amount_words,
    bought,
    csv_rows,
    difference_words,
    joined,
    order_shown,
    packs_words,
    phase_names,
)
from remodel.pages.supply.states import phases_by_room, phases_words, to_be_ordered
from remodel.people.addresses import code_picture, shared_url
from remodel.people.http import SiteRequest
from remodel.people.queries import house_for, row_for
from remodel.piles import heads_of, named, piles_of
from remodel.spreadsheet import csv_answer
from remodel.supply import orders as order_services
from remodel.supply.comparing import compare_order
from remodel.supply.drafting import differences
from remodel.supply.models import Material, Order, OrderLine, Pack
from remodel.supply.money import money_of
from remodel.supply.queries import frozen_needs, needs_of, orders_of
from remodel.supply.standing import standing_of
from remodel.web.responses import go
from remodel.work.queries import phases_with_needs

__all__ = [
    "order_add",
    "order_close",
    "order_csv",
    "order_detail",
    "order_line",
    "order_line_empty",
    "order_line_skip",
    "order_line_tick",
    "order_list",
    "order_new",
    "order_place",
    "order_print",
    "order_refresh",
    "order_remove",
    "order_store",
    "order_take_back",
]


def order_of(request: SiteRequest, order_id: UUID, *, write: bool = False) -> Order:
    """One order of the person's own houses, with all that its pages need; 404 otherwise."""
    row = row_for(request.person, Order.objects.all(), order_id, through="house", write=write)
    order: Order = orders_of(row.house).select_related("house").get(pk=row.pk)
    return order


def line_of(request: SiteRequest, line_id: UUID, *, write: bool = True) -> OrderLine:
    rows = OrderLine.objects.select_related("order__house", "store")
    return row_for(request.person, rows, line_id, through="order__house", write=write)


@require_GET
def order_list(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """Every order, latest first, and the money in them."""
    house = house_for(request.person, house_id)
    orders = [(order, order_shown(order)) for order in orders_of(house).select_related("house")]
    context = {
        "house": house,
        "orders": orders,
        "bar": bar_of(house, money_of(house, standing_of(house))),
        "old_figures": old_figures(house.pk),
    }
    return page(request, "supply/order_list.html", context)


@require_http_methods(["GET", "POST"])
def order_new(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """Choose phases and rooms. The order is worked out from what they take, less what is free."""
    house = house_for(request.person, house_id, write=True)
    rooms = list(house.rooms.filter(finished=False))
    asked = set(request.GET.getlist("room"))
    offered = phases_with_needs(house)
    phases = [phase for phase, _ in offered if phase in request.GET.getlist("phase")]
    standings = phases_by_room(house)
    initial = {
        "rooms": [
            str(room.pk)
            for room in rooms
            if (str(room.pk) in asked if asked else to_be_ordered(standings[room.pk], phases))
        ],
        "phases": phases,
    }
    form = OrderForm(
        posted(request),
        phases=offered,
        rooms=rooms,
        states={room.pk: phases_words(standings[room.pk]) for room in rooms},
        units=house.units,
        initial=initial,
    )
    return edit(
        request,
        form,
        "supply/order_new.html",
        lambda: {"house": house, "rooms": rooms, "old_figures": old_figures(house.pk)},
        write=lambda by: order_services.order_make(by=by, house=house, **form.values),
        then=lambda order: go(request, "order-detail", order.pk),
    )


@require_GET
def order_detail(request: SiteRequest, order_id: UUID) -> HttpResponse:
    order = order_of(request, order_id)
    return page(
        request, "supply/order.html", detail_context(order), form=_place_form(request, order)
    )


def _place_form(request: SiteRequest, order: Order) -> PlaceForm:
    """The form that places an order. It is made from what the page listed: the order and every line
    of it."""
    seen = Seen.of(order, *order.lines.all(), OrderLine)
    return PlaceForm(
        posted(request),
        units=order.house.units,
        seen=seen,
        unseen=[room.name for room in _unseen(order)],
    )


def _unseen(order: Order) -> list[Room]:
    """The rooms whose framing nobody has looked at, where placing asks about them."""
    draft = order.state == Order.State.DRAFT
    return order_services.unseen_rooms(order) if draft else []


def detail_context(order: Order) -> dict[str, Any]:
    """The context of an order's page, and of its paper. The house's standing is read once."""
    draft, units = order.state == Order.State.DRAFT, order.house.units
    standing = standing_of(order.house)
    more, spare = compare_order(order, standing)
    cut = Material.objects.filter(house=order.house_id, cut=True).values_list("key", flat=True)
    shown = order_shown(order, cut=frozenset(cut))
    receipts = [
        (receipt, line, receipt.packs < 0 or _taken_back(receipt, line))
        for line in order.lines.all()
        for receipt in line.receipts.all()
    ]
    returned = [
        (return_, line, bought(return_.packs, line.pack))
        for line in order.lines.all()
        for return_ in line.returns.all()
    ]
    rooms = list(order.rooms.all())
    to_come = [
        (packs, line.pack, line.name)
        for line in order.lines.all()
        if (packs := order_services.to_come(line))
    ]
    query = QueryDict(mutable=True)
    query.setlist("room", [str(room.pk) for room in rooms])
    query.setlist("phase", order.phases)
    return {
        "house": order.house,
        "old_figures": old_figures(order.house_id),
        "order": order,
        "draft": draft,
        "shown": shown,
        "tight_percent": tight_percent(),
        "phases": phase_names(order),
        "rooms": [room.name for room in rooms],
        "rooms_named": joined([room.name for room in rooms]),
        **_piles(order, draft=draft),
        "old": [difference_words(one) for one in differences(order, standing)] if draft else [],
        "unseen": joined([room.name for room in _unseen(order)]),
        "more": [
            {
                "name": item.name,
                "short": amount_words(lengths.amount(item.short, item.unit), units),
                "need": amount_words(lengths.amount(item.need, item.unit), units),
            }
            for item in more
        ],
        "again": query.urlencode(),
        "spare": [
            {"line": one.line, "name": one.line.name, "packs": bought(one.packs, one.line.pack)}
            for one in spare
        ],
        "spare_lines": {one.line.pk for one in spare},
        "to_come": packs_words(to_come),
        "untouched": not draft
        and order.state != Order.State.TAKEN_BACK
        and not any(row.came for group in shown.stores for row in group.lines),
        "receipts": sorted(receipts, key=lambda receipt: receipt[0].at),
        "returned": sorted(returned, key=lambda return_: return_[0].at),
    }


def _piles(order: Order, *, draft: bool) -> dict[str, Any]:
    """What the rooms of this order share with each other and with rooms it leaves out. Only hanging
    takes board."""
    if "hanging" not in order.phases:
        return {}
    heads = heads_of(order.house)
    ids = {room.pk for room in order.rooms.all()}
    mine = [room for room in heads if room.pk in ids]
    piles = piles_of(order.house, heads)
    as_one = any(all(room in pile.rooms for room in mine) for pile in piles)
    left_out = []
    for pile in piles:
        others = [room for room in pile.rooms if room.pk not in ids]
        result = pile_result_of(pile.rooms[0]) if others and len(others) < len(pile.rooms) else None
        if result is not None:
            plans = [pool.plan for pool in result.pools]
            keys = [room.key for room in order.rooms.all()]
            left_out.append(
                (
                    named(others),
                    named(room for room in mine if room in pile.rooms),
                    others_of(plans, keys),
                )
            )
    return {
        "together": mine if draft and len(mine) > 1 and not as_one else [],
        "left_out": left_out,
    }


def _taken_back(receipt: Any, line: OrderLine) -> bool:
    return any(
        other.packs == -receipt.packs and other.at == receipt.at for other in line.receipts.all()
    )


@require_http_methods(["GET", "POST"])
def order_line(request: SiteRequest, line_id: UUID) -> HttpResponse:
    """The reasons for an amount of one item, and another amount by hand with its reason."""
    line = line_of(request, line_id, write=request.method == "POST")
    order, house = line.order, line.order.house
    initial = {"packs": line.packs, "reason": line.reason}
    form = LineForm(posted(request), units=house.units, seen=Seen.of(line), initial=initial)
    return edit(
        request,
        form,
        "supply/order_line.html",
        lambda: {"house": house, "order": order, "line": line, **_reasons(order, line)},
        write=lambda by: order_services.order_line_set(by=by, line=line, **form.values),
        then=lambda line: go(request, "order-detail", line.order_id),
    )


def _reasons(order: Order, line: OrderLine) -> dict[str, Any]:
    """Where the need comes from, room by room, in the engine's own words."""
    units = order.house.units
    draft = order.state == Order.State.DRAFT
    keys = list(order.rooms.values_list("key", flat=True))
    needs = needs_of(order.house, phases=order.phases, rooms=keys) if draft else frozen_needs(order)
    names = dict(order.rooms.values_list("key", "name"))
    walls = {
        f"{wall.room.key}/{wall.key}": wall.name
        for wall in Wall.objects.filter(room__in=order.rooms.all()).select_related("room")
    }
    rooms = [
        {
            "room": names.get(need.need.room, need.need.room),
            "amount": amount_words(need.amount, units),
            "reasons": [
                {
                    "where": walls.get(why.surface, why.surface.partition("/")[2].capitalize())
                    if why.surface
                    else "",
                    "text": why.text,
                    "amount": amount_words(why.amount, units),
                    "figures": why.figures,
                }
                for why in need.need.reasons
            ],
        }
        for need in needs
        if need.item == line.item and not line.for_earlier
    ]
    ids = dict.fromkeys(id_ for room in rooms for why in room["reasons"] for id_ in why["figures"])
    hand, coming = (
        lengths.amount(line.on_hand, line.unit),
        lengths.amount(line.on_the_way, line.unit),
    )
    return {
        "need": amount_words(lengths.amount(line.need, line.unit), units),
        "on_hand": amount_words(hand, units) if hand.value else "nothing",
        "coming": amount_words(coming, units) if coming.value else "nothing",
        "holds": lengths.shown_amount(line.pack_amount, units)
        if line.pack_amount.value != 1
        else "",
        "worked_out": bought(line.worked_out, line.pack),
        "by_room": rooms,
        "figures": [shown for figure in ids if (shown := figure_shown(figure, units)) is not None],
        "draft": draft,
    }


@require_http_methods(["GET", "POST"])
def order_add(request: SiteRequest, order_id: UUID) -> HttpResponse:
    """Add something to an order that was not worked out, with the reason."""
    order = order_of(request, order_id, write=True)
    packs = Pack.objects.filter(material__house=order.house, material__deleted_at=None)
    packs = packs.select_related("material", "store").order_by("material__position", "position")
    form = OrderAddForm(posted(request), packs=list(packs), units=order.house.units)
    return edit(
        request,
        form,
        "supply/order_add.html",
        {"house": order.house, "order": order},
        write=lambda by: order_services.order_line_add(by=by, order=order, **form.values),
        then=lambda line: go(request, "order-detail", line.order_id),
    )


@require_POST
def order_place(request: SiteRequest, order_id: UUID) -> HttpResponse:
    """Place an order, worked out anew; its estimate is frozen from then on."""
    order = order_of(request, order_id, write=True)
    form = _place_form(request, order)
    rooms = list(order.rooms.select_related("house", "behind"))
    asked = (
        asked_first(
            request,
            rooms,
            lambda work: work.of_order(rooms, order.phases),
            back=reverse("order-detail", args=[order.pk]),
        )
        if order.state == Order.State.DRAFT
        else None
    )
    if asked is not None:
        return asked

    def placed(order: Order) -> HttpResponse:
        messages.info(request, _placed_words(order))
        return go(request, "order-detail", order.pk)

    return edit(
        request,
        form,
        "supply/order.html",
        lambda: detail_context(order_of(request, order_id)),
        write=lambda by: order_services.order_place(by=by, order=order, **form.values),
        then=placed,
    )


def _placed_words(order: Order) -> str:
    """What placing an order did: how many packs it orders, and what it changed of the draft."""
    packs = sum(order.lines.values_list("packs", flat=True))
    if packs:
        words = f"Placed {order.name}: {packs} pack{'' if packs == 1 else 's'} ordered."
    else:
        rooms = joined([room.name for room in order.rooms.all()])
        words = f"Nothing has to be bought. What is here or on its way is kept for {rooms}."
    changed = [difference_words(difference) for difference in order.changed]
    if changed:
        more = f" and {len(changed) - 4} more" if len(changed) > 5 else ""
        told = changed[:4] if more else changed
        words += f" Changed since the draft was made: {'; '.join(told)}{more}."
    return words


@require_POST
def order_refresh(request: SiteRequest, order_id: UUID) -> HttpResponse:
    """Bring a draft up to date with today's needs, stock and prices."""
    order = order_of(request, order_id, write=True)
    try:
        order_services.order_refresh(by=By(request.person), order=order)
        messages.info(
            request, "The draft is up to date. Amounts you changed by hand keep their reason."
        )
    except Refused as error:
        messages.info(request, str(error))
    return go(request, "order-detail", order.pk)


@require_POST
def order_take_back(request: SiteRequest, order_id: UUID) -> HttpResponse:
    """Take back an order of which nothing came."""
    order = order_of(request, order_id, write=True)
    try:
        order_services.order_take_back(by=By(request.person), order=order)
        messages.info(
            request,
            f"Took {order.name} back: nothing of it is on its way, and it keeps nothing any more.",
        )
    except Refused as error:
        messages.info(request, str(error))
    return go(request, "order-detail", order.pk)


@require_POST
def order_line_skip(request: SiteRequest, line_id: UUID) -> HttpResponse:
    """Leave what rooms ordered before lack out of a draft, or take it in again. The same press may
    be sent again: the last one counts."""
    line = line_of(request, line_id)
    skipped = request.POST.get("skipped") == "yes"
    try:
        line = order_services.order_line_skip(by=By(request.person), line=line, skipped=skipped)
        done = f"Left {line.name} out" if skipped else f"Took {line.name} in again"
        messages.info(request, f"{done}: {line.why}." if line.why else f"{done}.")
    except Refused as error:
        messages.info(request, str(error))
    return go(request, "order-detail", line.order_id)


@require_POST
def order_remove(request: SiteRequest, order_id: UUID) -> HttpResponse:
    order = order_of(request, order_id, write=True)
    try:
        order_services.order_remove(by=By(request.person), order=order)
    except Refused:
        messages.info(
            request, "A placed order stays: it is what use is compared with. Close it instead."
        )
        return go(request, "order-detail", order.pk)
    offer_undo(request, f"Removed {order.name}.", order)
    return go(request, "order-list", order.house_id)


@require_POST
def order_close(request: SiteRequest, order_id: UUID) -> HttpResponse:
    """Close an order: nothing more is coming."""
    order = order_of(request, order_id, write=True)
    try:
        left = [
            (packs, line.pack, line.name)
            for line in order.lines.all()
            if (packs := order_services.to_come(line))
        ]
        order_services.order_close(by=By(request.person), order=order)
        gone = f" {packs_words(left)} no longer count{'s' if _one(left) else ''}." if left else ""
        offer_undo(request, f"Closed {order.name}: nothing more is coming.{gone}", order)
    except Refused as error:
        messages.info(request, str(error))
    return go(request, "order-detail", order.pk)


def _one(packs: list[tuple[int, str, str]]) -> bool:
    return len(packs) == 1 and packs[0][0] == 1


@require_GET
def order_print(request: SiteRequest, order_id: UUID) -> HttpResponse:
    """The order on paper, with a code that opens it on a phone in the store."""
    order = order_of(request, order_id)
    address = page_address(request, reverse("order-store", args=[order.pk]))
    context = {
        **detail_context(order),
        "address": address,
        "code": code_picture(address) if address else "",
        "now": timezone.localtime(),
        "revision": order.version,
    }
    return paper(request, "supply/order_print.html", context, name=order.name)


def page_address(request: SiteRequest, path: str) -> str:
    """An address that another device can open; empty on a server that only this machine reaches."""
    return shared_url(request, path) if settings.HOSTED or settings.LAN_HOST else ""


@require_GET
def order_csv(request: SiteRequest, order_id: UUID) -> HttpResponse:
    order = order_of(request, order_id)
    return csv_answer(order.name, CSV_HEADER, csv_rows(order))


@require_GET
def order_store(request: SiteRequest, order_id: UUID) -> HttpResponse:
    """The page for the phone in the store: what to buy, with one tick for each line."""
    order = order_of(request, order_id)
    context = {
        "house": order.house,
        "order": order,
        "shown": order_shown(order),
        "section": "orders",
    }
    return page(request, "supply/order_store.html", context)


@require_GET
def order_line_empty(request: SiteRequest, line_id: UUID) -> HttpResponse:
    """What to do where the store has none of a line: what else there is, and what that does to the
    plan."""
    line = line_of(request, line_id, write=False)
    context = {
        "house": line.order.house,
        "order": line.order,
        "line": line,
        "shelf": shelf_of(line),
        "sheet": size_of_sheet(line.item),
        "section": "orders",
    }
    return page(request, "supply/order_line_empty.html", context)


@require_POST
def order_line_tick(request: SiteRequest, line_id: UUID) -> HttpResponse:
    """Tick a line or remove the tick. The same press may be sent again: the last tick counts."""
    line = line_of(request, line_id)
    order_services.order_line_tick(
        by=By(request.person), line=line, ticked=request.POST.get("ticked") == "yes"
    )
    if not request.htmx:
        return go(request, "order-store", line.order_id)
    order = order_of(request, line.order_id)
    shown = order_shown(order)
    row = next(
        (
            line_shown
            for store in shown.stores
            for line_shown in store.lines
            if line_shown.line.pk == line.pk
        ),
        None,
    )
    context = {"house": order.house, "order": order, "shown": shown, "row": row, "swapped": True}
    return render(request, "supply/order_store.html#tick", context)
