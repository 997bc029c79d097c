"""Forms of the log."""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict

from remodel.bridge.lengths import (
    TakeoffError,
    convert,
    parse_amount,
    same_kind,
    scale,
    shown_amount,
)
from remodel.history.errors import Refused
from remodel.logbook import Stuff, Taken
from remodel.pages.supply.forms import NumberField
from remodel.people.models import Person
from remodel.web.fields import DayField, TextField
from remodel.web.forms import HouseForm
from remodel.work.kept_photos import GONE, find_photo, keep_photo, photo_source, remove_photo
from remodel.work.models import KeptPhoto
from remodel.work.photos import Picture, reencoded

__all__ = ["DayChangeForm", "DayForm", "HoursField", "SurfacePhotoForm"]

_CLOCK = re.compile(r"([0-9]{1,3}):([0-5][0-9])", re.ASCII)
_MOST_MINUTES = 20 * 24 * 60
_FAR_TOO_MUCH = 5  # times the larger of what is on hand and what is needed


class HoursField(forms.Field):
    """Hours of work of everybody who worked, like 6, 3.5, 3 1/2 or 3:30. Cleans to whole
    minutes."""

    widget = forms.TextInput

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("help_text", "Of all who worked, together, for example 6, 3 1/2 or 3:30")
        super().__init__(**kwargs)

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        return {"autocomplete": "off", "class": "short"}

    def prepare_value(self, value: Any) -> Any:
        return f"{value // 60}:{value % 60:02d}" if isinstance(value, int) else value

    def to_python(self, value: Any) -> int | None:
        text = "" if value is None else str(value).strip()
        if not text:
            return None
        minutes = _minutes(text)
        if minutes is None or not 0 <= minutes <= _MOST_MINUTES:
            raise ValidationError(
                f'"{self.label}" must be from 0 to 480, for example 3 1/2 or 3:30', code="hours"
            )
        return minutes


def _minutes(text: str) -> int | None:
    clock = _CLOCK.fullmatch(text)
    if clock:
        return int(clock[1]) * 60 + int(clock[2])
    try:
        return round(Fraction(parse_amount(f"{text.replace(',', '.')} each").value) * 60)
    except TakeoffError:
        return None


def photo_field(*, required: bool) -> forms.FileField:
    return forms.FileField(
        label="Photo",
        required=required,
        error_messages={"required": '"Photo" is empty. Take one, or choose a picture file'},
        help_text="A JPEG, PNG or WebP of at most 20 MB; where it was taken and by what is not "
        "kept",
        widget=forms.FileInput(attrs={"accept": "image/jpeg,image/png,image/webp"}),
    )


class SurfacePhotoForm(HouseForm):
    """A photo of one surface while it is open. `picture` is the photo once it was read."""

    photo = photo_field(required=True)
    caption = TextField(
        label="What the photo shows",
        required=False,
        max_length=300,
        example="Blocking over the tub, tape from the corner",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.picture: Picture | None = None

    def read_photo(self) -> None:
        """Write the photo anew. An error is shown at its field."""
        try:
            self.picture = reencoded(self.cleaned_data["photo"])
        except Refused as error:
            self.add_error("photo", str(error))


class DayForm(HouseForm):
    """A day's work on one phase of one room, with three boxes for each thing that may be logged.

    A photo survives a refusal: where the day was not saved, `keep_photo` stores it for `person`,
    and the form carries its token from then on (`kept_token`).
    """

    day = DayField(label="Day")
    hours = HoursField(label="Hours", required=False)
    note = TextField(
        label="Note",
        required=False,
        lines=3,
        max_length=4000,
        example="Left wall is out of plumb; shimmed it",
    )
    photo = photo_field(required=False)
    caption = TextField(
        label="What the photo shows",
        required=False,
        max_length=300,
        example="Blocking over the tub",
    )

    def __init__(
        self, *args: Any, stuff: Sequence[Stuff], person: Person | None = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.stuff = stuff
        self.person = person
        self.picture: Picture | None = None
        self.kept: KeptPhoto | None = None
        self.kept_token = str(self.data.get("kept_photo", ""))
        self.photo_removed = "remove_photo" in self.data
        for thing in stuff:
            for kind, label in (("used", "Used"), ("spoiled", "Wasted"), ("left", "Left")):
                box = NumberField(
                    label=label, required=False, help_text="", example="2" if thing.cut else "2 1/2"
                )
                box.label = f"{label}: {thing.full_name}"
                box.error_messages.update({"required": ""})
                self.fields[f"{kind}-{thing.slug}"] = box
            if len(thing.measures) > 1:
                self.fields[f"of-{thing.slug}"] = forms.ChoiceField(
                    label=f"Counted in: {thing.full_name}", choices=thing.measures, required=False
                )

    @property
    def sent_photo(self) -> Any:
        """The file sent with the form. Only after `is_valid()`."""
        return self.cleaned_data.get("photo")

    def read_photo(self) -> None:
        """Write the photo anew where one was sent. An error is shown at its field."""
        if self.photo_removed:
            self._remove_photo()
        if len(self.files.getlist("photo")) > 1:
            self.add_error("photo", '"Photo" takes one picture, and several were sent. Choose one')
        elif self.sent_photo:
            try:
                self.picture = reencoded(self.sent_photo)
            except Refused as error:
                self.add_error("photo", str(error))
        elif (
            self.cleaned_data.get("caption") and not self.kept_token and "photo" not in self.errors
        ):
            label = self.fields["caption"].label
            self.add_error("photo", f'"Photo" is empty. Choose the photo, or empty "{label}"')

    def _remove_photo(self) -> None:
        """Remove the photo, and the words that say what it shows."""
        remove_photo(self.person, self.kept_token)
        self.kept, self.kept_token = None, ""
        posted = QueryDict(mutable=True)
        posted.update(self.data)  # a MultiValueDict keeps every value of a field here
        posted["caption"] = self.cleaned_data["caption"] = ""
        self.data = posted

    def keep_photo(self) -> None:
        """Keep the photo for the next time this form is sent. To be called where the day was not
        saved."""
        if self.picture is not None and self.person is not None:
            try:
                self.kept = keep_photo(self.person, self.picture, form=self.written_key)
            except Refused as error:
                self.add_error("photo", str(error))
        elif self.kept_token and self.kept is None and "photo" not in self.errors:
            self.add_error("photo", GONE)

    @property
    def kept_source(self) -> str:
        """The kept photo, small, as the source of an image."""
        return photo_source(self.kept) if self.kept is not None else ""

    @property
    def rows(self) -> list[dict[str, Any]]:
        """Each thing with its boxes, for the page."""
        return [
            {
                "stuff": thing,
                "boxes": [
                    ("Used", self[f"used-{thing.slug}"]),
                    ("Wasted", self[f"spoiled-{thing.slug}"]),
                    ("Left", self[f"left-{thing.slug}"]),
                ],
                "of": self[f"of-{thing.slug}"] if f"of-{thing.slug}" in self.fields else None,
            }
            for thing in self.stuff
        ]

    @property
    def needed(self) -> list[dict[str, Any]]:
        return [row for row in self.rows if row["stuff"].need]

    @property
    def others(self) -> list[dict[str, Any]]:
        return [row for row in self.rows if not row["stuff"].need]

    @property
    def needed_open(self) -> bool:
        """Whether the folded list of what the phase takes holds something, or has an error."""
        return _is_filled(self.needed)

    @property
    def others_open(self) -> bool:
        """Whether the folded list of what else is on hand holds something, or has an error."""
        return _is_filled(self.others)

    @property
    def photo_open(self) -> bool:
        """Whether the folded photo was chosen, or has an error."""
        return bool(self.kept or self["caption"].data or self["photo"].errors)

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        if self.person is not None and self.kept_token:
            self.kept = find_photo(self.person, self.kept_token)
        for thing in self.stuff:
            used, spoiled, remaining = (
                cleaned.get(f"{kind}-{thing.slug}") for kind in ("used", "spoiled", "left")
            )
            if used is not None and remaining is not None:
                self.add_error(
                    f"left-{thing.slug}",
                    f"{thing.full_name}: enter what was used or what is left, not both; one says "
                    "the other",
                )
            if thing.cut:
                for kind, number in (("used", used), ("spoiled", spoiled), ("left", remaining)):
                    if number is not None and number.denominator != 1:
                        self.add_error(
                            f"{kind}-{thing.slug}",
                            f"{thing.full_name}: count sticks in whole numbers, for example 3",
                        )
            else:
                for kind, number in (("used", used), ("spoiled", spoiled)):
                    if number is not None:
                        self._refuse_far_too_much(thing, kind, number)
        return cleaned

    def _refuse_far_too_much(self, stuff: Stuff, kind: str, number: Fraction) -> None:
        """Refuse an amount far over what is there or needed. 200 screws entered as 200 boxes would
        go into the ledger and spoil later estimates."""
        chosen = self.cleaned_data.get(f"of-{stuff.slug}") or stuff.measures[0][0]
        measure = parse_amount(chosen)
        if stuff.most is None or not same_kind(measure, stuff.most):
            return
        entered = scale(measure, number)
        if convert(entered, stuff.most.unit).value <= _FAR_TOO_MUCH * stuff.most.value:
            return
        known = shown_amount(stuff.most, self.units).removesuffix(" each")
        entered_text = shown_amount(convert(entered, stuff.most.unit), self.units).removesuffix(
            " each"
        )
        self.add_error(
            f"{kind}-{stuff.slug}",
            f"{stuff.full_name}: counted in {dict(stuff.measures)[chosen]} that is "
            f"{entered_text}, far "
            f"over the {known} "
            "on hand or needed here. Change the number, or what it is counted in",
        )

    @property
    def taken(self) -> list[Taken]:
        """What was entered of each thing. Only after `is_valid()`."""
        cleaned = self.cleaned_data
        taken = []
        for thing in self.stuff:
            used, spoiled, remaining = (
                cleaned.get(f"{kind}-{thing.slug}") for kind in ("used", "spoiled", "left")
            )
            if used or spoiled or remaining is not None:
                measure = parse_amount(cleaned.get(f"of-{thing.slug}") or thing.measures[0][0])
                taken.append(
                    Taken(
                        stuff=thing,
                        measure=measure,
                        used=used,
                        spoiled=spoiled,
                        remaining=remaining,
                    )
                )
        return taken


class DayChangeForm(HouseForm):
    day = DayField(label="Day")
    hours = HoursField(label="Hours", required=False)
    note = TextField(label="Note", required=False, lines=3, max_length=4000)


def _is_filled(rows: list[dict[str, Any]]) -> bool:
    return any(box.errors or box.data for row in rows for _, box in row["boxes"])
