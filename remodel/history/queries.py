"""Who changed what, and when."""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from remodel.history.models import Change

__all__ = ["Entry", "entries", "last_group"]


@dataclass(frozen=True, slots=True)
class Entry:
    """One write: its changes, and whether it was undone or is an undo itself."""

    group: uuid.UUID
    at: datetime
    who: str
    what: str
    changes: tuple[Change, ...]
    undone: bool
    is_undo: bool


def entries(
    *, house: uuid.UUID, room: uuid.UUID | None = None, before: int | None = None, most: int = 50
) -> list[Entry]:
    """The latest writes to a house or to one of its rooms, latest first, in two queries. `before`
    is the id of a change: only earlier changes are given."""
    changes = Change.objects.filter(house=house)
    if before is not None:
        changes = changes.filter(id__lt=before)
    if room is not None:
        changes = changes.filter(room=room)
    groups: dict[uuid.UUID, list[Change]] = {}
    for change in changes.order_by("-id")[: most * 20]:
        if change.group not in groups and len(groups) == most:
            break
        groups.setdefault(change.group, []).append(change)
    undone = _undone(groups)
    return [
        Entry(
            group=group,
            at=changes[0].at,
            who=changes[0].who,
            what=changes[0].what,
            changes=tuple(reversed(changes)),
            undone=group in undone,
            is_undo=changes[0].undoes is not None,
        )
        for group, changes in groups.items()
    ]


def last_group(row: uuid.UUID) -> uuid.UUID | None:
    """The group of the latest change of a row, which an Undo beside the row takes back."""
    return Change.objects.filter(row=row).order_by("-id").values_list("group", flat=True).first()


def _undone(groups: Iterable[uuid.UUID]) -> set[uuid.UUID]:
    """The groups that were undone, except where the undo was itself undone."""
    undos = dict(Change.objects.filter(undoes__in=list(groups)).values_list("undoes", "group"))
    again = set(
        Change.objects.filter(undoes__in=list(undos.values())).values_list("undoes", flat=True)
    )
    return {of for of, group in undos.items() if of is not None and group not in again}
