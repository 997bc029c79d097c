"""Supply orders: drafted from needs less stock, edited by hand with a reason, placed, received in
parts, returned."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime, time
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.utils import timezone

from remodel.board.plans import plans_order, plans_take_back
from remodel.board.queries import head_of, summaries_of
from remodel.board.services import (
    bring_up_to_date,
    up_to_date,
)
from remodel.bridge import codec, lengths
from remodel.history.errors import Overtaken, Refused
from remodel.history.services import (
    By,
    change,
    create,
    is_news,
    must_stand,
    recorded,
    remove,
)
from remodel.house.models import House, Room
from remodel.supply import claims
from remodel.supply.drafting import LineDifference, bring_up, differences, jobs_of_order
from remodel.supply.ledger import balances, move, reversal, stick_length
from remodel.supply.models import Movement, Order, OrderLine, OrderRoom, Pack, Receipt, Returned
from remodel.supply.queries import needs_of, orders_of
from remodel.supply.standing import Standing, standing_of
from remodel.work.queries import names_in_row, phases_with_needs

__all__ = [
    "FROZEN_SCHEMA",
    "line_differences",
    "movements_of_order",
    "order_close",
    "order_line_add",
    "order_line_set",
    "order_line_skip",
    "order_line_tick",
    "order_make",
    "order_place",
    "order_receive",
    "order_receive_all",
    "order_refresh",
    "order_remove",
    "order_return",
    "order_take_back",
    "receipt_take_back",
    "returnable",
    "to_come",
    "unseen_rooms",
]

FROZEN_SCHEMA = 3  # 1 knew no `coming`; 2 had it; since 3 what is on its way is dealt out when read


def order_make(
    *,
    by: By,
    house: House,
    phases: Sequence[str],
    rooms: Sequence[Room],
    name: str = "",
    note: str = "",
) -> Order:
    """Draft an order of what some phases of some rooms still take, less what is free, and of what
    rooms ordered before lack. Figures that are old are worked out first, which may take as long as
    the house is large."""
    # Ahead of the write, because nobody else could write meanwhile.
    up_to_date(house)
    return _make(by=by, house=house, phases=phases, rooms=rooms, name=name, note=note)


@recorded("drafted an order")
def _make(
    *, by: By, house: House, phases: Sequence[str], rooms: Sequence[Room], name: str, note: str
) -> Order:
    chosen = [(key, name_) for key, name_ in phases_with_needs(house) if key in phases]
    known = [key for key, _ in chosen]
    if not known:
        raise Refused("Choose at least one phase, for example hanging", field="phases")
    if not rooms or any(room.house_id != house.pk for room in rooms):
        raise Refused("Choose at least one room of this house", field="rooms")
    name = name.strip() or f"{names_in_row(chosen)}: {', '.join(room.name for room in rooms)}"
    order = create(Order(house=house, name=name[:200], phases=known, note=note))
    OrderRoom.objects.bulk_create(OrderRoom(order=order, room=room) for room in rooms)
    standing = standing_of(house)
    if not jobs_of_order(order, standing.jobs):
        raise Refused(
            "All you chose is done or left out, so there is nothing to order. Choose a phase that "
            "is still to be done",
            field="rooms",
        )
    bring_up(order, standing)
    return order


def order_refresh(*, by: By, order: Order) -> Order:
    """Bring a draft up to date with today's needs, stock, orders and prices. Amounts edited by hand
    keep their reason, and lines added by hand stay."""
    up_to_date(order.house)
    return _refresh(by=by, order=order)


@recorded("brought an order up to date")
def _refresh(*, by: By, order: Order) -> Order:
    _check_draft(order)
    bring_up(order, standing_of(order.house))
    return order


def line_differences(order: Order) -> list[LineDifference]:
    """In what a draft differs from what it would be today; empty where it is up to date, and for an
    order that is no draft."""
    if order.state != Order.State.DRAFT:
        return []
    return differences(order, standing_of(order.house))


@recorded("edited an amount")
def order_line_set(*, by: By, line: OrderLine, packs: int, reason: str = "") -> OrderLine:
    """Order another number of packs than was worked out, and say why. The number worked out needs
    no reason."""
    _check_draft(line.order)
    if not 0 <= packs <= 100_000:
        raise Refused("Packs must be a whole number from 0 to 100000, for example 3", field="packs")
    if packs and not line.pack:
        raise Refused(
            "Nothing on sale meets this need; add a pack to the material first", field="packs"
        )
    reason = reason.strip()
    if packs != line.worked_out and not reason:
        raise Refused("Say why the number differs, for example One spare", field="reason")
    return change(line, packs=packs, reason=reason if packs != line.worked_out else "")


@recorded("left what others lack out of an order")
def order_line_skip(*, by: By, line: OrderLine, skipped: bool) -> OrderLine:
    """Leave a line for jobs ordered before out of an order, so that they stay short, or take it in
    again. All lines of the item go together."""
    _check_draft(line.order)
    if not line.for_earlier:
        raise Refused("Only what earlier orders lack can be left out; change the amount instead")
    for other in line.order.lines.filter(item=line.item, for_earlier=True):
        packs = 0 if skipped else other.worked_out
        change(other, skipped=skipped, packs=packs, reason="")
    line.refresh_from_db()
    return line


@recorded("added to an order")
def order_line_add(
    *, by: By, order: Order, pack: Pack, packs: int, reason: str, phase: str = ""
) -> OrderLine:
    """Order something that was not worked out, with a reason."""
    _check_draft(order)
    if not reason.strip() or packs < 1:
        raise Refused("Give how many packs, and why, for example For the garage", field="reason")
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


def order_place(
    *,
    by: By,
    order: Order,
    without_prices: bool = False,
    without_unmet: bool = False,
    unseen_framing: bool = False,
) -> Order:
    """Place an order, worked out anew. Its estimate is frozen, its jobs have a claim on all they
    take from then on, and the board plans it buys for are marked as ordered.

    The order comes back with `changed`, the lines that placing changed. Where nothing is to be
    bought, what is here or on its way is kept for its jobs, and the order is closed. Raises
    `Refused`, unless the person says so, where a price is a sample, where nothing on sale meets a
    need, and where nobody has looked at a room's framing.
    """
    up_to_date(order.house)
    placed = _place(
        by=by,
        order=order,
        without_prices=without_prices,
        without_unmet=without_unmet,
        unseen_framing=unseen_framing,
    )
    bring_up_to_date(placed.house_id, placed.rooms.values_list("pk", flat=True))
    return placed


@recorded("placed an order")
def _place(
    *, by: By, order: Order, without_prices: bool, without_unmet: bool, unseen_framing: bool
) -> Order:
    lines = list(OrderLine.objects.filter(order=order).select_related("store"))
    must_stand(order, *lines)
    if order.state == Order.State.PLACED:
        return order
    _check_draft(order)
    standing = standing_of(order.house)
    jobs = set(jobs_of_order(order, standing.jobs))
    changed = bring_up(order, standing)
    lines = list(OrderLine.objects.filter(order=order))
    if not jobs and not any(line.packs for line in lines):
        raise Refused("All that this order is for is done by now; remove it instead")
    _check_unmet(lines, without_unmet)
    buying = [line for line in lines if line.packs]
    samples = [line.name for line in buying if line.sample_price]
    if samples and not without_prices:
        raise Refused(
            f"Prices of {_some(samples)} are samples. Enter your store's, or order without prices",
            field="without_prices",
        )
    unseen = unseen_rooms(order)
    if unseen and not unseen_framing:
        raise Refused(
            f"Nobody has looked at the framing of {_some([room.name for room in unseen])} yet, so "
            "boards and seams may come out otherwise. Look first, or order all the same",
            field="unseen_framing",
        )
    for line in buying:
        if line.packs != line.worked_out:
            change(line, shares=_shares_as_edited(line))
    rooms = list(order.rooms.all())
    if "hanging" in order.phases:
        plans_order(by=by, rooms=rooms)
    claims.begin(by=by, house=order.house, wanted=standing.wanted_by(jobs), order=order)
    needs = needs_of(order.house, phases=order.phases, rooms=[room.key for room in rooms])
    placed = change(
        order,
        # Where nothing is to come, nothing is left to wait for.
        state=Order.State.PLACED if buying else Order.State.CLOSED,
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
        },
    )
    placed.changed = changed
    return placed


def _check_unmet(lines: Iterable[OrderLine], without_unmet: bool) -> None:
    unmet = [line for line in lines if line.unmet and not line.skipped]
    if unmet and not without_unmet:
        raise Refused(
            f"Nothing on sale meets the need of {_some([line.name for line in unmet])}. Put it on "
            "sale under Prices, or order the rest without it",
            field="without_unmet",
        )


def _some(names: Sequence[str]) -> str:
    """At most five names in a sentence."""
    names = list(dict.fromkeys(names))
    return f"{', '.join(names[:5])}{' and more' if len(names) > 5 else ''}"


def _shares_as_edited(line: OrderLine) -> list[list[Any]]:
    """What a line buys for each job where a person changed its packs: jobs keep their part, and
    what is bought beyond it is the house's."""
    jobs = [[job, amount] for job, amount in line.shares if job]
    held = int(lengths.convert(line.pack_amount, line.unit).value * line.packs * 1000)
    rest = held - sum(amount for _, amount in jobs)
    return [*jobs, ["", rest]] if rest > 0 or not jobs else jobs


def unseen_rooms(order: Order) -> list[Room]:
    """The rooms of an order that buys board whose framing nobody has looked at: their plans are
    provisional."""
    if "hanging" not in order.phases:
        return []
    summaries = summaries_of(order.house)
    return [
        room
        for room in order.rooms.all()
        if (summary := summaries.get(room.key)) is not None and summary.provisional
    ]


@recorded("took an order back")
def order_take_back(*, by: By, order: Order) -> Order:
    """Take back an order that was placed by mistake: nothing of it counts any more, and the claims
    it began end. Raises `Refused` for a draft, and where something of it came."""
    if order.state == Order.State.TAKEN_BACK:
        return order
    if order.state == Order.State.DRAFT:
        raise Refused("A draft is removed, not undone")
    if any(_came(line) for line in order.lines.prefetch_related("receipts")):
        raise Refused(
            "Something of this order came, so it stays. Close it if nothing more is to come, or "
            "take the delivery back first"
        )
    claims.end_of_order(order)
    taken = change(order, state=Order.State.TAKEN_BACK)
    others = orders_of(order.house).filter(state__in=(Order.State.PLACED, Order.State.CLOSED))
    # Rooms bought together have one plan, which stays ordered as long as one of them is.
    elsewhere = {
        head_of(room).pk
        for other in others
        if "hanging" in other.phases
        for room in other.rooms.all()
    }
    if "hanging" in order.phases:
        rooms = [room for room in order.rooms.all() if head_of(room).pk not in elsewhere]
        plans_take_back(by=by, rooms=rooms)
    return taken


@recorded("closed an order")
def order_close(*, by: By, order: Order) -> Order:
    """Note that nothing more is coming. What did not come counts as on its way no longer."""
    if order.state == Order.State.DRAFT:
        raise Refused("A draft is placed or removed, not closed")
    if order.state == Order.State.TAKEN_BACK:
        raise Refused("“Ordered” was undone for this order, so nothing of it is to come")
    return change(order, state=Order.State.CLOSED)


@recorded("removed an order")
def order_remove(*, by: By, order: Order) -> Order:
    """Remove a draft. A placed order stays, because use is compared with it."""
    _check_draft(order)
    return remove(order)


def to_come(line: OrderLine) -> int:
    """How many packs of a line are still to come; none of a draft or an order that ended."""
    if line.order.state != Order.State.PLACED:
        return 0
    return max(0, line.packs - _came(line))


def _came(line: OrderLine) -> int:
    return sum(receipt.packs for receipt in line.receipts.all())


@recorded("received packs")
def order_receive(
    *,
    by: By,
    line: OrderLine,
    packs: int,
    paid: int | None = None,
    keep_more: bool = False,
    day: date | None = None,
    note: str = "",
    batch: str = "",
) -> Receipt:
    """Record that packs of a line arrived, and what was paid for them together in cents; where that
    is not given, what they were ordered at. `batch` is the number on the lids of paint.

    Raises `Refused` where more came than is to come, unless the person keeps it (`keep_more`).
    """
    _check_placed(line.order)
    if packs < 1:
        raise Refused("Packs received must be one or more, for example 3", field="packs")
    waiting = max(0, line.packs - _came(line))
    if packs > waiting and not keep_more:
        raise Refused(
            f"Only {waiting} of {line.name} {'is' if waiting == 1 else 'are'} to come, and you "
            f"entered {packs}. Correct the number, or tick “We keep what came beyond the order”",
            field="packs",
        )
    if paid is None:
        paid = packs * line.price
    if paid < 0:
        raise Refused("What was paid must be zero or more, for example 41.94", field="paid")
    movement = move(
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
    return Receipt.objects.create(
        line=line,
        packs=packs,
        paid=paid,
        at=_moment(day),
        person=by.person,
        note=note,
        batch=batch.strip(),
        movement=movement,
    )


@recorded("received packs")
def order_receive_all(
    *,
    by: By,
    order: Order,
    receipts: Sequence[tuple[OrderLine, int, int | None]],
    keep_more: bool = False,
    day: date | None = None,
    note: str = "",
    batches: Mapping[UUID, str] | None = None,
) -> Order:
    """Record one delivery of (line, packs, cents paid for them together, if they are known): all of
    it or nothing. `batches` are the numbers on the lids of paint, by the id of the line. A refusal
    names the field with the line's id: `packs-<id>`."""
    _check_no_news(order)
    if not receipts:
        raise Refused("Enter how many packs of at least one line came")
    for line, packs, paid in receipts:
        if line.order_id != order.pk:
            raise Refused("Choose lines of this order")
        try:
            order_receive(
                by=by,
                line=line,
                packs=packs,
                paid=paid,
                keep_more=keep_more,
                day=day,
                note=note,
                batch=(batches or {}).get(line.pk, ""),
            )
        except Refused as error:
            raise Refused(str(error), field=f"{error.field}-{line.pk}") from None
    return order


@recorded("took back a receipt")
def receipt_take_back(*, by: By, receipt: Receipt, note: str = "") -> Receipt:
    """Take back a receipt entered by mistake: by one with the opposite signs, and by a movement
    that reverses its own."""
    if receipt.packs < 0 or _taken_back(receipt):
        raise Refused("This receipt was already undone")
    returned = sum(one.packs for one in receipt.line.returns.all())
    if _came(receipt.line) - receipt.packs < returned:
        raise Refused(
            "Some of these packs went back to the store. Take that return back on the stock page "
            "first"
        )
    back = Receipt.objects.create(
        line=receipt.line,
        packs=-receipt.packs,
        paid=-receipt.paid,
        at=receipt.at,
        person=by.person,
        note=note,
        batch=receipt.batch,
    )
    if receipt.movement is not None:
        reversal(by=by, movement=receipt.movement, note=note or "Receipt undone")
    return back


def _taken_back(receipt: Receipt) -> bool:
    if receipt.movement is not None:
        return Movement.objects.filter(reverses=receipt.movement).exists()
    # Written before receipts knew their movements.
    return bool(receipt.line.receipts.filter(packs=-receipt.packs, at=receipt.at).exists())


def returnable(line: OrderLine, standing: Standing) -> int:
    """How many packs of a line can go back to the store: whole packs of it that came, did not go
    back yet, are here, and that no job with a claim takes."""
    kept = _came(line) - sum(returned.packs for returned in line.returns.all())
    if kept <= 0 or not line.pack:
        return 0
    dealt = standing.dealt(line.item)
    if standing.shop.is_cut(line.item):
        free = dealt.free_sticks.get(stick_length(line.pack_amount), 0)
    else:
        unit = standing.units[line.item]
        free = int(dealt.free_here / lengths.convert(line.pack_amount, unit).value)
    return min(kept, max(0, free))


@recorded("returned packs")
def order_return(
    *, by: By, line: OrderLine, packs: int, refund: int, day: date | None = None, note: str = ""
) -> Returned:
    """Record packs that went back to the store: at most as many as came with the line and are here
    and free."""
    _check_placed(line.order)
    _check_no_news(line.order)
    most = returnable(line, standing_of(line.order.house))
    if not 1 <= packs <= most:
        raise Refused(
            f"Packs to return must be 1 to {most}: so many are here and free"
            if most
            else "None of these packs is here and free, so none can go back",
            field="packs",
        )
    if refund < 0:
        raise Refused("The refund must be zero or more, for example 12.00", field="refund")
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
    if order.state == Order.State.TAKEN_BACK:
        raise Refused("“Ordered” was undone for this order, so nothing comes or goes with it")


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
        "If you typed the same, press Cancel; otherwise check the numbers below, then save"
    )


def _moment(day: date | None) -> datetime:
    if day is None or day == timezone.localdate():
        return timezone.now()
    return timezone.make_aware(datetime.combine(day, time(12)))
