"""Lists of sheets, which are stored with a house's results and say what the full cards say."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from django.core.cache import cache
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from remodel.board.models import RoomResult
from remodel.bridge import cards as cards_bridge
from remodel.cards.queries import cards_for, list_of_cards, pile_lists, ticked_pieces
from remodel.cards.services import marking_set
from remodel.house.models import Room
from remodel.pages.cards.shown import house_lists, sheet_lines
from remodel.piles import heads_of, pile_make
from takeoff.cards.card import source_words
from takeoff.cards.cuts import cut_count
from takeoff.cards.frames import SideUp
from takeoff.units import UnitSystem
from tests.remodel.factories import ada, demo_house
from tests.remodel.site import browser, small_house

pytestmark = pytest.mark.django_db


def rooms_of(house):
    return list(Room.objects.filter(house=house).select_related("house", "behind"))


def from_full_cards(rooms):
    return {room.key: list_of_cards(cards) for room in rooms if (cards := cards_for(room))}


@pytest.mark.parametrize(
    ("name", "kinds"),
    [
        ("hollow-lane", ("Crosscut", "Rip", "Trim", "Last, cut the slope")),
        ("quay-flat", ("Crosscut", "Rip")),
    ],
)
def test_stored_lists_of_a_demo_house_say_what_its_cards_say(name, kinds):
    house = demo_house(ada(), name)
    rooms = rooms_of(house)
    stored = pile_lists(house, rooms)
    assert stored
    assert stored == from_full_cards(rooms)
    cuts = [cut for room in rooms for sheet in cards_for(room).sheets for cut in sheet.cuts]
    for kind in kinds:  # each is counted in a way of its own
        assert any(cut.startswith(kind) for cut in cuts), kind
    _check_lines(house, rooms)


def _check_lines(house, rooms):
    """The lines of the house's page are those of its rooms' pages, each sheet once."""
    marks = ticked_pieces(house.pk, "cut")
    seen = []
    for room_list in house_lists(house, rooms, marks):
        cards = cards_for(room_list.room)
        own = sheet_lines(room_list.room, list_of_cards(cards), marks)
        shown = {sheet.key: sheet for sheet in cards.sheets}
        for line in room_list.lines:
            assert line in own
            assert line.from_ == shown[line.sheet.key].from_
            seen.append((cards.head, line.sheet.key))
    assert sorted(seen) == sorted(
        {(cards_for(room).head, sheet.key) for room in rooms for sheet in cards_for(room).sheets}
    )


def test_lists_of_a_pile_and_of_sheets_laid_back_up_say_what_the_cards_say(by):
    house = small_house(by.person, "Kitchen", "Hall", "Den")
    pile_make(by=by, house=house, rooms=heads_of(house)[:2])
    marking_set(by=by, house=house, room=house.rooms.get(key="den"), side_up=cards_bridge.BACK_UP)
    rooms = rooms_of(house)
    lists = pile_lists(house, rooms)
    assert lists == from_full_cards(rooms)
    assert [lists[key].up for key in ("kitchen", "hall", "den")] == [
        cards_bridge.FACE_UP,
        cards_bridge.FACE_UP,
        cards_bridge.BACK_UP,
    ]
    assert {sheet.key for sheet in lists["hall"].sheets} == {
        sheet.key for sheet in lists["kitchen"].sheets
    }


def test_offcut_with_one_edge_of_its_own_says_on_which_side_it_lies():
    assert source_words(None, 2, SideUp.FACE) == "a new sheet"
    assert source_words("K7.1", 2, SideUp.FACE) == "from offcut K7.1, both long edges its own"
    assert source_words("offcut-3", 2, SideUp.FACE) == "from offcut 3, both long edges its own"
    assert source_words("K7.1", 1, SideUp.FACE).endswith("near you")
    assert source_words("K7.1", 1, SideUp.BACK).endswith("away from you")


def test_whole_sheet_that_is_here_is_no_offcut():
    assert source_words("sheet-regular-0.5x48x96in", 2, SideUp.FACE, whole=True) == (
        "a whole sheet that is here"
    )


def test_page_of_all_sheets_makes_no_card(by, monkeypatch):
    house = small_house(by.person, "Kitchen", "Hall")
    cache.clear()

    def no_cards(*_):
        raise AssertionError("a card was made")

    monkeypatch.setattr(cards_bridge, "cards_of_pile", no_cards)
    page = browser(by.person).get(reverse("house-cards", args=[house.pk])).content.decode()
    assert page.count('class="task-link"') == sum(
        len(pile.sheets) for pile in pile_lists(house, rooms_of(house)).values()
    )


def test_cuts_of_a_corner_and_of_a_slope_are_counted_once_each():
    piece = SimpleNamespace(piece="A-01", start=0, end=40, width=48)
    sheet = SimpleNamespace(length=96, crosscuts=(piece,), rip_at=None, strips=())
    corner = SimpleNamespace(outline=((0, 0), (40, 0), (40, 20), (30, 20), (30, 30), (0, 30)))
    slope = SimpleNamespace(outline=((0, 0), (40, 0), (40, 10), (20, 30), (0, 30)))
    assert cut_count(sheet, [], UnitSystem.INCH) == 1
    assert cut_count(sheet, [corner], UnitSystem.INCH) == 2
    assert cut_count(sheet, [corner, slope], UnitSystem.INCH) == 3


def test_page_of_all_sheets_takes_as_many_queries_for_six_rooms_as_for_two(by):
    names = ("Attic", "Bath", "Cellar", "Den", "Entry", "Foyer")
    client, counts = browser(by.person), []
    client.get(reverse("house-list"))  # the session of a browser is read anew the first time
    for house in (small_house(by.person, *names[:2]), small_house(by.person, *names)):
        cache.clear()
        with CaptureQueriesContext(connection) as queries:
            client.get(reverse("house-cards", args=[house.pk]))
        counts.append(len(queries))
    assert counts[0] == counts[1]


def test_room_that_an_older_version_worked_out_is_listed_from_its_cards(by):
    house = small_house(by.person, "Kitchen", "Hall")
    rooms = rooms_of(house)
    before = pile_lists(house, rooms)
    RoomResult.objects.filter(room__key="hall").update(sheets=None)
    assert pile_lists(house, rooms) == before


def test_list_of_an_older_shape_is_not_read(by):
    house = small_house(by.person, "Kitchen")
    rooms = rooms_of(house)
    before = pile_lists(house, rooms)
    RoomResult.objects.update(sheets=[{"code": "S-01"}])
    assert pile_lists(house, rooms) == before
