"""What each tick uses up is stored with a room's result, under the names that marks are kept by."""

import json

import pytest

from remodel.board import queries, rounds
from remodel.board.models import RoomResult
from remodel.bridge import house_value
from remodel.bridge.lengths import FOOT, TakeoffError
from remodel.bridge.piles import piles_in
from remodel.bridge.takes import Tick, read_takes, takes_of_pile, whole_thousandths, write_takes
from remodel.cards.queries import cards_for
from remodel.history.queries import last_group
from remodel.history.services import By, undo
from remodel.house.queries import whole_house
from remodel.house.services import room_change, room_remove
from tests.remodel.factories import demo_house

pytestmark = pytest.mark.django_db

HOUSES = ("hollow-lane", "quay-flat")


@pytest.fixture(params=HOUSES)
def house(request, by):
    return demo_house(by.person, request.param)


@pytest.fixture
def flat(by):
    return demo_house(by.person, "quay-flat")


def by_key(house):
    return {takes.key: takes for takes in queries.takes_of_house(house.pk).values()}


def test_stored_takes_are_those_of_the_stored_result(house):
    stored = by_key(house)
    piles = piles_in(house_value(whole_house(house)))
    for pile in piles:
        result = queries.pile_result_of(house.rooms.get(key=pile.head))
        for takes in takes_of_pile(pile.house, result):
            assert stored[takes.key] == takes
    assert sorted(stored) == sorted(room for pile in piles for room in pile.rooms)


def test_takes_are_read_as_they_were_written(house):
    for takes in by_key(house).values():
        assert takes.takes
        assert read_takes(json.loads(json.dumps(write_takes(takes)))) == takes


def test_takes_of_a_room_are_found_by_the_room(flat):
    stored = queries.takes_of_house(flat.pk)
    assert {room: takes.key for room, takes in stored.items()} == dict(
        flat.rooms.values_list("pk", "key")
    )


def test_takes_of_a_whole_house_are_one_query(flat, django_assert_num_queries):
    with django_assert_num_queries(1):
        assert queries.takes_of_house(flat.pk)


def test_takes_of_a_room_add_up_to_its_needs(house):
    stored = queries.takes_of_house(house.pk)
    for room in house.rooms.all():
        used, needed = {}, {}
        for take in stored[room.pk].takes:
            key = take.phase, take.item, take.unit
            used[key] = used.get(key, 0) + take.amount
        for line in queries.view_of(room).needs:
            key = line.phase, line.item, line.amount.unit
            needed[key] = needed.get(key, 0) + whole_thousandths(line.amount)
        assert used == needed


def test_pieces_and_plans_are_named_as_cards_name_them(house):
    """So that a mark on a card is found for its take, by plan, room and piece."""
    stored = by_key(house)
    for room in house.rooms.all():
        on_cards = {
            (piece.key, sheet.code, sheet.plan, sheet.board, sheet.thickness)
            for sheet in cards_for(room).sheets
            for piece in sheet.pieces
            if piece.room_key == room.key
        }
        own = stored[room.key]
        placed = {(of.key, of.sheet, of.plan, of.board, of.thickness) for of in own.places}
        assert placed == on_cards
        hung = {(take.name, take.plan) for take in own.takes if take.kind is Tick.HUNG}
        assert hung <= {(piece, plan) for piece, _, plan, _, _ in on_cards}
        assert hung or not on_cards


def test_sheets_are_named_as_cards_name_them(house):
    stored = by_key(house)
    for room in house.rooms.all():
        own = stored[room.key]
        on_cards = {
            (sheet.code, sheet.plan, frozenset((of.room_key, of.key) for of in sheet.pieces))
            for sheet in cards_for(room).sheets
            if sheet.room_key == room.key
        }
        assert {
            (sheet.code, sheet.plan, frozenset(sheet.pieces)) for sheet in own.sheets
        } == on_cards
        bought = {(sheet.code, sheet.plan): sheet.item for sheet in own.sheets if not sheet.source}
        cut = {(take.name, take.plan): take.item for take in own.takes if take.kind is Tick.CUT}
        assert cut == bought


def test_takes_follow_an_edit_and_its_undo(by, flat):
    room = flat.rooms.first()
    before = queries.takes_of_house(flat.pk)
    room_change(by=by, room=room, ceiling_height=9 * FOOT)
    after = queries.takes_of_house(flat.pk)
    assert after[room.pk] != before[room.pk]
    # The result from before is read again, and nothing is worked out.
    undo(by=By(by.person), group=last_group(room.pk))
    assert queries.takes_of_house(flat.pk) == before


def test_room_that_cannot_be_worked_out_takes_nothing(by, flat, monkeypatch):
    def refuse(*given, **how):
        raise TakeoffError("Wall A: 3 ft is missing")

    room = flat.rooms.first()
    monkeypatch.setattr(rounds, "work_out_pile", refuse)
    room_change(by=by, room=room, ceiling_height=9 * FOOT)
    assert RoomResult.objects.get(room=room).refusal
    assert room.pk not in queries.takes_of_house(flat.pk)


def test_deleted_room_takes_nothing(by, flat):
    room = flat.rooms.last()
    room_remove(by=by, room=room)
    assert room.pk not in queries.takes_of_house(flat.pk)
