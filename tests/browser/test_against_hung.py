"""An edit against a board that hangs, in a browser: asked, gone back to, cut in place."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse

from remodel.board.models import PlacedPiece
from remodel.board.queries import takes_of_pile
from remodel.history.services import By
from remodel.house.models import Cutout, Room
from remodel.people.services import household
from remodel.ticks import tick
from tests.browser.conftest import SIZES, sync_api
from tests.browser.reading import LOOKS_OF, faults
from tests.remodel.site import small_house

pytestmark = pytest.mark.django_db(transaction=True)
expect = sync_api.expect
TYPED = {
    "across_distance": "2' 7\"",
    "up_distance": "6' 6\"",
    "width": '2 1/4"',
    "height": '3 3/4"',
    "name": "Coffee HVAC",
}


@pytest.fixture
def room() -> Room:
    """A kitchen with the first board of Wall A hung."""
    person = household()
    small_house(person)
    room = Room.objects.get()
    keys = [place.key for place in takes_of_pile(room)[room.pk].places]
    tick(by=By(person), room=room, kind="hung", item=min(k for k in keys if k.startswith("A.")))
    return room


def sound(page, size):
    assert faults(page, skipped="p:not(.back), dd, svg, td, li", looks=LOOKS_OF[size]) == []


@pytest.mark.parametrize(("size", "script"), [("phone", True), ("laptop", True), ("phone", False)])
def test_box_on_a_hung_board_is_asked_about_gone_back_to_and_cut_in_place(
    visit, room, size, script
):
    page = visit(reverse("cutout-add", args=[room.pk]), size, script=script)
    page.locator("[name=surface][value=A]").check(force=True)
    page.select_option("[name=across_origin]", "left")
    page.select_option("[name=up_origin]", "floor")
    for name, text in TYPED.items():
        page.fill(f"[name={name}]", text)
    page.click("text=Save the cut-out")
    expect(page.locator("h1")).to_have_text("1 board is in the way")
    expect(page.locator("main")).to_contain_text("Coffee HVAC lies on it.")
    if script:
        expect(page.locator("h1")).to_be_focused()
        sound(page, size)
    page.get_by_role("button", name="Do not change").click()
    expect(page.locator("[name=across_distance]")).to_have_value(TYPED["across_distance"])
    for name, text in TYPED.items():
        expect(page.locator(f"[name={name}]")).to_have_value(text)
    assert not Cutout.objects.exists()
    page.click("text=Save the cut-out")
    button = page.get_by_role("button", name="Cut in place")
    button.focus()
    page.keyboard.press("Enter")
    expect(page.locator("body")).to_contain_text(re.compile("Saved .*: Coffee HVAC"))
    assert Cutout.objects.get().name == "Coffee HVAC"
    assert PlacedPiece.objects.get().state == "hung"


@pytest.mark.parametrize("size", SIZES)
def test_lower_ceiling_keeps_the_board_says_what_is_amiss_and_is_planned_anew(visit, room, size):
    page = visit(reverse("room-size", args=[room.pk]), size)
    page.fill("[name=ceiling_height]", "3' 6\"")
    page.click("form:has([name=ceiling_height]) button[type=submit]")
    expect(page.locator("h1")).to_contain_text("in the way")
    sound(page, size)
    page.get_by_role("button", name="Keep the boards").click()
    page.wait_for_url("**/edit")
    page.goto(page.url.removesuffix("/edit"))
    expect(page.locator(".notice", has_text="Good to know").first).to_contain_text("reaches")
    sound(page, size)
    page.goto(f"{page.url}/surface/B")
    page.click("text=Plan this surface anew")
    expect(page.locator("h2", has_text="What it changes")).to_be_visible()
    sound(page, size)
    page.click("button:has-text('Plan Wall B anew')")
    page.wait_for_url("**/surface/B")
    expect(page.locator("body")).to_contain_text(re.compile("Saved .*: Wall B"))
