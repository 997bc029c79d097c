"""A piece hangs differently than planned: what that does to plans, sheets and stock, and its
undo."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction

import pytest

from remodel.board.models import Mark, PlacedPiece, Plan
from remodel.board.queries import board_of, pile_result_of, takes_of_house, takes_of_pile
from remodel.bridge.lengths import FOOT, INCH, amount
from remodel.cards.models import DoneMark
from remodel.cards.queries import cards_for, hanging_for, troubles_for
from remodel.differently import (
    cut_wrong,
    joint_elsewhere,
    other_sheet,
    piece_of,
    sources_of,
    taken_down,
    undo_told,
    why_not_undone,
)
from remodel.history.errors import Refused
from remodel.history.models import Change
from remodel.history.services import By, undo
from remodel.supply.estimates import rough_by_item
from remodel.supply.ledger import here_of, move
from remodel.supply.models import CutSheet, OwnedSheet
from remodel.supply.remaining import in_place_of, jobs_of, remaining_needs
from remodel.ticks import tick

pytestmark = pytest.mark.django_db


def boards(room):
    """Every piece of the room's plans, by its mark."""
    result = pile_result_of(room)
    return {
        piece.code: piece
        for pool in result.pools
        for surface in pool.plan.surfaces
        for piece in surface.pieces
    }


def sheets(room):
    return {sheet.code: sheet for pool in pile_result_of(room).pools for sheet in pool.plan.sheets}


def on(sheet):
    return [
        placed.piece
        for placed in (*sheet.crosscuts, *(one for strip in sheet.strips for one in strip.pieces))
    ]


def sheet_with(room, mark):
    (sheet,) = (sheet for sheet in sheets(room).values() if mark in on(sheet))
    return sheet


def needs(room):
    """What the jobs still take, by item."""
    house = room.house
    remaining = remaining_needs(jobs_of(house), takes_of_house(house.pk), in_place_of(house))
    total = Counter()
    for need in remaining:
        total[need.item] += need.amount
    return total


def here(room, item):
    found = here_of(room.house, item).get(item)
    return found.amount if found else Fraction(0)


def assert_sound(room):
    """Every open piece is cut once, of one sheet; what is cut is where it was told; pages work."""
    assert board_of(room).refusal == ""
    held = Counter(mark for sheet in sheets(room).values() for mark in on(sheet))
    for mark in boards(room):
        assert held[mark] == 1, mark
    places = [place.key for place in takes_of_pile(room)[room.pk].places]
    assert len(places) == len(set(places)) == len(boards(room))
    assert cards_for(room) is not None
    assert hanging_for(room)
    troubles_for(room)
    for row in CutSheet.objects.filter(house=room.house_id):
        assert row.as_planned
        assert row.code in sheets(room)


def key_on(room, wall, place=0):
    keys = [
        one.key for one in takes_of_pile(room)[room.pk].places if one.key.startswith(f"{wall}.")
    ]
    return keys[place]


def mark_of(key):
    return key.rpartition(".")[2]


def stood(room):
    """All that an undo has to bring back."""
    return (
        boards(room),
        sheets(room),
        needs(room),
        {row.mark: (row.state, row.place, row.sheet) for row in PlacedPiece.objects.all()},
        {(row.room_id, row.code, str(row.owned_id)) for row in CutSheet.objects.all()},
        {row.key: row.here for row in OwnedSheet.objects.all()},
        {(mark.kind, mark.item) for mark in DoneMark.objects.filter(done=True)},
        sorted(Plan.objects.filter(state="accepted").values_list("pk", flat=True)),
        {item: one.amount for item, one in here_of(room.house).items() if one.amount},
        {item: one.amount for item, one in rough_by_item(room.house).items()},
    )


def test_piece_cut_wrong_is_waste_and_its_place_gets_a_new_piece(room, by):
    key = key_on(room, "A")
    tick(by=by, room=room, kind="cut", item=key)
    before, wanted = boards(room), needs(room)
    sheet = sheet_with(room, mark_of(key))
    row = cut_wrong(by=by, room=room, key=key)
    assert (row.state, row.note) == ("wasted", "Cut wrong")
    assert_sound(room)
    after = boards(room)
    assert mark_of(key) not in after
    new = [mark for mark in after if mark not in before]
    assert len(new) >= 1
    assert not set(new) & set(before)
    assert sum(needs(room)[item] for item in wanted) >= sum(wanted.values())
    # Its sheet stays begun, with the piece on it, so nothing else is planned there.
    assert mark_of(key) in on(sheets(room)[sheet.code])
    assert CutSheet.objects.get().code == sheet.code


def test_rest_of_a_piece_cut_wrong_is_stock_where_one_says_so(room, by):
    key = key_on(room, "A")
    board = piece_of(room, key).board
    with pytest.raises(Refused, match="Enter its length now, for example") as refused:
        cut_wrong(by=by, room=room, key=key, keep=board.length + INCH)
    assert refused.value.field == "keep"
    assert not PlacedPiece.objects.exists()
    cut_wrong(by=by, room=room, key=key, keep=2 * FOOT)
    owned = OwnedSheet.objects.get()
    assert (owned.key, owned.length, owned.width) == (mark_of(key), 2 * FOOT, board.width)
    assert owned.made_by == PlacedPiece.objects.get().sheet
    assert_sound(room)


def test_piece_taken_down_is_kept_under_its_mark_and_its_place_is_open(room, by):
    key = key_on(room, "B")
    tick(by=by, room=room, kind="hung", item=key)
    screws = rough_by_item(room.house)
    wanted = needs(room)
    taken_down(by=by, room=room, key=key, keep=True)
    row = PlacedPiece.objects.get()
    assert (row.state, row.note) == ("down", "Taken down, kept as an offcut")
    owned = OwnedSheet.objects.get()
    assert owned.key == row.mark
    assert rough_by_item(room.house) == screws  # they are used
    assert_sound(room)
    # It is the cheapest thing to cut its place from, so nothing more is bought.
    assert any(sheet.source == owned.key for sheet in sheets(room).values())
    more = needs(room) - wanted
    assert not [item for item in more if item.startswith("sheet")]
    assert [item for item in more if "screw" in item]


def test_joint_elsewhere_moves_the_open_neighbor(room, by):
    key = key_on(room, "A")
    piece = piece_of(room, key)
    before = boards(room)
    first = before[piece.mark]
    neighbors = [
        one
        for one in before.values()
        if one.surface == first.surface and one.row == first.row and one.code != first.code
    ]
    length = piece.board.length - 16 * INCH
    end = "end" if any(one.start == first.end for one in neighbors) else "start"
    joint_elsewhere(by=by, room=room, key=key, end=end, length=length)
    assert_sound(room)
    after = boards(room)
    told = after[piece.mark]
    assert told.end - told.start == length
    assert (told.start, told.end) in (
        (first.start, first.start + length),
        (first.end - length, first.end),
    )
    assert {one.code for one in neighbors}.isdisjoint(after)
    assert PlacedPiece.objects.get().state == "hung"
    assert not board_of(room).view.amiss


def test_joint_beside_a_hung_neighbor_is_amiss_and_not_refused(room, by):
    wall = [one for one in boards(room).values() if one.surface.endswith("/B")]
    one, other = next(
        (one, other)
        for one in wall
        for other in wall
        if one.row == other.row and one.end == other.start
    )
    for piece in (one, other):
        tick(by=by, room=room, kind="hung", item=f"B.{piece.code}")
    joint_elsewhere(
        by=by, room=room, key=f"B.{one.code}", end="end", length=one.end - one.start - 2 * INCH
    )
    assert_sound(room)
    assert [amiss for amiss in board_of(room).view.amiss if amiss.surface.endswith("/B")]


def test_length_that_cannot_be_is_refused_with_what_to_enter(room, by):
    key = key_on(room, "A")
    board = piece_of(room, key).board
    for length, words in (
        (board.length, "Enter the length that you measure"),
        (40 * FOOT, "and enter .* or less"),
    ):
        with pytest.raises(Refused, match=words) as refused:
            joint_elsewhere(by=by, room=room, key=key, end="end", length=length)
        assert refused.value.field == "length"
    assert not DoneMark.objects.exists()
    assert not Plan.objects.exists()


def test_longer_piece_takes_the_place_of_what_was_to_be_cut_behind_it(room, by):
    sheet, piece = next(
        (sheet, piece)
        for sheet in sheets(room).values()
        for piece in [boards(room)[on(sheet)[0]]]
        if len(on(sheet)) > 1
        and piece.end - piece.start + 20 * INCH < sheet.length
        and piece.surface.rpartition("/")[2] in "ABCD"
    )
    room_end = piece.start  # the end that is free to grow is the one toward the middle
    key = f"{piece.surface.rpartition('/')[2]}.{piece.code}"
    end = "end" if room_end == 0 else "start"
    length = piece.end - piece.start + 16 * INCH
    joint_elsewhere(by=by, room=room, key=key, end=end, length=length)
    assert_sound(room)
    now = sheets(room)[sheet.code]
    placed = [
        one
        for one in (*now.crosscuts, *(x for strip in now.strips for x in strip.pieces))
        if one.piece == piece.code
    ]
    assert [one.end - one.start for one in placed] == [length]


def test_other_sheet_leaves_the_planned_one_open_and_moves_stock(room, by):
    key = key_on(room, "A")
    piece = piece_of(room, key)
    planned = sheet_with(room, piece.mark)
    whole = [one for one in sources_of(piece) if one.name.startswith("whole:")]
    chosen = whole[-1]
    move(by=by, house=room.house, item=chosen.item, kind="received", amount=amount(3, "each"))
    other_sheet(by=by, room=room, key=key, source=chosen.name)
    assert_sound(room)
    row = CutSheet.objects.get()
    assert row.code not in (planned.code, *Mark.objects.none())
    assert row.item == chosen.item
    assert here(room, chosen.item) == 2
    assert PlacedPiece.objects.get().sheet == row.code
    assert on(sheets(room)[row.code])[0] == piece.mark
    assert boards(room)[piece.mark].start is not None


def test_other_sheet_after_a_tick_puts_the_planned_one_back(room, by):
    key = key_on(room, "A")
    planned = sheet_with(room, mark_of(key))
    item = next(one.item for one in takes_of_pile(room)[room.pk].sheets if one.code == planned.code)
    move(by=by, house=room.house, item=item, kind="received", amount=amount(3, "each"))
    tick(by=by, room=room, kind="cut", item=key)
    assert here(room, item) == 2
    other_sheet(by=by, room=room, key=key, source=f"whole:{item}")
    assert here(room, item) == 2
    assert [row.code for row in CutSheet.objects.all()] != [planned.code]
    assert_sound(room)


def test_piece_out_of_an_offcut_and_of_what_is_left_of_a_begun_sheet(room, by):
    for one in boards(room).values():
        key = f"{one.surface.rpartition('/')[2]}.{one.code}"
        rests = [
            source for source in sources_of(piece_of(room, key)) if source.name.startswith("rest:")
        ]
        assert not rests  # nothing is begun
    big = next(sheet for sheet in sheets(room).values() if sheet.offcuts)
    offcut = max(big.offcuts, key=lambda one: one.length * one.width)
    first = on(big)[0]
    surface = boards(room)[first].surface.rpartition("/")[2]
    tick(by=by, room=room, kind="cut", item=f"{surface}.{first}")
    choices = [
        (f"{one.surface.rpartition('/')[2]}.{one.code}", source)
        for one in boards(room).values()
        for source in sources_of(piece_of(room, f"{one.surface.rpartition('/')[2]}.{one.code}"))
        if source.name == f"rest:{offcut.id}"
    ]
    if not choices:
        pytest.skip("no piece is small enough for what is left")
    key, source = choices[0]
    other_sheet(by=by, room=room, key=key, source=source.name)
    assert_sound(room)
    assert sheets(room)[PlacedPiece.objects.get(mark=mark_of(key)).sheet].source == offcut.id


@pytest.mark.parametrize("ticked", ["", "cut", "hung"])
@pytest.mark.parametrize("way", ["wrong", "keep", "down", "joint", "sheet"])
def test_entry_is_undone_as_if_it_never_was(room, by, way, ticked):
    if (way in ("wrong", "keep") and ticked == "hung") or (way == "down" and ticked == "cut"):
        pytest.skip("cut wrong is told of what does not hang")
    key = key_on(room, "A")
    if ticked:
        tick(by=by, room=room, kind=ticked, item=key)
    else:
        tick(by=by, room=room, kind="cut", item=key_on(room, "B"))
    before = stood(room)
    piece = piece_of(room, key)
    source = sources_of(piece)[-1].name
    ways = {
        "wrong": lambda: cut_wrong(by=by, room=room, key=key),
        "keep": lambda: cut_wrong(by=by, room=room, key=key, keep=FOOT),
        "down": lambda: taken_down(by=by, room=room, key=key, keep=True),
        "joint": lambda: joint_elsewhere(
            by=by, room=room, key=key, end="end", length=piece.board.length - 16 * INCH
        ),
        "sheet": lambda: other_sheet(by=by, room=room, key=key, source=source),
    }
    ways[way]()
    assert stood(room) != before
    assert why_not_undone(piece_of(room, key)) == ""
    undo_told(by=by, room=room, key=key)
    for now, then in zip(stood(room), before, strict=True):
        assert now == then
    assert_sound(room)


def test_undo_is_refused_where_the_new_piece_was_cut_since(room, by):
    key = key_on(room, "A")
    tick(by=by, room=room, kind="cut", item=key)
    before = boards(room)
    cut_wrong(by=by, room=room, key=key)
    new = next(mark for mark in boards(room) if mark not in before)
    tick(by=by, room=room, kind="cut", item=f"A.{new}")
    assert PlacedPiece.objects.get(mark=new).instead_of == mark_of(key)
    with pytest.raises(Refused, match=f"{new} was cut, hung or taken down since"):
        undo_told(by=by, room=room, key=key)


def test_ticks_of_a_piece_that_was_told_are_undone_by_its_entry_alone(room, by):
    key = key_on(room, "A")
    cut_wrong(by=by, room=room, key=key, keep=FOOT)
    with pytest.raises(Refused, match="Undo that entry"):
        tick(by=by, room=room, kind="cut", item=key, done=False)
    with pytest.raises(Refused, match="on the page of the piece"):
        undo(by=by, group=Change.objects.order_by("-id")[0].group)
    with pytest.raises(Refused, match="already"):
        cut_wrong(by=by, room=room, key=key)


def test_same_press_twice_is_written_once(room, by):
    key = key_on(room, "A")
    press = By(by.person, "4cf6bfa2")
    for _ in range(2):
        cut_wrong(by=press, room=room, key=key, keep=FOOT)
    assert len(PlacedPiece.objects.get().told) == 1
    assert OwnedSheet.objects.count() == 1
