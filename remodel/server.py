"""The web server: `python -m remodel.server --bind 127.0.0.1:8000`.

waitress takes each request in whole, with one thread for all connections, before a thread of ours
works on it. So connections that send nothing, or half a request, hold up nobody; they are closed
after ten seconds.
"""

from __future__ import annotations

import argparse
import copy
import os
import signal
import sys
import threading
import time
from collections.abc import Sequence
from typing import Any

from django.conf import settings
from waitress import create_server
from waitress.channel import HTTPChannel
from waitress.parser import HTTPRequestParser
from waitress.server import BaseWSGIServer

from remodel.web.middleware import longest_request

__all__ = ["main", "make_server"]

THREADS = 8
_MOST_CONNECTIONS = 2000
_LOOK_SECONDS = 1.0


class Request(HTTPRequestParser):  # type: ignore[misc]
    """A request as it comes in. The body of one that is longer than its page allows is not read."""

    adj: Any
    content_length: int

    def parse_header(self, header_plus: bytes) -> None:
        super().parse_header(header_plus)
        most = longest_request(self.path)
        if most > self.adj.max_request_body_size:
            self.adj = copy.copy(self.adj)
            self.adj.max_request_body_size = most
        elif self.content_length > most:
            # The page that says so is made from the length alone. What is still sent would be taken
            # for the next request, so the connection ends.
            self.body_rcv, self.content_length = None, 0
            self.headers["CONNECTION"] = "close"


class Channel(HTTPChannel):  # type: ignore[misc]
    parser_class = Request


def make_server(binds: Sequence[str], *, quiet_seconds: int) -> Any:
    """A server that listens on each of `binds`, like `127.0.0.1:8000`. Its `run` serves until
    `SystemExit`, and then ends the requests under way. A connection on which nothing came or went
    for `quiet_seconds` is closed."""
    from remodel.wsgi import application

    BaseWSGIServer.channel_class = Channel
    return create_server(
        application,
        listen=" ".join(binds),
        threads=THREADS,
        connection_limit=_MOST_CONNECTIONS,
        channel_timeout=quiet_seconds,
        cleanup_interval=1,
        max_request_body_size=longest_request("/"),
        asyncore_use_poll=True,  # `select` takes no more than 1024 connections
        # What a proxy says of where a request came from, the settings read, and only where they say
        # that there is one.
        clear_untrusted_proxy_headers=not settings.TRUSTED_PROXY,
        ident=None,
    )


def main(words: Sequence[str]) -> None:
    """Serve until a signal, or until the process that started this one is gone, so that the port is
    free again."""
    parser = argparse.ArgumentParser(prog="remodel.server")
    parser.add_argument("--bind", action="append", required=True)
    parser.add_argument("--quiet-seconds", type=int, default=10)
    given = parser.parse_args(words)
    server = make_server(given.bind, quiet_seconds=given.quiet_seconds)
    for word in (signal.SIGTERM, signal.SIGINT):
        signal.signal(word, _end)
    threading.Thread(target=_watch, args=(os.getppid(),), daemon=True).start()
    server.run()


def _end(*_: Any) -> None:
    raise SystemExit


def _watch(parent: int) -> None:
    while os.getppid() == parent:
        time.sleep(_LOOK_SECONDS)
    os.kill(os.getpid(), signal.SIGTERM)


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "remodel.settings")
    main(sys.argv[1:])
