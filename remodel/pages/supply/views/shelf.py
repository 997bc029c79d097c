"""The shelf is empty: what the store has instead, what that does, and taking it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpResponse
from django.views.decorators.http import require_http_methods, require_POST

from remodel.board.queries import head_of, pile_result_of
from remodel.bridge.rules_tried import Sums, sum_of, sums_of
from remodel.bridge.supply import size_of_sheet
from remodel.history.errors import Refused
from remodel.history.services import By, tell_later
from remodel.house.models import Room
from remodel.pages.editing import Seen, edit, offer_undo, posted
from remodel.pages.house.rules_tried import sums_table
from remodel.pages.supply.empty_shelf import other_packs, other_sizes
from remodel.pages.supply.forms import OtherPackForm, OtherSizesForm
from remodel.pages.supply.listing import bought
from remodel.people.http import SiteRequest
from remodel.people.queries import row_for
from remodel.supply import empty_shelf as services
from remodel.supply.empty_shelf import LineChange
from remodel.supply.models import Order, OrderLine
from remodel.web.responses import go
from remodel.web.templatetags.halfbay import money

__all__ = ["order_line_instead", "order_line_there"]


@require_http_methods(["GET", "POST"])
def order_line_instead(request: SiteRequest, line_id: UUID) -> HttpResponse:
    """Choose what the store has instead of a line, see what that does to plan and order, and take
    it.

    What it does is found out by doing it and taking it back, so a page that is only looked at does
    not: one button shows it, another does it.
    """
    lines = OrderLine.all_objects.select_related("order__house", "store")
    line = row_for(request.person, lines, line_id, through="order__house", write=True)
    if request.method == "GET" and (line.deleted_at or services.is_missing(line)):
        return go(request, "order-store", line.order_id)
    return _other_sizes(request, line) if size_of_sheet(line.item) else _other_pack(request, line)


def _other_sizes(request: SiteRequest, line: OrderLine) -> HttpResponse:
    showing = "show" in request.POST
    form = OtherSizesForm(
        posted(request),
        units=line.order.house.units,
        seen=Seen.of(line.order, line),
        sizes=other_sizes(line),
    )

    def context() -> dict[str, Any]:
        return _context(line) | (_tried(request, line, form) if showing and form.is_valid() else {})

    def write(by: By) -> Order:
        # The same press again: all came already, and no plan needs the size any more.
        done = line.deleted_at or services.is_missing(line)
        made = () if done else services.other_plans(line, form.sizes)
        return services.sizes_take(by=by, line=line, made=made)

    return edit(
        request,
        form,
        "supply/order_line_instead.html",
        context,
        write=write,
        then=lambda order: _taken(request, line, order),
        saving=not showing,
    )


def _other_pack(request: SiteRequest, line: OrderLine) -> HttpResponse:
    form = OtherPackForm(
        posted(request),
        units=line.order.house.units,
        seen=Seen.of(line.order, line),
        packs=other_packs(line),
    )

    def then(order: Order) -> HttpResponse:
        text = f"Noted that the store had none. {_words(order.changed)}"
        offer_undo(request, text.strip(), line)
        return go(request, "order-store", order.pk)

    return edit(
        request,
        form,
        "supply/order_line_instead.html",
        lambda: _context(line),
        write=lambda by: services.pack_take(by=by, line=line, **form.values),
        then=then,
    )


@require_POST
def order_line_there(request: SiteRequest, line_id: UUID) -> HttpResponse:
    """The store has the size after all: the plans before stand again, and it is bought again."""
    lines = OrderLine.objects.select_related("order__house", "store")
    line = row_for(request.person, lines, line_id, through="order__house", write=True)
    try:
        order = services.sizes_back(by=By(request.person), line=line)
        if order.changed:
            messages.info(request, f"The plan before is used again. {_words(order.changed)}")
    except Refused as error:
        messages.info(request, str(error))
    return go(request, "order-store", line.order_id)


def _context(line: OrderLine) -> dict[str, Any]:
    return {"house": line.order.house, "order": line.order, "line": line, "section": "orders"}


def _taken(request: SiteRequest, line: OrderLine, order: Order) -> HttpResponse:
    if order.changed:
        messages.info(request, f"The plan is made anew. {_words(order.changed)}")
    return go(request, "order-store", line.order_id)


def _words(changed: Any) -> str:
    """What an order buys otherwise now, in a line."""
    told = [_change_words(one) for one in changed]
    more = f" and {len(told) - 5} more" if len(told) > 5 else ""
    return f"Now on the order: {'; '.join(told[:5])}{more}." if told else ""


def _change_words(one: LineChange) -> str:
    after = bought(one.after, one.pack) if one.after else "none"
    return f"{one.name}: {after}, was {one.before}" if one.before else f"{one.name}: {after}"


def _tried(request: SiteRequest, line: OrderLine, form: OtherSizesForm) -> dict[str, Any]:
    """What other sizes do to the plans and to the order."""
    try:
        made = services.other_plans(line, form.sizes)
        rooms = [one.room for one in made]
        before = _sums(rooms)
        with transaction.atomic(), tell_later():
            order = services.sizes_take(by=By(request.person), line=line, made=made)
            after = _sums(rooms)
            transaction.set_rollback(True)
    except Refused as error:
        return {"why_not": str(error)}
    house = line.order.house
    table = sums_table(before, after, house, ("Plan now", "Without it"))
    cents = sum(one.cents for one in order.changed)
    return {
        "rooms": [room.name for room in rooms],
        # Read down as much as across, and what is not board hardly changes.
        "table": replace(table, wide=True, rows=table.rows[:5]),
        "changed": [_change_words(one) for one in order.changed],
        "costs": (
            f"The order costs {money(abs(cents), house.currency)} {'more' if cents > 0 else 'less'}"
            if cents
            else "The order costs the same"
        ),
    }


def _sums(rooms: list[Room]) -> Sums:
    results = [pile_result_of(head_of(room)) for room in rooms]
    if None in results:
        raise Http404("Not worked out")
    return sum_of(sums_of(result) for result in results if result is not None)
