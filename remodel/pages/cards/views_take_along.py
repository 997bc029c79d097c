"""A room as one file to take along, and the ticks that come back from it."""

from __future__ import annotations

import base64
import hashlib
import secrets
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.contrib.staticfiles import finders
from django.http import Http404, HttpResponse
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from remodel.cards.queries import cards_for, ticked_pieces
from remodel.history.errors import Refused
from remodel.house.models import Room
from remodel.pages.cards.hanging_list import groups_of, hang_lines
from remodel.pages.cards.shown import CardShown, PieceOfCard, card_shown
from remodel.pages.editing import edit, posted
from remodel.pages.stops import asked_first
from remodel.people.addresses import shared_url
from remodel.people.http import SiteRequest
from remodel.people.queries import houses_to_write, room_for
from remodel.printing.pdf import file_name
from remodel.taken_along import BroughtBack, Entered, enter, read_code
from remodel.web.fields import TextField
from remodel.web.forms import HouseForm
from remodel.web.responses import go

__all__ = ["room_take_along", "room_take_along_file"]

_STYLES = ("web/web.css", "web/drawing.css", "cards/cards.css", "cards/along.css")
_SCRIPT = "cards/along.js"
Box = dict[str, Any]
CardWithBoxes = tuple[CardShown, list[tuple[PieceOfCard, Box]]]


class CodeForm(HouseForm):
    """The code of a page that was taken along. `brought` is what it says, once it is valid."""

    code = TextField(
        label="Code from the page",
        lines=4,
        max_length=200_000,
        help_text="It begins with hb1. and ends with a period.",
    )

    def __init__(self, *args: Any, room: Room, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._room = room
        self.brought: BroughtBack | None = None

    def clean_code(self) -> str:
        code = str(self.cleaned_data["code"])
        try:
            self.brought = read_code(code)
        except Refused as error:
            raise forms.ValidationError(str(error)) from None
        if self.brought.room != self._room.pk:
            raise forms.ValidationError(
                f"This code is of another room than {self._room.name}. Open that room, choose Take "
                "along there, and enter it"
            )
        return code


@require_http_methods(["GET", "POST"])
def room_take_along(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """How a room is taken along, and the form that enters what was ticked in its page."""
    writes = request.method == "POST"
    room = room_for(request.person, room_id, write=writes)
    form = CodeForm(posted(request), room=room)
    here = reverse("room-take-along", args=[room.pk])
    if writes and form.is_valid() and form.brought is not None:
        ticks = [press.ticked for press in form.brought.presses]
        asked = asked_first(request, room, lambda order: order.of_ticks(room, ticks), back=here)
        if asked is not None:
            return asked
    context = {"house": room.house, "room": room, "section": "rooms"}
    return edit(
        request,
        form,
        "cards/take_along.html",
        context,
        write=lambda by: enter(
            by=by, room=room, presses=form.brought.presses if form.brought else ()
        ),
        then=lambda entered: _told(request, room, entered),
    )


def _told(request: SiteRequest, room: Room, entered: Entered | None) -> HttpResponse:
    # A press that is sent again is answered without what the first one did.
    if entered is not None:
        for words in _words(entered):
            messages.info(request, words)
    return go(request, "room-hanging", room.pk)


def _words(entered: Entered) -> list[str]:
    words = [f"Entered {_marks(entered.entered)} from the page you took along."]
    if entered.before:
        verb = "was" if entered.before == 1 else "were"
        words.append(f"{_marks(entered.before)} {verb} entered before.")
    return words + [f"Not entered: {text}." for text in entered.refused]


def _marks(count: int) -> str:
    return f"{count} mark{'' if count == 1 else 's'}"


@require_GET
def room_take_along_file(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """The room as one HTML file that needs nothing else: its hanging order, its cards, boxes to
    tick, and the code that brings the ticks back."""
    room = room_for(request.person, room_id)
    script = _text(_SCRIPT)
    policy = (
        "default-src 'none'; style-src 'unsafe-inline'; "
        f"script-src 'sha256-{_digest(script)}'; base-uri 'none'; form-action 'none'"
    )
    boxes = _Boxes()
    groups = groups_of(room, hang_lines(room))
    context = {
        "house": room.house,
        "room": room,
        "groups": [
            (group, [(line, boxes.of_line(line)) for line in group.lines]) for group in groups
        ],
        "cards": [boxes.of_card(card) for card in _cards(room)],
        "can_tick": room.house_id in houses_to_write(request.person),
        "made": timezone.localtime(),
        "policy": policy,
        "along": {
            "f": secrets.token_hex(16),
            "r": str(room.pk),
            "p": boxes.plans,
            "t": boxes.ticks,
            "home": shared_url(request, reverse("room-take-along", args=[room.pk])),
        },
    }
    html: str = render_to_string("cards/take_along_file.html", context, request=request)
    # Style and script are no part of the template, which would write them as text.
    styles = "\n".join(_text(path) for path in _STYLES)
    html = html.replace("</head>", f"<style>{styles}</style></head>", 1)
    html = html.replace("</body>", f"<script>{script}</script></body>", 1)
    answer = HttpResponse(html, content_type="text/html; charset=utf-8")
    answer["Content-Security-Policy"] = f"{policy}; sandbox allow-scripts"
    answer["Content-Disposition"] = (
        f'attachment; filename="{file_name(f"{room.name}, taken along")}.html"'
    )
    answer["Cache-Control"] = "private, no-store"
    return answer


class _Boxes:
    """The boxes of a file, numbered in order: what each ticks, and whether that is done already.

    `ticks` has for each [kind, item, room key, place of its plan in `plans`].
    """

    def __init__(self) -> None:
        self.ticks: list[list[str | int]] = []
        self.plans: list[str] = []

    def of_line(self, line: Mapping[str, Any]) -> Box | None:
        """The box of a line of the hanging order; None where it has none."""
        if "step" not in line:
            return None
        step = line["step"]
        return self._box(line["kind"], line["item"], "", step.plan, done=bool(line["done"]))

    def of_card(
        self, card: CardShown
    ) -> tuple[CardShown, list[tuple[PieceOfCard, dict[str, Any]]]]:
        """A card with the box of each of its pieces."""
        pieces = []
        for one in card.pieces:
            room_key = "" if one.here else one.piece.room_key
            box = self._box("cut", one.piece.key, room_key, card.sheet.plan, done=one.done)
            pieces.append((one, box))
        # its measures stand in the words beside it
        return replace(card, drawing=replace(card.drawing, facts=None)), pieces

    def _box(self, kind: str, item: str, room_key: str, plan: str, *, done: bool) -> dict[str, Any]:
        if plan not in self.plans:
            self.plans.append(plan)
        self.ticks.append([kind, item, room_key, self.plans.index(plan)])
        return {"number": len(self.ticks) - 1, "done": done}


def _cards(room: Room) -> list[CardShown]:
    """The cards of the sheets that a room's pieces are cut from."""
    marks = ticked_pieces(room.house_id, "cut")
    rooms = dict(Room.objects.filter(house=room.house_id).values_list("key", "id"))
    cards = cards_for(room)
    return [
        card_shown(sheet, room, marks, rooms)
        for sheet in (cards.sheets if cards else ())
        if room.key in sheet.rooms
    ]


@cache
def _text(path: str) -> str:
    found = finders.find(path)
    if not found:
        raise Http404("No such file")
    return Path(found).read_text()


def _digest(script: str) -> str:
    return base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
