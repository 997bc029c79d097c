"""Supply orders: drafted from needs less stock, edited by hand with a reason, placed, received in
parts, returned."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, time
from fractions import Fraction
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.utils import timezone

from remodel.board.services import (
    bring_up_to_date,
    piles_wait,
    plans_order,
    recompute,
    up_to_date,
)
from remodel.bridge import codec
from remodel.bridge.words import QUANTITY_PHASES, values
from remodel.history.errors import Overtaken, Refused
from remodel.history.services import (
    By,
    Touched,
    change,
    create,
    is_news,
    must_stand,
    recorded,
    remove,
)
from remodel.house.models import House, Room
from remodel.supply.coming import kept_coming
from remodel.supply.drafting import counts_what_comes, draft_lines
from remodel.supply.ledger import balances, move
from remodel.supply.models import Movement, Order, OrderLine, OrderRoom, Pack, Receipt, Returned
from remodel.supply.queries import needs_of

__all__ = [
    "FROZEN_SCHEMA",
    "drafts_follow",
    "movements_of_order",
    "order_close",
    "order_line_add",
    "order_line_set",
    "order_line_tick",
    "order_make",
    "order_place",
    "order_receive",
    "order_receive_all",
    "order_refresh",
    "order_remove",
    "order_return",
    "orders_written",
    "receipt_take_back",
]

FROZEN_SCHEMA = 2  # 1 knew no `coming`


def order_make(
    *,
    by: By,
    house: House,
    phases: Sequence[str],
    rooms: Sequence[Room],
    name: str = "",
    note: str = "",
) -> Order:
    """Draft an order of what some phases of some rooms take, less what is on hand. Figures that are
    old are worked out first, which may take as long as the house is large."""
    # Ahead of the write, because nobody else could write meanwhile.
    up_to_date(house)
    return _make(by=by, house=house, phases=phases, rooms=rooms, name=name, note=note)


@recorded("drafted an order")
def _make(
    *, by: By, house: House, phases: Sequence[str], rooms: Sequence[Room], name: str, note: str
) -> Order:
    known = [phase for phase in values(QUANTITY_PHASES) if phase in phases]
    if not known:
        raise Refused("Choose at least one phase, like hanging", field="phases")
    if not rooms or any(room.house_id != house.pk for room in rooms):
        raise Refused("Choose at least one room of this house", field="rooms")
    name = (
        name.strip() or f"{', '.join(known).capitalize()}: {', '.join(room.name for room in rooms)}"
    )
    order = create(Order(house=house, name=name[:200], phases=known, note=note))
    OrderRoom.objects.bulk_create(OrderRoom(order=order, room=room) for room in rooms)
    draft_lines(order, {})
    return order


def order_refresh(*, by: By, order: Order) -> Order:
    """Work out a draft again from today's needs, stock, orders and prices. Amounts edited by hand
    keep their reason, and lines added by hand stay."""
    up_to_date(order.house)
    return _refresh(by=by, order=order)


@recorded("worked out the order again")
def _refresh(*, by: By, order: Order) -> Order:
    _check_draft(order)
    lines = list(order.lines.all())
    added = [line for line in lines if not Fraction(line.need)]
    edited = {(line.phase, line.item, line.pack): line for line in lines if line.reason}
    for line in lines:
        if line not in added:
            remove(line)
    made = draft_lines(order, edited)
    for position, line in enumerate(added, start=len(made)):
        change(line, position=position)
    return order


def drafts_follow(house: UUID) -> None:
    """Work out again each draft that counts on packs of a placed order otherwise than they stand
    now.

    This is a write of its own, so that undoing the change of a draft does not look like undoing a
    receipt.
    """
    for draft in Order.objects.filter(house=house, state=Order.State.DRAFT):
        if not counts_what_comes(draft):
            # What is on its way changed, and the needs did not: old figures are no reason to wait.
            if piles_wait(draft.house):
                recompute(draft.house, whole=True)
            _refresh(by=By(), order=draft)


def orders_written(touched: Touched) -> None:
    """Let drafts follow after an order was placed or closed, or after that was undone."""
    for house, models in touched.houses.items():
        if "supply.order" in models:
            drafts_follow(house)


@recorded("edited an amount")
def order_line_set(*, by: By, line: OrderLine, packs: int, reason: str = "") -> OrderLine:
    """Order another number of packs than was worked out, and say why. The number worked out needs
    no reason."""
    _check_draft(line.order)
    if not 0 <= packs <= 100_000:
        raise Refused("Packs must be a whole number from 0 to 100000, like 3", field="packs")
    if packs and not line.pack:
        raise Refused(
            "Nothing on sale meets this need; add a pack to the material first", field="packs"
        )
    reason = reason.strip()
    if packs != line.worked_out and not reason:
        raise Refused("Say why the number differs, like One spare", field="reason")
    return change(line, packs=packs, reason=reason if packs != line.worked_out else "")


@recorded("added to an order")
def order_line_add(
    *, by: By, order: Order, pack: Pack, packs: int, reason: str, phase: str = ""
) -> OrderLine:
    """Order something that was not worked out, with a reason."""
    _check_draft(order)
    if not reason.strip() or packs < 1:
        raise Refused("Give how many packs, and why, like For the garage", field="reason")
    return create(
        OrderLine(
            order=order,
            position=order.lines.count(),
            phase=phase or order.phases[0],
            item=pack.material.key,
            name=pack.material.name,
            need="0",
            unit=pack.unit,
            store=pack.store,
            pack=pack.name,
            holds=str(pack.holds),
            holds_unit=pack.unit,
            packs=packs,
            reason=reason.strip(),
            price=pack.price,
            sample_price=pack.is_sample,
            weight=pack.weight,
        )
    )


@recorded("ticked off")
def order_line_tick(*, by: By, line: OrderLine, ticked: bool) -> OrderLine:
    """Tick a line off in the store, or take the tick back."""
    return change(line, ticked=ticked)


def order_place(*, by: By, order: Order, without_prices: bool = False) -> Order:
    """Place an order. Its estimate is frozen, and the board plans it buys for are marked as
    ordered.

    Raises `Refused` where a price is a sample, unless the person orders without prices. Also raises
    it where a room to hang could not be worked out.
    """
    up_to_date(order.house)
    placed = _place(by=by, order=order, without_prices=without_prices)
    bring_up_to_date(placed.house_id, placed.rooms.values_list("pk", flat=True))
    return placed


@recorded("placed an order")
def _place(*, by: By, order: Order, without_prices: bool) -> Order:
    lines = list(OrderLine.objects.filter(order=order).select_related("store"))
    must_stand(order, *lines)
    if order.state == Order.State.PLACED:
        return order
    _check_draft(order)
    buying = [line for line in lines if line.packs]
    if not buying:
        raise Refused("There is nothing to buy in this order")
    samples = [line.name for line in buying if line.sample_price]
    if samples and not without_prices:
        raise Refused(
            "Prices of "
            f"{', '.join(dict.fromkeys(samples[:5]))}{' and more' if len(samples) > 5 else ''} are "
            "samples. "
            "Enter your store's, or order without prices",
            field="without_prices",
        )
    rooms = list(order.rooms.all())
    needs = needs_of(order.house, phases=order.phases, rooms=[room.key for room in rooms])
    if "hanging" in order.phases:
        plans_order(by=by, rooms=rooms)
    return change(
        order,
        state=Order.State.PLACED,
        placed_at=timezone.now(),
        without_prices=bool(samples),
        frozen={
            "schema": FROZEN_SCHEMA,
            "currency": order.house.currency,
            "rooms": {room.key: {"id": str(room.pk), "name": room.name} for room in rooms},
            "phases": order.phases,
            "needs": codec.write(needs),
            "stock": [
                [item, codec.write(amount), count] for item, amount, count in balances(order.house)
            ],
            "coming": codec.write(kept_coming(lines)),
        },
    )


@recorded("closed an order")
def order_close(*, by: By, order: Order) -> Order:
    """Note that nothing more is coming."""
    if order.state == Order.State.DRAFT:
        raise Refused("A draft is placed or removed, not closed")
    return change(order, state=Order.State.CLOSED)


@recorded("removed an order")
def order_remove(*, by: By, order: Order) -> Order:
    """Remove a draft. A placed order stays, because use is compared with it."""
    _check_draft(order)
    return remove(order)


def order_receive(
    *, by: By, line: OrderLine, packs: int, paid: int, day: date | None = None, note: str = ""
) -> Receipt:
    """Record that packs of a line arrived, and what was paid for them together in cents.

    The ledger gets the packs, and drafts that counted on them take them from the ledger.
    """
    receipt = _receive(by=by, line=line, packs=packs, paid=paid, day=day, note=note)
    drafts_follow(line.order.house_id)
    return receipt


@recorded("received packs")
def _receive(
    *, by: By, line: OrderLine, packs: int, paid: int, day: date | None = None, note: str = ""
) -> Receipt:
    _check_placed(line.order)
    if packs < 1:
        raise Refused("Packs received must be one or more, like 3", field="packs")
    if paid < 0:
        raise Refused("What was paid must be zero or more, like 41.94", field="paid")
    receipt = Receipt.objects.create(
        line=line, packs=packs, paid=paid, at=_moment(day), person=by.person, note=note
    )
    move(
        by=by,
        house=line.order.house,
        item=line.item,
        kind=Movement.Kind.RECEIVED,
        amount=line.pack_amount,
        pieces=packs,
        phase=line.phase,
        line=line,
        day=day,
        note=note,
    )
    return receipt


def order_receive_all(
    *,
    by: By,
    order: Order,
    receipts: Sequence[tuple[OrderLine, int, int]],
    day: date | None = None,
    note: str = "",
) -> Order:
    """Record one delivery of (line, packs, cents paid for them together): all of it or nothing."""
    _receive_all(by=by, order=order, receipts=receipts, day=day, note=note)
    drafts_follow(order.house_id)
    return order


@recorded("received packs")
def _receive_all(
    *,
    by: By,
    order: Order,
    receipts: Sequence[tuple[OrderLine, int, int]],
    day: date | None,
    note: str,
) -> Order:
    _check_no_news(order)
    if not receipts:
        raise Refused("Enter how many packs of at least one line came")
    for line, packs, paid in receipts:
        if line.order_id != order.pk:
            raise Refused("Choose lines of this order")
        _receive(by=by, line=line, packs=packs, paid=paid, day=day, note=note)
    return order


def receipt_take_back(*, by: By, receipt: Receipt, note: str = "") -> Receipt:
    """Take back a receipt entered by mistake: by one with the opposite signs, and by a movement
    that corrects the ledger."""
    back = _take_back(by=by, receipt=receipt, note=note)
    drafts_follow(receipt.line.order.house_id)
    return back


@recorded("took back a receipt")
def _take_back(*, by: By, receipt: Receipt, note: str) -> Receipt:
    if (
        receipt.packs < 0
        or receipt.line.receipts.filter(packs=-receipt.packs, at=receipt.at).exists()
    ):
        raise Refused("This receipt was already taken back")
    back = Receipt.objects.create(
        line=receipt.line,
        packs=-receipt.packs,
        paid=-receipt.paid,
        at=receipt.at,
        person=by.person,
        note=note,
    )
    move(
        by=by,
        house=receipt.line.order.house,
        item=receipt.line.item,
        kind=Movement.Kind.MOVED,
        amount=_minus(receipt.line),
        pieces=receipt.packs,
        line=receipt.line,
        note=note or "Receipt taken back",
    )
    return back


@recorded("returned packs")
def order_return(
    *, by: By, line: OrderLine, packs: int, refund: int, day: date | None = None, note: str = ""
) -> Returned:
    """Record packs that went back to the store: at most as many as arrived and did not go back
    yet."""
    _check_placed(line.order)
    _check_no_news(line.order)
    here = sum(receipt.packs for receipt in line.receipts.all()) - sum(
        returned.packs for returned in line.returns.all()
    )
    if not 1 <= packs <= here:
        raise Refused(f"Packs to return must be 1 to {here}, for that many came", field="packs")
    if refund < 0:
        raise Refused("The refund must be zero or more, like 12.00", field="refund")
    returned = Returned.objects.create(
        line=line, packs=packs, refund=refund, at=_moment(day), person=by.person, note=note
    )
    move(
        by=by,
        house=line.order.house,
        item=line.item,
        kind=Movement.Kind.RETURNED,
        amount=line.pack_amount,
        pieces=packs,
        line=line,
        day=day,
        note=note,
    )
    return returned


def _check_draft(order: Order) -> None:
    if order.state != Order.State.DRAFT:
        raise Refused("This order was placed; what it says is frozen")


def _check_placed(order: Order) -> None:
    if order.state == Order.State.DRAFT:
        raise Refused("Place the order first")


def movements_of_order(order: Order) -> QuerySet[Movement]:
    """The movements of what an order brought and what went back, latest first. Pages that record
    more of them carry their number."""
    return Movement.objects.filter(line__order=order).order_by("-serial")


def _check_no_news(order: Order) -> None:
    """Refuse what was typed on a page made before the latest delivery or return, because it may be
    that same one."""
    movements = movements_of_order(order)
    if not is_news("movements", movements.count()):
        return
    latest = movements.select_related("person", "line")[0]
    who = latest.person.name if latest.person else "Somebody"
    what = f"{latest.line.pack}, {latest.line.name}" if latest.line else latest.item
    raise Overtaken(
        f"{who} entered {latest.pieces} x {what}, as "
        f"{latest.get_kind_display().lower()} while this page was open. Nothing is saved yet. "
        "If you typed the same, press Leave it; otherwise check the numbers below, then save"
    )


def _minus(line: OrderLine) -> Any:
    amount = line.pack_amount
    return type(amount)(-amount.value, amount.unit)


def _moment(day: date | None) -> datetime:
    if day is None or day == timezone.localdate():
        return timezone.now()
    return timezone.make_aware(datetime.combine(day, time(12)))
