"""What a plan costs and saves, in words: money and hours apart. What hours are worth is no money
that anybody pays, so the two are never told as one sum."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from remodel.web.templatetags.halfbay import money

__all__ = ["Cost", "hours_text"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """What a plan takes, or what one takes less than another: `money` in cents, and `work`, what
    its hours are worth, in cents at `hour`."""

    money: Fraction
    work: Fraction
    hour: Decimal
    currency: str

    @classmethod
    def of(cls, total: Fraction, work: int, hour: Decimal, currency: str) -> Cost:
        """Of a plan by its aim in cents, and what of that its hours are worth."""
        return cls(money=Fraction(total) - work, work=Fraction(work), hour=hour, currency=currency)

    def __sub__(self, other: Cost) -> Cost:
        return Cost(
            money=self.money - other.money,
            work=self.work - other.work,
            hour=self.hour,
            currency=self.currency,
        )

    @property
    def total(self) -> Fraction:
        """Both as the search weighs them; never shown."""
        return self.money + self.work

    @property
    def hours(self) -> Fraction | None:
        """The hours; None where an hour is worth nothing, so that nobody knows."""
        return self.work / 100 / Fraction(self.hour) if self.hour else None

    @property
    def shown(self) -> str:
        """`$176.00 and 23.4 hours`."""
        said = [money(round(self.money), self.currency)]
        if self.hours is not None:
            said.append(hours_text(self.hours))
        return " and ".join(said)

    @property
    def saves(self) -> str:
        """What is saved, as the end of a sentence: `saves $4.20 and 1.2 hours`, `saves 1.2 hours
        but costs $4.20 more`, `costs the same`."""
        cents, tenths = round(self.money), round((self.hours or Fraction(0)) * 10)
        price = money(abs(cents), self.currency)
        hours = hours_text(Fraction(abs(tenths), 10))
        gained = [text for text, gain in ((price, cents), (hours, tenths)) if gain > 0]
        lost = [
            f"{verb} {text} more"
            for verb, text, gain in (("costs", price, cents), ("takes", hours, tenths))
            if gain < 0
        ]
        if gained and lost:
            return f"saves {gained[0]} but {lost[0]}"
        if gained:
            return f"saves {' and '.join(gained)}"
        return " and ".join(lost) or "costs the same"


def hours_text(hours: Fraction, *, whole: bool = False) -> str:
    """`23.4 hours`, or `23 hours` where they are only guessed."""
    if whole:
        count = round(hours)
        return f"{count:,} hour{'' if count == 1 else 's'}"
    tenths = round(hours * 10)
    return f"{Decimal(tenths) / 10:,.1f} hours"
