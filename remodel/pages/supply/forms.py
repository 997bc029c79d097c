"""Forms of prices, orders, receipts and stock."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.html import format_html
from django.utils.safestring import SafeString

from remodel.bridge.lengths import (
    FOOT,
    INCH,
    TakeoffError,
    amount,
    convert,
    is_unit_of,
    parse_amount,
)
from remodel.bridge.supply import is_paint
from remodel.bridge.words import AMOUNT_UNITS
from remodel.supply.models import Pack, Priced, Store
from remodel.web.fields import CountField, DayField, LengthField, MoneyField, TextField
from remodel.web.forms import HouseForm
from remodel.web.templatetags.halfbay import money

__all__ = [
    "ConfirmForm",
    "LineForm",
    "LongestForm",
    "MaterialForm",
    "NumberField",
    "OrderAddForm",
    "OrderForm",
    "PackForm",
    "PlaceForm",
    "PriceFileForm",
    "PricesForm",
    "ReceiveForm",
    "ReturnForm",
    "SheetForm",
    "StoreForm",
]

_NO_STORE = ("", "No store named")


class NumberField(forms.Field):
    """A number of zero or more, like 4.5 or 1 1/2. Cleans to an exact fraction."""

    widget = forms.TextInput

    def __init__(self, *, positive: bool = False, example: str = "4.5", **kwargs: Any) -> None:
        self.positive = positive
        self.example = example
        kwargs.setdefault("help_text", f"A number, for example {example}")
        super().__init__(**kwargs)

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        return {"autocomplete": "off", "class": "short"}

    def to_python(self, value: Any) -> Fraction | None:
        text = "" if value is None else str(value).strip().replace(",", ".")
        if not text:
            return None
        try:
            number: Fraction = parse_amount(f"{text} each").value
        except TakeoffError:
            number = Fraction(-1)
        if number < 0 or number > 10**9 or (self.positive and not number):
            least = "more than zero" if self.positive else "zero or more"
            raise ValidationError(
                f'"{self.label}" must be a number, {least}, for example {self.example}',
                code="number",
            )
        return number


def _store_choices(stores: Iterable[Store]) -> list[tuple[str, str]]:
    return [_NO_STORE, *((str(store.pk), store.name) for store in stores)]


class StoreField(forms.ChoiceField):
    """One of the house's stores, or none."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("required", False)
        kwargs.setdefault("help_text", "Orders are listed by store")
        super().__init__(**kwargs)

    def stand(self, stores: Sequence[Store]) -> None:
        self.stores = {str(store.pk): store for store in stores}
        self.choices = _store_choices(stores)

    def clean(self, value: Any) -> Any:
        return self.stores.get(super().clean(value))


class StoreForm(HouseForm):
    name = TextField(label="Name of the store", example="Mill Street Lumber", max_length=200)
    phone = TextField(label="Phone", example="555 0142", required=False, max_length=40)
    note = TextField(
        label="Note",
        example="Delivers on Fridays; board is at the back, ask for the lumber desk",
        required=False,
        max_length=1000,
    )


class LongestForm(HouseForm):
    longest_board = LengthField(
        label="Longest board that gets in",
        required=False,
        least=4 * FOOT,
        most=20 * FOOT,
        example=12 * FOOT,
    )


class PriceFileForm(HouseForm):
    """A table of prices to bring in, all of it or nothing."""

    file = forms.FileField(
        label="Price table", help_text="A .csv or .xlsx file, with the columns of the one above"
    )
    most_bytes = 2_000_000

    def clean_file(self) -> bytes:
        file = self.cleaned_data["file"]
        if file.size > self.most_bytes:
            raise ValidationError(
                '"Price table" is larger than 2 MB, the most that is read. Choose another'
            )
        content: bytes = file.read()
        return content


class PricesForm(HouseForm):
    """The prices of some things on sale, each with its box and a tick for things that no store here
    has. Where several stores sell one, each row keeps its store, and a tick says which is bought.
    `same` tells which rows are one thing."""

    store = StoreField(label="Store")

    def __init__(
        self,
        *args: Any,
        rows: Sequence[Priced],
        names: dict[Any, str],
        stores: Sequence[Store],
        same: Callable[[Any], Hashable],
        **kwargs: Any,
    ):
        super().__init__(*args, **kwargs)
        self.rows = rows
        alike = Counter(same(row) for row in rows)
        for row in rows:
            price = MoneyField(label=f"Price of {names[row.pk]}", required=False, help_text="")
            price.initial = row.price
            self.fields[f"price-{row.pk}"] = price
            self.fields[f"gone-{row.pk}"] = forms.BooleanField(
                label=f"Not sold here: {names[row.pk]}", required=False
            )
            if alike[same(row)] > 1:
                self.fields[f"chosen-{row.pk}"] = forms.BooleanField(
                    label=f"Buy this even where another is cheaper: {names[row.pk]}",
                    required=False,
                    initial=row.chosen,
                )
        self.names = names
        known = {str(row.store_id or "") for row in rows}
        self.keeps_stores = max(alike.values(), default=0) > 1
        if self.keeps_stores:
            del self.fields["store"]
            return
        self.fields["store"].stand(stores)  # type: ignore[attr-defined]
        self.fields["store"].initial = (
            known.pop() if len(known) == 1 else str(stores[0].pk) if len(stores) == 1 else ""
        )

    @property
    def lines(self) -> list[dict[str, Any]]:
        """Each row with its fields, for the page."""
        return [
            {
                "row": row,
                "name": self.names[row.pk],
                "price": self[f"price-{row.pk}"],
                "gone": self[f"gone-{row.pk}"],
                "chosen": self[f"chosen-{row.pk}"] if f"chosen-{row.pk}" in self.fields else None,
            }
            for row in self.rows
        ]

    @property
    def prices(self) -> list[tuple[Priced, int]]:
        """Each row that has a price and stays on sale, with its cents."""
        cleaned = self.cleaned_data
        return [
            (row, cleaned[f"price-{row.pk}"])
            for row in self.rows
            if cleaned.get(f"price-{row.pk}") is not None and not cleaned.get(f"gone-{row.pk}")
        ]

    @property
    def chosen(self) -> dict[Any, bool]:
        """Of rows that another store sells too, whether each is bought even where it is dearer."""
        return {
            row.pk: self.cleaned_data[f"chosen-{row.pk}"]
            for row in self.rows
            if f"chosen-{row.pk}" in self.fields
        }

    @property
    def gone(self) -> list[Priced]:
        return [row for row in self.rows if self.cleaned_data.get(f"gone-{row.pk}")]


class ConfirmForm(HouseForm):
    """Sample prices that a person confirms as a store's own."""

    store = StoreField(label="Store")
    right = forms.MultipleChoiceField(
        label="Prices that are right as they stand",
        widget=forms.CheckboxSelectMultiple,
        error_messages={
            "required": '"Prices that are right as they stand" is empty. Tick at least one'
        },
    )

    def __init__(
        self,
        *args: Any,
        samples: Sequence[tuple[Priced, str]],
        stores: Sequence[Store],
        **kwargs: Any,
    ):
        super().__init__(*args, **kwargs)
        self.samples = {str(row.pk): row for row, _ in samples}
        self.fields["right"].choices = [(str(row.pk), text) for row, text in samples]  # type: ignore[attr-defined]
        self.fields["store"].stand(stores)  # type: ignore[attr-defined]

    @property
    def priced(self) -> list[Priced]:
        return [self.samples[key] for key in self.cleaned_data["right"]]


class SheetForm(HouseForm):
    board = forms.ChoiceField(label="Kind of board")
    thickness = LengthField(label="Thickness", least=INCH // 8, most=2 * INCH, example=INCH // 2)
    width = LengthField(label="Width", least=12 * INCH, most=6 * FOOT, example=48 * INCH)
    length = LengthField(label="Length", least=2 * FOOT, most=20 * FOOT, example=12 * FOOT)
    price = MoneyField(label="Price of one sheet", example="14.98")
    store = StoreField(label="Store")

    def __init__(
        self, *args: Any, kinds: Sequence[tuple[str, str]], stores: Sequence[Store], **kwargs: Any
    ):
        super().__init__(*args, **kwargs)
        self.fields["board"].choices = [("", "Choose a kind"), *kinds]  # type: ignore[attr-defined]
        self.fields["store"].stand(stores)  # type: ignore[attr-defined]


class PackForm(HouseForm):
    """A pack of a material: its name, what it holds, and what it costs."""

    name = TextField(label="Name of the package", example="5 lb box", max_length=200)
    holds = NumberField(label="It holds", positive=True, example="5")
    unit = forms.ChoiceField(
        label="Of",
        choices=[(unit, "pieces" if unit == "each" else unit) for unit, _ in AMOUNT_UNITS],
    )
    price = MoneyField(label="Price of one package", example="24.98")
    weight = NumberField(label="Weight in pounds", required=False, positive=True, example="5")
    store = StoreField(label="Store")

    def __init__(self, *args: Any, stores: Sequence[Store], **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.fields["store"].stand(stores)  # type: ignore[attr-defined]
        if self.units == "mm":
            self.fields["weight"].label = "Weight in kilograms"
            self.fields["name"].help_text = "For example, 2.5 kg box"
        unit = self.fields["unit"]
        now = self.initial.get("unit")
        unit.choices = [  # type: ignore[attr-defined]
            choice
            for choice in unit.choices  # type: ignore[attr-defined]
            if choice[0] == now or is_unit_of(choice[0], self.units)
        ]

    @property
    def pack(self) -> dict[str, Any]:
        """The pack as the services take it: what it holds as an amount, and its weight in
        pounds."""
        given = self.cleaned_data
        return {
            "name": given["name"],
            "holds": amount(given["holds"], given["unit"]),
            "price": given["price"],
            "weight": self._pounds(given["weight"]),
            "store": given["store"],
        }

    def _pounds(self, weight: Fraction | None) -> Decimal | None:
        if weight is None:
            return None
        if self.units == "mm":
            weight = convert(amount(weight, "kg"), "lb").value
        return Decimal(round(weight * 10**6)) / 10**6


class MaterialForm(PackForm):
    material = TextField(label="Name of the material", example="Acoustic sealant", max_length=200)
    cut = forms.BooleanField(label="It comes in sticks that are cut to length", required=False)
    field_order = ("material", "cut", "name", "holds", "unit", "price", "weight", "store")


class OrderForm(HouseForm):
    """What an order is for. `states` says for each room where its phases stand, beside its box."""

    phases = forms.MultipleChoiceField(
        label="Phases",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": '"Phases" is empty. Tick at least one, for example Hanging'},
    )
    rooms = forms.MultipleChoiceField(
        label="Rooms",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": '"Rooms" is empty. Tick at least one'},
    )
    name = TextField(
        label="Name of the order", example="Board for upstairs", required=False, max_length=200
    )

    def __init__(
        self,
        *args: Any,
        phases: Sequence[tuple[str, str]],
        rooms: Sequence[Any],
        states: Mapping[Any, SafeString],
        **kwargs: Any,
    ):
        super().__init__(*args, **kwargs)
        self.fields["phases"].choices = phases  # type: ignore[attr-defined]
        self.rooms_by_key = {str(room.pk): room for room in rooms}
        self.fields["rooms"].choices = [  # type: ignore[attr-defined]
            (key, format_html("{}{}", room.name, states.get(room.pk, "")))
            for key, room in self.rooms_by_key.items()
        ]

    def clean_rooms(self) -> list[Any]:
        return [self.rooms_by_key[key] for key in self.cleaned_data["rooms"]]


class LineForm(HouseForm):
    packs = CountField(label="How many to buy", most=100_000)
    reason = TextField(
        label="Why another number", example="One spare", required=False, max_length=500
    )


class OrderAddForm(HouseForm):
    pack = forms.ChoiceField(label="What to buy")
    packs = CountField(label="How many", least=1, most=100_000, example=2)
    reason = TextField(label="Why", example="For the garage", max_length=500)

    def __init__(self, *args: Any, packs: Sequence[Pack], **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.packs_by_key = {str(pack.pk): pack for pack in packs}
        self.fields["pack"].choices = [  # type: ignore[attr-defined]
            ("", "Choose a package"),
            *(
                (key, f"{pack.material.name}, {pack.name}")
                for key, pack in self.packs_by_key.items()
            ),
        ]

    def clean_pack(self) -> Pack:
        return self.packs_by_key[self.cleaned_data["pack"]]


class OtherSizesForm(HouseForm):
    """The sizes of board that a store has, where it has none of another."""

    sizes_there = forms.MultipleChoiceField(
        label="Sizes the store has",
        help_text="Look at the shelf: untick what is not there either",
        widget=forms.CheckboxSelectMultiple,
        error_messages={
            "required": '"Sizes the store has" is empty. Tick at least one, or buy elsewhere'
        },
    )

    def __init__(self, *args: Any, sizes: Mapping[tuple[int, int], str], **kwargs: Any):
        super().__init__(*args, **kwargs)
        field = self.fields["sizes_there"]
        field.choices = [(f"{width}x{length}", name) for (width, length), name in sizes.items()]  # type: ignore[attr-defined]
        field.initial = [key for key, _ in field.choices]  # type: ignore[attr-defined]

    @property
    def sizes(self) -> list[tuple[int, int]]:
        """By width and length."""
        chosen = (key.split("x") for key in self.cleaned_data["sizes_there"])
        return [(int(width), int(length)) for width, length in chosen]


class OtherPackForm(HouseForm):
    """Another package of a material, as many as hold what was to be bought."""

    pack = forms.ChoiceField(
        label="Take instead",
        widget=forms.RadioSelect,
        error_messages={"required": '"Take instead" is empty. Choose a package'},
    )

    def __init__(self, *args: Any, packs: Sequence[tuple[Pack, int, str]], **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.counts = {str(pack.pk): (pack, count) for pack, count, _ in packs}
        self.fields["pack"].choices = [(str(pack.pk), words) for pack, _, words in packs]  # type: ignore[attr-defined]

    @property
    def values(self) -> dict[str, Any]:
        pack, count = self.counts[self.cleaned_data["pack"]]
        return {"pack": pack, "packs": count}


class PlaceForm(HouseForm):
    """What a person says to before an order is placed all the same. The page shows a box only where
    it applies; `unseen` are the rooms whose framing nobody has looked at."""

    without_prices = forms.BooleanField(
        label="Order without the prices that are samples", required=False
    )
    without_unmet = forms.BooleanField(
        label="Order the rest without what nothing on sale meets", required=False
    )
    unseen_framing = forms.BooleanField(label="Order all the same", required=False)

    def __init__(self, *args: Any, unseen: Sequence[str] = (), **kwargs: Any):
        super().__init__(*args, **kwargs)
        if unseen:
            self.fields[
                "unseen_framing"
            ].label = f"Order all the same: nobody has looked at the framing of {', '.join(unseen)}"


class ReceiveForm(HouseForm):
    """A delivery: packs and money for each line that is still open. What was paid may stay empty:
    then it is what the packs were ordered at. `beyond` says that more came than is to come, which
    the service refuses unless the person keeps it."""

    day = DayField(label="Day it came", required=False)
    note = TextField(label="Note", example="One corner crushed", required=False, max_length=500)
    keep_more = forms.BooleanField(label="We keep what came beyond the order", required=False)

    def __init__(self, *args: Any, lines: Sequence[Any], currency: str = "USD", **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.lines = lines
        self.beyond = False
        for line in lines:
            came = CountField(
                label=f"Received: {line.name}, {line.line.pack}",
                required=False,
                most=100_000,
                help_text="",
            )
            sample = ", a sample price" if line.line.sample_price else ""
            paid = MoneyField(
                label=f"Total paid: {line.name}, {line.line.pack}",
                required=False,
                help_text=f"If empty: {money(line.line.price, currency)} each{sample}",
            )
            came.initial = line.to_come or None
            if is_paint(line.line.item):
                self.fields[f"batch-{line.line.pk}"] = TextField(
                    label=f"Batch: {line.name}, {line.line.pack}",
                    required=False,
                    max_length=40,
                    help_text="The number stamped on the lid",
                )
            self.fields[f"came-{line.line.pk}"] = came
            self.fields[f"paid-{line.line.pk}"] = paid

    @property
    def rows(self) -> list[dict[str, Any]]:
        return [
            {
                "shown": line,
                "came": self[f"came-{line.line.pk}"],
                "paid": self[f"paid-{line.line.pk}"],
                "batch": self[f"batch-{line.line.pk}"]
                if f"batch-{line.line.pk}" in self.fields
                else None,
            }
            for line in self.lines
        ]

    @property
    def batches(self) -> dict[Any, str]:
        """The batches that were noted, by the line's id."""
        return {
            line.line.pk: batch
            for line in self.lines
            if (batch := self.cleaned_data.get(f"batch-{line.line.pk}"))
        }

    @property
    def receipts(self) -> list[tuple[Any, int, int | None]]:
        """Each line of which packs arrived, as (line, packs, cents); no cents where none were
        typed."""
        cleaned = self.cleaned_data
        return [
            (line.line, cleaned[f"came-{line.line.pk}"], cleaned.get(f"paid-{line.line.pk}"))
            for line in self.lines
            if cleaned.get(f"came-{line.line.pk}")
        ]

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        for line in self.lines:
            if (cleaned.get(f"came-{line.line.pk}") or 0) > line.to_come:
                self.beyond = True
        if not self.errors and not self.receipts:
            raise ValidationError(
                "Nothing came yet. Enter how many packages of at least one line came, for example 3"
            )
        return cleaned


class ReturnForm(HouseForm):
    """Packs that go back to the store."""

    packs = CountField(label="Packs that went back", least=1, most=100_000, example=1)
    refund = MoneyField(label="What the store gave for them", example="12.00")
    day = DayField(label="Day", required=False)
    note = TextField(label="Note", example="Unopened", required=False, max_length=500)
