"""Finds out who is here. Every view has `request.person`, and a request of nobody reaches the open
pages only."""

from __future__ import annotations

from collections.abc import Callable
from urllib.parse import quote

from django.conf import settings
from django.contrib.auth.views import redirect_to_login
from django.db import DatabaseError, InterfaceError
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import NoReverseMatch, Resolver404, resolve, reverse

from remodel.outages import drop_connection
from remodel.people.models import Person
from remodel.people.services import DEVICE_COOKIE, device_of, household
from remodel.people.sign_in import keep_session
from remodel.web.kept_pages import mark_kept

__all__ = ["OPEN_PAGES", "WhoIsHereMiddleware", "is_this_machine"]

# Pages for those who have not come in yet, by url name.
OPEN_PAGES = frozenset(
    {"sign-in", "sign-up", "pair", "invitation", "health", "manifest", "service-worker"}
)


class WhoIsHereMiddleware:
    """Sets `request.person`.

    Local: the person who was chosen, or the household. Home network: the holder of a paired device.
    Hosted: whoever signed in.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        known = True
        try:
            person = self._person(request)
        except (DatabaseError, InterfaceError):
            # The health page has to answer in an outage too.
            if not _is_open(request):
                raise
            drop_connection()
            person, known = None, False
        request.person = person  # type: ignore[attr-defined]
        if person is None and not _is_open(request):
            return self._turned_away(request)
        response = self.get_response(request)
        if known:
            mark_kept(request, response, person)
        return response

    def _person(self, request: HttpRequest) -> Person | None:
        if settings.HOSTED:
            return (
                request.user if isinstance(request.user, Person) and keep_session(request) else None
            )
        if is_this_machine(request):
            return _chosen(request) or household()
        device = device_of(request.COOKIES.get(DEVICE_COOKIE, ""))
        request.device = device  # type: ignore[attr-defined]
        return device.person or household() if device else None

    def _turned_away(self, request: HttpRequest) -> HttpResponse:
        if settings.HOSTED:
            return redirect_to_login(request.get_full_path(), reverse(settings.LOGIN_URL))
        try:
            pair = reverse("pair")
        except NoReverseMatch:
            return HttpResponse("Pair this device first", status=403, content_type="text/plain")
        return HttpResponseRedirect(f"{pair}?next={quote(request.get_full_path())}")


def is_this_machine(request: HttpRequest) -> bool:
    """Whether the browser runs on the machine that serves: the request comes from a loopback
    address, and not through a proxy."""
    direct = "HTTP_X_FORWARDED_FOR" not in request.META and "HTTP_FORWARDED" not in request.META
    return direct and request.META.get("REMOTE_ADDR") in ("127.0.0.1", "::1")


def _chosen(request: HttpRequest) -> Person | None:
    key = request.session.get("person")
    return Person.objects.filter(pk=key, email=None).first() if key else None


def _is_open(request: HttpRequest) -> bool:
    try:
        return resolve(request.path_info).url_name in OPEN_PAGES
    except Resolver404:
        return False
