"""Packs for print, of a room or of more: the worker makes them. And the page that a printed code
opens."""

from __future__ import annotations

import threading
import time
from uuid import UUID

from django.contrib import messages
from django.db import IntegrityError, transaction
from django.http import FileResponse, Http404, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from remodel.board.queries import old_figures
from remodel.board.queue import worker_is_here
from remodel.cards.models import PrintPack, new_code
from remodel.cards.pack_files import pack_files
from remodel.cards.packs import PARTS, PHASES, address_of, changed_since, sheets_to_throw_away
from remodel.cards.queries import digest_of
from remodel.history.services import By
from remodel.house.models import House, Room
from remodel.pages.cards.forms import PackForm
from remodel.pages.editing import edit, posted
from remodel.people.http import SiteRequest
from remodel.people.queries import house_for, room_for, row_for
from remodel.people.rate_limits import PDFS, TooFast, check_rate
from remodel.printing.pdf import file_name
from remodel.web.errors import too_many
from remodel.web.responses import go

__all__ = ["house_packs", "pack_check", "pack_detail", "pack_file", "pack_stop", "room_pack"]

GOING = (PrintPack.State.WAITING, PrintPack.State.RUNNING)
SMALL_SECONDS = 2.0  # how long a press waits for the pack of a room
_LOOK_SECONDS = 0.1
_waiting = threading.Lock()


@require_POST
def room_pack(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """Have a room's pack made, of the `phase` and on the `paper` that were pressed, and open it
    where that takes a moment only."""
    room = room_for(request.person, room_id)
    try:
        check_rate(request, PDFS)
    except TooFast as error:
        return too_many(request, wait_seconds=error.seconds, message=str(error))
    if not digest_of(room):
        messages.info(
            request, f"{room.name} cannot be worked out yet, so there is nothing to print."
        )
        return go(request, "room-detail", room.pk)
    phase = request.POST.get("phase", "")
    name, parts = PHASES.get(phase, PHASES["all"])
    paper = "a4" if request.POST.get("paper") == "a4" else "letter"
    mine = PrintPack.objects.filter(room=room, person=request.person, paper=paper, state__in=GOING)
    # Pressed twice while it is being made: it is one pack.
    pack = next((one for one in mine if one.parts == list(parts)), None)
    if pack is None:
        code = new_code()
        whole = parts == PHASES["all"][1]
        of = "room pack" if whole else name.partition(":")[0].lower()
        pack = PrintPack.objects.create(
            house=room.house,
            room=room,
            code=code,
            title=f"{room.name}: {of}",
            paper=paper,
            parts=list(parts),
            rooms=[room.key],
            address=address_of(request.build_absolute_uri, code),
            person=request.person,
        )
    _wait_a_moment(pack)
    return go(request, "house-pack-file" if pack.file else "house-pack", pack.pk)


def _wait_a_moment(pack: PrintPack) -> None:
    """Wait for a pack that is soon made. One request waits at a time, so that the others have their
    threads."""
    if not worker_is_here() or not _waiting.acquire(blocking=False):
        return
    try:
        until = time.monotonic() + SMALL_SECONDS
        while pack.state in GOING and time.monotonic() < until:
            time.sleep(_LOOK_SECONDS)
            pack.refresh_from_db(fields=["state", "file"])
    finally:
        _waiting.release()


@require_http_methods(["GET", "POST"])
def house_packs(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """Choose what to print of the house; the worker makes it. The page also lists what was printed
    and looks up a code."""
    house = house_for(request.person, house_id, write=request.method == "POST")
    rooms = list(Room.objects.filter(house=house))
    initial = {
        "phase": "all",
        "rooms": [room.key for room in rooms if not room.finished],
        "paper": "letter",
    }
    form = PackForm(posted(request), house=house, rooms=rooms, initial=initial)

    def write(by: By) -> PrintPack:
        check_rate(request, PDFS)
        return _ask(request, house, form, by)

    def context() -> dict[str, object]:
        return {
            "house": house,
            "packs": PrintPack.objects.filter(house=house)[:12],
            "rooms": rooms,
            "old_figures": old_figures(house.pk),
            "section": "house",
        }

    return edit(
        request,
        form,
        "packs/packs.html",
        context,
        write=write,
        then=lambda pack: go(request, "house-pack", pack.pk),
    )


def _ask(request: SiteRequest, house: House, form: PackForm, by: By) -> PrintPack:
    values = form.values
    name, parts = PHASES[values["phase"]]
    code = new_code()
    try:
        with transaction.atomic():
            return PrintPack.objects.create(
                house=house,
                code=code,
                key=by.key,
                title=f"{name.partition(':')[0]} pack"
                if values["phase"] != "all"
                else "House pack",
                paper=values["paper"],
                parts=list(parts),
                rooms=values["rooms"],
                address=address_of(request.build_absolute_uri, code),
                person=request.person,
            )
    except IntegrityError:
        return PrintPack.objects.get(person=request.person, key=by.key)


@require_GET
def pack_detail(request: SiteRequest, pack_id: UUID) -> HttpResponse:
    """How far a pack is, and the pack once it is made; 204 to a poll while nothing is new."""
    pack = _pack(request, pack_id)
    seen = f"{pack.state}{pack.done}{pack.doing}"
    if request.htmx and request.GET.get("seen") == seen:
        return HttpResponse(status=204)
    context = {
        "house": pack.house,
        "pack": pack,
        "seen": seen,
        "going": pack.state in GOING,
        "worker_here": worker_is_here(),
        "old": sheets_to_throw_away(pack),
        "parts": [PARTS[part] for part in pack.parts if part in PARTS],
        "section": "house",
    }
    return render(request, "packs/pack_job.html" + ("#far" if request.htmx else ""), context)


@require_POST
def pack_stop(request: SiteRequest, pack_id: UUID) -> HttpResponse:
    pack = _pack(request, pack_id, write=True)
    PrintPack.objects.filter(pk=pack.pk, state__in=GOING).update(
        state=PrintPack.State.STOPPED, doing=""
    )
    return go(request, "house-pack", pack.pk)


@require_GET
def pack_file(request: SiteRequest, pack_id: UUID) -> HttpResponse | FileResponse:
    pack = _pack(request, pack_id)
    files = pack_files()
    if not pack.file or not files.exists(pack.file):
        raise Http404("No such file")
    name = f"{file_name(f'{pack.house.name} {pack.title}')} ({pack.paper}).pdf"
    answer = FileResponse(files.open(pack.file), content_type="application/pdf", filename=name)
    answer["Cache-Control"] = "private, no-store"
    return answer


@require_GET
def pack_check(request: SiteRequest, code: str) -> HttpResponse:
    """The page that a printed code opens: it says what changed since the pack was printed."""
    wanted = code.upper().replace("-", "").replace(" ", "")
    pack = row_for(
        request.person,
        PrintPack.objects.select_related("house", "room"),
        PrintPack.objects.filter(code=wanted).values_list("pk", flat=True).first() or UUID(int=0),
        through="house",
    )
    changes = changed_since(pack)
    room = pack.room or Room.objects.filter(house=pack.house, key__in=pack.rooms).first()
    context = {
        "house": pack.house,
        "pack": pack,
        "changes": changes,
        "old": sheets_to_throw_away(pack),
        "room": room,
        "section": "house",
    }
    return render(request, "packs/check.html", context)


def _pack(request: SiteRequest, pack_id: UUID, *, write: bool = False) -> PrintPack:
    rows = PrintPack.objects.select_related("house")
    return row_for(request.person, rows, pack_id, through="house", write=write)
