"""Faces of a room that are closed: what board hides was looked at before it is hidden."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils import timezone

from remodel.history.services import By, change, create, recorded, remove
from remodel.house.models import Room
from remodel.work.models import ClosedFace

__all__ = ["face_close", "face_open"]


@recorded("closed a face")
def face_close(*, by: By, room: Room, surface: str, without: Sequence[str] = ()) -> ClosedFace:
    """Close a face of a room; `without` says what is not in all the same, and why. One that is
    closed stays closed since the first time."""
    stands = ClosedFace.objects.filter(room=room, surface=surface).first()
    words = "\n".join(without)
    if stands is not None:
        return stands if stands.without == words else change(stands, without=words)
    return create(
        ClosedFace(room=room, surface=surface, without=words, person=by.person, at=timezone.now())
    )


@recorded("opened a face again")
def face_open(*, by: By, closed: ClosedFace) -> ClosedFace:
    """Let a face that was closed be open again: something is still to go in."""
    return remove(closed)
