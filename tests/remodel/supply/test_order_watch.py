"""The one line in which a saved edit says what it changes for orders."""

import html

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from remodel.bridge.lengths import FOOT
from remodel.history.services import By
from remodel.pages.order_watch import OrderWatch
from remodel.supply.orders import order_make, order_place, order_receive, order_take_back
from tests.remodel.factories import ada
from tests.remodel.page_forms import forms_of
from tests.remodel.site import browser, small_house

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]


@pytest.fixture
def house():
    return small_house(ada())


@pytest.fixture
def order(house):
    by = By(ada())
    draft = order_make(by=by, house=house, phases=["hanging"], rooms=list(house.rooms.all()))
    return order_place(by=by, order=draft, without_prices=True, unseen_framing=True)


def saved_height(house, height):
    """The text of the page one comes to after the room's ceiling height was changed."""
    client = browser(ada())
    address = reverse("room-size", args=[house.rooms.get().pk])
    page = client.get(address).content.decode()
    form = next(form for form in forms_of(page, address) if form.action == address)
    answer = client.post(address, form.data({"ceiling_height": [height]}), follow=True)
    assert answer.redirect_chain
    return answer.content.decode()


def line_of(page):
    messages = page.partition('<ul class="messages">')[2].partition("</ul>")[0]
    lines = [" ".join(part.split()) for part in messages.split("<li>") if "Orders:" in part]
    assert len(lines) <= 1
    return html.unescape(lines[0]) if lines else ""


def test_house_without_orders_is_told_nothing(house):
    page = saved_height(house, "10'")
    assert "Saved " in page
    assert not line_of(page)


def test_growth_says_what_is_short_for_whom_and_leads_to_an_order_of_it(house, order):
    line = line_of(saved_height(house, "10'"))
    room = house.rooms.get()
    assert " short for Kitchen" in line
    assert f"{reverse('order-new', args=[house.pk])}?room={room.pk}&phase=hanging" in line
    assert "Add to the next order" in line


def test_undo_of_growth_says_that_nothing_is_short_any_more(house, order):
    saved_height(house, "10'")
    client = browser(ada())
    address = reverse("room-history", args=[house.rooms.get().pk])
    undo = next(form for form in forms_of(client.get(address).content.decode(), address))
    answer = client.post(undo.action, follow=True)
    line = line_of(answer.content.decode())
    assert "free now" in line or "nothing is short any more" in line


def test_less_need_says_what_is_free(house, order):
    for ordered in order.lines.filter(packs__gt=0):
        order_receive(by=By(ada()), line=ordered, packs=ordered.packs)
    line = line_of(saved_height(house, "4'"))
    assert "free now" in line
    assert "See what is here" in line


def test_edit_that_changes_no_need_says_nothing(house, order):
    room = house.rooms.get()
    page = saved_height(house, f"{room.ceiling_height // FOOT}'")
    assert not line_of(page)


def test_order_taken_back_holds_nothing_so_nothing_is_told(house, order):
    order_take_back(by=By(ada()), order=order)
    assert not line_of(saved_height(house, "10'"))


def test_house_without_orders_costs_one_query(house):
    with CaptureQueriesContext(connection) as asked:
        OrderWatch(house)
    assert len(asked) == 1
