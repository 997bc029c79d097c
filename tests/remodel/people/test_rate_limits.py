"""Costly requests are counted by person and by address, and say when to try again."""

import re
from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import RequestFactory
from django.urls import reverse
from django.utils import timezone

from remodel.cards.models import PrintPack
from remodel.history.services import By
from remodel.house.models import House
from remodel.people.models import Attempt
from remodel.people.rate_limits import RateLimit, TooFast, check_rate
from remodel.supply.orders import order_make
from remodel.work.models import DayLog
from tests.remodel.everything import a_photo
from tests.remodel.factories import ada, ben, cy
from tests.remodel.site import browser, share

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]
ONE = RateLimit("things", 1, 2, timedelta(minutes=30))
HOUSE_FILE = b'{"version": 1, "name": "Loft", "units": "in", "rooms": []}'


def asked(person, address="203.0.113.5"):
    request = RequestFactory().get("/", REMOTE_ADDR=address)
    request.person = person
    return request


def test_person_who_had_as_many_as_there_are_has_to_wait():
    check_rate(asked(ada()), ONE)
    with pytest.raises(TooFast) as refused:
        check_rate(asked(ada(), "203.0.113.6"), ONE)
    at = timezone.localtime(timezone.now() + timedelta(seconds=refused.value.seconds))
    assert f"Try again in 30 minutes, after {at:%H:%M}" in str(refused.value)


def test_address_that_had_as_many_as_there_are_has_to_wait_whoever_asks():
    check_rate(asked(ada()), ONE)
    check_rate(asked(ben()), ONE)
    with pytest.raises(TooFast):
        check_rate(asked(cy()), ONE)
    check_rate(asked(cy(), "203.0.113.6"), ONE)


def test_waiting_lets_one_on_again():
    check_rate(asked(ada()), ONE)
    Attempt.objects.update(at=timezone.now() - timedelta(minutes=30, seconds=1))
    check_rate(asked(ada()), ONE)


def test_being_refused_does_not_make_the_wait_longer():
    check_rate(asked(ada()), ONE)
    for _ in range(3):
        with pytest.raises(TooFast):
            check_rate(asked(ada()), ONE)
    assert Attempt.objects.count() == 2  # one of the person, one of the address


def test_nothing_is_counted_at_home(settings):
    settings.HOSTED = False
    for _ in range(3):
        check_rate(asked(ada()), ONE)
    assert not Attempt.objects.exists()


def bring_in(client):
    file = SimpleUploadedFile("house.json", HOUSE_FILE)
    return client.post(reverse("house-import"), {"file": file})


def test_house_files_are_limited(monkeypatch):
    monkeypatch.setattr("remodel.pages.house.views_edit.houses.HOUSE_FILES", ONE)
    client = browser(ada())
    bring_in(client)
    answer = bring_in(client)
    assert answer.status_code == 429
    assert 0 < int(answer["Retry-After"]) <= 1800
    assert "Choose the file again then" in answer.content.decode()
    assert House.objects.count() == 1


def test_photos_are_limited_and_what_was_typed_is_kept(monkeypatch, house):
    monkeypatch.setattr("remodel.pages.work.views.PHOTOS", ONE)
    client = browser(ada())
    url = reverse("log-add", args=[house.rooms.get().phases.get(key="hanging").pk])
    day = {"day": str(timezone.localdate()), "hours": "4"}
    client.post(url, {**day, "note": "Ceiling is up", "photo": a_photo()})
    answer = client.post(url, {**day, "note": "End wall is up", "photo": a_photo()})
    page = answer.content.decode()
    assert answer.status_code == 429
    assert "save the day without a photo now" in page
    assert "End wall is up" in page
    client.post(url, {**day, "note": "End wall is up"})
    assert DayLog.objects.count() == 2


def test_packs_are_limited_and_what_was_chosen_is_kept(monkeypatch, house):
    monkeypatch.setattr("remodel.pages.cards.views_packs.PDFS", ONE)
    client, url = browser(ada()), reverse("house-packs", args=[house.pk])
    chosen = {"phase": "hanging", "rooms": ["kitchen"], "paper": "a4"}
    client.post(url, chosen)
    answer = client.post(url, chosen)
    page = answer.content.decode()
    assert answer.status_code == 429
    assert "Try again in 30 minutes" in page
    assert re.search(r'value="a4"[^>]* checked', page)
    assert PrintPack.objects.count() == 1


@pytest.mark.parametrize("which", ["order-print", "room-pack"])
def test_prints_are_limited(monkeypatch, house, which):
    spent = RateLimit("PDFs", 0, 0, timedelta(minutes=30))
    monkeypatch.setattr("remodel.pages.paper.PDFS", spent)
    monkeypatch.setattr("remodel.pages.cards.views_packs.PDFS", spent)
    room = house.rooms.get()
    order = order_make(by=By(ada()), house=house, phases=["taping"], rooms=[room])
    share(house, ben(), "viewer")  # who may look only prints too, and is held to the same
    client = browser(ben())
    if which == "order-print":
        answer = client.get(reverse(which, args=[order.pk]))
    else:
        answer = client.post(reverse(which, args=[room.pk]))
    assert answer.status_code == 429
    assert "Try again in" in answer.content.decode()
