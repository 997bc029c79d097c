"""The append-only table of changes, and the keys of writes already done."""

from __future__ import annotations

import uuid
from typing import Any

from django.conf import settings
from django.db import models

__all__ = ["Change", "Write"]


class Change(models.Model):
    """One row before and after a write. The changes of one write share `group`; `undoes` is the
    group that an undo took back.

    Houses, rooms and rows are named by id alone, so that history outlives them. `before` is null
    where the row was made. `after` is never null: a deletion is a change of `deleted_at`.
    """

    id = models.BigAutoField(primary_key=True)
    group = models.UUIDField(default=uuid.uuid4, db_index=True)
    at = models.DateTimeField()
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    who = models.CharField(max_length=200, blank=True)
    what = models.CharField(max_length=200)
    house = models.UUIDField(null=True)
    room = models.UUIDField(null=True)
    model = models.CharField(max_length=60)
    row = models.UUIDField()
    version = models.PositiveIntegerField()
    before = models.JSONField(null=True)
    after = models.JSONField()
    undoes = models.UUIDField(null=True, db_index=True)

    class Meta:
        ordering = ("id",)
        indexes = (
            models.Index(fields=("house", "-id"), name="change_house"),
            models.Index(fields=("room", "-id"), name="change_room"),
            models.Index(fields=("row", "version"), name="change_row"),
        )
        constraints = (
            # The last guard: two writes that both counted on from the same version cannot both be
            # kept.
            models.UniqueConstraint(fields=("row", "version"), name="change_one_a_version"),
        )

    def __str__(self) -> str:
        return f"{self.what} ({self.model} {self.row}, version {self.version})"

    @property
    def fields(self) -> dict[str, tuple[Any, Any]]:
        """The value before and after of each field that changed."""
        before = self.before or {}
        return {
            name: (before.get(name), value)
            for name, value in self.after.items()
            if before.get(name) != value
        }


class Write(models.Model):
    """A write that came with a key, and the row it made or changed. A press that is sent again is
    answered with that row, and not done again."""

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    key = models.CharField(max_length=64)
    group = models.UUIDField()
    at = models.DateTimeField()
    model = models.CharField(max_length=60, blank=True)
    row = models.CharField(max_length=64, blank=True)

    class Meta:
        constraints = (models.UniqueConstraint(fields=("person", "key"), name="write_once"),)

    def __str__(self) -> str:
        return f"{self.key} by {self.person_id}"
