"""Choices of a house: all that are open, and each with both ways side by side."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django import forms
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET, require_http_methods

from remodel.bridge.choices import Choice, kind_words
from remodel.choices import OpenChoice, choice_take, open_choices, rows_of, work_out_choices
from remodel.history.versioned import Versioned
from remodel.house.models import House, Room
from remodel.pages.choices.shown import choice_shown
from remodel.pages.editing import Seen, edit, offer_undo, posted
from remodel.pages.open_choices import choices_shown
from remodel.people.http import SiteRequest
from remodel.people.queries import house_for
from remodel.web.forms import HouseForm
from remodel.web.responses import go

__all__ = ["choice_detail", "house_choices"]

_SECONDS = 4.0


class SideForm(HouseForm):
    """The side that a button takes."""

    side = forms.ChoiceField(label="Which way", widget=forms.HiddenInput)

    def __init__(self, *args: Any, choice: Choice, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["side"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [(side.id, side.name) for side in kind_words(choice.kind).sides]


@require_GET
def house_choices(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """Every choice of a house, each with what it is worth. Those of which nobody knows it yet are
    worked out as far as a person would wait."""
    house = house_for(request.person, house_id)
    choices = work_out_choices(house, open_choices(house), seconds=_SECONDS)
    still = [one for one in choices if not one.overtaken]
    names = dict(Room.objects.filter(house=house).values_list("key", "name"))
    groups = {"": [one for one in still if not one.choice.of]}
    for one in still:
        if one.choice.of:
            groups.setdefault(names.get(one.choice.rooms[0], ""), []).append(one)
    context = {
        "house": house,
        "section": "house",
        "groups": [(name, choices_shown(house, some)) for name, some in groups.items() if some],
        "overtaken": choices_shown(house, [one for one in choices if one.overtaken]),
        "left": sum(one.difference is None and not one.why_not for one in choices),
    }
    return render(request, "choices/choices.html", context)


@require_http_methods(["GET", "POST"])
def choice_detail(request: SiteRequest, house_id: UUID, choice: str) -> HttpResponse:
    """A choice with both ways side by side, and a button that takes the other one."""
    house = house_for(request.person, house_id, write=request.method == "POST")
    one = _choice(house, choice)
    asked = one.choice
    room = Room.objects.filter(house=house, key=asked.rooms[0]).first() if asked.of else None
    form = SideForm(
        posted(request), choice=asked, units=house.units, seen=Seen.of(*rows_of(house, asked))
    )
    return edit(
        request,
        form,
        "choices/choice.html",
        lambda: {
            "house": house,
            "room": room,
            "section": "rooms" if room else "house",
            "choice": choice,
            # after a write that was refused, as it stands then
            "shown": choice_shown(
                house, one if request.method == "GET" else _choice(house, choice)
            ),
        },
        write=lambda by: choice_take(
            by=by, house=house, choice=asked, side=form.cleaned_data["side"]
        ),
        then=lambda row: _taken(request, house, asked, row, form.cleaned_data["side"]),
        needs_of=house,
        against=room or house,
    )


def _choice(house: House, key: str) -> OpenChoice:
    found = next((one for one in open_choices(house) if one.choice.id == key), None)
    if found is None:
        raise Http404("No such choice")
    return found


def _taken(
    request: SiteRequest, house: House, choice: Choice, row: Versioned, side: str
) -> HttpResponse:
    name = kind_words(choice.kind).side(side).name
    offer_undo(request, f"{choice.name}. Chosen: {name}.", row)
    return go(request, "choice-detail", house.pk, choice.id)
