"""A write that changes many rooms is saved at once, and the worker brings their figures up to
date."""

from __future__ import annotations

import threading

import pytest
from django.db.models import F
from django.urls import reverse

from remodel.board import figures, plans, queries, rounds, services
from remodel.board.models import Figures, Result, RoomResult
from remodel.bridge.lengths import FOOT, INCH
from remodel.history.models import Change
from remodel.house.models import Room
from remodel.house.services import house_set_rules, room_resize
from remodel.house_files import files as house_files
from remodel.house_files.files import file_of_house, house_from_file
from remodel.jobs.models import Worker, worker_seen
from remodel.supply.models import SheetOnSale
from remodel.supply.orders import order_make, order_place, order_refresh
from remodel.supply.services import owned_sheet_add, sheet_change
from tests.remodel.site import HTMX, small_house

pytestmark = pytest.mark.django_db

ROOMS = ("Attic", "Bath", "Cellar", "Den", "Entry", "Foyer")


@pytest.fixture
def six(by):
    """A house of six rooms, each worked out, with a worker here."""
    house = small_house(by.person, *ROOMS)
    worker_seen("worker")
    return house


def set_price(by, house, cents):
    """The price of every half-inch sheet of regular board."""
    for sheet in SheetOnSale.objects.filter(house=house, board="regular", thickness=INCH // 2):
        sheet_change(by=by, sheet=sheet, price=cents)


def one_price(by, house, more=1):
    sheet = SheetOnSale.objects.filter(house=house, board="regular").first()
    sheet_change(by=by, sheet=sheet, price=sheet.price + more)


def costs(house):
    return {key: summary.cost for key, summary in queries.summaries_of(house).items()}


def all_at_once(house):
    """The results of every room, worked out anew with nothing to begin from."""
    Result.objects.all().delete()
    RoomResult.objects.all().delete()
    services.recompute(house, whole=True)
    return [queries.pile_result_of(room) for room in house.rooms.order_by("key")]


def test_price_is_saved_without_working_the_rooms_out(by, six):
    before = costs(six)
    set_price(by, six, 9_900)
    assert costs(six) == before
    assert queries.figures_are_stale(six.pk)


def test_worker_is_told_at_once(by, six):
    one_price(by, six)
    assert Figures.objects.get(house=six).state == "waiting"
    assert queries.old_figures(six.pk) == queries.OldFigures(done=0, of=6, worker_here=True)


def test_rule_of_the_house_is_left_to_the_worker(by, six):
    house_set_rules(by=by, house=six, seam_price="2.50")
    assert queries.old_figures(six.pk).done == 0


def test_worker_ends_with_the_figures_that_all_at_once_gives(by, six):
    before = costs(six)
    set_price(by, six, 9_900)
    assert figures.run_once()
    assert not queries.figures_are_stale(six.pk)
    assert all(after > before[key] for key, after in costs(six).items())
    later = [queries.pile_result_of(room) for room in six.rooms.order_by("key")]
    assert later == all_at_once(six)
    assert Figures.objects.get(house=six).state == "done"


def test_worker_notes_how_many_rooms_are_done(by, six, monkeypatch):
    one_price(by, six)
    noted, work_out = [], rounds.work_out_pile

    def watched(*args, **kwargs):
        noted.append(queries.old_figures(six.pk))
        return work_out(*args, **kwargs)

    monkeypatch.setattr(rounds, "work_out_pile", watched)
    figures.run_once()
    assert [(old.done, old.of) for old in noted] == [(done, 6) for done in range(6)]


def test_edit_of_one_room_is_worked_out_at_once_while_the_rest_is_old(by, six):
    before = {result.room.key: result.digest for result in RoomResult.objects.all()}
    one_price(by, six)
    room_resize(by=by, room=six.rooms.get(key="cellar"), length=20 * FOOT, width=10 * FOOT)
    after = {result.room.key: result.digest for result in RoomResult.objects.all()}
    assert [key for key in before if after[key] != before[key]] == ["cellar"]
    old = queries.old_figures(six.pk)
    assert (old.done, old.of) == (1, 6)
    figures.run_once()
    assert not queries.figures_are_stale(six.pk)


def test_few_rooms_are_worked_out_at_once(by):
    house = small_house(by.person, *ROOMS[: services.PILES_AT_ONCE])
    worker_seen("worker")
    one_price(by, house)
    assert not queries.figures_are_stale(house.pk)


def test_all_is_worked_out_at_once_where_no_worker_is(by, six):
    Worker.objects.all().delete()
    one_price(by, six)
    assert not queries.figures_are_stale(six.pk)


def test_owned_sheets_that_one_room_leaves_to_many_others_do_not_hold_up_its_edit(by, six):
    Worker.objects.all().delete()
    owned_sheet_add(
        by=by,
        house=six,
        board="regular",
        thickness=INCH // 2,
        width=4 * FOOT,
        length=12 * FOOT,
        count=200,
    )
    worker_seen("worker")
    room_resize(by=by, room=six.rooms.get(key="attic"), length=24 * FOOT, width=18 * FOOT)
    attic = RoomResult.objects.get(room__key="attic")
    assert queries.summaries_of(six)["attic"].floor_area == 432 * FOOT**2
    assert attic.used
    assert queries.old_figures(six.pk).done == 1 + services.PILES_AT_ONCE
    figures.run_once()
    later = [queries.pile_result_of(room) for room in six.rooms.order_by("key")]
    assert later == all_at_once(six)


def test_write_in_the_middle_of_the_work_is_in_the_figures_too(by, six, monkeypatch):
    set_price(by, six, 5_000)
    calls, work_out = [], rounds.work_out_pile

    def interrupted(*args, **kwargs):
        calls.append(args)
        if len(calls) == 3:
            set_price(by, six, 9_900)
        return work_out(*args, **kwargs)

    monkeypatch.setattr(rounds, "work_out_pile", interrupted)
    figures.run_once()
    assert not queries.figures_are_stale(six.pk)
    later = [queries.pile_result_of(room) for room in six.rooms.order_by("key")]
    assert later == all_at_once(six)


def test_write_as_the_work_ends_is_queued_again(by, six, monkeypatch):
    one_price(by, six)
    recompute = services.recompute

    def then_written(house, **how):
        recompute(house, **how)
        monkeypatch.setattr(figures, "recompute", recompute)
        one_price(by, six)

    monkeypatch.setattr(figures, "recompute", then_written)
    figures.run_once()
    assert queries.figures_are_stale(six.pk)
    assert Figures.objects.get(house=six).state == "waiting"
    figures.run_once()
    assert not queries.figures_are_stale(six.pk)


def test_worker_that_is_stopped_leaves_the_rest_to_the_next(by, six, monkeypatch):
    set_price(by, six, 9_900)
    stop, work_out = threading.Event(), rounds.work_out_pile

    def stopped(*args, **kwargs):
        stop.set()
        return work_out(*args, **kwargs)

    monkeypatch.setattr(rounds, "work_out_pile", stopped)
    figures.run_once(stop=stop)
    assert Figures.objects.get(house=six).state == "waiting"
    assert queries.figures_are_stale(six.pk)
    assert len(set(costs(six).values())) == 2  # one room has its new figures
    monkeypatch.setattr(rounds, "work_out_pile", work_out)
    figures.run_once()
    assert not queries.figures_are_stale(six.pk)


def test_order_is_made_from_figures_of_now(by, six):
    room = six.rooms.get(key="attic")
    Worker.objects.all().delete()
    order = order_make(by=by, house=six, phases=["hanging"], rooms=[room])
    worker_seen("worker")
    house_set_rules(by=by, house=six, adhesive=True)
    assert queries.figures_are_stale(six.pk)
    order_refresh(by=by, order=order)
    assert not queries.figures_are_stale(six.pk)


def test_order_placed_while_figures_are_old_freezes_those_of_now(by, six):
    room = six.rooms.get(key="attic")
    order = order_make(by=by, house=six, phases=["hanging"], rooms=[room])
    one_price(by, six)
    assert queries.figures_are_stale(six.pk)
    placed = order_place(by=by, order=order, without_prices=True, unseen_framing=True)
    assert placed.state == "placed"
    assert not queries.figures_are_stale(six.pk)


@pytest.mark.parametrize("page", ["house-detail", "room-list", "order-list", "house-cards"])
def test_page_of_the_house_says_that_its_figures_are_old_and_how_far_the_new_ones_are(
    client, by, six, page
):
    address = reverse(page, args=[six.pk])
    assert "from before the last change" not in client.get(address).content.decode()
    one_price(by, six)
    text = client.get(address).content.decode()
    assert "from before the last change" in text
    assert "0 of 6 rooms" in text
    assert reverse("house-figures", args=[six.pk]) in text
    figures.run_once()
    assert "from before the last change" not in client.get(address).content.decode()


@pytest.mark.parametrize("page", ["room-detail", "room-cards"])
def test_page_of_a_room_says_that_its_figures_are_old(client, by, six, page):
    one_price(by, six)
    text = client.get(reverse(page, args=[six.rooms.first().pk])).content.decode()
    assert "from before the last change" in text


def test_line_says_what_to_do_where_no_worker_runs(client, by, six):
    one_price(by, six)
    Worker.objects.all().delete()
    text = client.get(reverse("house-detail", args=[six.pk])).content.decode()
    assert "once the worker runs" in " ".join(text.split())


def test_line_asks_again_until_the_figures_are_new_and_then_loads_the_page(client, by, six):
    address = reverse("house-figures", args=[six.pk])
    one_price(by, six)
    answer = client.get(address, {"then": "reload"}, **HTMX)
    assert "0 of 6 rooms" in answer.content.decode()
    assert "then=reload" in answer.content.decode()
    figures.run_once()
    answer = client.get(address, {"then": "reload"}, **HTMX)
    assert answer.headers["HX-Refresh"] == "true"


def test_page_with_a_form_is_not_loaded_under_whoever_types(client, six):
    answer = client.get(reverse("house-figures", args=[six.pk]), {"then": "link"}, **HTMX)
    assert "HX-Refresh" not in answer.headers
    assert "Load this page again" in answer.content.decode()


def test_room_that_was_never_worked_out_is_said_to_be_under_way(client, by, six):
    RoomResult.objects.filter(room__key="attic").delete()
    text = client.get(reverse("room-list", args=[six.pk])).content.decode()
    assert text.count("Being worked out") == 1
    assert "Cannot be worked out" not in text


def test_plan_accepted_in_one_room_is_shown_at_once(by, six):
    room = Room.objects.get(key="den")
    one_price(by, six)
    plan = queries.view_of(room).plans[0]
    plans.plan_keep(by=by, room=room, board=plan.board, thickness=plan.thickness)
    assert queries.view_of(room).plans[0].source == "accepted"
    assert queries.old_figures(six.pk).done == 1


def test_write_of_very_many_rooms_is_left_to_the_worker_unread(by, six, monkeypatch):
    monkeypatch.setattr(services, "ROOMS_LOOKED_AT", 5)
    monkeypatch.setattr(services, "Round", None)  # what reads a house
    text = file_of_house(six)
    large = house_from_file(by=by, text=text)
    assert queries.old_figures(large.pk) == queries.OldFigures(done=0, of=6, worker_here=True)
    monkeypatch.undo()
    figures.run_once()
    assert costs(large) == costs(six)


def test_overlaps_of_a_large_file_are_left_to_the_pages_of_its_rooms(six, monkeypatch):
    monkeypatch.setattr(house_files, "_MOST_ROOMS", 5)
    (said,) = house_files.overlaps_found(six)
    assert "on the page of each room" in said


def test_write_that_another_overtakes_leaves_its_figures_to_the_worker(by, six, monkeypatch):
    """Of many who write at once nobody begins again for each of the others."""
    read, work_out, read_house = [], rounds.work_out_pile, services.Round

    def overtaken(*args, **kwargs):
        if len(read) == 1:
            room_resize(by=by, room=six.rooms.get(key="den"), length=15 * FOOT, width=9 * FOOT)
        return work_out(*args, **kwargs)

    def counted(*args, **kwargs):
        read.append(args)
        return read_house(*args, **kwargs)

    monkeypatch.setattr(rounds, "work_out_pile", overtaken)
    monkeypatch.setattr(services, "Round", counted)
    room_resize(by=by, room=six.rooms.get(key="cellar"), length=20 * FOOT, width=10 * FOOT)
    assert len(read) == 2  # by each of the two, once
    assert Figures.objects.get(house=six).state == "waiting"
    figures.run_once()
    assert not queries.figures_are_stale(six.pk)
    later = [queries.pile_result_of(room) for room in six.rooms.order_by("key")]
    assert later == all_at_once(six)


def test_writes_of_many_people_are_left_to_the_worker_unread(by, six, monkeypatch):
    den = six.rooms.get(key="den")
    for more in range(6):
        room_resize(by=by, room=den, length=(12 + more) * FOOT, width=9 * FOOT)
    monkeypatch.setattr(services, "MANY_WRITES", 6)
    monkeypatch.setattr(services, "Round", None)  # what reads a house
    room_resize(by=by, room=den, length=11 * FOOT, width=9 * FOOT)
    assert queries.figures_are_stale(six.pk)
    monkeypatch.undo()
    figures.run_once()
    assert not queries.figures_are_stale(six.pk)


def test_write_some_time_after_many_others_is_worked_out_at_once(by, six, monkeypatch):
    den = six.rooms.get(key="den")
    for more in range(6):
        room_resize(by=by, room=den, length=(12 + more) * FOOT, width=9 * FOOT)
    monkeypatch.setattr(services, "MANY_WRITES", 6)
    Change.objects.update(at=F("at") - services.SHORT_TIME)
    room_resize(by=by, room=den, length=11 * FOOT, width=9 * FOOT)
    assert not queries.figures_are_stale(six.pk)
