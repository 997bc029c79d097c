"""Codes of rooms and letters of walls: what is chosen, what is kept, and what is refused."""

from dataclasses import replace

import pytest

from takeoff.boards.numbers import numbered_apart
from takeoff.choices import CeilingKind, Side, SurfaceKind
from takeoff.errors import BadValue
from takeoff.geometry.rooms import house_geometry
from takeoff.house import (
    BehindPartition,
    Ceiling,
    House,
    Outline,
    Partition,
    PlainSurface,
    QuickRoom,
    Room,
    SurfaceList,
    Wall,
)
from takeoff.marks import new_code, with_marks
from takeoff.units import FOOT, Nm
from tests.takeoff import hand_plan

TEN, EIGHT = Nm(10 * FOOT), Nm(8 * FOOT)


def quick(name, **fields):
    return Room(
        id=name.lower().replace(" ", "-").replace("'", ""),
        name=name,
        shape=QuickRoom(length=TEN, width=EIGHT),
        **fields,
    )


def house(*rooms, partitions=()):
    return House(id="h", name="House", rooms=rooms, partitions=partitions)


def codes(*names):
    return [room.code for room in with_marks(house(*map(quick, names))).rooms]


def letters(of, room):
    """The letter of each surface of a room, by its id there."""
    geometry = next(one for one in house_geometry(of).rooms if one.room == room)
    return {surface.id.partition("/")[2]: surface.letter for surface in geometry.surfaces}


def test_room_of_one_word_has_its_first_letter_and_one_of_several_their_first_letters():
    assert codes("Kitchen", "Kids' room", "Bath", "Laundry and utility") == [
        *("K", "KR", "B", "LAU"),
    ]


def test_second_room_of_the_same_letter_has_two_letters_of_its_name():
    assert codes("Bath", "Bedroom", "Bathroom") == ["B", "BE", "BA"]


@pytest.mark.parametrize("name", ["Craft loft", "CL", "Cl."])
def test_no_room_has_the_letters_that_mark_ceilings(name):
    assert new_code(name, ()) == "C"


def test_no_code_that_is_worked_out_ends_in_a_letter_read_as_a_number():
    assert codes("Office", "Studio", "Stair", "Oil", "Io") == ["OF", "S", "ST", "OL", "IA"]


def test_name_without_a_letter_of_the_alphabet_has_a_code_too():
    assert new_code("浴室", ()) == "R"
    assert new_code("12", {"R"}) == "RM"
    assert new_code("Élan", ()) == "E"


def test_five_hundred_rooms_of_one_name_have_five_hundred_codes():
    taken = set()
    for _ in range(500):
        code = new_code("Room", taken)
        assert code not in taken
        assert 1 <= len(code) <= 3
        taken.add(code)


def test_code_that_is_given_stays_and_the_others_go_around_it():
    rooms = (quick("Kitchen"), quick("Den", code="K"))
    assert [room.code for room in with_marks(house(*rooms)).rooms] == ["KT", "K"]


def test_house_with_all_marks_is_handed_back_as_it_is():
    marked = with_marks(house(quick("Kitchen"), quick("Den")))
    assert with_marks(marked) is marked


@pytest.mark.parametrize("code", ["k", "KITC", "K1", "É"])
def test_code_that_is_no_code_is_refused_with_an_example(code):
    with pytest.raises(BadValue, match="1 to 3 capital letters from A to Z, for example 'K'"):
        quick("Kitchen", code=code)


def test_code_of_ceilings_is_refused():
    with pytest.raises(BadValue, match="cannot be 'CL', which marks ceilings; give another"):
        quick("Closet", code="CL")


def test_code_given_to_two_rooms_is_refused():
    with pytest.raises(
        BadValue, match="Room code 'K' is given twice; give each its own, for example"
    ):
        house(quick("Kitchen", code="K"), quick("Den", code="K"))


def outlined(*given):
    lengths = (TEN, EIGHT, TEN, EIGHT)
    return Outline(
        walls=tuple(
            Wall(id=f"w{index}", name=f"Side {index}", length=length, letter=letter)
            for index, (length, letter) in enumerate(zip(lengths, given, strict=True))
        )
    )


def test_wall_has_the_letter_of_its_place_in_the_walk_whatever_it_is_called():
    den = Room(id="den", name="Den", shape=outlined("", "", "", ""))
    assert letters(house(den), "den") == {
        "w0": "A",
        "w1": "B",
        "w2": "C",
        "w3": "D",
        "ceiling": "CL",
    }


def test_wall_added_between_others_has_the_next_free_letter():
    den = Room(id="den", name="Den", shape=outlined("A", "", "B", "C"))
    assert letters(house(den), "den")["w1"] == "D"


@pytest.mark.parametrize("letter", ["I", "O", "a", "CL", "ABC", "1"])
def test_letter_that_is_no_letter_of_a_wall_is_refused(letter):
    with pytest.raises(BadValue, match="without I and O, which look like 1 and 0"):
        Wall(id="a", name="Wall", length=TEN, letter=letter)


def test_letter_given_to_two_walls_is_refused():
    with pytest.raises(BadValue, match="Wall letter 'A' is given twice"):
        outlined("A", "B", "C", "A")


def test_ninth_wall_and_the_fourteenth_pass_over_the_letters_read_as_numbers():
    walls = tuple(
        PlainSurface(id=f"w{index}", name="Wall", kind=SurfaceKind.WALL, width=TEN, height=EIGHT)
        for index in range(130)
    )
    listed = with_marks(house(Room(id="den", name="Den", shape=SurfaceList(surfaces=walls))))
    found = [surface.letter for surface in listed.rooms[0].shape.surfaces]
    assert found[7:9] == ["H", "J"]
    assert found[12:14] == ["N", "P"]
    assert found[23:25] == ["Z", "AA"]
    assert len(set(found)) == 130
    assert "CL" not in found


def test_ceilings_of_a_list_are_lettered_by_themselves():
    surfaces = tuple(
        PlainSurface(id=f"s{index}", name="It", kind=kind, width=TEN, height=EIGHT)
        for index, kind in enumerate(
            (SurfaceKind.CEILING, SurfaceKind.WALL, SurfaceKind.CEILING, SurfaceKind.WALL)
        )
    )
    den = Room(id="den", name="Den", shape=SurfaceList(surfaces=surfaces))
    assert letters(house(den), "den") == {"s1": "A", "s3": "B", "s0": "CLA", "s2": "CLB"}


def test_both_planes_of_a_gable_have_a_letter():
    ceiling = Ceiling(kind=CeilingKind.GABLE, height=EIGHT, low_wall="A", high=Nm(11 * FOOT))
    found = letters(house(quick("Loft", ceiling=ceiling)), "loft")
    assert sorted(found.values()) == ["A", "B", "C", "CLA", "CLB", "D"]


def closet(**fields):
    return Partition(
        id="cw",
        name="Closet wall",
        room="den",
        wall="A",
        at=Nm(6 * FOOT),
        side=Side.RIGHT,
        **fields,
    )


def with_closet(partition, den):
    behind = Room(id="closet", name="Closet", shape=BehindPartition(partition="cw"))
    return house(den, behind, partitions=(partition,))


def test_partition_has_one_letter_from_both_sides_and_walls_keep_theirs_behind_it():
    both = with_closet(closet(), quick("Den"))
    assert letters(both, "den")["cw"] == letters(both, "closet")["cw"] == "E"
    behind = letters(both, "closet")
    assert {id_: letter for id_, letter in behind.items() if id_ in "ABCD"} == {
        id_: id_ for id_ in behind if id_ in "ABCD"
    }
    assert [room.code for room in house_geometry(both).rooms] == ["D", "C"]


def test_wall_added_beside_a_partition_that_has_its_letter_takes_the_next():
    den = Room(id="den", name="Den", shape=outlined("A", "B", "C", ""))
    partition = replace(closet(letter="D"), wall="w0")
    assert letters(with_closet(partition, den), "den")["w3"] == "E"


def test_partition_with_the_letter_of_a_wall_is_refused():
    with pytest.raises(
        BadValue, match=r"Letter of a wall or partition of 'den' 'B' is given twice"
    ):
        with_closet(closet(letter="B"), quick("Den"))


def plan(*codes_of_sheets, source=None):
    sheets = [
        replace(hand_plan.sheet(code, 8), offcuts=(replace(hand_plan.OFFCUT, id=f"{code}.1"),))
        for code in codes_of_sheets
    ]
    if source is not None:
        sheets.append(replace(hand_plan.sheet("D9", 8), source=source))
    return replace(hand_plan.plan(), sheets=tuple(sheets))


def numbers(plans):
    return [[sheet.code for sheet in one.sheets] for one in plans]


def test_second_plan_of_a_room_numbers_its_sheets_on():
    plans = numbered_apart([plan("D1", "D2"), plan("D1", "D2", "D3")], {"den": "D"})
    assert numbers(plans) == [["D1", "D2"], ["D3", "D4", "D5"]]


def test_plans_that_are_apart_already_stay():
    both = [plan("D1", "R7"), plan("D4")]
    assert numbered_apart(both, {"den": "D"}) == tuple(both)


def test_plan_that_has_its_say_first_keeps_its_numbers():
    plans = numbered_apart([plan("D1", "D2"), plan("D1")], {"den": "D"}, first={1})
    assert numbers(plans) == [["D2", "D3"], ["D1"]]


def test_sheet_that_is_cut_keeps_its_mark_and_no_other_gets_it():
    plans = numbered_apart(
        [plan("D1", "D2"), plan("D4", "D1")], {"den": "D"}, taken={"D3"}, cut={"D4"}
    )
    assert numbers(plans) == [["D1", "D2"], ["D4", "D5"]]


def test_offcuts_and_what_is_cut_of_them_go_with_a_new_number():
    _, second = numbered_apart([plan("D1"), plan("D1", source="D1.1")], {"den": "D"})
    assert [sheet.code for sheet in second.sheets] == ["D2", "D3"]
    assert second.sheets[0].offcuts[0].id == "D2.1"
    assert second.sheets[1].source == "D2.1"
