"""Columns and constraints that several tables share."""

from __future__ import annotations

from typing import Any

from django.db import models
from django.db.models import Q

from remodel.bridge import words
from remodel.bridge.lengths import LONGEST
from remodel.history.versioned import Versioned

__all__ = [
    "OnSurface",
    "Placed",
    "key_column",
    "length_check",
    "length_column",
    "one_of",
    "paint_check",
    "word_column",
]


def length_column(**options: Any) -> models.BigIntegerField[Any, Any]:
    """A length in whole nanometres; `length_check` keeps it within bounds."""
    return models.BigIntegerField(**options)


def key_column() -> models.CharField[Any, Any]:
    """The name of a row in the house file. It is permanent, and never given to another row."""
    return models.CharField(max_length=64, editable=False)


def word_column(
    choices: words.Choices, *, default: str = "", blank: bool = False
) -> models.CharField[Any, Any]:
    return models.CharField(max_length=20, choices=choices, default=default, blank=blank)


def length_check(table: str, column: str, *, zero: bool = False) -> models.CheckConstraint:
    """A check that a length is more than zero (or zero, with `zero`) and at most 1000 ft. A null
    passes."""
    return models.CheckConstraint(
        condition=Q(**{f"{column}__gte": 0 if zero else 1, f"{column}__lte": LONGEST}),
        name=f"{table}_{column}",
    )


def one_of(
    table: str, column: str, choices: words.Choices, *, blank: bool = False
) -> models.CheckConstraint:
    """A check that a column holds one of the engine's words, or nothing where that means the
    default."""
    allowed = words.values(choices) + ([""] if blank else [])
    return models.CheckConstraint(
        condition=Q(**{f"{column}__in": allowed}), name=f"{table}_{column}"
    )


def paint_check(table: str, name: str) -> models.CheckConstraint:
    """A check that a paint has both a color and a sheen, or neither."""
    first, second = f"{name}_color", f"{name}_sheen"
    both = ~Q(**{first: ""}) & ~Q(**{second: ""})
    return models.CheckConstraint(
        condition=both | Q(**{first: "", second: ""}), name=f"{table}_{name}"
    )


class OnSurface(Versioned):
    """A row that stands on a surface: on a wall, or (by `plane`) on a ceiling plane or the face of
    a partition."""

    wall = models.ForeignKey(
        "house.Wall", null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    plane = models.CharField(max_length=64, blank=True)

    class Meta:
        abstract = True

    @property
    def surface_key(self) -> str:
        """The key of the surface inside its room, as the engine names it."""
        return self.wall.key if self.wall else self.plane

    @staticmethod
    def surface_check(table: str) -> models.CheckConstraint:
        return models.CheckConstraint(
            condition=Q(wall__isnull=True) ^ Q(plane=""),
            name=f"{table}_one_surface",
        )


class Placed(OnSurface):
    """A thing placed by two tape readings. `origin` is left, right, floor, ceiling, or the key of a
    wall."""

    across_origin = models.CharField(max_length=64)
    across_distance = length_column()
    across_to = word_column(words.MEASURE_TO, default="centre")
    up_origin = models.CharField(max_length=64)
    up_distance = length_column()
    up_to = word_column(words.MEASURE_TO, default="centre")
    width = length_column()
    key = key_column()
    name = models.CharField(max_length=200)
    position = models.PositiveIntegerField(default=0)

    class Meta:
        abstract = True

    @staticmethod
    def placed_checks(table: str) -> tuple[models.CheckConstraint, ...]:
        return (
            length_check(table, "across_distance", zero=True),
            length_check(table, "up_distance", zero=True),
            length_check(table, "width"),
            length_check(table, "height"),
            one_of(table, "across_to", words.MEASURE_TO),
            one_of(table, "up_to", words.MEASURE_TO),
            OnSurface.surface_check(table),
        )
