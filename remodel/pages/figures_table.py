"""What a room's boards come to, as a short table: alone, or beside the same room in another way."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction

from remodel.bridge.views import FIGURE_LINES, FigureKind, FigureLine, PlanFigures
from remodel.house.models import House
from remodel.pages.money_and_hours import hours_text
from remodel.web.parts import Column, Table
from remodel.web.templatetags.halfbay import money

__all__ = ["beside_table", "compared_table", "figures_table"]


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
            [line.name, _shown(line.kind, line.steps(figures, house.units), house)]
            for line in FIGURE_LINES
            if line.kind is not FigureKind.COUNT
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
    return compared_table(
        [
            (line, line.steps(now, house.units), line.steps(other, house.units))
            for line in FIGURE_LINES
        ],
        house,
        id="ways-compared",
        caption=f"The plan, and {called[:1].lower() + called[1:]}",
        titles=("The plan", "This way"),
    )


def compared_table(
    lines: Iterable[tuple[FigureLine, int, int]],
    house: House,
    *,
    id: str,  # noqa: A002 - the id of the table in the page
    caption: str,
    titles: tuple[str, str],
) -> Table:
    """Figures two ways, each in whole steps of what is shown, with what the second takes more or
    less. `titles` head the two columns."""
    return Table(
        id=id,
        caption=caption,
        columns=[
            Column(title="What"),
            *(Column(title=title, number=True) for title in titles),
            Column(title="Difference", number=True),
        ],
        rows=[
            [
                line.name,
                *(_shown(line.kind, steps, house) for steps in (one, other)),
                _difference(line, other - one, house),
            ]
            for line, one, other in lines
        ],
        wide=True,
        caption_hidden=True,
    )


def _difference(line: FigureLine, more: int, house: House) -> str:
    if not more:
        return "none"
    less = "fewer" if line.kind is FigureKind.COUNT else "less"
    return f"{_shown(line.kind, abs(more), house)} {'more' if more > 0 else less}"


def _shown(kind: FigureKind, steps: int, house: House) -> str:
    if kind is FigureKind.SEAM:
        return f"{steps:,} ft" if house.units == "in" else f"{Decimal(steps) / 10:,.1f} m"
    if kind is FigureKind.AREA:
        return f"{steps:,} sq ft" if house.units == "in" else f"{Decimal(steps) / 10:,.1f} m²"
    if kind is FigureKind.HOURS:
        return hours_text(Fraction(steps, 10))
    if kind is FigureKind.MONEY:
        return money(steps, house.currency)
    return f"{steps:,}"


def _counted(count: int, what: str) -> str:
    """A count and its word, which stay in one line."""
    words = what.replace("-", "\N{NON-BREAKING HYPHEN}")
    return f"{count}\N{NO-BREAK SPACE}{words}{'' if count == 1 else 's'}"
