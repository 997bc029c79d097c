"""A planned partition."""

from __future__ import annotations

from typing import Any

from django import forms
from django.forms.boundfield import BoundField

from remodel.bridge import words
from remodel.bridge.lengths import FOOT, INCH
from remodel.house.models import Partition, Room
from remodel.house.partitions import Corner, corners_of
from remodel.pages.house.forms.fields import (
    OTHER,
    choose,
    length,
    read_spacing,
    set_spacing,
    wall_choices,
)
from remodel.pages.house.forms.framed_when import ask_anyway, check_anyway
from remodel.web.fields import LengthField, TextField
from remodel.web.forms import HouseForm
from remodel.web.lengths import show_length

__all__ = ["PartitionForm"]

_STUDS: words.Choices = [
    ("2x4", "2x4"),
    ("2x6", "2x6"),
    ("steel-2.5", "Light steel, 2-1/2 in (64 mm)"),
    ("steel-3.625", "Light steel, 3-5/8 in (92 mm)"),
]
_METRIC_STUDS = {"steel-2.5": "Light steel, 64 mm", "steel-3.625": "Light steel, 92 mm"}
_SIDES: words.Choices = [("right", "Right of it"), ("left", "Left of it")]


_TURNS: words.Choices = [
    ("", "No corner: it runs on to the wall it meets"),
    ("toward", "Toward the new room, around it"),
    ("away", "Away from the new room"),
]
# A closet in a corner has one corner, a jog two. A house file may give more than the form shows.
_CORNERS = 3


def _to_corner(label: str) -> LengthField:
    return length(
        most=300 * FOOT,
        required=False,
        label=label,
        help_text="On the longer side, to the outside of the corner",
        example=int(3 * FOOT + 2 * INCH),
    )


def _turns(label: str) -> forms.ChoiceField:
    return choose(_TURNS, required=False, label=label)


class PartitionForm(HouseForm):
    """Where a partition stands, which wall it leaves, where it turns, and what it makes of the
    room."""

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

    corner_1_length = _to_corner("From the wall to the first corner")
    corner_1_turn = _turns("At the first corner it turns")
    corner_2_length = _to_corner("From there to the second corner")
    corner_2_turn = _turns("At the second corner it turns")
    corner_3_length = _to_corner("From there to the third corner")
    corner_3_turn = _turns("At the third corner it turns")

    def __init__(
        self,
        *args: Any,
        room: Room,
        row: Partition | None = None,
        surface: str = "",
        overtaken: str = "",
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self._row = row
        ask_anyway(self, overtaken)
        field = self.fields["surface"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [*wall_choices(room), *self._earlier_faces(room, row)]
        if len(field.choices) > 6:
            field.widget = forms.Select(choices=field.choices)
        self.initial.setdefault("surface", row.surface_key if row else surface)
        if row is not None:
            del self.fields["behind"], self.fields["surface"]
            for name in ("name", "at", "side", "framed", "bearing", "stud"):
                self.initial.setdefault(name, getattr(row, name))
            if row.stud not in dict(_STUDS):
                self.fields["stud"].choices = [*_STUDS, (row.stud, row.stud)]  # type: ignore[attr-defined]
        if self.units == "mm":
            stud = self.fields["stud"]
            stud.choices = [(key, _METRIC_STUDS.get(key, said)) for key, said in stud.choices]  # type: ignore[attr-defined]
        self._show_corners(row)
        set_spacing(self, "spacing", spacing=row.spacing if row else int(16 * INCH), unknown=False)

    @staticmethod
    def _earlier_faces(room: Room, row: Partition | None) -> words.Choices:
        """The legs of partitions that it may start on: of those that were there before it."""
        others = Partition.objects.filter(room=room)
        if row is not None:
            others = others.filter(position__lt=row.position)
        return [face for other in others for face in other.faces.items()]

    def _show_corners(self, row: Partition | None) -> None:
        corners = [] if row is None else corners_of(row)
        if len(corners) > _CORNERS:
            for name in [name for name in self.fields if name.startswith("corner_")]:
                del self.fields[name]
            return
        for place, corner in enumerate(corners, start=1):
            self.initial.setdefault(f"corner_{place}_length", corner.length)
            self.initial.setdefault(f"corner_{place}_turn", corner.turn)

    @property
    def corners(self) -> list[tuple[BoundField, BoundField]]:
        """The fields of each corner: the length up to it, and the turn there."""
        return [
            (self[name], self[name.replace("_length", "_turn")])
            for name in self.fields
            if name.startswith("corner_") and name.endswith("_length")
        ]

    @property
    def turns_corners(self) -> bool:
        """Whether any field of a corner is filled in, or wrong."""
        return any(field.value() or field.errors for corner in self.corners for field in corner)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        cleaned["spacing_nm"] = read_spacing(self, "spacing")
        if cleaned.get("bearing") and cleaned.get("framed") == "after":
            self.add_error(
                "framed",
                "A wall that carries load from above cannot wait for the board. Choose Before "
                'board, or clear "It carries load from above"',
            )
        if self._row is not None:
            check_anyway(self, cleaned, self._row)
        cleaned["corners"] = self._read_corners() if self.corners else None
        return cleaned

    def _read_corners(self) -> list[Corner]:
        corners: list[Corner] = []
        ended = ""
        for length_field, turn_field in self.corners:
            reach = self.cleaned_data.get(length_field.name)
            turn = self.cleaned_data.get(turn_field.name) or ""
            if reach is None and not turn:
                ended = ended or str(length_field.label)
                continue
            if ended:
                self.add_error(
                    length_field.name,
                    f'"{ended}" is empty, so there is no corner after it. Fill in that corner, or '
                    "clear this one",
                )
            elif not turn and turn_field.name not in self.errors:
                self.add_error(
                    turn_field.name,
                    f'"{turn_field.label}" is empty. Choose toward or away from the new room, or '
                    f'clear "{length_field.label}"',
                )
            elif reach is None and length_field.name not in self.errors:
                self.add_error(
                    length_field.name,
                    f'"{length_field.label}" is empty. Enter a length, for example '
                    f"{show_length(int(3 * FOOT + 2 * INCH), self.units)}",
                )
            elif reach is not None:
                corners.append(Corner(length=reach, turn=turn))
        return corners

    def columns(self) -> dict[str, Any]:
        columns = {
            name: value for name, value in self.values.items() if not name.startswith("corner_")
        }
        columns.pop("spacing_other")
        spacing = columns.pop("spacing_nm")
        chosen = columns.pop("spacing")
        columns["spacing"] = spacing if chosen == OTHER else int(chosen)
        return columns
