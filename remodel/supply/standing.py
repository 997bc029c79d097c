"""Where a house stands: what each item has here and on its way, for whom, what is free, who is
short, and what is still to buy. Every page reads these figures."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property
from uuid import UUID

from django.db.models import Sum

from remodel.board.queries import takes_of_house
from remodel.bridge import lengths
from remodel.bridge.buying import NotOnSale, PackCount, Shop
from remodel.bridge.lengths import Amount
from remodel.bridge.records import catalogue_value, rules_of
from remodel.bridge.takes import RoomTakes
from remodel.house.models import House
from remodel.supply.claims import in_line, place_in_line
from remodel.supply.dealing import Dealt, Supply, Want, deal
from remodel.supply.ledger import Here, here_of, stick_length
from remodel.supply.models import Order, OrderLine
from remodel.supply.queries import with_catalogue
from remodel.supply.remaining import InPlace, Job, JobNeed, in_place_of, jobs_of, remaining_needs

__all__ = ["Buying", "Standing", "coming_of", "standing_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Buying:
    """What is to be bought of one item: `missing` in its unit, and the packs for it. Where nothing
    on sale meets it, `unmet` says why. `shares` is what of it each job lacks; of the packs that is
    all but what is left over."""

    item: str
    unit: str
    missing: Fraction
    packs: tuple[PackCount, ...] = ()
    shares: tuple[tuple[UUID, Fraction], ...] = ()
    unmet: str = ""

    @property
    def cost(self) -> int:
        return sum(pack.price * pack.count for pack in self.packs)


@dataclass(frozen=True, kw_only=True)
class Standing:
    """A house at one moment. `needs` is what jobs still take by item, in the order of the jobs;
    amounts of an item are in its `units`."""

    jobs: Mapping[UUID, Job]
    takes: Mapping[UUID, RoomTakes]
    place: InPlace
    needs: Mapping[str, tuple[JobNeed, ...]]
    units: Mapping[str, str]
    here: Mapping[str, Here]
    supply: Mapping[str, Supply]
    line: Mapping[UUID, Mapping[str, int | None]]
    shop: Shop
    _dealt: dict[tuple[str, frozenset[UUID]], Dealt[UUID]] = field(default_factory=dict)

    @cached_property
    def items(self) -> tuple[str, ...]:
        """Every item that is here, on its way or needed, in the order of a store's shelf."""
        known = dict.fromkeys([*self.needs, *self.here, *self.supply])
        return tuple(sorted(known, key=lambda item: (self.shop.place(item), item)))

    def wanted_by(self, jobs: Collection[UUID]) -> list[tuple[UUID, str]]:
        """What some jobs still take, as (job, item)."""
        return [
            (need.job, item)
            for item, needs in self.needs.items()
            for need in needs
            if need.job in jobs
        ]

    def claimed_since(self, job: UUID, item: str) -> int | None:
        """The place in line of a job for an item; None where it has none."""
        return place_in_line(self.line, job, item)

    def dealt(self, item: str, also: Collection[UUID] = ()) -> Dealt[UUID]:
        """An item dealt out to the jobs that have a claim on it, then to `also`, in the order of
        the rooms and their phases."""
        key = (item, frozenset(also))
        if key not in self._dealt:
            wanting = []
            for need in self.needs.get(item, ()):
                since = self.claimed_since(need.job, item)
                if since is not None:
                    wanting.append((0, since, self.jobs[need.job].place, need))
                elif need.job in key[1]:
                    wanting.append((1, 0, self.jobs[need.job].place, need))
            wanting.sort(key=lambda one: (one[:3], str(one[3].job)))
            self._dealt[key] = self._deal(item, [need for *_, need in wanting])
        return self._dealt[key]

    def dealt_to_all(self, item: str) -> Dealt[UUID]:
        """An item dealt out to every job that takes it, those without a claim last."""
        return self.dealt(item, self._everybody)

    def _deal(self, item: str, needs: Iterable[JobNeed]) -> Dealt[UUID]:
        wants = [Want(job=need.job, amount=need.amount, members=need.members) for need in needs]
        supply = self.supply.get(item, Supply())
        if self.shop.is_cut(item):
            return deal(wants, supply, kerf=int(self.shop.kerf(item)), usual=self.shop.usual(item))
        return deal(wants, supply)

    @cached_property
    def _everybody(self) -> frozenset[UUID]:
        return frozenset(job.id for job in self.jobs.values() if not job.ended)

    @cached_property
    def still_to_buy(self) -> Mapping[str, Buying]:
        """What the whole house still has to buy, item by item: what all jobs take, less what is
        here and on its way."""
        return {
            item: buying
            for item in self.items
            if (buying := self._buying(item, self.dealt_to_all(item), None)) is not None
        }

    def to_buy(self, item: str, jobs: Collection[UUID]) -> Buying | None:
        """What an order for some jobs buys of an item: what they and all that hold claims still
        take, less supply, as a part of what the whole house buys. None where nothing is missing."""
        return self._buying(item, self.dealt(item, jobs), self.still_to_buy.get(item))

    def _buying(self, item: str, dealt: Dealt[UUID], whole: Buying | None) -> Buying | None:
        # Stock under zero alone is nothing to buy for: where no job takes the item any more, what
        # was used was there all the same.
        if not dealt.missing or not dealt.shares:
            return None
        unit = self.units[item]
        buying = Buying(
            item=item,
            unit=unit,
            missing=dealt.missing,
            shares=tuple((share.job, share.short) for share in dealt.shares if share.short),
        )
        try:
            if self.shop.is_cut(item):
                packs: Counter[PackCount] = Counter()
                for share in dealt.shares:
                    for pack in self.shop.sticks(item, share.lacking) if share.lacking else ():
                        packs[replace(pack, count=1)] += pack.count
                bought = tuple(replace(pack, count=count) for pack, count in packs.items())
            elif whole is None or whole.unmet:
                bought = self.shop.mix(item, Amount(dealt.missing, unit))
            else:
                bought = self.shop.part(item, Amount(dealt.missing, unit), whole.packs)
        except NotOnSale as error:
            return replace(buying, unmet=str(error))
        return replace(buying, packs=bought)


def standing_of(house: House) -> Standing:
    """Where a house stands now, in a fixed number of queries. Nothing is planned."""
    row = with_catalogue(house.pk)
    takes = takes_of_house(house.pk)
    jobs = jobs_of(house)
    place = in_place_of(house)
    needs: dict[str, list[JobNeed]] = {}
    units: dict[str, str] = {}
    for need in remaining_needs(jobs, takes, place):
        needs.setdefault(need.item, []).append(need)
        units[need.item] = need.unit
    here = here_of(house)
    shop = Shop(catalogue_value(row), rules_of(row))
    supply: dict[str, Supply] = {}
    coming = coming_of(house)
    for item in dict.fromkeys([*here, *coming]):
        lines = coming.get(item, [])
        known = here.get(item)
        unit = units.setdefault(item, known.unit if known is not None else lines[0][0].unit)
        sticks_here: Counter[int] = Counter()
        sticks_coming: Counter[int] = Counter()
        if shop.is_cut(item):
            sticks_here.update(dict(known.sticks) if known else {})
            for size, packs in lines:
                sticks_coming[stick_length(size)] += packs
        supply[item] = Supply(
            here=_in(Amount(known.amount, known.unit), unit) if known else Fraction(0),
            coming=sum((_in(size, unit) * packs for size, packs in lines), Fraction(0)),
            sticks_here=sticks_here,
            sticks_coming=sticks_coming,
        )
    return Standing(
        jobs=jobs,
        takes=takes,
        place=place,
        needs={item: tuple(some) for item, some in needs.items()},
        units=units,
        here=here,
        supply=supply,
        line=in_line(house),
        shop=shop,
    )


def coming_of(house: House | UUID) -> dict[str, list[tuple[Amount, int]]]:
    """What placed orders still bring: by item the amount of a pack and how many are to come."""
    lines = (
        OrderLine.objects.filter(
            order__house=house, order__state=Order.State.PLACED, order__deleted_at=None
        )
        .exclude(pack="")
        .annotate(came=Sum("receipts__packs"))
        .order_by("order__placed_at", "position")
    )
    coming: dict[str, list[tuple[Amount, int]]] = {}
    for line in lines:
        packs = line.packs - (line.came or 0)
        if packs > 0:
            coming.setdefault(line.item, []).append((line.pack_amount, packs))
    return coming


def _in(amount: Amount, unit: str) -> Fraction:
    """An amount in the unit an item is counted in; nothing where it is measured otherwise, as the
    stock page shows."""
    if amount.unit == unit:
        return amount.value
    if not lengths.same_kind(amount, Amount(Fraction(1), unit)):
        return Fraction(0)
    return lengths.convert(amount, unit).value
