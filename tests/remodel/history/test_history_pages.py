"""The history pages, and taking a change back from them."""

from datetime import date

import pytest
from django.urls import reverse
from django.utils import timezone

from remodel.history.models import Change
from remodel.history.queries import last_group
from remodel.history.services import By
from remodel.house.models import Room
from remodel.house.services import room_change
from remodel.logbook import day_write
from remodel.people.models import Membership, Role
from remodel.supply.models import Movement
from remodel.work.models import DayLog, Phase
from remodel.work.services import phase_add
from tests.remodel.everything import Everything
from tests.remodel.factories import PersonFactory, RoomFactory, cy, shared_house

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]


@pytest.fixture
def shared(client):
    house, ada, ben = shared_house()
    room = RoomFactory(house=house)
    client.force_login(ada)
    return house, room, By(ada), By(ben)


def renamed(by, room, name):
    room_change(by=by, room=Room.objects.get(pk=room.pk), name=name)
    return last_group(room.pk)


def undo(client, group):
    return client.post(reverse("change-undo", args=[group]), follow=True)


def test_change_is_told_with_who_and_both_values(client, shared):
    _, room, _, ben = shared
    renamed(ben, room, "Pantry")
    page = client.get(reverse("room-history", args=[room.pk])).content.decode()
    assert ": changed the room" in page
    assert "<del>Kitchen</del>" in page
    assert "<ins>Pantry</ins>" in page


def test_undo_leaves_what_others_changed_in_other_fields(client, shared):
    _, room, ada, ben = shared
    group = renamed(ben, room, "Pantry")
    room_change(by=ada, room=Room.objects.get(pk=room.pk), wall_level=5)
    undo(client, group)
    room = Room.objects.get(pk=room.pk)
    assert (room.name, room.wall_level) == ("Kitchen", 5)


def test_undo_can_itself_be_undone(client, shared):
    _, room, _, ben = shared
    undo(client, renamed(ben, room, "Pantry"))
    undo(client, last_group(room.pk))
    assert Room.objects.get(pk=room.pk).name == "Pantry"


def test_undone_log_leaves_the_ledger_and_says_so(client):
    everything = Everything()
    client = everything.client(everything.ada)
    moved = Movement.objects.count()
    phase = Phase.objects.get(pk=everything.values["phase_id"])
    log = day_write(by=By(everything.ada), phase=phase, day=timezone.localdate(), minutes=30)
    group = last_group(log.pk)
    page = client.post(reverse("change-undo", args=[group]), follow=True).content.decode()
    assert "What it took from stock stays taken" in page
    assert not DayLog.objects.filter(pk=log.pk).exists()
    assert Movement.objects.count() == moved


def test_placed_order_is_not_undone_from_the_history(client):
    everything = Everything()
    client = everything.client(everything.ada)
    placed = next(
        change.group
        for change in Change.objects.filter(row=everything.values["order_id"], before__isnull=False)
        if "state" in change.fields
    )
    assert client.post(reverse("change-undo", args=[placed])).status_code == 404
    page = client.get(reverse("house-history", args=[everything.house.pk])).content.decode()
    assert reverse("change-undo", args=[placed]) not in page


def test_history_goes_back_page_by_page(client, shared):
    _, room, ada, _ = shared
    for number in range(60):
        renamed(ada, room, f"Room {number}")
    first = client.get(reverse("room-history", args=[room.pk])).content.decode()
    assert first.count("past-write") == 50
    older = first.split('href="?before=')[1].split('"')[0]
    second = client.get(
        reverse("room-history", args=[room.pk]) + f"?before={older}"
    ).content.decode()
    assert second.count("past-write") == 10
    assert "Room 9" in second
    assert "?before=" not in second


@pytest.mark.parametrize("before", ["x", "-1", "9" * 30])
def test_place_in_the_history_that_is_none_is_not_found(client, shared, before):
    assert (
        client.get(reverse("house-history", args=[shared[0].pk]) + f"?before={before}").status_code
        == 404
    )


def test_empty_history_says_so(client, shared):
    assert (
        "Nothing was changed yet."
        in client.get(reverse("room-history", args=[shared[1].pk])).content.decode()
    )


def test_stranger_sees_and_undoes_nothing(client, shared):
    house, room, _, ben = shared
    group = renamed(ben, room, "Pantry")
    client.force_login(cy())
    for url in (reverse("room-history", args=[room.pk]), reverse("house-history", args=[house.pk])):
        assert client.get(url).status_code == 404
    assert undo(client, group).status_code == 404
    assert Room.objects.get(pk=room.pk).name == "Pantry"


def test_who_may_look_only_reads_and_undoes_nothing(client, shared):
    house, room, _, ben = shared
    group = renamed(ben, room, "Pantry")
    viewer = PersonFactory(name="Vi")
    Membership.objects.create(house=house, person=viewer, role=Role.VIEWER)
    client.force_login(viewer)
    assert client.get(reverse("house-history", args=[house.pk])).status_code == 200
    assert undo(client, group).status_code == 404


def test_log_is_told_by_its_day(client, shared):
    _, room, ada, _ = shared
    phase = phase_add(by=ada, room=room, name="Trim")
    day_write(by=ada, phase=phase, day=date(2026, 1, 5), minutes=60)
    assert "Day log: Jan 5" in client.get(reverse("room-history", args=[room.pk])).content.decode()
