"""Forms of phases and notes."""

from __future__ import annotations

import re
from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.forms.boundfield import BoundField

from remodel.bridge.lengths import Amount
from remodel.logbook import Leftover
from remodel.web.fields import TextField
from remodel.web.forms import HouseForm
from remodel.work.models import Phase, PhaseState
from remodel.work.services import ALLOWED_STEPS

__all__ = ["NoteForm", "PhaseAddForm", "PhaseForm"]


_DEGREES = re.compile(r"[-+]?\d{1,3}(\.\d)?")
STEPS = {
    PhaseState.NOT_STARTED: "Not started",
    PhaseState.BLOCKED: "It waits for something",
    PhaseState.READY: "Ready to start",
    PhaseState.IN_PROGRESS: "In progress",
    PhaseState.DONE: "Done",
}


# What may be left of a package when a phase is done; a full one is called by its own name.
LEFT = [("", "Not counted"), ("0", "None"), ("1/4", "A quarter"), ("1/2", "Half")]


class DegreesField(forms.Field):
    """A temperature in the house's own degrees. Cleans to °F."""

    widget = forms.TextInput(attrs={"class": "short", "autocomplete": "off"})

    def measure_in(self, units: str) -> None:
        """Take °C in a metric house and °F in any other."""
        self.metric = units == "mm"
        self.least, self.most = (-50, 65) if self.metric else (-60, 150)
        sign, example = ("°C", 13) if self.metric else ("°F", 55)
        self.message = (
            f'"{self.label}" must be a number of degrees from {self.least} to {self.most} '
            f"{sign}, for example {example}"
        )
        self.help_text = (
            f"In {sign}, day and night, from two days before until it is dry, for example {example}"
        )

    def to_python(self, value: Any) -> Decimal | None:
        text = "" if value is None else str(value).strip()
        if not text:
            return None
        if not _DEGREES.fullmatch(text) or not self.least <= Decimal(text) <= self.most:
            raise ValidationError(self.message, code="degrees")
        return Decimal(text)

    def clean(self, value: Any) -> Decimal | None:
        degrees: Decimal | None = super().clean(value)
        return degrees * 9 / 5 + 32 if degrees is not None and self.metric else degrees


class PhaseForm(HouseForm):
    """Where a phase stands. `phase` decides which steps are open from here."""

    state = forms.ChoiceField(label="Where it stands", widget=forms.RadioSelect)
    waits_for = TextField(
        label="What it waits for", required=False, example="the electrician's sign-off"
    )
    coldest = DegreesField(label="How cold the room gets while it is taped", required=False)

    def __init__(
        self, *args: Any, phase: Phase, leftovers: Sequence[Leftover] = (), **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.phase = phase
        self.leftovers = leftovers
        for leftover in leftovers:
            self.fields[f"left-{leftover.item}"] = forms.ChoiceField(
                label=f"Left of {leftover.name}",
                choices=[*LEFT, ("1", f"A full {leftover.pack}")],
                required=False,
            )
        steps = (phase.state, *ALLOWED_STEPS[phase.state])
        coldest = self.fields["coldest"]
        assert isinstance(coldest, DegreesField)
        coldest.measure_in(self.units)
        state = self.fields["state"]
        assert isinstance(state, forms.ChoiceField)
        state.choices = [(step.value, STEPS[step]) for step in PhaseState if step in steps]
        if phase.key != "taping":
            del self.fields["coldest"]

    @property
    def left_rows(self) -> list[BoundField]:
        return [self[f"left-{leftover.item}"] for leftover in self.leftovers]

    @property
    def remaining(self) -> list[tuple[str, Amount]]:
        """What is left of each item that was counted. Only after `is_valid()`."""
        return [
            (leftover.item, leftover.amount(Fraction(share)))
            for leftover in self.leftovers
            if (share := self.cleaned_data.get(f"left-{leftover.item}"))
        ]


class PhaseAddForm(HouseForm):
    name = TextField(label="Name of the phase", example="Trim")
    after = forms.ChoiceField(label="It comes after", required=False)

    def __init__(self, *args: Any, phases: list[Phase], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        after = self.fields["after"]
        assert isinstance(after, forms.ChoiceField)
        after.choices = [("", "All the others"), *((str(phase.pk), phase.name) for phase in phases)]


class NoteForm(HouseForm):
    text = TextField(label="Note", lines=3, example="Left wall is out of plumb")
