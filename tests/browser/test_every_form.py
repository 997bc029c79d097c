"""Every form of the site, as its page shows it, sent over a connection that drops and comes
back."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from django.core.management import call_command
from django.db import connection
from django.test import Client
from django.urls import resolve, reverse

from remodel.board.plans import propose
from remodel.board.queries import pile_result_of
from remodel.bridge.lengths import FOOT, INCH
from remodel.cards.models import PrintPack
from remodel.history.services import By
from remodel.house.services import house_remove, room_add_surfaces, room_resize
from remodel.house.things import surface_choice_set
from remodel.people.models import Membership, Role
from remodel.people.services import household, invitation_make, person_add
from remodel.piles import pile_make
from remodel.supply.orders import order_make
from remodel.ticks import tick
from tests.browser.conftest import SIZES
from tests.conftest import CHROMIUM, FLAGS
from tests.remodel.board.test_placed import keys_of
from tests.remodel.everything import Everything
from tests.remodel.routes import routes
from tests.remodel.site import share, small_house

pytestmark = pytest.mark.django_db(transaction=True)

# Posted to, but by no form; said why.
NO_FORM = {
    "room-outline": "draws what is being typed, and keeps nothing",
    "thing-picture": "draws what is being typed, and keeps nothing",
    "archive-restore": "where nothing was entered yet; tests/remodel/archive/test_restore_page.py",
    "room-piece-undo": "on the page of a piece with an entry; tests/browser/test_differently.py",
    "order-line-there": "where a store had none; tests/remodel/supply/test_other_sizes.py",
    "room-rest": "on the card of a cut sheet; tests/browser/test_cards.py presses it",
}
# Paper and files, which hold no form and take long to make.
NO_PAGE = {"order-print", "house-pack-file", "house-export", "photo-image"}

# The page and what its form posts to: of each way to send one, in `make check`.
SAMPLE = {
    ("who", "person-add"),  # a plain form, answered with another page
    ("phase-detail", "note-add"),  # a plain form that leads back to its page
    ("house-edit", "house-edit"),  # answered with a part
    ("order-store", "order-line-tick"),  # sent by the tick itself
    ("room-phases", "phase-move"),  # only pressed, answered with a part
    ("house-history", "change-undo"),  # only pressed, a plain form
    ("room-cut", "room-tick"),  # kept by the phone
}

TYPED = """(form) => [...form.elements].some(
  (field) => field.matches("input:not([type=hidden]), select, textarea"))"""
WORDS = (
    "(form) => JSON.stringify([...new FormData(form)].map(([name, value]) => [name, value.name "
    "|| value]))"
)
PRESS = """(form) => {
  for (let part = form; part; part = part.parentElement)
    if (part.matches("details")) part.open = true;
  const tick = form.matches("[hx-trigger^=change]") && form.querySelector("[type=checkbox]");
  const button = [...form.elements].find(
    (field) => field.type === "submit" && !field.matches(".unseen"));
  (tick || button).click();
}"""
MARKS = "localStorage.getItem('halfbay-marks') || '{}'"


@dataclass(frozen=True)
class Form:
    """Where a form is found: the way in, the address and route of its page, and what it posts
    to."""

    way_in: str
    path: str
    page: str
    action: str
    route: str


class Site:
    """The house of everything and one more, with what their pages need to show each form."""

    def __init__(self) -> None:
        self.everything = everything = Everything()
        person_add(by=By(), name="Ben")
        me = household()
        Membership.objects.get_or_create(
            house=everything.house, person=me, defaults={"role": Role.OWNER}
        )
        by = By(me)
        invitation = invitation_make(by=By(everything.ada), house=everything.house)[1]
        draft = order_make(
            by=by, house=everything.house, phases=["finishing"], rooms=[everything.room]
        )
        line = draft.lines.first()
        waiting = PrintPack.objects.create(
            house=everything.house,
            room=everything.room,
            title="Waiting",
            paper="a4",
            rooms=[everything.room.key],
        )
        listed = room_add_surfaces(
            by=by,
            house=everything.house,
            name="Attic",
            surfaces=[("", "wall", 10 * FOOT, 8 * FOOT)],
        )
        surface_choice_set(by=by, room=listed, surface="A", wet=True)
        house = small_house(me, "Kitchen", "Bath", "Hall", "Den", "Pantry")
        share(house, everything.ada, Role.OWNER)
        kitchen, bath, hall, den, pantry = house.rooms.order_by("position")
        pile_make(by=by, house=house, rooms=[hall, den])
        pool = pile_result_of(kitchen).pools[0]
        propose(kitchen, pool, pool.plan)
        tick(by=by, room=pantry, kind="hung", item=keys_of(pantry)[0])
        room_resize(by=by, room=pantry, length=12 * FOOT + 2 * INCH, width=10 * FOOT)
        house_remove(by=by, house=small_house(me))
        together = reverse("house-together", args=[house.pk])
        self.more = [
            ("local", "house-together", together),
            ("local", "house-together", f"{together}?room={kitchen.pk}&room={bath.pk}&show=yes"),
            ("local", "room-detail", reverse("room-detail", args=[kitchen.pk])),
            ("local", "room-boards", reverse("room-boards", args=[kitchen.pk])),
            ("local", "room-boards", reverse("room-boards", args=[bath.pk])),
            ("local", "room-boards", reverse("room-boards", args=[pantry.pk])),
            ("local", "room-cards", reverse("room-cards", args=[pantry.pk])),
            ("local", "order-detail", reverse("order-detail", args=[draft.pk])),
            ("local", "order-detail", reverse("order-detail", args=[everything.closed.pk])),
            ("local", "order-line", reverse("order-line", args=[line.pk])),
            (
                "local",
                "surface-behind",
                reverse("surface-behind", args=[everything.room.pk, "ceiling"]),
            ),
            ("local", "house-pack", reverse("house-pack", args=[waiting.pk])),
            ("local", "room-surfaces", reverse("room-surfaces", args=[listed.pk])),
            ("local", "surface-edit", reverse("surface-edit", args=[listed.pk, "A"])),
            ("another device", "pair", reverse("pair")),
            ("signed out", "sign-in", reverse("sign-in")),
            ("signed out", "invitation", reverse("invitation", args=[invitation])),
        ]
        self.signed_in = everything.client(everything.ada)
        self.rows = connection.creation.serialize_db_to_string()

    def restore(self) -> None:
        call_command("flush", verbosity=0, interactive=False, inhibit_post_migrate=True)
        connection.creation.deserialize_db_from_string(self.rows)

    def client(self, way_in: str) -> Client:
        if way_in == "signed in":
            return self.signed_in
        return Client(headers=HEADERS.get(way_in))

    def pages(self) -> Iterator[tuple[str, str, str]]:
        """The way in, the route and the address of every page; signed in, those not the same at
        home."""
        read = [route for route in routes() if "GET" in route.methods and route.name not in NO_PAGE]
        for route in read:
            yield "local", route.name, self.everything.url(route)
        yield from self.more
        for route in read:
            if route.who in ("hosted", "owner", "open") or route.name == "house-people":
                yield "signed in", route.name, self.everything.url(route)

    def forms(self, settings: Any, only: set[str] | None = None) -> list[Form]:
        """Each form once for its page and what it posts to, of all pages or of those of the routes
        `only`; what a page shows signed in and at home is tried at home."""
        forms: dict[tuple[str, str], Form] = {}
        for way_in, page, path in self.pages():
            if only is not None and page not in only:
                continue
            settings.HOSTED = way_in in HOSTED
            answer = self.client(way_in).get(path)
            body = b"".join(answer.streaming_content) if answer.streaming else answer.content
            if not body.startswith(b"<!doctype html>"):  # a file, or a part that a page asks for
                continue
            for tag in re.findall(r"<form\b[^>]*>", body.decode()):
                if 'method="post"' not in tag:
                    continue
                action = re.search(r'\baction="([^"?]*)', tag)[1]
                route = resolve(action).url_name
                known = [place for place in forms if place[1] == route]
                if (page, route) not in forms and not (known and way_in == "signed in"):
                    forms[page, route] = Form(way_in, path, page, action, route)
        return list(forms.values())


HOSTED = {"signed in", "signed out"}
HEADERS = {"another device": {"X-Forwarded-For": "192.168.1.20"}}


@pytest.fixture
def site(live_server: Any, settings: Any) -> Site:
    settings.LAN_HOST = "192.168.1.2"
    return Site()


@pytest.fixture
def send(
    chromium: Any, live_server: Any, site: Site, settings: Any, posts: list[str]
) -> Iterator[Callable[..., None]]:
    """Send a form from its page with the connection gone, and again with it back."""
    complaints: list[str] = []
    contexts: list[Any] = []

    def open_page(form: Form) -> Any:
        context = context_of(chromium, form, site, live_server.url)
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on(
            "response",
            lambda answer: complaints.append(answer.url) if answer.status >= 500 else None,
        )
        page.goto(live_server.url + form.path, wait_until="load")
        return page

    def send_one(form: Form) -> None:
        settings.HOSTED = form.way_in in HOSTED
        page = open_page(form)
        place = page.locator(f"form[method=post][action^='{form.action}']").first
        posts.clear()
        kept = place.evaluate("(form) => form.matches('[data-mark]')")
        typed = place.evaluate(TYPED)
        page.context.set_offline(True)
        place.evaluate(PRESS)
        if kept:
            wait_for(page, f"{MARKS} !== '{{}}'")
        else:
            words = place.locator(".unsent").first if typed else page.locator("#live.trouble")
            words.wait_for()
            first = (
                place.get_attribute("data-unsent") or "Not saved yet: the server cannot be reached"
            )
            assert (
                first if typed else "No answer: the server cannot be reached. Try again."
            ) in words.inner_text()
            assert place.locator("[aria-disabled]").count() == 0
        before = place.evaluate(WORDS)
        page.wait_for_timeout(50)
        assert posts == []
        assert place.evaluate(WORDS) == before

        place.evaluate("(form) => { form.dataset.sentFrom = 'yes'; }")
        page.context.set_offline(False)
        if not typed and not kept:
            page.wait_for_timeout(100)
            assert posts == []  # what is only pressed is not sent by itself
            place.evaluate(PRESS)
        if kept:
            wait_for(page, f"{MARKS} === '{{}}'")
        else:  # its answer has taken its place
            wait_for(page, "!document.querySelector('form[data-sent-from]')")
        page.wait_for_load_state("networkidle")
        page.evaluate("dispatchEvent(new Event('online'))")
        page.wait_for_timeout(50)
        assert [path for path in posts if path == form.action] == [form.action]
        assert page.locator(".unsent, #live.trouble:not(:empty), form[data-sending]").count() == 0
        assert page.locator("main h1").count() == 1
        page.context.close()
        contexts.remove(page.context)
        assert complaints == []

    yield send_one
    for context in contexts:
        context.close()


def context_of(browser: Any, form: Form, site: Site, url: str) -> Any:
    """A phone's browser that came in the way the form's page is come to."""
    context = browser.new_context(
        service_workers="block",
        viewport=SIZES["phone"],
        has_touch=True,
        is_mobile=True,
        extra_http_headers=HEADERS.get(form.way_in),
    )
    if form.way_in == "signed in":
        cookies = site.signed_in.cookies.items()
        context.add_cookies(
            [{"name": key, "value": cookie.value, "url": url} for key, cookie in cookies]
        )
    return context


def wait_for(page: Any, script: str) -> None:
    """Wait until `script` is true; the page may be left for another meanwhile."""
    for _ in range(300):
        try:
            if page.evaluate(f"document.readyState === 'complete' && ({script})"):
                return
        except Exception as error:
            if "context was destroyed" not in str(error):
                raise
        page.wait_for_timeout(100)
    raise AssertionError(f"this did not come about: {script}")


def test_form_is_held_while_the_connection_is_gone_and_sent_once(site, settings, send):
    forms = site.forms(settings, only={page for page, _ in SAMPLE})
    forms = [form for form in forms if (form.page, form.route) in SAMPLE]
    assert {(form.page, form.route) for form in forms} == SAMPLE
    for form in forms:
        send(form)


def test_every_route_that_is_posted_to_has_its_form_on_a_page_tried_here(site, settings):
    met = {form.route for form in site.forms(settings)}

    assert {route.name for route in routes() if "POST" in route.methods} - met == set(NO_FORM)


@pytest.mark.deep
def test_every_form_is_held_while_the_connection_is_gone_and_sent_once(site, settings, send):
    failed = []
    forms = site.forms(settings)
    print(f"{len(forms)} forms of {len({form.route for form in forms})} routes")
    for form in forms:
        site.restore()
        try:
            send(form)
        except Exception as error:
            failed.append((form.page, form.route, form.way_in, str(error)[:300]))
    assert failed == []


@pytest.mark.deep
def test_button_of_every_form_can_be_pressed_again_after_back(
    chromium, live_server, site, settings
):
    """In a browser that keeps pages for Back, as people's do; each form that leads to another
    page."""
    browser = chromium.browser_type.launch(
        executable_path=str(CHROMIUM),
        args=FLAGS,
        ignore_default_args=["--disable-back-forward-cache"],
    )
    stuck, kept, led = [], 0, 0
    for form in site.forms(settings):
        site.restore()
        settings.HOSTED = form.way_in in HOSTED
        context = context_of(browser, form, site, live_server.url)
        page = context.new_page()
        page.add_init_script(
            "addEventListener('pageshow', (event) => { window.keptForBack = event.persisted; })"
        )
        page.goto(live_server.url + form.path, wait_until="load")
        address = page.url
        page.locator(f"form[method=post][action^='{form.action}']").first.evaluate(PRESS)
        page.wait_for_timeout(700)  # answered in place, or on the way to another page
        page.wait_for_load_state("networkidle")
        if page.url != address:
            led += 1
            page.go_back(wait_until="commit")
            wait_for(page, "true")
            kept += bool(page.evaluate("window.keptForBack === true"))
            if page.locator(
                "form[data-sending], form [aria-disabled], form button:disabled"
            ).count():
                stuck.append((form.page, form.route))
        context.close()
    browser.close()
    print(f"{led} forms lead to another page; {kept} pages came back as they were left")
    assert stuck == []
    assert kept > led // 3
