"""Each room in several ways as text: a table a room, and why a way is not in it."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from takeoff.boards.ways import PlannedWay, Way, narrow_width, plan_way
from takeoff.geometry.rooms import RoomGeometry
from takeoff.job import Takeoff
from takeoff.plan_figures import FIGURE_LINES, FigureLine, PlanFigures, figures_of
from takeoff.report.figure_words import figure_text
from takeoff.report.text_table import TextColumn, paragraph, table_lines
from takeoff.units import UnitSystem, tape_reading

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
            for line in FIGURE_LINES
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


def _cell(line: FigureLine, takeoff: Takeoff, figures: PlanFigures, base: PlanFigures) -> str:
    house = takeoff.house
    value = line.steps(figures, house.units)
    more = value - line.steps(base, house.units)
    said, apart = (
        figure_text(line.kind, steps, house.units, house.catalogue.currency)
        for steps in (value, abs(more))
    )
    return f"{said} ({'+' if more > 0 else '-'}{apart})" if more else said
