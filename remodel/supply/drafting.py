"""The lines of a draft order: what its jobs still take, and what jobs ordered before lack, less
supply, in packs on sale."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from typing import Any
from uuid import UUID

from remodel.bridge import lengths
from remodel.bridge.buying import PackCount, held_by
from remodel.bridge.lengths import Amount
from remodel.bridge.on_sale import in_use, sheet_size
from remodel.bridge.supply import sheet_key
from remodel.bridge.takes import whole_thousandths
from remodel.history.services import change, create_all, remove
from remodel.house.models import House
from remodel.supply.dealing import Share
from remodel.supply.models import Order, OrderLine, Pack, SheetOnSale, Store
from remodel.supply.remaining import Job
from remodel.supply.standing import Buying, Standing

__all__ = ["LineDifference", "bring_up", "differences", "jobs_of_order", "worked_out"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LineDifference:
    """A line of a draft that would be another today: how many packs it had and how many it would
    have. A line that is new had none; one that is no longer needed would have none."""

    name: str
    pack: str
    before: int
    after: int
    for_earlier: bool
    unmet: str = ""


@dataclass(frozen=True, slots=True)
class _Offer:
    store: Store | None
    price: int
    sample: bool


Key = tuple[str, str, bool]


def jobs_of_order(order: Order, jobs: Mapping[UUID, Job]) -> list[UUID]:
    """The jobs that an order is for: its phases of its rooms, as far as they still take
    something."""
    rooms = {room.pk for room in order.rooms.all()}
    return [
        job.id
        for job in jobs.values()
        if job.room in rooms and job.phase in order.phases and not job.ended
    ]


def worked_out(order: Order, standing: Standing) -> list[OrderLine]:
    """The lines an order would have now, not saved: in the order of a store's shelf, what is for
    jobs ordered before after the order's own."""
    mine = jobs_of_order(order, standing.jobs)
    offers = _offers(order.house)
    lines: list[OrderLine] = []
    for item in standing.items:
        lines += _lines_of(order, item, mine, standing, offers)
    for position, line in enumerate(lines):
        line.position = position
    return lines


def differences(order: Order, standing: Standing) -> list[LineDifference]:
    """In what a draft differs from what it would be now; empty where it is up to date. Amounts
    changed by hand do not count as long as what was worked out is the same."""
    now = {_key(line): line for line in worked_out(order, standing)}
    then = {_key(line): line for line in order.lines.all() if not _by_hand(line)}
    found = []
    for key in dict.fromkeys([*then, *now]):
        old, new = then.get(key), now.get(key)
        before = old.worked_out if old else 0
        after = new.worked_out if new else 0
        unmet = new.unmet if new else ""
        if before != after or unmet != (old.unmet if old else ""):
            line = new or old
            assert line is not None
            found.append(
                LineDifference(
                    name=line.name,
                    pack=line.pack,
                    before=before,
                    after=after,
                    for_earlier=line.for_earlier,
                    unmet=unmet,
                )
            )
    return found


def bring_up(order: Order, standing: Standing) -> list[LineDifference]:
    """Bring the lines of a draft up to date, and give what differs now. Lines that say the same
    stay the rows they are; amounts changed by hand and lines that were skipped stay so; lines
    added by hand stay at the end."""
    changed = differences(order, standing)
    stored: dict[Key, OrderLine] = {}
    added: list[OrderLine] = []
    for line in order.lines.all():
        if _by_hand(line):
            added.append(line)
        else:
            stored[_key(line)] = line
    fresh: list[OrderLine] = []
    skipped = {line.item for line in stored.values() if line.skipped}
    made = worked_out(order, standing)
    for line in made:
        old = stored.pop(_key(line), None)
        if line.for_earlier and line.item in skipped:
            line.skipped, line.packs = True, 0
        if old is None:
            fresh.append(line)
            continue
        if old.reason and old.packs != line.worked_out:
            line.packs, line.reason = old.packs, old.reason
        values = {name: getattr(line, name) for name in _FOLLOWS}
        if any(getattr(old, name) != value for name, value in values.items()):
            change(old, **values)
    kept: list[OrderLine] = []
    for old in stored.values():
        if old.reason and old.packs:
            # Nothing of it was worked out any more, but a person wants it.
            change(old, worked_out=0, shares=[])
            kept.append(old)
        else:
            remove(old)
    create_all(fresh)
    for position, line in enumerate([*kept, *added], start=len(made)):
        if line.position != position:
            change(line, position=position)
    return changed


# What a line takes over when it is worked out again. The tick made in the store stays.
_FOLLOWS = (
    "position",
    "phase",
    "name",
    "need",
    "on_hand",
    "on_the_way",
    "unit",
    "store",
    "holds",
    "holds_unit",
    "worked_out",
    "packs",
    "reason",
    "price",
    "sample_price",
    "weight",
    "unmet",
    "skipped",
    "why",
    "shares",
)


def _key(line: OrderLine) -> Key:
    return line.item, line.pack, line.for_earlier


def _by_hand(line: OrderLine) -> bool:
    return not Fraction(line.need) and not line.for_earlier


def _lines_of(
    order: Order,
    item: str,
    mine: Collection[UUID],
    standing: Standing,
    offers: Mapping[tuple[str, str], _Offer],
) -> Iterable[OrderLine]:
    dealt = standing.dealt(item, mine)
    own = [share for share in dealt.shares if share.job in mine]
    earlier = [share for share in dealt.shares if share.job not in mine and share.short]
    if not own and not earlier:
        return
    buying = standing.to_buy(item, mine)
    for_own, for_earlier = _divided(standing, item, buying, own, earlier, dealt.hole)
    shared: dict[str, Any] = {
        "order": order,
        "item": item,
        "name": standing.shop.name(item),
        "unit": standing.units[item],
    }
    if own:
        why = []
        if dealt.hole:
            used = _shown(dealt.hole, standing.units[item], order.house.units)
            why.append(f"Makes up for {used} used that never came")
        if earlier and not for_earlier and buying is not None and not buying.unmet:
            lacking = _lacking(earlier, item, standing, order.house.units)
            why.append(f"Holds what is missing elsewhere too: {lacking}")
        yield from _lines(
            {
                **shared,
                "phase": _first_phase(own, standing),
                "need": str(sum((share.need for share in own), Fraction(0))),
                "on_hand": str(sum((share.here for share in own), Fraction(0))),
                "on_the_way": str(sum((share.coming for share in own), Fraction(0))),
                "unmet": _unmet(buying, own, dealt.hole),
                "why": "; ".join(why)[:1000],
            },
            for_own,
            own,
            offers,
        )
    if earlier and (for_earlier or (buying is not None and buying.unmet)):
        yield from _lines(
            {
                **shared,
                "phase": _first_phase(earlier, standing),
                "need": str(sum((share.short for share in earlier), Fraction(0))),
                "unmet": buying.unmet[:1000] if buying is not None else "",
                "why": _lacking(earlier, item, standing, order.house.units)[:1000],
                "for_earlier": True,
            },
            for_earlier,
            earlier,
            offers,
        )


def _divided(
    standing: Standing,
    item: str,
    buying: Buying | None,
    own: Sequence[Share[UUID]],
    earlier: Sequence[Share[UUID]],
    hole: Fraction,
) -> tuple[tuple[PackCount, ...], tuple[PackCount, ...]]:
    """The packs that an order buys of an item for its own jobs, and those that it buys besides for
    jobs ordered before."""
    if buying is None or buying.unmet:
        return (), ()
    if not earlier:
        return buying.packs, ()
    own_short = sum((share.short for share in own), Fraction(0))
    if not own_short:
        return (), buying.packs
    if standing.shop.is_cut(item):
        mine: Counter[PackCount] = Counter()
        for share in own:
            for pack in standing.shop.sticks(item, share.lacking) if share.lacking else ():
                mine[replace(pack, count=1)] += pack.count
        for_own = tuple(replace(pack, count=count) for pack, count in mine.items())
    else:
        missing = Amount(own_short + hole, buying.unit)
        for_own = standing.shop.part(item, missing, buying.packs)
    taken = {pack.name: pack.count for pack in for_own}
    rest = tuple(
        replace(pack, count=pack.count - taken.get(pack.name, 0))
        for pack in buying.packs
        if pack.count > taken.get(pack.name, 0)
    )
    return for_own, rest


def _unmet(buying: Buying | None, own: Sequence[Share[UUID]], hole: Fraction) -> str:
    if buying is None or not (hole or any(share.short for share in own)):
        return ""
    return buying.unmet[:1000]


def _lacking(shares: Iterable[Share[UUID]], item: str, standing: Standing, units: str) -> str:
    """Who is short of how much, as a sentence has it: `Kitchen, hanging is 2 short`."""
    unit = standing.units[item]
    return "; ".join(
        f"{standing.jobs[share.job].words} is {_shown(share.short, unit, units)} short"
        for share in shares
        if share.short
    )


def _shown(amount: Fraction, unit: str, units: str) -> str:
    return lengths.shown_amount(Amount(amount, unit), units).removesuffix(" each")


def _first_phase(shares: Iterable[Share[UUID]], standing: Standing) -> str:
    jobs = (standing.jobs[share.job] for share in shares)
    return min(jobs, key=lambda job: job.place[1]).phase


def _lines(
    columns: dict[str, Any],
    packs: Sequence[PackCount],
    shares: Sequence[Share[UUID]],
    offers: Mapping[tuple[str, str], _Offer],
) -> Iterable[OrderLine]:
    if not packs:
        yield OrderLine(**columns, sample_price=False)
        return
    lacking = [(str(share.job), share.short) for share in shares if share.short]
    held = held_by(packs, columns["unit"])
    rest = max(Fraction(0), held - sum((short for _, short in lacking), Fraction(0)))
    unit = columns["unit"]
    weights = [[job, whole_thousandths(Amount(short, unit))] for job, short in lacking]
    if rest:
        weights.append(["", whole_thousandths(Amount(rest, unit))])
    for pack in packs:
        offer = offers.get((columns["item"], pack.name))
        yield OrderLine(
            **columns,
            store=offer.store if offer else None,
            pack=pack.name,
            holds=str(Fraction(pack.holds.value)),
            holds_unit=pack.holds.unit,
            worked_out=pack.count,
            packs=pack.count,
            price=pack.price,
            sample_price=offer.sample if offer else True,
            weight=None if pack.weight is None else Decimal(pack.weight),
            shares=weights,
        )


def _offers(house: House) -> dict[tuple[str, str], _Offer]:
    packs = Pack.objects.filter(material__house=house).select_related("material", "store")
    offers = {
        (pack.material.key, pack.name): _Offer(pack.store, pack.price, pack.is_sample)
        for pack in packs
    }
    sheets = SheetOnSale.objects.filter(house=house).select_related("store")
    for sheet in in_use(sheets, sheet_size):
        key = sheet_key(sheet.board, sheet.thickness, sheet.width, sheet.length)
        offers[key, "sheet"] = _Offer(sheet.store, sheet.price, sheet.is_sample)
    return offers
