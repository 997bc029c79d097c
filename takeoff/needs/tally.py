"""Gathers what a phase of a room takes, reason by reason, into needs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction

from takeoff.needs.materials import Material
from takeoff.needs.need import Need, Reason
from takeoff.quantities import Amount, add, convert, display, from_nm
from takeoff.units import Nm, UnitSystem, tape_reading

__all__ = ["Tally"]


# What a reason says, of which surface, and the figures it rests on.
_Key = tuple[str, str | None, tuple[str, ...]]


@dataclass(slots=True)
class _Sticks:
    """The sticks of a reason, and what each of them is called in a cut list."""

    piece: str = ""
    lengths: list[Nm] = field(default_factory=list)


class Tally:
    """Reasons by material for one phase of one room, in the order they were first named.

    A material's amounts are kept in its own unit. Reasons that say the same of the same surface are
    added into one; an amount of zero is not kept.
    """

    def __init__(self, phase: str, room: str, units: UnitSystem) -> None:
        self.phase = phase
        self.room = room
        self.units = units
        self._reasons: dict[Material, dict[_Key, Amount]] = {}
        self._sticks: dict[Material, dict[_Key, _Sticks]] = {}

    def take(
        self,
        material: Material,
        amount: Amount,
        text: str,
        *figures: str,
        surface: str | None = None,
    ) -> None:
        """Add an amount of `material`, with why it is needed; raises `WrongUnit` where the amount
        cannot be given in the unit of the material."""
        if not amount.value:
            return
        reasons = self._reasons.setdefault(material, {})
        key = (text, surface, figures)
        amount = convert(amount, material.unit)
        reasons[key] = add(reasons[key], amount) if key in reasons else amount

    def count(
        self, material: Material, number: int, text: str, *figures: str, surface: str | None = None
    ) -> None:
        """Add a number of pieces of `material`, with why they are needed."""
        self.take(material, Amount(Fraction(number), "each"), text, *figures, surface=surface)

    def cut(
        self,
        material: Material,
        lengths: Iterable[Nm],
        text: str,
        *figures: str,
        surface: str | None = None,
        piece: str = "",
    ) -> None:
        """Add sticks of these lengths, to be cut from the lengths on sale. `piece` is what a cut
        list calls each of them; the text where it is empty."""
        sticks = list(lengths)
        of_reasons = self._sticks.setdefault(material, {})
        of_reasons.setdefault((text, surface, figures), _Sticks(piece)).lengths.extend(sticks)
        self.take(material, from_nm(Nm(sum(sticks)), "ft"), text, *figures, surface=surface)

    def shown(self, length: Nm) -> str:
        """A length as reasons tell it: in the house's units, to what its tape can read."""
        return tape_reading(length, self.units, feet=False)

    def stick(self, length: Nm) -> str:
        """A length to cut, in feet where the amounts beside it are: `6' 10 1/2"`, or `2096 mm`."""
        return tape_reading(length, self.units)

    def run(self, length: Nm) -> str:
        """A run that is counted and not cut, as the amount beside it is shown: `13.9 ft`, or `4.23
        m`."""
        return display(from_nm(length, "ft"), self.units)

    def total(self, material: Material) -> Amount | None:
        """What has been gathered of `material` so far; None where nothing."""
        reasons = self._reasons.get(material)
        return add(*reasons.values()) if reasons else None

    def needs(self) -> tuple[Need, ...]:
        """The needs gathered; each one's reasons add up to its amount."""
        return tuple(
            Need(
                phase=self.phase,
                room=self.room,
                material=material.id,
                amount=add(*reasons.values()),
                reasons=tuple(
                    self._reason(material, key, amount) for key, amount in reasons.items()
                ),
                lengths=tuple(
                    sorted(
                        (
                            length
                            for sticks in self._sticks.get(material, {}).values()
                            for length in sticks.lengths
                        ),
                        reverse=True,
                    )
                ),
            )
            for material, reasons in self._reasons.items()
            if reasons
        )

    def _reason(self, material: Material, key: _Key, amount: Amount) -> Reason:
        text, surface, figures = key
        sticks = self._sticks.get(material, {}).get(key, _Sticks())
        return Reason(
            text=text,
            amount=amount,
            surface=surface,
            figures=figures,
            lengths=tuple(sticks.lengths),
            piece=sticks.piece,
        )
