"""Signing in and out when hosted, with limits on wrong passwords and on how long a session
lasts."""

from __future__ import annotations

import logging
import math
import secrets
from datetime import datetime, timedelta

from django.contrib import auth
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.signing import BadSignature, TimestampSigner
from django.db import IntegrityError
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from remodel.history.errors import Refused
from remodel.house.models import House
from remodel.people.addresses import client_address
from remodel.people.models import Person
from remodel.people.services import invitation_take
from remodel.people.throttle import Limit, forget, seconds_to_wait

__all__ = [
    "MustWait",
    "check_password_rules",
    "keep_session",
    "password_change",
    "remember_browser",
    "sign_in",
    "sign_up",
]

logger = logging.getLogger("remodel.people")

BY_ACCOUNT = Limit("sign-in of an account", 10, timedelta(minutes=15))
BY_ADDRESS = Limit("sign-in from an address", 30, timedelta(minutes=15))
SIGN_UP = Limit("sign-up from an address", 10, timedelta(hours=1))
LASTS = timedelta(days=60)
_SEEN_EVERY = timedelta(days=1)
_BROWSER_COOKIE = "browser"
_BROWSER_LASTS = timedelta(days=365)


class MustWait(Refused):
    """Too many attempts. `seconds` is the time until the next one is allowed."""

    def __init__(self, seconds: int) -> None:
        minutes = math.ceil(seconds / 60)
        super().__init__(
            f"Too many tries. Wait {minutes} minute{'s' if minutes > 1 else ''}, then sign in again"
        )
        self.seconds = seconds


def sign_in(request: HttpRequest, *, email: str, password: str) -> Person:
    """Sign a person in under a new session. Raises `Refused` for a wrong e-mail or password, and
    `MustWait` after too many attempts."""
    account = email.strip().lower()
    browser = _known_browser(request, account)
    attempts = ((BY_ACCOUNT, browser or account), (BY_ADDRESS, client_address(request)))
    wait = seconds_to_wait(*attempts)
    if wait:
        logger.warning("sign-in has to wait %s s", wait)
        raise MustWait(wait)
    person = auth.authenticate(request, username=account, password=password)
    if not isinstance(person, Person):
        # Whoever runs the site has to see who is tried, and from where. `%r`: what was typed may
        # hold anything.
        logger.warning("sign-in refused for %r from %s", account[:254], client_address(request))
        raise Refused("The e-mail address and the password do not fit together; enter both again")
    forget(attempts[0])
    auth.login(request, person)
    request.session["since"] = timezone.now().isoformat()
    logger.info("signed in %s", person.pk)
    return person


def sign_up(
    request: HttpRequest, *, name: str, email: str, password: str, token: str
) -> tuple[Person, House]:
    """Make an account by the token of an invitation, join its house and sign in; all or nothing.

    Raises `Refused` where the password breaks a rule, the address has an account, or the invitation
    can no longer be used.
    """
    wait = seconds_to_wait((SIGN_UP, client_address(request)))
    if wait:
        raise MustWait(wait)
    person = Person(name=name.strip(), email=email.strip().lower())
    check_password_rules(password, person)
    person.set_password(password)  # takes a while on purpose, so it is done before the write
    try:
        house = invitation_take(token=token, person=person)
    except IntegrityError:
        raise Refused(
            "There is an account with this address already; sign in with it instead", field="email"
        ) from None
    auth.login(request, person, backend="django.contrib.auth.backends.ModelBackend")
    request.session["since"] = timezone.now().isoformat()
    logger.info("signed up %s", person.pk)
    return person, house


def password_change(request: HttpRequest, *, person: Person, current: str, new: str) -> None:
    """Set another password. Every other session of the person ends. Wrong passwords count as at
    sign-in."""
    attempts = ((BY_ACCOUNT, str(person.pk)), (BY_ADDRESS, client_address(request)))
    wait = seconds_to_wait(*attempts)
    if wait:
        raise MustWait(wait)
    if not person.check_password(current):
        if person.check_password(new):
            return  # sent twice: it is changed already
        raise Refused(
            '"Password now" is not the password you sign in with. Enter it again', field="current"
        )
    forget(attempts[0])
    check_password_rules(new, person)
    person.set_password(new)
    person.save(update_fields=("password",))
    auth.update_session_auth_hash(request, person)
    logger.info("password changed %s", person.pk)


def check_password_rules(password: str, person: Person) -> None:
    """Raise `Refused` with the first rule that a password breaks."""
    words = {
        "password_too_short": "The password must have 8 characters or more; 15 or more is better, "
        "for example four words",
        "password_too_common": "This password is on lists of common ones; choose another, for "
        "example "
        "four words of your own",
        "password_too_similar": "The password is too much like your name or address; choose "
        "another",
    }
    try:
        validate_password(password, person)
    except ValidationError as error:
        first = error.error_list[0]
        raise Refused(words.get(str(first.code), first.messages[0]), field="password") from None


def keep_session(request: HttpRequest) -> bool:
    """Whether a session may go on. A session over its limit is ended. A visit moves the limit of
    idle time on, once a day."""
    session, now = request.session, timezone.now()
    since = session.get("since")
    if since is None:
        session["since"] = now.isoformat()
    elif now - datetime.fromisoformat(since) > LASTS:
        auth.logout(request)
        return False
    seen = session.get("seen")
    if seen is None or now - datetime.fromisoformat(seen) > _SEEN_EVERY:
        session["seen"] = now.isoformat()
    return True


def remember_browser(request: HttpRequest, response: HttpResponse, person: Person) -> None:
    """Give this browser a count of its own for wrong passwords of this account."""
    value = _signer().sign_object({"account": person.email, "nonce": secrets.token_urlsafe(12)})
    response.set_cookie(
        _BROWSER_COOKIE,
        value,
        max_age=_BROWSER_LASTS,
        httponly=True,
        secure=request.is_secure(),
        samesite="Lax",
    )


def _known_browser(request: HttpRequest, account: str) -> str:
    try:
        cookie = _signer().unsign_object(
            request.COOKIES.get(_BROWSER_COOKIE, ""), max_age=_BROWSER_LASTS
        )
    except (BadSignature, ValueError):
        return ""
    return f"browser {cookie['nonce']}" if cookie.get("account") == account else ""


def _signer() -> TimestampSigner:
    return TimestampSigner(salt="remodel.people.browser")
