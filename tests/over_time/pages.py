"""The same house, with steps said through the forms of its pages.

A step that has a form here is posted as a browser posts it; all others are said to the services.
Another form joins by overriding the method of its step.
"""

from __future__ import annotations

from collections.abc import Iterable

from django.urls import reverse

from remodel.cards.models import COATS
from remodel.history import errors
from tests.over_time.services import Services
from tests.over_time.tracker import House
from tests.remodel.site import browser


class Pages(Services):
    """A house whose ticks are made with the buttons of its pages. The site must be hosted."""

    def __init__(self, house: House, *, metric: bool = False) -> None:
        super().__init__(house, metric=metric)
        self._browser = browser(self.by.person)

    def _post(self, route: str, key: object, fields: dict[str, str]) -> None:
        """Send a form. What is refused says so in words; a page's script asks for them."""
        answer = self._browser.post(reverse(route, args=[key]), fields, headers={"X-Marks": "yes"})
        if answer.status_code == 422:
            raise errors.Refused(answer.content.decode())
        assert answer.status_code == 200, f"{route} answered {answer.status_code}"

    def _tick_things(self, job: str, kind: str, items: Iterable[str], *, done: bool) -> None:
        """Pages have a button for each thing."""
        room = self._jobs[job].room
        plan = "" if kind in COATS else self._plan(room)
        for item in items:
            fields = {"kind": kind, "plan": plan, "item": item, "done": "yes" if done else "no"}
            self._post("room-tick", room.pk, fields)
