"""A new house, its five answers, and house files in and out."""

from __future__ import annotations

from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.http import HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from remodel.engine.files import problems_of
from remodel.engine.lengths import TakeoffError
from remodel.engine.rows import rules_of
from remodel.history.services import By, recorded
from remodel.house.files import file_of_house, house_from_file, overlaps_found
from remodel.house.forms.fields import UNKNOWN
from remodel.house.forms.houses import HouseAnswersForm, HouseFileForm
from remodel.house.models import House
from remodel.house.services import house_add, house_change, house_set_rules
from remodel.house.views_edit.saving import by_of, page, save, saved_and_go
from remodel.people.http import SiteRequest
from remodel.people.pace import HOUSE_FILES, TooFast, check_pace, slowed
from remodel.people.queries import house_for, owns
from remodel.web.answers import go
from remodel.web.errors import too_large

__all__ = ["house_edit", "house_export", "house_import", "house_new"]


@require_http_methods(["GET", "POST"])
def house_new(request: SiteRequest) -> HttpResponse:
    """Five questions, then the first room."""
    form = HouseAnswersForm(request.POST or None)
    context: dict[str, object] = {"form": form}
    status = 200
    if request.method == "POST":
        outcome = save(request, form, lambda by: house_add(by=by, **form.columns(), rules=form.rules()))
        if outcome.row is not None:
            known = form.framed_answer != UNKNOWN
            studs = int(rules_of(outcome.row).assumed_wall_spacing) if known else UNKNOWN
            return go(request, f"{reverse('room-add', args=[outcome.row.pk])}?studs={studs}")
        status, context = outcome.status, context | outcome.context
    return page(request, "house_new", context, status=status)


@require_http_methods(["GET", "POST"])
def house_edit(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """The same five answers, changed."""
    writes = request.method == "POST"
    house = house_for(request.person, house_id, write=True)
    form = HouseAnswersForm(request.POST or None, units=house.units, house=house, version=house.version)
    context: dict[str, object] = {"form": form, "house": house, "owner": owns(request.person, house)}
    status = 200
    if writes:
        outcome = save(request, form, lambda by: _house_answers(by=by, house=house, form=form))
        if outcome.row is not None:
            return saved_and_go(request, "house-detail", house.pk)
        status, context = outcome.status, context | outcome.context
        context["house"] = house_for(request.person, house_id)
    return page(request, "house_edit", context, status=status)


@recorded("changed the house")
def _house_answers(*, by: By, house: House, form: HouseAnswersForm) -> House:
    house_change(by=by, house=house, version=form.cleaned_data["version"], **form.columns())
    return house_set_rules(by=by, house=house, **form.rules())


@require_http_methods(["GET", "POST"])
def house_import(request: SiteRequest) -> HttpResponse:
    """Bring in a house file: all of it, or nothing and every error by its place."""
    form = HouseFileForm(request.POST or None, request.FILES or None)
    context: dict[str, object] = {"form": form}
    if request.method != "POST":
        return page(request, "house_import", context)
    file = request.FILES.get("file")
    if file is not None and file.size is not None and file.size > settings.UPLOAD_MAX_BYTES:
        return too_large(request, limit="2 MB a house file")
    if form.is_valid():
        try:
            check_pace(request, HOUSE_FILES)
            house = house_from_file(by=by_of(request, form), text=form.cleaned_data["file"])
        except TooFast as error:
            form.add_error("file", f"{error}. Choose the file again then")
            return slowed(page(request, "house_import", context), error)
        except TakeoffError as error:
            problems = problems_of(error)
            form.add_error("file", _refused(len(problems)))
            context["problems"] = problems
        else:
            response = saved_and_go(request, "house-detail", house.pk, name=house.name)
            for text in overlaps_found(house):
                messages.warning(request, f"{text}.")
            return response
    return page(request, "house_import", context, status=422)


def _refused(count: int) -> str:
    said = "100 things or more are" if count >= 100 else "one thing is" if count == 1 else f"{count} things are"
    return f"House file was not brought in: {said} wrong in it. Mend what is listed, then choose it again"


@require_GET
def house_export(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """The house as a file that reads back to the same house."""
    house = house_for(request.person, house_id)
    response = HttpResponse(file_of_house(house), content_type="application/json; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="{house.key}.json"'
    response["Cache-Control"] = "private, no-store"
    return response
