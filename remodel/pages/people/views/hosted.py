"""Signing in, out and up, and the invitation link."""

from __future__ import annotations

from django.contrib import auth, messages
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from remodel.history.errors import Refused
from remodel.history.services import By
from remodel.house.models import House
from remodel.pages.editing import edit, page, posted
from remodel.pages.people.forms import PasswordForm, SignInForm, SignUpForm
from remodel.pages.people.modes import hosted_only
from remodel.people.addresses import next_page
from remodel.people.http import SiteRequest
from remodel.people.models import Invitation, Person
from remodel.people.services import invitation_of, invitation_take
from remodel.people.sign_in import password_change, remember_browser, sign_in, sign_up
from remodel.web.responses import go

__all__ = ["invitation", "password_change_own", "sign_in_page", "sign_out", "sign_up_page"]


@hosted_only
@never_cache
@require_http_methods(["GET", "POST"])
def sign_in_page(request: SiteRequest) -> HttpResponse:
    """Sign in by e-mail and password."""
    if request.method == "GET" and getattr(request, "person", None) is not None:
        return HttpResponseRedirect(next_page(request))
    form = SignInForm(posted(request), initial={"next": request.GET.get("next", "")})

    def signed_in(person: Person) -> HttpResponse:
        answer = HttpResponseRedirect(next_page(request))
        remember_browser(request, answer, person)
        return answer

    return edit(
        request,
        form,
        "people/sign_in.html",
        {},
        write=lambda _: sign_in(
            request, email=form.cleaned_data["email"], password=form.cleaned_data["password"]
        ),
        then=signed_in,
    )


@hosted_only
@require_POST
def sign_out(request: SiteRequest) -> HttpResponse:
    """End the session, on the server as well, and have the browser wipe what it kept."""
    auth.logout(request)
    answer = redirect("sign-in")
    answer["Clear-Site-Data"] = '"storage"'
    return answer


@hosted_only
@never_cache
@require_http_methods(["GET", "POST"])
def password_change_own(request: SiteRequest) -> HttpResponse:
    """Set another password; every other session ends."""
    form = PasswordForm(posted(request))

    def write(_: By) -> None:
        current, new = form.cleaned_data["current"], form.cleaned_data["password"]
        password_change(request, person=request.person, current=current, new=new)

    def changed(_: None) -> HttpResponse:
        messages.info(
            request, "Your password is changed. Everywhere else you have to sign in again."
        )
        return go(request, "/")

    return edit(request, form, "people/password.html", {}, write=write, then=changed)


@hosted_only
@never_cache
@require_http_methods(["GET", "POST"])
def invitation(request: SiteRequest, token: str) -> HttpResponse:
    """The page that an invitation link opens. A person who is signed in can join; anybody else
    signs in or up first."""
    invitation = invitation_of(token)
    if invitation is None:
        return _gone(request)
    if request.method == "POST":
        if getattr(request, "person", None) is None:
            return redirect(f"{reverse('sign-in')}?next={request.path}")
        try:
            joined = invitation_take(token=token, person=request.person)
        except Refused:
            return _gone(request)
        messages.info(request, f"You belong to {joined.name} now.")
        return go(request, "house-detail", joined.pk)
    return page(request, "people/invitation.html", _invited(invitation, token), form=SignUpForm())


@hosted_only
@never_cache
@require_POST
def sign_up_page(request: SiteRequest, token: str) -> HttpResponse:
    """Make an account and join a house, both by an invitation. There are no accounts without
    one."""
    invitation = invitation_of(token)
    if invitation is None:
        return _gone(request)
    if getattr(request, "person", None) is not None:
        return redirect("invitation", token)
    form = SignUpForm(request.POST)

    def write(_: By) -> tuple[Person, House]:
        given = form.cleaned_data
        return sign_up(
            request,
            name=given["name"],
            email=given["email"],
            password=given["password"],
            token=token,
        )

    def joined(made: tuple[Person, House]) -> HttpResponse:
        person, house = made
        answer = go(request, "house-detail", house.pk)
        remember_browser(request, answer, person)
        return answer

    return edit(
        request,
        form,
        "people/invitation.html",
        _invited(invitation, token),
        write=write,
        then=joined,
    )


def _invited(invitation: Invitation, token: str) -> dict[str, object]:
    return {"invitation": invitation, "token": token}


def _gone(request: SiteRequest) -> HttpResponse:
    return render(request, "people/invitation_gone.html", status=404)
