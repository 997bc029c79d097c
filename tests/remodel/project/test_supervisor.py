"""`serve` keeps a worker running beside the web: its end is never the end of the pages."""

import os
import subprocess
import sys
import threading

import pytest
from django.core.management import CommandError

from remodel.management.commands import serve

LONG = [sys.executable, "-c", "import time; time.sleep(60)"]
SHORT = ["true"]


@pytest.fixture(autouse=True)
def no_signals(monkeypatch):
    monkeypatch.setattr(serve.signal, "signal", lambda *_: None)
    monkeypatch.setattr(serve, "worker_gone", lambda _: None)
    monkeypatch.setattr(serve, "_LOOK", 0.01)


def supervisor(server, worker):
    return serve.Supervisor(server, dict(os.environ), ["sh", "-c", worker])


def test_worker_that_keeps_ending_is_started_again_with_growing_pauses(monkeypatch, caplog):
    monkeypatch.setattr(serve, "_LONGEST_PAUSE", 0.04)
    made = supervisor(LONG, "exit 3")
    made._pause = 0.01
    started = []
    start = made._start

    def count(command):
        started.append(command)
        if len(started) == 6:
            made._stop()
        return start(command)

    monkeypatch.setattr(made, "_start", count)
    made.run()
    assert started[0] == LONG
    assert len({command[-1] for command in started[1:]}) == 5  # each start has a name of its own
    assert made._pause == 0.04
    assert "The worker ended (code 3). Pages go on" in caplog.text


def test_pauses_begin_anew_after_a_worker_ran_well(monkeypatch):
    made = supervisor(LONG, "exit 0")
    made._pause = 32.0
    made._see_to_worker()
    made._children["worker"].wait()
    made._started_at -= 61
    made._see_to_worker()
    assert made._pause == 2 * serve._FIRST_PAUSE


def test_end_of_the_web_ends_all_with_a_clear_word():
    made = supervisor(SHORT, "sleep 60")
    with pytest.raises(CommandError, match=r"The web server ended by itself \(code 0\)"):
        made.run()
    assert all(child.poll() is not None for child in made._children.values())


def test_stop_ends_both():
    made = supervisor(LONG, "sleep 60")
    threading.Timer(0.3, made._stop).start()
    made.run()
    assert sorted(made._children) == ["web", "worker"]
    assert all(child.poll() is not None for child in made._children.values())


def test_child_that_will_not_end_is_killed(monkeypatch):
    monkeypatch.setattr(serve, "_STOP_SECONDS", 0.2)
    made = supervisor(LONG, "trap '' TERM; while true; do sleep 0.1; done")
    threading.Timer(0.5, made._stop).start()
    made.run()
    assert made._children["worker"].returncode == -serve.signal.SIGKILL


def test_name_of_the_worker_reaches_it(tmp_path):
    arguments = tmp_path / "said"
    made = supervisor(LONG, f'echo "$0 $1" > {arguments}; sleep 60')
    threading.Timer(0.5, made._stop).start()
    made.run()
    assert arguments.read_text().split() == ["--name", made._worker_name]
    assert subprocess.run(["pgrep", "-f", made._worker_name]).returncode == 1
