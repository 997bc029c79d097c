"""What a room's boards come to, as a short table: alone, or beside the same room in another way."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from remodel.bridge.lengths import FOOT
from remodel.bridge.views import PlanFigures
from remodel.house.models import House
from remodel.pages.money_and_hours import hours_text
from remodel.web.parts import Column, Table
from remodel.web.templatetags.halfbay import money

__all__ = ["beside_table", "figures_table", "long_text"]

_METER = 1_000_000_000


def long_text(nm: int, units: str) -> str:
    """A length of seams: `76 ft`, in a metric house `23.4 m`."""
    return _long(_long_steps(nm, units), units)


def figures_table(figures: PlanFigures, house: House, *, caption_hidden: bool = False) -> Table:
    """The plan of a room in ten lines."""
    owned = f", {figures.sheets_here} on hand already" if figures.sheets_here else ""
    cuts = [
        _counted(figures.crosscuts, "crosscut"),
        _counted(figures.rips, "rip"),
        _counted(figures.cutouts, "cut-out"),
    ]
    rows = [
        ["Sheets", f"{figures.sheets_bought} to buy{owned}"],
        ["Pieces", str(figures.pieces)],
        ["Cuts", ", ".join(cuts)],
        *(
            [line.name, line.shown(line.of(figures, house), house)]
            for line in _LINES
            if line.name not in ("Sheets", "Pieces", "Crosscuts", "Rips", "Cut-outs")
        ),
    ]
    return Table(
        id="plan-figures",
        caption="This room's boards in numbers",
        columns=[Column(title="What"), Column(title="This room", number=True)],
        rows=rows,
        # Two columns fit a phone as they are.
        wide=True,
        caption_hidden=caption_hidden,
    )


def beside_table(now: PlanFigures, other: PlanFigures, house: House, *, called: str) -> Table:
    """A room as it is planned and in another way, which is `called` so, with what differs."""
    rows = []
    for line in _LINES:
        before, after = line.of(now, house), line.of(other, house)
        rows.append(
            [
                line.name,
                line.shown(before, house),
                line.shown(after, house),
                _difference(line, after - before, house),
            ]
        )
    return Table(
        id="ways-compared",
        caption=f"The plan, and {called[:1].lower() + called[1:]}",
        columns=[
            Column(title="What"),
            Column(title="The plan", number=True),
            Column(title="This way", number=True),
            Column(title="Difference", number=True),
        ],
        rows=rows,
        wide=True,
        caption_hidden=True,
    )


@dataclass(frozen=True, slots=True)
class _Line:
    """A line of the table. `of` gives whole steps of what is shown, so that the difference is that
    of the two numbers beside it."""

    name: str
    of: Callable[[PlanFigures, House], int]
    shown: Callable[[int, House], str]
    less: str = "less"


def _difference(line: _Line, more: int, house: House) -> str:
    if not more:
        return "none"
    return f"{line.shown(abs(more), house)} {'more' if more > 0 else line.less}"


def _count(name: str, field: str) -> _Line:
    return _Line(
        name, lambda figures, _: getattr(figures, field), lambda count, _: f"{count:,}", "fewer"
    )


def _seam(name: str, field: str) -> _Line:
    return _Line(
        name,
        lambda figures, house: _long_steps(getattr(figures, field), house.units),
        lambda steps, house: _long(steps, house.units),
    )


def _hours(name: str, field: str) -> _Line:
    return _Line(
        name,
        lambda figures, _: round(getattr(figures, field) * 10),
        lambda tenths, _: hours_text(Fraction(tenths, 10)),
    )


def _long_steps(nm: int, units: str) -> int:
    return round(Fraction(nm, FOOT)) if units == "in" else round(Fraction(nm * 10, _METER))


def _long(steps: int, units: str) -> str:
    return f"{steps:,} ft" if units == "in" else f"{Decimal(steps) / 10:,.1f} m"


_LINES = (
    _count("Sheets", "sheets"),
    _count("Pieces", "pieces"),
    _count("Crosscuts", "crosscuts"),
    _count("Rips", "rips"),
    _count("Cut-outs", "cutouts"),
    _seam("Tapered seams", "tapered"),
    _seam("Butt seams", "butt"),
    _seam("Cut-edge seams", "cut_edge"),
    _seam("Inside corners", "corner"),
    _hours("Hanging", "hanging"),
    _hours("Finishing", "finishing"),
    _Line(
        "Sheets and backers",
        lambda figures, _: round(figures.money),
        lambda cents, house: money(cents, house.currency),
    ),
)


def _counted(count: int, what: str) -> str:
    """A count and its word, which stay in one line."""
    words = what.replace("-", "\N{NON-BREAKING HYPHEN}")
    return f"{count}\N{NO-BREAK SPACE}{words}{'' if count == 1 else 's'}"
