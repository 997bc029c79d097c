"""Paint by color and sheen: which cans serve which surfaces."""

from dataclasses import replace
from fractions import Fraction

import pytest

from takeoff.choices import Action, Sheen
from takeoff.errors import BadValue, HouseFileError
from takeoff.house import Ceiling, Finish, House, Paint, QuickRoom, Room, SurfaceChoice
from takeoff.housefile import read_house, write_house
from takeoff.job import take_off
from takeoff.needs.materials import material_name, paint_kind
from takeoff.paint import paint_id
from tests.takeoff.houses import default_catalogue
from tests.takeoff.needs_room import inches

FOG = Paint(color="Harbor Fog", sheen=Sheen.EGGSHELL)
FOG_ITEM = "paint-wall-harbor-fog-eggshell"


def room_of(id_: str, walls: Paint | None = None, *choices: SurfaceChoice, **finish) -> Room:
    """A room 12 by 10 by 8 ft that stays as it is and is painted once: 352 sq ft of wall, 120 of
    ceiling."""
    left = {choice.of for choice in choices}
    return Room(
        id=id_,
        name=id_.capitalize(),
        shape=QuickRoom(length=inches(144), width=inches(120)),
        ceiling=Ceiling(height=inches(96)),
        surfaces=(
            *choices,
            *(
                SurfaceChoice(of=of, action=Action.LEAVE)
                for of in ("A", "B", "C", "D", "ceiling")
                if of not in left
            ),
        ),
        finish=Finish(paint_coats=1, wall_paint=walls, **finish),
    )


def house_of(*rooms: Room) -> House:
    return House(id="h", name="House", rooms=rooms, catalogue=default_catalogue())


def paints(house: House) -> dict[str, Fraction]:
    amounts: dict[str, Fraction] = {}
    for need in take_off(house).needs:
        if paint_kind(need.material):
            amounts[need.material] = amounts.get(need.material, Fraction(0)) + need.amount.value
    return amounts


def cans(house: House) -> dict[str, Fraction]:
    lines = take_off(house).supply.lines
    return {
        line.name: sum((pack.holds.value * pack.count for pack in line.packs), Fraction(0))
        for line in lines
        if paint_kind(line.material)
    }


def test_where_no_color_is_said_paint_is_counted_as_before():
    assert set(paints(house_of(room_of("den")))) == {"paint-wall", "paint-ceiling"}


def test_a_color_is_an_item_of_its_own_in_the_same_amount():
    plain, colored = paints(house_of(room_of("den"))), paints(house_of(room_of("den", FOG)))
    assert colored[FOG_ITEM] == plain["paint-wall"]
    assert "paint-wall" not in colored


def test_cans_of_one_color_serve_two_rooms_and_no_other_color():
    # Two rooms of 6 by 5 ft have 176 sq ft of wall each. At 300 sq ft to the gallon that is 0.59
    # each: a gallon, for three quarts are dearer. Together it is 1.17: a gallon and a quart.
    small = QuickRoom(length=inches(72), width=inches(60))
    other = Paint(color="Barn Door", sheen=Sheen.EGGSHELL)
    den, hall, red = (
        replace(room_of(id_, paint), shape=small)
        for id_, paint in (("den", FOG), ("hall", FOG), ("hall", other))
    )
    assert cans(house_of(den, hall))["Wall paint, Harbor Fog, eggshell"] == 1.25
    apart = cans(house_of(den, red))
    assert apart["Wall paint, Harbor Fog, eggshell"] == 1
    assert apart["Wall paint, Barn Door, eggshell"] == 1


def test_another_sheen_is_another_can():
    satin = replace(FOG, sheen=Sheen.SATIN)
    assert len(cans(house_of(room_of("den", FOG), room_of("hall", satin)))) == 3  # ceiling paint


def test_one_wall_may_have_a_color_of_its_own():
    red = Paint(color="Barn Door", sheen=Sheen.SATIN)
    accent = SurfaceChoice(of="A", action=Action.LEAVE, paint=red)
    found = paints(house_of(room_of("den", FOG, accent)))
    # Wall A is 12 x 8 of 352 sq ft.
    assert found["paint-wall-barn-door-satin"] * 256 == found[FOG_ITEM] * 96


def test_a_ceiling_of_a_color_takes_ceiling_paint_of_it():
    found = paints(house_of(room_of("den", None, ceiling_paint=FOG)))
    assert set(found) == {"paint-wall", "paint-ceiling-harbor-fog-eggshell"}


@pytest.mark.parametrize("name", ["harbor fog", " Harbor  Fog", "HARBOR-FOG", "Harbor Fog."])
def test_a_color_typed_in_another_way_is_the_same_color(name):
    assert paint_id("paint-wall", replace(FOG, color=name)) == FOG_ITEM


@pytest.mark.parametrize(
    "names",
    [("Grau №1", "Grau №2"), ("青", "白"), ("Fog " * 15 + "1", "Fog " * 15 + "2")],
)
def test_colors_that_differ_are_never_one_item(names):
    one, two = (paint_id("paint-ceiling", replace(FOG, color=name)) for name in names)
    assert one != two
    assert max(len(one), len(two)) <= 64


def test_a_color_without_a_name_is_refused_with_what_to_enter():
    with pytest.raises(
        BadValue, match="enter the one on the can or the chip, for example 'Harbor Fog'"
    ):
        Paint(color="  ", sheen=Sheen.FLAT)


def test_a_house_file_says_colors_and_gives_them_back():
    house = read_house(write_house(house_of(room_of("den", FOG)), catalogue=default_catalogue()))
    assert house.rooms[0].finish.wall_paint == FOG
    again = read_house(write_house(house))
    assert again == house


def test_a_file_that_says_a_color_has_its_cans_on_the_price_list():
    text = write_house(house_of(room_of("den", FOG)), catalogue=default_catalogue())
    house = read_house(text, catalogue=default_catalogue())
    sold = {material.id: material for material in house.catalogue.materials}
    assert sold[FOG_ITEM].packs == sold["paint-wall"].packs
    assert sold[FOG_ITEM].name == "Wall paint, Harbor Fog, eggshell"


def test_a_file_with_a_sheen_and_no_color_is_refused():
    text = """{"version": 1, "id": "h", "name": "H", "rooms": [{"name": "Den", "shape":
    {"quick": {"length": "12 ft", "width": "10 ft"}}, "finish": {"wall_paint":
    {"color": "", "sheen": "satin"}}}]}"""
    with pytest.raises(HouseFileError, match="enter the one on the can"):
        read_house(text)


def test_a_color_that_no_list_sells_still_has_a_name():
    assert material_name(FOG_ITEM) == "Wall paint, harbor fog eggshell"
