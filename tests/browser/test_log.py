"""The evening's log, the history, help and the pages of people in a browser, at phone and laptop
size."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest
from django.urls import reverse

from remodel.bridge.lengths import Amount
from remodel.history.services import By
from remodel.house.models import House
from remodel.house.services import room_change
from remodel.jobs.models import worker_seen
from remodel.logbook import Taken, day_write, stuff_of
from remodel.people.services import household, person_add
from remodel.supply.ledger import move
from remodel.supply.models import Movement
from remodel.supply.orders import order_make, order_place
from remodel.work.models import DayLog, KeptPhoto, Phase
from remodel.work.photos import reencoded
from remodel.work.services import phase_set_state
from tests.browser.conftest import SIZES, sync_api
from tests.browser.reading import ANYWHERE, faults_of_pages
from tests.remodel.everything import a_photo
from tests.remodel.site import small_house

pytestmark = pytest.mark.django_db(transaction=True)
# Links in running text, drawings and tables are as large as their words.
TEXT = "p:not(.back, .house-name), svg, td, th, .log-moves, .past, .skip"
expect = sync_api.expect


@pytest.fixture
def house() -> House:
    """A kitchen that is being taped, an order placed for it, a day logged yesterday, and Ben beside
    Ada."""
    by = By(household())
    house = small_house(by.person, "Kitchen")
    room = house.rooms.get()
    person_add(by=By(), name="Ben")
    order_place(
        by=by,
        order=order_make(by=by, house=house, phases=["taping"], rooms=[room]),
        without_prices=True,
    )
    phase = taping(house)
    phase_set_state(by=by, phase=phase, state="in progress")
    compound = next(item for item in stuff_of(phase) if "Ready-mix" in item.name)
    move(by=by, house=house, item=compound.item, kind="received", amount=Amount(Fraction(9), "gal"))
    taken = [
        Taken(
            stuff=compound,
            measure=Amount(Fraction(1), "gal"),
            used=Fraction(2),
            spoiled=Fraction(1, 2),
        )
    ]
    day_write(
        by=by,
        phase=phase,
        day=phase.started_on,
        minutes=390,
        note="Shimmed",
        taken=taken,
        photo=reencoded(a_photo()),
    )
    room_change(by=by, room=room, wall_level=5)
    worker_seen("a worker")  # or the health page answers that none is here
    return house


def taping(house: House) -> Phase:
    return Phase.objects.select_related("room__house", "room__behind").get(
        room__house=house, key="taping"
    )


def addresses(house: House) -> list[str]:
    return [
        reverse("log-list", args=[house.pk]),
        reverse("log-pick", args=[house.pk]),
        reverse("log-add", args=[taping(house).pk]),
        reverse("log-change", args=[DayLog.objects.get().pk]),
        reverse("use-list", args=[house.pk]),
        reverse("use-list", args=[house.pk]) + "?by=room",
        reverse("house-history", args=[house.pk]),
        reverse("help", args=[house.pk]),
        reverse("help"),
        reverse("measuring-sheet"),
        reverse("house-people", args=[house.pk]),
        reverse("house-list"),
        reverse("who"),
        reverse("device-list"),
        reverse("health"),
    ]


def test_pages_read_well_at_every_size(visit, house):
    page = visit("/help", "phone")
    wrong = faults_of_pages(
        page,
        {address: address for address in addresses(house)},
        # pages may be read for longer than a worker may be silent
        before=lambda: worker_seen("a worker"),
        skipped=TEXT,
        among=ANYWHERE,
    )
    assert wrong == {}


@pytest.mark.parametrize("size", SIZES)
def test_evening_is_logged_from_the_list(visit, house, size, tmp_path):
    photo = tmp_path / "wall.jpg"
    photo.write_bytes(a_photo().read())
    page = visit(reverse("log-list", args=[house.pk]), size)
    page.click("text=Log a day")
    page.click("text=Taping, Kitchen")
    page.fill("#id_hours", "3:30")
    page.click("text=What was used of")
    page.get_by_label("Left: Ready-mix joint compound").fill("4")
    page.get_by_label("Counted in: Ready-mix joint compound").select_option("1 gal")
    page.fill("#id_note", "First coat is on")
    page.set_input_files("#id_photo", photo)
    page.click("text=Save the day")
    page.wait_for_url("**/house/*/log")
    expect(page.locator(".log-entry").first).to_contain_text("First coat is on")
    expect(page.locator(".messages")).to_contain_text("Logged Kitchen, taping.")

    assert Movement.objects.latest("serial").value == Fraction(-5, 2)
    assert (
        page.locator(".log-entry")
        .first.locator("img")
        .evaluate("image => image.decode().then(() => image.naturalWidth)")
    )


def test_what_was_typed_stays_when_it_is_refused(visit, house):
    page = visit(reverse("log-add", args=[taping(house).pk]), "phone")
    page.click("text=What was used of")
    page.get_by_label("Used: Ready-mix joint compound").fill("1")
    page.get_by_label("Left: Ready-mix joint compound").fill("4")
    page.fill("#id_note", "First coat is on")
    page.click("text=Save the day")
    expect(page.locator(".error-summary")).to_be_focused()

    expect(page).to_have_title(re.compile("^Error: "))
    assert page.input_value("#id_note") == "First coat is on"
    page.locator(".error-summary a").first.click()
    expect(page.get_by_label("Left: Ready-mix joint compound")).to_be_focused()
    assert page.get_by_label("Used: Ready-mix joint compound").input_value() == "1"


def test_day_is_logged_without_script_by_keyboard_alone(visit, house):
    page = visit(reverse("log-add", args=[taping(house).pk]), script=False)
    page.focus("#id_hours")
    page.keyboard.type("2")
    page.keyboard.press("Enter")
    page.wait_for_url("**/house/*/log")

    assert DayLog.objects.filter(minutes=120).exists()


def test_day_is_held_while_the_server_cannot_be_reached(visit, house):
    page = visit(reverse("log-add", args=[taping(house).pk]), "phone")
    page.fill("#id_hours", "1:15")
    page.context.set_offline(True)
    page.click("text=Save the day")
    page.wait_for_selector(".unsent")
    assert page.input_value("#id_hours") == "1:15"
    page.context.set_offline(False)
    page.wait_for_url("**/house/*/log", timeout=20_000)

    assert DayLog.objects.filter(minutes=75).count() == 1


def test_removed_log_is_brought_back_from_the_bar(visit, house):
    page = visit(reverse("log-list", args=[house.pk]), "phone")
    page.get_by_role("button", name="Remove").click()
    expect(page.locator(".undo")).to_contain_text("What it took from stock stays taken")
    assert not DayLog.objects.exists()
    with page.expect_navigation():
        page.locator(".undo button").click()

    assert DayLog.objects.exists()


def test_person_is_chosen_and_stands_in_the_history(visit, house):
    page = visit(reverse("who") + "?next=" + reverse("log-add", args=[taping(house).pk]), "phone")
    page.check("text=Ben")
    page.click("text=This is me")
    page.fill("#id_hours", "1")
    page.click("text=Save the day")
    page.wait_for_url("**/house/*/log")
    page.goto(page.url.removesuffix("/log") + "/history")

    expect(page.locator(".past-title").first).to_have_text("Kitchen: logged 1 hour of work")
    expect(page.locator(".past-when").first).to_contain_text("Ben, ")


@pytest.mark.parametrize("script", [True, False], ids=["script", "no script"])
@pytest.mark.parametrize("size", SIZES)
def test_photo_stays_when_the_hours_are_wrong_and_is_saved_with_the_next_try(
    visit, house, size, script
):
    file = a_photo()
    page = visit(reverse("log-add", args=[taping(house).pk]), size, script=script)
    page.get_by_label("Hours").fill("a lot")
    page.locator("#id_photo").set_input_files(
        {"name": file.name, "mimeType": "image/jpeg", "buffer": file.read()}
    )
    page.click("text=A photo (optional)")
    page.get_by_label("What the photo shows").fill("Left wall")
    page.get_by_label("Hours").press("Enter")
    expect(page.get_by_text("Photo kept.")).to_be_visible()
    assert page.evaluate("document.querySelector('.kept-photo img').naturalWidth") == 40
    expect(page.get_by_label("What the photo shows")).to_have_value("Left wall")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    page.get_by_label("Hours").fill("2")
    page.get_by_label("Hours").press("Enter")
    page.wait_for_url("**/house/*/log")
    assert DayLog.objects.latest("at").photos.get().caption == "Left wall"


@pytest.mark.parametrize("script", [True, False], ids=["script", "no script"])
def test_kept_photo_is_removed_and_the_rest_of_the_day_stays(visit, house, script):
    file = a_photo()
    page = visit(reverse("log-add", args=[taping(house).pk]), script=script)
    page.get_by_label("Hours").fill("a lot")
    page.locator("#id_photo").set_input_files(
        {"name": file.name, "mimeType": "image/jpeg", "buffer": file.read()}
    )
    page.get_by_role("button", name="Save the day").click()
    expect(page.get_by_text("Photo kept.")).to_be_visible()
    page.get_by_label("Hours").fill("2")
    page.get_by_role("button", name="Remove the photo").click()
    expect(page.get_by_text("Photo kept.")).to_have_count(0)
    expect(page.get_by_label("Hours")).to_have_value("2")
    assert not KeptPhoto.objects.exists()
