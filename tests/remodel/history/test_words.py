"""Changes as people read them."""

import datetime
import re

import pytest
from django.urls import reverse

from remodel.board.plans import plan_keep, plan_leave
from remodel.bridge.lengths import INCH
from remodel.history.models import Change
from remodel.history.services import By
from remodel.pages.history.changes import _shown
from remodel.supply.models import SheetOnSale
from remodel.web.dates import clock_words, day_words, moment_words
from remodel.work.services import phase_change, phase_set_state
from tests.remodel.factories import ada
from tests.remodel.site import browser


def history_of(room) -> str:
    page = browser(ada()).get(reverse("room-history", args=[room.pk])).content.decode()
    return " ".join(re.sub(r"<[^>]+>", " ", page).split())


def test_a_price_is_told_as_money_and_a_length_as_a_length():
    assert _shown(SheetOnSale, "price", 1405, "in") == "14.05"
    assert _shown(SheetOnSale, "length", 96 * 25_400_000, "in") == "8' 0\""


@pytest.mark.parametrize(
    ("units", "day", "moment"),
    [("in", "Sat Nov 28", "Nov 28, 2026, 5:44 PM"), ("mm", "Sat 28 Nov", "28 Nov 2026, 17:44")],
)
def test_days_and_times_are_said_as_the_house_measures(units, day, moment):
    when = datetime.datetime(2026, 11, 28, 17, 44, tzinfo=datetime.UTC)

    assert day_words(when.date(), units, weekday=True, year=False) == day
    assert moment_words(when, units, year=True) == moment
    assert (
        clock_words(datetime.datetime(2020, 1, 2, 0, 5, tzinfo=datetime.UTC))
        == "Jan 2, 2020, 12:05 AM"
    )


@pytest.mark.django_db
@pytest.mark.usefixtures("hosted")
class TestHistory:
    def test_a_phase_is_told_by_its_room_its_name_and_what_became_of_it(self, room):
        by = By(ada())
        phase_set_state(by=by, phase=room.phases.get(key="framing"), state="in progress")
        waits = room.phases.get(key="rough-in")
        phase_set_state(by=by, phase=waits, state="blocked", waits_for="the plumber")
        phase_change(by=by, phase=room.phases.get(key="partitions"), left_out=True)
        words = history_of(room)

        assert "Kitchen: “Framing” is begun" in words
        assert "State: before Not started → now In progress" in words
        assert "Kitchen: “Rough-in” waits for the plumber" in words
        assert "State: before Not started → now Waiting" in words
        assert "Kitchen: “Partitions” is not needed here" in words

    def test_a_plan_kept_and_given_up_is_told_and_has_no_button_to_undo_it(self, room):
        plan = plan_keep(by=By(ada()), room=room, board="regular", thickness=INCH // 2)
        plan_keep(by=By(ada()), room=room, board="regular", thickness=INCH // 2)
        plan_leave(by=By(ada()), plan=plan)
        words = history_of(room)

        assert words.count("Kitchen: accepted the plan") == 1
        assert 'Plan: Regular gypsum board, 1/2" changed State: before Proposed → now Accepted' in (
            words.replace("&quot;", '"')
        )
        assert "Kitchen: gave up a plan" in words
        assert "Undo Kitchen: accepted" not in words
        group = Change.objects.filter(model="board.plan").latest("id").group
        answer = browser(ada()).post(reverse("change-undo", args=[group]))
        assert answer.status_code == 404
