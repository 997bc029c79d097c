"""A room with its drawings, plan and needs."""

from __future__ import annotations

import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils.html import escape

from remodel.board.models import RoomResult
from remodel.board.queries import view_of
from remodel.bridge.drawings import screen_css
from remodel.bridge.lengths import FOOT
from remodel.bridge.reasons import figure_shown
from remodel.history.services import By
from remodel.house.partitions import partition_change
from remodel.house.services import room_remove, room_resize
from tests.remodel.factories import ada, cy
from tests.remodel.site import browser, with_partition

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]


def page_of(room, **more) -> str:
    return browser(ada()).get(reverse("room-detail", args=[room.pk]), **more).content.decode()


def test_room_draws_its_plan_and_every_surface_with_every_board(room):
    page = page_of(room)
    view = view_of(room)

    assert page.count("<svg") == 1 + len(view.surfaces)
    for surface in view.surfaces:
        for piece in surface.pieces:
            assert f">{piece.code}</text>" in page


def test_ids_of_a_room_page_are_unique(room):
    ids = re.findall(r'\sid="([^"]+)"', page_of(room))

    assert sorted(ids) == sorted(set(ids))


def test_every_need_says_why_down_to_a_source(room):
    page = page_of(room)
    needs = view_of(room).needs

    assert page.count("Why this much") == len(needs)
    figures = {
        figure for line in needs for reason in line.need.reasons for figure in reason.figures
    }
    assert len(figures) > 10
    for figure in figures:
        assert f"<dt>{figure}</dt>" in page
        assert escape(figure_shown(figure).source) in page


def test_plan_says_its_money_its_hours_and_how_good_it_is(room):
    page = browser(ada()).get(reverse("room-detail", args=[room.pk]))
    plans = page.context["plans"]

    assert plans
    for shown in plans:
        assert shown.cost.total == shown.plan.value
        assert shown.cost.money >= shown.plan.sheet_cost
        assert 0 < shown.share < 1
        assert shown.gap.endswith("%")
        assert f"{shown.hours}<" in page.content.decode()
        assert shown.state == "proposed"


def test_change_of_size_says_what_it_did(room):
    assert "What the last change did" not in page_of(room)
    room_resize(by=By(ada()), room=room, length=14 * FOOT, width=10 * FOOT)
    page = page_of(room)

    assert "What the last change did" in page
    assert re.search(r"It costs \$[0-9.]+ more", page)


def test_room_that_cannot_be_worked_out_says_why_and_keeps_its_phases(room):
    RoomResult.objects.filter(room=room).update(
        digest="", summary=None, refusal="Wall A: 3 ft is missing"
    )
    page = page_of(room)

    assert "Wall A: 3 ft is missing" in page
    assert "Begin tear-out" in page
    assert 'class="drawing"' not in page


def test_room_of_many_partitions_asks_no_more_questions_than_of_none(room):
    counts = []
    for at in (9 * FOOT, 6 * FOOT):
        page_of(room)  # drawings are kept from here on
        client = browser(ada())
        with CaptureQueriesContext(connection) as seen:
            client.get(reverse("room-detail", args=[room.pk]))
        counts.append(len(seen))
        with_partition(room, ada(), at=at)

    assert counts[0] == counts[1] <= 42


def test_surface_is_drawn_large_with_its_facts(room):
    response = browser(ada()).get(reverse("surface-detail", args=[room.pk, "ceiling"]))

    assert response.status_code == 200
    assert "<svg" in response.content.decode()
    assert len(response.context["drawing"].facts.rows) > 5


@pytest.mark.parametrize("name", ["room-detail", "room-history", "room-phases", "room-boards"])
def test_stranger_and_missing_room_are_not_there(room, name):
    missing = "00000000-0000-0000-0000-000000000000"

    assert browser(ada()).get(reverse(name, args=[room.pk])).status_code == 200
    assert browser(cy()).get(reverse(name, args=[room.pk])).status_code == 404
    assert browser(ada()).get(reverse(name, args=[missing])).status_code == 404
    assert browser(ada()).post(reverse(name, args=[room.pk])).status_code == 405


def test_surface_that_is_not_there_is_missing(room):
    assert browser(ada()).get(reverse("surface-detail", args=[room.pk, "Z"])).status_code == 404
    assert browser(cy()).get(reverse("surface-detail", args=[room.pk, "A"])).status_code == 404
    assert browser(ada()).post(reverse("surface-detail", args=[room.pk, "A"])).status_code == 405


def test_room_of_a_removed_room_is_not_there(room):
    room_remove(by=By(ada()), room=room)

    assert browser(ada()).get(reverse("room-detail", args=[room.pk])).status_code == 404


def test_stylesheet_of_drawings_is_the_engines_own(settings):
    kept = settings.BASE_DIR / "remodel" / "web" / "static" / "web" / "drawing.css"

    assert kept.read_text() == screen_css()


def test_room_tells_of_missing_blocking_in_the_words_of_the_page(room):
    partition_change(by=By(ada()), partition=with_partition(room, ada()), framed="after")
    page = page_of(room)

    assert "no blocking is recorded where it meets them" in page
    assert "house file" not in page
