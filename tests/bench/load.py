"""Many at once, against the product as it is served: people who edit, and pages beside print sets
and searches. Everything goes over loopback, and the clients run on the same machine."""

from __future__ import annotations

import json
import os
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from http.client import HTTPConnection, HTTPResponse
from pathlib import Path
from statistics import median, quantiles
from urllib.parse import urlencode

from tests.outages.product import Product, wait_for
from tests.remodel.page_forms import forms_of

__all__ = ["load"]

PEOPLE = 20
HOUSES = 200
SAVE_AIM, PAGE_AIM = 1500, 300  # ms, p95
# Seconds between a save and the next visit: of somebody who measures before he types, and of one
# who has all measures on paper.
PAUSES = (10.0, 3.0)
PROCESSES = 2  # of the web server, as the systemd description runs it
_AT_ONCE = 10  # print sets, and searches
_LONGEST = 90.0

# The two houses that are worked in, and others with a room each. The searches that all of them
# would begin with are left out: they would go on for an hour.
_MAKE = """
import json, sys, django
from pathlib import Path
django.setup()
from django.core.management import call_command
call_command("migrate", verbosity=0)
call_command("collectstatic", interactive=False, verbosity=0)
from remodel.board.models import SearchJob
from remodel.history.services import By
from remodel.house_files.files import house_from_file
from remodel.people.services import household
by = By(household())
demo = json.loads(Path("fixtures/hollow-lane.json").read_text())
def plain(name, rooms):
    return json.dumps({
        "version": demo["version"], "id": name, "name": name, "units": "in",
        "rooms": [
            {"id": f"room-{n}", "name": f"Room {n}", "ceiling": {"kind": "flat", "height": "8 ft"},
             "shape": {"quick": {"length": f"{120 + n} in", "width": "9 ft 4 in"}}}
            for n in range(rooms)
        ],
    })
small = house_from_file(by=by, text=plain("small", 11))
large = house_from_file(by=by, text=plain("large", 60))
for number in range(int(sys.argv[1]) - 2):
    house_from_file(by=by, text=plain(f"other-{number}", 1))
SearchJob.objects.all().delete()
print(json.dumps([
    [str(house.pk), [str(room.pk) for room in house.rooms.filter(shape="quick")]]
    for house in (small, large)
]))
"""
_SEARCH = """
import sys, django
django.setup()
from remodel.board.models import Plan, SearchJob
wanted = list(SearchJob.objects.values_list("pk", flat=True)[:int(sys.argv[1])])
SearchJob.objects.exclude(pk__in=wanted).delete()
for job in SearchJob.objects.all():
    taken = SearchJob.objects.filter(room=job.room, board=job.board, thickness=job.thickness)
    taken.exclude(pk=job.pk).delete()
SearchJob.objects.update(state="waiting", owner="", attempts=0, outcome="")
print(len(wanted))
"""


@dataclass(slots=True)
class Browser:
    """One person's browser: it keeps its cookies, and goes to no other page by itself."""

    port: int
    cookies: dict[str, str] = field(default_factory=dict)

    def ask(self, path: str, data: dict[str, list[str]] | None = None) -> tuple[int, str]:
        """The status and text of an answer; 0 where none came."""
        headers = {"Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items())}
        body = None
        if data is not None:
            body = urlencode(data, doseq=True)
            headers["Content-Type"] = "application/x-www-form-urlencoded"
        connection = HTTPConnection("127.0.0.1", self.port, timeout=60)
        try:
            connection.request("GET" if data is None else "POST", path, body, headers)
            answer = connection.getresponse()
            self._keep(answer)
            return answer.status, answer.read().decode(errors="replace")
        except OSError:
            return 0, ""
        finally:
            connection.close()

    def _keep(self, answer: HTTPResponse) -> None:
        for line in answer.headers.get_all("Set-Cookie") or ():
            name, _, value = line.partition(";")[0].partition("=")
            self.cookies[name] = value


@dataclass(slots=True)
class Asked:
    """What came of many requests: how often each status, and the milliseconds of pages and
    saves."""

    statuses: Counter[int] = field(default_factory=Counter)
    pages: list[float] = field(default_factory=list)
    saves: list[float] = field(default_factory=list)

    def get(self, browser: Browser, path: str) -> str:
        return self._timed(self.pages, lambda: browser.ask(path))[1]

    def post(self, browser: Browser, path: str, data: dict[str, list[str]]) -> int:
        return self._timed(self.saves, lambda: browser.ask(path, data))[0]

    def _timed(self, times: list[float], ask: Callable[[], tuple[int, str]]) -> tuple[int, str]:
        begun = time.perf_counter()
        status, text = ask()
        times.append((time.perf_counter() - begun) * 1000)
        self.statuses[status] += 1
        return status, text

    @property
    def failed(self) -> int:
        """Answers that are an error of the product's, or none at all. Two people who edit one room
        are told so (409), which is no error."""
        return sum(count for status, count in self.statuses.items() if not 200 <= status < 500)


def load(seconds: float = 60, houses: int = HOUSES) -> None:
    """Print how long people wait who edit at once, and how long for pages beside the worker."""
    with tempfile.TemporaryDirectory() as folder:
        product = Product(Path(folder) / "data")
        begun = time.monotonic()
        made = json.loads(product.run(_MAKE, str(houses), seconds=900))
        print(f"  {houses} houses made in {time.monotonic() - begun:.0f} s", flush=True)
        try:
            product.serve("--processes", str(PROCESSES))
            plain = _plain_page(product)
            for (house, rooms), size in zip(made, (11, 60), strict=True):
                print(f"  {PEOPLE} people edit for {seconds:.0f} s in the house of {size} rooms")
                for pause in PAUSES:
                    print(f"   pausing {pause:g} s:")
                    asked = _edited(product, house, rooms, seconds, pause)
                    _told(asked, plain)
            _beside_the_worker(product, made, plain)
        finally:
            product.stop()


def _plain_page(product: Product) -> float:
    """The milliseconds of a page that asks the database for next to nothing, alone."""
    asked, browser = Asked(), Browser(product.port)
    for _ in range(30):
        asked.get(browser, "/help")
    print(f"  a plain page alone: median {median(asked.pages):.0f} ms{_busy()}", flush=True)
    return median(asked.pages)


def _edited(
    product: Product, house: str, rooms: Sequence[str], seconds: float, pause: float
) -> Asked:
    asked = Asked()
    until = time.monotonic() + seconds
    people = [
        threading.Thread(target=_edit, args=(product, asked, house, rooms, number, until, pause))
        for number in range(PEOPLE)
    ]
    for person in people:
        person.start()
    for person in people:
        person.join()
    return asked


def _edit(
    product: Product,
    asked: Asked,
    house: str,
    rooms: Sequence[str],
    number: int,
    until: float,
    pause: float,
) -> None:
    """Somebody who goes from room to room, reads it, and saves another length of it."""
    browser, turn = Browser(product.port), number
    time.sleep(pause * number / PEOPLE)
    while time.monotonic() < until:
        room = rooms[turn % len(rooms)]
        turn += 1
        asked.get(browser, f"/room/{room}")
        page = asked.get(browser, f"/room/{room}/size")
        form = next((form for form in forms_of(page, f"/room/{room}/size") if form.seen), None)
        if form is not None:
            length = f"{10 + (turn * 7 + number) % 12} ft {1 + turn % 10} in"
            asked.post(browser, form.action, form.data({"room_length": [length]}))
        asked.get(browser, f"/house/{house}")
        time.sleep(pause)


def _beside_the_worker(product: Product, made: list[tuple[str, list[str]]], plain: float) -> None:
    """Pages while ten print sets are made and ten searches run."""
    wait_for(lambda: not _going(product), 600, "what the edits left to the worker")
    searches = int(product.run(_SEARCH, str(_AT_ONCE)))
    (small, some), (large, rooms) = made
    browser, sets = Browser(product.port), 0
    for house in (small, large):
        for _ in range(_AT_ONCE // 2):
            # Each from a page of its own, for the same page sent twice is one print set.
            page = browser.ask(f"/house/{house}/packs")[1]
            address = f"/house/{house}/packs"
            form = next(form for form in forms_of(page, address) if form.action == address)
            sets += browser.ask(form.action, form.data())[0] == 302
    print(
        f"  pages beside {sets} print sets and {searches} searches, asked for at once", flush=True
    )
    asked, begun = Asked(), time.monotonic()
    paths = [f"/house/{small}", f"/house/{small}/rooms", f"/room/{some[0]}", f"/room/{rooms[0]}"]
    while _going(product) and time.monotonic() - begun < _LONGEST:
        for path in paths:
            asked.get(browser, path)
            time.sleep(0.05)
    _told(asked, plain)
    print(f"    after {time.monotonic() - begun:.0f} s, {_going(product)} of them were still to do")


def _going(product: Product) -> int:
    tables = ("board_searchjob", "cards_printpack", "board_figures")
    ask = "SELECT count(*) FROM {} WHERE state IN ('waiting', 'running')"
    return sum(product.ask(ask.format(table))[0][0] for table in tables)


def _told(asked: Asked, plain: float) -> None:
    told = ", ".join(f"{count} of {status}" for status, count in sorted(asked.statuses.items()))
    print(f"    {asked.failed} errors; answers: {told}{_busy()}")
    for what, times, aim in (("pages", asked.pages, 0), ("saves", asked.saves, SAVE_AIM)):
        if len(times) < 2:
            continue
        high = quantiles(times, n=20, method="inclusive")[-1]
        aim = aim or (SAVE_AIM if asked.saves else PAGE_AIM)
        ratios = f"{median(times) / plain:.1f} and {high / plain:.1f} plain pages"
        print(
            f"    {what}: median {median(times):.0f} ms, p95 {high:.0f} ms, {ratios} "
            f"(aim: p95 under {aim} ms)",
            flush=True,
        )


def _busy() -> str:
    """How busy the machine is, for it may be shared."""
    return f" (load {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores)"
