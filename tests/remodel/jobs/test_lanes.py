"""A worker's loops outlast what they run into, and say so once."""

import logging
import threading

import pytest
from django.db import OperationalError

from remodel.jobs import lanes


@pytest.fixture(autouse=True)
def no_connections(monkeypatch):
    """These loops ask no database, and the connection of the tests stays open."""
    monkeypatch.setattr(lanes, "close_old_connections", lambda: None)
    monkeypatch.setattr(lanes, "drop_connection", lambda: None)
    monkeypatch.setattr(lanes.connections, "close_all", lambda: None)


class Stop(threading.Event):
    """Notes how long a loop waits, and waits for nothing."""

    def __init__(self):
        super().__init__()
        self.waits = []

    def wait(self, timeout=None):
        self.waits.append(timeout)
        return self.is_set()


def lane_of(stop, outcomes):
    steps = list(outcomes)

    def step():
        outcome = steps.pop(0)
        if not steps:
            stop.set()
        if isinstance(outcome, Exception):
            raise outcome
        return outcome

    return step


def test_lane_goes_on_after_any_error_with_growing_pauses_and_says_so_once(caplog):
    stop = Stop()
    away = [OperationalError("no"), OSError(28, "full"), ValueError("fault")]
    with caplog.at_level(logging.WARNING):
        lanes.keep_on("searches", lane_of(stop, [*away, True, False]), stop)
    assert stop.waits == [1, 2, 4, 1]
    assert len(caplog.records) == 2
    assert "going on after" in caplog.records[1].message


def test_pause_has_an_end():
    stop = Stop()
    lanes.keep_on("searches", lane_of(stop, [OperationalError("no")] * 8), stop)
    assert stop.waits[-1] == lanes.LONGEST_PAUSE


def test_lane_that_found_work_does_not_rest():
    stop = Stop()
    lanes.keep_on("searches", lane_of(stop, [True, True, True]), stop)
    assert stop.waits == []


@pytest.mark.filterwarnings("ignore::pytest.PytestUnhandledThreadExceptionWarning")
def test_end_of_one_lane_stops_the_others():
    stop = threading.Event()

    def end():
        raise SystemExit

    assert not lanes.run_lanes({"one": end, "two": lambda: False}, stop)
    assert stop.is_set()


def test_each_start_of_a_worker_has_a_name_of_its_own():
    assert lanes.new_name() != lanes.new_name()
