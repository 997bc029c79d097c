"""A piece that is not as planned: what may be recorded of it, shown before it is done, and its
undo."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.dateparse import parse_datetime
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from remodel.board.models import PlacedPiece
from remodel.board.queries import old_figures
from remodel.board.trying import Trial, try_out
from remodel.bridge import house_value
from remodel.bridge.amiss import plain
from remodel.bridge.drawings import draw_small
from remodel.bridge.lengths import BadValue, TakeoffError
from remodel.bridge.told import Compared, compared
from remodel.bridge.views import PileResult
from remodel.differently import (
    CUT_WRONG,
    ELSEWHERE,
    OTHER_SHEET,
    TAKEN_DOWN,
    Piece,
    cut_wrong,
    ends_to_choose,
    joint_elsewhere,
    other_sheet,
    piece_of,
    sources_of,
    taken_down,
    undo_told,
    why_not_undone,
)
from remodel.history.errors import Refused
from remodel.history.seen import Seen
from remodel.history.services import By
from remodel.house.models import House, Room
from remodel.house.queries import whole_house
from remodel.pages.cards.forms_differently import (
    CutWrongForm,
    ElsewhereForm,
    OtherSheetForm,
    TakenDownForm,
)
from remodel.pages.drawings import drawing_of
from remodel.pages.editing import edit, page, posted, saved_words
from remodel.pages.stops import asked_first
from remodel.people.http import SiteRequest
from remodel.people.queries import room_for
from remodel.ticks import Ticked
from remodel.web.forms import HouseForm
from remodel.web.parts import Drawing
from remodel.web.responses import go

__all__ = ["room_piece", "room_piece_told", "room_piece_undo"]

_TITLES = {
    CUT_WRONG: "It was cut wrong",
    ELSEWHERE: "A joint is elsewhere",
    OTHER_SHEET: "Another sheet was used",
    TAKEN_DOWN: "It was taken down",
}
_ABOUT = {
    CUT_WRONG: "Its sheet stays begun. A new piece with a new mark is planned in its place.",
    ELSEWHERE: "It is longer or shorter than planned. Open boards beside it follow.",
    OTHER_SHEET: "It hangs as planned, and came out of another sheet or an offcut.",
    TAKEN_DOWN: "It hangs no more. A new piece with a new mark is planned in its place.",
}


# What is said of a piece that hangs, so that saying it ticks the piece.
_HANGS = (ELSEWHERE, OTHER_SHEET)


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """What an entry would do, before anybody says yes to it."""

    changes: Compared | None
    amiss: tuple[str, ...]
    refusal: str
    drawings: tuple[Drawing, ...]


def _piece(request: SiteRequest, room_id: UUID, key: str, *, write: bool) -> Piece:
    piece = piece_of(room_for(request.person, room_id, write=write), key)
    if piece is None:
        raise Http404("No such piece")
    return piece


def _ways(piece: Piece) -> list[str]:
    """What may be recorded of a piece: one that hangs was not cut wrong."""
    if not piece.is_here or piece.board is None:
        return []
    return [way for way in _TITLES if way != CUT_WRONG or not piece.is_hung]


@require_GET
def room_piece(request: SiteRequest, room_id: UUID, piece: str) -> HttpResponse:
    """A piece, what was recorded of it, and the four ways in which it is not as planned."""
    mine = _piece(request, room_id, piece, write=False)
    row = mine.row
    told = list(reversed(row.told)) if row is not None else []
    context = _context(mine) | {
        "ways": [
            {
                "name": _TITLES[way],
                "about": _ABOUT[way],
                "url": reverse("room-piece-told", args=[mine.room.pk, mine.key, way]),
            }
            for way in _ways(mine)
        ],
        "entries": [{"name": _TITLES[one["way"]], "at": parse_datetime(one["at"])} for one in told],
        "why_not": why_not_undone(mine) if told else "",
        "seen": str(_seen(mine)),
        "old_figures": old_figures(mine.room.house_id),
    }
    return render(request, "cards/differently.html", context)


def _context(piece: Piece) -> dict[str, Any]:
    return {
        "house": piece.room.house,
        "room": piece.room,
        "piece": piece,
        "instead": _instead(piece),
        "section": "rooms",
    }


def _instead(piece: Piece) -> list[str]:
    """The marks of pieces that were cut in the place of one that is no more there."""
    if piece.is_here:
        return []
    rows = PlacedPiece.objects.filter(room=piece.room, instead_of=piece.mark)
    return list(rows.values_list("mark", flat=True))


def _seen(piece: Piece) -> Seen:
    return Seen.of(piece=piece.stands)


@require_http_methods(["GET", "POST"])
def room_piece_told(request: SiteRequest, room_id: UUID, piece: str, way: str) -> HttpResponse:
    """Record one way in which a piece is not as planned. The first press shows what that does, the
    second one does it."""
    mine = _piece(request, room_id, piece, write=True)
    if way not in _TITLES:
        raise Http404("No such way")
    room, key = mine.room, mine.key
    form, write = _form_of(request, mine, way)
    context = _context(mine) | {
        "title": _TITLES[way],
        "about": _ABOUT[way],
        "may": way in _ways(mine) and _has_choice(form),
        "way": way,
    }

    def then(row: PlacedPiece) -> HttpResponse:
        messages.info(request, saved_words(f"{row.mark}. {row.note}"))
        return go(request, "room-piece", room.pk, key)

    template = "cards/differently_form.html"
    if request.method == "POST" and "yes" not in request.POST:
        if not form.is_valid():
            return page(request, template, context, form=form, status=422)
        try:
            look = _look(mine, lambda: write(By(request.person)))
        except (Refused, TakeoffError) as error:
            field = getattr(error, "field", "")
            form.add_error(field if field in form.fields else None, str(error))
            return page(request, template, context, form=form, status=422)
        return page(request, "cards/differently_look.html", context | {"look": look}, form=form)
    if request.method == "POST" and form.is_valid() and way in _HANGS and not mine.is_hung:
        asked = asked_first(
            request,
            room,
            lambda order: order.of_ticks(room, [Ticked("hung", key)]),
            back=reverse("room-piece", args=[room.pk, key]),
        )
        if asked is not None:
            return asked
    return edit(request, form, template, context, write=write, then=then, needs_of=room.house)


def _form_of(
    request: SiteRequest, piece: Piece, way: str
) -> tuple[HouseForm, Callable[[By], PlacedPiece]]:
    room, key = piece.room, piece.key
    usual: dict[str, Any] = {"units": room.house.units, "seen": _seen(piece)}
    form: HouseForm
    if way == CUT_WRONG:
        form = CutWrongForm(posted(request), piece=piece, **usual)
        return form, lambda by: cut_wrong(by=by, room=room, key=key, **form.values)
    if way == ELSEWHERE:
        form = ElsewhereForm(posted(request), piece=piece, ends=ends_to_choose(piece), **usual)
        return form, lambda by: joint_elsewhere(by=by, room=room, key=key, **form.values)
    if way == OTHER_SHEET:
        form = OtherSheetForm(posted(request), sources=sources_of(piece), **usual)
        return form, lambda by: other_sheet(by=by, room=room, key=key, **form.values)
    form = TakenDownForm(posted(request), **usual)
    return form, lambda by: taken_down(by=by, room=room, key=key, keep=form.values["keep"] == "yes")


def _has_choice(form: HouseForm) -> bool:
    source = form.fields.get("source")
    return source is None or bool(getattr(source, "choices", ()))


def _look(piece: Piece, write: Callable[[], object]) -> Look:
    room = piece.room
    house = whole_house(room.house_id)
    trial = try_out(room, write)
    changes = (
        compared(trial.before, trial.after, piece.mark)
        if trial.before is not None and trial.after is not None
        else None
    )
    surface = f"{room.key}/{piece.board.surface}" if piece.board is not None else ""
    is_moved = changes is not None and surface in changes.moved
    return Look(
        changes=changes,
        amiss=tuple(dict.fromkeys(text for one in trial.new_amiss if (text := plain(one)))),
        refusal=trial.refusal,
        drawings=tuple(_drawings(house, room, piece, trial)) if is_moved else (),
    )


def _drawings(house: House, room: Room, piece: Piece, trial: Trial) -> list[Drawing]:
    """The surface of the piece as it is planned now, and as it would be; none where it cannot be
    drawn."""
    if piece.board is None or trial.before is None or trial.after is None:
        return []
    whole, name = house_value(house), piece.board.surface_name
    both: list[tuple[str, str, PileResult]] = [
        ("before", f"{name} now", trial.before),
        ("after", f"{name} with this entry", trial.after),
    ]
    try:
        return [
            drawing_of(
                draw_small(whole, room.key, piece.board.surface, result, f"d-{when}"),
                f"drawing-{when}",
                caption,
            )
            for when, caption, result in both
        ]
    except BadValue:
        return []


@require_POST
def room_piece_undo(request: SiteRequest, room_id: UUID, piece: str) -> HttpResponse:
    """Undo the last entry of a piece."""
    mine = _piece(request, room_id, piece, write=True)
    form = HouseForm(request.POST)
    form.is_valid()
    seen = form.cleaned_data.get("seen", "")
    try:
        undo_told(
            by=By(request.person, form.written_key, Seen.read(seen) if seen else None),
            room=mine.room,
            key=mine.key,
        )
    except Refused as error:
        messages.info(request, str(error))
    else:
        messages.info(request, f"Undone: {mine.mark} is as it was before.")
    again = piece_of(mine.room, mine.key)
    if again is None:
        return go(request, "room-hanging", mine.room.pk)
    return go(request, "room-piece", mine.room.pk, mine.key)
