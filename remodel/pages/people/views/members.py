"""The members of a house, what each may do, and inviting others."""

from __future__ import annotations

from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from remodel.history.errors import Refused
from remodel.house.models import House
from remodel.pages.editing import Seen, edit, page, posted
from remodel.pages.people.forms import InviteForm, RoleForm
from remodel.pages.people.modes import hosted_only
from remodel.people import services
from remodel.people.addresses import code_picture, shared_url
from remodel.people.http import SiteRequest
from remodel.people.models import Invitation, Membership, Role
from remodel.people.queries import house_for, members_of, owned_house, row_for

__all__ = [
    "house_people",
    "invitation_add",
    "invitation_withdraw",
    "membership_end",
    "membership_role",
]


@require_GET
def house_people(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """The members of the house and what each may do."""
    house = house_for(request.person, house_id)
    return _people(request, house)


@hosted_only
@never_cache
@require_POST
def invitation_add(request: SiteRequest, house_id: UUID) -> HttpResponse:
    """Make a link that lets one person join within a week, and show it this one time."""
    house = _owned(request, house_id)
    form = InviteForm(request.POST)

    def shown_once(made: tuple[Invitation, str]) -> HttpResponse:
        link = shared_url(request, reverse("invitation", args=[made[1]]))
        return _people(request, house, link=link, picture=code_picture(link))

    return edit(
        request,
        form,
        "people/members.html",
        lambda: _members(request, house),
        write=lambda by: services.invitation_make(
            by=by, house=house, role=form.cleaned_data["role"]
        ),
        then=shown_once,
    )


@hosted_only
@require_POST
def invitation_withdraw(request: SiteRequest, invitation_id: UUID) -> HttpResponse:
    """Withdraw a link that was not used yet."""
    rows = Invitation.objects.select_related("house")
    invitation = row_for(request.person, rows, invitation_id, through="house", write=True)
    house = _owned(request, invitation.house_id)
    Invitation.objects.filter(pk=invitation.pk, taken_by=None).update(withdrawn=True)
    messages.info(request, "That invitation is no longer valid.")
    return redirect("house-people", house.pk)


@hosted_only
@require_http_methods(["GET", "POST"])
def membership_role(request: SiteRequest, membership_id: int) -> HttpResponse:
    """Give a member another role."""
    membership = _member(request, membership_id)
    house = _owned(request, membership.house_id)
    form = RoleForm(
        posted(request), seen=Seen.of(role=membership.role), initial={"role": membership.role}
    )
    return edit(
        request,
        form,
        "people/role.html",
        {"house": house, "member": membership},
        write=lambda by: services.membership_change(
            by=by, membership=membership, role=form.cleaned_data["role"]
        ),
        then=lambda _: redirect("house-people", house.pk),
    )


@hosted_only
@require_POST
def membership_end(request: SiteRequest, membership_id: int) -> HttpResponse:
    """Remove a member from a house, or leave it oneself."""
    membership = _member(request, membership_id)
    house, is_self = membership.house, membership.person_id == request.person.pk
    if not is_self:
        _owned(request, membership.house_id)
    try:
        services.membership_end(person=request.person, membership=membership)
    except Refused as error:
        messages.info(request, str(error))
        return redirect("house-people", house.pk)
    if is_self:
        messages.info(request, f"You left {house.name}.")
        return redirect("/")
    messages.info(request, f"{membership.person.name} does not belong to the house any more.")
    return redirect("house-people", house.pk)


def _member(request: SiteRequest, membership_id: int) -> Membership:
    rows = Membership.objects.select_related("house", "person")
    return row_for(request.person, rows, str(membership_id), through="house")


def _owned(request: SiteRequest, house_id: UUID) -> House:
    """The house, for its owners; 404 for anybody else."""
    return owned_house(request.person, house_id)


def _people(request: SiteRequest, house: House, **more: object) -> HttpResponse:
    return page(request, "people/members.html", _members(request, house) | more, form=InviteForm())


def _members(request: SiteRequest, house: House) -> dict[str, object]:
    members = members_of(house)
    mine = next((member for member in members if member.person_id == request.person.pk), None)
    owner = bool(mine and mine.role == Role.OWNER)
    return {
        "house": house,
        "members": members,
        "mine": mine,
        "hosted": settings.HOSTED,
        "owner": owner,
        "waiting": services.invitations_waiting(house) if owner else (),
    }
