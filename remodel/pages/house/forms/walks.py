"""The walls of a walk as a list of forms, one a wall."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from django.http import QueryDict

from remodel.bridge.lengths import LengthError
from remodel.bridge.outlines import WalkedSoFar, walk_so_far
from remodel.house.models import Wall
from remodel.pages.house.forms.fields import OTHER
from remodel.pages.house.forms.rooms import WallForm
from remodel.web.lengths import read_length
from remodel.web.row_forms import posted_rows

__all__ = ["MOST_WALLS", "Walk"]

MOST_WALLS = 100


class Walk:
    """The forms of walls in the order walked. `add` puts an empty one after the wall of that
    number."""

    def __init__(
        self,
        data: QueryDict | None,
        *,
        units: str,
        rows: Sequence[Wall] = (),
        least: int = 4,
        add: int | None = None,
    ) -> None:
        self.units = units
        self.bound = data is not None
        known = {str(row.pk): row for row in rows}
        if data is None:
            wall_rows: list[Wall | None] = [*rows, *[None] * max(least - len(rows), 0)]
            self.forms = [
                WallForm(prefix=f"wall-{index}", units=units, letter=letter, row=row)
                for index, (row, letter) in enumerate(
                    zip(wall_rows, _letters(wall_rows), strict=True)
                )
            ]
            return
        posted = posted_rows(data, "wall", most=MOST_WALLS, after=add, fresh={"turn": "90"})
        wall_rows = [known.get(row.get("wall")) for row in posted]
        self.forms = [
            WallForm(row.data, prefix=row.prefix, units=units, letter=letter, row=wall)
            for row, wall, letter in zip(posted, wall_rows, _letters(wall_rows), strict=True)
        ]
        if add is not None and add < len(self.forms) - 1:
            self.forms[add + 1].fields["length"].widget.attrs["data-focus"] = True

    def is_valid(self) -> bool:
        """Whether every wall can be read. Each of them is validated, so that each shows its own
        errors."""
        return not [form for form in self.forms if not form.is_valid()]

    @property
    def walls(self) -> list[WallForm]:
        """The walls of a valid walk that have a length."""
        return [form for form in self.forms if form.cleaned_data.get("length")]

    def walked(self) -> tuple[WalkedSoFar, list[tuple[str, int]]]:
        """The walk as far as it can be read: the outline so far, and the letter and length of each
        wall. It never fails."""
        walked: list[tuple[str, int, Decimal]] = []
        for form in self.forms:
            read = _read(form)
            if read is None:
                break
            if read[0]:
                walked.append((form.letter, *read))
        return walk_so_far([step[1:] for step in walked]), [step[:2] for step in walked]


def _letters(rows: Sequence[Wall | None]) -> list[str]:
    """The letter of each wall on the page: its key, or for a new one the next letter that is
    free."""
    taken = {row.key for row in rows if row is not None}
    letters = (
        "ABCDEFGHIJKLMNOPQRSTUVWXYZ"[index % 26] * (index // 26 + 1)
        for index in range(10 * MOST_WALLS)
    )
    free = (letter for letter in letters if letter not in taken)
    return [row.key if row is not None else next(free) for row in rows]


def _read(form: WallForm) -> tuple[int, Decimal] | None:
    """Length (0 where empty) and turn as typed; None where they cannot be read."""
    values = {name: form[name].value() for name in ("length", "turn", "angle")}
    if not values["length"]:
        return 0, Decimal(0)
    try:
        nm = (
            values["length"]
            if isinstance(values["length"], int)
            else read_length(str(values["length"]), form.units)
        )
        angle = Decimal(str(values["angle"] if values["turn"] == OTHER else values["turn"]))
    except (LengthError, ValueError, ArithmeticError):
        return None
    return (int(nm), angle) if angle.is_finite() and -180 < angle < 180 else None
