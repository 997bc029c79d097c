"""What a form asks before it changes when a partition is framed, once the work has overtaken it."""

from __future__ import annotations

from typing import Any

from django import forms

from remodel.house.models import Partition
from remodel.web.forms import HouseForm

__all__ = ["ANYWAY", "ask_anyway", "check_anyway"]

ANYWAY = "anyway"


def ask_anyway(form: HouseForm, overtaken: str) -> None:
    """Give the form a box to tick where the work has overtaken the choice."""
    if overtaken:
        form.fields[ANYWAY] = forms.BooleanField(
            required=False,
            label="Change when it is framed all the same: the record is wrong",
            help_text=f"{overtaken}, so this is not changed by chance",
        )


def check_anyway(form: HouseForm, cleaned: dict[str, Any], row: Partition) -> None:
    """Refuse another time of framing without the tick. The box is no column of the partition."""
    ticked = cleaned.pop(ANYWAY, False)
    box = form.fields.get(ANYWAY)
    if box is not None and not ticked and cleaned.get("framed", row.framed) != row.framed:
        form.add_error(
            "framed",
            f'{str(box.help_text).partition(",")[0]}. Choose what it is now, or tick "{box.label}"',
        )
