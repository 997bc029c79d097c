"""A house as the couple measures it: rooms, walls, openings, cut-outs, what is behind the board,
partitions.

Nothing that can be worked out is stored here. Lengths are whole nanometers.
"""

from __future__ import annotations

import uuid
from decimal import Decimal
from typing import Any, ClassVar

from django.db import models
from django.db.models import Q

from remodel.bridge import words
from remodel.bridge.lengths import FOOT, INCH
from remodel.history.versioned import LiveManager, Versioned
from remodel.house.table_columns import (
    OnSurface,
    Placed,
    key_column,
    length_check,
    length_column,
    one_of,
    paint_check,
    word_column,
)

__all__ = ["Cutout", "HiddenItem", "House", "Opening", "Partition", "Room", "SurfaceChoice", "Wall"]

SHAPES: words.Choices = [
    ("quick", "Length, width and height"),
    ("walls", "Wall by wall"),
    ("surfaces", "A plain list of surfaces"),
    ("behind", "Behind a planned partition"),
]


class HouseManager(LiveManager):
    def for_person(self, person: Any) -> models.QuerySet[House]:
        """The houses that a person may see. Every object is fetched through these."""
        houses: models.QuerySet[House] = self.get_queryset().filter(memberships__person=person)
        return houses.order_by("made_at")


class House(Versioned):
    """A house. `rules` holds the rules that differ from their default. `sample_prices` is true
    until the person has confirmed every price."""

    key = key_column()
    name = models.CharField(max_length=200)
    units = word_column(words.UNIT_SYSTEMS, default="in")
    currency = models.CharField(max_length=3, default="USD")
    note = models.TextField(blank=True)
    rules = models.JSONField(default=dict, blank=True)
    sample_prices = models.BooleanField(default=True)
    is_demo = models.BooleanField(default=False)
    made_at = models.DateTimeField(auto_now_add=True)

    objects: ClassVar[HouseManager] = HouseManager()

    class Meta:
        constraints = (
            one_of("house", "units", words.UNIT_SYSTEMS),
            models.CheckConstraint(condition=~Q(name=""), name="house_has_a_name"),
        )

    def __str__(self) -> str:
        return self.name

    @property
    def history_house(self) -> uuid.UUID:
        return self.id


class Room(Versioned):
    """A room. Empty board columns and null framing mean the house's own. Rooms of the same `pile`
    are bought together. `code` is what its boards are marked with, and no other room of the house
    has or had it. `built` and `taken_out` are JSON, as `remodel.bridge.built` reads and writes
    them."""

    house = models.ForeignKey(House, on_delete=models.CASCADE, related_name="rooms")
    key = key_column()
    name = models.CharField(max_length=200)
    position = models.PositiveIntegerField(default=0)
    shape = word_column(SHAPES, default="quick")
    behind = models.ForeignKey(
        "house.Partition",
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="rooms_behind",
    )
    ceiling_kind = word_column(words.CEILING_KINDS, default="flat")
    ceiling_height = length_column(default=8 * FOOT)
    ceiling_low_wall = models.CharField(max_length=64, blank=True)
    ceiling_high = length_column(null=True, blank=True)
    ceiling_ridge_at = length_column(null=True, blank=True)
    ceiling_far_height = length_column(null=True, blank=True)
    ceiling_flat_at = length_column(null=True, blank=True)
    ceiling_flat_width = length_column(null=True, blank=True)
    measured_to = word_column(words.MEASURED_TO, default="framing")
    wall_framing = models.JSONField(null=True, blank=True)
    ceiling_framing = models.JSONField(null=True, blank=True)
    wall_board_kind = models.CharField(max_length=64, blank=True)
    wall_board_thickness = length_column(null=True, blank=True)
    wall_board_width = length_column(null=True, blank=True)
    ceiling_board_kind = models.CharField(max_length=64, blank=True)
    ceiling_board_thickness = length_column(null=True, blank=True)
    ceiling_board_width = length_column(null=True, blank=True)
    wall_level = models.PositiveSmallIntegerField(default=4)
    ceiling_level = models.PositiveSmallIntegerField(default=4)
    compound = word_column(words.COMPOUNDS, default="drying")
    tape = word_column(words.TAPES, default="paper")
    primer_coats = models.PositiveSmallIntegerField(default=1)
    paint_coats = models.PositiveSmallIntegerField(default=2)
    texture = models.BooleanField(default=False)
    wall_paint_color = models.CharField(max_length=80, blank=True)
    wall_paint_sheen = word_column(words.SHEENS, blank=True)
    ceiling_paint_color = models.CharField(max_length=80, blank=True)
    ceiling_paint_sheen = word_column(words.SHEENS, blank=True)
    hang_first = models.JSONField(default=list, blank=True)
    longest_board = length_column(null=True, blank=True)
    heaviest_lift = models.DecimalField(max_digits=30, decimal_places=20, null=True, blank=True)
    pile = models.CharField(max_length=64, blank=True)
    finished = models.BooleanField(default=False)
    garage = models.BooleanField(default=False)
    slab = models.BooleanField(default=False)
    code = models.CharField(max_length=3, blank=True)
    built = models.JSONField(default=list, blank=True)
    taken_out = models.JSONField(default=list, blank=True)

    class Meta:
        ordering = ("position", "key")
        constraints = (
            models.UniqueConstraint(fields=("house", "key"), name="room_key"),
            models.UniqueConstraint(
                fields=("house", "code"), condition=~Q(code=""), name="room_code"
            ),
            models.CheckConstraint(condition=~Q(code="CL"), name="room_code_no_ceiling"),
            models.CheckConstraint(condition=~Q(name=""), name="room_has_a_name"),
            models.CheckConstraint(
                condition=(Q(shape="behind") & Q(behind__isnull=False))
                | (~Q(shape="behind") & Q(behind__isnull=True)),
                name="room_behind",
            ),
            one_of("room", "shape", SHAPES),
            one_of("room", "ceiling_kind", words.CEILING_KINDS),
            one_of("room", "measured_to", words.MEASURED_TO),
            one_of("room", "compound", words.COMPOUNDS),
            one_of("room", "tape", words.TAPES),
            one_of("room", "wall_paint_sheen", words.SHEENS, blank=True),
            one_of("room", "ceiling_paint_sheen", words.SHEENS, blank=True),
            paint_check("room", "wall_paint"),
            paint_check("room", "ceiling_paint"),
            models.CheckConstraint(
                condition=Q(wall_level__lte=5, ceiling_level__lte=5), name="room_levels"
            ),
            models.CheckConstraint(
                condition=Q(primer_coats__lte=5, paint_coats__lte=5), name="room_coats"
            ),
            *(
                length_check("room", column)
                for column in (
                    "ceiling_height",
                    "ceiling_high",
                    "ceiling_ridge_at",
                    "ceiling_far_height",
                    "ceiling_flat_at",
                    "ceiling_flat_width",
                    "wall_board_thickness",
                    "wall_board_width",
                    "ceiling_board_thickness",
                    "ceiling_board_width",
                    "longest_board",
                )
            ),
            models.CheckConstraint(condition=Q(heaviest_lift__gt=0), name="room_heaviest_lift"),
        )

    def __str__(self) -> str:
        return self.name

    @property
    def history_room(self) -> uuid.UUID:
        return self.id


class Wall(Versioned):
    """One wall of an outline, or one surface of a plain list. Only the latter has a `height` and
    may be a ceiling. `letter` is what its boards are marked with, after the room's code."""

    room = models.ForeignKey(Room, on_delete=models.CASCADE, related_name="walls")
    key = key_column()
    name = models.CharField(max_length=200)
    position = models.PositiveIntegerField(default=0)
    length = length_column()
    turn = models.DecimalField(max_digits=23, decimal_places=20, default=Decimal(90))
    kind = word_column(words.SURFACE_KINDS, default="wall")
    height = length_column(null=True, blank=True)
    letter = models.CharField(max_length=4, blank=True)

    class Meta:
        ordering = ("position", "key")
        constraints = (
            models.UniqueConstraint(fields=("room", "key"), name="wall_key"),
            models.CheckConstraint(condition=~Q(name=""), name="wall_has_a_name"),
            models.CheckConstraint(condition=Q(turn__gt=-180, turn__lt=180), name="wall_turn"),
            length_check("wall", "length"),
            length_check("wall", "height"),
            one_of("wall", "kind", words.SURFACE_KINDS),
        )

    def __str__(self) -> str:
        return self.name


class SurfaceChoice(OnSurface):
    """What was chosen for one surface. Empty columns mean the default of the room or the house.

    `insulated` null means that nobody has said. `insulation` and `patches` are JSON, as
    `remodel.bridge.let_in` reads and writes them.
    """

    room = models.ForeignKey(Room, on_delete=models.CASCADE, related_name="choices")
    position = models.PositiveIntegerField(default=0)
    action = word_column(words.ACTIONS, blank=True)
    lining = length_column(null=True, blank=True)
    old_lining = word_column(words.OLD_LININGS, blank=True)
    board_kind = models.CharField(max_length=64, blank=True)
    board_thickness = length_column(null=True, blank=True)
    board_width = length_column(null=True, blank=True)
    orientation = word_column(words.ORIENTATIONS, blank=True)
    joint_mode = word_column(words.JOINT_MODES, blank=True)
    framing = models.JSONField(null=True, blank=True)
    rated = models.CharField(max_length=200, blank=True)
    wet = models.BooleanField(default=False)
    braces = models.BooleanField(default=False)
    insulated = models.BooleanField(null=True, blank=True)
    tiled = models.BooleanField(default=False)
    above = word_column(words.ABOVE, blank=True)
    insulation = models.JSONField(null=True, blank=True)
    patches = models.JSONField(default=list, blank=True)
    layers = models.PositiveSmallIntegerField(default=1)
    paint_color = models.CharField(max_length=80, blank=True)
    paint_sheen = word_column(words.SHEENS, blank=True)
    most_load = models.DecimalField(max_digits=30, decimal_places=20, null=True, blank=True)

    class Meta:
        ordering = ("position", "id")
        constraints = (
            models.UniqueConstraint(
                fields=("room", "wall"),
                condition=Q(deleted_at=None, wall__isnull=False),
                name="choice_once_a_wall",
            ),
            models.UniqueConstraint(
                fields=("room", "plane"),
                condition=Q(deleted_at=None) & ~Q(plane=""),
                name="choice_once_a_plane",
            ),
            OnSurface.surface_check("choice"),
            one_of("choice", "action", words.ACTIONS, blank=True),
            one_of("choice", "orientation", words.ORIENTATIONS, blank=True),
            one_of("choice", "joint_mode", words.JOINT_MODES, blank=True),
            one_of("choice", "above", words.ABOVE, blank=True),
            models.CheckConstraint(condition=Q(layers__in=(1, 2)), name="choice_layers"),
            one_of("choice", "old_lining", words.OLD_LININGS, blank=True),
            one_of("choice", "paint_sheen", words.SHEENS, blank=True),
            paint_check("choice", "paint"),
            models.CheckConstraint(
                condition=Q(most_load__gt=0, most_load__lte=500), name="choice_most_load"
            ),
            length_check("choice", "lining", zero=True),
            length_check("choice", "board_thickness"),
            length_check("choice", "board_width"),
        )

    def __str__(self) -> str:
        return self.surface_key


class Partition(OnSurface):
    """A planned wall, at right angles to a wall of `room` or to a face of another partition there.
    The room behind it is a room of its own. Boards on both its faces are marked with its `letter`,
    after the code of the room there.

    `length` goes to its first corner; null where it runs straight to the wall opposite. `legs` has
    every leg after that which it has or had, in their order: `id`, `name`, `turn`, `length`,
    `letter`. One that it no longer has is kept with an empty `turn`, for its letter may be on
    boards.
    """

    house = models.ForeignKey(House, on_delete=models.CASCADE, related_name="partitions")
    room = models.ForeignKey(Room, on_delete=models.CASCADE, related_name="partitions")
    key = key_column()
    name = models.CharField(max_length=200)
    position = models.PositiveIntegerField(default=0)
    at = length_column()
    side = word_column(words.SIDES, default="right")
    length = length_column(null=True, blank=True)
    legs = models.JSONField(default=list, blank=True)
    framed = word_column(words.FRAMED_WHEN, default="before")
    bearing = models.BooleanField(default=False)
    stud = models.CharField(max_length=20, default="2x4")
    spacing = length_column(default=16 * INCH)
    blocking_recorded = models.BooleanField(default=False)
    letter = models.CharField(max_length=4, blank=True)

    class Meta:
        ordering = ("position", "key")
        constraints = (
            models.UniqueConstraint(fields=("house", "key"), name="partition_key"),
            models.CheckConstraint(condition=~Q(name=""), name="partition_has_a_name"),
            OnSurface.surface_check("partition"),
            length_check("partition", "at"),
            length_check("partition", "spacing"),
            length_check("partition", "length"),
            one_of("partition", "side", words.SIDES),
            one_of("partition", "framed", words.FRAMED_WHEN),
        )

    def __str__(self) -> str:
        return self.name

    @property
    def legs_now(self) -> list[dict[str, Any]]:
        """The legs after its first corner that it has now."""
        return [leg for leg in self.legs if leg["turn"]]

    @property
    def faces(self) -> dict[str, str]:
        """What each of its legs is called, by key. The first has its own key and name."""
        return {self.key: self.name, **{leg["id"]: leg["name"] for leg in self.legs_now}}


class Opening(OnSurface):
    """A door, window or passage in a wall of a room, or in a partition (`plane` is then the
    partition's key)."""

    room = models.ForeignKey(
        Room, null=True, blank=True, on_delete=models.CASCADE, related_name="openings"
    )
    partition = models.ForeignKey(
        Partition, null=True, blank=True, on_delete=models.CASCADE, related_name="openings"
    )
    key = key_column()
    name = models.CharField(max_length=200)
    position = models.PositiveIntegerField(default=0)
    kind = word_column(words.OPENING_KINDS, default="door")
    left = length_column()
    sill = length_column(default=0)
    width = length_column()
    height = length_column()
    given = word_column(words.OPENING_GIVEN, default="rough")
    edge = word_column(words.OPENING_EDGES, default="cased")
    return_depth = length_column(null=True, blank=True)
    found = word_column(words.FOUND, default="stays")
    nonbearing = models.BooleanField(default=False)

    class Meta:
        ordering = ("position", "key")
        constraints = (
            models.UniqueConstraint(fields=("room", "key"), name="opening_key"),
            models.UniqueConstraint(fields=("partition", "key"), name="opening_key_in_partition"),
            models.CheckConstraint(
                condition=Q(room__isnull=True) ^ Q(partition__isnull=True),
                name="opening_in_one_place",
            ),
            OnSurface.surface_check("opening"),
            length_check("opening", "left", zero=True),
            length_check("opening", "sill", zero=True),
            length_check("opening", "width"),
            length_check("opening", "height"),
            length_check("opening", "return_depth"),
            one_of("opening", "kind", words.OPENING_KINDS),
            one_of("opening", "given", words.OPENING_GIVEN),
            one_of("opening", "edge", words.OPENING_EDGES),
            one_of("opening", "found", words.FOUND),
            models.CheckConstraint(
                condition=Q(nonbearing=False) | Q(found="cut"), name="opening_nonbearing"
            ),
        )

    def __str__(self) -> str:
        return self.name

    def _room(self) -> Room:
        room = self.room or (self.partition.room if self.partition else None)
        assert room is not None
        return room


class Cutout(Placed):
    """A hole in the board. `height` is empty for a round one, whose `width` is its diameter.

    `along` is the key of the wall along which the longer side lies, on a ceiling; where it is empty
    the width lies along the first wall.
    """

    room = models.ForeignKey(Room, on_delete=models.CASCADE, related_name="cutouts")
    kind = word_column(words.CUTOUT_KINDS, default="box")
    height = length_column(null=True, blank=True)
    along = models.CharField(max_length=64, blank=True, default="")

    class Meta:
        ordering = ("position", "key")
        constraints = (
            models.UniqueConstraint(fields=("room", "key"), name="cutout_key"),
            *Placed.placed_checks("cutout"),
            one_of("cutout", "kind", words.CUTOUT_KINDS),
            models.CheckConstraint(
                condition=(Q(kind__in=("round", "pipe")) & Q(height__isnull=True))
                | (Q(kind__in=("box", "vent")) & Q(height__isnull=False)),
                name="cutout_round_or_not",
            ),
        )

    def __str__(self) -> str:
        return self.name


class HiddenItem(Placed):
    """Something behind the board. `planned` says that it must still go in before the wall is
    closed."""

    room = models.ForeignKey(Room, on_delete=models.CASCADE, related_name="hidden_items")
    kind = word_column(words.HIDDEN_KINDS, default="blocking")
    height = length_column()
    planned = models.BooleanField(default=False)
    lumber = models.CharField(max_length=20, default="2x6")

    class Meta:
        ordering = ("position", "key")
        constraints = (
            models.UniqueConstraint(fields=("room", "key"), name="hidden_key"),
            *Placed.placed_checks("hidden"),
            one_of("hidden", "kind", words.HIDDEN_KINDS),
        )

    def __str__(self) -> str:
        return self.name
