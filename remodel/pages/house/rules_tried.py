"""What other rules change in the rooms of a house, tried with first plans. Nothing is stored."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from fractions import Fraction
from time import monotonic

from django.core.cache import cache

from remodel.board.models import PlacedPiece
from remodel.bridge import house_value
from remodel.bridge.piles import Pile, piles_in
from remodel.bridge.records import Rules, rules_of
from remodel.bridge.rules_tried import Sums, first_plans, sum_of, with_rules
from remodel.house.models import House, Room
from remodel.house.queries import whole_house
from remodel.pages.money_and_hours import hours_text
from remodel.web.parts import Column, Table
from remodel.web.templatetags.halfbay import money
from remodel.work.models import Phase, PhaseState

__all__ = ["RulesTried", "sums_table", "try_rules"]

_SECONDS = 6.0
_DAY = 24 * 3600


@dataclass(frozen=True, slots=True, kw_only=True)
class RulesTried:
    """What was tried: the names of the rooms that were worked out, how many more there are, and how
    many cannot be worked out; what their first plans take, in `table`. `same` says that nothing of
    it changes."""

    rooms: tuple[str, ...]
    left: int
    broken: int
    table: Table
    same: bool


def try_rules(
    house: House,
    rules: Rules,
    *,
    seconds: float = _SECONDS,
    among: Collection[str] | None = None,
    titles: tuple[str, str] = ("Rules now", "As typed"),
) -> RulesTried:
    """Work out the rooms of a house in which nothing is cut or hung, with its rules and with other
    ones. After so many `seconds` no further room is begun. `among` are the keys of the rooms that
    are asked about, where not all are; `titles` are what both ways are called."""
    begun = monotonic()
    piles = [
        pile
        for pile in _open_piles(house)
        if among is None or not set(among).isdisjoint(pile.rooms)
    ]
    now = rules_of(house)
    tried: list[tuple[Pile, Sums | None, Sums | None]] = []
    for pile in piles:
        if tried and monotonic() - begun > seconds:
            break
        tried.append((pile, _sums(pile, now), _sums(pile, rules)))
    names = {room.key: room.name for room in house.rooms.all()}
    before = sum_of(one for _, one, other in tried if one and other)
    after = sum_of(other for _, one, other in tried if one and other)
    return RulesTried(
        rooms=tuple(
            names[key] for pile, one, other in tried if one and other for key in pile.rooms
        ),
        left=sum(len(pile.rooms) for pile in piles[len(tried) :]),
        broken=sum(len(pile.rooms) for pile, one, other in tried if not one or not other),
        table=sums_table(before, after, house, titles),
        same=before == after,
    )


def _open_piles(house: House) -> Iterator[Pile]:
    """The piles of a house in which no room is finished or hung, and no board is cut."""
    begun = set(
        PlacedPiece.objects.filter(room__house=house, state__in=PlacedPiece.HERE).values_list(
            "room__key", flat=True
        )
    )
    begun |= set(
        Phase.objects.filter(
            room__house=house, key="hanging", state=PhaseState.DONE, left_out=False
        ).values_list("room__key", flat=True)
    )
    begun |= set(Room.objects.filter(house=house, finished=True).values_list("key", flat=True))
    for pile in piles_in(house_value(whole_house(house.pk))):
        if begun.isdisjoint(pile.rooms):
            yield pile


def _sums(pile: Pile, rules: Rules) -> Sums | None:
    """First plans follow from a pile alone, so they are worked out once."""
    pile = with_rules(pile, rules)
    key = f"rules-tried:{pile.digest()}"
    found: tuple[Sums | None] | None = cache.get(key)
    if found is None:
        found = (first_plans(pile),)
        cache.set(key, found, _DAY)
    return found[0]


def sums_table(before: Sums, after: Sums, house: House, titles: tuple[str, str]) -> Table:
    """What plans take one way and another, with what differs."""
    currency = house.currency

    def count(what: str, one: int, other: int) -> list[str]:
        return [what, str(one), str(other), _signed(str(abs(other - one)), other - one, "fewer")]

    def cents(what: str, one: int | Fraction, other: int | Fraction) -> list[str]:
        more = round(other) - round(one)
        return [
            what,
            *(money(round(value), currency) for value in (one, other)),
            _signed(money(abs(more), currency), more, "less"),
        ]

    longer = round(after.hours * 10) - round(before.hours * 10)
    rows = [
        count("Sheets", before.sheets, after.sheets),
        count("Pieces", before.pieces, after.pieces),
        count("Butt seams", before.joints, after.joints),
        [
            "Work, hung and finished",
            hours_text(before.hours),
            hours_text(after.hours),
            _signed(hours_text(Fraction(abs(longer), 10)), longer, "less"),
        ],
        cents("Price of the sheets", before.sheet_cost, after.sheet_cost),
        cents("Price of all materials", before.cost, after.cost),
    ]
    if before.refused or after.refused:
        rows.append(count("Surfaces without a plan", before.refused, after.refused))
    return Table(
        id="rules-tried",
        caption="What it changes",
        columns=[
            Column(title="What"),
            Column(title=titles[0], number=True),
            Column(title=titles[1], number=True),
            Column(title="Difference", number=True),
        ],
        rows=rows,
        caption_hidden=True,
    )


def _signed(words: str, more: int, less: str) -> str:
    return "none" if not more else f"{words} {'more' if more > 0 else less}"
