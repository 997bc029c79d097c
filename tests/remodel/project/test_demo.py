"""The demo house stands some way into the work."""

import datetime

import pytest
from django.core.management import call_command
from django.utils import timezone

from remodel.choices import open_choices
from remodel.house.models import House
from remodel.pages.supply.listing import order_shown
from remodel.supply.models import CutSheet, Order
from remodel.supply.queries import orders_of, use_of
from remodel.supply.standing import standing_of
from remodel.work.models import DayLog, Phase
from tests.remodel.made_once import made_once

pytestmark = pytest.mark.django_db


@pytest.fixture
def house():
    made_once("the demo house", lambda: call_command("load_demo", verbosity=0))
    return House.objects.get()


def test_demo_has_rooms_in_every_state(house):
    assert set(house.rooms.filter(finished=True).values_list("key", flat=True)) == {
        "laundry",
        "study",
    }
    phases = Phase.objects.filter(room__house=house, room__finished=False)
    assert set(phases.values_list("state", flat=True)) == {
        "not started",
        "ready",
        "in progress",
        "blocked",
        "done",
    }


def test_blocked_phase_of_the_demo_says_what_it_waits_for(house):
    phase = Phase.objects.get(room__house=house, state="blocked")
    assert (phase.room.key, phase.waits_for) == ("bath", "the plumber, who moves the drain")


def test_one_order_of_the_demo_is_part_received_and_one_is_closed(house):
    orders = {order.state: order_shown(order) for order in orders_of(house)}
    assert 0 < orders["placed"].came < orders["placed"].packs
    assert orders["closed"].came == orders["closed"].packs
    assert orders["placed"].paid > 0


def test_days_of_the_demo_are_told_from_today(house):
    days = set(DayLog.objects.filter(room__house=house).values_list("day", flat=True))
    assert len(days) == 6
    assert max(days) == timezone.localdate() - datetime.timedelta(days=1)


def test_use_of_the_demo_stands_against_its_estimate(house):
    assert any(use.estimate and use.used for use in use_of(house))


def test_nothing_in_the_stock_of_the_demo_is_under_zero(house):
    standing = standing_of(house)
    assert standing.here
    assert [item for item, here in standing.here.items() if here.amount < 0] == []


def test_rooms_of_the_demo_that_were_ordered_lack_nothing(house):
    standing = standing_of(house)
    shares = [share for item in standing.items for share in standing.dealt(item).shares]
    assert {standing.jobs[share.job].room_key for share in shares} == {"kitchen", "hall"}
    assert [share for share in shares if share.short] == []


def test_sheets_of_the_demo_that_hang_left_the_stock_by_a_log_or_by_a_tick(house):
    kitchen = CutSheet.objects.filter(room__house=house, room__key="kitchen")
    study = CutSheet.objects.filter(room__house=house, room__key="study")
    assert kitchen.exists()
    assert not kitchen.filter(movement=None).exists()
    assert study.exists()
    assert not study.exclude(movement=None).exists()


def test_next_order_of_the_demo_is_drafted(house):
    draft = Order.objects.get(house=house, state="draft")
    assert [room.key for room in draft.rooms.all()] == ["bath"]
    assert any(line.packs for line in draft.lines.all())


def test_house_file_without_progress_is_loaded_as_it_is(settings):
    call_command("load_demo", file=settings.BASE_DIR / "fixtures" / "quay-flat.json", verbosity=0)
    assert not DayLog.objects.exists()


def test_choices_of_the_demo_are_open_where_no_work_has_overtaken_them(house):
    choices = open_choices(house)
    still = {one.choice.id for one in choices if not one.overtaken}

    assert {
        "partition.main-closet-wall",
        "partition.small-closet-wall",
        "ceiling.bath",
        "sheets",
        "rounds",
    } <= still
    assert "joints.kitchen" in {one.choice.id for one in choices if one.overtaken}
