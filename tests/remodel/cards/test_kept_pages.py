"""What tells a browser which pages it may keep for when there is no signal, and for whom."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from remodel.web.kept_pages import _KEPT
from tests.remodel.factories import ada, ben
from tests.remodel.routes import routes
from tests.remodel.site import HTMX, browser, share


def test_every_answer_says_whom_it_was_made_for_and_no_two_people_are_the_same(room):
    share(room.house, ben())
    page = reverse("room-hanging", args=[room.pk])
    mine, again, other = (browser(person).get(page) for person in (ada(), ada(), ben()))
    nobody = Client().get(reverse("sign-in"))

    assert mine["Halfbay-Who"] == again["Halfbay-Who"] != other["Halfbay-Who"]
    assert str(ada().pk) not in mine["Halfbay-Who"]
    assert nobody["Halfbay-Who"] == ""


@pytest.mark.parametrize(
    ("name", "kept"),
    [("room-hanging", True), ("room-cards", True), ("room-detail", True), ("room-size", False)],
)
def test_pages_of_rooms_and_cards_may_be_kept_and_forms_may_not(room, name, kept):
    page = reverse(name, args=[room.pk])

    assert ("Halfbay-Keep" in browser(ada()).get(page)) == kept
    assert "Halfbay-Keep" not in browser(ada()).get(page, **HTMX)
    assert "Halfbay-Keep" not in browser(ben()).get(page)


def test_no_page_that_may_be_kept_is_an_owners_or_open_to_nobody():
    kept = [route for route in routes() if route.name in _KEPT]

    assert {route.name for route in kept} == _KEPT
    assert {route.who for route in kept} == {"house"}


def test_signing_out_has_the_browser_wipe_what_it_stored(room):
    assert browser(ada()).post(reverse("sign-out"))["Clear-Site-Data"] == '"storage"'


def test_worker_that_keeps_pages_is_there_for_everybody_and_never_old(db):
    answer = Client().get("/service-worker.js")

    assert answer["Content-Type"].startswith("text/javascript")
    assert answer["Cache-Control"] == "no-cache"
    assert b"Halfbay-Who" in answer.content
