"""What is amiss of sheets is said on the page of the room they are cut in, and on their cards."""

from __future__ import annotations

import re
from dataclasses import replace
from html import unescape

import pytest
from django.urls import reverse

from remodel.board.plans import surface_plan_anew
from remodel.board.queries import board_of, pile_result_of, takes_of_pile
from remodel.bridge.amiss import amiss_of_sheet
from remodel.bridge.lengths import FOOT, INCH
from remodel.bridge.views import SheetAmiss
from remodel.cards.queries import cards_for
from remodel.differently import other_sheet
from remodel.house.services import house_set_rules, room_change
from remodel.piles import pile_make
from remodel.supply.models import SheetOnSale
from remodel.supply.services import owned_sheet_add, sheet_change
from remodel.ticks import tick
from tests.remodel.factories import ada
from tests.remodel.site import browser, small_house

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]


def keys_of(room, wall):
    places = takes_of_pile(room)[room.pk].places
    return [place.key for place in places if place.key.startswith(f"{wall}.")]


def sheets_of(room):
    """The marks on each sheet of the room's pile, by its code."""
    sheets = cards_for(room).sheets
    return {sheet.code: [piece.code for piece in sheet.pieces] for sheet in sheets}


def sheet_with(room, key):
    mark = key.rpartition(".")[2]
    return next(code for code, marks in sheets_of(room).items() if mark in marks)


def said(url, end):
    """What a page says under "Good to know", above the element that begins with `end`."""
    page = browser(ada()).get(url).content.decode()
    found = page.partition("Good to know</p>")[2].partition(end)[0]
    found = re.sub(r'<span class="whole">([^<]+)</span>', r"\1", found)  # a mark on one line
    return unescape(" ".join(re.sub("<[^>]+>", " ", found).split()))


def on_room(room):
    return said(reverse("room-detail", args=[room.pk]), '<div class="columns room-top">')


def on_card(room, code):
    key = next(sheet.key for sheet in cards_for(room).sheets if sheet.code == code)
    return said(reverse("room-card", args=[room.pk, key]), '<p class="side-up">')


LIMITS = {
    "long": ({"longest_board": 9 * FOOT}, "longer than the longest board that gets into the room"),
    "heavy": ({"heaviest_lift": 60}, "heavier than the heaviest sheet you lift here"),
}


@pytest.mark.parametrize(("limit", "text"), LIMITS.values(), ids=LIMITS)
def test_sheets_against_a_limit_of_the_room_are_named_until_others_are_planned(
    room, by, limit, text
):
    cut = keys_of(room, "A")[0]
    tick(by=by, room=room, kind="cut", item=cut)
    begun, waits = sheet_with(room, cut), sheet_with(room, keys_of(room, "B")[0])
    assert on_room(room) == ""
    room_change(by=by, room=room, **limit)
    page = on_room(room)
    assert f"are {text}." in page
    assert waits in page.partition(" are ")[0].replace(",", "").split()
    assert begun not in page.partition(" are ")[0].replace(",", "").split()
    assert on_card(room, waits).startswith(f"Sheet {waits} is {text}.")
    assert on_card(room, begun) == ""  # it is in the room
    assert "Plan Wall B anew" in page
    surface_plan_anew(by=by, room=room, surface=f"{room.key}/B")
    assert "Plan Wall B anew" not in on_room(room)
    assert text not in on_card(room, sheet_with(room, keys_of(room, "B")[0]))


def test_piece_cut_from_an_offcut_without_the_edge_it_was_to_have_is_named(room, by):
    owned_sheet_add(
        by=by,
        house=room.house,
        board="regular",
        thickness=INCH // 2,
        width=4 * FOOT,
        length=12 * FOOT,
        count=1,
        factory_edges=0,
    )
    key = keys_of(room, "A")[0]
    tick(by=by, room=room, kind="cut", item=key)
    other_sheet(by=by, room=room, key=key, source="offcut:offcut-1")
    mark, code = key.rpartition(".")[2], sheet_with(room, key)
    text = f"{mark}, cut from sheet {code}, has a cut edge where a factory edge was planned."
    assert text in on_room(room)
    assert text in on_card(room, code)


def test_begun_sheet_with_pieces_for_another_room_is_named_until_they_are_cut(db, by):
    house = small_house(ada(), "Kitchen", "Hall")
    kitchen, hall = house.rooms.order_by("position")
    pile_make(by=by, house=house, rooms=[kitchen, hall])
    takes = takes_of_pile(kitchen)
    key_of = {
        place.key.rpartition(".")[2]: (room, place.key)
        for room in (kitchen, hall)
        for place in takes[room.pk].places
    }
    code, marks = next(
        (code, marks)
        for code, marks in sheets_of(kitchen).items()
        if {key_of[mark][0] for mark in marks} == {kitchen, hall}
    )
    first, *others = marks
    tick(by=by, room=key_of[first][0], kind="cut", item=key_of[first][1])
    house_set_rules(by=by, house=house, keep_offcuts=False)
    text = f"Sheet {code} is planned with offcuts, which are no longer kept."
    kitchen.refresh_from_db()
    assert text in on_room(kitchen)
    assert text in on_card(kitchen, code)
    for mark in others:
        room, key = key_of[mark]
        tick(by=by, room=room, kind="cut", item=key)
    assert text not in on_room(kitchen)
    assert text not in on_card(kitchen, code)


@pytest.mark.parametrize(
    ("rule", "texts"),
    [
        ("kerf", ["What is still planned on sheet K1 may not fit it."]),
        ("sheet_layout", ["What is still planned on sheet K1 may not fit it."]),
        ("rooms", []),
        ("on_sale", []),
    ],
)
def test_rest_of_a_sheet_that_may_not_do_is_to_be_measured(room, rule, texts):
    result = pile_result_of(room)
    found = SheetAmiss(sheet="K1", rule=rule, message="K1 is not by the rules")
    result = replace(result, views=(replace(result.views[0], amiss_sheets=(found,)),))
    said = amiss_of_sheet(result, "K1", ())
    assert [text.partition(" Measure")[0] for text in said] == texts
    assert amiss_of_sheet(result, "K1", sheets_of(room)["K1"]) == ()


def test_price_of_a_sheet_that_is_planned_is_not_amiss(room, by):
    tick(by=by, room=room, kind="cut", item=keys_of(room, "A")[0])
    for row in SheetOnSale.objects.filter(house=room.house):
        sheet_change(by=by, sheet=row, price=row.price + 100)
    assert board_of(room).view.amiss_sheets
    assert on_room(room) == ""
