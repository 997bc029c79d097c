"""Form fields of the trade: lengths, money, counts and days.

Each turns what was typed into whole nanometres, whole cents, an int or a date, and says in words
what to enter where it cannot. The name of the field in a message is its label, so a summary of
errors can be read by itself.
"""

from __future__ import annotations

import datetime
import re
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from remodel.web.lengths import read_length, read_room_length, show_length

__all__ = ["CountField", "DayField", "LengthField", "MoneyField", "TextField"]

INCH_NM = 25_400_000
# 12' 6 1/2"; a metric house is shown a whole number of centimetres instead
_EXAMPLE_NM = 3_822_700_000
_EXAMPLE_METRIC_NM = 3_810_000_000

_MONEY = re.compile(
    r"[$€£]? ?(?:(?P<grouped>[0-9]{1,3}(?:,[0-9]{3}){1,2})|(?P<plain>[0-9]{1,9}))"
    r"(?:(?P<mark>[.,])(?P<part>[0-9]{1,2}))?",
    re.ASCII,
)
_COUNT = re.compile(r"[0-9]{1,9}", re.ASCII)


def _name(field: forms.Field) -> str:
    return f'"{field.label}"' if field.label else "This"


class LengthInput(forms.TextInput):
    """A plain text box (a number pad has no key for feet) that shows how the length was
    understood."""

    template_name = "web/forms/length.html"
    units = "in"

    def get_context(self, name: str, value: Any, attrs: dict[str, Any] | None) -> dict[str, Any]:
        context = super().get_context(name, value, attrs)
        context["widget"]["units"] = self.units
        return context


class LengthField(forms.Field):
    """A length as it is read off a tape. Cleans to whole nanometers, or None where it may be empty.

    `least` and `most` are limits in nanometers, both allowed. `example` is a length in nanometers
    that fits the field. `of_room` is for a length of a room itself, where a small bare number (8:
    feet or inches?) is refused. The form sets `units`, so that example, limits and value are shown
    as the house measures.
    """

    widget = LengthInput
    units = "in"

    def __init__(
        self,
        *,
        least: int = 0,
        most: int | None = None,
        example: int | None = None,
        of_room: bool = False,
        **kwargs: Any,
    ) -> None:
        self.of_room = of_room
        self.least = least
        self.most = most
        self.example = example
        super().__init__(**kwargs)

    def measure_in(self, units: str) -> None:
        """Read and show lengths in `units` ("in" or "mm"). Fills in the hint where none was
        given."""
        self.units = units
        self.widget.units = units
        if not self.help_text:
            self.help_text = (
                f"{'In millimeters' if units == 'mm' else 'In feet and inches'}, for example "
                f"{self.shown_example}"
            )

    @property
    def shown_example(self) -> str:
        default = _EXAMPLE_METRIC_NM if self.units == "mm" else _EXAMPLE_NM
        return show_length(default if self.example is None else self.example, self.units)

    def prepare_value(self, value: Any) -> Any:
        return show_length(value, self.units) if isinstance(value, int) else value

    def to_python(self, value: Any) -> int | None:
        if value is None or not str(value).strip():
            return None
        try:
            return (read_room_length if self.of_room else read_length)(str(value), self.units)
        except ValueError as error:
            raise ValidationError(f"{_name(self)}: {error}", code="length") from error

    def validate(self, value: Any) -> None:
        super().validate(value)
        if value is None:
            return
        if value < self.least or (self.most is not None and value > self.most):
            raise ValidationError(
                f"{_name(self)} must be {self._limits()}, for example {self.shown_example}",
                code="limit",
            )

    def _limits(self) -> str:
        # What only may not be zero has a least of one nanometre, which is on no tape.
        least = (
            "more than zero"
            if self.least == 1
            else f"at least {show_length(self.least, self.units)}"
        )
        if self.most is None:
            return least
        most = show_length(self.most, self.units)
        if self.least == 1:
            return f"{least} and at most {most}"
        return f"from {show_length(self.least, self.units)} to {most}"

    def has_changed(self, initial: Any, data: Any) -> bool:
        try:
            return bool(self.to_python(data) != self.to_python(self.prepare_value(initial)))
        except ValidationError:
            return True


class MoneyField(forms.Field):
    """An amount of money, zero or more. Cleans to whole cents. Takes `14.50`, `14,5`, `$14` and
    `1,250.00`."""

    widget = forms.TextInput

    def __init__(self, *, most: int = 1_000_000_000, example: str = "14.50", **kwargs: Any) -> None:
        self.most = most
        self.example = example
        kwargs.setdefault("help_text", f"With at most two decimals, for example {example}")
        super().__init__(**kwargs)

    def prepare_value(self, value: Any) -> Any:
        return f"{value // 100}.{value % 100:02d}" if isinstance(value, int) else value

    def to_python(self, value: Any) -> int | None:
        text = "" if value is None else str(value).strip()
        if not text:
            return None
        match = _MONEY.fullmatch(text) if len(text) <= 20 else None
        if match is None or (match["grouped"] and match["mark"] == ","):
            raise ValidationError(
                f"{_name(self)} must be zero or more with at most two decimals, for "
                f"example {self.example}",
                code="money",
            )
        whole = (match["grouped"] or match["plain"]).replace(",", "")
        cents = int(whole) * 100 + int((match["part"] or "0").ljust(2, "0"))
        if cents > self.most:
            raise ValidationError(
                f"{_name(self)} must be at most {self.prepare_value(self.most)}, for "
                f"example {self.example}",
                code="limit",
            )
        return cents

    def has_changed(self, initial: Any, data: Any) -> bool:
        try:
            return bool(self.to_python(data) != initial)
        except ValidationError:
            return True


class CountField(forms.Field):
    """A whole number of things, from `least` to `most`, both allowed. Cleans to an int."""

    widget = forms.TextInput

    def __init__(
        self, *, least: int = 0, most: int = 9_999, example: int | None = None, **kwargs: Any
    ) -> None:
        self.least = least
        self.most = most
        self.example = min(max(6, least), most) if example is None else example
        kwargs.setdefault("help_text", f"A whole number, for example {self.example}")
        super().__init__(**kwargs)

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        return {"inputmode": "numeric", "autocomplete": "off", "class": "short"}

    def to_python(self, value: Any) -> int | None:
        text = "" if value is None else str(value).strip()
        if not text:
            return None
        if not _COUNT.fullmatch(text) or not self.least <= int(text) <= self.most:
            raise ValidationError(
                f"{_name(self)} must be a whole number from {self.least} to {self.most}, for "
                f"example {self.example}",
                code="count",
            )
        return int(text)


class LiftField(CountField):
    """A weight that people lift, as a whole number of pounds, or of kilograms in a house in
    millimeters. Initial values and cleaned ones are pounds."""

    def __init__(self, **kwargs: Any) -> None:
        self._said = str(kwargs.pop("label"))
        kwargs.setdefault("required", False)
        super().__init__(**kwargs)
        self.measure_in("in")

    def measure_in(self, units: str) -> None:
        self.metric = units == "mm"
        self.least, self.most, self.example = (9, 227, 36) if self.metric else (20, 500, 80)
        self.label = f"{self._said}, in {'kilograms' if self.metric else 'pounds'}"
        self.help_text = f"A whole number, for example {self.example}"

    def prepare_value(self, value: Any) -> Any:
        """The number shown for so many pounds; what was typed stays as it was typed."""
        if value is None or isinstance(value, str):
            return value
        return round(Fraction(value) * POUND_KG) if self.metric else round(value)

    def to_python(self, value: Any) -> Decimal | None:  # type: ignore[override]
        if isinstance(value, Decimal):
            return value
        number = super().to_python(value)
        if number is None:
            return None
        return pounds_of(number) if self.metric else Decimal(number)

    def has_changed(self, initial: Any, data: Any) -> bool:
        shown = self.prepare_value(initial)
        return ("" if shown is None else str(shown)) != ("" if data is None else str(data).strip())


POUND_KG = Fraction("0.45359237")  # exact: the international pound of 1959


def pounds_of(kilograms: int) -> Decimal:
    """So many kilograms in pounds, to a millionth."""
    return Decimal(round(kilograms / POUND_KG * 10**6)) / 10**6


class DayField(forms.DateField):
    """A day. A phone shows its own calendar, and 2026-11-25 can be typed anywhere."""

    widget = forms.DateInput(format="%Y-%m-%d", attrs={"type": "date", "class": "short"})

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("input_formats", ["%Y-%m-%d"])
        kwargs.setdefault("help_text", "Year, month and day, for example 2026-11-25")
        super().__init__(**kwargs)

    def to_python(self, value: Any) -> datetime.date | None:
        try:
            return super().to_python(value)
        except ValidationError:
            raise ValidationError(
                f"{_name(self)} must be a day, for example 2026-11-25", code="day"
            ) from None


class TextField(forms.CharField):
    """A text in the person's own words. `example` becomes the hint. `lines` over 1 makes a box of
    that many lines.

    What is not seen is left out, as a house file could not hold it (`tidy_text`): a name that was
    copied from elsewhere often brings such signs along.
    """

    def __init__(
        self, *, example: str = "", lines: int = 1, max_length: int = 200, **kwargs: Any
    ) -> None:
        self.example = example
        if example:
            kwargs.setdefault("help_text", f"For example, {example}")
        if lines > 1:
            kwargs.setdefault("widget", forms.Textarea(attrs={"rows": lines}))
        super().__init__(max_length=max_length, **kwargs)

    def to_python(self, value: Any) -> str:
        # at first use: declaring a form does not need the engine
        from remodel.bridge.texts import tidy_text

        # before `strip`, or a space beside a sign that is not seen would stay
        text = tidy_text("" if value is None else str(value))
        return str(super().to_python(text))
