"""What the database itself refuses, whoever writes."""

import pytest
from django.db import IntegrityError, transaction

from remodel.bridge.lengths import FOOT, LONGEST
from remodel.house.models import Cutout, Opening, Partition, Room, SurfaceChoice, Wall
from remodel.supply.models import Movement, OrderLine, Pack, SheetOnSale
from tests.remodel.factories import HouseFactory, RoomFactory

pytestmark = pytest.mark.django_db


def refused(save):
    with pytest.raises(IntegrityError), transaction.atomic():
        save()
    return True


@pytest.mark.parametrize("length", [0, -1, LONGEST + 1])
def test_wall_length_is_more_than_zero_and_at_most_1000_ft(length):
    room = RoomFactory()
    assert refused(lambda: Wall.objects.create(room=room, key="E", name="E", length=length))


@pytest.mark.parametrize(
    "wrong",
    [
        {"width": 0},
        {"height": -1},
        {"left": -1},
        {"sill": -1},
        {"kind": "hatch"},
        {"plane": "ceiling"},
    ],
)
def test_opening_has_a_size_a_place_and_a_known_kind(wrong):
    room = RoomFactory()
    right = {
        "left": 0,
        "sill": 0,
        "width": FOOT,
        "height": FOOT,
        "kind": "door",
        "wall": Wall.objects.first(),
    }
    Opening.objects.create(room=room, key="right", name="Door", **right)
    assert refused(
        lambda: Opening.objects.create(room=room, key="wrong", name="Door", **{**right, **wrong})
    )


def test_opening_is_in_a_room_or_in_a_partition():
    wall = RoomFactory().walls.first()
    values = {"key": "o", "name": "o", "left": 0, "width": FOOT, "height": FOOT, "wall": wall}
    assert refused(lambda: Opening.objects.create(**values))


def test_round_cut_out_has_no_height_and_a_box_has_one():
    room = RoomFactory()
    values = {
        "room": room,
        "name": "Box",
        "plane": "ceiling",
        "across_origin": "A",
        "across_distance": 0,
        "up_origin": "B",
        "up_distance": 0,
        "width": FOOT,
    }
    assert refused(lambda: Cutout.objects.create(key="a", kind="box", **values))
    assert refused(lambda: Cutout.objects.create(key="b", kind="round", height=FOOT, **values))


def test_room_behind_a_partition_names_it_and_no_other_does():
    house = HouseFactory()
    assert refused(lambda: Room.objects.create(house=house, key="a", name="A", shape="behind"))


def test_finish_level_is_five_at_most():
    house = HouseFactory()
    assert refused(lambda: Room.objects.create(house=house, key="a", name="A", wall_level=6))


def test_surface_has_one_choice():
    room = RoomFactory()
    SurfaceChoice.objects.create(room=room, plane="ceiling")
    assert refused(lambda: SurfaceChoice.objects.create(room=room, plane="ceiling"))


def test_partition_is_spaced():
    room = RoomFactory()
    wall = room.walls.first()
    values = {"house": room.house, "room": room, "wall": wall, "key": "p", "name": "P", "at": FOOT}
    assert refused(lambda: Partition.objects.create(**values, spacing=0))


def test_price_is_zero_or_more():
    house = HouseFactory()
    values = {"house": house, "board": "regular", "thickness": 1, "width": FOOT, "length": FOOT}
    assert refused(lambda: SheetOnSale.objects.create(**values, price=-1))


@pytest.mark.parametrize(("top", "bottom"), [(0, 1), (-1, 1), (1, 0), (1, -1)])
def test_pack_holds_more_than_zero(top, bottom):
    material = HouseFactory().materials.create(key="m", name="M")
    assert refused(
        lambda: Pack.objects.create(
            material=material, name="box", numerator=top, denominator=bottom, unit="each"
        )
    )


@pytest.mark.parametrize(
    ("kind", "top", "bottom"),
    [("used", 3, 1), ("received", -3, 1), ("received", 0, 1), ("counted", 1, 0)],
)
def test_movement_goes_the_way_its_kind_says(kind, top, bottom):
    from django.utils import timezone

    house, now = HouseFactory(), timezone.now()
    assert refused(
        lambda: Movement.objects.create(
            house=house,
            serial=1,
            item="x",
            kind=kind,
            numerator=top,
            denominator=bottom,
            unit="each",
            day=now.date(),
            at=now,
        )
    )


def test_order_line_that_differs_says_why():
    order = HouseFactory().orders.create(name="One")
    values = {
        "order": order,
        "phase": "hanging",
        "item": "x",
        "name": "X",
        "need": "1",
        "unit": "each",
        "pack": "box",
    }
    assert refused(lambda: OrderLine.objects.create(**values, worked_out=2, packs=3))


def test_money_and_lengths_are_whole_numbers_and_no_column_is_a_float():
    from django.apps import apps
    from django.db.models import FloatField

    ours = [model for model in apps.get_models() if model.__module__.startswith("remodel.")]
    assert len(ours) > 25
    assert not [
        field for model in ours for field in model._meta.fields if isinstance(field, FloatField)
    ]
