"""Server time of pages and of the parts htmx swaps, on the demo house, on a house of sixty rooms,
and on piles.

In-process, through the test client: middleware, queries and templates are in it, the network is
not.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from statistics import median, quantiles
from typing import Any

__all__ = ["pages", "say", "timed"]

ROOMS = 60
ROUNDS = 30
PILE = 4


def pages(rooms: int = ROOMS) -> None:
    """Print the median and p95 of each kind of answer (aims: page 200 ms, part 100 ms, edit 500
    ms)."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
    import django

    django.setup()
    from django.core.management import call_command
    from django.test.utils import setup_test_environment

    setup_test_environment()
    call_command("migrate", verbosity=0)

    from django.test import Client

    from remodel.history.services import By
    from remodel.house_files.files import house_from_file
    from remodel.people.services import household
    from remodel.wsgi import settle
    from tests.remodel.site import small_house
    from tests.takeoff.houses import FIXTURES

    person = household()
    demo = house_from_file(by=By(person), text=(FIXTURES / "hollow-lane.json").read_bytes())
    large = small_house(person, *(f"Room {number}" for number in range(1, rooms + 1)))
    settle()
    for name, house in (
        (f"demo house, {demo.rooms.count()} rooms", demo),
        (f"house of {rooms} rooms", large),
    ):
        print(f"  {name}")
        _measure(Client(), house, person)
    for house, rooms in ((demo, PILE), (large, PILE), (large, 2 * PILE)):
        _pile(Client(), house, person, rooms)


def _pile(client: Any, house: Any, person: Any, rooms: int) -> None:
    """An edit of one room of some bought together; of a large pile the worker sees to the rest
    afterwards."""
    from django.urls import reverse

    from remodel.board import figures, services
    from remodel.history.services import By
    from remodel.jobs.models import worker_seen
    from remodel.piles import heads_of, pile_make

    worker_seen("bench")
    services.MANY_WRITES = 1_000_000  # as fast as a bench writes, it is one person
    heads = heads_of(house)[:rooms]
    pile_make(by=By(person), house=house, rooms=heads)
    room = next(head for head in heads if head.shape == "quick")
    part = reverse("room-boards", args=[room.pk])
    edit = _edits(client, room, person, part)
    times, later = [], []
    for more in range(ROUNDS):
        times.append(timed(edit(more + ROUNDS + 1)))
        later.append(timed(lambda: bool(figures.run_once())))
    print(f"  {house}: {rooms} rooms bought together")
    say("an edit of one of them, to the part swapped in", times, 500)
    say("the pile worked out afterwards", later, 10_000)


def _measure(client: Any, house: Any, person: Any) -> None:
    from django.urls import reverse

    room = house.rooms.filter(shape="quick").first()
    full = (
        "house-detail",
        "room-list",
        "price-list",
        "order-list",
        "log-list",
        "house-history",
        "help",
    )
    page_times = [
        timed(lambda url=url: _ok(client.get(url)))
        for _ in range(ROUNDS)
        for url in (
            *(reverse(route, args=[house.pk]) for route in full if route != "help"),
            reverse("help"),
            reverse("room-detail", args=[room.pk]),
        )
    ]
    say("full pages", page_times, 200)
    front = reverse("house-detail", args=[house.pk])
    cpu = [cpu_of(lambda: _ok(client.get(front))) for _ in range(ROUNDS)]
    say("the house page, time of this process alone", cpu, 200)
    part = reverse("room-boards", args=[room.pk])
    parts = [
        timed(lambda: _ok(client.get(part, {"seen": "-"}, headers={"HX-Request": "true"})))
        for _ in range(ROUNDS)
    ]
    say("the boards part of a room", parts, 100)
    edit = _edits(client, room, person, part)
    say(
        "an edit of a room, to the part swapped in",
        [timed(edit(more + 1)) for more in range(ROUNDS)],
        500,
    )


def _edits(client: Any, room: Any, person: Any, part: str) -> Callable[[int], Callable[[], None]]:
    """Edits of a room's length, each answered with the part that is swapped in."""
    from remodel.bridge.lengths import INCH
    from remodel.history.services import By
    from remodel.house.services import room_resize

    length, width = _sides(room)

    def edit(more: int) -> Callable[[], None]:
        def once() -> None:
            fresh = type(room).objects.get(pk=room.pk)
            room_resize(by=By(person), room=fresh, length=length + more * INCH, width=width)
            _ok(client.get(part, {"seen": "-"}, headers={"HX-Request": "true"}))

        return once

    return edit


def _sides(room: Any) -> tuple[int, int]:
    lengths = {wall.key: wall.length for wall in room.walls.all()}
    return lengths["A"], lengths["B"]


def _ok(answer: Any) -> None:
    if answer.status_code != 200:
        raise RuntimeError(f"{answer.request['PATH_INFO']} answered {answer.status_code}")


def timed(work: Callable[[], object]) -> float:
    """The milliseconds that `work` takes."""
    begun = time.perf_counter()
    work()
    return (time.perf_counter() - begun) * 1000


def cpu_of(work: Callable[[], object]) -> float:
    """The milliseconds of this process that `work` takes, whatever else the machine does."""
    begun = time.process_time()
    work()
    return (time.process_time() - begun) * 1000


def say(what: str, times: list[float], aim: int) -> None:
    """Print the median and p95 of some times, beside their aim."""
    high = quantiles(times, n=20, method="inclusive")[-1]
    print(f"    {what}: median {median(times):.0f} ms, p95 {high:.0f} ms (aim: p95 under {aim} ms)")
