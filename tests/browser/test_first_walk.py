"""From an empty folder to a printed order, as a person would go: presses and typed characters are
counted, and the seconds the program took are printed and not held to anything."""

from __future__ import annotations

import time

import pytest

from remodel.history.services import By
from remodel.house.models import Cutout, House, Opening
from remodel.house_files.new import house_add
from remodel.people.services import household
from remodel.supply.models import Order

pytestmark = pytest.mark.django_db(transaction=True)

MOST_PRESSES = 31
MOST_CHARACTERS = 130


class Walker:
    """A person with a mouse and a keyboard. A press is a click or Enter."""

    def __init__(self, page) -> None:
        self.page = page
        self.presses = 0
        self.characters = 0

    def press(self, role: str, name: str) -> None:
        self.presses += 1
        self.page.get_by_role(role, name=name, exact=True).first.click()

    def choose(self, box: str) -> None:
        """Tick a box or choose one of several."""
        self.presses += 1
        self.page.locator(box).first.check(force=True)

    def enter(self) -> None:
        self.presses += 1
        self.page.keyboard.press("Enter")

    def write(self, field_id: str, text: str) -> None:
        """Press into a field where it has not the keyboard, and type."""
        field = self.page.locator(f"#id_{field_id}")
        if not field.evaluate("(field) => field === document.activeElement"):
            self.presses += 1
            field.click()
        self.characters += len(text)
        self.page.keyboard.type(text)


def test_from_nothing_to_a_printed_order_takes_few_presses_and_little_typing(
    visit, live_server, capsys
):
    demo = house_add(by=By(household()), name="An invented house")
    House.objects.filter(pk=demo.pk).update(is_demo=True)
    began = time.monotonic()
    page = visit("/")
    page.set_default_timeout(60_000)
    walker = Walker(page)

    walker.press("link", "Begin your house")
    walker.write("name", "Elm Street")
    walker.enter()
    page.wait_for_url("**/rooms/add*")
    walker.write("name", "Kitchen")
    walker.write("line", "12' 6\" x 10' 2\" x 8'")
    walker.enter()
    page.wait_for_url("**/edit")

    walker.press("link", "Add a door or window")
    walker.choose("[name=surface][value=A]")
    walker.write("left", "38")
    walker.press("button", "32 in")
    walker.press("button", "Save the opening")
    page.wait_for_selector(".just-saved")
    walker.press("link", "go back to Kitchen")

    walker.press("link", "Add a box or light")
    walker.choose("[name=surface][value=B]")
    walker.write("across_distance", "31")
    walker.write("up_distance", "12")
    walker.press("button", "One gang")
    walker.press("button", "Save the cut-out")
    page.wait_for_selector(".just-saved")
    walker.write("across_distance", "90")
    walker.press("button", "Save the cut-out")
    page.wait_for_selector("text=Box 2")

    walker.press("link", "Orders")
    walker.press("link", "Make the first order")
    walker.choose("[name=phases][value=hanging]")
    walker.press("button", "Work out the order")
    page.wait_for_url("**/order/*")
    walker.press("button", "Place the order")
    page.wait_for_selector(".error-summary")
    walker.choose("text=Order without the prices that are samples")
    for more in page.get_by_label("Nobody has looked at the framing").all()[:1]:
        walker.presses += 1
        more.check(force=True)
    walker.press("button", "Place the order")
    page.wait_for_selector("text=Placed")
    paper = page.get_by_role("link", name="Print on US Letter")
    printed = page.request.get(live_server.url + paper.get_attribute("href"))
    walker.presses += 1
    assert printed.body().startswith(b"%PDF")
    seconds = time.monotonic() - began

    house = House.objects.get(is_demo=False)
    assert Opening.objects.count() == 1
    assert Cutout.objects.count() == 2
    assert Order.objects.get(house=house).state == "placed"
    with capsys.disabled():
        print(
            f"\nfrom nothing to a printed order: {walker.presses} presses, "
            f"{walker.characters} characters, {seconds:.0f} s"
        )
    assert walker.presses <= MOST_PRESSES
    assert walker.characters <= MOST_CHARACTERS
