"""A plan that stands, falls or stands again: what is cut, at hand and on offer follows at once, and
looking at the house again changes nothing."""

from __future__ import annotations

from fractions import Fraction

import pytest
from django.urls import reverse

from remodel.board import plans, services
from remodel.board.models import Mark, PlacedPiece, Plan
from remodel.board.queries import pile_result_of, takes_of_pile
from remodel.bridge.lengths import FOOT, INCH, Amount
from remodel.bridge.placed import read_sheet
from remodel.bridge.records import framing_columns
from remodel.bridge.supply import size_of_sheet
from remodel.differently import cut_wrong
from remodel.history.errors import Refused
from remodel.history.models import Change
from remodel.history.services import undo
from remodel.house.models import Room
from remodel.house.services import house_set_rules, room_change, room_resize
from remodel.house.things import surface_choice_set
from remodel.supply.ledger import move
from remodel.supply.models import CutSheet, OwnedSheet
from remodel.supply.services import owned_sheet_add
from remodel.ticks import Ticked, tick, tick_all
from takeoff.house import Framing
from takeoff.units import Nm
from tests.remodel.board.test_placed import (
    boards_of,
    digests_of,
    keys_of,
    sources_of,
    surface_keys,
)

pytestmark = pytest.mark.django_db


def undo_last(by):
    undo(by=by, group=Change.objects.order_by("-id")[0].group)


def keep(by, room):
    pool = pile_result_of(room).pools[0]
    return plans.plan_keep(by=by, room=room, board=pool.board, thickness=pool.thickness)


def assert_settled(house):
    """Nothing changes by looking again."""
    before = digests_of(house)
    services.recompute(house)
    assert digests_of(house) == before


def sheets_of(room):
    return {sheet.code: sheet for pool in pile_result_of(room).pools for sheet in pool.plan.sheets}


def key_on(room, code):
    """The key of a piece that is cut from a sheet."""
    mine = takes_of_pile(room)[room.pk]
    return next(key for one in mine.sheets if one.code == code for _, key in one.pieces)


def test_begun_sheet_is_cut_as_the_plan_says_that_stands_again(room, by):
    # Longer than any sheet, so that some give two pieces.
    room_resize(by=by, room=room, length=16 * FOOT, width=10 * FOOT)
    room = Room.objects.get(pk=room.pk)
    mine = takes_of_pile(room)[room.pk]
    code, key = next((one.code, one.pieces[0][1]) for one in mine.sheets if len(one.pieces) > 1)
    tick(by=by, room=room, kind="hung", item=key)
    planned = sheets_of(room)[code]
    room_resize(by=by, room=room, length=12 * FOOT, width=10 * FOOT + 2 * INCH)
    assert read_sheet(CutSheet.objects.get().data) != planned
    undo_last(by)
    assert sheets_of(room)[code] == planned
    assert read_sheet(CutSheet.objects.get().data) == planned


def test_piece_that_lost_its_place_has_it_again_once_the_edit_is_undone(room, by):
    key = surface_keys(room, "A")[0]
    mark = key.rpartition(".")[2]
    tick(by=by, room=room, kind="cut", item=key)
    before = boards_of(room)
    room_resize(by=by, room=room, length=11 * FOOT, width=10 * FOOT)
    assert PlacedPiece.objects.get().state == "spare"
    assert OwnedSheet.objects.filter(key=mark).exists()
    undo_last(by)
    piece = PlacedPiece.objects.get()
    assert (piece.state, piece.ended_at) == ("cut", None)
    assert not OwnedSheet.objects.filter(key=mark).exists()
    assert boards_of(room) == before
    assert_settled(room.house)


def test_piece_that_lost_its_place_stays_an_offcut_once_something_is_cut_from_it(room, by):
    key = surface_keys(room, "A")[0]
    tick(by=by, room=room, kind="cut", item=key)
    room_resize(by=by, room=room, length=11 * FOOT, width=10 * FOOT)
    mark = PlacedPiece.objects.get().mark
    code = next(code for code, sheet in sheets_of(room).items() if sheet.source == mark)
    tick(by=by, room=room, kind="cut", item=key_on(room, code))
    room_resize(by=by, room=room, length=12 * FOOT, width=10 * FOOT)
    assert PlacedPiece.objects.get(mark=mark).state == "spare"
    assert OwnedSheet.objects.get(key=mark).cut_up == 1


def test_surface_is_planned_anew_once_also_where_the_same_comes_of_it(room, by):
    plan = keep(by, room)
    for key in surface_keys(room, "ceiling"):
        tick(by=by, room=room, kind="hung", item=key)
    plans.surface_plan_anew(by=by, room=room, surface=f"{room.key}/ceiling")
    stands = Plan.objects.get(room=room, state__in=("accepted", "ordered", "cut", "hung"))
    assert stands.pk == plan.pk  # all of it hangs
    assert stands.anew == []
    assert_settled(room.house)


def test_offer_that_an_edit_makes_old_is_gone_at_once(room, by):
    pool = pile_result_of(room).pools[0]
    plans.propose(room, pool, pool.plan)
    services.recompute(room.house)
    room_resize(by=by, room=room, length=12 * FOOT + 2 * INCH, width=10 * FOOT)
    assert not Plan.objects.exists()
    assert_settled(room.house)


def test_whole_sheet_that_is_spoiled_before_it_is_cut_changes_nothing_of_its_plan(room, by):
    sheet = next(one for one in sheets_of(room).values() if one.source is None)
    item = f"sheet-{sheet.board}-0.5x{sheet.width // INCH}x{sheet.length // INCH}in"
    assert size_of_sheet(item) is not None

    def moved(kind):
        amount = Amount(Fraction(1), "each")
        move(by=by, house=room.house, item=item, kind=kind, amount=amount)

    moved("found")
    code = next(one.code for one in sheets_of(room).values() if one.source == item)
    keep(by, room)
    moved("spoiled")
    assert sheets_of(room)[code].source == item
    tick(by=by, room=room, kind="cut", item=key_on(room, code))
    assert_settled(room.house)


def test_plan_that_falls_leaves_the_offcut_of_another_plan_alone(pile_rooms, by):
    first, second, _ = pile_rooms
    keep(by, first)  # before there is an offcut
    owned_sheet_add(
        by=by,
        house=first.house,
        board="regular",
        thickness=INCH // 2,
        width=4 * FOOT,
        length=6 * FOOT,
        count=1,
    )
    assert "offcut-1" in sources_of(second)
    keep(by, second)
    before = boards_of(second)
    room_resize(by=by, room=first, length=12 * FOOT, width=10 * FOOT + 2 * INCH)
    assert "offcut-1" in sources_of(second)
    assert "offcut-1" not in sources_of(first)
    assert boards_of(second) == before


def test_piece_by_an_old_card_that_is_taken_off_the_wall_changes_the_figures_at_once(room, by):
    first, second, *_ = surface_keys(room, "B")
    tick(by=by, room=room, kind="hung", item=first)
    room_resize(by=by, room=room, length=12 * FOOT, width=10 * FOOT + 2 * INCH)
    late = next(key for key in (second, *surface_keys(room, "D")) if key not in keys_of(room))
    for kind, done in (("cut", True), ("hung", True), ("hung", False), ("cut", False)):
        tick(by=by, room=room, kind=kind, item=late, done=done)
        assert_settled(room.house)


def test_board_that_a_plan_was_made_around_takes_the_plan_with_it_when_it_comes_down(room, by):
    key = surface_keys(room, "A")[0]
    tick(by=by, room=room, kind="hung", item=key)
    # Measured lower than the board hangs, which stays all the same.
    room_change(by=by, room=room, ceiling_height=room.ceiling_height - 2 * FOOT)
    room_change(by=by, room=room, ceiling_height=room.ceiling_height - 3 * FOOT)
    piece = PlacedPiece.objects.get()
    assert not piece.as_planned
    tick(by=by, room=room, kind="hung", item=key, done=False)
    tick(by=by, room=room, kind="cut", item=key, done=False)
    assert not PlacedPiece.objects.exists()
    assert_settled(room.house)
    board = boards_of(room)
    Plan.objects.update(anew=[])
    services.Result.objects.all().delete()
    services.recompute(room.house)
    assert boards_of(room) == board


def test_plan_that_goes_on_with_a_begun_sheet_is_not_given_up(room, by):
    cut_wrong(by=by, room=room, key=surface_keys(room, "A")[0])
    plan = Plan.objects.get(state="accepted")
    assert CutSheet.objects.get().code in {sheet["code"] for sheet in plan.data["sheets"]}
    with pytest.raises(Refused, match="are cut already"):
        plans.plan_leave(by=by, plan=plan)


def test_plan_that_stands_by_hung_boards_alone_goes_with_the_first_that_comes_down(room, by):
    room_resize(by=by, room=room, length=16 * FOOT, width=10 * FOOT)
    room = Room.objects.get(pk=room.pk)
    keys = surface_keys(room, "A")
    tick_all(by=by, room=room, ticks=[Ticked("hung", key) for key in keys])
    # No open board is in the way of studs that turn out to stand elsewhere.
    framing = framing_columns(Framing(spacing=Nm(19 * INCH)))
    surface_choice_set(by=by, room=room, surface="A", framing=framing)
    assert Plan.objects.get().state == "accepted"
    assert {piece.as_planned for piece in PlacedPiece.objects.all()} == {False}
    assert_settled(room.house)

    tick(by=by, room=room, kind="hung", item=keys[0], done=False)
    tick(by=by, room=room, kind="cut", item=keys[0], done=False)
    assert_settled(room.house)
    board = boards_of(room)
    services.Result.objects.all().delete()
    services.recompute(room.house)
    assert boards_of(room) == board


def test_plan_before_a_surface_was_planned_anew_is_used_again_on_a_press(room, by, client):
    tick(by=by, room=room, kind="hung", item=surface_keys(room, "A")[0])
    before, plan = boards_of(room), Plan.objects.get()
    plans.surface_plan_anew(by=by, room=room, surface=f"{room.key}/B")
    words = client.get(reverse("room-boards", args=[room.pk])).content.decode()
    assert "Use the plan before again" in words
    client.post(reverse("plan-take", args=[plan.pk]), {"room": str(room.pk)})
    assert boards_of(room) == before
    assert Plan.objects.get(state="accepted").pk == plan.pk
    assert not Mark.objects.filter(text__in=before, retired_at__isnull=False).exists()
    assert_settled(room.house)


def test_plan_before_stays_what_it_was_where_something_was_cut_since(room, by):
    plan = keep(by, room)
    plans.surface_plan_anew(by=by, room=room, surface=f"{room.key}/B")
    tick(by=by, room=room, kind="cut", item=surface_keys(room, "B")[0])
    boards = boards_of(room)
    with pytest.raises(Refused, match="since the surface was planned anew"):
        plans.plan_accept(by=by, plan=plan)
    assert boards_of(room) == boards


def test_columns_beside_a_cut_board_are_planned_anew_once_it_was_not_cut(room, by):
    surface_choice_set(by=by, room=room, surface="A", orientation="along")
    key = surface_keys(room, "A")[0]
    tick(by=by, room=room, kind="cut", item=key)
    # A long edge beside the board is on no stud now, and may be so beside a board that is cut.
    framing = framing_columns(Framing(spacing=Nm(16 * INCH), first=Nm(5 * INCH)))
    surface_choice_set(by=by, room=room, surface="A", framing=framing)
    room_change(by=by, room=room, wall_level=3)  # which has the plan looked at again
    assert PlacedPiece.objects.get().leant_on
    assert_settled(room.house)
    beside = boards_of(room)

    tick(by=by, room=room, kind="cut", item=key, done=False)
    assert boards_of(room) != beside
    assert_settled(room.house)


def test_accepted_plan_in_which_something_is_amiss_is_not_proposed_once_it_is_given_up(room, by):
    room_resize(by=by, room=room, length=16 * FOOT, width=10 * FOOT)
    room = Room.objects.get(pk=room.pk)
    keep(by, room)
    house_set_rules(by=by, house=room.house, longest_board=9 * FOOT)
    plans.surface_plan_anew(by=by, room=room, surface=f"{room.key}/A")
    plans.plan_leave(by=by, plan=Plan.objects.get(state="accepted"))
    assert not Plan.objects.filter(state="proposed").exists()
    assert max(sheet.length for sheet in sheets_of(room).values()) <= 9 * FOOT
