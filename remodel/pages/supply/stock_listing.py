"""The stock as people read it: what is here, for whom, what is free, on its way, and who is
short."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil
from urllib.parse import urlencode
from uuid import UUID

from django.db.models import F, Sum
from django.db.models.functions import Coalesce

from remodel.bridge import lengths
from remodel.bridge.lengths import FOOT, Amount
from remodel.house.models import House
from remodel.pages.supply.listing import amount_words, bought, unbroken
from remodel.spreadsheet import Value
from remodel.supply.colors import batches_of, is_paint
from remodel.supply.dealing import Share
from remodel.supply.models import Material, Movement, Order, OrderLine
from remodel.supply.standing import Standing

__all__ = [
    "HERE_CSV_HEADER",
    "Bringing",
    "ItemShown",
    "JobShown",
    "batches_shown",
    "bringing_of",
    "here_csv_rows",
    "item_shown",
    "jobs_shown",
    "measures_of",
    "places_of",
    "stick_size",
    "stick_words",
]

# On the list an item names so many rooms; the rest are added up. Its own page names all.
_NAMED = 3
Sticks = Mapping[int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemShown:
    """One item of the stock in words.

    `here_for` and `coming_for` are parts like `12 for Kitchen` and `7 free`. `under` says how far
    the stock is under zero, and `missing` is that amount as a form takes it, empty for sticks.
    `short` are sentences, and `order_query` asks a new order for those who are short.
    """

    item: str
    name: str
    about: bool
    here: str
    here_for: tuple[str, ...]
    under: str
    missing: str
    missing_of: str
    coming: str
    coming_for: tuple[str, ...]
    short: tuple[str, ...]
    order_query: str
    free: str
    free_coming: str
    cut: bool

    @property
    def is_gone(self) -> bool:
        """Whether there is nothing of it, nothing comes, and nobody who ordered waits for it."""
        return not (self.here or self.under or self.coming or self.short)


@dataclass(frozen=True, slots=True, kw_only=True)
class JobShown:
    """A job that takes an item: what it still takes and what it gets. One without a place in line
    gets nothing yet."""

    job: UUID
    name: str
    takes: str
    here: str
    coming: str
    short: str
    in_line: bool
    first: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Bringing:
    """An order that still brings an item."""

    order: UUID
    name: str


def bringing_of(house: House, item: str = "") -> dict[str, Bringing]:
    """For each item the first placed order that still brings some of it."""
    lines = (
        OrderLine.objects.filter(
            order__house=house, order__state=Order.State.PLACED, order__deleted_at=None
        )
        .exclude(pack="")
        .annotate(came=Coalesce(Sum("receipts__packs"), 0))
        .filter(packs__gt=F("came"))
        .order_by("order__placed_at", "position")
    )
    if item:
        lines = lines.filter(item=item)
    bringing: dict[str, Bringing] = {}
    for key, order, name in lines.values_list("item", "order", "order__name"):
        bringing.setdefault(key, Bringing(order=order, name=name))
    return bringing


def places_of(house: House) -> dict[str, str]:
    """The place each item was last moved to."""
    moved = (
        Movement.objects.filter(house=house, kind=Movement.Kind.MOVED)
        .exclude(place="")
        .order_by("serial")
    )
    return dict(moved.filter(reverses=None, reversed_by=None).values_list("item", "place"))


def batches_shown(house: House, item: str) -> list[str]:
    """The batches that an item came in, each with its cans: `Batch 1042: 2 x 1 gal`."""
    if not is_paint(item):
        return []
    return [
        f"Batch {batch.number}: {', '.join(bought(count, can) for count, can in batch.cans)}"
        for batch in batches_of(house, item)
        if batch.cans
    ]


def item_shown(standing: Standing, item: str, units: str) -> ItemShown:
    """One item in words, for the list: at most a few rooms by name."""
    words = _Words(standing, item, units)
    dealt = standing.dealt(item)
    supply = dealt.supply
    here = max(Fraction(0), supply.here)
    known = standing.here.get(item)
    coming_free = _left_of(supply.sticks_coming, (share.sticks_coming for share in dealt.shares))
    under = Fraction(0) if words.cut else max(Fraction(0), -supply.here)
    lacking = {length: -count for length, count in supply.sticks_here.items() if count < 0}
    short = [(words.who(share), share) for share in dealt.shares if share.short]
    return ItemShown(
        item=item,
        name=unbroken(standing.shop.name(item)),
        about=known is not None and bool(known.estimated),
        here=words.of(here, supply.sticks_here),
        here_for=words.parts(
            [(words.who(share), share.here, share.sticks_here) for share in dealt.shares],
            dealt.free_here,
            dealt.free_sticks,
        ),
        under=words.of(under, lacking),
        missing="" if words.cut else str(under),
        missing_of=lengths.format_amount(Amount(Fraction(1), words.unit)),
        coming=words.of(supply.coming, supply.sticks_coming),
        coming_for=words.parts(
            [(words.who(share), share.coming, share.sticks_coming) for share in dealt.shares],
            dealt.free_coming,
            coming_free,
        ),
        short=words.short(short),
        order_query=_order_query(standing, [share for _, share in short]),
        free=words.of(dealt.free_here, dealt.free_sticks),
        free_coming=words.of(dealt.free_coming, coming_free),
        cut=words.cut,
    )


def jobs_shown(standing: Standing, item: str, units: str) -> tuple[list[JobShown], list[JobShown]]:
    """The jobs in line for an item, as they are served, and those that take it too without a place
    in line."""
    words = _Words(standing, item, units)
    dealt = standing.dealt(item)
    in_line = [
        JobShown(
            job=share.job,
            name=standing.jobs[share.job].words,
            takes=words.members(share.need),
            here=words.of(share.here, share.sticks_here),
            coming=words.of(share.coming, share.sticks_coming),
            short=words.up(share.short),
            in_line=True,
            first=place == 0,
        )
        for place, share in enumerate(dealt.shares)
    ]
    served = {share.job for share in dealt.shares}
    others = [
        JobShown(
            job=need.job,
            name=standing.jobs[need.job].words,
            takes=words.members(need.amount),
            here="",
            coming="",
            short="",
            in_line=False,
            first=False,
        )
        for need in standing.needs.get(item, ())
        if need.job not in served
    ]
    return in_line, others


class _Words:
    """How amounts of one item are said."""

    def __init__(self, standing: Standing, item: str, units: str) -> None:
        self.standing = standing
        self.units = units
        self.unit = standing.units.get(item, "each")
        self.cut = standing.shop.is_cut(item)
        rooms: dict[str, int] = {}
        for share in standing.dealt(item).shares:
            name = standing.jobs[share.job].room_name
            rooms[name] = rooms.get(name, 0) + 1
        self.rooms = rooms

    def who(self, share: Share[UUID]) -> str:
        """The room that gets a share, with its phase where two jobs of the room take the item."""
        job = self.standing.jobs[share.job]
        return job.room_name if self.rooms[job.room_name] == 1 else job.words

    def of(self, value: Fraction, sticks: Sticks) -> str:
        """An amount, or sticks; empty for none."""
        if self.cut:
            return stick_words(sticks, self.units)
        if self.unit == "each":
            value = Fraction(round(value))
        return self._amount(value) if value > 0 else ""

    def up(self, value: Fraction) -> str:
        """An amount that somebody lacks; counted things are rounded up."""
        if self.unit == "each":
            value = Fraction(ceil(value))
        return self._amount(value) if value > 0 else ""

    def members(self, value: Fraction) -> str:
        """What a job takes; of what is cut, the length of its pieces together."""
        return self.up(value)

    def _amount(self, value: Fraction) -> str:
        return amount_words(Amount(value, self.unit), self.units)

    def parts(
        self, shares: Sequence[tuple[str, Fraction, Sticks]], free: Fraction, free_sticks: Sticks
    ) -> tuple[str, ...]:
        """Who gets how much, and what is free: `12 for Kitchen`, `7 free`."""
        values = [*(value for _, value, _ in shares), free]
        if self.unit == "each":
            values = list(_whole_parts(values))
        said = [
            (who, value, sticks)
            for (who, _, sticks), value in zip(shares, values, strict=False)
            if value
        ]
        named = said if len(said) <= _NAMED + 1 else said[:_NAMED]
        others = said[len(named) :]
        parts = [f"{self.of(value, sticks)} for {who}" for who, value, sticks in named]
        if others:
            together: dict[int, int] = {}
            for _, _, sticks in others:
                for length, count in sticks.items():
                    together[length] = together.get(length, 0) + count
            total = sum((value for _, value, _ in others), Fraction(0))
            parts.append(f"{self.of(total, together)} for {len(others)} more")
        free_words = self.of(values[-1], free_sticks)
        if free_words:
            parts.append(f"{free_words} free")
        return tuple(parts)

    def short(self, short: Sequence[tuple[str, Share[UUID]]]) -> tuple[str, ...]:
        """Who will be short of how much, as sentences."""
        named = short if len(short) <= _NAMED + 1 else short[:_NAMED]
        others = short[len(named) :]
        said = [f"{who} will be {self.up(share.short)} short." for who, share in named]
        if others:
            total = sum((share.short for _, share in others), Fraction(0))
            said.append(f"{len(others)} more will be {self.up(total)} short together.")
        return tuple(said)


def stick_words(sticks: Sticks, units: str) -> str:
    """Sticks by length: `5 × 8 ft, 2 × 12 ft`; empty for none."""
    return ", ".join(
        f"{count} × {stick_size(length, units)}"
        for length, count in sorted(sticks.items())
        if count > 0
    )


def stick_size(length: int, units: str) -> str:
    """The length of a stick in words: whole feet as a store says them, others as a tape does."""
    if units == "in" and length % FOOT:
        return lengths.tape_text(length, units)
    return lengths.shown_amount(Amount(Fraction(length, FOOT), "ft"), units)


def measures_of(
    material: Material | None, unit: str, sticks: Sticks, units: str
) -> list[tuple[str, str]]:
    """What an item can be counted in: its unit and its packs, or for sticks each length that is
    here or on sale.

    The value of each choice is an amount as text, like `1 lb`. The number that is entered counts
    those.
    """
    packs = list(material.packs.all()) if material else []
    if material is not None and material.cut:
        return [
            (
                lengths.format_amount(Amount(Fraction(length, FOOT), "ft")),
                f"sticks of {stick_size(length, units)} ({count} here)",
            )
            for length, count in _stick_sizes(material, sticks)
        ]
    whole = Amount(Fraction(1), packs[0].unit if packs else unit)
    measures = [(lengths.format_amount(whole), "pieces" if whole.unit == "each" else whole.unit)]
    return measures + [
        (lengths.format_amount(pack.amount), pack.name) for pack in packs if pack.amount != whole
    ]


def _stick_sizes(material: Material, sticks: Sticks) -> Iterator[tuple[int, int]]:
    """Each length of a stick that is here or on sale, and how many are here."""
    sold = {int(lengths.convert(pack.amount, "ft").value * FOOT) for pack in material.packs.all()}
    for length in sorted({*sold, *sticks}):
        yield length, max(0, sticks.get(length, 0))


HERE_CSV_HEADER = (
    "Item",
    "Key",
    "Unit",
    "Here",
    "Of it by estimate",
    "For whom",
    "Free here",
    "On its way",
    "Free on its way",
    "Short",
    "Who is short",
)


def here_csv_rows(standing: Standing, units: str) -> Iterable[tuple[Value, ...]]:
    """Every item that is known, with exact amounts, in the columns of `HERE_CSV_HEADER`."""

    def exact(value: Fraction, unit: str) -> Fraction:
        return lengths.in_units_of(Amount(Fraction(value), unit), units).value

    for item in standing.items:
        dealt = standing.dealt(item)
        known = standing.here.get(item)
        names, unit = standing.jobs, standing.units[item]
        yield (
            standing.shop.name(item),
            item,
            lengths.in_units_of(Amount(Fraction(0), unit), units).unit,
            exact(dealt.supply.here, unit),
            exact(known.estimated if known else Fraction(0), unit),
            "; ".join(names[share.job].words for share in dealt.shares if share.here),
            exact(dealt.free_here, unit),
            exact(dealt.supply.coming, unit),
            exact(dealt.free_coming, unit),
            exact(dealt.short, unit),
            "; ".join(names[share.job].words for share in dealt.shares if share.short),
        )


def _order_query(standing: Standing, short: Iterable[Share[UUID]]) -> str:
    """What a new order is asked for, so that those who are short are in it: each room and each
    phase once."""
    jobs = [standing.jobs[share.job] for share in short]
    rooms = dict.fromkeys(("room", str(job.room)) for job in jobs)
    phases = dict.fromkeys(("phase", job.phase) for job in jobs)
    return urlencode([*rooms, *phases])


def _left_of(all_: Sticks, taken: Iterable[Sticks]) -> dict[int, int]:
    """The sticks that nobody takes."""
    rest = dict(all_)
    for sticks in taken:
        for length, count in sticks.items():
            rest[length] = rest.get(length, 0) - count
    return rest


def _whole_parts(values: Iterable[Fraction]) -> Iterator[Fraction]:
    """Whole numbers near some values, which add up to what their total rounds to."""
    total, said = Fraction(0), 0
    for value in values:
        total += value
        yield Fraction(round(total) - said)
        said = round(total)
