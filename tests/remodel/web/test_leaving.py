"""A form that the page's script sends is told where to go; others are redirected as ever."""

from __future__ import annotations

import pytest
from django.http import HttpResponse, HttpResponseRedirect
from django.test import RequestFactory

from remodel.web.middleware import LeaveMiddleware

SENT_BY_SCRIPT = [{"HX-Request": "true"}, {"X-Whole-Page": "yes"}]


def answer(request, view=lambda _: HttpResponseRedirect("/rooms?by=name#kitchen")):
    return LeaveMiddleware(view)(request)


@pytest.mark.parametrize("headers", SENT_BY_SCRIPT)
def test_script_is_told_the_address_and_keeps_what_the_view_set(headers):
    def view(_):
        response = HttpResponseRedirect("/rooms?by=name#kitchen")
        response.set_cookie("device", "one", httponly=True)
        return response

    response = answer(RequestFactory().post("/", headers=headers), view)

    assert (response.status_code, response["HX-Redirect"]) == (200, "/rooms?by=name#kitchen")
    assert "Location" not in response
    assert response.cookies["device"]["httponly"]


def test_form_without_script_is_redirected():
    response = answer(RequestFactory().post("/"))

    assert (response.status_code, response["Location"]) == (302, "/rooms?by=name#kitchen")


@pytest.mark.parametrize("headers", SENT_BY_SCRIPT)
def test_reading_is_redirected_and_a_page_stays_a_page(headers):
    assert answer(RequestFactory().get("/", headers=headers)).status_code == 302
    page = answer(
        RequestFactory().post("/", headers=headers), lambda _: HttpResponse("Kept", status=422)
    )

    assert (page.status_code, page.content) == (422, b"Kept")


def test_who_is_turned_away_is_redirected_so_that_the_page_keeps_what_was_typed(
    client, db, settings
):
    settings.HOSTED = True
    response = client.post("/house/new", headers={"HX-Request": "true"})

    assert response.status_code == 302
    assert response["Location"].startswith("/sign-in")
