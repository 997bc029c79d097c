"""The choices of a house as text: both ways of each side by side, why they differ, and which way
they lean."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from takeoff.house import House
from takeoff.job import PlanCache, Takeoff
from takeoff.plan_figures import FigureKind
from takeoff.priced.choice import choices_of
from takeoff.priced.pricing import PricedChoice, priced
from takeoff.report.figure_words import figure_text
from takeoff.report.text_table import TextColumn, paragraph, table_lines

__all__ = ["choices_text"]


def choices_text(takeoff: Takeoff, rooms: Collection[str] = ()) -> str:
    """The choices about some rooms, all of them where none is named; ends in a newline."""
    return "\n".join(_lines(takeoff, rooms)) + "\n"


def _lines(takeoff: Takeoff, rooms: Collection[str]) -> Iterator[str]:
    house = takeoff.house
    yield house.name
    yield from paragraph(
        "Choices that are open, each worked out both ways with nothing else changed, by quick "
        "plans of its rooms alone. Hours are one person's, common practice with a wide spread; "
        "money is before whole packs. None of this is an order: it says which way figures lean.",
        indent="",
    )
    choices = [
        choice
        for choice in choices_of(house, shapes=takeoff.rooms)
        if not rooms or not set(rooms).isdisjoint(choice.rooms)
    ]
    cache = PlanCache()
    for choice in choices:
        yield ""
        yield from _choice(priced(house, choice, cache), house)
    if not choices:
        yield from paragraph("No choice is open.")


def _choice(both: PricedChoice, house: House) -> Iterator[str]:
    one, other = both.sides
    yield both.choice.name.upper()
    yield from paragraph(f"{both.leaning.says} {both.uncounted}")
    names = [
        f"{side.words.name}{', now' if side.words.id == both.now else ''}" for side in both.sides
    ]
    columns = (
        TextColumn("", 28),
        *(TextColumn(name, max(16, len(name)), right=True) for name in names),
    )
    yield from table_lines(
        columns,
        [
            [
                line.line.name,
                *(
                    figure_text(line.line.kind, steps, house.units, house.catalogue.currency)
                    for steps in (line.one, line.other)
                ),
            ]
            for line in both.lines
            if line.differs or line.line.kind is FigureKind.MONEY
        ],
    )
    for line in both.lines:
        if line.why:
            yield from paragraph(f"{line.line.name}: {line.why}", hang="  ")
    for fact in both.facts:
        yield from paragraph(
            f"{fact.what}. {one.words.name}: {fact.one}. {other.words.name}: {fact.other}.",
            hang="  ",
        )
    for keeps in both.keeps:
        source = f" ({keeps.source_text})" if keeps.source else ""
        yield from paragraph(
            f"{keeps.topic}. {one.words.name}: {keeps.one} {other.words.name}: {keeps.other}"
            f"{source}",
            hang="  ",
        )
    for side in both.sides:
        for warning in side.warnings:
            yield from paragraph(f"{side.words.name}: {warning}", hang="  ")
    for text in both.leaning.rests_on:
        yield from paragraph(f"Rests on: {text}", hang="  ")
