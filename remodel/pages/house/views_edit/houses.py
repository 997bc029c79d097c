"""A new house, its seven answers, and house files in and out."""

from __future__ import annotations

from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET, require_http_methods

from remodel.bridge.files import problems_of
from remodel.bridge.lengths import TakeoffError
from remodel.history.errors import Refused
from remodel.history.services import By, recorded
from remodel.house.models import House
from remodel.house.services import house_change, house_set_rules
from remodel.house_files.files import (
    file_of_house,
    house_from_file,
    overlaps_found,
    what_a_file_carries,
)
from remodel.house_files.new import house_add
from remodel.pages.editing import Seen, edit, posted, saved_and_go
from remodel.pages.house.forms.houses import HouseAnswersForm, HouseFileForm
from remodel.people.http import SiteRequest
from remodel.people.queries import house_for, may_archive, owns
from remodel.people.rate_limits import HOUSE_FILES, TooFast, check_rate
from remodel.web.errors import too_large
from remodel.web.responses import go

__all__ = ["house_edit", "house_export", "house_file", "house_import", "house_new"]


@require_http_methods(["GET", "POST"])
def house_new(request: SiteRequest) -> HttpResponse:
    """Seven questions, then the first room."""
    form = HouseAnswersForm(posted(request))
    return edit(
        request,
        form,
        "edit/house_new.html",
        {},
        write=lambda by: house_add(by=by, **form.columns(), rules=form.rules()),
        then=lambda house: go(request, "room-add", house.pk),
    )


@require_http_methods(["GET", "POST"])
def house_edit(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """The same seven answers, changed."""
    house = house_for(request.person, house_id, write=True)
    form = HouseAnswersForm(posted(request), units=house.units, house=house, seen=Seen.of(house))
    return edit(
        request,
        form,
        "edit/house_edit.html",
        lambda: {
            "house": house_for(request.person, house_id),
            "owner": owns(request.person, house),
            "archive": may_archive(request.person),
            "file": what_a_file_carries(house),
        },
        write=lambda by: _house_answers(by=by, house=house, form=form),
        then=lambda house: saved_and_go(request, "house-detail", house.pk),
        needs_of=house,
        against=house,
    )


@recorded("changed the house")
def _house_answers(*, by: By, house: House, form: HouseAnswersForm) -> House:
    house_change(by=by, house=house, **form.columns())
    return house_set_rules(by=by, house=house, **form.rules())


@require_http_methods(["GET", "POST"])
def house_import(request: SiteRequest) -> HttpResponse:
    """Import a house file: all of it, or nothing and every error with its place."""
    file = request.FILES.get("file")
    if file is not None and file.size is not None and file.size > settings.UPLOAD_MAX_BYTES:
        return too_large(request, limit="2 MB a house file")
    form = HouseFileForm(posted(request), request.FILES or None)
    context: dict[str, object] = {"archive": may_archive(request.person)}

    def write(by: By) -> House:
        try:
            check_rate(request, HOUSE_FILES)
        except TooFast as error:
            raise error.at("file", "Choose the file again then") from None
        try:
            return house_from_file(by=by, text=form.cleaned_data["file"])
        except TakeoffError as error:
            problems = problems_of(error)
            context["problems"] = problems
            raise Refused(_refused(len(problems)), field="file") from None

    def brought_in(house: House) -> HttpResponse:
        answer = saved_and_go(request, "house-detail", house.pk, name=house.name)
        for text in overlaps_found(house):
            messages.warning(request, f"{text}.")
        return answer

    return edit(request, form, "edit/house_import.html", context, write=write, then=brought_in)


def _refused(count: int) -> str:
    subject = (
        "100 things or more are"
        if count >= 100
        else "one thing is"
        if count == 1
        else f"{count} things are"
    )
    return (
        f'"House file" was not brought in: {subject} wrong in it. Fix what is listed, then choose '
        "it again"
    )


@require_GET
def house_file(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """What the house's file holds and what it does not, before it is downloaded."""
    house = house_for(request.person, house_id)
    context = {
        "house": house,
        "file": what_a_file_carries(house),
        "archive": may_archive(request.person),
    }
    return render(request, "edit/house_file.html", context)


@require_GET
def house_export(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """The house as a file that can be imported as the same house."""
    house = house_for(request.person, house_id)
    response = HttpResponse(file_of_house(house), content_type="application/json; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="{house.key}.json"'
    response["Cache-Control"] = "private, no-store"
    return response
