"""Forms of a house: a new one in seven answers, the settings that may be changed later, and a house
file to import."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any

from django import forms

from remodel.bridge import words
from remodel.bridge.lengths import FOOT, INCH, MM
from remodel.bridge.records import USUAL_RULES, rules_of
from remodel.house.models import House
from remodel.pages.house.forms.fields import UNKNOWN, choose, spacing_text
from remodel.web.fields import LiftField, MoneyField, TextField, pounds_of
from remodel.web.forms import HouseForm
from remodel.web.lengths import show_length

__all__ = ["HouseAnswersForm", "HouseFileForm", "HouseRemoveForm"]


def _cents_of(price: Decimal) -> int:
    return round(price * 100)


_STRAIGHT = str.maketrans("\u2018\u2019\u201c\u201d", "''\"\"")

_CURRENCIES: words.Choices = [
    ("USD", "US dollars"),
    ("CAD", "Canadian dollars"),
    ("EUR", "Euros"),
    ("GBP", "Pounds sterling"),
    ("AUD", "Australian dollars"),
    ("NZD", "New Zealand dollars"),
]
_FRAMED: words.Choices = [
    ("16", "16 in, or 400 mm"),
    ("24", "24 in, or 600 mm"),
    (UNKNOWN, "I don't know yet"),
]
# Lengths board is sold in; the same sheets in both systems, so millimetres are of those sheets.
_LONGEST: words.Choices = [
    *((str(feet), f"{feet} ft ({round(feet * FOOT / MM)} mm)") for feet in (8, 9, 10, 12, 14, 16)),
    (UNKNOWN, "I don't know yet"),
]
_KEPT = "kept"  # the answer is none of those on offer, and stays
_SPACING = {
    ("16", "in"): 16 * INCH,
    ("24", "in"): 24 * INCH,
    ("16", "mm"): 400 * MM,
    ("24", "mm"): 600 * MM,
}


class HouseAnswersForm(HouseForm):
    """Seven questions about a house, each with an answer that fits most houses. The same serve to
    change a house."""

    name = TextField(label="Name of the house", example="Hollow Lane 12")
    # the field is taken off the class, so that the form keeps its own `units`
    units = choose(words.UNIT_SYSTEMS, label="What you measure in", initial="in")  # type: ignore[assignment]
    framed = choose(
        _FRAMED,
        label="How far apart the studs are, center to center",
        initial="16",
        help_text="Most walls have it the same all over. Each room, and each wall, can say "
        "otherwise",
    )
    longest = forms.ChoiceField(
        choices=_LONGEST,
        label="The longest board that gets in",
        initial="12",
        help_text="Through the door, round the corners and up the stairs. Each room can say "
        "otherwise",
    )
    heaviest_lift = LiftField(label="The heaviest sheet you lift")
    currency = forms.ChoiceField(choices=_CURRENCIES, label="What you pay in", initial="USD")
    hour = MoneyField(
        label="What an hour of your work is worth",
        required=False,
        most=1_000_000,
        example="15.00",
        initial=_cents_of(USUAL_RULES.hour),
        help_text="For example, 15.00. Plans weigh fewer pieces and seams against the price of "
        "sheets by it. With 0, only what you pay counts",
    )

    def __init__(self, *args: Any, house: House | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.is_new = house is None
        lift = self.fields["heaviest_lift"]
        assert isinstance(lift, LiftField)
        if house is None:
            lift.label = f"{lift.label}, or in kilograms if you measure in millimeters"
        else:
            lift.measure_in(house.units)
        lift.help_text = (
            f"For example, {lift.example}. Heavier sheets are in no plan. Empty: no limit. Each "
            "room can say less"
        )
        if house is None:
            return
        if house.units == "mm":  # a new house is asked before it is known what it is measured in
            for name in ("framed", "longest"):
                field = self.fields[name]
                field.choices = [(key, _metric(words)) for key, words in field.choices]  # type: ignore[attr-defined]
        rules = rules_of(house)
        longest = rules.longest_board
        if not rules.wall_spacing_known:
            framed = UNKNOWN
        elif (framed := _framed_word(rules.assumed_wall_spacing)) == _KEPT:
            kept = (_KEPT, spacing_text(rules.assumed_wall_spacing, house.units))
            self.fields["framed"].choices = [kept, *self.fields["framed"].choices]  # type: ignore[attr-defined]
        if house.currency not in dict(_CURRENCIES):
            self.fields["currency"].choices = [*_CURRENCIES, (house.currency, house.currency)]  # type: ignore[attr-defined]
        if longest is not None and _longest_word(longest) == _KEPT:
            kept = (_KEPT, show_length(longest, house.units))
            self.fields["longest"].choices = [kept, *self.fields["longest"].choices]  # type: ignore[attr-defined]
        self.initial.update(
            {
                "name": house.name,
                "units": house.units,
                "currency": house.currency,
                "longest": UNKNOWN if longest is None else _longest_word(longest),
                "framed": framed,
                "heaviest_lift": rules.heaviest_lift,
                "hour": _cents_of(rules.hour),
            }
        )

    def columns(self) -> dict[str, Any]:
        return {name: self.cleaned_data[name] for name in ("name", "units", "currency")}

    def rules(self) -> dict[str, Any]:
        """The rules that the answers set. Where the studs are not known, they stay not known, and
        so does what is assumed of them."""
        framed = str(self.cleaned_data["framed"])
        rules: dict[str, Any] = {"wall_spacing_known": framed != UNKNOWN}
        spacing = _SPACING.get((framed, self.cleaned_data["units"]))
        if spacing is not None:
            rules["assumed_wall_spacing"] = int(spacing)
        # Not written where nobody changed it: a house file may say it to less than a cent.
        if self.cleaned_data["hour"] is not None and "hour" in self.changed_data:
            rules["hour"] = f"{Decimal(self.cleaned_data['hour']) / 100:.2f}"
        lift = self.cleaned_data["heaviest_lift"]
        if "heaviest_lift" in self.changed_data:
            # in a new house the number is of what was chosen beside it
            kilograms = self.is_new and self.cleaned_data["units"] == "mm"
            rules["heaviest_lift"] = pounds_of(int(lift)) if lift and kilograms else lift
        longest = self.cleaned_data["longest"]
        if longest == UNKNOWN:
            rules["longest_board"] = None
        elif longest != _KEPT:
            rules["longest_board"] = int(longest) * FOOT
        return rules


def _longest_word(nm: int) -> str:
    feet = str(nm // FOOT)
    return feet if nm % FOOT == 0 and feet in dict(_LONGEST) else _KEPT


def _framed_word(nm: int) -> str:
    return next((word for (word, _), spacing in _SPACING.items() if spacing == nm), _KEPT)


class HouseRemoveForm(HouseForm):
    """The house's name, typed out, so that a house is not removed for everybody by mistake."""

    name = TextField(label="Name of the house")

    def __init__(self, *args: Any, house: House, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._name = house.name
        self.fields["name"].help_text = f"Type {house.name}"
        self.fields["name"].widget.attrs["autocomplete"] = "off"

    def clean_name(self) -> str:
        typed = str(self.cleaned_data["name"])
        if _plainly(typed) != _plainly(self._name):
            raise forms.ValidationError(
                f'"Name of the house" must be {self._name}, for it to be removed'
            )
        return typed


def _plainly(name: str) -> str:
    """A name without what a phone's keyboard changes: capitals, spaces and curled quotes."""
    return " ".join(name.translate(_STRAIGHT).casefold().split())


def _metric(words: str) -> str:
    """The millimeters of a choice that names both."""
    match = re.search(r"[0-9]+ mm", words)
    return match[0] if match else words


class HouseFileForm(HouseForm):
    """A house file to import, all of it or nothing."""

    file = forms.FileField(
        label="House file", help_text="A .json file that Halfbay wrote, or one written by hand"
    )
    most_bytes = 2_000_000

    def clean_file(self) -> bytes:
        file = self.cleaned_data["file"]
        if file.size > self.most_bytes:
            raise forms.ValidationError(
                '"House file" is larger than 2 MB, the most that is read. Choose another'
            )
        content: bytes = file.read()
        return content
