"""What stops work is asked about where the work is told: never passed by unsaid, never asked twice.

Each way to tell of work (a tick, a day, a phase, a room that is closed, an order, a plan) is driven
here through its own page.
"""

from __future__ import annotations

import random
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from remodel.board.models import Plan
from remodel.cards.models import DoneMark
from remodel.cards.queries import hanging_for
from remodel.history.services import By
from remodel.house.models import HiddenItem, House, Room
from remodel.house.things import surface_choice_set
from remodel.order_of_work import order_of, order_of_house, say_step
from remodel.supply.models import Order
from remodel.supply.orders import order_make
from remodel.work.models import AcceptedStop, DayLog, SaidStep
from remodel.work.services import phase_set_state
from tests.remodel.factories import accept_stops, ada
from tests.remodel.routes import routes
from tests.remodel.site import browser, small_house, with_partition

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
            "log-add",
            "phase-detail",
            "room-close",
            "order-place",
            "plan-step",
            "room-piece-told",
            "step-said",
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
            "room-size",
            "room-walls",
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
        ("change-undo", "log-change", "log-remove", "room-piece-undo", "stop-again"), BACK
    ),
}


def test_every_route_that_writes_asks_first_or_says_why_not():
    writing = {route.name for route in routes() if "POST" in route.methods}
    assert writing == set(ROUTES)


@pytest.fixture
def bare(db) -> House:
    """A house of one kitchen in which nothing is done, said or accepted."""
    house = small_house(ada())
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


def answers(page: str, *, reason: str = "Seen by the inspector") -> dict[str, str]:
    """Every stop of a page, accepted."""
    names = [part.partition('"')[0] for part in page.split('name="stop-')[1:]]
    data = {"stops-asked": "yes"}
    for name in names:
        data |= {f"stop-{name}": "accept", f"reason-{name}": reason}
    return data


@pytest.mark.parametrize(
    "name", ["room-tick", "room-tick-all", "log-add", "phase-detail", "room-close"]
)
def test_a_press_that_something_stops_asks_and_writes_nothing(client, kitchen, name):
    url, data = presses(kitchen)[name]
    page = client.post(url, data).content.decode()
    assert ASKED in page
    assert "Fix every leak before board hides it." in page
    assert not is_told(kitchen)


@pytest.mark.parametrize(
    "name", ["room-tick", "room-tick-all", "log-add", "phase-detail", "room-close"]
)
def test_a_press_goes_on_once_each_stop_is_accepted_and_is_never_asked_again(client, kitchen, name):
    url, data = presses(kitchen)[name]
    page = client.post(url, data).content.decode()
    answer = client.post(url, data | answers(page))
    assert answer.status_code == 302
    assert is_told(kitchen)
    leaks = AcceptedStop.objects.get(key="leaks-before-board /leaks-fixed")
    assert (leaks.reason, leaks.person) == ("Seen by the inspector", ada())
    again = client.post(url, data | {"note": "Once more"})
    assert ASKED not in again.content.decode()


def test_no_reason_is_no_acceptance(client, kitchen):
    url, data = presses(kitchen)["phase-detail"]
    page = client.post(url, data).content.decode()
    page = client.post(url, data | answers(page, reason=" ")).content.decode()
    assert "Enter a reason" in page
    assert not is_told(kitchen)
    assert not AcceptedStop.objects.exists()


def test_what_is_typed_is_there_after_a_stop_is_answered(client, kitchen):
    url, data = presses(kitchen)["log-add"]
    page = client.post(url, data | {"note": "Two boards & a half"}).content.decode()
    assert 'name="note" value="Two boards &amp; a half"' in page


def test_a_stop_that_is_done_is_said_to_be_done(client, kitchen):
    url, data = presses(kitchen)["phase-detail"]
    page = client.post(url, data).content.decode()
    data |= answers(page)
    data["stop-leaks-before-board /leaks-fixed"] = "done"
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
    assert answer.content.decode().startswith("Not marked. Stop: ")
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
    assert "Put in Rail before its surface is closed." in client.post(url, data).content.decode()


def test_board_is_not_ordered_for_a_room_that_is_still_to_be_torn_out(client, kitchen, by):
    surface_choice_set(by=by, room=kitchen, surface="A", action="strip and board")
    order = order_make(by=by, house=kitchen.house, phases=["hanging"], rooms=[kitchen])
    url, data = reverse("order-place", args=[order.pk]), {"without_prices": "on"}
    page = client.post(url, data).content.decode()
    assert "Tear out before you order the board." in page
    assert Order.objects.get(pk=order.pk).state == "draft"
    client.post(url, data | answers(page) | {"unseen_framing": "on"})
    assert Order.objects.get(pk=order.pk).state == "placed"


def test_a_plan_is_not_called_hung_past_a_stop(client, kitchen, by):
    from remodel.board.plans import plans_keep

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
    closet_wall = with_partition(kitchen, ada())
    closet_wall.framed = "after"
    closet_wall.save()
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


def wanted(order, kind: str) -> set[str]:
    """What has to be done or accepted before a step, worked out here from what is known: a list
    by hand, not the rules."""
    before = {
        "hang": {"/leaks-fixed", "framing", "rough-in", "insulation"},
        "tape": {"hang-ceiling", "hang-walls"},
        "finish": {"hang-ceiling", "hang-walls", "tape"},
    }[kind]
    return {
        step.id
        for step in order.graph.steps.values()
        if not step.is_done and (step.id in before or step.id.rpartition("/")[2] in before)
    }


def drive(client: Client, room: Room, seed: int) -> None:
    """Presses in a random order, some answered by accepting: none is written while a stop of the
    list by hand is neither done nor accepted."""
    random_ = random.Random(seed)
    phases = {phase.key: phase for phase in room.phases.all()}
    ways = {
        "hang": ["tick", "log:hanging", "phase:hanging"],
        "tape": ["log:taping", "phase:taping"],
        "finish": ["log:finishing", "phase:finishing"],
        "ready": ["done:framing", "done:rough-in", "done:insulation", "said"],
    }
    for turn in range(10):
        kind = random_.choice(list(ways))
        way, _, key = random_.choice(ways[kind]).partition(":")
        if way == "said":
            by, order = By(ada()), order_of(room)
            say_step(by=by, house=room.house, step=order.graph.steps["/leaks-fixed"])
            continue
        data: dict[str, Any]
        if way == "tick":
            url, data = presses(room)["room-tick-all"]
        elif way == "log":
            url = reverse("log-add", args=[phases[key].pk])
            data = {"day": "2026-03-07", "hours": "2", "note": str(turn)}
        else:
            url = reverse("phase-detail", args=[phases[key].pk])
            data = {"state": "done" if way == "done" else "in progress"}
        order = order_of(room)
        open_ = wanted(order, kind) if kind != "ready" else set()
        open_ -= {key.partition(" ")[2] for key in order.accepted}
        page = client.post(url, data).content.decode()
        if open_:
            assert ASKED in page, (kind, way, key, open_)
        if ASKED in page and random_.random() < 0.5:
            client.post(url, data | answers(page))


def test_no_random_order_passes_a_stop_unsaid(client, kitchen):
    drive(client, kitchen, 1)


@pytest.mark.deep
@pytest.mark.parametrize("seed", range(2, 22))
def test_no_random_order_of_many_passes_a_stop_unsaid(client, kitchen, seed):
    drive(client, kitchen, seed)
