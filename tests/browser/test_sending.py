"""Sending a form in a browser: over a lost connection, a slow one, refused, and after going
Back."""

from __future__ import annotations

import re
from contextlib import contextmanager
from http.cookies import SimpleCookie
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from remodel.house.models import Opening, Room
from remodel.people.services import household
from remodel.work.models import DayLog, Note, Phase
from tests.browser.conftest import SIZES, sync_api
from tests.browser.reading import open_details
from tests.conftest import CHROMIUM, FLAGS
from tests.remodel.everything import a_photo
from tests.remodel.factories import ada
from tests.remodel.site import small_house

pytestmark = pytest.mark.django_db(transaction=True)
expect = sync_api.expect


@pytest.fixture
def room() -> Room:
    return small_house(household(), "Kitchen").rooms.get()


def add_door(page) -> None:
    """Fill the page of a new opening."""
    page.locator("[name=surface]").first.check()
    page.fill("#id_left", "38")
    page.fill("#id_width", "34")
    page.fill("#id_height", "82 1/2")


def new_opening(room: Room) -> str:
    return reverse("opening-add", args=[room.pk])


# Back


@pytest.fixture
def page_kept_for_back(chromium, live_server):
    """A page of a browser that keeps pages for Back, as people's do; a test's is started
    without."""
    browser = chromium.browser_type.launch(
        executable_path=str(CHROMIUM),
        args=FLAGS,
        ignore_default_args=["--disable-back-forward-cache"],
    )
    page = browser.new_page()
    page.add_init_script(
        "addEventListener('pageshow', (event) => { window.keptForBack = event.persisted; })"
    )
    yield page
    browser.close()


def wait_for(page, script: str) -> None:
    """Wait until `script` is true; the page's policy lets no other way of waiting for it run."""
    for _ in range(100):
        if page.evaluate(script):
            return
        page.wait_for_timeout(100)
    raise AssertionError(f"this did not come about: {script}")


@pytest.mark.parametrize("whole", [False, True], ids=["part", "whole page"])
def test_after_back_the_button_can_be_pressed_again(
    page_kept_for_back, live_server, room, posts, whole
):
    """Once with a form that is answered with a part of the page, once with a plain one."""
    page = page_kept_for_back
    phase = room.phases.get(key="framing")
    path = (
        reverse("phase-detail", args=[phase.pk])
        if whole
        else reverse("house-edit", args=[room.house_id])
    )
    page.goto(live_server.url + path)
    open_details(page)
    field, words = ("[name=text]", "Out of plumb") if whole else ("#id_name", "Elm Road")
    form = page.locator("form", has=page.locator(field))
    button = form.locator("button[type=submit]").first
    if whole:  # its own answer leads back to this page, which is not kept
        page.route(
            "**/notes/add",
            lambda route: route.fulfill(status=200, headers={"HX-Redirect": "/houses"}),
        )
    page.fill(field, words)
    button.click()
    page.wait_for_url(lambda url: not url.endswith(path))
    page.unroute_all()
    page.go_back(wait_until="commit")
    wait_for(page, "window.keptForBack === true")

    assert page.url.endswith(path)
    expect(button).to_be_enabled()
    expect(page.locator(".sending, form[data-sending]")).to_have_count(0)
    before = len(posts)
    page.fill(field, words + " again")
    with page.expect_response(lambda answer: answer.request.method == "POST"):
        button.click()
    page.wait_for_load_state("networkidle")
    page.wait_for_load_state("networkidle")  # of the page it led to as well
    assert len(posts) == before + 1


# A lost connection


def test_reading_of_a_length_does_not_release_what_is_held(visit, room, posts):
    page = visit(new_opening(room), "phone")
    add_door(page)
    page.context.set_offline(True)
    page.click("text=Save the")
    expect(page.locator(".unsent")).to_contain_text("Not saved yet")
    page.route("**/openings/add", lambda route: route.abort())  # back online, but not for this
    page.context.set_offline(False)
    page.fill("#id_width", "")
    page.type("#id_width", "36")
    expect(page.locator("output[for=id_width]")).to_have_text(re.compile("Reads as"))

    expect(page.locator(".unsent")).to_contain_text("Not saved yet")
    assert posts == []
    asked = []
    page.on("dialog", lambda dialog: (asked.append(dialog.type), dialog.dismiss()))
    page.close(run_before_unload=True)
    page.wait_for_timeout(500)
    assert asked == ["beforeunload"]
    page.unroute("**/openings/add")
    page.keyboard.press("Enter")
    page.wait_for_selector(".just-saved")
    assert (Opening.objects.count(), posts) == (1, [new_opening(room)])


def test_leaving_asks_nothing_once_it_is_sent(visit, room):
    page = visit(new_opening(room))
    add_door(page)
    page.context.set_offline(True)
    page.click("text=Save the")
    page.wait_for_selector(".unsent")
    page.context.set_offline(False)
    page.wait_for_selector(".just-saved")
    asked = []
    page.on("dialog", lambda dialog: (asked.append(dialog.type), dialog.dismiss()))
    with page.expect_event("close"):
        page.close(run_before_unload=True)

    assert asked == []


def test_saved_does_not_stand_beside_not_saved_yet(visit, room):
    page = visit(new_opening(room))
    add_door(page)
    page.click("text=Save the")
    page.wait_for_selector(".just-saved")
    expect(page.locator("#live")).to_contain_text("Saved")
    page.fill("#id_left", "86")
    page.context.set_offline(True)
    page.click("text=Save the")
    page.wait_for_selector(".unsent")

    expect(page.locator(".just-saved")).to_have_count(0)
    expect(page.locator("#live")).to_contain_text("Not saved yet")
    page.context.set_offline(False)
    page.wait_for_selector(".just-saved")
    expect(page.locator(".unsent")).to_have_count(0)
    expect(page.locator("#live")).to_contain_text("Saved")
    assert Opening.objects.count() == 2


def test_saved_of_one_entry_says_that_another_is_still_held(visit, room):
    phase = room.phases.get(key="framing")
    page = visit(reverse("phase-detail", args=[phase.pk]))
    open_details(page)
    page.fill("[name=text]", "Out of plumb")
    page.route("**/notes/add", lambda route: route.abort())
    page.click("text=Save the note")
    page.wait_for_selector(".unsent")
    page.evaluate("document.dispatchEvent(new CustomEvent('say', {detail: {text: 'Saved 14:32'}}))")

    expect(page.locator("#live")).to_have_text(
        "Saved 14:32. Another entry on this page is not saved yet"
    )


def test_answer_to_one_form_does_not_take_what_is_held_in_another(visit, room):
    phase = room.phases.get(key="framing")
    page = visit(reverse("phase-detail", args=[phase.pk]))
    open_details(page)
    page.fill("[name=text]", "Out of plumb")
    page.route("**/notes/add", lambda route: route.abort())
    page.click("text=Save the note")
    page.wait_for_selector(".unsent")
    page.on("dialog", lambda dialog: dialog.dismiss())
    with page.expect_response(re.compile(f"/phase/{phase.pk}")):
        page.locator("text=In progress").first.click()
        page.click("text=Save where it stands")
    page.wait_for_timeout(300)

    assert page.input_value("[name=text]") == "Out of plumb"
    page.unroute("**/notes/add")
    page.click("text=Save the note")
    page.wait_for_url("**")
    expect(page.locator("main")).to_contain_text("Out of plumb")
    assert Note.objects.filter(text="Out of plumb").count() == 1


def test_button_the_form_was_sent_with_goes_along_with_the_next_try(visit, room):
    page = visit(reverse("room-walls", args=[room.pk]))
    page.context.set_offline(True)
    page.click("text=Check the outline")
    page.wait_for_selector(".unsent")
    page.focus("h1 >> xpath=.. >> a >> nth=0")
    with page.expect_request(
        lambda asked: asked.method == "POST" and asked.url.endswith("/walls")
    ) as sent:
        page.context.set_offline(False)

    assert "check=yes" in sent.value.post_data
    assert "save=yes" not in sent.value.post_data


# A press that is not typed


def test_press_without_an_answer_says_so_and_can_be_pressed_again(visit, room, posts):
    phase = room.phases.get(key="framing")
    page = visit(reverse("room-phases", args=[room.pk]), "phone")
    leave_out = page.locator(f"form[action='{reverse('phase-leave-out', args=[phase.pk])}'] button")
    page.context.set_offline(True)
    leave_out.click()
    expect(page.locator("#live")).to_have_text(
        "No answer: the server cannot be reached. Try again."
    )
    page.context.set_offline(False)
    page.evaluate("dispatchEvent(new Event('online'))")
    page.wait_for_timeout(500)
    assert posts == []
    leave_out.dblclick()
    page.wait_for_selector("button:has-text('Take in')")

    assert len(posts) == 1
    expect(page.locator("#live")).not_to_contain_text("No answer")
    assert Phase.objects.get(pk=phase.pk).left_out


def test_presses_on_a_slow_server_are_one_write(visit, room, posts):
    page = visit(reverse("phase-detail", args=[room.phases.get(key="framing").pk]))
    open_details(page)
    page.fill("[name=text]", "Out of plumb")
    waiting = []
    page.route("**/notes/add", lambda route: waiting.append(route))
    for _ in range(3):
        page.locator("button:has-text('Save the note')").dispatch_event("click")
    page.wait_for_timeout(300)
    for route in waiting:
        route.continue_()
    page.unroute("**/notes/add")
    expect(page.locator(".note-text")).to_have_text("Out of plumb")
    page.wait_for_load_state("networkidle")

    assert (len(posts), Note.objects.count()) == (1, 1)


# The sign of work


def test_sign_of_work_stands_at_both_save_buttons(visit, room):
    page = visit(reverse("room-add-walls", args=[room.house_id]))
    page.fill("[name=name]", "Bath")
    page.locator("[name=name]").first.scroll_into_view_if_needed()
    groups = page.locator("form .buttons:has(button[type=submit])").count()
    under_way: list[Any] = []
    page.route("**/rooms/add/walls", lambda route: under_way.append(route))
    page.locator("button:has-text('Save the room'):visible").last.click()

    expect(page.locator(".sending")).to_have_count(groups)
    assert groups == 2
    for sign in page.locator(".sending").all():
        expect(sign).to_contain_text("Saving")
    for request in under_way:
        request.abort()  # or it reaches the server when the test is over


# Uploads


def log_with_photo(page, room: Room, tmp_path, size: int) -> None:
    photo = tmp_path / "wall.jpg"
    photo.write_bytes(a_photo().read() + b"\0" * size)
    page.fill("#id_hours", "2")
    page.set_input_files("#id_photo", photo)


def throttle(page, bytes_a_second: int) -> None:
    session = page.context.new_cdp_session(page)
    session.send("Network.enable")
    session.send(
        "Network.emulateNetworkConditions",
        {
            "offline": False,
            "latency": 20,
            "downloadThroughput": -1,
            "uploadThroughput": bytes_a_second,
        },
    )


def test_upload_on_a_weak_signal_says_how_far_it_is_and_is_sent_once(visit, room, posts, tmp_path):
    page = visit(reverse("log-add", args=[room.phases.get(key="framing").pk]), "phone")
    log_with_photo(page, room, tmp_path, 600_000)
    throttle(page, 200_000)
    page.click("text=Save the day")
    expect(page.locator(".sending .progress")).to_contain_text(
        re.compile(r"Sending the file: \d+%")
    )
    assert page.locator(".sending progress").evaluate("(bar) => bar.max") == 100
    page.wait_for_url("**/house/*/log", timeout=30_000)

    assert (len(posts), DayLog.objects.count()) == (1, 1)


@pytest.mark.deep
def test_upload_slower_than_any_wait_for_an_answer_is_sent_once(visit, room, posts, tmp_path):
    """Forty seconds of upload, twice as long as an answer is waited for."""
    page = visit(reverse("log-add", args=[room.phases.get(key="framing").pk]), "phone")
    log_with_photo(page, room, tmp_path, 1_600_000)
    throttle(page, 40_000)
    page.click("text=Save the day")
    page.wait_for_url("**/house/*/log", timeout=120_000)

    assert (len(posts), DayLog.objects.count()) == (1, 1)


def test_upload_is_given_up_only_once_nothing_moves(visit, room, posts, tmp_path):
    page = visit("/help", "phone")
    page.clock.install()
    page.goto(
        page.url.replace("/help", reverse("log-add", args=[room.phases.get(key="framing").pk]))
    )
    log_with_photo(page, room, tmp_path, 1000)
    tries = []
    page.route("**/log", lambda route: tries.append(route))
    page.click("text=Save the day")
    page.wait_for_timeout(300)
    page.clock.run_for(18_000)
    expect(page.locator(".unsent")).to_have_count(0)
    assert len(tries) == 1
    page.clock.run_for(4_000)
    expect(page.locator(".unsent")).to_contain_text("Not saved yet")
    page.unroute_all(behavior="ignoreErrors")
    page.click("text=Save the day")
    page.wait_for_url("**/house/*/log")

    assert (len(posts), DayLog.objects.count()) == (1, 1)


# Refusals


REFUSALS = {
    400: "could not read this",
    403: "Copy what you typed",
    404: "no longer there",
    413: "too large",
    429: "Wait a minute",
    500: "something went wrong",
    503: "busy",
}


def answer_with(status: int):
    """What stands in for the server: a page of its own for a post."""

    def answer(route):
        if route.request.method == "POST":
            route.fulfill(status=status, content_type="text/html", body="<main><h1>No</h1></main>")
        else:
            route.continue_()

    return answer


def test_refusal_is_said_in_words_and_what_was_typed_stays(chromium, live_server, room, posts):
    page = chromium.new_page(viewport=SIZES["phone"])
    page.goto(live_server.url + new_opening(room))
    add_door(page)
    address = "**/openings/add"
    for status, words in REFUSALS.items():
        page.route(address, answer_with(status))
        page.click("text=Save the")
        expect(page.locator(".unsent")).to_contain_text(words)
        expect(page.locator(".unsent")).to_contain_text("Not saved:")
        assert page.input_value("#id_width") == "34", status
        expect(page.locator("button:has-text('Save the')").first).not_to_have_attribute(
            "aria-disabled", "true"
        )
        page.unroute(address)
    page.click("text=Save the")
    page.wait_for_selector(".just-saved")
    page.close()

    assert (len(posts), Opening.objects.count()) == (1, 1)


def test_stale_token_is_renewed_and_the_form_sent_again(visit, room):
    page = visit(new_opening(room))
    add_door(page)
    page.context.clear_cookies()
    page.click("text=Save the")
    page.wait_for_selector(".just-saved")

    assert Opening.objects.count() == 1


def test_who_is_signed_out_keeps_what_was_typed_and_signs_in_beside_it(
    visit, live_server, settings
):
    settings.HOSTED = True
    owner = ada()
    room = small_house(owner, "Kitchen").rooms.get()
    page = visit("/sign-in")

    @contextmanager
    def signed_in():
        client = Client()
        client.force_login(owner)
        cookies: SimpleCookie = client.cookies
        page.context.add_cookies(
            [
                {"name": key, "value": morsel.value, "url": live_server.url}
                for key, morsel in cookies.items()
            ]
        )
        yield

    with signed_in():
        page.goto(live_server.url + new_opening(room))
    add_door(page)
    page.context.clear_cookies()
    page.click("text=Save the")
    expect(page.locator(".unsent")).to_contain_text("you are not signed in any more")
    assert page.locator(".unsent a").get_attribute("href") == reverse("sign-in")
    assert page.input_value("#id_width") == "34"
    with signed_in():
        page.click("text=Save the")
        page.wait_for_selector(".just-saved")

    assert Opening.objects.count() == 1


def test_plain_form_that_is_refused_gives_back_what_was_typed(visit, room):
    page = visit(reverse("who"))
    page.locator("form", has=page.locator("#id_name")).locator("button").click()
    expect(page.locator(".error-summary")).to_be_focused()

    expect(page).to_have_title(re.compile("^Error: "))
    page.fill("#id_name", "Ben")
    page.locator("form", has=page.locator("#id_name")).locator("button").click()
    expect(page.locator("body")).to_contain_text("Ben")


def test_without_script_the_same_forms_are_plain_posts(visit, room):
    page = visit(
        reverse("phase-detail", args=[room.phases.get(key="framing").pk]), "phone", script=False
    )
    page.locator("summary", has_text="note").first.click()
    page.fill("[name=text]", "Out of plumb")
    page.click("text=Save the note")

    assert Note.objects.filter(text="Out of plumb").count() == 1
    expect(page.locator(".messages, main")).to_contain_text("Out of plumb")
