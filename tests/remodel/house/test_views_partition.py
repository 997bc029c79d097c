"""When a partition is framed, and whether its blocking is in."""

from __future__ import annotations

import pytest
from django.urls import reverse

from remodel.history.seen import Seen
from remodel.history.services import By
from remodel.house.models import Partition, Room
from remodel.house.partitions import partition_change
from remodel.work.services import phase_set_state
from tests.remodel.factories import ada, ben, cy
from tests.remodel.site import HTMX, browser, share, small_house, with_partition

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]


@pytest.fixture
def partition():
    return with_partition(Room.objects.get(house=small_house(ada())), ada())


def url(partition) -> str:
    return reverse("partition-detail", args=[partition.pk])


def test_page_leads_to_both_ways_side_by_side(partition):
    page = browser(ada()).get(url(partition)).content.decode()
    both = reverse("choice-detail", args=[partition.house_id, f"partition.{partition.key}"])

    assert f'href="{both}"' in page


def test_partition_that_stands_is_changed_with_a_tick_alone(partition):
    """Framed is framed: another word for when is told as a slip, unless somebody says it was."""
    phase_set_state(by=By(ada()), phase=partition.room.phases.get(key="partitions"), state="done")
    typed = {"framed": "after", "seen": str(Seen.of(partition))}
    answer = browser(ada()).post(url(partition), typed)

    assert answer.status_code == 422
    assert "Closet wall is framed" in answer.content.decode()
    assert Partition.objects.get().framed == "before"
    assert browser(ada()).post(url(partition), typed | {"anyway": "on"}).status_code == 302
    assert Partition.objects.get().framed == "after"


def test_blocking_of_a_partition_that_stands_is_recorded_without_a_tick(partition):
    phase_set_state(by=By(ada()), phase=partition.room.phases.get(key="partitions"), state="done")
    typed = {"framed": "before", "blocking_recorded": "on", "seen": str(Seen.of(partition))}

    assert browser(ada()).post(url(partition), typed).status_code == 302
    assert Partition.objects.get().blocking_recorded


def test_choice_is_saved_and_the_room_worked_out_again(partition):
    before = partition.room.result.digest
    answer = browser(ada()).post(
        url(partition), {"framed": "after", "seen": str(Seen.of(partition))}
    )

    assert answer.headers["Location"] == reverse("room-detail", args=[partition.room_id])
    partition.refresh_from_db()
    assert partition.framed == "after"
    assert Room.objects.get(pk=partition.room_id).result.digest != before


def test_framed_after_without_blocking_warns_where_the_choice_is_made(partition):
    assert "no blocking is recorded" not in browser(ada()).get(url(partition)).content.decode()
    partition_change(by=By(ada()), partition=partition, framed="after")

    assert "no blocking is recorded" in browser(ada()).get(url(partition)).content.decode()


def test_word_that_is_no_choice_comes_back_with_the_page(partition):
    answer = browser(ada()).post(
        url(partition), {"framed": "never", "blocking_recorded": "on", "seen": ""}
    )
    page = answer.content.decode()

    assert answer.status_code == 422
    assert "<title>Error: " in page
    assert answer.context["form"]["blocking_recorded"].value() is True
    assert Partition.objects.get().framed == "before"


def test_two_at_once_lose_nothing(partition):
    share(partition.house, ben())
    given = {"framed": "before", "blocking_recorded": "on", "seen": str(Seen.of(partition))}
    partition_change(by=By(ben()), partition=partition, framed="after")
    answer = browser(ada()).post(url(partition), given, **HTMX)
    page = answer.content.decode()

    assert answer.status_code == 409
    assert "Ben changed this while you were typing" in page
    assert "Before board" in page
    assert "After board" in page
    seen = answer.context["form"]["seen"].value()
    again = browser(ada()).post(url(partition), {"framed": "before", "seen": seen})
    assert again.status_code == 302
    assert Partition.objects.get().framed == "before"


def test_stranger_missing_and_wrong_verb(partition):
    assert browser(cy()).get(url(partition)).status_code == 404
    assert browser(cy()).post(url(partition), {"framed": "after"}).status_code == 404
    missing = reverse("partition-detail", args=["00000000-0000-0000-0000-000000000000"])
    assert browser(ada()).get(missing).status_code == 404
    assert browser(ada()).delete(url(partition)).status_code == 405
