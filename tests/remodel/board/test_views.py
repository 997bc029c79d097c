"""Plans taken and moved on; what a search found. How two are compared is in `test_compare.py`."""

from __future__ import annotations

import pytest
from django.urls import reverse

from remodel.board.models import Plan, SearchJob
from remodel.board.plans import propose
from remodel.board.queries import pile_result_of
from remodel.jobs.models import worker_seen
from remodel.people.models import Role
from tests.remodel.factories import ada, ben, cy
from tests.remodel.site import HTMX, browser, share

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]

MISSING = "00000000-0000-0000-0000-000000000000"


@pytest.fixture
def offer(room):
    pool = pile_result_of(room).pools[0]
    return propose(room, pool, pool.plan)


def test_taken_by_htmx_only_what_changed_is_swapped(room, offer):
    answer = browser(ada()).post(
        reverse("plan-take", args=[offer.pk]), {"room": str(room.pk)}, **HTMX
    )
    page = answer.content.decode()

    assert "<html" not in page
    for part in ("changed", "boards"):
        assert f'id="{part}" hx-swap-oob="true"' in page
    assert page.strip().startswith('<section id="plans"')
    assert "The plan is accepted" in answer.headers["HX-Trigger-After-Settle"]


def test_plan_shown_is_kept_and_moved_on_step_by_step(room):
    plan = pile_result_of(room).pools[0]
    client = browser(ada())
    client.post(reverse("room-plan-keep", args=[room.pk, plan.board, plan.thickness]))
    kept = Plan.objects.get(state="accepted")
    for state in ("ordered", "cut", "hung"):
        client.post(reverse("plan-step", args=[kept.pk]), {"state": state})
        kept.refresh_from_db()
        assert kept.state == state


def test_step_that_skips_one_is_refused(room):
    plan = pile_result_of(room).pools[0]
    client = browser(ada())
    client.post(reverse("room-plan-keep", args=[room.pk, plan.board, plan.thickness]))
    kept = Plan.objects.get(state="accepted")
    answer = client.post(reverse("plan-step", args=[kept.pk]), {"state": "hung"}, **HTMX)

    assert answer.status_code == 422
    assert "one step at a time" in answer.content.decode()
    kept.refresh_from_db()
    assert kept.state == "accepted"


def test_board_that_the_room_has_not_is_refused(room):
    answer = browser(ada()).post(reverse("room-plan-keep", args=[room.pk, "gold", 1]), **HTMX)

    assert answer.status_code == 422
    assert "There is no such plan to keep" in answer.content.decode()


def test_poll_answers_with_nothing_until_something_is_new(room):
    client, url = browser(ada()), reverse("room-boards", args=[room.pk])
    seen = client.get(reverse("room-boards", args=[room.pk])).context["seen"]
    assert client.get(url, {"seen": seen}, **HTMX).status_code == 204
    pool = pile_result_of(room).pools[0]
    propose(room, pool, pool.plan)
    answer = client.get(url, {"seen": seen}, **HTMX)

    assert answer.status_code == 200
    assert "Accept this plan" in answer.content.decode()


def test_search_under_way_is_seen_and_asked_after(room):
    assert SearchJob.objects.filter(room=room, state="waiting").exists()
    client = browser(ada())
    page = client.get(reverse("room-boards", args=[room.pk])).content.decode()
    assert 'hx-trigger="every 3s"' in page
    assert "Until then the first plan stands" in page
    worker_seen("test")

    assert (
        "Looking for a better plan"
        in client.get(reverse("room-boards", args=[room.pk])).content.decode()
    )


def test_search_that_ended_is_asked_after_no_more(room):
    SearchJob.objects.update(state="done")

    assert (
        "every 3s"
        not in browser(ada()).get(reverse("room-boards", args=[room.pk])).content.decode()
    )


@pytest.mark.parametrize("name", ["plan-take", "plan-leave", "plan-step", "plan-note-read"])
def test_stranger_looker_missing_and_wrong_verb(room, offer, name):
    share(room.house, ben(), Role.VIEWER)

    assert browser(cy()).post(reverse(name, args=[offer.pk])).status_code == 404
    assert browser(ben()).post(reverse(name, args=[offer.pk])).status_code == 404
    assert browser(ada()).post(reverse(name, args=[MISSING])).status_code == 404
    assert browser(ada()).get(reverse(name, args=[offer.pk])).status_code == 405
    offer.refresh_from_db()
    assert offer.state == "proposed"


def test_keeping_is_for_who_may_write(room):
    url = reverse("room-plan-keep", args=[room.pk, "regular", 12_700_000])

    assert browser(cy()).post(url).status_code == 404
    assert browser(ada()).get(url).status_code == 405
    assert not Plan.objects.exists()
