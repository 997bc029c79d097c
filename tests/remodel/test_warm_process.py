"""A process that is started ahead of its work."""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

import pytest

from remodel.warm_process import NotWanted, WarmProcess

SLOW_TO_START = (
    "import sys, time; time.sleep(0.8); text = sys.stdin.read(); sys.stdout.write(text.upper())"
)


@pytest.fixture
def start():
    made = []

    def make(code):
        made.append(WarmProcess([sys.executable, "-c", code], folder=Path.cwd()))
        return made[-1]

    yield make
    for process in made:
        process.drop()


def test_each_input_has_a_process_of_its_own_started_ahead(start):
    spare = start(SLOW_TO_START)
    assert spare.run(b"a", seconds=30) == (0, b"A", b"")
    time.sleep(2)
    begun = time.monotonic()

    assert spare.run(b"b", seconds=30) == (0, b"B", b"")
    assert time.monotonic() - begun < 0.8


def test_process_that_takes_too_long_is_killed_and_the_next_one_works(start):
    spare = start(
        "import sys, time; text = sys.stdin.read(); time.sleep(60 if text == 'long' else 0); "
        "print(text)"
    )
    with pytest.raises(subprocess.TimeoutExpired):
        spare.run(b"long", seconds=1)

    assert spare.run(b"short", seconds=30)[1] == b"short\n"


def test_process_started_under_other_settings_is_not_used(start, monkeypatch):
    spare = start("import os, sys; sys.stdin.read(); print(os.environ.get('PAPER_COLOUR', 'none'))")
    assert spare.run(b"", seconds=30)[1] == b"none\n"
    monkeypatch.setenv("PAPER_COLOUR", "white")

    assert spare.run(b"", seconds=30)[1] == b"white\n"


def test_spare_that_died_is_replaced(start):
    spare = start("import sys; text = sys.stdin.read(); print(text)")
    spare.run(b"a", seconds=30)
    spare._child.kill()
    spare._child.wait()

    assert spare.run(b"b", seconds=30)[1] == b"b\n"


def test_watcher_hears_complaints_while_the_work_goes_on(start):
    spare = start(
        "import sys, time; text = sys.stdin.read(); print('half way', file=sys.stderr); "
        "time.sleep(2); print(len(text))"
    )
    heard = []
    given = b"x" * 1_000_000  # more than a pipe holds, and the process takes it late

    assert (
        spare.run(given, seconds=60, watch=lambda line: heard.append(line) or True)[1]
        == b"1000000\n"
    )
    assert b"half way\n" in heard


def test_work_that_is_not_wanted_any_more_is_ended(start):
    spare = start(
        "import sys, time; text = sys.stdin.read(); time.sleep(60 if text == 'long' else 0); "
        "print(text)"
    )
    with pytest.raises(NotWanted):
        spare.run(b"long", seconds=60, watch=lambda line: False)

    assert spare.run(b"short", seconds=30)[1] == b"short\n"
