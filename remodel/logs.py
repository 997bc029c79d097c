"""How a line of the log is written."""

from __future__ import annotations

import logging
import time

__all__ = ["UtcFormatter"]


class UtcFormatter(logging.Formatter):
    """Times are UTC, wherever the machine stands; a value with a line break in it stays on its
    line."""

    converter = staticmethod(time.gmtime)

    def formatMessage(self, record: logging.LogRecord) -> str:  # noqa: N802
        return super().formatMessage(record).replace("\r", "\\r").replace("\n", "\\n")
