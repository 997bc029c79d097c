"""What people add to the phases of a room, each sum worked by hand beside it."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest

from takeoff.catalogue import Catalogue, MaterialOnSale, Pack
from takeoff.choices import CountedBy, FramedWhen, OpeningKind, Side, SurfaceKind
from takeoff.errors import BadValue
from takeoff.house import (
    AddedNeed,
    BehindPartition,
    Ceiling,
    House,
    Opening,
    Outline,
    OwnPhase,
    Partition,
    PlainSurface,
    QuickRoom,
    Room,
    SurfaceList,
    Wall,
)
from takeoff.job import take_off
from takeoff.needs.need import Phase
from takeoff.quantities import Amount, Cents, parse_amount
from takeoff.report.why_text import why_text
from takeoff.units import FOOT, Nm, UnitSystem
from tests.takeoff.houses import default_catalogue
from tests.takeoff.needs_room import assert_reasons_add_up, inches


def sold(id_: str, *holds: str, cut: bool = False) -> MaterialOnSale:
    packs = tuple(
        Pack(name=f"pack of {text}", holds=parse_amount(text), price=Cents(1000)) for text in holds
    )
    return MaterialOnSale(id=id_, name=id_.capitalize(), packs=packs, cut=cut)


CATALOGUE = Catalogue(
    boards=default_catalogue().boards,
    sheets=default_catalogue().sheets,
    materials=(
        *default_catalogue().materials,
        sold("oak", "20 sq ft"),
        sold("stain", "1 gal"),
        sold("hinge", "2 each"),
        sold("baseboard", "8 ft", "12 ft", cut=True),
    ),
)


def opening(
    id_: str, kind: OpeningKind, wall: str, left: int, width: int, sill: int = 0
) -> Opening:
    return Opening(
        id=id_,
        name=id_.capitalize(),
        kind=kind,
        wall=wall,
        left=inches(left),
        sill=inches(sill),
        width=inches(width),
        height=inches(80 if not sill else 40),
    )


OPENINGS = (
    opening("door", OpeningKind.DOOR, "A", 24, 32),
    opening("way", OpeningKind.PASSAGE, "C", 48, 48),
    opening("window", OpeningKind.WINDOW, "B", 30, 36, sill=36),
)


def add(material: str, amount: str, by: str = "hand", per: str | None = None, **more) -> AddedNeed:
    return AddedNeed(
        **{"id": f"den-{material}", "phase": "own-trim"} | more,
        material=material,
        amount=parse_amount(amount),
        goes_by=CountedBy(by),
        per=None if per is None else parse_amount(per),
    )


def house_of(*added: AddedNeed, units: UnitSystem = UnitSystem.INCH, **changes) -> House:
    """A room 12 by 10 by 8 ft with a door, a cased opening and a window."""
    room = Room(
        **{
            "id": "den",
            "name": "Den",
            "shape": QuickRoom(length=inches(144), width=inches(120)),
            "ceiling": Ceiling(height=inches(96)),
            "openings": OPENINGS,
            "phases": (OwnPhase(id="own-trim", name="Trim"),),
            "added": added,
        }
        | changes
    )
    return House(id="h", name="House", units=units, rooms=(room,), catalogue=CATALOGUE)


def needs_in(*added: AddedNeed, **changes):
    made = take_off(house_of(*added, **changes))
    assert_reasons_add_up(made.needs)
    return {(need.phase, need.material): need for need in made.needs}


@pytest.mark.parametrize(
    ("by", "per", "amount"),
    [
        ("floor", "1 sq ft", 120),  # 12 x 10
        ("ceiling", "1 sq ft", 120),
        # 2 x (12 + 10) x 8 = 352; less 32 x 80, 48 x 80 and 36 x 40 in: 7840 / 144
        ("walls", "1 sq ft", 352 - Fraction(7840, 144)),
    ],
)
def test_an_amount_goes_by_an_area_of_the_room(by, per, amount):
    need = needs_in(add("oak", "1 sq ft", by, per))["own-trim", "oak"]
    assert need.amount == Amount(Fraction(amount), "sq ft")


def test_waste_is_a_reason_of_its_own():
    need = needs_in(add("oak", "1 sq ft", "floor", "1 sq ft", waste=Decimal(10)))["own-trim", "oak"]
    assert [reason.amount.value for reason in need.reasons] == [120, 12]
    assert "10% waste" in need.reasons[1].text


def test_an_amount_for_many_square_feet_is_its_share():
    need = needs_in(add("stain", "1 gal", "floor", "300 sq ft"))["own-trim", "stain"]
    assert need.amount == Amount(Fraction(120, 300), "gal")


def test_pieces_go_by_the_doors_and_are_whole():
    # One door: 3 hinges, and a tenth more is a fourth.
    need = needs_in(add("hinge", "3 each", "doors", "1 each", waste=Decimal(10)))
    assert [reason.amount.value for reason in need["own-trim", "hinge"].reasons] == [3, 1]


def test_baseboard_is_cut_wall_by_wall_between_the_doors():
    # A: 24 in, a door of 32, 88 in. B: 120. C: 48, a cased opening of 48, 48. D: 120.
    need = needs_in(add("baseboard", "1 ft", "baseboard", "1 ft"))["own-trim", "baseboard"]
    assert [length / inches(1) for length in need.lengths] == [120, 120, 88, 48, 48, 24]
    assert need.amount == Amount(Fraction(448, 12), "ft")


def test_what_goes_round_the_room_is_cut_wall_by_wall_in_sticks_on_sale():
    # Two rails round a room of 14 by 10 ft: each long wall in two parts of 7 ft, for 12 ft is all
    # that is sold.
    shape = QuickRoom(length=inches(168), width=inches(120))
    need = needs_in(add("baseboard", "2 ft", "perimeter", "1 ft"), shape=shape)
    lengths = [length / inches(1) for length in need["own-trim", "baseboard"].lengths]
    assert lengths == [120] * 4 + [84] * 8


def test_a_casing_goes_round_each_door():
    need = needs_in(add("baseboard", "17 ft", "doors", "1 each"))["own-trim", "baseboard"]
    assert [length / FOOT for length in need.lengths] == [8.5, 8.5]


def test_an_amount_by_hand_stays_whatever_the_room_is():
    small = needs_in(add("hinge", "18 each"))["own-trim", "hinge"].amount
    large = needs_in(
        add("hinge", "18 each"), shape=QuickRoom(length=inches(240), width=inches(240))
    )["own-trim", "hinge"].amount
    assert small == large == Amount(Fraction(18), "each")


def test_a_larger_room_takes_more():
    shape = QuickRoom(length=inches(180), width=inches(120))
    need = needs_in(add("oak", "1 sq ft", "floor", "1 sq ft"), shape=shape)["own-trim", "oak"]
    assert need.amount.value == 150


def test_a_room_with_an_outside_corner_has_its_whole_way_round():
    # An L of 12 by 10 ft with a notch of 4 by 3 ft: the way round is that of the rectangle.
    sides = [(144, 90), (84, 90), (48, -90), (36, 90), (96, 90), (120, 90)]
    walls = tuple(
        Wall(id=letter, name=letter, length=inches(long), turn=Decimal(turn))
        for letter, (long, turn) in zip("ABCDEF", sides, strict=True)
    )
    need = needs_in(
        add("baseboard", "1 ft", "perimeter", "1 ft"), shape=Outline(walls=walls), openings=()
    )
    assert need["own-trim", "baseboard"].amount.value == 44


def test_behind_a_partition_each_room_has_its_own_baseboard():
    partition = Partition(
        id="p",
        name="Closet wall",
        room="den",
        wall="A",
        at=inches(96),
        side=Side.RIGHT,
        openings=(opening("closet-door", OpeningKind.DOOR, "p", 40, 30),),
    )
    closet = Room(
        id="closet",
        name="Closet",
        shape=BehindPartition(partition="p"),
        phases=(OwnPhase(id="own-trim", name="Trim"),),
        added=(add("baseboard", "1 ft", "baseboard", "1 ft", id="closet-base"),),
    )
    base = house_of(add("baseboard", "1 ft", "baseboard", "1 ft"), openings=())
    for framed in ("before", "after"):
        house = replace(
            base,
            rooms=(*base.rooms, closet),
            partitions=(replace(partition, framed=FramedWhen(framed)),),
        )
        made = {
            need.room: need.amount.value
            for need in take_off(house).needs
            if need.phase == "own-trim"
        }
        # 8 ft, 3 1/2 in of frame and 3 ft 8 1/2 in are 12 ft. Both are 10 ft deep, and the door of
        # 30 in is in both.
        assert made == {
            "den": Fraction(2 * (96 + 120) - 30, 12),
            "closet": Fraction(2 * 120 + 2 * Fraction(89, 2) - 30, 12),
        }, framed


def test_what_is_added_to_a_built_in_phase_joins_what_it_takes_anyhow():
    plain = needs_in()[Phase.FINISHING, "primer"]
    more = needs_in(add("primer", "1 gal", phase="finishing"))[Phase.FINISHING, "primer"]
    assert more.amount.value == plain.amount.value + 1
    assert more.reasons[: len(plain.reasons)] == plain.reasons


def test_a_finished_room_takes_nothing_of_it():
    assert not needs_in(add("hinge", "18 each"), finished=True)


def test_what_is_sold_by_another_unit_is_told_and_not_counted():
    made = take_off(house_of(add("oak", "3 gal")))
    assert not [need for need in made.needs if need.material == "oak"]
    assert any("Oak is measured in sq ft" in text for text in made.warnings)


def test_it_is_bought_and_explained_under_the_name_of_its_phase():
    made = take_off(house_of(add("oak", "1 sq ft", "floor", "1 sq ft", note="Hall and den")))
    (line,) = (line for line in made.supply.lines if line.material == "oak")
    assert (line.phase, [pack.count for pack in line.packs]) == ("own-trim", [6])
    text = why_text(made, made.needs, "oak")
    assert "Trim, Den: 120 sq ft" in text
    assert "Hall and den: 120 sq ft of floor" in text


def test_a_plain_list_goes_by_its_walls():
    surfaces = tuple(
        PlainSurface(
            id=id_, name=id_, kind=SurfaceKind.WALL, width=inches(width), height=inches(96)
        )
        for id_, width in (("one", 100), ("two", 60))
    )
    need = needs_in(
        add("baseboard", "1 ft", "perimeter", "1 ft"),
        shape=SurfaceList(surfaces=surfaces),
        openings=(),
    )["own-trim", "baseboard"]
    assert need.amount.value == Fraction(160, 12)


@pytest.mark.parametrize(
    ("wrong", "cure"),
    [
        ({"amount": "0 each"}, "more than zero, for example 18 each"),
        ({"by": "floor"}, "per must be an area of more than zero, for example 1 sq ft"),
        ({"by": "floor", "per": "1 ft"}, "per must be an area"),
        ({"by": "doors", "per": "1 ft"}, "per must be a number of pieces"),
        ({"by": "baseboard", "per": "1 each"}, "per must be a length"),
        ({"per": "1 each"}, "leave out per"),
        ({"waste": Decimal(101)}, "from 0 to 100, for example 10"),
        ({"waste": Decimal("NaN")}, "from 0 to 100, for example 10"),
    ],
)
def test_what_cannot_be_is_refused_with_what_to_enter(wrong, cure):
    with pytest.raises(BadValue, match=cure.replace("(", r"\(")):
        add(**{"material": "hinge", "amount": "1 each"} | wrong)


def test_a_phase_that_nobody_named_is_refused_with_those_there_are():
    with pytest.raises(BadValue, match="finishing, own-trim, or name it under phases"):
        house_of(add("hinge", "1 each", phase="own-floor"))


def test_metric_sizes_are_told_in_meters():
    made = take_off(
        house_of(
            add("oak", "1 m2", "floor", "1 m2"),
            units=UnitSystem.MILLIMETRE,
            shape=QuickRoom(length=Nm(4_000_000_000), width=Nm(3_000_000_000)),
            openings=(),
        )
    )
    (need,) = (need for need in made.needs if need.material == "oak")
    assert need.reasons[0].text == "12 m2 of floor"
