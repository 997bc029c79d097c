"""Who is here at home: choosing a person, pairing a phone, and the devices that are let in."""

from __future__ import annotations

from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from remodel.pages.editing import edit, posted
from remodel.pages.people.forms import PairForm, PersonForm, WhoForm
from remodel.pages.people.modes import home_only
from remodel.people import services
from remodel.people.addresses import code_picture, next_page, shared_url
from remodel.people.http import SiteRequest
from remodel.people.middleware import is_this_machine
from remodel.people.models import Device, Person

__all__ = ["device_code", "device_list", "device_withdraw", "pair", "person_add", "who"]

_DEVICE_LASTS = 400 * 24 * 3600


@home_only
@require_http_methods(["GET", "POST"])
def who(request: SiteRequest) -> HttpResponse:
    """Choose who is working here. The history names that person from then on."""
    people = list(Person.objects.filter(email=None).order_by("joined_at"))
    here = request.person
    onward = request.GET.get("next", "")
    form = WhoForm(posted(request), people=people, initial={"person": str(here.pk), "next": onward})
    return edit(
        request,
        form,
        "people/who.html",
        lambda: {"add": PersonForm(initial={"next": onward})},
        write=lambda _: _is_here(request, form.cleaned_data["person"]),
        then=lambda _: HttpResponseRedirect(next_page(request)),
    )


@home_only
@require_POST
def person_add(request: SiteRequest) -> HttpResponse:
    """Add a person to the household, who is the one here from now on."""
    add = PersonForm(request.POST)
    people = list(Person.objects.filter(email=None).order_by("joined_at"))
    chosen = WhoForm(
        people=people,
        initial={"person": str(request.person.pk), "next": request.POST.get("next", "")},
    )
    return edit(
        request,
        add,
        "people/who.html",
        {"add": add, "chosen": chosen},
        write=lambda by: _is_here(
            request, services.person_add(by=by, name=add.cleaned_data["name"])
        ),
        then=lambda _: HttpResponseRedirect(next_page(request)),
    )


def _is_here(request: SiteRequest, person: Person) -> None:
    device = getattr(request, "device", None)
    if device is not None:
        services.device_set_person(device=device, person=person)
    else:
        request.session["person"] = str(person.pk)


@home_only
@never_cache
@require_http_methods(["GET", "POST"])
def pair(request: SiteRequest) -> HttpResponse:
    """Pair a device of the home network by a code, once; then ask whose it is."""
    if is_this_machine(request) or getattr(request, "device", None):
        return redirect("device-list")
    start = {"code": request.GET.get("code", "")[:20], "next": request.GET.get("next", "")}
    form = PairForm(posted(request), initial=start)

    def paired(made: tuple[Device, str]) -> HttpResponse:
        answer = HttpResponseRedirect(f"{reverse('who')}?{urlencode({'next': next_page(request)})}")
        answer.set_cookie(
            services.DEVICE_COOKIE,
            made[1],
            max_age=_DEVICE_LASTS,
            httponly=True,
            secure=request.is_secure(),
            samesite="Lax",
        )
        return answer

    return edit(
        request,
        form,
        "people/pair.html",
        {
            "plain_http": not request.is_secure(),
            "was_paired": services.DEVICE_COOKIE in request.COOKIES,
        },
        write=lambda _: services.device_pair(
            code=form.cleaned_data["code"], label=form.cleaned_data["label"]
        ),
        then=paired,
    )


@home_only
@require_GET
def device_list(request: SiteRequest) -> HttpResponse:
    """The phones and laptops that are let in."""
    return _devices(request)


@home_only
@never_cache
@require_POST
def device_code(request: SiteRequest) -> HttpResponse:
    """Make a code that pairs one device within ten minutes, and show it this one time."""
    if not settings.LAN_HOST:
        raise Http404("Nobody else is served")
    code = services.pairing_code_make()
    address = shared_url(request, reverse("pair"))
    return _devices(
        request, code=f"{code[:3]} {code[3:]}", picture=code_picture(f"{address}?code={code}")
    )


def _devices(request: SiteRequest, **more: object) -> HttpResponse:
    context = {
        "devices": Device.objects.filter(withdrawn=False)
        .select_related("person")
        .order_by("paired_at"),
        "this_device": getattr(request, "device", None),
        "lan": shared_url(request, "/") if settings.LAN_HOST else "",
        "pair_address": shared_url(request, reverse("pair")),
        "plain_http": not request.is_secure(),
    }
    return render(request, "people/devices.html", {**context, **more})


@home_only
@require_POST
def device_withdraw(request: SiteRequest, device_id: UUID) -> HttpResponse:
    """Remove a device: it is no longer let in."""
    device = get_object_or_404(Device, pk=device_id, withdrawn=False)
    services.device_withdraw(device=device)
    messages.info(
        request, f"{device.label} is let in no more. It can be paired again with a new code."
    )
    return redirect("device-list")
