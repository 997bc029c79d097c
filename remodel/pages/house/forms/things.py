"""What stands on a surface: openings, cut-outs, and what is behind the board."""

from __future__ import annotations

from typing import Any

from django import forms

from remodel.bridge import words
from remodel.bridge.lengths import FOOT, INCH
from remodel.house.checks import CUTOUT_ACROSS, OPENING_LEFT
from remodel.house.models import Cutout, HiddenItem, Opening, Partition, Room
from remodel.pages.house.forms.fields import (
    choose,
    length,
    lettered_walls,
    surface_choices,
    wall_choices,
)
from remodel.web.fields import LengthField, TextField
from remodel.web.forms import HouseForm

__all__ = ["CutoutForm", "HiddenForm", "OpeningForm"]

_ROUND = ("round", "pipe")
NOT_OVERHEAD = "Not on a ceiling, round or square"
_LUMBER: words.Choices = [("2x4", "2x4"), ("2x6", "2x6"), ("2x8", "2x8"), ("2x10", "2x10")]


class OnSurfaceForm(HouseForm):
    """A thing on a surface of a room.

    `row` is the one that is changed. `like` is one just added, whose kind, surface and sizes are
    offered again.
    """

    surface = choose([], label="Wall or surface")
    name = TextField(label="Name", required=False, max_length=200)
    again: tuple[str, ...] = ()
    ceilings = True

    def __init__(
        self,
        *args: Any,
        room: Room,
        row: Any = None,
        like: Any = None,
        surface: str = "",
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.room = room
        self.surfaces = surface_choices(room, ceilings=self.ceilings)
        self._offer_surfaces(self.surfaces)
        given = row or like
        for name in self.fields if row else self.again if like else ():
            if hasattr(given, name):
                self.initial.setdefault(name, getattr(given, name))
        if given is not None:
            self.initial.setdefault("surface", given.surface_key)
        self.initial.setdefault("surface", surface)

    def _offer_surfaces(self, choices: words.Choices) -> None:
        field = self.fields["surface"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = choices
        if len(choices) > 6:
            field.widget = forms.Select(choices=choices)

    def columns(self) -> dict[str, Any]:
        return self.values


class OpeningForm(OnSurfaceForm):
    """A door, window or passage, measured as one faces the wall from inside."""

    surface = choose([], label="Wall it is in")
    kind = choose(words.OPENING_KINDS, label="Kind", initial="door")
    left = LengthField(
        label=OPENING_LEFT,
        help_text="",
        most=500 * FOOT,
        example=int(3 * FOOT + 2 * INCH),
    )
    width = length(most=60 * FOOT, label="Width", example=int(34 * INCH))
    height = length(most=40 * FOOT, label="Height", example=int(82 * INCH + INCH // 2))
    sill = LengthField(
        most=40 * FOOT,
        required=False,
        label="Floor to the bottom of it",
        help_text="Empty for a door or cased opening, which stands on the floor",
        example=24 * INCH,
    )
    given = choose(
        words.OPENING_GIVEN,
        label="Width and height are of",
        initial="rough",
        help_text="With the door or window itself, an allowance is added for the rough opening",
    )
    edge = choose(words.OPENING_EDGES, label="The board ends", initial="cased")
    return_depth = length(
        most=2 * FOOT,
        required=False,
        label="How deep it is turned in",
        help_text="From the face of the framing to the frame, or through the wall. Board, screws "
        "and both edges are counted by it",
        example=int(4 * INCH + INCH // 2),
    )
    found = choose(words.FOUND, required=False, label="As found", initial="stays")
    nonbearing = forms.BooleanField(
        required=False,
        label="Nothing rests on the wall it is cut into",
        help_text="Only where somebody licensed has seen it. A header and studs are then counted",
    )
    field_order = (
        *("kind", "surface", "left", "width", "height", "sill", "given", "edge"),
        *("return_depth", "found", "nonbearing", "name"),
    )
    again = ("kind", "given", "edge", "return_depth", "width", "height", "sill")
    ceilings = False

    def __init__(self, *args: Any, row: Opening | None = None, **kwargs: Any) -> None:
        super().__init__(*args, row=row, **kwargs)
        if row is not None and row.partition is not None:
            # A planned partition does not stand yet.
            del self.fields["found"], self.fields["nonbearing"]
            self._offer_surfaces(list(row.partition.faces.items()))
            self.initial["surface"] = row.plane
        elif row is not None:
            self._offer_surfaces(lettered_walls(self.room))

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if (
            cleaned.get("kind") == "window"
            and cleaned.get("sill") is None
            and "sill" not in self.errors
        ):
            self.add_error(
                "sill",
                f'"{self.fields["sill"].label}" is empty. Enter it for a window, for example 24 in '
                "or 600 mm",
            )
        if cleaned.get("nonbearing") and cleaned.get("found") != "cut":
            self.add_error(
                "nonbearing",
                f'"{self.fields["nonbearing"].label}" is asked of an opening that is cut into a '
                'wall. Clear it, or choose that under "As found"',
            )
        if cleaned.get("return_depth") and cleaned.get("edge") not in ("return", None):
            self.add_error(
                "return_depth",
                f'"{self.fields["return_depth"].label}": only board that is turned into the '
                "opening has a depth. Choose that, or empty this field",
            )
        return cleaned

    @property
    def partition(self) -> Partition | None:
        """The planned partition the opening stands in, in one of its legs; None for a wall."""
        key = self.cleaned_data["surface"]
        partitions = Partition.objects.filter(house=self.room.house_id)
        in_wall = key in dict(wall_choices(self.room))
        return None if in_wall else next(one for one in partitions if key in one.faces)

    def columns(self) -> dict[str, Any]:
        found = self.cleaned_data.get("found") or "stays"
        return self.values | {"sill": self.cleaned_data["sill"] or 0, "found": found}


class PlacedForm(OnSurfaceForm):
    """A thing placed by two tape readings."""

    across_origin = forms.ChoiceField(label="Measured from")
    across_distance = LengthField(
        most=500 * FOOT, label=CUTOUT_ACROSS, example=int(2 * FOOT + 7 * INCH)
    )
    across_to = choose(words.MEASURE_TO, label="Measured to", initial="centre")
    up_origin = forms.ChoiceField(label="And from")
    up_distance = LengthField(most=500 * FOOT, label="How far up or down", example=int(12 * INCH))
    up_to = choose(words.MEASURE_TO, label="Measured to ", initial="centre")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        walls = lettered_walls(self.room)
        ceiling = (
            [("On the ceiling", [(key, name) for key, name in walls])]
            if self.room.shape != "surfaces"
            else []
        )
        ends = [("left", "Left end of the wall"), ("right", "Right end of the wall")]
        heights = [("floor", "The floor"), ("ceiling", "The ceiling")]
        for name, on_wall in (("across_origin", ends), ("up_origin", heights)):
            field = self.fields[name]
            assert isinstance(field, forms.ChoiceField)
            field.choices = [("On a wall", on_wall), *ceiling]
        if (
            self.initial.get("surface") == "ceiling"
            and len(walls) > 1
            and self.room.shape != "surfaces"
        ):
            self.initial.setdefault("across_origin", walls[0][0])
            self.initial.setdefault("up_origin", walls[1][0])

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        on_ceiling = cleaned.get("surface") == "ceiling" and self.room.shape != "surfaces"
        for name, on_wall in (
            ("across_origin", ("left", "right")),
            ("up_origin", ("floor", "ceiling")),
        ):
            origin = cleaned.get(name)
            if origin is None or "surface" not in cleaned or (origin in on_wall) != on_ceiling:
                continue
            label = self.fields[name].label
            which = "a wall of the room" if on_ceiling else f"{on_wall[0]} or {on_wall[1]}"
            self.add_error(
                name, f"{label}: on {'the ceiling' if on_ceiling else 'a wall'}, choose {which}"
            )
        return cleaned


class CutoutForm(PlacedForm):
    """A hole in the board: a box, a round light, a vent or a pipe."""

    kind = choose(words.CUTOUT_KINDS, label="Kind", initial="box")
    width = length(
        most=20 * FOOT,
        label="Width, or how wide across if it is round",
        example=int(2 * INCH + INCH // 4),
    )
    height = length(
        most=20 * FOOT,
        required=False,
        label="Height",
        help_text="Empty for a round one",
        example=int(3 * INCH + 3 * INCH // 4),
    )
    along = forms.ChoiceField(
        label="On a ceiling, its longer side lies along",
        required=False,
        help_text="Look at the duct or box: the wall that its longer side runs along",
    )
    field_order = (
        *("kind", "surface", "across_origin", "across_distance", "across_to"),
        *("up_origin", "up_distance", "up_to", "width", "height", "along", "name"),
    )
    again = (
        "kind",
        "across_origin",
        "across_to",
        "up_origin",
        "up_distance",
        "up_to",
        "width",
        "height",
        "along",
    )

    def __init__(self, *args: Any, row: Cutout | None = None, **kwargs: Any) -> None:
        super().__init__(*args, row=row, **kwargs)
        field = self.fields["along"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [("", NOT_OVERHEAD), *lettered_walls(self.room)]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        kind, height = cleaned.get("kind"), cleaned.get("height")
        overhead = cleaned.get("surface") == "ceiling" and self.room.shape != "surfaces"
        if kind in _ROUND:
            cleaned["along"] = ""
        elif not overhead and cleaned.get("along"):
            label = self.fields["along"].label
            self.add_error(
                "along",
                f'"{label}": this one is not on a ceiling. Choose "{NOT_OVERHEAD}"',
            )
        elif (
            overhead
            and height is not None
            and height != cleaned.get("width")
            and not cleaned.get("along")
        ):
            self.add_error(
                "along",
                f'"{self.fields["along"].label}" is empty. Choose the wall that its longer side '
                "runs along, for example Wall A",
            )
        if kind in _ROUND and height is not None:
            self.add_error(
                "height",
                'Empty "Height": a round one has a width only, how wide it is across',
            )
        if kind not in (*_ROUND, None) and height is None and "height" not in self.errors:
            self.add_error(
                "height",
                '"Height" is empty. Enter it for a box or vent, for example 3 3/4 in or 95 mm',
            )
        return cleaned


class HiddenForm(PlacedForm):
    """Blocking, a cable, a pipe or a duct behind the board."""

    kind = choose(words.HIDDEN_KINDS, label="Kind", initial="blocking")
    width = length(most=500 * FOOT, label="Width", example=48 * INCH)
    height = length(most=100 * FOOT, label="Height", example=int(5 * INCH + INCH // 2))
    planned = forms.BooleanField(
        required=False,
        label="It still has to go in",
        help_text="It is then bought with the framing, and asked for before the board closes it",
    )
    lumber = choose(_LUMBER, label="Blocking is cut from", initial="2x6")
    field_order = (
        *("kind", "surface", "across_origin", "across_distance", "across_to"),
        *("up_origin", "up_distance", "up_to", "width", "height", "planned", "lumber", "name"),
    )
    again = (
        "kind",
        "across_origin",
        "across_to",
        "up_origin",
        "up_distance",
        "up_to",
        "width",
        "height",
        "planned",
    )

    def __init__(self, *args: Any, row: HiddenItem | None = None, **kwargs: Any) -> None:
        super().__init__(*args, row=row, **kwargs)
        if row is not None and row.lumber not in dict(_LUMBER):
            field = self.fields["lumber"]
            assert isinstance(field, forms.ChoiceField)
            field.choices = [*_LUMBER, (row.lumber, row.lumber)]
