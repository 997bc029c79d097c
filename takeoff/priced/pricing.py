"""A choice worked out both ways, and which way its figures lean."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from takeoff.house import BehindPartition, House
from takeoff.job import PlanCache, Takeoff, take_off
from takeoff.plan_figures import FigureLine
from takeoff.priced.choice import Choice, ChoiceKind, house_with, on_framing_again, side_now
from takeoff.priced.entry import entry_of
from takeoff.priced.figures import CHOICE_LINES, SideFigures, figures_of_side
from takeoff.priced.words import Keeps, SideWords, kind_words
from takeoff.quantities import money
from takeoff.reference import figures
from takeoff.units import INCH, MM, Nm, UnitSystem, format_length

__all__ = [
    "ComparedLine",
    "Fact",
    "Lean",
    "Leaning",
    "PricedChoice",
    "PricedSide",
    "lean_of",
    "priced",
]

# more places of blocking than these are read on the room's own page
_MOST_TEXTS = 6


class Lean(StrEnum):
    """How a choice leans by its figures: clearly to one side, only if one's own pace is quick or
    slow, or not at all."""

    CLEAR = "clear"
    BY_PACE = "by pace"
    EVEN = "even"


@dataclass(frozen=True, slots=True, kw_only=True)
class Leaning:
    """Which way a choice leans, in words. `side` is the id of the side, empty where it leans to
    neither; `rests_on` are sentences about what that is worth."""

    lean: Lean
    side: str
    says: str
    rests_on: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ComparedLine:
    """A figure of both sides, in whole steps of what is shown (see `FigureLine.steps`), with why it
    differs, where that is known. `why` is empty where it does not."""

    line: FigureLine
    one: int
    other: int
    why: str = ""

    @property
    def differs(self) -> bool:
        return self.one != self.other


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """Something of both sides that is no number: what it is, and each side's own, in words."""

    what: str
    one: str
    other: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PricedSide:
    """One side, worked out: its words and its figures. `warnings` are sentences for a person who
    would take it. `stays` are the ids of surfaces that no plan can be made for so: their butt seams
    stay on framing."""

    words: SideWords
    figures: SideFigures
    warnings: tuple[str, ...] = ()
    stays: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PricedChoice:
    """A choice with both sides worked out. `now` is the id of the side that the house has, empty
    where it has neither. `lines` are figures that either side has at all. `takeoffs` are those that
    both sides were read off; whoever keeps the rest may leave them out."""

    choice: Choice
    now: str
    one: PricedSide
    other: PricedSide
    lines: tuple[ComparedLine, ...]
    facts: tuple[Fact, ...]
    keeps: tuple[Keeps, ...]
    leaning: Leaning
    uncounted: str
    takeoffs: tuple[Takeoff, ...] = ()

    @property
    def sides(self) -> tuple[PricedSide, PricedSide]:
        return self.one, self.other

    @property
    def money(self) -> Fraction:
        """How many cents more the other side costs than the one, before whole packs."""
        return self.other.figures.cost - self.one.figures.cost

    @property
    def hours(self) -> Fraction:
        """How many hours of one person more the other side takes than the one."""
        return self.other.figures.hours - self.one.figures.hours


def priced(house: House, choice: Choice, cache: PlanCache | None = None) -> PricedChoice:
    """Work a choice of a house out both ways, each by a takeoff of its rooms with nothing else
    changed. Both have first plans.

    `cache` carries plans from one choice of the same house to the next. Raises `BadValue` where a
    side cannot be built.
    """
    cache = cache or PlanCache()
    made = [_taken_off(house, choice, side, cache) for side in choice.sides]
    takeoffs = [takeoff for takeoff, _ in made]
    words = kind_words(choice.kind)
    one, other = (
        PricedSide(
            words=side,
            figures=figures_of_side(takeoff, choice, side.id),
            warnings=tuple(_warnings(takeoff, choice, stays)),
            stays=stays,
        )
        for side, (takeoff, stays) in zip(words.sides, made, strict=True)
    )
    return PricedChoice(
        choice=choice,
        now=side_now(house, choice),
        one=one,
        other=other,
        lines=tuple(_lines(one.figures, other.figures, words.why, house)),
        facts=tuple(_facts(takeoffs[0], choice, one, other)),
        keeps=words.keeps,
        leaning=_leaning(house, choice, one, other),
        uncounted=words.uncounted,
        takeoffs=tuple(takeoffs),
    )


def _taken_off(
    house: House, choice: Choice, side: str, cache: PlanCache
) -> tuple[Takeoff, tuple[str, ...]]:
    """The takeoff of a side, and the surfaces on which butt seams stay on framing because no plan
    can be made with floating ones."""
    chosen = house_with(house, choice, side)
    takeoff = take_off(chosen, cache=cache)
    if choice.kind is not ChoiceKind.JOINTS or side == choice.sides[0]:
        return takeoff, ()
    stays: tuple[str, ...] = ()
    while new := [
        one.surface
        for one in takeoff.refused
        if one.surface.partition("/")[0] == choice.of and one.surface not in stays
    ]:
        stays = (*stays, *new)
        takeoff = take_off(on_framing_again(chosen, choice, stays), cache=cache)
    return takeoff, stays


def _lines(
    one: SideFigures, other: SideFigures, why: Mapping[str, str], house: House
) -> Iterator[ComparedLine]:
    for line in CHOICE_LINES:
        steps = line.steps(one, house.units), line.steps(other, house.units)
        if any(steps):
            differs = steps[0] != steps[1]
            yield ComparedLine(
                line=line,
                one=steps[0],
                other=steps[1],
                why=why.get(line.field, "") if differs else "",
            )


def _facts(takeoff: Takeoff, choice: Choice, one: PricedSide, other: PricedSide) -> Iterator[Fact]:
    """What of both sides is no number. `takeoff` is that of the first side."""
    if choice.kind is ChoiceKind.PARTITION:
        yield from _of_entry(takeoff, choice)
    first, second = one.figures.backing, other.figures.backing
    alone = (
        [text for text in first if text not in second],
        [text for text in second if text not in first],
    )
    if any(alone):
        yield Fact(
            what="Blocking and backing",
            one=_sentences(alone[0]) or "Nothing more than the other way",
            other=_sentences(alone[1]) or "Nothing more than the other way",
        )


def _of_entry(takeoff: Takeoff, choice: Choice) -> Iterator[Fact]:
    """What still gets into the room behind a partition."""
    house = takeoff.house
    behind = _behind(house, choice)
    longest = _longest_in(takeoff, choice, behind)
    if longest is None:
        return
    through = (
        f"{_tape(longest, house)} on edge through its door"
        if longest
        else "none once its faces are hung, for it has no door"
    )
    yield Fact(
        what=f"Longest board into {house.room(behind).name}",
        one=f"{through}. All of its walls and its ceiling are hung inside",
        other=f"{through}, for its own face alone. Ceiling and walls are hung from the open room",
    )


def _behind(house: House, choice: Choice) -> str:
    return next(
        room.id for room in house.rooms if room.shape == BehindPartition(partition=choice.of)
    )


def _longest_in(takeoff: Takeoff, choice: Choice, behind: str) -> Nm | None:
    shapes = [shape for shape in takeoff.partitions if shape.partition == choice.of]
    geometry = next(room for room in takeoff.rooms if room.room == behind)
    return entry_of(shapes, geometry).longest


def _warnings(takeoff: Takeoff, choice: Choice, stays: Sequence[str]) -> Iterator[str]:
    names = {one.surface.id: one.surface.name for one in takeoff.framed}
    for id_ in stays:
        yield f"{names[id_]}: no plan fits with floating seams, so its seams stay on framing"
    for message in takeoff.refused:
        yield f"Not counted. {message.message}"
    if choice.kind is not ChoiceKind.PARTITION:
        return
    behind = _behind(takeoff.house, choice)
    longest = _longest_in(takeoff, choice, behind)
    if not longest:
        return
    marks = [
        piece.code
        for plan in takeoff.surface_plans
        if plan.room == behind
        for piece in plan.pieces
        if piece.end - piece.start > longest
    ]
    if marks:
        room = takeoff.house.room(behind).name
        yield (
            f"{len(marks)} {'piece' if len(marks) == 1 else 'pieces'} planned for {room} "
            f"{'is' if len(marks) == 1 else 'are'} longer than the "
            f"{_tape(longest, takeoff.house)} that {'gets' if len(marks) == 1 else 'get'} through "
            "its door: bring them in between the studs before the faces are hung, or enter that "
            f'length as its "Longest board that gets in"'
        )


def _tape(length: Nm, house: House) -> str:
    """Rounded down to a whole inch or centimeter: it is worked out, not measured."""
    step = INCH if house.units is UnitSystem.INCH else 10 * MM
    return format_length(Nm(length // step * step), house.units)


def _sentences(texts: Sequence[str]) -> str:
    """The first few texts as sentences; further ones are counted."""
    said = ". ".join(texts[:_MOST_TEXTS])
    more = len(texts) - _MOST_TEXTS
    return f"{said}. And {more} more" if more > 0 else said


def lean_of(more: Fraction, hours: Fraction, worth: Fraction) -> tuple[Lean, int]:
    """How a choice leans whose other side takes `more` cents and `hours` than the one, where an
    hour is worth so many cents, and the place of the side that is ahead: 0 for the one, 1 for the
    other.

    It is clear where the same side is ahead over the whole spread of paces, and even where less
    than an hour's worth is between them. Where the pace decides, the side that is ahead at a quick
    one is given.
    """
    quick, slow = _spread()
    totals = [more + hours * pace * worth for pace in (quick, Fraction(1), slow)]
    little = worth or Fraction(100)
    if all(abs(total) < little for total in totals):
        return Lean.EVEN, int(totals[1] < 0)
    if min(totals) < 0 < max(totals):
        return Lean.BY_PACE, int(totals[0] < 0)
    return Lean.CLEAR, int(totals[1] < 0)


def _leaning(house: House, choice: Choice, one: PricedSide, other: PricedSide) -> Leaning:
    """Which way a choice leans: by money and by hours at what an hour is worth, else by rounds."""
    more = other.figures.cost - one.figures.cost
    hours = other.figures.hours - one.figures.hours
    lean, place = lean_of(more, hours, Fraction(house.rules.hour) * 100)
    ahead, behind = (one, other)[place], (other, one)[place]
    side, says = ahead.words.id, f"The figures lean to {ahead.words.name}."
    if lean is Lean.BY_PACE:
        side = ""
        says = (
            f"{ahead.words.name} comes out ahead if you work quickly, {behind.words.name} if you "
            "work slowly."
        )
    elif lean is Lean.EVEN:
        fewer = _fewer_rounds(one, other)
        side = fewer.words.id if fewer else ""
        says = (
            f"It takes fewer rounds, trips or days with {fewer.words.name}."
            if fewer
            else "The figures favor neither."
        )
    return Leaning(
        lean=lean,
        side=side,
        says=f"{_said(more, hours, one, other, house)} {says}",
        rests_on=tuple(_rests(house, choice, one, other)),
    )


def _said(more: Fraction, hours: Fraction, one: PricedSide, other: PricedSide, house: House) -> str:
    """What the other side takes more or less than the one, as a sentence."""
    cents, tenths = round(more), round(hours * 10)
    parts = []
    if cents:
        amount = money(abs(cents), house.catalogue.currency)
        parts.append(f"costs {amount} {'more' if cents > 0 else 'less'}")
    if tenths:
        amount = f"{abs(tenths) // 10}.{abs(tenths) % 10}"
        parts.append(f"takes {amount} hours {'more' if tenths > 0 else 'less'}")
    if not parts:
        return "Both cost the same and take the same hours."
    both = " but " if cents * tenths < 0 else " and "
    return f"{other.words.name} {both.join(parts)} than {one.words.name}."


def _fewer_rounds(one: PricedSide, other: PricedSide) -> PricedSide | None:
    """The side with fewer rounds, trips, lift days and drying; None where they have as many, or
    each has fewer of something."""
    pairs = [
        (getattr(one.figures, name), getattr(other.figures, name))
        for name in ("rounds_hanging", "rounds_taping", "lift_days", "trips", "drying")
    ]
    if all(mine <= its for mine, its in pairs) and any(mine < its for mine, its in pairs):
        return one
    if all(its <= mine for mine, its in pairs) and any(its < mine for mine, its in pairs):
        return other
    return None


def _spread() -> tuple[Fraction, Fraction]:
    """How quick and how slow people are against the minutes of the rules: the spread of the figure
    for board hung by the square foot."""
    entry = figures.figure("HR-area")
    low = entry.low if entry.low is not None else entry.number
    high = entry.high if entry.high is not None else entry.number
    return low / entry.number, high / entry.number


def _rests(house: House, choice: Choice, one: PricedSide, other: PricedSide) -> Iterator[str]:
    """What the leaning rests on."""
    yield (
        "Both ways are quick plans of these rooms by themselves, all bought new. Your own plan may "
        "be better than either."
    )
    hour = Fraction(house.rules.hour)
    if hour:
        quick, slow = _spread()
        yield (
            f"An hour counts {money(hour * 100, house.catalogue.currency)}, as the rules of the "
            "house have it. Hours are one person's, common practice without a published source: "
            f"it was tried from {float(quick):.1f} to {float(slow):.1f} times as long."
        )
    else:
        yield "An hour counts nothing by the rules of the house, so money alone decides."
    unpriced = dict.fromkeys([*one.figures.unpriced, *other.figures.unpriced])
    if unpriced:
        yield f"Not in the money, because nothing on sale meets it: {', '.join(unpriced)}."
    if not choice.of:
        yield "Rooms whose board is ordered, cut or hung are left out."
