"""Two people writing at the very same time, each over a connection of their own.

SQLite lets one transaction write at a time (`test_writers.py` holds it to that); here PostgreSQL is
held to the same.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from fractions import Fraction
from typing import Any

import pytest
from django.db import connection
from django.utils import timezone

from remodel.bridge.lengths import Amount
from remodel.history.errors import AlreadyUndone, CannotUndo, Refused, Stale
from remodel.history.models import Change
from remodel.history.queries import last_group
from remodel.history.seen import Seen
from remodel.history.services import By, change, recorded, undo
from remodel.house.models import Room
from remodel.house.services import room_change
from remodel.logbook import day_write
from remodel.people.models import Membership, Role
from remodel.people.services import invitation_make, invitation_take, membership_end
from remodel.supply.ledger import count_left, move, on_hand
from remodel.supply.models import Movement
from remodel.work.kept_photos import MOST_PHOTOS, keep_photo
from remodel.work.models import KeptPhoto, Phase, Photo
from remodel.work.photos import reencoded
from tests.remodel.everything import a_photo
from tests.remodel.factories import ada, ben, cy, room_add_line
from tests.remodel.site import share

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(
        connection.vendor != "postgresql",
        reason="NOT RUN: two connections at once are tried on PostgreSQL alone; set DATABASE_URL=postgres://...",
    ),
]
WAIT = 20  # seconds until a test gives up on a thread that hangs


def on_own_connection(work: Callable[[], Any]) -> Any:
    """What `work` returns, or the refusal it raises."""
    try:
        return work()
    except (AlreadyUndone, CannotUndo, Refused, Stale) as refusal:
        return refusal
    finally:
        connection.close()


def at_once(*works: Callable[[], Any]) -> list[Any]:
    """Each `work` on a thread and connection of its own, begun together."""
    gate = threading.Barrier(len(works))

    def run(work: Callable[[], Any]) -> Any:
        gate.wait(WAIT)
        return on_own_connection(work)

    with ThreadPoolExecutor(len(works)) as pool:
        return [outcome.result(WAIT) for outcome in [pool.submit(run, work) for work in works]]


def test_second_of_two_edits_waits_then_is_told_both_values(room):
    written, go_on = threading.Event(), threading.Event()

    @recorded("changed the room")
    def change_slowly(*, by: By) -> Room:
        row = change(Room.objects.get(pk=room.pk), name="Den")
        written.set()
        go_on.wait(WAIT)
        return row

    with ThreadPoolExecutor(2) as pool:
        first = pool.submit(on_own_connection, lambda: change_slowly(by=By(ada())))
        assert written.wait(WAIT)
        mine = Room.objects.get(pk=room.pk)
        second = pool.submit(
            on_own_connection,
            lambda: room_change(by=By(ben(), seen=Seen.of(mine)), room=mine, name="Pantry"),
        )
        assert not second.done()
        go_on.set()
        refusal = second.result(WAIT)

    assert first.result(WAIT).name == "Den"
    assert isinstance(refusal, Stale)
    assert [(conflict.theirs, conflict.mine) for conflict in refusal.conflicts] == [
        ("Den", "Pantry")
    ]
    assert Room.objects.get(pk=room.pk).name == "Den"
    assert Change.objects.filter(row=room.pk, version=room.version + 1).count() == 1


def test_movements_written_at_once_get_a_number_each(house):
    def receive() -> list[int]:
        amount = Amount(Fraction(1), "each")
        return [
            move(by=By(), house=house, item="x", kind="received", amount=amount).serial
            for _ in range(10)
        ]

    serials = [serial for some in at_once(*[receive] * 6) for serial in some]

    assert sorted(serials) == list(range(1, 61))
    assert on_hand(house, "x", "each").value == 60


def test_what_is_left_counted_twice_at_once_is_used_once(house):
    move(by=By(), house=house, item="x", kind="received", amount=Amount(Fraction(9), "each"))
    at_once(
        *[lambda: count_left(by=By(), house=house, item="x", remaining=Amount(Fraction(4), "each"))]
        * 2
    )

    assert [movement.value for movement in Movement.objects.order_by("serial")] == [9, -5]


def test_one_form_sent_twice_at_once_makes_one_room(house):
    by = By(ada(), "one-press")
    rooms = at_once(
        *[lambda: room_add_line(by=by, house=house, name="Den", line="12' x 10' x 8'")] * 2
    )

    assert rooms[0].pk == rooms[1].pk
    assert Room.objects.filter(name="Den").count() == 1


def test_rooms_added_at_once_get_a_key_and_a_place_each(house):
    names = [f"Room {number}" for number in range(4)]
    at_once(
        *[
            lambda n=n: room_add_line(by=By(), house=house, name=n, line="12' x 10' x 8'")
            for n in names
        ]
    )

    assert len(set(Room.objects.values_list("key", flat=True))) == 5
    assert sorted(Room.objects.values_list("position", flat=True)) == [0, 1, 2, 3, 4]


def test_one_change_undone_twice_at_once_is_undone_once(room):
    room_change(by=By(ada()), room=room, name="Den")
    group = last_group(room.pk)
    done = at_once(*[lambda: undo(by=By(ada()), group=group)] * 2)

    assert sorted(isinstance(outcome, AlreadyUndone) for outcome in done) == [False, True]
    assert Room.objects.get(pk=room.pk).name == "Kitchen"


def test_one_invitation_lets_one_of_two_in(house):
    _, token = invitation_make(by=By(ada()), house=house, role=Role.HELPER)
    at_once(
        lambda: invitation_take(token=token, person=ben()),
        lambda: invitation_take(token=token, person=cy()),
    )

    assert Membership.objects.filter(house=house, role=Role.HELPER).count() == 1


def test_two_owners_who_leave_at_once_leave_one(house):
    share(house, ben(), Role.OWNER)
    members = list(Membership.objects.filter(house=house))
    at_once(*[lambda m=m: membership_end(person=m.person, membership=m) for m in members])

    assert Membership.objects.filter(house=house, role=Role.OWNER).count() == 1


def test_photo_of_a_form_sent_twice_at_once_is_kept_once_and_saved_once(room, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    picture = reencoded(a_photo())
    form = "6b0f4ab0-52a5-4f3a-9d2c-1d1f0f5f1c11"
    kept = at_once(*[lambda: keep_photo(ada(), picture, form=form)] * 2)
    assert len({photo.pk for photo in kept}) == KeptPhoto.objects.count() == 1

    by = By(ada(), "one press")
    phase = Phase.objects.get(room=room, key="taping")
    day, token = timezone.localdate(), str(kept[0].pk)
    logs = at_once(*[lambda: day_write(by=by, phase=phase, day=day, kept_photo=token)] * 2)
    assert len({log.pk for log in logs}) == 1
    assert (Photo.objects.count(), KeptPhoto.objects.count()) == (1, 0)


def test_no_more_photos_are_kept_than_may_be_however_they_come(room):
    picture = reencoded(a_photo())
    for _ in range(MOST_PHOTOS - 1):
        keep_photo(ada(), picture, form="")
    answers = at_once(*[lambda: keep_photo(ada(), picture, form="")] * 4)

    assert sum(isinstance(answer, KeptPhoto) for answer in answers) == 1
    assert KeptPhoto.objects.count() == MOST_PHOTOS
