"""Drawings of a room, its sheet cards, its hanging order, and the marks set on them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from contextlib import suppress
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from remodel.board.marks import throw_away
from remodel.board.queries import ever_cut, old_cards, old_figures, pile_result_of
from remodel.bridge import cards as cards_bridge
from remodel.bridge.amiss import amiss_of_sheet
from remodel.bridge.lengths import BadValue
from remodel.cards.models import Marking
from remodel.cards.queries import (
    cards_for,
    ended_pieces,
    list_of_cards,
    marking_of,
    on_result,
    ticked_pieces,
    told_pieces,
    troubles_for,
    troubles_on,
)
from remodel.cards.services import marking_set
from remodel.history.errors import Refused
from remodel.history.services import By
from remodel.house.models import Cutout, House, Opening, Room
from remodel.order_of_work import order_of
from remodel.pages.cards.forms import BOX, OPENING, MarkingForm
from remodel.pages.cards.hanging_list import groups_of, hang_lines
from remodel.pages.cards.several import several, surfaces_at_once
from remodel.pages.cards.shown import (
    CardShown,
    card_shown,
    house_lists,
    sheet_lines,
    source_shown,
)
from remodel.pages.drawings import drawing_of, room_drawn
from remodel.pages.editing import Seen, edit, posted
from remodel.pages.stops import asked_first, stop_words
from remodel.people.http import SiteRequest
from remodel.people.queries import house_for, room_for
from remodel.printing.pdf import file_name
from remodel.rests import rest_decide, rests_of
from remodel.ticks import Ticked, tick, tick_all
from remodel.web.responses import go

__all__ = [
    "card_detail",
    "cards_thrown",
    "drawing_dxf",
    "drawing_svg",
    "house_cards",
    "house_marking",
    "room_cards",
    "room_cut",
    "room_drawings",
    "room_hanging",
    "room_marking",
    "room_rest",
    "room_tick",
    "room_tick_all",
]

_DECISIONS = {"keep": True, "bin": False, "open": None}
SIDES = {"face": cards_bridge.FACE_UP, "back": cards_bridge.BACK_UP}


@require_GET
def room_drawings(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """The plan, ceilings from below, sections and walls from inside, each with its facts and its
    files."""
    room = room_for(request.person, room_id)
    drawn = room_drawn(room)
    parts: list[dict[str, Any]] = []
    if drawn is not None:
        for which, name, drawing in (
            ("plan", "Plan", drawn.plan),
            ("section", "Section across the slope", drawn.section),
        ):
            if drawing is not None:
                parts.append(
                    {
                        "which": which,
                        "name": name,
                        "drawing": drawing_of(drawing, which, f"{name} of {room.name}", wide=True),
                    }
                )
        parts += [
            {
                "which": surface.key,
                "name": surface.name,
                "dxf": True,
                "drawing": drawing_of(
                    surface.drawn,
                    f"surface-{surface.key}",
                    f"{surface.name}, {room.name}",
                    wide=True,
                )
                if surface.drawn
                else None,
                "why_not": surface.why_not,
                "troubles": surface.troubles,
            }
            for surface in drawn.surfaces
        ]
    context = {"house": room.house, "room": room, "parts": parts, "section": "rooms"}
    return render(request, "cards/drawings.html", context)


@require_GET
def drawing_svg(request: SiteRequest, room_id: UUID, which: str) -> HttpResponse:
    """One drawing as an SVG file that carries its own looks."""
    room = room_for(request.person, room_id)
    svg = _file(
        room, lambda house, result: cards_bridge.one_drawing(house, room.key, which, result)
    )
    answer = HttpResponse(svg, content_type="image/svg+xml; charset=utf-8")
    # its looks stand inside it, and nothing else may run or load
    answer["Content-Security-Policy"] = "default-src 'none'; style-src 'unsafe-inline'"
    return _download(answer, f"{room.name} {which}", "svg")


@require_GET
def drawing_dxf(request: SiteRequest, room_id: UUID, which: str) -> HttpResponse:
    """One surface as a DXF file for a drafting program."""
    room = room_for(request.person, room_id)
    dxf = _file(room, lambda house, result: cards_bridge.dxf_of(house, room.key, which, result))
    return _download(HttpResponse(dxf, content_type="image/vnd.dxf"), f"{room.name} {which}", "dxf")


def _file(room: Room, make: Any) -> str:
    try:
        drawing = on_result(room, make)
    except BadValue:
        drawing = None
    if drawing is None:
        raise Http404("No such drawing")
    return str(drawing)


def _download(answer: HttpResponse, name: str, ending: str) -> HttpResponse:
    answer["Content-Disposition"] = f'attachment; filename="{file_name(name)}.{ending}"'
    answer["Cache-Control"] = "private, no-store"
    return answer


@require_GET
def room_cards(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """The sheets that this room's pieces are cut from, in the order they are cut."""
    room = room_for(request.person, room_id)
    cards = cards_for(room)
    marks = ticked_pieces(room.house_id, "cut")
    lines = sheet_lines(room, list_of_cards(cards), marks) if cards else []
    context = {
        "house": room.house,
        "old_figures": old_figures(room.house_id),
        "room": room,
        "lines": lines,
        "done": sum(line.done for line in lines),
        "of": sum(line.of for line in lines),
        "old": [mark for mark in old_cards(room.house_id) if mark.room_id == room.pk],
        "troubles": troubles_for(room),
        "two_layers": room.choices.filter(layers=2).exists(),
        "section": "rooms",
    }
    return render(request, "cards/room_cards.html", context)


@require_GET
def house_cards(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """Every sheet of the house, room by room."""
    house = house_for(request.person, house_id)
    rooms = list(Room.objects.filter(house=house).select_related("house", "behind"))
    lists = house_lists(house, rooms, ticked_pieces(house.pk, "cut"))
    context = {
        "house": house,
        "old_figures": old_figures(house.pk),
        "lists": lists,
        "old": old_cards(house.pk),
        "sheets": len(
            {(room_list.head, line.sheet.key) for room_list in lists for line in room_list.lines}
        ),
        "done": sum(line.done for room_list in lists for line in room_list.lines),
        "of": sum(line.of for room_list in lists for line in room_list.lines),
        "section": "rooms",
    }
    return render(request, "cards/house_cards.html", context)


@require_POST
def cards_thrown(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """Note that the cards which a page named were thrown away. One that was retired since stays on
    the page."""
    house = house_for(request.person, house_id, write=True)
    marks = []
    for text in request.POST.getlist("mark"):
        with suppress(ValueError):
            marks.append(UUID(text))
    throw_away(house.pk, marks)
    messages.info(request, "Noted: the old cards were thrown away.")
    asked = request.POST.get("room", "")
    room = next((one for one in Room.objects.filter(house=house) if str(one.pk) == asked), None)
    return go(request, "room-cards", room.pk) if room else go(request, "house-cards", house.pk)


@require_GET
def card_detail(request: SiteRequest, room_id: UUID, sheet: str) -> HttpResponse:
    """One sheet: its cuts in order, then each piece with all its marks. `?up=back` turns the sheet
    over."""
    room = room_for(request.person, room_id)
    up = SIDES.get(request.GET.get("up", ""), "")
    cards = cards_for(room, up=up)
    sheets = cards.sheets if cards else ()
    at = next((index for index, candidate in enumerate(sheets) if candidate.key == sheet), None)
    if at is None:
        raise Http404("No such sheet")
    mine = [sheet for sheet in sheets if room.key in sheet.rooms] or list(sheets)
    shown = sheets[at]
    place = mine.index(shown) if shown in mine else 0
    marks = ticked_pieces(room.house_id, "cut")
    rests = rests_of(room, shown)
    result = pile_result_of(room)
    context = {
        "house": room.house,
        "room": room,
        "card": card_shown(shown, room, marks, _rooms(room)),
        "all_cut": all((piece.room_key, piece.key) in marks for piece in shown.pieces),
        "rests": rests,
        "source": source_shown(room.house, shown),
        "ended": ended_pieces(room, shown.code),
        "asks_later": not rests and any(not rest.planned for rest in shown.rests),
        "before": mine[place - 1] if place else None,
        "after": mine[place + 1] if place + 1 < len(mine) else None,
        "up": shown.up,
        "other_up": "back" if shown.up == cards_bridge.FACE_UP else "face",
        "troubles": troubles_on(room, shown),
        "amiss": amiss_of_sheet(result, shown.code, ever_cut(room.house_id)) if result else (),
        "section": "rooms",
    }
    return render(request, "cards/card.html", context)


@require_GET
def room_cut(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """The page for the phone beside the sheet. It shows one piece at a time, and has all pieces of
    the room, so that no signal is needed."""
    room = room_for(request.person, room_id)
    cards = cards_for(room)
    marks, rooms = ticked_pieces(room.house_id, "cut"), _rooms(room)
    pieces: list[tuple[CardShown, Any]] = []
    for sheet in cards.sheets if cards else ():
        if room.key in sheet.rooms:
            shown = card_shown(sheet, room, marks, rooms)
            pieces += [(shown, piece) for piece in shown.pieces]
    context = {
        "house": room.house,
        "room": room,
        "pieces": pieces,
        "done": sum(piece.done for _, piece in pieces),
        "of": len(pieces),
        "section": "rooms",
    }
    return render(request, "cards/cut.html", context)


def _rooms(room: Room) -> dict[str, UUID]:
    return dict(Room.objects.filter(house=room.house_id).values_list("key", "id"))


@require_GET
def room_hanging(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """The order of hanging, each board with its reason, as a list to tick."""
    room = room_for(request.person, room_id)
    return render(request, "cards/hanging.html", hanging_context(room))


def hanging_context(room: Room) -> dict[str, Any]:
    """What the hanging order of a room is shown from."""
    lines = hang_lines(room)
    return {
        "house": room.house,
        "room": room,
        "groups": groups_of(room, lines),
        "reasons": [line["step"] for line in lines],
        "at_once": surfaces_at_once(room, lines),
        "told": told_pieces(room),
        "done": sum(bool(line["done"]) for line in lines),
        "of": len(lines),
        "troubles": troubles_for(room),
        "section": "rooms",
    }


@require_POST
def room_tick(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """Set or take back one mark. A page's script gets a few words; a plain form goes back to its
    page."""
    room = room_for(request.person, room_id, write=True)
    post = request.POST
    wants_words = request.headers.get("X-Marks") == "yes"
    one = Ticked(post.get("kind", ""), post.get("item", ""))
    asked = _asked_first(request, room, [one]) if post.get("done") == "yes" else None
    if asked is not None:
        return asked
    try:
        mark = tick(
            by=By(request.person, post.get("key", "")[:64]),
            room=room,
            kind=post.get("kind", ""),
            item=post.get("item", ""),
            plan=post.get("plan", "")[:64],
            done=post.get("done") == "yes",
        )
    except Refused as error:
        if wants_words:
            return HttpResponse(str(error), status=422, content_type="text/plain; charset=utf-8")
        messages.info(request, str(error))
        return _back(request, room)
    if wants_words:
        words = "kept" if mark.done else "undone"
        return HttpResponse(words, content_type="text/plain; charset=utf-8")
    return _back(request, room)


@require_POST
def room_tick_all(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """Tick all of a sheet, a surface, a room or a coat at once, or take all back."""
    room = room_for(request.person, room_id, write=True)
    post = request.POST
    done = post.get("done") == "yes"
    try:
        ticks, words = several(
            room, post.get("what", ""), post.get("item", ""), post.get("plan", "")[:64]
        )
        asked = _asked_first(request, room, ticks) if done else None
        if asked is not None:
            return asked
        tick_all(by=By(request.person), room=room, ticks=ticks, done=done)
    except Refused as error:
        messages.info(request, str(error))
    else:
        messages.info(request, words if done else f"Undone: {words[:1].lower()}{words[1:]}")
    return _back(request, room)


@require_POST
def room_rest(request: SiteRequest, room_id: UUID, sheet: str) -> HttpResponse:
    """Keep what is left of a sheet, bin it, or take that back."""
    room = room_for(request.person, room_id, write=True)
    cards = cards_for(room)
    shown = next((one for one in cards.sheets if one.key == sheet), None) if cards else None
    what, place = request.POST.get("what", ""), request.POST.get("place", "")
    if shown is None:
        raise Http404("No such sheet")
    try:
        if what not in _DECISIONS or place not in {str(rest.place) for rest in shown.rests}:
            raise Refused("That press cannot be read. Load the page again")
        rest_decide(
            by=By(request.person),
            room=room,
            sheet=shown,
            place=int(place),
            keep=_DECISIONS[what],
            where=request.POST.get("where", ""),
            knowing=request.POST.getlist("knowing"),
        )
    except Refused as error:
        messages.info(request, str(error))
    return go(request, "room-card", room.pk, sheet)


def _asked_first(request: SiteRequest, room: Room, ticks: Sequence[Ticked]) -> HttpResponse | None:
    """What stops some ticks: a page, or a few words for a script that sends them."""
    # One sheet may hold pieces of several rooms.
    keys = {one.room_key for one in ticks} - {"", room.key}
    others = Room.objects.filter(house=room.house_id, key__in=keys) if keys else ()
    rooms = [room, *others]
    order = order_of(*rooms)
    if request.headers.get("X-Marks") == "yes":
        # What only asks is asked where the page can show it, and never undoes a mark elsewhere.
        here = request.headers.get("X-Here") == "yes"
        told = order.told(order.of_ticks(room, ticks))
        words = stop_words([one for one in told if one.severity == "stop" or (here and one.asks)])
        if not words:
            return None
        return HttpResponse(words, status=409, content_type="text/plain; charset=utf-8")
    return asked_first(
        request,
        rooms,
        lambda order: order.of_ticks(room, ticks),
        back=_back_to(request, room),
        order=order,
    )


def _back(request: SiteRequest, room: Room) -> HttpResponse:
    return HttpResponseRedirect(_back_to(request, room))


def _back_to(request: SiteRequest, room: Room) -> str:
    to = request.POST.get("back", "")
    if not to.startswith("/") or not url_has_allowed_host_and_scheme(to, allowed_hosts=None):
        return reverse("room-cards", args=[room.pk])
    return to


@require_http_methods(["GET", "POST"])
def house_marking(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """How the sheets of the house are marked, for rooms without a choice of their own."""
    house = house_for(request.person, house_id, write=True)
    return _marking(request, house, None, (), ())


@require_http_methods(["GET", "POST"])
def room_marking(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """How one room's pieces are marked, with a choice for each box where wanted."""
    room = room_for(request.person, room_id, write=True)
    boxes = list(Cutout.objects.filter(room=room))
    openings = list(Opening.objects.filter(room=room))
    return _marking(request, room.house, room, boxes, openings)


def _marking(
    request: SiteRequest,
    house: House,
    room: Room | None,
    boxes: Iterable[Cutout],
    openings: Iterable[Opening],
) -> HttpResponse:
    stands = marking_of(house, room)
    form = MarkingForm(
        posted(request),
        room=room,
        boxes=list(boxes),
        openings=list(openings),
        units=house.units,
        seen=Seen.of(stands, Marking),
        initial=_initial(stands, room),
        usual=_initial(marking_of(house, None), None) if room is not None else None,
    )
    cards = ("room-cards", room.pk) if room is not None else ("house-cards", house.pk)
    return edit(
        request,
        form,
        "cards/marking.html",
        {"house": house, "room": room, "section": "rooms"},
        write=lambda by: marking_set(by=by, house=house, room=room, **form.values),
        then=lambda _: go(request, *cards),
    )


def _initial(stands: Marking | None, room: Room | None) -> dict[str, Any]:
    usual = {"side_up": cards_bridge.FACE_UP, "boxes": "floor", "openings": "cut"}
    if room is not None:
        usual = dict.fromkeys(usual, "house")
    if stands is None:
        return usual | ({} if room else {"allowance": cards_bridge.USUAL_ALLOWANCE})
    initial = {name: getattr(stands, name) or value for name, value in usual.items()}
    initial |= {f"{BOX}{key}": value for key, value in stands.boxes_each.items()}
    initial |= {f"{OPENING}{key}": value for key, value in stands.openings_each.items()}
    allowance = stands.allowance
    return initial | {
        "allowance": cards_bridge.USUAL_ALLOWANCE
        if allowance is None and room is None
        else allowance
    }
