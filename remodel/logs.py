"""How a line of the log is written."""

from __future__ import annotations

import logging
import time
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

__all__ = ["RequestIdFilter", "UtcFormatter", "WithoutTrace", "during_request"]

_request_id: ContextVar[str] = ContextVar("request_id", default="-")


@contextmanager
def during_request(reference: str) -> Iterator[None]:
    """What is logged meanwhile, by whatever library, carries the request's reference."""
    token = _request_id.set(reference)
    try:
        yield
    finally:
        _request_id.reset(token)


class RequestIdFilter(logging.Filter):
    """Gives each record `request_id`: the reference of the request it was logged in, or "-"."""

    def filter(self, record: logging.LogRecord) -> bool:
        record.request_id = _request_id.get()
        return True


class WithoutTrace(logging.Filter):
    """Takes the traceback off a record that says all in its one line."""

    def filter(self, record: logging.LogRecord) -> bool:
        record.exc_info = record.exc_text = None
        return True


class UtcFormatter(logging.Formatter):
    """Writes times in UTC, wherever the machine stands. A value that holds a line break stays on
    its line."""

    converter = staticmethod(time.gmtime)

    def formatMessage(self, record: logging.LogRecord) -> str:  # noqa: N802
        return super().formatMessage(record).replace("\r", "\\r").replace("\n", "\\n")
