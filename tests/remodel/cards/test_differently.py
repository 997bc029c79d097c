"""A piece hangs differently than planned: what that does to plans, sheets and stock, and its
undo."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from html import unescape
from random import Random

import pytest
from django.test import Client
from django.urls import reverse

from remodel.board.models import Mark, PlacedPiece, Plan
from remodel.board.queries import board_of, pile_result_of, takes_of_house, takes_of_pile
from remodel.bridge.lengths import FOOT, INCH, amount
from remodel.bridge.placed import read_sheet
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
from remodel.house.models import Room
from remodel.house.services import room_add, room_resize
from remodel.house.things import cutout_add
from remodel.supply.estimates import rough_by_item
from remodel.supply.ledger import here_of, move
from remodel.supply.models import CutSheet, OwnedSheet
from remodel.supply.remaining import in_place_of, jobs_of, remaining_needs
from remodel.ticks import tick
from remodel.web.lengths import show_length
from tests.remodel.page_forms import forms_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def long_room(room, by):
    """The kitchen so long that no board reaches along its walls."""
    room_resize(by=by, room=room, length=19 * FOOT, width=15 * FOOT)
    return Room.objects.select_related("house", "behind").get(pk=room.pk)


def marks_on(sheet):
    strips = (piece for strip in sheet.strips for piece in strip.pieces)
    return [placed.piece for placed in (*sheet.crosscuts, *strips)]


def with_neighbor(room):
    """Two pieces of one row of a wall that meet in a butt seam, and their keys."""
    every = boards(room).values()
    return next(
        (one, other, f"{wall}.{one.code}", f"{wall}.{other.code}")
        for one in every
        for other in every
        for wall in [one.surface.rpartition("/")[2]]
        if wall in "ABCD"
        and (one.surface, one.row) == (other.surface, other.row)
        and one.end == other.start
    )


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
    # Every sheet that is bought and not begun is needed once, and every board that does not hang.
    begun = set(CutSheet.objects.values_list("code", flat=True))
    mine = takes_of_pile(room)[room.pk]
    assert {item: count for item, count in needs(room).items() if item.startswith("sheet")} == (
        Counter(
            sheet.item for sheet in mine.sheets if sheet.source is None and sheet.code not in begun
        )
    )
    hung = {row.key for row in PlacedPiece.objects.filter(state="hung")}
    screws = Counter()
    for take in mine.takes:
        if take.kind == "hung" and take.name not in hung:
            screws[take.item] += Fraction(take.amount, 1000)
    assert {item: needs(room)[item] for item in screws} == dict(screws)


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


def test_joint_elsewhere_moves_the_open_neighbor(long_room, by):
    room = long_room
    one, other, key, _ = with_neighbor(room)
    length = one.end - one.start - 16 * INCH
    joint_elsewhere(by=by, room=room, key=key, end="end", length=length)
    assert_sound(room)
    after = boards(room)
    assert (after[one.code].start, after[one.code].end) == (one.start, one.start + length)
    assert other.code not in after
    assert any(
        (new.surface, new.row, new.start) == (one.surface, after[one.code].row, one.start + length)
        for new in after.values()
    )
    assert PlacedPiece.objects.get().state == "hung"
    assert not board_of(room).view.amiss


@pytest.mark.parametrize("inches", [2, -2])
def test_joint_beside_a_hung_neighbor_is_amiss_and_not_refused(long_room, by, inches):
    room = long_room
    one, other, key, beside = with_neighbor(room)
    for piece in (key, beside):
        tick(by=by, room=room, kind="hung", item=piece)
    length = other.end - other.start + inches * INCH
    joint_elsewhere(by=by, room=room, key=beside, end="start", length=length)
    assert_sound(room)
    assert one.code in boards(room)
    assert [amiss.message for amiss in board_of(room).view.amiss]


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


def test_longer_piece_takes_the_place_of_what_was_to_be_cut_behind_it(long_room, by):
    room = long_room
    mine = boards(room)
    first, sheet = next(
        (mine[codes[0]], sheet)
        for sheet in sheets(room).values()
        for codes in [on(sheet)]
        if len(codes) > 1
        and mine[codes[0]].surface[-1] in "ABCD"
        and mine[codes[0]].end - mine[codes[0]].start + 16 * INCH < sheet.length
        and sheet.crosscuts
    )
    end = "end" if first.start == 0 else "start"
    length = first.end - first.start + 16 * INCH
    key = f"{first.surface[-1]}.{first.code}"
    joint_elsewhere(by=by, room=room, key=key, end=end, length=length)
    assert_sound(room)
    (placed,) = (one for one in sheets(room)[sheet.code].crosscuts if one.piece == first.code)
    assert placed.end - placed.start == length
    with pytest.raises(Refused, match=f"Sheet {sheet.code} is .* long"):
        joint_elsewhere(by=by, room=room, key=key, end=end, length=sheet.length + INCH)


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
    assert row.code != planned.code
    assert planned.code not in sheets(room)
    assert Mark.objects.filter(text=planned.code, retired_at__isnull=False).exists()
    assert Mark.objects.filter(text=row.code, retired_at=None).exists()
    assert row.item == chosen.item
    assert here(room, chosen.item) == 2
    assert PlacedPiece.objects.get().sheet == row.code
    assert on(sheets(room)[row.code])[0] == piece.mark
    assert boards(room)[piece.mark].start is not None


def test_edit_after_another_sheet_was_used_leaves_the_piece_on_that_sheet(room, by):
    key = key_on(room, "A")
    source = sources_of(piece_of(room, key))[-1].name
    other_sheet(by=by, room=room, key=key, source=source)
    plan, piece = Plan.objects.get(state="accepted"), PlacedPiece.objects.get()
    cutout_add(
        by=by,
        room=room,
        surface="B",
        name="Switch",
        kind="box",
        width=2 * INCH,
        height=4 * INCH,
        across_origin="left",
        across_distance=12 * INCH,
        up_origin="floor",
        up_distance=48 * INCH,
    )
    assert Plan.objects.get(state="accepted") == plan
    on = [code for code, one in sheets(room).items() if piece.mark in marks_on(one)]
    assert on == [piece.sheet]
    assert_sound(room)


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


def test_piece_out_of_what_is_left_of_a_begun_sheet(long_room, by):
    room = long_room

    def rests():
        return [
            (key, source)
            for code, one in boards(room).items()
            for key in [f"{one.surface.rpartition('/')[2]}.{code}"]
            for source in sources_of(piece_of(room, key))
            if source.name.startswith("rest:") and code not in done
        ]

    done = {min(boards(room).values(), key=lambda one: one.end - one.start).code}
    assert not rests()  # nothing is begun
    (short,) = done
    surface = boards(room)[short].surface.rpartition("/")[2]
    whole = [one for one in sources_of(piece_of(room, f"{surface}.{short}")) if one.item]
    largest = max(whole, key=lambda one: (one.rest.length, one.rest.width))
    other_sheet(by=by, room=room, key=f"{surface}.{short}", source=largest.name)
    key, source = rests()[0]
    count = CutSheet.objects.exclude(movement=None).count()
    other_sheet(by=by, room=room, key=key, source=source.name)
    assert_sound(room)
    code = PlacedPiece.objects.get(mark=mark_of(key)).sheet
    assert sheets(room)[code].source == source.rest.source
    assert [sheet.source for sheet in sheets(room).values()].count(source.rest.source) == 1
    assert CutSheet.objects.exclude(movement=None).count() == count  # no sheet more is used


def test_piece_out_of_an_offcut_that_is_here(room, by):
    key = key_on(room, "A")
    board = piece_of(room, key).board
    other = key_on(room, "B")
    taken_down(by=by, room=room, key=other, keep=True)
    offcut = OwnedSheet.objects.get()
    choices = [source for source in sources_of(piece_of(room, key)) if source.owned == offcut]
    assert bool(choices) == (offcut.length >= board.length and offcut.width >= board.width)
    key = next(
        place.key
        for place in takes_of_pile(room)[room.pk].places
        if any(source.owned == offcut for source in sources_of(piece_of(room, place.key)))
    )
    other_sheet(by=by, room=room, key=key, source=f"offcut:{offcut.key}")
    assert OwnedSheet.objects.get().here == 0
    assert_sound(room)


@pytest.mark.parametrize(
    ("way", "ticked"),
    [
        *((way, ticked) for way in ("wrong", "keep") for ticked in ("", "cut")),
        *((way, ticked) for way in ("down", "joint", "sheet") for ticked in ("", "cut", "hung")),
    ],
)
def test_entry_is_undone_as_if_it_never_was(room, by, way, ticked):
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


def test_begun_sheet_is_cut_as_planned_again_once_an_entry_is_undone(house, by):
    # So small that both rows of a wall come out of one sheet.
    room = room_add(by=by, house=house, name="Pantry", length=54 * INCH, width=54 * INCH)
    surface_of = {mark: piece.surface for mark, piece in boards(room).items()}
    planned, mark = next(
        (sheet, marks[-1])
        for sheet in sheets(room).values()
        for marks in [marks_on(sheet)]
        if len(marks) > len({surface_of[mark] for mark in marks})
    )
    key = f"{surface_of[mark].rpartition('/')[2]}.{mark}"
    tick(by=by, room=room, kind="cut", item=key)
    taken_down(by=by, room=room, key=key, keep=True)
    begun = CutSheet.objects.get()
    assert read_sheet(begun.data) == sheets(room)[planned.code] != planned
    undo_told(by=by, room=room, key=key)
    begun = CutSheet.objects.get()
    assert read_sheet(begun.data) == sheets(room)[planned.code] == planned


def test_board_that_was_taken_down_by_mistake_may_become_an_offcut_after_all(room, by):
    key = key_on(room, "A")
    tick(by=by, room=room, kind="hung", item=key)
    taken_down(by=by, room=room, key=key, keep=True)
    undo_told(by=by, room=room, key=key)
    assert not OwnedSheet.objects.exists()
    tick(by=by, room=room, kind="hung", item=key, done=False)
    room_resize(by=by, room=room, length=9 * FOOT, width=10 * FOOT)
    assert PlacedPiece.objects.get().state == "spare"
    assert (OwnedSheet.objects.get().key, OwnedSheet.objects.get().here) == (mark_of(key), 1)


def test_cut_neighbor_that_lost_its_place_has_it_again_once_the_entry_is_undone(long_room, by):
    one, other, key, next_key = with_neighbor(long_room)
    end, told, cut = "end", key, next_key
    if other.end - other.start < one.end - one.start:
        # The shorter of the two leaves more of its sheet.
        end, told, cut = "start", next_key, key
    before = boards(long_room)
    length = min(one.end - one.start, other.end - other.start) + 3 * INCH
    tick(by=by, room=long_room, kind="cut", item=cut)
    joint_elsewhere(by=by, room=long_room, key=told, end=end, length=length)
    neighbor = PlacedPiece.objects.get(mark=mark_of(cut))
    assert (neighbor.state, OwnedSheet.objects.get().key) == ("spare", mark_of(cut))
    undo_told(by=by, room=long_room, key=told)
    neighbor.refresh_from_db()
    assert (neighbor.state, OwnedSheet.objects.exists()) == ("cut", False)
    assert boards(long_room) == before
    assert_sound(long_room)


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


def tell_at_random(room, by, random, key):
    """Record something of a piece. Gives whether it was taken, or had to be refused."""
    piece = piece_of(room, key)
    sources = [source.name for source in sources_of(piece)]
    keep = random.choice([None, FOOT])
    length = piece.board.length + random.choice([-16, -1, 1, 16]) * INCH
    ways = [
        lambda: cut_wrong(by=by, room=room, key=key, keep=keep),
        lambda: taken_down(by=by, room=room, key=key, keep=keep is not None),
        lambda: joint_elsewhere(
            by=by, room=room, key=key, end=random.choice(["start", "end"]), length=length
        ),
        lambda: other_sheet(by=by, room=room, key=key, source=random.choice(sources)),
    ]
    try:
        random.choice(ways)()
    except Refused:
        return False
    return True


@pytest.mark.parametrize(
    "seed", [10, *(pytest.param(seed, marks=pytest.mark.deep) for seed in (1, *range(20, 36)))]
)
def test_any_entries_keep_plans_and_stock_sound(long_room, by, seed):
    room, random = long_room, Random(seed)
    told = []
    for _ in range(7):
        key = random.choice([place.key for place in takes_of_pile(room)[room.pk].places])
        if piece_of(room, key).row is None and random.random() < 0.4:
            tick(by=by, room=room, kind=random.choice(["cut", "hung"]), item=key)
        elif tell_at_random(room, by, random, key):
            told.append(key)
        assert_sound(room)
    assert told
    for key in reversed(told):
        if not why_not_undone(piece_of(room, key)):
            undo_told(by=by, room=room, key=key)
            assert_sound(room)


def test_same_press_twice_is_written_once(room, by):
    key = key_on(room, "A")
    press = By(by.person, "4cf6bfa2")
    for _ in range(2):
        cut_wrong(by=press, room=room, key=key, keep=FOOT)
    assert len(PlacedPiece.objects.get().told) == 1
    assert OwnedSheet.objects.count() == 1


@pytest.fixture
def client(room, by):
    client = Client()
    client.force_login(by.person)
    return client


def told_url(room, key, way):
    return reverse("room-piece-told", args=[room.pk, key, way])


def pressed(page, action):
    """What the form of a page sends."""
    return next(
        form for form in forms_of(page.content.decode(), action) if form.action == action
    ).data()


def test_first_press_shows_what_changes_and_writes_nothing(room, by, client):
    key = key_on(room, "A")
    before = boards(room)
    url = told_url(room, key, "wrong")
    look = client.post(url, pressed(client.get(url), url))
    words = look.content.decode()
    assert "Nothing is recorded yet" in words
    assert "Throw away the card" in words
    assert "As many sheets" in words or "Sheets:" in words
    assert words.count("<figure") == 2
    assert not PlacedPiece.objects.exists()
    assert not Plan.objects.exists()
    assert boards(room) == before
    data = pressed(look, url) | {"yes": "yes"}
    for _ in range(2):
        answer = client.post(url, data, follow=True)
        assert answer.status_code == 200
    assert "Cut wrong" in answer.content.decode()
    assert len(PlacedPiece.objects.get().told) == 1
    assert f"<strong>{next(iter(set(boards(room)) - set(before)))}</strong>" in words


def test_what_will_be_amiss_is_said_in_plain_words_before_it_is_recorded(long_room, by, client):
    one, other, key, beside = with_neighbor(long_room)
    for piece in (key, beside):
        tick(by=by, room=long_room, kind="hung", item=piece)
    url = told_url(long_room, beside, "elsewhere")
    length = show_length(other.end - other.start + 2 * INCH, "in")
    look = client.post(url, pressed(client.get(url), url) | {"end": "start", "length": length})
    notice = unescape(look.content.decode().partition("Check on the wall")[2].partition("</ul>")[0])
    assert f"{one.code} and {other.code} overlap." in notice
    assert "Piece" not in notice


@pytest.mark.parametrize(
    ("way", "fields"),
    [
        ("down", {"keep": "yes"}),
        ("elsewhere", {"end": "end", "length": "4' 2\""}),
        ("sheet", {}),
    ],
)
def test_every_way_is_shown_recorded_and_undone(room, by, client, way, fields):
    key = key_on(room, "A")
    url = told_url(room, key, way)
    page = client.get(url)
    if way == "sheet":
        fields = {"source": sources_of(piece_of(room, key))[-1].name}
    look = client.post(url, pressed(page, url) | fields)
    assert "Nothing is recorded yet" in look.content.decode()
    assert not PlacedPiece.objects.exists()
    client.post(url, pressed(look, url) | {"yes": "yes"})
    assert_sound(room)
    assert len(PlacedPiece.objects.get().told) == 1
    for name in ("room-hanging", "room-cards", "room-cut", "room-drawings"):
        shown = client.get(reverse(name, args=[room.pk]))
        assert shown.status_code == 200
        if name == "room-hanging":
            assert 'id="told"' in shown.content.decode()
    piece = reverse("room-piece", args=[room.pk, key])
    undo = reverse("room-piece-undo", args=[room.pk, key])
    data = pressed(client.get(piece), undo)
    client.post(undo, data)
    assert not PlacedPiece.objects.exists()
    again = client.post(undo, data, follow=True)  # the same press once more
    assert again.status_code == 200


def test_what_cannot_be_stands_at_its_field(room, by, client):
    key = key_on(room, "A")
    url = told_url(room, key, "elsewhere")
    data = pressed(client.get(url), url)
    for fields, words in (
        ({"length": "4' 2\""}, '"Which end is elsewhere" is empty'),
        ({"end": "end", "length": "90'"}, "Measure again, and enter"),
        ({"end": "end", "length": ""}, '"How long the board is" is empty'),
    ):
        answer = client.post(url, data | fields)
        assert answer.status_code == 422
        assert words in answer.content.decode().replace("&#x27;", "'").replace("&quot;", '"')


def test_second_of_two_people_is_told_and_nothing_is_double(room, by, client):
    key = key_on(room, "A")
    tick(by=by, room=room, kind="hung", item=key)
    down, sheet = told_url(room, key, "down"), told_url(room, key, "sheet")
    mine = pressed(client.get(down), down) | {"keep": "yes", "yes": "yes"}
    theirs = pressed(client.get(sheet), sheet) | {
        "source": sources_of(piece_of(room, key))[-1].name,
        "yes": "yes",
    }
    client.post(down, mine)
    stood_then = stood(room)
    answer = client.post(sheet, theirs)
    assert answer.status_code in (409, 422)
    assert stood(room) == stood_then
    assert OwnedSheet.objects.count() == 1


def test_page_of_a_piece_offers_what_may_be_recorded(room, by, client):
    key = key_on(room, "A")
    page = reverse("room-piece", args=[room.pk, key])
    wrong = told_url(room, key, "wrong")
    assert wrong in client.get(page).content.decode()
    tick(by=by, room=room, kind="hung", item=key)
    assert wrong not in client.get(page).content.decode()
    assert "Record that it was taken down instead" in client.get(wrong).content.decode()
    taken_down(by=by, room=room, key=key, keep=False)
    words = client.get(page).content.decode()
    assert "Undo this entry" in words
    assert "What is different" not in words
    card = next(sheet for sheet in cards_for(room).sheets)
    assert client.get(reverse("room-card", args=[room.pk, card.key])).status_code == 200
    nothing = reverse("room-piece", args=[room.pk, "A.Z-99"])
    assert client.get(nothing).status_code == 404
