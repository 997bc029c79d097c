"""A better plan takes its place by itself or is compared; the earlier one can be used again."""

from __future__ import annotations

import pytest
from django.urls import reverse

from remodel.board import services
from remodel.board.models import Mark, Plan, SearchJob
from remodel.board.plans import plan_accept, plan_keep, plan_leave, plans_keep
from remodel.board.queries import board_of, pile_result_of, retired_cards
from remodel.bridge.lengths import FOOT, INCH
from remodel.bridge.placed import marks_in, with_new_marks
from remodel.bridge.plans import plan_from
from remodel.history.errors import Refused
from remodel.house.services import room_resize
from remodel.pages.board.compare import compared
from remodel.supply.models import SheetOnSale
from remodel.supply.services import sheet_change
from remodel.ticks import tick
from remodel.web.templatetags.halfbay import money
from tests.remodel.board.test_placed import boards_of, keys_of
from tests.remodel.board.two_plans import accept_dear, dear_plan, offer_of
from tests.remodel.factories import ada, ben
from tests.remodel.site import browser, share

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]


def page(person, name, *args):
    return " ".join(browser(person).get(reverse(name, args=args)).content.decode().split())


def places(room):
    """Where the boards of each surface lie, whatever they are marked with."""
    lies = {}
    for surface, outline in boards_of(room).values():
        lies.setdefault(surface, set()).add(outline)
    return lies


def test_better_plan_takes_its_place_by_itself_and_says_what_it_saves(room):
    usual = pile_result_of(room).pools[0]
    dear = offer_of(room, dear_plan(room))
    services.bring_up_to_date(room.house_id, {room.pk})
    assert pile_result_of(room).pools[0].source == "better"
    found = offer_of(room, usual.plan)
    Plan.objects.filter(pk=found.pk).update(better_than=dear.total)
    services.bring_up_to_date(room.house_id, {room.pk})
    words = page(ada(), "room-boards", room.pk)

    assert "A better plan took its place: it saves 12.9 hours but costs $15.73 more." in words
    assert "The earlier plan took $194.70 and 22.6 hours." in words
    assert "Compare both plans" not in words


def test_better_plan_for_one_that_stands_is_asked_for_beside_it(room, by):
    dear, offer = accept_dear(by, room)
    words = page(ada(), "room-boards", room.pk)
    assert "A better plan was found." in words
    assert "It saves 12.9 hours but costs $15.73 more." in words
    words = page(ada(), "plan-compare", offer.pk)

    assert "The new plan saves 12.9 hours but costs $15.73 more." in words
    for number in ("11", "15", "4 fewer"):
        assert f">{number}<" in words.replace("> ", ">").replace(" <", "<")
    assert "Current plan: Wall A" in words
    assert "New plan: Wall A" in words
    assert "Take the new plan" in words
    assert "Keep the current plan" in words
    assert Plan.objects.get(state="accepted") == dear


def test_taken_plan_has_marks_of_its_own_and_the_earlier_one_can_be_used_again(room, by):
    dear, offer = accept_dear(by, room)
    before = boards_of(room)
    client = browser(ada())
    client.post(reverse("plan-take", args=[offer.pk]), {"room": room.pk})
    assert Plan.objects.get(state="accepted") == offer
    assert not set(before) & set(boards_of(room))
    assert len(retired_cards(room)) == 15
    words = page(ada(), "room-boards", room.pk)
    assert "The earlier plan is kept: it saves $15.73 but takes 12.9 hours more." in words
    assert "Use the earlier plan again" in page(ada(), "plan-compare", dear.pk)
    answer = client.post(reverse("plan-take", args=[dear.pk]), {"room": room.pk}, follow=True)

    assert "The earlier plan is used again." in answer.content.decode()
    assert boards_of(room) == before
    assert not Mark.objects.filter(plan=dear).exclude(retired_at=None).exists()


def test_plan_turned_down_is_asked_for_no_more_and_can_still_be_taken(room, by):
    dear, offer = accept_dear(by, room)
    client = browser(ada())
    client.post(reverse("plan-leave", args=[offer.pk]), {"room": room.pk})
    words = page(ada(), "room-boards", room.pk)

    assert "A better plan was found." not in words
    assert "You kept this plan over another, which saves 12.9 hours but costs $15.73 more." in words
    assert Plan.objects.get(state="accepted") == dear
    client.post(reverse("plan-take", args=[offer.pk]), {"room": room.pk})
    assert Plan.objects.get(state="accepted") == offer


def test_offer_that_saves_nothing_or_is_of_another_room_is_not_shown(room, by):
    result = pile_result_of(room).pools[0]
    kept = plan_keep(by=by, room=room, board=result.board, thickness=result.thickness)
    offer = offer_of(room, dear_plan(room))
    assert board_of(room).offers == ()
    plan_accept(by=by, plan=offer)
    offer = offer_of(room, plan_from(kept.data))
    assert board_of(room).offers == (offer,)
    Plan.objects.filter(pk=offer.pk).update(pool="of another day")

    assert board_of(room).offers == ()
    assert "does not fit any more" in page(ada(), "plan-compare", offer.pk)
    with pytest.raises(Refused, match="changed since"):
        plan_accept(by=by, plan=offer)


def test_nothing_takes_the_place_of_a_plan_that_is_cut(room, by):
    dear, offer = accept_dear(by, room)
    tick(by=by, room=room, kind="cut", item=keys_of(room)[0])

    assert board_of(room).offers == ()
    assert not SearchJob.objects.filter(room=room, state__in=("waiting", "running")).exists()
    assert "Boards of the current plan are cut already" in page(ada(), "plan-compare", offer.pk)
    with pytest.raises(Refused, match="cut already"):
        plan_accept(by=by, plan=offer)
    with pytest.raises(Refused, match="cut already"):
        plan_leave(by=by, plan=Plan.objects.get(pk=dear.pk))
    assert "Search for a better plan again" not in page(ada(), "room-boards", room.pk)


def test_plan_that_was_dropped_meanwhile_says_so_on_the_room(room, by):
    _, offer = accept_dear(by, room)
    gone = offer.pk
    offer.delete()
    for name in ("plan-take", "plan-leave"):
        answer = browser(ada()).post(reverse(name, args=[gone]), {"room": room.pk}, follow=True)
        assert "This plan is not offered any more" in answer.content.decode()


def test_plan_given_up_is_used_until_a_search_finds_a_better_one(room, by):
    dear, offer = accept_dear(by, room)
    offer.delete()
    SearchJob.objects.filter(room=room).update(state="done")
    before = boards_of(room)
    browser(ada()).post(reverse("plan-leave", args=[dear.pk]), {"room": room.pk})
    dear.refresh_from_db()

    assert (dear.state, boards_of(room)) == ("proposed", before)
    assert pile_result_of(room).pools[0].source == "better"
    assert SearchJob.objects.filter(room=room, state="waiting").exists()
    assert retired_cards(room) == []  # its cards are still those to cut by
    plans_keep(by=by, room=room, why=Plan.Why.PRINTED)
    assert Plan.objects.get(state="accepted") == dear
    assert "Printing accepted this plan." in page(ada(), "room-boards", room.pk)


def test_earlier_plan_of_a_room_measured_anew_is_tried_and_refused(room, by):
    dear, offer = accept_dear(by, room)
    plan_accept(by=by, plan=offer)
    room_resize(by=by, room=room, length=12 * FOOT + 2 * INCH, width=10 * FOOT)
    plans = list(Plan.objects.order_by("pk").values("pk", "state", "note"))
    words = page(ada(), "plan-compare", dear.pk)

    assert "It cannot be taken" in words
    assert "Use the earlier plan again" not in words
    assert list(Plan.objects.order_by("pk").values("pk", "state", "note")) == plans


def test_earlier_plan_costs_what_its_sheets_cost_now(room, by):
    dear, offer = accept_dear(by, room)
    plan_accept(by=by, plan=offer)
    sheet = min(
        SheetOnSale.objects.filter(house=room.house_id, board=dear.board, thickness=dear.thickness),
        key=lambda one: one.length,
    )
    count = sum(one["source"] is None for one in dear.data["sheets"])
    sheet_change(by=by, sheet=sheet, price=2111)
    dear.refresh_from_db()
    prices = next(row for row in compared(dear).table.rows if row[0] == "Price of the sheets")
    assert prices[2] == money(2111 * count, "USD")

    plan_accept(by=by, plan=dear)
    stands = pile_result_of(room).pools[0].plan
    assert {one.price for one in stands.sheets if one.source is None} == {2111}
    assert stands.sheet_cost == 2111 * count
    assert dear.total == str(stands.total)


def test_what_an_edit_changed_stays_on_the_page_until_somebody_read_it(room, by):
    tick(by=by, room=room, kind="hung", item=keys_of(room)[0])
    room_resize(by=by, room=room, length=12 * FOOT + 2 * INCH, width=10 * FOOT)
    stands = Plan.objects.get(state="accepted")
    words = page(ada(), "room-boards", room.pk)
    assert stands.note.split(".")[0] in words
    assert "Cards to throw away" in words
    assert "the edit behind it" in words
    assert "Marking a board as cut accepted this plan." in words
    share(room.house, ben(), "viewer")
    assert "OK, got it" not in page(ben(), "room-boards", room.pk)
    for _ in range(2):
        browser(ada()).post(reverse("plan-note-read", args=[stands.pk]), {"room": room.pk})

    assert stands.note.split(".")[0] not in page(ada(), "room-boards", room.pk)


def test_new_marks_leave_everything_else_as_it_is(room):
    plan = pile_result_of(room).pools[0].plan
    old = {text for _, text in marks_in(plan)}
    other = with_new_marks(plan, old)
    new = [text for _, text in marks_in(other)]

    assert not old & set(new)
    assert len(set(new)) == len(old)
    assert with_new_marks(other, set()) is other
    assert [sheet.price for sheet in other.sheets] == [sheet.price for sheet in plan.sheets]
    offcuts = [(sheet.code, offcut.id) for sheet in other.sheets for offcut in sheet.offcuts]
    assert offcuts
    assert all(id_.startswith(f"{code}.") for code, id_ in offcuts)
