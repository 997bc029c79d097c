"""A piece that is not as planned, told at the page beside the wall."""

from __future__ import annotations

import pytest
from django.core.cache import cache
from django.urls import reverse

from remodel.board.models import PlacedPiece
from remodel.board.queries import takes_of_pile
from remodel.history.services import By
from remodel.house.models import Room
from remodel.people.services import household
from remodel.ticks import tick
from tests.browser.conftest import SIZES, sync_api
from tests.browser.reading import faults
from tests.remodel.site import small_house

pytestmark = pytest.mark.django_db(transaction=True)
expect = sync_api.expect
# Links in running text, drawings and tables are as large as their words.
TEXT = "p:not(.back), li, dd, svg, td, th"


@pytest.fixture
def room() -> Room:
    cache.clear()
    return Room.objects.get(house=small_house(household(), "Kitchen"))


@pytest.mark.parametrize("script", [True, False], ids=["script", "no script"])
def test_board_that_was_taken_down_is_recorded_and_undone(chromium, live_server, room, script):
    key = next(
        place.key for place in takes_of_pile(room)[room.pk].places if place.key.startswith("A.")
    )
    tick(by=By(household()), room=room, kind="hung", item=key)
    context = chromium.new_context(viewport=SIZES["phone"], java_script_enabled=script)
    page = context.new_page()
    page.goto(live_server.url + reverse("room-hanging", args=[room.pk]))
    page.locator(f"a[href='{reverse('room-piece', args=[room.pk, key])}']").click()
    page.get_by_role("link", name="It was taken down").click()
    page.get_by_label("Keep it as an offcut, under its mark").check()
    page.get_by_role("button", name="Show what this changes").click()
    expect(page.get_by_role("heading", name="What this changes")).to_be_visible()
    assert PlacedPiece.objects.get().state == "hung"
    page.get_by_role("button", name="Yes, record it").click()
    expect(page.get_by_role("button", name="Undo this entry")).to_be_visible()
    assert PlacedPiece.objects.get().state == "down"
    page.get_by_role("button", name="Undo this entry").click()
    expect(page.get_by_text("is as it was before")).to_be_visible()
    assert PlacedPiece.objects.get().state == "hung"
    context.close()


def test_pages_of_a_piece_read_well_at_every_size(visit, live_server, room):
    key = next(
        place.key for place in takes_of_pile(room)[room.pk].places if place.key.startswith("A.")
    )
    page = visit(reverse("room-piece", args=[room.pk, key]), "phone")

    def look(where: str) -> None:
        assert (where, faults(page, skipped=TEXT)) == (where, [])

    look("piece")
    for way in ("wrong", "elsewhere", "sheet", "down"):
        page.goto(live_server.url + reverse("room-piece-told", args=[room.pk, key, way]))
        look(way)
    page.get_by_label("It is waste").check()
    page.get_by_role("button", name="Show what this changes").click()
    page.get_by_role("heading", name="What this changes").wait_for()
    look("what it changes")
    page.get_by_role("button", name="Yes, record it").click()
    page.get_by_role("button", name="Undo this entry").wait_for()
    look("recorded")
