"""Rooms bought together, from an order and back to it, at phone and laptop size."""

from __future__ import annotations

import pytest
from django.urls import reverse

from remodel.board.models import RoomResult
from remodel.history.services import By
from remodel.house.models import House
from remodel.people.services import household
from remodel.piles import heads_of, pile_make, piles_of
from remodel.supply.orders import order_make, order_place
from tests.browser.conftest import SIZES, sync_api
from tests.browser.reading import faults_of_pages
from tests.browser.test_orders import TEXT
from tests.remodel.site import small_house

pytestmark = pytest.mark.django_db(transaction=True)
expect = sync_api.expect


@pytest.fixture
def house() -> House:
    return small_house(household(), "Kitchen", "Hall", "Den", "Bath", "Study")


def together(house: House) -> str:
    return reverse("house-together", args=[house.pk])


@pytest.mark.parametrize("size", SIZES)
def test_an_order_of_two_rooms_leads_to_one_pile_and_back(visit, house, size):
    rooms = heads_of(house)[:2]
    order = order_make(by=By(household()), house=house, phases=["hanging"], rooms=rooms)
    page = visit(reverse("order-detail", args=[order.pk]), size)
    page.click("text=See what sharing sheets saves")
    expect(page.locator("#saving h2")).to_have_text("Kitchen and Hall")
    page.get_by_label("Hall", exact=True).uncheck()
    page.get_by_role("button", name="Show what sharing saves").click()
    expect(page.locator(".error-summary")).to_be_focused()
    expect(page.locator(".error-summary")).to_contain_text("Tick at least two")
    page.get_by_label("Hall", exact=True).check()
    page.get_by_role("button", name="Show what sharing saves").click()
    expect(page.locator("#ways-to-buy")).to_contain_text("From one shared set, offcuts kept")
    page.get_by_role("button", name="Buy these together").click()
    expect(page.locator("h1")).to_contain_text("Hanging")
    expect(page.locator(".messages")).to_contain_text("the order is worked out again")
    assert len(piles_of(house)) == 1
    with page.expect_navigation():
        page.get_by_role("button", name="Undo").click()
    assert piles_of(house) == []


def test_everything_works_without_script(visit, house):
    page = visit(together(house), "phone", script=False)
    page.check("text=Kitchen")
    page.check("text=Den")
    page.click("text=Show what sharing saves")
    page.click("text=Buy these together")
    expect(page.locator(".messages")).to_contain_text("Kitchen and Den share sheets now")
    page.click("text=Stop sharing")
    expect(page.locator(".messages")).to_contain_text("are bought apart now")


def test_pages_read_well_at_every_size(visit, house):
    by, rooms = By(household()), heads_of(house)
    pile_make(by=by, house=house, rooms=rooms[:2])
    pile_make(by=by, house=house, rooms=rooms[2:4])
    order = order_make(by=by, house=house, phases=["hanging"], rooms=rooms[:1])
    order_place(by=by, order=order, without_prices=True, unseen_framing=True)
    ask = f"?room={rooms[2].pk}&room={rooms[4].pk}&show=yes"
    paths = {
        "three rooms": together(house) + ask,
        "all rooms": together(house) + "?show=yes",
        "an order": reverse("order-detail", args=[order.pk]),
    }
    assert faults_of_pages(visit("/help", "phone"), paths, skipped=TEXT) == {}


def test_room_of_a_large_pile_says_that_it_is_worked_out_and_shows_when_it_is(visit, house):
    rooms = heads_of(house)
    pile_make(by=By(household()), house=house, rooms=rooms)
    RoomResult.objects.filter(room__house=house).update(pile_waits=True)
    page = visit(reverse("room-boards", args=[rooms[0].pk]), "phone")
    expect(page.locator("#plans")).to_contain_text(
        "Working out what the rooms that share sheets save"
    )
    RoomResult.objects.filter(room__house=house).update(pile_waits=False)
    expect(page.locator("#plans")).not_to_contain_text("Working out what the rooms", timeout=20_000)
