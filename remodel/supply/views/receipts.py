"""What came of an order, what was paid for it, what went back."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.views.decorators.http import require_http_methods, require_POST

from remodel.history.errors import Refused
from remodel.people.http import SiteRequest
from remodel.people.queries import row_for
from remodel.supply.forms import ReceiveForm, ReturnForm
from remodel.supply.listing import bought, order_shown
from remodel.supply.models import Order, Receipt
from remodel.supply.orders import order_receive_all, order_return, receipt_take_back
from remodel.supply.views.answers import blame, by, page
from remodel.supply.views.orders import line_of, order_of
from remodel.web.answers import go

__all__ = ["order_receive_page", "order_return_page", "receipt_take_back_page"]


@require_http_methods(["GET", "POST"])
def order_receive_page(request: SiteRequest, order_id: UUID) -> HttpResponse:
    """Packs that came, line by line, with the money paid for them."""
    order = order_of(request, order_id, write=True)
    shown = order_shown(order)
    draft = order.state == Order.State.DRAFT
    lines = [] if draft else [each for store in shown.stores for each in store.lines if each.to_come]
    form = ReceiveForm(request.POST if request.method == "POST" else None, lines=lines, units=order.house.units)
    if request.method == "POST" and form.is_valid():
        found = form.cleaned_data
        try:
            order_receive_all(
                by=by(request, form), order=order, receipts=form.receipts, day=found["day"], note=found["note"]
            )
            return go(request, "order-detail", order.pk)
        except Refused as error:
            blame(form, error)
    return page(request, "supply/order_receive.html", {"house": order.house, "order": order}, form=form)


@require_http_methods(["GET", "POST"])
def order_return_page(request: SiteRequest, line_id: UUID) -> HttpResponse:
    """Packs of one line that went back to the store."""
    line = line_of(request, line_id)
    house = line.order.house
    came = sum(each.packs for each in line.receipts.all())
    here = came - sum(each.packs for each in line.returns.all())
    form = ReturnForm(request.POST if request.method == "POST" else None, units=house.units)
    if request.method == "POST" and form.is_valid():
        try:
            order_return(by=by(request, form), line=line, **form.values)
            return go(request, "order-detail", line.order_id)
        except Refused as error:
            blame(form, error)
    context = {"house": house, "order": line.order, "line": line, "here": here, "came": bought(here, line.pack)}
    return page(request, "supply/order_return.html", context, form=form)


@require_POST
def receipt_take_back_page(request: SiteRequest, receipt_id: UUID) -> HttpResponse:
    """A receipt entered by mistake: the ledger is put right by another movement."""
    rows = Receipt.objects.select_related("line__order__house")
    receipt = row_for(request.person, rows, receipt_id, through="line__order__house", write=True)
    try:
        receipt_take_back(by=by(request), receipt=receipt)
        messages.info(
            request, f"Took back the receipt of {bought(receipt.packs, receipt.line.pack)}, {receipt.line.name}."
        )
    except Refused as error:
        messages.info(request, str(error))
    return go(request, "order-detail", receipt.line.order_id)
