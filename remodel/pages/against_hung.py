"""The page that asks what to do with boards that are in the way of an edit, and its answer."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, TypeVar

from django.http import HttpResponse
from django.shortcuts import render

from remodel.against_hung import Asked, save_against
from remodel.bridge.against import Follows
from remodel.history.services import By
from remodel.house.models import House, Room
from remodel.people.http import SiteRequest
from remodel.web.parts import Column, Table
from remodel.web.responses import say
from remodel.web.templatetags.halfbay import money

__all__ = [
    "ANSWER_FIELDS",
    "BACK",
    "answer_of",
    "ask",
    "done_or_asked",
    "follows_table",
    "saved_or_asked",
]

Written = TypeVar("Written")

# The answer that goes back to the form. The other two are those of `remodel.against_hung.Answer`.
BACK = "back"
ANSWER_FIELDS = frozenset({"against", "against-piece"})


def answer_of(request: SiteRequest) -> str:
    """What was said to boards in the way; empty where nothing was asked yet."""
    return request.POST.get("against", "")


def saved_or_asked(
    request: SiteRequest,
    by: By,
    write: Callable[[By], Written],
    against: House | Room | None,
) -> Written | Asked:
    """Do a write of a page, or give what it has to ask first. `against` is the room in whose pile,
    or the house in which it may go against boards; None where it never does."""
    if against is None:
        return write(by)
    return save_against(
        against,
        lambda: write(by),
        by=by,
        answer=answer_of(request),
        shown=request.POST.getlist("against-piece"),
    )


def done_or_asked(
    request: SiteRequest, where: House | Room, write: Callable[[By], object]
) -> HttpResponse | None:
    """Do a write that no form of fields is filled in for. Where boards that are cut or hang are in
    its way, give the page that asks."""
    written = saved_or_asked(request, By(request.person), write, where)
    if not isinstance(written, Asked):
        return None
    room = where if isinstance(where, Room) else None
    return ask(request, written, {"house": room.house if room else where, "room": room})


def ask(request: SiteRequest, asked: Asked, context: Mapping[str, Any]) -> HttpResponse:
    """The page that asks what to do with the boards. Its form sends all that was typed again."""
    template = "edit/against_hung.html"
    htmx = getattr(request, "htmx", False)
    shown = {**context, **_asked_context(request, asked, context["house"])}
    answer = render(request, f"{template}#body" if htmx else template, shown)
    return say(answer, "Not saved yet. Choose what to do with the boards") if htmx else answer


def _sent_again(request: SiteRequest) -> list[tuple[str, str]]:
    """Every field that was sent, to be sent again with the answer."""
    return [
        (name, value)
        for name, values in request.POST.lists()
        if name != "csrfmiddlewaretoken" and name not in ANSWER_FIELDS
        for value in values
    ]


def _asked_context(request: SiteRequest, asked: Asked, house: House) -> dict[str, Any]:
    """What the page shows: the boards, what follows of either answer, and the fields to send."""
    keep = "Cut in place" if asked.can_be_cut else "Keep the boards, save the change"
    return {
        "asked": asked,
        "house": house,
        "keep": keep,
        "pieces": Table(
            id="boards-in-the-way",
            caption="Boards in the way",
            columns=[
                Column(title="Board"),
                Column(title="Surface"),
                Column(title="State"),
                Column(title="Why"),
            ],
            rows=[
                [
                    one.piece.mark,
                    one.surface,
                    "Hangs" if one.piece.state == "hung" else "Cut",
                    " ".join(one.why),
                ]
                for one in asked.pieces
            ],
            caption_hidden=True,
        ),
        "follows": follows_table([(keep, asked.kept), ("Take the boards down", asked.down)], house),
        "sent_again": _sent_again(request),
    }


def follows_table(ways: list[tuple[str, Follows | None]], house: House) -> Table | None:
    """What follows of each choice, as a table; None where none of it is worked out yet."""
    if all(follows is None for _, follows in ways):
        return None
    return Table(
        id="what-follows",
        caption="What it changes",
        columns=[
            Column(title="If you choose"),
            Column(title="Boards not cut yet that change", number=True),
            Column(title="Sheets", number=True),
            Column(title="Cost", number=True),
        ],
        rows=[[name, *_cells(follows, house)] for name, follows in ways],
        caption_hidden=True,
    )


def _cells(follows: Follows | None, house: House) -> list[str]:
    if follows is None:
        return ["Worked out once saved"] * 3
    sheets, cents = follows.sheets, round(follows.cents)
    return [
        str(follows.pieces) if follows.pieces else "None",
        f"{abs(sheets)} {'more' if sheets > 0 else 'fewer'}" if sheets else "No change",
        f"{money(abs(cents), house.currency)} {'more' if cents > 0 else 'less'}"
        if cents
        else "No change",
    ]
