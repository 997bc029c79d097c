"""Signing in, out and up, and the invitation link."""

from __future__ import annotations

from django.contrib import auth, messages
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from remodel.history.errors import Refused
from remodel.people.addresses import next_page
from remodel.people.forms import PasswordForm, SignInForm, SignUpForm
from remodel.people.http import SiteRequest
from remodel.people.models import Invitation
from remodel.people.services import invitation_of, invitation_take
from remodel.people.sign_in import MustWait, password_change, remember_browser, sign_in, sign_up
from remodel.people.views.answers import blame, form_page, hosted_only
from remodel.web.answers import go
from remodel.web.forms import HouseForm

__all__ = ["invitation", "password_change_own", "sign_in_page", "sign_out", "sign_up_page"]


def _refused(
    request: SiteRequest, template: str, form: HouseForm, context: dict[str, object], error: Refused
) -> HttpResponse:
    blame(form, error)
    if not isinstance(error, MustWait):
        return form_page(request, template, form, context)
    answer = form_page(request, template, form, context, status=429)
    answer["Retry-After"] = str(error.seconds)
    return answer


@hosted_only
@never_cache
@require_http_methods(["GET", "POST"])
def sign_in_page(request: SiteRequest) -> HttpResponse:
    """Sign in by e-mail and password."""
    if request.method == "GET" and getattr(request, "person", None) is not None:
        return HttpResponseRedirect(next_page(request))
    form = SignInForm(request.POST if request.method == "POST" else None, initial={"next": request.GET.get("next", "")})
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        try:
            person = sign_in(request, email=given["email"], password=given["password"])
        except Refused as error:
            return _refused(request, "people/sign_in.html", form, {}, error)
        answer = HttpResponseRedirect(next_page(request))
        remember_browser(request, answer, person)
        return answer
    return form_page(request, "people/sign_in.html", form, {})


@hosted_only
@require_POST
def sign_out(request: SiteRequest) -> HttpResponse:
    """End the session, on the server too."""
    auth.logout(request)
    return redirect("sign-in")


@hosted_only
@never_cache
@require_http_methods(["GET", "POST"])
def password_change_own(request: SiteRequest) -> HttpResponse:
    """Set another password; every other session ends."""
    form = PasswordForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        try:
            password_change(request, person=request.person, current=given["current"], new=given["password"])
        except Refused as error:
            return _refused(request, "people/password.html", form, {}, error)
        messages.info(request, "Your password is changed. Everywhere else you have to sign in anew.")
        return go(request, "/")
    return form_page(request, "people/password.html", form, {})


@hosted_only
@never_cache
@require_http_methods(["GET", "POST"])
def invitation(request: SiteRequest, token: str) -> HttpResponse:
    """The page an invitation link opens: join as who is signed in, or sign in or up first."""
    found = invitation_of(token)
    if found is None:
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
    return form_page(request, "people/invitation.html", SignUpForm(), _invited(found, token))


@hosted_only
@never_cache
@require_POST
def sign_up_page(request: SiteRequest, token: str) -> HttpResponse:
    """Make an account and join, both by an invitation; nobody gets one without."""
    found = invitation_of(token)
    if found is None:
        return _gone(request)
    if getattr(request, "person", None) is not None:
        return redirect("invitation", token)
    form = SignUpForm(request.POST)
    if form.is_valid():
        given = form.cleaned_data
        try:
            person = sign_up(request, name=given["name"], email=given["email"], password=given["password"])
            joined = invitation_take(token=token, person=person)
        except Refused as error:
            return _refused(request, "people/invitation.html", form, _invited(found, token), error)
        answer = go(request, "house-detail", joined.pk)
        remember_browser(request, answer, person)
        return answer
    return form_page(request, "people/invitation.html", form, _invited(found, token))


def _invited(found: Invitation, token: str) -> dict[str, object]:
    return {"invitation": found, "token": token}


def _gone(request: SiteRequest) -> HttpResponse:
    return render(request, "people/invitation_gone.html", status=404)
