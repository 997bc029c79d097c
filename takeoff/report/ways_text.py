"""Each room in several ways as text: a table a room, and why a way is not in it."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from takeoff.boards.ways import PlannedWay, Way, narrow_width, plan_way
from takeoff.geometry.rooms import RoomGeometry
from takeoff.job import Takeoff
from takeoff.plan_figures import PlanFigures, figures_of
from takeoff.quantities import money
from takeoff.report.text_table import TextColumn, paragraph, table_lines
from takeoff.units import FOOT, MM, UnitSystem, tape_reading

__all__ = ["ways_text"]


def ways_text(takeoff: Takeoff, rooms: Collection[str] = ()) -> str:
    """The ways of some rooms, of all where none is named; ends in a newline. Every room is planned
    by itself, so that its columns can be compared."""
    return "\n".join(_lines(takeoff, rooms)) + "\n"


def _lines(takeoff: Takeoff, rooms: Collection[str]) -> Iterator[str]:
    yield takeoff.house.name
    yield from paragraph(
        "Each room by itself in several ways, with what each takes more or less than the plan by "
        "its rules. All are quick plans; hours are one person's, common practice with a wide "
        "spread.",
        indent="",
    )
    for room in takeoff.rooms:
        if rooms and room.room not in rooms:
            continue
        yield ""
        yield from _room(takeoff, room)


def _room(takeoff: Takeoff, room: RoomGeometry) -> Iterator[str]:
    house = takeoff.house
    members = {framed.surface.id: framed for framed in takeoff.framed}
    rules = plan_way(house, room, members, Way.RULES)
    yield room.name
    if rules.why_not:
        yield from paragraph(f"{rules.why_not}.".replace("..", "."))
        return
    planned = [rules] + [
        plan_way(house, room, members, way, rules.surfaces) for way in Way if way is not Way.RULES
    ]
    shown = [(one, _figures(takeoff, room, one)) for one in planned if not one.why_not]
    base = shown[0][1]
    columns = [TextColumn("", 18)]
    columns += [TextColumn(_name(one.way, house.units), 9, right=True) for one, _ in shown]
    yield from table_lines(
        columns,
        [
            [line.name, *(_cell(line, takeoff, figures, base) for _, figures in shown)]
            for line in _LINES
        ],
    )
    for one in planned:
        name = _name(one.way, house.units)
        if one.why_not:
            yield from paragraph(f"{name}: not possible. {one.why_not}", hang="  ")
        for names, why in one.stays:
            yield from paragraph(f"{name}: not {names}, because {why}", hang="  ")
    for refusal in rules.refused:
        yield from paragraph(f"Not counted. {refusal.message}", hang="  ")


def _figures(takeoff: Takeoff, room: RoomGeometry, planned: PlannedWay) -> PlanFigures:
    sheets = [sheet for plan in planned.plans for sheet in plan.sheets]
    return figures_of(takeoff.house, room, takeoff.framed, planned.surfaces, sheets)


def _name(way: Way, units: UnitSystem) -> str:
    if way is Way.NARROW:
        return tape_reading(narrow_width(units), units, feet=False)
    return {
        Way.RULES: "By rules",
        Way.OTHER_SIDE: "Far side",
        Way.ALONG: "Along",
        Way.FLOATING: "Floating",
        Way.LONGEST: "Longest",
        Way.LEAST: "Least",
    }[way]


@dataclass(frozen=True, slots=True)
class _Line:
    """A line of the table: whole steps of what is shown, and how they are written."""

    name: str
    of: Callable[[PlanFigures, Takeoff], int]
    shown: Callable[[int, Takeoff], str]


def _cell(line: _Line, takeoff: Takeoff, figures: PlanFigures, base: PlanFigures) -> str:
    value = line.of(figures, takeoff)
    more = value - line.of(base, takeoff)
    said = line.shown(value, takeoff)
    if not more:
        return said
    return f"{said} ({'+' if more > 0 else '-'}{line.shown(abs(more), takeoff)})"


def _count(name: str, field: str) -> _Line:
    return _Line(name, lambda figures, _: getattr(figures, field), lambda count, _: f"{count:,}")


def _seam(name: str, field: str) -> _Line:
    def steps(figures: PlanFigures, takeoff: Takeoff) -> int:
        # Whole feet, or tenths of a meter.
        step = FOOT if takeoff.house.units is UnitSystem.INCH else 100 * MM
        return round(Fraction(getattr(figures, field), step))

    def shown(count: int, takeoff: Takeoff) -> str:
        inches = takeoff.house.units is UnitSystem.INCH
        return f"{count:,}ft" if inches else f"{Decimal(count) / 10:,.1f}m"

    return _Line(name, steps, shown)


def _hours(name: str, field: str) -> _Line:
    return _Line(
        name,
        lambda figures, _: round(getattr(figures, field) * 10),
        lambda tenths, _: f"{Decimal(tenths) / 10:,.1f}h",
    )


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
        "Sheets, backers",
        lambda figures, _: round(figures.money),
        lambda cents, takeoff: money(Fraction(cents), takeoff.house.catalogue.currency),
    ),
)
