"""The list that is taken to the store, and a shelf that is empty."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse

from remodel.bridge.lengths import FOOT, INCH
from remodel.bridge.supply import aisle_of, sheet_key
from remodel.history.services import By
from remodel.house.services import house_set_rules
from remodel.pages.supply.empty_shelf import shelf_of
from remodel.supply.models import Material, OrderLine, Pack, SheetOnSale
from remodel.supply.orders import order_make
from remodel.supply.services import prices_confirm, store_add
from tests.remodel.factories import ada, cy
from tests.remodel.site import browser

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]


@pytest.fixture
def order(house, room):
    by = By(ada())
    store = store_add(
        by=by, house=house, name="Mill Street Lumber", phone="555 0142", note="Ask for Ed"
    )
    rows = [
        *SheetOnSale.objects.filter(house=house),
        *Pack.objects.filter(material__house=house),
    ]
    prices_confirm(by=by, house=house, priced=rows, store=store)
    return order_make(by=by, house=house, phases=["hanging", "taping"], rooms=[room])


def sheet_line(order) -> OrderLine:
    return order.lines.filter(item__startswith="sheet-regular", packs__gt=0).first()


def test_list_is_grouped_as_a_store_is_walked_with_totals_phone_and_notes(order):
    page = browser(ada()).get(reverse("order-store", args=[order.pk])).content.decode()
    aisles = re.findall(r"<h3>([^<]+)</h3>", page)

    assert len(set(aisles)) > 2
    assert page.index("<h3>Fasteners</h3>") < page.rindex("<h3>Board</h3>")
    assert 'href="tel:5550142"' in page
    assert "Ask for Ed" in page
    assert re.search(r"In all \$[0-9,.]+, [0-9,]+ lb", page)
    lines = [line for line in order.lines.all() if line.packs]
    assert page.count("Shelf is empty<") == len(lines)


def test_every_material_stands_in_an_aisle_that_is_named(house):
    unknown = [
        material.key
        for material in Material.objects.filter(house=house)
        if aisle_of(material.key)[1] == "Everything else"
    ]

    assert unknown == []
    assert aisle_of("corner-bead")[1] == "Tape, compound and bead"
    assert aisle_of("2x4-treated")[1] == "Lumber and metal framing"
    assert aisle_of(sheet_key("regular", INCH // 2, 48 * INCH, 8 * FOOT))[1] == "Board"


def test_larger_sheet_takes_the_place_of_one_that_is_gone_and_the_plan_stays(order):
    line = sheet_line(order)
    line.item = sheet_key("regular", INCH // 2, 48 * INCH, 10 * FOOT)
    line.packs, line.price = 3, 1675
    sheets = SheetOnSale.objects.filter(board="regular", thickness=INCH // 2, width=48 * INCH)
    price = sheets.get(length=12 * FOOT).price
    shelf = shelf_of(line)
    longer = next(one for one in shelf.fits if one.name == "48 in x 12 ft")

    assert longer.count == 3
    assert longer.costs == f"Costs ${(price - 1675) * 3 / 100:.2f} more"
    assert longer.does == (
        "The plan stays: cut the same pieces. Left over of each sheet: 2' 0\" of its length"
    )
    assert "48 in x 8 ft" in shelf.smaller


def test_size_that_does_not_get_into_the_house_is_not_offered(order):
    house_set_rules(by=By(ada()), house=order.house, longest_board=10 * FOOT)
    line = OrderLine.objects.select_related("order__house").get(pk=sheet_line(order).pk)
    line.item = sheet_key("regular", INCH // 2, 48 * INCH, 8 * FOOT)

    assert "48 in x 10 ft" in [one.name for one in shelf_of(line).fits]
    assert "48 in x 12 ft" not in [one.name for one in shelf_of(line).fits]


def test_page_leads_who_may_write_to_planning_with_other_sizes(order):
    line = sheet_line(order)
    empty = reverse("order-line-empty", args=[line.pk])
    page = browser(ada()).get(empty).content.decode()

    assert reverse("order-line-instead", args=[line.pk]) in page
    assert browser(cy()).get(empty).status_code == 404


def test_other_packages_hold_as_much_as_was_to_be_bought(order):
    line = next(one for one in order.lines.all() if one.item == "compound-drying" and one.packs)
    shelf = shelf_of(line)

    assert shelf.fits
    for one in shelf.fits:
        pack = Material.objects.get(key="compound-drying").packs.get(name=one.name)
        wanted = line.pack_amount.value * line.packs
        assert (one.count - 1) * pack.holds < wanted <= one.count * pack.holds
