"""What every row that people edit has: a permanent id, a version, and a time of deletion in place
of a real one."""

from __future__ import annotations

import uuid
from typing import Any, ClassVar, Self

from django.db import models

__all__ = ["Versioned"]


class LiveManager(models.Manager[Any]):
    def get_queryset(self) -> models.QuerySet[Any]:
        return super().get_queryset().filter(deleted_at=None)


class Versioned(models.Model):
    """`objects` leaves out what was deleted; `all_objects` does not. Written through
    `remodel.history.services` only."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    version = models.PositiveIntegerField(default=1, editable=False)
    deleted_at = models.DateTimeField(null=True, blank=True, editable=False)

    objects: ClassVar[models.Manager[Self]] = LiveManager()
    all_objects: ClassVar[models.Manager[Self]] = models.Manager()

    class Meta:
        abstract = True

    @property
    def history_house(self) -> uuid.UUID | None:
        """The house whose history this row's changes belong to."""
        return getattr(self, "house_id", None) or (
            room.house_id if (room := self._room()) else None
        )

    @property
    def history_room(self) -> uuid.UUID | None:
        """The room whose history this row's changes belong to, where there is one."""
        room = self._room()
        return room.id if room else None

    def _room(self) -> Any:
        return getattr(self, "room", None)
