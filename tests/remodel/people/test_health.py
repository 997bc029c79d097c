"""The health page: what is well, what is not, and who is told."""

from datetime import timedelta
from types import SimpleNamespace

import pytest
from django.db import DatabaseError
from django.urls import reverse
from django.utils import timezone

from remodel.board.models import Job
from remodel.people.models import Tried
from remodel.people.views import health
from tests.remodel.factories import HouseFactory, RoomFactory, ada

pytestmark = pytest.mark.django_db


def test_all_is_well(client):
    answer = client.get(reverse("health"))
    assert answer.status_code == 200
    assert "It takes writes." in answer.content.decode()
    assert not Tried.objects.exists()


def test_stranger_is_told_no_more_than_well(client, settings):
    settings.HOSTED = True
    answer = client.get(reverse("health"))
    assert (answer.status_code, answer.content) == (200, b"well\n")


def test_database_that_takes_no_write_is_not_well(client, monkeypatch):
    def full(**_):
        raise DatabaseError("database or disk is full")

    monkeypatch.setattr(Tried.objects, "create", full)
    answer = client.get(reverse("health"))
    assert (answer.status_code, answer.content) == (503, b"not well\n")


def test_little_room_on_the_disk_is_not_well(client, monkeypatch):
    monkeypatch.setattr(health.shutil, "disk_usage", lambda _: SimpleNamespace(free=199_999_999))
    answer = client.get(reverse("health"))
    assert answer.status_code == 503
    assert "Make room" in answer.content.decode()


@pytest.mark.parametrize(("waited", "status"), [(9, 200), (11, 503)])
def test_search_that_waits_long_means_nobody_works(client, waited, status):
    room = RoomFactory(house=HouseFactory(owner=ada()))
    queued = timezone.now() - timedelta(minutes=waited)
    Job.objects.create(house=room.house, room=room, board="plain", thickness=1, pool="a" * 64, queued_at=queued)
    assert client.get(reverse("health")).status_code == status


def test_health_is_only_read(client):
    assert client.post(reverse("health")).status_code == 405
