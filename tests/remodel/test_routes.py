"""Every route is in the inventory, names its verbs, turns away what is forged, writes nothing when
read, and says the same headers."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from tests.remodel.routes import inventory, routes

UNSAFE = {"POST", "PUT", "PATCH", "DELETE"}
POLICY = {
    "default-src 'self'",
    "img-src 'self' data:",
    "object-src 'none'",
    "base-uri 'none'",
    "form-action 'self'",
    "frame-ancestors 'none'",
}
# what reading may write: who is here, when a device was last seen, tries against a limit, and the
# health page's own row
# a drawing as a file of its own has its looks inside, and nothing else may run or load in it
_OWN_POLICY = {"room-drawing-svg": {"default-src 'none'", "style-src 'unsafe-inline'"}}
_KEPT_WHILE_READING = (
    "django_session",
    "people_device",
    "people_attempt",
    "people_person",
    "people_membership",
)


def test_every_route_is_in_the_inventory_and_nothing_else_is():
    there = [[route.name, route.path, ",".join(route.methods)] for route in routes()]
    assert [line[:3] for line in inventory()] == there


def test_inventory_knows_who_may_use_each_route():
    assert {line[3] for line in inventory()} <= {
        "open",
        "home",
        "hosted",
        "anybody",
        "house",
        "owner",
    }


def test_every_route_has_a_name_and_says_its_verbs():
    assert [route.path for route in routes() if not route.name or not route.methods] == []


def test_route_with_an_id_is_not_for_anybody():
    assert [route.path for route in routes() if route.who == "anybody" and route.parameters] == []


def test_verb_that_is_not_named_is_refused(everything):
    client = everything.client(everything.ada)
    wrong = [
        (verb, route.path, status)
        for route in routes()
        if route.who not in ("home", "hosted")
        and not (route.who == "open" and "token" in route.parameters)
        for verb in ("GET", "POST", "PUT", "DELETE", "PATCH")
        if verb not in route.methods
        and (status := everything.ask(client, verb, route).status_code) not in (405, 404)
    ]
    assert wrong == []


def test_forged_post_is_refused_on_every_route(everything):
    client = everything.client(everything.ada, enforce_csrf_checks=True)
    let_in = [
        (verb, route.path, status)
        for route in routes()
        for verb in UNSAFE & set(route.methods)
        if (status := everything.ask(client, verb, route).status_code) != 403
    ]
    assert let_in == []


def test_reading_writes_nothing(everything):
    client = everything.client(everything.ada)
    client.get("/help")
    wrote = []
    for route in routes():
        if "GET" not in route.methods:
            continue
        with CaptureQueriesContext(
            connection,
        ) as queries:
            everything.ask(client, "GET", route)
        wrote += [
            (route.path, query["sql"][:100])
            for query in queries
            if query["sql"].split(" ", 1)[0] in ("INSERT", "UPDATE", "DELETE")
            and not any(table in query["sql"][:90] for table in _KEPT_WHILE_READING)
        ]
    assert wrote == []


def test_every_page_opens(everything):
    """A page of the demo answers; 409 and 422 are for what was sent, so nothing read may be one,
    nor an error."""
    client = everything.client(everything.ada)
    bad = [
        (route.path, status)
        for route in routes()
        if route.who in ("anybody", "house", "owner") and "GET" in route.methods
        if (status := everything.ask(client, "GET", route).status_code) not in (200, 302)
    ]
    assert bad == []


@pytest.mark.parametrize("hosted", [True, False])
def test_every_answer_says_the_policy(everything, settings, hosted):
    settings.HOSTED = hosted
    client = everything.client(everything.ada) if hosted else Client()
    for route in routes():
        if not hosted and route.who not in ("open", "home"):
            continue
        for verb in route.methods:
            answer = everything.ask(client, verb, route)
            header = answer.headers.get("Content-Security-Policy", "")
            policy = _OWN_POLICY.get(route.name, POLICY) if answer.status_code == 200 else POLICY
            assert {directive.strip() for directive in header.split(";")} == policy, route.path
            assert answer.headers["X-Content-Type-Options"] == "nosniff", route.path
            assert answer.headers["X-Frame-Options"] == "DENY", route.path
            assert answer.headers["Referrer-Policy"] == "same-origin", route.path


def test_no_answer_runs_a_script_or_style_in_the_page(everything):
    client = everything.client(everything.ada)
    for route in routes():
        if "GET" in route.methods and route.who != "home":
            answer = everything.ask(client, "GET", route)
            # a file to take along holds all it needs, under a policy of its own
            if route.name == "room-take-along-file":
                continue
            if answer.headers["Content-Type"].startswith("text/html"):
                page = answer.page
                assert " style=" not in page, route.path
                assert "<style" not in page, route.path
                assert "javascript:" not in page, route.path


def test_missing_page_is_told_plainly(everything):
    answer = everything.client(everything.ada).get("/no-such-page")
    assert answer.status_code == 404
    assert "There is no such page" in answer.content.decode()
    assert "Reference:" in answer.content.decode()
    assert "/no-such-page" not in answer.content.decode()


def test_forged_form_is_told_plainly(everything):
    answer = everything.client(everything.ada, enforce_csrf_checks=True).post("/sign-out")
    assert answer.status_code == 403
    assert "Reference:" in answer.content.decode()


def test_broken_page_shows_no_more_than_a_reference(everything, monkeypatch):
    def broken(*_, **__):
        raise RuntimeError("secret detail")

    monkeypatch.setattr("remodel.pages.help.views.explained", broken)
    client = everything.client(everything.ada)
    client.raise_request_exception = False
    answer = client.get("/help")
    assert answer.status_code == 500
    assert "Reference:" in answer.content.decode()
    assert "secret detail" not in answer.content.decode()


def test_what_is_too_large_is_turned_away_before_it_is_read(everything, settings):
    client = everything.client(everything.ada)
    answer = client.generic(
        "POST", "/houses", b"x", CONTENT_LENGTH=str(settings.UPLOAD_MAX_BYTES + 500_001)
    )
    assert answer.status_code == 413
    assert "20 MB a file" in answer.content.decode()
    assert client.generic("POST", "/houses", b"x", CONTENT_LENGTH="-1").status_code == 413


def test_form_with_too_many_fields_is_a_bad_request(everything, settings):
    settings.DATA_UPLOAD_MAX_NUMBER_FIELDS = 5
    answer = everything.client(everything.ada).post(
        "/house/new", {f"f{number}": "x" for number in range(6)}
    )
    assert answer.status_code == 400
    assert "Reference:" in answer.content.decode()
