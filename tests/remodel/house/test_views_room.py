"""A room with its drawings, plan and needs."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction

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
from remodel.house.models import Room
from remodel.house.partitions import partition_change
from remodel.house.services import room_remove, room_resize
from remodel.pages.house.room_page import boards_context
from remodel.work.services import phase_set_state
from tests.remodel.factories import ada, cy
from tests.remodel.site import browser, with_partition

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]


def page_of(room, name="room-detail") -> str:
    return browser(ada()).get(reverse(name, args=[room.pk])).content.decode()


PARTS = ["room-detail", "room-boards", "room-needs", "room-edit"]


def test_room_opens_at_its_plan_drawn_and_its_boards_draw_every_surface_with_every_board(room):
    page = page_of(room, "room-boards")
    view = view_of(room)

    assert page_of(room).count("<svg") == 1
    assert page.count("<svg") == len(view.surfaces)
    for surface in view.surfaces:
        for piece in surface.pieces:
            assert f">{piece.code}</text>" in page


@pytest.mark.parametrize("part", PARTS)
def test_each_part_of_a_room_has_an_address_and_leads_to_the_others(room, part):
    tabs = re.search(r'<nav class="places room-tabs".*?</nav>', page_of(room, part), re.S)[0]

    assert re.findall(r'href="([^"]+)"', tabs) == [reverse(name, args=[room.pk]) for name in PARTS]
    here = re.findall(r'href="([^"]+)" aria-current="page"', tabs)
    assert here == [reverse(part, args=[room.pk])]


def test_room_opens_at_the_step_in_hand_with_one_button_before_all_else(room):
    phase = room.phases.get(key="framing")
    for key, state in (("strip-out", "done"), ("framing", "in progress")):
        phase_set_state(by=By(ada()), phase=room.phases.get(key=key), state=state)
    page = page_of(room)
    main = page[page.index("<h1>") :]

    assert "You are here: Framing." in main
    assert "1 of 8 phases done." in main
    first = re.search(r"<button[^>]*>\s*(.*?)\s*</button>", main, re.S)[1]
    assert first == f"Mark {phase.name} done"
    assert main.index("You are here") < main.index(first) < main.index("<svg")


def test_plan_says_its_state_in_a_sentence_and_what_comes_next(room):
    sentence = "Proposed: it may still change. Order when you are ready; ordering accepts it."

    assert sentence in page_of(room)
    assert sentence in page_of(room, "room-boards")


@pytest.mark.parametrize("part", ["room-detail", "room-boards", "room-needs"])
def test_room_beyond_a_partition_says_that_it_is_planned_with_the_other(room, part):
    assert "Planned with" not in page_of(room, part)
    partition = with_partition(room, ada())
    closet = Room.objects.get(behind=partition)

    for one, other in ((room, closet), (closet, room)):
        shared = re.search(r'<p class="shared">.*?</p>', page_of(one, part), re.S)[0]
        assert f">{other.name}</a>" in shared
        assert "their price are of these rooms together" in shared


@pytest.mark.parametrize("part", PARTS)
def test_ids_of_a_room_page_are_unique(room, part):
    ids = re.findall(r'\sid="([^"]+)"', page_of(room, part))

    assert sorted(ids) == sorted(set(ids))


def test_every_need_says_why_down_to_a_source(room):
    page = page_of(room, "room-needs")
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
    page = browser(ada()).get(reverse("room-boards", args=[room.pk]))
    plans = page.context["plans"]

    assert plans
    for shown in plans:
        assert shown.cost.total == shown.plan.value
        assert shown.cost.money >= shown.plan.sheet_cost
        assert 0 < shown.share < 1
        assert shown.how_good == "Checking how good this is ..."
        assert f"{shown.hours}<" in page.content.decode()
        assert shown.state == "proposed"


@pytest.mark.parametrize(
    ("share", "said"),
    [
        ("0", "The best possible, proven."),
        ("1/250", "Within 0.4% of the best possible."),
        ("1/9999", "Within 0.1% of the best possible."),
    ],
)
def test_bound_of_a_plan_is_said_in_a_sentence(room, share, said):
    plan = boards_context(room)["plans"][0]

    assert replace(plan, share=Fraction(share), basis="proven").how_good == said


def test_change_of_size_says_what_it_did(room):
    assert "What the last change did" not in page_of(room, "room-boards")
    room_resize(by=By(ada()), room=room, length=14 * FOOT, width=10 * FOOT)
    page = page_of(room, "room-boards")

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

    assert counts[0] == counts[1] <= 43


def test_surface_is_drawn_large_with_its_facts(room):
    response = browser(ada()).get(reverse("surface-detail", args=[room.pk, "ceiling"]))

    assert response.status_code == 200
    assert "<svg" in response.content.decode()
    assert len(response.context["drawing"].facts.rows) > 5


@pytest.mark.parametrize(
    "name", ["room-detail", "room-history", "room-phases", "room-boards", "room-needs"]
)
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
