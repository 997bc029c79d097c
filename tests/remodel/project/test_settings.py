"""Safe by default; hosted only with what that takes."""

import json
import os
import subprocess
import sys

import pytest
from django.db import connection

SECRET = "s" * 60


def settings_with(tmp_path, **environment):
    """The settings a fresh process gets, or its error."""
    code = (
        "import json, remodel.settings as s; print(json.dumps({k: repr(getattr(s, k)) for k in "
        "dir(s) if k.isupper()}))"
    )
    kept = {key: value for key, value in os.environ.items() if key in ("PATH", "HOME", "LANG")}
    return subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        env={**kept, "HALFBAY_DATA": str(tmp_path), **environment},
    )


def test_empty_environment_is_this_machine_alone_with_a_key_of_its_own(tmp_path):
    first, second = settings_with(tmp_path), settings_with(tmp_path)
    values = json.loads(first.stdout)
    assert values["DEBUG"] == "False"
    assert values["ALLOWED_HOSTS"] == "['localhost', '127.0.0.1', '[::1]']"
    assert values["SECRET_KEY"] == json.loads(second.stdout)["SECRET_KEY"]
    assert (tmp_path / "secret-key").stat().st_mode & 0o077 == 0


@pytest.mark.parametrize(
    ("missing", "named"),
    [
        ({}, "SECRET_KEY"),
        ({"SECRET_KEY": SECRET}, "ALLOWED_HOSTS"),
        ({"SECRET_KEY": "short", "ALLOWED_HOSTS": "a.example"}, "SECRET_KEY"),
        ({"SECRET_KEY": SECRET, "ALLOWED_HOSTS": "*"}, "ALLOWED_HOSTS"),
    ],
)
def test_hosted_does_not_start_without_what_it_takes(tmp_path, missing, named):
    done = settings_with(tmp_path, HALFBAY_MODE="hosted", **missing)
    assert done.returncode
    assert named in done.stderr


def test_wrong_word_in_the_environment_is_named(tmp_path):
    assert "HALFBAY_MODE" in settings_with(tmp_path, HALFBAY_MODE="prod").stderr
    assert "PORT" in settings_with(tmp_path, PORT="99999999").stderr


def test_hosted_cookies_and_transport_are_safe(tmp_path):
    values = json.loads(
        settings_with(
            tmp_path, HALFBAY_MODE="hosted", SECRET_KEY=SECRET, ALLOWED_HOSTS="a.example"
        ).stdout
    )
    assert values["SESSION_COOKIE_NAME"] == "'__Host-sessionid'"
    assert values["SESSION_COOKIE_SECURE"] == values["CSRF_COOKIE_SECURE"] == "True"
    assert int(values["SECURE_HSTS_SECONDS"]) >= 365 * 24 * 3600


def test_hosted_passes_the_deployment_check(tmp_path):
    kept = {key: value for key, value in os.environ.items() if key in ("PATH", "HOME", "LANG")}
    done = subprocess.run(
        [sys.executable, "manage.py", "check", "--deploy", "--fail-level", "WARNING"],
        capture_output=True,
        text=True,
        env={
            **kept,
            "HALFBAY_DATA": str(tmp_path),
            "HALFBAY_MODE": "hosted",
            "SECRET_KEY": "abcdefghijklmnopqrstuvwxyz" * 3,
            "ALLOWED_HOSTS": "a.example",
            "DJANGO_SETTINGS_MODULE": "remodel.settings",
        },
    )
    assert done.returncode == 0, done.stderr


@pytest.mark.django_db
def test_sqlite_connection_keeps_what_is_committed():
    if connection.vendor != "sqlite":
        pytest.skip("another database")
    with connection.cursor() as cursor:
        values = [
            cursor.execute(f"PRAGMA {name}").fetchone()[0]
            for name in ("synchronous", "foreign_keys")
        ]
    assert values == [2, 1]
    assert connection.settings_dict["OPTIONS"]["transaction_mode"] == "IMMEDIATE"


def test_policy_lets_nothing_in_from_elsewhere(settings):
    directives = settings.CONTENT_SECURITY_POLICY["DIRECTIVES"]
    assert directives["default-src"] == ["'self'"]
    assert not [
        directive
        for directive in directives.values()
        if "'unsafe-inline'" in directive or "'unsafe-eval'" in directive
    ]
    assert {"object-src", "base-uri", "frame-ancestors"} <= directives.keys()
