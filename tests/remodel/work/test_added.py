"""What people add to a phase of a room: on its page, in orders, in the stock, in the house file."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from django.urls import reverse

from remodel.board.queries import view_of
from remodel.bridge import house_value
from remodel.bridge.files import read_house_file
from remodel.bridge.lengths import FOOT, amount
from remodel.history.errors import Refused
from remodel.history.queries import last_group
from remodel.history.services import undo
from remodel.house.models import House
from remodel.house.queries import whole_house
from remodel.house.services import room_resize
from remodel.house_files.files import file_of_house, what_a_file_carries
from remodel.house_files.imports import save_house_value
from remodel.house_files.new import default_catalogue
from remodel.supply.orders import order_make, order_place, order_receive
from remodel.supply.services import material_add
from remodel.supply.standing import standing_of
from remodel.work.models import AddedNeed, Phase
from remodel.work.services import (
    added_need_add,
    added_need_change,
    added_need_remove,
    phase_add,
    phase_remove,
    phase_set_state,
)
from tests.remodel.factories import ada
from tests.remodel.site import browser, small_house

pytestmark = pytest.mark.django_db

OAK = {"material": "oak-flooring", "amount": "1 sq ft", "goes_by": "floor", "per": "1 sq ft"}


@pytest.fixture
def oak(by, house):
    """Oak flooring in boxes of 20 sq ft for $80."""
    pack = {"name": "box", "holds": amount(20, "sq ft"), "price": 8000, "weight": None}
    return material_add(by=by, house=house, name="Oak flooring", cut=False, pack=pack)


@pytest.fixture
def floor(by, room, oak) -> Phase:
    return phase_add(by=by, room=room, name="Floor")


def needs_in(room):
    return {(line.phase, line.item): line.amount for line in view_of(room).needs}


def test_what_is_added_is_a_need_and_follows_the_room(by, room, floor):
    added_need_add(by=by, phase=floor, **OAK)
    assert needs_in(room)["own-floor", "oak-flooring"] == amount(120, "sq ft")
    room_resize(by=by, room=room, length=15 * FOOT, width=10 * FOOT, ceiling_height=8 * FOOT)
    assert needs_in(room)["own-floor", "oak-flooring"] == amount(150, "sq ft")


def test_it_is_changed_removed_and_brought_back(by, room, floor):
    need = added_need_add(by=by, phase=floor, **OAK)
    added_need_change(by=by, need=need, waste=Decimal(10))
    assert needs_in(room)["own-floor", "oak-flooring"] == amount(132, "sq ft")
    added_need_remove(by=by, need=need)
    assert ("own-floor", "oak-flooring") not in needs_in(room)
    undo(by=by, group=last_group(need.pk))
    assert needs_in(room)["own-floor", "oak-flooring"] == amount(132, "sq ft")


def test_a_phase_that_is_removed_takes_what_was_added_with_it(by, room, floor):
    added_need_add(by=by, phase=floor, **OAK)
    phase_remove(by=by, phase=floor)
    assert ("own-floor", "oak-flooring") not in needs_in(room)
    undo(by=by, group=last_group(floor.pk))
    assert needs_in(room)["own-floor", "oak-flooring"] == amount(120, "sq ft")


def test_it_is_ordered_received_claimed_and_used_by_its_phase(by, house, room, floor):
    added_need_add(by=by, phase=floor, **OAK)
    order = order_make(by=by, house=house, phases=["own-floor"], rooms=[room])
    (line,) = order.lines.all()
    assert (line.item, line.phase, line.packs) == ("oak-flooring", "own-floor", 6)
    assert order.name == "Floor: Kitchen"

    order_place(by=by, order=order, unseen_framing=True)
    line = order.lines.get()
    order_receive(by=by, line=line, packs=6, paid=48000)
    standing = standing_of(house)
    assert standing.claimed_since(floor.pk, "oak-flooring") is not None
    assert standing.dealt("oak-flooring").of(floor.pk).here == 120

    phase_set_state(by=by, phase=floor, state="done")
    assert standing_of(house).here["oak-flooring"].amount == 0


def test_two_rooms_order_one_phase_together(by):
    house = small_house(ada(), "Kitchen", "Hall")
    pack = {"name": "box", "holds": amount(20, "sq ft"), "price": 8000, "weight": None}
    material_add(by=by, house=house, name="Oak flooring", cut=False, pack=pack)
    rooms = list(house.rooms.order_by("position"))
    for room in rooms:
        added_need_add(by=by, phase=phase_add(by=by, room=room, name="Floor"), **OAK)
    order = order_make(by=by, house=house, phases=["own-floor"], rooms=rooms)
    (line,) = order.lines.all()
    assert (Fraction(line.need), line.packs) == (240, 12)


def test_rough_in_is_ordered_once_something_is_added_to_it(by, house, room, oak):
    with pytest.raises(Refused, match="Choose at least one phase"):
        order_make(by=by, house=house, phases=["rough-in"], rooms=[room])
    values = OAK | {"amount": "40 sq ft", "goes_by": "hand", "per": ""}
    added_need_add(by=by, phase=room.phases.get(key="rough-in"), **values)
    (line,) = order_make(by=by, house=house, phases=["rough-in"], rooms=[room]).lines.all()
    assert line.packs == 2


def test_the_house_file_has_it_and_gives_it_back(by, house, room, floor):
    added_need_add(by=by, phase=floor, **OAK | {"waste": Decimal(10), "note": "Along the hall"})
    values = OAK | {"amount": "40 sq ft", "goes_by": "hand", "per": ""}
    added_need_add(by=by, phase=room.phases.get(key="finishing"), **values)
    value = house_value(whole_house(house))
    written = read_house_file(file_of_house(house), default_catalogue())
    assert written.rooms == value.rooms
    again = save_house_value(by=by, value=written)
    assert house_value(whole_house(again)).rooms == value.rooms
    assert needs_in(again.rooms.get())["own-floor", "oak-flooring"] == amount(132, "sq ft")


def test_a_file_tells_what_it_cannot_hold(by, house, room, floor, oak):
    added_need_add(by=by, phase=floor, **OAK)
    # As old data may have it: a service lets nobody take the last pack away.
    oak.packs.all().delete()
    carried = what_a_file_carries(House.objects.get(pk=house.pk))
    assert not carried.house.rooms[0].added
    assert "oak-flooring, added in Kitchen: it is not on your price list" in carried.left_out
    assert read_house_file(carried.text, default_catalogue()).rooms[0].phases


# The pages


def entry(**changes):
    return {
        "material": "oak-flooring",
        "amount": "1",
        "goes_by": "floor",
        "per": "",
        "waste": "10",
        "note": "",
    } | changes


@pytest.fixture
def client(hosted):
    return browser(ada())


def test_a_person_adds_edits_and_removes_it(client, room, floor):
    page = client.get(reverse("added-add", args=[floor.pk])).content.decode()
    assert "Oak flooring (sq ft)" in page
    assert "Floor area: 120 sq ft" in page

    answer = client.post(reverse("added-add", args=[floor.pk]), entry())
    assert answer.headers["Location"] == reverse("phase-detail", args=[floor.pk])
    assert needs_in(room)["own-floor", "oak-flooring"] == amount(132, "sq ft")
    shown = client.get(reverse("phase-detail", args=[floor.pk])).content.decode()
    assert "1 sq ft for every 1 sq ft of: floor area, 10% waste" in shown

    need = AddedNeed.objects.get()
    edit = reverse("added-edit", args=[need.pk])
    assert 'value="10"' in client.get(edit).content.decode()
    client.post(edit, entry(waste=""))
    assert needs_in(room)["own-floor", "oak-flooring"] == amount(120, "sq ft")
    client.post(reverse("added-remove", args=[need.pk]))
    assert ("own-floor", "oak-flooring") not in needs_in(room)


@pytest.mark.parametrize(
    ("wrong", "cure"),
    [
        ({"amount": "0"}, "must be a number, more than zero, for example 18"),
        ({"amount": ""}, "How much&quot; is empty"),
        ({"waste": "120"}, "must be from 0 to 100, for example 10"),
        ({"per": "0"}, "must be a number, more than zero, for example 1"),
        ({"material": ""}, "What it takes&quot; is empty. Choose one"),
    ],
)
def test_a_wrong_entry_says_what_to_enter_and_keeps_what_was_typed(client, floor, wrong, cure):
    answer = client.post(reverse("added-add", args=[floor.pk]), entry(note="Kept") | wrong)
    assert answer.status_code == 422
    assert cure in answer.content.decode()
    assert 'value="Kept"' in answer.content.decode()
    assert not AddedNeed.objects.exists()


def test_pages_name_the_persons_own_phase(client, by, house, room, floor):
    added_need_add(by=by, phase=floor, **OAK)
    texts = {
        ("room-detail", room.pk): "Floor",
        ("order-new", house.pk): 'value="own-floor"',
        ("log-add", floor.pk): "Log a day: Floor, Kitchen",
    }
    for (name, key), text in texts.items():
        assert text in client.get(reverse(name, args=[key])).content.decode(), name


@pytest.mark.parametrize(("square_feet", "tight"), [(118, True), (110, False)])
def test_an_order_says_where_its_packs_leave_next_to_nothing_over(
    client, by, house, room, floor, square_feet, tight
):
    # Six boxes of 20 sq ft: 2 sq ft over are under 3% of 118, 10 are well over 3% of 110.
    values = OAK | {"amount": f"{square_feet} sq ft", "goes_by": "hand", "per": ""}
    added_need_add(by=by, phase=floor, **values)
    order = order_make(by=by, house=house, phases=["own-floor"], rooms=[room])
    page = client.get(reverse("order-detail", args=[order.pk])).content.decode()
    assert ("tight: under 3% over" in page) is tight
