"""The household, paired devices, memberships and invitations."""

from __future__ import annotations

import hashlib
import secrets
from datetime import timedelta

from django.conf import settings
from django.db import transaction
from django.db.models import F, QuerySet
from django.utils import timezone

from remodel.history.errors import Overtaken, Refused
from remodel.history.services import By, is_news, recorded
from remodel.history.turns import write_turn
from remodel.house.models import House
from remodel.people.models import Device, Invitation, Membership, PairingCode, Person, Role

__all__ = [
    "DEVICE_COOKIE",
    "HOUSEHOLD",
    "device_of",
    "device_pair",
    "device_set_person",
    "device_withdraw",
    "give_to_owners",
    "household",
    "invitation_make",
    "invitation_of",
    "invitation_take",
    "invitations_waiting",
    "membership_change",
    "membership_end",
    "pairing_code_make",
    "person_add",
]

DEVICE_COOKIE = "device"
HOUSEHOLD = "Us"  # what a household is called until somebody gives a name
_CODE_LIVES = timedelta(minutes=10)
_CODE_TRIES = 5
_INVITATION_LIVES = timedelta(days=7)


def household() -> Person:
    """The person for whoever works here while nobody has said who it is: the first person of a
    household that does not sign in."""
    person = Person.objects.filter(email=None).order_by("joined_at").first()
    return person or person_add(by=By(), name=HOUSEHOLD)


@recorded("added a person")
def person_add(*, by: By, name: str) -> Person:
    """Add a person of the household, who does not sign in and is a member of every house here."""
    if not name.strip():
        raise Refused("Enter a name, for example Ada", field="name")
    if settings.HOSTED:
        raise Refused("People come in by an invitation link here")
    person = Person(name=name.strip()[:80], email=None)
    person.set_unusable_password()
    person.save()
    Membership.objects.bulk_create(
        Membership(house=house, person=person, role=Role.OWNER) for house in House.all_objects.all()
    )
    return person


def give_to_owners(house: House, person: Person | None) -> None:
    """A new house belongs to whoever made it; in a household that does not sign in, to
    everybody."""
    owners = [person] if person else []
    if person is not None and person.email is None:
        owners = list(Person.objects.filter(email=None))
    Membership.objects.bulk_create(
        Membership(house=house, person=owner, role=Role.OWNER) for owner in owners
    )


def pairing_code_make() -> str:
    """A new code of six digits that pairs one device within ten minutes. An older code stops
    working."""
    code = f"{secrets.randbelow(10**6):06d}"
    with transaction.atomic():
        PairingCode.objects.filter(used_at=None).delete()
        PairingCode.objects.create(code_hash=_hashed(code), expires_at=timezone.now() + _CODE_LIVES)
    return code


def device_pair(*, code: str, label: str, person: Person | None = None) -> tuple[Device, str]:
    """Pair a device by a code, and return it with the token for its cookie.

    Raises `Refused` for a wrong or old code. After five wrong codes a new one must be made.
    """
    given = _hashed("".join(character for character in code if character.isdigit()))
    with transaction.atomic():
        waiting = (
            PairingCode.objects.select_for_update()
            .filter(used_at=None, expires_at__gt=timezone.now())
            .first()
        )
        if waiting is not None and waiting.wrong_tries < _CODE_TRIES:
            if secrets.compare_digest(waiting.code_hash, given):
                waiting.used_at = timezone.now()
                waiting.save(update_fields=("used_at",))
                token = secrets.token_urlsafe(32)
                device = Device.objects.create(
                    token_hash=_hashed(token), label=label.strip()[:80] or "A device", person=person
                )
                return device, token
            waiting.wrong_tries += 1
            waiting.save(update_fields=("wrong_tries",))
    raise Refused(
        "This code does not fit; enter the six digits shown on the first machine, for example "
        "123456",
        field="code",
    )


def device_of(token: str) -> Device | None:
    """The paired device that holds a token."""
    if not token:
        return None
    device = (
        Device.objects.select_related("person")
        .filter(token_hash=_hashed(token), withdrawn=False)
        .first()
    )
    if device and (device.seen_at is None or device.seen_at < timezone.now() - timedelta(hours=1)):
        Device.objects.filter(pk=device.pk).update(seen_at=timezone.now())
    return device


def device_set_person(*, device: Device, person: Person) -> Device:
    """Say who holds a device, for the history."""
    device.person = person
    device.save(update_fields=("person",))
    return device


def device_withdraw(*, device: Device) -> Device:
    """Remove a device: it is no longer let in."""
    device.withdrawn = True
    device.save(update_fields=("withdrawn",))
    return device


def invitation_make(*, by: By, house: House, role: str = Role.HELPER) -> tuple[Invitation, str]:
    """Invite a person to a house for a week, and return the invitation with the token for its link.
    Owners only.

    A press sent twice makes one invitation. The second press gives it a new token, because the
    answer with the first one never arrived.
    """
    invitation = _invite(by=by, house=house, role=role)
    token = secrets.token_urlsafe(32)
    invitation.token_hash = _hashed(token)
    invitation.save(update_fields=("token_hash",))
    return invitation, token


@recorded("invited somebody")
def _invite(*, by: By, house: House, role: str) -> Invitation:
    _check_owner(by.person, house)
    if role not in Role.values:
        raise Refused("Choose owner, helper or view only", field="role")
    return Invitation.objects.create(
        house=house,
        invited_by=by.person,
        role=role,
        token_hash=_hashed(secrets.token_urlsafe(32)),
        expires_at=timezone.now() + _INVITATION_LIVES,
    )


def invitations_waiting(house: House) -> QuerySet[Invitation]:
    """The links to a house that can still be used, the first to end first."""
    return _usable().filter(house=house).order_by("expires_at")


def invitation_of(token: str) -> Invitation | None:
    """The invitation of a link that can still be used; None otherwise."""
    return _usable().filter(token_hash=_hashed(token)).first()


def _usable() -> QuerySet[Invitation]:
    # A link ends with its maker's right: else somebody who was removed comes back by a link made
    # before. `filter` once, so that both conditions are of one membership.
    return Invitation.objects.select_related("house", "invited_by").filter(
        taken_by=None,
        withdrawn=False,
        expires_at__gt=timezone.now(),
        house__deleted_at=None,
        house__memberships__person=F("invited_by"),
        house__memberships__role=Role.OWNER,
    )


def invitation_take(*, token: str, person: Person) -> House:
    """Make a person a member by a link, once. A person who is a member already keeps their role.

    A person without a row yet gets one with it, so that no account is left where the link was used
    meanwhile.
    """
    with write_turn():
        invitation = invitation_of(token)
        if invitation is None:
            raise Refused(
                "This invitation was used, withdrawn, or is over a week old, or who made it no "
                "longer owns the house; ask for a new one"
            )
        if person._state.adding:
            person.save(force_insert=True)
        Membership.objects.get_or_create(
            house=invitation.house, person=person, defaults={"role": invitation.role}
        )
        invitation.taken_by = person
        invitation.save(update_fields=("taken_by",))
    return invitation.house


@recorded("changed what a member may do")
def membership_change(*, by: By, membership: Membership, role: str) -> Membership:
    """Give a member another role. A house keeps at least one owner.

    Raises `Overtaken` where the member had another role when the page was made.
    """
    _check_owner(by.person, membership.house)
    if role not in Role.values:
        raise Refused("Choose owner, helper or view only", field="role")
    membership.refresh_from_db(fields=("role",))
    if is_news("role", membership.role) and role != membership.role:
        now = Role(membership.role).label.lower()
        raise Overtaken(
            f"Another owner made {membership.person.name} {now} meanwhile. Look again, then save"
        )
    if role != Role.OWNER:
        _check_not_last_owner(membership)
    membership.role = role
    membership.save(update_fields=("role",))
    return membership


def membership_end(*, person: Person, membership: Membership) -> None:
    """Remove a member from a house. Any member may leave, and a house keeps at least one owner."""
    if membership.person_id != person.pk:
        _check_owner(person, membership.house)
    with write_turn():
        _check_not_last_owner(membership)
        membership.delete()


def _check_owner(person: Person, house: House) -> None:
    if not Membership.objects.filter(house=house, person=person, role=Role.OWNER).exists():
        raise Refused("Only an owner of the house may do this")


def _check_not_last_owner(membership: Membership) -> None:
    others = Membership.objects.filter(house=membership.house, role=Role.OWNER).exclude(
        pk=membership.pk
    )
    if membership.role == Role.OWNER and not others.exists():
        raise Refused("A house must keep an owner; make somebody else one first")


def _hashed(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()
