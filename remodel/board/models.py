"""Stored results (which may be dropped), plans that were offered or accepted (which are kept
whole), and the jobs that look for better plans."""

from __future__ import annotations

import uuid

from django.db import models
from django.db.models import Q

from remodel.house.models import House, Room
from remodel.jobs.models import Queued

__all__ = ["Figures", "Plan", "Result", "RoomResult", "SearchJob"]


class Result(models.Model):
    """What the engine worked out from one input, stored under the digest of that input. Dropping
    all results loses nothing."""

    digest = models.CharField(max_length=64, primary_key=True)
    data = models.JSONField()
    made_at = models.DateTimeField(auto_now=True)

    def __str__(self) -> str:
        return self.digest[:12]


class RoomResult(models.Model):
    """Where a room stands: the digest of its latest result, and the summary a list page shows.

    `summary` is a `RoomSummary`, and `before` is the summary from before the latest change.
    `takes` says what each tick of the room uses up (see `bridge.takes`); it is empty for a room
    that could not be worked out. `sheets` lists the sheets of the room's pile (`ListedSheet`). It
    is kept with the head room, empty with the others, and null where an older version worked the
    room out. `used` counts the offcuts that the pile takes. `pile_waits` says that the rooms of the
    pile are worked out each by itself so far, and that the shared plan follows. `refusal` says why
    the room could not be worked out, and what to put right.
    """

    room = models.OneToOneField(
        Room, primary_key=True, on_delete=models.CASCADE, related_name="result"
    )
    digest = models.CharField(max_length=64, blank=True)
    last_digest = models.CharField(max_length=64, blank=True)
    summary = models.JSONField(null=True)
    before = models.JSONField(null=True)
    takes = models.JSONField(default=list)
    sheets = models.JSONField(null=True)
    used = models.JSONField(default=dict)
    pile_waits = models.BooleanField(default=False)
    refusal = models.TextField(blank=True)
    made_at = models.DateTimeField(auto_now=True)

    def __str__(self) -> str:
        return f"{self.room_id}: {self.digest[:12] or self.refusal}"


class Figures(Queued):
    """How far the stored results of a house go, and the job that brings them up to date beside the
    web.

    `change` is the last change of the house that the results hold, and `version` is the engine that
    worked them out. The figures are stale where a later change exists or the engine has another
    version. A number below zero says that plans changed: writes of plans are no changes of the
    house. Each such write takes one away, so that no two of them look alike.

    `rooms_done` of `rooms` have figures of now, as far as was noted while the house waits or is
    worked out.
    """

    class State(models.TextChoices):
        WAITING = "waiting", "Waiting"
        RUNNING = "running", "Running"
        DONE = "done", "Done"
        FAILED = "failed", "Failed"

    house = models.OneToOneField(
        House, primary_key=True, on_delete=models.CASCADE, related_name="figures"
    )
    change = models.BigIntegerField(default=0)
    version = models.CharField(max_length=16, blank=True)
    state = models.CharField(max_length=10, choices=State.choices, default=State.DONE)
    queued_at = models.DateTimeField(null=True)
    outcome = models.CharField(max_length=200, blank=True)
    rooms_done = models.PositiveIntegerField(default=0)
    rooms = models.PositiveIntegerField(default=0)

    class Meta:
        constraints = (
            models.CheckConstraint(
                condition=Q(state__in=("waiting", "running", "done", "failed")),
                name="figures_state",
            ),
        )

    def __str__(self) -> str:
        return f"{self.house_id}: {self.state}"


class Plan(models.Model):
    """A board plan of one pool. Accepted ones are kept whole, with the version of their schema.

    `pool` is the digest of all the plan was made from, and `fits` the digest of the shape it lies
    on. A plan that stands fits as long as the shape is the same, whatever prices do. Nothing
    replaces a plan that stands unless a person asks for it.
    """

    class State(models.TextChoices):
        PROPOSED = "proposed", "Proposed"
        ACCEPTED = "accepted", "Accepted"
        ORDERED = "ordered", "Ordered"
        CUT = "cut", "Cut"
        HUNG = "hung", "Hung"
        LEFT = "left", "Left"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    house = models.ForeignKey(House, on_delete=models.CASCADE, related_name="plans")
    room = models.ForeignKey(Room, on_delete=models.CASCADE, related_name="plans")
    board = models.CharField(max_length=64)
    thickness = models.BigIntegerField()
    pool = models.CharField(max_length=64, db_index=True)
    fits = models.CharField(max_length=64)
    state = models.CharField(max_length=10, choices=State.choices, default=State.PROPOSED)
    schema = models.PositiveSmallIntegerField(default=1)
    data = models.JSONField()
    total = models.CharField(max_length=120)
    bound = models.CharField(max_length=120)
    basis = models.CharField(max_length=30)
    made_at = models.DateTimeField(auto_now_add=True)
    state_at = models.DateTimeField(auto_now=True)
    person = models.ForeignKey(
        "people.Person", null=True, on_delete=models.SET_NULL, related_name="+"
    )

    class Meta:
        ordering = ("-made_at",)
        constraints = (
            models.CheckConstraint(
                condition=Q(state__in=("proposed", "accepted", "ordered", "cut", "hung", "left")),
                name="plan_state",
            ),
            models.UniqueConstraint(
                fields=("room", "board", "thickness"),
                condition=Q(state__in=("accepted", "ordered", "cut", "hung")),
                name="plan_one_stands",
            ),
            models.UniqueConstraint(
                fields=("room", "board", "thickness"),
                condition=Q(state="proposed"),
                name="plan_one_proposed",
            ),
        )

    def __str__(self) -> str:
        return f"{self.board} in {self.room}: {self.state}"


class SearchJob(Queued):
    """A search for a better plan of one pool. A newer digest of the same pool cancels the older
    search.

    `bound` is the cost, in cents, that the search proved no plan of the pool can go below. `basis`
    names what that proof rests on.
    """

    class State(models.TextChoices):
        WAITING = "waiting", "Waiting"
        RUNNING = "running", "Running"
        DONE = "done", "Done"
        CANCELLED = "cancelled", "Cancelled"
        FAILED = "failed", "Failed"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    house = models.ForeignKey(House, on_delete=models.CASCADE, related_name="jobs")
    room = models.ForeignKey(Room, on_delete=models.CASCADE, related_name="jobs")
    board = models.CharField(max_length=64)
    thickness = models.BigIntegerField()
    pool = models.CharField(max_length=64)
    state = models.CharField(max_length=10, choices=State.choices, default=State.WAITING)
    queued_at = models.DateTimeField()
    outcome = models.CharField(max_length=500, blank=True)
    bound = models.CharField(max_length=120, blank=True)
    basis = models.CharField(max_length=30, blank=True)

    class Meta:
        ordering = ("queued_at",)
        indexes = (models.Index(fields=("state", "queued_at"), name="job_queue"),)
        constraints = (
            models.CheckConstraint(
                condition=Q(state__in=("waiting", "running", "done", "cancelled", "failed")),
                name="job_state",
            ),
            models.UniqueConstraint(
                fields=("room", "board", "thickness"),
                condition=Q(state__in=("waiting", "running")),
                name="job_one_under_way",
            ),
        )

    def __str__(self) -> str:
        return f"{self.board} in {self.room_id}: {self.state}"
