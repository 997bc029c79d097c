"""The health page: what is well, what is not, and who is told."""

from datetime import timedelta
from types import SimpleNamespace

import pytest
from django.db import DatabaseError
from django.urls import reverse
from django.utils import timezone

from remodel.board.models import Figures, SearchJob
from remodel.cards.models import PrintPack
from remodel.history.models import Change
from remodel.jobs.models import Worker, worker_seen
from remodel.pages.people.views import health
from remodel.people.models import Attempt
from tests.remodel.factories import HouseFactory, RoomFactory, ada
from tests.remodel.site import small_house

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def worker(monkeypatch):
    worker_seen("worker")
    monkeypatch.setattr(health, "_lately", health.Lately())


def page(client):
    answer = client.get(reverse("health"))
    return answer.status_code, answer.content.decode()


def searched_house(waited):
    room = RoomFactory(house=HouseFactory(owner=ada()))
    queued = timezone.now() - timedelta(minutes=waited)
    return SearchJob.objects.create(
        house=room.house, room=room, board="plain", thickness=1, pool="a" * 64, queued_at=queued
    )


def test_all_is_well(client):
    small_house(ada())
    status, words = page(client)
    assert status == 200
    assert "Working." in words
    assert "It is running." in words
    assert not Attempt.objects.exists()


def test_stranger_is_told_no_more_than_well(client, settings):
    settings.HOSTED = True
    answer = client.get(reverse("health"))
    assert (answer.status_code, answer.content) == (200, b"well\n")


def test_database_that_takes_no_write_is_not_well(client, monkeypatch, settings):
    def full(**_):
        raise DatabaseError("database or disk is full")

    monkeypatch.setattr(Attempt.objects, "create", full)
    status, words = page(client)
    assert status == 503
    assert "Database: NOT WELL. It takes no write." in words
    settings.HOSTED = True
    assert page(client) == (503, "not well\n")


def test_no_worker_is_not_well_and_says_what_to_do(client):
    Worker.objects.update(seen_at=timezone.now() - timedelta(seconds=31))
    status, words = page(client)
    assert status == 503
    assert "None was seen in the last 30 seconds" in words
    assert "Stop Halfbay and start it again" in words


def test_little_room_on_the_disk_is_not_well(client, monkeypatch):
    monkeypatch.setattr(health.shutil, "disk_usage", lambda _: SimpleNamespace(free=199_999_999))
    status, words = page(client)
    assert status == 503
    assert "Make room" in words


@pytest.mark.parametrize(("waited", "status"), [(9, 200), (11, 503)])
def test_search_that_waits_long_is_not_well(client, waited, status):
    searched_house(waited)
    assert page(client)[0] == status


def test_long_queue_is_well_as_long_as_it_moves(client):
    job = searched_house(60)
    SearchJob.objects.filter(pk=job.pk).update(started_at=timezone.now() - timedelta(minutes=1))
    assert page(client)[0] == 200


def test_search_of_a_removed_house_is_no_trouble(client):
    house = searched_house(60).house
    type(house).all_objects.filter(pk=house.pk).update(deleted_at=timezone.now())
    assert page(client)[0] == 200


def test_print_set_that_waits_long_is_not_well(client):
    house = small_house(ada())
    PrintPack.objects.create(house=house, title="House pack", paper="letter")
    assert page(client)[0] == 200
    PrintPack.objects.update(made_at=timezone.now() - timedelta(minutes=11))
    status, words = page(client)
    assert status == 503
    assert "Print sets" in words


def test_figures_that_stay_stale_are_not_well(client):
    house = small_house(ada())
    Figures.objects.update(change=0)
    assert page(client)[0] == 200
    Change.objects.filter(house=house.pk).update(at=timezone.now() - timedelta(minutes=3))
    status, words = page(client)
    assert status == 503
    assert "older than the last change" in words


def test_figures_that_could_not_be_worked_out_are_not_well(client):
    small_house(ada())
    Figures.objects.update(state="failed")
    assert page(client)[0] == 503


def test_health_is_only_read(client):
    assert client.post(reverse("health")).status_code == 405


def test_strangers_who_ask_over_and_over_have_it_looked_at_once_in_two_seconds(
    client, hosted, monkeypatch
):
    now, looked = [100], []
    monkeypatch.setattr(health, "time", SimpleNamespace(monotonic=lambda: now[0]))
    monkeypatch.setattr(health, "checks", lambda: looked.append(now[0]) or [])
    for seconds in (0, 1, 1, 1, 4):
        now[0] += seconds
        assert page(client) == (200, "well\n")
    assert looked == [100, 102, 107]
