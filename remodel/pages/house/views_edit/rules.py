"""The rules of a house: what each is, why, and what another value would change."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.views.decorators.http import require_http_methods

from remodel.bridge.records import rules_with
from remodel.history.errors import Refused
from remodel.house.models import House
from remodel.house.services import changed_rules, house_set_rules
from remodel.pages.editing import Seen, edit, page, posted, saved_and_go
from remodel.pages.house.forms.rules import HouseRulesForm
from remodel.pages.house.rules_shown import groups_shown
from remodel.pages.house.rules_tried import RulesTried, try_rules
from remodel.people.http import SiteRequest
from remodel.people.queries import house_for

__all__ = ["house_rules"]

_TEMPLATE = "edit/house_rules.html"


@require_http_methods(["GET", "POST"])
def house_rules(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """Every rule of a house. One button saves them, another shows what they would change and stores
    nothing."""
    house = house_for(request.person, house_id, write=request.method == "POST")
    form = HouseRulesForm(posted(request), house=house, seen=Seen.of(house))

    def context() -> dict[str, Any]:
        groups = groups_shown(house_for(request.person, house_id), form)
        return {
            "house": house,
            "groups": groups,
            "changed": [one for some in groups for one in some.rules if not one.is_default],
        }

    if "try" in request.POST:
        return _tried(request, house, form, context())
    return edit(
        request,
        form,
        _TEMPLATE,
        context,
        write=lambda by: house_set_rules(by=by, house=house, **form.rules()),
        then=lambda house: saved_and_go(request, "house-rules", house.pk),
        needs_of=house,
        against=house,
    )


def _tried(
    request: SiteRequest, house: House, form: HouseRulesForm, context: dict[str, Any]
) -> HttpResponse:
    """The page as it was typed, with what it would change."""
    if not form.is_valid():
        return page(request, _TEMPLATE, context, form=form, status=422)
    tried: RulesTried | None = None
    if changes := form.rules():
        try:
            rules = rules_with(changed_rules(house.rules, changes))
        except Refused as error:
            form.add_error(error.field if error.field in form.fields else None, str(error))
            return page(request, _TEMPLATE, context, form=form, status=422)
        tried = try_rules(house, rules)
    return page(request, _TEMPLATE, context | {"asked": True, "tried": tried}, form=form)
