"""A planned partition."""

from __future__ import annotations

from typing import Any

from django import forms

from remodel.bridge import words
from remodel.bridge.lengths import FOOT, INCH
from remodel.house.models import Partition, Room
from remodel.pages.house.forms.fields import (
    OTHER,
    choose,
    length,
    read_spacing,
    set_spacing,
    wall_choices,
)
from remodel.web.fields import TextField
from remodel.web.forms import HouseForm

__all__ = ["PartitionForm"]

_STUDS: words.Choices = [("2x4", "2x4"), ("2x6", "2x6")]
_SIDES: words.Choices = [("right", "Right of it"), ("left", "Left of it")]


class PartitionForm(HouseForm):
    """Where a partition stands, which wall it leaves, and what it makes of the room."""

    name = TextField(label="Name of the partition", example="Closet wall")
    behind = TextField(label="Name of the room it makes", example="Closet")
    surface = choose([], label="Wall it meets at a right angle")
    at = length(
        most=500 * FOOT,
        label="Left end of that wall to the partition's framing",
        example=int(14 * FOOT + 7 * INCH),
    )
    side = choose(_SIDES, label="As you face that wall, the new room is", initial="right")
    framed = choose(words.FRAMED_WHEN, label="It is framed", initial="before")
    bearing = forms.BooleanField(
        required=False,
        label="It carries load from above",
        help_text="Its sizes are then for an engineer, and are not worked out here",
    )
    stud = choose(_STUDS, label="Studs", initial="2x4")
    spacing = choose([], label="Studs, center to center")
    spacing_other = length(
        most=4 * FOOT,
        least=4 * INCH,
        required=False,
        label="The other stud spacing",
        example=19 * INCH,
    )

    def __init__(
        self, *args: Any, room: Room, row: Partition | None = None, surface: str = "", **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["surface"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = wall_choices(room)
        if len(field.choices) > 6:
            field.widget = forms.Select(choices=field.choices)
        self.initial.setdefault("surface", row.surface_key if row else surface)
        if row is not None:
            del self.fields["behind"], self.fields["surface"]
            for name in ("name", "at", "side", "framed", "bearing", "stud"):
                self.initial.setdefault(name, getattr(row, name))
            if row.stud not in dict(_STUDS):
                self.fields["stud"].choices = [*_STUDS, (row.stud, row.stud)]  # type: ignore[attr-defined]
        set_spacing(self, "spacing", spacing=row.spacing if row else int(16 * INCH), unknown=False)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        cleaned["spacing_nm"] = read_spacing(self, "spacing")
        return cleaned

    def columns(self) -> dict[str, Any]:
        columns = self.values
        columns.pop("spacing_other")
        spacing = columns.pop("spacing_nm")
        chosen = columns.pop("spacing")
        columns["spacing"] = spacing if chosen == OTHER else int(chosen)
        return columns
