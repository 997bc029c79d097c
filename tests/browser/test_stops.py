"""A stop before a mark: asked about on the phone, and without script; readable at any size."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse

from remodel.cards.models import DoneMark
from remodel.house.models import Room
from remodel.people.services import household
from remodel.work.models import AcceptedStop
from tests.browser.conftest import sync_api
from tests.browser.reading import faults
from tests.remodel.site import small_house

pytestmark = pytest.mark.django_db(transaction=True)
expect = sync_api.expect
# Links in running text are as large as their words.
TEXT = "p:not(.back), dd, svg, td, li"


@pytest.fixture
def room() -> Room:
    """A kitchen in which one stop stands before the first board."""
    kitchen = small_house(household(), "Kitchen").rooms.get()
    AcceptedStop.objects.filter(key__startswith="leaks").delete()
    return kitchen


@pytest.mark.parametrize("script", [True, False])
def test_a_stop_is_accepted_with_a_reason_and_the_board_is_marked(visit, room, script):
    page = visit(reverse("room-hanging", args=[room.pk]), "phone", script=script)
    page.locator(".hang-step form:has(input[value=hung]) .mark-do").first.click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Before you go on")
    if script:
        assert faults(page, skipped=TEXT) == []
    page.get_by_role("button", name="Go on", exact=True).click()
    expect(page.locator(".error").first).to_contain_text("is empty. Tick what is done")
    page.get_by_label("Why you go on without").fill("The roof is new")
    page.get_by_role("button", name="Go on", exact=True).click()
    hanging = re.compile(reverse("room-hanging", args=[room.pk]))
    expect(page).to_have_url(hanging, timeout=60_000)  # its plan is accepted with it
    assert DoneMark.objects.filter(kind="hung", done=True).count() == 1
    assert AcceptedStop.objects.get(key__startswith="leaks").reason == "The roof is new"


def test_what_is_next_is_read_at_any_size(visit, room):
    page = visit(reverse("room-next", args=[room.pk]), "phone")
    assert faults(page, skipped=TEXT) == []
