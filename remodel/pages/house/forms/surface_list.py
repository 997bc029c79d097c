"""Forms of a plain list of surfaces, and of the order in which walls are hung."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms
from django.http import QueryDict

from remodel.bridge import words
from remodel.bridge.lengths import FOOT
from remodel.house.models import Wall
from remodel.pages.house.forms.fields import length
from remodel.pages.house.forms.rooms import RoomStartForm
from remodel.web.fields import CountField, TextField
from remodel.web.forms import HouseForm, RowForm
from remodel.web.row_forms import posted_count, posted_rows

__all__ = ["MOST_SURFACES", "HangFirstForm", "RoomSurfacesForm", "SurfaceList", "SurfaceRowForm"]

MOST_SURFACES = 200
_START = ("wall", "wall", "wall", "wall", "ceiling")


class RoomSurfacesForm(RoomStartForm):
    """The questions for a new plain list, beside its surfaces."""

    field_order = ("name",)


class SurfaceRowForm(RowForm):
    """One surface of a plain list. A surface without width and height does not exist."""

    wall = forms.UUIDField(required=False, widget=forms.HiddenInput)
    kind = forms.ChoiceField(choices=words.SURFACE_KINDS, label="What it is", initial="wall")
    width = length(most=300 * FOOT, required=False, label="Width", example=12 * FOOT)
    height = length(most=300 * FOOT, required=False, label="Height", example=8 * FOOT)
    name = TextField(label="Name", required=False)

    def __init__(
        self, *args: Any, number: int = 1, surface: Wall | None = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.number, self.surface = number, surface
        for name, field in self.fields.items():
            if name in ("kind", "width", "height", "name"):
                field.label = f"Surface {number}, {str(field.label).lower()}"
                field.help_text = ""  # stands once above the list
        if surface is not None:
            named = surface.name not in (f"Wall {surface.key}", f"Ceiling {surface.key}")
            self.initial.update(
                {
                    "wall": surface.pk,
                    "kind": surface.kind,
                    "width": surface.length,
                    "height": surface.height,
                    "name": surface.name if named else "",
                }
            )

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        width, height = cleaned.get("width"), cleaned.get("height")
        for name, there, other in (("width", width, height), ("height", height, width)):
            if other and not there and name not in self.errors:
                field = self.fields[name]
                example = getattr(field, "shown_example", "")
                self.add_error(
                    name,
                    f'"{field.label}" is empty. Enter it, for example {example}, or empty the '
                    "other one too",
                )
        if height and cleaned.get("kind") == "wall" and height > 40 * FOOT:
            self.add_error(
                "height",
                f'"{self.fields["height"].label}" must be at most 40 ft for a wall, for example '
                "8'",
            )
        return cleaned


class SurfaceList:
    """The forms of surfaces in their order. `add` puts an empty one at the end."""

    def __init__(
        self,
        data: QueryDict | None,
        *,
        units: str,
        rows: Sequence[Wall] = (),
        start: bool = False,
        add: bool = False,
    ) -> None:
        known = {str(row.pk): row for row in rows}
        if data is None:
            empty = [{"kind": kind} for kind in _START] if start else [{"kind": "wall"}]
            starting_rows: list[tuple[Wall | None, dict[str, str]]] = [(row, {}) for row in rows]
            starting_rows += [(None, values) for values in empty]
            self.forms = [
                SurfaceRowForm(
                    prefix=f"surface-{at}", units=units, number=at + 1, surface=row, initial=initial
                )
                for at, (row, initial) in enumerate(starting_rows)
            ]
            return
        last = posted_count(data, "surface", most=MOST_SURFACES) - 1
        posted = posted_rows(
            data, "surface", most=MOST_SURFACES, after=last if add else None, fresh={"kind": "wall"}
        )
        self.forms = [
            SurfaceRowForm(
                row.data,
                prefix=row.prefix,
                units=units,
                number=number,
                surface=known.get(row.get("wall")),
            )
            for number, row in enumerate(posted, start=1)
        ]
        if add and self.forms:
            self.forms[-1].fields["width"].widget.attrs["data-focus"] = True

    @property
    def surfaces(self) -> list[SurfaceRowForm]:
        """The surfaces that exist, once every form is valid."""
        return [form for form in self.forms if form.cleaned_data.get("width")]


class HangFirstForm(HouseForm):
    """The place of each wall in the order of hanging."""

    def __init__(self, *args: Any, walls: Sequence[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.walls = list(walls)
        for place, (key, name) in enumerate(self.walls, start=1):
            field = CountField(
                label=f"Place of {name}", least=1, most=len(self.walls), example=place, help_text=""
            )
            field.error_messages["required"] = (
                f'"Place of {name}" is empty. Enter it, for example {place}'
            )
            field.initial = place
            self.fields[f"place-{key}"] = field

    @property
    def rows(self) -> list[dict[str, Any]]:
        return [
            {"key": key, "name": name, "place": self[f"place-{key}"]} for key, name in self.walls
        ]

    @property
    def order(self) -> list[str]:
        """The keys of the walls in the order of their places; only after `is_valid()`."""
        return sorted(
            (key for key, _ in self.walls), key=lambda key: int(self.cleaned_data[f"place-{key}"])
        )

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        taken: dict[int, str] = {}
        for key, name in self.walls:
            place = cleaned.get(f"place-{key}")
            if place in taken:
                free = next(
                    place
                    for place in range(1, len(self.walls) + 1)
                    if place not in cleaned.values()
                )
                self.add_error(
                    f"place-{key}",
                    f"Place of {name} must be another than that of {taken[place]}, for example "
                    f"{free}",
                )
            elif place:
                taken[place] = name
        return cleaned
