"""What people do with one item of the stock: count it, say what is spoiled, moved or found, and
settle who gets it."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import TypeVar
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.views.decorators.http import require_http_methods, require_POST

from remodel.bridge import lengths
from remodel.bridge.lengths import Amount
from remodel.history.errors import Refused
from remodel.history.services import By
from remodel.pages.editing import edit, posted
from remodel.pages.supply.forms_stock import (
    CountLeftForm,
    CountSticksForm,
    FoundForm,
    MoveForm,
    SpoilForm,
)
from remodel.pages.supply.listing import amount_words
from remodel.pages.supply.stock_listing import measures_of, stick_size, stick_words
from remodel.people.http import SiteRequest
from remodel.people.queries import house_for, row_for
from remodel.supply import claims
from remodel.supply.ledger import (
    carry,
    count_left,
    count_sticks,
    here_of,
    move,
    run_out,
    stick_length,
)
from remodel.supply.models import Material, Movement
from remodel.supply.queries import names_of
from remodel.web.forms import HouseForm
from remodel.web.responses import go
from remodel.work.models import Phase
from remodel.work.queries import takes_something

__all__ = [
    "stock_count",
    "stock_first",
    "stock_found",
    "stock_free",
    "stock_keep",
    "stock_move",
    "stock_out",
    "stock_spoil",
]

AmountForm = TypeVar("AmountForm", CountLeftForm, SpoilForm, FoundForm, MoveForm)


class _Item:
    """One item of a house's stock that somebody is about to change."""

    def __init__(self, request: SiteRequest, house_id: UUID, item: str) -> None:
        self.house = house_for(request.person, house_id, write=True)
        self.key = item
        names = names_of(self.house)
        if item not in names:
            raise Http404("No such item")
        self.name = names[item]
        materials = Material.objects.filter(house=self.house, key=item)
        self.material = materials.prefetch_related("packs").first()
        self.cut = self.material is not None and self.material.cut
        here = here_of(self.house, item).get(item)
        self.known = here is not None
        self.unit = here.unit if here else "each"
        self.amount = here.amount if here else Fraction(0)
        self.sticks = dict(here.sticks) if here else {}
        self.about = bool(here and here.estimated)

    @property
    def here(self) -> str:
        """What is here, in words."""
        units = self.house.units
        if self.cut:
            return stick_words(self.sticks, units) or "none"
        value = Fraction(round(self.amount)) if self.unit == "each" else self.amount
        return amount_words(Amount(value, self.unit), units)

    @property
    def measures(self) -> list[tuple[str, str]]:
        return measures_of(self.material, self.unit, self.sticks, self.house.units)

    def form(self, kind: type[AmountForm], request: SiteRequest) -> AmountForm:
        """A form of that kind that asks for an amount of this item."""
        return kind(posted(request), measures=self.measures, cut=self.cut, units=self.house.units)

    def sticks_form(self, request: SiteRequest) -> CountSticksForm:
        sizes = [stick_length(lengths.parse_amount(value)) for value, _ in self.measures]
        named = [(size, stick_size(size, self.house.units)) for size in sizes]
        return CountSticksForm(
            posted(request), lengths=named, here=self.sticks, units=self.house.units
        )


@require_http_methods(["GET", "POST"])
def stock_count(request: SiteRequest, house_id: UUID, item: str) -> HttpResponse:
    """Count what is left; the ledger works out what was used or found."""
    stock = _Item(request, house_id, item)
    words = ("Count what is left", "Save the count")
    if stock.cut:
        sticks = stock.sticks_form(request)

        def write_sticks(by: By) -> None:
            count_sticks(
                by=by,
                house=stock.house,
                item=item,
                remaining=sticks.remaining,
                note=sticks.cleaned_data["note"],
            )

        return _write_page(request, stock, sticks, words, write_sticks)
    form = stock.form(CountLeftForm, request)

    def write(by: By) -> None:
        count_left(
            by=by,
            house=stock.house,
            item=item,
            remaining=form.remaining,
            note=form.cleaned_data["note"],
        )

    return _write_page(request, stock, form, words, write)


@require_http_methods(["GET", "POST"])
def stock_spoil(request: SiteRequest, house_id: UUID, item: str) -> HttpResponse:
    """Say what is spoiled: a fact, whatever the ledger has."""
    stock = _Item(request, house_id, item)
    form = stock.form(SpoilForm, request)
    return _write_page(
        request,
        stock,
        form,
        ("Record waste", "Save what is wasted"),
        lambda by: _moved(by, stock, form, Movement.Kind.SPOILED),
    )


@require_http_methods(["GET", "POST"])
def stock_found(request: SiteRequest, house_id: UUID, item: str) -> HttpResponse:
    """Say that more was here than anybody noted."""
    stock = _Item(request, house_id, item)
    form = stock.form(FoundForm, request)
    if not stock.cut and stock.amount < 0:
        form.fields["number"].initial = _number(-stock.amount)
        form.fields["of"].initial = lengths.format_amount(Amount(Fraction(1), stock.unit))
    return _write_page(
        request,
        stock,
        form,
        ("We had it", "Save what was here"),
        lambda by: _moved(by, stock, form, Movement.Kind.FOUND),
    )


@require_http_methods(["GET", "POST"])
def stock_move(request: SiteRequest, house_id: UUID, item: str) -> HttpResponse:
    """Say that some of it is stored elsewhere from now on."""
    stock = _Item(request, house_id, item)
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


@require_POST
def stock_out(request: SiteRequest, house_id: UUID, item: str) -> HttpResponse:
    """It ran out: a count of zero."""
    stock = _Item(request, house_id, item)
    try:
        noted = run_out(by=By(request.person), house=stock.house, item=item)
        said = "Noted: nothing is left." if noted else "That nothing is left is noted already."
        messages.info(request, said)
    except Refused as error:
        messages.info(request, str(error))
    return go(request, "stock-item", stock.house.pk, item)


@require_POST
def stock_keep(request: SiteRequest, phase_id: UUID, item: str) -> HttpResponse:
    """Keep an item for a job without buying anything."""
    return _settle(
        request,
        phase_id,
        item,
        "Kept for {job}.",
        lambda by, job: claims.keep_for(by=by, house=job.room.house, wanted=[(job.pk, item)]),
    )


@require_POST
def stock_free(request: SiteRequest, phase_id: UUID, item: str) -> HttpResponse:
    """Give what was kept for a job free for others."""
    return _settle(
        request,
        phase_id,
        item,
        "Set free: {job} comes after all others now.",
        lambda by, job: claims.set_free(by=by, job=job, item=item),
    )


@require_POST
def stock_first(request: SiteRequest, phase_id: UUID, item: str) -> HttpResponse:
    """Serve a job before all others that want the item."""
    return _settle(
        request,
        phase_id,
        item,
        "{job} is served first now.",
        lambda by, job: claims.put_first(by=by, job=job, item=item),
    )


def _settle(
    request: SiteRequest,
    phase_id: UUID,
    item: str,
    said: str,
    write: Callable[[By, Phase], object],
) -> HttpResponse:
    """Do one press about a job's right to an item, and show the item again."""
    rows = Phase.objects.select_related("room__house")
    job = row_for(request.person, rows, phase_id, through="room__house", write=True)
    house = job.room.house
    if item not in names_of(house):
        raise Http404("No such item")
    if not takes_something(job):
        messages.info(request, f"{job.name} takes nothing from the stock.")
        return go(request, "stock-item", house.pk, item)
    try:
        write(By(request.person), job)
        messages.info(request, said.format(job=f"{job.room.name}, {job.in_sentence}"))
    except Refused as error:
        messages.info(request, str(error))
    return go(request, "stock-item", house.pk, item)


def _moved(by: By, stock: _Item, form: SpoilForm | FoundForm, kind: str) -> None:
    amount, pieces = form.counted
    move(
        by=by,
        house=stock.house,
        item=stock.key,
        kind=kind,
        amount=amount,
        pieces=pieces,
        note=form.cleaned_data["note"],
    )


def _number(value: Fraction) -> str:
    """A number as the form reads it again, exactly."""
    whole, part = divmod(value, 1)
    if not part:
        return str(whole)
    return f"{whole} {part}" if whole else str(part)


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
