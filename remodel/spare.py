"""A process started ahead of its work, so that nobody waits while it brings in what it needs.

One is kept after each use, for ten minutes. It waits for its input, and ends by itself when the process that started
it is gone, for then its input is closed.
"""

from __future__ import annotations

import atexit
import os
import subprocess
import threading
from collections.abc import Mapping, Sequence
from pathlib import Path

__all__ = ["Spare"]

KEPT_SECONDS = 600.0


class Spare:
    """Runs `command` once for each input; the process for the next one is started as soon as one is done."""

    def __init__(self, command: Sequence[str], *, folder: Path) -> None:
        self._command, self._folder = list(command), folder
        self._lock = threading.Lock()
        self._child: subprocess.Popen[bytes] | None = None
        self._made_under: Mapping[str, str] = {}
        self._timer: threading.Timer | None = None
        atexit.register(self.drop)

    def run(self, given: bytes, *, seconds: float) -> tuple[int, bytes, bytes]:
        """The exit code, output and complaints of one run; raises `subprocess.TimeoutExpired` after killing it."""
        child = self._take()
        try:
            out, err = child.communicate(given, timeout=seconds)
        except subprocess.TimeoutExpired:
            child.kill()
            child.communicate()
            raise
        finally:
            self._keep()
        return child.returncode, out, err

    def drop(self) -> None:
        """End the process that is kept."""
        with self._lock:
            child, self._child = self._child, None
            if self._timer is not None:
                self._timer.cancel()
                self._timer = None
        if child is not None:
            child.kill()
            child.communicate()

    def _take(self) -> subprocess.Popen[bytes]:
        with self._lock:
            child, self._child = self._child, None
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
            self._timer.daemon = True
            self._timer.start()

    def _start(self) -> subprocess.Popen[bytes]:
        pipe = subprocess.PIPE
        return subprocess.Popen(self._command, stdin=pipe, stdout=pipe, stderr=pipe, cwd=self._folder)
