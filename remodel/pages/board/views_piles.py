"""Rooms bought together: choose them, see what one pile saves, and buy them apart again."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.views.decorators.http import require_http_methods, require_POST

from remodel.board.models import Plan
from remodel.board.queries import summaries_of
from remodel.bridge.lengths import TakeoffError
from remodel.bridge.pile_savings import Bought, Compared
from remodel.bridge.records import rules_of
from remodel.history.errors import Overtaken, Refused, Stale
from remodel.history.services import By
from remodel.house.models import House, Room
from remodel.pages.editing import edit, offer_undo, page, posted
from remodel.pages.money_and_hours import Cost, hours_text
from remodel.pages.order_watch import OrderWatch
from remodel.people.http import SiteRequest
from remodel.people.queries import house_for
from remodel.piles import (
    Pile,
    heads_of,
    in_the_way,
    named,
    pile_end,
    pile_make,
    piles_of,
    saving_of,
    seen_piles,
)
from remodel.supply.models import Order
from remodel.supply.orders import order_refresh
from remodel.web.forms import HouseForm
from remodel.web.parts import Column, Table
from remodel.web.responses import go
from remodel.web.templatetags.halfbay import money

__all__ = ["house_apart", "house_together"]

_CHANGED = (
    "What is bought with what was changed meanwhile. Look at the rooms again, then buy them "
    "together"
)


class TogetherForm(HouseForm):
    """Which rooms share a pile.

    `order` is the draft that is worked out again after the write. `piles` is the mark of the piles
    there were when the page was made.
    """

    room = forms.MultipleChoiceField(
        label="Rooms that share sheets, in the order they are hung",
        widget=forms.CheckboxSelectMultiple,
        error_messages={
            "required": '"Rooms that share sheets, in the order they are hung" needs two rooms. '
            "Tick at least two"
        },
    )
    order = forms.UUIDField(required=False, widget=forms.HiddenInput)
    piles = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(
        self, *args: Any, rooms: list[Room], labels: dict[UUID, str], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.rooms_by_key = {str(room.pk): room for room in rooms}
        self.fields["room"].choices = [(str(room.pk), labels[room.pk]) for room in rooms]  # type: ignore[attr-defined]

    def clean_room(self) -> list[Room]:
        chosen = set(self.cleaned_data["room"])
        if len(chosen) < 2:
            raise forms.ValidationError(
                '"Rooms that share sheets, in the order they are hung" needs two. Tick at least two'
            )
        return [room for key, room in self.rooms_by_key.items() if key in chosen]


@require_http_methods(["GET", "POST"])
def house_together(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """The piles of the house, and what one pile of the ticked rooms would save. Posting buys them
    together."""
    house = house_for(request.person, house_id, write=request.method == "POST")
    heads = heads_of(house)
    why = in_the_way(house, heads)
    free = [room for room in heads if room.pk not in why and not room.finished]
    looked_at = request.GET if {"room", "show"} & set(request.GET) else None
    initial = {"piles": seen_piles(heads), "order": request.GET.get("order", "")}
    form = TogetherForm(
        posted(request) or looked_at,
        rooms=free,
        labels=_labels(house, heads),
        units=house.units,
        initial=initial,
    )
    chosen = form.cleaned_data["room"] if form.is_bound and form.is_valid() else []

    def write(by: By) -> House:
        if form.cleaned_data["piles"] != seen_piles(heads) and not _is_pile(
            chosen, piles_of(house, heads)
        ):
            raise Overtaken(_CHANGED)
        return pile_make(by=by, house=house, rooms=chosen)

    def context() -> dict[str, Any]:
        return {
            "house": house,
            "section": "orders",
            "many": len(free) > 1,
            "order": _draft(house, str(form["order"].value() or "")),
            "piles_seen": seen_piles(heads),
            "piles": [_pile_shown(house, pile, why) for pile in piles_of(house, heads)],
            "kept": list(dict.fromkeys(why.values())),
            **(_saving(house, chosen, heads) if chosen else {}),
        }

    template = "board/together.html"
    if request.method == "GET":
        unread = form.is_bound and not form.is_valid()
        return page(request, template, context, form=form, status=422 if unread else 200)
    return edit(
        request,
        form,
        template,
        context,
        write=write,
        then=lambda _: _bought(request, house, chosen, form),
        needs_of=house,
    )


@require_POST
def house_apart(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """Buy the rooms of one pile apart again."""
    house = house_for(request.person, house_id, write=True)
    pile = next(
        (pile for pile in piles_of(house) if pile.key == request.POST.get("pile", "")), None
    )
    watch = OrderWatch(house)
    try:
        pile_end(by=By(request.person), house=house, key=pile.key if pile else "")
    except Refused as error:
        messages.info(request, f"{_CHANGED if isinstance(error, Stale) else error}.")
        return go(request, "house-together", house.pk)
    if pile:
        offer_undo(request, f"{named(pile.rooms)} are bought apart now.", pile.rooms[0])
        watch.tell(request)
    return go(request, "house-together", house.pk)


def _bought(
    request: SiteRequest, house: House, rooms: list[Room], form: TogetherForm
) -> HttpResponse:
    order = _draft(house, str(form.cleaned_data["order"] or ""))
    if not rooms:  # sent again, after their boards were ordered
        return go(request, "house-together", house.pk)
    if order is not None:
        order_refresh(by=By(request.person), order=order)
        offer_undo(
            request,
            f"{named(rooms)} share sheets now, and the order is worked out again.",
            rooms[0],
        )
        return go(request, "order-detail", order.pk)
    offer_undo(request, f"{named(rooms)} share sheets now.", rooms[0])
    return go(request, "house-together", house.pk)


def _is_pile(rooms: list[Room], piles: list[Pile]) -> bool:
    return any({room.pk for room in pile.rooms} == {room.pk for room in rooms} for pile in piles)


def _draft(house: House, order: str) -> Order | None:
    """The draft order that the person came from, if it is one of the house's."""
    try:
        asked = UUID(order)
    except ValueError:
        return None
    return Order.objects.filter(house=house, pk=asked, state=Order.State.DRAFT).first()


def _labels(house: House, heads: list[Room]) -> dict[UUID, str]:
    """The label of each room, by room: its name, the rooms behind its partitions, and the rooms it
    is bought with now."""
    behind: dict[UUID, list[Room]] = {}
    for room in Room.objects.filter(house=house, behind__isnull=False).select_related("behind"):
        behind.setdefault(room.behind.room_id, []).append(room)  # type: ignore[union-attr]
    with_ = {
        room.pk: [other for other in pile.rooms if other.pk != room.pk]
        for pile in piles_of(house, heads)
        for room in pile.rooms
    }
    labels = {}
    for room in heads:
        own = f" and {named(behind[room.pk])}" if room.pk in behind else ""
        labels[room.pk] = (
            room.name + own + (f", bought with {named(with_[room.pk])}" if room.pk in with_ else "")
        )
    return labels


def _pile_shown(house: House, pile: Pile, why: dict[UUID, str]) -> dict[str, Any]:
    head = summaries_of(house).get(pile.rooms[0].key)
    plans = head.plans if head else ()
    return {
        "key": pile.key,
        "rooms": pile.rooms,
        "name": named(pile.rooms),
        "why": why.get(pile.rooms[0].pk, ""),
        "sheets": sum(plan.sheets_bought for plan in plans),
        "cost": sum(plan.sheet_cost for plan in plans),
        "ordered": list(Plan.objects.filter(room__in=pile.rooms, state=Plan.State.ORDERED)),
    }


def _saving(house: House, rooms: list[Room], heads: list[Room]) -> dict[str, Any]:
    """The figures of one choice, for the page."""
    try:
        saving = saving_of(house, rooms)
    except TakeoffError as error:
        return {"cannot": str(error), "chosen": rooms, "chosen_name": named(rooms)}
    apart, pile, thrown = (_cost(way, house) for way in (saving.apart, saving.pile, saving.thrown))
    saved, kept = apart - pile, thrown - pile
    return {
        "chosen": rooms,
        "chosen_name": named(rooms),
        "is_now": _is_pile(rooms, piles_of(house, heads)),
        "saves": saved if saved.total > 0 else None,
        "fewer": saving.apart.sheets - saving.pile.sheets,
        "kept_saves": kept if kept.total > 0 else None,
        "refused": saving.refused,
        "ways": _table(saving, house),
    }


def _cost(way: Bought, house: House) -> Cost:
    return Cost.of(way.value, way.work, rules_of(house).hour, house.currency)


def _table(saving: Compared, house: House) -> Table:
    def row(name: str, way: Bought) -> list[str]:
        sheets = f"{way.sheets} and {way.owned} on hand" if way.owned else str(way.sheets)
        cost = _cost(way, house)
        return [
            name,
            sheets,
            money(way.sheet_cost, house.currency),
            str(way.joints),
            money(round(cost.money), house.currency)
            if cost.hours is None
            else hours_text(cost.hours),
        ]

    return Table(
        id="ways-to-buy",
        caption="What these rooms take, bought each way",
        columns=[
            Column(title="Bought"),
            Column(title="Sheets to buy", number=True),
            Column(title="Cost of sheets", number=True),
            Column(title="Butt seams", number=True),
            Column(
                title="Work that the plans decide" if rules_of(house).hour else "Sheets and seams",
                number=True,
            ),
        ],
        rows=[
            row("Apart, each room its own sheets", saving.apart),
            row("From one shared set, offcuts kept", saving.pile),
            row("From one shared set, offcuts thrown away after each room", saving.thrown),
        ],
    )
