"""Choices of a house worked out both ways, as plain values for pages."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace

from remodel.bridge.drawings import as_drawn, lies_of
from remodel.bridge.drawn import Drawn
from takeoff.drawing.elevation import surface_drawing
from takeoff.drawing.style import PHONE
from takeoff.errors import BadValue
from takeoff.geometry.rooms import room_shapes
from takeoff.house import House
from takeoff.job import PlanCache, Takeoff
from takeoff.priced.choice import (
    Choice,
    ChoiceKind,
    choices_of,
    side_now,
    surfaces_of_joints,
)
from takeoff.priced.figures import NeedFigure
from takeoff.priced.pricing import (
    ComparedLine,
    Fact,
    Leaning,
    PricedChoice,
    PricedSide,
    priced,
)
from takeoff.priced.state import free_rooms, overtaken
from takeoff.priced.words import Keeps, SideWords, kind_words

__all__ = [
    "Choice",
    "ChoiceKind",
    "ComparedLine",
    "DrawnBothWays",
    "Fact",
    "Keeps",
    "Leaning",
    "NeedFigure",
    "PlanCache",
    "PricedChoice",
    "PricedSide",
    "SideWords",
    "SurfaceBothWays",
    "choices_and_sides",
    "drawn_both_ways",
    "free_rooms",
    "kind_words",
    "level_of",
    "overtaken",
    "priced",
    "surfaces_of_joints",
]

_MOST_DRAWN = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceBothWays:
    """A surface whose boards lie otherwise by the two sides of a choice. A drawing is None where
    there is no such surface that way, or no board on it."""

    id: str
    name: str
    one: Drawn | None
    other: Drawn | None


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnBothWays:
    """A choice without its takeoffs, and the first of the surfaces that differ; `left` counts
    further ones."""

    priced: PricedChoice
    surfaces: tuple[SurfaceBothWays, ...]
    left: int


def drawn_both_ways(house: House, choice: Choice, cache: PlanCache | None = None) -> DrawnBothWays:
    """A choice worked out and drawn. Raises `BadValue` where a side cannot be built."""
    both = priced(house, choice, cache)
    one, other = both.takeoffs
    surfaces = list(_differing(one, other))
    return DrawnBothWays(
        priced=replace(both, takeoffs=()),
        surfaces=tuple(
            SurfaceBothWays(
                id=id_,
                name=name,
                one=_drawn(one, id_, f"one-{at}"),
                other=_drawn(other, id_, f"other-{at}"),
            )
            for at, (id_, name) in enumerate(surfaces[:_MOST_DRAWN])
        ),
        left=max(0, len(surfaces) - _MOST_DRAWN),
    )


def choices_and_sides(house: House, free: Collection[str]) -> tuple[tuple[Choice, str], ...]:
    """The choices of a house, each with the side that it has. `free` are the rooms in which no
    board is cut yet. Raises `BadValue` where the house cannot be built."""
    shapes, _ = room_shapes(house)
    return tuple(
        (choice, side_now(house, choice, shapes)) for choice in choices_of(house, free, shapes)
    )


def level_of(side: str) -> int:
    """The level of finish that a side of a choice of levels stands for."""
    return int(side.rpartition("-")[2])


def _differing(one: Takeoff, other: Takeoff) -> Iterator[tuple[str, str]]:
    """The ids and names of the surfaces whose boards lie otherwise."""
    lies, others = lies_of(one.surface_plans), lies_of(other.surface_plans)
    names = {
        surface.id: surface.name
        for takeoff in (one, other)
        for room in takeoff.rooms
        for surface in room.surfaces
    }
    for id_, name in names.items():
        if lies.get(id_) != others.get(id_):
            yield id_, name


def _drawn(takeoff: Takeoff, surface: str, prefix: str) -> Drawn | None:
    if all(plan.surface != surface for plan in takeoff.surface_plans):
        return None
    try:
        return as_drawn(surface_drawing(takeoff, surface, page=PHONE, prefix=prefix))
    except BadValue:
        return None
