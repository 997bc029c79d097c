"""Marks of what is cut and hung, and the plans that follow them."""

from __future__ import annotations

import pytest

from remodel.board.models import Plan
from remodel.board.plans import plan_set_state
from remodel.bridge.cards import BACK_UP, USUAL_ALLOWANCE
from remodel.bridge.lengths import FOOT, INCH
from remodel.cards.models import DoneMark, Marking
from remodel.cards.queries import cards_for, choices_of
from remodel.cards.services import marking_set
from remodel.history.errors import Refused, Stale
from remodel.history.models import Change
from remodel.history.seen import Seen
from remodel.history.services import By
from remodel.house.services import room_resize
from remodel.supply.services import owned_sheet_add
from remodel.ticks import Ticked, tick, tick_all
from tests.remodel.factories import ada

pytestmark = pytest.mark.django_db


def pieces_of(room, plan=None):
    cards = cards_for(room)
    plan = plan or cards.sheets[0].plan
    return plan, [piece for sheet in cards.sheets if sheet.plan == plan for piece in sheet.pieces]


def standing(room):
    return Plan.objects.filter(room=room).exclude(state__in=("proposed", "left"))


def test_first_cut_keeps_the_plan_it_is_cut_by(room, by):
    _, pieces = pieces_of(room)
    assert not standing(room).exists()
    tick(by=by, room=room, kind="cut", item=pieces[0].key)

    assert standing(room).get().state == Plan.State.ACCEPTED


def test_all_cut_and_all_hung_move_the_plan_on_and_a_mark_taken_back_moves_it_back(room, by):
    _, pieces = pieces_of(room)
    for piece in pieces:
        tick(by=by, room=room, kind="cut", item=piece.key)
    assert standing(room).get().state == Plan.State.CUT
    for piece in pieces:
        tick(by=by, room=room, kind="hung", item=piece.key)
    assert standing(room).get().state == Plan.State.HUNG
    tick(by=by, room=room, kind="hung", item=pieces[0].key, done=False)
    assert standing(room).get().state == Plan.State.CUT


def test_piece_of_an_ordered_plan_is_ticked_after_a_sheet_was_found(room, by):
    _, pieces = pieces_of(room)
    tick(by=by, room=room, kind="cut", item=pieces[0].key)
    plan_set_state(by=by, plan=standing(room).get(), state=Plan.State.ORDERED)
    size = {"thickness": INCH // 2, "width": 48 * INCH, "length": 8 * FOOT, "count": 1}
    owned_sheet_add(by=by, house=room.house, board=standing(room).get().board, **size)
    _, pieces = pieces_of(room)
    tick(by=by, room=room, kind="cut", item=pieces[1].key)

    assert standing(room).get().state == Plan.State.ORDERED


def test_what_hangs_was_cut_and_its_plan_hangs_with_the_last_piece(room, by):
    _, pieces = pieces_of(room)
    for piece in pieces[:-1]:
        tick(by=by, room=room, kind="hung", item=piece.key)
    assert standing(room).get().state == Plan.State.ACCEPTED
    tick(by=by, room=room, kind="hung", item=pieces[-1].key)

    assert standing(room).get().state == Plan.State.HUNG
    assert DoneMark.objects.filter(kind="cut", done=True).count() == len(pieces)


def test_plan_whose_cuts_are_taken_back_is_accepted_where_nobody_ordered_it(room, by):
    _, pieces = pieces_of(room)
    ticks = [Ticked("cut", piece.key) for piece in pieces]
    tick_all(by=by, room=room, ticks=ticks)
    tick_all(by=by, room=room, ticks=ticks, done=False)

    assert standing(room).get().state == Plan.State.ACCEPTED


def test_mark_sent_twice_is_one_mark_and_one_change(room, by):
    _, pieces = pieces_of(room)
    answers = []
    for _ in range(2):
        press = By(ada(), "0f")
        answers.append(tick(by=press, room=room, kind="cut", item=pieces[0].key))
        tick(by=by, room=room, kind="cut", item=pieces[0].key)

    mark = DoneMark.objects.get()
    assert answers == [mark, mark]
    assert mark.done
    assert Change.objects.filter(row=mark.pk).count() == 1


def test_press_that_comes_late_again_changes_nothing(room, by):
    _, pieces = pieces_of(room)
    late = By(ada(), "0f")
    tick(by=late, room=room, kind="cut", item=pieces[0].key)
    tick(by=by, room=room, kind="cut", item=pieces[0].key, done=False)
    answer = tick(by=late, room=room, kind="cut", item=pieces[0].key)

    assert not answer.done
    assert not DoneMark.objects.get().done


def test_mark_of_a_plan_that_never_stood_is_not_taken_for_another_piece(room, by):
    plan, pieces = pieces_of(room)
    room_resize(by=by, room=room, length=13 * FOOT, width=11 * FOOT)
    room.refresh_from_db()
    with pytest.raises(Refused, match="plan changed since this page was loaded"):
        tick(by=by, room=room, kind="cut", item=pieces[0].key, plan=plan)
    assert not standing(room).exists()


def test_piece_of_a_plan_that_fell_is_ticked_from_an_old_page(room, by):
    plan, pieces = pieces_of(room)
    tick(by=by, room=room, kind="cut", item=pieces[0].key, plan=plan)
    room_resize(by=by, room=room, length=13 * FOOT, width=11 * FOOT)
    tick(by=by, room=room, kind="cut", item=pieces[1].key, plan=plan)
    assert DoneMark.objects.filter(kind="cut", done=True).count() == 2


@pytest.mark.parametrize(
    ("kind", "item"),
    [("sawn", "A.K-A1"), ("cut", ""), ("cut", "A\n"), ("cut", "x" * 141)],
)
def test_mark_that_cannot_be_read_is_refused(room, by, kind, item):
    with pytest.raises(Refused):
        tick(by=by, room=room, kind=kind, item=item)
    assert not DoneMark.objects.exists()


def test_room_marks_as_the_house_does_until_it_says_otherwise(room, by):
    assert choices_of(room.house_id)[room.key].allowance == USUAL_ALLOWANCE
    marking_set(
        by=by,
        house=room.house,
        side_up=BACK_UP,
        allowance=INCH // 8,
        boxes="place",
        openings="later",
    )
    chosen = choices_of(room.house_id)[room.key]
    assert (chosen.up, chosen.allowance) == (BACK_UP, INCH // 8)
    assert len(chosen.in_place) == len(chosen.sawn_later) == 1
    box = room.cutouts.get()
    marking_set(
        by=by, house=room.house, room=room, side_up="face up", boxes_each={str(box.pk): "floor"}
    )
    chosen = choices_of(room.house_id)[room.key]

    assert chosen.up == "face up"
    assert chosen.allowance == INCH // 8
    assert not chosen.in_place
    assert len(chosen.sawn_later) == 1


def test_box_cut_in_place_is_marked_by_its_centre_on_the_card(room, by):
    def marked():
        return [
            hole
            for sheet in cards_for(room).sheets
            for piece in sheet.pieces
            for hole in piece.holes
        ]

    assert {when for _, when, _ in marked()} == {"cut on the floor"}
    marking_set(by=by, house=room.house, boxes="place")
    assert {when for _, when, _ in marked()} == {"cut in place"}


def test_allowance_makes_the_hole_larger_by_twice_itself(room, by):
    def wide():
        cards = cards_for(room)
        hole = next(
            hole for sheet in cards.sheets for piece in sheet.pieces for hole in piece.card.holes
        )
        return hole.cut.right - hole.cut.left

    marking_set(by=by, house=room.house, allowance=0)
    plain = wide()
    marking_set(by=by, house=room.house, allowance=INCH // 4)

    assert wide() == plain + INCH // 2


def test_stale_marking_is_refused_with_both_values(room, by):
    marking = marking_set(by=by, house=room.house, boxes="place")
    stale = By(by.person, seen=Seen.of(marking))
    marking_set(by=stale, house=room.house, boxes="floor")
    with pytest.raises(Stale):
        marking_set(by=stale, house=room.house, boxes="place")
    assert Marking.objects.get().boxes == "floor"
