"""What the page on hosting says to run is what runs: the units' commands, as plain processes."""

from __future__ import annotations

import os
import shlex
import signal
import subprocess
import sys
import time
import urllib.request
from urllib.error import HTTPError, URLError

import pytest
import yaml

from tests.outages.product import ROOT, free_port

HOSTING = ROOT / "remodel" / "hosting"
PYTHON = "/srv/halfbay/.venv/bin/python"


def commands(unit: str, kind: str) -> list[str]:
    lines = (HOSTING / unit).read_text().splitlines()
    return [line.partition("=")[2] for line in lines if line.startswith(f"{kind}=")]


def test_containers_run_the_commands_of_the_units():
    services = yaml.safe_load((HOSTING / "compose.yaml").read_text())["services"]
    web = [*commands("halfbay-web.service", "ExecStartPre")]
    web += commands("halfbay-web.service", "ExecStart")
    for command in web:
        words = command.removeprefix(f"{PYTHON} ").replace("127.0.0.1", "0.0.0.0")
        assert f"python {words}" in services["web"]["command"]
    (worker,) = commands("halfbay-worker@.service", "ExecStart")
    assert services["worker"]["command"] == worker.replace(PYTHON, "python")


def test_settings_that_the_page_names_are_read():
    page = (HOSTING / "README.md").read_text()
    named = [line.split("`")[1] for line in page.splitlines() if line.startswith("| `")]
    read = (ROOT / "remodel" / "settings.py").read_text()
    assert len(named) >= 6
    assert [name for name in named if f'"{name}"' not in read] == []


@pytest.mark.deep
def test_units_commands_bring_up_a_site_where_people_sign_in(tmp_path):
    port = free_port()
    hosted = {
        "HALFBAY_MODE": "hosted",
        "SECRET_KEY": "s" * 60,
        "ALLOWED_HOSTS": "127.0.0.1",
        "HALFBAY_DATA": str(tmp_path / "data"),
        "TRUSTED_PROXY": "1",
        "DJANGO_SETTINGS_MODULE": "remodel.settings",
    }
    environment = {"PATH": os.environ["PATH"], **hosted}

    def words(command: str) -> list[str]:
        return shlex.split(command.replace(PYTHON, sys.executable).replace("8000", str(port)))

    for command in commands("halfbay-web.service", "ExecStartPre"):
        subprocess.run(words(command), cwd=ROOT, env=environment, check=True)
    (web,) = commands("halfbay-web.service", "ExecStart")
    (worker,) = commands("halfbay-worker@.service", "ExecStart")
    running = [
        subprocess.Popen(words(command), cwd=ROOT, env=environment) for command in (web, worker)
    ]
    try:
        until = time.monotonic() + 120
        while (answer := _health(port)) != (200, "well\n"):
            assert time.monotonic() < until, answer
            time.sleep(0.5)
        made = subprocess.run(
            [sys.executable, "manage.py", "add_person", "ada@example.org", "--name", "Ada"],
            cwd=ROOT,
            env=environment,
            input="four words of ours\n",
            capture_output=True,
            text=True,
        )
        assert made.stdout == "Ada can sign in\n"
    finally:
        for process in running:
            process.send_signal(signal.SIGTERM)
        assert [process.wait(30) for process in running] == [0, 0]


def _health(port: int) -> tuple[int, str]:
    asked = urllib.request.Request(
        f"http://127.0.0.1:{port}/health", headers={"X-Forwarded-Proto": "https"}
    )
    try:
        with urllib.request.urlopen(asked, timeout=30) as answer:
            return answer.status, answer.read().decode()
    except HTTPError as error:
        return error.code, error.read().decode()
    except (URLError, ConnectionError):
        return 0, ""
