"""Forms: how sheets are marked, and what a pack holds."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms
from django.urls import reverse
from django.utils.html import format_html

from remodel.bridge.cards import MOST_ALLOWANCE, USUAL_ALLOWANCE
from remodel.cards.models import BOXES, OPENINGS, SIDES_UP
from remodel.cards.packs import PHASES
from remodel.house.models import Cutout, House, Opening, Room
from remodel.printing.pdf import PAPERS
from remodel.web.fields import LengthField
from remodel.web.forms import HouseForm
from remodel.web.lengths import show_length

__all__ = ["MarkingForm", "PackForm"]

BOX, OPENING = "box_", "opening_"


class MarkingForm(HouseForm):
    """How a house or a room marks its pieces.

    A room may leave every field to the house, and has a choice of its own for each box, window and
    door. `usual` says what the house has.
    """

    side_up = forms.ChoiceField(
        label="Which side of a sheet is up while you mark it", widget=forms.RadioSelect
    )
    allowance = LengthField(
        label="The tool's cut allowance",
        help_text="Added on every side of a hole, so that the box goes in. The example is "
        "common practice",
        most=MOST_ALLOWANCE,
        example=USUAL_ALLOWANCE,
        required=False,
    )
    boxes = forms.ChoiceField(label="Holes for boxes, lights and vents", widget=forms.RadioSelect)
    openings = forms.ChoiceField(label="Boards across windows and doors", widget=forms.RadioSelect)

    def __init__(
        self,
        *args: Any,
        room: Room | None = None,
        boxes: Sequence[Cutout] = (),
        openings: Sequence[Opening] = (),
        usual: Mapping[str, Any] | None = None,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        for name, choices in (("side_up", SIDES_UP), ("boxes", BOXES), ("openings", OPENINGS)):
            field = self.fields[name]
            assert isinstance(field, forms.ChoiceField)
            first = []
            if room is not None and usual is not None:
                first = [("house", f"House default: {dict(choices)[usual[name]]}")]
                field.help_text = format_html(
                    '<a href="{}">How the house marks</a>',
                    reverse("house-marking", args=[room.house_id]),
                )
            field.choices = [*first, *choices]
        if usual is not None:
            allowance = self.fields["allowance"]
            allowance.help_text = (
                f"{allowance.help_text}. Empty takes the house default: "
                f"{show_length(usual['allowance'], self.units)}"
            )
        things: list[tuple[str, list[tuple[str, str]], Sequence[Cutout | Opening]]] = [
            (BOX, BOXES, boxes),
            (OPENING, OPENINGS, openings),
        ]
        for prefix, choices, rows in things:
            for row in rows:
                self.fields[f"{prefix}{row.pk}"] = forms.ChoiceField(
                    label=row.name, choices=[("", "As above"), *choices], required=False
                )

    @property
    def values(self) -> dict[str, Any]:
        """The columns to store; empty where the room follows the house."""
        values = super().values

        def chosen(prefix: str) -> dict[str, str]:
            return {
                name.removeprefix(prefix): value
                for name, value in values.items()
                if name.startswith(prefix) and value
            }

        return {
            "allowance": values["allowance"],
            "boxes_each": chosen(BOX),
            "openings_each": chosen(OPENING),
        } | {
            name: "" if values[name] == "house" else values[name]
            for name in ("side_up", "boxes", "openings")
        }


class PackForm(HouseForm):
    """What to print: a phase, rooms, paper."""

    phase = forms.ChoiceField(
        label="What it holds",
        choices=[(key, name) for key, (name, _) in PHASES.items()],
        widget=forms.RadioSelect,
    )
    rooms = forms.MultipleChoiceField(label="Rooms", widget=forms.CheckboxSelectMultiple)
    paper = forms.ChoiceField(label="Paper", choices=list(PAPERS.items()), widget=forms.RadioSelect)

    def __init__(self, *args: Any, house: House, rooms: Sequence[Room], **kwargs: Any) -> None:
        super().__init__(*args, units=house.units, **kwargs)
        field = self.fields["rooms"]
        assert isinstance(field, forms.MultipleChoiceField)
        field.choices = [(room.key, room.name) for room in rooms]
