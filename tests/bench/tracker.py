"""Server time of keeping track of a house of sixty rooms: its pages, ticks, and writes that touch
every room; and what is bought for all of its rooms, ordered three at a time.

In-process, through the test client, with a worker noted as here that does nothing. Each measure is
a function of a `Bench`; `MEASURES` lists them in the order they run.
"""

from __future__ import annotations

import os
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import Any

from tests.bench.pages import say, timed

__all__ = ["MEASURES", "Bench", "tracker"]

ROOMS = 60
ROUNDS = 20
FEW_ROUNDS = 12
ORDERS = 20
LOGS = 500
MOVEMENTS = 700

# The pages of a house and of one of its rooms that people have open most, with their aims in ms.
HOUSE_PAGES = (
    "house-detail",
    "room-list",
    "order-list",
    "log-list",
    "stock-list",
    "use-list",
    "house-cards",
)
ROOM_PAGES = ("room-detail", "room-cards", "room-phases")
PAGE_AIM, WRITE_AIM, COLD_AIM, TICK_AIM = 200, 500, 500, 100
AT_ONCE = 3  # rooms in one order


@dataclass(frozen=True, slots=True)
class Bench:
    """What a measure needs: a browser, the house, and the person who writes."""

    client: Any
    house: Any
    person: Any


def tracker(rooms: int = ROOMS) -> None:
    """Print the median and p95 of every measure, each with its aim."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
    import django

    django.setup()
    from django.core.management import call_command
    from django.test.utils import setup_test_environment

    setup_test_environment()
    call_command("migrate", verbosity=0)

    from django.test import Client

    from remodel.people.services import household
    from remodel.wsgi import settle

    person = household()
    begun = time.perf_counter()
    house = _invented_house(person, rooms)
    took = time.perf_counter() - begun
    print(f"  house of {rooms} rooms, brought in and worked out in {took:.1f} s", flush=True)
    _history(house, person)
    print(f"  {ORDERS} orders, {LOGS} logs, {MOVEMENTS} movements", flush=True)
    settle()
    bench = Bench(Client(), house, person)
    for measure in MEASURES:
        _worker_here()
        measure(bench)


def _pages_warm(bench: Bench) -> None:
    from django.urls import reverse

    room = bench.house.rooms.first()
    urls = {name: reverse(name, args=[bench.house.pk]) for name in HOUSE_PAGES}
    urls |= {name: reverse(name, args=[room.pk]) for name in ROOM_PAGES}
    for name, url in urls.items():
        _get(bench, url)  # fills the cache
        times = [timed(lambda url=url: _get(bench, url)) for _ in range(ROUNDS)]
        say(f"{name}, warm", times, PAGE_AIM)


def _cards_cold(bench: Bench) -> None:
    from django.core.cache import cache
    from django.db import connection
    from django.test.utils import CaptureQueriesContext
    from django.urls import reverse

    url = reverse("house-cards", args=[bench.house.pk])
    times = []
    for _ in range(FEW_ROUNDS):
        cache.clear()
        times.append(timed(lambda: _get(bench, url)))
    say("house-cards, nothing in the cache", times, COLD_AIM)
    with CaptureQueriesContext(connection) as queries:
        _get(bench, url)
    print(f"      in {len(queries)} queries")


def _price(bench: Bench) -> None:
    from remodel.history.services import By
    from remodel.supply.models import SheetOnSale
    from remodel.supply.services import sheet_change

    def save(more: int) -> None:
        sheet = SheetOnSale.objects.filter(house=bench.house, board="regular").first()
        sheet_change(by=By(bench.person), sheet=sheet, price=sheet.price + more)

    _saves(bench, "a price", save)


def _length(bench: Bench) -> None:
    from remodel.bridge.lengths import FOOT
    from remodel.history.services import By
    from remodel.supply.models import SheetOnSale
    from remodel.supply.services import sheet_add

    regular = SheetOnSale.objects.filter(house=bench.house, board="regular", width=4 * FOOT)

    def save(more: int) -> None:
        half_inch = regular.filter(thickness=FOOT // 24).first()
        sheet_add(
            by=By(bench.person),
            house=bench.house,
            board="regular",
            thickness=half_inch.thickness,
            width=half_inch.width,
            length=(14 * FOOT) + more * FOOT // 12,
            price=3000,
        )

    _saves(bench, "a length on sale", save)


def _rule(bench: Bench) -> None:
    from decimal import Decimal

    from remodel.history.services import By
    from remodel.house.services import house_set_rules

    def save(more: int) -> None:
        house = type(bench.house).objects.get(pk=bench.house.pk)
        house_set_rules(by=By(bench.person), house=house, seam_price=Decimal(100 + more) / 100)

    _saves(bench, "a rule of the whole house", save)


def _room(bench: Bench) -> None:
    from remodel.bridge.lengths import INCH
    from remodel.history.services import By
    from remodel.house.services import room_resize
    from remodel.supply.models import SheetOnSale
    from remodel.supply.services import sheet_change

    room = bench.house.rooms.first()
    length, width = (wall.length for wall in room.walls.order_by("key")[:2])

    def save(more: int) -> None:
        fresh = type(room).objects.get(pk=room.pk)
        room_resize(by=By(bench.person), room=fresh, length=length + more * INCH, width=width)

    _saves(bench, "one room", save, finish=False)
    sheet = SheetOnSale.objects.filter(house=bench.house, board="regular").first()
    sheet_change(by=By(bench.person), sheet=sheet, price=sheet.price + 1)
    _worker_here()
    _saves(bench, "one room, the rest being old", lambda more: save(more + FEW_ROUNDS))


def _saves(bench: Bench, what: str, save: Callable[[int], None], *, finish: bool = True) -> None:
    """Time a write as a request does it, and what is left for the worker after the last one."""
    from remodel.board import figures

    times = [timed(lambda more=more: save(more + 1)) for more in range(FEW_ROUNDS)]
    say(f"saving {what}", times, WRITE_AIM)
    if finish:
        worker = timed(lambda: figures.run_once())
        print(f"      what the worker does afterward: {worker / 1000:.1f} s", flush=True)


def _ticks(bench: Bench) -> None:
    from django.urls import reverse

    from remodel.board.queries import takes_of_house

    room = bench.house.rooms.first()
    boards = takes_of_house(bench.house.pk)[room.pk].places
    url = reverse("room-tick", args=[room.pk])

    def post(board: Any, done: str) -> None:
        text = {"kind": "hung", "item": board.key, "plan": board.plan, "done": done}
        answer = bench.client.post(url, text, headers={"X-Marks": "yes"})
        if answer.status_code != 200:
            raise RuntimeError(f"A tick answered {answer.status_code}")

    first = timed(lambda: post(boards[0], "yes"))
    print(f"    the first tick of a room, which accepts its plan: {first:.0f} ms")
    times = [timed(lambda board=board: post(board, "yes")) for board in boards[1:]]
    times += [timed(lambda board=board: post(board, "no")) for board in boards]
    say("a tick of a board that hangs, or its undoing", times, TICK_AIM)


def _bought(bench: Bench) -> None:
    """Another house, of other rooms: all are ordered three at a time, what comes is received, and
    every board hangs and every coat is on before the next order. Only ticks are entered."""
    from remodel.board.queries import takes_of_house
    from remodel.cards.models import COATS
    from remodel.history.services import By
    from remodel.supply import orders
    from remodel.supply.ledger import facts_of
    from remodel.supply.models import OrderLine
    from remodel.ticks import Ticked, tick_all

    house = _invented_house(bench.person, bench.house.rooms.count(), seed=2)
    by = By(bench.person)
    needed: Counter[str] = Counter()
    units: dict[str, str] = {}
    rooms = list(house.rooms.order_by("position"))
    begun = time.perf_counter()
    for at in range(0, len(rooms), AT_ONCE):
        some = rooms[at : at + AT_ONCE]
        order = orders.order_make(
            by=by, house=house, phases=["hanging", "taping", "finishing"], rooms=some
        )
        order = orders.order_place(
            by=by, order=order, without_prices=True, without_unmet=True, unseen_framing=True
        )
        for line in OrderLine.objects.filter(order=order, packs__gt=0):
            orders.order_receive(by=by, line=line, packs=line.packs)
        takes = takes_of_house(house.pk)
        for room in some:
            mine = takes[room.pk].takes
            for take in mine:
                needed[take.item] += take.amount
                units[take.item] = take.unit
            hung = [Ticked("hung", board.key) for board in takes[room.pk].places]
            coats = dict.fromkeys(
                Ticked(take.kind, take.name) for take in mine if take.kind in COATS
            )
            tick_all(by=by, room=room, ticks=[*hung, *coats])
    took = time.perf_counter() - begun
    print(f"    {len(rooms)} other rooms ordered {AT_ONCE} at a time and hung, in {took:.1f} s")
    came = facts_of(house.pk)
    received = {
        item: sum(
            line.packs * line.pack_amount.value
            for line in OrderLine.objects.filter(order__house=house, item=item, packs__gt=0)
        )
        for item in needed
    }
    sheets = [item for item in needed if item.startswith("sheet-")]
    print(
        f"    sheets: {sum(needed[item] for item in sheets) / 1000:.0f} needed, "
        f"{sum(int(received[item]) for item in sheets)} bought, "
        f"{sum(int(came[item].amount) for item in sheets if item in came)} left here"
    )
    for item in sorted(set(needed) - set(sheets)):
        print(
            f"      {item}: {needed[item] / 1000:,.1f} {units[item]} needed, "
            f"{float(received[item]):,.1f} bought"
        )


# Add a measure here; each prints its own lines.
MEASURES: tuple[Callable[[Bench], None], ...] = (
    _pages_warm,
    _cards_cold,
    _price,
    _length,
    _rule,
    _room,
    _ticks,
    _bought,
)


def _invented_house(person: Any, rooms: int, seed: int = 1) -> Any:
    """A house of seeded rooms, with the catalogue of a new house."""
    from remodel.bridge.files import write_house_file
    from remodel.history.services import By
    from remodel.house_files.files import house_from_file
    from remodel.house_files.new import default_catalogue
    from takeoff.rules import Rules
    from tests.bench.rooms import seeded_house

    value = replace(seeded_house(seed, rooms=rooms), rules=Rules(), catalogue=default_catalogue())
    return house_from_file(by=By(person), text=write_house_file(value))


def _history(house: Any, person: Any) -> None:
    """Orders, logs and movements of some months, made as rows: nothing follows from them here."""
    from django.utils import timezone

    from remodel.supply.models import Claim, Movement, Order, OrderLine, OrderRoom, Pack
    from remodel.supply.orders import FROZEN_SCHEMA
    from remodel.work.models import DayLog

    rooms = list(house.rooms.prefetch_related("phases"))
    packs = list(Pack.objects.filter(material__house=house).select_related("material")[:12])
    now, today = timezone.now(), timezone.localdate()
    nothing: dict[str, Any] = {"rooms": {}, "needs": [], "stock": [], "coming": []}
    frozen = nothing | {
        "schema": FROZEN_SCHEMA,
        "currency": house.currency,
        "phases": ["hanging"],
    }
    orders = Order.objects.bulk_create(
        Order(
            house=house,
            name=f"Order {number}",
            state=Order.State.PLACED,
            phases=["hanging"],
            placed_at=now,
            frozen=frozen,
        )
        for number in range(1, ORDERS + 1)
    )
    OrderRoom.objects.bulk_create(
        OrderRoom(order=order, room=room)
        for index, order in enumerate(orders)
        for room in rooms[3 * index : 3 * index + 3]
    )
    OrderLine.objects.bulk_create(
        OrderLine(
            order=order,
            position=position,
            phase="hanging",
            item=pack.material.key,
            name=pack.material.name,
            need="1",
            unit=pack.unit,
            pack=pack.name,
            holds=str(pack.holds),
            holds_unit=pack.unit,
            worked_out=2,
            packs=2,
            price=pack.price,
        )
        for order in orders
        for position, pack in enumerate(packs)
    )
    # Every ordered room has a claim on what it hangs.
    Claim.objects.bulk_create(
        Claim(
            house=house,
            job=room.phases.get(key="hanging"),
            item=pack.material.key,
            serial=index + 1,
            order=order,
            begun_at=now,
        )
        for index, order in enumerate(orders)
        for room in rooms[3 * index : 3 * index + 3]
        for pack in {pack.material_id: pack for pack in packs}.values()
    )
    logs = DayLog.objects.bulk_create(
        DayLog(
            room=room,
            phase=room.phases.first(),
            day=today - timedelta(days=number % 120),
            minutes=90,
            note="Two walls",
            person=person,
            at=now,
        )
        for number in range(LOGS)
        for room in [rooms[number % len(rooms)]]
    )
    Movement.objects.bulk_create(
        Movement(
            serial=number + 1,
            house=house,
            item=pack.material.key,
            kind="received" if number % 2 else "used",
            numerator=pack.numerator if number % 2 else -1,
            denominator=pack.denominator if number % 2 else 1,
            unit=pack.unit,
            room=log.room,
            phase="hanging",
            day=log.day,
            at=now,
            person=person,
            log=None if number % 2 else log,
        )
        for number in range(MOVEMENTS)
        for pack, log in [(packs[number % len(packs)], logs[number % LOGS])]
    )


def _worker_here() -> None:
    from remodel.board import services
    from remodel.jobs.models import worker_seen

    worker_seen("bench")
    services.MANY_WRITES = 1_000_000  # as fast as a bench writes, it is one person


def _get(bench: Bench, url: str) -> None:
    answer = bench.client.get(url)
    if answer.status_code != 200:
        raise RuntimeError(f"{url} answered {answer.status_code}")
