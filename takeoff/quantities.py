"""Amounts with a unit, rates between them, and money: the only module that imports pint.

An `Amount` is an exact fraction and a unit name; pint checks the dimensions whenever two of
different units meet, so pounds per 1000 sq ft cannot be added to gallons. Nothing is rounded before
`display`, which is for people's eyes.

Packs are not units: a box or a roll holds an amount (`catalogue.Pack`). Things counted are `each`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from difflib import get_close_matches
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING, NewType

from takeoff.errors import BadValue, WrongUnit
from takeoff.units import Nm, UnitSystem

if TYPE_CHECKING:
    import pint

__all__ = [
    "UNITS",
    "Amount",
    "Cents",
    "Rate",
    "add",
    "convert",
    "display",
    "format_amount",
    "format_money",
    "from_nm",
    "from_nm2",
    "money",
    "parse_amount",
    "parse_money",
    "per",
    "ratio",
    "same_kind",
    "scale",
    "subtract",
]

Cents = NewType("Cents", int)

# The units there are, each in terms of those before it. pint's own list is longer by a thousand and
# takes half a second to read; these are its definitions, exact: in, lb and gal as NIST Handbook 44,
# Appendix C, gives them.
_DEFINED = """
each = [piece]
meter = [length]
gram = [mass]
minute = [time]
nanometer = meter / 1000000000
millimeter = meter / 1000
centimeter = meter / 100
inch = 254 / 10000 * meter
foot = 12 * inch
liter = meter ** 3 / 1000
milliliter = liter / 1000
gallon = 231 * inch ** 3
quart = gallon / 4
fluid_ounce = gallon / 128
kilogram = 1000 * gram
pound = 45359237 / 100000 * gram
ounce = pound / 16
hour = 60 * minute
"""

# How pint spells each unit; gallons, quarts and fluid ounces are the US ones.
_SPELLED = {
    "each": "each",
    "in": "inch",
    "ft": "foot",
    "mm": "millimeter",
    "cm": "centimeter",
    "m": "meter",
    "sq in": "inch ** 2",
    "sq ft": "foot ** 2",
    "m2": "meter ** 2",
    "cu in": "inch ** 3",
    "cu ft": "foot ** 3",
    "m3": "meter ** 3",
    "fl oz": "fluid_ounce",
    "qt": "quart",
    "gal": "gallon",
    "ml": "milliliter",
    "l": "liter",
    "oz": "ounce",
    "lb": "pound",
    "g": "gram",
    "kg": "kilogram",
    "min": "minute",
    "h": "hour",
}
_NM = {"nm": "nanometer", "nm2": "nanometer ** 2"}

UNITS = tuple(_SPELLED)
"""Every unit an amount may have."""

# What a person in a metric house reads instead of each US unit, and the other way round.
_SHOWN = {
    UnitSystem.INCH: {
        **dict.fromkeys(("mm", "cm", "m"), "ft"),
        "m2": "sq ft",
        "m3": "cu ft",
        "ml": "fl oz",
        "l": "gal",
        "g": "oz",
        "kg": "lb",
    },
    UnitSystem.MILLIMETRE: {
        **dict.fromkeys(("in", "ft", "mm", "cm"), "m"),
        **dict.fromkeys(("sq in", "sq ft"), "m2"),
        **dict.fromkeys(("cu in", "cu ft"), "m3"),
        "fl oz": "ml",
        **dict.fromkeys(("qt", "gal"), "l"),
        "oz": "g",
        "lb": "kg",
    },
}


@dataclass(frozen=True, slots=True)
class Amount:
    """So much of something: an exact value in one of `UNITS`; raises `WrongUnit` for any other
    unit."""

    value: Fraction
    unit: str

    def __post_init__(self) -> None:
        if self.unit not in _SPELLED:
            near = get_close_matches(self.unit[:20].lower(), UNITS, n=1)
            meant = f"; did you mean {near[0]!r}?" if near else ""
            raise WrongUnit(f"Unit {self.unit[:20]!r} must be one of {', '.join(UNITS)}{meant}")


@lru_cache(maxsize=1)
def _registry() -> pint.UnitRegistry[Fraction]:
    # Imported on first use: much of the engine needs none.
    import pint

    registry: pint.UnitRegistry[Fraction] = pint.UnitRegistry(None, non_int_type=Fraction)
    for line in _DEFINED.split("\n"):
        if line:
            registry.define(line)
    return registry


@lru_cache(maxsize=1024)
def _factor(unit: str, into: str) -> Fraction | None:
    """How many `into` one `unit` is, exactly; None where they measure different things."""
    registry = _registry()
    spelled = {**_SPELLED, **_NM}
    source, target = registry.Unit(spelled[unit]), registry.Unit(spelled[into])
    if source.dimensionality != target.dimensionality:
        return None
    return Fraction(registry.convert(Fraction(1), source, target))


def same_kind(first: Amount, second: Amount) -> bool:
    """Return whether two amounts can be added: both lengths, both volumes and so on."""
    return first.unit == second.unit or _factor(first.unit, second.unit) is not None


def convert(amount: Amount, unit: str) -> Amount:
    """Return `amount` in `unit`, exactly.

    Raises `WrongUnit`, naming both units, where they measure different things.

    >>> convert(Amount(Fraction(1), "gal"), "cu in")
    Amount(value=Fraction(231, 1), unit='cu in')
    """
    if unit == amount.unit:
        return amount
    checked = Amount(Fraction(1), unit)
    factor = _factor(amount.unit, checked.unit)
    if factor is None:
        raise WrongUnit(
            f"An amount in {amount.unit} cannot be given in {unit}: they measure different things"
        )
    return Amount(amount.value * factor, unit)


def add(first: Amount, *others: Amount) -> Amount:
    """Return the sum, in the first amount's unit; raises `WrongUnit` where one measures something
    else."""
    return Amount(
        sum((convert(other, first.unit).value for other in others), first.value), first.unit
    )


def subtract(first: Amount, second: Amount) -> Amount:
    """Return what `first` has over `second`, in the first's unit, below zero where it has less."""
    return Amount(first.value - convert(second, first.unit).value, first.unit)


def scale(amount: Amount, by: Fraction | int) -> Amount:
    """Return `amount` times an exact number."""
    return Amount(amount.value * by, amount.unit)


def ratio(first: Amount, second: Amount) -> Fraction:
    """Return how many times `second` goes into `first`; raises `WrongUnit` where they measure
    different things.

    The packs for a need are `ceil(ratio(need, pack.holds))`. `second` must not be zero
    (`BadValue`).
    """
    if not second.value:
        raise BadValue(
            f"Nothing can be measured in parts of 0 {second.unit}; give more than zero, for "
            "example 1 "
            f"{second.unit}"
        )
    return convert(first, second.unit).value / second.value


@dataclass(frozen=True, slots=True)
class Rate:
    """So much `amount` for so much `basis`: 9.4 gal per 1000 sq ft, 350 sq ft per 1 gal, 1.6 lb per
    sq ft."""

    amount: Amount
    basis: Amount

    def __post_init__(self) -> None:
        if self.basis.value <= 0:
            raise BadValue(
                f"A rate's basis must be more than zero, for example per 1000 {self.basis.unit}"
            )

    def of(self, basis: Amount) -> Amount:
        """Return what `basis` takes, in the unit of the rate's amount.

        Raises `WrongUnit`, naming both, where `basis` does not measure what the rate is per.

        >>> screws = per(Amount(Fraction(1), "lb"), Amount(Fraction(1000), "sq ft"))
        >>> screws.of(Amount(Fraction(500), "sq ft"))
        Amount(value=Fraction(1, 2), unit='lb')
        """
        if not same_kind(basis, self.basis):
            raise WrongUnit(
                f"A rate in {self.amount.unit} per {self.basis.unit} cannot be taken of an amount "
                f"in {basis.unit}"
            )
        return scale(self.amount, ratio(basis, self.basis))

    @property
    def inverse(self) -> Rate:
        """The same rate the other way round: 350 sq ft per gal as gal per sq ft."""
        return Rate(self.basis, self.amount)


def per(amount: Amount, basis: Amount) -> Rate:
    """Return the rate of `amount` for each `basis`; raises `BadValue` where the basis is not more
    than zero."""
    return Rate(amount, basis)


def from_nm(length: Nm, unit: str) -> Amount:
    """Return a length as an exact amount in `unit`; raises `WrongUnit` where that is no unit of
    length."""
    return _from_nanometres(length, "nm", unit)


def from_nm2(area: int, unit: str) -> Amount:
    """Return an area in square nanometres as an exact amount in `unit`; raises `WrongUnit` for no
    unit of area."""
    return _from_nanometres(area, "nm2", unit)


def _from_nanometres(value: int, measured: str, unit: str) -> Amount:
    one = Amount(Fraction(1), unit)
    factor = _factor(measured, one.unit)
    if factor is None:
        what = "A length" if measured == "nm" else "An area"
        raise WrongUnit(
            f"{what} in {measured} cannot be given in {unit}: they measure different things"
        )
    return Amount(value * factor, unit)


def display(amount: Amount, units: UnitSystem) -> str:
    """Return short text for people, in the units the house shows: three figures at most after which
    all is rounded.

    Whole parts are kept whole, half goes to even, counts are never rounded to fewer figures than
    they have.

    >>> display(Amount(Fraction(94321, 10000), "gal"), UnitSystem.INCH)
    '9.43 gal'
    >>> display(Amount(Fraction(412), "ft"), UnitSystem.MILLIMETRE)
    '126 m'
    """
    shown = convert(amount, _SHOWN[units].get(amount.unit, amount.unit))
    size = abs(shown.value)
    places = 0 if size >= 100 else 1 if size >= 10 else 2 if size >= 1 else 3
    return f"{_decimal(round(shown.value * 10**places), places)} {shown.unit}"


def _decimal(value: int, places: int) -> str:
    """`value` ten-to-the-`places`ths as a decimal without idle zeros."""
    whole, part = divmod(abs(value), 10**places)
    digits = f"{part:0{places}d}".rstrip("0") if part else ""
    return f"{'-' if value < 0 else ''}{whole}{'.' if digits else ''}{digits}"


_AMOUNT = re.compile(
    r"(?:(?P<decimal>[0-9]{1,12}(?:\.[0-9]{1,12})?)"
    r"|(?:(?P<whole>[0-9]{1,12}) +)?(?P<top>[0-9]{1,18})/(?P<bottom>[0-9]{1,18}))"
    r" ?(?P<unit>[a-z][a-z0-9 ]{0,11})",
    re.ASCII,
)
_SIGNS = {"USD": "$", "CAD": "$", "AUD": "$", "NZD": "$", "EUR": "€", "GBP": "£"}
_MONEY = re.compile(r"[$€£]? ?(?P<whole>[0-9]{1,9})(?:\.(?P<part>[0-9]{1,2}))?", re.ASCII)


def parse_amount(text: str) -> Amount:
    """Return the amount that `text` says exactly, like `4.5 gal`, `1 1/2 lb` or `50 each`.

    Raises `BadValue` where it is not a number of zero or more and a unit, `WrongUnit` for a unit
    not in `UNITS`.
    """
    match = _AMOUNT.fullmatch(text.strip()) if len(text) <= 60 else None
    if match is None or (match["bottom"] and not int(match["bottom"])):
        raise BadValue("An amount must be a number and a unit, for example 4.5 gal or 50 each")
    if match["decimal"]:
        value = Fraction(match["decimal"])
    else:
        value = int(match["whole"] or 0) + Fraction(int(match["top"]), int(match["bottom"]))
    return Amount(value, match["unit"])


def format_amount(amount: Amount) -> str:
    """Return `amount` exactly, as a decimal where twelve places hold it and a fraction otherwise,
    for `parse_amount`.

    >>> format_amount(Amount(Fraction(9, 2), "gal")), format_amount(Amount(Fraction(1, 3), "gal"))
    ('4.5 gal', '1/3 gal')
    """
    if 10**12 % amount.value.denominator:
        return f"{amount.value} {amount.unit}"
    return f"{_decimal(int(amount.value * 10**12), 12)} {amount.unit}"


def parse_money(text: str) -> Cents:
    """Return whole cents of a price like `14.50`, `14.5`, `14` or `$14.50`.

    Raises `BadValue` for anything else: signs, commas, more than two decimals or nine digits before
    them.
    """
    match = _MONEY.fullmatch(text.strip()) if len(text) <= 20 else None
    if match is None:
        raise BadValue("A price must be zero or more with at most two decimals, for example 14.50")
    return Cents(int(match["whole"]) * 100 + int((match["part"] or "0").ljust(2, "0")))


def format_money(cents: Cents) -> str:
    """Return a price with two decimals and no sign of currency, like `14.50`; a credit has a minus
    sign in front."""
    whole, part = divmod(abs(cents), 100)
    return f"{'-' if cents < 0 else ''}{whole}.{part:02d}"


def money(cents: int | Fraction, currency: str) -> str:
    """`cents` to the nearest cent, half to even, with the currency's sign: `$1,204.50`, `-$0.05`.

    >>> money(120450, "USD")
    '$1,204.50'
    >>> money(-5, "EUR")
    '-€0.05'
    >>> money(100, "CHF")
    'CHF 1.00'
    """
    whole = round(cents)
    sign = _SIGNS.get(currency, f"{currency} ")
    return f"{'-' if whole < 0 else ''}{sign}{abs(whole) // 100:,}.{abs(whole) % 100:02d}"
