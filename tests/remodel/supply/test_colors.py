"""Paint by color: its cans on the price list, in orders, and the batches they came in."""

from __future__ import annotations

import pytest
from django.urls import reverse

from remodel.board.queries import view_of
from remodel.bridge import house_value
from remodel.bridge.files import read_house_file
from remodel.history.queries import last_group
from remodel.history.services import undo
from remodel.house.queries import whole_house
from remodel.house.services import room_change
from remodel.house.things import surface_choice_set
from remodel.house_files.files import file_of_house
from remodel.house_files.imports import save_house_value
from remodel.house_files.new import default_catalogue
from remodel.supply.colors import batches_of
from remodel.supply.models import Material, Receipt
from remodel.supply.orders import order_make, order_place, receipt_take_back
from tests.remodel.factories import ada
from tests.remodel.site import browser

pytestmark = pytest.mark.django_db

FOG = {"wall_paint_color": "Harbor Fog", "wall_paint_sheen": "eggshell"}
FOG_ITEM = "paint-wall-harbor-fog-eggshell"


@pytest.fixture
def foggy(by, room):
    return room_change(by=by, room=room, **FOG)


@pytest.fixture
def placed(by, house, foggy):
    order = order_make(by=by, house=house, phases=["finishing"], rooms=[foggy])
    return order_place(by=by, order=order, without_prices=True, unseen_framing=True)


def paints(room):
    return {line.item for line in view_of(room).needs if line.item.startswith("paint-")}


def test_a_color_is_put_on_the_price_list_and_taken_off_by_undo(by, house, room):
    room_change(by=by, room=room, **FOG)
    assert paints(room) == {FOG_ITEM, "paint-ceiling"}
    row = Material.objects.get(house=house, key=FOG_ITEM)
    plain = Material.objects.get(house=house, key="paint-wall")
    assert row.name == "Wall paint, Harbor Fog, eggshell"
    assert [(pack.name, pack.price) for pack in row.packs.all()] == [
        (pack.name, pack.price) for pack in plain.packs.all()
    ]
    undo(by=by, group=last_group(room.pk))
    assert paints(room) == {"paint-wall", "paint-ceiling"}
    assert not Material.objects.filter(house=house, key=FOG_ITEM).exists()


def test_the_order_lists_cans_by_color(by, house, foggy):
    red = {"paint_color": "Barn Door", "paint_sheen": "satin", "action": "board"}
    surface_choice_set(by=by, room=foggy, surface="A", **red)
    order = order_make(by=by, house=house, phases=["finishing"], rooms=[foggy])
    names = {line.name for line in order.lines.all() if "paint" in line.name and line.packs}
    assert names == {
        "Wall paint, Harbor Fog, eggshell",
        "Wall paint, Barn Door, satin",
        "Ceiling paint",
    }


def test_the_house_file_has_the_colors(by, house, foggy):
    value = house_value(whole_house(house))
    again = save_house_value(
        by=by, value=read_house_file(file_of_house(house), default_catalogue())
    )
    assert house_value(whole_house(again)).rooms == value.rooms
    assert Material.objects.filter(house=again, key=FOG_ITEM).exists()


def test_batches_are_kept_at_delivery_and_two_are_pointed_out(by, house, placed, hosted):
    client = browser(ada())
    lines = [line for line in placed.lines.all() if line.item == FOG_ITEM]
    page = client.get(reverse("order-receive", args=[placed.pk])).content.decode()
    assert f'name="batch-{lines[0].pk}"' in page
    assert page.count('name="batch-') == len(lines) + sum(
        line.item == "paint-ceiling" and bool(line.packs) for line in placed.lines.all()
    )
    assert sum(line.packs for line in lines) >= 2

    address = reverse("order-receive", args=[placed.pk])
    for batch in ("1042", "1067"):
        page = client.get(address).content.decode()
        seen = page.split('name="seen" value="')[1].split('"')[0]
        line = next(line for line in lines if line.packs)
        data = {"seen": seen, f"came-{line.pk}": "1", f"batch-{line.pk}": batch}
        if batch == "1067":
            data["keep_more"] = "on"
        assert client.post(address, data).status_code == 302
    assert [batch.number for batch in batches_of(house, FOG_ITEM)] == ["1042", "1067"]
    shown = client.get(reverse("stock-item", args=[house.pk, FOG_ITEM])).content.decode()
    assert "Batch 1042: 1" in shown
    assert "Box them" in shown

    receipt_take_back(by=by, receipt=Receipt.objects.get(batch="1067"))
    assert [b.number for b in batches_of(house, FOG_ITEM) if b.cans] == ["1042"]


@pytest.mark.parametrize(
    ("typed", "cure"),
    [
        (
            {"wall_paint_sheen": "satin"},
            "Enter the name on the can or the chip, for example Harbor",
        ),
        ({"ceiling_paint_color": "Chalk"}, "Choose one: it is on the can too"),
    ],
)
def test_half_a_color_is_refused_with_what_to_enter(room, hosted, typed, cure):
    address = reverse("room-finish", args=[room.pk])
    full = {
        "wall_level": "4",
        "ceiling_level": "4",
        "compound": "drying",
        "tape": "paper",
        "primer_coats": "1",
        "paint_coats": "2",
    }
    answer = browser(ada()).post(address, full | typed)
    assert answer.status_code == 422
    assert cure in answer.content.decode()
    assert not paints(room) - {"paint-wall", "paint-ceiling"}
