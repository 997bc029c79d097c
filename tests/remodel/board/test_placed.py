"""What is cut or hangs stays, whatever is edited; plans are kept around it."""

from __future__ import annotations

from fractions import Fraction

import pytest

from remodel.board import plans, queries, services
from remodel.board.models import Mark, PlacedPiece, Plan, RoomResult
from remodel.bridge.lengths import FOOT, INCH, Amount
from remodel.bridge.supply import sheet_key
from remodel.differently import taken_down
from remodel.history.models import Change
from remodel.history.services import undo
from remodel.house.services import room_resize
from remodel.house.things import cutout_add, surface_choice_set
from remodel.supply.ledger import move
from remodel.supply.services import owned_sheet_add
from remodel.ticks import Ticked, tick, tick_all
from tests.remodel.supply.steps import order_all

pytestmark = pytest.mark.django_db


def boards_of(room):
    """Every board of the room's plans by its mark, with the surface and where it lies."""
    result = queries.pile_result_of(room)
    return {
        piece.code: (surface.surface, piece.outline)
        for pool in result.pools
        for surface in pool.plan.surfaces
        for piece in surface.pieces
    }


def keys_of(room):
    return [place.key for place in queries.takes_of_pile(room)[room.pk].places]


def surface_keys(room, surface):
    return [key for key in keys_of(room) if key.startswith(f"{surface}.")]


def test_tick_places_the_piece_where_its_plan_has_it(room, by):
    key = keys_of(room)[0]
    tick(by=by, room=room, kind="hung", item=key)
    piece = PlacedPiece.objects.get()
    assert piece.state == "hung"
    assert piece.place is not None
    surface, outline = boards_of(room)[piece.mark]
    assert piece.place["surface"] == surface
    assert [tuple(point) for point in piece.place["outline"]] == list(outline)
    assert piece.sheet


def test_tick_taken_back_leaves_no_piece(room, by):
    key = keys_of(room)[0]
    tick(by=by, room=room, kind="hung", item=key)
    tick(by=by, room=room, kind="hung", item=key, done=False)
    assert PlacedPiece.objects.get().state == "cut"
    tick(by=by, room=room, kind="cut", item=key, done=False)
    assert not PlacedPiece.objects.exists()


def test_marks_of_a_plan_that_stands_are_noted(room, by):
    tick(by=by, room=room, kind="cut", item=keys_of(room)[0])
    texts = set(Mark.objects.values_list("text", flat=True))
    assert set(boards_of(room)) <= texts


def test_box_changes_nothing_of_a_plan_that_stands(room, by):
    tick(by=by, room=room, kind="hung", item=surface_keys(room, "A")[0])
    before = boards_of(room)
    cutout_add(
        by=by,
        room=room,
        surface="B",
        name="Switch",
        kind="box",
        width=2 * INCH,
        height=4 * INCH,
        across_origin="left",
        across_distance=3 * FOOT,
        up_origin="floor",
        up_distance=4 * FOOT,
    )
    assert boards_of(room) == before
    assert Plan.objects.filter(state="fallen").count() == 0


def test_longer_room_keeps_what_hangs_and_plans_the_rest_anew(room, by):
    hung = surface_keys(room, "A")[0]
    tick(by=by, room=room, kind="hung", item=hung)
    piece = PlacedPiece.objects.get()
    before = boards_of(room)
    room_resize(by=by, room=room, length=12 * FOOT + 2 * INCH, width=10 * FOOT)
    after = boards_of(room)
    assert after[piece.mark] == before[piece.mark]
    fallen = Plan.objects.get(state="fallen")
    stands = Plan.objects.get(instead_of=fallen)
    assert stands.state == "accepted"
    assert "no longer fit" in stands.note
    struck = set(before) - set(after)
    assert struck
    assert not struck & set(after)
    assert set(struck) == set(
        Mark.objects.filter(retired_at__isnull=False, text__in=before).values_list(
            "text", flat=True
        )
    )
    assert queries.board_of(room).refusal == ""


def test_edit_taken_back_brings_the_plan_and_its_marks_back(room, by):
    tick(by=by, room=room, kind="hung", item=surface_keys(room, "A")[0])
    before = boards_of(room)
    room_resize(by=by, room=room, length=12 * FOOT + 2 * INCH, width=10 * FOOT)
    assert boards_of(room) != before
    undo(by=by, group=Change.objects.order_by("-id")[0].group)
    assert boards_of(room) == before
    assert Plan.objects.count() == 1
    assert not Mark.objects.filter(retired_at__isnull=False, text__in=before).exists()


@pytest.mark.parametrize("what", ["cut", "hung", "taken down", "ordered", "found"])
def test_plan_that_fell_stays_so_where_anything_was_done_since(room, by, what):
    room_resize(by=by, room=room, length=12 * FOOT, width=5 * FOOT)
    hung, cut = (surface_keys(room, wall)[0] for wall in "AB")
    tick(by=by, room=room, kind="hung", item=hung)
    tick(by=by, room=room, kind="cut", item=cut)
    room_resize(by=by, room=room, length=12 * FOOT + 2 * INCH, width=5 * FOOT)
    edit = Change.objects.order_by("-id")[0].group
    if what == "cut":
        # Its sheet is cut already, so nothing moves in the stock.
        sheets = queries.takes_of_pile(room)[room.pk].sheets
        pieces = next(keys for one in sheets if cut in (keys := [key for _, key in one.pieces]))
        tick(by=by, room=room, kind="cut", item=next(key for key in pieces if key != cut))
    elif what == "hung":
        tick(by=by, room=room, kind="hung", item=cut)
    elif what == "taken down":
        taken_down(by=by, room=room, key=hung, keep=False)
    elif what == "ordered":
        order_all(by, room)
    else:
        move(
            by=by,
            house=room.house,
            item="screw-coarse-1.25",
            kind="found",
            amount=Amount(Fraction(9), "each"),
        )
    undo(by=by, group=edit)
    assert Plan.objects.get(instead_of=None).state == "fallen"
    assert queries.board_of(room).refusal == ""


def test_piece_of_a_plan_that_fell_is_placed_and_planned_around(room, by):
    first, second, *_ = surface_keys(room, "B")
    tick(by=by, room=room, kind="hung", item=first)
    room_resize(by=by, room=room, length=12 * FOOT, width=10 * FOOT + 2 * INCH)
    late = next(key for key in (second, *surface_keys(room, "D")) if key not in keys_of(room))
    tick(by=by, room=room, kind="hung", item=late)
    assert late.rpartition(".")[2] in boards_of(room)
    assert not PlacedPiece.objects.get(mark=late.rpartition(".")[2]).as_planned


def test_accepted_plan_is_extended_and_not_replaced(room, by):
    pool = queries.pile_result_of(room).pools[0]
    plans.plan_keep(by=by, room=room, board=pool.board, thickness=pool.thickness)
    before = boards_of(room)
    room_resize(by=by, room=room, length=12 * FOOT + 2 * INCH, width=10 * FOOT)
    after = boards_of(room)
    kept = {mark for mark in before if after.get(mark) == before[mark]}
    assert kept  # the walls that did not change


def test_surface_is_planned_anew_where_somebody_asks(room, by):
    tick(by=by, room=room, kind="hung", item=surface_keys(room, "A")[0])
    before = boards_of(room)
    plans.surface_plan_anew(by=by, room=room, surface=f"{room.key}/B")
    after = boards_of(room)
    assert {mark for mark, (surface, _) in before.items() if surface.endswith("/B")}.isdisjoint(
        after
    )
    assert {mark: at for mark, at in before.items() if not at[0].endswith("/B")}.items() <= (
        after.items()
    )
    boards = boards_of(room)
    services.recompute(room.house)
    assert boards_of(room) == boards


def digests_of(house):
    return dict(RoomResult.objects.filter(room__house=house).values_list("room__key", "digest"))


def sources_of(room):
    return [sheet.source for p in queries.pile_result_of(room).pools for sheet in p.plan.sheets]


def test_sheet_found_and_cut_for_a_plan_that_was_to_buy_it_is_no_other_rooms(pile_rooms, by):
    first, second, _ = pile_rooms
    house = first.house
    pool = queries.pile_result_of(first).pools[0]
    plans.plan_keep(by=by, room=first, board=pool.board, thickness=pool.thickness)
    sheet = pool.plan.sheets[0]
    item = sheet_key(sheet.board, sheet.thickness, sheet.width, sheet.length)
    move(by=by, house=house, item=item, kind="found", amount=Amount(Fraction(1), "each"))
    assert item in sources_of(second)
    mine = queries.takes_of_pile(first)[first.pk]
    key = next(key for one in mine.sheets if one.code == sheet.code for _, key in one.pieces)
    for done in (True, False):
        tick(by=by, room=first, kind="cut", item=key, done=done)
        assert (item in sources_of(second)) is not done
        before = digests_of(house)
        services.recompute(house)
        assert digests_of(house) == before


def test_pieces_that_lost_their_place_are_taken_by_the_next_room_at_once(pile_rooms, by):
    first, second, _ = pile_rooms
    tick_all(by=by, room=first, ticks=[Ticked("cut", key) for key in keys_of(first)])
    surface_choice_set(by=by, room=first, surface="B", action="leave")
    spare = set(PlacedPiece.objects.filter(state="spare").values_list("mark", flat=True))
    assert spare.intersection(sources_of(second))
    before = digests_of(first.house)
    services.recompute(first.house)
    assert digests_of(first.house) == before


def test_offcut_stays_with_its_plan_when_the_tick_is_taken_back(pile_rooms, by):
    first, second, _ = pile_rooms
    owned_sheet_add(
        by=by,
        house=first.house,
        board="regular",
        thickness=INCH // 2,
        width=4 * FOOT,
        length=6 * FOOT,
        count=1,
    )
    plan = queries.pile_result_of(first).pools[0].plan
    code = next(sheet.code for sheet in plan.sheets if sheet.source == "offcut-1")
    mine = queries.takes_of_pile(first)[first.pk]
    key = next(key for one in mine.sheets if one.code == code for _, key in one.pieces)
    tick(by=by, room=first, kind="cut", item=key)
    room_resize(by=by, room=first, length=12 * FOOT, width=10 * FOOT + 2 * INCH)
    tick(by=by, room=first, kind="cut", item=key, done=False)
    assert "offcut-1" in sources_of(first)
    services.recompute(first.house)
    assert "offcut-1" not in sources_of(second)
