"""Results are worked out on write, stored under digests, and only where something changed."""

import threading
from datetime import timedelta
from fractions import Fraction

import pytest
from django.utils import timezone

from remodel.board import plans, queries, queue, rounds, services, worker
from remodel.board.models import Plan, Result, RoomResult, SearchJob
from remodel.board.queue import SEARCHES
from remodel.bridge.lengths import FOOT, INCH
from remodel.history.errors import Refused
from remodel.history.queries import last_group
from remodel.history.services import By, undo
from remodel.house.models import Room
from remodel.house.services import room_change, room_resize, rooms_reorder
from remodel.house_files.new import house_add
from remodel.jobs.models import Worker, worker_seen
from remodel.supply.services import owned_sheet_add, sheet_change
from remodel.work.services import note_add
from tests.remodel.factories import demo_house, room_add_line

pytestmark = pytest.mark.django_db


@pytest.fixture
def house(by):
    return house_add(by=by, name="Our house")


@pytest.fixture
def rooms(by, house):
    lines = {"Kitchen": "12' 6\" x 10' 2\" x 8'", "Hall": "9' x 4' x 8'"}
    return [room_add_line(by=by, house=house, name=name, line=line) for name, line in lines.items()]


def worked_out(monkeypatch):
    """The heads of the piles that are worked out from now on."""
    heads = []
    real = rounds.work_out_pile

    def worked_out(pile, *given, **how):
        heads.append(pile.head)
        return real(pile, *given, **how)

    monkeypatch.setattr(rounds, "work_out_pile", worked_out)
    return heads


def first_pool(room):
    return queries.pile_result_of(room).pools[0]


def test_demo_house_is_worked_out_room_by_room_when_it_is_brought_in(by):
    house = demo_house(by.person, "quay-flat")
    summaries = queries.summaries_of(house)
    assert list(summaries) == list(house.rooms.values_list("key", flat=True))
    assert all(summary.cost > 0 for summary in summaries.values())


def test_edit_of_one_room_works_out_that_room_alone(by, rooms, monkeypatch):
    done = worked_out(monkeypatch)
    room_resize(by=by, room=rooms[1], length=10 * FOOT, width=4 * FOOT)
    assert done == ["hall"]


def test_note_and_new_name_of_the_house_work_out_nothing(by, house, rooms, monkeypatch):
    done = worked_out(monkeypatch)
    note_add(by=by, house=house, text="Call the electrician")
    assert done == []


def test_undo_finds_the_result_before_and_works_out_nothing(by, rooms, monkeypatch):
    room_change(by=by, room=rooms[0], ceiling_height=9 * FOOT)
    done = worked_out(monkeypatch)
    undo(by=By(by.person), group=last_group(rooms[0].pk))
    assert done == []


def test_dropped_results_are_worked_out_again_to_the_same(by, house, rooms):
    before = queries.summaries_of(house)
    Result.objects.all().delete()
    assert queries.view_of(rooms[0]) is None
    services.recompute(house)
    assert queries.summaries_of(house) == before
    assert queries.view_of(rooms[0]) is not None


def test_price_changes_every_room(by, house, rooms, monkeypatch):
    done = worked_out(monkeypatch)
    sheet_change(
        by=by,
        sheet=house.sheets.get(
            board="regular", length=8 * FOOT, width=4 * FOOT, thickness=INCH // 2
        ),
        price=1,
    )
    assert done == ["kitchen", "hall"]


def test_changes_say_what_an_edit_did(by, rooms):
    room_change(by=by, room=rooms[0], ceiling_height=9 * FOOT)
    changes = queries.board_of(rooms[0]).changes
    assert changes.cost > 0
    assert {"hanging", "taping"} <= {amount.phase for amount in changes.amounts}


def test_owned_sheets_go_to_the_first_room_and_the_next_gets_what_is_left(by, house, rooms):
    owned_sheet_add(
        by=by,
        house=house,
        board="regular",
        thickness=INCH // 2,
        width=4 * FOOT,
        length=12 * FOOT,
        count=2,
    )
    used = [queries.pile_result_of(room).used for room in rooms]
    key = house.owned_sheets.get().key
    assert sum(dict(used_sheets).get(key, 0) for used_sheets in used) <= 2
    assert dict(used[0]).get(key) == 2
    rooms_reorder(by=by, house=house, rooms=rooms[::-1])
    assert dict(queries.pile_result_of(rooms[1]).used).get(key, 0) > 0


def test_results_do_not_pile_up(by, rooms):
    for height in (9, 10, 8, 9, 10):
        room_change(by=by, room=rooms[0], ceiling_height=height * FOOT)
    assert Result.objects.count() <= 2 * Room.objects.count()


def test_list_page_of_summaries_asks_once_however_many_rooms(
    by, house, rooms, django_assert_num_queries
):
    with django_assert_num_queries(1):
        queries.summaries_of(house)
    room_add_line(by=by, house=house, name="Den", line="9' x 9' x 8'")
    with django_assert_num_queries(1):
        assert len(queries.summaries_of(house)) == 3


def test_kept_plan_stands_through_a_change_of_price(by, house, rooms):
    pool = first_pool(rooms[0])
    plans.plan_keep(by=by, room=rooms[0], board=pool.board, thickness=pool.thickness)
    sheet = house.sheets.get(board="regular", length=8 * FOOT, width=4 * FOOT, thickness=INCH // 2)
    sheet_change(by=by, sheet=sheet, price=1)
    plan = queries.pile_result_of(rooms[0]).pools[0]
    assert (plan.source, plan.plan) == ("accepted", pool.plan)


def test_kept_plan_falls_when_the_room_changes_and_stands_again_after_undo(by, rooms):
    pool = first_pool(rooms[0])
    kept = plans.plan_keep(by=by, room=rooms[0], board=pool.board, thickness=pool.thickness)
    room_change(by=by, room=rooms[0], ceiling_height=9 * FOOT)
    assert Plan.objects.get(pk=kept.pk).state == "fallen"
    assert Plan.objects.get(instead_of=kept).state == "accepted"
    undo(by=By(by.person), group=last_group(rooms[0].pk))
    assert queries.board_of(rooms[0]).summary.plans[0].source == "accepted"
    assert Plan.objects.get().pk == kept.pk


def test_plan_goes_on_one_step_at_a_time_and_cannot_be_left_once_ordered(by, rooms):
    pool = first_pool(rooms[0])
    plan = plans.plan_keep(by=by, room=rooms[0], board=pool.board, thickness=pool.thickness)
    with pytest.raises(Refused):
        plans.plan_set_state(by=by, plan=plan, state="hung")
    plans.plan_set_state(by=by, plan=plan, state="ordered")
    with pytest.raises(Refused):
        plans.plan_leave(by=by, plan=plan)


def test_offered_plan_is_shown_only_when_taken(by, rooms):
    pool = first_pool(rooms[0])
    offer = plans.propose(rooms[0], pool, pool.plan)
    assert queries.board_of(rooms[0]).offers == (offer,)
    assert queries.board_of(rooms[0]).summary.plans[0].source == "first"
    plans.plan_accept(by=by, plan=offer)
    board = queries.board_of(rooms[0])
    assert (board.offers, board.summary.plans[0].source) == ((), "accepted")


def test_result_of_an_older_shape_is_as_good_as_none(rooms):
    stored = RoomResult.objects.get(room=rooms[0])
    RoomResult.objects.filter(pk=stored.pk).update(summary={"shape": "of another day"})
    for result in Result.objects.all():
        result.data["views"] = [{"key": rooms[0].key, "shape": "of another day"}]
        result.save()
    rooms[0].refresh_from_db()
    board = queries.board_of(rooms[0])
    assert (board.view, board.summary) == (None, None)


def test_room_that_cannot_be_worked_out_says_why_and_the_others_stand(by, house, rooms):
    RoomResult.objects.filter(room=rooms[1]).update(refusal="put right step by step")
    rooms[1].refresh_from_db()
    room_change(
        by=by, room=rooms[1], ceiling_kind="gable", ceiling_low_wall="Z", ceiling_high=10 * FOOT
    )
    assert "low_wall" in queries.board_of(rooms[1]).refusal
    assert list(queries.summaries_of(house)) == ["kitchen"]


def test_search_is_queued_for_each_pool_and_a_newer_digest_cancels_the_older(by, rooms):
    older = SearchJob.objects.get(room=rooms[0])
    room_change(by=by, room=rooms[0], ceiling_height=9 * FOOT)
    newer = SearchJob.objects.get(room=rooms[0], state="waiting")
    older.refresh_from_db()
    assert older.state == "cancelled"
    assert newer.pool == first_pool(rooms[0]).digest != older.pool


def test_same_pool_is_not_queued_twice(by, rooms):
    services.recompute(rooms[0].house)
    assert SearchJob.objects.filter(room=rooms[0]).count() == 1


def test_taken_search_is_running_and_comes_back_when_its_worker_falls_silent(rooms):
    worker_seen("one")
    worker_seen("two")
    job = SEARCHES.take("one").job
    assert (job.state, SEARCHES.take("two").job.pk != job.pk) == ("running", True)
    assert SEARCHES.take("two") is None
    Worker.objects.filter(name="one").update(seen_at=timezone.now() - timedelta(minutes=5))
    assert SEARCHES.take("two").job.pk == job.pk


def test_no_worker_no_claim_that_one_is_here(rooms):
    assert not queue.worker_is_here()
    worker_seen("this-machine-1")
    assert queue.worker_is_here()


def test_search_whose_room_changed_offers_nothing(by, rooms):
    claim = SEARCHES.take("one")
    room = claim.job.room
    search = worker._search_of(claim.job)
    room_change(by=by, room=Room.objects.get(pk=room.pk), ceiling_height=9 * FOOT)
    assert not worker._offer(claim, search, search.best)
    assert not Plan.objects.exists()


def test_worker_sees_a_search_through_in_a_child_process(rooms):
    job = worker.run_once(stop=threading.Event())
    job.refresh_from_db()
    assert job.state == "done"
    assert job.outcome
    if offer := Plan.objects.filter(state="proposed").first():
        assert Fraction(offer.total) < first_pool(rooms[0]).total


def test_child_that_dies_fails_the_search_and_leaves_the_plan(rooms, monkeypatch):
    before = first_pool(rooms[0])
    monkeypatch.setattr(worker, "request_for", lambda *_: "no json")
    job = worker.run_once(stop=threading.Event())
    job.refresh_from_db()
    assert job.state == "failed"
    assert first_pool(rooms[0]) == before


def test_stopped_worker_kills_its_child(rooms, monkeypatch):
    stop = threading.Event()
    monkeypatch.setattr(worker, "COMMAND", ["sleep", "60"])
    threading.Timer(0.3, stop.set).start()
    job = worker.run_once(stop=stop)
    job.refresh_from_db()
    assert job.state == "waiting"
