"""Where pieces hang, and which sheets are cut in a room."""

from __future__ import annotations

from dataclasses import replace

import pytest

from takeoff.boards.plan import BoardPlan
from takeoff.catalogue import OwnedSheet
from takeoff.house import Ceiling, House, QuickRoom, Room
from takeoff.job import Takeoff, take_off
from takeoff.places import places_of, sheets_of
from takeoff.rules import Rules
from takeoff.units import FOOT, INCH, MM, Nm
from tests.takeoff.houses import default_catalogue

OWNED = OwnedSheet(
    id="left-over",
    board="regular",
    thickness=Nm(INCH // 2),
    width=Nm(48 * INCH),
    length=Nm(8 * FOOT),
    count=1,
)


def room(key: str, length: int, width: int) -> Room:
    return Room(
        id=key,
        name=key,
        shape=QuickRoom(length=Nm(length * INCH), width=Nm(width * INCH)),
        ceiling=Ceiling(height=Nm(8 * FOOT)),
        pile="together",
    )


@pytest.fixture(scope="module")
def pile() -> Takeoff:
    """Two rooms bought together, with one sheet at hand."""
    return take_off(
        House(
            id="house",
            name="House",
            rooms=(room("den", 126, 102), room("hall", 60, 42)),
            rules=Rules(owned=(OWNED,)),
            catalogue=default_catalogue(),
        )
    )


def names(done: Takeoff) -> list[str]:
    return [f"plan {index}" for index, _ in enumerate(done.plans)]


def all_places(done: Takeoff):
    return {
        geometry.room: places_of(done.plans, names(done), geometry.room) for geometry in done.rooms
    }


def all_sheets(done: Takeoff):
    return {
        geometry.room: sheets_of(done.plans, names(done), geometry.room) for geometry in done.rooms
    }


def pieces_of(plans: tuple[BoardPlan, ...]):
    return [piece for plan in plans for surface in plan.surfaces for piece in surface.pieces]


def test_every_piece_of_the_demo_houses_has_its_place_and_sheet(takeoff):
    places = all_places(takeoff)
    assert sum(map(len, places.values())) == len(pieces_of(takeoff.plans))
    on_sheets = {
        (room, key, sheet.plan): sheet.code
        for sheets in all_sheets(takeoff).values()
        for sheet in sheets
        for room, key in sheet.pieces
    }
    of_pieces = {
        (room, place.key, place.plan): place.sheet for room in places for place in places[room]
    }
    assert on_sheets == of_pieces


def test_box_and_area_are_those_of_the_outline(takeoff):
    """A board under a slope does not fill its box; a rectangle does."""
    by_mark = {piece.code: piece for piece in pieces_of(takeoff.plans)}
    for places in all_places(takeoff).values():
        for place in places:
            left, low, right, high = place.box
            outline = by_mark[place.key.rpartition(".")[2]].outline
            assert (left, right) == (min(u for u, _ in outline), max(u for u, _ in outline))
            assert (low, high) == (min(v for _, v in outline), max(v for _, v in outline))
            box = round((right - left) * (high - low) / MM**2)
            corners = {(left, low), (right, low), (right, high), (left, high)}
            assert place.area == box if set(outline) == corners else place.area < box


def test_sheets_of_the_pile_are_each_cut_in_one_room(pile):
    sheets = all_sheets(pile)
    assert sorted(sheet.code for of in sheets.values() for sheet in of) == sorted(
        sheet.code for plan in pile.plans for sheet in plan.sheets
    )
    assert all(sheet.room == room for room in sheets for sheet in sheets[room])


def test_sheet_cut_in_one_room_gives_a_piece_to_the_other(pile):
    rooms = {
        (sheet.room, room)
        for sheets in all_sheets(pile).values()
        for sheet in sheets
        for room, _ in sheet.pieces
    }
    assert ("den", "hall") in rooms


def test_sheet_at_hand_is_told_from_those_bought(pile):
    sheets = [sheet for of in all_sheets(pile).values() for sheet in of]
    (owned,) = (sheet for sheet in sheets if sheet.source == OWNED.id)
    assert owned.item == "sheet-regular-0.5x48x96in"
    assert [sheet for sheet in sheets if sheet.source is None]


def test_piece_that_no_sheet_holds_has_none(pile):
    plans = [replace(plan, sheets=()) for plan in pile.plans]
    places = places_of(plans, names(pile), "den")
    assert places
    assert {place.sheet for place in places} == {""}
