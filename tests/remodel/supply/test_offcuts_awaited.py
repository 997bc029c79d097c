"""Offcuts say which pieces will come of them, and none goes before that was said."""

from __future__ import annotations

import pytest
from django.urls import reverse

from remodel.board.models import Plan, RoomResult
from remodel.board.placed import piece_key
from remodel.board.plans import plan_accept, plans_keep
from remodel.board.queries import pile_result_of, planned_offcuts
from remodel.board.services import bring_up_to_date
from remodel.bridge.lengths import FOOT, INCH
from remodel.bridge.placed import pieces_in
from remodel.bridge.plans import plan_from
from remodel.cards.queries import cards_for
from remodel.history.errors import Refused
from remodel.rests import rest_decide, rests_of
from remodel.supply.models import OwnedSheet
from remodel.supply.services import (
    owned_sheet_add,
    owned_sheet_change,
    owned_sheet_gone,
    owned_sheet_remove,
)
from remodel.ticks import Ticked, tick, tick_all
from tests.remodel.board.two_plans import dear_plan, offer_of
from tests.remodel.factories import ada
from tests.remodel.site import browser

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]

REGULAR = {"board": "regular", "thickness": INCH // 2}


@pytest.fixture
def offcut(by, house, room):
    """An offcut so large that the kitchen's plan takes it."""
    size = {"width": 4 * FOOT, "length": 12 * FOOT}
    return owned_sheet_add(
        by=by, house=house, mark="H7.1", made_by="H7", place="Hall", **REGULAR, **size
    )


@pytest.fixture
def awaited(by, room, offcut):
    """The marks of the pieces that a plan which stands cuts out of the offcut."""
    plans_keep(by=by, room=room)
    bring_up_to_date(room.house_id, {room.pk})
    (planned,) = planned_offcuts(room.house_id)["H7.1"]
    assert planned.stands
    return planned.codes


def words_of(name, *args):
    return " ".join(browser(ada()).get(reverse(name, args=args)).content.decode().split())


def joints(room):
    return [
        (surface.surface, surface.joints)
        for pool in pile_result_of(room).pools
        for surface in pool.plan.surfaces
    ]


def test_offcut_says_what_comes_of_it_and_its_card_where_it_is_from(by, house, room, offcut):
    small = owned_sheet_add(by=by, house=house, width=FOOT, length=FOOT, **REGULAR)
    (planned,) = planned_offcuts(house.pk)["H7.1"]
    words = words_of("stock-list", house.pk)

    assert small.key == "offcut-1"
    assert "Offcut H7.1: 4' 0\" × 12' 0\"" in words.replace("&quot;", '"').replace("&#x27;", "'")
    assert f"{' and '.join(planned.codes)} of Kitchen will come of it." in words
    assert "2 factory edges; from sheet H7; it leans here: Hall" in words
    assert "Offcut 1:" in words
    assert words.count("<p>Free</p>") == 1
    sheet = next(sheet for sheet in cards_for(room).sheets if sheet.code == planned.sheet)
    card = words_of("room-card", room.pk, sheet.key)
    assert "From offcut H7.1," in card
    assert "It leans here: Hall." in card
    assert "from offcut H7.1" in words_of("room-cards", room.pk)


def test_offcut_that_only_a_proposed_plan_takes_goes_at_once(by, room, offcut):
    owned_sheet_gone(by=by, sheet=offcut)

    assert "H7.1" not in planned_offcuts(room.house_id)


@pytest.mark.parametrize("what", ["gone", "remove", "change"])
def test_awaited_offcut_goes_only_with_the_sentence_that_says_what_waits(
    by, room, offcut, awaited, what
):
    def go(**knowing):
        if what == "gone":
            owned_sheet_gone(by=by, sheet=offcut, **knowing)
        elif what == "remove":
            owned_sheet_remove(by=by, sheet=offcut, **knowing)
        else:
            owned_sheet_change(by=by, sheet=offcut, length=2 * FOOT, **knowing)

    before = joints(room)
    with pytest.raises(Refused, match=rf"{awaited[0]}.* of Kitchen .*cut from another sheet"):
        go()
    offcut.refresh_from_db()
    assert (offcut.here, offcut.length) == (1, 12 * FOOT)
    go(knowing=awaited)

    assert joints(room) == before
    assert "H7.1" not in planned_offcuts(room.house_id)
    stands = Plan.objects.get(state="accepted")
    assert f"{awaited[0]} " in stands.note
    assert "cut from another sheet: offcut H7.1 is not there any more" in stands.note


def test_card_of_an_earlier_plan_that_cuts_the_offcut_up_has_another_sheet_found(
    by, room, offcut, awaited
):
    plan_accept(by=by, plan=offer_of(room, dear_plan(room)))
    (planned,) = planned_offcuts(room.house_id)["H7.1"]
    assert not set(planned.codes) & set(awaited)
    earlier = Plan.objects.get(state="left")
    _, surface, _ = pieces_in(plan_from(earlier.data))[awaited[0]]
    key = piece_key(surface, awaited[0])
    tick(by=by, room=room, kind="cut", item=key)  # by the paper card of before
    offcut.refresh_from_db()

    assert (offcut.cut_up, offcut.here) == (1, 0)
    assert "H7.1" not in planned_offcuts(room.house_id)
    assert Plan.objects.get(state="accepted").note


def test_place_of_an_awaited_offcut_changes_without_a_word(by, offcut, awaited):
    owned_sheet_change(by=by, sheet=offcut, place="Garage")

    assert OwnedSheet.objects.get().place == "Garage"


def test_page_says_what_waits_before_the_press(room, offcut, awaited):
    stock = words_of("stock-list", room.house_id)
    assert reverse("offcut-gone", args=[offcut.pk]) not in stock
    page = words_of("offcut-change", offcut.pk)
    assert "Pieces wait for it" in page
    assert "to be cut from this offcut" in page
    client, gone = browser(ada()), reverse("offcut-gone", args=[offcut.pk])
    answer = client.post(gone, {"key": "a"}, follow=True)  # of a page from before the plan
    assert "Nothing was changed yet." in answer.content.decode()
    assert OwnedSheet.objects.get().here == 1
    client.post(gone, {"key": "b", "knowing": list(awaited)})

    assert OwnedSheet.objects.get().here == 0


def test_rest_that_is_meant_for_a_piece_says_so_on_the_stock(by, house, room):
    sheet = next(sheet for sheet in cards_for(room).sheets if sheet.rests)
    tick_all(
        by=by,
        room=room,
        ticks=[Ticked("cut", piece.key, piece.room_key) for piece in sheet.pieces],
    )
    stored = RoomResult.objects.get(room=room)
    last = stored.sheets[-1]
    assert last["code"] != sheet.code
    last |= {"source": sheet.rests[0].code, "is_whole": False}
    stored.save()
    words = words_of("stock-list", house.pk)

    assert f"Offcut {sheet.rests[0].code}:" in words
    assert f"still on sheet {sheet.code}" in words
    assert f"{last['pieces'][0]['code']}" in words
    assert "of Kitchen will come of it." in words


def test_kept_rest_that_pieces_wait_for_is_binned_knowing_them(by, house, room):
    sheet = next(sheet for sheet in cards_for(room).sheets if sheet.rests)
    tick_all(
        by=by,
        room=room,
        ticks=[Ticked("cut", piece.key, piece.room_key) for piece in sheet.pieces],
    )
    rest = sheet.rests[0]
    rest_decide(by=by, room=room, sheet=sheet, place=rest.place, keep=True)
    stored = RoomResult.objects.get(room=room)
    stored.sheets[-1] |= {"source": rest.code, "is_whole": False}
    stored.save()
    (stands,) = rests_of(room, sheet)
    assert stands.waiting
    assert "will come of it" in stands.comes_words
    with pytest.raises(Refused, match="to be cut from this offcut"):
        rest_decide(by=by, room=room, sheet=sheet, place=rest.place, keep=None)
    rest_decide(by=by, room=room, sheet=sheet, place=rest.place, keep=None, knowing=stands.waiting)

    assert not OwnedSheet.objects.exists()
