"""Forms of the stock: counts, what is spoiled, moved or found, what is here already, offcuts."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from remodel.bridge.lengths import FOOT, INCH, Amount, parse_amount, show_length
from remodel.pages.supply.forms import NumberField
from remodel.supply.models import OwnedSheet
from remodel.web.fields import CountField, LengthField, TextField
from remodel.web.forms import HouseForm, RowForm

__all__ = [
    "CountLeftForm",
    "CountSticksForm",
    "FoundForm",
    "HaveForm",
    "HaveRow",
    "MoveForm",
    "OffcutForm",
    "OffcutRow",
    "SpoilForm",
]

Measures = Sequence[tuple[str, str]]
# A board as the form of an offcut offers it: its key and its thickness in nanometers.
BoardSize = tuple[str, int, int, int]

_EDGES = [("2", "2: both long edges"), ("1", "1: one long edge"), ("0", "0: both are cut")]
_MOST = 100_000
_WHOLE = "Count sticks in whole numbers, for example 3"


class _AmountForm(HouseForm):
    """An amount of one item: in its unit, in its packs, or as a number of sticks where the item is
    `cut` to length."""

    number = NumberField(label="How much", positive=True, example="2")
    of = forms.ChoiceField(label="Counted in")

    def __init__(self, *args: Any, measures: Measures, cut: bool = False, **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.cut = cut
        self.fields["of"].choices = list(measures)  # type: ignore[attr-defined]
        if len(measures) == 1:
            self.fields["of"].initial = measures[0][0]

    def clean_number(self) -> Fraction | None:
        number: Fraction | None = self.cleaned_data["number"]
        if self.cut and number is not None and not _whole(number):
            raise ValidationError(_WHOLE)
        return number

    @property
    def counted(self) -> tuple[Amount, int]:
        """The amount and how many times: for an item that is cut to length, one stick and the
        number of sticks."""
        number, size = self.cleaned_data["number"], parse_amount(self.cleaned_data["of"])
        return (size, int(number)) if self.cut else (Amount(size.value * number, size.unit), 1)


class CountLeftForm(_AmountForm):
    """What is left of an item: so many packs, and what is loose or in an open one."""

    number = NumberField(label="How much is left", example="2")
    rest = NumberField(label="And loose", required=False, example="40")
    note = TextField(label="Note", example="Counted in the garage", required=False, max_length=500)
    field_order = ("number", "of", "rest", "note")

    def __init__(self, *args: Any, measures: Measures, **kwargs: Any):
        super().__init__(*args, measures=measures, **kwargs)
        self.unit = parse_amount(measures[0][0]).unit
        if len(measures) == 1:
            del self.fields["rest"]
            return
        words = "pieces" if self.unit == "each" else self.unit
        self.fields["rest"].label = f"And loose, in {words}"
        self.fields["rest"].help_text = f"What is left in open packages, in {words}, for example 40"

    @property
    def remaining(self) -> Amount:
        amount, _ = self.counted
        return Amount(amount.value + (self.cleaned_data.get("rest") or 0), amount.unit)


class CountSticksForm(HouseForm):
    """How many sticks of each length are left. `lengths` are pairs of a length in nanometers and
    its words; `here` is how many of each there should be."""

    note = TextField(label="Note", example="Counted in the garage", required=False, max_length=500)

    def __init__(
        self,
        *args: Any,
        lengths: Sequence[tuple[int, str]],
        here: Mapping[int, int],
        **kwargs: Any,
    ):
        self.lengths = [length for length, _ in lengths]
        super().__init__(*args, **kwargs)
        for length, words in lengths:
            count = CountField(label=f"Sticks of {words}", most=_MOST, help_text="")
            count.initial = max(0, here.get(length, 0))
            self.fields[f"sticks-{length}"] = count
        self.order_fields([*(f"sticks-{length}" for length in self.lengths), "note"])

    @property
    def remaining(self) -> dict[int, int]:
        return {length: self.cleaned_data[f"sticks-{length}"] for length in self.lengths}


class SpoilForm(_AmountForm):
    number = NumberField(label="How much is wasted", positive=True, example="2")
    note = TextField(label="What happened", example="Got wet", required=False, max_length=500)


class FoundForm(_AmountForm):
    number = NumberField(label="How much more was here", positive=True, example="2")
    note = TextField(label="Note", example="From the last room", required=False, max_length=500)


class MoveForm(_AmountForm):
    number = NumberField(label="How much moves", positive=True, example="2")
    to = TextField(label="Where to", example="Garage", max_length=80)
    note = TextField(label="Note", required=False, max_length=500)


@dataclass(frozen=True, slots=True, kw_only=True)
class HaveRow:
    """One line of "what we already have": a size of sheet, a material, or one length of a stick.

    `shown` is the number that the ledger has, as text, in the first of `measures`; empty where
    nothing is known. `whole` things have no halves. `group` is the heading the line stands under.
    Lines that are `folded` open by a press, for no room takes such a thing.
    """

    item: str
    name: str
    group: str
    measures: Measures
    chosen: str = ""
    shown: str = ""
    whole: bool = False
    length: int = 0
    folded: bool = False


class HaveForm(HouseForm):
    """Numbers of what is here. A line that stands as the page showed it is left alone."""

    def __init__(self, *args: Any, rows: Sequence[HaveRow], **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.rows = rows
        for index, row in enumerate(rows):
            number = NumberField(label=row.name, required=False, example="1/2", help_text="")
            number.initial = row.shown
            self.fields[f"number-{index}"] = number
            if len(row.measures) > 1:
                measure = forms.ChoiceField(label=f"{row.name}: counted in", choices=row.measures)
                measure.initial = row.chosen or row.measures[0][0]
                self.fields[f"of-{index}"] = measure
            self.fields[f"was-{index}"] = forms.CharField(
                required=False, max_length=200, widget=forms.HiddenInput, initial=_was(row)
            )

    @property
    def groups(self) -> list[dict[str, Any]]:
        """The lines under their headings, for the page."""
        groups: dict[str, list[dict[str, Any]]] = {}
        for index, row in enumerate(self.rows):
            groups.setdefault(row.group, []).append(
                {
                    "row": row,
                    "number": self[f"number-{index}"],
                    "of": self[f"of-{index}"] if f"of-{index}" in self.fields else None,
                    "was": self[f"was-{index}"],
                }
            )
        return [
            {
                "name": name,
                "lines": lines,
                "folded": all(line["row"].folded and not line["number"].errors for line in lines),
                "narrow": not any(line["of"] for line in lines),
            }
            for name, lines in groups.items()
        ]

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        for index, row in enumerate(self.rows):
            number = cleaned.get(f"number-{index}")
            if row.whole and number is not None and not _whole(number):
                self.add_error(
                    f"number-{index}", f"{row.name}: enter a whole number, for example 3"
                )
        return cleaned

    @property
    def amounts(self) -> dict[str, Amount]:
        """What was entered of each item that is measured or counted."""
        amounts = {}
        for index, row in self._entered():
            if not row.length:
                size = parse_amount(self.cleaned_data.get(f"of-{index}") or row.measures[0][0])
                number = self.cleaned_data[f"number-{index}"]
                amounts[row.item] = Amount(size.value * number, size.unit)
        return amounts

    @property
    def sticks(self) -> dict[str, dict[int, int]]:
        """How many sticks of each length were entered, by item."""
        sticks: dict[str, dict[int, int]] = {}
        for index, row in self._entered():
            if row.length:
                count = int(self.cleaned_data[f"number-{index}"])
                sticks.setdefault(row.item, {})[row.length] = count
        return sticks

    @property
    def field_of(self) -> dict[str, str]:
        """The name of the first field of each item, at which a refusal of it stands."""
        return {row.item: f"number-{index}" for index, row in reversed([*enumerate(self.rows)])}

    def _entered(self) -> list[tuple[int, HaveRow]]:
        return [
            (index, row)
            for index, row in enumerate(self.rows)
            if self.cleaned_data.get(f"number-{index}") is not None and self._changed(index)
        ]

    def _changed(self, index: int) -> bool:
        """Whether a line differs from what its page showed, whatever the ledger says by now."""
        number = self.data.get(f"number-{index}", "").strip()
        measure = self.data.get(f"of-{index}", "")
        return bool(f"{number}|{measure}" != self.data.get(f"was-{index}", ""))


def _was(row: HaveRow) -> str:
    measure = (row.chosen or row.measures[0][0]) if len(row.measures) > 1 else ""
    return f"{row.shown}|{measure}"


class _Offcut(HouseForm):
    """The size of an offcut, where it is, and what it is of."""

    board = forms.ChoiceField(label="Board")
    width = LengthField(label="Width", least=INCH, most=6 * FOOT, example=24 * INCH, help_text="")
    length = LengthField(
        label="Length", least=INCH, most=20 * FOOT, example=60 * INCH, help_text=""
    )
    factory_edges = forms.ChoiceField(label="Factory edges", choices=_EDGES, initial="2")
    count = CountField(label="How many", least=1, most=1000, example=1, help_text="", initial=1)
    place = TextField(label="Where it leans", required=False, max_length=80)

    def take_boards(
        self, boards: Sequence[tuple[str, str]], sheets: Collection[BoardSize], empty: str
    ) -> None:
        """Offer the boards on sale, as `key@thickness`; an offcut comes out of one of `sheets`."""
        self.sheets = sheets
        choices = [("", empty), *boards] if empty else [*boards]
        self.fields["board"].choices = choices  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        width, length = cleaned.get("width"), cleaned.get("length")
        if not cleaned.get("board") or width is None or length is None:
            return cleaned
        board, thickness = board_of(cleaned["board"])
        sizes = [(size[2], size[3]) for size in self.sheets if size[:2] == (board, thickness)]
        short, long = sorted((width, length))
        if sizes and not any(short <= wide and long <= far for wide, far in sizes):
            wide, far = max(sizes, key=lambda size: (size[1], size[0]))
            self.add_error(
                "length",
                f"{self.fields['length'].label}: the largest sheet of this board is "
                f"{show_length(wide, self.units)} by {show_length(far, self.units)}; an offcut of "
                "it is no larger",
            )
        elif (width, length) in sizes and cleaned.get("factory_edges") == "2" and self.is_new:
            self.add_error(
                "length",
                f"{self.fields['length'].label}: this is a whole sheet; enter it with the sheets",
            )
        return cleaned

    is_new = False

    @property
    def offcut(self) -> dict[str, Any]:
        """The offcut as the services take it."""
        given = self.cleaned_data
        board, thickness = board_of(given["board"])
        return {
            "board": board,
            "thickness": thickness,
            "width": given["width"],
            "length": given["length"],
            "factory_edges": int(given["factory_edges"]),
            "count": given["count"],
            "place": given["place"],
        }


class OffcutForm(_Offcut):
    """An offcut that was written down already."""

    def __init__(
        self,
        *args: Any,
        boards: Sequence[tuple[str, str]],
        sheets: Collection[BoardSize],
        offcut: OwnedSheet,
        **kwargs: Any,
    ):
        kwargs.setdefault(
            "initial",
            {
                "board": board_key(offcut.board, offcut.thickness),
                "width": offcut.width,
                "length": offcut.length,
                "factory_edges": str(offcut.factory_edges),
                "count": offcut.count,
                "place": offcut.place,
            },
        )
        super().__init__(*args, **kwargs)
        self.take_boards(boards, sheets, "")


class OffcutRow(RowForm, _Offcut):
    """One offcut of "what we already have". A row without a width and a length is none."""

    is_new = True

    def __init__(
        self,
        *args: Any,
        boards: Sequence[tuple[str, str]],
        sheets: Collection[BoardSize],
        number: int,
        **kwargs: Any,
    ):
        super().__init__(*args, **kwargs)
        self.take_boards(boards, sheets, "Choose a board" if len(boards) > 1 else "")
        self.short: dict[str, str] = {}
        self.empty = not any(
            str(self.data.get(self.add_prefix(name), "")).strip() for name in ("width", "length")
        )
        for name, field in self.fields.items():
            self.short[name] = str(field.label)
            field.label = f"Offcut {number}, {str(field.label).lower()}"
            if self.empty:
                field.required = False
            if name in ("width", "length", "board", "count"):
                field.error_messages["required"] = (
                    f'"{field.label}" is empty. Enter it, or empty the whole row'
                )

    @property
    def lines(self) -> list[tuple[str, Any]]:
        """Each field with its short label, for the heading names the row."""
        return [(self.short[name], self[name]) for name in self.fields]


def board_key(board: str, thickness: int) -> str:
    """A board and its thickness as a choice of a form."""
    return f"{board}@{thickness}"


def board_of(key: str) -> tuple[str, int]:
    """The board and the thickness of a choice."""
    board, _, thickness = key.rpartition("@")
    return board, int(thickness)


def _whole(number: Fraction) -> bool:
    return number.denominator == 1 and number <= _MOST
