"""What is written on boards: chosen with the room, kept, and fixed once it is used."""

import importlib

import pytest
from django.apps import apps
from django.urls import reverse
from django.utils import timezone

from remodel.board.models import Plan
from remodel.board.plans import plan_accept, propose
from remodel.board.queries import pile_result_of, view_of
from remodel.bridge import codec, house_value
from remodel.bridge.files import read_house, write_house
from remodel.bridge.lengths import FOOT
from remodel.bridge.marks import with_code
from remodel.cards.models import DoneMark, PrintPack
from remodel.history.errors import Refused
from remodel.history.models import Change
from remodel.history.services import undo
from remodel.house.marks import is_fixed
from remodel.house.models import Room
from remodel.house.outlines import WalkedWall, room_walk
from remodel.house.partitions import partition_add
from remodel.house.plain_list import ListedSurface, room_list_surfaces
from remodel.house.queries import whole_house
from remodel.house.services import (
    room_add,
    room_add_surfaces,
    room_change,
    room_remove,
    wall_add,
)
from remodel.house_files.imports import save_house_value
from tests.remodel.factories import ada
from tests.remodel.site import browser

pytestmark = pytest.mark.django_db


def letters(room):
    return [wall.letter for wall in room.walls.order_by("position")]


def added(by, house, name):
    return room_add(by=by, house=house, name=name, length=10 * FOOT, width=8 * FOOT)


def ticked(room):
    DoneMark.objects.create(
        house=room.house, room=room, kind="cut", item="A.A-01", at=timezone.now()
    )


def test_room_has_a_code_of_its_name_that_no_other_has(by, room):
    assert room.code == "K"
    assert [added(by, room.house, name).code for name in ("Kids' room", "Kiln", "Closet loft")] == [
        *("KR", "KL", "C"),
    ]


def test_code_of_a_room_that_was_removed_is_not_given_again(by, room):
    room_remove(by=by, room=room)
    assert added(by, room.house, "Kitchen").code == "KT"


def test_boards_carry_the_code_and_the_letter_of_their_wall(room):
    pieces = {piece.code for surface in view_of(room).surfaces for piece in surface.pieces}
    assert {"K-A1", "K-CL1"} <= pieces
    assert all(code.startswith("K-") for code in pieces)
    assert [sheet.code for sheet in view_of(room).sheets][:2] == ["K1", "K2"]


def test_new_code_is_on_every_board_at_once(by, room):
    room_change(by=by, room=room, code="EAT")
    assert view_of(room).sheets[0].code == "EAT1"


def test_plan_that_was_accepted_is_marked_with_the_new_code(by, room):
    pool = pile_result_of(room).pools[0]
    plan = plan_accept(by=by, plan=propose(room, pool, pool.plan))
    room_change(by=by, room=Room.objects.get(pk=room.pk), code="EAT")
    plan.refresh_from_db()
    sheets = plan.data["sheets"]
    assert [sheet["code"] for sheet in sheets] == [f"EAT{n}" for n in range(1, len(sheets) + 1)]
    cut = {piece["piece"] for sheet in sheets for piece in sheet["crosscuts"]}
    assert {code.partition("-")[0] for code in cut} == {"EAT"}
    shown = view_of(Room.objects.get(pk=room.pk))
    assert {sheet.code for sheet in shown.sheets} == {sheet["code"] for sheet in sheets}
    assert shown.plans[0].source == "accepted"


def test_marks_that_another_code_made_stay_in_a_plan():
    plan = {
        "surfaces": [{"room": "kitchen", "pieces": [{"code": "A-01"}, {"code": "K-B1"}]}],
        "sheets": [
            {
                "code": "R7",
                "room": "kitchen",
                "source": None,
                "crosscuts": [{"piece": "A-01"}],
                "offcuts": [{"id": "R7.1"}],
            },
            {"code": "K8", "room": "bath", "source": "R7.1", "crosscuts": [], "offcuts": []},
        ],
    }
    assert with_code(plan, "kitchen", "A", "E") == plan
    changed = with_code(plan, "kitchen", "K", "E")
    assert [piece["code"] for piece in changed["surfaces"][0]["pieces"]] == ["A-01", "E-B1"]
    assert changed["sheets"] == plan["sheets"]


def test_new_code_is_not_undone_once_boards_carry_it(by, room):
    room_change(by=by, room=room, code="EAT")
    group = Change.objects.latest("pk").group
    ticked(room)
    with pytest.raises(Refused, match="mark boards of Kitchen K in place of EAT"):
        undo(by=by, group=group)


@pytest.mark.parametrize(
    ("code", "says"),
    [
        ("CL", "cannot be 'CL', which marks ceilings; give another, for example 'C'"),
        ("K1", "must be 1 to 3 capital letters from A to Z, for example 'K' or 'KIT'"),
        ("", '"Code on boards" is empty. Enter 1 to 3 letters, for example K'),
        ("D", "D is the code of Den. Enter another, for example KT"),
    ],
)
def test_code_that_cannot_be_is_refused_with_an_example(by, room, code, says):
    added(by, room.house, "Den")
    with pytest.raises(Refused) as refused:
        room_change(by=by, room=room, code=code)
    assert says in str(refused.value)
    assert refused.value.field == "code"


def test_code_of_a_removed_room_is_told_as_that(by, room):
    room_remove(by=by, room=added(by, room.house, "Den"))
    with pytest.raises(Refused, match="D was the code of Den"):
        room_change(by=by, room=room, code="D")


def test_letters_of_an_earlier_plans_sheets_are_no_rooms_code(by, room):
    plan = codec.write(_plan_of(room))
    for sheet in plan["sheets"]:
        sheet["code"] = f"R{sheet['code'][1:]}"
    Plan.objects.create(
        house=room.house,
        room=room,
        board="regular",
        thickness=1,
        pool="p",
        state=Plan.State.LEFT,
        data=plan,
    )
    assert added(by, room.house, "Rumpus").code == "RU"
    with pytest.raises(Refused, match="sheets of an earlier plan are marked R"):
        room_change(by=by, room=room, code="R")


def _plan_of(room):
    return pile_result_of(room).pools[0].plan


def test_code_stays_once_a_board_is_ticked(by, room):
    ticked(room)
    with pytest.raises(Refused, match="K is on paper or on boards of Kitchen already"):
        room_change(by=by, room=room, code="E")
    room_change(by=by, room=room, code="K", name="Big kitchen")


def test_code_stays_once_it_is_printed(room):
    pack = PrintPack(
        house=room.house,
        rooms=[room.key],
        state=PrintPack.State.WAITING,
    )
    pack.save()
    assert not is_fixed(room)
    PrintPack.objects.filter(pk=pack.pk).update(state=PrintPack.State.DONE)
    assert is_fixed(room)


def test_room_behind_a_partition_fixes_the_walls_it_shares(by, room):
    partition_add(
        by=by,
        room=room,
        surface="A",
        name="Closet wall",
        behind="Closet",
        at=6 * FOOT,
        side="right",
    )
    assert not is_fixed(room)
    ticked(Room.objects.get(name="Closet"))
    assert is_fixed(room)


def walk(room, order):
    """The walls of a room walked in this order; None is a new one that a wall before it gave half
    its length to."""
    rows = {wall.key: wall for wall in room.walls.all()}
    walked = []
    for key in order:
        if key is None:
            before = walked.pop()
            half = before.length // 2
            walked += [
                WalkedWall(wall=before.wall, name=before.name, length=half, turn=0),
                WalkedWall(wall=None, name="", length=before.length - half, turn=before.turn),
            ]
        else:
            wall = rows[key]
            walked.append(WalkedWall(wall=wall, name=wall.name, length=wall.length, turn=wall.turn))
    return walked


def test_letters_follow_the_walk_as_long_as_nothing_is_marked(by, room):
    assert letters(room) == ["A", "B", "C", "D"]
    room_walk(by=by, room=room, walls=walk(room, ["A", None, "B", "C", "D"]))
    assert letters(room) == ["A", "B", "C", "D", "E"]


def test_wall_added_once_boards_are_marked_takes_the_next_free_letter(by, room):
    partition = partition_add(
        by=by,
        room=room,
        surface="C",
        name="Closet wall",
        behind="Closet",
        at=6 * FOOT,
        side="right",
    )
    assert partition.letter == "E"
    ticked(room)
    room_walk(by=by, room=room, walls=walk(room, ["A", None, "B", "C", "D"]))
    assert letters(room) == ["A", "F", "B", "C", "D"]


def test_key_and_name_of_a_wall_pass_over_the_letters_read_as_numbers(by, room):
    ticked(room)
    for number in range(5, 10):
        made = wall_add(by=by, room=room, length=FOOT, name="")
        assert made.letter == made.key == "ABCDEFGHJ"[number - 1]
    assert made.name == "Wall J"


def test_surfaces_of_a_list_have_letters_by_their_kind(by, room):
    made = room_add_surfaces(
        by=by,
        house=room.house,
        name="Garage",
        surfaces=[
            ("", "wall", 10 * FOOT, 8 * FOOT),
            ("", "ceiling", 10 * FOOT, 8 * FOOT),
            ("", "wall", 9 * FOOT, 8 * FOOT),
        ],
    )
    assert letters(made) == ["A", "CL", "B"]
    ticked(made)
    rows = list(made.walls.order_by("position"))
    listed = [
        ListedSurface(row=row, name=row.name, kind=kind, width=row.length, height=row.height)
        for row, kind in zip(rows, ("wall", "ceiling", "ceiling"), strict=True)
    ]
    room_list_surfaces(by=by, room=made, surfaces=listed)
    assert letters(made) == ["A", "CL", "CLB"]


def test_house_file_keeps_codes_and_letters(by, room):
    room_change(by=by, room=room, code="EAT")
    value = house_value(whole_house(room.house))
    text = write_house(value)
    assert '"code": "EAT"' in text
    again = save_house_value(by=by, value=read_house(text))
    assert [one.code for one in again.rooms.all()] == ["EAT"]
    assert house_value(whole_house(again)).rooms == value.rooms


def test_size_page_takes_a_small_letter_and_shows_what_is_fixed(by, room):
    url = reverse("room-size", args=[room.pk])
    page = browser(ada()).get(url).content.decode()
    assert "Code on boards" in page
    assert "readonly" not in page
    ticked(room)
    page = browser(ada()).get(url).content.decode()
    assert "readonly" in page
    assert "It is on paper or on boards already, so it stays" in page


def test_migration_gives_codes_around_the_marks_of_earlier_plans(by, room):
    rumpus = added(by, room.house, "Rumpus")
    partition = partition_add(
        by=by,
        room=room,
        surface="A",
        name="Closet wall",
        behind="Closet",
        at=6 * FOOT,
        side="right",
    )
    plan = codec.write(_plan_of(room))
    for sheet in plan["sheets"]:
        sheet["code"] = f"R{sheet['code'][1:]}"
    Plan.objects.create(
        house=room.house, room=room, board="regular", thickness=1, pool="p", data=plan
    )
    Room.objects.update(code="")
    room.walls.update(letter="")
    type(partition).objects.update(letter="")
    given = importlib.import_module("remodel.house.migrations.0004_codes_and_letters_given")
    given.give_codes(apps, None)
    given.give_letters(apps, None)
    codes = {one.name: one.code for one in Room.objects.all()}
    assert codes == {"Kitchen": "K", "Rumpus": "RU", "Closet": "C"}
    assert letters(room) == ["A", "B", "C", "D"]
    partition.refresh_from_db()
    assert partition.letter == "E"
    assert rumpus.pk
