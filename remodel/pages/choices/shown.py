"""What the page of one choice shows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.urls import reverse

from remodel.bridge.choices import (
    ChoiceKind,
    Leaning,
    NeedFigure,
    PricedChoice,
    SideWords,
    SurfaceBothWays,
    kind_words,
)
from remodel.bridge.drawn import Drawn
from remodel.bridge.lengths import TakeoffError
from remodel.choices import OpenChoice, both_ways
from remodel.house.models import House, Partition, Room
from remodel.pages.drawings import drawing_of
from remodel.pages.figures_table import compared_table
from remodel.pages.house.room_page import amount_text
from remodel.web.parts import Cell, Column, Drawing, Table
from remodel.work.queries import names_of_phases

__all__ = ["SurfacePair", "choice_shown"]

# What people ask for first, also where both ways have as many.
_ALWAYS = ("sheets", "butts", "hanging", "finishing", "cost")


@dataclass(frozen=True, slots=True, kw_only=True)
class SideShown:
    """One side. `picture` is a template; `may_take` says that a button can take it."""

    words: SideWords
    picture: str
    is_now: bool
    leans_here: bool
    may_take: bool
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfacePair:
    """A surface drawn both ways; None where there is no board on it that way."""

    id: str
    name: str
    sides: tuple[Drawing | None, Drawing | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class ChoiceOnPage:
    """A choice worked out. Without `table` it could not be, and `why_not` says why. `form_url` is
    the page where the same thing is entered, called `form_name`; empty where none is. `rooms` names
    those that a choice of the whole house is worked out for."""

    name: str
    sides: tuple[SideShown, SideShown]
    stored: bool
    overtaken: str
    form_url: str
    form_name: str
    rooms: tuple[str, ...]
    why_not: str = ""
    leaning: Leaning | None = None
    uncounted: str = ""
    table: Table | None = None
    why: tuple[tuple[str, str], ...] = ()
    keeps: Table | None = None
    needs: Table | None = None
    surfaces: tuple[SurfacePair, ...] = ()
    left: int = 0


def choice_shown(house: House, one: OpenChoice) -> ChoiceOnPage:
    """A choice for its page, worked out now unless that is known."""
    url, name = _form_of(house, one)
    rooms = () if one.choice.of else _names(house, one.choice.rooms)
    try:
        both = both_ways(house, one.choice)
    except TakeoffError as error:
        return ChoiceOnPage(
            name=one.choice.name,
            sides=_sides(one, None),
            stored=one.choice.stored,
            overtaken=one.overtaken,
            form_url=url,
            form_name=name,
            rooms=rooms,
            why_not=str(error),
        )
    priced = both.priced
    titles = priced.one.words.name, priced.other.words.name
    return ChoiceOnPage(
        name=one.choice.name,
        sides=_sides(one, priced),
        stored=one.choice.stored,
        overtaken=one.overtaken,
        form_url=url,
        form_name=name,
        rooms=rooms,
        leaning=priced.leaning,
        uncounted=priced.uncounted,
        table=compared_table(
            [
                (line.line, line.one, line.other)
                for line in priced.lines
                if line.differs or line.line.field in _ALWAYS
            ],
            house,
            id="choice-compared",
            caption="What both ways come to",
            titles=titles,
        ),
        why=tuple((line.line.name, line.why) for line in priced.lines if line.why),
        keeps=_keeps(priced, titles),
        needs=_needs(priced, titles, house),
        surfaces=tuple(_pair(at, surface, titles) for at, surface in enumerate(both.surfaces)),
        left=both.left,
    )


def _sides(one: OpenChoice, priced: PricedChoice | None) -> tuple[SideShown, SideShown]:
    first, second = (
        SideShown(
            words=words,
            picture=f"choices/pictures/{one.choice.kind}-{at}.html",
            is_now=words.id == one.now,
            leans_here=priced is not None and priced.leaning.side == words.id,
            may_take=one.choice.stored and not one.overtaken and words.id != one.now,
            warnings=priced.sides[at].warnings if priced is not None else (),
        )
        for at, words in enumerate(kind_words(one.choice.kind).sides)
    )
    return first, second


def _form_of(house: House, one: OpenChoice) -> tuple[str, str]:
    """The page where the same thing is entered among others, and what it is called."""
    kind, of = one.choice.kind, one.choice.of
    if kind is ChoiceKind.PARTITION:
        partition = Partition.objects.get(house=house, key=of)
        return reverse("partition-detail", args=[partition.pk]), partition.name
    if kind in (ChoiceKind.CEILING, ChoiceKind.LEVEL, ChoiceKind.JOINTS):
        room = Room.objects.get(house=house, key=of)
        if kind is ChoiceKind.CEILING:
            return reverse("surface-edit", args=[room.pk, "ceiling"]), f"{room.name}, ceiling"
        if kind is ChoiceKind.JOINTS:
            return reverse("room-edit", args=[room.pk]), f"the surfaces of {room.name}"
        return reverse("room-finish", args=[room.pk]), f"Boards and finish of {room.name}"
    if kind is ChoiceKind.SHEETS:
        return reverse("house-together", args=[house.pk]), "Share sheets between rooms"
    return "", ""


def _names(house: House, keys: Sequence[str]) -> tuple[str, ...]:
    rooms = Room.objects.filter(house=house, key__in=keys)
    return tuple(rooms.order_by("position", "key").values_list("name", flat=True))


def _keeps(priced: PricedChoice, titles: tuple[str, str]) -> Table:
    """What is no figure: what gets in, what goes behind the board, what each way keeps open."""
    rows: list[list[str | Cell]] = [
        [fact.what, f"{fact.one}.", f"{fact.other}."] for fact in priced.facts
    ]
    rows += [
        [Cell(text=one.topic, note=one.source_text if one.source else ""), one.one, one.other]
        for one in priced.keeps
    ]
    return Table(
        id="choice-keeps",
        caption="What each way forbids or keeps open",
        columns=[Column(title="About"), *(Column(title=title) for title in titles)],
        rows=rows,
        caption_hidden=True,
    )


def _needs(priced: PricedChoice, titles: tuple[str, str], house: House) -> Table | None:
    """Every material of which the two ways take different amounts."""
    names = names_of_phases(house)
    ways: list[dict[tuple[str, str], NeedFigure]] = [
        {(need.phase, need.material): need for need in side.figures.needs} for side in priced.sides
    ]
    rows: list[list[str | Cell]] = []
    for key in dict.fromkeys([*ways[0], *ways[1]]):
        needs = [way.get(key) for way in ways]
        shown = [amount_text(need.amount, house.units) if need else "none" for need in needs]
        if shown[0] != shown[1]:
            name = next(need.name for need in needs if need)
            rows.append([name, names.get(key[0], key[0]), *shown])
    if not rows:
        return None
    return Table(
        id="choice-needs",
        caption="Materials that differ",
        columns=[
            Column(title="Material"),
            Column(title="Phase"),
            *(Column(title=title, number=True) for title in titles),
        ],
        rows=rows,
        caption_hidden=True,
    )


def _pair(at: int, surface: SurfaceBothWays, titles: tuple[str, str]) -> SurfacePair:
    def drawing(drawn: Drawn | None, side: int) -> Drawing | None:
        caption = f"{titles[side]}: {surface.name}"
        return drawing_of(drawn, f"choice-{at}-{side}", caption) if drawn is not None else None

    return SurfacePair(
        id=f"choice-{at}",
        name=surface.name,
        sides=(drawing(surface.one, 0), drawing(surface.other, 1)),
    )
