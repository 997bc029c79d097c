"""Somebody who may look only is offered nothing that they may not do: no form, no button, no
link."""

from __future__ import annotations

import re
from dataclasses import dataclass
from html.parser import HTMLParser
from urllib.parse import urlsplit

import pytest
from django.db import transaction
from django.test import override_settings
from django.urls import resolve

from remodel.history.services import By
from remodel.people.models import Membership, Role
from remodel.supply.orders import order_make
from tests.remodel.everything import Everything
from tests.remodel.factories import PersonFactory
from tests.remodel.routes import Route, routes

# posts that write nothing of the house: a drawing of what is typed, a print set, and a viewer's own
# leaving
_THEIRS = {"room-outline", "thing-picture", "room-pack", "membership-end"}
_POSTED = ("hx-post", "hx-put", "hx-patch", "hx-delete", "formaction")


class _Offered(HTMLParser):
    """Where a page's forms and buttons post to, and where its links lead."""

    def __init__(self, page: str, url: str) -> None:
        super().__init__()
        self.posts: set[str] = set()
        self.links: set[str] = set()
        self.url = url
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        values = {name: value or "" for name, value in attrs}
        if tag == "form" and values.get("method", "get").lower() == "post":
            self.posts.add(values.get("action") or self.url)
        self.posts |= {values[name] for name in _POSTED if name in values}
        if tag == "a" and values.get("href", "").startswith("/"):
            self.links.add(values["href"])


@pytest.fixture
def viewer(everything):
    return _member(everything, "Vi", Role.VIEWER)


@dataclass(frozen=True, slots=True)
class Seen:
    """Every page that opens to a viewer and to a helper, with what it offers; and how the links
    that a viewer is given end, by the name of their route: one of each kind, for two links to rooms
    end the same way."""

    viewer: list[tuple[Route, str, _Offered]]
    helper: list[tuple[Route, str, _Offered]]
    ends: dict[str, int]


@pytest.fixture(scope="module")
def seen(django_db_setup, django_db_blocker):
    """All pages, read once for the tests here; the house they are of is gone again by then."""
    with django_db_blocker.unblock(), override_settings(HOSTED=True), transaction.atomic():
        everything = Everything()
        viewer = _member(everything, "Vi", Role.VIEWER)
        pages = list(_pages(everything, viewer))
        pages_seen = Seen(
            viewer=pages,
            helper=list(_pages(everything, _member(everything, "Hal", Role.HELPER))),
            ends=_ends(viewer, pages),
        )
        transaction.set_rollback(True)
    return pages_seen


def _member(everything, name, role):
    person = PersonFactory(name=name)
    Membership.objects.create(house=everything.house, person=person, role=role)
    return everything.client(person)


def _ends(client, pages):
    ends: dict[str, int] = {}
    for _, _, page in pages:
        for url in sorted(page.links):
            if _name(url) not in ends:
                answer = client.get(url)
                ends[_name(url)] = answer.status_code
                answer.close()
    return ends


def _pages(everything, client):
    """Every page that opens, with what it offers."""
    for route in routes():
        if "GET" not in route.methods or route.who == "home":
            continue
        answer = everything.ask(client, "GET", route)
        if answer.status_code == 200 and answer.headers["Content-Type"].startswith("text/html"):
            yield route, answer.page, _Offered(answer.page, everything.url(route))


def _name(url: str) -> str:
    return resolve(urlsplit(url).path).url_name or ""


def test_pages_are_seen(seen):
    assert min(len(seen.viewer), len(seen.helper), len(seen.ends)) > 30


def test_no_page_has_a_form_that_is_refused_to_who_may_look_only(seen):
    refused = {
        route.name
        for route in routes()
        if route.who in ("house", "owner") and "POST" in route.methods
    } - _THEIRS
    offered = [
        (route.path, name)
        for route, _, page in seen.viewer
        for name in sorted({_name(url) for url in page.posts})
        if name in refused
    ]
    assert offered == []


def test_no_link_leads_who_may_look_only_to_a_page_they_may_not_open(seen):
    broken = [
        (route.path, _name(url))
        for route, _, page in seen.viewer
        for url in page.links
        if seen.ends[_name(url)] == 404
    ]
    assert broken == []


def test_draft_order_is_shown_without_what_changes_it(everything, viewer):
    draft = order_make(
        by=By(everything.ada), house=everything.house, phases=["taping"], rooms=[everything.room]
    )
    page = viewer.get(f"/order/{draft.pk}").content.decode()
    assert {_name(url) for url in _Offered(page, "").posts} == {"sign-out"}
    assert "order-add" not in {_name(url) for url in _Offered(page, "").links}


def test_pages_only_for_writing_do_not_open_for_who_may_look_only(everything, viewer):
    """What a viewer could only fill in and lose is not shown."""
    # read as well, without their form
    both = {
        *("phase-detail", "partition-detail", "house-packs", "order-line", "house-together"),
        "house-rules",
        "choice-detail",
        "room-take-along",
    }
    opened = [
        route.path
        for route in routes()
        if route.who in ("house", "owner")
        and route.methods == ("GET", "POST")
        and route.name not in both
        if everything.ask(viewer, "GET", route).status_code != 404
    ]
    assert opened == []


def test_every_page_of_the_house_says_once_that_they_may_look_only(seen):
    wrong = [
        (route.path, page.count("View only: ask an owner"))
        for route, page, _ in seen.viewer
        if route.who == "house" and "<html" in page and page.count("View only: ask an owner") != 1
        if route.name != "room-take-along-file"  # a file for where there is no site
    ]
    assert wrong == []


def test_no_page_says_it_to_those_who_may_write(seen):
    assert [route.path for route, page, _ in seen.helper if "View only: ask an owner" in page] == []


def test_helper_is_offered_the_forms_that_a_viewer_is_not(seen):
    """Hiding follows the role, and is not simply everywhere."""
    offered = {_name(url) for _, _, page in seen.helper for url in page.posts}
    assert {
        "phase-detail",
        "note-add",
        "log-remove",
        "stock-reverse",
        "change-undo",
        "house-packs",
    } <= offered


# Words that were changed for plainer ones, each for the reason that it meant two things, was not
# American, or stated a fact on a button.
GIVEN_UP = (
    "about the house, and its file",
    "all phases, and your own",
    "board the open framing",
    "bought together",
    "buy them apart",
    "centre",
    "coarse board screw",
    "colour",
    "estimate against use",
    "fine board screw",
    "is missing: ",
    "it gets wet",
    "light setting compound",
    "may stay empty",
    "members more than",
    "members out of line",
    "mend this",
    "millimetre",
    "name this one apart",
    "need by need",
    "neighbour",
    "opens nothing any more",
    "part received",
    "put right before",
    "shut out",
    "sign in anew",
    "square off",
    "strip-out",
    "structural panel",
    "that is all of them",
    "what it has to stand",
    "who changed what",
    "you may look only",
)


def test_no_page_says_a_word_that_was_given_up(seen):
    said = [
        (route.name, word)
        for route, page, _ in [*seen.viewer, *seen.helper]
        for word in GIVEN_UP
        if word in _text(page)
    ]
    assert said == []


def _text(page: str) -> str:
    """What a page says, in small letters, without its tags, scripts and styles."""
    shown = re.sub(r"<(script|style)\b.*?</\1>", " ", page, flags=re.DOTALL)
    return " ".join(re.sub(r"<[^>]*>", " ", shown).split()).lower()
