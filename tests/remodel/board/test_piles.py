"""Rooms bought together: one plan for the pile, kept in the house file, undone, never changed under
begun boards."""

import pytest

from remodel.board import figures, plans, queries, rounds, services, worker
from remodel.board.models import Plan, Result, SearchJob
from remodel.bridge import house_value
from remodel.bridge.lengths import FOOT
from remodel.bridge.piles import piles_in
from remodel.history.errors import Refused
from remodel.history.queries import last_group
from remodel.history.services import By, undo
from remodel.house.models import Room
from remodel.house.queries import whole_house
from remodel.house.services import room_remove, room_resize
from remodel.house_files.files import file_of_house, house_from_file
from remodel.jobs.models import Worker, worker_seen
from remodel.jobs.queue import MOST_ATTEMPTS
from remodel.piles import heads_of, pile_end, pile_make, piles_of, saving_of
from remodel.supply.orders import order_make, order_place
from remodel.ticks import tick
from tests.remodel.site import small_house, with_partition

pytestmark = pytest.mark.django_db


@pytest.fixture
def pile(by, pile_house, pile_rooms):
    pile_make(by=by, house=pile_house, rooms=pile_rooms[:2])
    return list(pile_house.rooms.order_by("position"))[:2]


def piles_of_house(house):
    return [pile.rooms for pile in piles_in(house_value(whole_house(house)))]


def total(room):
    return sum(pool.total for pool in queries.pile_result_of(room).pools)


def ordered(by, house, rooms):
    order = order_make(by=by, house=house, phases=["hanging"], rooms=rooms)
    return order_place(by=by, order=order, without_prices=True, unseen_framing=True)


def test_rooms_bought_together_are_worked_out_as_one_and_the_rest_apart(pile_house, pile):
    assert piles_of_house(pile_house) == [("kitchen", "hall"), ("den",)]
    assert queries.pile_result_of(pile[0]) == queries.pile_result_of(pile[1])


def test_pile_costs_no_more_than_its_rooms_did_apart(by, pile_house, pile_rooms):
    apart = sum(total(room) for room in pile_rooms[:2])
    pile_make(by=by, house=pile_house, rooms=pile_rooms[:2])
    assert total(pile_rooms[0]) <= apart


def test_pile_costs_no_more_than_better_plans_that_were_accepted_apart(by, pile_house, pile_rooms):
    while SearchJob.objects.filter(room__in=pile_rooms[:2], state="waiting").exists():
        worker.run_once()
    for offer in Plan.objects.filter(state="proposed"):
        plans.plan_accept(by=by, plan=offer)
    apart = sum(total(room) for room in pile_rooms[:2])
    pile_make(by=by, house=pile_house, rooms=pile_rooms[:2])
    assert total(pile_rooms[0]) <= apart


def test_what_a_pile_saves_is_what_it_then_saves(by, pile_house, pile_rooms):
    saving = saving_of(pile_house, pile_rooms[:2])
    assert saving.apart.value == sum(total(room) for room in pile_rooms[:2])
    assert saving.pile.value <= min(saving.apart.value, saving.thrown.value)
    pile_make(by=by, house=pile_house, rooms=pile_rooms[:2])
    assert total(pile_rooms[0]) == saving.pile.value


def test_closet_goes_with_the_room_it_is_cut_off_from(by, pile_house, pile_rooms):
    with_partition(pile_rooms[0], by.person)
    pile_make(by=by, house=pile_house, rooms=[pile_rooms[0], pile_rooms[2]])
    assert piles_of_house(pile_house) == [("kitchen", "den", "closet"), ("hall",)]


def test_room_alone_is_no_pile(by, pile_house, pile_rooms):
    with pytest.raises(Refused, match="at least two"):
        pile_make(by=by, house=pile_house, rooms=pile_rooms[:1])


def test_room_of_another_house_is_refused(by, pile_house, pile_rooms):
    foreign = small_house(by.person).rooms.get()
    with pytest.raises(Refused, match="of this house"):
        pile_make(by=by, house=pile_house, rooms=[pile_rooms[0], foreign])


def test_same_rooms_again_change_nothing(by, pile_house, pile):
    before = last_group(pile[0].pk)
    pile_make(by=by, house=pile_house, rooms=pile)
    assert last_group(pile[0].pk) == before


def test_room_taken_into_another_pile_leaves_one_that_is_left_alone_apart(
    by, pile_house, pile_rooms, pile
):
    pile_make(by=by, house=pile_house, rooms=[pile[1], pile_rooms[2]])
    assert piles_of_house(pile_house) == [("kitchen",), ("hall", "den")]
    assert pile_house.rooms.get(key="kitchen").pile == ""


def test_pile_is_taken_apart_and_finds_the_results_before(by, pile_house, pile_rooms):
    before = [total(room) for room in pile_rooms]
    pile_make(by=by, house=pile_house, rooms=pile_rooms)
    pile_end(by=by, house=pile_house, key=piles_of(pile_house)[0].key)
    assert piles_of(pile_house) == []
    assert [total(room) for room in pile_rooms] == before


def test_pile_that_is_not_there_cannot_be_taken_apart(by, pile_house):
    with pytest.raises(Refused, match="apart already"):
        pile_end(by=by, house=pile_house, key="")


def test_undo_buys_apart_again_and_undo_of_that_together(by, pile_house, pile_rooms, pile):
    undo(by=By(by.person), group=last_group(pile[0].pk))
    assert piles_of_house(pile_house) == [("kitchen",), ("hall",), ("den",)]
    undo(by=By(by.person), group=last_group(pile[0].pk))
    assert piles_of_house(pile_house) == [("kitchen", "hall"), ("den",)]


def test_plan_accepted_apart_stands_again_once_the_pile_is_undone(by, pile_house, pile_rooms):
    pool = queries.pile_result_of(pile_rooms[0]).pools[0]
    plans.plan_keep(by=by, room=pile_rooms[0], board=pool.board, thickness=pool.thickness)
    pile_make(by=by, house=pile_house, rooms=pile_rooms[:2])
    assert queries.board_of(pile_rooms[0]).summary.plans[0].source == "accepted"
    undo(by=By(by.person), group=last_group(pile_rooms[0].pk))
    assert queries.board_of(pile_rooms[0]).summary.plans[0].source == "accepted"


def test_removed_room_leaves_its_pile_and_comes_back_to_it(by, pile_house, pile_rooms):
    pile_make(by=by, house=pile_house, rooms=pile_rooms)
    room_remove(by=by, room=Room.objects.get(pk=pile_rooms[0].pk))
    assert piles_of_house(pile_house) == [("hall", "den")]
    assert queries.pile_result_of(pile_rooms[1]).views[0].head == "hall"
    undo(by=By(by.person), group=last_group(pile_rooms[0].pk))
    assert piles_of_house(pile_house) == [("kitchen", "hall", "den")]


def test_edit_of_a_room_works_out_its_pile_and_no_other(
    by, pile_house, pile_rooms, pile, monkeypatch
):
    done = []
    real = rounds.work_out_pile

    def worked_out(pile, *given, **how):
        done.append(pile.rooms)
        return real(pile, *given, **how)

    monkeypatch.setattr(rounds, "work_out_pile", worked_out)
    room_resize(by=by, room=Room.objects.get(pk=pile[1].pk), length=11 * FOOT, width=10 * FOOT)
    assert done == [("kitchen", "hall")]


def test_house_file_keeps_the_pile(by, pile_house, pile):
    text = file_of_house(pile_house)
    again = house_from_file(by=By(by.person), text=text.encode())
    assert piles_of_house(again) == piles_of_house(pile_house)
    assert file_of_house(again) == text


def test_pile_of_an_ordered_plan_is_not_changed_and_says_why(by, pile_house, pile_rooms, pile):
    ordered(by, pile_house, [pile[0]])
    with pytest.raises(Refused, match="Boards of Kitchen and Hall are ordered already"):
        pile_end(by=by, house=pile_house, key=pile[0].pile)
    with pytest.raises(Refused, match="Boards of Kitchen and Hall are ordered already"):
        pile_make(by=by, house=pile_house, rooms=[pile[1], pile_rooms[2]])
    with pytest.raises(Refused, match="Hall cannot be taken out of it"):
        room_remove(by=by, room=Room.objects.get(pk=pile[1].pk))


def test_pile_is_not_undone_under_boards_that_are_ordered(by, pile_house, pile):
    ordered(by, pile_house, [pile[0]])
    with pytest.raises(Refused, match="Boards of Kitchen and Hall are ordered already"):
        undo(by=By(by.person), group=last_group(pile[0].pk))
    assert piles_of_house(pile_house) == [("kitchen", "hall"), ("den",)]


def test_room_whose_own_boards_are_ordered_cannot_be_joined(by, pile_house, pile_rooms):
    ordered(by, pile_house, [pile_rooms[0]])
    with pytest.raises(Refused, match="Boards of Kitchen are ordered already"):
        pile_make(by=by, house=pile_house, rooms=pile_rooms[:2])


def test_first_piece_marked_as_cut_holds_the_pile(by, pile_house, pile):
    from remodel.cards.queries import cards_for

    sheet = cards_for(pile[0]).sheets[0]
    piece = sheet.pieces[0]
    tick(
        by=by,
        room=pile_house.rooms.get(key=piece.room_key),
        kind="cut",
        item=piece.key,
    )
    with pytest.raises(Refused, match="are cut already"):
        pile_end(by=by, house=pile_house, key=pile[0].pile)


def test_order_of_one_room_makes_the_plan_of_the_pile_stand_once(by, pile_house, pile):
    ordered(by, pile_house, [pile[1]])
    ordered(by, pile_house, [pile[0]])
    (plan,) = Plan.objects.filter(state="ordered")
    assert plan.room.key == "kitchen"


def test_plan_cut_piece_by_piece_in_the_second_room_follows_in_the_pile(by, pile_house, pile):
    from remodel.cards.queries import cards_for

    for sheet in cards_for(pile[1]).sheets:
        for piece in sheet.pieces:
            room = pile_house.rooms.get(key=piece.room_key)
            tick(by=by, room=room, kind="cut", item=piece.key)
    (plan,) = Plan.objects.filter(state="cut")
    assert plan.room.key == "kitchen"


def test_search_looks_at_the_pool_of_the_pile(pile_house, pile):
    job = SearchJob.objects.get(room=pile[0], state="waiting")
    search = worker._search_of(job)
    assert search.pile.rooms == ("kitchen", "hall")
    assert not SearchJob.objects.filter(room=pile[1], state="waiting").exists()


def test_rooms_are_listed_in_the_order_they_are_hung_without_those_behind_partitions(
    by, pile_house, pile_rooms
):
    with_partition(pile_rooms[0], by.person)
    assert [room.key for room in heads_of(pile_house)] == ["kitchen", "hall", "den"]


@pytest.fixture
def large(by):
    """A pile of five rooms, with a worker here."""
    house = small_house(by.person, "Attic", "Bath", "Cellar", "Den", "Entry")
    pile_make(by=by, house=house, rooms=list(house.rooms.all()))
    worker_seen("worker")
    return house


def resized(by, house, key="bath", feet=11):
    room = house.rooms.get(key=key)
    room_resize(by=by, room=room, length=feet * FOOT, width=10 * FOOT)
    return room


def test_edit_of_a_large_pile_shows_each_room_by_itself_until_the_worker_has_seen_to_the_pile(
    by, large
):
    room = resized(by, large)
    assert queries.board_of(room).pile_waits
    alone = total(room)
    assert not SearchJob.objects.filter(room__house=large, state="waiting").exists()
    assert figures.run_once()
    assert not queries.board_of(room).pile_waits
    assert total(room) <= alone
    assert not figures.run_once()


def test_large_pile_is_worked_out_the_same_in_two_steps_as_in_one(by, large):
    room = resized(by, large)
    figures.run_once()
    later = queries.pile_result_of(room)
    Result.objects.all().delete()
    services.recompute(large, whole=True)
    assert queries.pile_result_of(room) == later


def test_what_the_last_change_did_is_told_from_before_it_not_from_the_step_between(by, large):
    before = queries.summaries_of(large)["bath"]
    room = resized(by, large)
    figures.run_once()
    board = queries.board_of(room)
    assert board.changes.cost == board.summary.cost - before.cost


def test_undo_of_an_edit_of_a_large_pile_finds_its_result_at_once(by, large):
    before = total(large.rooms.get(key="bath"))
    room = resized(by, large)
    figures.run_once()
    undo(by=By(by.person), group=last_group(room.walls.get(key="A").pk))
    assert not queries.board_of(room).pile_waits
    assert total(room) == before


def test_large_pile_is_worked_out_whole_where_no_worker_is(by, large):
    Worker.objects.all().delete()
    assert not queries.board_of(resized(by, large)).pile_waits


def test_order_of_a_large_pile_waits_for_what_it_shares(by, large):
    room = resized(by, large)
    order_make(by=by, house=large, phases=["hanging"], rooms=[room])
    assert not queries.board_of(room).pile_waits


def test_pile_that_is_edited_again_and_again_is_worked_out_each_time(by, pile, monkeypatch):
    monkeypatch.setattr(services, "PILE_AT_ONCE", 1)
    for more in range(MOST_ATTEMPTS + 2):
        worker_seen("worker")  # on a slow machine a round may outlast what a worker may be silent
        room_resize(
            by=by, room=Room.objects.get(pk=pile[0].pk), length=(13 + more) * FOOT, width=10 * FOOT
        )
        assert services.piles_wait()
        assert figures.run_once()
        assert not services.piles_wait()
