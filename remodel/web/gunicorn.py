"""What the web server does beside serving: it ends when the process that started it is gone, so
that the port is free again."""

from __future__ import annotations

import os
import signal
import threading
import time
from typing import Any

_LOOK_SECONDS = 1.0


def when_ready(server: Any) -> None:
    """Called by gunicorn in its first process, once it listens."""
    threading.Thread(target=_watch, args=(os.getppid(),), daemon=True).start()


def _watch(parent: int) -> None:
    while os.getppid() == parent:
        time.sleep(_LOOK_SECONDS)
    os.kill(os.getpid(), signal.SIGTERM)
