"""A process that is started before its work comes, so that nobody waits while it imports what it
needs.

One process is kept for ten minutes after each use. It waits for its input. It ends by itself when
the process that started it is gone, because its input is closed then.
"""

from __future__ import annotations

import atexit
import os
import subprocess
import threading
import time
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import IO

__all__ = ["NotWanted", "WarmProcess"]

KEPT_SECONDS = 600.0
LOOK_SECONDS = 0.5


class NotWanted(Exception):
    """The watcher of the work ended it."""


class WarmProcess:
    """Runs `command` once for each input. The process for the next input is started as soon as one
    is done."""

    def __init__(self, command: Sequence[str], *, folder: Path) -> None:
        self._command, self._folder = list(command), folder
        self._lock = threading.Lock()
        self._child: subprocess.Popen[bytes] | None = None
        self._made_under: Mapping[str, str] = {}
        self._timer: threading.Timer | None = None
        atexit.register(self.drop)

    def run(
        self, given: bytes, *, seconds: float, watch: Callable[[bytes], bool] | None = None
    ) -> tuple[int, bytes, bytes]:
        """The exit code, the output and the error output of one run.

        Raises `subprocess.TimeoutExpired` where it takes longer than `seconds`; the process is
        killed first. `watch` is called every half second with the error output so far. Where it
        returns False, the process is killed and `NotWanted` raised.
        """
        child = self._take()
        until = time.monotonic() + seconds
        feeder = threading.Thread(target=_feed, args=(child.stdin, given), daemon=True)
        # the feeder's from here: `communicate` forgets what is left to send when it looks up
        child.stdin = None
        feeder.start()
        try:
            while True:
                remaining = max(0.0, until - time.monotonic())
                try:
                    out, err = child.communicate(
                        timeout=min(remaining, LOOK_SECONDS) if watch else remaining
                    )
                    return child.returncode, out, err
                except subprocess.TimeoutExpired as waits:
                    if time.monotonic() >= until:
                        raise
                    if watch and not watch(waits.stderr or b""):
                        raise NotWanted from None
        except BaseException:
            # An interrupt or an exit too: nobody would be left to end the child.
            child.kill()
            child.communicate()
            raise
        finally:
            # The child has ended, so the feeder meets a broken pipe at the latest. The next process
            # starts only now, or it would share the processor with the run under way.
            feeder.join()
            self._keep()

    def drop(self) -> None:
        """End the process that is kept."""
        with self._lock:
            child, self._child = self._child, None
            if self._timer is not None:
                self._timer.cancel()
                self._timer = None
        # Outside of the lock: waiting for a process to end must not hold up another request.
        if child is not None:
            child.kill()
            child.communicate()

    def _take(self) -> subprocess.Popen[bytes]:
        with self._lock:
            child, self._child = self._child, None
            # It inherited the environment of then, and the run has to have that of now.
            same = self._made_under == os.environ
        if child is None:
            return self._start()
        if same and child.poll() is None:
            return child
        child.kill()
        child.communicate()
        return self._start()

    def _keep(self) -> None:
        with self._lock:
            if self._child is None:
                self._child, self._made_under = self._start(), dict(os.environ)
            if self._timer is not None:
                self._timer.cancel()
            self._timer = threading.Timer(KEPT_SECONDS, self.drop)
            # A web process that ends must not wait ten minutes for this timer.
            self._timer.daemon = True
            self._timer.start()

    def _start(self) -> subprocess.Popen[bytes]:
        pipe = subprocess.PIPE
        return subprocess.Popen(
            self._command, stdin=pipe, stdout=pipe, stderr=pipe, cwd=self._folder
        )


def _feed(into: IO[bytes] | None, given: bytes) -> None:
    with suppress(BrokenPipeError):  # it ended before it had read all
        if into is not None:
            with into:
                into.write(given)
