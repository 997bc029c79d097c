"""What the views of this app answer alike."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.http import HttpResponse
from django.shortcuts import render

from remodel.history.errors import Refused, Stale
from remodel.history.services import By
from remodel.history.words import differences, who_changed
from remodel.house.models import House
from remodel.people.http import SiteRequest
from remodel.web.forms import HouseForm
from remodel.web.parts import Difference
from remodel.web.templatetags.halfbay import money

__all__ = ["blame", "by", "page", "stale_page"]

_MONEY = frozenset({"price", "paid", "refund"})


def by(request: SiteRequest, form: HouseForm | None = None) -> By:
    return By(person=request.person, key=form.written_key if form is not None else "")


def page(
    request: SiteRequest, template: str, context: Mapping[str, Any], *, form: HouseForm | None = None, status: int = 200
) -> HttpResponse:
    """The page, or for htmx its part `body`; 422 where the form has errors."""
    if status == 200 and form is not None and form.is_bound and form.errors:
        status = 422
    name = f"{template}#body" if request.htmx else template
    return render(request, name, {**context, **({"form": form} if form is not None else {})}, status=status)


def blame(form: HouseForm, error: Refused) -> None:
    """Show what a service refused at the field it names, or above the form."""
    form.add_error(error.field if error.field in form.fields else None, str(error))


def stale_page(
    request: SiteRequest, template: str, context: Mapping[str, Any], *, form: HouseForm, error: Stale, house: House
) -> HttpResponse:
    """409: both values of what two people changed, above the form as it was typed."""
    form.take_version(error.row.version)
    shown = {"conflict_rows": told(error, house), "conflict_who": who_changed(error.row), "has_errors": True}
    return page(request, template, {**context, **shown}, form=form, status=409)


def told(error: Stale, house: House) -> list[Difference]:
    """Both values of each field, money as money."""
    return [
        Difference(label=row.label, yours=money(each.mine, house.currency), theirs=money(each.theirs, house.currency))
        if each.field in _MONEY
        else row
        for each, row in zip(error.conflicts, differences(error, house.units), strict=True)
    ]
