"""Packs for print: a room's, made at once; a house's, made by the worker; and the page that a
printed code opens."""

from __future__ import annotations

from pathlib import Path
from uuid import UUID

from django.contrib import messages
from django.db import IntegrityError, transaction
from django.http import FileResponse, Http404, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from remodel.board.queries import old_figures
from remodel.board.queue import worker_is_here
from remodel.cards import printing
from remodel.cards.models import PrintPack, new_code
from remodel.cards.packs import (
    PARTS,
    PHASES,
    address_of,
    changed_since,
    pack_html,
    revision_of,
    room_part,
    sheets_in,
    sheets_to_throw_away,
)
from remodel.cards.services import cards_printed
from remodel.history.services import By
from remodel.house.models import House, Room
from remodel.pages.cards.forms import PackForm
from remodel.pages.editing import edit, posted
from remodel.pages.paper import paper_of
from remodel.people.http import SiteRequest
from remodel.people.queries import house_for, houses_to_write, room_for, row_for
from remodel.people.rate_limits import PDFS, TooFast, check_rate
from remodel.printing.pdf import (
    Busy,
    CannotPrint,
    NoPrinter,
    TooLong,
    file_name,
    turn_of_print,
)
from remodel.web.errors import too_large, too_many
from remodel.web.responses import go

__all__ = ["house_packs", "pack_check", "pack_detail", "pack_file", "pack_stop", "room_pack"]

WAIT_SECONDS = 8


@require_GET
def room_pack(request: SiteRequest, room_id: UUID) -> HttpResponse:
    """A room's pack as PDF, made at once: `?paper=a4`, `?phase=hanging`."""
    room = room_for(request.person, room_id)
    try:
        check_rate(request, PDFS)
    except TooFast as error:
        return too_many(request, wait_seconds=error.seconds, message=str(error))
    phase = request.GET.get("phase", "all")
    name, parts = PHASES.get(phase, PHASES["all"])
    part = room_part(room, parts)
    if part is None:
        messages.info(
            request, f"{room.name} cannot be worked out yet, so there is nothing to print."
        )
        return go(request, "room-detail", room.pk)
    code = new_code()
    revision, revisions = revision_of([part])
    pack = PrintPack(
        house=room.house,
        room=room,
        code=code,
        title=f"{room.name}: "
        f"{name.partition(':')[0].lower() if phase in PHASES and phase != 'all' else 'room pack'}",
        paper=paper_of(request),
        parts=list(parts),
        rooms=[room.key],
        address=address_of(request.build_absolute_uri, code),
        revision=revision,
        revisions=revisions,
        sheets=sheets_in([part]),
        state=PrintPack.State.DONE,
        person=request.person,
    )
    try:
        with turn_of_print(str(request.person.pk)):
            pdf = printing.lay_out(pack_html(pack, room.house, [part]))
    except Busy:
        return too_many(request, wait_seconds=WAIT_SECONDS)
    except TooLong as error:
        return too_large(request, limit=str(error))
    except CannotPrint as error:
        shown = {"house": room.house, "missing": isinstance(error, NoPrinter), "said": str(error)}
        return render(request, "paper_missing.html", shown, status=503)
    pack.save(force_insert=True)
    if room.house_id in houses_to_write(request.person):
        cards_printed(by=By(request.person), rooms=[room], parts=parts)
    answer = HttpResponse(pdf, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{file_name(pack.title)} ({pack.paper}).pdf"'
    answer["Cache-Control"] = "private, no-store"
    return answer


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
        "going": pack.state in (PrintPack.State.WAITING, PrintPack.State.RUNNING),
        "worker_here": worker_is_here(),
        "old": sheets_to_throw_away(pack),
        "parts": [PARTS[part] for part in pack.parts if part in PARTS],
        "section": "house",
    }
    return render(request, "packs/pack_job.html" + ("#far" if request.htmx else ""), context)


@require_POST
def pack_stop(request: SiteRequest, pack_id: UUID) -> HttpResponse:
    pack = _pack(request, pack_id, write=True)
    PrintPack.objects.filter(pk=pack.pk, state__in=("waiting", "running")).update(
        state=PrintPack.State.STOPPED, doing=""
    )
    return go(request, "house-pack", pack.pk)


@require_GET
def pack_file(request: SiteRequest, pack_id: UUID) -> HttpResponse | FileResponse:
    pack = _pack(request, pack_id)
    path = printing.folder() / pack.file if pack.file else Path()
    if not pack.file or not path.is_file():
        raise Http404("No such file")
    name = f"{file_name(f'{pack.house.name} {pack.title}')} ({pack.paper}).pdf"
    answer = FileResponse(path.open("rb"), content_type="application/pdf", filename=name)
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
