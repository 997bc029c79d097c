"""The loops of a worker. Each kind of job has a lane of its own, so that printing need not wait
behind a search.

A lane survives every error. In an outage it waits, longer each time, and logs once when the outage
begins and once when it is over.
"""

from __future__ import annotations

import logging
import os
import secrets
import socket
import threading
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress

from django.db import DatabaseError, InterfaceError, close_old_connections, connections

from remodel.jobs.models import worker_gone, worker_seen
from remodel.outages import drop_connection, outage_of

__all__ = ["keep_on", "new_name", "present", "run_lanes"]

log = logging.getLogger(__name__)

REST_SECONDS = 1.0
SEEN_SECONDS = 5.0
LONGEST_PAUSE = 30.0


def new_name() -> str:
    """A name for this start of a worker, which no other start has, on this machine or another."""
    return f"{socket.gethostname()[:50]}-{os.getpid()}-{secrets.token_hex(4)}"


def keep_on(
    lane: str,
    step: Callable[[], bool],
    stop: threading.Event,
    *,
    rest: float = REST_SECONDS,
    longest: float = LONGEST_PAUSE,
) -> None:
    """Run `step` until `stop` is set.

    A step that had nothing to do (False) is followed by a rest of `rest` seconds. A step that
    failed is followed by pauses that grow up to `longest` seconds.
    """
    pause, away_since = REST_SECONDS, 0.0
    while not stop.is_set():
        try:
            # Outside of a request Django closes no connection by itself. One that the server
            # dropped would fail every step from here on.
            close_old_connections()
            worked = step()
        except Exception as error:
            # Any error at all: a lane that ended at the first one would leave its queue to nobody.
            # Said once, when it begins: an outage of a day must not fill the disk with its log.
            if not away_since:
                away_since = time.monotonic()
                _tell(lane, error)
            drop_connection()
            stop.wait(pause)
            pause = min(2 * pause, longest)
            continue
        if away_since:
            log.warning("%s: going on after %.0f seconds", lane, time.monotonic() - away_since)
            pause, away_since = REST_SECONDS, 0.0
        if not worked:
            stop.wait(rest)
    # Connections belong to the thread, and this one ends here.
    connections.close_all()


def _tell(lane: str, error: Exception) -> None:
    outage = outage_of(error)
    if outage is not None:
        log.warning(
            "%s: waiting, for %s (%s)", lane, outage.value, str(error).strip().partition("\n")[0]
        )
    else:
        log.error("%s: waiting after an error", lane, exc_info=error)


@contextmanager
def present(name: str, stop: threading.Event, *, parent: int = 0) -> Iterator[None]:
    """Keep a worker known as alive while it works, and as gone afterward.

    `parent` is the process that started the worker. Once that is gone, `stop` is set, because
    nobody could stop the worker then.
    """
    ended = threading.Event()

    def beat() -> bool:
        worker_seen(name)
        if parent and os.getppid() != parent:
            stop.set()
        return False

    # The heartbeat never pauses as long as other lanes do: after pauses of half a minute the worker
    # would be taken for dead once the database is back.
    often = {"rest": SEEN_SECONDS, "longest": SEEN_SECONDS}
    # A thread of its own, because a single search runs longer than a worker may be silent.
    thread = threading.Thread(
        target=keep_on, args=("worker", beat, ended), kwargs=often, daemon=True
    )
    thread.start()
    try:
        yield
    finally:
        ended.set()
        thread.join(timeout=10)
        with suppress(DatabaseError, InterfaceError):
            worker_gone(name)


def run_lanes(lanes: Mapping[str, Callable[[], bool]], stop: threading.Event) -> bool:
    """Run every lane in a thread of its own until `stop` is set. Where a thread ends by itself,
    stop them all and return False."""
    threads = []
    for lane, step in lanes.items():
        thread = threading.Thread(target=keep_on, args=(lane, step, stop), name=lane)
        threads.append(thread)
        thread.start()
    while not stop.wait(1) and all(thread.is_alive() for thread in threads):
        pass
    # Asked before `stop` is set below, or a lane that ended by itself would look like an orderly
    # end.
    asked_to_stop = stop.is_set()
    stop.set()
    for thread in threads:
        thread.join()
    return asked_to_stop
