"""The money of a house: what is spent, on its way and still to buy, by room and phase."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from remodel.house.models import House
from remodel.pages.money_bar import bar_of
from remodel.people.http import SiteRequest
from remodel.people.queries import house_for
from remodel.spreadsheet import Value, csv_answer, money_cell
from remodel.supply.money import HOUSE, Money, Parts, money_of
from remodel.supply.standing import Standing, standing_of

__all__ = ["house_money", "house_money_csv"]


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomMoney:
    """The money of one room, in all and by phase. A room that was removed has no key any more."""

    key: UUID | None
    name: str
    all: Parts
    phases: tuple[tuple[str, Parts], ...]


@require_GET
def house_money(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """One bar of three parts, and a table by room and phase whose rows add up to it."""
    house = house_for(request.person, house_id)
    standing, paid = _money(house)
    context = {
        "house": house,
        "bar": bar_of(house, paid),
        "rooms": _rooms(standing, paid),
        "own": paid.rows.get(HOUSE, Parts()),
        "all": paid.all,
    }
    return render(request, "house/money.html", context)


@require_GET
def house_money_csv(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """The same table for a spreadsheet, one row for each phase of a room and one for the house."""
    house = house_for(request.person, house_id)
    standing, paid = _money(house)
    header = ("Room", "Phase", "Spent", "On its way", "Still to buy", "Forecast")
    return csv_answer(f"{house.name} money", header, _csv_rows(standing, paid))


def _money(house: House) -> tuple[Standing, Money]:
    standing = standing_of(house)
    return standing, money_of(house, standing)


def _rooms(standing: Standing, paid: Money) -> list[RoomMoney]:
    """The rooms that money was or will be spent for, in their order, with their phases."""
    rooms: dict[UUID, list[tuple[str, str, Parts]]] = {}
    for id_, job in standing.jobs.items():
        parts = paid.rows.get(id_)
        if parts is not None:
            rooms.setdefault(job.room, []).append((job.room_name, job.name, parts))
    shown = [
        RoomMoney(
            key=room,
            name=rows[0][0],
            all=sum((parts for *_, parts in rows), Parts()),
            phases=tuple((phase, parts) for _, phase, parts in rows),
        )
        for room, rows in rooms.items()
    ]
    gone = [
        parts for job, parts in paid.rows.items() if job is not HOUSE and job not in standing.jobs
    ]
    if gone:
        shown.append(
            RoomMoney(key=None, name="Rooms that were removed", all=sum(gone, Parts()), phases=())
        )
    return shown


def _csv_rows(standing: Standing, paid: Money) -> Iterable[tuple[Value, ...]]:
    for room in _rooms(standing, paid):
        for phase, parts in room.phases or (("", room.all),):
            yield room.name, phase, *_cells(parts)
    yield "The house", "", *_cells(paid.rows.get(HOUSE, Parts()))


def _cells(parts: Parts) -> tuple[Value, ...]:
    return tuple(
        money_cell(cents) for cents in (parts.spent, parts.on_its_way, parts.to_buy, parts.forecast)
    )
