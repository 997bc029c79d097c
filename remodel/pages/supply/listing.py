"""An order as people read it: by store, line by line, with its totals. It is the same for screen,
paper, store and table."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from remodel.bridge import lengths
from remodel.bridge.supply import aisle_of, is_tight
from remodel.bridge.words import QUANTITY_PHASES
from remodel.spreadsheet import Value, money_cell
from remodel.supply.drafting import LineDifference
from remodel.supply.empty_shelf import is_missing
from remodel.supply.models import Order, OrderLine, Store
from remodel.work.queries import names_of_phases

__all__ = [
    "CSV_HEADER",
    "LineShown",
    "OrderShown",
    "StoreGroup",
    "amount_words",
    "bought",
    "csv_rows",
    "difference_words",
    "joined",
    "order_shown",
    "packs_words",
    "phase_names",
    "shown_weight",
]

_PHASES = dict(QUANTITY_PHASES)


def amount_words(amount: lengths.Amount, units: str) -> str:
    """An amount for people. Counted things are a bare number."""
    return lengths.shown_amount(amount, units).removesuffix(" each")


def unbroken(name: str) -> str:
    """A name in which each measure, like `1/2 in, 48 in x 12 ft`, stays on one line."""
    head, *measures = name.split(", ")
    return ", ".join(
        [
            head,
            *(
                measure.replace(" ", chr(0xA0)) if len(measure) < 20 else measure
                for measure in measures
            ),
        ]
    )


def bought(packs: int, pack: str) -> str:
    """A number of packs in words: `3 × 5 lb box`, `7 sheets`."""
    if pack in ("sheet", "cartridge", "panel"):
        return f"{packs} {pack}{'' if packs == 1 else 's'}"
    return str(packs) if pack == "each" else f"{packs} × {pack}"


# Pounds. A car takes little more beside its people (common practice, no published source: its own
# label says).
_HEAVY = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class LineShown:
    """One line of an order.

    `need` is what the order's jobs take, `on_hand` and `coming` what of it is met from here and
    from what is on its way. `again` says that the item's need stands in the line above. `tight`
    says that its packs leave next to nothing over. Money is in cents, None where it is not known.
    """

    line: OrderLine
    name: str
    phase: str
    need: str
    on_hand: str
    coming: str
    again: bool
    tight: bool
    buy: str
    price: int | None
    cost: int | None
    weight: str
    came: int
    back: int
    paid: int

    @property
    def to_come(self) -> int:
        return max(0, self.line.packs - self.came)

    @property
    def here(self) -> int:
        """Packs that arrived and did not go back."""
        return self.came - self.back


@dataclass(frozen=True, slots=True, kw_only=True)
class StoreGroup:
    """The lines bought at one store. `unpriced` counts the lines that `cost` leaves out."""

    name: str
    lines: tuple[LineShown, ...]
    cost: int
    unpriced: int
    weight: str
    ticked: int
    store: Store | None = None

    @property
    def aisles(self) -> list[tuple[str, list[LineShown]]]:
        """The lines as one walks through the store."""
        aisles: dict[tuple[int, str], list[LineShown]] = {}
        for row in self.lines:
            aisles.setdefault(aisle_of(row.line.item), []).append(row)
        return [(name, aisles[place, name]) for place, name in sorted(aisles)]

    @property
    def coming(self) -> bool:
        """Whether something of it is on its way; paper then has a column for it."""
        return any(row.coming for row in self.lines)


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderShown:
    """The whole order.

    `stores` have all that is bought, as one walks through a store. `own` leaves out what is for
    rooms ordered before: that is in `earlier`, with what was skipped of it. `covered` are lines of
    which nothing is bought, because there is enough, and `missing` those that the store had none
    of. `unmet` are lines that nothing on sale can
    meet. `heavy` is a load to think about before it is put in a car.
    """

    stores: tuple[StoreGroup, ...]
    own: tuple[StoreGroup, ...]
    earlier: tuple[LineShown, ...]
    covered: tuple[LineShown, ...]
    missing: tuple[LineShown, ...]
    unmet: tuple[LineShown, ...]
    cost: int
    samples: int
    unpriced: int
    weight: str
    heavy: bool
    unweighed: int
    buying: int
    ticked: int
    came: int
    packs: int
    paid: int
    refunded: int


def phases_of_order(order: Order) -> dict[str, str]:
    """What the phases of an order and of its lines are called, by key. Only where people named one
    of them is that looked up."""
    named = {*order.phases, *(line.phase for line in order.lines.all())}
    return names_of_phases(order.house_id, among=named)


def phase_names(order: Order) -> str:
    """The names of an order's phases in a sentence: Framing, hanging and taping. Names that people
    gave stay as they were typed."""
    called = phases_of_order(order)
    names = [called.get(phase, phase) for phase in order.phases]
    lower = [
        name.lower() if phase in _PHASES else name
        for phase, name in zip(order.phases, names, strict=True)
    ]
    return joined([*names[:1], *lower[1:]])


def order_shown(order: Order, *, cut: Collection[str] | None = None) -> OrderShown:
    """An order whose lines were fetched with all of `queries.orders_of`, without a query of its
    own but for phases that people named. Where the items that are `cut` from sticks are given, it
    tells which of the others are bought with next to nothing over."""
    units = order.house.units
    phases = phases_of_order(order)
    tight = _tight_items(order, cut) if cut is not None else frozenset()
    rows: list[LineShown] = []
    before: tuple[str, bool] | None = None
    for line in order.lines.all():
        again = before == (line.item, line.for_earlier)
        phase = phases.get(line.phase, line.phase)
        rows.append(_line(order, line, phase, again=again, tight=line.item in tight))
        before = (line.item, line.for_earlier)
    # a mix of packs is bought where each is: a line whose item stands in another store's group
    # names its need too
    buying = [row for row in rows if row.line.packs or row.came]
    bought = {row.line.item for row in buying if not row.line.for_earlier}
    rest = [row for row in rows if not row.line.packs and not row.came]
    weighed = [row for row in buying if row.line.weight is not None]
    return OrderShown(
        stores=_groups(buying, units),
        own=_groups([row for row in buying if not row.line.for_earlier], units),
        earlier=tuple(
            row
            for row in rows
            if row.line.for_earlier
            and not row.line.unmet
            and (order.state == Order.State.DRAFT or not row.line.skipped)
        ),
        covered=tuple(
            row
            for row in rest
            if not row.line.unmet
            and not row.line.for_earlier
            and not is_missing(row.line)
            and row.line.item not in bought
        ),
        missing=tuple(row for row in rows if is_missing(row.line)),
        unmet=tuple(row for row in rows if row.line.unmet and not row.line.skipped),
        cost=sum(row.cost or 0 for row in buying),
        samples=sum(1 for row in buying if row.line.sample_price),
        unpriced=sum(1 for row in buying if row.cost is None),
        weight=shown_weight(weighed, units),
        heavy=_pounds(weighed) >= _HEAVY,
        unweighed=len(buying) - len(weighed),
        buying=len(buying),
        ticked=sum(1 for row in buying if row.line.ticked),
        came=sum(min(row.came, row.line.packs) for row in buying),
        packs=sum(row.line.packs for row in buying),
        paid=sum(row.paid for row in rows),
        refunded=sum(
            returned.refund for line in order.lines.all() for returned in line.returns.all()
        ),
    )


def _groups(rows: Iterable[LineShown], units: str) -> tuple[StoreGroup, ...]:
    """Lines by the store they are bought at; those without a store come last."""
    groups: dict[str, list[LineShown]] = {}
    for row in rows:
        groups.setdefault(row.line.store.name if row.line.store else "", []).append(row)
    return tuple(
        _group(name, groups[name], units)
        for name in sorted(groups, key=lambda group: (not group, group))
    )


def _pounds(rows: Iterable[LineShown]) -> Fraction:
    return sum(
        (Fraction(row.line.weight) * row.line.packs for row in rows if row.line.weight is not None),
        Fraction(0),
    )


def shown_weight(rows: Iterable[LineShown], units: str) -> str:
    pounds = _pounds(rows)
    return lengths.shown_amount(lengths.amount(pounds, "lb"), units) if pounds else ""


def _tight_items(order: Order, cut: Collection[str]) -> frozenset[str]:
    """The items of which an order's packs leave next to nothing over, what is here and on its way
    counted in. Sticks are cut to a list that says what is over."""
    lines: dict[str, list[OrderLine]] = {}
    for line in order.lines.all():
        counted = line.item not in cut and not line.unmet and not line.for_earlier
        if line.packs and counted:
            lines.setdefault(line.item, []).append(line)
    tight = set()
    for item, some in lines.items():
        need = lengths.amount(some[0].need, some[0].unit)
        if not need.value:  # somebody added it by hand, for no need
            continue
        there = Fraction(some[0].on_hand) + Fraction(some[0].on_the_way)
        bought_ = sum(
            (lengths.convert(one.pack_amount, need.unit).value * one.packs for one in some),
            Fraction(0),
        )
        over = lengths.amount(there + bought_ - need.value, need.unit)
        if is_tight(need, over, [one.pack_amount for one in some]):
            tight.add(item)
    return frozenset(tight)


def _line(order: Order, line: OrderLine, phase: str, *, again: bool, tight: bool) -> LineShown:
    units = order.house.units
    known = not (order.without_prices and line.sample_price)
    receipts = line.receipts.all()
    hand = lengths.amount(line.on_hand, line.unit)
    coming = lengths.amount(line.on_the_way, line.unit)
    weight = Fraction(line.weight or 0) * line.packs
    return LineShown(
        line=line,
        name=unbroken(line.name),
        phase=phase,
        need=amount_words(lengths.amount(line.need, line.unit), units)
        if Fraction(line.need)
        else "",
        on_hand=amount_words(hand, units) if hand.value else "",
        coming=amount_words(coming, units) if coming.value else "",
        again=again,
        tight=tight and bool(line.packs) and not line.for_earlier,
        buy=bought(line.packs, line.pack) if line.pack else "",
        price=line.price if known and line.pack else None,
        cost=line.cost if known and line.pack else None,
        weight=lengths.shown_amount(lengths.amount(weight, "lb"), units) if weight else "",
        came=sum(receipt.packs for receipt in receipts),
        back=sum(returned.packs for returned in line.returns.all()),
        paid=sum(receipt.paid for receipt in receipts),
    )


def _group(name: str, rows: list[LineShown], units: str) -> StoreGroup:
    return StoreGroup(
        name=name,
        lines=tuple(rows),
        cost=sum(row.cost or 0 for row in rows),
        unpriced=sum(1 for row in rows if row.cost is None),
        weight=shown_weight(rows, units),
        ticked=sum(1 for row in rows if row.line.ticked),
        store=next((row.line.store for row in rows), None),
    )


def difference_words(difference: LineDifference) -> str:
    """In what a line of a draft differs: `Drywall screws: 2 × 5 lb box, now 1`."""
    before, after = difference.before, difference.after
    name = difference.name + (" (for rooms ordered before)" if difference.for_earlier else "")
    if before and after:
        return f"{name}: {bought(before, difference.pack)}, now {after}"
    if after:
        return f"{name}: none, now {bought(after, difference.pack)}"
    if difference.unmet:
        return f"{name}: nothing on sale meets it now"
    if before:
        return f"{name}: {bought(before, difference.pack)}, now none"
    return f"{name}: nothing on sale met it; now it is not needed"


def packs_words(lines: Iterable[tuple[int, str, str]]) -> str:
    """Packs of things in a sentence, at most five: `7 sheets of Drywall and 2 × 5 lb box of
    Screws`."""
    words = [f"{bought(packs, pack)} of {name}" for packs, pack, name in lines]
    words = [*words[:5], f"{len(words) - 5} more lines"] if len(words) > 6 else words
    return joined(words)


def joined(words: Sequence[str]) -> str:
    """Words in a sentence: `Kitchen, Bath and Den`."""
    return " and ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else "".join(words)


def _for_whom(line: OrderLine) -> str:
    """Whom a line buys for, in a table; a line that was left out buys nothing."""
    if not line.for_earlier:
        return "This order"
    return "Rooms ordered before" + (", left out" if line.skipped else "")


CSV_HEADER = (
    "Store",
    "Phase",
    "Item",
    "Key",
    "For",
    "Need",
    "From here",
    "From what is on its way",
    "Unit",
    "Pack",
    "Pack holds",
    "Pack unit",
    "Worked out",
    "To buy",
    "Reason",
    "Why",
    "Price each",
    "Sample price",
    "Cost",
    "Weight",
    "Weight unit",
    "Received",
    "Paid",
    "Returned",
    "Refunded",
    "Not met",
)


def csv_rows(order: Order) -> Iterable[tuple[Value, ...]]:
    """Every line of an order with exact values, in the columns of `CSV_HEADER`."""
    phases, units = phases_of_order(order), order.house.units
    for line in order.lines.all():
        known = bool(line.pack) and not (order.without_prices and line.sample_price)
        yield (
            line.store.name if line.store else "",
            phases.get(line.phase, line.phase),
            line.name,
            line.item,
            _for_whom(line),
            *(_csv_amount(one, line.unit, units).value for one in (line.need, line.on_hand)),
            _csv_amount(line.on_the_way, line.unit, units).value,
            _csv_amount("0", line.unit, units).unit,
            line.pack,
            Fraction(line.holds) if line.holds else None,
            line.holds_unit,
            line.worked_out,
            line.packs,
            line.reason,
            line.why,
            money_cell(line.price) if known else None,
            ("yes" if line.sample_price else "no") if line.pack else "",
            money_cell(line.cost) if known else None,
            _csv_weight(line, order.house.units),
            "" if line.weight is None else "kg" if order.house.units == "mm" else "lb",
            sum(receipt.packs for receipt in line.receipts.all()),
            money_cell(sum(receipt.paid for receipt in line.receipts.all())),
            sum(returned.packs for returned in line.returns.all()),
            money_cell(sum(returned.refund for returned in line.returns.all())),
            line.unmet,
        )


def _csv_amount(value: str, unit: str, units: str) -> lengths.Amount:
    return lengths.in_units_of(lengths.amount(value, unit), units)


def _csv_weight(line: OrderLine, units: str) -> Fraction | None:
    """What a line weighs, in pounds, or in kilograms in a house in millimeters."""
    if line.weight is None:
        return None
    weight = lengths.amount(Fraction(line.weight) * line.packs, "lb")
    return lengths.convert(weight, "kg").value if units == "mm" else weight.value
