"""The house file: what a person writes, what comes back, and what each mistake is answered with."""

import json
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from importlib.resources import files
from textwrap import dedent

import pytest
from jsonschema import Draft202012Validator

from takeoff import housefile
from takeoff.catalogue import (
    BoardKind,
    Catalogue,
    MaterialOnSale,
    OwnedSheet,
    Pack,
    SheetOnSale,
    StockItem,
)
from takeoff.choices import CutoutKind, JointMode, MeasureTo, OpeningKind, SurfaceKind
from takeoff.errors import BadValue, HouseFileError
from takeoff.house import (
    BehindPartition,
    House,
    Measure,
    Opening,
    Outline,
    QuickRoom,
    Room,
    SurfaceList,
    Wall,
)
from takeoff.housefile import house_schema, read_catalogue, read_house, write_catalogue, write_house
from takeoff.quantities import Amount, Cents
from takeoff.rules import Rules
from takeoff.units import FOOT, INCH, MM, Nm, UnitSystem

REGULAR = BoardKind(id="regular", name="Regular", weights=((Nm(INCH // 2), Decimal("1.6")),))
TAPE = MaterialOnSale(
    id="tape",
    name="Paper tape",
    packs=(Pack(name="roll", holds=Amount(Fraction(250), "ft"), price=Cents(399)),),
)
STORE = Catalogue(
    boards=(REGULAR,),
    sheets=(
        SheetOnSale(
            board="regular",
            thickness=Nm(INCH // 2),
            width=Nm(4 * FOOT),
            length=Nm(8 * FOOT),
            price=Cents(1298),
        ),
    ),
    materials=(TAPE,),
    sample=False,
)


def house(**keys):
    return {"version": 1, "name": "Our house", **keys}


def kitchen(**keys):
    return {"name": "Kitchen", "shape": {"quick": {"length": "14 ft", "width": "11 ft"}}, **keys}


def door(**keys):
    return {
        "kind": "door",
        "wall": "A",
        "left": "3 ft",
        "sill": 0,
        "width": "34 in",
        "height": "82 1/2 in",
        **keys,
    }


def read(tree, *, catalogue=STORE):
    return read_house(json.dumps(tree), catalogue=catalogue)


def problems(text, *, catalogue=STORE):
    with pytest.raises(HouseFileError) as refused:
        read_house(
            text if isinstance(text, (str, bytes)) else json.dumps(text), catalogue=catalogue
        )
    return {problem.place: problem.message for problem in refused.value.problems}


# what a person writes


def test_a_short_file_is_a_house():
    read_back = read(house(rooms=[kitchen(openings=[door()])]))
    assert read_back == House(
        id="our-house",
        name="Our house",
        catalogue=STORE,
        rooms=(
            Room(
                id="kitchen",
                name="Kitchen",
                shape=QuickRoom(length=Nm(14 * FOOT), width=Nm(11 * FOOT)),
                openings=(
                    Opening(
                        id="kitchen-door",
                        name="Door",
                        kind=OpeningKind.DOOR,
                        wall="A",
                        left=Nm(3 * FOOT),
                        sill=Nm(0),
                        width=Nm(34 * INCH),
                        height=Nm(82 * INCH + INCH // 2),
                    ),
                ),
            ),
        ),
    )


def test_a_bare_number_is_inches_or_millimetres_as_the_house_says():
    for units, unit in (("in", INCH), ("mm", MM)):
        room = read(
            house(units=units, rooms=[kitchen(longest_board=2400.5 if units == "mm" else 96.5)])
        ).rooms[0]
        assert room.longest_board == (2400.5 if units == "mm" else 96.5) * unit


def test_each_shape_of_room_has_its_key():
    rooms = [
        kitchen(shape={"quick": {"length": 120, "width": 96}}),
        {
            "name": "Hall",
            "shape": {
                "walls": [
                    {"length": 100},
                    {"length": 40},
                    {"length": 100, "turn": 90},
                    {"length": 40},
                ]
            },
        },
        {
            "name": "Shed",
            "shape": {
                "surfaces": [
                    {"kind": "wall", "width": 96, "height": 96},
                    {"kind": "ceiling", "width": 96, "height": 48},
                ]
            },
        },
        {"name": "Closet", "shape": {"behind": "closet-wall"}},
    ]
    partitions = [{"name": "Closet wall", "room": "hall", "wall": "A", "at": 50, "side": "left"}]
    read_back = read(house(rooms=rooms, partitions=partitions))
    quick, outline, plain, behind = (room.shape for room in read_back.rooms)
    assert isinstance(quick, QuickRoom)
    assert isinstance(outline, Outline)
    assert [(wall.id, wall.name, wall.turn) for wall in outline.walls] == [
        (letter, letter, 90) for letter in "ABCD"
    ]
    assert isinstance(plain, SurfaceList)
    assert [(surface.id, surface.kind) for surface in plain.surfaces] == [
        ("wall", SurfaceKind.WALL),
        ("ceiling", SurfaceKind.CEILING),
    ]
    assert behind == BehindPartition(partition="closet-wall")


def test_rules_hold_the_sheets_on_sale_and_those_owned():
    sheet = {"board": "regular", "thickness": "1/2 in", "width": "4 ft", "length": "12 ft"}
    rules = read(
        house(
            rules={
                "joint_mode": "either",
                "seam_price": 1.05,
                "sheets": [{**sheet, "price": 18.5}],
                "owned": [sheet],
            }
        )
    ).rules
    assert rules == Rules(
        joint_mode=JointMode.EITHER,
        seam_price=Decimal("1.05"),
        sheets=(
            SheetOnSale(
                board="regular",
                thickness=Nm(INCH // 2),
                width=Nm(4 * FOOT),
                length=Nm(12 * FOOT),
                price=Cents(1850),
            ),
        ),
        owned=(
            OwnedSheet(
                id="owned-sheet",
                board="regular",
                thickness=Nm(INCH // 2),
                width=Nm(4 * FOOT),
                length=Nm(12 * FOOT),
            ),
        ),
    )


def test_a_box_is_placed_by_two_readings():
    box = {
        "kind": "box",
        "surface": "B",
        "across": {"origin": "left", "distance": "2' 3"},
        "up": {"origin": "floor", "distance": 12, "to": "near"},
        "width": "2 1/4",
        "height": "3 3/4",
    }
    cutout = read(house(rooms=[kitchen(cutouts=[box])])).rooms[0].cutouts[0]
    assert cutout.kind is CutoutKind.BOX
    assert (cutout.id, cutout.name) == ("kitchen-box", "Box")
    assert cutout.across == Measure(origin="left", distance=Nm(27 * INCH))
    assert cutout.up == Measure(origin="floor", distance=Nm(12 * INCH), to=MeasureTo.NEAR)


def test_an_opening_of_a_partition_is_in_that_partition():
    partition = {
        "name": "Closet wall",
        "room": "kitchen",
        "wall": "A",
        "at": 50,
        "side": "left",
        "openings": [{key: value for key, value in door().items() if key != "wall"}],
    }
    opening = read(house(rooms=[kitchen()], partitions=[partition])).partitions[0].openings[0]
    assert (opening.id, opening.wall) == ("closet-wall-door", "closet-wall")


def test_the_handed_catalogue_serves_a_house_that_brings_none():
    own = {
        "boards": [{"id": "regular", "name": "Ours", "weights": {"1/2 in": 1.5, "16 mm": "2.2"}}],
        "currency": "EUR",
    }
    assert read(house()).catalogue == STORE
    assert read(house(), catalogue=None).catalogue == Catalogue()
    catalogue = read(house(catalogue=own)).catalogue
    assert catalogue.currency == "EUR"
    assert catalogue.boards[0].weights == ((INCH // 2, Decimal("1.5")), (16 * MM, Decimal("2.2")))


def test_stock_is_an_amount_of_a_material():
    assert read(house(stock=[{"material": "tape", "amount": "180 ft"}])).stock == (
        StockItem(material="tape", amount=Amount(Fraction(180), "ft")),
    )


def test_a_byte_order_mark_is_passed_over():
    text = json.dumps(house())
    assert (
        read_house(b"\xef\xbb\xbf" + text.encode())
        == read_house("\ufeff" + text)
        == read_house(text)
    )


# ids


def test_missing_ids_never_meet_and_are_the_same_at_every_reading():
    tree = house(
        rooms=[
            kitchen(openings=[door(), door(), door(id="kitchen-door-2"), door(name="Dörr №1")]),
            kitchen(openings=[door()]),
        ]
    )
    first = read(tree)
    assert [room.id for room in first.rooms] == ["kitchen", "kitchen-2"]
    assert [opening.id for room in first.rooms for opening in room.openings] == [
        "kitchen-door",
        "kitchen-door-3",
        "kitchen-door-2",
        "kitchen-dorr-no1",
        "kitchen-2-door",
    ]
    assert read(tree) == first


def test_a_thing_added_to_one_room_leaves_the_ids_of_another_alone():
    hall = {"name": "Hall", "shape": {"quick": {"length": 100, "width": 40}}, "openings": [door()]}
    before = read(house(rooms=[kitchen(), hall]))
    after = read(house(rooms=[kitchen(openings=[door(), door()]), hall]))
    assert before.rooms[1] == after.rooms[1]


def test_a_wall_without_an_id_passes_over_one_that_its_neighbour_has():
    walls = [
        {"length": 100},
        {"length": 40, "id": "A"},
        {"length": 100, "name": "North wall"},
        {"length": 40},
    ]
    shape = read(house(rooms=[kitchen(shape={"walls": walls})])).rooms[0].shape
    assert [wall.id for wall in shape.walls] == ["A-2", "A", "C", "D"]


def test_an_outline_of_more_than_26_walls_goes_on_in_double_letters():
    shape = read(house(rooms=[kitchen(shape={"walls": [{"length": 100}] * 30})])).rooms[0].shape
    assert [wall.id for wall in shape.walls][24:28] == ["Y", "Z", "AA", "BB"]


def test_a_name_of_no_latin_letters_still_gets_an_id():
    assert [
        room.id for room in read(house(rooms=[kitchen(name="厨房"), kitchen(name="浴室")])).rooms
    ] == [
        "room",
        "room-2",
    ]


# writing


def test_what_is_default_is_left_out():
    assert json.loads(write_house(House(id="h", name="Ours"))) == {
        "version": 1,
        "id": "h",
        "name": "Ours",
    }


def test_lengths_are_written_in_words_that_need_no_backslash():
    walls = tuple(
        Wall(id=letter, name=letter, length=Nm(150 * INCH + INCH // 2)) for letter in "ABC"
    )
    room = Room(id="r", name="R", shape=Outline(walls=walls))
    text = write_house(House(id="h", name="H", rooms=(room,)))
    assert '"length": "12 ft 6 1/2 in"' in text
    assert "\\" not in text
    assert '"length": "3822.7 mm"' in write_house(
        House(id="h", name="H", rooms=(room,), units=UnitSystem.MILLIMETRE)
    )


def test_a_catalogue_equal_to_the_handed_one_is_not_written():
    ours = House(id="h", name="H", catalogue=STORE)
    assert "catalogue" not in write_house(ours, catalogue=STORE)
    assert read_house(write_house(ours, catalogue=STORE), catalogue=STORE) == ours
    assert read_house(write_house(ours)) == ours
    bare = replace(ours, catalogue=Catalogue())
    assert read_house(write_house(bare, catalogue=STORE), catalogue=STORE) == bare


def test_a_catalogue_is_read_as_it_was_written():
    assert read_catalogue(write_catalogue(STORE)) == STORE


def test_what_no_file_can_hold_is_refused_on_writing():
    twice = BoardKind(id="b", name="B", weights=((FOOT, Decimal(1)), (FOOT, Decimal(2))))
    for catalogue in (Catalogue(boards=(twice,)), Catalogue(currency="\x07")):
        with pytest.raises(BadValue):
            write_house(House(id="h", name="H", catalogue=catalogue))
    with pytest.raises(BadValue, match="too many digits"):
        write_house(House(id="h", name="H", rules=Rules(seam_price=Decimal("1e-21"))))


def test_a_short_thing_stands_on_one_line():
    text = read(house(rooms=[kitchen()]))
    assert '"shape": {"quick": {"length": "14 ft 0 in", "width": "11 ft 0 in"}}' in write_house(
        text, catalogue=STORE
    )


# mistakes


def test_all_mistakes_are_told_at_once_each_with_its_place():
    tree = house(
        units="inch",
        rooms=[
            kitchen(openings=[door(width="6 1"), door(wall="E")], ceiling={"hieght": "8 ft"}),
            {
                "name": "Bath",
                "shape": {"quick": {"length": "9 ft", "width": True}},
                "finish": {"wall_level": 9},
            },
            kitchen(name="Den", wall_board={"kind": "regluar", "thickness": "1/2 in"}),
        ],
        rules={"joint_mode": "floatin", "seam_price": "one"},
    )
    messages = problems(tree)
    assert list(messages) == [
        "units",
        "rooms[0].openings[0].width",
        "rooms[0].ceiling.hieght",
        "rooms[1].shape.quick.width",
        "rooms[1].finish",
        "rules.joint_mode",
        "rules.seam_price",
        "rooms[0].openings[1].wall",
        "rooms[2].wall_board.kind",
    ]
    assert "did you mean 'in'" in messages["units"]
    assert "more than one way" in messages["rooms[0].openings[0].width"]
    assert "did you mean 'height'" in messages["rooms[0].ceiling.hieght"]
    assert (
        messages["rooms[1].shape.quick.width"]
        == 'Give a length, for example "12 ft 6 1/2 in"; this is true'
    )
    assert "0 to 5, for example 4" in messages["rooms[1].finish"]
    assert "did you mean 'floating'" in messages["rules.joint_mode"]
    assert "for example 1.50" in messages["rules.seam_price"]
    assert messages["rooms[0].openings[1].wall"] == "There is no wall 'E'; there are A, B, C, D"
    assert "did you mean 'regular'" in messages["rooms[2].wall_board.kind"]


@pytest.mark.parametrize(
    ("keys", "place", "says"),
    [
        ({"rooms": {}}, "rooms", "list in square brackets"),
        ({"rooms": [[]]}, "rooms[0]", "object in curly brackets"),
        ({"rooms": [None]}, "rooms[0]", "this is null"),
        (
            {"rooms": [kitchen(shape={"length": 1})]},
            "rooms[0].shape",
            "one of the keys quick, walls, surfaces, behind",
        ),
        (
            {"rooms": [kitchen(shape={"quick": {}, "walls": []})]},
            "rooms[0].shape",
            "one of the keys",
        ),
        ({"rooms": [{"name": "Den"}]}, "rooms[0].shape", "it is missing"),
        (
            {"rooms": [{"shape": {"quick": {"length": 1, "width": 1}}}]},
            "rooms[0].name",
            "it is missing",
        ),
        ({"rooms": [kitchen(name=" ")]}, "rooms[0]", "must have a name"),
        ({"rooms": [kitchen(name="a\u0000b")]}, "rooms[0].name", "control characters"),
        ({"rooms": [kitchen(name="\ud800")]}, "rooms[0].name", "control characters"),
        ({"rooms": [kitchen(name="n" * 201)]}, "rooms[0].name", "at most 200 characters"),
        ({"rooms": [kitchen(id="a/b")]}, "rooms[0].id", "letters, digits"),
        ({"rooms": [kitchen(id=5)]}, "rooms[0].id", "id in quotes"),
        (
            {"rooms": [kitchen(id="k"), kitchen(id="k")]},
            "rooms[1].id",
            "used twice, first at rooms[0]",
        ),
        (
            {"rooms": [kitchen(openings=[door(id="d"), door(id="d")])]},
            "rooms[0].openings[1].id",
            "used twice",
        ),
        (
            {"rooms": [kitchen(openings=[door(width=0)])]},
            "rooms[0].openings[0].width",
            "more than zero",
        ),
        ({"rooms": [kitchen(openings=[door(width=-3)])]}, "rooms[0].openings[0].width", "sign"),
        (
            {"rooms": [kitchen(openings=[door(width=13000)])]},
            "rooms[0].openings[0].width",
            "1000 ft",
        ),
        (
            {"rooms": [kitchen(openings=[door(sill=None)])]},
            "rooms[0].openings[0].sill",
            "this is null",
        ),
        (
            {"rooms": [kitchen(openings=[door(kind="door ")])]},
            "rooms[0].openings[0].kind",
            "did you mean 'door'",
        ),
        ({"rooms": [kitchen(finished="yes")]}, "rooms[0].finished", "true or false"),
        (
            {"rooms": [kitchen(finish={"wall_level": 3.5})]},
            "rooms[0].finish.wall_level",
            "whole number",
        ),
        (
            {"rooms": [kitchen(finish={"wall_level": True})]},
            "rooms[0].finish.wall_level",
            "whole number",
        ),
        (
            {"rooms": [kitchen(shape={"walls": [{"length": 9}]})]},
            "rooms[0].shape",
            "3 to 100 walls",
        ),
        (
            {"rooms": [kitchen(ceiling={"kind": "slope"})]},
            "rooms[0].ceiling",
            "must name its low_wall",
        ),
        (
            {"rooms": [kitchen(surfaces=[{"of": "ceiling-near"}])]},
            "rooms[0].surfaces[0].of",
            "did you mean 'ceiling'",
        ),
        ({"rooms": [kitchen(hang_first=["A", "E"])]}, "rooms[0].hang_first[1]", "no surface 'E'"),
        (
            {"rooms": [kitchen(shape={"behind": "wall"})]},
            "rooms[0].shape.behind",
            "list it under partitions",
        ),
        ({"rules": {"stagger": "-1 in"}}, "rules.stagger", "sign"),
        ({"rules": {"assumed_wall_spacing": 0}}, "rules.assumed_wall_spacing", "more than zero"),
        ({"rules": {"seam_price": -1}}, "rules", "zero or more"),
        (
            {"rules": {"wall_board": {"kind": "brick", "thickness": 1}}},
            "rules.wall_board.kind",
            "there are regular",
        ),
        (
            {"stock": [{"material": "tape", "amount": "5 gals"}]},
            "stock[0].amount",
            "did you mean 'gal'",
        ),
        (
            {"stock": [{"material": "tape", "amount": 5}]},
            "stock[0].amount",
            'for example "4.5 gal"',
        ),
        (
            {"stock": [{"material": "glue", "amount": "5 gal"}]},
            "stock[0].material",
            "there are tape",
        ),
        (
            {"stock": [{"material": "sheet-regular-0.5x48x91in", "amount": "3 each"}]},
            "stock[0].material",
            "did you mean 'sheet-regular-0.5x48x96in'",
        ),
        (
            {"stock": [{"material": "sheet-regular-0.5x48x96in", "amount": "3 ft"}]},
            "stock[0].amount",
            "say how many, for example 3 each",
        ),
        (
            {"stock": [{"material": "tape", "amount": "3 gal"}]},
            "stock[0].amount",
            "Paper tape is sold by the ft; give an amount in that, for example 3 ft",
        ),
        (
            {"stock": [{"material": "tape", "amount": "999999999999.000000000001 ft"}]},
            "stock[0].amount",
            "too many digits",
        ),
        ({"colour": "red"}, "colour", "the keys here are id, name, units"),
        ({"version": 2}, "version", "version of the format, 1"),
        ({"version": True}, "version", "version of the format, 1"),
        ({"units": 5}, "units", "Give one of in, mm"),
        (
            {
                "catalogue": {
                    "boards": [
                        {"id": "regular", "name": "R", "weights": {"1/2 in": 1, "0.5 in": 1}}
                    ]
                }
            },
            "catalogue.boards[0].weights['0.5 in']",
            "same as a key before it",
        ),
        (
            {
                "catalogue": {
                    "boards": [{"id": "regular", "name": "R"}],
                    "sheets": [
                        {"board": "x", "thickness": 1, "width": 4, "length": 8, "price": "1.005"}
                    ],
                }
            },
            "catalogue.sheets[0].price",
            "at most two decimals",
        ),
    ],
)
def test_a_mistake_is_answered_at_its_place_with_what_to_enter(keys, place, says):
    messages = problems(house(**keys))
    assert next(iter(messages)) == place
    assert says in messages[place]


@pytest.mark.parametrize("amount", ["3 each", "0 ft", "1/7 ft"])
def test_a_stick_in_stock_is_given_by_its_length(amount):
    stud = replace(TAPE, id="stud", name="Stud", cut=True)
    store = replace(STORE, materials=(stud,))
    text = json.dumps(house(stock=[{"material": "stud", "amount": amount}]))
    with pytest.raises(HouseFileError) as wrong:
        read_house(text, catalogue=store)
    (problem,) = wrong.value.problems
    assert problem.place == "stock[0].amount"
    assert "give each stick its length, for example 8 ft" in problem.message


def test_sheets_on_sale_and_materials_named_like_sheets_may_be_in_stock():
    metal = replace(TAPE, id="sheet-metal", name="Sheet metal")
    store = replace(STORE, materials=(TAPE, metal))
    stock = [
        {"material": "sheet-regular-0.5x48x96in", "amount": "7 each"},
        {"material": "sheet-metal", "amount": "3 ft"},
    ]
    value = read_house(json.dumps(house(stock=stock)), catalogue=store)
    assert [item.material for item in value.stock] == [item["material"] for item in stock]


def test_a_box_on_a_wall_is_measured_from_its_sides_floor_or_ceiling():
    box = {
        "kind": "box",
        "surface": "A",
        "across": {"origin": "B", "distance": 1},
        "up": {"origin": "left", "distance": 1},
        "width": 2,
        "height": 3,
    }
    messages = problems(house(rooms=[kitchen(cutouts=[box])]))
    assert "there are left, right" in messages["rooms[0].cutouts[0].across.origin"]
    assert "there are ceiling, floor" in messages["rooms[0].cutouts[0].up.origin"]


def test_a_light_on_a_ceiling_is_measured_from_walls():
    light = {
        "kind": "round",
        "surface": "ceiling",
        "across": {"origin": "A", "distance": 1},
        "up": {"origin": "floor", "distance": 1},
        "width": 6,
    }
    assert list(problems(house(rooms=[kitchen(cutouts=[light])]))) == [
        "rooms[0].cutouts[0].up.origin"
    ]


def test_the_planes_of_a_gable_can_be_named():
    ceiling = {"kind": "gable", "height": 96, "low_wall": "A", "high": 140}
    surfaces = [{"of": "ceiling-near", "insulated": True}, {"of": "ceiling-far", "insulated": True}]
    assert (
        len(read(house(rooms=[kitchen(ceiling=ceiling, surfaces=surfaces)])).rooms[0].surfaces) == 2
    )


def test_a_partition_stands_on_a_wall_of_a_room_there_is():
    partition = {"name": "P", "room": "kitchen", "wall": "Z", "at": 50, "side": "left"}
    assert list(problems(house(rooms=[kitchen()], partitions=[partition]))) == [
        "partitions[0].wall"
    ]
    assert list(problems(house(partitions=[partition]))) == ["partitions[0].room"]
    assert list(problems(house(rooms=[kitchen(id="den")], partitions=[partition]))) == [
        "partitions[0].room"
    ]


def test_no_room_is_cut_off_from_itself():
    rooms = [{"name": "X", "shape": {"behind": "p"}}, {"name": "Y", "shape": {"behind": "q"}}]
    partitions = [
        {"name": "P", "room": "y", "wall": "A", "at": 50, "side": "left"},
        {"name": "Q", "room": "x", "wall": "A", "at": 50, "side": "left"},
    ]
    messages = problems(house(rooms=rooms, partitions=partitions))
    assert list(messages) == ["rooms[0].shape.behind", "rooms[1].shape.behind"]
    assert "the room it makes" in messages["rooms[0].shape.behind"]


def test_two_rooms_are_not_behind_one_partition():
    rooms = [
        kitchen(),
        {"name": "X", "shape": {"behind": "p"}},
        {"name": "Y", "shape": {"behind": "p"}},
    ]
    partitions = [{"name": "P", "room": "kitchen", "wall": "A", "at": 50, "side": "left"}]
    messages = problems(house(rooms=rooms, partitions=partitions))
    assert "'x' is behind this partition already" in messages["rooms[2].shape.behind"]


def test_a_shape_says_which_of_the_keys_it_lacks_or_has_too_many_of():
    assert "this has none of them" in problems(house(rooms=[kitchen(shape={})]))["rooms[0].shape"]
    both = kitchen(shape={"quick": {}, "walls": []})
    assert "this has quick and walls" in problems(house(rooms=[both]))["rooms[0].shape"]


def test_a_gap_over_its_limit_says_both():
    message = problems(house(rules={"floor_gap": "2 in"}))["rules"]
    assert 'floor_gap is 2"' in message
    assert 'largest_floor_gap, which is 1 1/2"' in message


def test_width_and_height_in_one_text_are_asked_for_apart():
    messages = problems(house(rooms=[kitchen(openings=[door(width="32x80")])]))
    assert "give width and height each under its own key" in messages["rooms[0].openings[0].width"]


def test_a_house_in_millimetres_has_metric_rules_where_the_file_says_nothing():
    assert read(house(units="mm")).rules == Rules.metric()
    some = read(house(units="mm", rules={"stagger": 450})).rules
    assert some == replace(Rules.metric(), stagger=Nm(450 * MM))
    assert read(house()).rules == Rules()


@pytest.mark.parametrize("rules", [Rules(), Rules.metric(), replace(Rules.metric(), kerf=Nm(0))])
@pytest.mark.parametrize("units", UnitSystem)
def test_rules_of_either_kind_read_back_in_a_house_of_either(rules, units):
    made = House(id="h", name="H", units=units, rules=rules)
    assert read_house(write_house(made)) == made


def test_metric_rules_of_a_metric_house_are_left_out():
    made = House(id="h", name="H", units=UnitSystem.MILLIMETRE, rules=Rules.metric())
    assert "rules" not in json.loads(write_house(made))


def test_names_are_not_judged_by_what_could_not_be_read():
    partition = {"name": "P", "room": "kitchen", "wall": "A", "at": 50, "side": "left"}
    broken = kitchen(shape={})
    assert list(problems(house(rooms=[broken], partitions=[partition]))) == ["rooms[0].shape"]


def test_a_catalogue_file_is_checked_as_a_catalogue_in_a_house():
    sheet = {
        "board": "regluar",
        "thickness": "1/2 in",
        "width": "4 ft",
        "length": "8 ft",
        "price": "12.98",
    }
    with pytest.raises(HouseFileError) as refused:
        read_catalogue(json.dumps({"boards": [{"id": "regular", "name": "R"}], "sheets": [sheet]}))
    assert [problem.place for problem in refused.value.problems] == ["sheets[0].board"]


# what no person writes


def test_a_key_given_twice_is_refused():
    assert "more than once" in problems('{"version": 1, "name": "A", "name": "B"}')["name"]
    assert (
        "more than once"
        in problems('{"version": 1, "name": "A", "rules": {"kerf": 0, "kerf": 1}}')["rules.kerf"]
    )


@pytest.mark.parametrize(
    "number",
    [
        "NaN",
        "Infinity",
        "-Infinity",
        "9" * 5000,
        "1e999999999",
        "1E+99",
        "1e-999999999999999999999",
    ],
)
@pytest.mark.parametrize(
    ("key", "place"),
    [
        ("kerf", "rules.kerf"),
        ("seam_price", "rules.seam_price"),
        ("partition_top_plates", "rules.partition_top_plates"),
        ("adhesive", "rules.adhesive"),
    ],
)
def test_a_number_that_is_none_or_is_endless_is_refused(number, key, place):
    assert (
        "no number one can use"
        in problems(f'{{"version": 1, "name": "A", "rules": {{"{key}": {number}}}}}')[place]
    )


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "The file is empty"),
        (" \n", "The file is empty"),
        ('{"version": 1,}', "line 1, column 15: a comma stands before a }"),
        ('{"rooms": [1,]}', "a value is missing, or a comma stands before a ]"),
        ('{"version": 1 "name": "A"}', "a comma is missing"),
        ("{", "not JSON"),
        ('{"version": 1,\n "name": "12\' 6""}', "not JSON at line 2"),
        ("[]", "must be one object"),
        ("null", "must be one object"),
        ("[" * 100_000, "nested more than 20"),
        ('{"rooms":' * 30 + "1" + "}" * 30, "nested more than 20"),
        ('{"version": 1, "note": "' + "x" * 2_000_000, "over 2 MB"),
        (json.dumps(house()).encode("utf-16"), "not UTF-8"),
        (b'{"name": "\xff"}', "not UTF-8 text (byte 11)"),
        ('\\"' * 900_000, "not JSON"),
    ],
)
def test_a_file_that_is_no_house_file_is_refused_whole(text, says):
    assert says in problems(text)[""]


def test_brackets_inside_text_are_not_depth():
    assert read(house(note="[" * 100 + '"{' * 50)).note.startswith("[[[")


def test_after_a_hundred_problems_reading_stops_and_says_so():
    with pytest.raises(HouseFileError) as refused:
        read(house(rooms=[5] * 150))
    assert len(refused.value.problems) == 101
    assert refused.value.problems[-1].message == "There may be more; put these right first"


def test_many_things_of_one_name_get_their_ids_in_short_time():
    tree = house(rooms=[kitchen(openings=[door(left=0)] * 8_000)])
    assert len({opening.id for opening in read(tree).rooms[0].openings}) == 8_000


# the schema


def test_the_schema_beside_the_reader_is_the_readers_own():
    kept = files("takeoff.housefile").joinpath("house.schema.json").read_text(encoding="utf-8")
    assert json.loads(kept) == house_schema(), dedent("""
        The values have changed. Write it again:
        make schemas""")


def test_the_schema_is_one():
    Draft202012Validator.check_schema(house_schema())


def test_the_schema_takes_a_short_file_and_refuses_an_unknown_key():
    validator = Draft202012Validator(house_schema())
    assert validator.is_valid(house(rooms=[kitchen(openings=[door()])]))
    assert not validator.is_valid(house(colour="red"))
    assert not validator.is_valid(house(rooms=[kitchen(openings=[door(colour="red")])]))
    assert not validator.is_valid(
        house(rooms=[kitchen(shape={"quick": {"length": 1, "width": 1}, "walls": []})])
    )


def test_the_example_of_the_documentation_is_a_house():
    documented = (housefile.__doc__ or "").partition("\n\n")[2].partition("\n\nKeys are")[0]
    assert read_house(documented).rooms[0].openings[0].width == 34 * INCH
