"""The stock, and what one already has, in a browser, at phone and laptop size."""

from __future__ import annotations

import pytest
from django.urls import reverse

from remodel.bridge.lengths import FOOT, INCH, amount
from remodel.history.services import By
from remodel.house.models import House
from remodel.people.services import household
from remodel.supply.ledger import here_of, move
from remodel.supply.models import Order
from remodel.supply.orders import order_make, order_place, order_receive
from remodel.supply.services import owned_sheet_add
from tests.browser.conftest import sync_api
from tests.browser.reading import faults_of_pages
from tests.remodel.site import small_house

pytestmark = pytest.mark.django_db(transaction=True)
# Links in running text and lists of facts are as large as their words; the button that the return
# key presses is not seen.
TEXT = "p:not(.back, .buttons), li, dd, .unseen"
expect = sync_api.expect


@pytest.fixture
def house() -> House:
    """Two rooms with a placed order of which most came; one size spoiled, screws under zero, sticks
    and offcuts found; a bath that nobody ordered for."""
    by = By(household())
    house = small_house(by.person, "Kitchen", "Dining", "Bath")
    rooms = list(house.rooms.order_by("position")[:2])
    order = order_make(by=by, house=house, phases=["hanging"], rooms=rooms, name="Board")
    order_place(by=by, order=order, without_prices=True, unseen_framing=True)
    for line in order.lines.filter(item__startswith="sheet-").exclude(pack=""):
        order_receive(by=by, line=line, packs=max(1, line.packs - 1), paid=1234)
    sheet, screws = sheet_of(order), screws_of(order)
    move(by=by, house=house, item=sheet, kind="spoiled", amount=amount(3, "each"))
    move(by=by, house=house, item=screws, kind="used", amount=amount(40, "each"))
    move(by=by, house=house, item="2x4", kind="found", amount=amount(8, "ft"), pieces=5)
    size = {"board": "regular", "thickness": INCH // 2, "width": 2 * FOOT, "length": 5 * FOOT}
    owned_sheet_add(by=by, house=house, **size, count=2, factory_edges=1, place="Garage")
    return house


def sheet_of(order: Order) -> str:
    return str(order.lines.filter(item__startswith="sheet-", packs__gt=3).first().item)


def screws_of(order: Order) -> str:
    return str(order.lines.filter(item__startswith="screw-").exclude(pack="").first().item)


def addresses(house: House) -> dict[str, str]:
    order = house.orders.get()
    sheet, screws = sheet_of(order), screws_of(order)
    return {
        "list": reverse("stock-list", args=[house.pk]),
        "item": reverse("stock-item", args=[house.pk, sheet]),
        "item under zero": reverse("stock-item", args=[house.pk, screws]),
        "count": reverse("stock-count", args=[house.pk, screws]),
        "count sticks": reverse("stock-count", args=[house.pk, "2x4"]),
        "spoil": reverse("stock-spoil", args=[house.pk, sheet]),
        "move": reverse("stock-move", args=[house.pk, sheet]),
        "found": reverse("stock-found", args=[house.pk, screws]),
        "have": reverse("stock-have", args=[house.pk]),
        "offcut": reverse("offcut-change", args=[house.owned_sheets.get().pk]),
    }


def test_pages_read_well_at_every_size(visit, house):
    page = visit("/help", "phone")
    assert faults_of_pages(page, addresses(house), skipped=TEXT) == {}


@pytest.mark.parametrize(("size", "script"), [("phone", True), ("laptop", False)])
def test_what_is_had_is_entered_with_the_keyboard_and_without_script(visit, house, size, script):
    page = visit(reverse("stock-have", args=[house.pk]), size, script=script)
    nine, eight = (page.get_by_label(f"48 in x {feet} ft").first for feet in (9, 8))
    nine.focus()
    page.keyboard.type("4")
    page.keyboard.press("Tab")
    expect(eight).to_be_focused()
    page.keyboard.press("Control+A")
    page.keyboard.type("some")
    page.get_by_role("button", name="Save what is here").press("Enter")
    expect(page.locator(".error-summary")).to_contain_text("48 in x 8 ft")
    if script:
        # The summary takes the focus a moment after it is there; a key pressed before goes astray.
        expect(page.locator(".error-summary")).to_be_focused()
    expect(nine).to_have_value("4")
    eight.fill("")
    page.get_by_role("button", name="Save what is here").press("Enter")
    expect(page.locator(".messages")).to_contain_text("this is what is here")
    expect(page.locator("main")).to_contain_text("4 here: 4 free.")
    assert here_of(house)["sheet-regular-0.5x48x108in"].amount == 4


@pytest.mark.parametrize("script", [True, False])
def test_return_key_in_a_box_saves_and_adds_no_row(visit, house, script):
    page = visit(reverse("stock-have", args=[house.pk]), script=script)
    nine = page.get_by_label("48 in x 9 ft").first
    nine.fill("4")
    nine.press("Enter")
    expect(page.locator(".messages")).to_contain_text("this is what is here")
    assert here_of(house)["sheet-regular-0.5x48x108in"].amount == 4


def test_stock_under_zero_is_set_right_by_one_press(visit, house):
    page = visit(reverse("stock-list", args=[house.pk]), "phone")
    expect(page.locator(".stock-under")).to_have_count(1)
    page.get_by_role("button", name="We had it").click()
    expect(page.locator("h1")).to_contain_text("screw")
    page.goto(page.url.partition("/item/")[0])
    expect(page.locator("h1")).to_have_text("What is here")
    expect(page.locator(".stock-under")).to_have_count(0)


def test_list_can_be_printed_without_its_presses(visit, house):
    page = visit(reverse("stock-list", args=[house.pk]))
    page.emulate_media(media="print")
    expect(page.get_by_role("button", name="We had it")).to_be_hidden()
    expect(page.get_by_role("link", name="What we already have")).to_be_hidden()
    assert "under zero" in page.inner_text("main")
