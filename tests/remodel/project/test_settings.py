"""Safe by default; hosted only with what that takes."""

import json
import logging
import os
import subprocess
import sys

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import connection

from remodel.logs import RequestIdFilter, UtcFormatter, during_request

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


def test_storages_and_cache_of_all_machines_are_named_in_the_environment(tmp_path):
    shared = '{"packs": {"BACKEND": "django.core.files.storage.InMemoryStorage"}}'
    cache = '{"default": {"BACKEND": "django.core.cache.backends.dummy.DummyCache"}}'
    done = settings_with(tmp_path, HALFBAY_STORAGES=shared, HALFBAY_CACHES=cache)
    values = json.loads(done.stdout)
    assert "InMemoryStorage" in values["STORAGES"]
    assert "FileSystemStorage" in values["STORAGES"]  # photos stay where they were
    assert "DummyCache" in values["CACHES"]
    assert "HALFBAY_STORAGES must be JSON" in settings_with(tmp_path, HALFBAY_STORAGES="s3").stderr


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


def test_what_is_stored_is_for_its_owner_alone(tmp_path):
    folder = tmp_path / "new" / "data"
    write = "from django.db import connection as c; c.cursor().execute('CREATE TABLE t (x)')"
    run = [sys.executable, "-c", f"import django; django.setup(); {write}"]
    subprocess.run(run, env={**os.environ, **_stored_in(folder)}, check=True)
    assert folder.stat().st_mode & 0o077 == 0
    assert (folder / "halfbay.sqlite3").stat().st_mode & 0o077 == 0


def test_photo_is_stored_for_its_owner_alone(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "media"
    name = default_storage.save("photos/a.jpg", ContentFile(b"picture"))
    assert (settings.MEDIA_ROOT / name).stat().st_mode & 0o077 == 0
    assert (settings.MEDIA_ROOT / "photos").stat().st_mode & 0o077 == 0


def test_data_folder_that_cannot_be_made_is_told_in_a_sentence(tmp_path):
    (tmp_path / "file").write_text("")
    done = subprocess.run(
        [sys.executable, "manage.py", "migrate"],
        env={**os.environ, **_stored_in(tmp_path / "file" / "data")},
        capture_output=True,
        text=True,
    )
    assert done.returncode == 1
    assert "Set HALFBAY_DATA to a folder of your own" in done.stderr
    assert "Traceback" not in done.stderr


def test_data_folder_that_cannot_be_written_in_is_told_in_a_sentence(tmp_path):
    """The system is asked whether it can be; who runs tests as root could write anywhere."""
    look = "import os; os.access = lambda path, mode: not mode & os.W_OK; import remodel.settings"
    done = subprocess.run(
        [sys.executable, "-c", look],
        env={**os.environ, **_stored_in(tmp_path)},
        capture_output=True,
        text=True,
    )
    assert done.returncode == 1
    assert f"The data folder {tmp_path} cannot be written in" in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_line_of_the_log_names_the_request_it_was_written_in():
    said = logging.LogRecord("remodel", logging.WARNING, "", 0, "half\ndone", None, None)
    shown = UtcFormatter("[%(request_id)s] %(message)s")
    with during_request("0123456789"):
        RequestIdFilter().filter(said)
    assert shown.format(said) == "[0123456789] half\\ndone"
    RequestIdFilter().filter(said)
    assert shown.format(said) == "[-] half\\ndone"


def _stored_in(folder):
    return {
        "HALFBAY_DATA": str(folder),
        "DJANGO_SETTINGS_MODULE": "remodel.settings",
        "DATABASE_URL": "",
    }


def test_host_that_is_not_ours_is_told_in_one_line(client, caplog):
    assert client.get("/", HTTP_HOST="evil.example").status_code == 400
    told = [record for record in caplog.records if "evil.example" in record.getMessage()]
    assert len(told) == 1
    assert told[0].exc_info is None


@pytest.mark.parametrize("address", ["/?next=%00", "/hou%00se"])
def test_address_with_a_null_character_is_refused(client, address):
    assert client.get(address).status_code == 400
