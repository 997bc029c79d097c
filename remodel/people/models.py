"""Persons, their houses, invitations, and the devices of a home network."""

from __future__ import annotations

import uuid
from typing import ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.db.models import Q

__all__ = ["Attempt", "Device", "Invitation", "Membership", "PairingCode", "Person", "Role"]


class Role(models.TextChoices):
    OWNER = "owner", "Owner"
    HELPER = "helper", "Helper"
    VIEWER = "viewer", "View only"


class PersonManager(BaseUserManager["Person"]):
    def get_by_natural_key(self, username: str | None) -> Person:
        return self.get(email__iexact=username)


class Person(AbstractBaseUser):
    """Somebody who works on a house. `email` is for signing in; it is null in a household that does
    not sign in."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    name = models.CharField(max_length=80)
    email = models.EmailField(null=True, blank=True, unique=True)
    is_active = models.BooleanField(default=True)
    joined_at = models.DateTimeField(auto_now_add=True)

    USERNAME_FIELD = "email"
    objects: ClassVar[PersonManager] = PersonManager()

    class Meta:
        constraints = (models.CheckConstraint(condition=~Q(name=""), name="person_has_a_name"),)

    def __str__(self) -> str:
        return self.name


class Membership(models.Model):
    """What one person may do with one house."""

    house = models.ForeignKey("house.House", on_delete=models.CASCADE, related_name="memberships")
    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="memberships")
    role = models.CharField(max_length=10, choices=Role.choices, default=Role.OWNER)
    since = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=("house", "person"), name="membership_once"),
            models.CheckConstraint(condition=Q(role__in=Role.values), name="membership_role"),
        )

    def __str__(self) -> str:
        return f"{self.person} is {self.role} of {self.house}"


class Invitation(models.Model):
    """A link that makes the person who follows it a member, once and for a limited time. Only the
    token's hash is stored."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    house = models.ForeignKey("house.House", on_delete=models.CASCADE, related_name="invitations")
    invited_by = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="+")
    role = models.CharField(max_length=10, choices=Role.choices, default=Role.HELPER)
    token_hash = models.CharField(max_length=64, unique=True)
    expires_at = models.DateTimeField()
    taken_by = models.ForeignKey(Person, null=True, on_delete=models.SET_NULL, related_name="+")
    withdrawn = models.BooleanField(default=False)

    class Meta:
        constraints = (
            models.CheckConstraint(condition=Q(role__in=Role.values), name="invitation_role"),
        )

    def __str__(self) -> str:
        return f"{self.role} of {self.house}"


class PairingCode(models.Model):
    """Six digits that let one device of the home network in, for ten minutes."""

    code_hash = models.CharField(max_length=64)
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True)
    wrong_tries = models.PositiveSmallIntegerField(default=0)

    def __str__(self) -> str:
        return f"until {self.expires_at:%H:%M}"


class Device(models.Model):
    """A paired phone or laptop, and who holds it."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    token_hash = models.CharField(max_length=64, unique=True)
    label = models.CharField(max_length=80)
    person = models.ForeignKey(Person, null=True, on_delete=models.SET_NULL, related_name="devices")
    paired_at = models.DateTimeField(auto_now_add=True)
    seen_at = models.DateTimeField(null=True)
    withdrawn = models.BooleanField(default=False)

    def __str__(self) -> str:
        return self.label


class Attempt(models.Model):
    """One attempt counted against a limit. `what` is a digest, so that no address and no e-mail is
    stored."""

    what = models.CharField(max_length=64)
    at = models.DateTimeField()

    class Meta:
        indexes = (models.Index(fields=("what", "at"), name="tried_what"),)

    def __str__(self) -> str:
        return f"{self.what[:8]} at {self.at:%H:%M:%S}"
