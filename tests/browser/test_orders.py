"""Prices, orders and stock in a browser, at phone and laptop size."""

from __future__ import annotations

import pytest
from django.urls import reverse

from remodel.bridge.lengths import FOOT, INCH
from remodel.history.services import By
from remodel.house.models import House
from remodel.house.services import room_add, room_change
from remodel.people.services import household
from remodel.supply.models import Order, OrderLine, Pack, Receipt, SheetOnSale
from remodel.supply.orders import order_line_set, order_make, order_place, order_receive
from remodel.supply.services import prices_confirm, store_add
from tests.browser.conftest import SIZES, sync_api
from tests.browser.reading import faults_of_pages
from tests.remodel.site import small_house

pytestmark = pytest.mark.django_db(transaction=True)
# Links in running text and lists of facts are as large as their words.
TEXT = "p:not(.back, .buttons), li:not(.tick-line), dd:not(.fact-change)"
expect = sync_api.expect


@pytest.fixture
def house() -> House:
    """A kitchen, two stores, a placed order of which a part came, and an old draft for a closet:
    the kitchen changed since."""
    by = By(household())
    house = small_house(by.person, "Kitchen")
    mill = store_add(by=by, house=house, name="Mill Street Lumber")
    corner = store_add(by=by, house=house, name="Corner Hardware", note="Closed on Sundays")
    prices_confirm(by=by, house=house, priced=SheetOnSale.objects.filter(house=house), store=mill)
    screws = Pack.objects.filter(material__house=house, material__key__startswith="screw")
    prices_confirm(by=by, house=house, priced=screws, store=corner)
    rooms = list(house.rooms.all())
    placed = order_make(by=by, house=house, phases=["hanging"], rooms=rooms, name="Board")
    spare = placed.lines.filter(packs__gt=1).first()
    order_line_set(by=by, line=spare, packs=spare.packs + 8, reason="Some spare")
    order_place(by=by, order=placed, without_prices=True, unseen_framing=True)
    order_receive(
        by=by,
        line=placed.lines.get(pk=spare.pk),
        packs=spare.packs,
        paid=1234,
        note="First load",
    )
    closet = room_add(by=by, house=house, name="Closet", length=6 * FOOT, width=5 * FOOT)
    order_make(by=by, house=house, phases=["hanging", "taping"], rooms=[closet], name="Draft")
    room_change(by=by, room=rooms[0], ceiling_height=9 * FOOT)
    return house


def placed_of(house: House) -> Order:
    return Order.objects.get(house=house, name="Board")


def addresses(house: House) -> dict[str, str]:
    placed, draft = placed_of(house), Order.objects.get(house=house, name="Draft")
    item = placed.lines.filter(packs__gt=1).first().item
    return {
        "prices": reverse("price-list", args=[house.pk]),
        "sheets": reverse("price-sheets", args=[house.pk, "regular", INCH // 2]),
        "confirm": reverse("price-confirm", args=[house.pk]),
        "longest": reverse("price-longest", args=[house.pk]),
        "add a size": reverse("price-sheet-add", args=[house.pk]),
        "add a material": reverse("price-material-add", args=[house.pk]),
        "store": reverse("store-change", args=[house.stores.first().pk]),
        "house": reverse("house-detail", args=[house.pk]),
        "money": reverse("house-money", args=[house.pk]),
        "orders": reverse("order-list", args=[house.pk]),
        "new order": reverse("order-new", args=[house.pk]),
        "draft": reverse("order-detail", args=[draft.pk]),
        "placed": reverse("order-detail", args=[placed.pk]),
        "line": reverse("order-line", args=[draft.lines.exclude(pack="").first().pk]),
        "by hand": reverse("order-add", args=[draft.pk]),
        "receive": reverse("order-receive", args=[placed.pk]),
        "return": reverse("order-return", args=[placed.lines.filter(packs__gt=1).first().pk]),
        "in the store": reverse("order-store", args=[placed.pk]),
        "stock": reverse("stock-list", args=[house.pk]),
        "item": reverse("stock-item", args=[house.pk, item]),
        "count": reverse("stock-count", args=[house.pk, item]),
        "spoil": reverse("stock-spoil", args=[house.pk, item]),
        "move": reverse("stock-move", args=[house.pk, item]),
    }


def test_pages_read_well_at_every_size(visit, house):
    page = visit("/help", "phone")
    assert faults_of_pages(page, addresses(house), skipped=TEXT) == {}


@pytest.mark.parametrize("size", SIZES)
def test_an_order_goes_from_choice_to_stock(visit, house, size):
    page = visit(reverse("order-list", args=[house.pk]), size)
    page.click("text=New order")
    page.click("text=Work out the order")
    expect(page.locator(".error-summary")).to_be_focused()
    page.check("text=Finishing")
    page.click("text=Work out the order")
    expect(page.locator("h1")).to_contain_text("Finishing")
    page.locator(".lines a:has-text('Change')").first.click()
    name = page.inner_text("h1")
    page.fill("#id_packs", "9")
    page.click("text=Save the number")
    expect(page.locator(".error-summary")).to_contain_text("Say why the number differs")
    page.fill("#id_reason", "One for the attic")
    page.click("text=Save the number")
    expect(page.locator(".lines").first).to_contain_text("One for the attic")
    page.get_by_role("button", name="Place the order").click()
    expect(page.locator(".error-summary")).to_contain_text("are samples")
    page.check("text=Order without the prices that are samples")
    page.get_by_role("button", name="Place the order").click()
    expect(page.locator(".messages")).to_contain_text("Placed")
    page.click("text=Record a delivery")
    for row in page.locator(".came-row").all():
        came = name in row.locator(".came-what").inner_text().replace("\xa0", " ")
        row.locator("input").nth(1 if came else 0).fill("25" if came else "")
    page.click("text=Save the delivery")
    expect(page.locator("#receipts")).to_contain_text("$25.00")
    assert Receipt.objects.filter(paid=2500, packs=9).count() == 1


@pytest.mark.parametrize("size", SIZES)
def test_prices_of_a_size_become_the_stores_own(visit, house, size):
    page = visit(reverse("price-list", args=[house.pk]), size)
    page.get_by_text("Other materials").click()
    page.locator("#materials a:has-text('Change')").first.click()
    page.locator("input[id^='id_price-']").first.fill("three")
    page.click("text=Save these prices")
    expect(page.locator(".error-summary")).to_be_focused()
    page.locator("input[id^='id_price-']").first.fill("3.33")
    page.click("text=Save these prices")
    page.get_by_text("Other materials").click()
    expect(page.locator("#materials")).to_contain_text("$3.33")
    assert Pack.objects.filter(price=333, confirmed_at__isnull=False).exists()


def test_a_tick_is_kept_through_a_dropped_signal(visit, house):
    page = visit(reverse("order-store", args=[placed_of(house).pk]), "phone")
    first, second = page.locator(".tick-line").nth(0), page.locator(".tick-line").nth(1)
    first.locator("input[type=checkbox]").check()
    expect(page.locator("#tick-count")).to_contain_text("1 of")
    page.context.set_offline(True)
    second.locator("input[type=checkbox]").check()
    expect(second).to_contain_text("Not sent yet")
    expect(second.locator("input[type=checkbox]")).to_be_checked()
    page.context.set_offline(False)
    expect(page.locator("#tick-count")).to_contain_text("2 of", timeout=20_000)
    expect(page.locator(".unsent")).to_have_count(0)
    assert OrderLine.objects.filter(order=placed_of(house), ticked=True).count() == 2
    first.locator("input[type=checkbox]").uncheck()
    expect(page.locator("#tick-count")).to_contain_text("1 of")
    expect(first.locator("input[type=checkbox]")).to_be_focused()


def test_a_tick_changed_twice_without_signal_is_sent_as_it_stands(visit, house):
    page = visit(reverse("order-store", args=[placed_of(house).pk]), "phone")
    box = page.locator(".tick-line input[type=checkbox]").first
    page.context.set_offline(True)
    box.check()
    expect(page.locator(".tick-line").first).to_contain_text("Not sent yet")
    box.uncheck()
    box.check()
    page.context.set_offline(False)
    expect(page.locator("#tick-count")).to_contain_text("1 of", timeout=20_000)


def test_order_can_be_read_in_grey_without_its_colours(visit, house):
    page = visit(addresses(house)["placed"])
    page.emulate_media(media="print")
    expect(page.locator("nav.places")).to_be_hidden()
    assert "Partly received" in page.inner_text("main")
