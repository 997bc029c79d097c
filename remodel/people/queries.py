"""What a person may do with a house."""

from __future__ import annotations

from typing import TypeVar
from uuid import UUID

from django.conf import settings
from django.db.models import Model, QuerySet
from django.http import Http404

from remodel.house.models import House, Room
from remodel.people.models import Membership, Person, Role

__all__ = [
    "house_for",
    "houses_to_write",
    "may_archive",
    "members_of",
    "owned_house",
    "owns",
    "removed_houses",
    "room_for",
    "row_for",
]

AnyRow = TypeVar("AnyRow", bound=Model)


def house_for(person: Person, house_id: UUID | str, *, write: bool = False) -> House:
    """One of the person's own houses.

    404 for any other house, as for one that does not exist. With `write` also 404 for a house that
    the person may only look at.
    """
    house: House | None = House.objects.filter(
        pk=house_id, memberships__in=_memberships(person, write)
    ).first()
    if house is None:
        raise Http404("No such house")
    return house


def owned_house(person: Person, house_id: UUID | str, *, removed: bool = False) -> House:
    """A house that the person owns, or with `removed` one of theirs that was removed; 404 for
    anybody else."""
    owned = House.all_objects.filter(
        memberships__in=_memberships(person, write=True).filter(role=Role.OWNER)
    )
    house: House | None = owned.filter(pk=house_id, deleted_at__isnull=not removed).first()
    if house is None:
        raise Http404("No such house")
    return house


def owns(person: Person, house: House) -> bool:
    return Membership.objects.filter(person=person, house=house, role=Role.OWNER).exists()


def may_archive(person: Person) -> bool:
    """Whether the person may download the archive, which is of every house: at home, an owner of
    all of them, the removed ones too. Where people sign in nobody may; there is the command."""
    if settings.HOSTED:
        return False
    mine = Membership.objects.filter(person=person, role=Role.OWNER).values("house_id")
    return not House.all_objects.exclude(pk__in=mine).exists()


def removed_houses(person: Person) -> list[House]:
    """The removed houses that the person owns, the latest first."""
    owned = House.all_objects.filter(memberships__person=person, memberships__role=Role.OWNER)
    return list(owned.filter(deleted_at__isnull=False).order_by("-deleted_at"))


def houses_to_write(person: Person) -> frozenset[UUID]:
    """The ids of the houses that a person may change."""
    return frozenset(_memberships(person, write=True).values_list("house_id", flat=True))


def room_for(person: Person, room_id: UUID | str, *, write: bool = False) -> Room:
    """A room of one of the person's own houses; 404 otherwise."""
    room: Room | None = (
        Room.objects.select_related("house", "behind")
        .filter(
            pk=room_id, house__deleted_at=None, house__memberships__in=_memberships(person, write)
        )
        .first()
    )
    if room is None:
        raise Http404("No such room")
    return room


def row_for(
    person: Person,
    rows: QuerySet[AnyRow],
    row_id: UUID | str | int,
    *,
    through: str,
    write: bool = False,
) -> AnyRow:
    """A row of one of the person's own houses; 404 otherwise.

    `through` is the path from the row to its house, like `room__house`. A row that was deleted, or
    that stands in something deleted, is not found.
    """
    path = through.split("__")
    alive = {f"{'__'.join(path[: index + 1])}__deleted_at": None for index in range(len(path))}
    row = rows.filter(
        pk=row_id, **alive, **{f"{through}__memberships__in": _memberships(person, write)}
    ).first()
    if row is None:
        raise Http404("No such thing")
    return row


def members_of(house: House) -> list[Membership]:
    """The members of a house, owners first."""
    members = list(
        Membership.objects.filter(house=house).select_related("person").order_by("since")
    )
    return sorted(members, key=lambda member: member.role != Role.OWNER)


def _memberships(person: Person, write: bool) -> QuerySet[Membership]:
    memberships = Membership.objects.filter(person=person)
    return memberships.exclude(role=Role.VIEWER) if write else memberships
