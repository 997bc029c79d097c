import logging
import sqlite3

import pytest
from django.core.exceptions import RequestDataTooBig
from django.db import OperationalError
from django.test import RequestFactory

from remodel.web import errors

pytestmark = pytest.mark.usefixtures("sink_site")

REQUEST = RequestFactory().get("/secret-path?q=1")
PAGES = [
    (400, lambda: errors.bad_request(REQUEST, ValueError("inner detail"))),
    (403, lambda: errors.forbidden(REQUEST, ValueError("inner detail"))),
    (403, lambda: errors.csrf_failure(REQUEST, "inner detail")),
    (404, lambda: errors.not_found(REQUEST, ValueError("inner detail"))),
    (413, lambda: errors.too_large(REQUEST, limit="20 MB a photo")),
    (413, lambda: errors.bad_request(REQUEST, RequestDataTooBig("inner detail"))),
    (429, lambda: errors.too_many(REQUEST, wait_seconds=30)),
    (500, lambda: errors.server_error(REQUEST)),
]


@pytest.mark.parametrize(("status", "page"), PAGES)
def test_page_is_plain_words_with_a_reference_that_is_in_the_log(status, page, caplog):
    # no database mark: a query would fail the test
    with caplog.at_level(logging.WARNING, logger="remodel.errors"):
        answer = page()
    html = answer.content.decode()
    reference = html.split("<code>")[1].split("</code>")[0]

    assert answer.status_code == status
    assert "<h1>" in html
    assert reference in caplog.text
    assert "secret-path" not in html
    assert "inner detail" not in html


def test_too_many_says_how_long_to_wait():
    answer = errors.too_many(REQUEST, wait_seconds=30)

    assert answer["Retry-After"] == "30"
    assert "Wait 30 seconds" in answer.content.decode()


def test_a_broken_template_still_gives_words(monkeypatch, caplog):
    def fail(*args, **kwargs):
        raise OSError("no such file")

    monkeypatch.setattr(errors, "render_to_string", fail)
    answer = errors.server_error(REQUEST)

    assert answer.status_code == 500
    assert answer["Content-Type"].startswith("text/plain")
    assert b"Reference: " in answer.content


def test_a_missing_page_has_the_page_and_the_policy(client):
    answer = client.get("/nowhere")

    assert answer.status_code == 404
    assert "There is no such page" in answer.content.decode()
    assert "default-src 'self'" in answer["Content-Security-Policy"]


@pytest.mark.parametrize("method", ["get", "post"])
def test_outage_is_answered_as_one_and_not_as_a_fault(method):
    request = getattr(RequestFactory(), method)("/")
    try:
        cause = sqlite3.OperationalError("database is locked")
        cause.sqlite_errorcode = sqlite3.SQLITE_BUSY
        raise OperationalError("database is locked") from cause
    except OperationalError:
        answer = errors.server_error(request)
    html = answer.content.decode()

    assert (answer.status_code, answer["Retry-After"]) == (503, "5")
    assert ("Not saved: the database is busy" in html) == (method == "post")
    assert ("press Save again" in html) == (method == "post")
