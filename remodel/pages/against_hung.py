"""The page that asks what to do with boards that are in the way of an edit, and its answer."""

from __future__ import annotations

from typing import Any

from remodel.against_hung import Asked
from remodel.bridge.against import Follows
from remodel.house.models import House
from remodel.people.http import SiteRequest
from remodel.web.parts import Column, Table
from remodel.web.templatetags.halfbay import money

__all__ = ["ANSWER_FIELDS", "BACK", "answer_of", "asked_context", "pieces_of", "sent_again"]

# The answer that goes back to the form. The other two are those of `remodel.against_hung.Answer`.
BACK = "back"
ANSWER_FIELDS = frozenset({"against", "against-piece"})


def answer_of(request: SiteRequest) -> str:
    """What was said to boards in the way; empty where nothing was asked yet."""
    return request.POST.get("against", "")


def pieces_of(request: SiteRequest) -> list[str]:
    """The ids of the pieces that the page which asked had shown."""
    return request.POST.getlist("against-piece")


def sent_again(request: SiteRequest) -> list[tuple[str, str]]:
    """Every field that was sent, to be sent again with the answer."""
    return [
        (name, value)
        for name, values in request.POST.lists()
        if name != "csrfmiddlewaretoken" and name not in ANSWER_FIELDS
        for value in values
    ]


def asked_context(request: SiteRequest, asked: Asked, house: House) -> dict[str, Any]:
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
        "sent_again": sent_again(request),
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
