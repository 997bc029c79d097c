"""The day is that of the house; the log of the server is in UTC, a line an event."""

import json
import logging
import os
import subprocess
import sys

import pytest

from remodel.logs import UtcFormatter


def zone(tmp_path, **environment):
    kept = {key: value for key, value in os.environ.items() if key in ("PATH", "HOME", "LANG")}
    code = "import json, remodel.settings as s; print(json.dumps(s.TIME_ZONE))"
    return subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        env={**kept, "HALFBAY_DATA": str(tmp_path), **environment},
    )


def test_zone_can_be_said(tmp_path):
    assert (
        json.loads(zone(tmp_path, HALFBAY_TIME_ZONE="America/Chicago").stdout) == "America/Chicago"
    )


@pytest.mark.parametrize("wrong", ["Here", "../etc/passwd", "/etc/localtime"])
def test_unknown_zone_is_named(tmp_path, wrong):
    assert (
        "HALFBAY_TIME_ZONE must be a zone, for example America/Chicago"
        in zone(tmp_path, HALFBAY_TIME_ZONE=wrong).stderr
    )


def test_hosted_is_in_utc_unless_said(tmp_path):
    hosted = {"HALFBAY_MODE": "hosted", "SECRET_KEY": "s" * 60, "ALLOWED_HOSTS": "a.example"}
    assert json.loads(zone(tmp_path, **hosted).stdout) == "UTC"


def test_line_is_in_utc_and_cannot_be_forged():
    record = logging.LogRecord(
        "remodel", logging.WARNING, "", 0, "refused %s", ("Ada\n2026-01-01 INFO signed in",), None
    )
    record.created = 0
    line = UtcFormatter("%(asctime)sZ %(levelname)s %(message)s").format(record)
    assert line.startswith("1970-01-01 00:00:00,")
    assert "\n" not in line
    assert "Ada\\n2026-01-01 INFO signed in" in line
