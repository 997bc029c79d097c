"""Rooms, their plans and phases in a browser, at phone and laptop size."""

from __future__ import annotations

import pytest
from django.urls import reverse

from remodel.history.services import By
from remodel.house.models import House, Room
from remodel.people.services import household
from remodel.work.models import Phase
from remodel.work.services import phase_set_state
from tests.browser.conftest import SIZES
from tests.browser.reading import faults, faults_of_pages
from tests.remodel.board.two_plans import accept_dear
from tests.remodel.site import small_house, with_partition

pytestmark = pytest.mark.django_db(transaction=True)
# Links in running text, drawings and tables are as large as their words.
TEXT = "p:not(.back), dd, svg, td"


@pytest.fixture
def house() -> House:
    """A kitchen with a planned partition, one phase of each state."""
    person = household()
    house = small_house(person, "Kitchen", "Bath")
    kitchen = Room.objects.get(house=house, key="kitchen")
    with_partition(kitchen, person)
    by = By(person)
    for key, state in (("strip-out", "done"), ("framing", "in progress"), ("rough-in", "ready")):
        phase_set_state(by=by, phase=kitchen.phases.get(key=key), state=state)
    waits = kitchen.phases.get(key="insulation")
    phase_set_state(by=by, phase=waits, state="blocked", waits_for="the inspector")
    return house


def kitchen_of(house: House) -> Room:
    return Room.objects.get(house=house, key="kitchen")


def addresses(house: House) -> dict[str, str]:
    kitchen = kitchen_of(house)
    return {
        "house": reverse("house-detail", args=[house.pk]),
        "rooms": reverse("room-list", args=[house.pk]),
        "partitions": reverse("partition-list", args=[house.pk]),
        "partition": reverse("partition-detail", args=[kitchen.partitions.get().pk]),
        "choices": reverse("house-choices", args=[house.pk]),
        "choice": reverse(
            "choice-detail", args=[house.pk, f"partition.{kitchen.partitions.get().key}"]
        ),
        "room": reverse("room-detail", args=[kitchen.pk]),
        "boards": reverse("room-boards", args=[kitchen.pk]),
        "needs": reverse("room-needs", args=[kitchen.pk]),
        "surface": reverse("surface-detail", args=[kitchen.pk, "A"]),
        "phase": reverse("phase-detail", args=[kitchen.phases.get(key="hanging").pk]),
        "phases": reverse("room-phases", args=[kitchen.pk]),
        "history": reverse("room-history", args=[kitchen.pk]),
    }


def test_pages_read_well_at_every_size(visit, house):
    page = visit("/help", "phone")
    assert faults_of_pages(page, addresses(house), skipped=TEXT) == {}


@pytest.mark.parametrize("size", SIZES)
def test_phase_is_done_from_the_rooms_page_without_leaving_it(visit, house, size):
    page = visit(addresses(house)["room"], size)
    page.click("text=Mark Framing done")
    page.wait_for_selector(".course-done:has-text('Framing')")

    page.wait_for_function(
        "document.getElementById('live').textContent.startsWith('Framing: done')"
    )
    page.wait_for_selector("#phases:focus-within")
    assert Phase.objects.get(room=kitchen_of(house), key="framing").state == "done"


def test_room_is_added_within_ten_tabs_however_many_rooms_there_are(visit, live_server, house):
    page = visit(addresses(house)["house"])
    for name in ("house", "rooms"):
        page.goto(live_server.url + addresses(house)[name])
        words = []
        while len(words) < 10 and "Add a room" not in words:
            page.keyboard.press("Tab")
            words.append(page.evaluate("document.activeElement.innerText").strip())
        assert (name, words[-1]) == (name, "Add a room")


def test_no_page_scrolls_sideways_at_320_px_whatever_a_name_holds(visit, live_server, house):
    long = "Wirtschaftsraumwestwandverkleidung" * 2
    Room.objects.filter(pk=kitchen_of(house).pk).update(name=long)
    House.objects.filter(pk=house.pk).update(name=long)
    page = visit("/help", "phone")
    page.set_viewport_size({"width": 320, "height": 640})
    widths = {}
    for name, address in addresses(house).items():
        page.goto(live_server.url + address)
        widths[name] = page.evaluate("document.documentElement.scrollWidth")
    assert widths == dict.fromkeys(widths, 320)


def test_room_opens_in_under_three_screens_of_a_phone_with_its_button_in_the_first(visit, house):
    page = visit(addresses(house)["room"], "phone")
    screen = SIZES["phone"]["height"]

    assert page.locator("#phases button").first.bounding_box()["y"] < screen * 0.75
    assert page.evaluate("document.documentElement.scrollHeight") < 3 * screen


def test_better_plan_appears_by_itself_is_compared_and_taken(visit, house):
    room = kitchen_of(house)
    page = visit(addresses(house)["boards"], "phone")
    page.wait_for_selector("[hx-trigger='every 3s']")
    dear, offer = accept_dear(By(household()), room)
    page.wait_for_selector("text=A better plan was found.", timeout=15_000)
    page.click("text=Compare both plans")
    page.wait_for_selector("h1:has-text('Current plan and new plan')")
    first = page.locator(".two-plans").first.locator("figure")
    for size, screen in SIZES.items():
        page.set_viewport_size(screen)
        tops = [first.nth(at).bounding_box()["y"] for at in (0, 1)]
        assert (tops[0] == tops[1]) == (size == "laptop"), size
    ids = page.evaluate("[...document.querySelectorAll('[id]')].map((element) => element.id)")
    assert len(ids) == len(set(ids))
    assert faults(page, skipped=TEXT) == []
    page.click("text=Take the new plan")
    page.wait_for_url("**/room/*/boards")
    offer.refresh_from_db()

    assert offer.state == "accepted"
    page.click("text=Compare both plans")
    page.click("text=Use the earlier plan again")
    page.wait_for_selector("text=The earlier plan is used again.")
    dear.refresh_from_db()
    assert dear.state == "accepted"


@pytest.mark.parametrize("size", SIZES)
def test_partition_is_chosen_with_both_ways_in_sight_and_undone(visit, house, size):
    page = visit(addresses(house)["choice"], size)
    tops = [page.locator(".way").nth(at).bounding_box()["y"] for at in (0, 1)]
    assert (tops[0] == tops[1]) == (size == "laptop")
    page.click("text=Choose After board")
    page.wait_for_selector("text=Chosen: After board.")
    assert kitchen_of(house).partitions.get().framed == "after"
    with page.expect_navigation():
        page.click(".undo button")

    assert kitchen_of(house).partitions.get().framed == "before"


def test_without_script_phases_and_partitions_work_the_same(visit, house):
    page = visit(addresses(house)["room"], script=False)
    page.click("text=Mark Framing done")
    assert Phase.objects.get(room=kitchen_of(house), key="framing").state == "done"
    assert page.url.endswith(addresses(house)["room"])
    page.goto(page.url.replace(addresses(house)["room"], addresses(house)["partition"]))
    page.check("label:has-text('After board') input")
    page.click("text=Save the choice")

    assert kitchen_of(house).partitions.get().framed == "after"


def test_own_phase_is_removed_and_taken_back(visit, house):
    page = visit(addresses(house)["phases"], "phone")
    page.fill("#id_name", "Trim")
    page.click("text=Add the phase")
    page.wait_for_selector(".phase-row:has-text('Trim')")
    page.click(".phase-row:has-text('Trim') button:has-text('Remove')")
    page.wait_for_selector(".undo button")
    with page.expect_navigation():
        page.click(".undo button")

    assert kitchen_of(house).phases.filter(name="Trim").exists()
