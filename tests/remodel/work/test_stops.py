"""What stops work is asked about where the work is told: never passed by unsaid, never asked twice.

Each way to tell of work (a tick, a day, a phase, a room that is closed, an order, a plan) is driven
here through its own page.
"""

from __future__ import annotations

import random
from collections.abc import Mapping
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from remodel.board.models import Plan
from remodel.board.plans import plans_keep
from remodel.cards.models import DoneMark
from remodel.cards.queries import hanging_for
from remodel.history.services import By
from remodel.house.models import HiddenItem, House, Partition, Room
from remodel.house.things import surface_choice_set
from remodel.order_of_work import OrderOfWork, order_of, order_of_house
from remodel.supply.models import Order
from remodel.supply.orders import order_make
from remodel.work.models import AcceptedStop, DayLog, SaidStep
from remodel.work.services import phase_set_state
from tests.remodel.cards.test_taken_along import code
from tests.remodel.factories import accept_stops, ada
from tests.remodel.routes import routes
from tests.remodel.site import browser, with_partition

ASKED = "Before you go on"

# Each route that writes, with what it is to the order of work: "checked", or why it needs no check.
ENTRY = "it says what is planned or how things are, and no work"
MONEY = "it is about material and money; what is ordered is asked about when the order is placed"
READING = "it is about the site, people or paper"
BACK = "it takes back or corrects what was told; going on again is asked about"
CHECKED = "checked"
ROUTES: dict[str, str] = {
    **dict.fromkeys(
        (
            "room-tick",
            "room-tick-all",
            "room-take-along",
            "log-add",
            "phase-detail",
            "room-close",
            "order-place",
            "plan-step",
            "room-piece-told",
            "step-said",
            "surface-close",
        ),
        CHECKED,
    ),
    **dict.fromkeys(
        (
            "who",
            "person-add",
            "pair",
            "device-code",
            "device-withdraw",
            "sign-in",
            "sign-out",
            "password-change",
            "invitation",
            "sign-up",
            "invitation-add",
            "invitation-withdraw",
            "membership-role",
            "membership-end",
            "archive-restore",
            "house-packs",
            "house-pack-stop",
            "room-pack",
            "room-marking",
            "house-marking",
            "cards-thrown",
            "plan-note-read",
        ),
        READING,
    ),
    **dict.fromkeys(
        (
            "house-new",
            "house-import",
            "house-edit",
            "house-rules",
            "house-remove",
            "house-put-back",
            "room-add",
            "room-add-walls",
            "room-add-surfaces",
            "room-outline",
            "thing-picture",
            "room-size",
            "room-walls",
            "room-built",
            "room-surfaces",
            "room-hang-first",
            "room-framing",
            "room-finish",
            "room-remove",
            "surface-edit",
            "surface-clear",
            "surface-anew",
            "opening-add",
            "opening-edit",
            "opening-remove",
            "cutout-add",
            "cutout-edit",
            "cutout-remove",
            "hidden-add",
            "hidden-edit",
            "hidden-remove",
            "hidden-in",
            "surface-photo",
            "photo-remove",
            "partition-add",
            "partition-edit",
            "partition-remove",
            "partition-detail",
            "choice-detail",
            "house-together",
            "house-apart",
            "room-plan-keep",
            "plan-take",
            "plan-leave",
            "phase-move",
            "phase-leave-out",
            "phase-remove",
            "phase-add",
            "added-add",
            "added-edit",
            "added-remove",
            "note-add",
            "note-remove",
        ),
        ENTRY,
    ),
    **dict.fromkeys(
        (
            "price-bring-in",
            "price-confirm",
            "price-longest",
            "price-sheet-add",
            "price-sheets",
            "price-material-add",
            "price-material",
            "price-pack-add",
            "store-add",
            "store-change",
            "store-remove",
            "order-new",
            "order-add",
            "order-refresh",
            "order-remove",
            "order-close",
            "order-take-back",
            "order-receive",
            "order-line",
            "order-line-tick",
            "order-line-instead",
            "order-line-there",
            "order-line-skip",
            "order-return",
            "receipt-take-back",
            "stock-have",
            "stock-count",
            "stock-spoil",
            "stock-found",
            "stock-move",
            "stock-out",
            "stock-keep",
            "stock-free",
            "stock-first",
            "stock-reverse",
            "offcut-change",
            "offcut-gone",
            "offcut-remove",
            "room-rest",
        ),
        MONEY,
    ),
    **dict.fromkeys(
        ("change-undo", "log-change", "log-remove", "room-piece-undo", "stop-again", "face-open"),
        BACK,
    ),
}


def test_every_route_that_writes_asks_first_or_says_why_not():
    writing = {route.name for route in routes() if "POST" in route.methods}
    assert writing == set(ROUTES)


@pytest.fixture
def bare(house: House) -> House:
    """A house of one kitchen in which nothing is done, said or accepted."""
    AcceptedStop.objects.all().delete()
    return house


@pytest.fixture
def kitchen(bare: House) -> Room:
    return bare.rooms.get()


@pytest.fixture
def client(bare: House, settings) -> Client:
    settings.HOSTED = True
    return browser(ada())


def first_board(room: Room) -> Any:
    return next(step for step in hanging_for(room) or () if step.piece)


def presses(room: Room) -> dict[str, tuple[str, dict[str, Any]]]:
    """The press of each way to tell of work that something stops in a bare kitchen."""
    step = first_board(room)
    surface = step.surface.partition("/")[2]
    hanging = room.phases.get(key="hanging")
    return {
        "room-tick": (
            reverse("room-tick", args=[room.pk]),
            {"kind": "hung", "item": step.piece, "plan": step.plan, "done": "yes"},
        ),
        "room-tick-all": (
            reverse("room-tick-all", args=[room.pk]),
            {"what": "surface", "item": surface, "done": "yes"},
        ),
        "room-take-along": (
            reverse("room-take-along", args=[room.pk]),
            {"code": code(room, [[0, "hung", step.piece, "", 0]])},
        ),
        "log-add": (
            reverse("log-add", args=[hanging.pk]),
            {"day": "2026-03-07", "hours": "2"},
        ),
        "phase-detail": (reverse("phase-detail", args=[hanging.pk]), {"state": "in progress"}),
        "room-close": (reverse("room-close", args=[room.pk]), {}),
    }


def is_told(room: Room) -> bool:
    """Whether any work was written down."""
    return (
        DoneMark.objects.filter(room=room).exists()
        or DayLog.objects.filter(room=room).exists()
        or room.phases.exclude(state="not started").exists()
    )


def answers(reason: str = "Seen by the inspector") -> dict[str, str]:
    """All that a page asks, accepted with one reason."""
    return {"stops-asked": "yes", "stops-why": reason}


@pytest.mark.parametrize(
    "name",
    ["room-tick", "room-tick-all", "room-take-along", "log-add", "phase-detail", "room-close"],
)
def test_a_press_that_something_stops_asks_and_writes_nothing(client, kitchen, name):
    url, data = presses(kitchen)[name]
    page = client.post(url, data).content.decode()
    assert ASKED in page
    assert "Fix every leak before board hides it." in page
    assert not is_told(kitchen)


@pytest.mark.parametrize(
    "name",
    ["room-tick", "room-tick-all", "room-take-along", "log-add", "phase-detail", "room-close"],
)
def test_a_press_goes_on_once_each_stop_is_accepted_and_is_never_asked_again(client, kitchen, name):
    url, data = presses(kitchen)[name]
    answer = client.post(url, data | answers())
    assert answer.status_code == 302
    assert is_told(kitchen)
    leaks = AcceptedStop.objects.get(key="leaks-before-board /leaks-fixed")
    assert (leaks.reason, leaks.person) == ("Seen by the inspector", ada())
    again = client.post(url, data | {"note": "Once more"})
    assert ASKED not in again.content.decode()


def test_no_reason_is_no_acceptance(client, kitchen):
    url, data = presses(kitchen)["phase-detail"]
    page = client.post(url, data).content.decode()
    page = client.post(url, data | answers(" ")).content.decode()
    assert "or enter a reason" in page
    assert not is_told(kitchen)
    assert not AcceptedStop.objects.exists()


def test_each_stop_may_have_a_reason_of_its_own(client, kitchen):
    url, data = presses(kitchen)["phase-detail"]
    own = {"stops-why-leaks-before-board /leaks-fixed": "The roof is new"}
    client.post(url, data | answers("It was there before us") | own)
    reasons = dict(AcceptedStop.objects.values_list("key", "reason"))
    assert reasons.pop("leaks-before-board /leaks-fixed") == "The roof is new"
    assert set(reasons.values()) == {"It was there before us"}


def test_what_is_typed_is_there_after_a_stop_is_answered(client, kitchen):
    url, data = presses(kitchen)["log-add"]
    page = client.post(url, data | {"note": "Two boards & a half"}).content.decode()
    assert 'name="note" value="Two boards &amp; a half"' in page


def test_a_stop_that_is_done_is_said_to_be_done(client, kitchen):
    url, data = presses(kitchen)["phase-detail"]
    data |= answers()
    data["stops-done-leaks-before-board /leaks-fixed"] = "yes"
    client.post(url, data)
    assert SaidStep.objects.get(step="/leaks-fixed").done
    assert not AcceptedStop.objects.filter(key__startswith="leaks").exists()


def test_a_stop_is_asked_for_again_once_somebody_wants_it(client, kitchen):
    accept_stops(kitchen.house)
    accepted = AcceptedStop.objects.get(key="rough-in-before-board kitchen/rough-in")
    client.post(reverse("stop-again", args=[accepted.pk]))
    url, data = presses(kitchen)["phase-detail"]
    page = client.post(url, data).content.decode()
    assert "Have the rough-in done and signed off" in page
    assert "Fix every leak" not in page


def test_a_script_that_ticks_is_told_in_words(client, kitchen):
    url, data = presses(kitchen)["room-tick"]
    answer = client.post(url, data, headers={"X-Marks": "yes"})
    assert answer.status_code == 409
    assert answer.content.decode().startswith("Not marked. First: ")
    assert not is_told(kitchen)


def test_a_tick_is_taken_back_without_a_question(client, kitchen):
    accept_stops(kitchen.house)
    url, data = presses(kitchen)["room-tick"]
    client.post(url, data)
    AcceptedStop.objects.all().delete()
    client.post(url, data | {"done": "no"})
    assert not DoneMark.objects.filter(room=kitchen, kind="hung", done=True).exists()


def test_a_planned_block_stops_the_board_that_hides_it(client, kitchen, by):
    accept_stops(kitchen.house)
    url, data = presses(kitchen)["room-tick"]
    surface = first_board(kitchen).surface.partition("/")[2]
    place = {"across_distance": 0, "up_origin": "B", "up_distance": 0, "width": 1, "height": 1}
    HiddenItem.objects.create(
        room=kitchen,
        key="rail",
        name="Rail",
        plane=surface,
        across_origin="A",
        planned=True,
        **place,
    )
    page = client.post(url, data).content.decode()
    assert "Put in &quot;Rail&quot; before its surface is closed." in page


def test_board_is_not_ordered_for_a_room_that_is_still_to_be_torn_out(client, kitchen, by):
    surface_choice_set(by=by, room=kitchen, surface="A", action="strip and board")
    order = order_make(by=by, house=kitchen.house, phases=["hanging"], rooms=[kitchen])
    url, data = reverse("order-place", args=[order.pk]), {"without_prices": "on"}
    page = client.post(url, data).content.decode()
    assert "Tear out before you order the board." in page
    assert Order.objects.get(pk=order.pk).state == "draft"
    client.post(url, data | answers() | {"unseen_framing": "on"})
    assert Order.objects.get(pk=order.pk).state == "placed"


def test_a_plan_is_not_called_hung_past_a_stop(client, kitchen, by):
    plans_keep(by=by, room=kitchen, why=Plan.Why.PERSON)
    plan = Plan.objects.get(room=kitchen)
    url = reverse("plan-step", args=[plan.pk])
    page = client.post(url, {"state": "hung"}).content.decode()
    assert ASKED in page
    assert Plan.objects.get(pk=plan.pk).state == "accepted"


def test_cold_is_asked_about_where_somebody_says_it_is_cold(client, kitchen):
    accept_stops(kitchen.house)
    taping = kitchen.phases.get(key="taping")
    url = reverse("phase-detail", args=[taping.pk])
    page = client.post(url, {"state": "in progress", "coldest": "41"}).content.decode()
    assert "colder than 50 °F" in page
    assert client.post(url, {"state": "in progress", "coldest": "60"}).status_code == 302


def test_a_closet_framed_after_board_is_in_the_hanging_list_where_it_belongs(client, kitchen):
    with_partition(kitchen, ada(), framed="after")
    page = client.get(reverse("room-hanging", args=[kitchen.pk])).content.decode()
    backing = page.index("Put in the backing for Closet wall")
    frame = page.index("Frame Closet wall now")
    assert backing < page.index("Hang ") < frame


def test_a_partition_is_said_to_be_framed_and_its_board_can_be_hung(client, kitchen, by):
    wall = with_partition(kitchen, ada())
    house = kitchen.house
    step = f"kitchen/partition-first/{wall.key}"
    assert step in [one.step.id for one in order_of_house(house).outlook.now]
    client.post(reverse("step-said", args=[house.pk]), {"step": step, "done": "yes"})
    assert order_of_house(house).graph.steps[step].is_done


def test_the_pages_of_what_is_next_tell_what_can_start_and_what_waits(client, kitchen):
    for url in (
        reverse("house-next", args=[kitchen.house_id]),
        reverse("room-next", args=[kitchen.pk]),
    ):
        page = client.get(url).content.decode()
        assert "Do this first" in page
        assert "Rough in wiring, pipes and ducts" in page
        assert "Waits for: " in page
    page = client.get(reverse("house-detail", args=[kitchen.house_id])).content.decode()
    assert "Can start now" in page
    assert "Frees most" in page


def test_a_phase_that_is_done_has_done_its_steps_and_one_left_out_has_none(kitchen, by):
    phase_set_state(by=by, phase=kitchen.phases.get(key="rough-in"), state="done")
    kitchen.phases.filter(key="insulation").update(left_out=True)
    steps = order_of(kitchen).graph.steps
    assert steps["kitchen/rough-in-inspected"].is_done
    assert "kitchen/insulation" not in steps


# What has to be done or accepted before each kind of work: a list by hand, not the rules.
BEFORE = {
    "order": {"tear-out"},
    "hang": {"/leaks-fixed", "framing", "rough-in", "insulation", "backing"},
    "frame": {"hang-ceiling", "hang-walls"},
    "tape": {"hang-ceiling", "hang-walls"},
    "finish": {"hang-ceiling", "hang-walls", "tape"},
}


def wanted(order: OrderOfWork, room: Room, kind: str) -> set[str]:
    """The steps of that list in a room that are neither done nor accepted."""
    accepted = {key.partition(" ")[2] for key in order.accepted}
    before = BEFORE.get(kind, set())
    return {
        step.id
        for step in order.graph.steps.values()
        if not step.is_done and step.id not in accepted
        if step.id in before or (step.room == room.key and step.kind.id in before)
    }


class Driver:
    """Presses in any order, each at the route that tells of it: none is written while a stop of the
    list by hand is open."""

    WAYS: Mapping[str, tuple[str, ...]] = {
        "order": ("order",),
        "hang": ("tick", "one", "log:hanging", "phase:hanging", "close", "piece", "plan"),
        "frame": ("said",),
        "tape": ("log:taping", "phase:taping"),
        "finish": ("log:finishing", "phase:finishing"),
        "ready": ("done:framing", "done:rough-in", "done:insulation", "done:strip-out", "leaks"),
    }

    def __init__(self, client: Client, room: Room) -> None:
        self.client, self.room = client, room
        self.phases = {phase.key: phase for phase in room.phases.all()}
        self.asked: set[str] = set()

    def press(self, kind: str, way: str, turn: int) -> tuple[str, dict[str, Any]]:
        room, (what, _, key) = self.room, way.partition(":")
        step = first_board(room)
        surface = step.surface.partition("/")[2]
        if what == "log":
            data = {"day": "2026-03-07", "hours": "2", "note": str(turn)}
            return reverse("log-add", args=[self.phases[key].pk]), data
        if what in ("phase", "done"):
            state = "done" if what == "done" else "in progress"
            return reverse("phase-detail", args=[self.phases[key].pk]), {"state": state}
        if what in ("tick", "one"):
            return presses(room)["room-tick-all" if what == "tick" else "room-tick"]
        if what == "close":
            return reverse("surface-close", args=[room.pk, surface]), {}
        if what == "piece":
            told = reverse("room-piece-told", args=[room.pk, step.piece, "elsewhere"])
            return told, {"yes": "yes", "end": "end", "length": "7 ft"}
        if what == "plan":
            plan = Plan.objects.filter(room=room).first()
            assert plan is not None
            return reverse("plan-step", args=[plan.pk]), {"state": "hung"}
        if what == "order":
            order = Order.objects.get(house=room.house)
            data = {"without_prices": "on", "unseen_framing": "on"}
            return reverse("order-place", args=[order.pk]), data
        wall = Partition.objects.get(room=room)
        id_ = f"{room.key}/partition-later/{wall.key}" if what == "said" else "/leaks-fixed"
        return reverse("step-said", args=[room.house_id]), {"step": id_, "done": "yes"}

    def go(self, kind: str, way: str, turn: int, *, answer: bool) -> None:
        order = order_of(self.room)
        open_ = wanted(order, self.room, kind)
        url, data = self.press(kind, way, turn)
        page = self.client.post(url, data).content.decode()
        if open_:
            assert ASKED in page, (kind, way, open_)
            self.asked.add(way)
        if ASKED in page and answer:
            self.client.post(url, data | answers())


@pytest.fixture
def driver(client: Client, kitchen: Room, by: By) -> Driver:
    """A kitchen that is torn out first, gets a closet wall after its board, and has an order that
    is not placed and a plan that is accepted."""
    surface_choice_set(by=by, room=kitchen, surface="A", action="strip and board")
    with_partition(kitchen, ada(), framed="after")
    order_make(by=by, house=kitchen.house, phases=["hanging"], rooms=[kitchen])
    plans_keep(by=by, room=kitchen, why=Plan.Why.PERSON)
    return Driver(client, kitchen)


def test_no_way_to_tell_of_work_passes_an_open_stop_unsaid(driver):
    ways = [(kind, way) for kind, some in Driver.WAYS.items() for way in some if kind in BEFORE]
    for turn, (kind, way) in enumerate(ways):
        driver.go(kind, way, turn, answer=False)
    assert driver.asked == {way for _, way in ways}
    assert not is_told(driver.room)


def drive(driver: Driver, seed: int, turns: int) -> None:
    random_ = random.Random(seed)
    for turn in range(turns):
        kind = random_.choice(list(Driver.WAYS))
        answer = random_.random() < 0.5
        driver.go(kind, random_.choice(Driver.WAYS[kind]), turn, answer=answer)


def test_no_random_order_passes_a_stop_unsaid(driver):
    drive(driver, 1, 8)


@pytest.mark.deep
@pytest.mark.parametrize("seed", range(2, 22))
def test_no_random_order_of_many_passes_a_stop_unsaid(driver, seed):
    drive(driver, seed, 20)
