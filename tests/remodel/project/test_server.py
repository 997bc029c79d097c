"""The web server beside connections that send nothing, half a request, or too much."""

import os
import signal
import socket
import subprocess
import sys
import time
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.outages.product import children_of, free_port

ROOT = Path(__file__).resolve().parents[3]
# an address that is answered without a database, which there is none of here
PLAIN = b"GET /%00 HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n"
HALF = b"POST /sign-in HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 500\r\n\r\nnext="


@pytest.fixture(scope="module")
def port(tmp_path_factory):
    with serving(tmp_path_factory.mktemp("served"), "--quiet-seconds", "2") as port:
        yield port


@contextmanager
def serving(folder, *words, **environment):
    with _started(folder, *words, **environment) as (server, port):
        yield port
        server.terminate()
        assert server.wait(30) == 0


@contextmanager
def _started(folder, *words, **environment):
    port = free_port()
    server = subprocess.Popen(
        [sys.executable, "-m", "remodel.server", "--bind", f"127.0.0.1:{port}", *words],
        cwd=ROOT,
        env=os.environ
        | {"HALFBAY_DATA": str(folder), "DJANGO_SETTINGS_MODULE": "tests.settings"}
        | environment,
    )
    try:
        until = time.monotonic() + 60
        while not _answers(port):
            assert time.monotonic() < until, "the server did not start"
            time.sleep(0.1)
        yield server, port
    finally:
        server.kill()
        server.wait()


def _answers(port):
    try:
        socket.create_connection(("127.0.0.1", port), 1).close()
    except OSError:
        return False
    return True


def connected(port, sent=b""):
    connection = socket.create_connection(("127.0.0.1", port), 30)
    connection.sendall(sent)
    return connection


def answer_to(port, request):
    with connected(port, request) as connection:
        return connection.makefile("rb").read().decode()


def test_page_comes_while_many_connections_are_idle_or_half_sent_and_those_are_closed(port):
    waiting = [connected(port, sent) for sent in (b"", HALF) for _ in range(64)]

    assert "Reference" in answer_to(port, PLAIN)

    # each is closed from the other side, which reads as the end of what came
    assert [connection.recv(1) for connection in waiting] == [b""] * 128
    for connection in waiting:
        connection.close()


def test_request_longer_than_its_page_allows_is_refused_by_its_length_alone(port):
    answer = answer_to(
        port, b"POST /sign-in HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 90000000\r\n\r\n"
    )

    assert "413" in answer.splitlines()[0]
    assert "20 MB" in answer
    assert "connection: close" in answer.lower()


def test_one_of_two_processes_answers_while_the_other_cannot(tmp_path):
    with _started(tmp_path, "--processes", "2") as (server, port):
        stuck, _ = children_of(server.pid, "remodel.server")
        os.kill(stuck, signal.SIGSTOP)
        try:
            answers = [answer_to(port, PLAIN) for _ in range(4)]
        finally:
            os.kill(stuck, signal.SIGCONT)

    assert all("Reference" in answer for answer in answers)


@pytest.mark.parametrize("word", [signal.SIGTERM, signal.SIGKILL])
def test_where_one_of_two_processes_ends_by_itself_all_end(tmp_path, word):
    with _started(tmp_path, "--processes", "2") as (server, port):
        os.kill(children_of(server.pid, "remodel.server")[0], word)

        assert server.wait(30) != 0
        assert not _answers(port)


def test_two_processes_end_with_the_one_that_runs_them(tmp_path):
    with _started(tmp_path, "--processes", "2") as (server, port):
        server.kill()
        until = time.monotonic() + 30
        while _answers(port):
            assert time.monotonic() < until, "somebody still answers"
            time.sleep(0.1)


@pytest.mark.parametrize(("trusted", "status"), [("1", "400"), ("0", "301")])
def test_what_a_proxy_says_counts_only_where_there_is_one(tmp_path, trusted, status):
    hosted = {"HALFBAY_MODE": "hosted", "SECRET_KEY": "s" * 60, "ALLOWED_HOSTS": "127.0.0.1"}
    with serving(tmp_path, **hosted, TRUSTED_PROXY=trusted) as port:
        answer = answer_to(
            port,
            b"GET /%00 HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Forwarded-Proto: https\r\n"
            b"Connection: close\r\n\r\n",
        )
    assert status in answer.splitlines()[0]
