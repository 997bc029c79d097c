"""The web server: `python -m remodel.server --bind 127.0.0.1:8000`.

waitress takes each request in whole, with one thread for all connections, before a thread of ours
works on it. So connections that send nothing, or half a request, hold up nobody; they are closed
after ten seconds.

The threads of a process share one core. Where many people work at once `--processes` makes several,
which take connections from the same addresses.
"""

from __future__ import annotations

import argparse
import copy
import os
import signal
import socket
import sys
import threading
import time
import traceback
from collections.abc import Callable, Sequence
from functools import partial
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


def make_server(sockets: Sequence[socket.socket], *, quiet_seconds: int) -> Any:
    """A server of connections that come in on each of `sockets`. Its `run` serves until
    `SystemExit`, and then ends the requests under way. A connection on which nothing came or went
    for `quiet_seconds` is closed."""
    from remodel.wsgi import application

    BaseWSGIServer.channel_class = Channel
    return create_server(
        application,
        sockets=list(sockets),
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
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--quiet-seconds", type=int, default=10)
    given = parser.parse_args(words)
    sockets = [_bound(address) for address in given.bind]
    serve = partial(_serve, sockets, given.quiet_seconds)
    if given.processes > 1:
        _in_processes(given.processes, serve)
    else:
        serve(os.getppid())


def _bound(address: str) -> socket.socket:
    """A socket at an address like `127.0.0.1:8000` or `[fd00::20]:8000`."""
    host, _, port = address.rpartition(":")
    family = socket.AF_INET6 if host.startswith("[") else socket.AF_INET
    bound = socket.socket(family, socket.SOCK_STREAM)
    bound.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    bound.bind((host.strip("[]"), int(port)))
    return bound


def _serve(sockets: Sequence[socket.socket], quiet_seconds: int, parent: int) -> None:
    server = make_server(sockets, quiet_seconds=quiet_seconds)
    for word in (signal.SIGTERM, signal.SIGINT):
        signal.signal(word, _end)
    threading.Thread(target=_watch, args=(parent,), daemon=True).start()
    server.run()


def _in_processes(count: int, serve: Callable[[int], None]) -> None:
    """Run so many processes until a signal, or until the one that started this is gone. Where one
    of them ends by itself all end, as a single one would; what started this starts it again."""
    parent = os.getppid()
    running = {_forked(serve) for _ in range(count)}
    for word in (signal.SIGTERM, signal.SIGINT):
        signal.signal(word, _end)
    try:
        while os.getppid() == parent:
            ended, status = os.waitpid(-1, os.WNOHANG)
            if ended:
                running.discard(ended)
                sys.exit(os.waitstatus_to_exitcode(status) or 1)
            time.sleep(_LOOK_SECONDS)
    finally:
        for process in running:
            os.kill(process, signal.SIGTERM)
        for process in running:
            os.waitpid(process, 0)


def _forked(serve: Callable[[int], None]) -> int:
    parent = os.getpid()
    process = os.fork()
    if process:
        return process
    code = 1
    try:
        serve(parent)
        code = 0
    except Exception:
        traceback.print_exc()
    finally:
        sys.stderr.flush()
        os._exit(code)  # what stands below on the stack is the first process's to do


def _end(*_: Any) -> None:
    raise SystemExit


def _watch(parent: int) -> None:
    while os.getppid() == parent:
        time.sleep(_LOOK_SECONDS)
    os.kill(os.getpid(), signal.SIGTERM)


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "remodel.settings")
    main(sys.argv[1:])
