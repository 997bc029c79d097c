"""What came of an order, what was paid for it, what went back."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.views.decorators.http import require_http_methods, require_POST

from remodel.history.errors import Refused
from remodel.history.services import By
from remodel.pages.editing import Seen, edit, posted
from remodel.pages.supply.forms import ReceiveForm, ReturnForm
from remodel.pages.supply.listing import bought, order_shown
from remodel.pages.supply.views.orders import line_of, order_of
from remodel.people.http import SiteRequest
from remodel.people.queries import row_for
from remodel.supply import orders as order_services
from remodel.supply.models import Order, Receipt
from remodel.supply.standing import standing_of
from remodel.web.responses import go

__all__ = ["order_receive", "order_return", "receipt_take_back"]


@require_http_methods(["GET", "POST"])
def order_receive(request: SiteRequest, order_id: UUID) -> HttpResponse:
    """Record packs that arrived, line by line, with the money paid for them."""
    order = order_of(request, order_id, write=True)
    draft = order.state == Order.State.DRAFT
    shown = order_shown(order)
    lines = [line for store in shown.stores for line in store.lines if not draft]
    # What was typed for a line is kept, although all of it came by another page meanwhile.
    lines = [line for line in lines if line.to_come or f"came-{line.line.pk}" in request.POST]
    form = ReceiveForm(
        posted(request),
        lines=lines,
        units=order.house.units,
        currency=order.house.currency,
        seen=_seen(order),
    )

    def write(by: By) -> Order:
        given = form.cleaned_data
        return order_services.order_receive_all(
            by=by,
            order=order,
            receipts=form.receipts,
            keep_more=given["keep_more"],
            day=given["day"],
            note=given["note"],
            batches=form.batches,
        )

    return edit(
        request,
        form,
        "supply/order_receive.html",
        {"house": order.house, "order": order, "shown": shown},
        write=write,
        then=lambda order: go(request, "order-detail", order.pk),
        fields={f"packs-{line.line.pk}": f"came-{line.line.pk}" for line in lines}
        | {f"paid-{line.line.pk}": f"paid-{line.line.pk}" for line in lines},
    )


@require_http_methods(["GET", "POST"])
def order_return(request: SiteRequest, line_id: UUID) -> HttpResponse:
    """Record packs of one line that went back to the store: at most what is here and free."""
    line = line_of(request, line_id)
    house = line.order.house
    form = ReturnForm(posted(request), units=house.units, seen=_seen(line.order))

    def context() -> dict[str, object]:
        most = order_services.returnable(line, standing_of(house))
        return {
            "house": house,
            "order": line.order,
            "line": line,
            "most": most,
            "free": bought(most, line.pack),
        }

    return edit(
        request,
        form,
        "supply/order_return.html",
        context,
        write=lambda by: order_services.order_return(by=by, line=line, **form.values),
        then=lambda _: go(request, "order-detail", line.order_id),
    )


def _seen(order: Order) -> Seen:
    """What such a page is made from: the number of all receipts and returns so far."""
    return Seen.of(movements=order_services.movements_of_order(order).count())


@require_POST
def receipt_take_back(request: SiteRequest, receipt_id: UUID) -> HttpResponse:
    """Take back a receipt entered by mistake. Another movement corrects the ledger."""
    rows = Receipt.objects.select_related("line__order__house")
    receipt = row_for(request.person, rows, receipt_id, through="line__order__house", write=True)
    try:
        order_services.receipt_take_back(by=By(request.person), receipt=receipt)
        messages.info(
            request,
            f"Undid the receipt of {bought(receipt.packs, receipt.line.pack)}, "
            f"{receipt.line.name}.",
        )
    except Refused as error:
        messages.info(request, str(error))
    return go(request, "order-detail", receipt.line.order_id)
