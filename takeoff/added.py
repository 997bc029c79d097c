"""What people add to the phases of a room themselves: flooring, trim, doors, cabinets. They give an
amount, or say what of the room it goes by."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from takeoff._checks import check_id
from takeoff.choices import CountedBy
from takeoff.errors import BadValue
from takeoff.quantities import Amount, same_kind

__all__ = ["AddedNeed", "OwnPhase"]

_OWN = re.compile(r"own-[A-Za-z0-9._-]{1,36}\Z")
_KINDS = {
    CountedBy.FLOOR: ("sq ft", "an area", "1 sq ft (1 m2)"),
    CountedBy.WALLS: ("sq ft", "an area", "1 sq ft (1 m2)"),
    CountedBy.CEILING: ("sq ft", "an area", "1 sq ft (1 m2)"),
    CountedBy.PERIMETER: ("ft", "a length", "1 ft (1 m)"),
    CountedBy.BASEBOARD: ("ft", "a length", "1 ft (1 m)"),
    CountedBy.DOORS: ("each", "a number of pieces", "1 each"),
    CountedBy.WINDOWS: ("each", "a number of pieces", "1 each"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnPhase:
    """A phase of a room that people named themselves, such as Trim. Its id begins with `own-`."""

    id: str
    name: str

    def __post_init__(self) -> None:
        if not _OWN.match(self.id):
            raise BadValue(
                f"Phase id {self.id[:80]!r} must be own- and 1 to 36 letters, digits, dots, dashes "
                "or underscores, for example 'own-trim'"
            )
        if not self.name.strip():
            raise BadValue(f"Phase {self.id} must have a name, for example 'Trim'")


@dataclass(frozen=True, slots=True, kw_only=True)
class AddedNeed:
    """A material that people add to a phase of a room: `amount` of it in all, or for every `per` of
    what of the room it `goes_by`, with `waste` percent on top.

    `phase` is a phase that every room has, or one of the room's own. `per` is an area, a length or
    a number of pieces, as `goes_by` has it; None where the amount is entered by hand. `note` is
    what people want to remember of it.
    """

    id: str
    phase: str
    material: str
    amount: Amount
    goes_by: CountedBy = CountedBy.HAND
    per: Amount | None = None
    waste: Decimal = Decimal(0)
    note: str = ""

    def __post_init__(self) -> None:
        check_id(self.id, "Added need")
        if self.amount.value <= 0:
            raise BadValue(
                f"Added need {self.id} amount must be more than zero, for example 18 each or 1 sq "
                "ft"
            )
        if not self.waste.is_finite() or not 0 <= self.waste <= 100:
            raise BadValue(
                f"Added need {self.id} waste must be a percentage from 0 to 100, for example 10"
            )
        if self.goes_by is CountedBy.HAND:
            if self.per is not None:
                raise BadValue(
                    f"Added need {self.id} is entered by hand; leave out per, or say what it goes "
                    "by, for example floor"
                )
            return
        unit, kind, example = _KINDS[self.goes_by]
        per = self.per
        if per is None or per.value <= 0 or not same_kind(per, Amount(Fraction(1), unit)):
            raise BadValue(
                f"Added need {self.id} goes by {self.goes_by}, so per must be {kind} of more than "
                f"zero, for example {example}"
            )
