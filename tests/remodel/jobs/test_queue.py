"""One queue for all that is done beside the web: taken fairly, held by one worker, lost by a
silent one."""

import sqlite3
import threading
from datetime import timedelta

import pytest
from django.db import InterfaceError, OperationalError
from django.utils import timezone

from remodel.board import figures, services
from remodel.board.models import Figures, SearchJob
from remodel.board.queries import figures_are_stale
from remodel.board.queue import SEARCHES
from remodel.jobs import queue as jobs
from remodel.jobs.models import Worker, worker_gone, worker_seen
from remodel.jobs.queue import MOST_ATTEMPTS, patiently
from remodel.outages import Outage, outage_of
from tests.remodel.factories import HouseFactory, RoomFactory, ada
from tests.remodel.site import small_house

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def workers():
    worker_seen("one")
    worker_seen("two")


def search(house, *, seconds=0, waits=0):
    room = RoomFactory(house=house, key=f"room-{SearchJob.objects.count()}")
    queued = timezone.now() - timedelta(minutes=waits)
    return SearchJob.objects.create(
        house=house,
        room=room,
        board="plain",
        thickness=1,
        pool="a" * 64,
        queued_at=queued,
        due_at=queued + timedelta(seconds=seconds),
    )


@pytest.fixture
def house():
    return HouseFactory(owner=ada())


def busy(code="SQLITE_BUSY"):
    cause = sqlite3.OperationalError("database is locked")
    cause.sqlite_errorcode = getattr(sqlite3, code)
    error = OperationalError(str(cause))
    error.__cause__ = cause
    return error


def test_short_job_of_a_house_goes_before_a_long_one(house):
    search(house, seconds=100)
    short = search(house, seconds=5)
    assert SEARCHES.take("one").job == short


def test_long_job_that_waited_longer_than_it_takes_goes_before_a_short_one(house):
    long = search(house, seconds=100, waits=3)
    search(house, seconds=5)
    assert SEARCHES.take("one").job == long


def test_house_with_many_jobs_does_not_starve_another(house):
    for _ in range(6):
        search(house, waits=5)
    other = search(HouseFactory(key="other", owner=ada()))
    order = []
    for _ in range(3):
        claim = SEARCHES.take("one")
        order.append(claim.job.house)
        claim.end("done")
    assert other.house in order[:2]


def test_job_is_held_by_one_worker(house):
    search(house)
    assert SEARCHES.take("one") is not None
    assert SEARCHES.take("two") is None


def test_job_of_a_worker_that_ended_is_taken_at_once(house):
    job = search(house)
    SEARCHES.take("one")
    worker_gone("one")
    claim = SEARCHES.take("two")
    assert (claim.job, claim.job.attempts) == (job, 2)


def test_late_result_of_a_worker_that_lost_its_job_is_not_written(house):
    job = search(house)
    late = SEARCHES.take("one")
    Worker.objects.filter(name="one").update(seen_at=timezone.now() - timedelta(minutes=1))
    claim = SEARCHES.take("two")
    assert not late.wanted()
    assert not late.note(outcome="half done")
    assert not late.hold()
    assert not late.end("done", "late")
    late.put_back()
    assert claim.end("done", "in time")
    job.refresh_from_db()
    assert (job.state, job.outcome) == ("done", "in time")


def test_worker_that_lost_a_job_and_took_it_again_holds_it_by_the_second_taking_alone(house):
    search(house)
    first = SEARCHES.take("one")
    SearchJob.objects.update(state="waiting", owner="")
    second = SEARCHES.take("one")
    assert not first.end("done")
    assert second.end("done")


def test_job_over_its_limit_is_taken_from_its_worker(house):
    job = search(house)
    SEARCHES.take("one")
    SearchJob.objects.update(started_at=timezone.now() - timedelta(minutes=7))
    assert SEARCHES.take("two").job == job


def test_job_that_ends_its_worker_each_time_is_given_up(house):
    job = search(house)
    for number in range(MOST_ATTEMPTS):
        worker_seen(f"worker-{number}")
        assert SEARCHES.take(f"worker-{number}") is not None
        worker_gone(f"worker-{number}")
    assert SEARCHES.take("two") is None
    job.refresh_from_db()
    assert job.state == "failed"
    assert job.outcome


def test_cancelled_job_is_no_longer_wanted(house):
    search(house)
    claim = SEARCHES.take("one")
    SearchJob.objects.update(state="cancelled")
    assert not claim.wanted()
    assert not claim.end("done")


def test_outage_in_a_job_puts_it_back_and_is_raised(house):
    job = search(house)

    def fail(claim):
        raise busy()

    with pytest.raises(OperationalError):
        SEARCHES.run_one(fail, "one")
    job.refresh_from_db()
    assert (job.state, job.attempts) == ("waiting", 0)


def test_fault_in_a_job_fails_it_with_words(house):
    job = search(house)

    def fail(claim):
        raise ValueError("no such thing")

    SEARCHES.run_one(fail, "one")
    job.refresh_from_db()
    assert (job.state, job.outcome) == ("failed", "The search failed; the current plan is kept")


def test_write_is_tried_through_an_outage_and_given_up_when_the_worker_stops(monkeypatch):
    stop = threading.Event()
    monkeypatch.setattr(stop, "wait", lambda _: None)
    errors = [busy(), busy("SQLITE_FULL")]

    def write():
        if errors:
            raise errors.pop(0)
        return "written"

    assert patiently(write, stop) == "written"
    errors.append(busy())
    stop.set()
    with pytest.raises(OperationalError):
        patiently(write, stop)


def test_job_goes_on_where_nobody_can_say_whether_it_is_wanted(house, monkeypatch):
    search(house)
    claim = SEARCHES.take("one")

    def fail():
        raise busy()

    monkeypatch.setattr(claim, "mine", fail)
    monkeypatch.setattr(jobs, "_LOOK_SECONDS", 0)
    assert claim.wanted()


@pytest.mark.parametrize(
    ("error", "outage"),
    [
        (busy(), Outage.BUSY),
        (busy("SQLITE_FULL"), Outage.FULL),
        (busy("SQLITE_CANTOPEN"), Outage.AWAY),
        (busy("SQLITE_ERROR"), None),
        (OSError(28, "No space left on device"), Outage.FULL),
        (OSError(2, "No such file"), None),
        (ValueError(), None),
    ],
)
def test_outage_is_told_from_a_fault(error, outage):
    assert outage_of(error) is outage


@pytest.mark.parametrize(
    ("state", "outage"),
    [
        (None, Outage.AWAY),
        ("57P01", Outage.AWAY),
        ("53300", Outage.AWAY),
        ("53100", Outage.FULL),
        ("55P03", Outage.BUSY),
        ("42P01", None),
    ],
)
def test_outage_of_postgresql_is_told_by_its_state(monkeypatch, state, outage):
    class Lost(Exception):
        sqlstate = state

    monkeypatch.setattr("remodel.outages.connection.vendor", "postgresql")
    error = InterfaceError("lost")
    error.__cause__ = Lost()
    assert outage_of(error) is outage


def test_house_whose_write_has_no_figures_yet_is_stale_and_worked_out(monkeypatch):
    house = small_house(ada())
    assert not figures_are_stale(house.pk)
    Figures.objects.update(change=0)
    assert figures_are_stale(house.pk)
    figures.note_stale()
    assert figures.run_once() is None  # whoever wrote may be at it still
    monkeypatch.setattr(figures, "GRACE", timedelta(0))
    figures.note_stale()
    assert figures.run_once().house == house
    assert not figures_are_stale(house.pk)
    assert Figures.objects.get().state == "done"


def test_house_of_another_engine_is_stale():
    house = small_house(ada())
    Figures.objects.update(version="another")
    assert figures_are_stale(house.pk)


def test_write_stands_where_an_outage_keeps_its_figures_back(monkeypatch):
    def fail(*_, **__):
        raise busy()

    monkeypatch.setattr(services, "recompute", fail)
    house = small_house(ada())
    assert house.rooms.count() == 1
    assert figures_are_stale(house.pk)


def test_figures_that_fail_are_not_tried_at_once_again(monkeypatch):
    house = small_house(ada())
    Figures.objects.update(change=0)
    monkeypatch.setattr(figures, "GRACE", timedelta(0))

    def fail(*_, **__):
        raise ValueError("a fault of the engine")

    monkeypatch.setattr(figures, "recompute", fail)
    figures.note_stale()
    figures.run_once()
    figures.note_stale()
    assert Figures.objects.get(house=house).state == "failed"
    assert figures.run_once() is None
