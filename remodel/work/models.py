"""The work on each room: its phases, notes and photos, what was done each day, and what people say
of the order of work."""

from __future__ import annotations

import uuid
from decimal import Decimal

from django.db import models
from django.db.models import Q

from remodel.bridge import words
from remodel.history.versioned import Versioned
from remodel.house.models import House, Room, Wall
from remodel.house.table_columns import key_column, one_of, word_column

__all__ = [
    "GIVEN_PHASES",
    "AcceptedStop",
    "AddedNeed",
    "ClosedFace",
    "DayLog",
    "KeptPhoto",
    "Note",
    "Phase",
    "PhaseState",
    "Photo",
    "SaidStep",
]

GIVEN_PHASES: list[tuple[str, str]] = [
    ("strip-out", "Tear-out"),
    ("framing", "Framing"),
    ("rough-in", "Rough-in"),
    ("insulation", "Insulation"),
    ("partitions", "Partitions"),
    ("hanging", "Hanging"),
    ("taping", "Taping"),
    ("finishing", "Finishing"),
]


class PhaseState(models.TextChoices):
    NOT_STARTED = "not started", "Not started"
    BLOCKED = "blocked", "Blocked"
    READY = "ready", "Ready"
    IN_PROGRESS = "in progress", "In progress"
    DONE = "done", "Done"


class Phase(Versioned):
    """One phase of one room: a given one (its key is in GIVEN_PHASES) or the person's own.

    `waits_for` says what a blocked phase waits for. A phase that is `left_out` is not part of this
    room's work.
    """

    room = models.ForeignKey(Room, on_delete=models.CASCADE, related_name="phases")
    key = models.CharField(max_length=40, editable=False)
    name = models.CharField(max_length=80)
    own = models.BooleanField(default=False)
    left_out = models.BooleanField(default=False)
    position = models.PositiveIntegerField(default=0)
    state = models.CharField(
        max_length=12, choices=PhaseState.choices, default=PhaseState.NOT_STARTED
    )
    waits_for = models.CharField(max_length=300, blank=True)
    started_on = models.DateField(null=True, blank=True)
    done_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ("position", "key")
        constraints = (
            models.UniqueConstraint(fields=("room", "key"), name="phase_key"),
            models.CheckConstraint(condition=Q(state__in=PhaseState.values), name="phase_state"),
            models.CheckConstraint(condition=~Q(name=""), name="phase_has_a_name"),
            models.CheckConstraint(
                condition=~Q(state="blocked") | ~Q(waits_for=""), name="phase_blocked_says_for_what"
            ),
            models.CheckConstraint(
                condition=Q(state="done", done_on__isnull=False)
                | (~Q(state="done") & Q(done_on__isnull=True)),
                name="phase_done_has_a_day",
            ),
        )

    def __str__(self) -> str:
        return f"{self.name}: {self.get_state_display()}"

    @property
    def in_sentence(self) -> str:
        """Its name inside a sentence: one that people gave stays as they typed it."""
        return self.name if self.own else self.name.lower()


class AddedNeed(Versioned):
    """Something that people add to a phase of a room: `amount` of a material in all, or for every
    `per` of what of the room it `goes_by`, with `waste` percent on top.

    `material` is the key of something on sale. `amount` and `per` are amounts as text (`1 sq ft`);
    `per` is empty where the amount is entered by hand.
    """

    phase = models.ForeignKey(Phase, on_delete=models.CASCADE, related_name="added")
    key = key_column()
    position = models.PositiveIntegerField(default=0)
    material = models.CharField(max_length=64)
    amount = models.CharField(max_length=60)
    goes_by = word_column(words.COUNTED_BY, default="hand")
    per = models.CharField(max_length=60, blank=True)
    waste = models.DecimalField(max_digits=30, decimal_places=20, default=Decimal(0))
    note = models.TextField(blank=True)

    class Meta:
        ordering = ("position", "key")
        verbose_name = "need you added"
        constraints = (
            models.UniqueConstraint(fields=("phase", "key"), name="added_need_key"),
            one_of("added_need", "goes_by", words.COUNTED_BY),
            models.CheckConstraint(
                condition=Q(waste__gte=0, waste__lte=100), name="added_need_waste"
            ),
            models.CheckConstraint(condition=~Q(amount=""), name="added_need_has_an_amount"),
            models.CheckConstraint(
                condition=Q(goes_by="hand", per="") | (~Q(goes_by="hand") & ~Q(per="")),
                name="added_need_per",
            ),
        )

    def __str__(self) -> str:
        return f"{self.amount} of {self.material}"

    def _room(self) -> Room:
        return self.phase.room


class Note(Versioned):
    """A note on a room, or on one of its phases or walls."""

    house = models.ForeignKey(House, on_delete=models.CASCADE, related_name="notes")
    room = models.ForeignKey(
        Room, null=True, blank=True, on_delete=models.CASCADE, related_name="notes"
    )
    phase = models.ForeignKey(
        Phase, null=True, blank=True, on_delete=models.PROTECT, related_name="notes"
    )
    wall = models.ForeignKey(
        Wall, null=True, blank=True, on_delete=models.PROTECT, related_name="notes"
    )
    text = models.TextField()
    person = models.ForeignKey(
        "people.Person", null=True, on_delete=models.SET_NULL, related_name="+"
    )
    at = models.DateTimeField()

    class Meta:
        ordering = ("-at", "id")
        constraints = (models.CheckConstraint(condition=~Q(text=""), name="note_has_text"),)

    def __str__(self) -> str:
        return self.text[:60]


def photo_path(photo: Photo, _name: str) -> str:
    """A file name of our own. Nothing of the uploaded name is kept."""
    return f"photos/{photo.room.house_id}/{photo.id}.jpg"


class Photo(Versioned):
    """A picture that was opened and written anew, so that nothing else came in with it. One of a
    surface names its `wall`, or by `plane` a ceiling plane or the face of a partition."""

    room = models.ForeignKey(Room, on_delete=models.CASCADE, related_name="photos")
    phase = models.ForeignKey(
        Phase, null=True, blank=True, on_delete=models.PROTECT, related_name="photos"
    )
    wall = models.ForeignKey(
        Wall, null=True, blank=True, on_delete=models.PROTECT, related_name="photos"
    )
    plane = models.CharField(max_length=64, blank=True)
    log = models.ForeignKey(
        "DayLog", null=True, blank=True, on_delete=models.PROTECT, related_name="photos"
    )
    image = models.ImageField(upload_to=photo_path, max_length=200)
    width = models.PositiveIntegerField(default=0)
    height = models.PositiveIntegerField(default=0)
    caption = models.CharField(max_length=300, blank=True)
    person = models.ForeignKey(
        "people.Person", null=True, on_delete=models.SET_NULL, related_name="+"
    )
    at = models.DateTimeField()

    class Meta:
        ordering = ("-at", "id")

    def __str__(self) -> str:
        return self.caption or f"Photo of {self.room}"


class KeptPhoto(models.Model):
    """A photo of a form that was refused for another field, until the form is sent again.

    It is stored in the database, so that every process of the site finds it and it goes with its
    row. Its id is random and goes into the form. Only the person who sent the photo can use it.
    `form` is the key of the page the form stands on, which keeps one photo however often it is
    sent. `small` is shown in the form.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    person = models.ForeignKey("people.Person", on_delete=models.CASCADE, related_name="+")
    form = models.CharField(max_length=64, blank=True)
    content = models.BinaryField()
    small = models.BinaryField()
    size = models.PositiveIntegerField()
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    at = models.DateTimeField(db_index=True)

    class Meta:
        constraints = (
            models.UniqueConstraint(
                fields=("person", "form"), condition=~Q(form=""), name="kept_photo_of_a_form"
            ),
        )

    def __str__(self) -> str:
        return f"{self.width} x {self.height} of {self.at:%Y-%m-%d %H:%M}"


class DayLog(Versioned):
    """A day's work on one phase of one room. What was used and spoiled are movements of the
    ledger."""

    room = models.ForeignKey(Room, on_delete=models.CASCADE, related_name="logs")
    phase = models.ForeignKey(
        Phase, null=True, blank=True, on_delete=models.PROTECT, related_name="logs"
    )
    day = models.DateField()
    minutes = models.PositiveIntegerField(default=0)
    note = models.TextField(blank=True)
    person = models.ForeignKey(
        "people.Person", null=True, on_delete=models.SET_NULL, related_name="+"
    )
    at = models.DateTimeField()

    class Meta:
        ordering = ("-day", "-at", "id")
        constraints = (
            models.CheckConstraint(condition=Q(minutes__lte=24 * 60 * 20), name="log_minutes"),
        )

    def __str__(self) -> str:
        return f"{self.day}: {self.room}"

    @property
    def house_id(self) -> uuid.UUID:
        return self.room.house_id


class SaidStep(Versioned):
    """A step of the order of work that somebody says is done, like an inspection, or is not done
    after all. `step` is its id in the engine: `kitchen/warm`, `/shut-offs` of the house itself."""

    house = models.ForeignKey(House, on_delete=models.CASCADE, related_name="said_steps")
    room = models.ForeignKey(
        Room, null=True, blank=True, on_delete=models.CASCADE, related_name="said_steps"
    )
    step = models.CharField(max_length=220)
    done = models.BooleanField(default=True)
    person = models.ForeignKey(
        "people.Person", null=True, on_delete=models.SET_NULL, related_name="+"
    )
    at = models.DateTimeField()

    class Meta:
        verbose_name = "step said to be done"
        constraints = (models.UniqueConstraint(fields=("house", "step"), name="said_step_once"),)

    def __str__(self) -> str:
        return self.step


class ClosedFace(Versioned):
    """A face of a room that somebody closed: what board will hide was looked at, and is in.
    `surface` is its key in the room. `without` says what was not in, not seen or not photographed
    then, with the reason, one a line."""

    room = models.ForeignKey(Room, on_delete=models.CASCADE, related_name="closed_faces")
    surface = models.CharField(max_length=64)
    without = models.TextField(blank=True)
    person = models.ForeignKey(
        "people.Person", null=True, on_delete=models.SET_NULL, related_name="+"
    )
    at = models.DateTimeField()

    class Meta:
        ordering = ("at", "id")
        verbose_name = "closed face"
        constraints = (
            models.UniqueConstraint(
                fields=("room", "surface"),
                condition=Q(deleted_at=None),
                name="face_closed_once",
            ),
        )

    def __str__(self) -> str:
        return self.surface


class AcceptedStop(Versioned):
    """A stop of the order of work that somebody took on themselves, with the reason. `key` says
    what was told (see `takeoff.sequence.telling.Told`): it is not asked for again. `text` is what
    was told then, in words."""

    house = models.ForeignKey(House, on_delete=models.CASCADE, related_name="accepted_stops")
    room = models.ForeignKey(
        Room, null=True, blank=True, on_delete=models.CASCADE, related_name="accepted_stops"
    )
    key = models.CharField(max_length=300)
    text = models.CharField(max_length=600)
    reason = models.TextField()
    person = models.ForeignKey(
        "people.Person", null=True, on_delete=models.SET_NULL, related_name="+"
    )
    at = models.DateTimeField()

    class Meta:
        ordering = ("at", "id")
        verbose_name = "accepted stop"
        constraints = (
            models.UniqueConstraint(
                fields=("house", "key"), condition=Q(deleted_at=None), name="accepted_stop_once"
            ),
            models.CheckConstraint(condition=~Q(reason=""), name="accepted_stop_has_a_reason"),
        )

    def __str__(self) -> str:
        return self.text[:60]
