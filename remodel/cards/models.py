"""How pieces are marked in a house and its rooms, which are done, and what was printed."""

from __future__ import annotations

import secrets
import uuid
from datetime import timedelta
from typing import Any

from django.db import models
from django.db.models import Q
from django.utils import timezone

from remodel.bridge.cards import BACK_UP, FACE_UP, MOST_ALLOWANCE
from remodel.history.versioned import Versioned
from remodel.house.models import House, Room
from remodel.jobs.models import Queued

__all__ = ["BOXES", "COATS", "OPENINGS", "SIDES_UP", "DoneMark", "Marking", "PrintPack", "new_code"]

SIDES_UP = [(FACE_UP, "Face up"), (BACK_UP, "Back up")]
BOXES = [("floor", "Cut on the floor"), ("place", "Cut in place, center marked")]
OPENINGS = [("cut", "Cut on the floor"), ("later", "Left whole, sawn out once it hangs")]
# The coats of a surface in the order they go on, and the phase each belongs to.
COATS = {
    "taped": "taping",
    "second": "taping",
    "third": "taping",
    "sanded": "finishing",
    "primed": "finishing",
    "painted": "finishing",
}
# no 0, 1, I, L or O: a code is read off paper and typed
_SECONDS_A_ROOM = timedelta(seconds=10)
_LETTERS = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"


class Marking(Versioned):
    """How pieces are marked, for a house or for one of its rooms. Empty columns mean the house's
    choice, or the usual one.

    `boxes_each` and `openings_each` hold the choice for single boxes, windows and doors, by their
    ids.
    """

    house = models.ForeignKey(House, on_delete=models.CASCADE, related_name="markings")
    room = models.ForeignKey(
        Room, null=True, blank=True, on_delete=models.CASCADE, related_name="markings"
    )
    side_up = models.CharField(max_length=10, choices=SIDES_UP, blank=True)
    allowance = models.BigIntegerField(null=True, blank=True)
    boxes = models.CharField(max_length=10, choices=BOXES, blank=True)
    openings = models.CharField(max_length=10, choices=OPENINGS, blank=True)
    boxes_each = models.JSONField(default=dict, blank=True)
    openings_each = models.JSONField(default=dict, blank=True)

    class Meta:
        verbose_name = "marking of sheets"
        constraints = (
            models.UniqueConstraint(
                fields=("house",), condition=Q(room=None), name="marking_one_a_house"
            ),
            models.UniqueConstraint(fields=("room",), name="marking_one_a_room"),
            models.CheckConstraint(
                condition=Q(side_up__in=("", FACE_UP, BACK_UP)), name="marking_side_up"
            ),
            models.CheckConstraint(
                condition=Q(boxes__in=("", "floor", "place")), name="marking_boxes"
            ),
            models.CheckConstraint(
                condition=Q(openings__in=("", "cut", "later")), name="marking_openings"
            ),
            models.CheckConstraint(
                condition=Q(allowance=None) | Q(allowance__gte=0, allowance__lte=MOST_ALLOWANCE),
                name="marking_allowance",
            ),
        )

    def __str__(self) -> str:
        return f"How sheets of {self.room or self.house} are marked"


class DoneMark(Versioned):
    """A tick of something done: a piece cut or hung, a step of the hanging order, or a coat on a
    surface. A piece is named by its surface's key and its mark, a coat by the surface's key.

    A tick stays when plans change, because the board it was made for exists. Where a piece lies is
    told by `board.PlacedPiece`.
    """

    class Kind(models.TextChoices):
        CUT = "cut", "Cut"
        HUNG = "hung", "Hung"
        STEP = "step", "Step done"
        TAPED = "taped", "Taped"
        SECOND = "second", "Second coat"
        THIRD = "third", "Third coat"
        SANDED = "sanded", "Sanded"
        PRIMED = "primed", "Primed"
        PAINTED = "painted", "Painted"

    house = models.ForeignKey(House, on_delete=models.CASCADE, related_name="done_marks")
    room = models.ForeignKey(Room, on_delete=models.CASCADE, related_name="done_marks")
    kind = models.CharField(max_length=7, choices=Kind.choices)
    item = models.CharField(max_length=140)
    done = models.BooleanField(default=True)
    person = models.ForeignKey(
        "people.Person", null=True, on_delete=models.SET_NULL, related_name="+"
    )
    at = models.DateTimeField()

    class Meta:
        verbose_name = "done mark"
        constraints = (
            models.UniqueConstraint(fields=("room", "kind", "item"), name="done_mark_once"),
            models.CheckConstraint(
                condition=Q(
                    kind__in=(
                        "cut",
                        "hung",
                        "step",
                        "taped",
                        "second",
                        "third",
                        "sanded",
                        "primed",
                        "painted",
                    )
                ),
                name="done_mark_kind",
            ),
            models.CheckConstraint(condition=~Q(item=""), name="done_mark_item"),
        )

    def __str__(self) -> str:
        return f"{self.item} {self.get_kind_display().lower()}"


def new_code() -> str:
    """A code of eight letters and digits, drawn at random, for a paper and its QR code."""
    return "".join(secrets.choice(_LETTERS) for _ in range(8))


class PrintPack(Queued):
    """A pack that was printed, or that the worker is making. It is a receipt: once it is done it
    never changes.

    `rooms` are the keys of its rooms. `revisions` says what the pack held of each, so that a page
    can tell what changed since, and `sheets` which sheets have their cards in it: for each the key
    of the room it is cut in, and its code. `data` is kept for packs that were made as a job.
    """

    class State(models.TextChoices):
        WAITING = "waiting", "Waiting"
        RUNNING = "running", "Running"
        DONE = "done", "Done"
        FAILED = "failed", "Failed"
        STOPPED = "stopped", "Stopped"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    house = models.ForeignKey(House, on_delete=models.CASCADE, related_name="packs")
    room = models.ForeignKey(Room, null=True, on_delete=models.CASCADE, related_name="packs")
    code = models.CharField(max_length=8, unique=True, default=new_code)
    key = models.CharField(max_length=64, blank=True)
    title = models.CharField(max_length=200)
    paper = models.CharField(max_length=6)
    parts = models.JSONField(default=list)
    rooms = models.JSONField(default=list)
    address = models.CharField(max_length=300, blank=True)
    revisions = models.JSONField(default=dict)
    sheets = models.JSONField(default=list)
    revision = models.CharField(max_length=12, blank=True)
    state = models.CharField(max_length=8, choices=State.choices, default=State.WAITING)
    done = models.PositiveIntegerField(default=0)
    of = models.PositiveIntegerField(default=0)
    doing = models.CharField(max_length=200, blank=True)
    person = models.ForeignKey(
        "people.Person", null=True, on_delete=models.SET_NULL, related_name="+"
    )
    made_at = models.DateTimeField(auto_now_add=True)
    file = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ("-made_at",)
        indexes = (models.Index(fields=("state", "made_at"), name="pack_queue"),)
        constraints = (
            models.CheckConstraint(
                condition=Q(state__in=("waiting", "running", "done", "failed", "stopped")),
                name="pack_state",
            ),
            models.UniqueConstraint(
                fields=("person", "key"), condition=~Q(key=""), name="pack_once"
            ),
        )

    def __str__(self) -> str:
        return f"{self.title} ({self.code})"

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Save the pack, and set its turn among the packs of the house: a pack of few rooms goes
        before one of many."""
        if self.due_at is None:
            self.due_at = timezone.now() + _SECONDS_A_ROOM * len(self.rooms)
        super().save(*args, **kwargs)
