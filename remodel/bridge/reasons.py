"""The trade figures behind a need, as pages show them: what each figure is, its value, its source,
and how well it is known."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from takeoff.errors import BadValue
from takeoff.needs.need import Reason
from takeoff.quantities import display, from_nm2
from takeoff.reference import figures
from takeoff.units import UnitSystem

__all__ = ["FigureShown", "Reason", "area_text", "figure_shown", "number_text", "percent"]


@dataclass(frozen=True, slots=True, kw_only=True)
class FigureShown:
    """One figure in words.

    `value` has its unit and, where sources disagree, their range. `caution` is said beside a figure
    that no published source carries.
    """

    id: str
    what: str
    value: str
    source: str
    status: str
    caution: str
    reason: str


# What a unit of a figure is to people who measure in millimeters: that unit, and how many of it one
# is. Each factor follows from the exact inch, pound and gallon.
_GALLON = Fraction("3.785411784")
_FOOT_M = Fraction("0.3048")
_POUND = Fraction("0.45359237")
_METRIC: dict[str, tuple[str, Fraction]] = {
    "in": ("mm", Fraction("25.4")),
    "ft": ("m", _FOOT_M),
    "sq ft": ("m2", _FOOT_M**2),
    "lb": ("kg", _POUND),
    "gal": ("l", _GALLON),
    "sq ft per gal": ("m2 per l", _FOOT_M**2 / _GALLON),
    "gal per 1000 sq ft": ("l per 100 m2", _GALLON / _FOOT_M**2 / 10),
    "lb per 1000 sq ft": ("kg per 100 m2", _POUND / _FOOT_M**2 / 10),
    "lb per gal": ("kg per l", _POUND / _GALLON),
    "ft per each": ("m per each", _FOOT_M),
    "ft per lb": ("m per kg", _FOOT_M / _POUND),
    "sq ft per lb": ("m2 per kg", _FOOT_M**2 / _POUND),
    "lb per sq ft": ("kg per m2", _POUND / _FOOT_M**2),
    "min per ft": ("min per m", 1 / _FOOT_M),
    "min per sq ft": ("min per m2", 1 / _FOOT_M**2),
}


@cache
def figure_shown(id: str, units: str = "in") -> FigureShown | None:  # noqa: A002 - people's word
    """The figure of that id; None for one that this engine no longer has. Its value is said in what
    a house measures in; what its source says stays as it is quoted."""
    try:
        trade_figure = figures.figure(id)
    except BadValue:
        return None
    said_unit, times = trade_figure.unit, Fraction(1)
    if units == "mm":
        said_unit, times = _METRIC.get(trade_figure.unit, (said_unit, times))

    def number(value: Fraction | str) -> str:
        if isinstance(value, str) or times == 1:
            return number_text(value)
        return f"{float(value * times):.3g}"

    value = f"{number(trade_figure.value)} {said_unit}".strip()
    if (
        trade_figure.low is not None
        and trade_figure.high is not None
        and trade_figure.low != trade_figure.high
    ):
        value += f" (sources say {number(trade_figure.low)} to {number(trade_figure.high)})"
    return FigureShown(
        id=trade_figure.id,
        what=trade_figure.what,
        value=value,
        source=f"{trade_figure.source}, {trade_figure.edition}"
        if trade_figure.edition
        else trade_figure.source,
        status=trade_figure.status.value,
        caution=trade_figure.status.caution,
        reason=trade_figure.reason,
    )


def percent(share: Fraction) -> str:
    """A share for people: `3.4%`, `under 0.1%`, `0%`."""
    tenths = round(share * 1000)
    if share and not tenths:
        return "under 0.1%"
    return f"{tenths / 10:g}%" if tenths % 10 else f"{tenths // 10}%"


def number_text(value: Fraction | str) -> str:
    """A number as a tape or a table says it: `1/2`, `10 1/2`, `0.35`. A text stays as it is."""
    if isinstance(value, str):
        return value
    if value.denominator == 1:
        return str(value.numerator)
    if value.denominator in (2, 4, 8, 16, 32):
        whole, rest = divmod(value, 1)
        return f"{whole} {rest}" if whole else str(rest)
    hundredths = round(value * 1000)
    return f"{hundredths / 1000:g}"


def area_text(square_nanometres: int, units: str) -> str:
    """An area for people: `120 sq ft`, or `11.1 m²` in a metric house."""
    return display(from_nm2(square_nanometres, "sq ft"), UnitSystem(units)).replace("m2", "m²")
