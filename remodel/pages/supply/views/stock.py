"""What is on hand, and the ledger that says so."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from fractions import Fraction
from typing import Any, TypeVar
from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpResponse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from remodel.bridge import lengths
from remodel.bridge.lengths import Amount
from remodel.bridge.words import QUANTITY_PHASES
from remodel.history.errors import Refused
from remodel.history.services import By
from remodel.house.models import House
from remodel.pages.editing import edit, page, posted
from remodel.pages.supply.forms import CountLeftForm, MoveForm, SpoilForm
from remodel.pages.supply.listing import amount_words
from remodel.people.http import SiteRequest
from remodel.people.queries import house_for, row_for
from remodel.spreadsheet import Value, csv_answer
from remodel.supply.cutting import take_back_movement
from remodel.supply.ledger import balances, carry, count_left, move, movements_of
from remodel.supply.models import Material, Movement
from remodel.supply.queries import names_of
from remodel.web.forms import HouseForm
from remodel.web.responses import go

__all__ = [
    "stock_count",
    "stock_csv",
    "stock_item",
    "stock_list",
    "stock_move",
    "stock_reverse",
    "stock_spoil",
]

AnyForm = TypeVar("AnyForm", CountLeftForm, SpoilForm, MoveForm)

_A_PAGE = 50
_PHASES = dict(QUANTITY_PHASES)


def _ledger(house: House, request: SiteRequest, item: str = "") -> dict[str, Any]:
    """One page of the ledger, latest first."""
    pages = Paginator(movements_of(house, item=item), _A_PAGE)
    shown = pages.get_page(request.GET.get("page"))
    names = names_of(house)
    rows = [
        {
            "move": movement,
            "name": names.get(movement.item, movement.item),
            "amount": _signed(movement, house.units),
            "phase": _PHASES.get(movement.phase, movement.phase),
            "back": hasattr(movement, "reversed_by"),
        }
        for movement in shown
    ]
    return {"moves": rows, "pages": shown, "names": names}


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
    """What is on hand, and every movement."""
    house = house_for(request.person, house_id)
    ledger = _ledger(house, request)
    here: dict[str, list[str]] = {}
    for item, amount, count in balances(house):
        here.setdefault(item, []).append(_shown(item, amount, count, house.units))
    places = _places(house)
    rows = [
        {
            "item": item,
            "name": ledger["names"].get(item, item),
            "amounts": amounts,
            "place": places.get(item, ""),
        }
        for item, amounts in here.items()
    ]
    return page(request, "supply/stock_list.html", {"house": house, "rows": rows, **ledger})


def _places(house: House) -> dict[str, str]:
    """The place each item was last carried to."""
    moved = (
        Movement.objects.filter(house=house, kind=Movement.Kind.MOVED)
        .exclude(place="")
        .order_by("serial")
    )
    return dict(moved.filter(reverses=None, reversed_by=None).values_list("item", "place"))


def _measures(house: House, item: str) -> list[tuple[str, str]]:
    """What an item can be counted in: its unit and its packs, or for sticks each length that is
    here or on sale.

    The value of each choice is an amount as text, like `1 lb`. The number that is entered counts
    those.
    """
    material = Material.objects.filter(house=house, key=item).prefetch_related("packs").first()
    packs = list(material.packs.all()) if material else []
    moved = Movement.objects.filter(house=house, item=item).first()
    if material is not None and material.cut:
        here = {amount: count for key, amount, count in balances(house) if key == item}
        sizes = dict.fromkeys([*here, *(pack.amount for pack in packs)])
        return [
            (
                lengths.format_amount(size),
                f"sticks of {lengths.shown_amount(size, house.units)} ({here.get(size, 0)} here)",
            )
            for size in sizes
        ]
    unit = packs[0].unit if packs else moved.unit if moved else "each"
    whole = Amount(Fraction(1), unit)
    measures = [(lengths.format_amount(whole), "pieces" if unit == "each" else unit)]
    return measures + [
        (lengths.format_amount(pack.amount), pack.name) for pack in packs if pack.amount != whole
    ]


class _Item:
    """One item of a house's stock, for its pages."""

    def __init__(self, request: SiteRequest, house_id: UUID, item: str, *, write: bool) -> None:
        self.house = house_for(request.person, house_id, write=write)
        self.key = item
        names = names_of(self.house)
        if item not in names and not Movement.objects.filter(house=self.house, item=item).exists():
            raise Http404("No such item")
        self.name = names.get(item, item)
        self.cut = Material.objects.filter(house=self.house, key=item, cut=True).exists()
        self.measures = _measures(self.house, item)
        mine = [(amount, count) for key, amount, count in balances(self.house) if key == item]
        here = [_shown(item, amount, count, self.house.units) for amount, count in mine]
        self.here = ", ".join(here) or "nothing"

    def form(self, kind: type[AnyForm], request: SiteRequest) -> AnyForm:
        """A form of that kind that asks for an amount of this item."""
        return kind(posted(request), measures=self.measures, cut=self.cut, units=self.house.units)


@require_GET
def stock_item(request: SiteRequest, house_id: UUID, item: str) -> HttpResponse:
    """One item: how much is here, what can be done with it, and its movements."""
    stock = _Item(request, house_id, item, write=False)
    context = {"house": stock.house, "item": stock, **_ledger(stock.house, request, item)}
    return page(request, "supply/stock_item.html", context)


@require_http_methods(["GET", "POST"])
def stock_count(request: SiteRequest, house_id: UUID, item: str) -> HttpResponse:
    """Count what remains; the ledger works out what is gone."""
    stock = _Item(request, house_id, item, write=True)
    form = stock.form(CountLeftForm, request)

    def write(by: By) -> None:
        remains, pieces = form.counted
        used, note = form.cleaned_data["used"] == "used", form.cleaned_data["note"]
        shared: dict[str, Any] = {"by": by, "house": stock.house, "item": item, "note": note}
        if not stock.cut:
            count_left(**shared, remaining=remains)
            return
        here = sum(
            count for key, size, count in balances(stock.house) if (key, size) == (item, remains)
        )
        gone = here - pieces
        if gone > 0 and used:
            move(**shared, kind=Movement.Kind.USED, amount=remains, pieces=gone)
        elif gone > 0:
            move(**shared, kind=Movement.Kind.SPOILED, amount=remains, pieces=gone)
        elif gone:
            move(**shared, kind=Movement.Kind.FOUND, amount=remains, pieces=-gone)

    return _write_page(request, stock, form, ("Count what is left", "Save the count"), write)


@require_http_methods(["GET", "POST"])
def stock_spoil(request: SiteRequest, house_id: UUID, item: str) -> HttpResponse:
    stock = _Item(request, house_id, item, write=True)
    form = stock.form(SpoilForm, request)

    def write(by: By) -> None:
        gone, pieces = form.counted
        move(
            by=by,
            house=stock.house,
            item=item,
            kind=Movement.Kind.SPOILED,
            amount=gone,
            pieces=pieces,
            note=form.cleaned_data["note"],
        )

    return _write_page(
        request, stock, form, ("Something is spoiled", "Save what is spoiled"), write
    )


@require_http_methods(["GET", "POST"])
def stock_move(request: SiteRequest, house_id: UUID, item: str) -> HttpResponse:
    stock = _Item(request, house_id, item, write=True)
    form = stock.form(MoveForm, request)

    def write(by: By) -> None:
        moved, pieces = form.counted
        carry(
            by=by,
            house=stock.house,
            item=item,
            amount=moved,
            pieces=pieces,
            to=form.cleaned_data["to"],
            note=form.cleaned_data["note"],
        )

    return _write_page(request, stock, form, ("Move it elsewhere", "Save the move"), write)


def _write_page(
    request: SiteRequest,
    stock: _Item,
    form: HouseForm,
    words: tuple[str, str],
    write: Callable[[By], None],
) -> HttpResponse:
    """A page that writes to the ledger; `words` are its heading and its button."""
    heading, button = words
    return edit(
        request,
        form,
        "supply/stock_write.html",
        {"house": stock.house, "item": stock, "heading": heading, "button": button},
        write=write,
        then=lambda _: go(request, "stock-item", stock.house.pk, stock.key),
        fields={"left": "number", "amount": "number"},
    )


@require_POST
def stock_reverse(request: SiteRequest, movement_id: UUID) -> HttpResponse:
    """Take a movement back by its opposite. Both stay in the ledger."""
    rows = Movement.objects.select_related("house")
    movement = row_for(request.person, rows, movement_id, through="house", write=True)
    try:
        take_back_movement(by=By(request.person), movement=movement)
        messages.info(request, "Took it back by another movement; both stay in the ledger.")
    except Refused as error:
        messages.info(request, str(error))
    return go(request, "stock-item", movement.house_id, movement.item)


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
        "Takes back number",
    )
    return csv_answer(f"{house.name} stock ledger", header, _csv_rows(house))


def _csv_rows(house: House) -> Iterable[tuple[Value, ...]]:
    names = names_of(house)
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
            _PHASES.get(movement.phase, movement.phase),
            movement.place,
            movement.person.name if movement.person else "",
            movement.note,
            movement.reverses.serial if movement.reverses else None,
        )
