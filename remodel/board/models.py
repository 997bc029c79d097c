"""Stored results (which may be dropped), plans that were offered or accepted (which are kept
whole), the pieces that are cut or hang, and the jobs that look for better plans."""

from __future__ import annotations

import uuid

from django.db import models
from django.db.models import Q

from remodel.house.models import House, Room
from remodel.jobs.models import Queued

__all__ = ["Figures", "Mark", "PlacedPiece", "Plan", "Result", "RoomResult", "SearchJob"]


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
    the room could not be worked out, and what to fix.
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

    `pool` is the digest of all the plan was made from. Nothing replaces a plan that stands, unless
    a person asks for it or one of its open pieces became impossible. Then the plan has fallen:
    another that keeps what stands is made in its place, `instead_of` it, and its `note` says what
    changed. `fallen_from` is the state a plan had when it fell or another took its place; it is
    empty for a plan that never stood. `shapes` are the surfaces it was made for, so that a board
    cut by it can be placed after the room was measured anew. `anew` are the ids of surfaces that a
    person asked to plan anew. `total` is the plan's aim in cents, and `work` what of it its hours
    are worth. `better_than` and `better_than_work` are those of the plan that a search was to beat.
    `why` says what made the plan stand.
    """

    class State(models.TextChoices):
        PROPOSED = "proposed", "Proposed"
        ACCEPTED = "accepted", "Accepted"
        ORDERED = "ordered", "Ordered"
        CUT = "cut", "Cut"
        HUNG = "hung", "Hung"
        LEFT = "left", "Left"
        FALLEN = "fallen", "Fallen"

    class Why(models.TextChoices):
        PERSON = "person", "Accepted by a person"
        PRINTED = "printed", "Printed"
        TICKED = "ticked", "Marked as cut"
        ORDERED = "ordered", "Ordered"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    house = models.ForeignKey(House, on_delete=models.CASCADE, related_name="plans")
    room = models.ForeignKey(Room, on_delete=models.CASCADE, related_name="plans")
    board = models.CharField(max_length=64)
    thickness = models.BigIntegerField()
    pool = models.CharField(max_length=64, db_index=True)
    state = models.CharField(max_length=10, choices=State.choices, default=State.PROPOSED)
    fallen_from = models.CharField(max_length=10, blank=True)
    schema = models.PositiveSmallIntegerField(default=1)
    data = models.JSONField()
    shapes = models.JSONField(default=dict)
    instead_of = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.SET_NULL, related_name="renewed_as"
    )
    note = models.CharField(max_length=1000, blank=True)
    anew = models.JSONField(default=list)
    better_than = models.CharField(max_length=120, blank=True)
    better_than_work = models.BigIntegerField(default=0)
    why = models.CharField(max_length=10, choices=Why.choices, blank=True)
    total = models.CharField(max_length=120)
    work = models.BigIntegerField(default=0)
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
                condition=Q(
                    state__in=("proposed", "accepted", "ordered", "cut", "hung", "left", "fallen")
                ),
                name="plan_state",
            ),
            models.CheckConstraint(
                condition=Q(why__in=("", "person", "printed", "ticked", "ordered")),
                name="plan_why",
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


class Mark(models.Model):
    """A mark on a piece, a sheet or an offcut of a plan that was accepted. It is never given again.

    `plan` is the last plan that had it. It is `retired` once no plan that stands has it: a card
    that bears it is to be thrown away, which somebody did at `thrown_at`.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    house = models.ForeignKey(House, on_delete=models.CASCADE, related_name="marks")
    room = models.ForeignKey(Room, on_delete=models.CASCADE, related_name="marks")
    text = models.CharField(max_length=80)
    plan = models.ForeignKey(Plan, null=True, on_delete=models.SET_NULL, related_name="marks")
    retired_at = models.DateTimeField(null=True, blank=True)
    thrown_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("room", "text")
        constraints = (
            models.UniqueConstraint(fields=("room", "text"), name="mark_once"),
            models.CheckConstraint(condition=~Q(text=""), name="mark_text"),
        )

    def __str__(self) -> str:
        return self.text


class PlacedPiece(models.Model):
    """A piece that is cut or hangs: a fact, which no plan may move.

    `surface` is the key of its surface in the room, and `sheet` the code of the sheet it was cut
    from; empty where nobody said. `place` is a `PlacedBoard` of the engine: its measures, and where
    it is measured from; null where its plan is not known any more. A piece that was cut wrong or
    taken down is no longer in its place. `as_planned` says that it lies as its plan had it, and
    that no plan was made around it where it hangs; `leant_on`, that it was cut and did not hang
    when the plan of its surface was seen to stand by it alone.
    `instead_of` is the mark of the piece that was meant for the same place. `told` are the entries
    that said it hangs differently, the last one last: each with what it changed, so that it can be
    undone.
    """

    class State(models.TextChoices):
        CUT = "cut", "Cut"
        HUNG = "hung", "Hung"
        WASTED = "wasted", "Cut wrong"
        DOWN = "down", "Taken down"
        SPARE = "spare", "Kept as an offcut"

    HERE = (State.CUT, State.HUNG)  # the states of a piece that is in its place

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    house = models.ForeignKey(House, on_delete=models.CASCADE, related_name="placed_pieces")
    room = models.ForeignKey(Room, on_delete=models.CASCADE, related_name="placed_pieces")
    mark = models.CharField(max_length=80)
    surface = models.CharField(max_length=64)
    sheet = models.CharField(max_length=80, blank=True)
    state = models.CharField(max_length=6, choices=State.choices, default=State.CUT)
    place = models.JSONField(null=True, blank=True)
    as_planned = models.BooleanField(default=True)
    leant_on = models.BooleanField(default=False)
    instead_of = models.CharField(max_length=80, blank=True)
    told = models.JSONField(default=list, blank=True)
    cut_at = models.DateTimeField()
    hung_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    note = models.CharField(max_length=500, blank=True)
    person = models.ForeignKey(
        "people.Person", null=True, on_delete=models.SET_NULL, related_name="+"
    )

    class Meta:
        ordering = ("cut_at", "mark")
        constraints = (
            models.UniqueConstraint(fields=("room", "mark"), name="placed_once"),
            models.CheckConstraint(
                condition=Q(state__in=("cut", "hung", "wasted", "down", "spare")),
                name="placed_state",
            ),
            models.CheckConstraint(
                condition=Q(state__in=("cut", "hung"), ended_at__isnull=True)
                | Q(state__in=("wasted", "down", "spare"), ended_at__isnull=False),
                name="placed_ended",
            ),
        )

    def __str__(self) -> str:
        return f"{self.mark} {self.get_state_display().lower()}"

    @property
    def changes_plans(self) -> bool:
        """Whether what becomes of it changes plans: it does not just follow from one."""
        return not self.as_planned or self.leant_on or self.state not in self.HERE

    @property
    def lost_place(self) -> bool:
        """Whether an edit took the place of a piece that was cut for it: nobody told that it ended,
        so no time is known but that of its cut."""
        ended = self.state in (self.State.SPARE, self.State.WASTED)
        return ended and self.ended_at == self.cut_at and not self.told

    @property
    def key(self) -> str:
        """The key of the piece in its room: that of its surface there, and its mark."""
        return f"{self.surface}.{self.mark}" if self.surface else self.mark


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
