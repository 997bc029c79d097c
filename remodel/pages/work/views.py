"""The log: a day's work entered in the evening, read again, and compared with the estimate."""

from __future__ import annotations

from datetime import date
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from remodel.history.errors import Refused
from remodel.history.services import By
from remodel.house.models import House, Room
from remodel.house.queries import rooms_of
from remodel.logbook import day_write, logs_of, movement_words, shown_minutes, stuff_of
from remodel.pages.editing import Seen, edit, offer_undo, posted
from remodel.pages.stops import asked_first
from remodel.pages.work.forms import DayChangeForm, DayForm
from remodel.pages.work.use import (
    begun_lines,
    use_drawing,
    use_table,
    use_totals,
    why_it_differs,
)
from remodel.people.http import SiteRequest
from remodel.people.queries import house_for, row_for
from remodel.people.rate_limits import PHOTOS, TooFast, check_rate, slowed
from remodel.supply.models import Movement
from remodel.supply.queries import names_of, unit_costs, use_of
from remodel.web.dates import day_words
from remodel.web.parts import Column, Table, Task
from remodel.web.responses import go
from remodel.work.models import DayLog, Phase, PhaseState, Photo
from remodel.work.queries import hours_of, names_of_phases
from remodel.work.services import day_log_change, day_log_remove

__all__ = ["log_add", "log_change", "log_list", "log_pick", "log_remove", "photo_image", "use_list"]

_A_PAGE = 30


@require_GET
def log_list(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """The days, latest first, of the house or of one room."""
    house = house_for(request.person, house_id)
    rooms = list(house.rooms.order_by("position", "key"))
    room = _asked_room(rooms, request.GET.get("room", ""))
    pages = Paginator(logs_of(house, room=room), _A_PAGE).get_page(request.GET.get("page"))
    names = names_of(house)
    days: list[dict[str, Any]] = []
    for log in pages:
        if not days or days[-1]["day"] != log.day:
            days.append({"day": log.day, "logs": []})
        days[-1]["logs"].append(_entry(log, names, house.units))
    hours = hours_of(house)
    minutes = sum(part for (of, _), part in hours.items() if room is None or of == room.pk)
    context = {
        "house": house,
        "rooms": rooms,
        "room": room,
        "days": days,
        "pages": pages,
        "hours": shown_minutes(minutes) if minutes else "",
    }
    return render(request, "log/list.html", context)


def _asked_room(rooms: list[Room], key: str) -> Room | None:
    if not key:
        return None
    room = next((room for room in rooms if room.key == key), None)
    if room is None:
        raise Http404("No such room")
    return room


def _entry(log: DayLog, names: dict[str, str], units: str) -> dict[str, Any]:
    """A log with its movements, one line for each item; movements that were taken back stand
    apart."""
    lines: dict[tuple[str, bool], list[Movement]] = {}
    for movement in log.movements.all():
        if not movement.reverses_id:
            lines.setdefault((movement.item, hasattr(movement, "reversed_by")), []).append(movement)
    return {
        "log": log,
        "hours": shown_minutes(log.minutes) if log.minutes else "",
        "moves": [
            {
                "item": item,
                "name": names.get(item, item),
                "words": movement_words(moves, units),
                "back": back,
            }
            for (item, back), moves in lines.items()
        ],
        "photos": log.photos.all(),
    }


@require_GET
def log_pick(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """Choose the room and phase the day was spent on; those in progress come first."""
    house = house_for(request.person, house_id, write=True)
    going: list[Task] = []
    rooms: list[dict[str, Any]] = []
    for room in rooms_of(house):
        phases = [
            phase
            for phase in sorted(room.phases.all(), key=lambda phase: phase.position)
            if not phase.left_out
        ]
        going += [
            _task(phase, f"{phase.name}, {room.name}")
            for phase in phases
            if phase.state == PhaseState.IN_PROGRESS
        ]
        rooms.append({"room": room, "tasks": [_task(phase, phase.name) for phase in phases]})
    return render(request, "log/pick.html", {"house": house, "going": going, "rooms": rooms})


def _task(phase: Phase, name: str) -> Task:
    return Task(
        name=name, status=phase.state.replace(" ", "_"), url=reverse("log-add", args=[phase.pk])
    )


@require_http_methods(["GET", "POST"])
def log_add(request: SiteRequest, phase_id: UUID) -> HttpResponse:
    """Log a day's work on one phase of one room."""
    phase = _phase(request, phase_id)
    house = phase.room.house
    stuff = stuff_of(phase, also=request.POST.getlist("row")[:500])
    given = (request.POST, request.FILES) if request.method == "POST" else ()
    start = {"day": _asked_day(request.GET.get("day", ""))}
    form = DayForm(*given, stuff=stuff, units=house.units, person=request.person, initial=start)
    slow = _read_photo(request, form)

    def context() -> dict[str, Any]:
        if request.method == "POST":
            form.keep_photo()  # the page is shown again, so the day was not saved
        return {"house": house, "room": phase.room, "phase": phase, "section": "log"}

    def write(by: By) -> DayLog:
        typed = form.cleaned_data
        return day_write(
            by=by,
            phase=phase,
            day=typed["day"],
            minutes=typed["hours"] or 0,
            note=typed["note"],
            taken=form.taken,
            photo=form.picture,
            kept_photo=form.kept_token,
            caption=typed["caption"],
        )

    def logged(log: DayLog) -> HttpResponse:
        messages.info(request, f"Logged {log.room.name}, {phase.in_sentence}.")
        return go(request, "log-list", house.pk)

    asked = _asked_first(request, phase, form)
    if asked is not None:
        return asked
    answer = edit(
        request,
        form,
        "log/add.html",
        context,
        write=write,
        then=logged,
        saving=not form.photo_removed,
        fields={"file": "photo"},
    )
    return slowed(answer, slow) if slow else answer


def _asked_day(text: str) -> date:
    """The day that a link asks for; today where it asks for none."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        return timezone.localdate()


def _asked_first(request: SiteRequest, phase: Phase, form: DayForm) -> HttpResponse | None:
    """What stops the step that a day of this phase is spent on. A photo that came is kept for the
    answer."""
    if not form.is_bound or form.photo_removed or not form.is_valid():
        return None

    def kept() -> list[tuple[str, str]]:
        form.keep_photo()
        return [("kept_photo", str(form.kept.pk))] if form.kept else []

    asked = asked_first(
        request,
        phase.room,
        lambda order: order.of_day(phase),
        back=reverse("log-add", args=[phase.pk]),
        kept=kept,
    )
    # A photo that cannot be kept is told of on the page of the day.
    return None if form.errors else asked


def _read_photo(request: SiteRequest, form: DayForm) -> TooFast | None:
    """Write the sent photo anew, for the day or to be kept. Returns the refusal where it is too
    early for another photo, otherwise None."""
    if not form.is_bound:
        return None
    form.full_clean()
    try:
        if form.sent_photo:
            check_rate(request, PHOTOS)
        form.read_photo()
    except TooFast as error:
        form.add_error("photo", f"{error}. Or save the day without a photo now")
        return error
    return None


def _phase(request: SiteRequest, phase_id: UUID) -> Phase:
    phases = Phase.objects.select_related("room__house", "room__behind")
    return row_for(request.person, phases, phase_id, through="room__house", write=True)


@require_http_methods(["GET", "POST"])
def log_change(request: SiteRequest, log_id: UUID) -> HttpResponse:
    """Correct the day, hours or note of a log."""
    log = _log(request, log_id)
    house = log.room.house
    start = {"day": log.day, "hours": log.minutes or None, "note": log.note}
    form = DayChangeForm(posted(request), units=house.units, seen=Seen.of(log), initial=start)

    def write(by: By) -> DayLog:
        typed = form.cleaned_data
        return day_log_change(
            by=by, log=log, day=typed["day"], minutes=typed["hours"] or 0, note=typed["note"]
        )

    return edit(
        request,
        form,
        "log/change.html",
        {"house": house, "log": log},
        write=write,
        then=lambda _: go(request, "log-list", house.pk),
    )


@require_POST
def log_remove(request: SiteRequest, log_id: UUID) -> HttpResponse:
    """Remove a log. Its movements stay in the ledger."""
    log = _log(request, log_id)
    moved = log.movements.filter(reverses=None, reversed_by=None).exists()
    try:
        day_log_remove(by=By(request.person), log=log)
    except Refused as error:
        messages.info(request, str(error))
    else:
        stays = (
            " What it took from stock stays taken; fix that under what is on hand." if moved else ""
        )
        offer_undo(
            request,
            f"Removed the log of {day_words(log.day, log.room.house.units, weekday=True)}.{stays}",
            log,
        )
    return go(request, "log-list", log.room.house_id)


def _log(request: SiteRequest, log_id: UUID) -> DayLog:
    logs = DayLog.objects.select_related("room__house", "phase")
    return row_for(request.person, logs, log_id, through="room__house", write=True)


@require_GET
def use_list(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """Estimate and use: by material over the house, by phase, or by room."""
    house = house_for(request.person, house_id)
    by = request.GET.get("by", "house")
    if by not in ("house", "phase", "room"):
        raise Http404("No such table")
    names, called = names_of(house), names_of_phases(house)
    states = {
        (room, phase): state
        for room, phase, state in Phase.objects.filter(room__house=house).values_list(
            "room__key", "key", "state"
        )
    }
    done, going = begun_lines(use_of(house), states)
    totals = use_totals(done, names)
    tables = [
        use_table(
            use_totals(lines, names),
            id=f"use-{key}",
            caption=caption,
            units=house.units,
            done=key == "done",
            phases=called,
        )
        for key, caption, lines in (
            ("done", "Work that is done", done),
            ("going", "Work under way, so far", going),
        )
        if lines
    ]
    lines = [*done, *going]
    if by == "phase":
        both = use_totals(lines, names)
        tables = [
            use_table(
                [total for total in both if total.phase == phase],
                id=f"use-{place}",
                caption=called.get(phase, "Another phase" if phase else "No phase"),
                units=house.units,
                done=not any(line.phase == phase for line in going),
            )
            for place, phase in enumerate(dict.fromkeys(total.phase for total in both))
        ]
    if by == "room":
        tables = [
            use_table(
                use_totals([line for line in lines if line.room == key], names),
                id=f"use-{place}",
                caption=name,
                units=house.units,
                done=not any(line.room == key for line in going),
                phases=called,
            )
            for place, (key, name) in enumerate(_rooms_used(house, {line.room for line in lines}))
        ]
    drawn = totals or use_totals(going, names)
    context = {
        "house": house,
        "by": by,
        "tables": tables,
        "nothing": not lines,
        "ordered": any(line.estimate is not None for line in lines),
        "why": why_it_differs(totals, unit_costs(house), house.units),
        "done": bool(done),
        "drawing": use_drawing(drawn, units=house.units) if by == "house" else None,
        "hours": _hours(house),
    }
    return render(request, "log/use.html", context)


def _rooms_used(house: House, keys: set[str]) -> list[tuple[str, str]]:
    known = dict(
        Room.all_objects.filter(house=house, key__in=keys)
        .order_by("position", "key")
        .values_list("key", "name")
    )
    return [*known.items(), *((key, key or "No room") for key in sorted(keys - known.keys()))]


def _hours(house: House) -> Table | None:
    """Hours by room and phase, with rooms and phases in their order; None where none were
    logged."""
    logged = {job: minutes for job, minutes in hours_of(house).items() if minutes}
    if not logged:
        return None
    names = names_of_phases(house)
    keys = list(dict.fromkeys(phase for _, phase in logged))
    order = {key: place for place, key in enumerate(names)}
    keys.sort(key=lambda key: order.get(key, len(order)))
    among = Room.objects.filter(pk__in={room for room, _ in logged})
    rooms = list(among.order_by("position", "key").values_list("pk", "name"))
    rows: list[list[Any]] = []
    for room, name in rooms:
        minutes = [logged.get((room, key), 0) for key in keys]
        rows.append([name, *(shown_minutes(one) if one else "" for one in minutes)])
        rows[-1].append(shown_minutes(sum(minutes)))
    totals = [sum(logged.get((room, key), 0) for room, _ in rooms) for key in keys]
    if len(rows) > 1:
        words = [shown_minutes(one) for one in (*totals, sum(totals))]
        rows.append(["All rooms", *words])
    titles = [names.get(key, "No phase") for key in keys]
    return Table(
        id="use-hours",
        caption="Hours by room and phase",
        columns=[
            Column(title="Room"),
            *(Column(title=title, number=True) for title in (*titles, "All")),
        ],
        rows=rows,
        caption_hidden=True,
    )


@cache_control(private=True, max_age=3600)
@require_GET
def photo_image(request: SiteRequest, photo_id: UUID) -> HttpResponse:
    """A photo, for members of the house it shows."""
    rows = Photo.objects.select_related("room")
    photo = row_for(request.person, rows, photo_id, through="room__house")
    try:
        with photo.image.open("rb") as file:
            answer = HttpResponse(file.read(), content_type="image/jpeg")
    except FileNotFoundError:
        raise Http404("The photo's file is gone") from None
    answer["Content-Disposition"] = f'inline; filename="photo-{photo.pk}.jpg"'
    return answer
