"""Rows of what is built into a room, and of the walls that are taken out of it."""

from __future__ import annotations

from typing import Any

from django import forms

from remodel.bridge import words
from remodel.bridge.built import BuiltEntered, BuiltIn, TakenOut, TakenOutEntered
from remodel.bridge.lengths import FOOT, INCH
from remodel.house.models import Room
from remodel.pages.house.forms.fields import length as size
from remodel.pages.house.forms.fields import wall_choices
from remodel.web.fields import LengthField, TextField
from remodel.web.forms import RowForm

__all__ = ["BuiltForm", "TakenOutForm"]

_CLIMBS: words.Choices = [("", "No stairs"), ("right", "To the right"), ("left", "To the left")]
_LININGS: words.Choices = [("", "I don't know yet"), *words.OLD_LININGS]
_USUAL_THICKNESS = int(9 * INCH // 2)


def _number_labels(form: RowForm, what: str, number: int) -> None:
    """Say in each label which row it is of: "Built-in 2, width"."""
    for field in form.fields.values():
        label = str(field.label)
        if not isinstance(field.widget, forms.HiddenInput):
            field.label = f"{what} {number}, {label[:1].lower()}{label[1:]}"


def _need(form: RowForm, name: str, why: str, example: str) -> None:
    """Ask for a field that this kind of row cannot do without."""
    if form.cleaned_data.get(name) in (None, "") and name not in form.errors:
        label = form.fields[name].label
        form.add_error(name, f'"{label}" is empty. {why}, for example {example}')


class BuiltForm(RowForm):
    """One soffit, chase, skylight well or flight of stairs. A row without a kind is none."""

    id = forms.CharField(required=False, max_length=64, widget=forms.HiddenInput)
    kind = forms.ChoiceField(
        choices=[("", "Nothing"), *words.BUILT_KINDS], required=False, label="Kind"
    )
    name = TextField(required=False, max_length=80, label="Name")
    wall = forms.ChoiceField(required=False, label="Wall it is measured from")
    left = LengthField(
        most=300 * FOOT,
        required=False,
        label="Left end of that wall to it",
        help_text="As you face the wall. Empty where it begins in the corner",
        example=int(2 * FOOT + 7 * INCH),
    )
    width = LengthField(
        most=300 * FOOT,
        required=False,
        label="Width along the wall",
        help_text="Of stairs: how far they run. Empty where the whole wall is on the upper floor",
        example=int(6 * FOOT),
    )
    depth = size(
        most=40 * FOOT,
        required=False,
        label="Depth out from the wall",
        help_text="Of a skylight well: how long its hole is",
        example=int(13 * INCH),
    )
    height = size(
        most=40 * FOOT,
        required=False,
        label="Height",
        help_text="A soffit: down from the ceiling. A well: its shaft at the near side. Stairs: "
        "how high they climb",
        example=int(12 * INCH),
    )
    away = LengthField(
        most=300 * FOOT,
        required=False,
        label="Well: the wall to its hole",
        example=int(5 * FOOT),
    )
    far_height = size(
        most=40 * FOOT,
        required=False,
        label="Well: its shaft at the far side",
        help_text="Empty where it is as deep as at the near side",
        example=int(30 * INCH),
    )
    climbs = forms.ChoiceField(choices=_CLIMBS, required=False, label="Stairs climb")

    def __init__(
        self,
        *args: Any,
        room: Room,
        number: int = 1,
        kept: BuiltIn | None = None,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["wall"].choices = wall_choices(room)  # type: ignore[attr-defined]
        _number_labels(self, "Built-in", number)
        if kept is not None:
            for name in ("id", "name", "wall", "left", "width", "depth", "height", "away"):
                self.initial[name] = getattr(kept, name)
            self.initial["kind"] = kept.kind.value
            self.initial["far_height"] = kept.far_height
            self.initial["climbs"] = kept.climbs.value if kept.climbs else ""

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        kind = cleaned.get("kind")
        if not kind:
            if any(cleaned.get(name) is not None for name in ("width", "depth", "height")):
                self.add_error(
                    "kind",
                    f'"{self.fields["kind"].label}" says nothing is built there. Choose soffit, '
                    "chase, skylight well or stairs, or clear its measures",
                )
            return cleaned
        metric = self.units == "mm"
        if kind != "stairs":
            _need(self, "width", "Measure it along the wall", "1800" if metric else "6 ft")
            _need(self, "depth", "Measure it out from the wall", "330" if metric else "13 in")
        if kind != "chase":
            _need(self, "height", "Measure it up and down", "305" if metric else "12 in")
        if kind == "skylight well":
            _need(self, "away", "Measure from the wall", "1500" if metric else "5 ft")
        if kind == "stairs":
            _need(self, "climbs", "Face the wall, and choose a way", "To the right")
        return cleaned

    @property
    def entered(self) -> BuiltEntered | None:
        """What was typed, without what another kind is measured by; None for an empty row."""
        cleaned = self.cleaned_data
        kind = cleaned.get("kind")
        if not kind:
            return None
        well = kind == "skylight well"
        return BuiltEntered(
            id=cleaned.get("id", ""),
            name=cleaned.get("name") or dict(words.BUILT_KINDS)[kind].partition(":")[0],
            kind=kind,
            wall=cleaned["wall"],
            left=cleaned.get("left") or 0,
            width=cleaned.get("width") or 0,
            depth=None if kind == "stairs" else cleaned.get("depth"),
            height=None if kind == "chase" else cleaned.get("height"),
            away=cleaned.get("away") if well else None,
            far_height=cleaned.get("far_height") if well else None,
            climbs=cleaned.get("climbs", "") if kind == "stairs" else "",
        )


class TakenOutForm(RowForm):
    """One wall that comes out. A row without a length is none."""

    id = forms.CharField(required=False, max_length=64, widget=forms.HiddenInput)
    name = TextField(required=False, max_length=80, label="Name")
    wall = forms.ChoiceField(required=False, label="It stands off")
    at = LengthField(
        most=300 * FOOT,
        required=False,
        label="Left end of that wall to it",
        example=int(5 * FOOT),
    )
    length = size(most=300 * FOOT, required=False, label="Length", example=int(9 * FOOT))
    thickness = size(
        most=3 * FOOT,
        required=False,
        label="Thickness, its linings too",
        example=_USUAL_THICKNESS,
    )
    end = forms.ChoiceField(required=False, label="It ends at")
    height = size(
        most=40 * FOOT,
        required=False,
        label="Height",
        help_text="Empty where it is as high as the ceiling at its lowest",
        example=int(7 * FOOT),
    )
    old_lining = forms.ChoiceField(choices=_LININGS, required=False, label="On its faces is")
    nonbearing = forms.BooleanField(
        required=False,
        label="Nothing rests on it",
        help_text="Only where somebody licensed has seen it",
    )

    def __init__(
        self,
        *args: Any,
        room: Room,
        number: int = 1,
        kept: TakenOut | None = None,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        walls = wall_choices(room)
        self.fields["wall"].choices = walls  # type: ignore[attr-defined]
        self.fields["end"].choices = [("", "Nothing: it stops in the room"), *walls]  # type: ignore[attr-defined]
        _number_labels(self, "Wall out", number)
        if kept is not None:
            for name in ("id", "name", "wall", "at", "length", "thickness", "height"):
                self.initial[name] = getattr(kept, name)
            self.initial["end"] = kept.end or ""
            self.initial["old_lining"] = kept.old_lining.value if kept.old_lining else ""
            self.initial["nonbearing"] = kept.nonbearing

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        told = ("at", "thickness", "height")
        if any(cleaned.get(name) is not None for name in told):
            metric = self.units == "mm"
            _need(self, "length", "Measure the wall", "2750" if metric else "9 ft")
        return cleaned

    @property
    def entered(self) -> TakenOutEntered | None:
        """What was typed; None for an empty row."""
        cleaned = self.cleaned_data
        if cleaned.get("length") is None:
            return None
        return TakenOutEntered(
            id=cleaned.get("id", ""),
            name=cleaned.get("name") or "Wall taken out",
            wall=cleaned["wall"],
            at=cleaned.get("at") or 0,
            length=cleaned["length"],
            thickness=cleaned.get("thickness") or _USUAL_THICKNESS,
            end=cleaned.get("end", ""),
            height=cleaned.get("height"),
            old_lining=cleaned.get("old_lining", ""),
            nonbearing=cleaned.get("nonbearing", False),
        )
