"""The form of what people add to a phase."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from remodel.bridge.added import added_columns, added_entered
from remodel.bridge.words import COUNTED_BY
from remodel.pages.supply.forms import NumberField
from remodel.supply.models import Material
from remodel.web.fields import TextField
from remodel.web.forms import HouseForm
from remodel.work.models import AddedNeed

__all__ = ["AddedNeedForm", "sold_in"]


class AddedNeedForm(HouseForm):
    """A material that a phase takes: how much of it, in the unit it is sold in, and what of the
    room that goes by. `sizes` says how much of each the room has."""

    material = forms.ChoiceField(
        label="What it takes", help_text="What it is sold in is in brackets"
    )
    amount = NumberField(
        label="How much",
        positive=True,
        example="18",
        help_text="A number, in what it is sold in, for example 18",
    )
    goes_by = forms.ChoiceField(label="What that goes by", widget=forms.RadioSelect, initial="hand")
    per = NumberField(label="For every", positive=True, required=False, example="1")
    waste = NumberField(
        label="Waste, in percent",
        required=False,
        example="10",
        help_text="What is cut off and thrown away, for example 10",
    )
    note = TextField(
        label="What it is for", required=False, max_length=300, example="Oak, laid along the hall"
    )

    def __init__(
        self, *args: Any, materials: Sequence[Material], sizes: Mapping[str, str], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.materials = {material.key: material for material in materials}
        material, goes_by = self.fields["material"], self.fields["goes_by"]
        assert isinstance(material, forms.ChoiceField)
        assert isinstance(goes_by, forms.ChoiceField)
        material.choices = [
            ("", "Choose from your price list"),
            *(
                (one.key, f"{one.name} ({_words(sold_in(one, self.units))})")
                for one in self.materials.values()
            ),
        ]
        goes_by.choices = [
            (value, f"{words}: {sizes[value]}" if value in sizes else words)
            for value, words in COUNTED_BY
        ]
        metric = self.units == "mm"
        self.fields["per"].help_text = (
            f"How many {'m2, m' if metric else 'sq ft, ft'} or pieces of that; 1 if you leave it "
            "empty. Not used for an amount you enter"
        )

    def clean_waste(self) -> Decimal:
        waste: Fraction = self.cleaned_data["waste"] or Fraction(0)
        if waste > 100:
            raise ValidationError(
                '"Waste, in percent" must be from 0 to 100, for example 10', code="limit"
            )
        return Decimal(round(waste * 10**6)) / 10**6

    def columns(self) -> dict[str, Any]:
        """What the services take. Only after `is_valid()`."""
        given = self.cleaned_data
        return {
            "material": given["material"],
            **added_columns(
                given["amount"],
                sold_in(self.materials[given["material"]], self.units),
                by=given["goes_by"],
                per=given["per"],
                units=self.units,
            ),
            "waste": given["waste"],
            "note": given["note"],
        }

    @staticmethod
    def initial_of(need: AddedNeed, materials: Sequence[Material], units: str) -> dict[str, Any]:
        """What the fields show of what was added before."""
        unit = next((sold_in(one, units) for one in materials if one.key == need.material), "each")
        amount, per = added_entered(need.amount, unit, by=need.goes_by, per=need.per, units=units)
        return {
            "material": need.material,
            "amount": amount,
            "goes_by": need.goes_by,
            "per": per,
            "waste": f"{need.waste.normalize():f}" if need.waste else "",
            "note": need.note,
        }


def sold_in(material: Material, units: str) -> str:
    """The unit in which a material is entered: that of its first pack, or of a tape where it is cut
    from sticks."""
    if material.cut:
        return "m" if units == "mm" else "ft"
    packs = list(material.packs.all())
    return packs[0].unit if packs else "each"


def _words(unit: str) -> str:
    return "pieces" if unit == "each" else unit
