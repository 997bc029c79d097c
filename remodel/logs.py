"""How a line of the log is written."""

from __future__ import annotations

import logging
import time

__all__ = ["UtcFormatter"]


class UtcFormatter(logging.Formatter):
    """Writes times in UTC, wherever the machine stands. A value that holds a line break stays on
    its line."""

    converter = staticmethod(time.gmtime)

    def formatMessage(self, record: logging.LogRecord) -> str:  # noqa: N802
        return super().formatMessage(record).replace("\r", "\\r").replace("\n", "\\n")
