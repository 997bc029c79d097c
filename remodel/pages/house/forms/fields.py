"""Fields that several of these forms share: spacings of members, boards of the catalogue, surfaces
of a room."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from remodel.bridge import words
from remodel.bridge.lengths import FOOT, INCH, MM
from remodel.house.models import House, Room, Wall
from remodel.house.queries import PLANE_NAMES, built_faces, faces_of
from remodel.web.fields import LengthField
from remodel.web.forms import HouseForm
from remodel.web.lengths import show_length

__all__ = [
    "OTHER",
    "UNKNOWN",
    "LengthsField",
    "board_choices",
    "board_columns",
    "board_value",
    "check_paint",
    "choose",
    "length",
    "lettered_walls",
    "plane_choices",
    "read_spacing",
    "set_spacing",
    "spacing_of",
    "spacing_text",
    "surface_choices",
    "wall_choices",
    "yes_no",
]

UNKNOWN, OTHER = "unknown", "other"
_SPACINGS = {
    "in": [(16 * INCH, "16 in"), (24 * INCH, "24 in"), (12 * INCH, "12 in")],
    "mm": [(400 * MM, "400 mm"), (600 * MM, "600 mm"), (300 * MM, "300 mm")],
}


def check_paint(form: forms.Form, color: str, sheen: str) -> None:
    """Refuse a sheen without the name of a color, and a color without a sheen, at the field that is
    empty. Called in `clean`."""
    named, shines = form.cleaned_data.get(color, ""), form.cleaned_data.get(sheen, "")
    if {color, sheen} & form.errors.keys() or bool(named) == bool(shines):
        return
    if shines:
        form.add_error(
            color,
            f'"{form.fields[color].label}" is empty. Enter the name on the can or the chip, for '
            "example Harbor Fog",
        )
    else:
        form.add_error(
            sheen, f'"{form.fields[sheen].label}" is empty. Choose one: it is on the can too'
        )


def length(*, most: int = 100 * FOOT, **options: Any) -> LengthField:
    """A field for a length of more than zero and at most 100 ft, unless other limits are given."""
    return LengthField(**{"least": 1, "most": most, **options})


def choose(choices: words.Choices, **options: Any) -> forms.ChoiceField:
    """A choice field: radio buttons for up to six choices, a list for more."""
    widget = forms.RadioSelect if len(choices) <= 6 else forms.Select
    return forms.ChoiceField(choices=choices, widget=widget, **options)


def spacing_of(units: str) -> words.Choices:
    return [(str(int(nm)), text) for nm, text in _SPACINGS["mm" if units == "mm" else "in"]]


def spacing_text(nm: int, units: str) -> str:
    """A spacing in the words of the trade: 16 in rather than 1' 4"."""
    whole, rest = divmod(nm, INCH)
    return show_length(nm, units) if units == "mm" or rest else f"{whole} in"


def set_spacing(
    form: HouseForm,
    name: str,
    *,
    first: Sequence[tuple[str, str]] = (),
    spacing: int | None = None,
    unknown: bool = True,
) -> None:
    """Give the field `name` the usual spacings in the house's units, then "another", and "not
    known" with `unknown`. `first` are choices before them."""
    field = form.fields[name]
    assert isinstance(field, forms.ChoiceField)
    usual = spacing_of(form.units)
    form.fields[f"{name}_other"].help_text = (
        "In millimeters, for example 450" if form.units == "mm" else "In inches, for example 19 in"
    )
    last = [(UNKNOWN, "I don't know yet")] if unknown else []
    field.choices = [*first, *usual, (OTHER, "Another spacing"), *last]
    if spacing is not None:
        known = str(spacing) in dict(usual)
        form.initial.setdefault(name, str(spacing) if known else OTHER)
        if not known:
            form.initial.setdefault(f"{name}_other", spacing)
    form.initial.setdefault(name, first[0][0] if first else UNKNOWN)


def read_spacing(form: HouseForm, name: str) -> int | None:
    """The spacing that a valid field holds, None for not known. Where "another" was chosen, its own
    field must be filled in."""
    chosen = form.cleaned_data.get(name)
    if chosen == OTHER:
        other: int | None = form.cleaned_data.get(f"{name}_other")
        if other is None and f"{name}_other" not in form.errors:
            label = form.fields[f"{name}_other"].label
            example = show_length(19 * INCH if form.units != "mm" else 450 * MM, form.units)
            form.add_error(f"{name}_other", f'"{label}" is empty. Enter it, for example {example}')
        return other
    return int(chosen) if chosen and chosen.isdigit() else None


class LengthsField(forms.Field):
    """Several lengths separated by commas. Cleans to a tuple of whole nanometers, in order and each
    once."""

    widget = forms.TextInput

    def __init__(self, *, units: str = "in", most: int = 100 * FOOT, **options: Any) -> None:
        self.units, self.most = units, most
        super().__init__(**options)

    def prepare_value(self, value: Any) -> Any:
        return (
            value
            if isinstance(value, str) or value is None
            else ", ".join(show_length(distance, self.units) for distance in value)
        )

    def to_python(self, value: Any) -> tuple[int, ...]:
        text = "" if value is None else str(value)
        reader = length(most=self.most, label=self.label, required=False)
        reader.measure_in(self.units)
        if text.count(",") > 60:
            raise ValidationError(f'"{self.label}" takes at most 60 lengths')
        return tuple(sorted({int(reader.clean(part)) for part in text.split(",") if part.strip()}))


def yes_no() -> words.Choices:
    return [(UNKNOWN, "I don't know yet"), ("yes", "Yes"), ("no", "No")]


def board_choices(house: House) -> words.Choices:
    """The kinds and thicknesses on sale, each as the text `kind thickness`."""
    names = {board_kind.key: board_kind.name for board_kind in house.board_kinds.all()}
    pairs = dict.fromkeys((sheet.board, int(sheet.thickness)) for sheet in house.sheets.all())
    return [
        (f"{kind} {nm}", f"{names.get(kind, kind)}, {show_length(nm, house.units)}")
        for kind, nm in sorted(pairs)
    ]


def board_value(row: Any, name: str) -> str:
    """The board of a row's columns as one of `board_choices`; empty for the default."""
    kind = getattr(row, f"{name}_kind")
    return f"{kind} {getattr(row, f'{name}_thickness')}" if kind else ""


def board_columns(row: Any, name: str, chosen: str) -> dict[str, Any]:
    """The columns for a choice. A width that was chosen before stays while the board is the
    same."""
    if chosen == board_value(row, name):
        return {}
    kind, _, thickness = chosen.rpartition(" ")
    return {
        f"{name}_kind": kind,
        f"{name}_thickness": int(thickness) if kind else None,
        f"{name}_width": None,
    }


def walls_around(room: Room) -> list[Wall]:
    """The walls around a room: its own, or those of the room that its partition stands in."""
    home = room.behind.room_id if room.behind is not None else room.pk
    return list(Wall.objects.filter(room=home).order_by("position", "key"))


def wall_choices(room: Room) -> words.Choices:
    return [(surface.key, surface.name) for surface in walls_around(room) if surface.kind == "wall"]


def lettered_walls(room: Room) -> words.Choices:
    """The walls with their letters where their names do not end in them: as plans show them."""
    return [
        (
            wall.key,
            wall.name
            if not wall.letter or wall.name.split()[-1] == wall.letter
            else f"{wall.name} ({wall.letter})",
        )
        for wall in walls_around(room)
        if wall.kind == "wall"
    ]


def plane_choices(room: Room) -> words.Choices:
    """The ceiling's planes: slopes and flat part where there are several, otherwise one. In a plain
    list of surfaces they are the rows that are ceilings."""
    if room.shape == "surfaces":
        return [
            (surface.key, surface.name)
            for surface in walls_around(room)
            if surface.kind == "ceiling"
        ]
    home = room.behind.room if room.behind is not None else room
    if home.ceiling_kind not in ("gable", "vault"):
        return [("ceiling", PLANE_NAMES["ceiling"])]
    planes = ["ceiling-near"]
    if home.ceiling_kind == "vault":
        planes.append("ceiling-flat")
    if home.ceiling_kind == "gable" or home.ceiling_flat_width is not None:
        planes.append("ceiling-far")
    return [(key, PLANE_NAMES[key]) for key in planes]


def surface_choices(room: Room, *, ceilings: bool = True) -> words.Choices:
    """The surfaces that a thing may be placed on: walls, partitions, and the ceiling as a whole."""
    choices = [*lettered_walls(room), *faces_of(room).items()]
    if not ceilings:
        return choices
    return [
        *choices,
        *((key, name) for key, (name, _) in built_faces(room).items()),
        *(plane_choices(room) if room.shape == "surfaces" else [("ceiling", "Ceiling")]),
    ]
