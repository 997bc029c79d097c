"""Cards that a plan which changed made useless: listed until somebody threw them away."""

from __future__ import annotations

import pytest
from django.urls import reverse

from remodel.board.models import Mark
from remodel.board.plans import plan_accept
from remodel.board.queries import old_cards, retired_cards
from remodel.cards.models import PrintPack
from remodel.cards.packs import room_part, sheets_in, sheets_to_throw_away
from remodel.ticks import tick
from tests.remodel.board.test_placed import keys_of
from tests.remodel.board.two_plans import accept_dear
from tests.remodel.factories import ada, ben
from tests.remodel.site import browser, share

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]


@pytest.fixture
def taken(by, room):
    """The kitchen after another plan took the place of an accepted one: the earlier plan."""
    dear, offer = accept_dear(by, room)
    plan_accept(by=by, plan=offer)
    return dear


def words_of(person, name, *args):
    return " ".join(browser(person).get(reverse(name, args=args)).content.decode().split())


def test_old_cards_are_on_both_lists_until_they_are_thrown_away(room, taken):
    for name, args in (("room-cards", [room.pk]), ("house-cards", [room.house_id])):
        assert "Cards to throw away" in words_of(ada(), name, *args)
    assert "K1, K2, K3, K4, K5, K6, K7, K8, K9, K10" in words_of(ada(), "room-cards", room.pk)
    marks = [mark.pk for mark in old_cards(room.house_id)]
    press = {"mark": marks[1:], "room": room.pk}
    for _ in range(2):
        browser(ada()).post(reverse("cards-thrown", args=[room.house_id]), press)

    assert retired_cards(room) == ["K1"]  # the press did not name it
    browser(ada()).post(reverse("cards-thrown", args=[room.house_id]), {"mark": marks[:1]})
    assert "Cards to throw away" not in words_of(ada(), "house-cards", room.house_id)


def test_cards_of_a_plan_that_stands_again_are_good_again(by, room, taken):
    marks = [mark.pk for mark in old_cards(room.house_id)]
    browser(ada()).post(reverse("cards-thrown", args=[room.house_id]), {"mark": marks})
    plan_accept(by=by, plan=taken)

    assert not Mark.objects.filter(plan=taken).exclude(thrown_at=None).exists()
    # The press of a page of before throws nothing away that is cut by now.
    browser(ada()).post(reverse("cards-thrown", args=[room.house_id]), {"mark": marks})
    assert not Mark.objects.filter(plan=taken).exclude(thrown_at=None).exists()


def test_card_of_a_sheet_that_is_cut_is_no_old_one(by, room):
    dear, _ = accept_dear(by, room)
    tick(by=by, room=room, kind="cut", item=keys_of(room)[0])
    Mark.objects.filter(plan=dear).update(retired_at="2026-01-01T00:00Z")

    begun = room.cut_sheets.get().code
    assert begun not in retired_cards(room)
    assert len(retired_cards(room)) == 14


def test_printed_set_names_the_sheets_that_no_plan_has_any_more(by, room):
    _, offer = accept_dear(by, room)
    part = room_part(room, ["cards"])
    pack = PrintPack.objects.create(
        house=room.house,
        room=room,
        title="Kitchen",
        paper="letter",
        parts=["cards"],
        rooms=[room.key],
        revisions={room.key: part.revision},
        sheets=sheets_in([part]),
        state="done",
    )
    assert sheets_to_throw_away(pack) == []
    assert "Cards to throw away" not in words_of(ada(), "pack-check", pack.code)
    plan_accept(by=by, plan=offer)

    assert len(sheets_to_throw_away(pack)) == 15
    for name, args in (("pack-check", [pack.code]), ("house-pack", [pack.pk])):
        assert "these sheets are not cut any more" in words_of(ada(), name, *args)


def test_throwing_away_is_for_who_may_write(room, taken):
    share(room.house, ben(), "viewer")
    marks = [mark.pk for mark in old_cards(room.house_id)]
    answer = browser(ben()).post(reverse("cards-thrown", args=[room.house_id]), {"mark": marks})

    assert answer.status_code == 404
    assert "Mark as thrown away" not in words_of(ben(), "room-cards", room.pk)
    answer = browser(ada()).post(reverse("cards-thrown", args=[room.house_id]), {"mark": "x"})
    assert answer.status_code == 302
    assert len(old_cards(room.house_id)) == 15
