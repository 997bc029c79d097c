"""Phases of a room: moved on, warned of, the person's own, with notes."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse

from remodel.history.seen import Seen
from remodel.history.services import By
from remodel.house.partitions import partition_change
from remodel.house.things import hidden_add
from remodel.people.models import Role
from remodel.work.models import AcceptedStop, Note, Phase
from remodel.work.services import note_add, phase_add, phase_set_state
from tests.remodel.factories import ada, ben, cy
from tests.remodel.site import HTMX, browser, share, with_partition

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]

MISSING = "00000000-0000-0000-0000-000000000000"


def phase_of(room, key) -> Phase:
    return room.phases.get(key=key)


def url(phase) -> str:
    return reverse("phase-detail", args=[phase.pk])


def get(phase, **query) -> str:
    return browser(ada()).get(url(phase), query).content.decode()


def post(phase, **data):
    return browser(ada()).post(url(phase), {"seen": str(Seen.of(phase)), **data})


def done(room, *keys) -> None:
    for key in keys:
        phase_set_state(by=By(ada()), phase=phase_of(room, key), state="done")


@pytest.fixture
def asked(room):
    """The kitchen, where nothing is accepted yet but that no leak is known."""
    AcceptedStop.objects.exclude(key__startswith="leaks").delete()
    return room


def test_phase_is_begun_and_the_room_is_shown(room):
    phase = phase_of(room, "strip-out")
    answer = post(phase, state="in progress")

    assert answer.headers["Location"] == reverse("room-detail", args=[room.pk])
    assert phase_of(room, "strip-out").state == "in progress"


def test_begun_from_the_rooms_own_page_only_the_phases_are_swapped(room):
    phase = phase_of(room, "strip-out")
    answer = browser(ada()).post(
        url(phase), {"seen": str(Seen.of(phase)), "state": "in progress", "quick": "yes"}, **HTMX
    )
    page = answer.content.decode()

    assert answer.status_code == 200
    assert page.strip().startswith('<div id="phases">')
    assert "<html" not in page
    assert "Mark Tear-out done" in page


def test_what_needs_an_answer_leads_from_the_rooms_page_to_the_phases(asked):
    phase = phase_of(asked, "hanging")
    answer = browser(ada()).post(
        url(phase), {"seen": str(Seen.of(phase)), "state": "in progress", "quick": "yes"}, **HTMX
    )

    assert answer.headers["HX-Redirect"] == f"{url(phase)}?state=in+progress"
    assert phase_of(asked, "hanging").state == "not started"


def test_blocked_phase_must_say_for_what_and_what_was_typed_is_kept(room):
    answer = post(phase_of(room, "framing"), state="blocked", waits_for="  ")
    page = answer.content.decode()

    assert answer.status_code == 422
    assert page.count("Say what it waits for, for example the electrician&#x27;s sign-off") == 2
    assert "<title>Error: " in page
    assert re.search(r'value="blocked"[^>]*checked', page)


def test_state_that_is_no_step_from_here_is_refused(room):
    phase = phase_of(room, "framing")
    phase_set_state(by=By(ada()), phase=phase, state="blocked", waits_for="lumber")
    answer = post(phase, state="done")

    assert answer.status_code == 422
    assert "must be one of the choices on the page" in answer.content.decode()


def test_board_before_rough_in_or_insulation_is_signed_off_stops(asked):
    phase = phase_of(asked, "hanging")
    assert "Have the rough-in done and signed off before board closes it." in get(phase)
    answer = post(phase, state="in progress")

    assert "Insulate before board closes the bays." in answer.content.decode()
    assert phase_of(asked, "hanging").state == "not started"


def test_nothing_stops_once_what_comes_first_is_done(asked):
    done(asked, "framing", "rough-in", "insulation")
    answer = post(phase_of(asked, "hanging"), state="in progress")

    assert answer.status_code == 302


def test_planned_blocking_stops_the_board(asked):
    room = asked
    done(room, "framing", "rough-in", "insulation")
    hidden_add(
        by=By(ada()),
        room=room,
        surface="A",
        name="Blocking for cabinets",
        kind="blocking",
        planned=True,
        across_origin="left",
        across_distance=10**9,
        up_origin="floor",
        up_distance=10**9,
        width=6 * 10**8,
        height=10**8,
    )

    assert (
        "Put in &quot;Blocking for cabinets&quot; before its surface is closed."
        in post(phase_of(room, "hanging"), state="in progress").content.decode()
    )


def test_closing_over_a_planned_partition_without_blocking_stops(asked):
    room = asked
    done(room, "framing", "rough-in", "insulation")
    partition = with_partition(room, ada())
    partition_change(by=By(ada()), partition=partition, framed="after")
    assert (
        "Put in and record the backing for Closet wall"
        in post(phase_of(room, "hanging"), state="in progress").content.decode()
    )
    partition_change(by=By(ada()), partition=partition, blocking_recorded=True)

    assert post(phase_of(room, "hanging"), state="in progress").status_code == 302


def test_walls_before_ceiling_is_warned_of_where_hanging_begins(room):
    assert "Hang the ceiling before the walls" in get(phase_of(room, "hanging"))


@pytest.mark.parametrize(("units", "cold", "warm"), [("in", "49.5", "50"), ("mm", "9.9", "10")])
def test_taping_below_the_working_temperature_stops(room, units, cold, warm):
    room.house.__class__.objects.filter(pk=room.house_id).update(units=units)
    done(room, "rough-in", "insulation", "hanging")
    answer = post(phase_of(room, "taping"), state="in progress", coldest=cold)

    assert "colder than 50 °F (10 °C); warm it first" in answer.content.decode()
    assert phase_of(room, "taping").state == "not started"
    assert post(phase_of(room, "taping"), state="in progress", coldest=warm).status_code == 302


@pytest.mark.parametrize("typed", ["cold", "1e3", "999", "NaN"])
def test_temperature_that_is_none_is_kept_and_told(room, typed):
    answer = post(phase_of(room, "taping"), state="in progress", coldest=typed)
    page = answer.content.decode()

    assert answer.status_code == 422
    assert "must be a number of degrees from -60 to 150 °F, for example 55" in page
    assert f'value="{typed}"' in page


def test_two_at_once_are_told_and_both_values_shown(room):
    share(room.house, ben())
    phase = phase_of(room, "framing")
    phase_set_state(by=By(ben()), phase=phase_of(room, "framing"), state="in progress")
    answer = browser(ada()).post(url(phase), {"seen": str(Seen.of(phase)), "state": "ready"})
    page = answer.content.decode()

    assert answer.status_code == 409
    assert "Ben changed this while you were typing" in page
    assert re.search(r"<td>Ready</td>\s*<td>In progress</td>", page)
    again = browser(ada()).post(
        url(phase), {"seen": answer.context["form"]["seen"].value(), "state": "ready"}
    )
    assert again.status_code == 302


def test_sent_twice_is_done_once(room):
    phase = phase_of(room, "framing")
    data = {
        "seen": str(Seen.of(phase)),
        "state": "in progress",
        "key": "8d8ac610-566d-4ef0-9c22-186b2a5ed793",
    }
    answers = [browser(ada()).post(url(phase), data).status_code for _ in range(2)]

    assert answers == [302, 302]
    assert phase_of(room, "framing").version == phase.version + 1


def test_own_phase_is_added_moved_and_removed_with_undo(room):
    client = browser(ada())
    taping = phase_of(room, "taping")
    client.post(reverse("phase-add", args=[room.pk]), {"name": "Trim", "after": str(taping.pk)})
    trim = room.phases.get(name="Trim")
    names = list(room.phases.values_list("name", flat=True))
    assert names.index("Trim") == names.index("Taping") + 1
    client.post(reverse("phase-move", args=[trim.pk]), {"way": "up"})
    names = list(room.phases.values_list("name", flat=True))
    assert names.index("Trim") == names.index("Taping") - 1

    page = client.post(reverse("phase-remove", args=[trim.pk]), follow=True).content.decode()
    assert not room.phases.filter(name="Trim").exists()
    undo = re.search(r'action="(/undo/[^"]+)"', page)[1]
    client.post(undo)
    assert room.phases.filter(name="Trim").exists()


def test_own_phase_without_a_name_is_refused_with_the_page(room):
    answer = browser(ada()).post(reverse("phase-add", args=[room.pk]), {"name": "", "after": ""})

    assert answer.status_code == 422
    assert "&quot;Name of the phase&quot; is empty" in answer.content.decode()


def test_given_phase_can_be_left_out_but_not_removed(room):
    client, phase = browser(ada()), phase_of(room, "partitions")
    answer = client.post(reverse("phase-remove", args=[phase.pk]))
    assert answer.status_code == 422
    assert "can be left out of a room, not removed" in answer.content.decode()
    client.post(reverse("phase-leave-out", args=[phase.pk]), {"left_out": "yes"})

    assert phase_of(room, "partitions").left_out
    assert (
        "Partitions</span>"
        not in client.get(reverse("room-detail", args=[room.pk])).content.decode()
    )


def test_note_of_a_phase_stands_on_its_page(room):
    phase = phase_of(room, "framing")
    answer = browser(ada()).post(
        reverse("note-add", args=[room.pk]),
        {"text": "Left wall <b>is</b> out of plumb", "phase": str(phase.pk)},
    )

    assert answer.headers["Location"] == url(phase)
    assert "Left wall &lt;b&gt;is&lt;/b&gt; out of plumb" in get(phase)


def test_empty_note_is_refused(room):
    answer = browser(ada()).post(reverse("note-add", args=[room.pk]), {"text": " "})

    assert answer.status_code == 422
    assert "&quot;Note&quot; is empty" in answer.content.decode()


def test_removed_note_can_be_taken_back(room):
    note = note_add(by=By(ada()), house=room.house, room=room, text="Order early")
    page = browser(ada()).post(reverse("note-remove", args=[note.pk]), follow=True)
    client = browser(ada())
    undo = re.search(r'action="(/undo/[^"]+)"', page.content.decode())[1]
    client.post(undo)

    assert Note.objects.get().text == "Order early"


WRITES = [
    ("phase-detail", "phase"),
    ("phase-move", "phase"),
    ("phase-leave-out", "phase"),
    ("phase-remove", "phase"),
    ("phase-add", "room"),
    ("note-add", "room"),
    ("note-remove", "note"),
]


@pytest.mark.parametrize(("name", "of"), WRITES)
def test_stranger_looker_and_missing_write_nothing(room, name, of):
    share(room.house, ben(), Role.VIEWER)
    note = note_add(by=By(ada()), house=room.house, room=room, text="Order early")
    own = phase_add(by=By(ada()), room=room, name="Trim")
    pk = {"phase": own.pk, "room": room.pk, "note": note.pk}[of]
    data = {"name": "Mine", "text": "Mine", "state": "in progress", "way": "up", "left_out": "yes"}
    versions = list(Phase.objects.values_list("pk", "version", "deleted_at"))

    assert browser(cy()).post(reverse(name, args=[pk]), data).status_code == 404
    assert browser(ben()).post(reverse(name, args=[pk]), data).status_code == 404
    assert browser(ada()).post(reverse(name, args=[MISSING]), data).status_code == 404
    assert list(Phase.objects.values_list("pk", "version", "deleted_at")) == versions
    assert Note.objects.count() == 1


@pytest.mark.parametrize(("name", "of"), WRITES)
def test_wrong_verb(room, name, of):
    note = note_add(by=By(ada()), house=room.house, room=room, text="Order early")
    pk = {"phase": phase_of(room, "taping").pk, "room": room.pk, "note": note.pk}[of]

    assert browser(ada()).put(reverse(name, args=[pk])).status_code == 405
