"""A new house and its first room, openings and boxes, by the keyboard alone; every page of
measuring looked over."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse

from remodel.bridge.lengths import FOOT, INCH
from remodel.history.services import By
from remodel.house.models import Cutout, House, Opening, Room
from remodel.house.things import cutout_add, hidden_add, opening_add
from remodel.people.services import household
from tests.browser.conftest import SIZES, sync_api
from tests.browser.reading import faults_of_pages
from tests.remodel.site import small_house, with_partition

pytestmark = pytest.mark.django_db(transaction=True)
# Links in running text, drawings and tables are as large as their words.
TEXT = "p:not(.back), svg, th, td, .unseen"


def press_to(page, selector: str) -> None:
    """Go on with Tab until `selector` has the keyboard."""
    for _ in range(60):
        if page.evaluate("(wanted) => document.activeElement.matches(wanted)", selector):
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"{selector} is not reached with Tab")


def write(page, selector: str, text: str) -> None:
    press_to(page, selector)
    page.keyboard.type(text)


def test_new_house_first_room_door_and_box_need_no_mouse(visit):
    page = visit(reverse("house-new"))
    write(page, "#id_name", "Elm Street")
    page.keyboard.press("Enter")
    page.wait_for_url("**/rooms/add*")
    write(page, "#id_name", "Kitchen")
    write(page, "#id_line", "12' 6\" x 10' 2\" x 8'")
    sync_api.expect(page.locator("output[for=id_line]")).to_have_text(
        "Reads as 12 ft 6 in long, 10 ft 2 in wide, 8 ft 0 in high"
    )
    page.keyboard.press("Enter")
    page.wait_for_url("**/edit")
    room = Room.objects.get(house=House.objects.get(name="Elm Street"))

    press_to(page, f"a[href='{reverse('opening-add', args=[room.pk])}']")
    page.keyboard.press("Enter")
    page.wait_for_url("**/openings/add")
    press_to(page, "[name=surface]")
    page.keyboard.press("Space")
    write(page, "#id_left", "38")
    write(page, "#id_width", "34")
    write(page, "#id_height", "82 1/2")
    page.keyboard.press("Enter")
    page.wait_for_selector(".just-saved")
    sync_api.expect(page.locator("#live")).to_contain_text("Saved ")
    sync_api.expect(page.locator("#id_left")).to_be_focused()
    page.keyboard.type("7' 2\"")
    page.keyboard.press("Enter")
    page.wait_for_selector("text=Door 2")
    assert sorted(Opening.objects.values_list("left", flat=True)) == [38 * INCH, 86 * INCH]

    page.goto(page.url.replace("openings", "cutouts"))
    press_to(page, "[name=surface]")
    page.keyboard.press("ArrowDown")
    for name, text in (
        ("across_distance", "2' 7\""),
        ("up_distance", "12"),
        ("width", "2 1/4"),
        ("height", "3 3/4"),
    ):
        write(page, f"#id_{name}", text)
    page.keyboard.press("Enter")
    page.wait_for_selector(".just-saved")
    assert Cutout.objects.get().wall.key == "B"


@pytest.mark.parametrize("size", SIZES)
def test_outline_grows_while_walls_are_typed_and_closes(visit, size):
    house = small_house(household())
    page = visit(reverse("room-add-walls", args=[house.pk]), size)
    page.fill("#id_name", "Hall")
    for index, text in enumerate(("10'", "8'", "10'", "7' 6\"")):
        page.fill(f"#id_wall-{index}-length", text)
    page.wait_for_selector(".outline-not >> text=Not closed.")
    page.fill("#id_wall-3-length", "8'")
    page.wait_for_selector(".outline-words >> text=It closes exactly.")
    sync_api.expect(page.locator("output[for=id_wall-3-length]")).to_have_text("Reads as 8 ft 0 in")
    assert page.locator("#outline polygon").count() == 1

    page.click("text=Add a wall after B")
    sync_api.expect(page.locator("#id_wall-2-length")).to_be_focused()
    assert page.input_value("#id_wall-3-length") == "10'"
    page.locator("main button[name=save]:visible").last.click()
    page.wait_for_url("**/edit")
    assert [wall.key for wall in Room.objects.get(name="Hall").walls.all()] == ["A", "B", "C", "D"]


def test_walls_are_checked_and_saved_without_script(visit):
    house = small_house(household())
    page = visit(reverse("room-add-walls", args=[house.pk]), script=False)
    page.fill("#id_name", "Hall")
    for index, text in enumerate(("10'", "8'", "10'", "8'")):
        page.fill(f"#id_wall-{index}-length", text)
    page.click("text=Check the outline")
    assert "It closes exactly." in page.inner_text("#outline")
    page.press("#id_name", "Enter")

    assert page.url.endswith("/edit")
    assert "Saved" in page.inner_text(".messages")


def test_refused_room_says_so_and_keeps_what_was_typed(visit):
    house = small_house(household())
    page = visit(reverse("room-add", args=[house.pk]), "phone")
    page.fill("#id_name", "Bath")
    page.fill("#id_line", "12 6 x 10")
    page.locator("main button[type=submit]").first.click()
    page.wait_for_selector(".error-summary")

    sync_api.expect(page.locator(".error-summary")).to_be_focused()
    sync_api.expect(page).to_have_title(re.compile("^Error: "))
    assert page.input_value("#id_line") == "12 6 x 10"


def test_removed_door_is_brought_back_with_undo(visit):
    person = household()
    room = small_house(person).rooms.get()
    door = opening_add(
        by=By(person),
        room=room,
        surface="A",
        kind="door",
        left=3 * FOOT,
        sill=0,
        width=34 * INCH,
        height=82 * INCH,
    )
    page = visit(reverse("opening-edit", args=[door.pk]), "phone")
    page.click("text=Remove Door")
    page.wait_for_selector("text=Removed Door.")
    page.click("text=Undo")
    page.wait_for_selector("text=Undone:")

    assert Opening.objects.filter(pk=door.pk).exists()


def addresses() -> dict[str, str]:
    """Every page of measuring, with something on it."""
    person = household()
    by = By(person)
    house = small_house(person)
    room = house.rooms.get()
    where = {
        "across_distance": 3 * FOOT,
        "up_origin": "floor",
        "up_distance": 3 * FOOT,
        "width": 4 * INCH,
    }
    door = opening_add(
        by=by,
        room=room,
        surface="A",
        kind="door",
        left=3 * FOOT,
        sill=0,
        width=34 * INCH,
        height=82 * INCH,
    )
    box = cutout_add(
        by=by, room=room, surface="B", across_origin="left", kind="box", height=4 * INCH, **where
    )
    rail = hidden_add(
        by=by, room=room, surface="C", across_origin="left", kind="blocking", height=INCH, **where
    )
    partition = with_partition(room, person)
    of_house = {
        name: reverse(name, args=[house.pk])
        for name in ("house-edit", "house-rules", "room-add", "room-add-walls")
    }
    names = ("room-edit", "room-size", "room-walls", "room-framing", "room-finish")
    adds = ("opening-add", "cutout-add", "hidden-add", "partition-add")
    return {
        "house-new": reverse("house-new"),
        "house-import": reverse("house-import"),
        **of_house,
        **{name: reverse(name, args=[room.pk]) for name in (*names, *adds)},
        "opening-edit": reverse("opening-edit", args=[door.pk]),
        "cutout-edit": reverse("cutout-edit", args=[box.pk]),
        "hidden-edit": reverse("hidden-edit", args=[rail.pk]),
        "partition-edit": reverse("partition-edit", args=[partition.pk]),
        "surface-edit": reverse("surface-edit", args=[room.pk, "A"]),
        "ceiling-edit": reverse("surface-edit", args=[room.pk, "ceiling"]),
    }


def test_pages_read_well_at_every_size(visit):
    pages = addresses()
    page = visit(pages["house-new"], "phone")
    assert faults_of_pages(page, pages, skipped=TEXT) == {}
