"""Cards, lists and room pages without a signal: kept by the browser, for one person, and wiped."""

from __future__ import annotations

import json

import pytest
from django.contrib.auth import get_user_model
from django.urls import reverse

from remodel.cards.models import DoneMark
from remodel.cards.queries import cards_for, hanging_for
from remodel.history.models import Change
from remodel.history.services import By
from remodel.people.services import person_add
from tests.browser.conftest import SIZES, sync_api
from tests.browser.test_cards import all_sent, room
from tests.remodel.factories import accept_stops

pytestmark = pytest.mark.django_db(transaction=True)
expect = sync_api.expect
__all__ = ["room"]

KEPT = """async () => {
  const names = (await caches.keys()).filter(name => name.startsWith('halfbay-pages-'));
  const pages = await Promise.all(names.map(async name => (await (await caches.open(name)).keys())
    .map(request => new URL(request.url).pathname)));
  return pages.flat();
}"""


def wait_until(page, test, what: str) -> None:
    for _ in range(300):
        if test():
            return
        page.wait_for_timeout(100)
    raise AssertionError(what)


def wait_kept(page, path: str) -> None:
    wait_until(page, lambda: path in page.evaluate(KEPT), f"{path} was not kept")


def test_card_is_there_without_a_signal_and_its_ticks_are_sent_once_when_it_is_back(
    visit, live_server, room
):
    sheet = cards_for(room).sheets[0]
    card = reverse("room-card", args=[room.pk, sheet.key])
    page = visit(card, "phone", workers=True)
    wait_kept(page, card)
    page.context.set_offline(True)
    page.reload()
    expect(page.locator("#waiting")).to_contain_text("this page is as it was on this phone")
    expect(page.locator("svg.drawing").first).to_be_visible()
    page.locator(".piece .mark-do").first.click()
    expect(page.locator("#waiting")).to_contain_text("1 mark waits on this phone")
    page.reload()
    expect(page.locator(".piece .mark-done").first).to_be_visible()

    page.context.set_offline(False)
    all_sent(page)
    page.reload()
    expect(page.locator("#waiting")).to_be_empty()
    expect(page.locator(".piece .mark-done").first).to_be_visible()
    assert DoneMark.objects.get().done
    assert Change.objects.filter(model="cards.donemark").count() == 1

    other = visit(card, "phone")
    expect(other.locator(".piece .mark-done").first).to_be_visible()


@pytest.mark.deep
def test_mark_that_was_sent_shows_on_the_page_kept_before_it_and_no_form_is_kept(
    visit, live_server, room
):
    path = reverse("room-hanging", args=[room.pk])
    page = visit(path, "phone", workers=True)
    wait_kept(page, path)
    page.locator(".hang-step .mark-do").first.click()
    all_sent(page)
    form = page.context.new_page()
    form.goto(live_server.url + reverse("room-marking", args=[room.pk]))
    page.context.set_offline(True)
    page.reload()

    expect(page.locator(".hang-step .mark-done").first).to_be_visible()
    assert page.evaluate(KEPT) == [path]


def test_waiting_marks_are_counted_and_sent_on_the_list_of_sheets(visit, live_server, room):
    page = visit(reverse("room-hanging", args=[room.pk]), "phone", workers=True)
    cards = live_server.url + reverse("room-cards", args=[room.pk])
    page.goto(cards)
    wait_kept(page, reverse("room-cards", args=[room.pk]))
    page.goto(live_server.url + reverse("room-hanging", args=[room.pk]))
    wait_kept(page, reverse("room-hanging", args=[room.pk]))
    page.context.set_offline(True)
    for number in (0, 1):
        page.locator(".hang-step .mark-do").nth(number).click()
    page.goto(cards)
    expect(page.locator("#waiting")).to_contain_text("2 marks wait on this phone")
    page.context.set_offline(False)
    all_sent(page)

    assert DoneMark.objects.filter(done=True).exclude(kind="cut").count() == 2


def test_mark_that_is_refused_is_told_on_a_page_that_does_not_show_it(visit, live_server, room):
    page = visit(reverse("room-cards", args=[room.pk]), "phone")
    mark = {
        "to": reverse("room-tick", args=[room.pk]),
        "fields": {"kind": "nonsense", "plan": "", "item": "A.K-A1", "done": "yes", "key": "1"},
        "about": "K-A1",
        "page": reverse("room-cut", args=[room.pk]),
    }
    page.evaluate(f"localStorage.setItem('halfbay-marks', {json.dumps(json.dumps({'one': mark}))})")
    page.reload()
    told = page.locator("#waiting")
    expect(told).to_contain_text("K-A1: That mark cannot be read")
    page.reload()
    expect(told).to_contain_text("K-A1")
    told.get_by_role("button", name="I read it").click()
    expect(told).to_be_empty()


@pytest.mark.deep
def test_page_never_opened_says_so_without_a_signal_and_names_those_that_were(
    visit, live_server, room
):
    path = reverse("room-hanging", args=[room.pk])
    page = visit(path, "phone", workers=True)
    wait_kept(page, path)
    page.context.set_offline(True)
    page.goto(live_server.url + reverse("room-drawings", args=[room.pk]))
    expect(page.get_by_role("heading", name="No signal")).to_be_visible()
    page.get_by_role("link", name="Hanging order of").click()
    expect(page.locator(".hang-steps")).to_be_visible()


def test_another_person_of_the_household_finds_nothing_that_was_kept(visit, live_server, room):
    path = reverse("room-hanging", args=[room.pk])
    person_add(by=By(), name="Ada")
    page = visit(path, workers=True)
    wait_kept(page, path)
    page.goto(live_server.url + reverse("who"))
    page.get_by_label("Ada").check()
    page.get_by_role("button", name="This is me").click()
    page.get_by_role("link", name="You are: Ada").wait_for()
    wait_until(page, lambda: path not in page.evaluate(KEPT), "the page is still kept")


@pytest.mark.deep
def test_page_that_is_closed_to_a_person_is_kept_no_longer_nor_its_neighbors(
    visit, live_server, room
):
    hanging, cards = (reverse(name, args=[room.pk]) for name in ("room-hanging", "room-cards"))
    page = visit(hanging, workers=True)
    wait_kept(page, hanging)
    page.goto(live_server.url + cards)
    wait_kept(page, cards)
    type(room).objects.filter(pk=room.pk).update(deleted_at="2026-01-01T00:00:00Z")
    page.goto(live_server.url + cards)
    wait_until(page, lambda: page.evaluate(KEPT) == [], "pages of a closed room are still kept")


def test_signing_out_wipes_what_is_kept_and_first_tells_of_marks_that_wait(
    visit, live_server, room, settings
):
    settings.HOSTED = True
    person = get_user_model().objects.get()
    person.email = "ada@example.org"
    person.set_password("a long enough phrase")
    person.save()
    path = reverse("room-hanging", args=[room.pk])
    page = visit(f"{reverse('sign-in')}?next={path}", workers=True)
    page.get_by_label("E-mail").fill("ada@example.org")
    page.get_by_label("Password").fill("a long enough phrase")
    page.get_by_role("button", name="Sign in").click()
    page.locator(".hang-steps").wait_for()
    wait_kept(page, path)
    page.route("**/tick", lambda route: route.abort())
    page.locator(".hang-step .mark-do").first.click()
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_role("alert")).to_contain_text("1 mark on this phone is not sent yet")
    page.get_by_role("button", name="Sign out").click()
    page.get_by_role("button", name="Sign in").wait_for()
    wait_until(page, lambda: page.evaluate(KEPT) == [], "pages are still kept")

    assert page.evaluate("localStorage.length") == 0


def test_removed_device_is_told_to_wipe_its_marks(client, settings):
    settings.LAN_HOST = "192.0.2.7"
    settings.ALLOWED_HOSTS = ["*"]
    client.cookies["device"] = "one that was removed"
    page = client.get(reverse("pair"), REMOTE_ADDR="192.0.2.9").content.decode()
    client.cookies.clear()
    fresh = client.get(reverse("pair"), REMOTE_ADDR="192.0.2.9").content.decode()

    assert "data-wipe" in page
    assert "data-wipe" not in fresh


def test_room_taken_along_keeps_its_ticks_as_a_file_and_brings_them_home_once(
    visit, live_server, room, chromium, tmp_path
):
    accept_stops(room.house)
    home = visit(reverse("room-take-along", args=[room.pk]), "phone")
    with home.expect_download() as download:
        home.get_by_role("link", name="Download").click()
    path = tmp_path / "kitchen.html"
    download.value.save_as(path)

    away = chromium.new_context(viewport=SIZES["phone"], offline=True)
    said: list[str] = []
    file = away.new_page()
    file.on("console", lambda message: said.append(message.text))
    file.on("pageerror", lambda error: said.append(str(error)))
    file.goto(path.as_uri())
    boxes = file.locator(".hang-list input")
    boards = file.locator(".hang-list li:has(.hang-code) input")
    for number in (0, 1):
        boards.nth(number).check()
    file.reload()
    expect(file.locator("#count")).to_have_text("2 boxes ticked in this file.")
    assert boxes.count() > 2
    link = file.get_by_role("link", name="Enter them at Halfbay").get_attribute("href")
    code = file.locator("#code").input_value()
    assert file.evaluate("document.documentElement.scrollWidth") == SIZES["phone"]["width"]
    assert said == []
    away.close()

    back = reverse("room-take-along", args=[room.pk])
    assert link.endswith(f"{back}#{code}")
    home.goto(f"{live_server.url}/help")
    home.goto(f"{live_server.url}{back}#{code}")
    home.get_by_role("button", name="Enter the ticks").click()
    expect(home.get_by_text("Entered 2 marks")).to_be_visible()
    expect(home.locator(".hang-step.is-done")).to_have_count(2)

    second = visit(back)
    second.get_by_label("Code from the page").fill(code)
    second.get_by_role("button", name="Enter the ticks").click()
    expect(second.get_by_text("2 marks were entered before")).to_be_visible()
    assert DoneMark.objects.filter(kind="hung", done=True).count() == 2


def test_hanging_order_of_an_ordinary_room_is_under_three_screens_of_a_phone(visit, room):
    page = visit(reverse("room-hanging", args=[room.pk]), "phone")
    last = page.locator(".hang-step").last.bounding_box()

    assert last["y"] + last["height"] <= 3 * SIZES["phone"]["height"]
    steps = page.locator(".hang-step:has(.hang-code)")
    assert steps.count() == len([step for step in hanging_for(room) if step.piece])
    for step in steps.all():
        words = step.locator(".hang-place").inner_text()
        assert any(wall.name in words for wall in room.walls.all()), words
        assert step.locator("a.hang-code").get_attribute("href")
        assert step.locator(".tick-button").first.bounding_box()["height"] >= 44
