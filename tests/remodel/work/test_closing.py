"""Coats on a phase page, and what a phase that is set to done uses and leaves."""

from __future__ import annotations

from fractions import Fraction

import pytest
from django.urls import reverse

from remodel.board.queries import takes_of_house
from remodel.bridge.lengths import Amount, amount
from remodel.history.services import By
from remodel.house.models import Room
from remodel.logbook import closing_of, day_log_add, phase_step, stuff_of
from remodel.pages.work.coats import coats_of
from remodel.pages.work.use import use_totals
from remodel.supply.estimates import rough_by_job
from remodel.supply.ledger import here_of, move
from remodel.supply.models import Material, Movement
from remodel.supply.queries import use_of
from remodel.ticks import Ticked, tick_all
from tests.remodel.factories import ada
from tests.remodel.site import browser

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]

COMPOUND = "compound-drying"


@pytest.fixture
def taping(room):
    return phase(room, "taping")


def phase(room, key):
    return Room.objects.get(pk=room.pk).phases.select_related("room__house").get(key=key)


def received(room, gallons):
    amount_ = Amount(Fraction(gallons), "gal")
    move(by=By(ada()), house=room.house, item=COMPOUND, kind="received", amount=amount_)


def compound_of(room):
    takes = takes_of_house(room.house_id)[room.pk].takes
    return Fraction(sum(take.amount for take in takes if take.item == COMPOUND), 1000)


def test_grid_has_the_coats_that_takes_ask_for_and_no_others(room, taping):
    shown = coats_of(taping)
    asked = {
        (take.name, take.kind.value)
        for take in takes_of_house(room.house_id)[room.pk].takes
        if take.kind in ("taped", "second", "third")
    }
    assert asked
    assert {
        (surface.key, coat.kind)
        for surface in shown.surfaces
        for coat in surface.coats
        if coat.asked
    } == asked
    assert all(coat.uses.startswith("about") for coat in shown.surfaces[0].coats if coat.asked)
    assert coats_of(phase(room, "hanging")) is None


def test_page_of_a_phase_ticks_a_coat(room, taping):
    client, page = browser(ada()), reverse("phase-detail", args=[taping.pk])
    assert "All: Taped" in client.get(page).content.decode()
    fields = {"kind": "taped", "plan": "", "item": "A", "done": "yes", "back": page}
    assert client.post(reverse("room-tick", args=[room.pk]), fields)["Location"] == page

    coat = coats_of(taping).of_all[0]
    assert (coat.kind, coat.done) == ("taped", 1)


def test_done_says_what_is_used_as_planned_and_uses_it(by, room, taping):
    received(room, 5)
    closing = closing_of(taping)
    assert [used.value for _, used in closing.used if used.unit == "gal"] == [compound_of(room)]
    page = browser(ada()).get(reverse("phase-detail", args=[taping.pk])).content.decode()
    assert "Used as planned: about" in page
    phase_step(by=by, phase=taping, state="done")

    assert here_of(room.house)[COMPOUND].amount == 5 - compound_of(room)
    assert not Movement.objects.filter(kind="used").exists()


def test_done_leaves_out_what_was_ticked(by, room, taping):
    received(room, 5)
    surfaces = {
        take.name for take in takes_of_house(room.house_id)[room.pk].takes if take.kind == "taped"
    }
    tick_all(by=by, room=room, ticks=[Ticked("taped", name) for name in sorted(surfaces)])
    rest = next(used.value for _, used in closing_of(taping).used if used.unit == "gal")
    ticked = rough_by_job(room.house)[taping.pk, COMPOUND].amount

    assert ticked
    assert rest + ticked == compound_of(room)


def test_half_a_pail_left_is_a_count(room, taping):
    received(room, 5)
    pack = max(
        Material.objects.get(house=room.house, key=COMPOUND).packs.all(),
        key=lambda pack: (pack.price, pack.holds),
    )
    fields = {"state": "done", "aware": "on", f"left-{COMPOUND}": "1/2"}
    answer = browser(ada()).post(reverse("phase-detail", args=[taping.pk]), fields)

    assert answer.status_code == 302
    assert here_of(room.house)[COMPOUND].amount == pack.holds / 2
    assert here_of(room.house)[COMPOUND].estimated == 0
    assert Movement.objects.get(kind="used").count


def test_left_is_skipped_where_nothing_is_chosen(room, taping):
    received(room, 5)
    fields = {"state": "done", "aware": "on", f"left-{COMPOUND}": ""}
    browser(ada()).post(reverse("phase-detail", args=[taping.pk]), fields)

    assert phase(room, "taping").state == "done"
    assert not Movement.objects.filter(count=True).exists()


def test_left_is_not_counted_by_another_step(room, taping):
    received(room, 5)
    fields = {"state": "in progress", "aware": "on", f"left-{COMPOUND}": "0"}
    browser(ada()).post(reverse("phase-detail", args=[taping.pk]), fields)

    assert phase(room, "taping").state == "in progress"
    assert not Movement.objects.filter(count=True).exists()


def test_stack_of_pails_is_not_asked_for(room, taping):
    received(room, 100)
    assert COMPOUND not in [leftover.item for leftover in closing_of(taping).leftovers]


def test_what_nobody_wrote_down_is_neither_used_nor_asked_for(taping):
    assert not closing_of(taping)


def test_log_form_says_what_ticks_used_and_a_log_replaces_it(by, room, taping):
    received(room, 5)
    tick_all(by=by, room=room, ticks=[Ticked("taped", "A")])
    told = next(stuff for stuff in stuff_of(taping) if stuff.item == COMPOUND)
    assert told.ticked.startswith("about")
    page = browser(ada()).get(reverse("log-add", args=[taping.pk])).content.decode()
    assert f"ticks say {told.ticked}" in page
    day_log_add(by=by, room=room, phase=taping, used=[(COMPOUND, amount(2, "gal"), 1)])

    assert here_of(room.house)[COMPOUND].amount == 3
    assert next(stuff for stuff in stuff_of(taping) if stuff.item == COMPOUND).ticked == ""


def test_use_tells_apart_what_ticks_say(by, room, taping):
    tick_all(by=by, room=room, ticks=[Ticked("taped", "A")])
    total = next(total for total in use_totals(use_of(room.house), {}) if total.item == COMPOUND)
    assert total.about == total.used
    page = browser(ada()).get(reverse("use-list", args=[room.house_id])).content.decode()
    assert "Of it by ticks" in page


def test_closing_a_room_sets_every_phase_to_done_and_keeps_its_hours(by, room, taping):
    received(room, 5)
    day_log_add(by=by, room=room, phase=taping, minutes=90)
    client, phases = browser(ada()), reverse("room-phases", args=[room.pk])
    assert "Set all phases to done" in client.get(phases).content.decode()
    assert client.post(reverse("room-close", args=[room.pk]))["Location"] == phases

    assert set(room.phases.values_list("state", flat=True)) == {"done"}
    assert "Set all phases to done" not in client.get(phases).content.decode()
    assert here_of(room.house)[COMPOUND].amount == 5 - compound_of(room)
    assert room.logs.get().minutes == 90


def test_room_whose_phase_waits_is_not_closed_and_says_what_for(by, room, taping):
    phase_step(by=by, phase=taping, state="blocked", waits_for="the inspector")
    answer = browser(ada()).post(reverse("room-close", args=[room.pk]))

    assert answer.status_code == 422
    assert "Taping waits for the inspector" in answer.content.decode()
    assert "done" not in set(room.phases.values_list("state", flat=True))
