"""The form of all rules of a house. An empty field takes the default."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from remodel.bridge.house_rules import (
    HouseRule,
    changes_of,
    default_rules,
    every_rule,
    value_of,
)
from remodel.bridge.lengths import FOOT, INCH, LONGEST
from remodel.bridge.records import rules_of
from remodel.house.models import House
from remodel.pages.house.forms.fields import LengthsField, board_choices, choose
from remodel.web.fields import LengthField, LiftField, MoneyField
from remodel.web.forms import HouseForm
from remodel.web.lengths import show_length

__all__ = ["HouseRulesForm"]

_NUMBER = re.compile(r"[0-9]{1,3}(?:[.,][0-9]{1,9})?|[.,][0-9]{1,9}", re.ASCII)
_MOST = 600


class NumberField(forms.Field):
    """A number from 0 with decimals, of what `of` says: minutes of work, or an area. Cleans to a
    decimal."""

    widget = forms.TextInput

    def __init__(self, *, example: str, of: str = "minutes", **options: Any) -> None:
        self.example, self.of = example, of
        super().__init__(**options)

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        return {"inputmode": "decimal", "autocomplete": "off", "class": "short"}

    def prepare_value(self, value: Any) -> Any:
        return f"{value.normalize():f}" if isinstance(value, Decimal) else value

    def to_python(self, value: Any) -> Decimal | None:
        text = "" if value is None else str(value).strip()
        if not text:
            return None
        number = Decimal(text.replace(",", ".")) if _NUMBER.fullmatch(text) else None
        if number is None or number > _MOST:
            raise ValidationError(
                f'"{self.label}" must be from 0 to {_MOST} {self.of}. Enter, for example, '
                f"{self.example}",
                code="number",
            )
        return number

    def has_changed(self, initial: Any, data: Any) -> bool:
        try:
            return bool(self.to_python(data) != initial)
        except ValidationError:
            return True


class HouseRulesForm(HouseForm):
    """Every rule of a house, each with the value it has now. Only those that were changed are
    written."""

    def __init__(self, *args: Any, house: House, **kwargs: Any) -> None:
        self.house, self.now = house, rules_of(house)
        self.default = default_rules(house.units)
        own = {
            rule.name: _field(rule, house, value_of(self.default, rule)) for rule in every_rule()
        }
        # a form copies these as it is made, and its other fields are set up from then on
        self.base_fields = {**type(self).base_fields, **own}  # type: ignore[misc]
        super().__init__(*args, units=house.units, **kwargs)
        for rule in every_rule():
            self._start(rule)

    def _start(self, rule: HouseRule) -> None:
        """Fill in what the rule is now. A board that is no longer on sale is shown all the same."""
        value = self.initial[rule.name] = value_of(self.now, rule)
        field = self.fields[rule.name]
        field.help_text = rule.in_units(self.units).why
        if rule.kind == "board" and value not in dict(field.choices):  # type: ignore[attr-defined]
            field.choices = [(value, value), *field.choices]  # type: ignore[attr-defined]
        if isinstance(field, LengthsField):
            field.units = self.units

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        least, most = (self._length(cleaned, name) for name in ("floor_gap", "largest_floor_gap"))
        if least is not None and most is not None and least > most:
            self.add_error(
                "floor_gap",
                f'"{self.fields["floor_gap"].label}" must be at most the largest gap left at the '
                f"floor. Enter, for example, {show_length(most, self.units)}",
            )
        return cleaned

    def _length(self, cleaned: dict[str, Any], name: str) -> int | None:
        """A length as it would be stored; None where what was typed cannot be read."""
        if name in self.errors:
            return None
        typed: int | None = cleaned.get(name)
        return int(getattr(self.default, name)) if typed is None else typed

    def rules(self) -> dict[str, Any]:
        """The rules that were changed, as `house_set_rules` takes them."""
        changed = {name: self.cleaned_data[name] for name in self.changed_data if name in self.rows}
        return changes_of(self.now, changed, self.house.units)

    @property
    def rows(self) -> dict[str, HouseRule]:
        return {rule.name: rule for rule in every_rule()}


def _field(rule: HouseRule, house: House, default: Any) -> forms.Field:
    """The field of a rule. A number may be left empty: it then takes the default, also its
    example."""
    rule = rule.in_units(house.units)
    label = rule.title
    if rule.kind in ("length", "longest"):
        least = {0: 0, 2: 2 * FOOT, 4: 4 * INCH}[rule.least]
        return LengthField(
            label=label,
            least=int(least),
            most=int(LONGEST),
            example=int(default or 12 * FOOT),
            help_text=rule.why,
            required=False,
        )
    if rule.kind == "lengths":
        return LengthsField(label=label, required=False)
    if rule.kind == "money":
        return MoneyField(
            label=label,
            most=1_000_000 if rule.name == "hour" else 1_000_000_000,
            example=f"{(default or 100) / 100:.2f}",
            widget=forms.TextInput(
                attrs={"inputmode": "decimal", "autocomplete": "off", "class": "short"}
            ),
            required=False,
        )
    if rule.kind == "minutes":
        return NumberField(label=label, example=f"{default.normalize():f}", required=False)
    if rule.kind == "coverage":
        metric = house.units == "mm"
        return NumberField(
            label=label,
            example="2" if metric else "10",
            of="square meters" if metric else "square feet",
            required=False,
        )
    if rule.kind == "pounds":
        return LiftField(label=label)
    if rule.kind == "yes":
        return forms.BooleanField(label=label, required=False)
    if rule.kind == "board":
        return forms.ChoiceField(label=label, choices=board_choices(house))
    return choose(list(rule.choices), label=label)
